"""What the batch was made for, and what it means that a line was set to a weight."""

from __future__ import annotations

from ..batch.share_out import BLOCK
from ..figures import on_scale, percent
from ..intake.document import Document
from ..intake.entries import text_of
from ..messages import Messages
from ..words import say


def tell(document: Document, messages: Messages) -> None:
    """Say what decided the size, which lines differ from the recipe, and what the recipe itself would be of what is scarce."""
    sized = document.sized
    if sized is None:
        return
    if sized.meat is not None and (sized.way or sized.meat != document.recipe.meat):
        read = text_of(document.values[sized.way]) if sized.way in document.values else ""
        messages.add(f"made_{sized.way or 'changed'}", "note", sized.way if sized.way in document.values else "", read=read, meat=_mass(document, document.meat))
    names = {line.id: line.name for line in document.recipe.ingredients}
    roles = {line.id: line.role for line in document.recipe.ingredients}
    scarce = []
    for change in sized.changed:
        key = f"use.{change.id}"
        if key not in document.values:
            continue  # it only follows from another line that was set
        messages.add(
            "use_changed", "note", key, name=names[change.id], share=percent(change.after, 1), before=percent(change.before, 1),
            followed=_followed(roles[change.id], sized.way),
        )
        if change.before and change.after < change.before:
            scarce.append((document.values[key].value / change.before, change.id))
    if scarce and min(scarce)[0]:
        meat, name = min(scarce)
        messages.add("use_scaled", "note", f"use.{name}", name=names[name], meat=_mass(document, meat))


def _followed(role: str, way: str) -> str:
    """What the other lines do when one is set."""
    if role not in BLOCK:
        return say("make.rest_follows" if way in ("batch", "fill") else "make.rest_stays")
    return say({"use": "make.all_set", "": "make.block_stays"}.get(way, "make.block_follows"))


def _mass(document: Document, grams) -> str:
    return on_scale(document.scales.coarse, grams)
