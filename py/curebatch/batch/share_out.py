"""Make it for: what is on hand, a weight, a number of portions, the tins; and what comes together.

A recipe is shares of the meat block and of the whole mix. Everything here ends
in a weight of the meat block, or in a recipe with other shares, which the solver
then takes like any other. Weights are fractions.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil

from ..intake.recipe import Ingredient, Recipe
from .allergens import Named
from .composition import NOTHING, Composition
from .cure import CASES, Impossible, Pack, _System
from .refusal import Refused

BLOCK = ("meat", "fat")


class OnHandRefused(Refused):
    """Weights on hand that make no batch."""


def mix_per_meat(recipe: Recipe, pack: Pack | None = None) -> Fraction:
    """Everything that goes in over the meat block [1], before any rounding.

    recipe: with its targets; pack: the curing salt, or None, for plain salt alone.
    Of an injected cut: its weight when pumped, over its green weight.
    Raises OnHandRefused where the targets leave no room for anything but salt.
    """
    if recipe.method == "injected":
        return 1 + recipe.pump.value
    bare = recipe if pack else replace(recipe, targets=replace(recipe.targets, nitrite=None))
    meat = Fraction(1000)
    try:
        _, salt, kettle = _System(bare, meat).solve(pack, None if pack else Fraction(0))
    except Impossible:
        raise OnHandRefused("targets_impossible") from None
    # Where the curing salt brings more salt than is wanted, no plain salt is there to take out.
    return (kettle - min(salt, Fraction(0))) / meat


def meat_for_mix(recipe: Recipe, mix: Fraction, pack: Pack | None = None) -> Fraction:
    """The meat block for a whole mix of ``mix`` [g, above 0]; the rest as for ``mix_per_meat``."""
    return mix / mix_per_meat(recipe, pack)


def meat_for_portions(recipe: Recipe, count: int, portion: Fraction, yield_low: Fraction, pack: Pack | None = None) -> Fraction:
    """The meat block for so many portions.

    count: [1 or more]; portion: of the finished product [g, above 0]; yield_low: the
    least cooked weight over raw weight [above 0 to 1], so that nobody goes without.
    """
    if count < 1 or portion <= 0 or not 0 < yield_low <= 1:
        raise OnHandRefused("portions", read=f"{count} x {float(portion):g} g")
    return meat_for_mix(recipe, count * portion / yield_low, pack)


def portions_from(cooked: Fraction, portion: Fraction) -> int:
    """Whole portions of ``portion`` [g] in ``cooked`` [g]."""
    return int(cooked // portion)


@dataclass(frozen=True)
class Allowed:
    """What one ingredient on hand allows: the meat block that it is enough for [g]."""

    id: str
    on_hand: Fraction
    meat: Fraction


def _known(recipe: Recipe, on_hand: Mapping[str, Fraction]) -> dict[str, Ingredient]:
    lines = {line.id: line for line in recipe.ingredients}
    for name, grams in on_hand.items():
        if name not in lines:
            raise OnHandRefused("on_hand_unknown", read=name, known=", ".join(lines))
        if grams <= 0:
            raise OnHandRefused("on_hand_nothing", read=name)
    return lines


def allowed(recipe: Recipe, on_hand: Mapping[str, Fraction], pack: Pack | None = None) -> tuple[Allowed, ...]:
    """The meat block that each ingredient on hand is enough for, scarcest first.

    recipe: its shares stay as they are; on_hand: grams by ingredient id [g, above 0];
    pack: as for ``mix_per_meat``. An ingredient of no share limits nothing and is left out.
    The first of the answer is what the batch can be; it changes no concentration.
    Raises OnHandRefused for ids that the recipe does not have.
    """
    lines = _known(recipe, on_hand)
    mix = mix_per_meat(recipe, pack) if any(lines[name].per == "mix" for name in on_hand) else Fraction(1)
    rows = [
        Allowed(name, grams, grams / (lines[name].share * (mix if lines[name].per == "mix" else 1)))
        for name, grams in on_hand.items()
        if lines[name].share
    ]
    return tuple(sorted(rows, key=lambda row: row.meat))


@dataclass(frozen=True)
class Changed:
    """A line whose share is no longer the recipe's [1]."""

    id: str
    before: Fraction
    after: Fraction


@dataclass(frozen=True)
class Made:
    """A batch as it can be made: the recipe, with other shares where need be, and its meat block [g]."""

    recipe: Recipe
    meat: Fraction
    changed: tuple[Changed, ...] = ()


def scaled_to(recipe: Recipe, name: str, grams: Fraction, pack: Pack | None = None) -> Made:
    """All of it scaled to what there is of one ingredient: "I have only 400 g of fat", and the recipe stays itself.

    recipe; name: an ingredient's id; grams: what there is of it [g, above 0].
    """
    rows = allowed(recipe, {name: grams}, pack)
    if not rows:
        raise OnHandRefused("on_hand_no_share", read=name)
    return Made(recipe, rows[0].meat)


def with_block(recipe: Recipe, weights: Mapping[str, Fraction]) -> Made:
    """The meat block as weighed: every kind of meat and fat as it lies there.

    recipe; weights: grams by id of each meat and fat line [g, 0 or more]; lines that
    are not named are left out of the block. The other lines keep their share, the
    targets too: so the salts follow, and only the composition changes.
    Raises OnHandRefused where no meat is left, or an id is none of the block.
    """
    block = [line for line in recipe.ingredients if line.role in BLOCK]
    names = {line.id for line in block}
    for name, grams in weights.items():
        if name not in names:
            raise OnHandRefused("on_hand_unknown", read=name, known=", ".join(line.id for line in block))
        if grams < 0:
            raise OnHandRefused("on_hand_nothing", read=name)
    total = sum(weights.values(), Fraction(0))
    if not any(weights.get(line.id) for line in block if line.role == "meat"):
        raise OnHandRefused("no_meat")
    shares = {line.id: Fraction(weights.get(line.id, 0)) / total for line in block}
    return _reshared(recipe, shares, total)


def _reshared(recipe: Recipe, shares: Mapping[str, Fraction], meat: Fraction) -> Made:
    lines = tuple(replace(line, share=shares[line.id]) if line.id in shares else line for line in recipe.ingredients)
    changed = tuple(Changed(old.id, old.share, new.share) for old, new in zip(recipe.ingredients, lines, strict=True) if old.share != new.share)
    return Made(replace(recipe, ingredients=lines), meat, changed)


def with_amount(recipe: Recipe, meat: Fraction, name: str, grams: Fraction) -> Made:
    """One ingredient set to what there is of it, and everything else left as it was planned.

    recipe; meat: the planned meat block [g]; name: an ingredient's id; grams: the
    weight that goes in [g, 0 or more]. Of a meat or fat line the block follows: its
    other lines keep their grams, the rest of the recipe its share of the new block.
    A line that is a share of the whole mix becomes one of the meat.
    Raises OnHandRefused for unknown ids, and where no meat is left.
    """
    line = _known(recipe, {name: grams or Fraction(1)})[name]
    if line.role in BLOCK:
        weights = {other.id: other.share * meat for other in recipe.ingredients if other.role in BLOCK}
        return with_block(recipe, {**weights, name: grams})
    lines = tuple(replace(other, share=grams / meat, per="meat") if other.id == name else other for other in recipe.ingredients)
    changed = (Changed(name, line.share, grams / meat),) if line.share != grams / meat or line.per != "meat" else ()
    return Made(replace(recipe, ingredients=lines), meat, changed)


# ------------------------------------------------------------------ two batters in one tin


@dataclass(frozen=True)
class Batter:
    """A batter that comes together with others: plain figures of a batch."""

    name: str
    grams: Fraction  # what of it goes in
    meat: Fraction  # of that, meat block
    nitrite: Mapping[str, Fraction]  # as sodium nitrite, share of its mix, in the three cases
    salt: Mapping[str, Fraction]  # common salt, likewise
    state: str  # "held", "not_held" or "uncured"
    kinds: tuple[str, ...]
    allergens: tuple[Named, ...] = ()
    made_of: Composition = NOTHING


@dataclass(frozen=True)
class Together:
    """Several batters in one tin.

    ``nitrite`` and ``salt``: of the mixture, by base and case, were it stirred to one.
    ``worst_nitrite``: the ends over the batters as they lie, unmixed: limits look at
    the highest, reliance on the cure at the lowest. ``state`` and ``kinds`` are those
    that ask for most: one uncured batter makes it uncured, one with poultry makes it poultry.
    """

    grams: Fraction
    nitrite: dict[str, dict[str, Fraction]]
    salt: dict[str, dict[str, Fraction]]
    worst_nitrite: dict[str, Fraction]
    worst_salt: dict[str, Fraction]
    state: str
    kinds: tuple[str, ...]
    poultry: bool
    allergens: tuple[Named, ...]
    made_of: Composition


_MILDEST = ("uncured", "not_held", "held")


def together(batters: Iterable[Batter]) -> Together:
    """Several batters in one tin, judged by the worse.

    batters: two or more, each with some weight. Raises OnHandRefused for fewer.
    """
    all_of = tuple(batters)
    if len(all_of) < 2 or any(b.grams <= 0 or b.meat <= 0 for b in all_of):
        raise OnHandRefused("together")
    grams, meat = (sum((getattr(b, name) for b in all_of), Fraction(0)) for name in ("grams", "meat"))

    def mixed(what: str) -> dict[str, dict[str, Fraction]]:
        carried = {case: sum((getattr(b, what)[case] * b.grams for b in all_of), Fraction(0)) for case in CASES}
        return {"meat": {case: carried[case] / meat for case in CASES}, "mix": {case: carried[case] / grams for case in CASES}}

    def worst(what: str) -> dict[str, Fraction]:
        return {"low": min(getattr(b, what)["low"] for b in all_of), "high": max(getattr(b, what)["high"] for b in all_of)}

    kinds = tuple(dict.fromkeys(kind for b in all_of for kind in b.kinds))
    made_of = NOTHING
    for b in all_of:
        made_of += b.made_of
    state = min((b.state for b in all_of), key=_MILDEST.index)
    return Together(
        grams, mixed("nitrite"), mixed("salt"), worst("nitrite"), worst("salt"), state, kinds, "poultry" in kinds,
        tuple(named for b in all_of for named in b.allergens), made_of,
    )


# ------------------------------------------------------------------ shopping and cost


@dataclass(frozen=True)
class Price:
    """What a pack costs, or so much of what is sold loose: an amount in a currency for so many grams."""

    amount: Fraction
    currency: str  # three capital letters, as typed
    grams: Fraction
    loose: bool = False  # sold by weight, so that nothing is left in a pack


def price(amount: Fraction, currency: str, grams: Fraction, loose: bool = False) -> Price:
    """A price, checked.

    amount: [0 or more]; currency: a code of three letters, such as EUR; grams: what
    the pack weighs [g, above 0]; loose: whether it is sold by weight instead.
    Raises Refused without a currency, or where the rest cannot be.
    """
    code = currency.strip().upper()
    if not code:
        raise Refused("price_no_currency", read=f"{float(amount):g}")
    if not re.fullmatch("[A-Z]{3}", code):
        raise Refused("price_currency", read=currency)
    if amount < 0 or grams <= 0:
        raise Refused("price_value", read=f"{float(amount):g}")
    return Price(amount, code, grams, loose)


@dataclass(frozen=True)
class Need:
    """One line of a batch, for the shopping list."""

    name: str
    role: str
    grams: Fraction
    food: str = ""


@dataclass(frozen=True)
class Item:
    """One thing to buy. ``packs``, ``spent`` and ``used`` are None where there is no price for it; ``packs`` also where it is sold loose."""

    name: str
    role: str
    grams: Fraction  # in all
    packs: int | None = None
    spent: Fraction | None = None  # what the packs cost
    used: Fraction | None = None  # what goes in, of that


@dataclass(frozen=True)
class Shopping:
    """A shopping list and what it comes to. Sums are None without any price."""

    items: tuple[Item, ...]
    currency: str
    spent: Fraction | None
    used: Fraction | None
    per_portion: Fraction | None
    unpriced: tuple[str, ...]  # what has no price, so that the sums are "at least"
    unmatched: tuple[str, ...] = ()  # names of prices that no line has


def _same(name: str) -> str:
    return " ".join(name.lower().split())


# Nobody buys these in a shop for a batch.
_FROM_THE_TAP = ("water", "ice")


def shopping(needs: Iterable[Need], prices: Mapping[str, Price] | None = None, *, have: Mapping[str, Fraction] | None = None, portions: int | None = None) -> Shopping:
    """What must be bought, and what it costs.

    needs: the lines of one batch or several; the same name and role become one item.
    prices: by name, of whole packs; have: grams at home, by name; portions: of all of it.
    Water and ice are not bought. Cost used is by weight, cost spent by whole packs.
    Raises Refused where prices are in two currencies.
    """
    prices, have = prices or {}, have or {}
    currencies = sorted({p.currency for p in prices.values()})
    if len(currencies) > 1:
        raise Refused("price_two_currencies", read=", ".join(currencies))
    priced_at = {_same(name): cost for name, cost in prices.items()}
    at_home = {_same(name): grams for name, grams in have.items()}
    wanted: dict[tuple[str, str], Fraction] = {}
    shown: dict[tuple[str, str], Need] = {}
    for need in needs:
        if need.role in _FROM_THE_TAP or need.grams <= 0:
            continue
        key = (_same(need.name), need.role)
        wanted[key] = wanted.get(key, Fraction(0)) + need.grams
        shown.setdefault(key, need)
    items = []
    for key, grams in wanted.items():
        need = shown[key]
        buy = max(Fraction(0), grams - at_home.get(key[0], Fraction(0)))
        cost = priced_at.get(key[0])
        if cost is None:
            items.append(Item(need.name, need.role, buy))
        elif cost.loose:
            items.append(Item(need.name, need.role, buy, None, buy * cost.amount / cost.grams, grams * cost.amount / cost.grams))
        else:
            packs = ceil(buy / cost.grams)
            items.append(Item(need.name, need.role, buy, packs, packs * cost.amount, grams * cost.amount / cost.grams))
    priced = [item for item in items if item.used is not None]
    used = sum((item.used for item in priced), Fraction(0)) if priced else None
    spent = sum((item.spent for item in priced), Fraction(0)) if priced else None
    return Shopping(
        tuple(item for item in items if item.grams), currencies[0] if currencies else "", spent, used,
        used / portions if used is not None and portions else None, tuple(item.name for item in items if item.used is None),
        tuple(name for name in prices if _same(name) not in {key[0] for key in wanted}),
    )
