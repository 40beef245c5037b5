"""Typed entries to values, by the table of fields; all faults are reported together."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from unicodedata import normalize

from ..batch.refusal import Refused
from ..batch.share_out import Price, price
from ..fields import Field, field_of, in_order
from ..measures import are_us
from ..words import say, spoken, typed
from . import heat
from .faults import Fault, clip, fault, from_misread
from .learnt import LearntEntry, read_learnt
from .numbers import LONGEST, Misread, plain, spell, tidy
from .signs import unseen
from .tins import TinEntry, read_tin
from .units import Amount, factor, read_amount


@dataclass(frozen=True)
class Count:
    """A whole number, and how it is written."""

    value: int
    text: str


@dataclass(frozen=True)
class Cost:
    """A price as read, and how it is written."""

    value: Price
    text: str


Value = Amount | Count | Cost | TinEntry | LearntEntry | heat.Readings | heat.Places | heat.Changes | str


def text_of(value: Value) -> str:
    """An entry as it is written our way; it reads back to the same."""
    return value if isinstance(value, str) else value.text


def told_of(value: Value) -> str:
    """An entry as the language in force writes it; it too reads back to the same."""
    # What was learnt is a line for the program, handed from one card to the next.
    return text_of(value) if isinstance(value, (str, LearntEntry)) else typed(value.text)


# What stands on packs or is said instead of a percentage. Each is answered by
# name: these cooks are about to guess.
_NO_FIGURE = (
    ("saltpetre", re.compile(r"salt ?pet|salpeter|potassium nitrate|sodium nitrate|(?:kalium|natrium) ?nitrat|\be ?25[12]\b", re.I)),
    ("vegetable_cure", re.compile(r"celery|vegetable|beet|chard|plant|sellerie|gem(?:ü|ue)se|rote be+te|mangold|spinat|pflanz", re.I)),
    ("pack_without_figure", re.compile(r"nitrit|curing|cure|pink|rosa|salt|salz|p(?:o|ö|oe)kel|\bnps\b|\be ?2(49|50)\b", re.I)),
)


# What packs print behind their figure; with or without it the figure says the same.
_OF_NITRITE = re.compile(r"(?<=[0-9%g]) ?(?:of |as |an |von |als )?(?:sodium nitrite|nitrite|natriumnitrit|nitrit|nano2)$", re.I)
_NITRATE = re.compile(r"nitrat|nano3|kno3", re.I)
_AT_MOST = re.compile(r"(?:max(?:imum|imal|\.)?|at most|up to|höchstens|bis(?: zu)?|<=?|≤) ?(?=[0-9.,])", re.I)
_LABELS = ("pack", "found_pack")


def _read_label(text: str, field: Field) -> Amount:
    """A label: one strength, a range, or only the most there can be ("max 0.6 %")."""
    text = _OF_NITRITE.sub("", tidy(text))
    found = _AT_MOST.match(text)
    amount = read_amount(text[found.end():] if found else text, field.dimension, field.units, range_allowed=not found)
    # Labels are shown in per cent, however they were typed: it is what packs say.
    ends = [plain(end * 100) for end in (amount.low, amount.high)]
    written = f"{ends[0]} %" if not amount.is_range else f"{ends[0]}-{ends[1]} %"
    # Of a label that names only a maximum nothing is known from below.
    return replace(amount, low=Fraction(0), text=f"max {written}") if found else replace(amount, text=written)


def read_field(field: Field, text: str) -> tuple[Value | None, Fault | None]:
    """Read one entry.

    field: its row of the table; text: what was typed, not empty.
    Returns (value, None) or (None, fault).
    """
    example = field.example
    text = normalize("NFC", text)  # ü in two signs is the same word
    if field.kind == "choice":
        entry = tidy(text)
        if entry in field.choices:
            return entry, None
        return None, fault(field.key, text, "not_a_choice", choices=", ".join(field.choices))
    if field.kind == "text":
        name = tidy(text)
        # It is shown as it was typed.
        return (None, fault(field.key, text, "not_a_name", example=example)) if len(name) > LONGEST or unseen(name) else (name, None)
    if field.kind == "count":
        return _read_count(field, text)
    if field.kind == "tin":
        return _read_tin(field, text)
    if field.kind == "price":
        return _read_price(field, text)
    if field.kind == "learnt":
        found = read_learnt(text)
        return (found, None) if found else (None, fault(field.key, text, "not_learnt", example=example))
    if field.kind in heat.KINDS:
        return heat.read(field, text)
    if field.key in _LABELS and not re.search("[0-9]", re.sub(r"\be ?\d{3}\b", "", text, flags=re.I)):
        for code, pattern in _NO_FIGURE:
            if pattern.search(text):
                return None, fault(field.key, text, code)
    if field.key in _LABELS and _NITRATE.search(text):
        return None, fault(field.key, text, "pack_names_nitrate", example=example)
    try:
        if field.key in _LABELS:
            amount = _read_label(text, field)
        else:
            amount = read_amount(text, field.dimension, field.units, range_allowed=field.range_allowed)
    except Misread as error:
        return None, from_misread(field.key, text, error, example)
    least = amount.high if field.key in _LABELS and not amount.low else amount.low
    if least == 0 and field.low:
        return None, fault(field.key, text, "zero", example=example)
    if least < field.low:
        return None, fault(field.key, text, "too_small", least=_bound(field, field.low), example=example)
    if amount.high > field.high:
        return None, fault(field.key, text, "too_large", most=_bound(field, field.high), example=example)
    if field.key in ("scale", "fine_scale") and "/" in plain(amount.value / factor(amount.unit)):
        # A display shows decimals; a step of a third could not be written as it is judged.
        return None, fault(field.key, text, "scale_step", example=example)
    return amount, None


@lru_cache(maxsize=256)  # at each key all fields but one are what they were; faults are in a language and in units
def _read_once(key: str, text: str, language: str, us: bool) -> tuple[Value | None, Fault | None]:
    return read_field(field_of(key), text)


def _read_count(field: Field, text: str) -> tuple[Count | None, Fault | None]:
    entry = tidy(text)
    # Nine digits are more than any count here; more would only be slow to read.
    if not re.fullmatch("[0-9]{1,9}", entry):
        return None, fault(field.key, text, "not_a_count", example=field.example)
    number = int(entry)
    if not field.low <= number <= field.high:
        return None, fault(field.key, text, "count_range", least=plain(field.low), most=plain(field.high), example=field.example)
    return Count(number, str(number)), None


def _read_tin(field: Field, text: str) -> tuple[TinEntry | None, Fault | None]:
    try:
        return read_tin(text), None
    except Misread as error:
        return None, from_misread(field.key, text, error, field.example)
    except Refused as error:
        return None, refused(field.key, text, error)


_FOR = re.compile(r"(?P<sum>[0-9.,]+) ?(?P<currency>[^0-9/ ]*) ?(?:/|per |for |a |pro |je |für ) ?(?P<mass>.+)", re.IGNORECASE)


def _read_price(field: Field, text: str) -> tuple[Cost | None, Fault | None]:
    """"9.80 EUR/kg" or "2.40 EUR/250 g": what a pack costs, and what it weighs."""
    found = _FOR.fullmatch(tidy(text))
    if found is None:
        return None, fault(field.key, text, "not_a_price", example=field.example)
    mass = found["mass"] if re.match("[0-9.,]", found["mass"]) else f"1 {found['mass']}"
    try:
        ((amount, _),) = spell(found["sum"]).parts
        weight = read_amount(mass, "mass", field.units)
        # A price per kilo is of what is sold loose; one "/250 g" is that of a pack.
        made = price(amount, found["currency"], weight.value, weight.text.startswith("1 "))
    except Misread as error:
        return None, from_misread(field.key, text, error, field.example)
    except Refused as error:
        return None, refused(field.key, text, error)
    return Cost(made, f"{plain(amount)} {made.currency}/{weight.text.removeprefix('1 ')}"), None


def refused(key: str, read: object, error: Refused) -> Fault:
    """The Fault for what a module of the batch will not work out, in the words of its code."""
    values = {name: say(f"batch.side.{value}") if name == "field" else clip(value) if name == "read" else value for name, value in error.values.items()}
    return Fault(key, clip(read), error.code, say(f"batch.refused.{error.code}", **values))


def _bound(field: Field, value) -> str:
    unit = field.units[0]
    return f"{plain(value / factor(unit))} {unit}"


def read_entries(entries: dict[str, str]) -> tuple[dict[str, Value], list[Fault]]:
    """Read what was typed, field by field.

    entries: {key: text}; an empty text is a field left empty.
    Returns the values, and every fault found, in the order of the table; keys
    that the table does not know are faults too. Whether the recipe has the
    ingredient of a ``use.ID`` is for the one who knows the recipe.
    """
    values: dict[str, Value] = {}
    faults: list[Fault] = []
    for key in entries:
        if field_of(key) is None:
            faults.append(fault(str(key), entries[key], "unknown_key", key=str(key)))
    for field in in_order(entries):
        text = entries[field.key]
        if text is None or (isinstance(text, str) and not tidy(text)):
            continue
        if not isinstance(text, str):
            faults.append(fault(field.key, text, "not_text"))
            continue
        value, wrong = _read_once(field.key, text, spoken(), are_us())
        if wrong:
            faults.append(wrong)
        else:
            values[field.key] = value
    return values, faults
