"""The tables as they ship, wherever the package lies: in a folder, in a wheel, in the browser."""

from __future__ import annotations

import tomllib
from functools import cache

from .. import beforehand
from ..beside import read


def text(name: str) -> str:
    """What the file of that name holds."""
    return read(f"data/{name}").decode()


@cache
def table(name: str) -> dict:
    """The table NAME.toml, as read; nobody changes it."""
    made = beforehand.table(f"data/{name}.toml")
    return tomllib.loads(text(f"{name}.toml")) if made is None else made
