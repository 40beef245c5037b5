"""Phosphates and accelerators: what is in them, and the limits they answer to.

Shares follow from the formulas and the standard atomic masses (IUPAC, abridged:
H 1.008, C 12.011, O 15.999, Na 22.990, Al 26.982, P 30.974, K 39.098, Ca 40.078).
All fractions: these are doses.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from ..data import table
from ..intake.signs import spoken
from .refusal import Refused

_MASS = {
    "H": Fraction("1.008"), "C": Fraction("12.011"), "O": Fraction("15.999"), "Na": Fraction("22.990"), "Al": Fraction("26.982"),
    "P": Fraction("30.974"), "K": Fraction("39.098"), "Ca": Fraction("40.078"),
}


def molar_mass(formula: str) -> Fraction:
    """Grams per mole of a plain formula without brackets, such as "Na5P3O10" [g/mol]."""
    return sum((_MASS[atom] * int(count or 1) for atom, count in re.findall(r"([A-Z][a-z]?)(\d*)", formula)), Fraction(0))


P2O5 = molar_mass("P2O5")


@dataclass(frozen=True)
class Phosphate:
    """A pure phosphate. ``binds``: whether it helps a batter hold water, "yes", "little" or "no"."""

    id: str
    formula: str
    binds: str

    @property
    def p2o5(self) -> Fraction:
        """Its share of P2O5 [1]."""
        atoms = sum(int(count or 1) for count in re.findall(r"P(\d*)", self.formula))
        return atoms * P2O5 / 2 / molar_mass(self.formula)

    @property
    def sodium(self) -> Fraction:
        """Its share of sodium [1]."""
        atoms = sum(int(count or 1) for count in re.findall(r"Na(\d*)", self.formula))
        return atoms * _MASS["Na"] / molar_mass(self.formula)


# That condensed phosphates bind and calcium and aluminium ones do not: common practice, no source.
PHOSPHATES = {
    phosphate.id: phosphate
    for phosphate in (
        Phosphate("STPP", "Na5P3O10", "yes"), Phosphate("TSPP", "Na4P2O7", "yes"), Phosphate("SAPP", "Na2H2P2O7", "yes"),
        Phosphate("SHMP", "NaPO3", "yes"), Phosphate("KTPP", "K5P3O10", "yes"), Phosphate("TKPP", "K4P2O7", "yes"),
        Phosphate("MSP", "NaH2PO4", "little"), Phosphate("DSP", "Na2HPO4", "little"), Phosphate("TSP", "Na3PO4", "little"),
        Phosphate("DKP", "K2HPO4", "little"), Phosphate("MCP", "CaH4P2O8", "no"), Phosphate("MCPM", "CaH6P2O9", "no"),
        Phosphate("DCP", "CaHPO4", "no"), Phosphate("SALP", "NaAl3P8O40H22", "no"),
    )
}
"""Salts by their usual letters: tri-, pyro- and hexametaphosphates, orthophosphates, calcium and aluminium ones."""

RICHEST = Fraction(75, 100)
"""No phosphate of a kitchen holds more P2O5 than this [1]; sodium hexametaphosphate comes to 69.6 %."""


def blend_p2o5(shares: Mapping[str, Fraction]) -> Fraction:
    """P2O5 share of a blend [1].

    shares: share [0 to 1] of each pure salt, by its letters; what is left to one is
    taken for no phosphate.
    Raises Refused for unknown letters, and for shares over one in all.
    """
    for name, share in shares.items():
        if name not in PHOSPHATES:
            raise Refused("phosphate_unknown", read=name, known=", ".join(PHOSPHATES))
        if share < 0:
            raise Refused("phosphate_blend", read=str(share))
    if sum(shares.values()) > 1:
        raise Refused("phosphate_blend", read=str(sum(shares.values())))
    return sum((share * PHOSPHATES[name].p2o5 for name, share in shares.items()), Fraction(0))


@dataclass(frozen=True)
class Dose:
    """A phosphate, or a powder that holds some, as weighed in."""

    grams: Fraction
    p2o5: Fraction  # share of it
    salts: Fraction = Fraction(1)  # share of it that is phosphate salt

    @classmethod
    def pure(cls, grams: Fraction, name: str) -> Dose:
        """Of one pure salt, by its letters. Raises Refused for unknown ones."""
        return cls(grams, blend_p2o5({name: Fraction(1)}))

    @classmethod
    def blended(cls, grams: Fraction, shares: Mapping[str, Fraction]) -> Dose:
        """Of a blend, as for ``blend_p2o5``."""
        return cls(grams, blend_p2o5(shares), sum(shares.values(), Fraction(0)))


@dataclass(frozen=True)
class Leavening:
    """A leavening powder as its pack's list of ingredients describes it.

    ``phosphates``: letters of those it may hold, most binding first; ``binds``:
    "yes", "no" or "unknown"; ``p2o5_most``: the most P2O5 that the powder can carry,
    a share of it; ``raises_ph``: soda and no acid beside it.
    """

    phosphates: tuple[str, ...]
    binds: str
    soda: bool
    raises_ph: bool
    p2o5_most: Fraction

    def dose(self, grams: Fraction) -> Dose:
        """The worst that ``grams`` [g] of it can be, for the limits."""
        return Dose(grams, self.p2o5_most, Fraction(1 if self.p2o5_most else 0))


_LEAVENING_WORDS = (
    ("SAPP", r"di ?phosph|pyro ?phosph|\bSAPP\b|\bE ?-?450\b"),
    ("SALP", r"alumini?um ?(?:acid )?phosph|phosph\w* (?:of )?alumini?um|\bE ?-?541\b|\bSALP\b"),
    ("MCP", r"[ck]al[cz]ium ?(?:acid ?|di ?hydrogen ?|hydrogen ?|ortho ?)*phosph|mono ?[ck]al[cz]ium|orthophosph|straight phosph|\bE ?-?341\b|\bMCP\b"),
    ("STPP", r"tri ?(?:poly)?phosph|\bE ?-?451\b"),
    ("SHMP", r"(?<!tri)(?<!tri )poly ?phosph|metaphosph|\bE ?-?452\b"),
)
_SODA = re.compile(r"baking soda|bi ?[ck]arb|hydrogen ?[ck]arbonat|\bE ?-?50[01]\b|\b(?:speise)?soda\b|natron|(?:sodium |natrium ?)[ck]arbonat|ammonium ?[ck]arb|hirschhornsalz|\bE ?-?503\b", re.IGNORECASE)
_OTHER_ACIDS = re.compile(r"tart|citric|[zc]itrat|weinstein|säure|säuerung|saure|alaun|\bE ?-?33[0-7]\b|alum\b|alumini?um sul|\bE ?-?52[0-3]\b|glucono|\bE ?-?575\b|\bacid\b", re.IGNORECASE)


def read_leavening(ingredients: str) -> Leavening:
    """What a leavening powder holds, from the list of ingredients on its pack; its name tells nothing.

    ingredients: the list as printed, words or E numbers.
    Of the phosphates only the acid pyrophosphate (diphosphate, E 450) and its chains
    help a batter bind. For the limits the whole powder is taken as that, the richest
    that such a powder holds; soda alone holds none and raises the pH.
    Raises Refused where neither a phosphate nor soda nor another acid is named.
    """
    ingredients = spoken(ingredients)
    # "Calcium diphosphate" is a diphosphate, and no calcium orthophosphate.
    held = tuple(name for name, pattern in _LEAVENING_WORDS if re.search(pattern, ingredients, re.IGNORECASE))
    soda = bool(_SODA.search(ingredients))
    other = bool(_OTHER_ACIDS.search(ingredients))
    if not held and not soda and not other:
        raise Refused("leavening_unread" if "phosph" not in ingredients.lower() else "leavening_which", read=ingredients)
    unnamed = not held and re.search(r"phosph", ingredients, re.IGNORECASE)
    binds = "unknown" if unnamed else "yes" if any(PHOSPHATES[name].binds == "yes" for name in held) else "no"
    most = max([PHOSPHATES["SAPP"].p2o5, *(PHOSPHATES[name].p2o5 for name in held)]) if held or unnamed else Fraction(0)
    return Leavening(held, binds, soda, soda and not held and not other and not unnamed, most)


_PHOSPHATE_NAMES = (
    ("STPP", r"(?:sodium|na(?:trium)?).*tri ?(?:poly)?phosph|\bSTPP\b|\bE ?-?451\(?i\)?(?!i)"),
    ("KTPP", r"(?:potassium|kalium).*tri ?(?:poly)?phosph|\bKTPP\b|\bE ?-?451\(?ii\)?"),
    ("SAPP", r"acid pyro|saures (?:di)?natrium ?(?:di|pyro)|(?:disodium|dinatrium) ?(?:di|pyro) ?phosph|disodium dihydrogen|dinatrium ?dihydrogen|\bSAPP\b|\bE ?-?450\(?i\)?(?![iv])"),
    ("TSPP", r"tetra ?(?:sodium|natrium) ?(?:di|pyro) ?phosph|sodium pyrophosph|(?<!di)(?<!saures )natrium ?pyrophosph|\bTSPP\b|\bE ?-?450\(?iii\)?"),
    ("TKPP", r"tetra ?(?:potassium|kalium) ?(?:di|pyro) ?phosph|\bTKPP\b|\bE ?-?450\(?v\)?(?!i)"),
    ("SHMP", r"hexameta|(?:sodium |natrium ?)polyphosph|\bSHMP\b|\bE ?-?452\(?i\)?(?!i)"),
    ("DSP", r"(?:disodium|dinatrium) ?(?:hydrogen ?|ortho ?)*phosph|\bDSP\b|\bE ?-?339\(?ii\)?(?!i)"),
    ("MSP", r"mono ?sodium phosph|sodium dihydrogen phosph|mononatrium ?phosph|(?<!di)natrium ?dihydrogen ?phosph|\bMSP\b|\bE ?-?339\(?i\)?(?!i)"),
    ("TSP", r"tri ?(?:sodium|natrium) ?(?:ortho ?)?phosph|\bTSP\b|\bE ?-?339\(?iii\)?"),
    ("DKP", r"di ?(?:potassium|kalium) ?(?:hydrogen ?|ortho ?)*phosph|\bDKP\b|\bE ?-?340\(?ii\)?(?!i)"),
)


def phosphate_named(name: str) -> str | None:
    """The letters of the one pure phosphate that an ingredient's name means, or None for a blend or a bare "phosphate"."""
    said = spoken(name)
    found = [letters for letters, pattern in _PHOSPHATE_NAMES if re.search(pattern, said, re.IGNORECASE)]
    return found[0] if len(found) == 1 else None


# ------------------------------------------------------------------ accelerators

_ACID = molar_mass("C6H8O6")
ACCELERATORS = {
    "ascorbic_acid": _ACID,
    "erythorbic_acid": _ACID,
    "sodium_ascorbate": molar_mass("C6H7NaO6"),
    "sodium_erythorbate": molar_mass("C6H7NaO6"),
    "sodium_erythorbate_monohydrate": molar_mass("C6H9NaO7"),
}
"""Grams per mole [g/mol]; the sodium erythorbate of the trade is the anhydrous salt or the monohydrate."""
ACIDS = ("ascorbic_acid", "erythorbic_acid")


def accelerator_sodium(name: str) -> Fraction:
    """Share of an accelerator that is sodium [1]. Raises KeyError for an unknown one."""
    return Fraction(0) if name in ACIDS else _MASS["Na"] / ACCELERATORS[name]


def accelerator_as(grams: Fraction, name: str, wanted: str) -> Fraction:
    """An accelerator counted as another with the same effect: 550 mg of sodium erythorbate are 489 mg of the acid.

    grams: mass [any unit]; name, wanted: keys of ACCELERATORS. Raises KeyError for others.
    """
    return grams * ACCELERATORS[wanted] / ACCELERATORS[name]


def accelerator_named(name: str) -> str | None:
    """The accelerator that an ingredient's name means, or None; a bare "ascorbate" is the sodium salt."""
    text = spoken(name).lower()
    if "säure" in text and re.search("natrium|salz", text):
        return None  # the acid or its salt: half of either name
    text = text.replace("säure", " acid").replace("saeure", " acid")
    if re.search(r"isoascorb|erythorb|\be ?31[56]\b", text):
        if "acid" in text or re.search(r"\be ?315\b", text):
            return "erythorbic_acid"
        return "sodium_erythorbate_monohydrate" if "monohydrat" in text else "sodium_erythorbate"
    if re.search(r"ascorb|vitamin c\b|\be ?30[01]\b", text):
        return "ascorbic_acid" if re.search(r"acid|vitamin c\b|\be ?300\b", text) else "sodium_ascorbate"
    return None


# ------------------------------------------------------------------ limits


@dataclass(frozen=True)
class AdditiveLimit:
    """One record. ``value`` in mg/kg, counted as ``counted_as``, of the base ``per``."""

    id: str
    regions: tuple[str, ...]
    substance: str
    role: str
    value: Fraction
    counted_as: str
    per: str
    document: str
    clause: str
    date_read: str
    sure: str


@lru_cache(maxsize=1)
def _tables() -> dict:
    return table("additives")


@lru_cache(maxsize=1)
def all_limits() -> tuple[AdditiveLimit, ...]:
    """Every record, in the order of the file."""
    return tuple(AdditiveLimit(**{**row, "regions": tuple(row["regions"]), "value": Fraction(row["value"])}) for row in _tables()["limit"])


def applicable(region: str, substances: Iterable[str], role: str = "limit") -> tuple[AdditiveLimit, ...]:
    """The records that a batch must answer to.

    region: of the table of fields, "strictest" for every record that was read;
    substances: those in the batch, as the records name them; role: "limit" or "required".
    A record from memory never alone lets a batch pass: where the region has none
    that was read, every one that was read stands beside it.
    """
    wanted = tuple(substances)
    rows = [limit for limit in all_limits() if limit.role == role and limit.substance in wanted]
    read = [limit for limit in rows if limit.sure != "memory"]
    if region == "strictest":
        return tuple(read)
    own = [limit for limit in rows if region in limit.regions]
    if role == "limit" and not any(limit.sure == "read" for limit in own):
        own += [limit for limit in read if limit not in own]
    return tuple(own)


@dataclass(frozen=True)
class Judged:
    """A limit, and what the batch has against it, counted and based alike [mg/kg]."""

    limit: AdditiveLimit
    found: Fraction
    within: bool


@dataclass(frozen=True)
class Bases:
    """What a share may be of: green weight, everything that goes in, and the least that is left when cooked [g, above 0]."""

    meat: Fraction
    mix: Fraction
    sold: Fraction

    def of(self, per: str) -> Fraction:
        """The base named "meat", "mix" or "sold"."""
        return {"meat": self.meat, "mix": self.mix, "sold": self.sold}[per]


def judge_phosphates(doses: Iterable[Dose], bases: Bases, region: str) -> tuple[Judged, ...]:
    """The added phosphate against the limits of a region.

    doses: every phosphate and phosphate-bearing powder at its high end; bases: of the
    batch; region: of the table of fields. The meat's own phosphate is not counted.
    Returns one Judged per record, or () where there is no phosphate.
    """
    all_doses = tuple(doses)
    p2o5 = sum((dose.grams * dose.p2o5 for dose in all_doses), Fraction(0))
    if not p2o5:
        return ()
    counted = {"P2O5": p2o5, "salt": sum((dose.grams * dose.salts for dose in all_doses), Fraction(0)), "Na2HPO4": p2o5 / PHOSPHATES["DSP"].p2o5}
    return _judged(applicable(region, ("phosphate",)), counted, bases)


def _judged(limits: Iterable[AdditiveLimit], counted: Mapping[str, Fraction], bases: Bases) -> tuple[Judged, ...]:
    rows = []
    for limit in limits:
        found = counted[limit.counted_as] / bases.of(limit.per) * 10**6
        rows.append(Judged(limit, found, found <= limit.value if limit.role == "limit" else found >= limit.value))
    return tuple(rows)


def judge_accelerators(doses: Mapping[str, Fraction], bases: Bases, region: str, *, pumped_bacon: bool = False) -> tuple[Judged, ...]:
    """The accelerators against the limits of a region.

    doses: grams at the high end, by keys of ACCELERATORS; bases: of the batch; region:
    of the table of fields; pumped_bacon: whether the US rule that asks for 550 ppm with
    pumped bacon is judged as well.
    Several are put together, each counted as the limit counts. Returns one Judged per record.
    """
    held = {name: grams for name, grams in doses.items() if grams}
    acid = sum((accelerator_as(grams, name, "erythorbic_acid") for name, grams in held.items()), Fraction(0))
    salt = accelerator_as(acid, "erythorbic_acid", "sodium_erythorbate")
    erythorbate = sum((accelerator_as(grams, name, "erythorbic_acid") for name, grams in held.items() if "erythorb" in name), Fraction(0))
    # Where acid and salt are both there, all of it answers to the figure of each.
    there = (("erythorbate", bool(erythorbate)), ("any_acid", any(n in ACIDS for n in held)), ("any_salt", any(n not in ACIDS for n in held)))
    rows: list[Judged] = []
    for limit in applicable(region, (name for name, is_there in there if is_there)):
        if pumped_bacon and limit.substance != "erythorbate":
            continue  # the rule for bacon asks for a little more than the general one allows
        counted = {"acid": erythorbate if limit.substance == "erythorbate" else acid, "sodium_salt": salt}
        rows += _judged((limit,), counted, bases)
    if pumped_bacon:
        rows += _judged(applicable(region, ("any_salt",), "required"), {"acid": acid, "sodium_salt": salt}, bases)
    return tuple(rows)


@dataclass(frozen=True)
class Hold:
    """Whether an accelerator spares the hold before cooking: as sodium salt, against what it takes [mg/kg of meat]."""

    spared: bool
    found: Fraction
    least: Fraction
    source: str
    sure: str


def hold_needed(doses: Mapping[str, Fraction], meat: Fraction) -> Hold:
    """Whether the accelerators at their low end spare the hold in the cold.

    doses: grams at the low end, by keys of ACCELERATORS; meat: green weight at its
    high end [g, above 0]. From memory: textbook practice with 500-550 mg/kg.
    """
    row = _tables()["no_hold"]
    salt = sum((accelerator_as(grams, name, "sodium_erythorbate") for name, grams in doses.items()), Fraction(0))
    found, least = salt / meat * 10**6, Fraction(row["value"])
    return Hold(found >= least, found, least, row["source"], row["sure"])


def acid_with_nitrite(doses: Mapping[str, Fraction], cured: bool) -> bool:
    """Whether a free acid stands beside a curing salt: they must not be mixed beforehand (FAO meat processing manual)."""
    return cured and any(grams for name, grams in doses.items() if name in ACIDS)
