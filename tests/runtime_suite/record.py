"""Writes py/sitebuild/modules_used.txt anew: which modules the product loads.

    .venv/bin/python tests/runtime_suite/record.py

Makes a runtime with every module in it, puts the product to work there, then runs the product's
own tests there and watches what our code and the packages it uses import. To be run when a new
import makes tests/runtime_suite fail; the change of the list belongs to the change of the code.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from runtime_suite import inside
from sitebuild import assets, recipe_files, runtime

HEAD = """\
# Modules of the standard library and of other people's packages that the product was seen to load.
# Written by tests/runtime_suite/record.py; neighbours are added in modules_kept.toml.
"""


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="curebatch-") as scratch:
        site = Path(scratch)
        (site / "assets").mkdir()
        made = runtime.make(site, trimmed=False)
        assets.write(site, made, recipe_files.read_shelf(recipe_files.FOLDER))
        used = inside.modules_of_others(inside.exercised(site, rest=False)["modules"])
        used |= inside.imported_by_the_product(site)
        loaded = inside.run(site, "load.py", rest=False, given=sorted(used))
        used |= inside.modules_of_others(loaded["modules"])
    runtime.USED.write_text(HEAD + "".join(f"{name}\n" for name in sorted(used)), encoding="utf-8")
    print(f"{runtime.USED.name}: {len(used)} modules")


if __name__ == "__main__":
    main()
