"""How warm the batter gets in the chopper, and what ice and cold meat do about it.

A forecast, and a matter of a good loaf and not of a safe one: it has a verdict of its
own, on which that of the card does not hang.
"""

from __future__ import annotations

from dataclasses import replace

from ..batch.composition import compose, part, shares_for_heat
from ..batch.cure import Batch, Line
from ..intake.document import Document
from ..intake.heat import Places
from ..intake.recipe import Ingredient
from ..intake.units import Amount
from ..science import mixing as science
from ..science.findings import Finding, Spread, verdict
from ..science.mixing import Balance, Chopper, Part
from ..science.thermal_properties import DRY, SALT, WATER, Composition, OutOfRange, temperature_when_frozen
from ..words import say
from . import told

_TABLE = science.table("mixing")
_ASSUMED, _MADE_OF, _SPREAD = _TABLE["assumed"], _TABLE["made_of"], _TABLE["chopper"]["spread"]
# Folded in at the end: the chopper never warms it.
_NOT_CHOPPED = ("garnish",)
_KEYS = {"meat": "meat_temperature", "fat": "fat_temperature", "water": "water_temperature", "ice": "ice_temperature", "dry": "dry_temperature"}


def tell(document: Document, batch: Batch) -> dict:
    """The mixing of a batch as data with ready texts.

    document; batch: as far as it can be weighed. Of a method that chops nothing it says just that.
    """
    recipe = document.recipe
    if recipe.method != "ground" or not batch.meat_grams:
        return {"applies": False, "verdict": "ok", "text": say("mixing.not_here"), "rows": [], "messages": [], "picture": None}
    both = told.in_fahrenheit(document)
    try:
        return _Mix(document, batch).tell(both)
    except (OutOfRange, science.WrongParts):
        said = told.row(Finding("mix_beyond", "caution"), both)
        return {"applies": True, "verdict": "caution", "text": "", "rows": [], "messages": [said], "picture": None}


class _Mix:
    def __init__(self, document: Document, batch: Batch):
        self.document, self.batch = document, batch
        self.kinds = document.kinds
        self.taken: dict[str, tuple[str, float]] = {}  # what stands in for a temperature that nobody stated
        self.unknown: list[str] = []  # lines whose make-up is taken
        self.error = told.probe_error(document)
        self.parts = self._parts()
        self.work = self._work()

    # ------------------------------------------------------------ what goes in

    def _parts(self) -> tuple[Part, ...]:
        by_id = {line.id: line for line in self.document.recipe.ingredients}
        parts = [self._part(line, by_id[line.id]) for line in self.batch.lines if line.grams and line.role not in _NOT_CHOPPED and line.id in by_id]
        salt = self.batch.salt.weighed if self.batch.salt.grams else 0
        salt += self.batch.cure.weighed if self.batch.cure is not None else 0
        if not salt:
            # Before a pack is known: what the recipe wants in all.
            targets = self.document.recipe.targets
            base = self.batch.meat_grams if targets.salt_per == "meat" else self.batch.mix_grams
            salt = targets.salt.value * base
        parts.append(Part(say("card.plain_salt"), "salt", float(salt) / 1000, self._temperature("dry", SALT), SALT))
        return tuple(parts)

    def _part(self, line: Line, ingredient: Ingredient) -> Part:
        what = self._made_of(line, ingredient)
        role = line.role if line.role in _KEYS else "dry"
        return Part(line.name, line.role, float(line.weighed or line.grams) / 1000, self._temperature(role, what), what)

    def _made_of(self, line: Line, ingredient: Ingredient) -> Composition:
        if line.role in ("water", "ice"):
            return WATER
        row = ingredient.row
        if row is not None:
            try:
                return Composition.scaled(**shares_for_heat(compose([part(line.name, line.role, 100.0, food=row, salt=float(ingredient.salt))])))
            except OutOfRange:
                pass  # a row that does not add up: as if there were none
        if line.role in ("meat", "fat"):
            self.unknown.append(line.name)
            return Composition.scaled(**_MADE_OF[line.role])
        return DRY

    def _stated(self, key: str) -> float | None:
        value = self.document.values.get(key)
        return float(value.value) if isinstance(value, Amount) else None

    def _temperature(self, role: str, what: Composition) -> float:
        """As stated, or as frozen as stated, or what is taken in its place."""
        stated = self._stated(_KEYS[role])
        if role in ("meat", "fat"):
            if stated is None and role == "fat":
                stated = self._stated(_KEYS["meat"])
            share = self._stated("frozen")
            if stated is None and share is not None:
                return temperature_when_frozen(what, share)
        if stated is not None:
            return stated
        group = "meat" if role == "fat" else role
        self.taken[group] = (say("mixing.dry" if group == "dry" else f"place.{group}"), _ASSUMED[group])
        return _ASSUMED[group]

    def _work(self) -> Spread | None:
        """The chopper's work [kJ/kg]: its own as stated, else by the minutes, else None for any chopper."""
        own = self.document.values.get("chopper")
        if isinstance(own, Amount):
            low, high = float(own.low), float(own.high)
            if not own.is_range:
                low, high = low * (1 - _SPREAD), high * (1 + _SPREAD)
            return Spread(*(min(value, science.MOST_WORK) for value in (low, (low + high) / 2, high)))
        minutes = self._stated("chop")
        return None if minutes is None else Spread(*(min(rate * minutes, science.MOST_WORK) for rate in science.RATE))

    # ------------------------------------------------------------ what it says

    def tell(self, both: bool) -> dict:
        balance = science.balance(self.parts, self.work)
        judged = science.judge_balance(balance, self.kinds)
        measured = self.document.values.get("batter")
        read = science.judge_measured(measured.values, self.kinds) if isinstance(measured, Places) else None
        left = chopper = None
        advised: tuple[Finding, ...] = ()
        findings: list[Finding] = []
        if read is not None:
            # What was measured counts; the forecast steps back.
            findings += [*read.findings, *(replace(one, severity="note") for one in judged.findings if one.code == "mix_ice_left")]
            warmest = max(measured.values)
            if warmest < judged.limit:
                left = science.minutes_left(self.parts, warmest, judged.limit, self._rate())
            chopper, said = self._chopper(warmest)
            findings += said
        else:
            advised = science.advise(self.parts, self.kinds, self.work, self._added("water"), self._added("ice"))
            findings += [*judged.findings, *advised]
        return {
            "applies": True, "verdict": verdict(tuple(findings)), "text": "", "measured": read is not None, "limit": judged.limit,
            "end": _spread(balance.end), "ice_left_kg": _spread(balance.ice_left), "work_kj_per_kg": _spread(balance.work), "ice_share": _advised(advised, "mix_ice_", "share", "most"),
            "meat_start": _advised(advised, "mix_meat_", "meat", "sure"), "minutes_left": _spread(left) if left else None, "chopper_kj_per_kg": _spread(chopper.work) if chopper else None,
            "rows": self._rows(balance, judged.limit, left, chopper, findings, both), "messages": [told.row(one, both) for one in findings],
            "picture": {"parts": [[name, round(heat, 1)] for name, heat in _by_weight(balance)], "work": round(balance.work.nominal * balance.mass, 1), "end": round(balance.end.nominal, 3), "limit": judged.limit},
        }

    def _rate(self) -> Spread | None:
        minutes = self._stated("chop")
        if self.document.values.get("chopper") is None or not minutes or self.work is None:
            return None
        return Spread(*(value / minutes for value in self.work))

    def _chopper(self, warmest: float) -> tuple[Chopper | None, list[Finding]]:
        """The chopper's own heat, where it is known how cold the meat went in."""
        if "meat" in self.taken:
            return None, [Finding("batter_unknown_start", "note", "meat_temperature")]
        try:
            return science.chopper_heat(self.parts, warmest, self._stated("chop"), self.error), []
        except OutOfRange:
            return None, [Finding("chopper_colder", "note", "batter")]

    def _added(self, role: str) -> float:
        """What water or ice has, whether or not the recipe has any as yet [degC]."""
        stated = self._stated(_KEYS[role])
        return _ASSUMED[role] if stated is None else stated

    def _rows(self, balance: Balance, limit: float, left: Spread | None, chopper: Chopper | None, findings: list[Finding], both: bool) -> list[dict]:
        rows = []
        measured = "batter" in self.document.values

        def add(name: str, text: str) -> None:
            rows.append({"label": say(f"mixing.{name}"), "text": text})

        end = balance.end
        if measured:
            # Beforehand the messages say it.
            add("end", say("mixing.end_text", low=told.degrees(end.low, both=both), nominal=told.degrees(end.nominal, both=both), high=told.degrees(end.high, "up", both)))
            add("limit", say("mixing.limit_text", limit=told.degrees(limit, "down", both)))
        if balance.ice_left.high > 0.001 * balance.mass and not any(one.code == "mix_ice_left" for one in findings):
            add("ice_left", say("mixing.ice_left_text", nominal=_kilos(balance.ice_left.nominal), high=_kilos(balance.ice_left.high)))
        words = {case: f"{told.digits(getattr(balance.work, case), 0)} kJ/kg" for case in ("low", "nominal", "high")}
        add("work", say("mixing.work_guessed" if self.work is None else "mixing.work_text", **words))
        if left is not None:
            add("minutes", say("mixing.minutes_text", nominal=told.duration(left.nominal, "down"), low=told.duration(left.low, "down")))
        if chopper is not None:
            add("chopper", say("mixing.chopper_text", low=told.digits(chopper.work.low, 0, "down"), high=told.digits(chopper.work.high, 0, "up")))
        if self.taken:
            add("taken", "; ".join(say("mixing.taken_text", name=name, temperature=told.degrees(value, both=both)) for name, value in self.taken.values()))
        if self.unknown:
            rows.append({"label": "", "text": say("mixing.assumed", names=", ".join(dict.fromkeys(self.unknown)))})
        if any(line.role in _NOT_CHOPPED and line.grams for line in self.batch.lines):
            rows.append({"label": "", "text": say("mixing.garnish")})
        return rows


def _kilos(value: float) -> str:
    return told.figure(told.Figure(value, "kg"))


def _spread(value: Spread) -> dict:
    return {"low": round(value.low, 3), "nominal": round(value.nominal, 3), "high": round(value.high, 3)}


def _advised(found: tuple[Finding, ...], code: str, nominal: str, sure: str) -> dict | None:
    """The figures of a piece of advice: what will do, and what will do for sure; None where there is none."""
    figures = next((one.figures for one in found if one.code.startswith(code) and nominal in one.figures), None)
    return figures and {"nominal": round(figures[nominal].value, 3), "sure": round(figures[sure].value, 3)}


_MOST_BARS = 6
_LEAST_BAR = 0.02  # of the longest


def _by_weight(balance: Balance) -> list[tuple[str, float]]:
    """The parts that bring or take most heat, for the drawing; what is too little to be seen is left out."""
    rows = sorted(balance.heats, key=lambda one: -abs(one[1]))[:_MOST_BARS]
    return [one for one in rows if abs(one[1]) >= _LEAST_BAR * abs(rows[0][1])]
