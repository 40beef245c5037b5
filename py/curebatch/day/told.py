"""The day in words: times, lengths, the plan, what gives, mishaps."""

from __future__ import annotations

from datetime import datetime
from fractions import Fraction

from ..figures import per_text, percent, ppm
from ..intake.faults import Fault, fault
from ..intake.numbers import show
from ..measures import degrees, mass
from ..words import has, say
from .clock import DAY, WrongTime, Zone
from .mishaps import Mishap
from .steps import EXAMPLES
from .timetable import Event, Gives, Plan, WrongWork, as_data, both


def wall_text(at: datetime, zone: Zone) -> str:
    """An instant by the wall clock, with its weekday; with the offset where that time comes twice."""
    wall = zone.wall(at)
    text = say("day.when", weekday=say(f"day.weekday.{wall.isoweekday()}"), day=str(wall.day), month=say(f"day.month.{wall.month}"), time=wall.strftime("%H:%M"))
    return say("day.twice", when=text, offset=zone.offset_text(at)) if zone.is_twice(at) else text


def length_text(minutes: int) -> str:
    """A length of time [min, 0 or more]; days from two on."""
    if minutes >= 2 * DAY:
        days, hours = divmod(-(-minutes // 60), 24)
        return say("day.days_hours", days=str(days), hours=str(hours)) if hours else say("day.days", days=str(days))
    hours, rest = divmod(minutes, 60)
    if not hours:
        return say("day.minutes", minutes=str(rest))
    return say("day.hours_minutes", hours=str(hours), minutes=str(rest)) if rest else say("day.hours", hours=str(hours))


def event_text(event: Event) -> str:
    """What an event is, in one line; of several pieces, which one."""
    values = {name: str(value) for name, value in event.values.items()}
    if "celsius" in event.values:
        values["celsius"] = degrees(event.values["celsius"])
    for name in ("within", "least", "most"):
        if name in event.values:
            values[name] = length_text(event.values[name])
    text = say(f"day.event.{event.id}", **values)
    return say("day.of_piece", text=text, number=str(event.number), piece=event.piece) if event.piece and event.number else text


# What the ends of an event mean: it may be moved with what hangs on it, done at any time between, or comes between them.
# Deadlines are left out: theirs hang on when the heat was left, and no end is to be taken for leave to wait.
_RANGES = {
    **dict.fromkeys(("thaw", "half_freeze", "bowls", "soak_casings", "mix", "pickle", "rub", "fill", "pump", "hold", "cure"), "moved"),
    "slice": "between", **dict.fromkeys(("out", "rest", "cool", "cold"), "expected"),
}


def detail_text(event: Event, zone: Zone) -> str:
    """How long it takes, between which times it may lie, and why, in one line; "" where nothing is to be said."""
    parts = []
    if event.minutes:
        parts.append(say("day.takes", length=length_text(event.minutes)))
    if event.earliest != event.latest and event.id in _RANGES:
        parts.append(say(f"day.{_RANGES[event.id]}", earliest=wall_text(event.earliest, zone), latest=wall_text(event.latest, zone)))
    if has(f"day.why.{event.id}"):
        values = {name: length_text(value) for name, value in event.values.items() if name in ("least", "most", "within")}
        parts.append(say(f"day.why.{event.id}", **values, **{name: str(event.values[name]) for name in ("first_days", "last_days") if name in event.values}))
    return " ".join(parts)


def gives_text(gives: Gives) -> str:
    text = say(f"day.gives.{gives.code}", length=length_text(gives.minutes))
    if gives.severity != "way":
        return text
    return text + " " + say("day.enough" if gives.enough else "day.not_enough")


def plan_data(plan: Plan, zone: Zone) -> dict:
    """A plan as plain data with ready texts.

    Returns {"met", "zone", "serve", "serve_text", "events" [as_data with "text", "when_text", "detail_text"],
    "gives" [{"code", "severity", "minutes", "enough", "text"}], "source"}.
    """
    return {
        "met": plan.met, "zone": zone.name, "serve": both(plan.serve, zone), "serve_text": wall_text(plan.serve, zone),
        "events": [{**as_data(event, zone), "text": event_text(event), "when_text": wall_text(event.at, zone), "detail_text": detail_text(event, zone)} for event in plan.events],
        "gives": [{"code": one.code, "severity": one.severity, "minutes": one.minutes, "enough": one.enough, "text": gives_text(one)} for one in plan.gives],
        "source": say("day.source"),
    }


def time_fault(error: WrongTime, field: str = "") -> Fault:
    """The Fault for a time or zone that cannot be used; field: where the error names none."""
    values = dict(error.values)
    return fault(error.field or field, values.pop("read", values.get("at", "")), error.code, **values)


def work_fault(error: WrongWork) -> Fault:
    return fault(error.field, error.read if error.read is not None else "", "work_value", what=error.field)


# ------------------------------------------------------------------ mishaps

_SHARES = {"high": "up", "low": "down", "limit": "nearest", "limit_high": "up", "after": "up"}


def _figure(name: str, value: object) -> str:
    # A limit is one of nitrite, a share, or one of temperature.
    if name in _SHARES and isinstance(value, Fraction):
        return ppm(value, 1, _SHARES[name])
    if name == "salt":
        return percent(value)
    if name == "factor":
        return show(value, 2, "up")
    if name == "mix":
        return mass(value)
    if name in ("minutes", "most", "since", "still") and value is not None:
        return length_text(value)
    if name in ("celsius", "core", "to", "limit"):
        return degrees(value) if value is not None else ""
    return "" if value is None else str(value)


def mishap_data(mishap: Mishap, method: str = "ground") -> dict:
    """A mishap as plain data with ready texts.

    Returns {"code", "verdict", "verdict_text", "text", "todo" [{"id", "text"}], "more" [{"id", "name", "text",
    "total_text"}], "sources" [texts]}.
    """
    values = dict(mishap.values)
    other = values.pop("other_pack", False)
    texts = {name: _figure(name, value) for name, value in values.items()}
    for name in ("per", "limit_per"):
        if name in values:
            texts[name] = per_text(values[name], method)
    text = say(f"mishap.{mishap.code}", **texts)
    names = {"curing_salt": texts.get("label", ""), "salt": say("card.plain_salt")}
    return {
        "code": mishap.code, "verdict": mishap.verdict, "verdict_text": say(f"mishap.verdict.{mishap.verdict}"), "text": say("mishap.other_pack", **texts) + " " + text if other else text,
        "todo": [{"id": id, "text": say(f"mishap.todo.{id}")} for id in mishap.todo],
        "more": [{"id": row.id, "name": _row_name(row, names), "text": say("mishap.more", more=row.more_text, name=_row_name(row, names)), "total_text": say("mishap.total", total=row.total_text)} for row in mishap.more],
        "sources": [say(f"mishap.source.{id}") for id in mishap.sources],
    }


def weighed_over(values: dict[str, object], method: str) -> str:
    """That the card's dose is too much for what was weighed; values: of ``mishaps.as_weighed``."""
    high, limit = (_figure(name, values[name]) for name in ("limit_high", "limit"))
    return say("day.weigh.held", high=high, limit=limit, per=per_text(values["limit_per"], method))


def dose_over(values: dict[str, object], method: str) -> str:
    """That the dose in a log from a file is over a limit; values: of ``mishaps.as_weighed``."""
    high, limit = (_figure(name, values[name]) for name in ("limit_high", "limit"))
    return say("day.weigh.file_over", high=high, limit=limit, per=per_text(values["limit_per"], method))


def _row_name(row, names: dict[str, str]) -> str:
    if row.role == "curing_salt":
        return say("mishap.cure_name", label=names["curing_salt"])
    return names.get(row.role, row.name)


# ------------------------------------------------------------------ steps


def step_texts(cards: list[dict]) -> list[dict]:
    """The cards of ``steps.cards``, those without a text of the recipe with one of ours, timers and asks with their words."""
    found = []
    for card in cards:
        kind = card["kind"]
        more: dict = {"position_text": say("day.card.position", number=str(card["number"]), of=str(card["of"]))}
        if kind == "read_back":
            more |= {
                "text": say("day.card.read_back", name=card["name"]),
                "asks": [{"id": ask, "text": say(f"day.card.ask_{ask}", name=card["name"], label=card["label"], weigh=card["weigh"], on=card["on"])} for ask in card["asks"]],
            }
        elif kind != "step":
            more["text"] = say(f"day.card.{kind}")
        if card.get("timers"):
            more["timers"] = [{**timer, "text": _timer_text(timer)} for timer in card["timers"]]
        if card.get("readings"):
            more["readings"] = [{**reading, "text": say(f"day.card.reading_{reading['what']}"), "example": EXAMPLES[reading["what"]]} for reading in card["readings"]]
        found.append({**card, **more})
    return found


def _timer_text(timer: dict) -> str:
    low, high = (length_text(-(-timer[end] // 60)) for end in ("seconds", "most"))
    return low if low == high else say("day.card.timer_range", low=low, high=high)
