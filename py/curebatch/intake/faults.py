"""Faults: what could not be understood, each with its field, what was read, and what to write."""

from __future__ import annotations

from dataclasses import dataclass

from ..fields import PRICE, USE
from ..words import has, say
from .numbers import Misread

_SHOWN = 60  # a fault quotes no more of what was typed than this
_OURS = ("expected", "known", "units", "choices", "form")  # what may be written instead: a list cut short is no help
_LISTED = 600


@dataclass(frozen=True)
class Fault:
    """One thing to put right. ``field`` is a key of the table, or of a recipe file."""

    field: str
    read: str
    code: str
    text: str
    label: str = ""  # where the catalogue has none for the field

    def as_dict(self) -> dict[str, str]:
        label = self.label or (say(f"field.{self.field}.label") if has(f"field.{self.field}.label") else self.field)
        if self.field.startswith(USE):
            label = say("field.use.label", name=self.field.removeprefix(USE))
        elif self.field.startswith(PRICE):
            label = say("field.price.label", name=self.field.removeprefix(PRICE))
        return {"field": self.field, "label": label, "read": self.read, "code": self.code, "text": self.text}


def clip(text: object, most: int = _SHOWN) -> str:
    """``text`` cut to what a sentence can quote, ``most`` signs, control signs taken out."""
    try:
        written = str(text)
    except (RecursionError, ValueError):
        # Nested without end, or a number of thousands of digits.
        written = type(text).__name__
    line = "".join(c if c.isprintable() else "\N{REPLACEMENT CHARACTER}" for c in written[: 4 * most])
    return line if len(line) <= most else line[: most - 1] + "…"


def fault(field: str, read: object, code: str, **values: str) -> Fault:
    """A Fault with the words of ``fault.<code>``; ``read`` is quoted, clipped."""
    quoted = clip(read)
    return Fault(field, quoted, code, say(f"fault.{code}", read=quoted, **{k: clip(v, _LISTED if k in _OURS else _SHOWN) for k, v in values.items()}))


def from_misread(field: str, read: object, error: Misread, example: str) -> Fault:
    """The Fault for a quantity that could not be read; ``example`` shows how to write it."""
    values = dict(error.values)
    values.pop("read", None)
    return fault(field, read, error.code, example=example, **values)
