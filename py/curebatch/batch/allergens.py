"""Allergens named from the ingredients.

By the ingredient's food row where it has one, and by its name always. What is
found is named; what is not found proves nothing, so nobody is ever told that a
food is without an allergen.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from ..data import table
from ..intake.numbers import tidy
from ..intake.signs import spoken
from .foods import Food

LISTS = ("eu", "us")


@dataclass(frozen=True)
class Named:
    """One allergen of one ingredient.

    ``source`` is what it comes from ("pistachio"), ``eu`` and ``us`` the group it
    counts under on each list ("" where the list has none). ``how``: "row", "name",
    "stated", or "possible" where only the pack can tell.
    """

    source: str
    eu: str
    us: str
    ingredient: str
    how: str

    def group(self, which: str) -> str:
        """The group on the list "eu" or "us"."""
        return {"eu": self.eu, "us": self.us}[which]


@dataclass(frozen=True)
class _Source:
    id: str
    eu: str
    us: str
    words: re.Pattern[str]
    spared: re.Pattern[str] | None
    possible: re.Pattern[str] | None


def _pattern(words: list[str]) -> re.Pattern[str] | None:
    return re.compile(rf"(?<!\w)(?:{'|'.join(sorted(words, key=len, reverse=True))})(?!\w)") if words else None


@lru_cache(maxsize=1)
def _tables() -> dict:
    return table("allergens")


@lru_cache(maxsize=1)
def _sources() -> tuple[_Source, ...]:
    return tuple(
        _Source(row["id"], row.get("eu", ""), row.get("us", ""), _pattern(row["words"]), _pattern(row.get("not", [])), _pattern(row.get("possible", [])))
        for row in _tables()["source"]
    )


def groups(which: str) -> tuple[str, ...]:
    """The groups of a list, in its order: fourteen of "eu", nine of "us"."""
    return tuple(_tables()[which])


def _by_name(source: _Source, text: str) -> str:
    # What only looks like it ("peanut butter", "eggplant") is struck out before the words are sought.
    bare = source.spared.sub(" · ", text) if source.spared else text
    if source.words.search(bare):
        return "name"
    return "possible" if source.possible and source.possible.search(text if source.spared is None else bare) else ""


def of_ingredient(name: str, food: Food | None = None) -> tuple[Named, ...]:
    """The allergens of one ingredient.

    name: as the recipe names it; food: its row, where it has one.
    Returns one Named per source, the surer finding where row and name differ.
    """
    text = spoken(tidy(name)).lower()
    found = []
    for source in _sources():
        how = "row" if food is not None and source.id in food.allergens else _by_name(source, text)
        if not how and food is not None:
            how = _by_name(source, food.name.lower())
        if how:
            found.append(Named(source.id, source.eu, source.us, name, how))
    return tuple(found)


def of_batch(ingredients: Iterable[tuple[str, Food | None]]) -> tuple[Named, ...]:
    """The allergens of all ingredients, (name, row) each, in the recipe's order."""
    return tuple(named for name, food in ingredients for named in of_ingredient(name, food))


@dataclass(frozen=True)
class Group:
    """One group of a list as found in a batch: ``sure`` where one ingredient has it for certain."""

    group: str
    sure: bool
    sources: tuple[str, ...]
    ingredients: tuple[str, ...]


def on_list(found: Iterable[Named], which: str) -> tuple[Group, ...]:
    """What of a list was found, in the list's order.

    found: of one batch, or of several that come together; which: "eu" or "us".
    Groups with only possible findings come with ``sure`` False: the pack tells.
    """
    all_found = tuple(found)
    rows = []
    for group in groups(which):
        hits = [named for named in all_found if named.group(which) == group]
        certain = [named for named in hits if named.how != "possible"]
        if hits:
            of = certain or hits
            rows.append(Group(group, bool(certain), tuple(dict.fromkeys(n.source for n in of)), tuple(dict.fromkeys(n.ingredient for n in of))))
    return tuple(rows)


def ids() -> tuple[str, ...]:
    """The sources that can be stated of an ingredient, by their ids."""
    return tuple(source.id for source in _sources())


def stated(source_ids: Iterable[str], ingredient: str) -> tuple[Named, ...]:
    """Allergens that a recipe states of an ingredient. source_ids: of ``ids``; others are left out."""
    wanted = set(source_ids)
    return tuple(Named(source.id, source.eu, source.us, ingredient, "stated") for source in _sources() if source.id in wanted)
