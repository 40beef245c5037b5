"""A recipe's texts in another language, in a file of their own beside it: texts, and nothing that is weighed.

``recipes/de/pistachio-pork-loaf.1.toml`` holds title, summary, cut, what changed, the ingredients' names
by their ids, and the steps. It says all that the recipe says: the same places, the same figures.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from dataclasses import replace

from ..batch.additives import accelerator_named, phosphate_named
from ..batch.spoons import weighed_only
from .faults import Fault, fault
from .ingredients import BLOCK, MOST_NAME, Ingredient, judge_name, role_meant
from .numbers import tidy
from .reader import Reader
from .recipe import WORD, Recipe, is_other_bird, lacks_bird, no_bare_grams, no_other_figure, no_such_words, says_belly

_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?")


def _figures(text: str) -> Counter[str]:
    return Counter(found.replace(",", ".") for found in _NUMBER.findall(text))


class _Texts(Reader):
    """Takes texts one by one, each against the one that it stands for."""

    def beside(self, table: dict, path: tuple, original: str) -> str:
        """The text at the end of ``path`` in place of ``original``: there where that is, with its places and its figures."""
        return self.held(path, self.take(table, path[:-1], path[-1], str, original or '""', "", required=bool(original)), original)

    def held(self, path: tuple, said: str, original: str) -> str:
        """``said`` against the text that it stands for."""
        said = tidy(said)
        if bool(said) != bool(original):
            self.wrong(path, said, original or '""')
            return said
        for kind, found, wanted in (
            ("{}", Counter(WORD.findall(said)), Counter(WORD.findall(original))), ("", _figures(WORD.sub("", said)), _figures(WORD.sub("", original))),
        ):
            if found != wanted:
                missing = next(iter((wanted - found) or (found - wanted)))
                self.wrong(path, said, "{" + missing + "}" if kind else missing, "retold_other")
        # "Fermented beans" is what a thing is, where a step of that word would be something to do.
        (no_bare_grams if path[0] == "ingredient" else no_such_words)(self, path, said)
        no_other_figure(self, path, said)
        return said


def retold(recipe: Recipe, text: str, name: str, language: str) -> tuple[Recipe | None, list[Fault]]:
    """The recipe with its texts in another language.

    recipe: as read; text: of the TOML file with the texts; name: that file's, for the faults; language: of the texts.
    Returns (recipe, []) or (None, every fault found).
    """
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        return None, [fault("recipe", name, "recipe_toml", where=name, error=str(error))]
    reader = _Texts(text, name)
    texts = {key: reader.beside(data, (key,), getattr(recipe, key)) for key in ("title", "summary", "cut")}
    changes = reader.take(data, (), "changes", list, '["what is new"]', [])
    if len(changes) != len(recipe.changes):
        reader.wrong(("changes",), len(changes), str(len(recipe.changes)))
    changes = tuple(reader.held(("changes",), str(said), original) for said, original in zip(changes, recipe.changes, strict=False))
    names = reader.take(data, (), "ingredient", dict, "[ingredient]", {}, required=True)
    lines = tuple(
        replace(line, name=reader.beside(names, ("ingredient", line.id), line.name), written=line.known_as) for line in recipe.ingredients
    )
    _judge_names(reader, recipe, lines, texts)
    reader.rest(names, ("ingredient",), tuple(line.id for line in recipe.ingredients))
    tables = reader.take(data, (), "step", list, "[[step]]", [])
    if len(tables) != len(recipe.steps):
        reader.wrong(("step",), len(tables), str(len(recipe.steps)))
    steps = []
    for index, (table, original) in enumerate(zip(tables, recipe.steps, strict=False)):
        table = table if isinstance(table, dict) else {}
        steps.append(reader.beside(table, ("step", index, "text"), original))
        reader.rest(table, ("step", index), ("text",))
    reader.rest(data, (), (*texts, "changes", "ingredient", "step"))
    if reader.faults:
        return None, reader.faults
    return replace(recipe, language=language, changes=changes, ingredients=lines, steps=tuple(steps), **texts), []


def _judge_names(reader: Reader, recipe: Recipe, lines: tuple[Ingredient, ...], texts: dict[str, str]) -> None:
    """What the names of the recipe's own file are held to, for those of another language."""
    cut = not recipe.belly and "pork" in recipe.kinds and recipe.method != "ground"
    for key in ("title", "cut"):
        if cut and says_belly(texts[key]):
            reader.wrong((key,), texts[key], getattr(recipe, key), "retold_thing")
    for line in lines:
        path = ("ingredient", line.id)
        if len(line.name) > MOST_NAME:
            reader.wrong(path, line.name, str(MOST_NAME), "recipe_text_long")
        judge_name(reader, path, line.name, line.role, line.salt_stated)
        if _is_other(recipe, line) or cut and line.role in BLOCK and says_belly(line.name):
            reader.wrong(path, line.name, line.known_as, "retold_thing")


def _is_other(recipe: Recipe, line: Ingredient) -> bool:
    """Whether the name of a line is that of a bird or an additive that the recipe does not have there."""
    named = {"accelerator": accelerator_named, "phosphate": phosphate_named}.get(line.role, lambda name: None)(line.name)
    return bool(
        lacks_bird(recipe.kinds, line) or is_other_bird(recipe.species, line) or named and line.substance and named != line.substance
        or (weighed_only(line.name, line.role) if line.by_spoon else role_meant(line.name, line.role))
    )


def data_retold(data: dict, recipe: Recipe) -> dict:
    """The data of a recipe's file, with the texts of the recipe as retold."""
    made = {**data, "language": recipe.language, "title": recipe.title, "step": [{"text": step} for step in recipe.steps]}
    made |= {key: getattr(recipe, key) for key in ("summary", "cut") if key in data}
    made["ingredient"] = [{**given, "id": line.id, "name": line.name} for given, line in zip(data["ingredient"], recipe.ingredients, strict=True)]
    return made
