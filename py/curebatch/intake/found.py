"""A recipe found elsewhere: grams and strength become targets, and go the same way."""

from __future__ import annotations

from fractions import Fraction

from ..batch.compounds import as_sodium_nitrite, carrier_salt
from ..words import say, spoken
from .entries import Value
from .recipe import Ingredient, Recipe, Targets
from .units import Amount

NEEDED = ("found_cure", "found_meat", "found_pack")


def found_recipe(values: dict[str, Value]) -> Recipe | None:
    """The recipe behind an author's sentence.

    values: the entries read; needs ``found_cure`` [g], ``found_meat`` [g] and
    ``found_pack`` (a share, or a range of shares).
    Returns a Recipe whose targets are what the author's pack gave at its top
    strength, or None while one of the three is missing.
    """
    if any(key not in values for key in NEEDED):
        return None
    cure, block, pack = (values[key].value for key in NEEDED)
    compound = values.get("found_pack_as", "NaNO2")
    salt = values["found_salt"].value if "found_salt" in values else Fraction(0)
    other = values["found_other"].value if "found_other" in values else Fraction(0)
    per = values.get("found_per", "meat")
    nitrite = cure * as_sodium_nitrite(pack, compound)
    total_salt = cure * carrier_salt(pack, compound) + salt
    # "Per kilo of the whole mix": the meat is what is left of that kilo.
    meat = block if per == "meat" else block - cure - salt - other
    if meat <= 0:
        return None
    ingredients = [Ingredient("meat", say("found.meat"), "meat", Fraction(1), "meat")]
    if other:
        ingredients.append(Ingredient("other", say("found.other"), "garnish", other / meat, "meat"))
    share = Amount(nitrite / block, nitrite / block, "mg/kg", "")
    salt_share = Amount(total_salt / block, total_salt / block, "%", "")
    targets = Targets(share, "NaNO2", per, salt_share, per)
    return Recipe(
        "found", 1, spoken(), say("found.title"), "", "ground", (), "", "held", targets, tuple(ingredients), meat
    )
