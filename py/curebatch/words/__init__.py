"""The catalogue: every word a person reads stands in the TOML files of this folder.

Files of one language begin with its code (``en.toml``, ``en_views.toml``); their
tables are joined with dots, so ``[field.pack] label`` is ``field.pack.label``.
"""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from importlib import resources

_PLACE = re.compile(r"\{([a-z_]+)\}")


class UnknownWords(KeyError):
    """An id that the catalogue does not hold, or a placeholder without a value."""


def _flatten(tree: dict, prefix: str, into: dict[str, str]) -> None:
    for key, value in tree.items():
        name = f"{prefix}.{key}" if prefix else key
        if isinstance(value, dict):
            _flatten(value, name, into)
        elif name in into:
            raise UnknownWords(f"{name} stands twice in the catalogue")
        else:
            into[name] = value


@lru_cache(maxsize=4)
def catalogue(language: str = "en") -> dict[str, str]:
    """All words of one language.

    language: code of the language, as the files' names begin.
    Returns {id: text}. Raises UnknownWords where no file of that language is there.
    """
    words: dict[str, str] = {}
    for entry in sorted(resources.files(__name__).iterdir(), key=lambda e: e.name):
        if entry.name.endswith(".toml") and entry.name.split(".")[0].split("_")[0] == language:
            _flatten(tomllib.loads(entry.read_text(encoding="utf-8")), "", words)
    if not words:
        raise UnknownWords(f"no catalogue for the language {language!r}")
    return words


def say(id: str, /, **values: object) -> str:
    """The text of ``id`` with its ``{places}`` filled in.

    id: an id of the catalogue; values: one for each place in the text.
    Returns the text; a value is put in as it is and never read again, so a
    hostile name cannot open a place of its own.
    Raises UnknownWords for an unknown id or a place without a value.
    """
    try:
        text = catalogue()[id]
    except KeyError:
        raise UnknownWords(id) from None

    def fill(place: re.Match[str]) -> str:
        name = place.group(1)
        if name not in values:
            raise UnknownWords(f"{id} needs a value for {name}")
        return str(values[name])

    return _PLACE.sub(fill, text)


def has(id: str) -> bool:
    """Whether the catalogue holds ``id``."""
    return id in catalogue()
