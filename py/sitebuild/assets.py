"""Everything the pages load besides the runtime, under names made from its content.

Which file a script imports is written in the script alone: the names are followed and rewritten
here, never typed into a list.
"""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import curebatch
from curebatch.words import LANGUAGES

from . import files
from .runtime import TOP, BuildError, Runtime

SITE = TOP / "site"
NODE_MODULES = SITE / "node_modules"

# Files of other people that our scripts import, by the name they have for our scripts.
VENDORED = {"morph.js": NODE_MODULES / "idiomorph" / "dist" / "idiomorph.esm.js"}

# Below site/ these are not assets themselves.
NOT_ASSETS = {"node_modules", "recipes", "licences", "pictures"}
# At the site's root under a lasting name, and part of the build's id all the same.
AT_ROOT = ("service-worker.js", "embed-loader.js")
WARMED = 12  # recipes that a picture of the memory is made with
ASSET_SUFFIXES = {".css", ".js", ".svg", ".png", ".ico", ".woff2"}

# import x from "./a.js", export x from "./a.js", import "./a.js", import("./a.js"),
# new URL("./a.js", import.meta.url); in style sheets url("a.svg") and url(a.svg).
SCRIPT_NAME = re.compile(
    r"""(?P<before>\bfrom\s*|\bimport\s*\(?\s*|\bnew\s+URL\s*\(\s*)"""
    r"""(?P<quote>["'])(?P<name>\.{1,2}/[^"'?#\n]+\.\w+)(?P=quote)"""
)
STYLE_NAME = re.compile(
    r"""(?P<before>\burl\(\s*|@import\s+)(?P<quote>["']?)(?P<name>(?!data:|[a-z]+:|#|/)[\w./-]+\.\w+)"""
    r"""(?P=quote)"""
)


def read_shelf(recipes: Path) -> bytes:
    """All recipe files as one JSON text, keyed by id and revision, with their texts in other languages."""
    shelf: dict[str, str] = {}
    for path in sorted(recipes.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        try:
            head = tomllib.loads(text)
            key = f"{head['id']}.{head['revision']}"
        except (tomllib.TOMLDecodeError, KeyError) as error:
            raise BuildError(f"{path}: a recipe file needs id and revision: {error}") from error
        if key in shelf:
            raise BuildError(f"{path}: {key} is on the shelf already. Give it the next revision.")
        shelf[key] = text
    if not shelf:
        raise BuildError(f"There is no recipe file (*.toml) in {recipes}.")
    withdrawn_file = withdrawn_of(recipes)
    try:
        withdrawn = json.loads(withdrawn_file.read_text("utf-8")) if withdrawn_file.is_file() else {}
    except ValueError as error:
        raise BuildError(f"{withdrawn_file}: {error}") from error
    return json.dumps(
        {"recipes": shelf, "texts": texts_of(recipes, shelf), "withdrawn": withdrawn}, ensure_ascii=False, sort_keys=True
    ).encode()


def texts_of(recipes: Path, shelf: dict[str, str]) -> dict[str, dict[str, str]]:
    """What the recipes say in other languages, from the folder of each beside them: {language: {ref: text}}."""
    found: dict[str, dict[str, str]] = {}
    for path in sorted(recipes.glob("*/*.toml")):
        if path.parent.name not in LANGUAGES:
            raise BuildError(f"{path}: the folder is to be called after a language: {', '.join(LANGUAGES)}.")
        if path.stem not in shelf:
            raise BuildError(f"{path}: there is no recipe {path.stem} whose texts these could be.")
        found.setdefault(path.parent.name, {})[path.stem] = path.read_text(encoding="utf-8")
    return found


def withdrawn_of(recipes: Path) -> Path:
    """The list of what is withdrawn: the author's own beside the recipes, else the site's."""
    own = recipes / "withdrawn.json"
    return own if own.is_file() else SITE / "withdrawn.json"


def sources() -> dict[str, bytes]:
    """{name relative to site/: content}, the vendored files among them."""
    found = {
        path.relative_to(SITE).as_posix(): path.read_bytes()
        for path in files.tree(SITE, without=NOT_ASSETS)
        if path.suffix in ASSET_SUFFIXES and path.name not in AT_ROOT
    }
    for name, path in VENDORED.items():
        if name in found:
            raise BuildError(f"site/{name} has the name of a vendored file; call it otherwise.")
        found[name] = path.read_bytes()
    return found


def write(out: Path, runtime: Runtime, shelf: bytes) -> tuple[dict[str, str], str, str]:
    """Write the assets below out/assets; gives {key: way from the root}, the shelf's way and the
    build's id."""
    found = sources()
    shelf_way = f"assets/{files.hashed_name('shelf.json', shelf)}"
    (out / shelf_way).write_bytes(shelf)
    # The runtime's own names carry their content; everything else is in here as it is.
    build = files.short_hash(
        "\n".join(runtime.shipped).encode(),
        shelf,
        *(part for name in sorted(found) for part in (name.encode(), found[name])),
        *((SITE / name).read_bytes() for name in AT_ROOT),
    )
    if "runtime.js" in found:
        raise BuildError("site/runtime.js is generated; remove the file.")
    found["runtime.js"] = runtime_module(out, runtime, shelf_way, build)

    names = hashed(found)
    for name, (way, data) in names.items():
        target = out / "assets" / way
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    return keyed({name: f"assets/{way}" for name, (way, _) in names.items()}), shelf_way, build


def keyed(ways: dict[str, str]) -> dict[str, str]:
    """What the templates call the assets: "style" for style.css, "icon" for icons/icon.svg."""
    out: dict[str, str] = {}
    for name, way in sorted(ways.items()):
        key = name.rsplit("/", 1)[-1].rsplit(".", 1)[0]
        if key in out:
            raise BuildError(f"Two assets would both be called {key!r}: site/{name} needs another.")
        out[key] = way
    return out


def runtime_module(out: Path, runtime: Runtime, shelf_way: str, build: str) -> bytes:
    # What the worker fetches itself, for its progress; the two modules come by import.
    fetched = [runtime.wasm, runtime.stdlib, runtime.lock, *runtime.wheels, shelf_way]
    told = {
        "build": build,
        "mjs": runtime.mjs,
        "indexURL": runtime.folder,
        "wasm": runtime.wasm,
        "stdlib": runtime.stdlib,
        "rest": runtime.rest,
        "lock": runtime.lock,
        "wheels": runtime.wheels,
        "packages": runtime.packages,
        "integrity": {way: files.integrity((out / way).read_bytes()) for way in runtime.wheels},
        "shelf": shelf_way,
        "proof": proof((out / shelf_way).read_text(encoding="utf-8")),
        "bytes": sum((out / way).stat().st_size for way in fetched),
    }
    text = json.dumps(told, indent=2)
    return f"// Generated by the build. All ways are from the site's root.\nexport const RUNTIME = {text};\n".encode()


def proof(shelf: str) -> dict:
    """What a restored runtime has to work out rightly before it is trusted, and what it must have done.

    The right answer is worked out here, by the Python of the build.
    """
    curebatch.start(shelf)
    kitchen = {"pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g"}
    # Some are enough to load and read everything; a site may have hundreds.
    refs = sorted(json.loads(shelf)["recipes"])[:WARMED]

    def request(page: str, want: str, **given: object) -> str:
        return json.dumps({"id": 0, "build": "proof", "input": {"page": page, **given}, "want": [want]})

    inputs = [{"recipe": ref, "fields": fields} for ref in refs for fields in ({}, kitchen, {"pack": "none"})]
    found = {"found_cure": "20 g", "found_meat": "1 kg", "found_pack": "0.5 %", **kitchen}
    proving = request("recipe", "weights", recipe=refs[0], fields=kitchen, confirmed_packs=["6.25 %"])
    answer = curebatch.answer(proving).encode()
    return {
        "request": proving,
        "sha256": files.sha256(answer),
        "warm": [request("recipe", "all", **given) for given in inputs] + [request("found", "all", fields=found)]
        + [request("recipe", "sheet", recipe=refs[0], fields=kitchen, address="https://example.org/recipes/x/")],
        "draw": [
            json.dumps({"page": "recipe", "recipe": ref, "root": "", "build": "proof", "canonical": None,
                        "assets": {"early": "", "style": "", "print": "", "page": "", "plain": "", "icon": ""}})
            for ref in refs
        ],
    }  # fmt: skip


def hashed(found: dict[str, bytes]) -> dict[str, tuple[str, bytes]]:
    """{name: (hashed name, content with the names inside rewritten)}.

    A file's hash covers the hashes of all that it names, so a change anywhere below it renames it.
    """
    done: dict[str, tuple[str, bytes]] = {}

    def visit(name: str, above: tuple[str, ...]) -> str:
        if name in above:
            ring = " -> ".join((*above[above.index(name) :], name))
            raise BuildError(f"These files name each other in a ring, so none can be hashed: {ring}")
        if name not in done:
            data = found[name]
            pattern = {".js": SCRIPT_NAME, ".css": STYLE_NAME}.get(name[name.rfind(".") :])
            if pattern and name not in VENDORED:
                data = rewritten(name, data.decode(), pattern, lambda n: visit(n, (*above, name)))
            folder, _, leaf = name.rpartition("/")
            done[name] = (f"{folder}/" * bool(folder) + files.hashed_name(leaf, data), data)
        return done[name][0]

    def rewritten(
        name: str, text: str, pattern: re.Pattern[str], resolve: Callable[[str], str]
    ) -> bytes:
        def swap(match: re.Match[str]) -> str:
            wanted = joined(name, match["name"])
            if wanted is None:
                # A way out of the folder of assets, as to the site's root, is none of ours.
                return match[0]
            if wanted not in found:
                raise BuildError(f"site/{name} names {match['name']!r}, and there is no such file.")
            way = relative(name, resolve(wanted))
            dot = "./" if match["name"].startswith(".") and not way.startswith(".") else ""
            return f"{match['before']}{match['quote']}{dot}{way}{match['quote']}"

        return pattern.sub(swap, text).encode()

    for name in sorted(found):
        visit(name, ())
    return done


def joined(name: str, way: str) -> str | None:
    """What `way` means in the file `name`; None where it leads out of the folder."""
    parts = name.split("/")[:-1]
    for part in way.split("/"):
        if part == "..":
            if not parts:
                return None
            parts.pop()
        elif part != ".":
            parts.append(part)
    return "/".join(parts)


def relative(name: str, target: str) -> str:
    return "../" * name.count("/") + target
