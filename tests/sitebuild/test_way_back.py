"""The finder of modules that were left out, in this Python."""

from __future__ import annotations

import importlib
import sys

import pytest
from sitebuild import files
from sitebuild.way_back import WayBack

ARCHIVE = files.write_zip(
    {"left_one.py": b"x = 1\n", "left_pack/__init__.py": b"", "left_pack/part.py": b"x = 2\n"}, compress=True
)
NAMES = frozenset(map(files.module_name, files.read_zip(ARCHIVE)))


@pytest.fixture
def finder(tmp_path, monkeypatch):
    asked: list[int] = []
    monkeypatch.setattr("sitebuild.way_back._tell", lambda name: None)

    def made(data: bytes = ARCHIVE) -> list[int]:
        def fetch() -> bytes:
            asked.append(1)
            return data

        found = WayBack(NAMES, files.sha256(ARCHIVE), fetch, str(tmp_path / "rest.zip"))
        monkeypatch.setattr(sys, "meta_path", [*sys.meta_path, found])
        return asked

    yield made
    for name in NAMES:
        sys.modules.pop(name, None)


def test_modules_come_from_the_archive_which_is_fetched_once(finder):
    asked = finder()
    from left_pack.part import x

    assert x == 2
    assert importlib.import_module("left_one").x == 1
    assert asked == [1]


@pytest.mark.parametrize("name", ["left_two", "json.left_one", "json.tools"])
def test_other_names_fetch_nothing(finder, name):
    asked = finder()
    with pytest.raises(ModuleNotFoundError):
        importlib.import_module(name)
    assert asked == []


@pytest.mark.parametrize("data", [b"", b"not the archive", ARCHIVE[:-1] + b"x"])
def test_out_of_reach_or_altered(finder, data):
    asked = finder(data)
    for _ in range(2):
        with pytest.raises(ImportError, match="'left_one'"):
            importlib.import_module("left_one")
    # Asked again each time: the network may be back.
    assert asked == [1, 1]
