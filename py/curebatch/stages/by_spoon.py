"""Small weights by the spoon, beside the grams: only where a spoon is near enough, never for what is a dose."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

from ..batch import spoons
from ..batch.refusal import Refused
from ..fields import MASS
from ..intake.numbers import show, tidy
from ..intake.recipe import Ingredient
from ..intake.units import read_amount
from ..words import say, spoken

ROLES = ("binder", "starch", "sugar", "spice", "garnish", "leavening")
MOST_SCATTER = Fraction(1, 4)  # how far kitchens may lie apart with one spoon
MOST_OFF = Fraction(1, 10)  # how far the nearest quarter may miss
MOST_SPOONS = 6
# How fine it is decides what a spoon of it weighs: the row must be of the same grain as the name.
_GRAINS = ("cracked", "rubbed", "whole", "seed", "flake", "powder")
_COUNTS = {Fraction(1, 4): "1/4", Fraction(1, 2): "1/2", Fraction(3, 4): "3/4"}


def hint(line: Ingredient, grams: Fraction, size: str) -> str:
    """"about 2 tsp", or "" where the food or its spoon is not known, too scattered, or too far off.

    line: of the recipe; grams: to be weighed [g]; size: the cook's spoons, "" where not
    stated: then teaspoons alone, which differ by a seventieth.
    """
    if line.role not in ROLES or line.row is None or not grams or not _same_grain(line.known_as, line.row.name):
        return ""
    return _hint(line.row.name, line.role, line.form, grams, size, spoken())


def convert(read: str, food: str, size: str, form: str = "") -> str:
    """An amount by the spoon as grams, or grams as spoons: one sentence, with the ends between which kitchens lie.

    read: "2 tsp" or "8 g"; food: a row of the table or a common name; size: one of
    fields.SPOONS; form: how it lies in the spoon, where the table tells that apart.
    Raises Misread, and Refused for what is weighed only, unknown, or said too loosely.
    """
    about = say(f"batch.spoon.size_{size}")
    if re.search("[a-z]", read, re.IGNORECASE) and not re.fullmatch(r".*[0-9] ?(?:g|kg|oz|lb|grams?|gramm|kilo(?:gramm)?|pfund)", tidy(read), re.IGNORECASE):
        amount = spoons.read_spoons(read)
        grams = spoons.to_grams(amount, food, size=size, form=form)
        return say("batch.spoon.weighs", count=_count(amount.count), measure=amount.measure, food=grams.food, about=about, **_ends(grams))
    weight = read_amount(read, "mass", MASS)
    found = spoons.to_spoons(weight.value, food, size=size, form=form, measures=spoons.MEASURES)
    return say("batch.spoon.holds", read=weight.text, count=_count(found.spoons.count), measure=found.spoons.measure, food=found.grams.food, about=about, **_ends(found.grams))


def _ends(grams: spoons.Grams) -> dict[str, str]:
    low, nominal, high = (show(value, 1) for value in (grams.low, grams.nominal, grams.high))
    spread = "" if low == high else " " + say("batch.spoon.scatter", low=low, high=high)
    source = say("batch.spoon.trade" if grams.source == "trade" else "batch.spoon.table")
    return {"grams": f"{nominal} g", "spread": spread, "source": source}


def _count(count: Fraction) -> str:
    whole, part = divmod(count, 1)
    return " ".join(text for text in (str(whole) if whole else "", _COUNTS.get(part, str(part)) if part else "") if text) or "0"


def _same_grain(name: str, row: str) -> bool:
    name, row = name.lower(), row.lower()
    return ("ground" in name or "ground" not in row) and all(grain in row for grain in _GRAINS if grain in name)


@lru_cache(maxsize=2048)
def _hint(food: str, role: str, form: str, grams: Fraction, size: str, language: str) -> str:
    try:
        found = spoons.to_spoons(grams, food, size=size or "metric", role=role, form=form, measures=("tsp", "tbsp") if size else ("tsp",))
    except Refused:
        return ""
    if found.grams.scatter > MOST_SCATTER or abs(found.off) > MOST_OFF or found.spoons.count > MOST_SPOONS:
        return ""
    return say("card.by_spoon", count=_count(found.spoons.count), measure=found.spoons.measure)
