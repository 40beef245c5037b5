"""The food table: what is in 100 g of an ingredient.

Rows come from USDA SR28 as they are printed there; a few that it lacks are
from memory and say so. For meat whose fat share the cook knows, a composition
is drawn between the rows of its kind.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache

from ..data import text as shipped
from .refusal import Refused

PARTS = ("water", "protein", "fat", "carbohydrate", "ash")


class UnknownFood(Refused):
    """A food that the table does not hold; ``near`` are rows with a like name."""

    def __init__(self, read: str, near: tuple[str, ...]):
        super().__init__("unknown_food" if near else "unknown_food_alone", read=read, near="; ".join(near))
        self.read = read
        self.near = near


class BadFatShare(Refused):
    """A fat share that no meat of the kind can have, or a kind that the table does not hold."""


@dataclass(frozen=True)
class Food:
    """One row: grams of each part in 100 g, sodium in mg in 100 g."""

    name: str
    ndb: str  # number of the row in the source; "" where it has none
    role: str
    water: float
    protein: float
    fat: float
    carbohydrate: float  # by difference in the source, so fibre is in it
    ash: float
    sodium_mg: float
    allergens: tuple[str, ...] = ()
    source: str = "sr28"  # "sr28", "memory" or "model"
    rows: tuple[str, ...] = ()  # of a model: the rows it is drawn from
    outside: bool = False  # of a model: beyond the rows of its kind, so less sure

    @property
    def parts_sum(self) -> float:
        """What the parts add up to [g in 100 g]: about 100, of meat up to 5.7 off."""
        return self.water + self.protein + self.fat + self.carbohydrate + self.ash


def read_rows(name: str) -> Iterable[dict[str, str]]:
    """The rows of a CSV file of the data folder; lines that begin with # are its source notes."""
    text = shipped(name)
    return csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))


@lru_cache(maxsize=1)
def all_foods() -> tuple[Food, ...]:
    """Every row of the table, in its order."""
    return tuple(
        Food(
            row["food"], row["ndb"], row["role"], *(float(row[f"{part}_g"]) for part in PARTS), float(row["sodium_mg"]),
            tuple(row["allergens"].split()), row["source"],
        )
        for row in read_rows("foods.csv")
    )


def name_key(text: str) -> str:
    """A name as it is looked up: small letters, single blanks."""
    return " ".join(text.lower().split())


@lru_cache(maxsize=1)
def _index() -> dict[str, Food]:
    index = {name_key(food.name): food for food in all_foods()}
    index.update({food.ndb: food for food in all_foods() if food.ndb})
    return index


def near_names(read: str) -> tuple[str, ...]:
    """At most four names to offer: rows that hold all the words of ``read``, then rows that are spelled like it."""
    words = {word.rstrip("s") for word in name_key(read).replace(",", " ").split() if len(word) > 2}
    holding = [food.name for food in all_foods() if words and all(word in name_key(food.name) for word in words)]
    names = {name_key(food.name): food.name for food in all_foods()}
    alike = [names[key] for key in get_close_matches(name_key(read), names, 4, 0.5)]
    return tuple(dict.fromkeys(sorted(holding, key=len)[:4] + alike))[:4]


def find(read: str) -> Food:
    """The row of a food.

    read: its exact name in the table, whatever its capitals and blanks, or its NDB
    number, with or without the leading nought.
    Raises UnknownFood, with near names.
    """
    key = name_key(read)
    food = _index().get(key.zfill(5) if key.isascii() and key.isdigit() else key)
    if food is None:
        raise UnknownFood(read, near_names(read))
    return food


PURE_FAT = Food("", "", "fat", 0, 0, 100, 0, 0, 0, (), "model")
# Rows of each kind, lean to fat; the last step always leads to pure fat.
_LADDERS = {
    "pork": ("10973", "10972", "10219", "10006", "10004"),
    "beef": ("23477", "23557", "23472", "23562", "23567", "23572", "23577", "13498", "13335"),
    "veal": ("17090", "17142", "17092"),
    "lamb": ("17224",),
    "goat": ("17168",),
    "game": ("17343",),
    "chicken": ("05062", "05332", "05006", "05015", "05674"),
    "turkey": ("05710", "05665", "05668", "05714", "05169"),
    "duck": ("05141", "05139"),
}
KINDS = tuple(_LADDERS)
LEANEST = 0.5  # g of fat in 100 g: no trimming at home gets below it


def _drawn(fat: float, below: Food, above: Food) -> dict[str, float]:
    way = (fat - below.fat) / (above.fat - below.fat)
    columns = ("water", "protein", "carbohydrate", "ash", "sodium_mg")
    return {name: max(0.0, getattr(below, name) * (1 - way) + getattr(above, name) * way) for name in columns}


@lru_cache(maxsize=256)
def with_fat(kind: str, fat: float) -> Food:
    """Meat or trim of one kind with the fat share that the cook states.

    kind: one of KINDS; fat: g of fat in 100 g [0.5 to 100].
    Returns a Food drawn on a straight line between the two rows of its kind that lie
    around that fat, and towards pure fat beyond the fattest; leaner than the leanest
    row, fat is taken out of that row and the rest scaled up (``outside`` is then set).
    ``rows`` names them. Raises BadFatShare.
    Rows: USDA SR28; that ground meat is a straight line in its fat was read off them.
    """
    if kind not in _LADDERS:
        raise BadFatShare("unknown_kind", read=kind, kinds=", ".join(KINDS))
    if not LEANEST <= fat <= 100:
        raise BadFatShare("fat_share", read=f"{fat:g}", least=f"{LEANEST:g}", most="100")
    ladder = [_index()[ndb] for ndb in _LADDERS[kind]]
    steps = [*ladder, PURE_FAT]
    if fat < ladder[0].fat:
        below, above = ladder[0], PURE_FAT
    else:
        above = next((row for row in steps[1:] if row.fat >= fat), PURE_FAT)
        below = steps[steps.index(above) - 1]
    rows = tuple(row.name for row in (below, above) if row.name)
    return Food(
        f"{kind}, {fat:g} % fat", "", "fat" if fat > 50 else "meat", fat=fat, **_drawn(fat, below, above), source="model", rows=rows,
        outside=fat < ladder[0].fat or (above is PURE_FAT and len(ladder) == 1 and abs(fat - below.fat) > 15),
    )
