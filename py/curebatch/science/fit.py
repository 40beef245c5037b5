"""The thermometer corrects the forecast: rate, surroundings, start and the probe's place, fitted to readings.

Four unknowns are estimated together, each with a prior from the spreads of the
forecast itself: how much quicker the core follows, how much warmer it is around
the piece, where the piece started, and how far off the centre the probe sits.
The last makes a probe in the wrong place count as such, not as a hot oven. What
comes out is the most likely set and how sure it is; the end is told for the
centre, wherever the probe sits. Readings far from everything that fits lose
their weight (Student's t, let in from wide to narrow) and are named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, hypot, inf, log, sqrt

from . import surfaces
from .conduction import Place, Solid
from .forecast import LONGEST, NEAR, Heat, Heating, Learnt, NoForecast, Piece, Range, causes
from .readings import Reading, WrongReadings, checked
from .thermal_properties import within

NOISE = 0.5  # K, of one household reading; estimate of this project
MODEL = 0.5  # K, by which the model may miss even where all is known; estimate of this project
FREEDOM = 4.0  # of Student's t: how soon a stray reading loses its weight
ODD = 4.0  # so many standard deviations off, a reading is named
SURE = 1.645  # standard deviations either way of the range told: nineteen ends in twenty lie below its high end
PLACE_MEAN, PLACE_SD = 0.02, 0.03  # square of the probe's distance from the centre over the half thickness
PLACE_MOST = 0.3
AT_SURFACE = (0.8, 0.2)  # the same, of a probe that touches tin or surface
PIECES_DIFFER = 0.08  # logarithm of the rate from one piece to the next in one kitchen; estimate of this project
DAYS_DIFFER = 3.0  # K of the surroundings, the same; estimate of this project
LEAST_RATE = 0.03  # logarithm of the rate: so much stays unknown whatever the spreads say
LEAST_SPREAD = 1.0  # K of the surroundings, and as much of the start
LONGEST_STEP = (0.4, 40.0, 5.0, 0.15)  # of the four unknowns, in one round of the fit
FEW = 3  # readings below which nothing is said about the end


@dataclass(frozen=True)
class Odd:
    """A reading that does not fit: its index, what was read, and what was expected there [C].

    code: "odd_reading" (apart from the others) or "hotter_than_surroundings" (nothing in there is so hot).
    """

    code: str
    index: int
    read: float
    expected: float


@dataclass(frozen=True)
class Fitted:
    """The forecast after readings.

    minutes: from the start until the centre is at the target; core: of the centre at the last reading
    [C]; left: minutes from the last reading, nominal; odd: readings that do not fit; sure: half width of the
    range over the nominal end [-]; curve: (minute, low, nominal, high) of the centre [C];
    off_centre: the probe's distance from the centre over half thickness [-]; learnt: to be kept;
    codes: "probe_at_surface", "readings_disagree", "too_few_readings", "never_reaches";
    verdict: "turn_down", "fine" or "late" where an hour was wanted, "done" when the centre is there;
    setting: that would meet the hour from now on [C], None where none was wanted or none does.
    """

    minutes: Range
    core: float
    left: float | None
    odd: tuple[Odd, ...]
    sure: float | None
    curve: tuple[tuple[float, float, float, float], ...]
    off_centre: float
    learnt: Learnt
    codes: tuple[str, ...]
    verdict: str | None
    setting: float | None


@dataclass(frozen=True)
class _Prior:
    """What is thought of the four unknowns before any reading: log rate, surroundings [K], start [K], square of the place.

    precision: the inverse of their covariance. A wetter surface is a cooler one that takes heat in
    more quickly, so the first two are not independent.
    """

    mean: tuple[float, float, float, float]
    precision: tuple[tuple[float, ...], ...]
    offset_sd: float

    def pull(self, unknown: Sequence[float]) -> list[float]:
        """How the prior draws the unknowns back to its mean."""
        off = [mean - value for mean, value in zip(self.mean, unknown)]
        return [sum(p * o for p, o in zip(row, off)) for row in self.precision]

    def misfit(self, unknown: Sequence[float]) -> float:
        """Squared distance from the mean, in standard deviations."""
        return sum((value - mean) * -pull for value, mean, pull in zip(unknown, self.mean, self.pull(unknown)))


class _Model:
    """The reading to expect, as a function of the four unknowns."""

    def __init__(self, heating: Heating):
        self.solid: Solid = heating.solid
        self.start = heating.start
        self.steps = heating.steps
        halves = [axis.half for axis in self.solid.axes]
        self._nearest = halves.index(min(halves))
        self._places: dict[float, Place] = {}

    def place(self, square: float) -> Place:
        """The probe's place, off towards the nearest face."""
        if square not in self._places:
            fractions = [0.0] * len(self.solid.axes)
            fractions[self._nearest] = sqrt(min(max(square, 0.0), 1.0))
            self._places[square] = self.solid.place(*fractions)
        return self._places[square]

    def parts(self, unknown: Sequence[float], minute: float) -> tuple[float, float, float]:
        """Reading [C], and its slopes by surroundings and by start [-]."""
        rate, offset, start, square = unknown
        place, quick = self.place(square), exp(rate)
        begin = self.start + start
        value, before, warmed = begin, begin, 0.0
        for n, (since, around) in enumerate(self.steps):
            if since > minute:
                break
            gone = 1 - self.solid.left(60 * quick * (minute - since), place)
            value += (around + offset - before) * gone
            before = around + offset
            if not n:
                warmed = gone
        return value, warmed, 1 - warmed

    def core(self, unknown: Sequence[float], minute: float) -> float:
        return self.parts((*unknown[:3], 0.0), minute)[0]

    def done(self, unknown: Sequence[float], target: float) -> float | None:
        """When the centre is at ``target`` [C], the setting staying as it is; None within the longest."""
        if self.steps[-1][1] + unknown[1] < target + NEAR:
            return None
        since, longest = self.steps[-1][0], LONGEST
        low, high = 0.0, max(2 * since, 60.0)
        if self.core(unknown, low) >= target:
            return 0.0
        while self.core(unknown, high) < target:
            low, high = high, 2 * high
            if low > longest:
                return None
        while high - low > 0.02:
            middle = (low + high) / 2
            low, high = (low, middle) if self.core(unknown, middle) >= target else (middle, high)
        return (low + high) / 2


def _solve(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Linear equations, positive definite, by elimination."""
    n = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right)]
    for i in range(n):
        for j in range(i + 1, n):
            factor = rows[j][i] / rows[i][i]
            for k in range(i, n + 1):
                rows[j][k] -= factor * rows[i][k]
    out = [0.0] * n
    for i in reversed(range(n)):
        out[i] = (rows[i][n] - sum(rows[i][k] * out[k] for k in range(i + 1, n))) / rows[i][i]
    return out


def _roots_of_inverse(matrix: list[list[float]]) -> list[list[float]]:
    """Columns c whose squares add up to the inverse: one standard deviation each, in as many directions."""
    n = len(matrix)
    lower = [[0.0] * n for _ in range(n)]
    for i in range(n):
        for j in range(i + 1):
            rest = matrix[i][j] - sum(lower[i][k] * lower[j][k] for k in range(j))
            lower[i][j] = sqrt(rest) if i == j else rest / lower[j][j]
    # inverse = (L^-T)(L^-1): the columns of L^-T.
    columns = []
    for i in range(n):
        column = [0.0] * n
        for k in reversed(range(n)):
            right = 1.0 if k == i else 0.0
            column[k] = (right - sum(lower[m][k] * column[m] for m in range(k + 1, n))) / lower[k][k]
        columns.append(column)
    return columns


@dataclass(frozen=True)
class _Found:
    unknown: tuple[float, ...]
    misfit: float
    columns: list[list[float]]


def _most_likely(model: _Model, readings: Sequence[Reading], prior: _Prior, most: float, noise: float) -> _Found:
    """Gauss and Newton, from a wide idea of the noise to the true one, so that no first stray reading leads astray."""
    unknown = list(prior.mean)
    matrix: list[list[float]] = []
    for widen in (6.0, 3.0, 2.0, 1.4, 1.0, 1.0, 1.0):
        scale = widen * noise
        matrix = [list(row) for row in prior.precision]
        right = prior.pull(unknown)
        for minute, read in readings:
            value, by_offset, by_start = model.parts(unknown, minute)
            by_rate = (model.parts((unknown[0] + 0.02, *unknown[1:]), minute)[0] - value) / 0.02
            by_place = (model.parts((*unknown[:3], unknown[3] + 0.01), minute)[0] - value) / 0.01
            slopes = (by_rate, by_offset, by_start, by_place)
            off = read - value
            weight = (FREEDOM + 1) / (FREEDOM + (off / scale) ** 2) / scale**2
            for i, slope in enumerate(slopes):
                right[i] += weight * slope * off
                for j, other in enumerate(slopes):
                    matrix[i][j] += weight * slope * other
        step = _solve(matrix, right)
        longest = max(abs(part) / most_of for part, most_of in zip(step, LONGEST_STEP))
        short = min(1.0, 1.0 / longest) if longest else 1.0
        unknown = [value + short * part for value, part in zip(unknown, step)]
        unknown[3] = min(max(unknown[3], 0.0), most)
    return _Found(tuple(unknown), _misfit(model, readings, unknown, prior, noise), _roots_of_inverse(matrix))


def _misfit(model: _Model, readings: Sequence[Reading], unknown: Sequence[float], prior: _Prior, noise: float) -> float:
    """Twice the negative log of likelihood and prior, but for a constant."""
    total = prior.misfit(unknown)
    for minute, read in readings:
        off = (read - model.parts(unknown, minute)[0]) / noise
        total += (FREEDOM + 1) * log(1 + off * off / FREEDOM)
    return total


def _prior(piece: Piece, heat: Heat, nominal: Heating) -> _Prior:
    """From the spreads of the forecast: from low to high is taken for four standard deviations."""
    rate_rate, rate_around, around_around = LEAST_RATE**2, 0.0, LEAST_SPREAD**2
    for code, *ends in causes(heat.around):
        if code == "start":
            continue
        slow, quick = (Heating(piece, heat, case) for case in ends)
        rate = log(_quickness(quick.solid) / _quickness(slow.solid)) / 4
        around = (quick.film.temperature - slow.film.temperature) / 4
        rate_rate, rate_around, around_around = rate_rate + rate**2, rate_around + rate * around, around_around + around**2
    learnt = heat.learnt
    if learnt.rate_sd is not None and learnt.offset_sd is not None:
        known = hypot(learnt.rate_sd, PIECES_DIFFER) ** 2, hypot(learnt.offset_sd, DAYS_DIFFER) ** 2
        rate_rate, around_around = min(rate_rate, known[0]), min(around_around, known[1])
        limit = 0.9 * sqrt(rate_rate * around_around)
        rate_around = min(max(rate_around, -limit), limit)
    whole = rate_rate * around_around - rate_around**2
    precision = (
        (around_around / whole, -rate_around / whole, 0.0, 0.0),
        (-rate_around / whole, rate_rate / whole, 0.0, 0.0),
        (0.0, 0.0, 1 / LEAST_SPREAD**2, 0.0),
        (0.0, 0.0, 0.0, 1 / PLACE_SD**2),
    )
    return _Prior((0.0, 0.0, 0.0, PLACE_MEAN), precision, sqrt(around_around))


def _quickness(solid: Solid) -> float:
    return sum(series.rates[0] for series in solid.series)


def _usable(readings: Sequence[tuple[float, float]]) -> tuple[Reading, ...]:
    """The readings, where each by itself can be right; a jump is left to the fit, which names the odd one."""
    try:
        return checked(readings, not_before=0.0, not_after=LONGEST)
    except WrongReadings as error:
        if any(fault.code != "reading_jump" for fault in error.wrong):
            raise
        return tuple(Reading(*row) for row in readings)


def fit(
    piece: Piece,
    heat: Heat,
    readings: Sequence[tuple[float, float]],
    target: float,
    *,
    wanted: float | None = None,
    noise: float = NOISE,
) -> Fitted:
    """The forecast corrected by readings.

    piece; heat: how it is heated, with the changes of the setting so far; readings: (minute since it
    went in, temperature [C]), in order; target: of the centre [C]; wanted: the minute at which it is
    wanted [min, above 0], None for none; noise: standard deviation of one reading [K, 0.05 to 5].
    Returns Fitted. Raises WrongReadings for readings that cannot be, NoForecast, OutOfRange.
    """
    within("noise", noise, 0.05, 5.0)
    if wanted is not None:
        within("wanted", wanted, 1.0, LONGEST)
    if surfaces.medium(heat.around.medium).kind != "heats":
        raise NoForecast("does_not_heat", setting=heat.around.setting)
    if piece.start >= target:
        raise NoForecast("warmer_than_target", start=piece.start, target=target)
    rows = _usable(readings)
    now = rows[-1].minute
    nominal = Heating(piece, heat)
    model, prior = _Model(nominal), _prior(piece, heat, nominal)
    hottest = max(around for _, around in nominal.steps) + 3 * prior.offset_sd
    too_hot = [n for n, row in enumerate(rows) if row.temperature > hottest]
    sound = [row for n, row in enumerate(rows) if n not in too_hot]
    scale = hypot(noise, MODEL)
    found = _most_likely(model, sound, prior, PLACE_MOST, scale)
    odd = tuple(_odd(model, found, rows, too_hot, scale))
    codes = list(_codes(model, found, sound, prior, scale, len(odd), len(rows)))
    minutes = _end(model, found, target)
    if minutes.nominal is None:
        codes.append("never_reaches")
    core = model.core(found.unknown, now)
    return Fitted(
        minutes,
        core,
        None if minutes.nominal is None else max(0.0, minutes.nominal - now),
        odd,
        None if minutes.nominal is None or minutes.high is None else (minutes.high - minutes.low) / 2 / max(minutes.nominal, 1.0),
        _curve(model, found, minutes, now),
        sqrt(found.unknown[3]),
        _learnt(heat.learnt, found),
        tuple(codes),
        _verdict(minutes, core, target, wanted),
        None if wanted is None or wanted <= now else _setting(piece, heat, model, found, target, wanted, now),
    )


def _odd(model: _Model, found: _Found, rows: Sequence[Reading], too_hot: Sequence[int], scale: float):
    for n, (minute, read) in enumerate(rows):
        expected = model.parts(found.unknown, minute)[0]
        if n in too_hot:
            yield Odd("hotter_than_surroundings", n, read, expected)
        elif abs(read - expected) > ODD * scale:
            yield Odd("odd_reading", n, read, expected)


def _codes(model: _Model, found: _Found, sound: Sequence[Reading], prior: _Prior, scale: float, odd: int, count: int):
    if len(sound) < FEW:
        yield "too_few_readings"
        return
    mean, sd = AT_SURFACE
    outside = replace(prior, mean=(*prior.mean[:3], mean), precision=(*prior.precision[:3], (0.0, 0.0, 0.0, 1 / sd**2)))
    # e^5 to one, on top of a prior that knows well placed probes only.
    if _most_likely(model, sound, outside, 1.0, scale).misfit < found.misfit - 10:
        yield "probe_at_surface"
    elif odd > max(1, count // 4):
        yield "readings_disagree"


def _end(model: _Model, found: _Found, target: float) -> Range:
    """The end as a range: the effect of one standard deviation in each direction, added as squares."""
    nominal = model.done(found.unknown, target)
    if nominal is None:
        return Range(None, None, None)
    later, sooner = [], []
    for column in found.columns:
        ends = [model.done([u + sign * SURE * c for u, c in zip(found.unknown, column)], target) for sign in (-1, 1)]
        ends = [inf if end is None else end for end in ends]
        later.append(max(0.0, *(end - nominal for end in ends)))
        sooner.append(max(0.0, *(nominal - end for end in ends)))
    high = nominal + hypot(*later)
    return Range(max(0.0, nominal - hypot(*sooner)), nominal, high if high < LONGEST else None)


def _curve(model: _Model, found: _Found, minutes: Range, now: float) -> tuple[tuple[float, float, float, float], ...]:
    last = min(max(1.1 * (minutes.high or minutes.nominal or 2 * now), now, 10.0), LONGEST)
    rows = []
    for n in range(41):
        minute = last * n / 40
        middle = model.core(found.unknown, minute)
        ways = [
            [model.core([u + sign * SURE * c for u, c in zip(found.unknown, column)], minute) - middle for sign in (-1, 1)]
            for column in found.columns
        ]
        low, high = (hypot(*(max(0.0, *(sign * way for way in pair)) for pair in ways)) for sign in (-1, 1))
        rows.append((minute, middle - low, middle, middle + high))
    return tuple(rows)


def _learnt(before: Learnt, found: _Found) -> Learnt:
    rate_sd, offset_sd = (hypot(*(column[n] for column in found.columns)) for n in (0, 1))
    return Learnt(before.rate * exp(found.unknown[0]), before.offset + found.unknown[1], rate_sd, offset_sd)


def _verdict(minutes: Range, core: float, target: float, wanted: float | None) -> str | None:
    if core >= target:
        return "done"
    if wanted is None:
        return None
    slack = max(5.0, 0.05 * wanted)
    if minutes.nominal is None or minutes.nominal > wanted + slack:
        return "late"
    return "turn_down" if minutes.nominal < wanted - slack else "fine"


def _setting(piece: Piece, heat: Heat, model: _Model, found: _Found, target: float, wanted: float, now: float) -> float | None:
    """The setting from ``now`` on that brings the centre to ``target`` at ``wanted``; None if the medium cannot."""
    lacking = target - model.core(found.unknown, wanted)
    share = 1 - model.solid.left(60 * exp(found.unknown[0]) * (wanted - now), model.solid.core)
    if share < 0.02:
        return None
    around = model.steps[-1][1] + lacking / share
    low, high = surfaces.medium(heat.around.medium).setting

    def stands(setting: float) -> float:
        changed = replace(heat, changes=(*heat.changes, (now, setting)))
        return Heating(piece, changed).steps[-1][1]

    if not stands(low) <= around <= stands(high):
        return None
    while high - low > 0.1:
        middle = (low + high) / 2
        low, high = (low, middle) if stands(middle) >= around else (middle, high)
    return (low + high) / 2


