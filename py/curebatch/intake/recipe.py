"""The recipe file: TOML, strict, every fault with its line and what was expected."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cached_property

from ..bare_grams import UNITS, dose_in_words
from ..batch.refusal import Refused
from ..fields import BASES, COMPOUNDS, MASS, PERCENT, RATIO, SPOONS
from ..words import say
from .faults import Fault, fault
from .ingredients import BLOCK, FIGURES, ID, Ingredient, read_ingredients
from .nesting import MOST_LEVELS, TooDeep, read_toml
from .numbers import Misread, tidy
from .processes import not_covered
from .reader import MOST_SIGNS, Reader
from .signs import spoken
from .tins import read_tin
from .units import Amount

SCHEMA = 1
METHODS = ("ground", "dry", "brine", "injected")
KINDS = ("pork", "beef", "veal", "lamb", "goat", "game", "poultry")
# What this program does not cover, refused by name.
REFUSED = (
    "fermented", "air-dried", "smoked", "canned", "country",
    "fermentiert", "gereift", "luftgetrocknet", "geräuchert", "kaltgeräuchert", "heißgeräuchert", "eingekocht", "konserve", "rohwurst", "rohschinken",
)
STATES = ("held", "not_held", "uncured")
SPECIES = ("chicken", "turkey", "duck", "goose", "mixed")  # of the poultry: tables of cooking differ
FOUND = "found"  # the id of a recipe from elsewhere, which no file may have
VESSELS = ("casing", "open_tin", "covered_tin")  # what a batter cooks in, for its yield
MOST_TEXT = 100_000
MOST_TINS = 3
MOST_PORTIONS = 5000
MOST_CHANGES = 20
_OTHER_POULTRY = re.compile(
    r"turkey|duck|goose|quail|pheasant|guinea ?fowl|ostrich|pigeon|foie gras|magret|partridge|\bgrouse|\bsquab|stopfleber|\bputer"
    r"|\b(?:baby)?pute|truthahn|truthenne|\b(?:wild|flug|haus|mast)?ente(?:n\w*)?\b|\b(?:wild|mast)?g(?:ans|änse)|wachtel|fasan|perlhuhn|perlhühn|\bstrau(?:ß|ss)en|taube|täubchen",
    re.I,
)
_POULTRY = re.compile(rf"chicken|poultry|geflügel|huhn|hühner|hähnchen|hendl|poularde|kapaun|broiler|\bhens?\b|\bcapons?\b|cockerel|poussin|poulet|\bfowl|{_OTHER_POULTRY.pattern}", re.I)
# An egg, a spice for birds and what is only called after one.
_NO_BIRD = re.compile(
    r"gooseberr\w*|pigeon ?peas?|(?:chicken|hen) of the woods|gänse(?:blümchen|fuß)\w*"
    r"|(?:poultry|chicken|turkey|duck|goose|quail|hen)s?['’]?s?[ -](?:eggs?|seasoning|spices?|rub)\b|\begg, (?:duck|goose|quail|turkey)|\w*gewürz(?:e|mischung|salz)?\b"
    r"|\w*(?:hühner|huhn|enten|gänse|wachtel|puten|truthahn|strauß(?:en)?|strauss(?:en)?|tauben)-?ei(?:er|es|s|gelb|weiß|weiss|klar|pulver)*\b",
    re.I,
)
_BELLY = re.compile(r"(?<!beef )(?<!veal )(?<!lamb )\b(?:pork[ -]?)?bell(?:y|ies)\b|\bstreaky\b|(?<!rinder)(?<!kalbs)(?<!lamm)b(?:au|äu)ch(?!i)(?:e[sn]?)?(?:\b|speck|fleisch|stück|scheibe|lappen)|\bwammerl\b", re.I)
_NO_BELLY = re.compile(r"\b(?:no|not|without|nor|ohne|kein(?:e[mnrs]?)?|nicht)\b[\w ]{0,12}$", re.I)
WORD = re.compile(r"\{([a-z][a-z0-9_-]*)\}")
_MANY = r"(?:two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|twenty|hundred|zwei|drei|vier|fünf|sechs|sieben|acht|neun|zehn|elf|zwölf|zwanzig|hundert)"
# "Fold in" and "einfach" multiply nothing.
_TIMES = (
    rf"(?:[x×✕✖*·⋅]|times|twice|thrice|doubl(?:e|ed|ing)|tripl(?:e|ed|ing)|treble|quadrupl(?:e|ed|ing)|{_MANY}-?fold"
    rf"|{_MANY}?-?mal|doppelt?(?:e[mnrs]?)?|verdoppel\w*|{_MANY}fach(?:e[mnrs]?)?|(?:mehr|viel)fach(?:e[mnrs]?)?|ver(?:drei|vier|zehn)fach\w*)"
)
_OF = r"(?:[\s(]+(?:of|the|this|that|its|your|as|so|much|many|viele?|wie|amount|quantity|weight|dose|share|die|der|das|den|dem|des|von|vom|an|menge|gewicht|dosis))*"
# A figure takes the place of the braces: what stands beside it makes another figure of it.
_BEFORE_PLACE = re.compile(
    rf"[\w/.,]$|\d[\s.,'’/()x×*·-]*$|(?<![^\W\d_])(?:{_TIMES}|{_MANY}|{UNITS}|cups?|Tassen?|(?:tea|table)?spoons?(?:ful)?)\b{_OF}[\s(:-]*$|[×✕✖*·⋅]{_OF}[\s(]*$"
    rf"|\d{{3,}}(?:[.,]\d+)?\s*(?:%|per ?cent|Prozent){_OF}\s*$",
    re.I,
)
_BEHIND_PLACE = re.compile(rf"\s*[.,/]?\d|\{{|[\s(,:-]*(?:\d+(?:[.,]\d+)?\s*|{_MANY}\s+)?{_TIMES}(?![^\W\d_])", re.I)


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
    tins: tuple[str, ...] = ()  # what the published batch is filled into, as intake.tins reads them
    species: str = ""  # of the poultry, one of SPECIES; "" where the recipe does not say
    vessel: str | None = None  # what it is cooked in, one of VESSELS
    cooked_share: Amount | None = None  # finished weight over raw weight, as the recipe states it
    day: str = ""  # when this revision came out, YYYY-MM-DD
    changes: tuple[str, ...] = ()  # what is new in this revision

    @property
    def ref(self) -> str:
        return f"{self.id}.{self.revision}"

    @cached_property
    def kettle(self) -> tuple[Fraction, Fraction, Fraction, Fraction]:
        """What lies together without the two salts, and how much salt that brings: the whole batch, or of
        an injected cut the pickle. (fixed lines per gram of meat, lines that are a share of all, salt of
        the first, salt of the second.)"""
        inside = [line for line in self.ingredients if self.method != "injected" or line.role not in BLOCK]
        fixed, of_all = ([line for line in inside if line.per == per] for per in ("meat", "mix"))
        shares = [sum(line.share for line in lines) for lines in (fixed, of_all)]
        salts = [sum(line.share * line.salt for line in lines) for lines in (fixed, of_all)]
        return tuple(Fraction(part) for part in (*shares, *salts))

    def with_targets(self, **changes) -> Recipe:
        """The same recipe with other targets."""
        return replace(self, targets=replace(self.targets, **changes))


_TOP = ("schema", "id", "revision", "language", "title", "author", "summary", "method", "kinds", "cut", "state", "targets", "batch", "ingredient", "step", "cooking", "pickle", "belly", "spoons", "species", "day", "changes")


def read_recipe(text: str, name: str, reader_of: type[Reader] = Reader) -> tuple[Recipe | None, list[Fault]]:
    """Read a recipe file.

    text: the TOML text, at most 100 kB; name: the file's name, for the faults; reader_of: what
    words the faults.
    Returns (recipe, []) or (None, every fault found).
    """
    if len(text) > MOST_TEXT:
        return None, [fault("recipe", name, "recipe_too_long", where=name)]
    try:
        data = read_toml(text)
    except TooDeep:
        return None, [fault("recipe", name, "recipe_nested", where=name, most=str(MOST_LEVELS))]
    except (ValueError, RecursionError) as error:
        return None, [fault("recipe", name, "recipe_toml", where=name, error=str(error))]
    reader = reader_of(text, name)
    schema = reader.take(data, (), "schema", int, str(SCHEMA), required=True)
    if schema is not None and schema != SCHEMA:
        reader.wrong(("schema",), schema, str(SCHEMA), "recipe_schema")
        return None, reader.faults
    recipe_id = reader.take(data, (), "id", str, "pistachio-pork-loaf", required=True)
    if recipe_id and (not ID.fullmatch(recipe_id) or recipe_id == FOUND):
        reader.wrong(("id",), recipe_id, "pistachio-pork-loaf")
    revision = reader.take(data, (), "revision", int, "1", required=True)
    if revision is not None and not 1 <= revision <= 9999:
        reader.wrong(("revision",), revision, "1")
    language = reader.take(data, (), "language", str, "en", "en", required=True)
    if not re.fullmatch(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*", language):
        reader.wrong(("language",), language, "en")
    title = reader.take(data, (), "title", str, "text", required=True)
    author = reader.take(data, (), "author", str, "text", "")
    summary = reader.take(data, (), "summary", str, "text", "")
    if str(data.get("method")).lower() in REFUSED:
        reader.wrong(("method",), data["method"], ", ".join(METHODS), "recipe_refused")
        return None, reader.faults
    method = reader.choice(data, (), "method", METHODS, required=True)
    cut = reader.take(data, (), "cut", str, "text", "")
    state = reader.choice(data, (), "state", STATES, "held")
    kinds = reader.take(data, (), "kinds", list, ", ".join(KINDS), required=True)
    if kinds is None:
        kinds = []  # said already
    elif not kinds or any(kind not in KINDS for kind in kinds):
        reader.wrong(("kinds",), kinds, ", ".join(KINDS))
    species = reader.choice(data, (), "species", SPECIES)
    if species and "poultry" not in kinds:
        reader.wrong(("species",), species, 'kinds = ["poultry"]')
    stated_belly = "belly" in data
    belly = reader.take(data, (), "belly", bool, say("expected.belly"), False, required="pork" in kinds and method in ("dry", "brine", "injected"))
    day, changes = _history(reader, data)
    targets = _targets(reader, data)
    batch = _batch(reader, data)
    size = reader.choice(data, (), "spoons", SPOONS)
    meat = batch.pop("meat")
    ingredients = read_ingredients(reader, data, meat.value if meat else None, tuple(kinds), size)
    if any(lacks_bird(kinds, line) for line in ingredients):
        reader.wrong(("kinds",), kinds, ", ".join((*map(str, kinds), "poultry")))
    if any(is_other_bird(species, line) for line in ingredients):
        reader.wrong(("species",), species, '"mixed"')
    if stated_belly and not belly and "pork" in kinds and method in ("dry", "brine", "injected"):
        named = (title, cut, *(text for i in ingredients if i.role in BLOCK for text in (i.name, i.food)))
        if (bellied := next((name for name in named if says_belly(name or "")), None)) is not None:
            reader.wrong(("belly",), bellied, "belly = true", "recipe_belly")
    steps = _steps(reader, data, ingredients, method)
    cooking = _cooking(reader, data)
    pickle = reader.take(data, (), "pickle", dict, "[pickle]", {})
    pump = reader.amount(pickle, ("pickle",), "pump", "share", ("%",), "10 %", required=method == "injected")
    pick_up = reader.amount(pickle, ("pickle",), "pick_up", "share", ("%",), "10 %")
    reader.rest(pickle, ("pickle",), ("pump", "pick_up"))
    if pump is not None and not Fraction(2, 100) <= pump.value <= Fraction(40, 100):
        reader.wrong(("pickle", "pump"), pump.text, '"10 %"')
    if method in ("brine", "injected") and not any(i.role in ("water", "ice") and i.share != 0 for i in ingredients):
        reader.wrong(("ingredient",), "", 'role = "water"', "recipe_no_water")
    for key, words in (("title", title), ("summary", summary), ("author", author), ("cut", cut)):
        no_such_words(reader, (key,), words)
    reader.rest(data, (), _TOP)
    if reader.faults:
        return None, reader.faults
    return Recipe(
        recipe_id, revision, language, tidy(title), tidy(author), method, tuple(kinds), tidy(cut), state, targets,
        ingredients, meat.value, steps, summary=tidy(summary), belly=belly, pump=pump, pick_up=pick_up, species=species or "", day=day, changes=changes, **batch, **cooking,
    ), []


def says_belly(name: str) -> bool:
    """Whether a name is that of belly: the lower limits of bacon must not stay shut for it."""
    said = spoken(name)
    return any(not _NO_BELLY.search(said[: found.start()]) for found in _BELLY.finditer(said))


def lacks_bird(kinds: Collection[str], line: Ingredient) -> bool:
    """Whether a line names a bird and ``kinds`` have none: the shorter times of other meat must not open for it."""
    return "poultry" not in kinds and _names(_POULTRY, line)


def is_other_bird(species: str | None, line: Ingredient) -> bool:
    """Whether a line names a bird that is no chicken, as ``species`` says: the table of times for chicken alone must not open for it."""
    return species == "chicken" and _names(_OTHER_POULTRY, line)


def _names(birds: re.Pattern, line: Ingredient) -> bool:
    """Whether a line of any role names one of ``birds``: a garnish of livers is poultry as the meat is."""
    return bool(birds.search(_NO_BIRD.sub(" ", spoken(f"{line.name}; {line.food}; {line.animal}"))))


def _history(reader: Reader, data: dict) -> tuple[str, tuple[str, ...]]:
    """When this revision came out, and what is new in it."""
    day = reader.take(data, (), "day", str, '"2026-11-25"', "")
    if day and not _is_day(day):
        reader.wrong(("day",), day, '"2026-11-25"')
    changes = reader.take(data, (), "changes", list, '["what is new"]', [])
    if len(changes) > MOST_CHANGES or any(not isinstance(change, str) or not 0 < len(change) <= MOST_SIGNS for change in changes):
        reader.wrong(("changes",), changes, '["what is new"]')
        return day, ()
    for change in changes:
        no_such_words(reader, ("changes",), change)
    return day, tuple(map(tidy, changes))


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def no_bare_grams(reader: Reader, path: tuple, text: str) -> None:
    """A fault where a text names an amount of curing salt: it is handed on as it stands, to another pack."""
    bare = dose_in_words(text or "")
    if bare:
        reader.wrong(path, bare, "{curing_salt}", "recipe_bare_grams")


def no_such_words(reader: Reader, path: tuple, text: str) -> None:
    """Faults where a text names an amount of curing salt, or asks for a process that is not covered."""
    no_bare_grams(reader, path, text)
    if asked := not_covered(text or ""):
        reader.wrong(path, asked[1], say(f"process.{asked[0]}"), "recipe_process")


def no_other_figure(reader: Reader, path: tuple, text: str) -> None:
    """A fault where a figure or a multiplying word stands beside a place: "2{salt}" would show ten times its grams."""
    for place in WORD.finditer(text):
        before, behind = spoken(text[: place.start()]), spoken(text[place.end() :])
        if (near := _BEFORE_PLACE.search(before)) or _BEHIND_PLACE.match(behind):
            start = near.start() if near else max(0, len(before) - 20)
            reader.wrong(path, before[start:].lstrip() + place[0] + ("" if near else behind[:20].rstrip()), place[0], "recipe_beside_place")
            return


def _batch(reader: Reader, data: dict) -> dict:
    """The published batch: its meat, and what it gives."""
    path = ("batch",)
    table = reader.take(data, (), "batch", dict, "[batch]", {}, required=True)
    meat = reader.amount(table, path, "meat", "mass", MASS, "2.4 kg", required=True)
    portions = reader.take(table, path, "portions", int, "30")
    tins = _tins(reader, reader.take(table, path, "tins", list, '["box 30 x 10 x 8 cm"]', []))
    reader.rest(table, path, ("meat", "portions", "tins"))
    if portions is not None and not 1 <= portions <= MOST_PORTIONS:
        reader.wrong((*path, "portions"), portions, "30")
    if meat is not None and not 1 <= meat.value <= 1_000_000:
        reader.wrong((*path, "meat"), meat.text, '"2.4 kg"')
        meat = None
    return {"meat": meat, "portions": portions, "tins": tins}


def _tins(reader: Reader, given: list) -> tuple[str, ...]:
    path, found = ("batch", "tins"), []
    if len(given) > MOST_TINS:
        reader.wrong(path, len(given), say("expected.tins", most=str(MOST_TINS)))
    for read in given[:MOST_TINS]:
        try:
            found.append(read_tin(read).text if isinstance(read, str) else reader.wrong(path, read, '"box 30 x 10 x 8 cm"'))
        except Misread:
            reader.wrong(path, read, '"box 30 x 10 x 8 cm"')
        except Refused as error:
            reader.refuse(path, read, error)
    return tuple(text for text in found if text)


def _cooking(reader: Reader, data: dict) -> dict:
    """How it is cooked, in what, and what is left of it."""
    path = ("cooking",)
    table = reader.take(data, (), "cooking", dict, "[cooking]", {})
    raw = reader.take(table, path, "raw", bool, "true", False)
    core = reader.amount(table, path, "core", "temperature", ("°C", "°F"), "70 °C")
    hold = reader.amount(table, path, "hold", "time", ("min", "h"), "2 min")
    vessel = reader.choice(table, path, "vessel", VESSELS)
    left = reader.amount(table, path, "yield", "share", ("%",), "85-95 %", ranged=True)
    reader.rest(table, path, ("core", "hold", "raw", "vessel", "yield"))
    reader.within((*path, "core"), core, 50, 100, "70 °C")
    reader.within((*path, "yield"), left, Fraction(1, 2), Fraction(1), "85-95 %")
    return {"raw": raw, "core": core, "hold": hold, "vessel": vessel, "cooked_share": left}


def _targets(reader: Reader, data: dict) -> Targets:
    path = ("targets",)
    table = reader.take(data, (), "targets", dict, "[targets]", {}, required=True)
    nitrite = reader.amount(table, path, "nitrite", "share", RATIO, "104 mg/kg")
    nitrite_as = reader.choice(table, path, "nitrite_as", COMPOUNDS, "NaNO2", required=nitrite is not None)
    nitrite_per = reader.choice(table, path, "nitrite_per", BASES, "mix", required=nitrite is not None)
    salt = reader.amount(table, path, "salt", "share", PERCENT, "2.1 %", required=True)
    salt_per = reader.choice(table, path, "salt_per", BASES, required=True)
    reader.rest(table, path, ("nitrite", "nitrite_as", "nitrite_per", "salt", "salt_per"))
    if nitrite is not None and not 0 < nitrite.value <= Fraction(2000, 10**6):
        reader.wrong((*path, "nitrite"), nitrite.text, '"104 mg/kg"')
    if salt is not None and not 0 < salt.value <= Fraction(12, 100):
        reader.wrong((*path, "salt"), salt.text, '"2.1 %"')
    return Targets(nitrite, nitrite_as, nitrite_per, salt, salt_per)


def _steps(reader: Reader, data: dict, ingredients: tuple[Ingredient, ...], method: str) -> tuple[str, ...]:
    steps: list[str] = []
    words = {i.id for i in ingredients} | set(FIGURES)
    if method == "ground":
        words.discard("days")  # nothing spreads from outside in
    for index, table in enumerate(reader.take(data, (), "step", list, "[[step]]", [])):
        path = ("step", index)
        if not isinstance(table, dict):
            reader.wrong(path, table, "[[step]]")
            continue
        text = tidy(reader.take(table, path, "text", str, "text", "", required=True))
        for word in WORD.findall(text):
            if word not in words:
                reader.wrong((*path, "text"), "{" + word + "}", ", ".join(sorted(words)))
        no_such_words(reader, (*path, "text"), text)
        no_other_figure(reader, (*path, "text"), text)
        reader.rest(table, path, ("text",))
        steps.append(text)
    return tuple(steps)


def fill_step(text: str, figures: dict[str, str]) -> str:
    """A step's text with ``{ingredient}`` and ``{figure}`` put in; nothing else is read in it."""
    return WORD.sub(lambda found: figures.get(found[1], found[0]), text)
