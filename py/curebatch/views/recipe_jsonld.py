"""A card as schema.org Recipe in JSON-LD, saying what the page says and nothing else.

Curing salt is named with its percentage in the same line, or, without a pack, by what the
recipe asks for. Properties and their types: schema.org/Recipe, /CreativeWork and /HowToStep.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping

from curebatch.views.html import full
from curebatch.views.lines import handed, lines_of

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
# JSON keeps its meaning with these written as escapes, and then no text in it can end the
# script element or open a comment there.
_ESCAPED = str.maketrans({char: f"\\u{ord(char):04x}" for char in "<>&\u2028\u2029"})


def recipe_jsonld(
    card: Mapping,
    *,
    url: str = "",
    picture: str = "",
    published: str = "",
    modified: str = "",
    language: str = "en",
) -> dict:
    """The recipe of a card as JSON-LD.

    card: as in the contract; url: the page's absolute address; picture: that of its preview;
    published, modified: YYYY-MM-DD; language: of the recipe. What is "" is left out.
    Returns {} where the card says stop or has faults: what must not be made is no recipe.
    Raises ValueError for a date of another form.
    """
    card = full(card)
    if card["verdict"] == "stop" or card["faults"] or not card["title"]:
        return {}
    for date in (published, modified):
        if date and not _DATE.fullmatch(date):
            raise ValueError(f"{date!r} is no date: write it like 2026-11-25")
    ref = card.get("recipe") or ""
    data = {
        "@context": "https://schema.org",
        "@type": "Recipe",
        "name": handed(card["title"]),
        "description": handed(card.get("summary") or ""),
        # An author may be a club as well as a person; the recipe does not say which.
        "author": {"@type": "Organization", "name": handed(card["author"])} if card.get("author") else None,
        "inLanguage": language,
        "url": url,
        "image": picture,
        "identifier": ref,
        "version": ref.rpartition(".")[2] if "." in ref else "",
        "datePublished": published,
        "dateModified": modified,
        "recipeYield": handed(card["mix_text"]),
        "recipeIngredient": [line.text for line in lines_of(card)],
        "recipeInstructions": [{"@type": "HowToStep", "position": number, "text": handed(step["text"])} for number, step in enumerate(card["steps"], 1)],
    }
    return {key: value for key, value in data.items() if value}


def script(data: Mapping) -> str:
    """JSON-LD for the inside of <script type="application/ld+json">.

    data: as ``recipe_jsonld`` gives it. Returns text that holds no ``<``, ``>``, ``&`` and no
    line separator, to be put in unescaped.
    """
    return json.dumps(data, ensure_ascii=False, indent=1).translate(_ESCAPED)
