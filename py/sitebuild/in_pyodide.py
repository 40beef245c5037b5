"""Runs inside Pyodide at build time: bytecode must be made by the Python that will read it.

It is handed over as text, so it imports nothing of ours but files.py, which lies beside it there.
"""

from __future__ import annotations

import ast
import base64
import csv
import hashlib
import importlib.util
import io
import marshal
from _imp import is_frozen
from importlib._bootstrap_external import _code_to_hash_pyc
from pathlib import Path

from files import module_name, read_zip, write_zip

# Parts of wheels that no running program reads; the licences stand in dist/licences/.
NEVER_READ = ("/testsuite/", "/sboms/", "/licenses/", "/RECORD", "/entry_points.txt",
              "/top_level.txt", "/LICENSE", "/AUTHORS", ".c", ".pyi", "/py.typed")  # fmt: skip


def compiled(files: dict[str, bytes], place: str, *, docstrings: bool = False) -> dict[str, bytes]:
    """Every .py as a .pyc in its place. The hash inside is never checked against a source: there
    is none on the other side, and a time stamp would make every build another one."""
    out = {}
    for name in sorted(files):
        data = files[name]
        if name.endswith(".py"):
            tree = ast.parse(data, f"{place}/{name}")
            if not docstrings:
                tree = without_docstrings(tree)
            code = compile(tree, f"{place}/{name}", "exec", dont_inherit=True, optimize=0)
            name, data = name + "c", bytes(
                _code_to_hash_pyc(code, importlib.util.source_hash(data), checked=False)
            )
        out[name] = data
    return out


def without_docstrings(tree: ast.Module) -> ast.Module:
    """The same program with no docstrings: a quarter of the library, and nothing reads them.

    Not by optimize=2, which would take the assertions along. Line numbers stay.
    """
    for node in ast.walk(tree):
        if not isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if ast.get_docstring(node, clean=False) is not None:
            first = node.body.pop(0)
            if not node.body and not isinstance(node, ast.Module):
                node.body.append(ast.copy_location(ast.Pass(), first))
        if isinstance(node, ast.ClassDef) and "dataclass" in map(called, node.decorator_list):
            # Without one, dataclass() writes one itself, from the signature, at each start. Of blanks the
            # compiler leaves none.
            blank = ast.Expr(ast.Constant("."))
            node.body.insert(0, ast.fix_missing_locations(ast.copy_location(blank, node.body[0])))
    return tree


def called(decorator: ast.expr) -> str:
    """The last name in @name, @a.name, @name(...)."""
    if isinstance(decorator, ast.Call):
        decorator = decorator.func
    return getattr(decorator, "attr", getattr(decorator, "id", ""))


def own_wheel(source: Path) -> bytes:
    """Our wheel, compiled, with all its files."""
    return as_wheel(compiled(worth_shipping(source), "site-packages"))


def worth_shipping(wheel: Path) -> dict[str, bytes]:
    return {
        name: data
        for name, data in read_zip(wheel.read_bytes()).items()
        if not any(part in f"/{name}" if part.endswith("/") else f"/{name}".endswith(part)
                   for part in NEVER_READ)
    }  # fmt: skip


def as_wheel(files: dict[str, bytes]) -> bytes:
    info = info_folder(files)
    # What a package says of itself at length is read by people, not by programs.
    head, _, _ = files[f"{info}/METADATA"].partition(b"\n\n")
    files = {**files, f"{info}/METADATA": head + b"\n"}
    files[f"{info}/RECORD"] = record(files, f"{info}/RECORD")
    return write_zip(files, compress=True)


def info_folder(files: dict[str, bytes]) -> str:
    return next(name.split("/")[0] for name in files if name.endswith(".dist-info/METADATA"))


def record(files: dict[str, bytes], own_name: str) -> bytes:
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    for name in sorted(files):
        digest = base64.urlsafe_b64encode(hashlib.sha256(files[name]).digest()).rstrip(b"=")
        rows.writerow([name, f"sha256={digest.decode()}", len(files[name])])
    rows.writerow([own_name, "", ""])
    return out.getvalue().encode()


def parted(files: dict[str, bytes], shipped: set[str] | None) -> tuple[dict, dict]:
    """(the modules that ship, the rest); all of them ship where `shipped` is None.

    Other files of the standard library and of other people's packages are read by none that
    ships and fall away.
    """
    modules = {name: data for name, data in files.items() if name.endswith(".py")}
    here = {n: d for n, d in modules.items() if shipped is None or module_name(n) in shipped}
    return here, {name: data for name, data in modules.items() if name not in here}


def make(job: dict, source: Path, target: Path) -> None:
    """Compile what is in `source` into `target`.

    job: {"wheels": other people's, "own": our wheel, "shipped": names of modules or None}.
    Wheels of which no module ships are left out, and all that is left out goes into the rest.
    """
    shipped = None if job["shipped"] is None else set(job["shipped"])
    content = read_zip((source / "python_stdlib.zip").read_bytes())
    # What is compiled into Python itself is never read from an archive.
    library, left = parted({n: d for n, d in content.items() if not is_frozen(module_name(n))}, shipped)
    for name in job["wheels"]:
        content = worth_shipping(source / name)
        here, there = parted(content, shipped)
        if here:
            info = info_folder(content)
            said = {n: content[f"{info}/{n}"] for n in ("METADATA", "WHEEL")}
            here |= {f"{info}/{n}": data for n, data in said.items()}
            (target / name).write_bytes(as_wheel(compiled(here, "site-packages")))
        left |= there
    (target / job["own"]).write_bytes(own_wheel(source / job["own"]))

    apart = compiled(left, "python_rest.zip")
    rest = write_zip(apart, compress=True)
    (target / "python_rest.zip").write_bytes(rest)
    library |= way_back((source / "way_back.py").read_bytes(), left, rest)
    library["_made_ready.py"] = (source / "made_ready.py").read_bytes()
    made = compiled(library, "python_stdlib.zip")
    (target / "python_stdlib.zip").write_bytes(write_zip(made, compress=True))
    # All of the library with somebody in it who watches, for the build alone.
    watched = {"recorder.py": (source / "recorder.py").read_bytes(), "sitecustomize.py": b"import _made_ready\n\n_made_ready.install()\n\nimport recorder\n\nrecorder.install()\n"}
    (target.parent / "watched.zip").write_bytes(write_zip({**apart, **made, **compiled(watched, "watched.zip")}, compress=False))


def add_tables(job: dict, target: Path, of_the_library: bytes, of_our_own: bytes) -> None:
    """Put in what the watched Python was seen to work out."""
    place = target / "python_stdlib.zip"
    place.write_bytes(write_zip({**read_zip(place.read_bytes()), "_made_ready.bin": of_the_library}, compress=True))
    place = target / job["own"]
    # The catalogue is in the tables, and nobody reads its files there.
    content = {n: d for n, d in read_zip(place.read_bytes()).items() if not (n.startswith("curebatch/words/") and n.endswith(".toml"))}
    place.write_bytes(as_wheel({**content, "curebatch/beforehand.bin": of_our_own}))


def put_together(target: Path, ways: list[str]) -> None:
    """Move the code of these modules of the library, as they lie there, into the one table that made_ready.py reads."""
    place = target / "python_stdlib.zip"
    content = read_zip(place.read_bytes())
    # Behind the head, which says what it was made from.
    table = {way: content.pop(way)[16:] for way in sorted(ways)}
    place.write_bytes(write_zip({**content, "_together.bin": marshal.dumps(table)}, compress=True))


def way_back(program: bytes, left: dict[str, bytes], rest: bytes) -> dict[str, bytes]:
    """What the shipped library holds of the way to the rest."""
    names = sorted(module_name(name) for name in left)
    digest = hashlib.sha256(rest).hexdigest()
    return {
        "_way_back.py": program,
        "_way_back_names.py": f"DIGEST = {digest!r}\nNAMES = frozenset({names!r})\n".encode(),
        # Python runs this module when it starts, if there is one.
        "sitecustomize.py": b"import _made_ready\n\n_made_ready.install()\n\nimport _way_back\n\n_way_back.install()\n",
    }
