"""What a judgement found: a code for the catalogue, how grave, and the figures that its sentence needs."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import NamedTuple


class Figure(NamedTuple):
    """A number with its unit, and the way to round it for reading so that the text stays on the safe side."""

    value: float
    unit: str  # "degC", "s", "min", "log10", "kg", "kJ/kg", "1" (a share), "mg/kg" or "percent"
    way: str = "nearest"  # "up", "down" or "nearest"


class Spread(NamedTuple):
    """One quantity in three cases. Which end is the safe one hangs on the quantity; its owner says."""

    low: float
    nominal: float
    high: float


@dataclass(frozen=True)
class Finding:
    """One thing to say. ``severity`` is "stop", "incomplete", "caution" or "note".

    ``figures`` fill the places of the sentence ``message.<code>``; ``ids`` fill
    places with words of the catalogue, by id.
    """

    code: str
    severity: str
    field: str = ""
    figures: dict[str, Figure] = dataclasses.field(default_factory=dict)
    ids: dict[str, str] = dataclasses.field(default_factory=dict)
    source: str = ""


_GRAVE = {"note": "ok", "caution": "caution", "incomplete": "incomplete", "stop": "stop"}
_ORDER = ("ok", "caution", "incomplete", "stop")


def verdict(findings: tuple[Finding, ...]) -> str:
    """The gravest of some findings, as a verdict: "ok", "caution", "incomplete" or "stop"."""
    return max((_GRAVE[found.severity] for found in findings), key=_ORDER.index, default="ok")
