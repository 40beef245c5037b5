"""What the build has worked out beforehand for the runtime that ships; from the sources there is none.

Nothing here says anything that the sources do not: compiled templates, tables as they are read, the
factors of the units as pint has them, and programs of regular expressions, each found by the whole
text it was made from. They are written by sitebuild/recorder.py.
"""

from __future__ import annotations

import marshal
from functools import cache
from types import CodeType

from .beside import read


@cache
def _made() -> dict:
    try:
        return marshal.loads(read("beforehand.bin"))
    except OSError:
        return {"templates": {}, "tables": {}}


def begin() -> None:
    """Hand on what is Python's own to work out; before the first of our modules is read."""
    try:
        import _made_ready  # in the shipped runtime alone
    except ImportError:
        return
    if texts := _made().pop("texts", None):
        _made_ready.add(texts)


def template(key: str) -> CodeType | None:
    """The code of a template; key: of its name and its text."""
    made = _made()["templates"].get(key)
    return None if made is None else marshal.loads(made)


def table(place: str) -> dict | None:
    """What a TOML file of the package holds, place: "data/limits.toml"; a language's catalogue,
    "words/en"; or the factors of the units."""
    made = _made()["tables"].get(place)
    return None if made is None else marshal.loads(made)
