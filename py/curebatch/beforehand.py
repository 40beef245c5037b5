"""What the build has worked out beforehand for the runtime that ships; from the sources there is none.

Nothing here says anything that the sources do not: compiled templates, tables as they are read, the
factors of the units as pint has them, and programs of regular expressions, each found by the whole
text it was made from. They are written by sitebuild/recorder.py.
"""

from __future__ import annotations

import marshal
from functools import cache
from importlib import resources
from types import CodeType


@cache
def _made() -> dict:
    try:
        return marshal.loads((resources.files(__package__) / "beforehand.bin").read_bytes())
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


def words() -> list[str]:
    """The names of the catalogue's files, which do not ship themselves; none when run from the sources."""
    return [place.removeprefix("words/") for place in _made()["tables"] if place.startswith("words/")]


def table(place: str) -> dict | None:
    """What a TOML file of the package holds, place: "words/en.toml", or the factors of the units."""
    made = _made()["tables"].get(place)
    return None if made is None else marshal.loads(made)
