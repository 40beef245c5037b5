"""Phosphates, leavening and accelerators: what is in, and the limits they answer to."""

from __future__ import annotations

from fractions import Fraction

from ..batch import additives, doses
from ..batch.cure import Batch
from ..figures import per_text, ppm_against
from ..intake.document import Document
from ..intake.numbers import plain
from ..intake.sizing import yield_of
from ..messages import Messages
from ..words import say

ROLES = ("phosphate", "leavening", "accelerator")


def judge(document: Document, batch: Batch, messages: Messages) -> list[dict]:
    """Hold the additives against the limits of the region.

    Returns a row per limit: what was found, what it allows, and whether that is kept.
    """
    recipe = document.recipe
    if not _is_pumped_bacon(document, batch) and not any(line.role in ROLES and line.share for line in recipe.ingredients):
        return []
    if not doses.bases(batch, yield_of(recipe)[0], -1).meat:
        return []
    as_weighed = {judged.limit.id: judged for _, judged in _judged(document, batch, 0)}
    rows = [_row(kind, judged, as_weighed.get(judged.limit.id), batch, document, messages) for kind, judged in _judged(document, batch, 1)]
    if additives.acid_with_nitrite(doses.accelerators(recipe, batch, 1), batch.cure is not None):
        messages.add("acid_with_nitrite", "note", source=say("source.acid_with_nitrite"), text=say("batch.additive.acid_with_nitrite"))
    _say_leavening(document, messages)
    return rows


def _is_pumped_bacon(document: Document, batch: Batch) -> bool:
    """Whether it is the bacon that a rule asks an accelerator for: without one as well."""
    return document.recipe.method == "injected" and document.recipe.belly and batch.cure is not None


def _judged(document: Document, batch: Batch, way: int) -> list[tuple[str, additives.Judged]]:
    """Every limit that applies, with what the batch has at one end: 0 as weighed, +1 at its highest.

    What a rule asks for at the least is held against the low end.
    """
    recipe, region = document.recipe, document.choice("region")
    pumped_bacon = _is_pumped_bacon(document, batch)
    bases = doses.bases(batch, yield_of(recipe)[0], -way)
    found = [("phosphate", judged) for judged in additives.judge_phosphates(doses.phosphates(recipe, batch, way), bases, region)]
    accelerators = additives.judge_accelerators(doses.accelerators(recipe, batch, way), bases, region, pumped_bacon=pumped_bacon)
    found += [("accelerator", judged) for judged in accelerators if judged.limit.role == "limit"]
    if pumped_bacon:
        low, largest = doses.accelerators(recipe, batch, -way), doses.bases(batch, Fraction(1), way)
        least = additives.judge_accelerators(low, largest, region, pumped_bacon=True)
        found += [("accelerator", judged) for judged in least if judged.limit.role == "required"]
    return found


def _row(kind: str, judged: additives.Judged, as_weighed: additives.Judged | None, batch: Batch, document: Document, messages: Messages) -> dict:
    limit = judged.limit
    found, allowed = ppm_against(judged.found / 10**6, limit.value), f"{plain(limit.value)} mg/kg"
    values = {"counted": say(f"batch.additive.{limit.counted_as}"), "found": found, "per": per_text(limit.per, batch.method), "limit": allowed}
    text = say("batch.additive.required" if limit.role == "required" else f"batch.additive.{kind}", **values)
    source = say("source.additive", document=limit.document, clause=limit.clause, date=limit.date_read)
    if not judged.within:
        # A figure from memory warns; only one that was read stops.
        severe = limit.role == "limit" and limit.sure != "memory"
        by_scale = as_weighed is not None and as_weighed.within
        step = document.scales.for_cure
        over = "" if limit.role == "required" else " " + say("batch.additive.over_by_scale" if by_scale else "batch.additive.over", step=step.text(step.step))
        messages.add(f"additive_{limit.id}", "stop" if severe else "caution", source=source, text=f"{text}.{over}")
    return {"text": text, "source": source, "within": judged.within, "sure_text": say(f"sure.{limit.sure}")}


def _say_leavening(document: Document, messages: Messages) -> None:
    for line in document.recipe.ingredients:
        if line.role != "leavening" or not line.share:
            continue
        if not line.pack_list:
            messages.add("leavening_list", "note", name=line.name)
            continue
        powder = additives.read_leavening(line.pack_list)
        text = say("batch.additive.leavening_soda") if powder.raises_ph else say(f"batch.additive.leavening_{powder.binds}")
        if powder.p2o5_most:
            text += " " + say("batch.additive.leavening_most", p2o5=f"{float(powder.p2o5_most * 100):.0f} %")
        messages.add(f"leavening_{line.id}", "note", source=say("source.leavening"), text=f"{line.name}: {text}")


def judge_hold(document: Document, batch: Batch, messages: Messages) -> None:
    """Whether the hold before cooking may be left out: only where the accelerator's low end is enough for it."""
    recipe = document.recipe
    held = doses.accelerators(recipe, batch, -1)
    largest = doses.bases(batch, Fraction(1), 1)
    if not held or not largest.meat:
        messages.add("held", "note", "state")
        return
    hold = additives.hold_needed(held, largest.meat)
    found = {"found": f"{int(hold.found)}", "least": plain(hold.least)}
    if hold.spared:
        messages.add("accelerated", "note", "state", source=say("source.accelerated", sure=say(f"sure.{hold.sure}")), **found)
    else:
        messages.add("held", "note", "state")
        messages.add("accelerator_little", "note", "state", source=say("source.accelerated", sure=say(f"sure.{hold.sure}")), **found)
