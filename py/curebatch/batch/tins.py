"""Tins and casings: what they hold, how high they are filled, and how a batter is shared among them.

Lengths in metres, volumes in litres, as the units module reads them. A casing is
known by its flat width or by its diameter; the two are kinds of their own, for
one is half as much again as the other.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass, fields
from fractions import Fraction
from math import acos, ceil, pi, sin, sqrt

from .refusal import Refused

HEADROOM = 0.1
"""Share of a tin's depth that stays empty: an emulsion rises in the oven (common practice, no source)."""
SMALLEST = 0.02  # l: less holds no slice
LARGEST = 60.0  # l
_THINNEST, _LONGEST = Fraction(1, 100), 2  # m; exact, so that 1 cm as typed is none too thin


class TinRefused(Refused):
    """A tin or casing that cannot be: upside down, too small, too large."""


def _check_litres(litres: float) -> None:
    if litres < SMALLEST:
        raise TinRefused("tin_too_small", read=f"{litres:.3g}", least=f"{SMALLEST:g}")
    if litres > LARGEST:
        raise TinRefused("tin_too_large", read=f"{litres:.3g}", most=f"{LARGEST:g}")


def _column(diameter: float, height: float) -> float:
    """Volume of a round column, both in metres, in litres."""
    return pi / 4 * float(diameter) ** 2 * height * 1000


@dataclass(frozen=True)
class Shape(ABC):
    """What all shapes share: a depth that is filled from below, and a volume up to any level."""

    def __post_init__(self):
        for field in fields(self):
            value = getattr(self, field.name)
            if not _THINNEST <= value <= _LONGEST:
                raise TinRefused("tin_size", field=field.name, read=f"{1000 * float(value):g}", least=f"{float(1000 * _THINNEST):g}", most=f"{1000 * _LONGEST:g}")
        _check_litres(self.litres)

    @property
    @abstractmethod
    def full_depth(self) -> float:
        """The inside height of the tin as it stands, or the length of a casing as it hangs [m]."""

    @abstractmethod
    def up_to(self, level: float) -> float:
        """Volume below ``level`` [m above the bottom], in litres."""

    @property
    def litres(self) -> float:
        """What it holds to the brim [l]."""
        return self.up_to(self.full_depth)

    def level_for(self, litres: float) -> float:
        """How high ``litres`` stand in it [m above the bottom]. Raises TinRefused for more than it holds."""
        if not 0 <= litres <= self.litres * (1 + 1e-9):
            raise TinRefused("tin_overfull", read=f"{litres:.3g}", most=f"{self.litres:.3g}")
        low, high = 0.0, self.full_depth
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if self.up_to(middle) < litres else (low, middle)
        return (low + high) / 2


@dataclass(frozen=True)
class Box(Shape):
    """Straight sides: inside length, width and depth [m]."""

    length: float
    width: float
    depth: float

    @property
    def full_depth(self) -> float:
        return float(self.depth)

    def up_to(self, level: float) -> float:
        return float(self.length * self.width) * level * 1000


@dataclass(frozen=True)
class Round(Shape):
    """A round tin standing: inside diameter and depth [m]."""

    diameter: float
    depth: float

    @property
    def full_depth(self) -> float:
        return float(self.depth)

    def up_to(self, level: float) -> float:
        return _column(self.diameter, level)


@dataclass(frozen=True)
class Loaf(Shape):
    """Sloping sides: inside length and width at the top and at the bottom, and depth [m]."""

    top_length: float
    top_width: float
    bottom_length: float
    bottom_width: float
    depth: float

    def __post_init__(self):
        if self.bottom_length > self.top_length or self.bottom_width > self.top_width:
            raise TinRefused("tin_upside_down", read=f"{1000 * float(self.bottom_length):g} x {1000 * float(self.bottom_width):g}")
        super().__post_init__()

    @property
    def full_depth(self) -> float:
        return float(self.depth)

    def up_to(self, level: float) -> float:
        """By the prismatoid's formula, exact also where length and width slope unlike."""
        part = level / float(self.depth)
        length, width = float(self.bottom_length), float(self.bottom_width)
        more_length, more_width = (float(self.top_length) - length) * part, (float(self.top_width) - width) * part
        middle = (length + more_length / 2) * (width + more_width / 2)
        return level / 6 * (length * width + 4 * middle + (length + more_length) * (width + more_width)) * 1000


@dataclass(frozen=True)
class HalfRound(Shape):
    """A trough, round below: inside width at the top, depth and length [m]. A half round has half its width for depth."""

    width: float
    depth: float
    length: float

    def __post_init__(self):
        if self.depth > self.width / 2 * Fraction(1001, 1000):
            raise TinRefused("tin_half_round", read=f"{1000 * float(self.depth):g}", most=f"{500 * float(self.width):g}")
        super().__post_init__()

    @property
    def radius(self) -> float:
        """Of the circle that the trough is a part of [m]."""
        half, depth = float(self.width) / 2, float(self.depth)
        return (half**2 + depth**2) / (2 * depth)

    @property
    def full_depth(self) -> float:
        return float(self.depth)

    def up_to(self, level: float) -> float:
        r = self.radius
        left = max(-1.0, min(1.0, (r - level) / r))
        angle = 2 * acos(left)
        return r**2 / 2 * (angle - sin(angle)) * float(self.length) * 1000


@dataclass(frozen=True)
class CasingByDiameter(Shape):
    """A casing whose pack names the diameter when filled, and the length that is filled [m]."""

    diameter: float
    length: float

    @property
    def full_depth(self) -> float:
        return float(self.length)

    def up_to(self, level: float) -> float:
        return _column(self.diameter, level)


@dataclass(frozen=True)
class CasingByFlatWidth(Shape):
    """A casing whose pack names its width lying flat, and the length that is filled [m]."""

    flat_width: float
    length: float

    @property
    def diameter(self) -> float:
        """When filled: the flat width is half the way around [m]."""
        return 2 * float(self.flat_width) / pi

    @property
    def full_depth(self) -> float:
        return float(self.length)

    def up_to(self, level: float) -> float:
        return _column(self.diameter, level)


Casing = CasingByDiameter | CasingByFlatWidth


@dataclass(frozen=True)
class Measured(Shape):
    """A tin known by what it holds [l], found with water; its level is then a share of the whole."""

    holds: float

    def __post_init__(self):
        _check_litres(float(self.holds))

    @property
    def full_depth(self) -> float:
        return 1.0

    def up_to(self, level: float) -> float:
        return float(self.holds) * level


@dataclass(frozen=True)
class Tin:
    """A tin or casing of the cupboard: its shape, how many there are, and how much depth stays empty [share, 0 to 0.5].

    A casing is closed and rises with what is in it: its headroom is 0.
    """

    id: str
    shape: Shape
    count: int = 1
    headroom: float | None = None

    def __post_init__(self):
        if self.count < 1:
            raise TinRefused("tin_count", read=str(self.count))
        if self.headroom is not None and not 0 <= self.headroom <= 0.5:
            raise TinRefused("tin_headroom", read=f"{100 * self.headroom:g}")

    @property
    def free(self) -> float:
        """Share of the depth that stays empty."""
        if self.headroom is not None:
            return self.headroom
        return 0.0 if isinstance(self.shape, Casing) else HEADROOM

    @property
    def takes(self) -> float:
        """Volume of batter up to the headroom [l], of one."""
        return self.shape.up_to(self.shape.full_depth * (1 - self.free))


def tins_needed(grams: float | Fraction, tin: Tin, density: float) -> int:
    """How many of one tin a batter takes.

    grams: batter [g, above 0]; tin: with its headroom; density: of the batter
    [g/ml]; the lower, the more tins.
    """
    return ceil(float(grams) / (1000 * density * tin.takes) - 1e-9)


def holds_grams(tins: Iterable[Tin], density: float) -> float:
    """Batter that all these tins take up to their headroom [g], at ``density`` [g/ml]."""
    return sum(tin.count * tin.takes for tin in tins) * density * 1000


@dataclass(frozen=True)
class Filled:
    """What goes into one tin: grams, and how high it stands, as a share of the depth and in metres."""

    id: str
    number: int  # which of its kind, from 1
    grams: float
    litres: float
    level: float  # share of the depth
    height: float | None  # m above the bottom; None where only the volume is known


@dataclass(frozen=True)
class Shared:
    """A batter shared out: the tins that are filled, what is left over, and the tins that would take it."""

    filled: tuple[Filled, ...]
    left_grams: float
    left_litres: float
    left_fits: tuple[str, ...]  # ids of tins still empty that would hold it, snuggest first
    box_side: float  # m: a cube with the usual headroom that would hold it; 0 for nothing left


LEAST_FILL = 0.5
"""A tin filled to less than half its depth cooks and looks unlike the others: what would go in is left over instead."""


def _fill(tin: Tin, number: int, grams: float, density: float) -> Filled:
    litres = grams / density / 1000
    height = tin.shape.level_for(litres)
    return Filled(tin.id, number, grams, litres, height / tin.shape.full_depth, None if isinstance(tin.shape, Measured) else height)


def share(grams: float | Fraction, tins: Iterable[Tin], density: float, *, alike: bool = False) -> Shared:
    """Share a batter among tins.

    grams: batter [g, above 0]; tins: in the order in which they are to be filled;
    density: of the batter [g/ml]; alike: True fills all of them to the same share of
    their room, False fills each up to its headroom, one after the other.
    A tin that would stay under half its depth is not begun, nor is a casing that
    would stay under half its length. Returns Shared: the grams filled and left add up
    to the grams given.
    """
    cupboard = tuple(tins)
    each = [(tin, number) for tin in cupboard for number in range(1, tin.count + 1)]
    rest = float(grams)
    filled: list[Filled] = []
    if alike:
        room = holds_grams(cupboard, density)
        part = min(1.0, rest / room) if room else 0.0
        plan = [(tin, number, part * tin.takes * density * 1000) for tin, number in each]
    else:
        plan = [(tin, number, tin.takes * density * 1000) for tin, number in each]
    for tin, number, wanted in plan:
        take = min(wanted, rest)
        if take <= 0:
            break
        one = _fill(tin, number, take, density)
        if one.level < LEAST_FILL:
            continue  # a smaller tin further on may still be right for it
        filled.append(one)
        rest -= take
    rest = 0.0 if rest < 1e-6 * float(grams) else rest
    litres = rest / density / 1000
    used = [one.id for one in filled]
    fits = sorted((tin for tin in cupboard if rest and tin.takes >= litres and used.count(tin.id) < tin.count), key=lambda tin: tin.takes)
    side = (litres / 1000 / (1 - HEADROOM)) ** (1 / 3) if rest else 0.0
    return Shared(tuple(filled), rest, litres, tuple(tin.id for tin in fits), side)


def casing_length(litres: float, casing: Casing) -> float:
    """The length of a casing that holds a volume [m], between its ties. litres: [above 0]."""
    return litres / 1000 / (pi / 4 * casing.diameter**2)


def half_thickness(shape: Shape) -> float | None:
    """Half of the thinnest way through the middle [m], which decides the time in oven and fridge; None where only the volume is known."""
    if isinstance(shape, Measured):
        return None
    if isinstance(shape, Casing):
        return min(shape.diameter, float(shape.length)) / 2
    if isinstance(shape, Round):
        return min(float(shape.diameter), float(shape.depth)) / 2
    if isinstance(shape, Loaf):
        length, width = ((float(a) + float(b)) / 2 for a, b in ((shape.top_length, shape.bottom_length), (shape.top_width, shape.bottom_width)))
        return min(length, width, float(shape.depth)) / 2
    if isinstance(shape, HalfRound):
        return min(float(shape.depth), float(shape.length), float(shape.width)) / 2
    return min(float(shape.length), float(shape.width), float(shape.depth)) / 2


def even_box(shape: Loaf) -> Box:
    """The straight box of the same depth and volume as a sloping tin, for the heat: sides scaled alike."""
    mean_length = (float(shape.top_length) + float(shape.bottom_length)) / 2
    mean_width = (float(shape.top_width) + float(shape.bottom_width)) / 2
    scale = sqrt(shape.litres / 1000 / (mean_length * mean_width * float(shape.depth)))
    return Box(mean_length * scale, mean_width * scale, float(shape.depth))
