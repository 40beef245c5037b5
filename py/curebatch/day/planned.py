"""The form of the timetable: what it asks for a batch, what it assumes, and the plan made of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from ..batch import additives, doses
from ..batch.cure import Batch
from ..intake.document import Document
from ..intake.faults import Fault, fault, from_misread
from ..intake.numbers import Misread, tidy
from ..intake.units import Amount, read_amount
from ..rules import curing_time
from ..words import say
from .clock import DAY, Zone
from .timetable import MOST_PIECES, Piece, Plan, Range, Work, plan

GROUND = ("ground",)
WHOLE = ("dry", "brine", "injected")
UNITS = ("min", "h", "d")


@dataclass(frozen=True)
class Length:
    """A length of time that the timetable asks for. ``assumed``: what stands in for it where nothing is typed, an
    assumption of this page (common practice, no source); "" where it is left out, or has to be typed."""

    key: str
    assumed: str = ""
    methods: tuple[str, ...] = GROUND + WHOLE
    served: tuple[str, ...] = ("cold", "hot", "raw")
    is_range: bool = False
    needed: bool = False


LENGTHS = (
    Length("thaw"),
    Length("half_freeze", "90 min", GROUND),
    Length("bowls", "60 min", GROUND),
    Length("mix", "40 min"),
    Length("fill", "30 min", ("ground", "injected")),
    Length("cure", methods=WHOLE, is_range=True, needed=True),
    Length("soak", "1 h", WHOLE),
    Length("equalise", "12 h", WHOLE),
    Length("heat_up", "30 min", served=("cold", "hot")),
    Length("cooking", served=("cold", "hot"), is_range=True, needed=True),
    Length("rest", "20 min", served=("hot",)),
    Length("cooling", served=("cold",), is_range=True, needed=True),
    Length("slice", "20 min"),
)


def served_of(document: Document) -> tuple[str, ...]:
    """How it can be served: what is sold raw is cooked in another kitchen."""
    return ("raw",) if document.recipe.raw else ("cold", "hot")


def form(document: Document, card: dict) -> dict:
    """What the timetable asks for this batch.

    document; card: whole, as ``card.make`` gives it.
    Returns {"served": [{"value", "text"}], "fields": [{"key", "label", "hint", "assumed", "served"}]}.
    """
    known = _known(document, card)
    fields = []
    for length in _asked(document):
        assumed = known.get(length.key) or length.assumed
        hint = say(f"day.plan.{length.key}.hint")
        fields.append({
            "key": length.key, "label": say(f"day.plan.{length.key}.label"), "assumed": assumed, "served": list(length.served),
            "hint": f"{hint} {say('day.plan.worked_out' if length.key in known else 'day.plan.assumed', text=assumed)}" if assumed else hint,
        })
    return {"served": [{"value": one, "text": say(f"day.plan.served.{one}")} for one in served_of(document)], "fields": fields}


def _asked(document: Document) -> Iterator[Length]:
    for length in LENGTHS:
        if document.recipe.method not in length.methods or not set(length.served) & set(served_of(document)):
            continue
        if length.key in ("cure", "soak", "equalise") and document.state == "uncured":
            continue
        yield length


def _known(document: Document, card: dict) -> dict[str, str]:
    """What the card itself says of lengths of time, as texts."""
    found = {}
    days = _days(document)
    if days is not None:
        found["cure"] = f"{days.first} d" if days.first == days.last else f"{days.first}-{days.last} d"
    pieces = _forecast(card)
    if pieces:
        found["cooking"] = f"{min(span.low for _, span in pieces)}-{max(span.high for _, span in pieces)} min"
    steps = cooling_steps(card)
    if steps:
        # The open way's last step at the slow end, half of it at the quick one.
        most = steps[-1][1]
        found["cooling"] = f"{most // 2}-{most} min"
    return found


def _days(document: Document) -> curing_time.Days | None:
    method = document.recipe.method
    if method == "ground" or document.state == "uncured":
        return None
    thickness = document.values.get("thickness")
    if method != "injected" and not isinstance(thickness, Amount):
        return None
    return curing_time.days(thickness.value if isinstance(thickness, Amount) else Fraction(1, 100), document.meat, method)


def _forecast(card: dict) -> tuple[tuple[str, Range], ...]:
    """Each piece and its minutes to the end of its hold, where the card forecasts every one of them to an end."""
    rows = card.get("forecast") or []
    hold = max((-(-int(piece["target"]["hold_s"]) // 60) for piece in card.get("cooking") or ()), default=0)
    found = []
    for row in rows:
        minutes = row.get("minutes") or {}
        if any(minutes.get(end) is None for end in ("low", "nominal", "high")):
            return ()
        low, nominal, high = int(minutes["low"]), int(minutes["nominal"]), int(-(-minutes["high"] // 1))
        found.append((str(row["piece"]), Range(low + hold, nominal + hold, high + hold)))
    return tuple(found)


def cooling_steps(card: dict) -> tuple[tuple[float, int], ...]:
    """By when it must be how cold [(degC, minutes from the heat)], by the first way that is open for this batch."""
    for piece in card.get("cooling") or ():
        for option in piece["options"]:
            if not option["open"]:
                continue
            found, at = [], 0
            for window in option["windows"]:
                # Windows of one way follow each other, or begin together.
                at = at + int(window["within_min"]) if not found or window["from"] < option["windows"][0]["from"] else max(at, int(window["within_min"]))
                found.append((float(window["to"]), at))
            return tuple(found)
    return ()


class _Lengths:
    """The texts of the form, read one by one; every fault is kept."""

    def __init__(self, texts: dict, known: dict[str, str]):
        self.texts, self.known = texts, known
        self.faults: list[Fault] = []

    def read(self, length: Length) -> Range:
        text = tidy(str(self.texts.get(length.key, ""))) or self.known.get(length.key) or length.assumed
        if not text:
            if length.needed:
                self.faults.append(fault(length.key, "", f"plan_needed_{length.key}"))
            return Range(0, 0, 0)
        try:
            amount = read_amount(text, "time", UNITS, range_allowed=length.is_range)
        except Misread as error:
            self.faults.append(from_misread(length.key, text, error, length.assumed or "90-120 min"))
            return Range(0, 0, 0)
        low, high = int(amount.low // 1), int(-(-amount.high // 1))
        return Range(low, (low + high) // 2, high)


def plan_of(document: Document, card: dict, batch: Batch | None, texts: dict, zone: Zone, now: datetime) -> tuple[Plan | None, list[Fault]]:
    """The timetable of a batch.

    document; card: whole; batch: with its dose, None where there is none; texts: of the form, by key, with "serve"
    (wall time, "" for on from now) and "served"; zone; now: an instant.
    Returns (plan, []) or (None, faults). Raises WrongTime, WrongWork.
    """
    method, state = document.recipe.method, document.state
    served = texts.get("served") if texts.get("served") in served_of(document) else served_of(document)[0]
    lengths = _Lengths(texts, _known(document, card))
    found = {length.key: lengths.read(length) for length in _asked(document) if served in length.served}
    if lengths.faults:
        return None, lengths.faults
    nothing = Range(0, 0, 0)

    def minutes(key: str) -> int:
        return found.get(key, nothing).high

    cure = found.get("cure", nothing)
    work = Work(
        method, state, document.kinds, served,
        () if served == "raw" else _pieces(card, texts, found),
        accelerated=_accelerated(document, batch), cure=(-(-cure.low // DAY), -(-cure.high // DAY)), cooling_steps=cooling_steps(card) if served == "cold" else (),
        **{key: minutes(key) for key in ("thaw", "half_freeze", "bowls", "soak", "mix", "fill", "equalise", "heat_up", "rest", "slice")},
    )
    serve = tidy(str(texts.get("serve", "")))
    return plan(work, zone, zone.read(serve, "serve") if serve else None, now), []


def _pieces(card: dict, texts: dict, found: dict[str, Range]) -> tuple[Piece, ...]:
    """Each with its own forecast; what was typed goes for all of them."""
    cooling = found.get("cooling", Range(0, 0, 0))
    foretold = () if tidy(str(texts.get("cooking", ""))) else _forecast(card)[:MOST_PIECES]
    if not foretold:
        return (Piece(say("part.piece"), found["cooking"], cooling),)
    return tuple(Piece(name, span, cooling) for name, span in foretold)


def _accelerated(document: Document, batch: Batch | None) -> bool:
    """Whether the accelerator's low end spares the hold."""
    if batch is None or document.recipe.method != "ground":
        return False
    held, meat = doses.accelerators(document.recipe, batch, -1), doses.bases(batch, Fraction(1), 1).meat
    return bool(held and meat) and additives.hold_needed(held, meat).spared
