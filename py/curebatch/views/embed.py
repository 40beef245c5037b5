"""What stands in another site's page: the snippet to paste, and the answers of the frame without a script."""

from __future__ import annotations

import re
from collections.abc import Mapping
from html import escape

from curebatch.views.html import full
from curebatch.views.lines import handed
from curebatch.words import say

# Storage and the frame's own origin are needed for the program to run; without them it is dead.
SANDBOX = "allow-scripts allow-same-origin allow-forms allow-popups allow-downloads allow-modals"
#: What the frame asks; all else is taken as published, and the whole page asks it.
ASKED = ("pack", "pack_as", "meat", "scale")
#: The sections of a card that it shows.
SECTIONS = ("confirm", "verdict", "amounts", "messages")
SCRIPT_WORDS = ("starting", "starting_runtime", "starting_code", "slow", "broken_frame", "broken_answer", "withdrawn_frame")
HEIGHT = 640  # CSS pixels until the frame has said how high it is
_ADDRESS = re.compile(r"https?://[^\s\"'<>]+")


def answers(card: Mapping) -> list[dict]:
    """One answer for each common strength, each a whole sentence with its strength in it.

    card: without a pack. Returns [{percent, fits, text}]; [] where there is no dose to give.
    """
    card = full(card)
    if card["verdict"] == "stop":
        return []
    return [{"percent": handed(row["percent"]), "fits": not row.get("why"), "text": handed(row["text"])} for row in card["strengths"]]


def batch_of(card: Mapping) -> str:
    """What the answers are for: the meat of the batch, as it was understood; "" where it was not."""
    return next((say("hand.pair", label=row["label"], text=handed(row["text"])) for row in full(card)["understood"] if row["key"] == "meat"), "")


def snippet(frame_url: str, page_url: str, title: str, script_url: str = "") -> str:
    """The HTML that an author pastes.

    frame_url: of the embedded page; page_url: of the recipe's own; title: of the recipe;
    script_url: of the script that sizes the frame, or "" for the frame alone.
    The line of text and its link stand beside the frame, not in it: a frame that never
    loads can say nothing. Raises ValueError for an address that is no whole one.
    """
    for address in (frame_url, page_url, *([script_url] if script_url else [])):
        if not _ADDRESS.fullmatch(address):
            raise ValueError(f"{address!r} is no whole address: it begins with https://")
    name = handed(title)
    lines = [
        f'<iframe src="{escape(frame_url)}" title="{escape(say("embed.frame_title", title=name))}" width="100%" height="{HEIGHT}" loading="lazy" sandbox="{SANDBOX}"></iframe>',
        f'<p>{escape(say("embed.fallback", title=name))} <a href="{escape(page_url)}">{escape(say("embed.open"))}</a></p>',
    ]
    if script_url:
        lines.append(f'<script src="{escape(script_url)}" async></script>')
    return "\n".join(lines) + "\n"
