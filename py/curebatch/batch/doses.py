"""The phosphates and accelerators of a batch as weighed, at either end, and what they are a share of."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from ..intake.recipe import Ingredient, Recipe
from .additives import Bases, Dose, accelerator_named, read_leavening
from .cure import Batch, Line

_MEAT = ("meat", "fat")


def _lines(recipe: Recipe, batch: Batch, roles: tuple[str, ...]) -> Iterator[tuple[Ingredient, Line]]:
    by_id = {line.id: line for line in batch.lines}
    for ingredient in recipe.ingredients:
        line = by_id.get(ingredient.id)
        if ingredient.role in roles and line is not None and line.grams:
            yield ingredient, line


def _carried(batch: Batch, way: int) -> Fraction:
    """The part of what is weighed in that gets into the meat: all of it, but of a pickle that is pumped what is pumped."""
    if batch.method != "injected" or not batch.pickle_grams:
        return Fraction(1)
    return min(Fraction(1), batch.pumped.off(way) / batch.pickle_grams)


def _grams(line: Line, way: int) -> Fraction:
    # Under a step the scale shows nothing: nothing may be in, or all of a step.
    return max(line.grams, line.off(way)) if way >= 0 and not line.weighed else line.off(way)


def accelerators(recipe: Recipe, batch: Batch, way: int) -> dict[str, Fraction]:
    """Grams of each accelerator in the meat, by the keys of additives; way: -1 for the low end, +1 for the high."""
    found: dict[str, Fraction] = {}
    for ingredient, line in _lines(recipe, batch, ("accelerator",)):
        name = ingredient.substance or accelerator_named(ingredient.name)
        found[name] = found.get(name, Fraction(0)) + _grams(line, way) * _carried(batch, way)
    return found


def phosphates(recipe: Recipe, batch: Batch, way: int) -> tuple[Dose, ...]:
    """Every phosphate in the meat, and every leavening powder whose pack lists one."""
    found = []
    for ingredient, line in _lines(recipe, batch, ("phosphate", "leavening")):
        grams = _grams(line, way) * _carried(batch, way)
        if ingredient.role == "leavening":
            # Without its list the powder is taken for one with the phosphate that is richest.
            found.append(read_leavening(ingredient.pack_list or "E 450").dose(grams))
        elif ingredient.p2o5 is not None:
            found.append(Dose(grams, ingredient.p2o5))
        else:
            found.append(Dose.pure(grams, ingredient.substance))
    return tuple(found)


def bases(batch: Batch, least_left: Fraction, way: int) -> Bases:
    """What the shares are of, at the end that goes with ``way``: -1 for the smallest bases, +1 for the largest.

    least_left: finished weight over raw weight [above 0 to 1].
    """
    meat = batch.off("meat_lines", way)
    mix = meat + batch.pumped.off(way) if batch.method == "injected" else batch.off("everything", way)
    return Bases(meat, mix, mix * least_left)
