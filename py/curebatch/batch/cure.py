"""The cure: curing salt and plain salt solved together, on what the scale can weigh.

Two worst cases go with every batch. High: the label at its top, the scale
wrong towards more cure, everything else short. Low: the label at its bottom,
the scale wrong towards less, everything else over. Limits look at the first,
reliance on the cure at the second.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from ..intake.recipe import Recipe
from ..intake.units import Amount
from .compounds import as_sodium_nitrite, carrier_salt
from .rounding import Scale, Scales, to_step

CASES = ("low", "nominal", "high")
METHODS = ("ground",)  # those that can be solved; the others are refused by name


@dataclass(frozen=True)
class Pack:
    """A curing salt as its label describes it: shares of sodium nitrite and of common salt."""

    label: str
    low: Fraction  # as sodium nitrite
    high: Fraction
    salt_low: Fraction
    salt_high: Fraction

    @classmethod
    def of(cls, amount: Amount, compound: str) -> Pack:
        """The pack whose label says ``amount``, counted as ``compound``."""
        low, high = (as_sodium_nitrite(end, compound) for end in (amount.low, amount.high))
        return cls(amount.text, low, high, carrier_salt(amount.high, compound), carrier_salt(amount.low, compound))

    def nitrite(self, case: str) -> Fraction:
        """Share of sodium nitrite in the case "low", "nominal" (middle of the label) or "high"."""
        return {"low": self.low, "nominal": (self.low + self.high) / 2, "high": self.high}[case]

    def salt(self, case: str) -> Fraction:
        """Share of common salt in the case "low", "nominal" or "high"."""
        return {"low": self.salt_low, "nominal": (self.salt_low + self.salt_high) / 2, "high": self.salt_high}[case]


@dataclass(frozen=True)
class Line:
    """One thing to weigh. ``grams`` is what the recipe asks for, ``weighed`` what the scale can do."""

    id: str
    name: str
    role: str
    grams: Fraction
    weighed: Fraction
    scale: Scale
    salt: Fraction = Fraction(0)

    def off(self, way: int) -> Fraction:
        """The mass that may really lie in the bowl [g]; way -1 for short, +1 for over, 0 as weighed."""
        return max(Fraction(0), self.weighed + way * self.scale.error) if self.grams else Fraction(0)


@dataclass(frozen=True)
class Batch:
    """A batch as it will be weighed, with its concentrations in the three cases."""

    lines: tuple[Line, ...]
    cure: Line | None
    salt: Line
    pack: Pack | None

    @property
    def meat_grams(self) -> Fraction:
        """Green weight of the meat block [g]."""
        return sum((line.weighed for line in self.lines if line.role in ("meat", "fat")), Fraction(0))

    @property
    def mix_grams(self) -> Fraction:
        """Everything that goes in, the curing salt included [g]."""
        return sum((line.weighed for line in self.everything), Fraction(0))

    @property
    def everything(self) -> tuple[Line, ...]:
        return (*self.lines, self.salt, *((self.cure,) if self.cure else ()))

    def _base(self, per: str, way: int, also: Line | None = None) -> Fraction:
        if per == "meat":
            return sum((line.off(way) for line in self.lines if line.role in ("meat", "fat")), Fraction(0))
        # What is counted is off the other way than what it is counted in.
        return sum((line.off(-way if line is also else way) for line in self.everything), Fraction(0))

    def nitrite(self, per: str, case: str) -> Fraction:
        """Ingoing nitrite as sodium nitrite, a share of the base.

        per: "meat" (green weight) or "mix"; case: "low", "nominal" or "high".
        """
        if self.cure is None or self.pack is None:
            return Fraction(0)
        way = CASES.index(case) - 1
        base = self._base(per, -way, self.cure)
        return self.pack.nitrite(case) * self.cure.off(way) / base if base else Fraction(1)

    def salt_share(self, per: str, case: str) -> Fraction:
        """Common salt, that of the curing salt and of known ingredients included, a share of the base."""
        way = CASES.index(case) - 1
        total = self.salt.off(way) + sum((line.salt * line.off(way) for line in self.lines), Fraction(0))
        if self.cure is not None and self.pack is not None:
            total += self.pack.salt(case) * self.cure.off(way)
        base = self._base(per, -way, self.salt)
        return total / base if base else Fraction(1)


@dataclass(frozen=True)
class Ceiling:
    """A limit on ingoing nitrite: a share as sodium nitrite of the base ``per``."""

    id: str
    share: Fraction
    per: str


@dataclass(frozen=True)
class Conflict:
    """Two targets that exclude each other with this pack: what it would take instead."""

    salt_brought: Fraction  # share of the salt's base that the curing salt alone would bring
    salt_wanted: Fraction
    nitrite_possible: Fraction  # as sodium nitrite, share of the nitrite's base, at the wanted salt
    strength_needed: Fraction  # as sodium nitrite, share of the pack


@dataclass(frozen=True)
class Solved:
    """What the solver found: a batch, or why there is none."""

    batch: Batch | None
    wished: Fraction = Fraction(0)  # exact grams for the target, before scale and limits
    lowered_for: Ceiling | None = None
    conflict: Conflict | None = None
    no_dose: bool = False


class _System:
    """The linear equations of one recipe on one amount of meat."""

    def __init__(self, recipe: Recipe, meat: Fraction):
        self.recipe = recipe
        self.meat = meat
        self.fixed = sum((i.share for i in recipe.ingredients if i.per == "meat"), Fraction(0)) * meat
        self.of_mix = sum((i.share for i in recipe.ingredients if i.per == "mix"), Fraction(0))
        self.salt_fixed = sum((i.share * i.salt for i in recipe.ingredients if i.per == "meat"), Fraction(0)) * meat
        self.salt_of_mix = sum((i.share * i.salt for i in recipe.ingredients if i.per == "mix"), Fraction(0))

    def solve(self, pack: Pack | None, cure: Fraction | None) -> tuple[Fraction, Fraction, Fraction]:
        """(curing salt, plain salt, whole mix) in exact grams; plain salt may come out negative.

        cure None: as much as the nitrite target asks, on the pack's top strength.
        """
        targets = self.recipe.targets
        # cure = c0 + c1 * mix; salt = s0 + s1 * mix
        c0 = cure if cure is not None else Fraction(0)
        c1 = Fraction(0)
        if cure is None and pack is not None and targets.nitrite is not None:
            grams = as_sodium_nitrite(targets.nitrite.value, targets.nitrite_as) / pack.high
            c0, c1 = (grams * self.meat, Fraction(0)) if targets.nitrite_per == "meat" else (Fraction(0), grams)
        carried = pack.salt_low if pack else Fraction(0)
        wanted = targets.salt.value
        s0 = -carried * c0 - self.salt_fixed + (wanted * self.meat if targets.salt_per == "meat" else 0)
        s1 = -carried * c1 - self.salt_of_mix + (wanted if targets.salt_per == "mix" else 0)
        mix = (self.fixed + c0 + s0) / (1 - self.of_mix - c1 - s1)
        return c0 + c1 * mix, s0 + s1 * mix, mix

    def weigh(self, pack: Pack | None, cure: Fraction, scales: Scales, *, as_stated: bool = False) -> Batch:
        """The batch with ``cure`` grams of curing salt, everything on what the scales can weigh."""
        _, salt, mix = self.solve(pack, cure)
        if salt < 0:
            # No plain salt can be taken out again: the mix is what then goes in.
            salt = Fraction(0)
            mix = (self.fixed + cure) / (1 - self.of_mix)
        lines = []
        for item in self.recipe.ingredients:
            grams = item.share * (self.meat if item.per == "meat" else mix)
            scale = scales.pick(grams)
            lines.append(Line(item.id, item.name, item.role, grams, to_step(grams, scale.step, "nearest"), scale, item.salt))
        salt_scale = scales.pick(salt)
        salt_line = Line("salt", "", "salt", salt, to_step(salt, salt_scale.step, "nearest"), salt_scale)
        cure_line = None
        if pack is not None:
            scale = scales.for_cure
            weighed = cure if as_stated else to_step(cure, scale.step, "down")
            cure_line = Line("curing_salt", "", "curing_salt", cure, weighed, scale)
        return Batch(tuple(lines), cure_line, salt_line, pack)


def over(batch: Batch, ceilings: tuple[Ceiling, ...]) -> Ceiling | None:
    """The first ceiling that the batch's high end passes, or None."""
    return next((c for c in ceilings if batch.nitrite(c.per, "high") > c.share), None)


_SALT_SLACK = Fraction(2, 100)  # a curing salt may overshoot the salt target by this part of it


def solve(recipe: Recipe, meat: Fraction, pack: Pack, scales: Scales, ceilings: tuple[Ceiling, ...]) -> Solved:
    """The largest weighable dose near the target whose high end is within every ceiling.

    recipe: its targets and lines; meat: meat block [g], above zero; pack: the
    curing salt; scales: what weighs it; ceilings: limits to stay within.
    Returns Solved: with a batch, with a conflict of targets, or with ``no_dose``
    where not even one step of the scale stays within the limits.
    """
    system = _System(recipe, meat)
    wished, salt, mix = system.solve(pack, None)
    targets = recipe.targets
    salt_base = meat if targets.salt_per == "meat" else mix
    if salt < -_SALT_SLACK * targets.salt.value * salt_base:
        brought = targets.salt.value - salt / salt_base
        return Solved(None, wished, conflict=_conflict(system, pack, brought))
    step = scales.for_cure.step
    dose = to_step(wished, step, "nearest")
    lowered: Ceiling | None = None
    while dose > 0:
        batch = system.weigh(pack, dose, scales)
        broken = over(batch, ceilings)
        if broken is None:
            return Solved(batch, wished, lowered)
        lowered = broken
        # Straight to where the broken ceiling lies, then step by step.
        high = batch.nitrite(broken.per, "high")
        guess = to_step((dose + step) * broken.share / high - step, step, "up") if high else dose
        dose = min(dose - step, max(guess, Fraction(0)))
    return Solved(None, wished, lowered, no_dose=True)


def _conflict(system: _System, pack: Pack, brought: Fraction) -> Conflict:
    targets = system.recipe.targets
    wanted = targets.salt.value
    known = system.salt_fixed + system.salt_of_mix * system.fixed
    # With no plain salt at all, the curing salt c carries all the salt wanted.
    if targets.salt_per == "meat":
        cure = (wanted * system.meat - system.salt_fixed) / pack.salt_low
        mix = (system.fixed + cure) / (1 - system.of_mix)
    else:
        share = 1 - system.of_mix
        cure = (wanted * system.fixed / share - known) / (pack.salt_low - wanted / share)
        mix = (system.fixed + cure) / share
    cure = max(cure, Fraction(0))
    base = system.meat if targets.nitrite_per == "meat" else mix
    possible = pack.high * cure / base
    needed = as_sodium_nitrite(targets.nitrite.value, targets.nitrite_as) * base
    strength = needed / cure if cure else Fraction(1)
    # The stronger salt carries a little less common salt; the difference is below a part in fifty.
    return Conflict(brought, wanted, possible, min(Fraction(1), strength))


def judge_stated(recipe: Recipe, meat: Fraction, pack: Pack, scales: Scales, stated: Fraction) -> Batch:
    """The batch with the dose that the cook states [g], as it is; the judging is the rules' part."""
    return _System(recipe, meat).weigh(pack, stated, scales, as_stated=True)


def uncured(recipe: Recipe, meat: Fraction, scales: Scales) -> Batch:
    """The batch with no curing salt: all of the salt is plain salt."""
    bare = replace(recipe, targets=replace(recipe.targets, nitrite=None))
    return _System(bare, meat).weigh(None, Fraction(0), scales)
