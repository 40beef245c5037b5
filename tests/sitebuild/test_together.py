"""The table of modules that are loaded together, in this Python."""

from __future__ import annotations

import importlib
import marshal
import sys

import pytest
from sitebuild import made_ready

CODE = {
    "kept_pack/__init__.pyc": "from . import part\nheld = lambda: part.x", "kept_pack/part.pyc": "x = 2", "kept_one.pyc": "import kept_pack\nx = kept_pack.held() + 1", "kept_bad.pyc": "y = 1\nx = not_there",
}


@pytest.fixture
def finder(monkeypatch):
    table = {way: marshal.dumps(compile(text, f"/lib/kept.zip/{way}", "exec")) for way, text in CODE.items()}
    monkeypatch.setattr(made_ready, "MODULES", table)
    monkeypatch.setattr(sys, "meta_path", [made_ready.Together("/lib/kept.zip", {}), *sys.meta_path])
    yield
    for name in ("kept_pack", "kept_pack.part", "kept_one", "kept_bad"):
        sys.modules.pop(name, None)


def test_modules_come_from_the_table_with_their_place(finder):
    one = importlib.import_module("kept_one")
    assert one.x == 3
    pack = sys.modules["kept_pack"]
    assert one.__file__ == "/lib/kept.zip/kept_one.pyc"
    assert pack.__path__ == ["/lib/kept.zip/kept_pack"] and pack.__file__ == "/lib/kept.zip/kept_pack/__init__.pyc"
    assert pack.part.__spec__.parent == "kept_pack" and not hasattr(pack.part, "__path__")
    assert importlib.reload(one).x == 3


def test_a_module_is_run_when_something_is_asked_of_it(finder):
    one = importlib.import_module("kept_one")
    pack = importlib.import_module("kept_pack")
    assert (type(one), type(pack), type(pack.part)) == (made_ready.Later, type(sys), made_ready.Later)  # a package is run at once
    assert "x" not in vars(one) and one.__name__ == "kept_one"
    assert one.x == 3
    assert type(one) is type(pack.part) is type(sys)
    with pytest.raises(AttributeError, match="no_such_name"):
        pack.no_such_name  # noqa: B018


def test_one_that_fails_is_run_again_when_it_is_asked_again(finder):
    bad = importlib.import_module("kept_bad")
    with pytest.raises(NameError, match="not_there"):
        bad.x  # noqa: B018
    with pytest.raises(NameError, match="not_there"):
        bad.x  # noqa: B018
    bad.not_there = 7
    assert (bad.x, bad.y) == (7, 1)


def test_what_is_not_in_it_is_looked_for_as_ever(finder):
    with pytest.raises(ModuleNotFoundError, match="kept_two"):
        importlib.import_module("kept_two")
    with pytest.raises(ModuleNotFoundError, match="kept_pack.other"):
        importlib.import_module("kept_pack.other")
    assert importlib.import_module("json").__spec__.loader is not sys.meta_path[0]
