"""The recipes that are at hand: given once, read when asked for."""

from __future__ import annotations

from functools import lru_cache

from .intake.faults import Fault, fault
from .intake.recipe import Recipe, read_recipe

_TEXTS: dict[str, str] = {}


def put(recipes: dict[str, str]) -> None:
    """Fill the shelf. recipes: {"id.revision": TOML text}. What stood there before is taken away."""
    _TEXTS.clear()
    _TEXTS.update(recipes)
    _read.cache_clear()


@lru_cache(maxsize=256)
def _read(ref: str) -> tuple[Recipe | None, tuple[Fault, ...]]:
    recipe, faults = read_recipe(_TEXTS[ref], f"{ref}.toml")
    return recipe, tuple(faults)


def refs() -> tuple[str, ...]:
    """All refs on the shelf, sorted by id, newest revision first."""
    return tuple(sorted(_TEXTS, key=lambda ref: (ref.rpartition(".")[0], -int(ref.rpartition(".")[2]))))


def newest(recipe_id: str) -> str | None:
    """The ref of the newest revision of a recipe, or None."""
    return next((ref for ref in refs() if ref.rpartition(".")[0] == recipe_id), None)


def get(ref: str) -> tuple[Recipe | None, list[Fault]]:
    """The recipe of a ref, "id.revision", or the faults that keep it away."""
    if ref not in _TEXTS:
        known = ", ".join(sorted({ref.rpartition(".")[0] for ref in _TEXTS})) or "-"
        return None, [fault("recipe", ref, "recipe_not_here", known=known)]
    recipe, faults = _read(ref)
    return recipe, list(faults)
