"""The recipe file: TOML, strict, every fault with its line and what was expected."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, replace
from fractions import Fraction

from ..fields import BASES, COMPOUNDS, MASS, PERCENT, RATIO
from .faults import Fault, fault
from .numbers import Misread, tidy
from .units import Amount, read_amount

SCHEMA = 1
METHODS = ("ground", "dry", "brine", "injected")
KINDS = ("pork", "beef", "veal", "lamb", "goat", "game", "poultry")
ROLES = ("meat", "fat", "water", "ice", "accelerator", "phosphate", "binder", "starch", "sugar", "spice", "garnish")
# What this program does not cover, refused by name.
REFUSED = ("fermented", "air-dried", "smoked", "canned", "country")
STATES = ("held", "not_held", "uncured")
FIGURES = ("curing_salt", "salt", "core", "hold")  # what a step may name besides ingredients
_ID = re.compile(r"[a-z][a-z0-9-]{1,40}")
_WORD = re.compile(r"\{([a-z][a-z0-9_-]*)\}")
MOST_INGREDIENTS = 300
MOST_TEXT = 100_000
MOST_FAULTS = 20  # reported at a time; each looks for its line in the file
# A salt or a cure among the ingredients would be counted by nobody.
_CURES = re.compile(r"curing|nitri|nitra|saltpet|salt ?pet|\bcure\b", re.I)
# Meat that has its cure already. A fresh ham is a cut.
_CURED_MEAT = re.compile(r"bacon|\bham\b|corned|salami|prosciutto|pastrami|\bcured\b|\bsalted\b|smoked|gammon|speck", re.I)
_SALT = re.compile(r"\bsalt\b", re.I)


@dataclass(frozen=True)
class Ingredient:
    """One line of a recipe besides the curing salt and the plain salt."""

    id: str
    name: str
    role: str
    share: Fraction  # of the meat block or of the whole mix, as ``per`` says
    per: str  # "meat" or "mix"
    food: str = ""
    salt: Fraction = Fraction(0)  # salt that it brings, as a share of itself


@dataclass(frozen=True)
class Targets:
    """What a recipe asks for. ``nitrite`` is a share of the base, counted as ``nitrite_as``."""

    nitrite: Amount | None
    nitrite_as: str
    nitrite_per: str
    salt: Amount
    salt_per: str


@dataclass(frozen=True)
class Recipe:
    """A recipe's targets and lines: no pack, no kitchen."""

    id: str
    revision: int
    language: str
    title: str
    author: str
    method: str
    kinds: tuple[str, ...]
    cut: str
    state: str
    targets: Targets
    ingredients: tuple[Ingredient, ...]
    meat: Fraction  # meat block of the published batch [g]
    steps: tuple[str, ...] = ()
    core: Amount | None = None
    hold: Amount | None = None
    portions: int | None = None
    raw: bool = False
    summary: str = ""
    belly: bool = False  # pork belly: some rules hold bacon to less
    pump: Amount | None = None  # injected: pickle taken up, a share of the green weight
    pick_up: Amount | None = None  # brine: what the piece gains, for the handbook's method one

    @property
    def ref(self) -> str:
        return f"{self.id}.{self.revision}"

    def with_targets(self, **changes) -> Recipe:
        """The same recipe with other targets."""
        return replace(self, targets=replace(self.targets, **changes))


def line_of(text: str, path: tuple) -> int | None:
    """The line on which the key at ``path`` stands in a TOML text, or None.

    tomllib names no positions, so this looks for the table's head and the key.
    """
    *tables, key = path
    head: tuple = ()
    counts: dict[tuple, int] = {}
    quoted = False
    for number, line in enumerate(text.splitlines(), 1):
        if not quoted:
            bare = line.strip()
            if found := re.fullmatch(r"\[\[\s*([\w.\"-]+)\s*\]\]\s*(#.*)?", bare):
                name = (found[1],)
                counts[name] = counts.get(name, -1) + 1
                head = (*name, counts[name])
                if head == (*tables, key):
                    return number
            elif found := re.fullmatch(r"\[\s*([\w.\"-]+)\s*\]\s*(#.*)?", bare):
                head = (found[1],)
                if head == (*tables, key):
                    return number
            elif head == tuple(tables) and re.match(rf"\"?{re.escape(str(key))}\"?\s*=", bare):
                return number
        if line.count('"""') % 2 or line.count("'''") % 2:
            quoted = not quoted
    return line_of(text, tuple(tables)) if tables else None


class _Reader:
    """Takes keys out of the tables one by one, and remembers what was wrong and what was left."""

    def __init__(self, text: str, name: str):
        self.text = text
        self.name = name
        self.faults: list[Fault] = []

    def wrong(self, path: tuple, read: object, expected: str, code: str = "recipe_value") -> None:
        if len(self.faults) >= MOST_FAULTS:
            return
        line = line_of(self.text, path)
        key = ".".join(str(part + 1) if isinstance(part, int) else str(part) for part in path)
        self.faults.append(fault(key, read, code, where=f"{self.name}, line {line}" if line else self.name, key=key, expected=expected))

    def take(self, table: dict, path: tuple, key: str, kind: type, expected: str, default=None, required: bool = False):
        if key not in table:
            if required:
                self.wrong((*path, key), "", expected, "recipe_missing")
            return default
        value = table.pop(key)
        if type(value) is not kind:
            self.wrong((*path, key), value, expected)
            return default
        if kind is str and len(value) > 2000:
            self.wrong((*path, key), value, expected)
            return default
        return value

    def choice(self, table: dict, path: tuple, key: str, choices: tuple[str, ...], default=None, required: bool = False):
        expected = ", ".join(choices)
        value = self.take(table, path, key, str, expected, default, required)
        if value is not None and value not in choices:
            self.wrong((*path, key), value, expected)
            return default
        return value

    def amount(self, table: dict, path: tuple, key: str, dimension: str, units: tuple[str, ...], example: str, required: bool = False) -> Amount | None:
        typed = self.take(table, path, key, str, f'"{example}"', None, required)
        if typed is None:
            return None
        try:
            amount = read_amount(typed, dimension, units)
        except Misread:
            self.wrong((*path, key), typed, f'"{example}"')
            return None
        return amount

    def rest(self, table: dict, path: tuple, known: tuple[str, ...]) -> None:
        for key in table:
            self.wrong((*path, key), key, ", ".join(known), "recipe_unknown_key")


_TOP = ("schema", "id", "revision", "language", "title", "author", "summary", "method", "kinds", "cut", "state", "targets", "batch", "ingredient", "step", "cooking", "pickle", "belly")


def read_recipe(text: str, name: str) -> tuple[Recipe | None, list[Fault]]:
    """Read a recipe file.

    text: the TOML text, at most 100 kB; name: the file's name, for the faults.
    Returns (recipe, []) or (None, every fault found).
    """
    if len(text) > MOST_TEXT:
        return None, [fault("recipe", name, "recipe_too_long", where=name)]
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        return None, [fault("recipe", name, "recipe_toml", where=name, error=str(error))]
    reader = _Reader(text, name)
    schema = reader.take(data, (), "schema", int, str(SCHEMA), required=True)
    if schema is not None and schema != SCHEMA:
        reader.wrong(("schema",), schema, str(SCHEMA), "recipe_schema")
        return None, reader.faults
    recipe_id = reader.take(data, (), "id", str, "pistachio-pork-loaf", "", required=True)
    if recipe_id and not _ID.fullmatch(recipe_id):
        reader.wrong(("id",), recipe_id, "pistachio-pork-loaf")
    revision = reader.take(data, (), "revision", int, "1", 0, required=True)
    if revision is not None and not 1 <= revision <= 9999 and not reader.faults:
        reader.wrong(("revision",), revision, "1")
    language = reader.take(data, (), "language", str, "en", "en", required=True)
    if not re.fullmatch(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*", language):
        reader.wrong(("language",), language, "en")
    title = reader.take(data, (), "title", str, "text", "", required=True)
    author = reader.take(data, (), "author", str, "text", "")
    summary = reader.take(data, (), "summary", str, "text", "")
    if data.get("method") in REFUSED:
        reader.wrong(("method",), data["method"], ", ".join(METHODS), "recipe_refused")
        return None, reader.faults
    method = reader.choice(data, (), "method", METHODS, required=True)
    cut = reader.take(data, (), "cut", str, "text", "")
    state = reader.choice(data, (), "state", STATES, "held")
    kinds = reader.take(data, (), "kinds", list, ", ".join(KINDS), [], required=True)
    if not kinds or any(kind not in KINDS for kind in kinds):
        reader.wrong(("kinds",), kinds, ", ".join(KINDS))
    belly = reader.take(data, (), "belly", bool, "true or false", False, required="pork" in kinds and method in ("dry", "brine", "injected"))
    targets = _targets(reader, data)
    batch = reader.take(data, (), "batch", dict, "[batch]", {}, required=True)
    meat = reader.amount(batch, ("batch",), "meat", "mass", MASS, "2.4 kg", required=True)
    portions = reader.take(batch, ("batch",), "portions", int, "30")
    reader.rest(batch, ("batch",), ("meat", "portions"))
    if meat is not None and not 1 <= meat.value <= 1_000_000:
        reader.wrong(("batch", "meat"), meat.text, '"2.4 kg"')
        meat = None
    ingredients = _ingredients(reader, data, meat.value if meat else Fraction(1000))
    steps = _steps(reader, data, ingredients)
    cooking = reader.take(data, (), "cooking", dict, "[cooking]", {})
    raw = reader.take(cooking, ("cooking",), "raw", bool, "true", False)
    core = reader.amount(cooking, ("cooking",), "core", "temperature", ("°C", "°F"), "70 °C")
    hold = reader.amount(cooking, ("cooking",), "hold", "time", ("min", "h"), "2 min")
    reader.rest(cooking, ("cooking",), ("core", "hold", "raw"))
    pickle = reader.take(data, (), "pickle", dict, "[pickle]", {})
    pump = reader.amount(pickle, ("pickle",), "pump", "share", ("%",), "10 %", required=method == "injected")
    pick_up = reader.amount(pickle, ("pickle",), "pick_up", "share", ("%",), "10 %")
    reader.rest(pickle, ("pickle",), ("pump", "pick_up"))
    if pump is not None and not Fraction(2, 100) <= pump.value <= Fraction(40, 100):
        reader.wrong(("pickle", "pump"), pump.text, '"10 %"')
    if method in ("brine", "injected") and not any(i.role in ("water", "ice") and i.share for i in ingredients):
        reader.wrong(("ingredient",), "", 'role = "water"', "recipe_no_water")
    reader.rest(data, (), _TOP)
    if core is not None and not 50 <= core.value <= 100:
        reader.wrong(("cooking", "core"), core.text, '"70 °C"')
    if reader.faults:
        return None, reader.faults
    return Recipe(
        recipe_id, revision, language, tidy(title), tidy(author), method, tuple(kinds), tidy(cut), state, targets,
        ingredients, meat.value, steps, core, hold, portions, raw, tidy(summary), belly, pump, pick_up,
    ), []


def _targets(reader: _Reader, data: dict) -> Targets | None:
    path = ("targets",)
    table = reader.take(data, (), "targets", dict, "[targets]", {}, required=True)
    nitrite = reader.amount(table, path, "nitrite", "share", RATIO, "104 mg/kg")
    nitrite_as = reader.choice(table, path, "nitrite_as", COMPOUNDS, "NaNO2", required=nitrite is not None)
    nitrite_per = reader.choice(table, path, "nitrite_per", BASES, "mix", required=nitrite is not None)
    salt = reader.amount(table, path, "salt", "share", PERCENT, "2.1 %", required=True)
    salt_per = reader.choice(table, path, "salt_per", BASES, "mix", required=True)
    reader.rest(table, path, ("nitrite", "nitrite_as", "nitrite_per", "salt", "salt_per"))
    if nitrite is not None and not 0 < nitrite.value <= Fraction(2000, 10**6):
        reader.wrong((*path, "nitrite"), nitrite.text, '"104 mg/kg"')
    if salt is not None and not 0 < salt.value <= Fraction(12, 100):
        reader.wrong((*path, "salt"), salt.text, '"2.1 %"')
    return Targets(nitrite, nitrite_as, nitrite_per, salt, salt_per) if salt else None


def _ingredients(reader: _Reader, data: dict, meat: Fraction) -> tuple[Ingredient, ...]:
    tables = reader.take(data, (), "ingredient", list, "[[ingredient]]", [], required=True)
    known = ("id", "name", "role", "amount", "per", "food", "salt")
    found: list[Ingredient] = []
    if len(tables) > MOST_INGREDIENTS:
        reader.wrong(("ingredient",), len(tables), str(MOST_INGREDIENTS))
        return ()
    for index, table in enumerate(tables):
        path = ("ingredient", index)
        if not isinstance(table, dict):
            reader.wrong(path, table, "[[ingredient]]")
            continue
        name = tidy(reader.take(table, path, "name", str, "text", "", required=True))
        own_id = reader.take(table, path, "id", str, "pork-shoulder", re.sub("[^a-z0-9]+", "-", name.lower()).strip("-"))
        if not _ID.fullmatch(own_id or "") or own_id in FIGURES:
            reader.wrong((*path, "id"), own_id, "pork-shoulder")
        role = reader.choice(table, path, "role", ROLES, "spice", required=True)
        if _CURES.search(name):
            reader.wrong((*path, "name"), name, "[targets] nitrite", "recipe_cure_named")
        elif role in ("meat", "fat") and _CURED_MEAT.search(name) and not re.search("fresh|uncured", name, re.I):
            reader.wrong((*path, "name"), name, "raw meat", "recipe_already_cured")
        elif _SALT.search(name) and "salt" not in table:
            reader.wrong((*path, "name"), name, 'salt = "98 %"', "recipe_salt_named")
        typed = reader.take(table, path, "amount", str, '"250 g" or "25 %"', None, required=True)
        per = reader.choice(table, path, "per", BASES)
        share = Fraction(0)
        if typed is not None:
            try:
                if any(letter in typed for letter in "%/"):
                    share = read_amount(typed, "share", PERCENT).value
                    if per is None:
                        reader.wrong((*path, "per"), "", ", ".join(BASES), "recipe_missing")
                else:
                    # Grams belong to the published batch; they scale with its meat.
                    share = read_amount(typed, "mass", MASS).value / meat
                    per = "meat"
            except Misread:
                reader.wrong((*path, "amount"), typed, '"250 g" or "25 %"')
        if role in ("meat", "fat") and per == "mix":
            reader.wrong((*path, "per"), per, "meat")
        salt = reader.amount(table, path, "salt", "share", PERCENT, "1.5 %")
        food = reader.take(table, path, "food", str, "text", "")
        reader.rest(table, path, known)
        found.append(Ingredient(own_id or "", name, role, share, per or "meat", food, salt.value if salt else Fraction(0)))
    names = [ingredient.id for ingredient in found]
    for index, name in enumerate(names):
        if name in names[:index]:
            reader.wrong(("ingredient", index, "name"), name, "", "recipe_twice")
    block = sum((i.share for i in found if i.role in ("meat", "fat")), Fraction(0))
    if not any(i.role == "meat" for i in found):
        reader.wrong(("ingredient",), "", 'role = "meat"', "recipe_no_meat")
    elif abs(block - 1) > Fraction(1, 1000):
        from .numbers import show

        reader.wrong(("ingredient",), f"{show(block * 100, 1)} %", "100 %", "recipe_meat_sum")
    if sum((i.share for i in found if i.per == "mix"), Fraction(0)) >= Fraction(9, 10):
        reader.wrong(("ingredient",), "", "less than 90 % of the whole mix", "recipe_value")
    return tuple(found)


def _steps(reader: _Reader, data: dict, ingredients: tuple[Ingredient, ...]) -> tuple[str, ...]:
    steps: list[str] = []
    words = {i.id for i in ingredients} | set(FIGURES)
    for index, table in enumerate(reader.take(data, (), "step", list, "[[step]]", [])):
        path = ("step", index)
        if not isinstance(table, dict):
            reader.wrong(path, table, "[[step]]")
            continue
        text = tidy(reader.take(table, path, "text", str, "text", "", required=True))
        for word in _WORD.findall(text):
            if word not in words:
                reader.wrong((*path, "text"), "{" + word + "}", ", ".join(sorted(words)))
        reader.rest(table, path, ("text",))
        steps.append(text)
    return tuple(steps)


def fill_step(text: str, figures: dict[str, str]) -> str:
    """A step's text with ``{ingredient}`` and ``{figure}`` put in; nothing else is read in it."""
    return _WORD.sub(lambda found: figures.get(found[1], found[0]), text)
