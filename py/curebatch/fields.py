"""The one table of fields: form, link, ``--set``, errors and glossary are drawn from it.

The order is the order of the form and of the link. A key that is published in
links stays for good. Behind the rows of the table come the keys that name an
ingredient of the recipe, ``use.ID`` and ``price.ID``, in the order of the alphabet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

MASS = ("g", "kg", "oz", "lb")
PERCENT = ("%", "g/kg")
RATIO = ("mg/kg", "ppm")
LENGTH = ("mm", "cm", "in")
TEMPERATURE = ("°C", "°F")
TIME = ("min", "h")

UNITS = ("metric", "us")  # in which a card is written
COMPOUNDS = ("NaNO2", "NO2-", "KNO2")
BASES = ("meat", "mix")


@dataclass(frozen=True)
class Field:
    """One thing that can be said: in a form, a link or on the command line."""

    key: str
    group: str  # "batch", "kitchen", "found", "mixing", "heat" or "oven"
    kind: str  # "mass", "percent", "ratio", "length", "count", "tin", "choice", "text", "learnt", or one of intake.heat.KINDS
    units: tuple[str, ...] = ()
    low: Fraction | None = None  # smallest value [base unit], itself allowed
    high: Fraction | None = None  # largest value [base unit], itself allowed
    choices: tuple[str, ...] = ()
    default: str = ""  # what an empty field means; never anything in the cook's cupboard
    example: str = ""
    range_allowed: bool = False
    shared: bool = True  # whether the recipe link carries it; the kitchen stays at home
    advanced: bool = False
    methods: tuple[str, ...] = ("ground", "dry", "brine", "injected")  # for which it is asked
    place: str = ""  # of a temperature: whose bounds it has, by science.readings.PLACES

    @property
    def dimension(self) -> str:
        """The dimension of its quantity, for the units module."""
        return {"mass": "mass", "percent": "share", "ratio": "share", "length": "length"}[self.kind]

    @property
    def is_quantity(self) -> bool:
        return self.kind in ("mass", "percent", "ratio", "length")


def _mass(key: str, group: str, example: str, low: str, high: str, **more) -> Field:
    return Field(key, group, "mass", more.pop("units", MASS), Fraction(low), Fraction(high), example=example, **more)


def _pick(key: str, group: str, choices: tuple[str, ...], default: str, **more) -> Field:
    return Field(key, group, "choice", choices=choices, default=default, **more)


def _degrees(key: str, example: str, place: str = "", **more) -> Field:
    # A core outside what is possible is judged, not refused: the card says which unit was meant.
    return Field(key, more.pop("group", "mixing"), "temperature", TEMPERATURE, Fraction(-60), Fraction(400), example=example, place=place, **more)


REGIONS = ("strictest", "us", "eu", "gb", "ni", "ca", "au", "nz", "codex")

SPOONS = ("metric", "us", "au")

# What a piece is heated and cooled in, what covers it and what it lies in: rows of data/surfaces.toml.
OVENS = ("still_oven", "fan_oven", "steam", "oven_water_bath", "poaching", "stirred_bath")
CHILLS = ("room_air", "fridge", "moving_air", "fast_air", "cold_water", "iced_water")
COVERS = ("open", "wet", "casing", "foil", "bag")
WALLS = ("metal", "silicone", "glass", "ceramic")

_TINS = {"tin": "box 30 x 10 x 8 cm", "tin_2": "loaf 24 x 9 bottom 22 x 8 depth 7 cm", "tin_3": "2 x casing flat 9 x 30 cm"}

_MG = Fraction(1, 1_000_000)
_KITCHEN = {"shared": False}
_CHOPPED = {"shared": False, "methods": ("ground",)}

FIELDS: tuple[Field, ...] = (
    Field("recipe", "batch", "text", example="pistachio-pork-loaf.1"),
    _mass("found_cure", "found", "20 g", "0.01", "50000"),
    _mass("found_meat", "found", "1 kg", "1", "1000000"),
    _pick("found_per", "found", BASES, "meat"),
    Field("found_pack", "found", "percent", PERCENT, Fraction(1, 10000), Fraction(1), example="0.5 %", range_allowed=True),
    _pick("found_pack_as", "found", COMPOUNDS, "NaNO2", advanced=True),
    _mass("found_salt", "found", "5 g", "0", "100000"),
    _mass("found_other", "found", "250 g", "0", "1000000"),
    _mass("meat", "batch", "2.4 kg", "1", "1000000"),
    Field("portions", "batch", "count", low=Fraction(1), high=Fraction(5000), example="30"),
    _mass("portion", "batch", "80 g", "1", "5000", advanced=True),
    _mass("batch", "batch", "3 kg", "1", "1500000", advanced=True),
    _pick("fill", "batch", ("tins",), "", advanced=True, methods=("ground",)),
    Field("beside", "batch", "text", example="grey-pork-loaf.1", advanced=True, methods=("ground",)),
    _mass("beside_mix", "batch", "1 kg", "50", "1000000", advanced=True, methods=("ground",)),
    _mass("bone", "batch", "300 g", "0", "100000", methods=("dry", "brine", "injected")),
    _mass("skin", "batch", "120 g", "0", "100000", methods=("dry", "brine", "injected")),
    Field("thickness", "batch", "length", LENGTH, Fraction(5, 1000), Fraction(5, 10), example="45 mm", methods=("dry", "brine", "injected")),
    Field("pump", "batch", "percent", ("%",), Fraction(2, 100), Fraction(40, 100), example="10 %", methods=("injected",)),
    Field("pick_up", "batch", "percent", ("%",), Fraction(1, 100), Fraction(60, 100), example="10 %", advanced=True, methods=("brine",)),
    _mass("bowl", "kitchen", "2 kg", "10", "1000000", shared=False, advanced=True, methods=("ground",)),
    _pick("state", "batch", ("held", "not_held", "uncured"), "held", methods=("ground",)),
    Field("nitrite", "batch", "ratio", RATIO, _MG, 2000 * _MG, example="104 mg/kg", advanced=True),
    _pick("nitrite_as", "batch", COMPOUNDS, "NaNO2", advanced=True),
    _pick("nitrite_per", "batch", BASES, "mix", advanced=True),
    Field("salt", "batch", "percent", PERCENT, Fraction(1, 1000), Fraction(12, 100), example="2.1 %", advanced=True),
    _pick("salt_per", "batch", BASES, "mix", advanced=True),
    _degrees("core", "72 °C", group="batch"),
    Field("hold", "batch", "time", TIME, Fraction(0), Fraction(24 * 60), example="2 min"),
    _pick("units", "kitchen", UNITS, UNITS[0], **_KITCHEN),
    _pick("region", "kitchen", REGIONS, "strictest", **_KITCHEN),
    Field("pack", "kitchen", "percent", PERCENT, Fraction(1, 10000), Fraction(1), example="6.25 %", range_allowed=True, **_KITCHEN),
    _pick("pack_as", "kitchen", COMPOUNDS, "NaNO2", advanced=True, **_KITCHEN),
    Field("pack_nitrate", "kitchen", "percent", PERCENT, Fraction(0), Fraction(1), example="4 %", range_allowed=True, advanced=True, **_KITCHEN),
    Field("pack_check", "kitchen", "text", **_KITCHEN),
    _mass("scale", "kitchen", "1 g", "0.001", "100", default="1 g", **_KITCHEN),
    _mass("fine_scale", "kitchen", "0.1 g", "0.001", "10", **_KITCHEN),
    _mass("stated", "kitchen", "5 g", "0.001", "100000", advanced=True, **_KITCHEN),
    *(Field(key, "kitchen", "tin", LENGTH, example=example, advanced=True, methods=("ground",), **_KITCHEN) for key, example in _TINS.items()),
    Field("headroom", "kitchen", "percent", ("%",), Fraction(0), Fraction(1, 2), example="10 %", advanced=True, methods=("ground",), **_KITCHEN),
    _pick("spoons", "kitchen", SPOONS, "", advanced=True, **_KITCHEN),
    _degrees("meat_temperature", "2 °C", "meat", **_CHOPPED),
    _degrees("fat_temperature", "-2 °C", "meat", **_CHOPPED),
    Field("frozen", "mixing", "percent", ("%",), Fraction(1, 100), Fraction(80, 100), example="50 %", **_CHOPPED),
    _degrees("water_temperature", "12 °C", "water", **_CHOPPED),
    _degrees("ice_temperature", "-6 °C", "ice", **_CHOPPED),
    _degrees("dry_temperature", "20 °C", "dry", **_CHOPPED),
    Field("chop", "mixing", "time", TIME, Fraction(1, 10), Fraction(120), example="8 min", **_CHOPPED),
    Field("chopper", "mixing", "heat", ("kJ/kg",), Fraction(1), Fraction(400), example="48-56 kJ/kg", range_allowed=True, **_CHOPPED),
    Field("batter", "mixing", "places", TEMPERATURE, example="10.5 °C; 11 °C; 10 °C", **_CHOPPED),
    Field("probe_error", "heat", "difference", TEMPERATURE, Fraction(0), Fraction(5), default="1 °C", example="0.5 °C", **_KITCHEN),
    _pick("covered", "heat", ("moist", "dry"), "", **_KITCHEN),
    Field("readings", "heat", "readings", TEMPERATURE, example="10:40 4 °C; 11:05 38 °C; 11:20 54 °C", **_KITCHEN),
    Field("cooling_readings", "heat", "readings", TEMPERATURE, example="12:00 out; 12:10 68 °C; 12:40 41 °C", **_KITCHEN),
    _pick("oven", "oven", OVENS, "", **_KITCHEN),
    _degrees("oven_setting", "140 °C", group="oven", **_KITCHEN),
    Field("oven_changes", "oven", "changes", TEMPERATURE, example="60 min 120 °C", **_KITCHEN),
    _pick("cover", "oven", COVERS, "", **_KITCHEN),
    _pick("wall", "oven", WALLS, "", **_KITCHEN),
    _degrees("start_temperature", "4 °C", group="oven", **_KITCHEN),
    Field("wanted", "oven", "time", TIME, Fraction(1), Fraction(24 * 60), example="110 min", **_KITCHEN),
    Field("oven_learnt", "oven", "learnt", example="still_oven: 1.04 x (0.05), +2.5 °C (1.8), 3f9a12c0", **_KITCHEN),
    _pick("chill", "oven", CHILLS, "", **_KITCHEN),
    _degrees("chill_setting", "4 °C", group="oven", **_KITCHEN),
)
BY_KEY = {field.key: field for field in FIELDS}
assert len(BY_KEY) == len(FIELDS)
TINS = tuple(_TINS)

USE = "use."
PRICE = "price."
_USED = re.compile(r"use\.[a-z][a-z0-9-]{1,40}")
_PRICED = re.compile(r"price\.[a-z][a-z0-9_-]{1,40}")  # of the two salts as well


@lru_cache(maxsize=512)
def field_of(key: str) -> Field | None:
    """The field of a key: a row of the table, or that of an ingredient; None for an unknown key."""
    if key in BY_KEY:
        return BY_KEY[key]
    if _PRICED.fullmatch(key):
        return Field(key, "kitchen", "price", MASS, example="9.80 EUR/kg", **_KITCHEN)
    # Of an ingredient nothing at all may go in: the cook leaves it out.
    return _mass(key, "batch", "400 g", "0", "1000000") if _USED.fullmatch(key) else None


def in_order(keys: Iterable[str]) -> list[Field]:
    """The fields of ``keys`` as form and link have them; unknown keys are left out."""
    given = set(keys)
    used = sorted(key for key in given if key not in BY_KEY and field_of(key))
    return [field for field in FIELDS if field.key in given] + [field_of(key) for key in used]


def in_group(group: str) -> tuple[Field, ...]:
    """The fields of one group, in their order."""
    return tuple(field for field in FIELDS if field.group == group)
