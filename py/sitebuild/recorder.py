"""Runs inside Pyodide at build time: sees what a start works out, for `made_ready.py` and ours.

Put in place before any expression is compiled there, so that it misses nothing. It is handed over as
text and imports nothing of ours but what a page would.
"""

import _sre
import dataclasses
import importlib
import marshal
from array import array
from re import _compiler

PATTERNS, METHODS, TEMPLATES = {}, {}, {}
_seen = {}  # what the library's own table holds already


class _Engine:
    """Stands before the engine of regular expressions and sees what it is given."""

    def __init__(self):
        self.given = None

    def __getattr__(self, name):
        return getattr(_sre, name)

    def compile(self, pattern, *given):
        self.given = given
        return _sre.compile(pattern, *given)


def install():
    engine, compile_before = _Engine(), _compiler.compile

    def compile_pattern(pattern, flags=0):
        made = compile_before(pattern, flags)
        if isinstance(pattern, (str, bytes)) and not flags & _compiler.SRE_FLAG_DEBUG:
            found, program, groups, index, names = engine.given
            PATTERNS[pattern, int(flags)] = (int(found), array("I", program).tobytes(), groups, dict(index), names)
        return made

    def run_methods(text, *places):
        code = METHODS.setdefault(text, compile(text, "<string>", "exec", dont_inherit=True))
        exec(code, *places)

    _compiler._sre, _compiler.compile, dataclasses.exec = engine, compile_pattern, run_methods


def table(patterns, methods, texts):
    # By content: the order in which modules were met is no part of it.
    made = {name: dict(sorted(kept.items(), key=lambda item: repr(item[0]))) for name, kept in (("patterns", patterns), ("methods", methods), ("texts", texts))}
    return marshal.dumps({"magic": (_sre.MAGIC, _sre.CODESIZE), **made})


def of_the_library():
    """The table of the runtime itself: what there is before our own code is met."""
    import jinja2
    import pint

    pint.UnitRegistry(None)
    jinja2.Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True).from_string("{% if a %}{{ a }}{# b #}{% endif %}")
    _seen.update(PATTERNS=dict(PATTERNS), METHODS=dict(METHODS))
    loader = importlib.import_module("pyodide._package_loader")
    places = {(loader.__name__, name): str(getattr(loader, name)) for name in ("SITE_PACKAGES", "DSO_DIR")}
    return table(PATTERNS, METHODS, places)


def of_our_own(shelf, requests):
    """What our own wheel carries, for curebatch/beforehand.py, as it lies there.

    shelf: as for curebatch.start; requests: [[name of an entry, its JSON text]].
    """
    import tomllib
    from importlib import resources

    import curebatch
    from curebatch.intake import units
    from curebatch.views import html
    from curebatch.words import LANGUAGES, catalogue

    html.Compiled.dump_bytecode = lambda self, bucket: TEMPLATES.update({html.key_of(bucket): marshal.dumps(bucket.code)})
    curebatch.start(shelf)
    for entry, request in requests:
        getattr(curebatch, entry)(request)
    folder = resources.files("curebatch")
    for path in (folder / "views" / "templates").iterdir():
        html.template(path.name)
    tables = {
        f"data/{file.name}": marshal.dumps(tomllib.loads(file.read_text(encoding="utf-8")))
        for file in (folder / "data").iterdir() if file.name.endswith(".toml")
    }  # fmt: skip
    tables |= {f"words/{language}": marshal.dumps(catalogue(language)) for language in LANGUAGES}
    tables[units.FACTORS] = marshal.dumps(units.all_by_pint())
    new = [{k: v for k, v in now.items() if k not in _seen[name]} for name, now in (("PATTERNS", PATTERNS), ("METHODS", METHODS))]
    made = {"texts": table(*new, {}), "templates": dict(sorted(TEMPLATES.items())), "tables": dict(sorted(tables.items()))}
    return marshal.dumps(made)
