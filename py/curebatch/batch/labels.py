"""Nutrition figures rounded as a label rounds them. Exact fractions, halves up.

EU: energy to 1; fat, carbohydrate, protein to 1 g from 10 g, below to 0.1; salt
to 0.1 g from 1 g, below to 0.01 (guidance to Reg. (EU) 1169/2011). US: the
increments of 21 CFR 101.9(c), as FDA's guide to nutrition labeling requirements,
attachment 7, tabulates them. In both, "less than" and "0" may be allowed where
the plain figure is given here.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..intake.numbers import show
from .composition import Composition, energy

NUTRIENTS = ("fat", "carbohydrate", "protein")


@dataclass(frozen=True)
class Rounded:
    """A figure as a label shows it."""

    code: str  # "energy_kj", "energy_kcal", "fat", "carbohydrate", "protein", "salt" or "sodium"
    value: Fraction
    places: int
    unit: str
    less_than: bool = False  # the label says "less than" before the value

    @property
    def text(self) -> str:
        """The figure in digits, without unit and without "less than"."""
        return show(self.value, self.places)


def exact(value: float | Fraction) -> Fraction:
    """A figure as a fraction; of a float its decimal to nine places, so that 0.45 is 45/100."""
    return Fraction(f"{value:.9f}") if isinstance(value, float) else Fraction(value)


def to_nearest(value: Fraction, step: Fraction) -> Fraction:
    """``value`` [0 or more] to whole steps, halves up."""
    return (value / step + Fraction(1, 2)).__floor__() * step


def salt_from_sodium(sodium_mg: float | Fraction) -> Fraction:
    """Salt [g] as an EU label counts it: sodium [mg] x 2.5."""
    return exact(sodium_mg) * Fraction(5, 2) / 1000


_TENTH, _HUNDREDTH = Fraction(1, 10), Fraction(1, 100)


def eu(code: str, value: float | Fraction) -> Rounded:
    """One EU figure in 100 g: energy [kJ or kcal], fat, carbohydrate, protein or salt [g]. Raises KeyError for another code."""
    number = exact(value)
    if code.startswith("energy_"):
        return Rounded(code, to_nearest(number, Fraction(1)), 0, {"energy_kj": "kJ", "energy_kcal": "kcal"}[code])
    coarse_from, fine = {"salt": (Fraction(1), _HUNDREDTH), **dict.fromkeys(NUTRIENTS, (Fraction(10), _TENTH))}[code]
    places = {_TENTH: 1, _HUNDREDTH: 2}[fine]
    rounded = to_nearest(number, fine)
    # What rounds up to the bound is written like the bound.
    if rounded >= coarse_from:
        return Rounded(code, to_nearest(number, fine * 10), places - 1, "g")
    return Rounded(code, rounded, places, "g")


def us(code: str, value: float | Fraction) -> Rounded:
    """One US figure in a serving: energy_kcal, fat, carbohydrate or protein [g], sodium [mg]. Raises KeyError for another code."""
    number = exact(value)
    if code == "energy_kcal":
        step = Fraction(5 if number <= 50 else 10)
        return Rounded(code, Fraction(0) if number < 5 else to_nearest(number, step), 0, "kcal")
    if code == "sodium":
        step = Fraction(5 if number <= 140 else 10)
        return Rounded(code, Fraction(0) if number < 5 else to_nearest(number, step), 0, "mg")
    if code == "fat":
        rounded = Fraction(0) if number < Fraction(1, 2) else to_nearest(number, Fraction(1, 2) if number < 5 else Fraction(1))
        return Rounded(code, rounded, 0 if rounded.denominator == 1 else 1, "g")
    if code not in NUTRIENTS:
        raise KeyError(code)
    if number < Fraction(1, 2):
        return Rounded(code, Fraction(0), 0, "g")
    if number < 1:
        return Rounded(code, Fraction(1), 0, "g", less_than=True)
    return Rounded(code, to_nearest(number, Fraction(1)), 0, "g")


def eu_label(made: Composition) -> tuple[Rounded, ...]:
    """The figures of an EU label, in 100 g, in their order; what the food table does not tell (saturates, sugars) is left out."""
    per = energy(made, "eu")
    return (
        eu("energy_kj", per.kj), eu("energy_kcal", per.kcal), *(eu(name, made.percent(name)) for name in NUTRIENTS),
        eu("salt", salt_from_sodium(made.percent("sodium_mg"))),
    )


def us_label(made: Composition, serving: float) -> tuple[Rounded, ...]:
    """The figures of a US label in a serving [g, above 0], in their order."""
    part = serving / 100
    return (
        us("energy_kcal", energy(made, "us").kcal * part), us("fat", made.percent("fat") * part), us("sodium", made.percent("sodium_mg") * part),
        us("carbohydrate", made.percent("carbohydrate") * part), us("protein", made.percent("protein") * part),
    )
