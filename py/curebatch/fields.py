"""The one table of fields: form, link, ``--set``, errors and glossary are drawn from it.

The order is the order of the form and of the link. A key that is published in
links stays for good.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

MASS = ("g", "kg", "oz", "lb")
PERCENT = ("%", "g/kg")
RATIO = ("mg/kg", "ppm")
LENGTH = ("mm", "cm", "in")

COMPOUNDS = ("NaNO2", "NO2-", "KNO2")
BASES = ("meat", "mix")


@dataclass(frozen=True)
class Field:
    """One thing that can be said: in a form, a link or on the command line."""

    key: str
    group: str  # "batch", "kitchen" or "found"
    kind: str  # "mass", "percent", "ratio", "length", "choice" or "text"
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


REGIONS = ("strictest", "us", "eu", "gb", "ni", "ca", "au", "nz", "codex")

_MG = Fraction(1, 1_000_000)
_KITCHEN = {"shared": False}

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
    _pick("region", "kitchen", REGIONS, "strictest", **_KITCHEN),
    Field("pack", "kitchen", "percent", PERCENT, Fraction(1, 10000), Fraction(1), example="6.25 %", range_allowed=True, **_KITCHEN),
    _pick("pack_as", "kitchen", COMPOUNDS, "NaNO2", advanced=True, **_KITCHEN),
    Field("pack_nitrate", "kitchen", "percent", PERCENT, Fraction(0), Fraction(1), example="4 %", range_allowed=True, advanced=True, **_KITCHEN),
    Field("pack_check", "kitchen", "text", **_KITCHEN),
    _mass("scale", "kitchen", "1 g", "0.001", "100", default="1 g", **_KITCHEN),
    _mass("fine_scale", "kitchen", "0.1 g", "0.001", "10", **_KITCHEN),
    _mass("stated", "kitchen", "5 g", "0.001", "100000", advanced=True, **_KITCHEN),
)
BY_KEY = {field.key: field for field in FIELDS}
assert len(BY_KEY) == len(FIELDS)


def in_group(group: str) -> tuple[Field, ...]:
    """The fields of one group, in their order."""
    return tuple(field for field in FIELDS if field.group == group)
