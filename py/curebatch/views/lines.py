"""What a card says in single lines, for everything that leaves the page: text, Markdown, JSON-LD, sheet, label.

A line that names grams of curing salt names the percentage they belong to as well: passed on,
it is read next to another pack.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from curebatch.bare_grams import SENTENCE, BareGrams, bare_grams
from curebatch.views.html import full, named_cure
from curebatch.views.text import plain
from curebatch.words import say

__all__ = ["BareGrams", "Line", "answers", "bare_grams", "handed", "is_dosed", "lines_of", "plain", "sentence", "targets"]

DOSED = ("ok", "caution")


def handed(text: object) -> str:
    """``text`` for handing on: no control signs, and sentences with bare grams of curing salt left out."""
    clean = plain(text)
    if not bare_grams(clean):
        return clean
    kept = [say("hand.left_out") if bare_grams(sentence) else sentence for sentence in SENTENCE.split(clean)]
    return " ".join(kept)


def sentence(text: object) -> str:
    """``text`` without control signs, and with a full stop where it ends without a mark; "" stays ""."""
    clean = plain(text)
    return clean if not clean or clean[-1] in ".!?" else f"{clean}."


@dataclass(frozen=True)
class Line:
    """One thing that goes in. ``amount`` is "" where it hangs on the pack, and ``name`` then says on what."""

    amount: str
    name: str
    role: str = ""
    note: str = ""

    @property
    def text(self) -> str:
        return handed(say("hand.line", amount=self.amount, name=self.name) if self.amount else self.name)


def is_dosed(card: Mapping) -> bool:
    """Whether the card gives a dose, or needs none."""
    return card["verdict"] in DOSED


def lines_of(card: Mapping) -> list[Line]:
    """What goes in, in the order of weighing.

    card: as in the contract. Without a dose the two salts stand last, by their targets.
    Raises ValueError where a curing salt has no percentage.
    """
    card = full(card)
    if card["verdict"] == "stop":
        return []
    lines = [
        Line(plain(row["weigh"]["text"]), plain(named_cure(row["name"], row["role"], card["cure"])), row["role"], plain(row.get("note") or ""))
        for row in card["amounts"]
    ]
    if not is_dosed(card):
        lines += _by_targets(card)
    return lines


def _by_targets(card: Mapping) -> list[Line]:
    """The two salts by what the recipe wants of them: their grams hang on the pack."""
    wanted = {target["label"]: plain(target["text"]) for target in card["targets"]}
    open_lines = (("card.target_nitrite", "hand.cure_open", "curing_salt"), ("card.target_salt", "hand.salt_open", "salt"))
    return [
        Line("", say(name, text=wanted[say(target)]), role)
        for target, name, role in open_lines
        if say(target) in wanted
    ]


def answers(card: Mapping) -> list[str]:
    """The table of common strengths, each row one line with its strength in front; [] where the card has none."""
    return [handed(row["text"]) for row in full(card)["strengths"] if row.get("text")]


def targets(card: Mapping) -> list[str]:
    """What the recipe asks for, one line each."""
    return [handed(say("hand.pair", label=row["label"], text=row["text"])) for row in full(card)["targets"]]
