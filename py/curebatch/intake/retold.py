"""A recipe's texts in another language, in a file of their own beside it: texts, and nothing that is weighed.

``recipes/de/pistachio-pork-loaf.1.toml`` holds title, summary, cut, what changed, the ingredients' names
by their ids, and the steps. It says all that the recipe says: the same places, the same figures.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from dataclasses import replace

from .faults import Fault, fault
from .numbers import tidy
from .reader import Reader
from .recipe import WORD, Recipe, no_other_figure, no_such_words

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
        no_such_words(self, path, said)
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


def data_retold(data: dict, recipe: Recipe) -> dict:
    """The data of a recipe's file, with the texts of the recipe as retold."""
    made = {**data, "language": recipe.language, "title": recipe.title, "step": [{"text": step} for step in recipe.steps]}
    made |= {key: getattr(recipe, key) for key in ("summary", "cut") if key in data}
    made["ingredient"] = [{**given, "id": line.id, "name": line.name} for given, line in zip(data["ingredient"], recipe.ingredients, strict=True)]
    return made
