"""The handbook's own formulas, for showing beside ours and for checks.

FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook, 1995.
Masses in any one unit; shares as fractions of one; results as shares of one.
"""

from __future__ import annotations

from fractions import Fraction


def ground(cure: Fraction, strength: Fraction, green: Fraction) -> Fraction:
    """Comminuted: cure [g], its nitrite share [1], green weight [g, above 0]. Returns a share."""
    return cure * strength / green


def pumped(nitrite: Fraction, pump: Fraction, pickle: Fraction) -> Fraction:
    """Pumped: nitrite [g] in the pickle, pump [1], pickle weight [g, above 0]. Returns a share of the green weight."""
    return nitrite * pump / pickle


def pump_share(green: Fraction, after: Fraction) -> Fraction:
    """What a piece took up: green weight [g, above 0] and weight after pumping [g]. Returns a share."""
    return (after - green) / green


def immersed_by_pick_up(nitrite: Fraction, pick_up: Fraction, pickle: Fraction) -> Fraction:
    """Immersed, method one: what the piece gains in weight brings its nitrite along [g, 1, g]."""
    return nitrite * pick_up / pickle


def immersed_to_equilibrium(nitrite: Fraction, green: Fraction, pickle: Fraction) -> Fraction:
    """Immersed, method two: meat and pickle end up alike [g, g, g]."""
    return nitrite / (green + pickle)


def dry(nitrite: Fraction, green: Fraction) -> Fraction:
    """Dry cure: all that is rubbed on [g] over the green weight [g, above 0]."""
    return nitrite / green
