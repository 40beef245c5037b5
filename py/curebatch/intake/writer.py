"""A recipe written as its file: what the reader reads back to the same recipe."""

from __future__ import annotations

import json
from collections.abc import Iterator
from fractions import Fraction

from .ingredients import Ingredient
from .numbers import MOST_DIGITS, plain, show
from .recipe import SCHEMA, Recipe

_FINEST = 2  # decimals of a gram, where a share is no decimal of a per cent


def write_recipe(recipe: Recipe) -> str:
    """The TOML text of a recipe.

    recipe: as read, or as changed since. Shares that are decimals of a per cent come back
    exactly; others are written as grams of the batch, to a hundredth. An amount by the
    spoon is written as what it weighs.
    """
    return "\n".join(_lines(recipe)) + "\n"


def _text(value: str) -> str:
    # JSON's escapes are TOML's, but for this one sign.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def _pairs(**values) -> Iterator[str]:
    for key, value in values.items():
        if value is None or value == "" or value == ():
            continue
        if isinstance(value, bool):
            yield f"{key} = {str(value).lower()}"
        elif isinstance(value, tuple):
            yield f"{key} = [{', '.join(_text(item) for item in value)}]"
        else:
            yield f"{key} = {value if isinstance(value, int) else _text(value)}"


def _typed(amount) -> str | None:
    return amount.text if amount is not None else None


def _lines(recipe: Recipe) -> Iterator[str]:
    yield from _pairs(schema=SCHEMA, id=recipe.id, revision=recipe.revision, language=recipe.language, day=recipe.day, changes=recipe.changes)
    yield f"title = {_text(recipe.title)}"  # wanted even where it is empty
    yield from _pairs(
        author=recipe.author, summary=recipe.summary,
        method=recipe.method, kinds=recipe.kinds, species=recipe.species, cut=recipe.cut, belly=recipe.belly if recipe.method != "ground" and "pork" in recipe.kinds else None, state=recipe.state,
    )
    targets = recipe.targets
    yield "\n[targets]"
    if targets.nitrite is not None:
        yield from _pairs(nitrite=targets.nitrite.text, nitrite_as=targets.nitrite_as, nitrite_per=targets.nitrite_per)
    yield from _pairs(salt=targets.salt.text, salt_per=targets.salt_per)
    yield "\n[batch]"
    yield from _pairs(meat=_grams(recipe.meat), portions=recipe.portions, tins=recipe.tins)
    if recipe.pump is not None or recipe.pick_up is not None:
        yield "\n[pickle]"
        yield from _pairs(pump=_typed(recipe.pump), pick_up=_typed(recipe.pick_up))
    for ingredient in recipe.ingredients:
        yield "\n[[ingredient]]"
        yield from _ingredient(ingredient, recipe.meat)
    for step in recipe.steps:
        yield "\n[[step]]"
        yield from _pairs(text=step)
    cooking = list(_pairs(core=_typed(recipe.core), hold=_typed(recipe.hold), raw=recipe.raw or None, vessel=recipe.vessel, **{"yield": _typed(recipe.cooked_share)}))
    if cooking:
        yield "\n[cooking]"
        yield from cooking


def _ingredient(line: Ingredient, meat: Fraction) -> Iterator[str]:
    amount, per = _amount(line, meat)
    yield from _pairs(
        id=line.id, name=line.name, role=line.role, amount=amount, per=per, form=line.form, food=line.food, fat=_typed(line.fat), animal=line.animal,
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
