"""Other people's programs that the tests run."""

from __future__ import annotations

import os
import shutil

import pytest


def program(variable: str, name: str) -> str:
    """The path of one: what the variable says, else what the system has."""
    found = shutil.which(os.environ.get(variable, name))
    if found is None:
        pytest.fail(f"{name} was not found: run python3 build.py test, which sets it up, or set {variable}.")
    return found
