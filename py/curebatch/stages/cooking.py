"""Whether the middle gets hot enough: the target before, the readings afterwards.

Before anything is measured only the target is judged, and that is said. Readings
are judged by what they prove; a target that is too low stays a stop beside them.
"""

from __future__ import annotations

from dataclasses import replace

from ..batch.composition import compose, parts_of
from ..batch.cure import Batch
from ..intake.document import Document
from ..intake.heat import Readings
from ..messages import Messages
from ..rules import core
from ..rules.core import Cooked, Meat, Target
from ..science import lethality as heat
from ..science.findings import Finding, verdict
from ..words import say
from . import told

_MOIST = ("casing", "covered_tin")
_FAT_SURE = 0.5  # per cent of the batch that may be in no row of the food table, for its fat to count as known


def judge(document: Document, batch: Batch, messages: Messages, whole: bool = True) -> list[dict]:
    """The cooking of each piece, as data with ready texts; stops and cautions go to the messages.

    batch: as far as it can be weighed, for its fat; whole: False leaves out rows and drawing.
    Returns one row, for the thickest piece; none where no kind of meat is known.
    """
    recipe = document.recipe
    if not recipe.kinds:
        return []
    meat, region, error = _meat(document, batch), document.choice("region"), told.probe_error(document)
    humid = is_moist(document)
    target = _target(document, meat, region, humid, error)
    given = document.values.get("readings")
    cooked = None
    findings = target.findings
    if isinstance(given, Readings):
        aim = float(recipe.core.value) if recipe.core is not None else None
        cooked = core.judge_readings(meat, given.rows, region, humid, error, aim)
        # What the readings say stands in place of what the target only feared.
        stops = tuple(one for one in target.findings if one.severity == "stop")
        findings = (*stops, *(one for one in cooked.findings if not (stops and one.code in core.REASSURING)))
    if cooked is not None and "probe_error" not in document.values:
        findings = (*findings, Finding("probe_check", "note", "probe_error"))
    judged = verdict(findings)
    if recipe.raw and cooked is None and judged != "stop":
        judged = "incomplete"  # who cooks it is another kitchen
    both = told.in_fahrenheit(document)
    piece = {
        "piece": say("part.piece"), "verdict": judged, "measured": cooked is not None, "raw": recipe.raw,
        "target": _target_data(document, target, both), "reached": _reached_data(cooked) if cooked else None,
        "messages": told.tell(findings, messages, both),
        "note_text": say("cooking.raw") if recipe.raw and cooked is None else "" if cooked else say("cooking.not_measured"),
        "rows": [], "pink_text": say("judge.pink"), "picture": None,
    }
    if whole:
        piece["rows"] = _rows(document, target, cooked, error, both)
        if cooked is not None:
            piece["picture"] = _picture(document, target, cooked, given)
    return [piece]


def is_moist(document: Document) -> bool | None:
    """Whether the air is kept moist: as the cook says, else as the vessel has it; None where nothing tells."""
    said = document.values.get("covered")
    if said is not None:
        return said == "moist"
    return True if document.recipe.vessel in _MOIST else None


def _meat(document: Document, batch: Batch) -> Meat:
    recipe = document.recipe
    # With another batter in the tin the strictest of both holds: no table of one bird's own.
    species = recipe.species if document.beside is None else ""
    fat = None
    if species == "chicken" and recipe.method == "ground" and batch.meat_grams:
        made = compose(parts_of(batch, recipe))
        fat = made.fat / made.total if made.percent("unknown") <= _FAT_SURE else None
    return Meat(document.kinds, recipe.method, fat, species)


def _target(document: Document, meat: Meat, region: str, humid: bool | None, error: float) -> Target:
    stated = document.recipe.core
    if stated is not None:
        hold = document.recipe.hold
        return core.judge_target(meat, float(stated.value), float(hold.value) * 60 if hold else None, region, humid, error)
    # Where the recipe says nothing the target is ours: advice above it is told, and held against nobody.
    aim = core.default_target(meat, region, error)
    judged = core.judge_target(meat, aim.core, aim.hold, region, humid, error)
    milder = [replace(one, severity="note") if one.severity == "caution" else one for one in judged.findings]
    return replace(aim, findings=(Finding("target_not_stated", "note", "core"), *milder))


def _hold(document: Document, target: Target) -> float:
    """How long the middle is to stay at the target [s]: as stated, and no less than it needs."""
    stated = document.recipe.hold if document.recipe.core is not None else None
    return max(target.hold, float(stated.value) * 60 if stated else 0.0)


def _target_data(document: Document, target: Target, both: bool) -> dict:
    hold = _hold(document, target)
    return {
        "core": round(target.core, 2), "hold_s": round(hold, 1), "needed_s": round(target.hold, 1), "read": round(target.read, 2), "way": target.way,
        "stated_by": _stated_by(document), "verdict": target.verdict,
        "read_text": told.core(target.read) if target.way else "", "hold_text": told.duration(hold / 60, "up") if target.way and hold else "",
    }


def _stated_by(document: Document) -> str:
    if "core" in document.values:
        return "cook"
    return "project" if document.recipe.core is None else "recipe"


def _reached_data(cooked: Cooked) -> dict:
    reached = cooked.reached
    return {
        "salmonella": round(reached.salmonella, 2), "listeria": round(reached.listeria, 2), "pasteurisation_min": round(reached.pasteurisation, 2), "peak": round(reached.peak, 2),
        "come_up_min": cooked.come_up.minutes, "way": cooked.way, "more_s": None if cooked.more is None else round(cooked.more, 1),
    }


def _rows(document: Document, target: Target, cooked: Cooked | None, error: float, both: bool) -> list[dict]:
    rows = []

    def add(name: str, text: str) -> None:
        rows.append({"label": say(f"cooking.{name}"), "text": text})

    hold = _hold(document, target)
    hold_text = told.duration(hold / 60, "up") if hold else ""
    by = {"cook": "own", "recipe": "recipe", "project": "project"}[_stated_by(document)]
    if target.way:
        wanted = {"core": told.core(target.core), "hold": hold_text}
        add(by, say("cooking.target_hold" if hold else "cooking.target_text", **wanted))
        shown = {"read": told.core(target.read), "error": told.difference(error, "up"), "hold": hold_text}
        add("read", say("cooking.read_hold" if hold else "cooking.read_text", **shown))
        rows.append({"label": "", "text": say(f"cooking.way.{target.way}")})
    if cooked is not None:
        reached = cooked.reached
        add("peak", told.degrees(reached.peak, "down", both))
        add("salmonella", say("judge.reductions", value=told.reductions(reached.salmonella)))
        add("listeria", say("judge.reductions", value=told.reductions(reached.listeria)))
        if cooked.more:
            add("more", told.duration(cooked.more / 60, "up"))
        rise = cooked.come_up
        if rise.minutes is not None:
            add("come_up", say("cooking.come_up_text" if rise.seen else "cooking.come_up_seen", minutes=told.duration(rise.minutes, "up")))
        add("pasteurisation", say("cooking.pasteurisation_text", value=told.digits(reached.pasteurisation, 1, "down")))
    return rows


def _picture(document: Document, target: Target, cooked: Cooked, given: Readings) -> dict:
    """Numbers for the drawing: readings, the temperature to be shown, and for how long."""
    proved = verdict(cooked.findings) != "stop"
    run = heat.held(given.rows, target.core, told.probe_error(document)) if target.way else None
    return {
        "readings": [[row.minute, round(row.temperature, 2)] for row in given.rows], "read": target.read if target.way else None,
        "hold_min": _hold(document, target) / 60, "held_from": run.begins if run else None, "held_min": run.minutes if run else 0.0,
        "proved": proved,
    }
