"""What lies in the oven, as bodies with sizes: loaves by their filled tins, rolls by their casing, cuts by thickness and weight."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from ..batch.composition import compose, parts_of, shares_for_heat
from ..batch.cure import Batch
from ..batch.tins import CasingByDiameter, CasingByFlatWidth, Filled, HalfRound, Loaf, Measured, Round, Tin
from ..data import table
from ..fields import TINS
from ..intake.document import Document
from ..intake.units import Amount
from ..measures import length, mass
from ..science.thermal_properties import WATER, Composition, OutOfRange, density
from ..words import say
from . import tins
from .composition import Made

_FLAT = 1.15  # a block so much wider than thick is taken as one, a narrower one as a roll. Rule of this project
_STOUTEST = 0.95  # of the ball that a thickness leaves room for: with less weight the thickness cannot be the least one
_IN_COVER = {"open_tin": "open", "covered_tin": "foil", "casing": "casing"}


@dataclass(frozen=True)
class Body:
    """One piece, or several alike.

    name: as the cook calls it; count: how many alike; shape, sizes [m]: as science.forecast has them; cover:
    what is known to cover it, "" where nobody said; tin: whether it lies in one.
    """

    name: str
    count: int
    shape: str
    sizes: tuple[float, ...]
    text: str
    cover: str
    tin: bool


class Unknown(ValueError):
    """Sizes that nobody stated, or that cannot be: ``field`` is where to say it, ``code`` the words."""

    def __init__(self, field: str, code: str, **values: str):
        super().__init__(code)
        self.field, self.code, self.values = field, code, values


def bodies(document: Document, batch: Batch, loads: int, made: Made | None, what: Composition) -> list[Body]:
    """The pieces of a batch, those alike as one.

    batch: as far as it can be weighed; loads: how many such make up the whole; made, what: its
    composition. Raises Unknown.
    """
    if document.recipe.method != "ground":
        return [_cut(document, what)]
    cupboard, shared, _ = tins.share_out(document, batch, loads, made)
    if shared is None:
        raise Unknown("tin", "tin")
    if not shared.filled:
        raise Unknown("tin", "too_little")
    by_id = {tin.id: tin for tin in cupboard}
    cover = _IN_COVER.get(document.recipe.vessel or "", "")
    return [_filled(by_id[one.id], one, len(run), tins.name(by_id[one.id], document), cover) for one, run in tins.alike(shared)]


def thickest(document: Document, batch: Batch, loads: int) -> float | None:
    """The least size of the thickest piece [m], as far as the cook stated sizes; None where nobody did.

    batch, loads: as for ``bodies``.
    """
    stated = document.values.get("thickness")
    if isinstance(stated, Amount):
        return float(stated.value)
    if document.recipe.method != "ground" or not any(key in document.values for key in TINS):
        return None
    try:
        return max(min(body.sizes) for body in bodies(document, batch, loads, None, WATER))
    except Unknown:
        return None


def _filled(tin: Tin, one: Filled, count: int, name: str, cover: str) -> Body:
    shape = tin.shape
    if isinstance(shape, Measured) or one.height is None:
        raise Unknown(tin.id if tin.id.startswith("tin") else "tin", "tin_sizes", name=name)
    if isinstance(shape, CasingByDiameter | CasingByFlatWidth):
        return _body(name, count, "roll", (float(shape.diameter), one.height), "casing", False)
    if isinstance(shape, Round):
        return _body(name, count, "roll", (float(shape.diameter), one.height), cover, True)
    area = one.litres / 1000 / one.height
    if isinstance(shape, Loaf):
        # Sloping sides: the straight block of the same height and volume, sides scaled alike.
        part = one.level / 2
        length, width = (float(low) + (float(top) - float(low)) * part for low, top in ((shape.bottom_length, shape.top_length), (shape.bottom_width, shape.top_width)))
        scale = sqrt(area / (length * width))
        return _body(name, count, "box", (length * scale, width * scale, one.height), cover, True)
    length = float(shape.length)
    # A trough, round below, is the block as long and as high that holds as much.
    return _body(name, count, "box", (length, area / length if isinstance(shape, HalfRound) else float(shape.width), one.height), cover, True)


def _body(name: str, count: int, shape: str, sizes: tuple[float, ...], cover: str, tin: bool) -> Body:
    return Body(name, count, shape, sizes, say(f"forecast.shape.{shape}", **_sizes(shape, sizes)), cover, tin)


def _sizes(shape: str, sizes: tuple[float, ...]) -> dict[str, str]:
    names = ("length", "width", "height") if shape == "box" else ("diameter", "length")
    return {name: length(size) for name, size in zip(names, sizes, strict=True)}


def _cut(document: Document, what: Composition) -> Body:
    """A whole cut as one piece: a block as long as it is wide, or a roll where it is about as wide as thick."""
    thickness = document.values.get("thickness")
    if not isinstance(thickness, Amount):
        raise Unknown("thickness", "thickness")
    thick, grams = float(thickness.value), float(document.gross)
    pump = document.recipe.pump
    if document.recipe.method == "injected" and pump is not None:
        grams *= 1 + float(pump.value)
    volume = grams / 1000 / density(what, 4.0)
    name, weight = say("part.piece"), mass(document.gross, "kg" if document.gross >= 1000 else "g", 2 if document.gross >= 1000 else 0)
    side = sqrt(volume / thick)
    if side >= _FLAT * thick:
        return _body(name, 1, "box", (side, side, thick), "", False)
    if volume < _STOUTEST * pi / 6 * thick**3:
        raise Unknown("thickness", "too_thick", thickness=thickness.text, mass=weight)
    return _body(name, 1, "roll", (thick, volume / (pi / 4 * thick**2)), "", False)


def made_of(document: Document, batch: Batch, made: Made | None) -> tuple[Composition, bool]:
    """What the pieces are made of, for the heat, and whether that is taken for want of rows in the food table.

    made: the composition of the batch, None where its brine is thrown away: then the meat's own counts.
    """
    raw = made.raw if made is not None else compose(part for part in parts_of(batch, document.recipe) if part.role in ("meat", "fat"))
    if raw.total and raw.percent("unknown") <= _MOST_UNKNOWN:
        try:
            return Composition.scaled(**shares_for_heat(raw)), False
        except OutOfRange:
            pass  # rows that do not add up: as if there were none
    return Composition.scaled(**table("mixing")["made_of"]["meat"]), True


_MOST_UNKNOWN = 10.0  # per cent of the batch in no row: so much counts as dry things, more and the meat is taken. Rule of this project
