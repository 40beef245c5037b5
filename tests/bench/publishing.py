"""How long the pages of a site take with few recipes and with many: the pages' own part of a build."""

from __future__ import annotations

import re
import shutil
import time
from importlib import resources
from pathlib import Path

from sitebuild import assets, pages, recipe_files, runtime

COUNTS = (2, 200)
BASE = "https://example.org/kitchen/"


def recipe(number: int) -> str:
    """The starter as one of many: no two ask for the same."""
    text = (resources.files("curebatch") / "data" / "starter.toml").read_text(encoding="utf-8")
    lines = {
        "id": f'"loaf-{number}"', "title": f'"Loaf {number}"', "meat": f'"{1000 + 7 * number} g"',
        "salt": f'"{19 + number / 100:.2f} g/kg"',
    }  # fmt: skip
    for key, value in lines.items():
        text, count = re.subn(rf"(?m)^{key} = [^#\n]*", f"{key} = {value} ", text, count=1)
        if not count:
            raise RuntimeError(f"the starter has no line for {key}")
    return text


def times(scratch: Path, runs: int) -> dict[int, list[float]]:
    """{recipes: [seconds of each run]}, turn by turn, so that a busy moment meets both."""
    base = scratch / "publishing"
    (base / "assets").mkdir(parents=True)
    made = runtime.make(base)
    sites = {}
    for count in COUNTS:
        out = shutil.copytree(base, scratch / f"publishing-{count}")
        folder = scratch / f"recipes-{count}"
        folder.mkdir()
        for number in range(count):
            (folder / f"loaf-{number}.1.toml").write_text(recipe(number), encoding="utf-8")
        ways, _, build = assets.write(out, made, recipe_files.read_shelf(folder))
        sites[count] = (out, ways, build)
    taken: dict[int, list[float]] = {count: [] for count in COUNTS}
    for _ in range(runs):
        for count, (out, ways, build) in sites.items():
            begun = time.perf_counter()
            pages.write(out, ways, build, [], BASE)
            taken[count].append(time.perf_counter() - begun)
    return taken
