"""The static pages, drawn by the runtime that ships: each build proves it."""

from __future__ import annotations

import json
from pathlib import Path

from . import runtime
from .runtime import BuildError


def write(
    out: Path, assets: dict[str, str], build: str, notices: list[dict], base_url: str | None
) -> list[str]:
    """Draw every page that curebatch names and write it; gives the ways of the pages."""
    (listed,) = runtime.calls(out, [{"call": "pages"}])
    pages = json.loads(text_of(listed, "the list of pages"))
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
    for page, drawn in zip(pages, runtime.calls(out, wanted), strict=True):
        target = out / page["path"]
        if not target.resolve().is_relative_to(out.resolve()):
            raise BuildError(f"A page wants to lie outside the site: {page['path']}")
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text_of(drawn, page["path"]), encoding="utf-8", newline="\n")
    return [page["path"] for page in pages]


def text_of(result: dict, what: str) -> str:
    if "error" in result:
        raise BuildError(f"Drawing {what} failed in the shipped runtime:\n{result['trace']}")
    return result["text"]


def canonical(base_url: str | None, path: str) -> str | None:
    """The page's own absolute address; only where the site's address is known."""
    if base_url is None:
        return None
    return f"{base_url.rstrip('/')}/{path.removesuffix('index.html')}"
