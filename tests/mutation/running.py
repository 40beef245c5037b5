"""Runs the tests against mutants, each in a child process of its own.

A mutant inside a function is put in place by that function's code object, one
of a table or a default by the values that the changed text makes: a child is
then ready in some hundredths of a second, with everything imported and the tests
collected. Any other mutant, and every one that was missed so, gets a child that
imports the program anew. CPU time is counted, not the clock.
"""

from __future__ import annotations

import ast
import gc
import hashlib
import importlib
import importlib.abc
import importlib.util
import os
import pickle
import resource
import sys
import time
import traceback
import types
import warnings
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest
from _pytest.runner import runtestprotocol
from helpers.few_cases import Few

from .making import Mutant

_CAUGHT, _MISSED = 10, 0
_NEVER_LONGER = 90  # s of CPU for the tests of one mutant
# The libraries of the tests are imported before pytest could rewrite them, on purpose.
OPTIONS = ("-q", "--assert=plain", "--tb=native", "-p", "no:cacheprovider", "--no-header", "-W", "ignore::pytest.PytestAssertRewriteWarning")


# Memories of tables that are read from files. Only what reads the tables itself can fill them otherwise.
_KEPT = ("curebatch.words", "curebatch.batch.foods", "curebatch.batch.allergens", "curebatch.views", "curebatch.science.conduction", "curebatch.science.surfaces")
_TABLES = ("curebatch.intake.units", "curebatch.rules.limits", "curebatch.rules.packs", "curebatch.fields")
_READ_TABLES = ("intake/numbers.py", "intake/units.py", "rules/limits.py", "rules/packs.py", "batch/compounds.py")


def forget(changed: str | None = None) -> None:
    """Empty the memories of the program, so that each test calls what it rests on.

    changed: the one module that is not as it was; the tables that it has no hand in stay read.
    """
    kept = _KEPT if changed is None or changed in _READ_TABLES else _KEPT + _TABLES
    for name, module in list(sys.modules.items()):
        if name.split(".")[0] == "curebatch" and module is not None and not name.startswith(kept):
            for value in list(vars(module).values()):
                if hasattr(value, "cache_clear") and not getattr(value, "__module__", "").startswith(kept):
                    value.cache_clear()


def read_tables() -> None:
    """Read them once, for all children."""
    from curebatch.batch import allergens, foods
    from curebatch.intake import units
    from curebatch.rules import limits, packs
    from curebatch.words import LANGUAGES, catalogue

    for language in LANGUAGES:
        catalogue(language)
    for unit in units.UNITS.values():
        if unit.pint_name:
            units.factor(unit.text)
    limits.all_limits(), limits.editions(), packs.known_labels(), foods.all_foods(), foods.find(foods.all_foods()[0].name), allergens.ids()


def in_child(work: Callable[[int], int], seconds: float, quiet: bool = True) -> tuple[bool, bytes]:
    """(whether ``work`` failed, crashed or ran out of CPU time; what it wrote on its pipe)."""
    reading, writing = os.pipe()
    pid = os.fork()
    if pid == 0:
        code = _CAUGHT
        try:
            os.close(reading)
            if quiet:
                nowhere = os.open(os.devnull, os.O_RDWR)
                for stream in (0, 1, 2):
                    os.dup2(nowhere, stream)
            limit = int(seconds) + 1
            resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 1))
            resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
            code = work(writing)
        except BaseException:  # a mutant may raise anything
            code = _CAUGHT
            if not quiet:
                traceback.print_exc()
        finally:
            os._exit(code)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        said = pipe.read()
    _, status = os.waitpid(pid, 0)
    return status != _MISSED, said


@lru_cache(maxsize=None)
def lines_of(path: str) -> dict[int, tuple[str, int]]:
    """{line of a module: (its function, by its text, line of that)}: what was seen of a function holds while it is as it was."""
    text = Path(path).read_text(encoding="utf-8")
    rows, found = text.splitlines(), {}
    for holder in (ast.parse(text), *(node for node in ast.parse(text).body if isinstance(node, ast.ClassDef))):
        for node in holder.body:
            if isinstance(node, ast.FunctionDef):
                mark = hashlib.sha256("\n".join(rows[node.lineno - 1 : node.end_lineno]).encode()).hexdigest()[:12]
                found |= {line: (mark, line - node.lineno) for line in range(node.lineno, node.end_lineno + 1)}
    return found


class Warm:
    """Everything imported and collected once; the work is done in place of the run."""

    def __init__(self, paths: dict[str, Path], near: dict[str, tuple[str, ...]], seen_before: dict, work: Callable[[Warm], None]):
        self.files = {str(path): module for module, path in paths.items()}
        self.paths = {module: str(path) for module, path in paths.items()}
        self.near, self.seen_before, self.work = near, seen_before, work
        self.items: dict[str, pytest.Item] = {}
        self.seconds: dict[str, float] = {}  # of each test
        self.calls: dict[str, set[tuple[str, str]]] = {}  # (module, function) that each test reaches
        self.lines: dict[str, set[tuple[str, str, int]]] = {}  # (module, function as it is, line of it)
        self.sound: dict[tuple[str, str], bool] = {}  # whether a test that caught something passes by itself, with nothing changed

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        read_tables()
        _takers()
        gc.freeze()
        self.look()
        self.work(self)
        return True

    def look(self) -> None:
        """What each test reaches and how long it takes, with nothing changed."""
        def work(pipe: int) -> int:
            found: dict = {}
            items = [item for item in self.items.values() if item.nodeid not in self.seen_before]
            for item, after in zip(items, [*items[1:], None]):
                forget()
                reached: set = set()

                def line(frame, event, _, reached=reached):
                    reached.add((self.files[frame.f_code.co_filename], frame.f_lineno))
                    return line

                def call(frame, event, _, reached=reached, line=line):
                    if module := self.files.get(frame.f_code.co_filename):
                        reached.add((module, frame.f_code.co_qualname))
                        return line
                    return None

                started = time.process_time()
                sys.settrace(call)
                try:
                    failed = _fails(item, after)
                finally:
                    sys.settrace(None)
                lines = {(module, *lines_of(self.paths[module])[line]) for module, line in reached if line in lines_of(self.paths[module])}
                found[item.nodeid] = (time.process_time() - started, {place for place in reached if isinstance(place[1], str)} | lines, failed)
            with os.fdopen(pipe, "wb") as stream:
                pickle.dump(found, stream)
            return _MISSED

        failed, said = in_child(work, 3600)
        if failed or not said:
            raise SystemExit("The tests could not be run even with nothing changed.")
        found = {name: seen for name, seen in self.seen_before.items() if name in self.items} | pickle.loads(said)
        self.looked = found
        broken = [name for name, (_, _, failed) in found.items() if failed]
        if broken:
            raise SystemExit("These tests fail with nothing changed: " + ", ".join(broken))
        self.seconds = {name: spent for name, (spent, _, _) in found.items()}
        self.calls = {name: {place for place in reached if len(place) == 2} for name, (_, reached, _) in found.items()}
        self.lines = {name: reached - self.calls[name] for name, (_, reached, _) in found.items()}
        self.functions = {place[:2] for lines in self.lines.values() for place in lines}

    def reaching(self, module: str, inside: str | None) -> list[str]:
        """The tests that reach a function (or anything of the module): its own ones first, file by file, then the quickest.

        Of what lies outside functions every test of its own is taken: to read a constant, or what a class holds, is no call.
        """
        own = () if any((module, inside) in reached for reached in self.calls.values()) else self.near.get(module, ())
        names = [
            name for name, reached in self.calls.items()
            if name.startswith(own) or any(file == module and (not inside or function == inside or function.startswith(f"{inside}.")) for file, function in reached)
        ]
        near = self.near.get(module, ())
        return sorted(names, key=lambda name: (next((place for place, start in enumerate(near) if name.startswith(start)), len(near)), self.seconds[name]))

    def hitting(self, mutant: Mutant) -> list[str]:
        """The tests that come by the statement that is changed, as ``reaching`` has them; of a table or a default, as it has them for all."""
        names = self.reaching(mutant.module, mutant.inside)
        if not mutant.in_body:
            return names
        known = lines_of(self.paths[mutant.module])
        places = {(mutant.module, *known[line]) for line in mutant.lines if line in known}
        if not any(place[:2] in self.functions for place in places):
            return names  # changed since the look
        return [name for name in names if not places.isdisjoint(self.lines[name])]

    def catches(self, mutant: Mutant, names: list[str]) -> str | None:
        """The first of the tests that fails, or "crash", or None; the mutant is put in its place."""
        same = None if mutant.in_body else replace(mutant, parts=("", _text_of(mutant.module), ""))
        while names:
            by = self._first_that_fails(mutant, names)
            if by is None or (by == "crash" and same is None) or self._is_sound(same, names[0] if by == "crash" else by):
                return by
            names = names[1:] if by == "crash" else [name for name in names if name != by]
        return None

    def _first_that_fails(self, mutant: Mutant | None, names: list[str]) -> str | None:
        items = [self.items[name] for name in names]

        def work(pipe: int) -> int:
            forget(mutant.module if mutant else None)
            try:
                placed = mutant is None or put_in_place(mutant)
            except (KeyError, TypeError, ValueError):
                if not mutant.in_body:
                    raise  # the program could not be imported so
                placed = False
            if not placed:
                os.write(pipe, b"\0")
                return _MISSED
            for name, item, after in zip(names, items, [*items[1:], None]):
                if _fails(item, after):
                    os.write(pipe, name.encode())
                    return _CAUGHT
            return _MISSED

        caught, said = in_child(work, min(_NEVER_LONGER, 2 + 3 * sum(self.seconds[name] for name in names)))
        if said == b"\0":
            raise LookupError(mutant.inside)
        return (said.decode() or "crash") if caught else None

    def _is_sound(self, same: Mutant | None, name: str) -> bool:
        """Whether the test passes with nothing changed, or with the module's own values made a second time."""
        key = (same.module if same else "", name)
        if key not in self.sound:
            self.sound[key] = self._first_that_fails(same, [name]) is None
            if not self.sound[key] and same is None:
                print(f"  {name} fails with nothing changed: it counts for nothing", flush=True)
        return self.sound[key]


def _fails(item: pytest.Item, after: pytest.Item | None) -> bool:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return any(report.failed for report in runtestprotocol(item, log=False, nextitem=after))


# ------------------------------------------------------------------ in place


def _module_name(module: str) -> str:
    return "curebatch." + module.removesuffix(".py").replace("/", ".")


def _plain(value: object) -> types.FunctionType | None:
    """The function behind a property, a remembered or a class function."""
    for name in ("fget", "func", "__func__", "__wrapped__"):
        if not isinstance(value, types.FunctionType) and hasattr(value, name):
            value = getattr(value, name)
    return value if isinstance(value, types.FunctionType) else None


def _codes(code: types.CodeType) -> Iterable[types.CodeType]:
    for constant in code.co_consts:
        if isinstance(constant, types.CodeType):
            yield constant
            yield from _codes(constant)


def _text_of(module: str) -> str:
    return Path(importlib.import_module(_module_name(module)).__file__).read_text(encoding="utf-8")


def put_in_place(mutant: Mutant) -> bool:
    """Give the living module what the mutant changes; False where that cannot be done."""
    return _put_code(mutant) if mutant.in_body else _put_values(mutant)


def _put_values(mutant: Mutant) -> bool:
    """The values and the defaults that the changed text makes, wherever the old ones are known by their name.

    What others have made of them stays: a mutant that is missed so is tried anew.
    """
    # (The module as it is has no part before it.)
    if mutant.parts[0] and isinstance(ast.parse(mutant.parts[1]).body[-1], ast.ClassDef):
        return False
    living = importlib.import_module(_module_name(mutant.module))
    made = {name: value for name, value in vars(living).items() if name.startswith("__")}
    exec(compile(mutant.text, living.__file__, "exec", dont_inherit=True), made)
    takers = _takers()
    for name, new in made.items():
        if name.startswith("__") or isinstance(new, (type, types.ModuleType)):
            continue
        if function := _plain(new):
            if function.__module__ == living.__name__ and (known := _plain(vars(living).get(name))):
                known.__defaults__, known.__kwdefaults__ = function.__defaults__, function.__kwdefaults__
            continue
        setattr(living, name, new)
        for other, called in takers.get((living.__name__, name), ()):
            setattr(sys.modules[other], called, new)
    return True


@lru_cache(maxsize=1)
def _takers() -> dict[tuple[str, str], list[tuple[str, str]]]:
    """{(module, name): [(other module, what it calls it)]} of all ``from module import name`` of the program and its tests."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    here = f"{Path.cwd()}{os.sep}"
    for other, module in list(sys.modules.items()):
        if not (getattr(module, "__file__", None) or "").startswith(here):
            continue
        for node in ast.parse(Path(module.__file__).read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ImportFrom):
                source = importlib.util.resolve_name("." * node.level + (node.module or ""), module.__package__) if node.level else node.module
                for alias in node.names:
                    found.setdefault((source, alias.name), []).append((other, alias.asname or alias.name))
    return found


def _put_code(mutant: Mutant) -> bool:
    """The code of one function."""
    holder: object = importlib.import_module(_module_name(mutant.module))
    *way, name = mutant.inside.split(".")
    for part in way:
        holder = vars(holder)[part]
    function = _plain(vars(holder).get(name))
    if function is None:
        return False
    filename = function.__code__.co_filename
    fitting = [code for code in _codes(compile(mutant.text, filename, "exec", dont_inherit=True)) if code.co_qualname == mutant.inside]
    if len(fitting) != 1 or fitting[0].co_freevars != function.__code__.co_freevars:
        return False
    function.__code__ = fitting[0]
    return True


# ------------------------------------------------------------------ imported anew


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Finds the mutant in place of its module."""

    def __init__(self, mutant: Mutant, path: Path):
        self.mutant, self.path = mutant, path

    def find_spec(self, name, path=None, target=None):
        if name != _module_name(self.mutant.module):
            return None
        return importlib.util.spec_from_file_location(name, self.path, loader=self)

    def create_module(self, spec):
        return None

    def exec_module(self, module) -> None:
        exec(compile(self.mutant.text, str(self.path), "exec", dont_inherit=True), vars(module))

    def get_filename(self, name: str) -> str:
        return str(self.path)


class _Only:
    """Runs the tests that were chosen, in their order, up to the first that fails."""

    def __init__(self, names: list[str], pipe: int):
        self.place, self.pipe = {name: place for place, name in enumerate(names)}, pipe

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list) -> None:
        items[:] = sorted((item for item in items if item.nodeid in self.place), key=lambda item: self.place[item.nodeid])

    def pytest_runtest_logreport(self, report) -> None:
        if report.failed:
            os.write(self.pipe, report.nodeid.encode() + b"\n")


def catches_anew(mutant: Mutant, path: Path, names: list[str], cases: int, seconds: float) -> str | None:
    """As ``Warm.catches``, in a child that imports the program anew, the mutant in its place."""
    if any(name.split(".")[0] == "curebatch" for name in sys.modules):
        raise RuntimeError("the program is imported already")
    limit = min(_NEVER_LONGER, 8 + 3 * seconds)
    while names:
        by = _anew(mutant, path, names, cases, limit)
        if by is None or by == "crash" or _sound_anew(by, cases, limit):
            return by
        names = [name for name in names if name != by]
    return None


@lru_cache(maxsize=None)
def _sound_anew(name: str, cases: int, limit: float) -> bool:
    return _anew(None, None, [name], cases, limit) is None


def _anew(mutant: Mutant | None, path: Path | None, names: list[str], cases: int, limit: float) -> str | None:
    def work(pipe: int) -> int:
        sys.dont_write_bytecode = True
        if mutant is not None:
            sys.meta_path.insert(0, _Changed(mutant, path))
        files = list(dict.fromkeys(name.split("::")[0] for name in names))
        code = pytest.main([*files, "-x", *OPTIONS], plugins=[Few(cases), _Only(names, pipe)])
        return _MISSED if code == pytest.ExitCode.OK else _CAUGHT

    caught, said = in_child(work, limit)
    return (said.decode().partition("\n")[0] or "crash") if caught else None


class Recent:
    """Puts the tests first that caught something lately: the next mutant is often caught by the same."""

    def __init__(self, kept: int = 6):
        self.names: deque[str] = deque(maxlen=kept)

    def caught_by(self, name: str) -> None:
        if name in self.names:
            self.names.remove(name)
        self.names.appendleft(name)

    def first(self, names: list[str]) -> list[str]:
        fitting = set(names)
        front = [name for name in self.names if name in fitting]
        return [*front, *(name for name in names if name not in front)]
