"""What Python works out from the same texts at every start, worked out once, by the build.

Ships inside the standard library as `_made_ready`. Two things take most of a start: turning regular
expressions into programs for their engine, and compiling the methods that dataclasses write for
themselves. Both are asked for by their whole text; what no table holds is worked out as ever.
`recorder.py` fills the tables, in the same Python, by the same functions.

The library's modules that each start imports lie together in one table, not each for itself in the
archive, where it would be looked for, opened and unpacked a hundred times.
"""

import _sre
import dataclasses
import marshal
import sys
from importlib.machinery import ModuleSpec
from re import _compiler

# {(pattern, flags): (flags as found, program, number of groups, {name: group}, names by group)}
PATTERNS = {}
# {text of the methods: their code}
METHODS = {}
# {name: (whether it is a package, its code)}
MODULES = {}
# What is imported too early to come from that table.
BEFORE = set()

_compile = _compiler.compile


def add(table):
    """Take up a table as `recorder.py` writes it; one that another Python wrote is left alone."""
    made = marshal.loads(table)
    if made["magic"] == (_sre.MAGIC, _sre.CODESIZE):
        PATTERNS.update(made["patterns"])
        METHODS.update(made["methods"])


def compile_pattern(pattern, flags=0):
    """In place of re._compiler.compile."""
    made = PATTERNS.get((pattern, flags)) if isinstance(pattern, (str, bytes)) else None
    if made is None:
        return _compile(pattern, flags)
    found, program, groups, index, names = made
    return _sre.compile(pattern, found, memoryview(program).cast("I").tolist(), groups, dict(index), names)


def run_methods(text, *places):
    """In place of exec() in dataclasses."""
    exec(METHODS.get(text, text), *places)


class Together:
    """Finds and loads what lies in the table of modules. place: the archive they would be in."""

    def __init__(self, place):
        self.place = place

    def find_spec(self, name, path=None, target=None):
        if name not in MODULES:
            return None
        way = f"{self.place}/{name.replace('.', '/')}"
        package = self.is_package(name)
        spec = ModuleSpec(name, self, origin=f"{way}/__init__.pyc" if package else f"{way}.pyc", is_package=package)
        spec.has_location = True
        if package:
            spec.submodule_search_locations.append(way)
        return spec

    def create_module(self, spec):
        return None

    def exec_module(self, module):
        exec(self.get_code(module.__name__), module.__dict__)

    def get_code(self, name):
        return marshal.loads(MODULES[name][1])

    def get_source(self, name):
        return None  # none ships

    def is_package(self, name):
        return MODULES[name][0]


def install():
    """Put all in place; the tables of the library lie beside this module."""
    _compiler.compile = compile_pattern
    dataclasses.exec = run_methods
    BEFORE.update(sys.modules)
    place = __spec__.origin.rpartition("/")[0]
    for name, take in (("_made_ready.bin", add), ("_together.bin", lambda table: MODULES.update(marshal.loads(table)))):
        try:
            table = __loader__.get_data(f"{place}/{name}")
        except OSError:  # while the build is at it
            continue
        take(table)
    sys.meta_path.insert(0, Together(place))
