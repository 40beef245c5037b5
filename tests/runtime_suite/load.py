"""Inside the runtime: loads the modules named in `given`, and finds out what came along."""

import importlib
import json
import sys

for name in json.loads(given_text):  # noqa: F821  run.mjs puts it there
    importlib.import_module(name)

found = json.dumps({
    "modules": {
        name: str(getattr(getattr(module, "__spec__", None), "origin", None) or "")
        for name, module in sorted(sys.modules.items())
        if module is not None
    },
})
