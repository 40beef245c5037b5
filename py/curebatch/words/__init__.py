"""The catalogue: every word a person reads stands in the TOML files of this folder.

Files of one language begin with its code (``en.toml``, ``en_views.toml``); their
tables are joined with dots, so ``[field.pack] label`` is ``field.pack.label``.

The language is an input of a request and holds while it is answered: see ``speaking``.
Whatever is remembered with words in it has the language among its keys. Inside, figures
are written with a decimal point in every language, for links, files and whatever reads
them again; they take the language's sign on their way out, in ``say`` and ``shown``.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import lru_cache

from .. import beforehand
from ..measures import of_words

LANGUAGES = ("en", "de")  # the first stands for whatever is asked for and not here
_SPOKEN: ContextVar[str] = ContextVar("language", default=LANGUAGES[0])
_PLACE = re.compile(r"\{([a-z_]+)\}")
_POINT = re.compile(r"(?<![A-Za-z_0-9.])([0-9]+)\.([0-9]+)(?![0-9]|\.[0-9]|[A-Za-z_])")
# What is quoted, or is somebody's name for something: no figure of ours.
_QUOTED = frozenset((
    "author", "build", "clause", "date", "document", "edition", "file", "food", "ingredients", "key", "keys", "kinds", "known", "link", "name", "names", "near",
    "note", "piece", "reason", "ref", "rows", "source", "title", "where",
))
_WRITTEN = frozenset(("example", "form", "kind", "measure", "units"))  # entries as they may be typed
_TYPED = frozenset(("error", "read", "first", "second", "first_read"))  # of a fault: as it was typed
_FAULTS = ("fault.", "own.fault.", "batch.refused.", "terminal.")


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
def catalogue(language: str) -> dict[str, str]:
    """All words of one language.

    language: code of the language, as the files' names begin.
    Returns {id: text}. Raises UnknownWords where no file of that language is there.
    """
    words = beforehand.table(f"words/{language}") or _from_files(language)
    if not words:
        raise UnknownWords(f"no catalogue for the language {language!r}")
    return words


def _from_files(language: str) -> dict[str, str]:
    from importlib import resources  # where the words are worked out beforehand, it is not needed

    words: dict[str, str] = {}
    for file in sorted(resources.files(__name__).iterdir(), key=lambda file: file.name):
        if file.name.endswith(".toml") and file.name.split(".")[0].split("_")[0] == language:
            _flatten(tomllib.loads(file.read_text(encoding="utf-8")), "", words)
    return words


def known(language: object) -> str:
    """``language`` where there is a catalogue for it, else the first one."""
    return language if language in LANGUAGES else LANGUAGES[0]


def spoken() -> str:
    """The language in force."""
    return _SPOKEN.get()


@contextmanager
def speaking(language: object) -> Iterator[None]:
    """Say everything in one language: what is asked for, or the first where that is not known."""
    before = _SPOKEN.set(known(language))
    try:
        yield
    finally:
        _SPOKEN.reset(before)


def shown(text: str) -> str:
    """``text`` with the figures in it as the language writes them. What stands there is readable back."""
    sign = catalogue(_SPOKEN.get())["figure.decimal"]
    return text if sign == "." else _POINT.sub(rf"\1{sign}\2", text)


@lru_cache(maxsize=4)
def _entries(language: str) -> tuple[re.Pattern[str] | None, dict[str, str]]:
    """What words of an entry are in a language: all of them together, the longer ones first, and each."""
    words = {id.removeprefix("typed.").replace("_", " "): text for id, text in catalogue(language).items() if id.startswith("typed.")}
    sought = "|".join(map(re.escape, sorted(words, key=len, reverse=True)))
    return re.compile(rf"(?<![\w-])(?:{sought})(?![\w-])") if words else None, words


def typed(text: str) -> str:
    """An entry that is written our way, as it is written in the language; it is read back to the same."""
    pattern, words = _entries(_SPOKEN.get())
    return shown(pattern.sub(lambda found: words[found[0]], text) if pattern else text)


def say(id: str, /, **values: object) -> str:
    """The text of ``id`` with its ``{places}`` filled in.

    id: an id of the catalogue; values: one for each place in the text.
    Returns the text; a value is put in as it is, but for its decimal signs, and never
    read again, so a hostile name cannot open a place of its own.
    Raises UnknownWords for an unknown id or a place without a value.
    """
    try:
        written = catalogue(_SPOKEN.get())[id]
        text = of_words(written)
        text = text if text is written else shown(text)
    except KeyError:
        raise UnknownWords(id) from None
    if "{" not in text:
        return text
    pieces = _pieces(text)
    out = [pieces[0]]
    for name, after in zip(pieces[1::2], pieces[2::2], strict=True):
        if name not in values:
            raise UnknownWords(f"{id} needs a value for {name}")
        value = str(values[name])
        if not (name in _QUOTED or (name in _TYPED and id.startswith(_FAULTS))):
            value = typed(value) if name in _WRITTEN else shown(value)
        out += (value, after)
    return "".join(out)


@lru_cache(maxsize=4096)
def _pieces(text: str) -> list[str]:
    """A text between its places, and their names: text, name, text, ..."""
    return _PLACE.split(text)


def has(id: str) -> bool:
    """Whether the catalogue holds ``id``."""
    return id in catalogue(_SPOKEN.get())
