"""What a batch is made of, raw and cooked: water, protein, fat and the rest.

Composition is linear: it is the sum of the lines, and of two batches the
weighted mean. What the table does not know is kept apart as unknown, never
taken for nothing. Plain floats: this is nutrition, not a dose.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from fractions import Fraction
from functools import lru_cache
from operator import add

from ..data import table
from ..intake.recipe import Ingredient, Recipe
from ..science.thermal_properties import component_density
from .additives import PHOSPHATES, accelerator_named, accelerator_sodium, phosphate_named
from .cure import Batch
from .foods import PARTS, Food, find
from .refusal import Refused

SODIUM_IN_SALT = 0.3934  # of common salt, from the standard atomic masses
LABEL_SALT = 2.5  # salt over sodium on an EU label, Reg. (EU) 1169/2011; pure salt then reads 98.4 %
_TABLE_SALT = "02047"
_TAP_WATER = "14411"
_BLOCK = ("meat", "fat")
_BINDERS = ("binder", "starch")  # what the class rules count together
# Lines that need no row: what they are follows from the role.
_AS_ASH = ("salt", "curing_salt", "phosphate")


@dataclass(frozen=True)
class Part:
    """One line of a batch, for its composition."""

    name: str
    role: str
    grams: float | Fraction
    food: Food | None = None  # None: no row is known for it
    salt: float | Fraction = 0.0  # common salt, a share of the line
    sodium: float = 0.0  # sodium that is neither in the row nor in that salt, a share of the line


def part(name: str, role: str, grams: float | Fraction, *, food: Food | str = "", salt: float | Fraction = 0.0, sodium: float = 0.0) -> Part:
    """One line; water, ice and plain salt find their row by themselves.

    name, role: as in the recipe; grams: its weight [g]; food: a row, or its name or
    number; salt: common salt that it brings, as a share of itself [0 to 1]; sodium:
    other sodium, likewise.
    Raises foods.UnknownFood.
    """
    if isinstance(food, str):
        food = food or {"water": _TAP_WATER, "ice": _TAP_WATER, "salt": _TABLE_SALT}.get(role, "")
        row = find(food) if food else None
    else:
        row = food
    return Part(name, role, grams, row, 1.0 if role == "salt" and row is not None and not salt else salt, sodium)


@dataclass(frozen=True)
class Composition:
    """Grams of each part in the whole of something; add two to put them together."""

    total: float = 0.0
    water: float = 0.0
    protein: float = 0.0
    fat: float = 0.0
    carbohydrate: float = 0.0
    ash: float = 0.0
    salt: float = 0.0  # common salt that was put in, on its own or in a salted ingredient
    sodium_mg: float = 0.0
    meat_protein: float = 0.0
    binder: float = 0.0  # binders and starch, as weighed in
    unknown: float = 0.0  # weight of the lines that have no row

    def __add__(self, other: Composition) -> Composition:
        return Composition(*map(add, vars(self).values(), vars(other).values()))

    def times(self, factor: float) -> Composition:
        """As much of it by ``factor`` [0 or more]."""
        return Composition(*(part * factor for part in vars(self).values()))

    def percent(self, name: str) -> float:
        """A field as per cent of the whole: g in 100 g, of ``sodium_mg`` mg in 100 g. 0 of nothing."""
        return 100 * getattr(self, name) / self.total if self.total else 0.0

    @property
    def label_salt(self) -> float:
        """Salt as an EU label counts it, sodium x 2.5 [g in 100 g]."""
        return self.percent("sodium_mg") / 1000 * LABEL_SALT

    @property
    def water_to_protein(self) -> float | None:
        """Water over protein [1]; None where there is no protein."""
        return self.water / self.protein if self.protein else None

    @property
    def added_water(self) -> float:
        """Water beyond what meat brings, four times the meat protein [g in 100 g], as the US class rules count it."""
        return max(0.0, self.percent("water") - 4 * self.percent("meat_protein"))

    @property
    def fat_and_added_water(self) -> float:
        """Fat and added water together [g in 100 g]."""
        return self.percent("fat") + self.added_water

    @property
    def brine(self) -> float:
        """Salt in the water phase, salt / (salt + water) [per cent]."""
        return 100 * self.salt / (self.salt + self.water) if self.salt + self.water else 0.0


NOTHING = Composition()


def _of(line: Part) -> Composition:
    grams = float(line.grams)
    salt = grams * float(line.salt)
    binder = grams if line.role in _BINDERS else 0.0
    if line.food is not None:
        shares = {name: grams * getattr(line.food, name) / 100 for name in PARTS}
        sodium = grams * line.food.sodium_mg / 100 + 1000 * grams * line.sodium
        return Composition(
            grams, **shares, salt=salt, sodium_mg=sodium, meat_protein=shares["protein"] if line.role in _BLOCK else 0.0, binder=binder
        )
    sodium = 1000 * (salt * SODIUM_IN_SALT + grams * line.sodium)
    if line.role in _AS_ASH:  # mineral through and through
        return Composition(grams, ash=grams, salt=salt, sodium_mg=sodium)
    if line.role == "accelerator":
        return Composition(grams, carbohydrate=grams, sodium_mg=sodium)
    return Composition(grams, ash=salt, salt=salt, sodium_mg=sodium, binder=binder, unknown=grams - salt)


def compose(parts: Iterable[Part]) -> Composition:
    """The composition of all the lines together. Source of the rows: USDA SR28."""
    total = NOTHING
    for line in parts:
        total += _of(line)
    return total


def parts_of(batch: Batch, recipe: Recipe) -> tuple[Part, ...]:
    """The lines of a batch as weighed, both salts with them, for its composition.

    batch: solved from recipe, for the foods. A ground batch is all of one kind; of a
    brine or an injected cut this is the meat and all of its pickle.
    Raises foods.UnknownFood for a row that the table does not hold.
    """
    known = {line.id: line for line in recipe.ingredients}
    parts = []
    for line in batch.lines:
        own = known.get(line.id)
        if line.grams and own is not None:
            parts.append(part(line.name, line.role, line.weighed or line.grams, food=own.row or own.food, salt=line.salt, sodium=_other_sodium(own)))
    if batch.salt.grams:
        parts.append(part("", "salt", batch.salt.weighed))
    if batch.cure is not None and batch.pack is not None and batch.cure.weighed:
        parts.append(part("", "curing_salt", batch.cure.weighed, salt=batch.pack.salt("nominal")))
    return tuple(parts)


def _other_sodium(line: Ingredient) -> float:
    if line.role == "accelerator":
        known = line.substance or accelerator_named(line.name)
        return float(accelerator_sodium(known)) if known else 0.0
    if line.role == "phosphate":
        # Where nothing tells, the commonest salt of the trade: sodium tripolyphosphate.
        return float(PHOSPHATES[line.substance or phosphate_named(line.name) or "STPP"].sodium)
    return 0.0


def cooked(raw: Composition, share: float) -> Composition:
    """What is left after cooking, the loss taken as water.

    raw: the batter; share: cooked weight over raw weight, above 0 to 1.
    Published batters come within 1.5 points of this. Raises Refused where the loss
    would be more than all its water.
    """
    lost = raw.total * (1 - share)
    if not 0 < share <= 1 or lost > raw.water:
        raise Refused("yield_impossible", read=f"{100 * share:g}")
    return Composition(**{**{f.name: getattr(raw, f.name) for f in fields(raw)}, "total": raw.total - lost, "water": raw.water - lost})


@dataclass(frozen=True)
class Range:
    """Three cases of one figure, where it comes from, and how sure that is."""

    low: float
    likely: float
    high: float
    source: str = ""
    sure: str = ""


@lru_cache(maxsize=1)
def _tables() -> dict:
    return table("emulsions")


def _range(row: dict, scale: float = 1.0) -> Range:
    return Range(*(float(row[case]) / scale for case in ("low", "likely", "high")), row["source"], row.get("sure", ""))


def expected_yield(code: str) -> Range:
    """Cooked weight over raw weight [1], for "casing", "open_tin" or "covered_tin". Raises KeyError for another."""
    rows = {row["code"]: row for row in _tables()["yield"]}
    return _range(rows[code], 100)


def cooked_range(raw: Composition, share: Range) -> dict[str, Composition]:
    """The cooked product at the low, likely and high end of the yield."""
    return {case: cooked(raw, getattr(share, case)) for case in ("low", "likely", "high")}


@dataclass(frozen=True)
class Energy:
    """Energy in 100 g."""

    kj: float
    kcal: float

    def of(self, grams: float) -> Energy:
        """In a portion of ``grams`` [g]."""
        return Energy(self.kj * grams / 100, self.kcal * grams / 100)


_KCAL = {"protein": 4, "carbohydrate": 4, "fat": 9}
_KJ = {"protein": 17, "carbohydrate": 17, "fat": 37}
_KJ_IN_KCAL = 4.184


def energy(made: Composition, factors: str = "eu") -> Energy:
    """Energy in 100 g by general factors, about 2 % low on meat.

    factors: "eu" for kJ and kcal by their own factors (protein and carbohydrate 17/4,
    fat 37/9: Reg. (EU) 1169/2011 annex XIV), "us" for 4/4/9 kcal and kJ from those.
    Raises KeyError for others.
    """
    kcal = sum(factor * made.percent(name) for name, factor in _KCAL.items())
    kj = {"eu": sum(factor * made.percent(name) for name, factor in _KJ.items()), "us": kcal * _KJ_IN_KCAL}[factors]
    return Energy(kj, kcal)


def shares_for_heat(made: Composition) -> dict[str, float]:
    """The parts as mass shares [1] by the names that the heat modules use: ash without the added salt,
    unknown parts as carbohydrate. They add up to about one, as far as the rows do."""
    shares = {name: getattr(made, name) / made.total for name in PARTS}
    shares["carbohydrate"] += made.unknown / made.total
    shares["salt"] = min(made.salt, made.ash) / made.total
    shares["ash"] -= shares["salt"]
    return shares


def density(made: Composition, celsius: float = 4.0) -> float:
    """Density without any air in it [g/ml], from the volumes of the parts.

    made: with some weight; celsius: [0 to 90]. Unknown parts count as carbohydrate.
    Source: Choi & Okos 1986, as in the ASHRAE Refrigeration Handbook.
    """
    shares = shares_for_heat(made)
    # Meat rows do not sum to 100: the volumes are those of what they do sum to.
    volume = sum(part / component_density("ash" if name == "salt" else name, celsius) for name, part in shares.items())
    return sum(shares.values()) / volume / 1000


def batter_density(made: Composition | None = None) -> Range:
    """Density of a raw batter with the air that chopping leaves in it [g/ml].

    1.03 to fill a tin, 0.97 to 1.07 allowed for (Marcotte 2008), never likelier than
    without air.
    """
    row = _range(_tables()["density"])
    if made is None or not made.total:
        return row
    airless = density(made)
    return Range(min(row.low, airless), min(row.likely, airless), max(row.high, airless), row.source, row.sure)


@dataclass(frozen=True)
class Finding:
    """One thing to say about a composition: a code, figures in per cent, and where the bound comes from."""

    code: str
    severity: str  # "caution" or "note"
    value: float
    low: float | None
    high: float | None
    source: str
    sure: str


MOST_UNKNOWN = 2.0
"""Per cent of a batch that may be lines without a row; with more, its composition is not judged."""


def judge_emulsion(made: Composition) -> tuple[Finding, ...]:
    """Whether a cooked emulsion will hold its water and its fat.

    made: the cooked product. Returns cautions (``fat``, ``fat_and_added_water``,
    ``binder``, ``protein``) and notes (``unusual_NAME``, outside typical emulsions;
    ``unknown``). With more than MOST_UNKNOWN unknown the caution ``unknown_too_much``
    alone is returned.
    A home cook is bound by none of them.
    Sources: US class rules, typical emulsions of USDA SR28.
    """
    unknown = made.percent("unknown")
    if unknown > MOST_UNKNOWN:
        # With so much missing every other figure would mislead.
        return (Finding("unknown_too_much", "caution", unknown, None, MOST_UNKNOWN, "", ""),)
    found: list[Finding] = []
    values = {
        "fat": made.percent("fat"), "fat_and_added_water": made.fat_and_added_water, "binder": made.percent("binder"),
        "water": made.percent("water"), "protein": made.percent("protein"), "ash": made.percent("ash"), "salt": made.label_salt,
    }
    for bound in _tables()["bound"]:
        most = float(bound["most"])
        if values[bound["code"]] > most:
            found.append(Finding(bound["code"], "caution", values[bound["code"]], None, most, bound["source"], bound["sure"]))
    warned = {finding.code for finding in found}
    for row in _tables()["typical"]:
        name, low, high = row["what"], float(row["low"]), float(row["high"])
        value = values[name]
        if low <= value <= high or name in warned:
            continue
        # Too little protein is what lets an emulsion go; the rest is merely unusual.
        weak = name == "protein" and value < low
        found.append(Finding(name if weak else f"unusual_{name}", "caution" if weak else "note", value, low, high, "USDA SR28, typical cooked emulsions", "read"))
    if unknown:
        found.append(Finding("unknown", "note", unknown, None, MOST_UNKNOWN, "", ""))
    return tuple(found)


def judge_salt(share: Fraction, method: str) -> Finding | None:
    """Salt against the practice of the trade, or None where it lies within it.

    share: common salt over the base, the whole mix for "ground", else the meat [1];
    method: the recipe's. Code ``salt_low`` or ``salt_high``, a caution outside the
    outer bounds and a note between inner and outer ones. From memory, not law.
    """
    row = next(r for r in _tables()["salt"] if r["method"] == ("ground" if method == "ground" else "whole"))
    least, low, high, most = (Fraction(row[key]) / 100 for key in ("least", "low", "high", "most"))
    if low <= share <= high:
        return None
    severity = "caution" if share < least or share > most else "note"
    code = "salt_low" if share < low else "salt_high"
    return Finding(code, severity, float(share * 100), float(low * 100), float(high * 100), row["source"], row["sure"])


@dataclass(frozen=True)
class Emulsion:
    """A finished emulsion of the table, per 100 g, and how far it lies from ours [points]."""

    name: str
    ndb: str
    water: float
    protein: float
    fat: float
    sodium_mg: float
    off: float


def nearest_emulsions(made: Composition, count: int = 3) -> tuple[Emulsion, ...]:
    """The emulsions of the table that are most like a cooked product in water, protein and fat, nearest first."""
    ours = [made.percent(name) for name in ("water", "protein", "fat")]
    rows = []
    for row in _tables()["emulsion"]:
        theirs = [float(row[name]) for name in ("water", "protein", "fat")]
        off = sum((a - b) ** 2 for a, b in zip(ours, theirs, strict=True)) ** 0.5
        rows.append(Emulsion(row["name"], row["ndb"], *theirs, float(row["sodium_mg"]), off))
    return tuple(sorted(rows, key=lambda e: e.off)[:count])
