"""The static pages, drawn by the runtime that ships: each build proves it."""

from __future__ import annotations

import json
import os
from pathlib import Path
from urllib.parse import urlsplit

from . import started
from .errors import BuildError

LOST = "404.html"
# Few enough that another start of the runtime pays, for a site with many recipes.
LEAST_EACH = 60
# What a runtime is asked for at a time, in calls: little enough that all end at about the same time.
AT_ONCE = 12


def write(
    out: Path, assets: dict[str, str], build: str, notices: list[dict], base_url: str | None
) -> list[str]:
    """Draw every page that curebatch names and write it; gives the ways of the pages."""
    (listed,) = started.calls(out, [{"call": "pages"}])
    if "error" in listed:
        raise failed(listed, "the list of pages")
    pages = json.loads(listed["text"])
    wanted = []
    for page in pages:
        request = {
            "root": "../" * page["path"].count("/"),
            **page["request"],
            "assets": assets,
            "build": build,
            "canonical": canonical(base_url, page["path"]),
            "base": canonical(base_url, ""),
        }
        if request["page"] == "licences":
            request["parts"] = notices
        wanted.append({"call": "draw", "with": json.dumps(request)})
    if base_url is not None:
        # What hosts show for an address that is none, however deep it lies: so its own lead from the host's root.
        root = f"{urlsplit(base_url).path.rstrip('/')}/"
        wanted.append({"call": "draw", "with": json.dumps({"page": "lost", "root": root, "assets": assets, "build": build, "canonical": None, "base": ""})})
        pages = [*pages, {"path": LOST}]
    home = out.resolve()
    for page, call in zip(pages, wanted, strict=True):
        target = (home / page["path"]).resolve()
        if not target.is_relative_to(home):
            raise BuildError(f"A page wants to lie outside the site: {page['path']}")
        target.parent.mkdir(parents=True, exist_ok=True)
        call["into"] = str(target)
    for page, drawn in zip(pages, drawn_of(out, wanted), strict=True):
        if "error" in drawn:
            raise failed(drawn, page["path"])
    return [page["path"] for page in pages if page["path"] != LOST]


def drawn_of(out: Path, wanted: list[dict]) -> list[dict]:
    """What the runtime gives for each call, in their order; many are shared out, a runtime for each core."""
    count = max(1, min(os.cpu_count() or 1, len(wanted) // LEAST_EACH))
    parts: list[list[dict]] = []
    of_what = None
    for call in wanted:
        recipe = json.loads(call["with"]).get("recipe")
        # The pages of one recipe stay together, and those of none: what was worked out for one is at hand for the next.
        if not parts or (recipe != of_what and (of_what is None or len(parts[-1]) >= AT_ONCE)):
            parts.append([])
        parts[-1].append(call)
        of_what = recipe
    return started.shared_out(out, parts, count)


def failed(result: dict, what: str) -> BuildError:
    return BuildError(f"Drawing {what} failed in the shipped runtime:\n{result['trace']}")


def canonical(base_url: str | None, path: str) -> str | None:
    """The page's own absolute address; only where the site's address is known."""
    if base_url is None:
        return None
    return f"{base_url.rstrip('/')}/{path.removesuffix('index.html')}"
