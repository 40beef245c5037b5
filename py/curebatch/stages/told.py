"""What the science and the rules of heat found, as sentences of a card.

Figures are rounded towards the safe side that each of them names.
"""

from __future__ import annotations

from collections.abc import Iterable

from ..intake.document import Document
from ..intake.heat import Places, Readings
from ..intake.units import Amount
from ..measures import are_us, celsius, degrees as in_force, difference, digits, fahrenheit, other_degrees, small_mass
from ..messages import Messages
from ..science.findings import Figure, Finding
from ..science.lethality import MOST_SHOWN, PROBE_ERROR
from ..words import has, say, shown

_GRAVE = ("stop", "caution")


def probe_error(document: Document) -> float:
    """How far the cook's thermometer may be off [K]."""
    value = document.values.get("probe_error")
    return float(value.value) if isinstance(value, Amount) else PROBE_ERROR


def in_fahrenheit(document: Document) -> bool:
    """Whether temperatures are shown in degF as well: where such thermometers hang, or one was read. In degF alone they are already."""
    if are_us():
        return False
    if document.choice("region") == "us":
        return True
    for value in document.values.values():
        if isinstance(value, Readings | Places) and value.fahrenheit:
            return True
        if isinstance(value, Amount) and value.unit == "°F":
            return True
    return False


def degrees(value: float, way: str = "nearest", both: bool = False) -> str:
    """A temperature [degC] in the units in force, and in degF behind degC where both are wanted."""
    return say("figure.both", figure=celsius(value, way), also=fahrenheit(value, way)) if both else shown(in_force(value, way))


def core(value: float) -> str:
    """What the middle must reach [degC], in both units, for both thermometers; never less than it is."""
    return say("figure.both", figure=in_force(value, "up"), also=other_degrees(value, "up"))


def duration(minutes: float, way: str = "nearest") -> str:
    """A time [min] as text: seconds under a minute and a half, hours from two on."""
    seconds = round(minutes * 60, 4)
    if seconds <= 90 and seconds != 60:
        return f"{digits(seconds, 0, way)} s"
    if minutes < 10:
        return shown(f"{digits(minutes, 1, way)} min")
    whole = int(digits(minutes, 0, way))
    if whole < 120:
        return f"{whole} min"
    return say("figure.hours", hours=str(whole // 60), minutes=str(whole % 60)) if whole % 60 else f"{whole // 60} h"


def reductions(value: float) -> str:
    """Decimal reductions as text, never more than is claimed."""
    return say("figure.log_most") if value >= MOST_SHOWN else shown(digits(value, 1, "down"))


def figure(found: Figure, both: bool = False) -> str:
    """A figure of a finding as text."""
    return shown(_figure(found, both))


def _figure(found: Figure, both: bool) -> str:
    value, unit, way = found
    if unit == "degC":
        return degrees(value, way, both)
    if unit == "degF":
        return f"{digits(value, 1, way)} °F"
    if unit == "K":
        return difference(value, way)
    if unit in ("s", "min"):
        return duration(value / 60 if unit == "s" else value, way)
    if unit == "log10":
        return reductions(value)
    if unit == "kg":
        return small_mass(value * 1000, way)
    if unit == "1":
        return f"{digits(value * 100, 0, way)} %"
    return f"{digits(value, 1, way)} {'%' if unit == 'percent' else unit}"


def row(finding: Finding, both: bool = False) -> dict:
    """A finding as a row of messages."""
    values = {name: figure(value, both) for name, value in finding.figures.items()}
    values |= {name: say(id) for name, id in finding.ids.items()}
    own = f"source.{finding.code}"
    return {
        "code": finding.code, "severity": finding.severity, "field": finding.field, "text": say(f"message.{finding.code}", **values),
        "source": finding.source or say(own if has(own) else "source.practice"),
    }


def tell(found: Iterable[Finding], messages: Messages, both: bool = False) -> list[dict]:
    """Findings as rows; stops and cautions are said among the card's messages as well."""
    rows = [row(one, both) for one in found]
    for one in rows:
        if one["severity"] in _GRAVE:
            messages.add(one["code"], one["severity"], one["field"], one["source"], one["text"])
    return rows
