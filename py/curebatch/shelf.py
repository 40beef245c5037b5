"""The recipes that are at hand: given once, read when asked for."""

from __future__ import annotations

import re
from functools import lru_cache

from .intake.faults import Fault, fault
from .intake.numbers import tidy
from .intake.recipe_file import data_of
from .intake.recipe import Recipe, read_recipe
from .intake.retold import data_retold, retold
from .rules.withdrawn import Withdrawn, read_withdrawn
from .words import spoken

_TEXTS: dict[str, str] = {}
_RETOLD: dict[str, dict[str, str]] = {}
_WITHDRAWN = [Withdrawn()]


def put(recipes: dict[str, str], withdrawn: object = None, texts: dict[str, dict[str, str]] | None = None) -> None:
    """Fill the shelf; what stood there before is taken away.

    recipes: {"id.revision": TOML text}; withdrawn: the list as it was when the site was built;
    texts: {language: {"id.revision": TOML text}}, what recipes say in other languages than their own.
    """
    _TEXTS.clear()
    _TEXTS.update(recipes)
    _RETOLD.clear()
    _RETOLD.update(texts or {})
    _WITHDRAWN[0] = read_withdrawn(withdrawn)
    _read.cache_clear()
    _without_fault.cache_clear()
    refs.cache_clear()
    _by_id.cache_clear()


@lru_cache(maxsize=512)  # a long shelf, for the build of its pages
def _without_fault(ref: str) -> Recipe | None:
    return read_recipe(_TEXTS[ref], f"{ref}.toml")[0]


@lru_cache(maxsize=1024)  # the same in every language
def _read(ref: str, language: str) -> tuple[Recipe | None, tuple[Fault, ...]]:
    # Only faults are worded, in the language in force.
    recipe = _without_fault(ref)
    faults = [] if recipe is not None else read_recipe(_TEXTS[ref], f"{ref}.toml")[1]
    texts = _RETOLD.get(language, {}).get(ref)
    if recipe is not None and texts is not None:
        recipe, faults = retold(recipe, texts, f"{language}/{ref}.toml", language)
    return recipe, tuple(faults)


def withdrawn() -> Withdrawn:
    """What had been withdrawn when the site was built."""
    return _WITHDRAWN[0]


@lru_cache(maxsize=1)
def refs() -> tuple[str, ...]:
    """All refs on the shelf, sorted by id, newest revision first."""
    return tuple(sorted(_TEXTS, key=lambda ref: (ref.rpartition(".")[0], -int(ref.rpartition(".")[2]))))


@lru_cache(maxsize=1)
def _by_id() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for ref in refs():
        found.setdefault(ref.rpartition(".")[0], []).append(ref)
    return found


def ids() -> tuple[str, ...]:
    """The ids of all recipes on the shelf, sorted."""
    return tuple(_by_id())


def newest(recipe_id: str) -> str | None:
    """The ref of the newest revision of a recipe, or None."""
    return next(iter(_by_id().get(recipe_id, ())), None)


def later(recipe: Recipe) -> list[Recipe]:
    """The readable revisions on the shelf that came after a recipe's own, oldest first."""
    found = [get(ref)[0] for ref in reversed(_by_id().get(recipe.id, ()))]
    return [other for other in found if other is not None and other.revision > recipe.revision]


def text(ref: str) -> str:
    """The file of a recipe that is on the shelf."""
    return _TEXTS[ref]


def data(ref: str) -> dict:
    """What that file holds, its texts in the language in force where there are such."""
    found = data_of(_TEXTS[ref])
    recipe, _ = get(ref)
    return found if recipe is None or recipe.language == found["language"] else data_retold(found, recipe)


_TABLE = re.compile(r"(?m)^\s*\[")


def head(ref: str) -> dict[str, str]:
    """What a recipe calls itself, {title, summary, language}, in the language in force where it is told in that.

    For a list of many: read from the head of its file alone, and not judged, which its own page does.
    Raises ValueError where the file says no such thing.
    """
    if ref not in _RETOLD.get(spoken(), {}):
        # What a text of several lines is cut short by is no TOML any more; then the whole file is.
        for text in (_TABLE.split(_TEXTS[ref], maxsplit=1)[0], _TEXTS[ref]):
            data = data_of(text) or {}
            if isinstance(data.get("title"), str) and isinstance(data.get("language"), str):
                return {"title": tidy(data["title"]), "summary": tidy(str(data.get("summary", ""))), "language": data["language"]}
    recipe, faults = get(ref)
    if recipe is None:
        raise ValueError("; ".join(wrong.text for wrong in faults))
    return {"title": recipe.title, "summary": recipe.summary, "language": recipe.language}


def get(ref: str) -> tuple[Recipe | None, list[Fault]]:
    """The recipe of a ref, "id.revision", or the faults that keep it away."""
    if ref not in _TEXTS:
        known = ", ".join(ids()) or "-"
        return None, [fault("recipe", ref, "recipe_not_here", known=known)]
    recipe, faults = _read(ref, spoken())
    return recipe, list(faults)
