"""How hot the middle must get, for how long, and whether readings prove it.

Stricter than any one source. Meat without poultry: 70 degC for 2 minutes, which is
six reductions of Listeria; lower only by the table with its conditions and the hold
proved by readings. Whole cuts with nothing injected: 62.8 degC for 3 minutes, with the
caution that Listeria takes longer where no household figure of the region says the same.
Anything with poultry in it is poultry: the chicken table within its bounds, 74 degC
outside them. Game, which no table names, goes with it.

Temperatures in degC, times in seconds, readings in (minute, degC). ``error`` is the
probe's [K]: it comes off readings, and goes on top of what the display must show.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..science import lethality as heat
from ..science.findings import Figure, Finding, verdict
from ..science.readings import WrongReading, checked, from_fahrenheit, to_fahrenheit
from ..science.thermal_properties import within

_CORE = heat.table("cooking")["core"]
_HOUSEHOLD = heat.table("cooking")["household"]
_CONDITIONS = heat.table("cooking")["conditions"]
DEFAULT, DEFAULT_SECONDS = _CORE["default"], _CORE["default_minutes"] * 60
OUTSIDE = _CORE["outside_tables"]
WHOLE, WHOLE_SECONDS = _CORE["whole"], _CORE["whole_minutes"] * 60
_LEAST_SAID, _MOST_SAID = 45.0, 100.0  # degC between which a stated core can be meant
_HAIR = 1e-9


@dataclass(frozen=True)
class Meat:
    """What is cooked, as far as the rule asks.

    kinds: of meat, as a recipe names them; method: "ground", "dry", "brine" or "injected";
    fat: share of the whole mix [1], None where not known; species: of the poultry, "chicken"
    where it is all chicken, else anything or nothing.
    """

    kinds: tuple[str, ...]
    method: str
    fat: float | None = None
    species: str = ""

    @property
    def group(self) -> str:
        """What decides: "poultry", "game", "whole" (a cut with nothing injected) or "meat"."""
        if "poultry" in self.kinds:
            return "poultry"
        if "game" in self.kinds:
            return "game"
        return "whole" if self.method in ("dry", "brine") else "meat"

    @property
    def closed(self) -> str:
        """Why the chicken table is closed: a code, or nothing where it is open."""
        if self.species != "chicken" or set(self.kinds) != {"poultry"}:
            return "poultry_not_chicken"
        if self.fat is None:
            return "poultry_fat_unknown"
        return "" if self.fat <= heat.POULTRY_FATTEST else "poultry_too_fat"


@dataclass(frozen=True)
class Target:
    """A core target judged. ``hold`` is what is needed [s], ``read`` what the display must show [degC].

    ``way`` says by which rule: "default", "whole", "table", "chicken", "outside" or "" (none reached).
    """

    core: float
    hold: float
    read: float
    way: str
    findings: tuple[Finding, ...] = ()

    @property
    def verdict(self) -> str:
        return verdict(self.findings)


@dataclass(frozen=True)
class Cooked:
    """Readings judged. ``way`` as for Target; ``more`` is what is still missing at the last reading [s]."""

    way: str
    reached: heat.Lethality
    come_up: heat.ComeUp
    more: float | None
    findings: tuple[Finding, ...] = ()

    @property
    def verdict(self) -> str:
        return verdict(self.findings)


# They say that something is enough or safe: never beside a target that is stopped.
REASSURING = ("listeria_longer", "household_higher", "core_too_high", "whole_cut")


def outside_tables(region: str) -> float:
    """Core for poultry that no table covers [degC]: 74, and in the United States its 165 degF."""
    return heat.least(73.9) if region == "us" else OUTSIDE


def default_target(meat: Meat, region: str = "strictest", error: float = heat.PROBE_ERROR) -> Target:
    """What to aim at where the recipe says nothing.

    meat; region: of the table of fields; error [K, 0 to 5]. Returns a Target with no findings.
    Raises OutOfRange.
    """
    within("probe error", error, 0.0, 5.0)
    if meat.group in ("poultry", "game"):
        return Target(OUTSIDE, 0.0, OUTSIDE + error, "outside")
    return Target(DEFAULT, DEFAULT_SECONDS, DEFAULT + error, "default")


def wrong_core(core: float) -> WrongReading | None:
    """A stated core that cannot be meant as it stands.

    core [degC, as converted from what was typed]. Returns None, or a WrongReading with code
    "core_fahrenheit" (160 C: the number is one of Fahrenheit), "core_celsius" (70 F: the
    number is one of Celsius) or "core_impossible"; ``celsius`` is what it would be.
    """
    if _LEAST_SAID <= core <= _MOST_SAID:
        return None
    if core > _MOST_SAID and _LEAST_SAID <= from_fahrenheit(core) <= _MOST_SAID:
        return WrongReading("core_fahrenheit", 0, core, from_fahrenheit(core), _MOST_SAID)
    if core < _LEAST_SAID <= to_fahrenheit(core) <= _MOST_SAID:
        return WrongReading("core_celsius", 0, core, to_fahrenheit(core), _LEAST_SAID)
    return WrongReading("core_impossible", 0, core, None, _MOST_SAID if core > _MOST_SAID else _LEAST_SAID)


def household(meat: Meat, region: str) -> tuple[dict, ...]:
    """The household figures that a region's own advice has for this meat; all of them under "strictest"."""
    kinds = {"poultry"} if meat.group == "poultry" else set(meat.kinds)
    return tuple(
        row for row in _HOUSEHOLD
        if (region == "strictest" or region in row["regions"]) and meat.method in row["methods"] and kinds & set(row["kinds"])
    )


def _below_household(meat: Meat, region: str, core: float, severity: str) -> tuple[Finding, ...]:
    above = [row for row in household(meat, region) if core < heat.least(row["core"]) - _HAIR]
    if not above:
        return ()
    most = max(above, key=lambda row: row["core"])
    figures = {"core": Figure(core, "degC", "down"), "household": Figure(most["core"], "degC", "up")}
    return (Finding("household_higher", severity, "core", figures, source=most["source"]),)


def _too_hot(meat: Meat, core: float) -> tuple[Finding, ...]:
    most = _CORE["most_sliced"] if meat.method in ("dry", "brine") else _CORE["most_chopped"]
    if core <= most + _HAIR:
        return ()
    return (Finding("core_too_high", "caution", "core", {"core": Figure(core, "degC"), "most": Figure(most, "degC", "down")}),)


# ------------------------------------------------------------------ targets


def judge_target(
    meat: Meat, core: float, hold: float | None, region: str = "strictest", humid: bool | None = None, error: float = heat.PROBE_ERROR
) -> Target:
    """Whether a core target is enough for the meat in the recipe.

    core [degC, any]; hold [s, 0 or more], None where nothing is said; region: of the table
    of fields; humid: whether humidity is kept up (covered, casing, bath, steam), None where
    not known; error [K, 0 to 5]. Returns a Target. Raises OutOfRange for the error alone:
    a core that cannot be meant is a finding, severity "stop".
    """
    within("probe error", error, 0.0, 5.0)
    if wrong := wrong_core(core):
        figures = {"core": Figure(core, "degC")}
        if wrong.celsius is not None:
            figures["celsius"] = Figure(wrong.celsius, "degC")
            figures["fahrenheit"] = Figure(core if wrong.code == "core_fahrenheit" else to_fahrenheit(core), "degF")
        return Target(core, 0.0, core + error, "", (Finding(wrong.code, "stop", "core", figures),))
    way, needed, why = _way(meat, core, region)
    if not way:
        return Target(core, 0.0, core + error, "", (_too_low(meat, core, region, why),))
    found = [*_short_hold(core, hold, needed), *_too_hot(meat, core)]
    if way in ("table", "chicken"):
        found += _table_conditions(meat, humid, core, max(needed, hold or 0.0))
        found.append(Finding("proof_needed", "caution", "core", {"core": Figure(core, "degC"), "hold": Figure(needed, "s", "up")}))
    if way == "whole":
        found += _listeria_longer(core, max(needed, hold or 0.0), "note" if _is_advice_of(meat, region) else "caution")
        found.append(Finding("whole_cut", "note", "core", {"core": Figure(WHOLE, "degC"), "hold": Figure(WHOLE_SECONDS, "s")}, source=_CORE["whole_source"]))
    if meat.group == "game":
        found.append(Finding("game_counted", "note", "core"))
    found += _below_household(meat, region, core, "caution")
    if verdict(tuple(found)) == "stop":
        found = [one for one in found if one.code not in REASSURING]
    return Target(core, needed, core + error, way, tuple(found))


def _way(meat: Meat, core: float, region: str) -> tuple[str, float, str]:
    """(which rule, hold needed [s], or why none)."""
    if meat.group in ("poultry", "game"):
        if core >= outside_tables(region) - _HAIR:
            return "outside", 0.0, ""
        why = "game_too_low" if meat.group == "game" else meat.closed
        if why:
            return "", 0.0, why
        if core < heat.POULTRY_LEAST - _HAIR:
            return "", 0.0, "poultry_below_table"
        return "chicken", heat.hold_for_poultry(core, meat.fat).seconds, ""
    if core >= DEFAULT - _HAIR:
        return "default", max(heat.hold_for_listeria(core).seconds, heat.hold_for_meat(core).seconds), ""
    if meat.group == "whole" and core >= heat.least(WHOLE) - _HAIR:
        return "whole", WHOLE_SECONDS, ""
    if core >= heat.NO_CREDIT_BELOW - _HAIR:
        return "table", heat.hold_for_meat(max(core, heat.NO_CREDIT_BELOW)).seconds, ""
    return "", 0.0, "core_too_low"


def _too_low(meat: Meat, core: float, region: str, why: str) -> Finding:
    wanted = outside_tables(region) if meat.group in ("poultry", "game") else DEFAULT
    source = _CORE["outside_source"] if meat.group in ("poultry", "game") else _CORE["default_source"]
    return Finding(why, "stop", "core", {"core": Figure(core, "degC", "down"), "wanted": Figure(wanted, "degC", "up")}, source=source)


def _short_hold(core: float, hold: float | None, needed: float) -> list[Finding]:
    figures = {"core": Figure(core, "degC"), "hold": Figure(needed, "s", "up")}
    if hold is None:
        return [Finding("hold_added", "note", "hold", figures)] if needed else []
    if not hold >= needed - 1e-6:  # nor what is no number
        return [Finding("hold_too_short", "stop", "hold", figures | {"stated": Figure(hold, "s", "down")})]
    return []


def _humidity(meat: Meat, humid: bool | None, core: float) -> list[Finding]:
    """The table is closed in a dry oven."""
    if humid:
        return []
    code, severity = ("humidity_unknown", "caution") if humid is None else ("table_dry", "stop")
    wanted = OUTSIDE if meat.group == "poultry" else DEFAULT
    figures = {"core": Figure(core, "degC", "down"), "wanted": Figure(wanted, "degC", "up")}
    return [Finding(code, severity, "covered", figures, source=_CONDITIONS["humidity_source"])]


def _table_conditions(meat: Meat, humid: bool | None, core: float, hold: float) -> list[Finding]:
    return [*_humidity(meat, humid, core), *_listeria_longer(core, hold, "caution")]


def _listeria_longer(core: float, hold: float, severity: str) -> list[Finding]:
    """What the judge would ask for, where the hold [s] is shorter."""
    listeria = heat.hold_for_listeria(max(core, heat.NO_CREDIT_BELOW)).seconds
    if hold >= listeria - 1e-6:
        return []
    figures = {"core": Figure(core, "degC"), "hold": Figure(listeria, "s", "up")}
    return [Finding("listeria_longer", severity, "hold", figures, source=heat.table("organisms")["judge"]["source"])]


def _is_advice_of(meat: Meat, region: str) -> bool:
    """Whether the region itself advises 62.8 degC for this whole cut: elsewhere only ours stands behind it."""
    return any(region in row["regions"] and heat.least(row["core"]) <= heat.least(WHOLE) for row in household(meat, region))


# ------------------------------------------------------------------ readings


def judge_readings(
    meat: Meat, readings: Iterable[tuple[float, float]], region: str = "strictest", humid: bool | None = None,
    error: float = heat.PROBE_ERROR, target: float | None = None,
) -> Cooked:
    """Whether readings of the core prove that the middle is safe.

    readings: (minute, degC) in the order of time; region, humid, error as for judge_target;
    target: the core that the card aims at [degC], None for the default. The Salmonella
    table alone is only for who aimed at it: below 70 degC, chicken below 74.
    Returns a Cooked: "ok" where Salmonella and, as the judge, Listeria are both met;
    "caution" where a lower target meets its table and not the judge; "stop" where neither is met.
    Raises WrongReadings for readings that cannot be right, OutOfRange for the error.
    """
    rows = checked(readings)
    table_open = meat.group == "poultry" and not meat.closed
    reached = heat.lethality(rows, error, max(0.0, meat.fat) if table_open else None)
    rise = heat.come_up(rows, error)
    low = target is not None and target < (outside_tables(region) if meat.group == "poultry" else DEFAULT) - _HAIR
    way, found = _proved(meat, rows, reached, region, error, low)
    if way in ("table", "chicken"):
        found += _proof_conditions(meat, rise, reached, humid)
    elif way:
        found += _slow(rise, "caution")
    if way == "whole" and reached.listeria < heat.LISTERIA_REDUCTIONS - _HAIR:
        found.append(_listeria_short(reached, "note" if _is_advice_of(meat, region) else "caution"))
    proved = verdict(tuple(found)) != "stop"
    if not proved:
        found = [one for one in found if one.code not in ("core_proved", "listeria_short")]
    found += _watching(meat, rows, reached, error, "note" if proved else "caution")
    if proved:
        found += _below_household(meat, region, reached.peak, "note")
        found += _too_hot(meat, max(row.temperature for row in rows))
    return Cooked(way, reached, rise, None if way else _still(meat, rows[-1].temperature - error, reached), tuple(found))


def _figures(reached: heat.Lethality) -> dict[str, Figure]:
    return {
        "peak": Figure(reached.peak, "degC", "down"), "salmonella": Figure(reached.salmonella, "log10", "down"),
        "listeria": Figure(reached.listeria, "log10", "down"),
    }


def _proved(meat: Meat, rows: tuple, reached: heat.Lethality, region: str, error: float, low: bool) -> tuple[str, list[Finding]]:
    """Which rule the readings meet, and what to say of it. low: whether the table was aimed at."""
    good = _figures(reached)
    listeria = reached.listeria >= heat.LISTERIA_REDUCTIONS - _HAIR
    if meat.group in ("poultry", "game"):
        if reached.peak >= outside_tables(region) - _HAIR:
            return "outside", [Finding("core_proved", "note", "readings", good, source=_CORE["outside_source"])]
        if meat.group == "poultry" and not meat.closed and (low or listeria) and reached.salmonella >= heat.POULTRY_REDUCTIONS - _HAIR:
            return "chicken", [Finding("core_proved", "note", "readings", good, source=heat.table("cooking")["poultry"]["source"])]
        return "", [_not_proved(meat, rows, reached, region, error)]
    if listeria and reached.peak >= DEFAULT - _HAIR:
        return "default", [Finding("core_proved", "note", "readings", good, source=_CORE["default_source"])]
    if meat.group == "whole" and heat.held(rows, heat.least(WHOLE), error).minutes * 60 >= WHOLE_SECONDS - 1e-6:
        return "whole", [Finding("core_proved", "note", "readings", good, source=_CORE["whole_source"])]
    if (low or listeria) and reached.salmonella >= heat.MEAT_REDUCTIONS - _HAIR:
        return "table", [Finding("core_proved", "note", "readings", good, source=heat.table("cooking")["meat"]["source"])]
    return "", [_not_proved(meat, rows, reached, region, error)]


def _not_proved(meat: Meat, rows: tuple, reached: heat.Lethality, region: str, error: float) -> Finding:
    """What is missing: heat, or time."""
    poultry = meat.group in ("poultry", "game")
    by_time = not poultry or (meat.group == "poultry" and not meat.closed)
    begins = heat.POULTRY_LEAST if poultry else heat.NO_CREDIT_BELOW
    last = rows[-1].temperature - error
    figures = _figures(reached)
    if by_time and last >= begins - _HAIR:
        figures |= {"last": Figure(last, "degC", "down"), "more": Figure(_still(meat, last, reached), "s", "up")}
        return Finding("readings_too_short", "stop", "readings", figures)
    figures |= {"wanted": Figure(outside_tables(region) if poultry else DEFAULT, "degC", "up"), "error": Figure(error, "K")}
    figures["read"] = Figure(figures["wanted"].value + error, "degC", "up")
    return Finding("readings_too_cold", "stop", "readings", figures)


def _still(meat: Meat, last: float, reached: heat.Lethality) -> float | None:
    """Seconds at the last temperature until both judges are met; None where it earns nothing."""
    poultry = meat.group in ("poultry", "game")
    if poultry and (meat.group == "game" or meat.closed):
        return None
    if last < (heat.POULTRY_LEAST if poultry else heat.NO_CREDIT_BELOW) - _HAIR:
        return None
    at = max(last, heat.NO_CREDIT_BELOW)
    salmonella = heat.hold_for_poultry(max(at, heat.POULTRY_LEAST), max(0.0, meat.fat)).seconds if poultry else heat.hold_for_meat(at).seconds
    wanted = heat.POULTRY_REDUCTIONS if poultry else heat.MEAT_REDUCTIONS
    return max(
        salmonella * max(0.0, 1 - reached.salmonella / wanted),
        heat.hold_for_listeria(at).seconds * max(0.0, 1 - reached.listeria / heat.LISTERIA_REDUCTIONS),
    )


def _proof_conditions(meat: Meat, rise: heat.ComeUp, reached: heat.Lethality, humid: bool | None) -> list[Finding]:
    """The table's conditions, and the judge beside it."""
    found = _slow(rise, "stop")
    if rise.minutes is not None and not rise.seen and not found:
        found.append(Finding("come_up_unseen", "caution", "readings", {"from": Figure(_CONDITIONS["come_up_from"], "degC")}, source=_CONDITIONS["come_up_source"]))
    found += _humidity(meat, humid, reached.peak)
    if reached.listeria < heat.LISTERIA_REDUCTIONS - _HAIR:
        found.append(_listeria_short(reached, "caution"))
    return found


def _listeria_short(reached: heat.Lethality, severity: str) -> Finding:
    return Finding("listeria_short", severity, "readings", _figures(reached), source=heat.table("organisms")["judge"]["source"])


def _slow(rise: heat.ComeUp, severity: str) -> list[Finding]:
    most = _CONDITIONS["come_up_minutes"]
    if rise.minutes is None or rise.minutes <= most:
        return []
    figures = {"minutes": Figure(rise.minutes, "min", "up"), "most": Figure(most, "min", "down")}
    return [Finding("come_up_slow", severity, "readings", figures, source=_CONDITIONS["come_up_source"])]


def _watching(meat: Meat, rows: tuple, reached: heat.Lethality, error: float, severity: str) -> list[Finding]:
    """Gaps between readings, and a hold that went down and came back."""
    found = []
    if reached.gaps:
        gap = max(reached.gaps, key=lambda gap: gap.ends - gap.begins)
        figures = {"minutes": Figure(gap.ends - gap.begins, "min", "up"), "begins": Figure(gap.begins, "min"), "longest": Figure(heat.LONGEST_GAP, "min", "down")}
        found.append(Finding("hold_gap", severity, "readings", figures))
    wanted = OUTSIDE if meat.group in ("poultry", "game") else DEFAULT
    if heat.held(rows, wanted, error).broken:
        found.append(Finding("hold_broken", severity, "readings", {"core": Figure(wanted, "degC")}))
    return found
