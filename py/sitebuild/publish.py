"""What a published site has besides its pages: the script for other people's pages, and where the
site's address is known, pictures for previews, the feed of changes and the list of pages.
"""

from __future__ import annotations

import json
import shutil
from html import escape
from pathlib import Path

from curebatch import shelf
from curebatch.handed import LOADER
from curebatch.views import feed
from curebatch.views.preview import preview
from curebatch.words import LANGUAGES, speaking

from . import offline
from .assets import SITE
from .errors import BuildError

# Nobody looks for these by a search.
NOT_LISTED = ("embed/", "recipes/_/")


def write(out: Path, recipes: bytes, drawn: list[str], base_url: str | None) -> None:
    """Write it.

    recipes: the shelf's data; drawn: the ways of the pages; base_url: the site's address, or None.
    """
    shutil.copyfile(SITE / "embed-loader.js", out / LOADER)
    if base_url is None:
        return
    base = f"{base_url.rstrip('/')}/"
    given = json.loads(recipes)
    shelf.put(given["recipes"], given["withdrawn"], given["texts"])
    for recipe_id in sorted({ref.rpartition(".")[0] for ref in shelf.refs()}):
        for language in LANGUAGES:
            with speaking(language):
                recipe, _ = shelf.get(shelf.newest(recipe_id))
                place = out / ("" if language == LANGUAGES[0] else language)
                (place / "recipes" / recipe_id / "preview.png").write_bytes(preview(recipe.title))
    (out / "feed.xml").write_text(feed_of(given["withdrawn"], base), encoding="utf-8", newline="\n")
    (out / "sitemap.xml").write_text(sitemap(drawn, base), encoding="utf-8", newline="\n")


def feed_of(withdrawn: dict, base: str) -> str:
    """The feed of changes; a recipe without a day is in it no more than a page without an address."""
    rows = []
    for ref in shelf.refs():
        recipe, faults = shelf.get(ref)
        if recipe is None:
            raise BuildError("\n".join(wrong.text for wrong in faults))
        if recipe.day:
            rows.append({"ref": ref, "title": recipe.title, "day": recipe.day, "changes": recipe.changes})
    changes = feed.changes_of(rows, offline.editions(), {"recipes": {}, "editions": {}, **withdrawn})
    return feed.atom(changes, base_url=base)


def sitemap(drawn: list[str], base: str) -> str:
    """The pages for search engines, as sitemaps.org has it: addresses alone, no dates that nobody knows."""
    pages = [way for way in drawn if way.endswith("index.html") and not offline.within(way).startswith(NOT_LISTED)]
    rows = "".join(f"<url><loc>{escape(base + way.removesuffix('index.html'))}</loc></url>\n" for way in sorted(pages))
    return f'<?xml version="1.0" encoding="utf-8"?>\n<urlset xmlns="http://www.sitemaps.org/schemas/sitemap/0.9">\n{rows}</urlset>\n'
