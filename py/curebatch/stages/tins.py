"""The batter in its tins: how it is shared, how high each is filled, and what is left over."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby

from ..batch.composition import Range, batter_density
from ..batch.cure import Batch
from ..batch.tins import HEADROOM, Box, CasingByDiameter, CasingByFlatWidth, Filled, HalfRound, Loaf, Measured, Round, Shape, Shared, Tin, share
from ..fields import TINS
from ..intake.document import Document
from ..intake.sizing import tins_in
from ..measures import of_sizes, ruled, weighed
from ..words import say, shown, typed
from .composition import Made


def fill(document: Document, batch: Batch, loads: int, made: Made | None) -> tuple[list[dict], dict | None]:
    """How the whole batch, all of its loads, goes into the tins.

    made: the composition, for the density where it is known.
    Returns a row per run of tins that are filled alike, and what to know about them;
    ([], None) where no tin is known.
    """
    cupboard, shared, density = share_out(document, batch, loads, made)
    if shared is None:
        return [], None
    by_id = {tin.id: tin for tin in cupboard}
    rows = [_row(by_id[one.id], list(run), document) for one, run in alike(shared)]
    return rows, {
        "left_grams": round(shared.left_grams, 1), "left_text": _left(shared, document, by_id), "whose_text": "" if any(key in document.values for key in TINS) else say("tins.of_recipe"),
        "rises_text": say("tins.rises", share=f"{100 * _free(cupboard):.0f} %") if _free(cupboard) else "", "density_text": say("tins.density", value=f"{density.likely:.2f}"), "density_source": density.source,
    }


def share_out(document: Document, batch: Batch, loads: int, made: Made | None) -> tuple[tuple[Tin, ...], Shared | None, Range]:
    """The tins, the whole batch shared among them, and the density it was shared by.

    Arguments as for ``fill``; no Shared where no tin is known.
    """
    cupboard = tins_in(document.recipe, document.values) if document.recipe.method == "ground" else ()
    density = batter_density(made.raw if made is not None and made.known else None)
    if not cupboard or not batch.mix_grams:
        return cupboard, None, density
    # The other batter goes in beside this one.
    grams = batch.mix_grams * loads + (document.beside.values["batch"].value if document.beside is not None else 0)
    # Tins that are filled alike cook alike; where that would leave batter over, one after the other.
    shared = share(grams, cupboard, density.likely, alike=True)
    return cupboard, share(grams, cupboard, density.likely) if shared.left_grams else shared, density


def alike(shared: Shared) -> Iterator[tuple[Filled, list[Filled]]]:
    """Runs of tins of one kind that hold the same."""
    for _, run in groupby(shared.filled, key=lambda one: (one.id, round(one.grams, 3))):
        ones = list(run)
        yield ones[0], ones


def _free(cupboard: tuple[Tin, ...]) -> float:
    return max((tin.free for tin in cupboard), default=HEADROOM)


def _row(tin: Tin, run: list[Filled], document: Document) -> dict:
    one = run[0]
    grams = _mass(one.grams, document)
    values = {"name": name(tin, document), "grams": grams, "level": f"{100 * one.level:.0f} %"}
    if one.height is None:
        text = say("tins.fill_share", **values)
    elif isinstance(tin.shape, CasingByDiameter | CasingByFlatWidth):
        text = say("tins.fill_casing", length=ruled(one.height), across=ruled(tin.shape.diameter), **values)
    else:
        text = say("tins.fill", height=ruled(one.height), **values)
    return {
        "id": tin.id, "count": len(run), "text": say("tins.times", count=str(len(run)), text=text) if len(run) > 1 else text, "grams": round(one.grams, 1),
        "level": round(one.level, 4), "height_cm": None if one.height is None else round(100 * one.height, 2), "picture": _picture(tin, one),
    }


def name(tin: Tin, document: Document) -> str:
    """The tin as its entry names it, without the number in front."""
    entry = document.values.get(tin.id)
    text = (entry.text if entry is not None else document.recipe.tins[int(tin.id) - 1]).removeprefix(f"{tin.count} x ")
    return typed(text if entry is not None else of_sizes(text))


def _mass(grams: float, document: Document) -> str:
    scale = document.scales.coarse
    return shown(weighed(Fraction(f"{grams:.3f}"), scale.unit, min(scale.places, 1)))


def _left(shared: Shared, document: Document, by_id: dict[str, Tin]) -> str:
    if shared.left_grams < float(document.scales.coarse.step):
        return ""
    grams = _mass(shared.left_grams, document)
    if shared.left_fits:
        return say("batch.tin.left_fits", grams=grams, tins="; ".join(name(by_id[fit], document) for fit in shared.left_fits))
    return say("batch.tin.left_box", grams=grams, side=ruled(shared.box_side))


def _picture(tin: Tin, one: Filled) -> dict | None:
    """Plain numbers for the drawing: the outline seen from the side, in metres, and the level; None where no size is known."""
    shape: Shape = tin.shape
    if isinstance(shape, Measured):
        return None
    if isinstance(shape, CasingByDiameter | CasingByFlatWidth):
        across = float(shape.diameter)
        return {"form": "casing", "top": float(shape.length), "bottom": float(shape.length), "depth": across, "level": one.level, "free": tin.free}
    if isinstance(shape, HalfRound):
        return {"form": "half-round", "top": float(shape.width), "bottom": 0.0, "depth": float(shape.depth), "level": one.level, "free": tin.free}
    top = {Box: "length", Round: "diameter", Loaf: "top_length"}[type(shape)]
    bottom = {Box: "length", Round: "diameter", Loaf: "bottom_length"}[type(shape)]
    return {"form": "tin", "top": float(getattr(shape, top)), "bottom": float(getattr(shape, bottom)), "depth": float(shape.depth), "level": one.level, "free": tin.free}
