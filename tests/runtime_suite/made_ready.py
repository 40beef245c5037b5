"""Inside the runtime: what the build worked out beforehand, worked out anew; `found` says what differs."""

import _sre
import importlib
import json
import marshal
import sys
import tomllib
import zipimport
from array import array
from importlib import resources
from re import _compiler

import _made_ready

# Pyodide's own loader of packages, which no page uses, needs more than a page does.
at_hand = set(sys.modules)
missed = []
anew = _made_ready._compile


def counted(pattern, flags=0):
    missed.append(str(pattern))
    return anew(pattern, flags)


_made_ready._compile = counted
at_the_start = len(_made_ready.METHODS)

import curebatch  # noqa: E402

curebatch.start(shelf_text)  # noqa: F821  run.mjs puts it there
given = json.loads(given_text)  # noqa: F821
curebatch.answer(given["request"])
missed_at_first = list(missed)
pint_at_first = "pint" in sys.modules
library = _made_ready.__spec__.origin.rpartition("/")[0]
run_at_first = {
    module.__spec__.origin.removeprefix(f"{library}/")
    for name, module in sys.modules.items()
    if name not in at_hand and (getattr(module.__spec__, "origin", "") or "").startswith(f"{library}/") and type(module) is not _made_ready.Later
}  # fmt: skip
before = {module.__spec__.origin.removeprefix(f"{library}/") for name, module in sys.modules.items() if name in at_hand and type(module) is type(sys) and getattr(module.__spec__, "origin", None)}
apart_at_first = sorted(run_at_first - set(_made_ready.MODULES))
idle_at_first = sorted(set(_made_ready.MODULES) - run_at_first - before)

# ---------------------------------------------------------------- each anew

from curebatch import beforehand  # noqa: E402
from curebatch.intake import units  # noqa: E402
from curebatch.views import html  # noqa: E402


class Watched:
    def __getattr__(self, name):
        return getattr(_sre, name)

    def compile(self, pattern, found, program, groups, index, names):
        self.given = (int(found), array("I", program).tobytes(), groups, dict(index), names)
        return _sre.compile(pattern, found, program, groups, index, names)


WITHIN = ("co_name", "co_qualname", "co_code", "co_names", "co_varnames", "co_freevars", "co_cellvars", "co_flags", "co_exceptiontable",
          "co_argcount", "co_posonlyargcount", "co_kwonlyargcount", "co_stacksize", "co_firstlineno")  # fmt: skip


def same(one, other):
    """Whether two pieces of code are the same but for the columns of a traceback, which do not ship."""
    if not hasattr(one, "co_code"):
        return type(one) is type(other) and one == other
    return (
        all(getattr(one, name) == getattr(other, name) for name in WITHIN)
        and len(one.co_consts) == len(other.co_consts)
        and all(map(same, one.co_consts, other.co_consts))
        and list(one.co_lines()) == list(other.co_lines())
    )


watched = _compiler._sre = Watched()
differ, packed = [], []
for (pattern, flags), made in _made_ready.PATTERNS.items():
    anew(pattern, flags)
    if watched.given != made:
        differ.append(str(pattern))
for text, code in _made_ready.METHODS.items():
    if not same(compile(text, "<string>", "exec", dont_inherit=True), code):
        differ.append(text)
texts = dict(_made_ready.TEXTS)
_made_ready.TEXTS.clear()  # or the module would not be asked itself
for (module, name), text in texts.items():
    if str(getattr(importlib.import_module(module), name)) != text:
        differ.append(f"{module}.{name}")
for file in zipimport.zipimporter(library)._get_files():
    if file.endswith(".pyc"):
        way = file.removesuffix(".pyc").removesuffix("/__init__")
        places = [importer(f"{library}/{way}".rpartition("/")[0]).find_spec(way.replace("/", ".")) for importer in (_made_ready.Packed, zipimport.zipimporter)]
        one, other = ([getattr(spec, each) for each in ("name", "origin", "has_location", "submodule_search_locations", "cached")] for spec in places)
        if one != other:
            differ.append(f"the place of {way}")
        packed.append(way)
environment, folder = html._environment(), resources.files("curebatch")
compiled, tables = beforehand._made()["templates"], beforehand._made()["tables"]
for path in (folder / "views" / "templates").iterdir():
    text = path.read_text(encoding="utf-8")
    key = html.key_of(environment.bytecode_cache.get_bucket(environment, path.name, None, text))
    if key not in compiled or not same(environment.compile(text, path.name), marshal.loads(compiled[key])):
        differ.append(path.name)
data = [path for path in (folder / "data").iterdir() if path.name.endswith(".toml")]
for path in data:
    if tomllib.loads(path.read_text(encoding="utf-8")) != beforehand.table(f"data/{path.name}"):
        differ.append(path.name)
units.prove()  # pint was not needed until here
words = {name.removeprefix("words/"): beforehand.table(name) for name in tables if name.startswith("words/")}
tables_left = set(tables) - {f"words/{name}" for name in words} - {f"data/{path.name}" for path in data}
found = json.dumps({
    "differ": differ, "missed": missed_at_first, "apart": apart_at_first, "idle": idle_at_first, "together": len(_made_ready.MODULES), "words": words, "tables": sorted(tables_left), "pint_at_first": pint_at_first, "factors": tables_left and {k: list(v) for k, v in beforehand.table(units.FACTORS).items()},
    "patterns": len(_made_ready.PATTERNS), "at_the_start": at_the_start, "methods": len(_made_ready.METHODS), "templates": len(compiled), "texts": len(texts), "packed": packed,
})  # fmt: skip
