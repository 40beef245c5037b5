"""Several pieces in one oven, ready together: when each goes in, and what they do to each other.

Times are those of each piece alone. Pieces that share an oven shade each other
from its walls and keep its air from moving, and cold meat pulls the oven down:
how much is not foretold but bounded, by the low end of the surface coefficient
and of the oven's spread. A bath that is large for what hangs in it knows no such effect.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

from . import surfaces
from .forecast import Case, Forecast, Heat, Heating, Piece, forecast
from .surfaces import Choice
from .thermal_properties import within

MOST = 12  # pieces


@dataclass(frozen=True)
class Slot:
    """One piece of several.

    goes_in: minutes after the first one that goes in [min]; forecast: of the piece alone;
    crowded: how much longer it may take for having company [min], None where it may never get there.
    """

    goes_in: float
    forecast: Forecast
    crowded: float | None


@dataclass(frozen=True)
class Together:
    """Several pieces planned to be ready at once.

    ready: minutes after the first one goes in [min]; slots: in the order given; codes:
    "company_slows" (an oven with more than one piece: each may take longer, see ``crowded``),
    "door_opened" (pieces go in at different times, and each time the oven loses heat),
    "check_each" (one thermometer cannot speak for two pieces).
    """

    ready: float
    slots: tuple[Slot, ...]
    codes: tuple[str, ...]


def together(pieces: Sequence[Piece], heats: Sequence[Heat], targets: Sequence[float]) -> Together:
    """When each of several pieces goes in so that all are ready at once.

    pieces: 1 to 12; heats: how each is heated, in one oven: covers and tins may differ;
    targets: of each core [C, to 98]. Returns Together. Raises NoForecast, OutOfRange,
    ValueError for lists of different length or for ovens that are not one.
    """
    within("number of pieces", len(pieces), 1, MOST)
    if len({(heat.around.medium, heat.around.setting) for heat in heats}) != 1:
        raise ValueError("the pieces do not stand in one oven")
    alone = [forecast(*each) for each in zip(pieces, heats, targets, strict=True)]
    ready = max(plan.minutes.nominal for plan in alone)
    in_air = surfaces.medium(heats[0].around.medium).moisture is not None
    company = in_air and len(pieces) > 1
    slots = tuple(
        Slot(ready - plan.minutes.nominal, plan, _delay(piece, heat, target, plan) if company else 0.0)
        for piece, heat, target, plan in zip(pieces, heats, targets, alone)
    )
    return Together(ready, slots, tuple(_codes(slots, company)))


def _codes(slots: Sequence[Slot], company: bool):
    if company:
        yield "company_slows"
        if any(slot.goes_in > 0 for slot in slots):
            yield "door_opened"
    if len(slots) > 1:
        yield "check_each"


def _delay(piece: Piece, heat: Heat, target: float, plan: Forecast) -> float | None:
    spread = surfaces.medium(heat.around.medium).spread
    ends = [Heating(piece, heat, Case(choice)).minutes(target) for choice in (Choice(h="low"), Choice(oven=-spread))]
    if None in ends:
        return None
    return hypot(*(max(0.0, end - plan.minutes.nominal) for end in ends))
