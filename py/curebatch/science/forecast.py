"""When the core will be there: come-up in oven, steam or bath, and the fall afterwards.

A forecast, never a judgement: the thermometer decides. Every result is a range,
with what makes it wide. Each cause is taken to both of its ends by itself, and
their effects are added as squares: they have nothing to do with each other.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil, hypot, inf, log

from . import surfaces
from .conduction import Axis, Place, Run, Solid, ball, box, roll, sheet
from .surfaces import NOMINAL, Around, Choice, Film
from .thermal_properties import Composition, OutOfRange, conductivity, density, specific_heat, within

SIZES = {"box": ("length", "width", "height"), "roll": ("diameter", "length"), "ball": ("diameter",), "sheet": ("thickness",)}
THINNEST, THICKEST, LONGEST_SIDE = 0.01, 0.4, 0.999  # m: below and above, nothing here was checked

FROZEN = -1.0  # C: colder meat may hold ice, which these series do not melt
HOTTEST_CORE = 98.0  # C: past this the water boils
LONGEST = 24 * 60.0  # min in the oven
LONGEST_COLD = 72 * 60.0  # min of cooling
ROOM = 20.0  # C
NEAR = 0.5  # K: how near to its surroundings a core is foretold

DIFFUSIVITY_SPREAD = 0.12  # of itself; working value for meat batters 1.30e-7 m2/s +/- 12 %
START_SPREAD = 2.0  # K; estimate of this project: one reading in one place
SIZE_SPREAD = 0.03  # of each size; estimate of this project: a tin's middle width, a roll that sags
BIGGER = 1.1  # the sizes for which the effect is told, each times this
WARMER = 10.0  # K: the change of the setting for which the effect is told
POINTS = 60  # of a curve
RAMP_STEPS = 8  # into which the warming of a cold oven is cut


class NoForecast(ValueError):
    """There is no time to give, and why.

    code: "frozen", "warmer_than_target", "warmer_than_surroundings", "never_reaches", "too_slow",
    "does_not_heat", "does_not_cool", "colder_than_surroundings"; values: numbers for its sentence.
    """

    def __init__(self, code: str, **values: float):
        super().__init__(f"{code} {values}")
        self.code, self.values = code, values


@dataclass(frozen=True)
class Piece:
    """One piece as it goes in.

    shape: "box" (length, width, height; a loaf or its tin), "roll" (diameter, length), "ball"
    (diameter) or "sheet" (thickness); sizes [m], the smallest 0.01 to 0.4, none over 0.999;
    start: temperature throughout [C, -1 to 98]; conductivity [W/mK]; density [kg/m3];
    specific_heat [J/kgK]. Raises OutOfRange, NoForecast.
    """

    shape: str
    sizes: tuple[float, ...]
    start: float
    conductivity: float
    density: float
    specific_heat: float

    def __post_init__(self) -> None:
        if len(SIZES[self.shape]) != len(self.sizes):
            raise ValueError(f"a {self.shape} has {SIZES[self.shape]}")
        if self.start < FROZEN:
            raise NoForecast("frozen", start=self.start)
        within("start", self.start, FROZEN, HOTTEST_CORE)
        for name, size in zip(SIZES[self.shape], self.sizes):
            within(name, size, THINNEST, LONGEST_SIDE)
        if min(self.sizes) > THICKEST:
            raise OutOfRange(SIZES[self.shape][0], min(self.sizes), THINNEST, THICKEST)

    @classmethod
    def of(cls, shape: str, sizes: tuple[float, ...], start: float, composition: Composition, target: float) -> Piece:
        """A piece made of ``composition``, its properties taken half way from ``start`` to ``target`` [C]."""
        middle = max((start + target) / 2, 0.0)
        return cls(
            shape, sizes, start, conductivity(composition, middle), density(composition, middle), specific_heat(composition, middle)
        )

    @property
    def top_share(self) -> float:
        """The top's share of the surface, all that is open in a tin [-]."""
        if self.shape == "box":
            length, width, height = self.sizes
            return length * width / 2 / (length * width + length * height + width * height)
        if self.shape == "roll":
            diameter, length = self.sizes
            return diameter / (2 * diameter + 4 * length)
        return 0.5

    def axes(self, film: Film) -> tuple[Axis, ...]:
        """The directions of the piece in that film."""
        if self.shape == "box":
            return box(*self.sizes, (film.h, film.h, film.h_top))
        if self.shape == "roll":
            return roll(*self.sizes, film.h, film.h_top)
        return ball(*self.sizes, film.h) if self.shape == "ball" else sheet(*self.sizes, film.h_top)

    def solid(self, film: Film, slowness: float = 1.0, size: float = 1.0) -> Solid:
        """The piece in that film.

        slowness: its heat capacity times this [-]; size: every size times this [-], put in as
        what it comes to: so much more surface coefficient, and its square in capacity.
        """
        like = replace(film, h=film.h * size, h_top=film.h_top * size)
        return Solid(self.axes(like), self.conductivity, self.density, self.specific_heat * slowness * size * size)


@dataclass(frozen=True)
class Range:
    """Minutes [min]: low, nominal, high. None: not within the longest that is foretold."""

    low: float | None
    nominal: float | None
    high: float | None


@dataclass(frozen=True)
class Reason:
    """What makes a range wide: how much later and how much sooner it may make the end [min].

    code: "surface", "wetness", "layers", "oven" or "bath" or "cold_air", "diffusivity", "start" or "size";
    later is None where this alone may keep the core from its target.
    """

    code: str
    later: float | None
    sooner: float


@dataclass(frozen=True)
class CarryOver:
    """How the core goes on rising once the piece is out: to ``peak`` [C], ``minutes`` after."""

    peak: float
    minutes: float


@dataclass(frozen=True)
class Learnt:
    """What readings taught about a kitchen's way of heating, to be kept for the next piece.

    rate: how much quicker than foretold the core follows [-]; offset: how much warmer it is around
    the piece [K]; each with its standard deviation (that of the rate in its logarithm), None
    where nothing was learnt.
    """

    rate: float = 1.0
    offset: float = 0.0
    rate_sd: float | None = None
    offset_sd: float | None = None


NOTHING_LEARNT = Learnt()


@dataclass(frozen=True)
class Heat:
    """How a piece is heated.

    around: what it stands in; cold_oven: minutes that the oven takes to its setting with the piece
    in it [min, 0 to 120]; changes: (minute, setting [C]) where the setting was changed on the way, in
    order; learnt: of this kitchen. Raises OutOfRange.
    """

    around: Around
    cold_oven: float = 0.0
    changes: tuple[tuple[float, float], ...] = ()
    learnt: Learnt = NOTHING_LEARNT

    def __post_init__(self) -> None:
        within("cold_oven", self.cold_oven, 0.0, 120.0)
        before = 0.0
        for minute, _ in self.changes:
            before = within("minute of the change", minute, before, LONGEST)

    def set_to(self, setting: float) -> Heat:
        """The same with another setting from the start, and no changes [C]."""
        return replace(self, around=replace(self.around, setting=setting), changes=())


@dataclass(frozen=True)
class Forecast:
    """What is foretold of one piece.

    minutes: to the target; reasons: the widest first; curve: (minute, low, nominal, high) of the
    core [C]; bigger: minutes where every size is a tenth more; warmer, cooler: minutes with the
    setting 10 K up and down, None where it cannot be set or never gets there; settles: what the
    surface comes to [C]; carry_over: where the piece is taken out at the nominal time.
    """

    minutes: Range
    reasons: tuple[Reason, ...]
    curve: tuple[tuple[float, float, float, float], ...]
    bigger: float | None
    warmer: float | None
    cooler: float | None
    settles: float
    carry_over: CarryOver


@dataclass(frozen=True)
class Case:
    """One way it may really be.

    choice: which ends of the surface's spans; slowness: heat capacity times this [-]; start: K
    on top of the piece's own; size: every size times this [-].
    """

    choice: Choice = NOMINAL
    slowness: float = 1.0
    start: float = 0.0
    size: float = 1.0


def core_at(solid: Solid, start: float, steps: Sequence[tuple[float, float]], minute: float, place: Place | None = None) -> float:
    """Temperature of a piece after surroundings that changed in steps.

    solid; start [C]; steps: (from minute, surroundings [C]), the first from 0; minute: [min];
    place: the core where None. Returns [C]. Source: superposition of step responses (Duhamel).
    """
    place = place or solid.core
    value, before = start, start
    for since, around in steps:
        if since > minute:
            break
        value += (around - before) * (1 - solid.left(60 * (minute - since), place))
        before = around
    return value


def reaches(solid: Solid, start: float, steps: Sequence[tuple[float, float]], target: float, longest: float) -> float | None:
    """The first minute at which the core has come up to ``target`` [C], or None within ``longest`` [min]."""
    last = steps[-1][1]
    if last > target and len(steps) == 1:
        minute = solid.time_for((last - target) / (last - start), solid.core) / 60 if target > start else 0.0
        return minute if minute <= longest else None
    return _crossing(lambda minute: core_at(solid, start, steps, minute), target, longest, 96)


def _crossing(curve: Callable[[float], float], target: float, longest: float, looks: int) -> float | None:
    low = 0.0
    if curve(low) >= target:
        return low
    # Closer looks at the beginning: the time is asked for in per cent of itself.
    for n in range(1, looks + 1):
        high = longest * (n / looks) ** 2
        if curve(high) >= target:
            break
        low = high
    else:
        return None
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (low, middle) if curve(middle) >= target else (middle, high)
    return (low + high) / 2


class Heating:
    """A piece in its surroundings, in one case; what fit and forecast compute with."""

    def __init__(self, piece: Piece, heat: Heat, case: Case = Case()):
        self.start = piece.start + case.start
        self.film = self._film(piece, heat.around, case)
        self.solid = piece.solid(self.film, case.slowness / heat.learnt.rate, case.size)
        settings = [self._film(piece, replace(heat.around, setting=setting), case).temperature for _, setting in heat.changes]
        changes = tuple((minute, around) for (minute, _), around in zip(heat.changes, settings))
        warming = _warming(self.film.temperature, heat.cold_oven)
        if changes:
            warming = tuple(step for step in warming if step[0] < changes[0][0])
        self.steps = tuple((minute, around + heat.learnt.offset) for minute, around in (*warming, *changes))
        last = self._film(piece, replace(heat.around, setting=heat.changes[-1][1]), case) if changes else self.film
        self.settles = last.settles + heat.learnt.offset

    def _film(self, piece: Piece, around: Around, case: Case) -> Film:
        return surfaces.film(around, self.start, case.choice, piece.top_share)

    def at(self, minute: float) -> float:
        """Core [C] at ``minute``."""
        return core_at(self.solid, self.start, self.steps, minute)

    def minutes(self, target: float) -> float | None:
        """Minutes to ``target`` [C], or None."""
        if target > self.settles - NEAR:
            return None
        return reaches(self.solid, self.start, self.steps, target, LONGEST)


def _warming(around: float, minutes: float) -> tuple[tuple[float, float], ...]:
    """An oven that takes ``minutes`` to its setting, as steps; at once for 0."""
    if not minutes:
        return ((0.0, around),)
    parts = ((n + 0.5) / RAMP_STEPS for n in range(RAMP_STEPS))
    return ((0.0, ROOM), *((part * minutes, ROOM + (n + 1) / RAMP_STEPS * (around - ROOM)) for n, part in enumerate(parts)))


def _spread(row: surfaces.Medium, learnt: Learnt) -> tuple[float, float]:
    """How far the surroundings may lie below and above what they are set to [K]."""
    down, up = -row.spread, row.spread
    if row.stays_below is not None:
        down, up = row.stays_below.low - row.stays_below.nominal, row.stays_below.high - row.stays_below.nominal
    if learnt.offset_sd is not None:
        down, up = max(down, -2 * learnt.offset_sd), min(up, 2 * learnt.offset_sd)
    return down, up


def _named(row: surfaces.Medium) -> str:
    """What the cook calls surroundings that are not what they are set to."""
    if row.moisture is None:
        return "bath"
    return "oven" if row.kind == "heats" else "cold_air"


def causes(around: Around, learnt: Learnt = NOTHING_LEARNT) -> list[tuple[str, Case, Case]]:
    """What makes the end uncertain: (code, the case that is slower as a rule, the quicker one)."""
    row, over, side = surfaces.medium(around.medium), surfaces.cover(around.cover), surfaces.wall(around.wall)
    down, up = _spread(row, learnt)
    found = [
        ("surface", Case(Choice(h="low")), Case(Choice(h="high"))),
        (_named(row), Case(Choice(oven=down)), Case(Choice(oven=up))),
        ("diffusivity", Case(slowness=1 / (1 - DIFFUSIVITY_SPREAD)), Case(slowness=1 / (1 + DIFFUSIVITY_SPREAD))),
        ("start", Case(start=-START_SPREAD), Case(start=START_SPREAD)),
        ("size", Case(size=1 + SIZE_SPREAD), Case(size=1 - SIZE_SPREAD)),
    ]
    if row.moisture is not None and over.wetness.high:
        found.append(("wetness", Case(Choice(wetness="high")), Case(Choice(wetness="low"))))
    if over.resistance.high or side.resistance.high:
        found.append(("layers", Case(Choice(layers="high")), Case(Choice(layers="low"))))
    return found


def _check_heating(piece: Piece, heat: Heat, target: float) -> tuple[Heating, float]:
    """The nominal case and its minutes to the target, or NoForecast."""
    within("target", target, FROZEN, HOTTEST_CORE)
    if surfaces.medium(heat.around.medium).kind != "heats":
        raise NoForecast("does_not_heat", setting=heat.around.setting)
    if piece.start >= target:
        raise NoForecast("warmer_than_target", start=piece.start, target=target)
    heating = Heating(piece, heat)
    if piece.start >= heating.settles - NEAR:
        raise NoForecast("warmer_than_surroundings", start=piece.start, settles=heating.settles)
    if target > heating.settles - NEAR:
        raise NoForecast("never_reaches", target=target, settles=heating.settles)
    minutes = heating.minutes(target)
    if minutes is None:
        raise NoForecast("too_slow", target=target, hours=LONGEST / 60)
    return heating, minutes


def minutes_to(piece: Piece, heat: Heat, target: float) -> float:
    """Nominal minutes until the core is at ``target`` [C, to 98]. Raises NoForecast, OutOfRange, UnknownSurface."""
    return _check_heating(piece, heat, target)[1]


@lru_cache(maxsize=16)
def forecast(piece: Piece, heat: Heat, target: float) -> Forecast:
    """Come-up of one piece: minutes as a range, the reasons, the curve, what size and oven do.

    piece; heat: how it is heated; target: of the core [C, to 98].
    Returns Forecast. Raises NoForecast, OutOfRange, UnknownSurface.
    """
    nominal, minutes = _check_heating(piece, heat, target)
    cases = [(code, [Heating(piece, heat, case) for case in ends]) for code, *ends in causes(heat.around, heat.learnt)]
    reasons = [_reason(code, minutes, [end.minutes(target) for end in ends]) for code, ends in cases]
    span = _range(minutes, reasons)
    return Forecast(
        span,
        _widest_first(reasons),
        _curve(nominal, [ends for _, ends in cases], min(1.15 * (span.high or 2 * minutes), LONGEST)),
        Heating(piece, heat, Case(size=BIGGER)).minutes(target),
        _other_setting(piece, heat, target, WARMER),
        _other_setting(piece, heat, target, -WARMER),
        nominal.settles,
        carry_over(piece, heat, minutes),
    )


def _widest_first(reasons: Sequence[Reason]) -> tuple[Reason, ...]:
    return tuple(sorted(reasons, key=lambda reason: -(inf if reason.later is None else reason.later + reason.sooner)))


def _reason(code: str, nominal: float, ends: Sequence[float | None]) -> Reason:
    known = [end for end in ends if end is not None]
    later = None if len(known) < len(ends) else max(0.0, *(end - nominal for end in known))
    return Reason(code, later, max([0.0, *(nominal - end for end in known)]))


def _range(nominal: float, reasons: Sequence[Reason]) -> Range:
    low = max(nominal - hypot(*(reason.sooner for reason in reasons)), 0.0)
    if any(reason.later is None for reason in reasons):
        return Range(low, nominal, None)
    return Range(low, nominal, nominal + hypot(*(reason.later for reason in reasons)))


def _step(minutes: float) -> float:
    return next((step for step in (1.0, 2.0, 5.0, 10.0, 15.0, 30.0) if step * POINTS >= minutes), 60.0)


def _curve(nominal: Heating, cases: list[list[Heating]], minutes: float) -> tuple[tuple[float, float, float, float], ...]:
    step = _step(minutes)
    rows = []
    for n in range(ceil(minutes / step) + 1):
        minute = n * step
        middle = nominal.at(minute)
        ends = [[case.at(minute) - middle for case in pair] for pair in cases]
        low, high = (hypot(*(max(0.0, *(sign * end for end in pair)) for pair in ends)) for sign in (-1, 1))
        rows.append((minute, middle - low, middle, middle + high))
    return tuple(rows)


def _other_setting(piece: Piece, heat: Heat, target: float, change: float) -> float | None:
    try:
        return Heating(piece, heat.set_to(heat.around.setting + change)).minutes(target)
    except OutOfRange:
        return None


@dataclass(frozen=True)
class Setting:
    """The setting that meets the hour.

    code: "found", "too_slow" (even the hottest setting takes longer) or "too_quick" (even the coolest
    that gets there at all takes less); setting [C] and the ``minutes`` that it takes [min].
    """

    code: str
    setting: float
    minutes: float


def setting_for(piece: Piece, heat: Heat, target: float, minutes: float) -> Setting:
    """The setting at which the core is at ``target`` after ``minutes``.

    heat: its setting and changes are not looked at; target [C, to 98]; minutes: wanted [min, 1 to 1440].
    Returns Setting. Raises NoForecast where no setting gets there, OutOfRange.
    """
    within("minutes", minutes, 1.0, LONGEST)
    low, high = surfaces.medium(heat.around.medium).setting

    def takes(setting: float) -> float:
        found = Heating(piece, heat.set_to(setting)).minutes(target)
        return inf if found is None else found

    _check_heating(piece, heat.set_to(high), target)
    if takes(high) > minutes:
        return Setting("too_slow", high, takes(high))
    if takes(low) <= minutes:
        return Setting("too_quick" if takes(low) < minutes else "found", low, takes(low))
    while high - low > 0.1:
        middle = (low + high) / 2
        low, high = (low, middle) if takes(middle) <= minutes else (middle, high)
    # A degree below the coolest setting that gets there it never does: then the end lies far off.
    return Setting("found" if takes(high) > 0.95 * minutes else "too_quick", high, takes(high))


def carry_over(piece: Piece, heat: Heat, minutes: float, room: float = ROOM) -> CarryOver:
    """How far the core still rises in the room, in its tin and cover.

    piece, heat: how it was cooked; minutes: in the heat [min]; room [C, 5 to 35].
    Returns CarryOver. Raises OutOfRange.
    """
    run = _cooked(piece, heat, minutes)
    rest = Around("room_air", room, heat.around.cover, heat.around.wall)
    film = surfaces.film(rest, run.surface, NOMINAL, piece.top_share)
    run = run.carry(piece.solid(film), film.temperature)
    peak, at = run.core, 0.0
    for n in range(1, 181):
        run.advance(60.0)
        now = run.core
        if now < peak:
            break
        peak, at = now, float(n)
    return CarryOver(peak, at)


def _cooked(piece: Piece, heat: Heat, minutes: float) -> Run:
    heating = Heating(piece, heat)
    (_, around), *later = heating.steps
    run = Run(heating.solid, heating.start, around)
    for minute, around in later:
        if minute < minutes:
            run.advance(60 * minute - run.seconds)
            run.jump(around)
    run.advance(60 * within("minutes", minutes, 0.0, LONGEST) - run.seconds)
    return run


@dataclass(frozen=True)
class Window:
    """One stretch of a cooling option: core from ``start`` to ``end`` [C] within ``limit`` [min]; foretold in ``minutes``."""

    start: float
    end: float
    limit: float
    minutes: Range


@dataclass(frozen=True)
class Option:
    """A cooling option and whether it will be met.

    code: "met" (also at the slow end), "unsure" (nominally, or at the quick end only) or "missed".
    """

    id: str
    code: str
    windows: tuple[Window, ...]


@dataclass(frozen=True)
class Cooling:
    """How one piece cools. curve: (minute, low, nominal, high) of the core [C]; settles [C]; reasons as for Forecast."""

    curve: tuple[tuple[float, float, float, float], ...]
    options: tuple[Option, ...]
    settles: float
    reasons: tuple[Reason, ...]


class _Fall:
    """The core on its way down, in one case: looks close together at first, far apart later."""

    def __init__(self, piece: Piece, cooked: Run, around: Around, case: Case):
        film = surfaces.film(around, cooked.surface, case.choice, piece.top_share)
        solid = piece.solid(film, case.slowness)
        run = cooked.carry(solid, film.temperature)
        self.settles = film.settles
        lag = 1 / sum(series.rates[0] for series in solid.series)
        self.minutes, self.cores = [0.0], [run.core]
        self._around = film.temperature
        for count, step in ((24, lag / 12), (20, lag / 2)):
            for _ in range(count):
                run.advance(step)
                self.minutes.append(self.minutes[-1] + step / 60)
                self.cores.append(run.core)

    def passes(self, temperature: float) -> float | None:
        """The minute after which the core stays below ``temperature``, or None."""
        if self.cores[-1] > temperature:
            return None
        n = len(self.cores) - 1
        while n and self.cores[n - 1] <= temperature:
            n -= 1
        if not n:
            return 0.0
        share = self._share(self.cores[n - 1], self.cores[n], temperature)
        minute = self.minutes[n - 1] + share * (self.minutes[n] - self.minutes[n - 1])
        return minute if minute <= LONGEST_COLD else None

    def _share(self, before: float, after: float, between: float) -> float:
        """Where between two looks: by the straight line at the top, by the decay to the surroundings further down."""
        above, below, wanted = (core - self._around for core in (before, after, between))
        if wanted <= 0 or below <= 0 or below > 0.9 * above:
            return (before - between) / (before - after)
        return log(above / wanted) / log(above / below)

    def at(self, minute: float) -> float:
        """Core [C] at ``minute``."""
        if minute >= self.minutes[-1]:
            return self.cores[-1]
        n = bisect_right(self.minutes, minute)
        share = (minute - self.minutes[n - 1]) / (self.minutes[n] - self.minutes[n - 1])
        above, below = (self.cores[i] - self._around for i in (n - 1, n))
        if below <= 0 or below > 0.9 * above:
            return self.cores[n - 1] + share * (self.cores[n] - self.cores[n - 1])
        return self._around + above * (below / above) ** share

    def takes(self, start: float, end: float) -> float | None:
        """Minutes from ``start`` to ``end`` [C]; from the beginning where the core never was so hot."""
        done = self.passes(end)
        return None if done is None else done - (self.passes(start) or 0.0)


def cool(
    piece: Piece,
    cooked: tuple[Heat, float] | float,
    around: Around,
    options: Mapping[str, Sequence[tuple[float, float, float]]],
    *,
    down_to: float = 5.0,
) -> Cooling:
    """Cooling of one piece, and which cooling options it will meet.

    cooked: how it was heated and for how many minutes, so that its temperatures are carried on, or
    one temperature throughout [C]; around: what cools it; options: id -> stretches (from [C], to [C],
    within [min]), all of which must be met; down_to: how far the curve is drawn [C].
    Returns Cooling. Raises NoForecast, OutOfRange, UnknownSurface.
    """
    if surfaces.medium(around.medium).kind != "chills":
        raise NoForecast("does_not_cool", setting=around.setting)
    if isinstance(cooked, tuple):
        run = _cooked(piece, *cooked)
    else:
        film = surfaces.film(around, within("core", cooked, FROZEN, HOTTEST_CORE), NOMINAL, piece.top_share)
        run = Run(piece.solid(film), cooked, cooked)
    if run.core <= around.setting + NEAR:
        raise NoForecast("colder_than_surroundings", core=run.core, setting=around.setting)
    unsure = [cause for cause in causes(around) if cause[0] not in ("start", "size")]
    nominal = _Fall(piece, run, around, Case())
    cases = [(code, [_Fall(piece, run, around, case) for case in ends]) for code, *ends in unsure]
    found = tuple(_option(id, stretches, nominal, cases) for id, stretches in options.items())
    # The reasons are those of the longest stretch that was asked for, else of the whole curve.
    longest = max((w for o in found for w in o.windows), key=lambda w: w.minutes.nominal or inf, default=None)
    start, end = (longest.start, longest.end) if longest else (HOTTEST_CORE, down_to)
    return Cooling(
        _fall_curve(nominal, cases, down_to),
        found,
        nominal.settles,
        _widest_first(_fall_reasons(start, end, nominal, cases)),
    )


def _fall_reasons(start: float, end: float, nominal: _Fall, cases: list) -> list[Reason]:
    minutes = nominal.takes(start, end)
    return [] if minutes is None else [_reason(code, minutes, [fall.takes(start, end) for fall in falls]) for code, falls in cases]


def _option(id: str, stretches: Sequence[tuple[float, float, float]], nominal: _Fall, cases: list) -> Option:
    windows = []
    for start, end, limit in stretches:
        minutes = nominal.takes(start, end)
        if minutes is None:
            quick = [m for _, falls in cases for fall in falls if (m := fall.takes(start, end)) is not None]
            windows.append(Window(start, end, limit, Range(min(quick, default=None), None, None)))
        else:
            windows.append(Window(start, end, limit, _range(minutes, _fall_reasons(start, end, nominal, cases))))
    return Option(id, _verdict(windows), tuple(windows))


def _verdict(windows: Sequence[Window]) -> str:
    def all_within(end: str) -> bool:
        return all((getattr(w.minutes, end) if getattr(w.minutes, end) is not None else inf) <= w.limit for w in windows)

    if all_within("high"):
        return "met"
    return "unsure" if all_within("low") else "missed"


def _fall_curve(nominal: _Fall, cases: list, down_to: float) -> tuple[tuple[float, float, float, float], ...]:
    # Where it never gets so far down, until it has all but settled.
    end = nominal.passes(down_to) or nominal.minutes[len(nominal.minutes) * 3 // 5]
    step = _step(min(1.15 * end, LONGEST_COLD))
    rows = []
    for n in range(ceil(min(1.15 * end, LONGEST_COLD) / step) + 1):
        middle = nominal.at(n * step)
        ends = [[fall.at(n * step) - middle for fall in falls] for _, falls in cases]
        low, high = (hypot(*(max(0.0, *(sign * end for end in pair)) for pair in ends)) for sign in (-1, 1))
        rows.append((n * step, middle - low, middle, middle + high))
    return tuple(rows)


