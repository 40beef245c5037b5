"""How masses, temperatures and lengths are written: metric, or as kitchens in the US have them.

The units are an input of a card and hold while it is made and shown: see ``in_units``. Nothing is
worked out or judged in them: what a scale shows stays in the unit of that scale, and a figure that
has a safe side is rounded towards it. What is written here reads back.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from fractions import Fraction
from functools import lru_cache

from .fields import UNITS
from .intake.numbers import show
from .intake.units import factor, from_base, write_mass

_HELD: ContextVar[str] = ContextVar("units", default=UNITS[0])
_US_MASSES = ("oz", "lb")


def are_us() -> bool:
    """Whether the units in force are those of the US."""
    return _HELD.get() == "us"


@contextmanager
def in_units(units: str) -> Iterator[None]:
    """Write everything in one system: one of UNITS."""
    if units not in UNITS:
        raise ValueError(f"units must be one of {', '.join(UNITS)}, not {units!r}")
    before = _HELD.set(units)
    try:
        yield
    finally:
        _HELD.reset(before)


@lru_cache(maxsize=512, typed=True)  # a card says most of its figures twice; what is equal in floats may differ here
def _exact(value: float | Fraction) -> Fraction:
    # Six places: what binary adds to 70 must not be rounded up to 70.1.
    return value if isinstance(value, Fraction) else Fraction(str(round(value, 6)))


def digits(value: float | Fraction, places: int, way: str = "nearest") -> str:
    """A number for reading, without a tail of noughts; below zero with a minus. way: as for ``numbers.show``."""
    text = show(_exact(value), places, way)
    return text.rstrip("0").rstrip(".") if "." in text else text


def celsius(value: float | Fraction, way: str = "nearest") -> str:
    """A temperature [degC] in degC."""
    return f"{digits(value, 1, way)} °C"


def fahrenheit(value: float | Fraction, way: str = "nearest") -> str:
    """A temperature [degC] in degF: whole where it has a safe side or is printed so, else with one decimal."""
    number = from_base(_exact(value), "°F")
    whole = Fraction(round(number))
    # The documents print 62.8 °C for 145 °F.
    if show((whole - 32) * Fraction(5, 9), 1) == show(_exact(value), 1):
        return f"{whole} °F"
    return f"{digits(number, 0 if way != 'nearest' else 1, way)} °F"


def degrees(value: float | Fraction, way: str = "nearest") -> str:
    """A temperature [degC] in the units in force. way: "up", "down" or "nearest"."""
    return fahrenheit(value, way) if are_us() else celsius(value, way)


def other_degrees(value: float | Fraction, way: str = "nearest") -> str:
    """A temperature [degC] in the unit that is not in force."""
    return celsius(value, way) if are_us() else fahrenheit(value, way)


def difference(kelvin: float | Fraction, way: str = "nearest") -> str:
    """How far two temperatures lie apart [K], in the units in force."""
    return f"{digits(_exact(kelvin) * Fraction(9, 5), 1, way)} °F" if are_us() else f"{digits(kelvin, 1, way)} °C"


def length(metres: float | Fraction, way: str = "nearest", unit: str = "cm") -> str:
    """A length [m] in the units in force, without a tail of noughts; unit: the metric one."""
    unit = "in" if are_us() else unit
    return f"{digits(_exact(metres) / factor(unit), 1, way)} {unit}"


def ruled(metres: float | Fraction) -> str:
    """A length [m] to be held against a ruler: with one decimal, in the units in force."""
    unit = "in" if are_us() else "cm"
    return f"{show(_exact(metres) / factor(unit), 1)} {unit}"


def mass(grams: Fraction, unit: str = "g", places: int = 0, way: str = "nearest") -> str:
    """A mass [g] that no scale is asked for, in the units in force; unit and places: of the metric one."""
    return _ounces(grams, way) if are_us() else write_mass(grams, unit, places, way)


def _ounces(grams: Fraction, way: str = "nearest") -> str:
    return write_mass(grams, "oz", 1 if grams >= 10 * factor("oz") else 2, way)


def small_mass(grams: float | Fraction, way: str = "nearest") -> str:
    """A mass [g] for reading, without a tail of noughts: kilograms from one on; in the units in force."""
    grams = _exact(grams)
    if are_us():
        return _ounces(grams, way)
    return f"{digits(grams / 1000, 2, way)} kg" if grams >= 1000 else f"{digits(grams, 0, way)} g"


def second_mass(grams: Fraction, unit: str, step: Fraction | None = None) -> str:
    """What a scale shows, in the other system; "" where nothing is to stand beside it.

    grams: as weighed; unit: of the scale; step: of the scale [g], for what is dosed. A dose is
    rounded down, by less than that step: so far off, both worst cases allow for already.
    """
    if not are_us() or grams <= 0:
        return ""
    other = "g" if unit in _US_MASSES else "oz"
    if step is None:
        return "" if other == "g" else _ounces(grams)
    places = 1 if other == "g" else 2
    while places < 6 and grams - factor(other) * Fraction(show(from_base(grams, other), places, "down")) >= step / 2:
        places += 1
    return write_mass(grams, other, places, "down")


def _with(text: str, also: str) -> str:
    return f"{text} ({also})" if also else text


def weighed(grams: Fraction, unit: str, places: int) -> str:
    """A weight [g] as a scale of that unit and so many decimals shows it, in the other system behind it where that is the one in force."""
    return _with(write_mass(grams, unit, places), second_mass(grams, unit))


def dose(grams: Fraction, unit: str, places: int, step: Fraction = Fraction(1, 100)) -> str:
    """A dose [g] as a scale shows it, and in the other system behind it; step: of the scale [g]."""
    return _with(write_mass(grams, unit, places), second_mass(grams, unit, step))


def of_sizes(text: str) -> str:
    """A tin as it is written our way ("loaf 24 x 9 bottom 22 x 8 depth 7 cm"), its sizes in the units in force."""
    if not are_us() or text.count("cm") + text.count("mm") != 1 or not text.endswith((" cm", " mm")):
        return text
    unit = text[-2:]
    return re.sub(r"[0-9]+(?:\.[0-9]+)?(?= (?:x |bottom|depth|[cm]m$))", lambda size: length(Fraction(size[0]) * factor(unit)).removesuffix(" in"), text).removesuffix(unit) + "in"


# ------------------------------------------------------------------ the catalogue's own figures

_NUMBER = r"-?[0-9]+(?:[.,][0-9]+)?"
_DEGREES = re.compile(rf"({_NUMBER})(?:(-|–| to | bis | auf )({_NUMBER}))?( |\u00a0)°C(?![A-Za-z])")


@lru_cache(maxsize=512)
def _of_words(text: str) -> str:
    def put(found: re.Match[str]) -> str:
        first, between, second, blank = found.groups()
        numbers = [fahrenheit(Fraction(one.replace(",", "."))).removesuffix(" °F") for one in (first, second) if one]
        return (between or "").join(numbers) + f"{blank}°F"

    return _DEGREES.sub(put, text)


def beside(text: str, write: Callable[[str], str] = str) -> str:
    """A text of somebody's own with the same in degF behind each degC in it, where degF is in force: nothing of it is taken away.

    write: how the language writes what is put in.
    """
    if not are_us():
        return text
    return _DEGREES.sub(lambda found: f"{found[0]} ({write(_of_words(found[0]))})", text)


def of_words(text: str) -> str:
    """A text of the catalogue with the temperatures that stand in it in the units in force.

    Those are whole degC, which one decimal of degF holds exactly, or degF as the documents print them in degC.
    """
    return _of_words(text) if are_us() and "°C" in text else text
