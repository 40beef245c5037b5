"""The card that the README shows: drawn anew by every build of the site's own recipes."""

from __future__ import annotations

import json
from pathlib import Path

import curebatch
from curebatch.views.picture import card_picture

from . import recipe_files

PLACE = recipe_files.SITE / "pictures" / "card.svg"
SHOWN = {"recipe": "pistachio-pork-loaf", "fields": {"pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g"}}


def drawing() -> str:
    """The picture as it has to be."""
    curebatch.start(recipe_files.read_shelf(recipe_files.FOLDER).decode())
    answer = curebatch.answer(json.dumps({"id": 0, "build": "picture", "input": {"page": "recipe", **SHOWN}, "want": ["all"]}))
    return card_picture(json.loads(answer)["card"])


def write(place: Path = PLACE) -> None:
    """Write it where it is not as it has to be; a tree that is up to date is not touched."""
    text = drawing()
    if not place.is_file() or place.read_text(encoding="utf-8") != text:
        place.parent.mkdir(exist_ok=True)
        place.write_text(text, encoding="utf-8", newline="\n")
