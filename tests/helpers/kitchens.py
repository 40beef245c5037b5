"""Recipes and kitchens for the tests of the core, built from typed text as a cook would."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from curebatch import entry, shelf
from curebatch.batch import cure
from curebatch.batch.cure import Batch, Ceiling, Pack
from curebatch.batch.rounding import Scale, Scales
from curebatch.intake.recipe import Recipe, read_recipe
from curebatch.intake.units import read_amount
from curebatch.rules.limits import applicable

RECIPES = Path(__file__).resolve().parents[2] / "site" / "recipes"
LOAF = "pistachio-pork-loaf.1"


def recipe_text(*, nitrite="104 mg/kg", per="mix", counted="NaNO2", salt="2.1 %", salt_per=None, water=250, extra="") -> str:
    """A ground recipe on a kilo of meat; ``water`` in grams for that kilo."""
    ice = f'[[ingredient]]\nname = "Ice"\nrole = "ice"\namount = "{water} g"\n' if water else ""
    return f"""
schema = 1
id = "trial"
revision = 1
language = "en"
title = "Trial"
method = "ground"
kinds = ["pork"]
[targets]
nitrite = "{nitrite}"
nitrite_as = "{counted}"
nitrite_per = "{per}"
salt = "{salt}"
salt_per = "{salt_per or per}"
[batch]
meat = "1 kg"
[[ingredient]]
name = "Pork"
role = "meat"
amount = "100 %"
per = "meat"
{ice}{extra}"""


def ground_recipe(**changes) -> Recipe:
    recipe, faults = read_recipe(recipe_text(**changes), "trial.toml")
    assert recipe, faults
    return recipe


def scales_of(scale: str, fine: str | None = None) -> Scales:
    coarse, small = (Scale.of(read_amount(text, "mass", ("g", "oz"))) if text else None for text in (scale, fine))
    return Scales(coarse, small)


def pack_of(label: str, compound: str = "NaNO2") -> Pack:
    return Pack.of(read_amount(label, "share", ("%",), range_allowed=True), compound)


def ceilings_of(region: str, compound: str = "NaNO2") -> tuple[Ceiling, ...]:
    return tuple(limit.ceiling(compound) for limit in applicable(region, "ground", False))


def batch_for(recipe: Recipe, label: str, *, scale: str, meat, ceilings: tuple[Ceiling, ...] | None = None) -> Batch:
    found = cure.solve(recipe, Fraction(meat), pack_of(label), scales_of(scale), ceilings_of("us") if ceilings is None else ceilings)
    assert found.batch, found
    return found.batch


def fill_shelf() -> None:
    shelf.put({path.stem: path.read_text(encoding="utf-8") for path in RECIPES.glob("*.toml")})


def card_for(recipe: str = LOAF, **fields: str) -> dict:
    """The card that a cook gets for these entries."""
    fill_shelf()
    return entry.card_of(entry.read({"page": "recipe", "recipe": recipe, "fields": fields}))


def found_card(**fields: str) -> dict:
    fill_shelf()
    return entry.card_of(entry.read({"page": "found", "fields": fields}), "found")
