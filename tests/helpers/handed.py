"""Cards to hand on, and what no line of what is handed on may say."""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import deepcopy
from functools import lru_cache

from curebatch import entry, shelf

from helpers.kitchens import fill_shelf

PACKS = ({}, {"pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g", "region": "us"}, {"pack": "0.5 %", "scale": "1 g"})
STOPPED = {"pack": "6.25 %", "stated": "200 g"}
HOSTILE = (
    "<script>alert(1)</script>",
    "</script><!-- & \" ' ]]>",
    "*bold* _it_ `code` ~~out~~ ||hid|| $x$ {y} # head",
    "[link](https://evil.example) ![p](x.png) <https://evil.example> www.evil.example",
    "1. one 2) two - three + four = five",
    "- item",
    "12. a list",
    "===",
    "> quote",
    "| a | b |",
    "a\u2028b\u2029c\u202egf\nnew\r\nline\ttab\x00\x07",
    "\\*\\_",
    "%s {name} {0}",
)

# A weight with, or just before, the words for a curing salt, as none of our own lines words it.
WEIGHED = re.compile(r"\d\s*(?:g|kg|mg|oz|lb)\b(?!/)")
CURE = re.compile(r"curing salt", re.IGNORECASE)


@lru_cache(maxsize=64)
def _made(ref: str, kitchen: tuple) -> dict:
    fill_shelf()
    return entry.card_of(entry.read({"page": "recipe", "recipe": ref, "fields": dict(kitchen)}))


def card(ref: str = "pistachio-pork-loaf.1", kitchen: dict | None = None) -> dict:
    """A card of one's own to change."""
    return deepcopy(_made(ref, tuple((kitchen or {}).items())))


def cards(*kitchens: dict) -> Iterator[tuple[str, dict]]:
    """(name, card) of every recipe in each kitchen."""
    fill_shelf()
    for ref in shelf.refs():
        for number, kitchen in enumerate(kitchens or PACKS):
            yield f"{ref} {number}", card(ref, kitchen)


def bare(text: str) -> list[str]:
    """Lines with the grams of a curing salt and no percentage: the name and the weight nearest to it."""
    wrong = []
    for line in text.splitlines():
        for named in CURE.finditer(line):
            before = line[: named.start()]
            # What stands between the weight and the name must name another thing, or the line a strength.
            touching = re.search(r"\d\s*(?:g|kg|mg|oz|lb) (?:of )?(?:that |the )?$", before)
            if touching and WEIGHED.search(touching[0]) and "%" not in line:
                wrong.append(line)
    return wrong
