"""A card as one drawing, to be shown where no page can be: in a README, on a slide.

It says what the card says: verdict, weights, where the dose stands. Texts come ready made; only
presentation attributes, so that any viewer draws it alike.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape

from curebatch.views.html import full, named_cure
from curebatch.views.plots import dose_bar
from curebatch.words import say

WIDTH = 640
EDGE = 40
ROW = 34
PAPER, GROUND, INK, SOFT, LINE = "#fffaf1", "#f4ede1", "#2d1b27", "#67525c", "#cdbca9"
TONES = {"ok": ("#3f5f1e", "#e7edd3"), "caution": ("#7d4e00", "#fbe8bf"), "stop": ("#9c1f17", "#fadcd4"), "incomplete": ("#4b4a68", "#e6e4ee")}
_SERIF, _SANS = "Georgia, 'Times New Roman', serif", "system-ui, 'Segoe UI', 'DejaVu Sans', sans-serif"
#: The dose bar takes its colours from the style sheet of a page; a drawing that stands alone names them.
_COLOURS = (("zone-right", "#3f5f1e"), ("zone-much", "#9c1f17"), ("gate-limit", "#9c1f17"), ("gate-threshold", "#7d4e00"), ("weight", "#5b2244"), ("unit", SOFT))


def card_picture(card: Mapping) -> str:
    """The card as one <svg> of its own.

    card: as in the contract, with weights. Returns the drawing, with its words as title and
    description too. Raises ValueError for a card that gives nothing to weigh.
    """
    card = full(card)
    if card["verdict"] not in ("ok", "caution"):
        raise ValueError(f"a picture of a card needs weights, and this one says {card['verdict']}")
    tone, wash = TONES[card["verdict"]]
    parts: list[str] = []

    def text(x: float, y: float, words: str, size: float, *, fill: str = INK, weight: int = 400, family: str = _SANS, anchor: str = "start") -> None:
        parts.append(f'<text x="{x:g}" y="{y:g}" font-family="{family}" font-size="{size:g}" font-weight="{weight}" fill="{fill}" text-anchor="{anchor}">{escape(words)}</text>')

    y = 104.0
    text(EDGE, y, card["title"], 30, weight=600, family=_SERIF)
    y += 26
    parts.append(f'<rect x="{EDGE}" y="{y:g}" width="{WIDTH - 2 * EDGE}" height="44" fill="{wash}"/><rect x="{EDGE}" y="{y:g}" width="8" height="44" fill="{tone}"/>')
    text(EDGE + 24, y + 29, say(f"view.{card['verdict']}"), 20, fill=tone, weight=600, family=_SERIF)
    y += 78
    told = []
    for row in card["amounts"]:
        name = named_cure(row["name"], row["role"], card["cure"])
        cure = row["role"] in ("cure", "curing_salt")
        if cure:
            parts.append(f'<rect x="{EDGE}" y="{y - 25:g}" width="{WIDTH - 2 * EDGE}" height="{ROW}" fill="{TONES["caution"][1]}"/>')
        text(EDGE + 8, y - 3, name, 16, weight=700 if cure else 500)
        text(WIDTH - EDGE - 8, y - 1, row["weigh"]["text"], 23, weight=700, anchor="end")
        parts.append(f'<path d="M{EDGE} {y + 9:g}H{WIDTH - EDGE}" stroke="{LINE}"/>')
        told.append(f"{row['weigh']['text']} {name}")
        y += ROW
    picture = (card["cure"] or {}).get("picture")
    if picture:
        y += 4
        text(EDGE, y + 14, say("view.dose"), 18, weight=600, family=_SERIF)
        bar = dose_bar(picture)
        wide = WIDTH - 2 * EDGE
        high = wide * 126 / 320
        for name, colour in _COLOURS:
            bar = re.sub(rf'(<[a-z]+ [^>]*class="{name}"[^>]*)', lambda found, colour=colour: found[1].replace("currentColor", colour), bar)
        parts.append(f'<g color="{INK}" font-family="{_SANS}">' + bar.replace("<svg ", f'<svg x="{EDGE}" y="{y + 16:g}" width="{wide}" height="{high:g}" ', 1) + "</g>")
        y += 16 + high
    high = round(y + 34)
    tag = f"M8 {high - 8}V48a40 40 0 0 1 40-40H{WIDTH - 48}a40 40 0 0 1 40 40V{high - 8}z"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {high}" width="{WIDTH}" height="{high}" role="img">'
        f"<title>{escape(card['title'])}</title><desc>{escape('; '.join(told))}</desc>"
        f'<path d="{tag}" fill="{PAPER}" stroke="{LINE}" stroke-width="2"/>'
        f'<circle cx="{WIDTH / 2:g}" cy="42" r="13" fill="{GROUND}" stroke="{LINE}" stroke-width="5"/>'
        + "".join(parts)
        + "</svg>\n"
    )
