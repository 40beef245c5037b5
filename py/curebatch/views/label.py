"""The small label for the fridge: ready texts of a card in their places, and blanks to write in by hand."""

from __future__ import annotations

from collections.abc import Mapping

from curebatch.views.html import full
from curebatch.views.lines import is_dosed
from curebatch.views.text import plain
from curebatch.words import say


def label(card: Mapping, *, made: str = "", use_by: str = "", raw: bool | None = None) -> dict:
    """What a label says.

    card: as in the contract; made, use_by: ready texts, "" for a blank to write in; raw: whether
    what stands in the fridge is still raw, else as the recipe ends.
    Returns {name, raw, raw_text, rows: [{key, label, text}]}; a row without text is a blank.
    Nothing is left out for want of a text, and {} comes back under ``stop``: no such
    food should be kept.
    """
    card = full(card)
    if card["verdict"] == "stop" or card["faults"]:
        return {}
    is_raw = bool(card.get("raw")) if raw is None else raw
    wanted = {row["label"]: plain(row["text"]) for row in card["targets"]}
    # What the thermometer must show, its error counted, as the steps say it.
    target = next((piece["target"] for piece in card["cooking"] if piece.get("target")), None)
    core = say("label.core", read=target["read_text"], hold=target["hold_text"]) if target else wanted.get(say("card.target_core"), "")
    texts = {
        "made": plain(made),
        "use_by": plain(use_by),
        "allergens": _allergens(card),
        "salt": wanted.get(say("card.target_salt"), ""),
        "cured": say("label.cured_none" if card.get("state") == "uncured" else "label.cured_text"),
    }
    if card.get("state") != "uncured" and is_dosed(card) and card["cure"]:
        texts["cured"] = plain(card["cure"]["name_text"])
    return {
        "name": plain(card["title"]),
        "language": card["language"],
        "raw": is_raw,
        "raw_text": " ".join([say("label.raw_text"), *([say("label.raw_core", core=core)] if core else [])]) if is_raw else "",
        "rows": [{"key": key, "label": say(f"label.{key}"), "text": text} for key, text in texts.items()],
    }


def _allergens(card: Mapping) -> str:
    """The allergens by the longest list there is: a label is read by whoever comes to the fridge."""
    rows = (card["allergens"] or {}).get("rows") or []
    return max((plain(row["text"]) for row in rows), key=len, default="")
