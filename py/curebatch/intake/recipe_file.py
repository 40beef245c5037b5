"""Recipe files written: the same TOML that the reader takes, from the data of such a file.

A recipe of one's own is edited as data in a form; what is kept, exported and put into links is
the file's text, and that text is read like any other.
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from .nesting import read_toml

#: The order in which a file names things; what stands in no list comes last, as given.
_TOP = ("schema", "id", "revision", "language", "day", "changes", "title", "author", "summary", "method", "kinds", "species", "cut", "belly", "state", "spoons", "day", "changes")
_TABLES = ("targets", "batch", "pickle", "cooking")
_LISTS = ("ingredient", "step")
_MOST = 100_000  # characters, as the reader takes them


def write_recipe(data: Mapping) -> str:
    """The text of a recipe file.

    data: as ``tomllib`` gives it: texts, whole numbers, true and false, lists of texts, tables
    and lists of tables. Anything else is written as a text, for the reader to refuse in its own words.
    """
    lines = [_line(key, data[key]) for key in _ordered(data, _TOP) if not _is_table(data[key])]
    for key in _ordered(data, _TABLES):
        if isinstance(data[key], Mapping):
            lines += ["", f"[{_key(key)}]", *(_line(name, value) for name, value in data[key].items())]
    for key in _ordered(data, _LISTS):
        if _is_table(data[key]) and not isinstance(data[key], Mapping):
            for table in data[key]:
                lines += ["", f"[[{_key(key)}]]", *(_line(name, value) for name, value in table.items())]
    return "\n".join(lines)[:_MOST] + "\n"


def data_of(text: str) -> dict | None:
    """The data of a recipe file, for a form; None where the text is no TOML at all."""
    try:
        return read_toml(text[:_MOST])
    except (ValueError, RecursionError):
        return None


def _ordered(data: Mapping, first: tuple[str, ...]) -> list[str]:
    keys = [key for key in data if isinstance(key, str)]
    return sorted(keys, key=lambda key: (first.index(key) if key in first else len(first), keys.index(key)))


def _is_table(value: object) -> bool:
    if isinstance(value, Mapping):
        return True
    return isinstance(value, list) and bool(value) and all(isinstance(each, Mapping) for each in value)


def _key(key: object) -> str:
    text = str(key)
    plain = text and all(c.isascii() and (c.isalnum() or c in "_-") for c in text)
    return text if plain else _text(text)


def _line(key: object, value: object) -> str:
    return f"{_key(key)} = {_value(value)}"


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, list):
        return "[" + ", ".join(_value(each) for each in value) + "]"
    return _text(value if isinstance(value, str) else str(value))


def _text(text: str) -> str:
    # A lone half of a pair, from a broken paste, cannot be written to a file.
    whole = text.encode("utf-8", "replace").decode("utf-8")
    # JSON's strings are TOML's but for the one control sign that JSON lets stand.
    return json.dumps(whole, ensure_ascii=False).replace("\x7f", "\\u007f")
