"""Runs inside Pyodide at build time: bytecode must be made by the Python that will read it.

It is handed over as text, so it imports nothing of ours but files.py, which lies beside it there.
"""

from __future__ import annotations

import base64
import csv
import hashlib
import importlib.util
import io
from importlib._bootstrap_external import _code_to_hash_pyc
from pathlib import Path

from files import read_zip, write_zip

# Parts of wheels that no running program reads.
NEVER_READ = ("/testsuite/", "/sboms/", "/RECORD", ".c", ".pyi", "/py.typed")


def compiled(files: dict[str, bytes], place: str) -> dict[str, bytes]:
    """Every .py as a .pyc in its place. The hash inside is never checked against a source: there
    is none on the other side, and a time stamp would make every build another one."""
    out = {}
    for name in sorted(files):
        data = files[name]
        if name.endswith(".py"):
            code = compile(data, f"{place}/{name}", "exec", dont_inherit=True, optimize=0)
            name, data = name + "c", bytes(
                _code_to_hash_pyc(code, importlib.util.source_hash(data), checked=False)
            )
        out[name] = data
    return out


def compile_wheel(source: Path, target: Path) -> None:
    files = {
        name: data
        for name, data in read_zip(source.read_bytes()).items()
        if not any(part in f"/{name}" if part.endswith("/") else name.endswith(part)
                   for part in NEVER_READ)
    }
    files = compiled(files, "site-packages")
    info = next(name.split("/")[0] for name in files if name.endswith(".dist-info/METADATA"))
    files[f"{info}/RECORD"] = record(files, f"{info}/RECORD")
    target.write_bytes(write_zip(files, compress=True))


def record(files: dict[str, bytes], own_name: str) -> bytes:
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    for name in sorted(files):
        digest = base64.urlsafe_b64encode(hashlib.sha256(files[name]).digest()).rstrip(b"=")
        rows.writerow([name, f"sha256={digest.decode()}", len(files[name])])
    rows.writerow([own_name, "", ""])
    return out.getvalue().encode()


def compile_stdlib(source: Path, target: Path, left_out: list[str]) -> None:
    unwanted = tuple(left_out)
    files = {
        name: data
        for name, data in read_zip(source.read_bytes()).items()
        if not any(name == f"{entry}.py" or name.startswith(f"{entry}/") for entry in unwanted)
    }
    target.write_bytes(write_zip(compiled(files, "python_stdlib.zip"), compress=True))
