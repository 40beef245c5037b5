"""Units: the one module that knows pint. It never hands pint what a person typed.

Inside, mass is in grams, length in metres, volume in litres, time in minutes,
a share (per cent, mg/kg) as a plain fraction of one, temperature in degrees
Celsius: all exact fractions.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from .. import beforehand
from ..data import text as shipped
from .numbers import Misread, Spelled, plain, show, spell

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True)
class Unit:
    """One unit of the fixed list: how we write it, and what pint calls it."""

    text: str
    dimension: str
    spellings: tuple[str, ...]
    pint_name: str = ""  # where it has a fixed size


_LIST = (
    Unit("mg", "mass", ("mg", "milligramm"), "milligram"),
    Unit("g", "mass", ("g", "gram", "grams", "gramm"), "gram"),
    Unit("kg", "mass", ("kg", "kilo", "kilos", "kilogramm"), "kg"),
    Unit("oz", "mass", ("oz", "oz.", "ounce", "ounces", "unze", "unzen"), "ounce"),
    Unit("lb", "mass", ("lb", "lb.", "lbs", "lbs.", "pound", "pounds"), "pound"),
    Unit("%", "share", ("%", "percent", "per cent", "pct", "prozent"), "percent"),
    Unit("g/kg", "share", ("g/kg", "g / kg"), "per_mille"),
    Unit("mg/kg", "share", ("mg/kg", "mg / kg"), "ppm"),
    Unit("ppm", "share", ("ppm",), "ppm"),
    Unit("mm", "length", ("mm", "millimeter"), "millimetre"),
    Unit("cm", "length", ("cm", "zentimeter"), "centimetre"),
    Unit("in", "length", ("in", "inch", "inches", "zoll"), "inch"),
    Unit("ml", "volume", ("ml", "milliliter"), "millilitre"),
    Unit("l", "volume", ("l", "litre", "litres", "liter", "liters"), "litre"),
    Unit("min", "time", ("min", "mins", "minute", "minutes", "min.", "minuten"), "minute"),
    Unit("h", "time", ("h", "hr", "hour", "hours", "std", "std.", "stunde", "stunden"), "hour"),
    Unit("d", "time", ("d", "day", "days", "tag", "tage", "tagen"), "day"),
    Unit("°C", "temperature", ("°c", "c", "℃", "grad celsius", "grad c")),
    Unit("°F", "temperature", ("°f", "f", "℉", "grad fahrenheit", "grad f")),
    # Spoons hold a volume; what they weigh depends on what is in them.
    Unit("tsp", "spoon", ("tsp", "teaspoon", "teaspoons", "tl", "teelöffel")),
    Unit("tbsp", "spoon", ("tbsp", "tablespoon", "tablespoons", "el", "esslöffel", "eßlöffel")),
    Unit("cup", "spoon", ("cup", "cups")),
)
# Half a kilo to one cook, an lb to the next: never read as either.
_POUNDS = ("pfund", "pfd", "pfd.")
UNITS = {unit.text: unit for unit in _LIST}
_SPELLED = {spelling: unit for unit in _LIST for spelling in unit.spellings}
FACTORS = "intake/factors"
"""Where ``beforehand`` has them."""
_BASE = {"mass": "gram", "share": "share", "length": "metre", "volume": "litre", "time": "minute"}


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry:
    import pint  # a third of a start, and no start needs it where the factors were worked out beforehand

    text = shipped("kitchen_units.txt")
    registry = pint.UnitRegistry(None, non_int_type=Fraction, cache_folder=None)
    registry.load_definitions(text.splitlines())
    return registry


@lru_cache(maxsize=None)
def factor(unit: str) -> Fraction:
    """How many base units (g, m, l, min, share of one) one ``unit`` is, exactly.

    unit: a unit of the list with a fixed factor, so no temperature and no spoon.
    Raises KeyError for any other.
    """
    base = _BASE[UNITS[unit].dimension]
    made = (beforehand.table(FACTORS) or {}).get(unit)
    return by_pint(unit, base) if made is None else Fraction(*made)


def by_pint(unit: str, base: str) -> Fraction:
    """How many ``base`` one ``unit`` of the list is, by pint."""
    return Fraction(_registry().Quantity(Fraction(1), UNITS[unit].pint_name).to(base).magnitude)


def all_by_pint() -> dict[str, tuple[int, int]]:
    """{unit: factor as a ratio}, for the build to take along."""
    return {unit.text: by_pint(unit.text, _BASE[unit.dimension]).as_integer_ratio() for unit in _LIST if unit.pint_name}


def prove() -> None:
    """Hold the factors in use against pint's. Raises ArithmeticError where one differs."""
    for unit, ratio in all_by_pint().items():
        if factor(unit) != Fraction(*ratio):
            raise ArithmeticError(f"1 {unit} is {Fraction(*ratio)} by pint, and was taken for {factor(unit)}")


@dataclass(frozen=True)
class Amount:
    """A quantity as read: exact ends in base units, and the unit it was typed in."""

    low: Fraction
    high: Fraction
    unit: str
    text: str  # written our way, readable back
    turned: bool = False  # a range that was typed upside down

    @property
    def value(self) -> Fraction:
        """The one value; of a range its upper end."""
        return self.high

    @property
    def is_range(self) -> bool:
        return self.low != self.high


def _unit(letters: str, dimension: str, units: tuple[str, ...]) -> Unit:
    if not letters:
        raise Misread("bare_number", units=", ".join(units))
    # the degree sign may stand off its letter
    unit = _SPELLED.get(letters.lower().replace("° ", "°"))
    if letters.lower() in _POUNDS:
        raise Misread("pound_of_what")
    if unit is None:
        raise Misread("unknown_unit", unit=letters, units=", ".join(units))
    if unit.dimension != dimension or unit.text not in units:
        raise Misread("wrong_unit", unit=letters, units=", ".join(units))
    return unit


def _to_base(number: Fraction, unit: Unit) -> Fraction:
    if unit.text == "°F":
        return (number - 32) * Fraction(5, 9)
    if unit.text in ("°C", "tsp", "tbsp", "cup"):
        return number
    return number * factor(unit.text)


def _one(parts: tuple[tuple[Fraction, str], ...], dimension: str, units: tuple[str, ...]) -> tuple[Fraction, str, str]:
    if len(parts) == 1:
        number, letters = parts[0]
        unit = _unit(letters, dimension, units)
        return _to_base(number, unit), unit.text, f"{plain(number)} {unit.text}"
    # Of two-part quantities only pounds and ounces are in use.
    if len(parts) == 2:
        (pounds, first), (ounces, second) = parts
        if _SPELLED.get(first.lower()) == UNITS["lb"] and _SPELLED.get(second.lower()) == UNITS["oz"]:
            lb, oz = _unit(first, dimension, units), _unit(second, dimension, units)
            if pounds.denominator != 1 or ounces >= 16:
                raise Misread("pounds_ounces")
            return _to_base(pounds, lb) + _to_base(ounces, oz), "oz", f"{plain(pounds)} lb {plain(ounces)} oz"
    raise Misread("not_a_number")


_BOTH = re.compile(r"([^()]+?) ?\(([^()]+)\)")


def in_both(text: str) -> tuple[str, str]:
    """An entry that gives the same in a second unit, "4.1 g (0.144 oz)", cut in two; the second is "" where there is none."""
    found = _BOTH.fullmatch(text.strip())
    return (found[1], found[2]) if found else (text, "")


def _last_place(amount: Amount) -> Fraction:
    """What one in the last place is that ``amount`` is written with, in base units or K."""
    decimals = amount.text.rpartition(" ")[0].partition(".")[2]
    # A fourth one that is a nought stands there for reading alone: see ``numbers.show``.
    places = 3 if len(decimals) == 4 and decimals.endswith("0") else len(decimals)
    return Fraction(1, 10**places) * (Fraction(5, 9) if amount.unit == "°F" else 1 if amount.unit == "°C" else factor(amount.unit))


def same(first: Amount, second: Amount) -> Amount:
    """The first, where the second says the same as exactly as it is written; neither is a range.

    Raises Misread: of two amounts nobody can tell which one is meant.
    """
    apart, allowed = abs(first.value - second.value), max(_last_place(first), _last_place(second))
    if UNITS[first.unit].dimension != "temperature":
        # A whole pound is the last place of "4 lb", and no reason to take it for 2 kg.
        allowed = min(allowed, max(first.value / 20, Fraction(3, 10)))
    if first.unit == second.unit or apart > allowed:
        raise Misread("two_amounts")
    return first


def read_amount(text: str, dimension: str, units: tuple[str, ...], *, range_allowed: bool = False) -> Amount:
    """Read a typed quantity.

    text: what was typed; dimension: "mass", "share", "length", "volume", "time",
    "temperature" or "spoon"; units: the units of the list that the field takes;
    range_allowed: whether "0.4-0.5 %" is taken.
    Returns an Amount; a range typed upside down comes back sorted and marked.
    Raises Misread.
    """
    text, again = in_both(text)
    if again and dimension in ("mass", "length", "temperature"):
        return same(read_amount(text, dimension, units), read_amount(again, dimension, units))
    spelled: Spelled = spell(f"{text} ({again})" if again else text)
    if spelled.top is None:
        value, unit, written = _one(spelled.parts, dimension, units)
        return Amount(value, value, unit, written)
    if not range_allowed:
        raise Misread("no_range")
    low_parts = spelled.parts
    if len(low_parts) == 1 and not low_parts[0][1]:
        low_parts = ((low_parts[0][0], spelled.top[-1][1]),)
    low, unit, low_text = _one(low_parts, dimension, units)
    high, unit_high, high_text = _one(spelled.top, dimension, units)
    turned = low > high
    if turned:
        low, high, low_text, high_text, unit, unit_high = high, low, high_text, low_text, unit_high, unit
    if unit == unit_high:
        low_text = low_text.removesuffix(f" {unit}")
    return Amount(low, high, unit, f"{low_text}-{high_text}", turned)


def from_base(value: Fraction, unit: str) -> Fraction:
    """``value`` in base units as a number of ``unit``; exact."""
    if unit == "°F":
        return value * Fraction(9, 5) + 32
    if unit == "°C":
        return value
    size = factor(unit)
    return value if size == 1 else value / size


def write_mass(grams: Fraction, unit: str, places: int, way: str = "nearest") -> str:
    """A mass in the cook's unit: from one pound up, ounces read "2 lb 3.3 oz".

    grams: mass [g], not negative; unit: "mg", "g", "kg", "oz" or "lb"; places: decimals
    of that unit; way: as for ``numbers.show``. Returns text that reads back.
    """
    number = from_base(grams, unit)
    if unit == "oz":
        # Round first, or 15.97 oz would read 16.0 oz beside whole pounds.
        from_text = Fraction(show(number, places, way))
        pounds, ounces = divmod(from_text, 16)
        if pounds:
            return f"{pounds} lb {show(ounces, places)} oz"
    return f"{show(number, places, way)} {unit}"
