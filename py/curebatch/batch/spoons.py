"""Spoons to grams and back.

A spoon holds a volume; what it weighs depends on what lies in it, how it lies
there, and where the spoon was bought. What a pinch or a heap holds nobody
knows, so it is not read. Cure, accelerator and phosphate are weighed, always.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from unicodedata import normalize

from ..intake.numbers import tidy
from ..intake.signs import spoken
from ..intake.units import read_amount
from .foods import find, name_key, near_names, read_rows
from .refusal import Refused

_US_TSP = Fraction(231 * 16387064, 768 * 10**6)  # a US gallon, 231 cubic inches, is 768 teaspoons
SPOONS = {
    "us": {"tsp": _US_TSP, "tbsp": 3 * _US_TSP, "cup": 48 * _US_TSP},
    "metric": {"tsp": Fraction(5), "tbsp": Fraction(15), "cup": Fraction(250)},
    "au": {"tsp": Fraction(5), "tbsp": Fraction(20), "cup": Fraction(250)},
}
"""Millilitres of each measure [ml], by where the spoon was bought: US 4.93, 14.79 and 236.6."""
MEASURES = ("tsp", "tbsp", "cup")

WEIGHED_ONLY = ("curing_salt", "accelerator", "phosphate")
# Names that mean one of these whatever the role says.
_WEIGHED_NAMES = re.compile(
    r"curing|\bcure\b|nitri|nitra|saltpet|salt ?pet|ascorb|erythorb|isoascorb|vitamin c\b|phosphat"
    r"|p(?:ö|oe)kel|salpeter|\bNPS\b|umr(?:ö|oe)t|r(?:ö|oe)temittel|kutterhilf|\bE[ -]?(?:249|25[0-2]|30[0-3]|31[56]|339|340|341|45[0-2])\b",
    re.IGNORECASE,
)
_LEAVENING = re.compile(r"baking (?:powder|soda)|leavening|backpulver|backtrieb|\bnatron\b", re.IGNORECASE)
# Words that stand for an amount which is nobody's; "rounded" and "heaped" differ by half and more.
_UNKNOWN_FILL = re.compile(
    r"heap|round(?:ed)?\b|pinch|dash|knob|scant|generous|pile|knife|good|big|little|bit\b|few|smidge"
    r"|häuf|\bgeh\.|voll|prise|messerspitz|\bmsp\b|schuss|schuß|handvoll|hauch|etwas|wenig|knapp|reichlich|großzügig|\bgut|\bgroß|\bklein|\bpaar\b|tasse",
    re.IGNORECASE,
)
LEVEL = r"\b(?:level(?:led)?|gestrichene?[mnrs]?|gestr\.) ?"
_LEVEL = re.compile(LEVEL, re.IGNORECASE)
# These are always metric: a US tablespoon has another name.
_METRIC = re.compile(r"(?<![a-zäöüß])(?:[TE]L|(?:Tee|Ess|Eß)löffel)(?![a-zäöüß])", re.IGNORECASE)
_IN_WORDS = (
    (re.compile(r"^(?:anderthalb|eineinhalb) ", re.IGNORECASE), "1 1/2 "),
    (re.compile(r"^(?:ein(?:en?)? )?halbe[nrs]? ", re.IGNORECASE), "1/2 "),
    (re.compile(r"^drei ?viertel ", re.IGNORECASE), "3/4 "),
    (re.compile(r"^(?:ein(?:en?)? )?viertel ", re.IGNORECASE), "1/4 "),
    (re.compile(r"^eine?[nr]? ", re.IGNORECASE), "1 "),
    (re.compile(r"^zwei ", re.IGNORECASE), "2 "),
    (re.compile(r"^drei ", re.IGNORECASE), "3 "),
    (re.compile(r"^(?:one|an?) and a half ", re.IGNORECASE), "1 1/2 "),
    (re.compile(r"^(?:a )?half (?:an? |of an? )?", re.IGNORECASE), "1/2 "),
    (re.compile(r"^three[ -]quarters? (?:of )?(?:an? )?", re.IGNORECASE), "3/4 "),
    (re.compile(r"^(?:a )?quarter (?:of )?(?:an? )?", re.IGNORECASE), "1/4 "),
    (re.compile(r"^(?:one|an?) ", re.IGNORECASE), "1 "),
    (re.compile(r"^two ", re.IGNORECASE), "2 "),
    (re.compile(r"^three ", re.IGNORECASE), "3 "),
)
_SALTS = ("Salt, table", "Salt, other than table salt")
# Names under which the trade sells things of very different weight: the kinds to choose from.
_VAGUE = {
    "salt": _SALTS,
    "sea salt": _SALTS,
    "salz": _SALTS,
    "meersalz": _SALTS,
    "grobes salz": _SALTS,
    "coarse salt": _SALTS,
    "flaked salt": _SALTS,
    "milk powder": ("01091", "01092"),
    "dried milk": ("01091", "01092"),
    "dry milk": ("01091", "01092"),
    "powdered milk": ("01091", "01092"),
    "baking powder": ("18369", "18370", "18371"),
    "milchpulver": ("01091", "01092"),
    "trockenmilch": ("01091", "01092"),
    "backpulver": ("18369", "18370", "18371"),
    "zucker": ("19335", "19336", "19334"),
    "pfeffer": ("02030", "02032", "02031"),
    "sojamehl": ("16118", "16117"),
    "sugar": ("19335", "19336", "19334"),
    "pepper": ("02030", "02032", "02031"),
    "soy flour": ("16118", "16117"),
}
_ALIASES = {
    "table salt": "Salt, table", "granulated sugar": "19335", "white sugar": "19335", "powdered sugar": "19336", "icing sugar": "19336",
    "brown sugar": "19334", "instant milk powder": "01092", "regular milk powder": "01091", "baking soda": "18372",
    "white pepper": "02032", "black pepper": "02030", "corn starch": "20027", "cornflour": "20027",
    "kochsalz": "Salt, table", "tafelsalz": "Salt, table", "weißer zucker": "19335", "puderzucker": "19336", "brauner zucker": "19334", "natron": "18372",
    "weißer pfeffer": "02032", "schwarzer pfeffer": "02030", "maisstärke": "20027",
}


class SpoonRefused(Refused):
    """An amount by the spoon that cannot be turned into grams, or must not be."""


@dataclass(frozen=True)
class Spoons:
    """A level amount by the spoon."""

    count: Fraction
    measure: str  # "tsp", "tbsp" or "cup"
    size: str = ""  # "metric" where its very name says so


@dataclass(frozen=True)
class Grams:
    """What an amount by the spoon weighs [g]: the middle, and the ends between which kitchens lie."""

    low: Fraction
    nominal: Fraction
    high: Fraction
    food: str
    form: str
    source: str  # "sr28" or "trade" (common practice, no source)

    @property
    def scatter(self) -> Fraction:
        """Half the span over the middle [1]."""
        return (self.high - self.low) / (2 * self.nominal) if self.nominal else Fraction(0)


@dataclass(frozen=True)
class _Row:
    ndb: str
    measure: str  # what was filled and weighed: "tsp", "tbsp" or "cup"
    form: str
    low: Fraction  # g per ml
    high: Fraction
    source: str


@lru_cache(maxsize=1)
def _rows() -> dict[str, tuple[_Row, ...]]:
    """Rows by the food's name in small letters, in grams per millilitre of the US spoon they were printed for."""
    found: dict[str, list[_Row]] = {}
    for row in read_rows("spoons.csv"):
        volume = Fraction(row["count"]) * SPOONS["us"][row["unit"]]
        entry = _Row(row["ndb"], row["unit"], row["form"], Fraction(row["low"]) / volume, Fraction(row["high"]) / volume, row["source"])
        found.setdefault(name_key(row["food"]), []).append(entry)
    return {name: tuple(rows) for name, rows in found.items()}


def weighed_only(name: str, role: str = "") -> bool:
    """Whether an ingredient is weighed only: a curing salt, an accelerator or a phosphate, by role or by name."""
    name = spoken(name)
    return role in WEIGHED_ONLY or bool(_WEIGHED_NAMES.search(name)) and not _LEAVENING.search(name)


def read_spoons(text: str) -> Spoons:
    """Read "2 tsp", "1/2 tbsp", "half a teaspoon", "1 1/2 cups", "2 level teaspoons"; "2 TL", "ein halber Esslöffel".

    text: what was typed. Returns Spoons.
    Raises SpoonRefused for a heap, a pinch and their like, and numbers.Misread for
    what is no number of spoons.
    """
    plain = _LEVEL.sub("", tidy(normalize("NFC", text)))
    if _UNKNOWN_FILL.search(plain):
        raise SpoonRefused("spoon_fill", read=text)
    for pattern, digits in _IN_WORDS:
        replaced = pattern.sub(digits, plain, count=1)
        if replaced != plain:
            plain = replaced
            break
    amount = read_amount(plain, "spoon", MEASURES)
    return Spoons(amount.value, amount.unit, "metric" if _METRIC.search(plain) else "")


def _row_name(food: str) -> str:
    key = name_key(food)
    key = name_key(_ALIASES.get(key, key))
    if key in _VAGUE:
        names = [find(kind).name if kind.isdigit() else kind for kind in _VAGUE[key]]
        raise SpoonRefused("spoon_kind", read=food, kinds="; ".join(names))
    if key in _rows():
        return key
    try:
        row = find(key)
    except Refused:
        near = tuple(name for name in near_names(food) if name_key(name) in _rows())
        raise SpoonRefused("spoon_unknown" if near else "spoon_unknown_alone", read=food, near="; ".join(near)) from None
    if name_key(row.name) not in _rows():
        raise SpoonRefused("spoon_not_measured", read=row.name)
    return name_key(row.name)


def forms(food: str) -> tuple[str, ...]:
    """The ways a food lies in a spoon that the table tells apart, such as "packed"; empty where it tells none."""
    return tuple(dict.fromkeys(row.form for row in _rows()[_row_name(food)] if row.form))


def _per_ml(food: str, form: str, measure: str) -> tuple[Fraction, Fraction, Fraction, str, str, str]:
    name = _row_name(food)
    rows = _rows()[name]
    known = tuple(dict.fromkeys(row.form for row in rows if row.form))
    plain = [row for row in rows if not row.form]
    if form and form not in known:
        raise SpoonRefused("spoon_form", read=form, food=food, forms=", ".join(known))
    if not form and len(known) > 1 and not plain:
        raise SpoonRefused("spoon_form", read=form, food=food, forms=", ".join(known))
    # With no form named, the ways it may lie there are the scatter; the plain row leads.
    chosen = [row for row in rows if row.form == form] if form else plain + [row for row in rows if row.form]
    # What was weighed by the same measure leads too: a printed cup is no 48 printed teaspoons.
    alike = [row for row in chosen if row.form == chosen[0].form]
    first = next((row for row in alike if row.measure == measure), alike[0])
    low, high = min(row.low for row in chosen), max(row.high for row in chosen)
    return low, (first.low + first.high) / 2, high, find(name).name if first.ndb else food, form, first.source


def to_grams(spoons: Spoons, food: str, *, size: str, role: str = "", form: str = "") -> Grams:
    """What a level amount by the spoon weighs.

    spoons: as read; food: a row of the table or a common name of one; size: "us",
    "metric" or "au", where the spoon was bought; role: the ingredient's; form: one of
    ``forms`` where the food has them.
    Returns Grams. Raises SpoonRefused: weighed only, other spoons than it names, kind or form needed, not in the
    table; KeyError for another size.
    Source: USDA SR28, whose spoons are the US ones.
    """
    if weighed_only(food, role):
        raise SpoonRefused("spoon_weighed_only", read=food)
    low, middle, high, name, form, source = _per_ml(food, form, spoons.measure)
    if spoons.size not in ("", size):
        raise SpoonRefused("spoon_size", read=food)
    volume = spoons.count * SPOONS[size][spoons.measure]
    return Grams(low * volume, middle * volume, high * volume, name, form, source)


@dataclass(frozen=True)
class Measured:
    """Grams as level spoons: the nearest quarter, and by how much it misses [share of the grams]."""

    spoons: Spoons
    grams: Grams
    off: Fraction


_QUARTER = Fraction(1, 4)


def to_spoons(grams: Fraction, food: str, *, size: str, role: str = "", form: str = "", measures: Iterable[str] = ("tsp", "tbsp")) -> Measured:
    """Grams as the nearest quarter of a level spoon, by the measure that misses least.

    grams: mass [g, above 0]; the rest as for ``to_grams``; measures: those that may be used.
    Raises SpoonRefused as ``to_grams`` does, and for less than an eighth of a teaspoon.
    """
    if weighed_only(food, role):
        raise SpoonRefused("spoon_weighed_only", read=food)
    best: Measured | None = None
    for measure in measures:
        _, middle, _, _, _, _ = _per_ml(food, form, measure)
        count = Fraction(round(grams / middle / SPOONS[size][measure] / _QUARTER)) * _QUARTER
        if not count:
            continue
        weight = to_grams(Spoons(count, measure), food, size=size, role=role, form=form)
        found = Measured(Spoons(count, measure), weight, (weight.nominal - grams) / grams)
        # Of two that miss alike, the one with fewer spoons to count.
        if best is None or abs(found.off) < abs(best.off) or (abs(found.off) == abs(best.off) and count < best.spoons.count):
            best = found
    if best is None:
        raise SpoonRefused("spoon_too_little", read=food)
    return best
