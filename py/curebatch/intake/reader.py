"""Takes the keys of a recipe file out of its tables one by one: what was wrong, on which line, and what was left."""

from __future__ import annotations

import re

from ..batch.refusal import Refused
from ..words import say
from .faults import Fault, clip, fault
from .numbers import Misread
from .signs import unseen
from .units import Amount, read_amount

MOST_SIGNS = 2000  # of one text
MOST_FAULTS = 20  # reported at a time; each looks for its line in the file


def key_of(path: tuple) -> str:
    """A path as faults and forms write it, counted from 1: "ingredient.2.amount"."""
    return ".".join(str(part + 1) if isinstance(part, int) else str(part) for part in path)


def line_of(text: str, path: tuple) -> int | None:
    """The line on which the key at ``path`` stands in a TOML text, or None.

    tomllib names no positions, so this looks for the table's head and the key.
    """
    *tables, key = path
    head: tuple = ()
    counts: dict[tuple, int] = {}
    quoted = False
    for number, line in enumerate(text.splitlines(), 1):
        if not quoted:
            bare = line.strip()
            if found := re.fullmatch(r"\[\[\s*([\w.\"-]+)\s*\]\]\s*(#.*)?", bare):
                name = (found[1],)
                counts[name] = counts.get(name, -1) + 1
                head = (*name, counts[name])
                if head == (*tables, key):
                    return number
            elif found := re.fullmatch(r"\[\s*([\w.\"-]+)\s*\]\s*(#.*)?", bare):
                head = (found[1],)
                if head == (*tables, key):
                    return number
            elif head == tuple(tables) and re.match(rf"\"?{re.escape(str(key))}\"?\s*=", bare):
                return number
        if line.count('"""') % 2 or line.count("'''") % 2:
            quoted = not quoted
    return line_of(text, tuple(tables)) if tables else None


class Reader:
    """Takes keys out of the tables one by one, and remembers what was wrong and what was left."""

    def __init__(self, text: str, name: str):
        self.text = text
        self.name = name
        self.faults: list[Fault] = []

    def where(self, path: tuple) -> str:
        """The file with the line of ``path``, as a fault names it."""
        line = line_of(self.text, path)
        return f"{self.name}, line {line}" if line else self.name

    def wrong(self, path: tuple, read: object, expected: str, code: str = "recipe_value") -> None:
        if len(self.faults) >= MOST_FAULTS:
            return
        key = key_of(path)
        self.faults.append(fault(key, read, code, where=self.where(path), key=key, expected=expected))

    def refuse(self, path: tuple, read: object, error: Refused) -> None:
        """A fault in the words of a module of the batch."""
        if len(self.faults) >= MOST_FAULTS:
            return
        values = {name: clip(value) if name == "read" else value for name, value in error.values.items()}
        if "field" in values:
            values["field"] = say(f"batch.side.{values['field']}")
        why = say(f"batch.refused.{error.code}", **values)
        self.faults.append(Fault(key_of(path), clip(read), error.code, self.refusal(path, why)))

    def refusal(self, path: tuple, why: str) -> str:
        """The text of a fault that ``why`` explains."""
        return say("fault.recipe_refused_value", where=self.where(path), key=key_of(path), why=why)

    def take(self, table: dict, path: tuple, key: str, kind: type, expected: str, default=None, required: bool = False, most: int = MOST_SIGNS):
        if key not in table:
            if required:
                self.wrong((*path, key), "", expected, "recipe_missing")
            return default
        value = table.pop(key)
        if type(value) is not kind:
            self.wrong((*path, key), value, expected)
            return default
        if kind is str and len(value) > most:
            self.wrong((*path, key), value, str(most), "recipe_text_long")
            return default
        for text in value if kind is list else [value]:
            if isinstance(text, str) and (found := unseen(text)):
                sign, before = found
                self.wrong((*path, key), before, sign, "recipe_sign")
                return default
        return value

    def choice(self, table: dict, path: tuple, key: str, choices: tuple[str, ...], default=None, required: bool = False):
        expected = ", ".join(choices)
        value = self.take(table, path, key, str, expected, default, required)
        if value is not None and value not in choices:
            self.wrong((*path, key), value, expected)
            return default
        return value

    def amount(self, table: dict, path: tuple, key: str, dimension: str, units: tuple[str, ...], example: str, required: bool = False, ranged: bool = False) -> Amount | None:
        typed = self.take(table, path, key, str, f'"{example}"', None, required)
        if typed is None:
            return None
        try:
            amount = read_amount(typed, dimension, units, range_allowed=ranged)
        except Misread:
            self.wrong((*path, key), typed, f'"{example}"')
            return None
        return amount

    def within(self, path: tuple, amount: Amount | None, low, high, example: str) -> None:
        """A fault where ``amount`` is there and lies outside ``low`` to ``high`` [base unit]."""
        if amount is not None and not (low <= amount.low and amount.high <= high):
            self.wrong(path, amount.text, f'"{example}"')

    def rest(self, table: dict, path: tuple, known: tuple[str, ...]) -> None:
        for key in table:
            self.wrong((*path, key), key, ", ".join(known), "recipe_unknown_key")
