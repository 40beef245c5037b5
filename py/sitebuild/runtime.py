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

from curebatch.words import LANGUAGES

from . import exports, files, recipe_files
from .errors import BuildError

HERE = Path(__file__).resolve().parent
TOP = HERE.parents[1]
PYODIDE = TOP / "site" / "node_modules" / "pyodide"
WHEELS = TOP / ".cache" / "wheels"
PACKAGE = TOP / "py" / "curebatch"

# The modules that ship, of the standard library and of other people's packages: what the product
# was seen to load, and neighbours of those. All else goes into an archive that is fetched when
# an import misses.
USED = HERE / "modules_used.txt"
KEPT = HERE / "modules_kept.toml"


@dataclass(frozen=True)
class Runtime:
    """What was written below dist/, as ways from the site's root."""

    folder: str  # all that changes only with a pin or with the list of modules
    mjs: str
    wasm: str
    stdlib: str
    rest: str  # fetched only when an import misses: not among what is kept for offline
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


def shipped_modules() -> list[str]:
    """The modules that ship besides our own, sorted."""
    used = [line for line in USED.read_text(encoding="utf-8").splitlines() if line[:1] not in ("", "#")]
    groups = tomllib.loads(KEPT.read_text(encoding="utf-8"))["kept"]
    return sorted({*used, *(module for group in groups for module in group["modules"])})


def make(out: Path, *, trimmed: bool = True) -> Runtime:
    """Make the runtime and write it below out/assets; untrimmed, every module ships."""
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
        for module in ("way_back.py", "made_ready.py", "recorder.py"):
            shutil.copyfile(HERE / module, work / "in" / module)
        for helper in ("files.py", "in_pyodide.py"):
            shutil.copyfile(HERE / helper, work / helper)
        job = {
            "pyodide": str(PYODIDE),
            "work": str(work),
            "micropip": micropip.name,
            "wheels": third_party,
            "own": own_name,
            "imports": ["pint", "jinja2", "curebatch"],
            "shipped": shipped_modules() if trimmed else None,
            "exercise": exercise(),
        }
        (work / "job.json").write_text(json.dumps(job), encoding="utf-8")
        node(HERE / "make_runtime.mjs", work / "job.json")
        made = {path.name: path.read_bytes() for path in (work / "out").iterdir()}
        frozen = json.loads((work / "lock.json").read_text(encoding="utf-8"))

    # Two parts, so that a change of ours does not fetch the runtime again: the folder's name
    # covers all that changes with a pin only, our own wheel has a name of its own.
    some = [name for name in third_party if name in made]
    lasting = {name: made[name] for name in (*some, "python_stdlib.zip")}
    loader, script = ((PYODIDE / name).read_text(encoding="utf-8") for name in ("pyodide.mjs", "pyodide.asm.mjs"))
    try:
        script, program = exports.cut(script, (PYODIDE / "pyodide.asm.wasm").read_bytes(), loader)
    except exports.UnknownShape as error:
        raise BuildError(f"This Pyodide cannot be cut down as sitebuild/exports.py does it: {error}") from error
    lasting |= {"pyodide.mjs": loader.encode(), "pyodide.asm.mjs": script.encode(), "pyodide.asm.wasm": program}
    key = files.short_hash(*(part for n in sorted(lasting) for part in (n.encode(), lasting[n])))
    folder = f"assets/pyodide-{key}/"
    own_way = f"assets/{own_name.removesuffix('.whl')}.{files.short_hash(made[own_name])}.whl"
    (out / folder).mkdir(parents=True)
    for name, data in lasting.items():
        (out / folder / name).write_bytes(data)
    (out / own_way).write_bytes(made[own_name])
    rest_way = f"assets/{files.hashed_name('python_rest.zip', made['python_rest.zip'])}"
    (out / rest_way).write_bytes(made["python_rest.zip"])

    where = {name: f"{folder}{name}" for name in some} | {own_name: own_way}
    lock = cut_lock(frozen, {n: (where[n].removeprefix("assets/"), made[n]) for n in where}, third_party)
    lock_data = json.dumps(lock, indent=1, sort_keys=True).encode()
    lock_way = f"assets/{files.hashed_name('lock.json', lock_data)}"
    (out / lock_way).write_bytes(lock_data)
    return Runtime(
        folder=folder,
        mjs=f"{folder}pyodide.mjs",
        wasm=f"{folder}pyodide.asm.wasm",
        stdlib=f"{folder}python_stdlib.zip",
        rest=rest_way,
        lock=lock_way,
        wheels=tuple(where[name] for name in sorted(where)),
        packages=tuple(sorted(lock["packages"])),
    )


def exercise() -> dict:
    """What the runtime is put to so as to see what it works out at a start: the site's own recipes."""
    shelf = recipe_files.read_shelf(recipe_files.FOLDER).decode()
    told = recipe_files.proof(shelf)
    asked = [json.loads(text) for text in (told["request"], *told["warm"])]
    asked = [{**each, "input": {**each["input"], "language": language}} for language in LANGUAGES for each in asked]
    return {"shelf": shelf, "requests": [("answer", json.dumps(each)) for each in asked] + [("draw", text) for text in told["draw"]]}


def cut_lock(frozen: dict, ours: dict[str, tuple[str, bytes]], pinned: Iterable[str] = ()) -> dict:
    """micropip's lock with the packages that ship alone, their shipped names and digests.

    `ours` is {wheel's name: (shipped name, shipped content)}, `pinned` the names of all wheels.
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
    known = {normalized(name.split("-")[0]) for name in (*ours, *pinned)}
    for key, entry in packages.items():
        outside = [need for need in entry["depends"] if normalized(need) not in known]
        if outside:
            raise BuildError(f"{key} needs {outside}, which requirements/product.txt does not pin.")
        # A package of which nothing is used does not ship.
        entry["depends"] = [need for need in entry["depends"] if need in packages]
    return {"info": frozen["info"], "packages": packages}


def normalized(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def node(script: Path, *arguments: object, options: Iterable[str] = ()) -> None:
    command = ["node", *options, str(script), *map(str, arguments)]
    result = subprocess.run(command, capture_output=True, text=True)
    if result.returncode:
        said = (result.stdout + result.stderr).strip()
        raise BuildError(f"{script.name} failed (exit code {result.returncode}):\n{said}")
