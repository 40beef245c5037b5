"""Reads what was kept on a device or comes as a file: strictly, all faults together, and never trusting it.

Such a file may come from anybody. It is plain JSON of known keys and bounded sizes, or nothing
of it is used.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable
from datetime import datetime

from ..fields import field_of
from ..intake.faults import Fault, fault
from ..intake.nesting import MOST_LEVELS, TooDeep, check_json
from .clock import WrongTime, read_instant

MOST_FAULTS = 20
MOST_ENTRIES = 1000
LONGEST_TEXT = 2000
LONGEST_ENTRY = 8000  # of a field: two hundred readings fit
ID = re.compile(r"[a-z][a-z0-9-]{0,63}")
REF = re.compile(r"(?:[a-z][a-z0-9-]{1,40}\.[1-9][0-9]{0,3}|found)?")
DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")


class _NotJson(ValueError):
    pass


def _once(pairs: list[tuple[str, object]]) -> dict:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise _NotJson("a key stands twice")
    return found


def _no_number(name: str) -> object:
    raise _NotJson(f"{name} is no number")


def parse(text: object, most: int, what: str) -> tuple[dict | None, list[Fault]]:
    """JSON text as a dictionary.

    text: of at most ``most`` characters; what: "log" or "backup", for the faults.
    Returns (dictionary, []) or (None, faults).
    """
    if not isinstance(text, str) or len(text) > most:
        return None, [fault(what, "", "kept_too_long", most=str(most // 1000))]
    try:
        check_json(text)
        found = json.loads(text.removeprefix("\ufeff"), object_pairs_hook=_once, parse_constant=_no_number)
    except TooDeep:
        return None, [fault(what, text[:60], "kept_nested", most=str(MOST_LEVELS))]
    except (ValueError, RecursionError):
        return None, [fault(what, text[:60], "kept_not_json")]
    if not isinstance(found, dict):
        return None, [fault(what, text[:60], "kept_not_json")]
    return found, []


class Keys:
    """Takes the keys of such a dictionary one by one, and remembers what was wrong."""

    def __init__(self, what: str):
        self.what = what
        self.faults: list[Fault] = []

    def wrong(self, where: str, read: object, expected: str) -> None:
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(fault(self.what, read, "kept_value", where=where, expected=expected))

    def add(self, found: Iterable[Fault]) -> None:
        self.faults += list(found)[: MOST_FAULTS - len(self.faults)]

    def known(self, table: dict, where: str, keys: Iterable[str], required: Iterable[str] = ()) -> None:
        known = tuple(keys)
        for key in table:
            if key not in known:
                self.wrong(f"{where}{key}", key, ", ".join(known))
        for key in required:
            if key not in table:
                self.wrong(f"{where}{key}", "", key)

    def text(self, table: dict, where: str, key: str, most: int = LONGEST_TEXT, form: re.Pattern | None = None, example: str = "text") -> str:
        return self.plain(table.get(key, ""), f"{where}{key}", most, form if key in table else None, example)

    def plain(self, value: object, where: str, most: int = LONGEST_TEXT, form: re.Pattern | None = None, example: str = "text") -> str:
        if not isinstance(value, str) or len(value) > most or _CONTROL.search(value) or (form is not None and not form.fullmatch(value)):
            self.wrong(where, value, example)
            return ""
        return value

    def table(self, table: dict, where: str, key: str) -> dict:
        value = table.get(key, {})
        if not isinstance(value, dict) or len(value) > MOST_ENTRIES:
            self.wrong(f"{where}{key}", value, "{}")
            return {}
        return value

    def rows(self, table: dict, where: str, key: str) -> list[tuple[str, dict]]:
        value = table.get(key, [])
        if not isinstance(value, list) or len(value) > MOST_ENTRIES:
            self.wrong(f"{where}{key}", value, "[]")
            return []
        found = []
        for number, row in enumerate(value, 1):
            if isinstance(row, dict):
                found.append((f"{where}{key}.{number}.", row))
            else:
                self.wrong(f"{where}{key}.{number}", row, "{}")
        return found

    def texts(self, table: dict, where: str, key: str, name: Callable[[str], bool], names: str, most: int = LONGEST_TEXT) -> dict[str, str]:
        """A dictionary of texts whose keys fit ``name``."""
        found = {}
        for one, value in self.table(table, where, key).items():
            if not name(one):
                self.wrong(f"{where}{key}", one, names)
                continue
            found[one] = self.plain(value, f"{where}{key}.{one}", most)
        return found

    def entries(self, table: dict, where: str, key: str, without: tuple[str, ...] = ()) -> dict[str, str]:
        """Texts by the keys of the table of fields but those of ``without``, as typed: whether they can be read shows when they are used."""
        return self.texts(table, where, key, lambda one: field_of(one) is not None and one not in without, "a key of the form", LONGEST_ENTRY)

    def instant(self, value: object, where: str) -> datetime | None:
        try:
            return read_instant(value)
        except WrongTime:
            self.wrong(where, value, "2027-03-28T16:00Z")
            return None


def is_id(text: str) -> bool:
    return bool(ID.fullmatch(text))
