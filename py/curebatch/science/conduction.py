"""Heat conduction in a piece: series solutions for slab, cylinder, sphere, and their products.

The temperature is held as the surroundings plus a sum of decaying modes. Each
mode is stepped exactly while the surroundings rise or fall evenly, so a history
costs the same per step however long it is (superposition after Duhamel, kept
recursively). Only the slowest modes are stepped; what the others still carry
right after a sudden change is taken from the one-dimensional series, where it
costs little. When the surface coefficient changes, from oven to bath say, the
modes of the old surface are projected on those of the new one.

Conductivity, density and specific heat are constants of the piece: take them
at the middle of the temperatures that matter.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import islice
from math import atan, atan2, cos, exp, log, pi, prod, sin, sqrt
from operator import add, mul

from .thermal_properties import within

KINDS = ("slab", "cylinder", "sphere")

BIOT_RANGE = (1e-3, 1e4)
AXIS_ROOTS = 16  # roots kept per direction; the rest is lumped into one more
STEPPED = 200  # so many products of them are stepped
LONG = 12.0  # a direction so many times longer than the shortest counts as endless
QUIET = 0.02  # Fourier number below which the core has not felt its surface (under 2e-5 of the step)
FADED = 12.0  # exponent past which a mode is gone (6e-6 of the step)

# The rows stand for the model, not for cooking: outside of them nothing here was checked.
RANGES = {
    "half": (1e-3, 0.5),
    "h": (0.5, 20000.0),
    "conductivity": (0.02, 500.0),
    "density": (100.0, 20000.0),
    "specific_heat": (100.0, 10000.0),
    "temperature": (-100.0, 1000.0),
    "seconds": (0.0, 30 * 86400.0),
}


def _check(what: str, value: float) -> float:
    return within(what, value, *RANGES[what])


_BY_SERIES = 12.0  # below this argument the power series, above it Hankel's: both good to 1e-10 there


@lru_cache(maxsize=4096)
def bessel(x: float) -> tuple[float, float]:
    """J0 and J1, the Bessel functions of the first kind.

    x: argument [-], 0 and above. Returns (J0, J1), good to about 1e-10.
    Source: power series and Hankel's expansion, NIST Digital Library of Mathematical
    Functions 10.2.2 and 10.17.3 (from memory; checked against scipy in the tests).
    """
    if x < _BY_SERIES:
        quarter = -x * x / 4
        term0, term1 = 1.0, x / 2
        j0, j1 = term0, term1
        for n in range(1, 60):
            term0 *= quarter / (n * n)
            term1 *= quarter / (n * (n + 1))
            j0 += term0
            j1 += term1
            if abs(term0) + abs(term1) < 1e-17:
                break
        return j0, j1
    return _hankel(x, 0), _hankel(x, 1)


def _hankel_factors(order: int) -> tuple[tuple[float, float], ...]:
    """Factors of P and Q in Hankel's expansion, the highest power first, as many as help from _BY_SERIES on."""
    factors, pairs = [1.0], []
    for n in range(1, 20):
        factors.append(factors[-1] * (4 * order * order - (2 * n - 1) ** 2) / (8 * n))
    for n in range(10):
        sign = -1.0 if n % 2 else 1.0
        pairs.append((sign * factors[2 * n], sign * factors[2 * n + 1]))
    return tuple(reversed(pairs))


_HANKEL = _hankel_factors(0), _hankel_factors(1)


def _hankel(x: float, order: int) -> float:
    square = 1 / (x * x)
    p = q = 0.0
    for of_p, of_q in _HANKEL[order]:
        p = p * square + of_p
        q = q * square + of_q
    phase = x - order * pi / 2 - pi / 4
    return sqrt(2 / (pi * x)) * (p * cos(phase) - q / x * sin(phase))


@lru_cache(maxsize=64)
def _j0_zero(n: int) -> float:
    """The n-th zero of J0, n from 1: McMahon's guess, mended by Newton."""
    b = (n - 0.25) * pi
    x = b + 1 / (8 * b) - 31 / (384 * b**3)
    for _ in range(4):
        j0, j1 = bessel(x)
        x += j0 / j1
    return x


def _slab(z: float, biot: float) -> tuple[float, float]:
    return z * sin(z) - biot * cos(z), (1 + biot) * sin(z) + z * cos(z)


def _cylinder(z: float, biot: float) -> tuple[float, float]:
    j0, j1 = bessel(z)
    return z * j1 - biot * j0, z * j0 + biot * j1


def _sphere(z: float, biot: float) -> tuple[float, float]:
    return z * cos(z) + (biot - 1) * sin(z), biot * cos(z) - z * sin(z)


_EQUATIONS = {"slab": _slab, "cylinder": _cylinder, "sphere": _sphere}


def _bracket(kind: str, n: int) -> tuple[float, float]:
    if kind == "slab":
        return n * pi, (n + 0.5) * pi
    if kind == "cylinder":
        return (_j0_zero(n) if n else 0.0), _j0_zero(n + 1)
    return (n * pi if n else 1e-9), (n + 1) * pi


def _guess(kind: str, biot: float, n: int, z: float) -> float:
    """The root as it would be where the modes have become plain waves; ``z``: anywhere near."""
    if kind == "slab":
        return n * pi + atan(biot / z)
    if kind == "cylinder":
        return (n + 0.25) * pi + atan(biot / z)
    return n * pi + atan2(z, 1 - biot)


def root(kind: str, biot: float, n: int) -> float:
    """The n-th root of the surface condition.

    kind: "slab" (z tan z = Bi), "cylinder" (z J1 = Bi J0) or "sphere" (1 - z cot z = Bi);
    biot: h times half thickness or radius over conductivity [-], 1e-3 to 1e4; n: from 0.
    Returns z [-]. Raises OutOfRange. Newton inside a bracket that holds one root only.
    """
    within("biot", biot, *BIOT_RANGE)
    equation = _EQUATIONS[kind]
    low, high = _bracket(kind, n)
    rising = equation(high, biot)[0] > 0
    z = _guess(kind, biot, n, _guess(kind, biot, n, (low + high) / 2))
    if not low < z < high:
        z = (low + high) / 2
    for _ in range(80):
        value, slope = equation(z, biot)
        if (value > 0) == rising:
            high = z
        else:
            low = z
        new = z - value / slope if slope else low
        # Newton doubles the digits: the step after this one would be nothing.
        if abs(new - z) <= 1e-8 * z:
            return new
        z = new if low < new < high else (low + high) / 2
    return z


def _shape(kind: str, z: float, x: float) -> float:
    """The mode's value at ``x``, the distance from the middle over half thickness or radius."""
    if kind == "slab":
        return cos(z * x)
    if kind == "cylinder":
        return bessel(z * x)[0]
    return sin(z * x) / (z * x) if z * x > 1e-6 else 1.0


def _mean(kind: str, z: float) -> float:
    """The mode's mean over the volume."""
    if kind == "slab":
        return sin(z) / z
    if kind == "cylinder":
        return 2 * bessel(z)[1] / z
    return 3 * (sin(z) - z * cos(z)) / z**3


def _overlap(kind: str, a: float, b: float) -> float:
    """Mean over the volume of the product of the modes with roots ``a`` and ``b``, of any two surfaces."""
    if kind == "cylinder":
        (a0, a1), (b0, b1) = bessel(a), bessel(b)
        if abs(a - b) < 1e-7 * b:
            return a0 * a0 + a1 * a1
        return 2 * (a * a1 * b0 - b * a0 * b1) / (a * a - b * b)
    near = 1.0 if abs(a - b) < 1e-7 * b else sin(a - b) / (a - b)
    far = sin(a + b) / (a + b)
    return (near + far) / 2 if kind == "slab" else 3 * (near - far) / (2 * a * b)


@dataclass(frozen=True)
class Axis:
    """One direction of a piece.

    kind: "slab", "cylinder" or "sphere"; half: half thickness or radius [m, 0.001 to 0.5];
    h: surface coefficient [W/m2K, 0.5 to 20000], walls and gaps counted in.
    """

    kind: str
    half: float
    h: float


class _Series:
    """One direction's modes: roots, rates [1/s], and the weight of each in a uniform field."""

    def __init__(self, axis: Axis, conductivity: float, diffusivity: float):
        self.kind = axis.kind
        # Past these ends the surface is as good as insulated or as good as held.
        biot = min(max(axis.h * axis.half / conductivity, BIOT_RANGE[0]), BIOT_RANGE[1])
        self.biot = biot
        self.roots, self.uniform = _modes(axis.kind, biot)
        self.fourier_rate = diffusivity / axis.half**2
        self.rates = [z * z * self.fourier_rate for z in self.roots]
        self.past = (self.roots[-1] + pi) ** 2 * self.fourier_rate

    def decay(self, parts: Sequence[float], lacking: float, at_core: bool, seconds: float) -> float:
        """What is left of a uniform difference after ``seconds``.

        parts: of each mode in it at the place; lacking: what they do not add up to, which fades
        with the first rate past them.
        """
        if at_core and seconds * self.fourier_rate <= QUIET:
            return 1.0
        total = 0.0
        for rate, part in zip(self.rates, parts):
            faded = rate * seconds
            if faded > FADED:
                return total
            total += part * exp(-faded)
        if not at_core and self.past * seconds < FADED:
            total += lacking * exp(-self.past * seconds)
        return total


@lru_cache(maxsize=512)
def _modes(kind: str, biot: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    roots = tuple(root(kind, biot, n) for n in range(AXIS_ROOTS))
    return roots, tuple(_mean(kind, z) / _overlap(kind, z, z) for z in roots)


class Place:
    """Where a temperature is looked at: for each direction the modes' values there.

    fractions: distances from the middle, None for the mean over the volume.
    """

    def __init__(self, series: Sequence[_Series], values: Sequence[Sequence[float]], fractions: tuple[float, ...] | None):
        self.values = values
        self.fractions = fractions
        self.at_core = fractions is not None and not any(fractions)
        self.parts = [list(map(mul, one.uniform, own)) for one, own in zip(series, values)]
        self.lacking = [1.0 - sum(parts) for parts in self.parts]


@lru_cache(maxsize=64)
def _slowest(kinds: tuple[str, ...], halves: tuple[float, ...]) -> tuple[tuple[int, ...], ...]:
    """Indices of the products of modes that are stepped, the slowest first.

    Chosen with a middling surface, so that one choice serves a piece whatever surrounds it.
    """
    rates = [[(z / half) ** 2 for z in _modes(kind, 1.0)[0]] for kind, half in zip(kinds, halves)]
    found: list[tuple[float, tuple[int, ...]]] = []

    def collect(depth: int, rate: float, indices: tuple[int, ...]) -> None:
        if depth == len(rates):
            insort(found, (rate, indices))
            del found[STEPPED:]
            return
        for n, own in enumerate(rates[depth]):
            # Rates rise along each direction: past the slowest so far none can follow.
            if len(found) == STEPPED and rate + own >= found[-1][0]:
                break
            collect(depth + 1, rate + own, (*indices, n))

    collect(0, 0.0, ())
    return tuple(index for _, index in found)


def _joined(join: Callable[[float, float], float], values: Sequence[Sequence[float]], indices) -> list[float]:
    """For each product of modes, its directions' ``values`` joined: added or multiplied."""
    first, *others = values
    joined = [first[index[0]] for index in indices]
    for d, other in enumerate(others, 1):
        joined = list(map(join, joined, [other[index[d]] for index in indices]))
    return joined


class Solid:
    """A piece with its surfaces: one direction alone, or the product of two or three.

    axes: one Axis (slab, cylinder or sphere), three slabs (a box), or a cylinder and a
    slab (a can, a roll); conductivity [W/mK, 0.02 to 500]; density [kg/m3, 100 to 20000];
    specific_heat [J/kgK, 100 to 10000]. Raises OutOfRange, or ValueError for axes
    that make no shape.
    """

    def __init__(self, axes: tuple[Axis, ...], conductivity: float, density: float, specific_heat: float):
        kinds = sorted(axis.kind for axis in axes)
        if kinds not in (["slab"], ["cylinder"], ["sphere"], ["slab"] * 2, ["slab"] * 3, ["cylinder", "slab"]):
            raise ValueError(f"no shape has the directions {kinds}")
        for axis in axes:
            _check("half", axis.half)
            _check("h", axis.h)
        self.conductivity = _check("conductivity", conductivity)
        self.diffusivity = conductivity / (_check("density", density) * _check("specific_heat", specific_heat))
        shortest = min(axis.half for axis in axes)
        self.axes = tuple(axis for axis in axes if axis.half <= LONG * shortest)
        self.series = tuple(_Series(axis, conductivity, self.diffusivity) for axis in self.axes)

    def place(self, *fractions: float) -> Place:
        """A point of the piece.

        fractions: for each direction of ``axes`` the distance from the middle over half
        thickness or radius [-, 0 to 1]; none at all for the core. An endless direction has none.
        """
        fractions = fractions or (0.0,) * len(self.axes)
        if len(fractions) != len(self.axes):
            raise ValueError(f"{len(self.axes)} directions, {len(fractions)} distances")
        for x in fractions:
            within("place", x, 0.0, 1.0)
        values = [[_shape(s.kind, z, x) for z in s.roots] for s, x in zip(self.series, fractions)]
        return Place(self.series, values, fractions)

    @cached_property
    def core(self) -> Place:
        """The middle of the piece."""
        return self.place()

    @cached_property
    def surface(self) -> Place:
        """The middle of the face that lies nearest to the core."""
        halves = [axis.half for axis in self.axes]
        nearest = halves.index(min(halves))
        return self.place(*(1.0 if i == nearest else 0.0 for i in range(len(halves))))

    @cached_property
    def mean(self) -> Place:
        """The mean over the volume."""
        return Place(self.series, [[_mean(s.kind, z) for z in s.roots] for s in self.series], None)

    def left(self, seconds: float, place: Place) -> float:
        """Share that is left of the first difference to constant surroundings, from a uniform start.

        seconds: since the start [s, 0 and above]; place: where. Returns a share [-]:
        1 at the start, towards 0.
        """
        product = 1.0
        for series, parts, lacking in zip(self.series, place.parts, place.lacking):
            product *= series.decay(parts, lacking, place.at_core, seconds)
        return product

    def time_for(self, share: float, place: Place) -> float:
        """When the share ``left`` of the first difference has come down to ``share``.

        share: [-, above 0, below 1]. Returns seconds.
        """
        within("share", share, 1e-12, 1.0)
        slowest = sum(series.rates[0] for series in self.series)
        # Soon only the slowest mode is left: then its rate leads straight to the time.
        seconds = log(max(prod(parts[0] for parts in place.parts) / share, 1.0)) / slowest
        for _ in range(12):
            step = log(max(self.left(seconds, place), 1e-12) / share) / slowest
            seconds = max(seconds + step, 0.0)
            if abs(step) < 1e-7 * seconds:
                return seconds
        low, high = 0.0, 1.0 / slowest
        while self.left(high, place) > share:
            low, high = high, 2 * high
        while high - low > 1e-7 * high:
            middle = (low + high) / 2
            low, high = (middle, high) if self.left(middle, place) > share else (low, middle)
            if high < 1e-6:
                break
        return (low + high) / 2

    @cached_property
    def _stepped(self) -> tuple[tuple[tuple[int, ...], ...], list[float], list[float]]:
        """The slowest products of modes: their indices, rates [1/s] and weights in a uniform field."""
        indices = _slowest(tuple(series.kind for series in self.series), tuple(axis.half for axis in self.axes))
        rates, uniform = ([getattr(series, name) for series in self.series] for name in ("rates", "uniform"))
        return indices, _joined(add, rates, indices), _joined(mul, uniform, indices)

    def seen(self, place: Place) -> list[float]:
        """The stepped modes' values at ``place``."""
        return _joined(mul, place.values, self._stepped[0])


class Run:
    """A piece on its way through changing surroundings.

    solid: the piece; start: its temperature throughout [C]; surroundings: around it
    from now on [C]. Raises OutOfRange.
    """

    def __init__(self, solid: Solid, start: float, surroundings: float):
        self.solid = solid
        self.seconds = 0.0
        self.surroundings = _check("temperature", surroundings)
        difference = _check("temperature", start) - surroundings
        _, self._rates, self._uniform = solid._stepped
        self._quickest = max(self._rates)
        self._modes = [difference * weight for weight in self._uniform]
        self._sudden = [(0.0, difference, 0.0)]
        self._seen: dict[Place, list[float]] = {}
        self._fading: dict[float, tuple[list[float], list[float]]] = {}
        self._rests: dict[tuple[Place, float, float], float] = {}
        self._came_from: Run | None = None
        self._came_at = 0.0
        self._gaps: dict[Place, float] = {}

    def jump(self, surroundings: float) -> None:
        """The surroundings change at once, to ``surroundings`` [C]."""
        change = self.surroundings - _check("temperature", surroundings)
        if change:
            self._modes = [mode + change * weight for mode, weight in zip(self._modes, self._uniform)]
            self._sudden.append((self.seconds, change, 0.0))
            self.surroundings = surroundings

    def advance(self, seconds: float, surroundings: float | None = None) -> None:
        """Time passes, and the surroundings go evenly to where they are then.

        seconds: [s, 0 and above]; surroundings: at its end [C], None where they stay.
        """
        _check("seconds", seconds)
        if not seconds:
            return
        if seconds not in self._fading:
            faded = [exp(-rate * seconds) for rate in self._rates]
            lag = [w * (1 - f) / (r * seconds) for w, f, r in zip(self._uniform, faded, self._rates)]
            self._fading[seconds] = faded, lag
        faded, lag = self._fading[seconds]
        rise = 0.0 if surroundings is None else _check("temperature", surroundings) - self.surroundings
        if rise:
            self._modes = [mode * f - rise * g for mode, f, g in zip(self._modes, faded, lag)]
            self._sudden.append((self.seconds + seconds, -rise, seconds))
            self.surroundings += rise
        else:
            self._modes = list(map(mul, self._modes, faded))
        self.seconds += seconds
        gone = self.seconds - FADED / self._quickest
        self._sudden = [change for change in self._sudden if change[0] > gone]

    def at(self, place: Place) -> float:
        """Temperature now [C] at ``place``, one of the solid's."""
        if place not in self._seen:
            self._seen[place] = self.solid.seen(place)
        seen = self._seen[place]
        value = self.surroundings + sum(map(mul, self._modes, seen))
        for end, size, width in self._sudden:
            value += size * self._rest(self.seconds - end, width, place, seen)
        if self._came_from is not None:
            value += self._gap(place, value)
        return value

    def _gap(self, place: Place, value: float) -> float:
        """What the projection missed of the temperature when the surfaces changed; it fades with the quickest mode."""
        since = (self.seconds - self._came_at) * self._quickest
        if since >= FADED:
            self._came_from = None
            return 0.0
        if place not in self._gaps:
            before = self._came_from
            twin = before.solid.mean if place.fractions is None else before.solid.place(*place.fractions)
            # Only a look at the very moment shows the gap; a later first look leaves it out.
            self._gaps[place] = before.at(twin) - value if not since else 0.0
        return self._gaps[place] * exp(-since)

    def _rest(self, elapsed: float, width: float, place: Place, seen: list[float]) -> float:
        """What the modes that are not stepped still carry of a difference of one.

        elapsed: since it was complete [s]; width: over how long it came evenly [s], 0 for at once.
        """
        key = place, round(elapsed, 6), width
        if key not in self._rests:
            kept = 0.0
            for w, v, r in zip(self._uniform, seen, self._rates):
                if r * elapsed < FADED:
                    spread = (1 - exp(-r * width)) / (r * width) if width else 1.0
                    kept += w * v * exp(-r * elapsed) * spread
            # Gauss's two points within the time over which it came.
            looks = (elapsed + width * share for share in (0.2113248654, 0.7886751346)) if width else (elapsed,)
            left = [self.solid.left(look, place) for look in looks]
            self._rests[key] = sum(left) / len(left) - kept
        return self._rests[key]

    @property
    def core(self) -> float:
        """Temperature in the middle now [C]."""
        return self.at(self.solid.core)

    @property
    def surface(self) -> float:
        """Temperature of the nearest face's middle now [C]."""
        return self.at(self.solid.surface)

    @property
    def mean(self) -> float:
        """Mean temperature over the volume now [C]."""
        return self.at(self.solid.mean)

    def carry(self, solid: Solid, surroundings: float) -> Run:
        """The same piece with other surfaces, its temperatures taken along.

        solid: with the same directions and sizes; surroundings: around it from now on [C].
        Returns a new Run whose time goes on. Raises ValueError for another shape.
        """
        if [(a.kind, a.half) for a in solid.axes] != [(a.kind, a.half) for a in self.solid.axes]:
            raise ValueError("another shape: temperatures cannot be carried over")
        run = Run(solid, self.surroundings, surroundings)
        run.seconds = self.seconds
        # Modes too quick to be stepped see the skin: to them the field is as warm as the surface throughout.
        run._sudden = [(self.seconds, self.surface - surroundings, 0.0)]
        run._came_from, run._came_at = self, self.seconds
        for n, mode in enumerate(self._projected(solid)):
            run._modes[n] += mode
        for place in (solid.core, solid.surface, solid.mean):
            run.at(place)
        return run

    def _projected(self, solid: Solid) -> list[float]:
        """The present modes as modes of ``solid``, one direction after the other."""
        field = dict(zip(self.solid._stepped[0], self._modes))
        wanted = solid._stepped[0]
        for d, (old, new) in enumerate(zip(self.solid.series, solid.series)):
            had, used = (1 + max(index[d] for index in indices) for indices in (field, wanted))
            rows = []
            for z in islice(new.roots, used):
                own = _overlap(new.kind, z, z)
                rows.append([_overlap(new.kind, z, y) / own for y in islice(old.roots, had)])
            lines: dict[tuple[tuple[int, ...], tuple[int, ...]], list[float]] = {}
            for index, mode in field.items():
                lines.setdefault((index[:d], index[d + 1 :]), [0.0] * had)[index[d]] = mode
            field = {
                (*head, n, *tail): sum(map(mul, row, line)) for (head, tail), line in lines.items() for n, row in enumerate(rows)
            }
        return [field.get(index, 0.0) for index in wanted]


def first_time(run: Run, seconds: float, place: Place, target: float, longest: float) -> float | None:
    """When ``place`` first reaches ``target``, the surroundings staying as they are.

    run: where it stands, moved on by this; seconds: step between looks [s]; target: [C];
    longest: when to give up [s from now]. Returns seconds from now, or None; between two
    looks by the straight line.
    """
    before, passed = run.at(place), 0.0
    rising = before < target
    while passed < longest:
        run.advance(seconds)
        passed += seconds
        now = run.at(place)
        if (now >= target) == rising:
            return passed - seconds * (now - target) / (now - before) if now != before else passed
        before = now
    return None


def box(length: float, width: float, height: float, h: tuple[float, float, float]) -> tuple[Axis, ...]:
    """Directions of a box: sizes [m], and for each direction the surface coefficient of its two faces [W/m2K]."""
    return tuple(Axis("slab", size / 2, own) for size, own in zip((length, width, height), h))


def roll(diameter: float, length: float, h: float, h_ends: float | None = None) -> tuple[Axis, ...]:
    """Directions of a roll or can: diameter and length [m], coefficient round it and at its ends [W/m2K]."""
    return Axis("cylinder", diameter / 2, h), Axis("slab", length / 2, h if h_ends is None else h_ends)


def ball(diameter: float, h: float) -> tuple[Axis, ...]:
    """The one direction of a ball: diameter [m], surface coefficient [W/m2K]."""
    return (Axis("sphere", diameter / 2, h),)


def sheet(thickness: float, h: float) -> tuple[Axis, ...]:
    """The one direction of a wide slab: thickness [m], surface coefficient [W/m2K]."""
    return (Axis("slab", thickness / 2, h),)


