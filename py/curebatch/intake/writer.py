"""A recipe written as its file: what the reader reads back to the same recipe."""

from __future__ import annotations

from fractions import Fraction

from . import recipe_file
from .ingredients import Ingredient
from .numbers import MOST_DIGITS, plain, show
from .recipe import SCHEMA, Recipe
from .units import Amount

_FINEST = 2  # decimals of a gram, where a share is no decimal of a per cent


def write_recipe(recipe: Recipe) -> str:
    """The TOML text of a recipe.

    recipe: as read, or as changed since. Shares that are decimals of a per cent come back
    exactly; others are written as grams of the batch, to a hundredth. An amount by the
    spoon is written as what it weighs.
    """
    return recipe_file.write_recipe(_data(recipe))


def _data(recipe: Recipe) -> dict:
    targets = recipe.targets
    whole_pork = recipe.method != "ground" and "pork" in recipe.kinds
    tables = {
        "targets": _said(
            nitrite=targets.nitrite, nitrite_as=targets.nitrite_as if targets.nitrite else None, nitrite_per=targets.nitrite_per if targets.nitrite else None,
            salt=targets.salt, salt_per=targets.salt_per,
        ),
        "batch": _said(meat=_grams(recipe.meat), portions=recipe.portions, tins=recipe.tins),
        "pickle": _said(pump=recipe.pump, pick_up=recipe.pick_up),
        "cooking": _said(core=recipe.core, hold=recipe.hold, raw=recipe.raw or None, vessel=recipe.vessel, **{"yield": recipe.cooked_share}),
    }
    return {
        **_said(
            schema=SCHEMA, id=recipe.id, revision=recipe.revision, language=recipe.language, day=recipe.day, changes=recipe.changes, author=recipe.author, summary=recipe.summary,
            method=recipe.method, kinds=recipe.kinds, species=recipe.species, cut=recipe.cut, belly=recipe.belly if whole_pork else None, state=recipe.state,
        ),
        "title": recipe.title,  # wanted even where it is empty
        **{name: table for name, table in tables.items() if table},
        "ingredient": [_ingredient(ingredient, recipe.meat) for ingredient in recipe.ingredients],
        "step": [{"text": step} for step in recipe.steps],
    }


def _said(**values) -> dict:
    """Of some keys those that say something, amounts as they were typed."""
    return {
        key: value.text if isinstance(value, Amount) else list(value) if isinstance(value, tuple) else value
        for key, value in values.items()
        if value is not None and value not in ("", ())
    }


def _ingredient(line: Ingredient, meat: Fraction) -> dict:
    amount, per = _amount(line, meat)
    return _said(
        id=line.id, name=line.name, role=line.role, amount=amount, per=per, form=line.form, food=line.food, fat=line.fat, animal=line.animal,
        salt=_percent(line.salt) if line.salt else None, substance=line.substance, p2o5=_percent(line.p2o5) if line.p2o5 else None, pack_list=line.pack_list, allergens=line.declared,
    )


def _is_decimal(value: Fraction) -> bool:
    return (value * 10**MOST_DIGITS).denominator == 1 and value < 10**MOST_DIGITS


def _percent(share: Fraction) -> str:
    return f"{plain(share * 100) if _is_decimal(share * 100) else show(share * 100, 6)} %"


def _grams(value: Fraction) -> str:
    return f"{plain(value) if _is_decimal(value) else show(value, _FINEST)} g"


def _amount(line: Ingredient, meat: Fraction) -> tuple[str, str | None]:
    if line.per == "mix" or _is_decimal(line.share * 100):
        return _percent(line.share), line.per
    return _grams(line.share * meat), None
