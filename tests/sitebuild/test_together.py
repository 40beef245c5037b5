"""The table of modules that are loaded together, in this Python."""

from __future__ import annotations

import importlib
import marshal
import sys

import pytest
from sitebuild import made_ready

CODE = {
    "kept_pack": (True, "from . import part\nheld = part.x"), "kept_pack.part": (False, "x = 2"), "kept_one": (False, "import kept_pack\nx = kept_pack.held + 1"),
}


@pytest.fixture
def finder(monkeypatch):
    table = {name: (package, marshal.dumps(compile(text, f"/lib/kept.zip/{name}", "exec"))) for name, (package, text) in CODE.items()}
    monkeypatch.setattr(made_ready, "MODULES", table)
    monkeypatch.setattr(sys, "meta_path", [made_ready.Together("/lib/kept.zip"), *sys.meta_path])
    yield
    for name in CODE:
        sys.modules.pop(name, None)


def test_modules_come_from_the_table_with_their_place(finder):
    one = importlib.import_module("kept_one")
    pack = sys.modules["kept_pack"]
    assert one.x == 3 and one.__file__ == "/lib/kept.zip/kept_one.pyc"
    assert pack.__path__ == ["/lib/kept.zip/kept_pack"] and pack.__file__ == "/lib/kept.zip/kept_pack/__init__.pyc"
    assert pack.part.__spec__.parent == "kept_pack" and not hasattr(pack.part, "__path__")
    assert importlib.reload(one).x == 3


def test_what_is_not_in_it_is_looked_for_as_ever(finder):
    with pytest.raises(ModuleNotFoundError, match="kept_two"):
        importlib.import_module("kept_two")
    with pytest.raises(ModuleNotFoundError, match="kept_pack.other"):
        importlib.import_module("kept_pack.other")
    assert importlib.import_module("json").__spec__.loader is not sys.meta_path[0]
