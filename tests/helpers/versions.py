"""Other versions of the built site, made from it: what a later build would have put there."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

from sitebuild.files import integrity

SITE_DATA = re.compile(r"const SITE = (\{.*?\n\});\n", re.S)


def site_data(folder: Path) -> dict:
    """The service worker's own list of files."""
    return json.loads(SITE_DATA.search((folder / "service-worker.js").read_text("utf-8"))[1])


def copy(dist: Path, to: Path) -> Path:
    shutil.copytree(dist, to)
    return to


def next_version(
    dist: Path, to: Path, build: str = "0123456789ab", edition: str = "", changes: tuple[str, ...] = ()
) -> Path:
    """A copy of the site as the build `build` would have it, with newer rules where `edition` is given.

    Every page says so, and the list of the service worker is made again.
    """
    copy(dist, to)
    data = site_data(to)
    old = data["build"]
    for page in to.rglob("*.html"):
        text = page.read_text("utf-8").replace(old, build)
        if edition:
            text = text.replace(f'data-edition="{data["edition"]}"', f'data-edition="{edition}"')
        page.write_text(text, "utf-8")
    data["build"] = build
    if edition:
        data["edition"] = edition
        data["editions"].append({"edition": edition, "changes": list(changes)})
    for way in data["app"]["files"]:
        data["app"]["files"][way] = integrity((to / way).read_bytes())
    script = to / "service-worker.js"
    text = script.read_text("utf-8")
    fresh = f"const SITE = {json.dumps(data, indent=1)};\n"
    script.write_text(SITE_DATA.sub(lambda _: fresh, text, count=1), "utf-8")
    return to


def second_revision(site: Path, recipe: str, changed: str) -> None:
    """Puts revision 2 of a recipe beside its first, as the newest: what the next build would have written."""
    (path,) = site.glob("assets/shelf.*.json")
    shelf = json.loads(path.read_text("utf-8"))
    text = re.sub(r"(?m)^revision = 1\b", "revision = 2", shelf["recipes"][f"{recipe}.1"], count=1)
    text, found = re.subn(r"(?m)^changes = .*$", lambda _: f"changes = {json.dumps([changed])}", text, count=1)
    if not found:
        raise ValueError(f"{recipe}.1 says nothing of changes on a line of its own")
    shelf["recipes"][f"{recipe}.2"] = text
    path.write_text(json.dumps(shelf, ensure_ascii=False), "utf-8")
    for page in (site / "recipes" / recipe / "index.html", site / "embed" / recipe / "index.html"):
        page.write_text(page.read_text("utf-8").replace(f'data-recipe="{recipe}.1"', f'data-recipe="{recipe}.2"'), "utf-8")


def put_in_place(fresh: Path, served: Path) -> None:
    """What a host does when a new version is copied over the old one."""
    shutil.copytree(fresh, served, dirs_exist_ok=True)
