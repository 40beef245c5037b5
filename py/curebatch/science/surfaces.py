"""What lies between a piece and its surroundings: film, wall, cover, and the water it gives off.

A wet surface takes in heat from the air and gives off part of it as vapour:

    q = h (Ta - Ts) - wetness K hv (W(Ts) - Wa),    K = hc / (cpm Le^(2/3))

with hc the convective part of h. Left alone it settles where q is nothing, the
plateau, well below the oven's setting, and the core can never pass that. For
the series the curve q(Ts) is replaced by the straight line through two surface
temperatures, one met half way and one near the plateau: a lower temperature
around the piece and a higher coefficient. The plateau itself is kept beside the
line, so that what can never be reached stays unreachable. A piece in a tin is
wet on top alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ..data import table
from .thermal_properties import within

CASES = ("low", "nominal", "high")

STEFAN_BOLTZMANN = 5.670374e-8  # W/m2K4, SI
EMISSIVITY = 0.9  # of meat and oven walls; from memory, check before relying on it
LEAST_CONVECTION = 2.0  # W/m2K; estimate of this project: still air never stands quite still
MOIST_AIR_HEAT = 1020.0  # cpm, J/kgK; from memory, check before relying on it
LEWIS = 0.87  # vapour in air; from memory, check before relying on it
PRESSURE = 101325.0  # Pa
HOTTEST_WET = 99.5  # C; at the boiling point the share of vapour has no end
LINE_THROUGH = (0.6, 0.95)  # of the way from the start to the plateau: where the straight line meets q(Ts)


@dataclass(frozen=True)
class Span:
    """A value as far as it is known: low, nominal, high, in one unit."""

    low: float
    nominal: float
    high: float

    def case(self, name: str) -> float:
        """The end "low" or "high", or the "nominal" middle."""
        return getattr(self, name)


@dataclass(frozen=True)
class Medium:
    """One row of data/surfaces.toml: what surrounds the piece.

    h, h_top [W/m2K]; setting: least and most that may be set [C]; spread: how far the true
    surroundings lie from the setting [K]; moisture [kg vapour per kg dry air], None where there
    is no air; stays_below [C] where the medium does not follow the setting up.
    """

    id: str
    kind: str  # "heats" or "chills"
    h: Span
    setting: tuple[float, float]
    spread: float
    moisture: float | None
    stays_below: Span | None
    h_top: Span | None
    source: str
    sure: str


@dataclass(frozen=True)
class Layer:
    """A wall or a cover: its resistance [m2K/W], and the wetness [-] of what is under a cover."""

    id: str
    resistance: Span
    wetness: Span
    source: str
    sure: str


@dataclass(frozen=True)
class Around:
    """What a piece stands in, in the kitchen's words.

    medium, cover, wall: ids of data/surfaces.toml; setting [C].
    """

    medium: str
    setting: float
    cover: str = "open"
    wall: str = "none"


@dataclass(frozen=True)
class Film:
    """Surroundings as the series take them.

    h: surface coefficient of sides and ends [W/m2K]; h_top: mean of top and bottom [W/m2K];
    temperature: around the piece, on the straight line [C]; settles: what the surface comes to
    in the end [C].
    """

    h: float
    h_top: float
    temperature: float
    settles: float


class UnknownSurface(KeyError):
    """An id that data/surfaces.toml does not hold; ``kind`` is medium, cover or wall."""

    def __init__(self, kind: str, id: str):
        super().__init__(f"{kind} {id}")
        self.kind, self.id = kind, id


def _span(row: dict, key: str, missing: Span | None = None) -> Span | None:
    return Span(*map(float, row[key])) if key in row else missing


@lru_cache(maxsize=1)
def _tables() -> dict[str, dict[str, Medium | Layer]]:
    raw = table("surfaces")
    dry = Span(0.0, 0.0, 0.0)
    media = {
        row["id"]: Medium(
            row["id"], row["kind"], _span(row, "h"), tuple(row["setting"]), row["spread"], row.get("moisture"),
            _span(row, "stays_below"), _span(row, "h_top"), row["source"], row["sure"],
        )
        for row in raw["medium"]
    }
    layers = {
        kind: {
            row["id"]: Layer(row["id"], _span(row, "resistance"), _span(row, "wetness", dry), row["source"], row["sure"])
            for row in raw[kind]
        }
        for kind in ("wall", "cover")
    }
    return {"medium": media, **layers}


def rows(kind: str) -> tuple[Medium | Layer, ...]:
    """All rows of a kind: "medium", "wall" or "cover"."""
    return tuple(_tables()[kind].values())


def _row(kind: str, id: str):
    try:
        return _tables()[kind][id]
    except KeyError:
        raise UnknownSurface(kind, id) from None


def medium(id: str) -> Medium:
    """The medium with that id. Raises UnknownSurface."""
    return _row("medium", id)


def wall(id: str) -> Layer:
    """The wall with that id. Raises UnknownSurface."""
    return _row("wall", id)


def cover(id: str) -> Layer:
    """The cover with that id. Raises UnknownSurface."""
    return _row("cover", id)


def vapour_pressure(temperature: float) -> float:
    """Pressure of water vapour over water.

    temperature [C, 0 to 100]. Returns [Pa]. Raises OutOfRange. Source: Antoine's formula for
    1 to 100 C, from memory; within 1 % of IAPWS-IF97 in the tests.
    """
    within("temperature", temperature, 0.0, 100.0)
    return 133.3224 * 10 ** (8.07131 - 1730.63 / (233.426 + temperature))


def moisture_over(temperature: float) -> float:
    """Vapour in air that is saturated over a wet surface.

    temperature [C, 0 to 99.5]. Returns kg vapour per kg dry air [-]. Raises OutOfRange.
    """
    pressure = vapour_pressure(within("temperature", temperature, 0.0, HOTTEST_WET))
    return 0.622 * pressure / (PRESSURE - pressure)


def heat_of_evaporation(temperature: float) -> float:
    """Heat that a kilogram of water takes along as vapour.

    temperature [C, 0 to 100]. Returns [J/kg]. Raises OutOfRange. Source: straight line, from
    memory; within 0.5 % of IAPWS-IF97 in the tests.
    """
    return 2.501e6 - 2.37e3 * within("temperature", temperature, 0.0, 100.0)


def radiation(one: float, other: float) -> float:
    """Radiative part of a surface coefficient.

    one, other: surface and what it faces [C]. Returns [W/m2K]. Grey bodies, linear around the mean.
    """
    middle = 273.15 + (one + other) / 2
    return EMISSIVITY * 4 * STEFAN_BOLTZMANN * middle**3


def heat_flow(surface: float, around: float, h: float, convection: float, wetness: float, moisture: float) -> float:
    """Heat into a surface that gives off water.

    surface, around [C]; h: whole coefficient with walls [W/m2K]; convection: its convective part
    without them [W/m2K]; wetness [-, 0 to 1]; moisture of the air [kg/kg]. Returns [W/m2].
    """
    if not wetness:
        return h * (around - surface)
    transfer = convection / (MOIST_AIR_HEAT * LEWIS ** (2 / 3))
    # Below freezing hardly any vapour is left to speak of: as at 0 C.
    wet = max(surface, 0.0)
    vapour = transfer * heat_of_evaporation(wet) * (moisture_over(wet) - moisture)
    return h * (around - surface) - wetness * vapour


def plateau(around: float, h: float, convection: float, wetness: float, moisture: float) -> float:
    """Where a surface settles that takes in as much heat as its vapour carries off.

    Arguments as for heat_flow. Returns [C]: ``around`` itself for a dry surface.
    """
    if not wetness:
        return around
    low, high = around - 300.0, min(around, HOTTEST_WET)
    if heat_flow(high, around, h, convection, wetness, moisture) >= 0:
        # Air too damp to dry it: it follows the air, or boils.
        return high
    for _ in range(45):
        middle = (low + high) / 2
        if heat_flow(middle, around, h, convection, wetness, moisture) > 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2


@dataclass(frozen=True)
class Choice:
    """Which end of each span is taken: "low", "nominal" or "high"; and two numbers on top.

    oven: K added to the setting; h_factor: multiplies the coefficient of the medium, as learnt.
    """

    h: str = "nominal"
    wetness: str = "nominal"
    layers: str = "nominal"
    oven: float = 0.0
    h_factor: float = 1.0


NOMINAL = Choice()


def film(around: Around, start: float, choice: Choice = NOMINAL, top_share: float = 1.0) -> Film:
    """The straight-line surroundings of a piece.

    around: what it stands in; start: its temperature when it goes in [C]; choice: which end
    of each span; top_share: the top's share of the whole surface [-, 0 to 1], which is all
    that is open in a tin. Returns Film. Raises UnknownSurface, and OutOfRange for a
    setting that the medium cannot have.
    """
    row, over, side = medium(around.medium), cover(around.cover), wall(around.wall)
    setting = within("setting", around.setting, *row.setting) + choice.oven
    if row.stays_below is not None:
        setting = min(setting, row.stays_below.nominal + choice.oven)
    bare = row.h.case(choice.h) * choice.h_factor
    over_top, at_sides = over.resistance.case(choice.layers), side.resistance.case(choice.layers)
    # In a tin the cover lies on the top alone, and the tin everywhere else.
    tin = side.id != "none"
    sides = 1 / (1 / bare + (at_sides if tin else over_top))
    above = 1 / (1 / ((row.h_top or row.h).case(choice.h) * choice.h_factor) + over_top)
    top = (sides + above) / 2
    wetness = over.wetness.case(choice.wetness) * (top_share if tin else 1.0)
    if row.moisture is None or not wetness:
        return Film(sides, top, setting, setting)
    convection = max(bare - radiation((start + setting) / 2, setting), LEAST_CONVECTION)
    return _straight(setting, sides, top, convection, wetness, row.moisture, start)


def _straight(around: float, h: float, h_top: float, convection: float, wetness: float, moisture: float, start: float) -> Film:
    settles = plateau(around, h, convection, wetness, moisture)
    if abs(settles - start) < 1.0:
        return Film(h, h_top, settles, settles)
    first, second = (min(max(start + part * (settles - start), 0.0), HOTTEST_WET) for part in LINE_THROUGH)
    flow, last = (heat_flow(at, around, h, convection, wetness, moisture) for at in (first, second))
    slope = (flow - last) / (second - first)
    return Film(slope, slope * h_top / h, second + last / slope, settles)
