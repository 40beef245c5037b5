"""The cure: curing salt and plain salt solved together, on what the scale can weigh.

Two worst cases go with every batch. High: the label at its top, the scale
wrong towards more cure, everything else short. Low: the label at its bottom,
the scale wrong towards less, everything else over. Limits look at the first,
reliance on the cure at the second.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from ..intake.recipe import Recipe
from ..intake.units import Amount
from .compounds import as_sodium_nitrite, carrier_salt
from .handbook import immersed_by_pick_up
from .rounding import Scale, Scales, to_step

CASES = ("low", "nominal", "high")
# Made once: a card asks for hundreds.
_NOTHING, _ALL = Fraction(0), Fraction(1)
USUAL_PICK_UP = Fraction(1, 10)
"""What a piece gains in its brine where the recipe does not say; the card names it."""


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
        """Share of sodium nitrite in the case "low", "nominal" (middle of the label) or "high".

        A label that names only a maximum has no middle: the maximum stands for it.
        """
        if case == "nominal":
            return (self.low + self.high) / 2 if self.low else self.high
        return {"low": self.low, "high": self.high}[case]

    def salt(self, case: str) -> Fraction:
        """Share of common salt in the case "low", "nominal" or "high"."""
        if case == "nominal":
            return (self.salt_low + self.salt_high) / 2
        return {"low": self.salt_low, "high": self.salt_high}[case]


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
        if not self.grams:
            return _NOTHING
        if not way:
            return self.weighed
        turned = self.weighed + self.scale.error * way
        return turned if turned.numerator > 0 else _NOTHING


@dataclass(frozen=True)
class Batch:
    """A batch as it will be weighed, with its concentrations in the three cases.

    What "meat" and "mix" mean goes with the method. Ground and dry: the green
    weight, and everything that goes in. Brine: meat and pickle end up alike, so
    both bases are everything together; its high end is never below what the
    piece's gain carries in. Injected: what the pumped cut carries, over its green
    weight, and over its weight when pumped.
    """

    lines: tuple[Line, ...]
    cure: Line | None
    salt: Line
    pack: Pack | None
    method: str = "ground"
    pumped: Line | None = None  # injected: the pickle that goes into the cut
    pick_up: Fraction | None = None  # brine: what the piece gains, a share of its green weight
    # Each share and each sum is asked for by many limits and sentences, and worked out once.
    _shares: dict[tuple, Fraction] = field(default_factory=dict, init=False, repr=False, compare=False)

    @cached_property
    def meat_lines(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.role in ("meat", "fat"))

    @cached_property
    def pickle_lines(self) -> tuple[Line, ...]:
        """Everything but the meat: of a brine or an injection, the pickle."""
        return tuple(line for line in self.everything if line.role not in ("meat", "fat"))

    @cached_property
    def meat_grams(self) -> Fraction:
        """Green weight of the meat block [g]."""
        return sum((line.weighed for line in self.meat_lines), Fraction(0))

    @cached_property
    def pickle_grams(self) -> Fraction:
        """Weight of the pickle [g]."""
        return sum((line.weighed for line in self.pickle_lines), Fraction(0))

    @cached_property
    def mix_grams(self) -> Fraction:
        """Everything that goes in, the curing salt included [g]."""
        return sum((line.weighed for line in self.everything), Fraction(0))

    @cached_property
    def everything(self) -> tuple[Line, ...]:
        return (*self.lines, self.salt, *((self.cure,) if self.cure else ()))

    def off(self, which: str, way: int) -> Fraction:
        """What lines may really weigh together [g], each as ``Line.off``; which: "meat_lines", "pickle_lines" or "everything"."""
        key = (which, way)
        if key not in self._shares:
            self._shares[key] = sum((line.off(way) for line in getattr(self, which)), Fraction(0))
        return self._shares[key]

    def _share(self, per: str, way: int, carried: tuple[tuple[Line, Fraction], ...]) -> Fraction:
        """What ``carried`` [(line, share of it)] makes in the base, off by ``way``.

        What is counted is off one way, what it is counted in the other.
        """
        counted = {line.id for line, _ in carried}
        total = sum((part * line.off(way) for line, part in carried), Fraction(0))

        def weight(which: str) -> Fraction:
            turned = (line.off(way) - line.off(-way) for line in getattr(self, which) if line.id in counted)
            return sum(turned, self.off(which, -way))

        if self.method == "injected":
            pickle, meat, pumped = weight("pickle_lines"), weight("meat_lines"), self.pumped.off(way)
            base = pickle * (meat if per == "meat" else meat + pumped)
            total *= pumped
        elif per == "meat" and self.method != "brine":
            base = weight("meat_lines")
        else:
            base = weight("everything")
        # Nothing certain is left of so small a batch: take it for all nitrite.
        return total / base if base else Fraction(1 if way > 0 else 0)

    def nitrite(self, per: str, case: str) -> Fraction:
        """Ingoing nitrite as sodium nitrite, a share of the base.

        per: "meat" or "mix"; case: "low", "nominal" or "high".
        """
        if self.cure is None:
            return Fraction(0)
        key = ("nitrite", per, case)
        if key not in self._shares:
            share = self._share(per, CASES.index(case) - 1, ((self.cure, self.pack.nitrite(case)),))
            self._shares[key] = max(share, self.by_pick_up()) if case == "high" else share
        return self._shares[key]

    def by_pick_up(self) -> Fraction:
        """Brine by the handbook's method one: what the gain alone carries in, at its high end, as sodium
        nitrite, a share of the green weight; 0 where no gain is known. In little brine, a great gain
        reads more than meat and brine become when they are alike."""
        if not self.pick_up or self.cure is None:
            return Fraction(0)
        pickle = sum((line.off(1 if line is self.cure else -1) for line in self.pickle_lines), Fraction(0))
        nitrite = self.pack.nitrite("high") * self.cure.off(1)
        return immersed_by_pick_up(nitrite, self.pick_up, pickle) if pickle else Fraction(0)

    def salt_share(self, per: str, case: str) -> Fraction:
        """Common salt, that of the curing salt and of known ingredients included, a share of the base."""
        key = ("salt", per, case)
        if key in self._shares:
            return self._shares[key]
        carried = [(self.salt, Fraction(1)), *((line, line.salt) for line in self.lines if line.salt)]
        if self.cure is not None:
            carried.append((self.cure, self.pack.salt(case)))
        self._shares[key] = self._share(per, CASES.index(case) - 1, tuple(carried))
        return self._shares[key]

    def left_in_the_rest(self, per: str) -> Fraction:
        """Injected, and then laid in the rest of its pickle until both are alike: nitrite at its high
        end, as sodium nitrite, a share of the green weight ("meat") or of the pumped cut ("mix")."""
        nitrite = self.pack.nitrite("high") * self.cure.off(1)
        meat = self.off("meat_lines", -1)
        pickle = sum((line.off(1 if line is self.cure else -1) for line in self.pickle_lines), Fraction(0))
        if not meat:
            return Fraction(1)
        alike = nitrite / (meat + pickle)
        return alike if per == "mix" else alike * (meat + self.pumped.off(1)) / meat


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
    no_dose: bool = False  # not even one step of the scale is within the limits
    impossible: bool = False  # the targets leave no room for anything but salt


_LEAST_REST = Fraction(1, 20)  # of the kettle: what must be left for anything but salts and shares of it


class Impossible(ValueError):
    """The targets ask for more salt than the whole kettle weighs: no amounts can meet them."""


class _System:
    """The linear equations of one recipe on one amount of meat.

    Curing salt, plain salt and the fixed lines lie in one kettle: the whole mix,
    or for an injected cut the pickle alone.
    """

    def __init__(self, recipe: Recipe, meat: Fraction):
        self.recipe = recipe
        self.meat = meat
        fixed, self.of_kettle, salt_fixed, self.salt_of_kettle = recipe.kettle
        self.fixed, self.salt_fixed = fixed * meat, salt_fixed * meat
        self._of_the_meat: dict[Scales, dict[str, Line]] = {}

    def demand(self, per: str) -> tuple[Fraction, Fraction]:
        """(fixed, per gram of kettle): what must lie in the kettle for a target of one on the base ``per``."""
        method = self.recipe.method
        if method == "injected":
            # Only the pumped part of the kettle gets into the cut.
            pump = self.recipe.pump.value
            return _NOTHING, (1 if per == "meat" else 1 + pump) / pump
        if per == "meat" and method != "brine":
            return self.meat, _NOTHING
        return _NOTHING, _ALL

    def solve(self, pack: Pack | None, cure: Fraction | None) -> tuple[Fraction, Fraction, Fraction]:
        """(curing salt, plain salt, kettle) in exact grams; plain salt may come out negative.

        cure None: as much as the nitrite target asks, on the pack's top strength.
        """
        targets = self.recipe.targets
        # cure = c0 + c1 * kettle; salt = s0 + s1 * kettle
        c0, c1 = cure if cure is not None else Fraction(0), Fraction(0)
        if cure is None and pack is not None and targets.nitrite is not None:
            grams = as_sodium_nitrite(targets.nitrite.value, targets.nitrite_as) / pack.high
            c0, c1 = (grams * part for part in self.demand(targets.nitrite_per))
        carried = pack.salt_low if pack else Fraction(0)
        s0, s1 = (targets.salt.value * part for part in self.demand(targets.salt_per))
        s0 -= carried * c0 + self.salt_fixed
        s1 -= carried * c1 + self.salt_of_kettle
        rest = 1 - self.of_kettle - c1 - s1
        kettle = (self.fixed + c0 + s0) / rest if rest >= _LEAST_REST else 0
        if kettle <= 0:
            raise Impossible("salt and curing salt fill the kettle")
        return c0 + c1 * kettle, s0 + s1 * kettle, kettle

    def base(self, per: str, kettle: Fraction) -> Fraction:
        """What a target on ``per`` is a share of, in grams of the kettle's content."""
        fixed, slope = self.demand(per)
        return fixed + slope * kettle

    def weigh(self, pack: Pack | None, cure: Fraction, scales: Scales) -> Batch:
        """The batch with just ``cure`` grams of curing salt, everything else on what the scales can weigh."""
        _, salt, kettle = self.solve(pack, cure)
        return self._weigh(pack, cure, salt, kettle, scales)

    def unsalted(self, scales: Scales) -> Batch:
        """The lines alone, without either salt: what can be said where no dose is."""
        return self._weigh(None, Fraction(0), Fraction(0), self.fixed / (1 - self.of_kettle), scales)

    def _weigh(self, pack: Pack | None, cure: Fraction, salt: Fraction, kettle: Fraction, scales: Scales) -> Batch:
        if salt < 0:
            # No plain salt can be taken out again: the kettle holds what then goes in.
            salt = Fraction(0)
            kettle = (self.fixed + cure) / (1 - self.of_kettle)

        def line(id: str, name: str, role: str, grams: Fraction, brings: Fraction = Fraction(0)) -> Line:
            scale = scales.pick(grams)
            # What answers to a limit of its own is never rounded over it.
            way = "down" if role in ("accelerator", "phosphate") else "nearest"
            return Line(id, name, role, grams, to_step(grams, scale.step, way), scale, brings)

        # What is a share of the meat is the same whatever the dose.
        same = self._of_the_meat.setdefault(scales, {})
        if not same:
            same.update((i.id, line(i.id, i.name, i.role, i.share * self.meat, i.salt)) for i in self.recipe.ingredients if i.per == "meat")
        lines = tuple(same.get(i.id) or line(i.id, i.name, i.role, i.share * kettle, i.salt) for i in self.recipe.ingredients)
        cure_line = None
        if pack is not None:
            cure_line = Line("curing_salt", "", "curing_salt", cure, cure, scales.for_cure)
        pumped = None
        if self.recipe.method == "injected":
            grams = self.meat * self.recipe.pump.value
            # The cut is weighed before and after, on the scale that holds it.
            pumped = Line("pumped", "", "pumped", grams, to_step(grams, scales.coarse.step, "nearest"), scales.coarse)
        pick_up = (self.recipe.pick_up.value if self.recipe.pick_up else USUAL_PICK_UP) if self.recipe.method == "brine" else None
        return Batch(lines, cure_line, line("salt", "", "salt", salt), pack, self.recipe.method, pumped, pick_up)


_last: list[_System] = []


def _system(recipe: Recipe, meat: Fraction) -> _System:
    """The system of a recipe on an amount of meat; for one card it is asked for ten times, one after the other."""
    if not _last or _last[0].recipe is not recipe or _last[0].meat != meat:
        _last[:] = [_System(recipe, meat)]
    return _last[0]


def over(batch: Batch, ceilings: tuple[Ceiling, ...]) -> Ceiling | None:
    """The first ceiling that the batch's high end passes, or None."""
    return next((c for c in ceilings if batch.nitrite(c.per, "high") > c.share), None)


_SALT_SLACK = Fraction(2, 100)  # a curing salt may overshoot the salt target by this part of it


def solve(recipe: Recipe, meat: Fraction, pack: Pack, scales: Scales, ceilings: tuple[Ceiling, ...]) -> Solved:
    """The largest weighable dose near the target whose high end is within every ceiling.

    recipe: its targets and lines; meat: meat block [g], above zero; pack: the
    curing salt; scales: what weighs it; ceilings: limits to stay within.
    Returns Solved: with a batch, or with the reason why there is none.
    """
    system = _system(recipe, meat)
    try:
        wished, salt, kettle = system.solve(pack, None)
    except Impossible:
        return Solved(None, impossible=True)
    targets = recipe.targets
    salt_base = system.base(targets.salt_per, kettle)
    if salt < -_SALT_SLACK * targets.salt.value * salt_base:
        return Solved(None, wished, conflict=_conflict(system, pack, kettle, salt))
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
        guess = to_step((dose + step) * broken.share / high - step, step, "up")
        dose = min(dose - step, max(guess, Fraction(0)))
    return Solved(None, wished, lowered, no_dose=True)


def _conflict(system: _System, pack: Pack, kettle: Fraction, salt: Fraction) -> Conflict:
    targets = system.recipe.targets
    wanted = targets.salt.value
    brought = wanted - salt / system.base(targets.salt_per, kettle)
    # With no plain salt at all, curing salt alone carries the salt wanted:
    # salt_low c + salt_fixed + salt_of_kettle k = fixed + slope k, with k = (self.fixed + c) / rest.
    fixed, slope = (wanted * part for part in system.demand(targets.salt_per))
    rest = 1 - system.of_kettle
    slope = (slope - system.salt_of_kettle) / rest
    bound = pack.salt_low - slope
    cure = max((fixed - system.salt_fixed + slope * system.fixed) / bound, Fraction(0)) if bound > 0 else Fraction(0)
    base = system.base(targets.nitrite_per, (system.fixed + cure) / rest)
    needed = as_sodium_nitrite(targets.nitrite.value, targets.nitrite_as) * base
    # The stronger salt carries a little less common salt; the difference is below a part in fifty.
    return Conflict(brought, wanted, pack.high * cure / base, min(Fraction(1), needed / cure) if cure else Fraction(1))


def judge_stated(recipe: Recipe, meat: Fraction, pack: Pack, scales: Scales, stated: Fraction) -> Batch:
    """The batch with the dose that the cook states [g], as it is; the judging is the rules' part."""
    return _system(recipe, meat).weigh(pack, stated, scales)


def uncured(recipe: Recipe, meat: Fraction, scales: Scales) -> Batch:
    """The batch with no curing salt: all of the salt is plain salt."""
    return _system(recipe, meat).weigh(None, Fraction(0), scales)


def unsalted(recipe: Recipe, meat: Fraction, scales: Scales) -> Batch:
    """The lines of a recipe without curing salt and plain salt, for a card that gives no dose."""
    return _system(recipe, meat).unsalted(scales)


def target_on(recipe: Recipe, meat: Fraction, per: str) -> Fraction:
    """The recipe's nitrite target as sodium nitrite, a share of the base ``per``; the pack, which is not
    asked for, would move it by what its own weight is of the whole."""
    targets, system = recipe.targets, _system(recipe, meat)
    _, _, kettle = system.solve(None, Fraction(0))
    share = as_sodium_nitrite(targets.nitrite.value, targets.nitrite_as)
    return share * system.base(targets.nitrite_per, kettle) / system.base(per, kettle)


def possible(recipe: Recipe, meat: Fraction) -> bool:
    """Whether plain salt alone could meet the recipe's salt target."""
    try:
        _system(recipe, meat).solve(None, Fraction(0))
    except Impossible:
        return False
    return True


SATURATED = Fraction("0.264")
"""Most common salt that water holds, of salt and water together (CFIA Manual of Procedures, chapter 4)."""


def brine_strength(batch: Batch) -> Fraction:
    """Common salt in the pickle over salt and water, nominal; ice counts as water."""
    salt = batch.salt.weighed + (batch.pack.salt("nominal") * batch.cure.weighed if batch.cure else 0)
    water = sum((line.weighed for line in batch.lines if line.role in ("water", "ice")), Fraction(0))
    return salt / (salt + water) if salt + water else Fraction(1)
