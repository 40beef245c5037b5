"""Whether it was cold again in time: which published ways are open, and what the readings keep of them.

Decided on the low end of nitrite, accelerator and brine, on the whole mix. Nothing
mends a cooling that was missed; what helps is said beforehand.
"""

from __future__ import annotations

from fractions import Fraction

from ..batch import additives, doses
from ..batch.composition import compose, parts_of
from ..batch.cure import Batch
from ..data import table
from ..figures import MG
from ..intake.document import Document
from ..intake.heat import Readings
from ..messages import Messages
from ..science import cooling_rules as rules
from ..science.cooling_rules import Cooled, Followed, Low, Opening
from ..words import say
from . import pieces, told

_COUNTED_AS = "sodium_erythorbate"
_UNIT = {"nitrite": "mg/kg", "accelerator": "mg/kg", "brine": "%", "aw": "", "intact": ""}


def low_end(document: Document, batch: Batch | None) -> Low:
    """What a batch has at the least, on the whole mix; of an uncured one, or none, nothing."""
    recipe = document.recipe
    intact = recipe.method in ("dry", "brine")
    if batch is None or batch.cure is None or document.beside is not None:
        # Of two batters in one tin either may be in the middle: no cured way is open to them.
        return Low(intact=intact)
    held = doses.accelerators(recipe, batch, -1)
    mix = doses.bases(batch, Fraction(1), 1).mix
    accelerator = sum((additives.accelerator_as(grams, name, _COUNTED_AS) for name, grams in held.items()), Fraction(0)) / mix if mix else Fraction(0)
    return Low(float(batch.nitrite("mix", "low") * MG), float(accelerator * MG), _brine(document, batch), intact)


def _brine(document: Document, batch: Batch) -> float:
    """Salt in salt and water at the least [per cent]: whatever no row tells of counts as water."""
    recipe = document.recipe
    parts = [part for part in parts_of(batch, recipe) if batch.method == "ground" or part.role in ("meat", "fat")]
    made = compose(parts)
    if not made.total:
        return 0.0
    salt = float(batch.salt_share("mix", "low"))
    water = (made.water + made.unknown) / made.total
    if batch.method == "injected":
        # What is pumped in is all but its salt water.
        pumped = float(batch.pumped.weighed) / float(batch.meat_grams)
        water = (water + pumped) / (1 + pumped)
    elif batch.method == "brine":
        water = 1 - salt  # soaked: the most that it can be
    return rules.brine_percent(salt, water)


def judge(document: Document, batch: Batch | None, messages: Messages, whole: bool = True, weighed: Batch | None = None, loads: int = 1) -> list[dict]:
    """The cooling of each piece, as data with ready texts; stops and cautions go to the messages.

    batch: with its dose, None where there is none; whole: False leaves out the drawing; weighed: the
    batch as far as it can be weighed, for how thick its pieces are; loads: how many such make up the whole.
    Returns one row, for the thickest piece; none where no kind of meat is known.
    """
    recipe = document.recipe
    if not recipe.kinds:
        return []
    low, region = low_end(document, batch), document.choice("region")
    given = document.values.get("cooling_readings")
    rows, out = (given.rows, given.out) if isinstance(given, Readings) else ((), None)
    thickness = pieces.thickest(document, weighed, loads) if rows and weighed is not None else None
    cooled = rules.judge_cooling(low, rows, region, told.probe_error(document), out, thickness)
    both = told.in_fahrenheit(document)
    undecided = batch is None and document.state != "uncured"
    # Why a way is closed stands beside that way.
    findings = [one for one in cooled.findings if not one.code.startswith("cooling_closed_")]
    # Of readings that cannot be right no way is told as kept.
    followed = () if any(one.code == "cooling_too_fast" for one in findings) else cooled.followed
    piece = {
        "piece": say("part.piece"), "verdict": cooled.verdict, "measured": bool(rows),
        "low": {"nitrite_mg_per_kg": round(low.nitrite, 1), "accelerator_mg_per_kg": round(low.accelerator, 1), "brine_percent": round(low.brine, 2), "intact": low.intact},
        "options": [_option(one, undecided) for one in cooled.options], "followed": [_followed(one, both) for one in followed],
        "messages": told.tell(findings, messages, both),
        "note_text": "" if rows else say("cooling.view.raw" if recipe.raw else "cooling.view.not_measured"),
        "advice": [say(f"cooling_advice.{one['id']}") for one in table("cooling")["advice"]], "advice_source": say("cooling.view.source_practice"), "picture": None,
    }
    if whole:
        piece["picture"] = _picture(cooled, rows, out)
    return [piece]


def _option(opening: Opening, undecided: bool) -> dict:
    option = opening.option
    # Without a dose nobody can say whether a cured way is open.
    state = "open" if opening.open else "with_pack" if undecided and any(name in ("nitrite", "brine", "accelerator") for name, _ in opening.missing) else "closed"
    return {
        "id": option.id, "text": say(f"cooling.{option.id}"), "open": opening.open, "state": state, "state_text": say(f"cooling.view.{state}"),
        "needs": [{name: need[name] for name in need} for need in option.needs], "missing": [name for name, _ in opening.missing] if state == "closed" else [],
        "why_text": _why(opening) if state == "closed" else "",
        "windows": [{"from": w.starts, "to": w.ends, "within_min": w.within} for w in option.every_window], "source": option.source,
    }


def _why(opening: Opening) -> str:
    """What keeps a way closed: the first condition of the set that comes nearest."""
    name, needed = opening.missing[0]
    return say(f"cooling.why.{name}", needed=f"{told.digits(needed, 2)} {_UNIT[name]}".strip())


def _followed(one: Followed, both: bool) -> dict:
    windows = []
    for passed in one.windows:
        window, state = passed.window, say(f"cooling.view.{passed.state}")
        within = told.duration(window.within, "down")
        words = {"within": within, "state": state}
        windows.append({
            "from": window.starts, "to": window.ends, "within_min": window.within, "state": passed.state, "took_min": passed.took, "left_min": passed.left,
            "label": say("cooling.view.window", **{"from": told.degrees(window.starts, both=both), "to": told.degrees(window.ends, both=both)}),
            "text": say("cooling.view.window_open", **words) if passed.took is None else say("cooling.view.window_text", took=told.duration(passed.took, "up"), **words),
        })
    return {"id": one.option.id, "text": say(f"cooling.{one.option.id}"), "state": one.state, "state_text": say(f"cooling.view.{one.state}"), "windows": windows}


_MILD = ("met", "as_read", "running", "unseen", "missed")


def _picture(cooled: Cooled, rows: tuple, out: float | None) -> dict:
    """Numbers for the drawing: the readings and the windows of the way that decides; before any, the first that is open."""
    best = min(cooled.followed, key=lambda one: _MILD.index(one.state), default=None)
    state = best.state if best else ""
    if state in ("met", "as_read") and cooled.verdict == "incomplete":
        state = "running"  # the readings cannot be right as they stand
    option = best.option if best else next(one.option for one in cooled.options if one.open)
    limits, at = [], 0.0
    for window in option.windows:
        at += window.within
        limits.append({"from": window.starts, "to": window.ends, "within_min": window.within, "by_min": at})
    return {
        "option": say(f"cooling.{option.id}"), "state": say(f"cooling.view.{state}") if state else "", "good": bool(best) and cooled.verdict in ("ok", "caution"),
        "starts": option.windows[0].starts, "limits": limits, "readings": [[row.minute, round(row.temperature, 2)] for row in rows], "out": out,
    }
