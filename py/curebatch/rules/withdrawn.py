"""What turned out wrong and was taken back: recipe revisions and editions of the rules.

The list travels apart from the site's other files and is never kept in a cache of pages, so that
a copy made long ago hears of it as soon as it can reach the site.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

MOST = 1000  # entries of each kind; a longer list is none of ours
_REF = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\.[1-9][0-9]{0,3}")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True)
class Withdrawn:
    """{what: the reason, in the words of whoever runs the site}."""

    recipes: Mapping[str, str] = field(default_factory=dict)
    editions: Mapping[str, str] = field(default_factory=dict)

    def __or__(self, other: Withdrawn) -> Withdrawn:
        return Withdrawn({**self.recipes, **other.recipes}, {**self.editions, **other.editions})


def read_withdrawn(given: object) -> Withdrawn:
    """The list, from JSON text or from the data that such a text holds.

    given: {"recipes": {"id.revision": reason}, "editions": {"YYYY-MM-DD": reason}}, or its text.
    An entry that cannot be read is left out, and the others hold: to miss the whole list for one
    slip in it would be the greater harm.
    """
    if isinstance(given, str):
        try:
            given = json.loads(given)
        except (ValueError, RecursionError):
            return Withdrawn()
    if not isinstance(given, Mapping):
        return Withdrawn()
    return Withdrawn(_entries(given.get("recipes"), _REF), _entries(given.get("editions"), _DATE))


def _entries(given: object, name: re.Pattern[str]) -> dict[str, str]:
    if not isinstance(given, Mapping) or len(given) > MOST:
        return {}
    return {
        key: " ".join(reason.split())[:500] if isinstance(reason, str) else ""
        for key, reason in given.items()
        if isinstance(key, str) and name.fullmatch(key)
    }
