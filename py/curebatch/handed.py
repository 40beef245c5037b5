"""What leaves the page: the sheet and the label for paper, the card as text, the lines for another site.

Made only when they are asked for. The page tells its own address, which nobody else knows.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from .views import embed, markdown, qr, sheet
from .words import say

LOADER = "embed.js"  # at the site's root, under a name that lasts: other people's pages name it
_ADDRESS = re.compile(r"https?://[^\s\"'<>#?]{1,400}")
_RECIPE_PAGE = re.compile(r"(.*/)recipes/([a-z0-9-]+)/")


def address_of(given: object) -> str:
    """The page's address as the page told it, without query and fragment; "" for what is none to hand on."""
    text = given.removesuffix("index.html") if isinstance(given, str) else ""
    return text if _ADDRESS.fullmatch(text) else ""


def link_of(links: Mapping[str, str], address: str) -> str:
    """The whole recipe link; "" where the card has none, or the page no address."""
    return f"{address}#{links['recipe']}" if address and links.get("recipe") else ""


def _sheet(card: Mapping, link: str, given: Mapping) -> str:
    parts = {"date": str(given.get("today") or ""), "heat": sheet.heat_of(card), "cooling": sheet.cooling_of(card)}
    try:
        return sheet.sheet(card, link=link, **parts)
    except qr.LinkTooLong:
        return sheet.sheet(card, without_code=say("sheet.no_code"), **parts)


def published_sheet(card: Mapping, link: str) -> str:
    """The sheet of a recipe as published, for its page: printed where no script runs, so its link stands there to be read.

    card: without a pack; link: the recipe link, whole where the page's address is known, else what stands behind it.
    """
    word = "sheet.link" if _ADDRESS.fullmatch(link.partition("#")[0]) else "sheet.link_behind"
    return sheet.sheet(card, without_code=say(word, link=link), heat=sheet.heat_of(card), cooling=sheet.cooling_of(card))


def _snippet(card: Mapping, link: str, given: Mapping) -> str:
    place = _RECIPE_PAGE.fullmatch(address_of(given.get("address")))
    if place is None:
        return ""
    return embed.snippet(f"{place[1]}embed/{place[2]}/", place[0], card["title"], place[1] + LOADER)


_MAKE: dict[str, Callable[[Mapping, str, Mapping], str]] = {
    "sheet": _sheet,
    "label": lambda card, link, given: sheet.label_html(card),
    "text": lambda card, link, given: markdown.plain_text(card, link),
    "markdown": lambda card, link, given: markdown.markdown(card, link),
    "snippet": _snippet,
}
WANTS = tuple(_MAKE)


def made(card: Mapping, links: Mapping[str, str], given: Mapping, wanted: list) -> dict[str, str]:
    """What is asked for.

    card: a whole one; links: {"recipe": ...} or {}; given: the request's input, of it
    ``address`` and ``today``; wanted: of WANTS, others are passed over.
    Returns {want: HTML for the two that go on paper, else text}; "" where there is nothing to hand on.
    """
    link = link_of(links, address_of(given.get("address")))
    return {want: "" if card["faults"] else _MAKE[want](card, link, given) for want in wanted if want in WANTS}
