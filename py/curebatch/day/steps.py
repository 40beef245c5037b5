"""The recipe's steps as cards of data, one thing at a time.

What a card offers follows from what its step names: ``{curing_salt}`` brings the read-back
before it, ``{core}`` a reading of the core, ``{hold}`` and written times a timer. A recipe
needs no further marks; where it has a ``timer`` or a ``reading`` of its own, that holds.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from ..intake.numbers import Misread
from ..intake.recipe import Recipe
from ..intake.units import Amount, read_amount

READINGS = ("batter", "core", "cooling", "weight")
"""What may be read at a step, and typed there: the batter, the core while it cooks, the core while it
cools, the weight of a pumped cut."""
FIELDS = {"batter": "batter", "core": "readings", "cooling": "cooling_readings", "weight": ""}
"""The field that a reading goes into, so that what follows is judged anew; a weight is for the log alone."""
EXAMPLES = {"batter": "9 °C", "core": "76 °C", "cooling": "20 °C", "weight": "2.1 kg"}
"""How each of them is written."""
MOST_TIMERS = 3
LONGEST_TIMER = 72 * 3600  # s
TINY = Fraction(5)  # g: below it a slip of the scale is a large part of the dose; rule of this project
_UNSURE = Fraction(1, 20)  # of the dose, as for the advice on scales

_PLACE = re.compile(r"\{([a-z][a-z0-9_-]*)\}")
_NUMBER = r"[0-9]+(?:[.,][0-9]+)?|[0-9]+ [0-9]+/[0-9]+"
_TIME = re.compile(rf"(?<![\w.,/-])(?:({_NUMBER}) ?(?:-|–|to|bis) ?)?({_NUMBER}) ?(minutes|minuten|minute|mins|min|hours|hour|stunden|stunde|std|h)\b", re.I)
_COLD = re.compile(r"(?<![\w.,])-?[0-9]+(?:[.,][0-9]+)? ?° ?([CF])\b")
_COLD_MOST = {"C": 25, "F": 77}  # a step of mixing that names so low a temperature is about the batter


@dataclass(frozen=True)
class Extra:
    """What a recipe file may say of a step besides its text: ``timer`` a time or a range of times, None where the
    text tells; ``reading`` one of READINGS, "none", or "" where the text tells."""

    timer: Amount | None = None
    reading: str = ""


@dataclass(frozen=True)
class Dose:
    """The curing salt of a card: what the pack says, the dose and the error of its scale [g]."""

    label: str
    grams: Fraction
    error: Fraction


@dataclass(frozen=True)
class Timer:
    """``low`` and ``high`` in seconds; it rings at the low end, and again at the high."""

    low: int
    high: int
    of: str  # "text", "hold" or "recipe"


def timers_of(text: str, hold: Amount | None, extra: Extra = Extra()) -> tuple[Timer, ...]:
    """The timers of a step.

    text: of the recipe, its places not filled in; hold: of the recipe; extra: what the file says besides.
    Returns at most MOST_TIMERS, in the order of the text; a time that cannot be read gives none.
    """
    if extra.timer is not None:
        return (_timer(extra.timer, "recipe"),)
    found: list[tuple[int, Timer]] = []
    for place in _PLACE.finditer(text):
        if place[1] == "hold" and hold is not None:
            found.append((place.start(), _timer(hold, "hold")))
    for written in _TIME.finditer(text):
        try:
            high = read_amount(f"{written[2]} {written[3]}", "time", ("min", "h"))
            low = read_amount(f"{written[1]} {written[3]}", "time", ("min", "h")) if written[1] else high
        except Misread:
            continue
        if low.value <= high.value and 0 < high.value * 60 <= LONGEST_TIMER:
            found.append((written.start(), Timer(int(low.value * 60), int(high.value * 60), "text")))
    return tuple(timer for _, timer in sorted(found, key=lambda one: one[0])[:MOST_TIMERS])


def _timer(time: Amount, of: str) -> Timer:
    # A hold is never cut short by rounding.
    low, high = (-(-end * 60 // 1) for end in (time.low, time.high))
    return Timer(int(low), int(high), of)


def readings_of(text: str, recipe: Recipe, extra: Extra = Extra()) -> tuple[str, ...]:
    """What may be read at a step: of READINGS, in their order.

    text: of the recipe, its places not filled in; recipe; extra: what the file says besides.
    """
    if extra.reading:
        return () if extra.reading == "none" else (extra.reading,)
    places = set(_PLACE.findall(text))
    found = []
    if recipe.method == "ground" and any(float(number[0].split("°")[0].replace(",", ".")) <= _COLD_MOST[number[1]] for number in _COLD.finditer(text)):
        found.append("batter")
    if recipe.method == "injected" and "curing_salt" not in places and places & {line.id for line in recipe.ingredients if line.role in ("meat", "fat")}:
        found.append("weight")
    if "core" in places and not recipe.raw:
        found.append("core")
    return tuple(found)


def is_tiny(grams: Fraction, error: Fraction) -> bool:
    """Whether a dose wants a second look: a small one, or one of which the scale's error is a large part.

    grams: the dose [g, above 0]; error: of the scale that weighs it [g].
    """
    return grams < TINY or error > _UNSURE * grams


def cards(recipe: Recipe, card: dict, dose: Dose | None = None, extras: tuple[Extra, ...] = ()) -> list[dict]:
    """The cards of the day.

    recipe: its steps as written; card: as ``card.make`` gives it, ``steps`` filled in, ``amounts`` with what to
    weigh; dose: None where the batch has none; extras: one for each step,
    or none at all.
    Returns [{"id", "kind", "text", ...}]: "weigh" first, "step" for each step, "read_back" before the curing salt
    goes in (or "no_dose", where the card names none and the step asks for it), "cooling" after the last reading of
    a core. Every id is stable for one revision of a recipe, so that ticks find their step again.
    """
    dosed = card.get("cure") is not None
    found = list(_each(recipe, card, dose if dosed else None, extras or (Extra(),) * len(recipe.steps)))
    return [{**one, "number": number, "of": len(found)} for number, one in enumerate(found, 1)]


def _each(recipe: Recipe, card: dict, dose: Dose | None, extras: tuple[Extra, ...]) -> Iterator[dict]:
    uncured = card.get("state") == "uncured"
    rows = [row for row in card["amounts"] if row["role"] != "curing_salt"]
    if rows:
        yield {"id": "weigh", "kind": "weigh", "text": "", "rows": [{key: row[key] for key in ("id", "name", "role")} | {"text": row["weigh"]["text"]} for row in rows], "loads": card.get("loads", 1)}
    named = [index for index, text in enumerate(recipe.steps) if "{curing_salt}" in text]
    # A recipe whose steps never name it has it weighed with the rest.
    before = named[0] if named else 0
    cooked = [index for index, text in enumerate(recipe.steps) if "{core}" in text and not recipe.raw]
    for index, (text, filled, extra) in enumerate(zip(recipe.steps, card["steps"], extras, strict=True)):
        if index == before and not uncured:
            yield _read_back(card, dose) if dose else {"id": "read-back", "kind": "no_dose", "text": ""}
        readings = readings_of(text, recipe, extra)
        yield {
            "id": f"step-{index + 1}", "kind": "step", "text": filled["text"], "dose": index in named,
            "timers": [{"id": f"step-{index + 1}-{number}", "seconds": timer.low, "most": timer.high, "of": timer.of} for number, timer in enumerate(timers_of(text, recipe.hold, extra), 1)],
            "readings": [{"what": what, "field": FIELDS[what]} for what in readings],
        }
        if cooked and index == cooked[-1]:
            yield {"id": "cooling", "kind": "cooling", "text": "", "timers": [], "readings": [{"what": "cooling", "field": FIELDS["cooling"]}]}


def _read_back(card: dict, dose: Dose) -> dict:
    row = next(row for row in card["amounts"] if row["role"] == "curing_salt")
    tiny = is_tiny(dose.grams, dose.error)
    return {
        "id": "read-back", "kind": "read_back", "text": "", "name": row["name"], "label": dose.label, "weigh": row["weigh"]["text"], "on": row["on"],
        # Ticked one by one: which pack, what it says, what the scale shows; a tiny dose is looked at twice.
        "asks": ["pack", "percent", "grams", *(["again"] if tiny else [])], "tiny": tiny, "loads": card.get("loads", 1),
    }
