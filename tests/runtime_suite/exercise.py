"""A wide exercise of the product inside its runtime; run there as text, by run.mjs.

given: {"requests": requests for curebatch.answer, "assets": ways for curebatch.draw}. Leaves in `found` which modules were loaded
and from where.
"""

import json
import sys

import curebatch

given = json.loads(given_text)  # noqa: F821  run.mjs puts it there
curebatch.start(shelf_text)  # noqa: F821
for page in json.loads(curebatch.pages()):
    for canonical in (None, "https://example.org/"):
        request = {**page["request"], "root": "../", "assets": given["assets"], "parts": [],
                   "build": "x", "canonical": canonical, "base": canonical}
        curebatch.draw(json.dumps(request))
for request in given["requests"]:
    curebatch.answer(json.dumps(request))
for page in json.loads(curebatch.pages()):
    if page["request"]["page"] == "recipe":
        leaving = {**page["request"], "address": f"https://example.org/{page['path']}"}
        curebatch.answer(json.dumps({"id": 0, "input": leaving, "want": ["sheet", "label", "text", "markdown", "snippet"]}))
# An error that nobody meant: what Python needs to tell of it must be at hand as well.
try:
    curebatch.answer("no request")
except ValueError:
    import traceback

    traceback.format_exc()

found = json.dumps({
    "modules": {
        name: str(getattr(getattr(module, "__spec__", None), "origin", None) or "")
        for name, module in sorted(sys.modules.items())
        if module is not None
    },
})
