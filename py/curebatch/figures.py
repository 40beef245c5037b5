"""Figures as texts: rounded towards the stricter side, with the base that each is per."""

from __future__ import annotations

from fractions import Fraction

from .intake.numbers import show
from .intake.units import Amount, write_mass
from .words import has, say, shown

MG = 10**6


def percent(share: Fraction, places: int = 2, way: str = "nearest") -> str:
    return shown(f"{show(share * 100, places, way)} %")


def ppm(share: Fraction, places: int = 1, way: str = "nearest") -> str:
    return shown(f"{show(share * MG, places, way)} mg/kg")


def ppm_against(share: Fraction, limit: Fraction) -> str:
    """A high end beside its limit: rounded up, with as many decimals as keep it on its own side."""
    places = 1
    while places < 6 and (Fraction(show(share * MG, places, "up")) > limit) != (share * MG > limit):
        places += 1
    return ppm(share, places, "up")


WAY = {"low": "down", "nominal": "nearest", "high": "up"}


def per_text(base: str, method: str = "ground") -> str:
    """What a figure is per: the same two bases, named as the method makes them."""
    own = f"per.{base}_{method}"
    return say(own if has(own) else f"per.{base}")


def number(value: Fraction) -> float:
    """For readers of the JSON; nothing is computed from it again."""
    return float(round(value, 6))


def target_text(amount: Amount, unit: str) -> str:
    """A target as it was typed; one that was worked out, rounded for reading."""
    if amount.text:
        return shown(amount.text)
    return ppm(amount.value) if unit == "mg/kg" else percent(amount.value)


def cure_name(label: str, compound: str) -> str:
    return say("card.cure_name", label=label, compound=say(f"compound.{compound}"))
