"""How deep a text or its data nests, found without following it down.

The readers of TOML and JSON call themselves for each level, and so does whatever looks at the
data later. In a browser the end of the stack is near, is another one in each, and to run into it
ends the whole program: what nests deeper than any file of ours is refused before it is read.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping

MOST_LEVELS = 12  # a backup with its logs and their readings has five

# What is not closed goes to the end of its line or of the text, as far as any reader would come: so
# each of these fits at its first sign, and no text is looked at twice.
_QUOTED = r'"(?:[^"\\\n]|\\.)*+["\\]?|\'[^\'\n]*+\'?'
_LONG = r'"""(?:[^"\\]|\\.|"(?!""))*+(?:"""|\\?\Z)|\'\'\'(?:[^\']|\'(?!\'\'))*+(?:\'\'\'|\Z)'
_KEY = rf"(?:[A-Za-z0-9_-]++|{_QUOTED})"
_JOINT = r"[ \t]*+\.[ \t]*+"
_TOML = re.compile(rf"(?:{_LONG}|#[^\n]*+)|(?P<key>{_KEY}(?:{_JOINT}{_KEY})*+)|(?P<sign>[\[\]{{}}])", re.S)
_PART = re.compile(_KEY, re.S)
_JSON = re.compile(r'"(?:[^"\\]|\\.)*+["\\]?|(?P<sign>[\[\]{}])', re.S)


class TooDeep(ValueError):
    """What was given nests deeper than MOST_LEVELS."""


def read_toml(text: str) -> dict:
    """The data of a TOML text. Raises TooDeep, or ValueError where it is no TOML."""
    deep = 0
    for found in _TOML.finditer(text):
        joints = 0
        if key := found["key"]:
            # One key in a value's place is its own and only part.
            joints = len(_PART.findall(key)) - 1 if "." in key else 0
        elif sign := found["sign"]:
            deep += 1 if sign in "[{" else -1
        if deep + joints > MOST_LEVELS:
            raise TooDeep
    return tomllib.loads(text)


def check_json(text: str) -> None:
    """Raises TooDeep for a JSON text that nests too deep; whether it is JSON is for its reader to say."""
    deep = 0
    for found in _JSON.finditer(text):
        if sign := found["sign"]:
            deep += 1 if sign in "[{" else -1
            if deep > MOST_LEVELS:
                raise TooDeep


def check_data(data: object) -> None:
    """Raises TooDeep for plain data that nests too deep."""
    level = [data]
    for _ in range(MOST_LEVELS + 1):
        inner: list[object] = []
        for each in level:
            if isinstance(each, Mapping):
                inner += each.values()
            elif isinstance(each, list):
                inner += each
        if not inner:
            return
        level = inner
    raise TooDeep
