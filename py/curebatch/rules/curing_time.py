"""How long a whole cut cures: practice rules with a margin, and what is too thick for them.

The rules belong to surplus cure rubbed on; an equilibrium cure is slower
towards its end, and time by diffusion goes with the square of the thickness.
So the longer rule is taken, a margin goes on top, and thick or bone-in pieces
are injected or refused.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

DAYS_PER_INCH = 7  # bacon, surplus dry cure: extension practice
DAYS_PER_POUND = 2  # heavy pieces, surplus cure: Purdue Extension 1919
MARGIN = Fraction(1, 2)  # rule of this project, no source: half as long again
THICKEST = Fraction(75, 1000)  # m; rule of this project, no source
INJECTED_DAYS = (1, 3)  # common practice, no source: overnight at the least

INCH = Fraction(254, 10000)
POUND = Fraction("453.59237")


@dataclass(frozen=True)
class Days:
    """From the first day on which a piece may be taken out to the day on which it should be."""

    first: int
    last: int


def days(thickness: Fraction, grams: Fraction, method: str) -> Days | None:
    """Days in the cold for one piece.

    thickness: of the piece [m, above 0]; grams: its weight [g]; method: "dry",
    "brine" or "injected". Returns Days, or None for a piece that is too thick to
    be cured through from outside. Source: practice rules, as named beside the constants.
    """
    if method == "injected":
        return Days(*INJECTED_DAYS)
    if thickness > THICKEST:
        return None
    first = max(DAYS_PER_INCH * thickness / INCH, DAYS_PER_POUND * grams / POUND)
    return Days(ceil(first), ceil(first * (1 + MARGIN)))
