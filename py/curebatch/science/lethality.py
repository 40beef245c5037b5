"""What time at a core temperature does to Salmonella and Listeria.

Temperatures in degC, readings in (minute, degC), holds in seconds, reductions
in decimal logarithms. Everything errs one way:

- the probe's error comes off every reading;
- between two readings the core is taken to have been as cold as the colder of them;
- two readings further apart than LONGEST_GAP were not watched and earn nothing;
- nothing is earned below 54.4 degC, where the tables begin;
- of a table's row and the line fitted through its rows, the longer hold counts;
  between two rows, the colder row.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from ..data import table
from .readings import Reading, from_fahrenheit
from .thermal_properties import OutOfRange, within


_COOKING, _ORGANISMS = table("cooking"), table("organisms")
PROBE_ERROR: float = _COOKING["probe_error"]  # K
LONGEST_GAP: float = _COOKING["longest_gap"]  # min
NO_CREDIT_BELOW: float = _ORGANISMS["no_credit_below"]  # degC
MOST_SHOWN: float = _ORGANISMS["most_shown"]  # decimal reductions
LISTERIA_REDUCTIONS: float = _ORGANISMS["judge"]["reductions"]
MEAT_REDUCTIONS: float = _COOKING["meat"]["reductions"]
POULTRY_REDUCTIONS: float = _COOKING["poultry"]["reductions"]
POULTRY_LEAST: float = from_fahrenheit(_COOKING["poultry"]["rows"][0][0])  # degC
POULTRY_FATTEST: float = _COOKING["poultry"]["fat"][-1] / 100

_HAIR = 1e-9  # K; 61.1 less 1.1 is 60, whatever binary makes of it
_HOTTEST = 150.0  # degC


@dataclass(frozen=True)
class Hold:
    """How long a core must stay at a temperature. ``seconds`` is the longer of row and fit."""

    seconds: float
    row: float | None  # s, of the row at or below the temperature
    fit: float | None  # s, of the line through the rows, at the temperature itself


# ------------------------------------------------------------------ holds


def hold_for_meat(core: float, reductions: float = MEAT_REDUCTIONS) -> Hold:
    """The hold for meat without poultry, against Salmonella.

    core [degC, 54.4 to 150]; reductions [decimal, 6.5 or 7, as the table has them].
    Returns a Hold in seconds; at 70 degC and over the row prints 0 s and the fit decides.
    Raises OutOfRange. Source: FSIS Appendix A (1999), and the line fitted to its rows.
    """
    within("core temperature", core, NO_CREDIT_BELOW, _HOTTEST)
    meat = _COOKING["meat"]
    if reductions not in (6.5, 7.0):
        raise OutOfRange("reductions", reductions, 6.5, 7.0)
    row = float(_row_at(meat["rows"], core)[2 if reductions == 6.5 else 3])
    fit = meat["fit"]["seconds"] * reductions / 6.5
    fit *= 10 ** ((meat["fit"]["fahrenheit"] - (core * 1.8 + 32)) / meat["fit"]["z_fahrenheit"])
    return Hold(max(row, fit), row, fit)


def hold_for_poultry(core: float, fat: float) -> Hold:
    """The hold for chicken, seven reductions of Salmonella.

    core [degC, 57.8 to 150]: above the last row, 62.2, the last row's hold stands;
    fat [1, 0 to 0.12] of the whole mix, counted up to the table's next column.
    Returns a Hold in seconds. Raises OutOfRange beyond the table: nothing is extrapolated.
    Source: FSIS poultry tables as printed in Ontario's meat plant guidelines.
    """
    within("core temperature", core, POULTRY_LEAST, _HOTTEST)
    within("fat", fat, 0.0, POULTRY_FATTEST)
    poultry = _COOKING["poultry"]
    column = next(i for i, percent in enumerate(poultry["fat"]) if fat * 100 <= percent + _HAIR)
    seconds = _row_at(poultry["rows"], core)[2][column] * 60
    return Hold(seconds, seconds, None)


def hold_for_listeria(core: float) -> Hold:
    """The hold for six reductions of Listeria by the judge.

    core [degC, 54.4 to 150]. Returns a Hold in seconds, 120 at 70 degC. Raises OutOfRange.
    Source: Mackey & Bratchell 1989 (70 degC for 2 min); z 7.5 K, rule of this project.
    """
    within("core temperature", core, NO_CREDIT_BELOW, _HOTTEST)
    judge = _ORGANISMS["judge"]
    fit = 60 * judge["minutes"] * 10 ** ((judge["reference"] - core) / judge["z"])
    return Hold(fit, None, fit)


def least(core: float) -> float:
    """Where a printed core temperature begins [degC]: the documents think in whole degF and print
    degC to a tenth, so 62.8 is reached at 145 degF, which is 62.78. Never more than 0.06 K below the print."""
    exact = from_fahrenheit(round(core * 1.8 + 32))
    return min(core, exact) if core - exact < 0.06 else core


def _row_at(rows: list, core: float) -> list:
    return next(row for row in reversed(rows) if min(row[1], from_fahrenheit(row[0])) <= core + _HAIR)


# ------------------------------------------------------------------ integration


@dataclass(frozen=True)
class Gap:
    """Two readings too far apart, while something might have been earned."""

    begins: float  # min
    ends: float


@dataclass(frozen=True)
class Lethality:
    """What some readings prove. Reductions stop at MOST_SHOWN: more says nothing more."""

    salmonella: float
    listeria: float
    pasteurisation: float  # min at 70 degC, z 10 K; for display
    peak: float  # degC, the hottest reading less the probe's error
    gaps: tuple[Gap, ...]


@dataclass(frozen=True)
class Held:
    """The longest unbroken time at a temperature or above."""

    minutes: float
    begins: float | None  # min; None if it was never reached
    reached: bool
    broken: bool  # it went below and came back


def _watched(readings: tuple[Reading, ...], error: float):
    """(minutes, colder end [degC]) of each two readings that follow each other closely enough."""
    for one, two in pairwise(readings):
        if two.minute - one.minute <= LONGEST_GAP + _HAIR:
            yield two.minute - one.minute, min(one.temperature, two.temperature) - error


def _earned(readings: tuple[Reading, ...], error: float, per_minute: Callable[[float], float]) -> float:
    return sum(minutes * per_minute(cold) for minutes, cold in _watched(readings, error) if cold >= NO_CREDIT_BELOW - _HAIR)


def _rate(hold: Callable[[float], Hold], reductions: float, least: float = NO_CREDIT_BELOW) -> Callable[[float], float]:
    return lambda t: reductions * 60 / hold(max(t, least)).seconds if t >= least - _HAIR else 0.0


def gaps(readings: tuple[Reading, ...], error: float = PROBE_ERROR) -> tuple[Gap, ...]:
    """Where two readings at 54.4 degC or above lie further apart than LONGEST_GAP.

    readings: checked; error [K, 0 or more]. Returns Gaps in minutes.
    """
    return tuple(
        Gap(one.minute, two.minute)
        for one, two in pairwise(readings)
        if two.minute - one.minute > LONGEST_GAP + _HAIR and min(one.temperature, two.temperature) - error >= NO_CREDIT_BELOW - _HAIR
    )


def lethality(readings: tuple[Reading, ...], error: float = PROBE_ERROR, poultry_fat: float | None = None) -> Lethality:
    """The reductions that some readings prove, on the cold side of every doubt.

    readings: checked, (minute, degC); error [K, 0 to 5]: of the probe; poultry_fat
    [1, 0 to 0.12]: counts Salmonella by the chicken table, else by that for other meat.
    Returns a Lethality. Raises OutOfRange.
    Method: the sum over the readings of minutes / D(T), D from the longer of row and fit.
    """
    within("probe error", error, 0.0, 5.0)
    if poultry_fat is None:
        salmonella = _rate(hold_for_meat, MEAT_REDUCTIONS)
    else:
        within("fat", poultry_fat, 0.0, POULTRY_FATTEST)
        salmonella = _rate(lambda t: hold_for_poultry(t, poultry_fat), POULTRY_REDUCTIONS, POULTRY_LEAST)
    value = _ORGANISMS["pasteurisation"]
    return Lethality(
        salmonella=min(MOST_SHOWN, _earned(readings, error, salmonella)),
        listeria=min(MOST_SHOWN, _earned(readings, error, _rate(hold_for_listeria, LISTERIA_REDUCTIONS))),
        pasteurisation=_earned(readings, error, lambda t: 10 ** ((t - value["reference"]) / value["z"])),
        peak=max(row.temperature for row in readings) - error,
        gaps=gaps(readings, error),
    )


def held(readings: tuple[Reading, ...], core: float, error: float = PROBE_ERROR) -> Held:
    """How long a core stayed at a temperature without a break, by its readings.

    readings: checked, (minute, degC); core [degC]; error [K, 0 to 5]. Returns a Held:
    from the first to the last of a run of readings at ``core`` or above, no two of them
    further apart than LONGEST_GAP. Raises OutOfRange.
    """
    within("probe error", error, 0.0, 5.0)
    best, begins, run, last, runs = 0.0, None, None, None, 0
    below = True
    for row in readings:
        hot = row.temperature - error >= core - _HAIR
        if not hot:
            run, below = None, True
            continue
        if below:
            runs += 1
        if run is None or row.minute - last > LONGEST_GAP + _HAIR:
            run = row.minute
        last, below = row.minute, False
        if begins is None or row.minute - run > best:
            best, begins = row.minute - run, run
    return Held(best, begins, begins is not None, runs > 1)


@dataclass(frozen=True)
class ComeUp:
    """Minutes from 10 to 54.4 degC at the longest; None where the readings do not show it."""

    minutes: float | None
    seen: bool  # both ends lie within the readings


def come_up(readings: tuple[Reading, ...], error: float = PROBE_ERROR) -> ComeUp:
    """How long the core took from 10 to 54.4 degC, read on the long side.

    readings: checked, (minute, degC); error [K, 0 to 5]. From the last reading that was
    surely still at 10 degC or below, to the first that was surely at 54.4 or above.
    Returns a ComeUp; where the readings begin warmer than 10, the minutes seen.
    Raises OutOfRange.
    """
    within("probe error", error, 0.0, 5.0)
    limits = _COOKING["conditions"]
    ends = next((i for i, row in enumerate(readings) if row.temperature - error >= limits["come_up_to"] - _HAIR), None)
    if ends is None:
        return ComeUp(None, False)
    cold = [row for row in readings[:ends] if row.temperature + error <= limits["come_up_from"] + _HAIR]
    begins = cold[-1] if cold else readings[0]
    return ComeUp(readings[ends].minute - begins.minute, bool(cold))
