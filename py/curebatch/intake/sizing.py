"""How big the batch is, and which of its lines the cook has set: the recipe as it will be made.

One way of sizing at a time: the meat on hand, portions, the weight of the whole
mix, the tins to fill, or every meat and fat weighed as it lies there. Any line can
be set to a weight besides; the solver then takes the changed recipe like any other,
so that nitrite and salt are right on every base.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from ..batch.composition import batter_density, expected_yield
from ..batch.cure import Pack
from ..batch.rounding import to_step
from ..batch.share_out import BLOCK, Changed, OnHandRefused, mix_per_meat
from ..batch.tins import HEADROOM, Tin, holds_grams
from ..fields import TINS, USE
from ..words import say
from .entries import Count, Value, refused, told_of
from .faults import Fault, fault
from .reader import MOST_FAULTS
from .recipe import Recipe
from .tins import TinEntry, read_tin
from .units import Amount

WAYS = ("meat", "portions", "batch", "fill")
_LEAST, _MOST = Fraction(1), Fraction(1_000_000)  # g of meat, as the field of the meat takes it
_FINEST = Fraction(1, 10)  # g: what is worked out is planned to this


@dataclass(frozen=True)
class Sized:
    """The recipe as it will be made, and its block.

    ``meat``: green weight of the block [g], None where the published batch or the field of
    the meat decides as it stands; ``way``: the key that decided, "use" for weights of all
    meats, "" for none; ``changed``: lines whose share is no longer the recipe's.
    """

    recipe: Recipe
    meat: Fraction | None = None
    way: str = ""
    changed: tuple[Changed, ...] = ()


def tins_in(recipe: Recipe, values: Mapping[str, Value]) -> tuple[Tin, ...]:
    """The tins of the kitchen, each by its key; where none is stated, those of the recipe."""
    headroom = values.get("headroom")
    free = float(headroom.value) if isinstance(headroom, Amount) else HEADROOM
    entries = {key: values[key] for key in TINS if isinstance(values.get(key), TinEntry)}
    if not entries:
        entries = {str(number): read_tin(text) for number, text in enumerate(recipe.tins, 1)}
    return tuple(entry.tin(key, free) for key, entry in entries.items())


def size(recipe: Recipe, values: Mapping[str, Value], pack: Pack | None) -> tuple[Sized, list[Fault]]:
    """Work out the block and the changed recipe.

    recipe: with its targets as they stand; values: the entries read; pack: the cook's
    curing salt where it is known, which weighs a little in the whole mix.
    Returns (Sized, []), or (the recipe unchanged, faults).
    """
    lines = {line.id: line for line in recipe.ingredients}
    used = {key.removeprefix(USE): value.value for key, value in values.items() if key.startswith(USE)}
    unknown = [fault(f"{USE}{name}", told_of(values[f"{USE}{name}"]), "use_unknown", name=name, known=", ".join(lines)) for name in used if name not in lines]
    if unknown:
        return Sized(recipe), unknown[:MOST_FAULTS]
    plan = _Plan(recipe, used, pack)
    ways = [key for key in WAYS if key in values]
    if plan.whole_block:
        ways.append(f"{USE}{plan.block[0].id}")
    if len(ways) > 1:
        return Sized(recipe), [_twice(ways[0], key, values) for key in ways[1:]]
    way = ways[0] if ways else ""
    if not used and way in ("", "meat"):
        return Sized(recipe), []
    key = way or f"{USE}{next(iter(used))}"
    try:
        meat, wrong = _meat(plan, way, values)
        if wrong:
            return Sized(recipe), [wrong]
        if not plan.fits(meat):
            return Sized(recipe), [fault(key, told_of(values[key]), "use_too_much", set=_grams(plan.set_block), meat=_grams(meat))]
        made = plan.at(meat)
    except OnHandRefused as error:
        return Sized(recipe), [refused(key, told_of(values[key]), error)]
    if not _LEAST <= meat <= _MOST:
        return Sized(recipe), [fault(key, told_of(values[key]), "sized_out", meat=_grams(meat), least=_grams(_LEAST), most=f"{_MOST / 1000} kg")]
    changed = plan.changes(made)
    return Sized(made, None if way == "meat" else meat, "use" if plan.whole_block else way, changed), []


def _grams(value: Fraction) -> str:
    return f"{float(value):.1f} g"


def _twice(first: str, second: str, values: Mapping[str, Value]) -> Fault:
    """Two ways of sizing at once: nothing tells which of them the cook means."""
    label = say("field.use.short") if first.startswith(USE) else say(f"field.{first}.label")
    other = say("field.use.short") if second.startswith(USE) else say(f"field.{second}.label")
    return fault(second, told_of(values[second]), "sized_twice", first=label, first_read=told_of(values[first]), second=other)


class _Plan:
    """A recipe with some of its lines set to a weight."""

    def __init__(self, recipe: Recipe, used: Mapping[str, Fraction], pack: Pack | None):
        self.recipe, self.used, self.pack = recipe, used, pack
        self.block = [line for line in recipe.ingredients if line.role in BLOCK]
        self.set_block = sum((used[line.id] for line in self.block if line.id in used), Fraction(0))
        self.free_share = sum((line.share for line in self.block if line.id not in used), Fraction(0))

    @property
    def whole_block(self) -> bool:
        """Whether every meat and fat has its weight, so that their sum is the block."""
        return all(line.id in self.used for line in self.block)

    def planned(self, meat: Fraction) -> Fraction:
        """The block where the lines that are not set keep the grams of a batch of ``meat`` [g]."""
        return self.set_block + self.free_share * meat

    def fits(self, meat: Fraction) -> bool:
        """Whether the lines that are set leave room in the block for the others."""
        return meat > self.set_block or (self.whole_block and meat == self.set_block)

    def at(self, meat: Fraction) -> Recipe:
        """The recipe on a block of ``meat`` [g]. Raises OnHandRefused where no meat would be left."""
        free = (meat - self.set_block) / self.free_share / meat if self.free_share else Fraction(0)
        lines = []
        for line in self.recipe.ingredients:
            if line.id in self.used and meat:
                line = replace(line, share=self.used[line.id] / meat, per="meat")
            elif line.role in BLOCK:
                line = replace(line, share=line.share * free)
            lines.append(line)
        if not meat or not any(line.share for line in lines if line.role == "meat"):
            raise OnHandRefused("no_meat")
        return replace(self.recipe, ingredients=tuple(lines))

    def changes(self, made: Recipe) -> tuple[Changed, ...]:
        """The lines of ``made`` whose share of the meat is no longer the recipe's."""
        found = []
        for old, new in zip(self.recipe.ingredients, made.ingredients, strict=True):
            before = old.share * (mix_per_meat(self.recipe, None) if old.per != new.per else 1)
            if before != new.share:
                found.append(Changed(old.id, before, new.share))
        return tuple(found)

    def mix_at(self, meat: Fraction) -> Fraction:
        """Everything that goes in [g], for a block of ``meat`` [g]."""
        made = self.at(meat)
        try:
            return meat * mix_per_meat(made, self.pack)
        except OnHandRefused:
            # The pack and the targets exclude each other, which the card says; plain salt sizes the batch.
            return meat * mix_per_meat(made, None)

    def for_mix(self, mix: Fraction) -> Fraction:
        """The block for a whole mix of ``mix`` [g]. What is set is fixed, the rest a share: so it is a straight line."""
        low, high = self.set_block + 1000, self.set_block + 2000
        at_low, at_high = self.mix_at(low), self.mix_at(high)
        return low + (mix - at_low) * (high - low) / (at_high - at_low)


def _meat(plan: _Plan, way: str, values: Mapping[str, Value]) -> tuple[Fraction, Fault | None]:
    """The block [g] that a way of sizing gives, or the fault that keeps it from one."""
    recipe = plan.recipe
    if plan.whole_block:
        return plan.set_block, None
    if way == "meat":
        off = sum((values[key].value for key in ("bone", "skin") if key in values), Fraction(0))
        return values["meat"].value - off, None
    if way == "batch":
        return _fine(plan.for_mix(values["batch"].value)), None
    if way == "fill":
        tins = tins_in(recipe, values)
        if not tins:
            return Fraction(0), fault("fill", values["fill"], "fill_without_tin")
        return _fine(plan.for_mix(Fraction(holds_grams(tins, batter_density().likely))), "down"), None
    if way == "portions":
        return _for_portions(plan, values["portions"], values)
    return plan.planned(recipe.meat), None


def _for_portions(plan: _Plan, count: Count, values: Mapping[str, Value]) -> tuple[Fraction, Fault | None]:
    recipe, portion = plan.recipe, values.get("portion")
    if isinstance(portion, Amount):
        return _fine(plan.for_mix(count.value * portion.value / yield_of(recipe)[0])), None
    if not recipe.portions:
        return Fraction(0), fault("portions", told_of(count), "portion_needed")
    return _fine(recipe.meat * count.value / recipe.portions), None


def yield_of(recipe: Recipe) -> tuple[Fraction, Fraction]:
    """The least and the most of a recipe's finished weight over its raw weight [1].

    What the recipe states, else what its vessel lets expect; raw goods lose nothing,
    and where nothing is known the widest range of the table holds.
    """
    if recipe.cooked_share is not None:
        return recipe.cooked_share.low, recipe.cooked_share.high
    if recipe.raw:
        return Fraction(1), Fraction(1)
    found = expected_yield(recipe.vessel or "open_tin")
    return Fraction(str(found.low)), Fraction(str(found.high))


def _fine(meat: Fraction, way: str = "nearest") -> Fraction:
    """A block that was worked out, to a tenth of a gram: no scale for it shows more."""
    return to_step(meat, _FINEST, way) if meat >= 10 else meat
