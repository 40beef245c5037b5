"""Figures as texts: rounded towards the stricter side, with the base that each is per."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from .batch.rounding import Scale
from .fields import PRICE, USE, Field
from .intake.entries import Value, told_of
from .intake.numbers import show
from .intake.units import Amount
from .measures import are_us, celsius, dose, fahrenheit, weighed
from .words import has, say, shown

MG = 10**6


def percent(share: Fraction, places: int = 2, way: str = "nearest") -> str:
    return shown(f"{show(share * 100, places, way)} %")


def ppm(share: Fraction, places: int = 1, way: str = "nearest") -> str:
    return shown(f"{show(share * MG, places, way)} mg/kg")


def ppm_against(share: Fraction, *limits: Fraction, places: int = 1) -> str:
    """A high end beside its limits [mg/kg]: rounded up, with as many decimals as keep it on its own side of each."""
    while places < 6 and any((Fraction(show(share * MG, places, "up")) > limit) != (share * MG > limit) for limit in limits):
        places += 1
    return ppm(share, places, "up")


WAY = {"low": "down", "nominal": "nearest", "high": "up"}


def per_text(base: str, method: str = "ground") -> str:
    """What a figure is per: the same two bases, named as the method makes them."""
    own = f"per.{base}_{method}"
    return say(own if has(own) else f"per.{base}")


def number(value: Fraction) -> float:
    """For readers of the JSON; nothing is computed from it again."""
    if type(value) is not Fraction:
        return float(round(value, 6))
    # As round() has it, a half to the even one, in whole numbers: a card asks for a hundred.
    found, rest = divmod(value.numerator * 10**6, value.denominator)
    half = rest * 2 - value.denominator
    return (found + (half > 0 or (half == 0 and found % 2 == 1))) / 10**6


def target_text(amount: Amount, unit: str) -> str:
    """A target as it was typed; one that was worked out, rounded for reading."""
    if amount.text:
        return shown(amount.text)
    return ppm(amount.value) if unit == "mg/kg" else percent(amount.value)


def core_text(amount: Amount) -> str:
    """A core temperature to be reached, in both units for both thermometers: as it was typed in its own, rounded up in the other."""
    typed = {amount.unit: amount.text} if amount.text else {}
    both = {"°C": typed.get("°C", celsius(amount.value, "up")), "°F": typed.get("°F", fahrenheit(amount.value, "up"))}
    first = "°F" if are_us() else "°C"
    return say("figure.both", figure=both.pop(first), also=both.popitem()[1])


def on_scale(scale: Scale, grams: Fraction) -> str:
    """A weight [g] as ``scale`` shows it, in the units in force behind it where those are others."""
    return shown(weighed(grams, scale.unit, scale.places))


def dosed(scale: Scale, grams: Fraction) -> str:
    """The same of what is dosed: in both, where the units in force are not metric alone."""
    return shown(dose(grams, scale.unit, scale.places, scale.step))


def cure_name(label: str, compound: str) -> str:
    return say("card.cure_name", label=label, compound=say(f"compound.{compound}"))


def entry_label(key: str, names: Mapping[str, str]) -> str:
    """What an entry is called; names: {id: name} of the recipe's ingredients."""
    for start, word in ((USE, "field.use.label"), (PRICE, "field.price.label")):
        if key.startswith(start):
            return say(word, name=names.get(key.removeprefix(start), key.removeprefix(start)))
    return say(f"field.{key}.label")


def entry_text(field: Field, value: Value | None) -> str:
    """An entry as it is read, of a choice its name; None: what an empty field means."""
    if field.kind == "choice":
        return say(f"choice.{field.key}.{field.default if value is None else value}")
    return shown(field.default) if value is None else told_of(value)
