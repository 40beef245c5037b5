"""What Python works out from the same texts at every start, worked out once, by the build.

Ships inside the standard library as `_made_ready`. Two things take most of a start: turning regular
expressions into programs for their engine, and compiling the methods that dataclasses write for
themselves. Both are asked for by their whole text; what no table holds is worked out as ever.
`recorder.py` fills the tables, in the same Python, by the same functions.

A module of the library is run when something is first asked of it, not when it is imported: half of
what a start imports it never touches. Those that each start runs lie together in one table, not each
for itself in the archive, where it would be looked for, opened and unpacked a hundred times.
"""

# What is imported here is run before there is any table: only what Python has at hand by now.
import marshal
import sys
import zipimport

Module, Spec = type(sys), type(__spec__)

# {(pattern, flags): (flags as found, program, number of groups, {name: group}, names by group)}
PATTERNS = {}
# {text of the methods: their code}
METHODS = {}
# {(module, name): its text}, names of which a start asks nothing but the text
TEXTS = {}
# {way in the archive: code}
MODULES = {}
# Packages of which a part is used and the whole hardly ever: the loop of events, and what makes it.
LATER_PACKAGES = ("asyncio", "pyodide")
# What the library tries at each start and does without; looked for in every archive, it takes longer.
ABSENT = ("_hashlib",)
# What is imported too early to come from that table.
BEFORE = set()


def add(table):
    """Take up a table as `recorder.py` writes it; one that another Python wrote is left alone."""
    made = marshal.loads(table)
    if made["magic"] == (_sre.MAGIC, _sre.CODESIZE):
        PATTERNS.update(made["patterns"])
        METHODS.update(made["methods"])
        TEXTS.update(made["texts"])


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


class Later(Module):
    """A module that was imported and is run when the first name is looked up in it."""

    def __getattr__(self, name):
        if (self.__name__, name) in TEXTS:
            return Text(TEXTS[self.__name__, name])
        self.__class__ = Module
        try:
            exec(self.__spec__.loader.get_code(self.__name__), self.__dict__)
        except BaseException:
            self.__class__ = Later  # what it needs may be there the next time
            raise
        if self.__name__ == "asyncio":
            import pyodide

            pyodide.webloop  # noqa: B018 - run, it gives asyncio the loop of this place
        return getattr(self, name)


class Text:
    """Stands for something that is only asked for its text."""

    def __init__(self, text):
        self.text = text

    def __str__(self):
        return self.text


class Together:
    """Finds and loads the modules of the library. place: its archive; files: what lies there."""

    def __init__(self, place, files):
        self.place, self.files = place, files

    def _way(self, name):
        way = name.replace(".", "/")
        for file in (f"{way}.pyc", f"{way}/__init__.pyc"):
            if file in MODULES or file in self.files:
                return file
        return None

    def find_spec(self, name, path=None, target=None):
        if name in ABSENT:
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
        way = self._way(name)
        return None if way is None else _spec(name, self, f"{self.place}/{way}")

    def create_module(self, spec):
        return None

    def exec_module(self, module):
        # Other packages put more modules in place when they are run.
        if self.is_package(module.__name__) and module.__name__ not in LATER_PACKAGES:
            exec(self.get_code(module.__name__), module.__dict__)
        else:
            module.__class__ = Later

    def get_code(self, name):
        way = self._way(name)
        # In the archive, behind the head that says what it was made from.
        return marshal.loads(MODULES[way] if way in MODULES else __loader__.get_data(f"{self.place}/{way}")[16:])

    def get_source(self, name):
        return None  # none ships

    def is_package(self, name):
        return self._way(name).endswith("/__init__.pyc")


class Packed(zipimport.zipimporter):
    """Python's own importer from archives, which reads each module a second time to learn where it lies."""

    def find_spec(self, name, target=None):
        package = zipimport._get_module_info(self, name)
        if package is None:
            return super().find_spec(name, target)
        way = zipimport._get_module_path(self, name)
        return _spec(name, self, f"{self.archive}/{way}{'/__init__' if package else ''}.pyc")


def _spec(name, loader, place):
    package = place.endswith("/__init__.pyc")
    spec = Spec(name, loader, origin=place, is_package=package)
    spec.has_location = True
    if package:
        spec.submodule_search_locations.append(place.removesuffix("/__init__.pyc"))
    return spec


def install():
    """Put all in place; the tables of the library lie beside this module."""
    global _sre, _compile
    BEFORE.update(sys.modules)
    place = __spec__.origin.rpartition("/")[0]
    sys.path_hooks.insert(0, Packed)
    if table := _data(f"{place}/_together.bin"):
        MODULES.update(marshal.loads(table))
    sys.meta_path.insert(0, Together(place, __loader__._get_files()))

    import _sre
    import dataclasses
    from re import _compiler

    _compile = _compiler.compile
    _compiler.compile = compile_pattern
    dataclasses.exec = run_methods
    if table := _data(f"{place}/_made_ready.bin"):
        add(table)


def _data(place):
    try:
        return __loader__.get_data(place)
    except OSError:  # while the build is at it
        return None
