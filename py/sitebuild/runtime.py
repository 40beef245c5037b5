"""The runtime that ships: Pyodide, a compiled standard library, compiled wheels and their lock.

Made in stock Pyodide under Node, then used from here on: every static page is drawn by it.
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import tempfile
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from . import files

HERE = Path(__file__).resolve().parent
TOP = HERE.parents[1]
PYODIDE = TOP / "site" / "node_modules" / "pyodide"
WHEELS = TOP / ".cache" / "wheels"
PACKAGE = TOP / "py" / "curebatch"

# Standard modules that no page can come to need: other people's protocols, tools for developers,
# processes and sockets that a browser does not have, and second versions in Python of what is
# compiled in.
LEFT_OUT = (
    "__hello__", "__phello__", "_py_abc", "_pydatetime", "_pyio", "_pyrepl", "antigravity",
    "asyncio/__main__", "asyncio/proactor_events", "asyncio/tools", "asyncio/windows_events",
    "asyncio/windows_utils", "bdb", "cProfile", "cmd", "code", "colorsys",
    "compileall", "concurrent/futures/interpreter", "concurrent/futures/process",
    "concurrent/interpreters", "configparser", "ctypes", "doctest", "email/mime", "filecmp",
    "fileinput", "ftplib", "getopt", "getpass", "http/cookiejar", "http/cookies", "http/server",
    "imaplib", "json/__main__", "json/tool", "logging/config", "logging/handlers", "mailbox",
    "modulefinder", "multiprocessing", "netrc", "nturl2path", "optparse", "pdb", "pickletools",
    "plistlib", "poplib", "profile", "pstats", "pty", "py_compile", "pyclbr", "pydoc",
    "pyodide/console", "rlcompleter", "runpy", "sched", "shelve", "site-packages", "smtplib",
    "socketserver", "sqlite3", "symtable", "sysconfig/__main__", "tabnanny", "this", "timeit",
    "trace", "tracemalloc", "tty", "turtle", "unittest", "urllib/robotparser", "wave",
    "webbrowser", "wsgiref", "xml", "xmlrpc", "zipapp",
)  # fmt: skip

# Of the encodings those that Python itself, zip archives and addresses use; the rest is two
# thirds of a megabyte of tables.
ENCODINGS_KEPT = {
    "__init__", "aliases", "ascii", "charmap", "cp437", "idna", "latin_1", "punycode",
    "raw_unicode_escape", "undefined", "unicode_escape", "utf_16", "utf_16_be", "utf_16_le",
    "utf_32", "utf_32_be", "utf_32_le", "utf_7", "utf_8", "utf_8_sig",
}  # fmt: skip


class BuildError(Exception):
    """A plain sentence on what is wrong and what to do."""


@dataclass(frozen=True)
class Runtime:
    """What was written below dist/, as ways from the site's root."""

    folder: str  # all that changes only with a pin
    mjs: str
    wasm: str
    stdlib: str
    lock: str
    wheels: tuple[str, ...]
    packages: tuple[str, ...]

    @property
    def shipped(self) -> tuple[str, ...]:
        asm = f"{self.folder}pyodide.asm.mjs"
        return (self.mjs, asm, self.wasm, self.stdlib, self.lock, *self.wheels)


def own_wheel() -> tuple[str, bytes]:
    """Our package as a wheel: nothing but its files and what a wheel must say of itself."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    name, version = project["name"], project["version"]
    info = f"{name}-{version}.dist-info"
    content = {
        path.relative_to(PACKAGE.parent).as_posix(): path.read_bytes()
        for path in files.tree(PACKAGE, without={"__pycache__"})
    }
    needs = "".join(f"Requires-Dist: {need}\n" for need in project["dependencies"])
    content[f"{info}/METADATA"] = (
        f"Metadata-Version: 2.4\nName: {name}\nVersion: {version}\n"
        f"License-Expression: {project['license']}\nLicense-File: LICENSE\n{needs}"
    ).encode()
    content[f"{info}/licenses/LICENSE"] = (TOP / "LICENSE").read_bytes()
    content[f"{info}/WHEEL"] = (
        b"Wheel-Version: 1.0\nGenerator: sitebuild\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
    )
    # micropip insists on a RECORD; the compiled wheel gets one with digests.
    content[f"{info}/RECORD"] = "".join(f"{n},,\n" for n in sorted(content)).encode()
    return f"{name}-{version}-py3-none-any.whl", files.write_zip(content, compress=False)


def make(out: Path) -> Runtime:
    """Make the runtime and write it below out/assets."""
    third_party = sorted(w.name for w in WHEELS.glob("*.whl") if not w.name.startswith("micropip-"))
    micropip = next(WHEELS.glob("micropip-*.whl"))
    own_name, own_data = own_wheel()
    with tempfile.TemporaryDirectory(prefix="curebatch-") as scratch:
        work = Path(scratch).resolve()
        (work / "in").mkdir()
        (work / "out").mkdir()
        for name in (*third_party, micropip.name):
            shutil.copyfile(WHEELS / name, work / "in" / name)
        (work / "in" / own_name).write_bytes(own_data)
        shutil.copyfile(PYODIDE / "python_stdlib.zip", work / "in" / "python_stdlib.zip")
        for helper in ("files.py", "in_pyodide.py"):
            shutil.copyfile(HERE / helper, work / helper)
        job = {
            "pyodide": str(PYODIDE),
            "work": str(work),
            "micropip": micropip.name,
            "wheels": [*third_party, own_name],
            "imports": ["pint", "jinja2", "curebatch"],
            "left_out": [*LEFT_OUT, *unwanted_encodings(work / "in" / "python_stdlib.zip")],
        }
        (work / "job.json").write_text(json.dumps(job), encoding="utf-8")
        node(HERE / "make_runtime.mjs", work / "job.json")
        made = {path.name: path.read_bytes() for path in (work / "out").iterdir()}
        frozen = json.loads((work / "lock.json").read_text(encoding="utf-8"))

    # Two parts, so that a change of ours does not fetch the runtime again: the folder's name
    # covers all that changes with a pin only, our own wheel has a name of its own.
    lasting = {name: made[name] for name in (*third_party, "python_stdlib.zip")}
    for name in ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm"):
        lasting[name] = (PYODIDE / name).read_bytes()
    key = files.short_hash(*(part for n in sorted(lasting) for part in (n.encode(), lasting[n])))
    folder = f"assets/pyodide-{key}/"
    own_way = f"assets/{own_name.removesuffix('.whl')}.{files.short_hash(made[own_name])}.whl"
    (out / folder).mkdir(parents=True)
    for name, data in lasting.items():
        (out / folder / name).write_bytes(data)
    (out / own_way).write_bytes(made[own_name])

    where = {name: f"{folder}{name}" for name in third_party} | {own_name: own_way}
    lock = cut_lock(frozen, {n: (where[n].removeprefix("assets/"), made[n]) for n in where})
    lock_data = json.dumps(lock, indent=1, sort_keys=True).encode()
    lock_way = f"assets/{files.hashed_name('lock.json', lock_data)}"
    (out / lock_way).write_bytes(lock_data)
    return Runtime(
        folder=folder,
        mjs=f"{folder}pyodide.mjs",
        wasm=f"{folder}pyodide.asm.wasm",
        stdlib=f"{folder}python_stdlib.zip",
        lock=lock_way,
        wheels=tuple(where[name] for name in sorted(where)),
        packages=tuple(sorted(lock["packages"])),
    )


def unwanted_encodings(stdlib: Path) -> list[str]:
    names = (Path(name) for name in files.read_zip(stdlib.read_bytes()))
    return sorted(
        f"encodings/{path.stem}"
        for path in names
        if path.parent.name == "encodings" and path.stem not in ENCODINGS_KEPT
    )


def cut_lock(frozen: dict, ours: dict[str, tuple[str, bytes]]) -> dict:
    """micropip's lock with our packages alone, their shipped names and digests.

    `ours` is {wheel's name: (shipped name, shipped content)}.
    """
    packages = {}
    for key, entry in frozen["packages"].items():
        name = entry["file_name"].rsplit("/", 1)[-1]
        if name in ours and normalized(entry["name"]) == normalized(name.split("-")[0]):
            shipped, data = ours[name]
            packages[key] = {**entry, "file_name": shipped, "sha256": files.sha256(data)}
    missing = {normalized(name.split("-")[0]) for name in ours} - {normalized(k) for k in packages}
    if missing:
        raise BuildError(f"The lock that micropip made names no package for: {sorted(missing)}.")
    for key, entry in packages.items():
        outside = [need for need in entry["depends"] if need not in packages]
        if outside:
            raise BuildError(f"{key} needs {outside}, which requirements/product.txt does not pin.")
    return {"info": frozen["info"], "packages": packages}


def normalized(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def node(script: Path, *arguments: object) -> None:
    command = ["node", str(script), *map(str, arguments)]
    result = subprocess.run(command, capture_output=True, text=True)
    if result.returncode:
        said = (result.stdout + result.stderr).strip()
        raise BuildError(f"{script.name} failed (exit code {result.returncode}):\n{said}")


def calls(dist: Path, wanted: Iterable[dict]) -> list[dict]:
    """Let the runtime in `dist` do some work under Node.

    Each call is {"call": name of an entry of curebatch, "with": its JSON text}; each result is
    {"text": the answer} or {"error": the last line of what went wrong, "trace": all of it}.
    """
    with tempfile.TemporaryDirectory(prefix="curebatch-") as scratch:
        asked, answered = Path(scratch, "calls.json"), Path(scratch, "results.json")
        asked.write_text(json.dumps(list(wanted)), encoding="utf-8")
        node(HERE / "run_calls.mjs", dist, asked, answered)
        return json.loads(answered.read_text(encoding="utf-8"))
