"""The Document: a recipe with its changes, and a kitchen. Everything a card is made from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from functools import cached_property

from ..batch.cure import Pack
from ..batch.rounding import Scale, Scales
from ..fields import BY_KEY
from ..rules.withdrawn import Withdrawn
from .entries import Value
from .recipe import Recipe
from .sizing import Sized
from .units import Amount, read_amount, write_mass


@dataclass(frozen=True)
class Document:
    """One request, read. ``confirmed`` are the labels that this cook has read off the pack.

    ``today`` is the day it is by the device's clock, where it was told: nothing here looks at a clock.
    """

    recipe: Recipe
    values: dict[str, Value]
    confirmed: frozenset[str]
    from_link: bool = False  # whether the pack came with a link, from another kitchen
    withdrawn: Withdrawn = Withdrawn()
    today: date | None = None
    sized: Sized | None = None  # the recipe is then the one that it made
    beside: Document | None = None  # another batter that goes into the same tins
    newer: Recipe | None = None  # the newest revision of the same recipe, where this is an older one
    changes: tuple[str, ...] = ()  # what is new since this revision

    def choice(self, key: str) -> str:
        """A chosen value, or what an empty field means."""
        return self.values.get(key, BY_KEY[key].default)

    def grams(self, key: str) -> Fraction | None:
        value = self.values.get(key)
        return value.value if isinstance(value, Amount) else None

    @property
    def gross(self) -> Fraction:
        """The meat as weighed [g], bone and skin with it: what the cook has, else the published batch."""
        if self.sized is not None and self.sized.meat is not None:
            return self.sized.meat + self.waste
        return self.grams("meat") or self.recipe.meat

    @property
    def waste(self) -> Fraction:
        """Bone and skin [g]: bone takes up no cure, and skin hardly any."""
        return (self.grams("bone") or Fraction(0)) + (self.grams("skin") or Fraction(0))

    @property
    def meat(self) -> Fraction:
        """Green weight of the meat [g], without bone and skin."""
        return self.gross - self.waste

    def load(self, count: int) -> Document:
        """One of ``count`` loads of the same batch."""
        meat = self.gross / count
        sized = replace(self.sized, meat=self.sized.meat / count) if self.sized is not None and self.sized.meat is not None else self.sized
        beside = self.beside.load(count) if self.beside is not None else None
        return replace(self, values={**self.values, "meat": Amount(meat, meat, "g", write_mass(meat, "g", 1))}, sized=sized, beside=beside)

    @property
    def kinds(self) -> tuple[str, ...]:
        """Every animal in the tins, the other batter's with it: what one asks for, all of it asks for."""
        return tuple(dict.fromkeys((*self.recipe.kinds, *(self.beside.kinds if self.beside else ()))))

    @property
    def state(self) -> str:
        """"held", "not_held" or "uncured"."""
        if self.recipe.targets.nitrite is None:
            return "uncured"
        return self.values.get("state", self.recipe.state)

    @property
    def pack_label(self) -> Amount | None:
        return self.values.get("pack")

    @property
    def pack_id(self) -> str:
        """What a cook confirms: the label with what it counts; the same figure of another compound is another pack."""
        compound = self.choice("pack_as")
        return self.pack_label.text if compound == "NaNO2" else f"{self.pack_label.text} {compound}"

    @property
    def pack(self) -> Pack | None:
        return Pack.of(self.pack_label, self.choice("pack_as")) if self.pack_label else None

    @cached_property
    def scales(self) -> Scales:
        """The kitchen's scales. The step of the coarse one is stated on the card, typed or not."""
        coarse = self.values.get("scale") or read_amount(BY_KEY["scale"].default, "mass", ("g",))
        fine = self.values.get("fine_scale")
        return Scales(Scale.of(coarse), Scale.of(fine) if fine else None)


def with_changes(recipe: Recipe, values: dict[str, Value]) -> Recipe:
    """The recipe with the targets that the cook changed."""
    changes: dict[str, object] = {key: values[key] for key in ("nitrite_as", "nitrite_per", "salt_per") if key in values}
    if "nitrite" in values and recipe.targets.nitrite is not None:
        changes["nitrite"] = values["nitrite"]
    if "salt" in values:
        changes["salt"] = values["salt"]
    changed = recipe.with_targets(**changes) if changes else recipe
    if "core" in values:
        # The recipe's hold belongs to the recipe's core.
        changed = replace(changed, core=values["core"], hold=None)
    return replace(changed, **{key: values[key] for key in ("pump", "pick_up", "hold") if key in values})
