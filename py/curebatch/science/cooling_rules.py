"""Whether a cooling keeps to one of the published options.

Which options are open hangs on the low end of nitrite, salt and accelerator,
and the region. Temperatures in degC of the core, times in minutes. A window's
start is taken as early, its end as late as readings and probe allow; where that
cannot show it, but the readings as they stand would, the verdict is "caution".
A cooling that was missed is not mended: discard. An end counts only while the core
stays below it, and a fall that no middle can make is asked about, never believed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import log

from .findings import Figure, Finding, verdict
from ..data import table
from .lethality import NO_CREDIT_BELOW, PROBE_ERROR
from .readings import STEADY, Reading, checked
from .thermal_properties import within

_TABLE = table("cooling")
_HAIR = 1e-9


@dataclass(frozen=True)
class Low:
    """The low end of what a cured product has, on the whole mix.

    nitrite [mg/kg, as sodium nitrite], accelerator [mg/kg, as sodium erythorbate or ascorbate],
    brine [per cent, see brine_percent], intact: a whole cut; aw: measured water activity, None
    where not measured. The default is an uncured batter.
    """

    nitrite: float = 0.0
    accelerator: float = 0.0
    brine: float = 0.0
    intact: bool = False
    aw: float | None = None


@dataclass(frozen=True)
class Window:
    """From one core temperature to another within some minutes."""

    starts: float  # degC
    ends: float
    within: float  # min


@dataclass(frozen=True)
class Option:
    """A published way to cool."""

    id: str
    regions: tuple[str, ...]
    windows: tuple[Window, ...]
    source: str
    sure: str
    needs: tuple[dict, ...] = ()
    in_all: Window | None = None
    always_falling: bool = False
    grudging: bool = False  # met, it is still a caution

    @property
    def every_window(self) -> tuple[Window, ...]:
        return self.windows + ((self.in_all,) if self.in_all else ())


@dataclass(frozen=True)
class Opening:
    """An option, and what of the low end keeps it closed: names of conditions with what is
    needed, of the set that comes nearest; none where it is open."""

    option: Option
    missing: tuple[tuple[str, float], ...] = ()

    @property
    def open(self) -> bool:
        return not self.missing


@dataclass(frozen=True)
class Passed:
    """One window against readings. ``state``: "met", "as_read" (met only by the readings as they
    stand), "missed" or "running". ``took`` [min] at the longest, None before the window's start;
    ``left`` [min] while it runs."""

    window: Window
    state: str
    took: float | None
    left: float | None = None
    warmed: float | None = None  # degC at the last reading to which it rose over an end that it had passed


@dataclass(frozen=True)
class Followed:
    """One open option against readings. ``state`` as for Passed, the worst of its windows; or "unseen":
    the readings begin below the first window's start, and nothing shows the time before."""

    option: Option
    state: str
    windows: tuple[Passed, ...]
    rose: float | None = None  # degC at which a core that must always fall was rising


@dataclass(frozen=True)
class Cooled:
    """A cooling judged."""

    options: tuple[Opening, ...]
    followed: tuple[Followed, ...]
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> str:
        return verdict(self.findings)


def _option(row: dict) -> Option:
    windows = tuple(Window(*map(float, window)) for window in row["windows"])
    in_all = None
    if "in_all" in row:
        in_all = Window(row.get("in_all_from", windows[0].starts), row.get("in_all_to", windows[-1].ends), float(row["in_all"]))
    return Option(
        row["id"], tuple(row["regions"]), windows, row["source"], row["sure"], tuple(row.get("needs", ())), in_all,
        row.get("always_falling", False), row.get("grudging", False),
    )


@lru_cache(maxsize=1)
def all_options() -> tuple[Option, ...]:
    """Every option on record, in the order of the file."""
    return tuple(_option(row) for row in _TABLE["option"])


def brine_percent(salt: float, water: float) -> float:
    """Brine strength of a product, 100 x salt / (salt + water).

    salt, water [any one unit, 0 or more, together above 0]. Returns per cent. Raises OutOfRange.
    """
    within("salt", salt, 0.0, float("inf"))
    within("water", water, 0.0 if salt else 1e-12, float("inf"))
    return 100 * salt / (salt + water)


def _reaches(low: Low, need: dict) -> float:
    """How much of a set of conditions is there [1]: the scarcest of them decides."""
    if "aw" in need and (low.aw is None or not low.aw <= need["aw"]):
        return 0.0
    return min((getattr(low, name) / need[name] for name in ("nitrite", "accelerator", "brine") if name in need), default=0.0)


def _missing(low: Low, need: dict) -> tuple[tuple[str, float], ...]:
    lacks = [(name, need[name]) for name in ("nitrite", "accelerator", "brine") if name in need and not getattr(low, name) >= need[name]]
    if need.get("intact") and not low.intact:
        lacks.append(("intact", 1.0))
    if "aw" in need and (low.aw is None or not low.aw <= need["aw"]):
        lacks.append(("aw", need["aw"]))
    return tuple(lacks)


def openings(low: Low, region: str = "strictest") -> tuple[Opening, ...]:
    """The options of a region, each open or with what keeps it closed.

    low: the low end; region: of the table of fields. Options from memory are not among
    them: they may not let a batch pass. Returns Openings in the order of the file.
    """
    found = []
    for option in all_options():
        if option.sure == "memory" or not ({"all", region} & set(option.regions)):
            continue
        sets = sorted(option.needs, key=lambda need: _reaches(low, need), reverse=True)
        lacks = [_missing(low, need) for need in sets]
        found.append(Opening(option, () if not all(lacks) else lacks[0] if lacks else ()))
    return tuple(found)


# ------------------------------------------------------------------ readings


def _start(rows: tuple[Reading, ...], degrees: float, error: float) -> int | None:
    """Index of the last reading before the core may have fallen below ``degrees``."""
    hot = False
    for i, row in enumerate(rows):
        if row.temperature - error >= degrees - _HAIR:
            hot = True
        elif hot:
            return i - 1
    return len(rows) - 1 if hot else None


def _end(rows: tuple[Reading, ...], begin: int, degrees: float, error: float) -> int | None:
    """Index of the first reading after ``begin`` at which the core was surely down to ``degrees``."""
    return next((i for i in range(begin, len(rows)) if rows[i].temperature + error <= degrees + _HAIR), None)


def _crossing(rows: tuple[Reading, ...], degrees: float, after: float = float("-inf")) -> float | None:
    """The minute, from ``after`` on, at which the readings as they stand fall through ``degrees``, on a
    straight line between two."""
    for one, two in pairwise(rows):
        if two.minute < after:
            continue
        if one.temperature >= degrees - _HAIR and two.temperature < degrees:
            part = max(0.0, one.temperature - degrees) / (one.temperature - two.temperature)
            return max(after, one.minute + part * (two.minute - one.minute))
        if one.temperature > degrees == two.temperature:
            return two.minute
    return None


def _was_hot(rows: tuple[Reading, ...], degrees: float) -> bool:
    return any(row.temperature >= degrees - _HAIR for row in rows)


def _warmed(rows: tuple[Reading, ...], degrees: float) -> int | None:
    """Index of the last reading above ``degrees`` after the core was down to them, or None."""
    down = next((i for i, row in enumerate(rows) if row.temperature <= degrees + _HAIR), len(rows))
    over = _over(degrees)
    return next((i for i in range(len(rows) - 1, down, -1) if rows[i].temperature > over), None)


def _over(degrees: float) -> float:
    """Above this a core that was down to ``degrees`` has warmed up: what a probe swings by itself is allowed."""
    return degrees + STEADY + _HAIR


def _stayed_cold(rows: tuple[Reading, ...], degrees: float, begins: float, ends: float) -> float:
    """Minutes between two readings that are both cold: only they do not count where it warmed up again."""
    over = _over(degrees)
    return sum(two.minute - one.minute for one, two in pairwise(rows) if begins <= one.minute and two.minute <= ends and max(one.temperature, two.temperature) <= over)


def _pass(rows: tuple[Reading, ...], window: Window, error: float, out: float | None) -> Passed:
    first = _start(rows, window.starts, error)
    begins = rows[first].minute if first is not None else out
    now = rows[-1].minute
    again = _warmed(rows, window.ends)
    if again is not None:
        return _again(rows, window, error, rows[0].minute if begins is None else begins, again)
    last = _end(rows, first or 0, window.ends, error)
    sure = None if begins is None or last is None else rows[last].minute - begins
    if sure is not None and sure <= window.within + _HAIR:
        return Passed(window, "met", sure)
    return _as_read(rows, window, begins, sure, now, out)


def _again(rows: tuple[Reading, ...], window: Window, error: float, begins: float, again: int) -> Passed:
    """A window whose end was passed and lost again: all the time that it may have been above counts."""
    last = _end(rows, again, window.ends, error)
    until = rows[-1 if last is None else last].minute
    took = until - begins - _stayed_cold(rows, window.ends, begins, until)
    state = "missed" if took > window.within + _HAIR else "met" if last is not None else "as_read" if rows[-1].temperature <= window.ends + _HAIR else "running"
    return Passed(window, state, took, max(0.0, window.within - took) if state == "running" else None, rows[again].temperature)


def _as_read(rows: tuple[Reading, ...], window: Window, begins: float | None, sure: float | None, now: float, out: float | None) -> Passed:
    """A window that is not surely met: by the readings as they stand, running, or missed."""
    hot = _was_hot(rows, window.starts)
    from_minute = _crossing(rows, window.starts) if hot else rows[0].minute if out is None else out
    if from_minute is None:  # not yet below the start
        return Passed(window, "running", None, window.within)
    to_minute = _crossing(rows, window.ends, from_minute)
    if to_minute is None and not hot and rows[0].temperature <= window.ends:
        to_minute = rows[0].minute
    if to_minute is not None:
        took = to_minute - from_minute
        return Passed(window, "as_read" if took <= window.within + _HAIR else "missed", sure if sure is not None else took)
    took = now - (begins if begins is not None else from_minute)
    if now - from_minute > window.within + _HAIR:
        return Passed(window, "missed", took)
    return Passed(window, "running", took, max(0.0, window.within - took))


_WORST = ("met", "as_read", "running", "unseen", "missed")


def _rise(rows: tuple[Reading, ...], window: Window) -> float | None:
    """The temperature to which a core inside the window rose again, or None."""
    begin = _start(rows, window.starts, 0.0) or 0
    for one, two in pairwise(rows[begin:]):
        inside = window.ends <= one.temperature < window.starts
        if inside and two.temperature > one.temperature + _TABLE["steady"]:
            return two.temperature
    return None


# A slab 4 cm thick in stirred iced water: its middle falls by exp(-k t), k = (pi / 2)^2 x 1.3e-7 / 0.02^2
# per second (first term of the series; the delay before it is given away). Rule of this project.
_FASTEST_FALL = 60 * 2.467 * 1.3e-7 / 0.02**2  # 1/min
# Of a piece of a known thickness, the least of its sizes, nothing falls faster than a cube of it: three slabs' worth.
_OF_A_CUBE = 3 * 60 * 2.467 * 1.3e-7  # m2/min, over the square of half the thickness
_COLDEST_LEFT = 2.0  # K above the iced water, below which time says nothing
_SMALL_FALL = 15.0  # K; thin pieces fall faster, and show it by readings that lie closer together


def too_fast(readings: Iterable[tuple[float, float]], out: float | None = None, thickness: float | None = None) -> tuple[Reading, Reading] | None:
    """The first two readings between which the core fell faster than a middle can, or None.

    readings, out as for follow(); at ``out`` it counts as no hotter than 54.4 degC. thickness [m, above 0]:
    of the piece, None where nobody said; a thick one falls more slowly, a thin one counts as 4 cm.
    """
    fastest = _FASTEST_FALL if thickness is None else min(_FASTEST_FALL, _OF_A_CUBE / (thickness / 2) ** 2)
    rows = tuple(Reading(*row) for row in readings)
    if out is not None and rows:
        rows = (Reading(out, NO_CREDIT_BELOW), *rows)
    for one, two in pairwise(rows):
        hot, cold = one.temperature - STEADY, max(two.temperature + STEADY, _COLDEST_LEFT)
        if hot - cold > _SMALL_FALL and log(hot / cold) > fastest * (two.minute - one.minute) + _HAIR:
            return one, two
    return None


def follow(option: Option, readings: Iterable[tuple[float, float]], error: float = PROBE_ERROR, out: float | None = None) -> Followed:
    """One option against readings.

    option; readings: (minute, degC) of the core in the order of time, from before the first
    window begins; error [K, 0 to 5] of the probe; out [min]: when the meat left the heat, for
    readings that begin later. Returns a Followed. Raises WrongReadings, OutOfRange.
    """
    within("probe error", error, 0.0, 5.0)
    rows = checked(readings, not_before=out)
    # What was read while it heated is no cooling.
    heated = next((i for i, row in enumerate(rows) if row.temperature >= option.windows[0].starts - _HAIR), 0)
    rows = rows[heated:]
    passed = tuple(_pass(rows, window, error, out) for window in option.every_window)
    state = max((one.state for one in passed), key=_WORST.index)
    unseen = out is None and not _was_hot(rows, option.windows[0].starts)
    if unseen and state != "missed":
        state = "unseen"
    rose = _rise(rows, option.windows[0]) if option.always_falling and not unseen else None
    return Followed(option, "missed" if rose is not None else state, passed, rose)


def judge_cooling(
    low: Low, readings: Iterable[tuple[float, float]] = (), region: str = "strictest", error: float = PROBE_ERROR, out: float | None = None,
    thickness: float | None = None,
) -> Cooled:
    """Whether a cooling keeps to one of the options that are open.

    low: the low end of the product; readings: as for follow(), none for the plan alone;
    region: of the table of fields; error [K, 0 to 5]; out [min] as for follow(); thickness [m]
    as for too_fast().
    Returns a Cooled: "ok" where an option is met, "caution" where only the readings as they
    stand, or a grudging option, meet one, "incomplete" while one can still be met or where it
    fell faster than a middle can, "stop" and discard where all were missed. Without readings the verdict is "incomplete".
    Raises WrongReadings, OutOfRange.
    """
    options = openings(low, region)
    plan = _plan(options)
    rows = tuple(readings)
    if not rows:
        return Cooled(options, (), (*plan, Finding("cooling_not_measured", "incomplete", "cooling_readings")))
    followed = tuple(follow(one.option, rows, error, out) for one in options if one.open)
    found = _found(followed, rows[0][1])
    fell = too_fast(rows, out, thickness)
    if fell is not None and verdict(found) != "stop":
        one, two = fell
        figures = {"from": Figure(one.temperature, "degC"), "to": Figure(two.temperature, "degC"), "took": Figure(two.minute - one.minute, "min")}
        found = (Finding("cooling_too_fast", "incomplete", "cooling_readings", figures),)
    return Cooled(options, followed, (*plan, *found))


def _plan(options: tuple[Opening, ...]) -> tuple[Finding, ...]:
    """What is said before anything is measured: which slow rule the cure does not open, and why."""
    found = []
    for one in options:
        if not one.open and one.option.id in ("cured_slow", "cured_slowest", "uk_cured"):
            name, needed = one.missing[0]
            unit = {"nitrite": "mg/kg", "accelerator": "mg/kg", "brine": "percent", "aw": "1", "intact": "1"}[name]
            found.append(Finding(f"cooling_closed_{name}", "note", "", {"needed": Figure(needed, unit, "up")}, {"option": f"cooling.{one.option.id}"}, one.option.source))
    return tuple(found)


def _found(followed: tuple[Followed, ...], first: float) -> tuple[Finding, ...]:
    """The mildest of what the open options say, and the figures of the window that decides.
    first: of the readings [degC]."""
    def rank(one: Followed) -> tuple[int, bool]:
        # Of several missed, one that only rose says most.
        return _WORST.index(one.state) + (1 if one.state == "met" and one.option.grudging else 0), one.rose is None

    best = min(followed, key=rank)
    alike = [one for one in best.windows if one.state == best.state] or list(best.windows)
    window = alike[0] if best.state == "running" else max(alike, key=lambda one: (one.took or 0.0) / one.window.within)
    figures = {
        "from": Figure(window.window.starts, "degC"), "to": Figure(window.window.ends, "degC"),
        "within": Figure(window.window.within, "min", "down"),
    }
    if window.took is not None:
        figures["took"] = Figure(window.took, "min", "up")
    ids = {"option": f"cooling.{best.option.id}"}
    if best.rose is not None and best.state == "missed":
        return (Finding("cooling_rose", "stop", "cooling_readings", figures | {"rose": Figure(best.rose, "degC", "up")}, ids, best.option.source),)
    if best.state == "unseen":
        seen = {"first": Figure(first, "degC"), "from": Figure(best.option.windows[0].starts, "degC")}
        return (Finding("cooling_start_unseen", "incomplete", "cooling_readings", seen, ids),)
    if best.state == "running":
        warmed = next((one for one in best.windows if one.state == "running" and one.warmed is not None), None)
        if warmed is not None:
            seen = {"warmed": Figure(warmed.warmed, "degC", "up"), "to": Figure(warmed.window.ends, "degC"), "left": Figure(warmed.left, "min", "down")}
            return (Finding("cooling_warmed", "incomplete", "cooling_readings", seen, ids, best.option.source),)
        figures["left"] = Figure(window.left, "min", "down")
    code, severity = {
        "met": ("cooling_grudging", "caution") if best.option.grudging else ("cooling_met", "note"),
        "as_read": ("cooling_as_read", "caution"), "running": ("cooling_running", "incomplete"), "missed": ("cooling_missed", "stop"),
    }[best.state]
    return (Finding(code, severity, "cooling_readings", figures, ids, best.option.source),)


# ------------------------------------------------------------------ beforehand


@dataclass(frozen=True)
class Forecast:
    """What a predicted cooling would meet, and what to do about it beforehand."""

    followed: tuple[Followed, ...]
    findings: tuple[Finding, ...]
    advice: tuple[str, ...]  # ids of advice, the first to be tried first

    @property
    def verdict(self) -> str:
        return verdict(self.findings)


def judge_forecast(low: Low, curve: Iterable[tuple[float, float]], region: str = "strictest", grams: float | None = None) -> Forecast:
    """Whether a predicted cooling would keep to an open option: a prediction, never a proof.

    low; curve: (minute, degC) of the core, on its slow side; region; grams: weight of
    the piece [g, above 0], None where not known. Returns a Forecast: "ok" or "caution", with
    advice where none is met. Raises WrongReadings.
    """
    rows = tuple(curve)
    options = [one.option for one in openings(low, region) if one.open]
    followed = tuple(follow(option, rows, 0.0) for option in options)
    good = [one for one in followed if one.state in ("met", "as_read") and not one.option.grudging]
    if good:
        return Forecast(followed, (Finding("cooling_forecast_meets", "note", "", {}, {"option": f"cooling.{good[0].option.id}"}, good[0].option.source),), ())
    advice = tuple(row["id"] for row in _TABLE["advice"])
    figures = {"weight": Figure(grams, "g")} if grams else {}
    return Forecast(followed, (Finding("cooling_forecast_misses", "caution", "", figures),), advice)
