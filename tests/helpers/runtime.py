"""The runtime that ships, at work under Node."""

from __future__ import annotations

import json
import shutil
from functools import cache
from pathlib import Path

from sitebuild import runtime
from sitebuild.started import calls

TOP = Path(__file__).resolve().parents[2]
DIST = TOP / "dist"


def built_site() -> Path:
    """The built site; a plain sentence where there is none."""
    if not (DIST / "index.html").is_file():
        raise FileNotFoundError("dist/ is not built: run python3 build.py build, or test.")
    return DIST


def told_by(site: Path) -> dict:
    """What a built site's list of parts says."""
    (path,) = site.glob("assets/runtime.*.js")
    text = path.read_text(encoding="utf-8")
    return json.loads(text[text.index("{") : text.rindex("}") + 1])


def runtime_of_the_site(out: Path) -> runtime.Runtime:
    """The built site's runtime once more, below out/assets: what making it anew would give, byte for byte."""
    told = told_by(built_site())
    parts = {"folder": told["indexURL"], "wheels": tuple(told["wheels"]), "packages": tuple(told["packages"])}
    made = runtime.Runtime(**parts, **{key: told[key] for key in ("mjs", "wasm", "stdlib", "rest", "lock")})
    for way in (*made.shipped, made.rest):
        (out / way).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(built_site() / way, out / way)
    return made


def shelf_text() -> str:
    """The recipes as the built site carries them."""
    (path,) = built_site().glob("assets/shelf.*.json")
    return path.read_text(encoding="utf-8")


def answers_in_pyodide(requests: list[dict]) -> list[dict]:
    """What curebatch.answer says to each request in the shipped runtime."""
    results = calls(built_site(), [{"call": "answer", "with": json.dumps(request)} for request in requests])
    failed = [result["trace"] for result in results if "error" in result]
    if failed:
        raise AssertionError("In the shipped runtime:\n" + "\n\n".join(failed))
    return [json.loads(result["text"]) for result in results]


def answers_here(requests: list[dict]) -> list[dict]:
    """What curebatch.answer says to each request in this Python."""
    curebatch = started()
    return [json.loads(curebatch.answer(json.dumps(request))) for request in requests]


@cache
def started():
    """Our package in this Python with the built site's shelf, started once as in the worker."""
    import curebatch

    curebatch.start(shelf_text())
    return curebatch
