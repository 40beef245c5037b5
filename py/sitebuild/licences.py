"""The licences of all that ships: the texts into dist/licences/, the list for the page."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable
from email.parser import BytesParser
from pathlib import Path
from typing import NamedTuple

from . import files
from .assets import NODE_MODULES
from .errors import BuildError
from .recipe_files import SITE
from .runtime import TOP, WHEELS

# Texts that the parts themselves do not bring along, with what they belong to.
KEPT = SITE / "licences"


class Part(NamedTuple):
    """Something of somebody's that ships."""

    name: str
    version: str
    licence: str
    texts: dict[str, bytes]
    kind: str  # of package: "pypi", "npm", or "generic" for what is compiled into the runtime
    digest: str = ""  # of what was fetched, where a lock pins it, as "sha512-" and base64


def of_all() -> list[Part]:
    """Our own program first, then what comes with it."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    own = {"LICENSE": (TOP / "LICENSE").read_bytes()}
    parts = [Part(project["name"], project["version"], project["license"], own, "generic")]
    wheels = (w for w in sorted(WHEELS.glob("*.whl")) if not w.name.startswith("micropip-"))
    parts += [of_wheel(wheel) for wheel in wheels]
    parts += [of_npm("idiomorph")]
    return parts + of_runtime()


def write(out: Path, parts: Iterable[Part]) -> list[dict]:
    """Write the texts; gives [{"name", "version", "licence", "text", "texts": [its files]}]."""
    listed = []
    for name, version, licence, texts, *_ in parts:
        if not texts:
            raise BuildError(f"{name} ships, and no licence text was found for it.")
        ways = []
        for leaf, data in sorted(texts.items()):
            way = f"licences/{name.lower().replace(' ', '-')}/{Path(leaf).stem}.txt"
            (out / way).parent.mkdir(parents=True, exist_ok=True)
            (out / way).write_bytes(data)
            ways.append(way)
        listed.append({"name": name, "version": version, "licence": licence,
                       "text": "\n\n".join(data.decode() for _, data in sorted(texts.items())),
                       "texts": ways})  # fmt: skip
    return listed


def of_wheel(path: Path) -> Part:
    content = files.read_zip(path.read_bytes())
    info = next(name for name in content if name.endswith(".dist-info/METADATA"))
    folder = info.removesuffix("METADATA")
    head = BytesParser().parsebytes(content[info])
    texts = {
        name.rsplit("/", 1)[-1]: data
        for name, data in content.items()
        if name.startswith(folder)
        and name.rsplit("/", 1)[-1].upper().startswith(("LICEN", "COPYING", "AUTHORS"))
    }
    licence = head["License-Expression"] or head["License"] or from_classifiers(head)
    return Part(head["Name"], head["Version"], short(licence), texts, "pypi")


def from_classifiers(head) -> str:
    kinds = [c.split(" :: ")[-1] for c in head.get_all("Classifier", []) if c.startswith("License")]
    return ", ".join(kinds)


def short(licence: str) -> str:
    """Some packages put the whole text where the name belongs."""
    first = licence.strip().splitlines()[0] if licence.strip() else ""
    return first if len(first) <= 60 else ""


def of_npm(name: str) -> Part:
    folder = NODE_MODULES / name
    head = json.loads((folder / "package.json").read_text(encoding="utf-8"))
    texts = {p.name: p.read_bytes() for p in sorted(folder.glob("LICENSE*"))}
    return Part(head["name"], head["version"], head["license"], texts, "npm", pinned(name))


def pinned(name: str) -> str:
    lock = json.loads((SITE / "package-lock.json").read_text(encoding="utf-8"))
    return lock["packages"][f"node_modules/{name}"]["integrity"]


def of_runtime() -> list[Part]:
    """Pyodide and what is compiled into it; its package brings no texts."""
    told = tomllib.loads((KEPT / "runtime.toml").read_text(encoding="utf-8"))
    version = json.loads((NODE_MODULES / "pyodide/package.json").read_text("utf-8"))["version"]
    if told["pyodide"] != version:
        raise BuildError(
            f"site/licences/runtime.toml was checked for Pyodide {told['pyodide']}, and "
            f"{version} is pinned: go through its list again and change the number."
        )
    return [
        Part(part["name"], part["version"], part["licence"],
             {text: (KEPT / text).read_bytes() for text in part["texts"]},
             part.get("kind", "generic"), pinned(part["npm"]) if "npm" in part else "")
        for part in told["part"]
    ]  # fmt: skip
