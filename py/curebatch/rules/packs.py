"""What is known of curing salts on sale, and when a label must be read a second time."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from ..data import table
from ..intake.units import Amount, read_amount


@lru_cache(maxsize=1)
def _table() -> dict:
    return table("curing_salts")


@lru_cache(maxsize=1)
def known_labels() -> tuple[Amount, ...]:
    """The strengths that are known, weakest first, as labels."""
    labels = []
    for low, high in _table()["bands"]:
        text = f"{low} %" if low == high else f"{low}-{high} %"
        labels.append(read_amount(text, "share", ("%",), range_allowed=True))
    return tuple(labels)


def too_strong(pack: Amount, share: Fraction) -> bool:
    """Whether a pack is no kitchen salt. share: its top strength as sodium nitrite [1]."""
    return max(pack.high, share) > Fraction(_table()["strongest"]) / 100


def doubts(pack: Amount, low: Fraction, high: Fraction) -> tuple[str, ...]:
    """Why a label must be confirmed against the pack: "turned", "wide", "unusual"; none if it is known.

    pack: the label as read; low, high: its ends as shares of sodium nitrite.
    """
    found = []
    if pack.turned:
        found.append("turned")
    if low and high > Fraction(_table()["widest"]) * low:
        found.append("wide")
    # Of "max 0.6 %" only the upper end is on the label.
    if not any(band.low <= (low or high) and high <= band.high for band in known_labels()):
        found.append("unusual")
    return tuple(found)
