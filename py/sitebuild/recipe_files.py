"""The recipes of a site: their files as one text, and what is worked out of them to prove a runtime."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import curebatch
from curebatch.words import LANGUAGES

from . import files
from .errors import BuildError

SITE = Path(__file__).resolve().parents[2] / "site"
FOLDER = SITE / "recipes"
WARMED = 12  # recipes that a picture of the memory is made with


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
