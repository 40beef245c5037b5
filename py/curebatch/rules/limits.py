"""The limits: records with value, unit, basis, document, edition, clause, date read.

``strictest`` is every limit that was read, of every region. It holds where the
region is not known, and beside any region whose own limit is only remembered.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache

from ..data import table
from ..batch.compounds import as_sodium_nitrite
from ..batch.cure import Ceiling


@dataclass(frozen=True)
class Limit:
    """One row of the rules. ``value`` is in mg/kg, counted as ``counted_as``."""

    id: str
    regions: tuple[str, ...]
    methods: tuple[str, ...]
    cut: str  # "any" or "belly"
    role: str  # "limit", "threshold" (least to rely on) or "laboratory" (what is left, found later)
    value: Fraction
    counted_as: str
    per: str  # "meat", "mix" or "sold"
    document: str
    edition: str
    clause: str
    date_read: str
    sure: str  # "read", "derived" or "memory"
    same_weight_as_potassium: bool = False

    @cached_property
    def share(self) -> Fraction:
        """The limit as a share of sodium nitrite."""
        return as_sodium_nitrite(self.value / 10**6, self.counted_as)

    def ceiling(self, compound: str) -> Ceiling:
        """The limit for a pack whose nitrite is ``compound``, as a share of sodium nitrite."""
        if compound == "KNO2" and self.same_weight_as_potassium:
            return Ceiling(self.id, as_sodium_nitrite(self.share, "KNO2"), self.per)
        return Ceiling(self.id, self.share, self.per)


@lru_cache(maxsize=1)
def _tables() -> dict:
    return table("limits")


@lru_cache(maxsize=1)
def editions() -> list[dict]:
    """What changed in the rules: [{"edition", "changes": [sentence]}], newest last."""
    return table("editions")["edition"]


def edition() -> str:
    """Date of this collection of rules."""
    return _tables()["edition"]


@lru_cache(maxsize=1)
def all_limits() -> tuple[Limit, ...]:
    """Every record, in the order of the file. Values are written as text, to stay exact."""
    return tuple(
        Limit(**{**row, "regions": tuple(row["regions"]), "methods": tuple(row["methods"]), "value": Fraction(row["value"])})
        for row in _tables()["limit"]
    )


def _fits(limit: Limit, method: str, belly: bool) -> bool:
    return method in limit.methods and (limit.cut == "any" or belly)


def applicable(region: str, method: str, belly: bool, role: str = "limit") -> tuple[Limit, ...]:
    """The records that a batch must answer to.

    region: a region of the table of fields, "strictest" for all that were read;
    method: "ground", "dry", "brine" or "injected"; belly: whether the cut is pork
    belly (bacon); role: "limit", "threshold" or "laboratory".
    A limit from memory never alone lets a batch pass, nor a rule of this project's
    own: where the region has none that was read, every limit that was read stands beside it.
    """
    rows = [limit for limit in all_limits() if limit.role == role and _fits(limit, method, belly)]
    read = [limit for limit in rows if limit.sure != "memory"]
    if region == "strictest":
        return tuple(read)
    own = [limit for limit in rows if region in limit.regions]
    if role == "limit" and not any(limit.sure == "read" for limit in own):
        own += [limit for limit in read if limit not in own]
    return tuple(own)
