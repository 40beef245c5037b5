"""Checkers of what a site publishes: the Nu HTML checker, and schema.org's vocabulary as types."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterable
from pathlib import Path

import pytest

from .programs import program
from .runtime import TOP

PACKAGES = TOP / "tests" / "checkers" / "node_modules"


def _package(way: str) -> Path:
    found = PACKAGES / way
    if not found.is_file():
        pytest.fail(f"{found.name} is not installed: run python3 build.py test, which sets it up.")
    return found


def html_errors(pages: Iterable[Path]) -> list[str]:
    """What the Nu HTML checker calls an error, "file:line: what".

    Its warnings are left alone: it reads a page from a folder, where the policy's 'self' has no origin.
    """
    checker = _package("vnu-jar/build/dist/vnu.jar")
    told = subprocess.run([program("JAVA", "java"), "-jar", checker, "--stdout", "--exit-zero-always", "--format", "json", *pages], capture_output=True, text=True, check=True)
    found = [message for message in json.loads(told.stdout)["messages"] if message["type"] != "info"]
    return [f"{message.get('url', '')}:{message.get('lastLine', '')}: {message['message']} {message.get('extract', '')}" for message in found]


def schema_org_errors(recipes: Iterable[dict], folder: Path) -> list[str]:
    """What the compiler says of data for search engines, held against schema.org's types as a library has them.

    recipes: as in the pages; folder: an empty one to work in. A property that schema.org does not
    have there, or a value of another type, is an error; one line each, beginning with "line,column".
    """
    (folder / "node_modules").symlink_to(PACKAGES)
    lines = [f"export const r{number}: WithContext<Recipe> = {json.dumps(data)};" for number, data in enumerate(recipes)]
    (folder / "recipes.ts").write_text("\n".join(['import type { Recipe, WithContext } from "schema-dts";', *lines]) + "\n", encoding="utf-8")
    compiler = ["node", _package("typescript/bin/tsc"), "--noEmit", "--strict", "--pretty", "false", "--target", "es2022", "--module", "esnext", "--moduleResolution", "bundler", "recipes.ts"]
    told = subprocess.run(compiler, cwd=folder, capture_output=True, text=True)
    errors = [line.removeprefix("recipes.ts") for line in told.stdout.splitlines() if line]
    assert bool(told.returncode) == bool(errors), told.stdout + told.stderr
    return errors
