"""What a scale can weigh: steps, directions, and how far off a weight may be."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from ..intake.numbers import plain
from ..intake.units import Amount, from_base, write_mass
from ..words import shown


def to_step(grams: Fraction, step: Fraction, way: str) -> Fraction:
    """``grams`` moved to a whole number of steps.

    grams: mass [g], not negative; step: smallest step [g], above zero; way:
    "nearest" (halves go down, towards less cure), "down" or "up".
    Raises ValueError for another way.
    """
    # In whole numbers, of which 1 / (both denominators) is the unit: a card asks this a hundred times.
    unit = step.numerator * grams.denominator
    count, rest = divmod(grams.numerator * step.denominator, unit)
    if way == "up":
        count += rest > 0
    elif way == "nearest":
        count += rest * 2 > unit
    elif way != "down":
        raise ValueError(f"way must be nearest, down or up, not {way!r}")
    return step * count  # a fraction first: the other way round is found out to be one at some cost


@dataclass(frozen=True)
class Scale:
    """A scale: its smallest step [g], and the unit and decimals that it shows."""

    step: Fraction
    unit: str
    places: int

    @classmethod
    def of(cls, step: Amount) -> Scale:
        """The scale that shows ``step``."""
        number = plain(from_base(step.value, step.unit))
        return cls(step.value, step.unit, len(number.partition(".")[2]))

    @property
    def error(self) -> Fraction:
        """How far a weight may be off, either way [g]: tare and reading round once each, half a step."""
        return self.step

    def text(self, grams: Fraction) -> str:
        """``grams`` as this scale shows it."""
        return shown(write_mass(grams, self.unit, self.places))


@dataclass(frozen=True)
class Scales:
    """The scales of a kitchen. The fine one weighs the curing salt and other small amounts."""

    coarse: Scale
    fine: Scale | None = None

    @property
    def for_cure(self) -> Scale:
        return self.fine or self.coarse

    def pick(self, grams: Fraction) -> Scale:
        """The scale for an amount: the fine one for what is under a hundred steps of the coarse."""
        return self.fine if self.fine and grams < self.coarse.step * 100 else self.coarse
