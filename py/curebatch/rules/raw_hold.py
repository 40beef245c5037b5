"""How long ground meat may lie raw and cold, from mincing to the heat."""

from __future__ import annotations

from collections.abc import Collection

MOST_PORK = 48 * 60  # min; from memory, check before relying on it
MOST_OTHER = 24 * 60  # min with poultry, from memory; any other meat is held to it too: rule of this project


def is_pork_alone(kinds: Collection[str]) -> bool:
    """Whether the longer time is open: nothing but pork goes in, and that is known."""
    return set(kinds) == {"pork"}


def most_minutes(kinds: Collection[str]) -> int:
    """The longest hold of a cured ground mix at 4 degC or below [min].

    kinds: every kind of meat in it; none known counts as the shorter time.
    """
    return MOST_PORK if is_pork_alone(kinds) else MOST_OTHER
