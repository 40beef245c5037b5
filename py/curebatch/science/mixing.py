"""Heat in the chopper: how warm the batter ends, and what ice and cold meat do about it.

An enthalpy balance: everything that goes in brings its heat, the chopper adds its
work, and the batter has the temperature at which its own heat content is the sum.
Salt and the meat's own solutes lower the melting point, so a salty batter with ice
left in it is colder than 0 degC. Fat that melts takes up heat beyond its specific
heat: an allowance with its spread. The heat that salt takes to dissolve and what the
room gives or takes are left out.

Masses in kg, temperatures in degC, work in kJ/kg of batter, times in minutes.
A Spread goes from the coldest case (least work, most fat melting) to the warmest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from ..data import table
from . import thermal_properties as props
from .findings import Figure, Finding, Spread, verdict
from .readings import WrongReading, wrong_place
from .thermal_properties import Composition, OutOfRange, within

_TABLE = table("mixing")
WORK = Spread(*(_TABLE["work"][case] for case in ("low", "nominal", "high")))  # kJ/kg
RATE = Spread(*(_TABLE["rate"][case] for case in ("low", "nominal", "high")))  # kJ/kg and min
FAT_MELTING = Spread(*(_TABLE["fat_melting"][case] for case in ("low", "nominal", "high")))  # kJ/(kg K)
_MELTS_FROM, _MELTS_TO = _TABLE["fat_melting"]["from"], _TABLE["fat_melting"]["to"]
_COLDEST_MEAT = _TABLE["colder_than"]["meat"]
_KEPT_AT = _TABLE["kept_at"]["meat"]
_WARMEST = 60.0  # degC; no batter comes near it
MOST_WORK = 400.0  # kJ/kg; beyond any chopper
MOST_SALT = 0.25  # kg per kg of water; the straight line for its melting point goes no further (estimate of this project)


@dataclass(frozen=True)
class Part:
    """One thing that goes in. role: of the recipe's lines ("meat", "fat", "water", "ice", ... or
    "salt"); mass [kg, 0 or more]; temperature [degC]. Ice is clean ice, whatever its composition;
    meat and fat below their melting point are as frozen as that temperature has them."""

    name: str
    role: str
    mass: float
    temperature: float
    composition: Composition

    @property
    def place(self) -> str:
        """Which bounds its temperature has."""
        return {"meat": "meat", "fat": "meat", "ice": "ice", "water": "water"}.get(self.role, "dry")


@dataclass(frozen=True)
class WrongPart:
    """What cannot be right about one part. ``wrong.code`` is of wrong_place, or "part_mass"."""

    name: str
    wrong: WrongReading


class WrongParts(ValueError):
    """All that is wrong with the parts, together."""

    def __init__(self, wrong: tuple[WrongPart, ...]):
        super().__init__(", ".join(f"{part.name}: {part.wrong.code} ({part.wrong.read:g})" for part in wrong))
        self.wrong = wrong


@dataclass(frozen=True)
class Balance:
    """How a mixing ends. ``heats`` says what each part brings: (name, kJ), against the batter at its
    nominal end; what is negative cools."""

    end: Spread  # degC
    ice_left: Spread  # kg, least first: of all water in the batter, the meat's own as well
    melts_at: float | None  # degC, where the last ice goes; None where nothing can freeze
    mass: float  # kg
    heats: tuple[tuple[str, float], ...]
    work: Spread  # kJ/kg as used


@dataclass(frozen=True)
class Wanted:
    """An answer in three cases, easiest first. None in a case that cannot be met at all."""

    low: float | None
    nominal: float | None
    high: float | None


def check_parts(parts: Iterable[Part]) -> tuple[Part, ...]:
    """The parts, if they can be right.

    Raises WrongParts with every fault: ice warmer than 0 degC, meat or water at what can
    only be another unit, masses below zero, and nothing at all.
    """
    rows = tuple(parts)
    wrong = []
    for part in rows:
        if fault := wrong_place(part.place, part.temperature):
            wrong.append(WrongPart(part.name, fault))
        if not 0 <= part.mass < float("inf"):
            wrong.append(WrongPart(part.name, WrongReading("part_mass", 0, part.mass)))
    if not wrong and not sum(part.mass for part in rows) > 0:
        wrong.append(WrongPart("", WrongReading("part_mass", 0, 0.0)))
    if wrong:
        raise WrongParts(tuple(wrong))
    return rows


# ------------------------------------------------------------------ the balance


def _melted(temperature: float, extra: float) -> float:
    """Heat beyond the specific heat that a kg of fat has taken up [J/kg]. extra [kJ/(kg K)]."""
    return 1000 * extra * (min(max(temperature, _MELTS_FROM), _MELTS_TO) - _MELTS_FROM)


def _fat(part: Part) -> float:
    """Fat that hardens in the cold [kg]: that of meat and fat, not the oil of nuts and spices."""
    return part.mass * part.composition.fat if part.role in ("meat", "fat") else 0.0


def _heat(part: Part, extra: float, temperature: float | None = None) -> float:
    """What a part brings, counted from the same thing unfrozen at 0 degC [J]; temperature: another than its own [degC]."""
    temperature = part.temperature if temperature is None else temperature
    if part.role == "ice":
        return part.mass * props.ice_enthalpy(temperature)
    return part.mass * props.enthalpy(part.composition, temperature) + _fat(part) * _melted(temperature, extra)


@lru_cache(maxsize=64)
def _mixed(rows: tuple[tuple[float, Composition], ...]) -> Composition:
    return props.mixed(rows)


_content = lru_cache(maxsize=256)(props.enthalpy)


@dataclass(frozen=True)
class _Batter:
    """All parts together, as one thing with a heat content."""

    mass: float
    composition: Composition
    fat: float  # kg that can melt
    brought: float  # J
    extra: float  # kJ/(kg K)

    @classmethod
    def of(cls, parts: tuple[Part, ...], extra: float) -> _Batter:
        mix = _mixed(tuple((part.mass, props.WATER if part.role == "ice" else part.composition) for part in parts))
        if mix.free_water:
            within("salt in the water", mix.salt / mix.free_water, 0.0, MOST_SALT)
        return cls(sum(part.mass for part in parts), mix, sum(map(_fat, parts)), sum(_heat(part, extra) for part in parts), extra)

    def heat_at(self, temperature: float) -> float:
        """Heat content at a temperature [J]."""
        return self.mass * _content(self.composition, temperature) + self.fat * _melted(temperature, self.extra)

    def after(self, work: float) -> float:
        """Heat content after ``work`` [kJ/kg], in [J]."""
        return self.brought + 1000 * work * self.mass

    def end(self, work: float) -> float:
        """Temperature after ``work`` [kJ/kg], in [degC]."""
        heat = self.after(work)
        coldest, warmest = self.heat_at(props.COLDEST), self.heat_at(_WARMEST)
        if not coldest <= heat <= warmest:
            raise OutOfRange("heat in the batter", heat, coldest, warmest)
        return _least(lambda t: self.heat_at(t) - heat, (props.COLDEST, coldest - heat), (_WARMEST, warmest - heat), 1e-7)

    def ice(self, temperature: float, work: float) -> float:
        """Ice left [kg]. Where only clean water freezes, its melting point is one temperature and
        the heat says how much of it is left."""
        freezing = props.freezing_point(self.composition)
        if freezing is not None and freezing > -1e-6 and abs(temperature) < 1e-5:
            short = self.heat_at(0.0) - self.after(work)
            return min(self.mass * self.composition.free_water, max(0.0, short / props.LATENT_HEAT))
        return self.mass * props.ice_fraction(self.composition, temperature)


def _least(spare: Callable[[float], float], low: tuple[float, float], high: tuple[float, float], fine: float) -> float:
    """The least value at which ``spare`` is not below 0, to ``fine``; it must rise. low, high: values with what is spare there.

    Heat is all but in proportion to what is changed: where the straight line between the two ends meets
    0 is close already, and to go a hair beyond it, this side and that, soon closes them in. Every third
    time the middle is taken, in case it is not.
    """
    turn = 0
    while high[0] - low[0] > fine:
        turn += 1
        width = high[0] - low[0]
        line = low[0] + width * low[1] / (low[1] - high[1])
        hair = fine / 3 if turn % 2 else -fine / 3
        value = (low[0] + high[0]) / 2 if turn % 3 == 0 else min(max(line + hair, low[0] + width / 1e3), high[0] - width / 1e3)
        left = spare(value)
        low, high = (low, (value, left)) if left >= 0 else ((value, left), high)
    return high[0]


def _cases(work: Spread) -> tuple[tuple[float, float], ...]:
    """(work, fat's extra) from the coldest case to the warmest."""
    return ((work.low, FAT_MELTING.high), (work.nominal, FAT_MELTING.nominal), (work.high, FAT_MELTING.low))


def _work(work: Spread | None) -> Spread:
    work = WORK if work is None else work
    for value in work:
        within("work", value, 0.0, MOST_WORK)
    return work


def balance(parts: Iterable[Part], work: Spread | None = None) -> Balance:
    """How warm the batter ends, and how much ice is left in it.

    parts: Parts [kg, degC]; work [kJ/kg, 0 to 400], None for a chopper that was never
    measured (20, 40, 80). Returns a Balance. Raises WrongParts, OutOfRange.
    Method: conservation of enthalpy, all at one temperature when it is measured.
    """
    rows, work = check_parts(parts), _work(work)
    found, heats = _balance(tuple(replace(part, name="") for part in rows), work)
    return replace(found, heats=tuple((part.name, heat) for part, heat in zip(rows, heats, strict=True) if part.mass))


# The card of one batch is made for its weights and again for the rest, and in every language: no name counts.
@lru_cache(maxsize=16)
def _balance(rows: tuple[Part, ...], work: Spread) -> tuple[Balance, tuple[float, ...]]:
    """The balance but for its parts' names, and what each part brings [kJ]."""
    batters = [(_Batter.of(rows, extra), done) for done, extra in _cases(work)]
    ends = [batter.end(done) for batter, done in batters]
    ice = [batter.ice(end, done) for (batter, done), end in zip(batters, ends, strict=True)]
    middle = batters[1][0]
    heats = tuple((_heat(part, middle.extra) - part.mass * _at(part, ends[1], middle.extra)) / 1000 for part in rows)
    return Balance(Spread(*ends), Spread(*reversed(ice)), props.freezing_point(middle.composition), middle.mass, (), work), heats


def _at(part: Part, temperature: float, extra: float) -> float:
    """Heat content of a part's stuff, unfrozen, at the batter's temperature [J/kg]."""
    composition = props.WATER if part.role == "ice" else part.composition
    melted = _melted(temperature, extra) * (composition.fat if part.role in ("meat", "fat") else 0.0)
    return props.enthalpy(composition, temperature, props.COLDEST) + melted


def _solve(parts: tuple[Part, ...], work: Spread, brought: Callable[[float, float], float], target: float, low: float, high: float) -> Wanted:
    """The least change that ends at ``target`` or below, case by case.

    brought(x, extra): what all parts bring once x is changed [J]; it must fall as x rises, by what is
    colder or frozen alone: the mix and its mass stay.
    """
    found = []
    for done, extra in _cases(work):
        batter = _Batter.of(parts, extra)
        most = batter.heat_at(target) - 1000 * done * batter.mass

        def spare(x: float, extra: float = extra, most: float = most) -> float:
            return most - brought(x, extra)

        warm, cold = spare(low), spare(high)
        found.append(None if cold < 0 else low if warm >= 0 else _least(spare, (low, warm), (high, cold), (high - low) * 1e-6))
    return Wanted(*found)


def ice_share(parts: Iterable[Part], target: float, work: Spread | None = None, water: float = 15.0, ice: float = -2.0) -> Wanted:
    """How much of the added water must go in as ice, to end at the target.

    parts: the recipe's, water and ice among them [kg]; their masses are added up and shared
    out anew; target [degC, -5 to 30]; work as for balance(); water, ice [degC]: what the two
    would have. Returns shares [1, 0 to 1] by weight for the coldest case, the nominal and the warmest;
    round up: more ice is colder. None where even all ice is not enough.
    Raises WrongParts, OutOfRange (no water and no ice among the parts).
    """
    rows, work = check_parts(parts), _work(work)
    within("target", target, -5.0, 30.0)
    added = sum(part.mass for part in rows if part.role in ("water", "ice"))
    within("added water", added, 1e-9, float("inf"))
    rest = [part for part in rows if part.role not in ("water", "ice")]
    as_water, as_ice = Part("water", "water", added, water, props.WATER), Part("ice", "ice", added, ice, props.WATER)
    check_parts((as_water, as_ice))
    ends = {extra: [sum(_heat(part, extra) for part in (*rest, all_added)) for all_added in (as_water, as_ice)] for _, extra in _cases(work)}

    def brought(x: float, extra: float) -> float:
        none, all_ice = ends[extra]
        return none + (all_ice - none) * x

    return _solve(rows, work, brought, target, 0.0, 1.0)


def meat_start(parts: Iterable[Part], target: float, work: Spread | None = None) -> Wanted:
    """How cold meat and fat must go in, to end at the target.

    parts, target, work as for ice_share(). Returns temperatures [degC, -10 to 30] for the coldest
    case, the nominal and the warmest; round down. None where -10 degC, the hardest meat for a
    kitchen chopper, would not do. Raises WrongParts, OutOfRange (no meat among the parts).
    """
    rows, work = check_parts(parts), _work(work)
    within("target", target, -5.0, 30.0)
    within("meat", sum(part.mass for part in rows if part.place == "meat"), 1e-9, float("inf"))

    meat = [part for part in rows if part.place == "meat"]
    rest = {extra: sum(_heat(part, extra) for part in rows if part.place != "meat") for _, extra in _cases(work)}

    def brought(x: float, extra: float) -> float:
        return rest[extra] + sum(_heat(part, extra, -x) for part in meat)

    found = _solve(rows, work, brought, target, -30.0, -_COLDEST_MEAT)
    return Wanted(*(None if x is None else -x for x in (found.low, found.nominal, found.high)))


def minutes_left(parts: Iterable[Part], now: float, limit: float, rate: Spread | None = None) -> Spread:
    """How many more minutes of chopping until the limit.

    parts: what is in the bowl [kg; their own temperatures are not used]; now: the batter's
    measured temperature [degC]; limit [degC]; rate [kJ/kg and min, above 0], None for
    uncooled chopping as published (4 to 7.25). Returns minutes, least first, 0 at the limit
    or over; go by the least. Raises WrongParts, OutOfRange.
    """
    rows, rate = check_parts(parts), RATE if rate is None else rate
    for value in rate:
        within("rate", value, 1e-6, MOST_WORK)
    for value in (now, limit):
        within("batter temperature", value, -20.0, _WARMEST)
    fast = ((rate.high, FAT_MELTING.low), (rate.nominal, FAT_MELTING.nominal), (rate.low, FAT_MELTING.high))
    found = []
    for speed, extra in fast:
        batter = _Batter.of(rows, extra)
        found.append(max(0.0, (batter.heat_at(limit) - batter.heat_at(now)) / (1000 * speed * batter.mass)))
    return Spread(*found)


@dataclass(frozen=True)
class Chopper:
    """A chopper as one batch shows it: work [kJ/kg] of that chopping, and [kJ/kg and min]."""

    work: Spread
    rate: Spread | None  # None where no minutes were given


def chopper_heat(parts: Iterable[Part], measured: float, minutes: float | None = None, error: float = 1.0) -> Chopper:
    """The chopper's own heat from one measured end, for the next batch.

    parts as they went in [kg, degC]; measured: end of the batter [degC]; minutes of chopping
    [above 0], or None; error of the thermometer [K, 0 to 5]. Returns a Chopper whose spread
    holds the thermometer's error and the fat's melting. Raises WrongParts, OutOfRange
    ("work" below zero: the batter is colder than its parts allow; an ice pocket, or a slip).
    """
    rows = check_parts(parts)
    within("probe error", error, 0.0, 5.0)
    within("batter temperature", measured, -20.0, _WARMEST)
    if minutes is not None:
        within("minutes", minutes, 1e-3, 600.0)
    cases = ((measured - error, FAT_MELTING.low), (measured, FAT_MELTING.nominal), (measured + error, FAT_MELTING.high))
    found = []
    for end, extra in cases:
        batter = _Batter.of(rows, extra)
        found.append((batter.heat_at(end) - batter.brought) / 1000 / batter.mass)
    within("work", found[2], 0.0, MOST_WORK)
    work = Spread(*(min(max(0.0, value), MOST_WORK) for value in found))
    rate = None if minutes is None or not work.low else Spread(*(value / minutes for value in work))
    return Chopper(work, rate)


# ------------------------------------------------------------------ judging


def limit_for(kinds: Iterable[str]) -> float:
    """The warmest that a batter may get, by its kinds of meat [degC]; of several, the lowest.

    kinds: as a recipe names them; one that is not on record counts as the lowest of all.
    Source: data/mixing.toml, common practice.
    """
    rows = _TABLE["limit"]
    lowest = min(row["most"] for row in rows)
    return min((min((row["most"] for row in rows if kind in row["kinds"]), default=lowest) for kind in kinds), default=lowest)


@dataclass(frozen=True)
class Judged:
    """A batter judged, before it is made or by its thermometer."""

    limit: float
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> str:
        return verdict(self.findings)


def judge_balance(found: Balance, kinds: Iterable[str]) -> Judged:
    """What to say of a balance beforehand: never more than a caution, since it is a forecast.

    found: from balance(); kinds: of meat. Returns a Judged.
    """
    limit = limit_for(kinds)
    figures = {
        "limit": Figure(limit, "degC", "down"), "low": Figure(found.end.low, "degC"), "nominal": Figure(found.end.nominal, "degC"),
        "high": Figure(found.end.high, "degC", "up"),
    }
    code, severity = "mix_fits", "note"
    if found.end.nominal > limit:
        code, severity = "mix_too_warm", "caution"
    elif found.end.high > limit:
        code = "mix_near"
    said = [Finding(code, severity, "", figures)]
    if found.ice_left.nominal > 0.001 * found.mass:
        said.append(Finding("mix_ice_left", "note", "", {"ice": Figure(found.ice_left.nominal, "kg"), "melts": Figure(found.melts_at, "degC")}))
    return Judged(limit, tuple(said))


def advise(
    parts: Iterable[Part], kinds: Iterable[str], work: Spread | None = None, water: float = 15.0, ice: float = -2.0
) -> tuple[Finding, ...]:
    """What to do beforehand so that the batter stays under its limit: ice for water, colder meat.

    parts, work as for balance(); kinds: of meat; water, ice [degC] as for ice_share(). Returns
    findings, all notes but for what cannot be met. Raises WrongParts, OutOfRange.
    """
    rows = tuple(replace(part, name="") for part in check_parts(parts))
    return _advice(rows, limit_for(kinds), work, water, ice)


@lru_cache(maxsize=16)  # as for the balance
def _advice(rows: tuple[Part, ...], limit: float, work: Spread | None, water: float, ice: float) -> tuple[Finding, ...]:
    said = []
    if sum(part.mass for part in rows if part.role in ("water", "ice")) > 0:
        share = ice_share(rows, limit, work, water, ice)
        figures = {"limit": Figure(limit, "degC", "down")}
        if share.nominal is None:
            said.append(Finding("mix_ice_not_enough", "caution", "", figures))
        elif share.nominal or share.high != 0:
            figures |= {"share": Figure(share.nominal, "1", "up"), "most": Figure(1.0 if share.high is None else share.high, "1", "up")}
            said.append(Finding("mix_ice_share", "note", "", figures))
        else:
            said.append(Finding("mix_ice_not_needed", "note", "", figures))
    if any(part.place == "meat" and part.mass for part in rows):
        start = meat_start(rows, limit, work)
        figures = {"limit": Figure(limit, "degC", "down"), "hardest": Figure(_COLDEST_MEAT, "degC")}
        if start.nominal is None:
            said.append(Finding("mix_meat_not_enough", "caution", "", figures))
        else:
            nominal, coldest = (min(most, _KEPT_AT) for most in (start.nominal, _COLDEST_MEAT if start.high is None else start.high))
            code = "mix_meat_start" if coldest < _KEPT_AT else "mix_meat_cold"
            said.append(Finding(code, "note", "", figures | {"meat": Figure(nominal, "degC", "down"), "sure": Figure(coldest, "degC", "down")}))
    return tuple(said)


def judge_measured(places: Iterable[float], kinds: Iterable[str]) -> Judged:
    """What a thermometer in the batter says.

    places: one to ten readings [degC, -20 to 60] in different places, the warmest counts; kinds: of
    meat. Returns a Judged: over the limit is a caution (the fat may let go of the water), one reading
    or an icy one is a note. Raises OutOfRange.
    """
    read = tuple(within("batter temperature", place, -20.0, _WARMEST) for place in places)
    within("number of readings", len(read), 1, 10)
    limit = limit_for(kinds)
    figures = {"warmest": Figure(max(read), "degC", "up"), "coldest": Figure(min(read), "degC", "down"), "limit": Figure(limit, "degC", "down")}
    said = [Finding("batter_too_warm", "caution", "batter", figures) if max(read) > limit else Finding("batter_cold_enough", "note", "batter", figures)]
    if min(read) < _TABLE["pocket"]["below"]:
        said.append(Finding("batter_ice_pocket", "note", "batter", figures))
    elif max(read) - min(read) > _TABLE["uneven"]["most"]:
        said.append(Finding("batter_uneven", "note", "batter", figures))
    elif len(read) < 3:
        said.append(Finding("batter_one_place", "note", "batter", figures))
    return Judged(limit, tuple(said))
