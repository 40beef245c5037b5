"""The tables as they ship, wherever the package lies: in a folder, in a wheel, in the browser."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable

from .. import beforehand


@cache
def _folder() -> Traversable:
    # To find it in an archive takes a look at everything in it: once is enough.
    return resources.files(__name__)


def text(name: str) -> str:
    """What the file of that name holds."""
    return (_folder() / name).read_text(encoding="utf-8")


@cache
def table(name: str) -> dict:
    """The table NAME.toml, as read; nobody changes it."""
    made = beforehand.table(f"data/{name}.toml")
    return tomllib.loads(text(f"{name}.toml")) if made is None else made
