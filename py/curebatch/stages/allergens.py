"""Allergens named from the ingredients, their rows and their packs."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

from ..batch import allergens
from ..batch.foods import Food
from ..intake.document import Document
from ..words import say


@lru_cache(maxsize=1024)
def _of(name: str, known_as: str, food: Food | None, pack_list: str, declared: tuple[str, ...]) -> tuple[allergens.Named, ...]:
    found = [*(replace(n, ingredient=name) for n in allergens.of_ingredient(known_as, food)), *allergens.stated(declared, name)]
    if pack_list:
        found += [allergens.Named(n.source, n.eu, n.us, name, n.how) for n in allergens.of_ingredient(pack_list)]
    return tuple(found)


def name(document: Document) -> dict:
    """The allergens of the batch on both lists, as texts; lines of which nothing goes in are left out."""
    lines = [*document.recipe.ingredients, *(document.beside.recipe.ingredients if document.beside is not None else ())]
    found = [named for line in lines if line.share for named in _of(line.name, line.known_as, line.row, line.pack_list, line.declared)]
    rows = []
    for which in allergens.LISTS:
        groups = allergens.on_list(found, which)
        sure, perhaps = [g for g in groups if g.sure], [g for g in groups if not g.sure]
        texts = []
        if sure:
            texts.append(say("batch.allergen.contains", groups=", ".join(_group(group) for group in sure)))
        if perhaps:
            packs = dict.fromkeys(ingredient for group in perhaps for ingredient in group.ingredients)
            texts.append(say("batch.allergen.possible", groups=", ".join(_group(group) for group in perhaps), ingredients=", ".join(packs)))
        rows.append({"list": which, "label": say(f"batch.allergen.{which}"), "text": " ".join(texts) or say("batch.allergen.none_named"), "groups": [g.group for g in sure]})
    return {"rows": rows, "note": say("batch.allergen.not_proof")}


def _group(group: allergens.Group) -> str:
    """The group, and what it comes from where that is another word."""
    own = say(f"batch.allergen.group.{group.group}")
    sources = [say(f"batch.allergen.source.{source}") for source in group.sources]
    return own if sources == [own] else f"{own} ({', '.join(sources)})"
