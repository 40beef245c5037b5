"""What Python works out from the same texts at every start, worked out once, by the build.

Ships inside the standard library as `_made_ready`. Two things take most of a start: turning regular
expressions into programs for their engine, and compiling the methods that dataclasses write for
themselves. Both are asked for by their whole text; what no table holds is worked out as ever.
`recorder.py` fills the tables, in the same Python, by the same functions.
"""

import _sre
import dataclasses
import marshal
from re import _compiler

# {(pattern, flags): (flags as found, program, number of groups, {name: group}, names by group)}
PATTERNS = {}
# {text of the methods: their code}
METHODS = {}

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


def install():
    """Put both in place; the table of the library lies beside this module."""
    _compiler.compile = compile_pattern
    dataclasses.exec = run_methods
    place = __spec__.origin.rpartition("/")[0]
    try:
        table = __loader__.get_data(f"{place}/_made_ready.bin")
    except OSError:  # while the build is at it
        return
    add(table)
