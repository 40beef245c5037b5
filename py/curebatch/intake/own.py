"""A recipe of the cook's own: what a form or a file holds, made whole and read like any other file.

What is wrong is said of the form's places, not of a file's lines.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from ..batch import additives, foods
from ..fields import BASES, COMPOUNDS, SPOONS
from ..words import has, say, spoken
from .faults import Fault, clip, fault
from .ingredients import FIGURES, ID, ROLES
from .nesting import MOST_LEVELS, TooDeep, check_data
from .reader import Reader, key_of
from .recipe import FOUND, KINDS, METHODS, MOST_TEXT, SCHEMA, SPECIES, STATES, Recipe, read_recipe
from .recipe_file import data_of, write_recipe

COPY = "-own"  # behind the id of what another recipe was the pattern for
_LONGEST_ID = 41
#: What a row of the form asks of an ingredient; any other key comes from a file.
CELLS = ("name", "role", "amount", "per", "food", "fat", "animal", "salt", "substance", "p2o5", "pack_list")
#: The groups of the form, by the first part of a path.
_PARTS = {"ingredient": "own.ingredient.title", "step": "own.step.title", "targets": "own.targets.title", "batch": "own.batch.title", "cooking": "own.batch.title", "pickle": "own.batch.title"}
#: Where the words of a choice stand, by the last part of a path.
_CHOICES = {
    "method": "method", "kinds": "kind", "animal": "kind", "state": "choice.state", "spoons": "choice.spoons", "species": "species", "nitrite_as": "compound",
    "nitrite_per": "choice.salt_per", "salt_per": "choice.salt_per", "per": "choice.salt_per", "role": "role",
}

_OF_ROLE = "role = "  # what is expected of another field than the one that is wrong


@dataclass(frozen=True)
class Own:
    """A recipe of the cook's own, read."""

    recipe: Recipe | None
    faults: tuple[Fault, ...]
    data: dict | None  # what its file holds, for the form; None for what is no file at all
    text: str  # its file, "" where there are faults


class _FormReader(Reader):
    """Words a fault for the form: the place by its label, choices as the form has them."""

    def where(self, path: tuple) -> str:
        return self.name

    def wrong(self, path: tuple, read: object, expected: str, code: str = "recipe_value") -> None:
        before = len(self.faults)
        if any(wrong.field == _place(path) and wrong.code == "recipe_missing" for wrong in self.faults):
            return  # nothing more can be wrong with what is not there
        super().wrong(path, read, expected, code)
        if len(self.faults) > before:
            wrong = self.faults[-1]
            words = f"own.fault.{code}"
            text = say(words, called=_called(path), read=_chosen(path, wrong.read), expected=_expected(path, expected)) if has(words) else wrong.text
            self.faults[-1] = replace(wrong, field=_place(path), text=text, label=_part(path))

    def refuse(self, path: tuple, read: object, error) -> None:
        before = len(self.faults)
        super().refuse(path, read, error)
        if len(self.faults) > before:
            self.faults[-1] = replace(self.faults[-1], field=_place(path), label=_part(path))

    def refusal(self, path: tuple, why: str) -> str:
        return why


def _place(path: tuple) -> str:
    """The place on the form for a path; what has none of its own is said where its row begins."""
    if path[0] == "step":
        return "step"
    if path[0] == "ingredient" and len(path) > 1 and path[-1] not in CELLS:
        return key_of(("ingredient", path[1], "name"))
    return key_of(path)


def _part(path: tuple) -> str:
    if path[0] in ("ingredient", "step") and len(path) > 1:
        return say(f"own.{path[0]}.one", number=str(path[1] + 1))
    return say(_PARTS.get(path[0], "own.what"))


def _called(path: tuple) -> str:
    words = f"own.{'.'.join(str(part) for part in path if not isinstance(part, int))}"
    return next((say(f"{words}.{kind}") for kind in ("label", "title") if has(f"{words}.{kind}")), str(path[-1]))


def _chosen(path: tuple, read: str) -> str:
    """What was chosen, in the words of the form; what is none of its choices as it stands."""
    words = f"{_CHOICES.get(path[-1], '')}.{read}"
    return say(words) if has(words) else read


def _expected(path: tuple, expected: str) -> str:
    choices = expected.split(", ")
    if path[-1] in _CHOICES and all(has(f"{_CHOICES[path[-1]]}.{choice}") for choice in choices):
        return ", ".join(_chosen(path, choice) for choice in choices)
    if expected.startswith("["):
        return say("own.expected_table")
    if expected.startswith(_OF_ROLE):
        named = re.sub(r'"(\w+)"', lambda found: say(f"role.{found[1]}"), expected.removeprefix(_OF_ROLE))
        return f"{_called(('ingredient', 'role'))}: {named}"
    # The quotes are those of a file; in a field they would be typed along.
    return say("own.expected_text") if expected == "text" else expected.replace('"', "")


def choices() -> dict[str, list[str]]:
    """What the form gives to choose from: {name: values, as a recipe file has them}."""
    return {
        "methods": list(METHODS), "kinds": list(KINDS), "species": list(SPECIES), "states": list(STATES), "compounds": list(COMPOUNDS), "bases": list(BASES),
        "spoons": list(SPOONS), "roles": list(ROLES), "animals": list(foods.KINDS), "substances": [*additives.ACCELERATORS, *additives.PHOSPHATES],
        "foods": [food.name for food in foods.all_foods()],
    }


def read_own(given: str | Mapping, taken: Collection[str]) -> Own:
    """Read a recipe of the cook's own.

    given: the text of a recipe file, or the data of one as a form has it; taken: ids of
    published recipes, which no recipe of one's own may bear.
    """
    name = say("own.file")
    if isinstance(given, str):
        if len(given) > MOST_TEXT:
            return Own(None, (fault("recipe", "", "recipe_too_long", where=name),), None, "")
        data = data_of(given)
        if data is None:
            _, faults = read_recipe(given, name)
            return Own(None, tuple(faults), None, "")
        given = data
    try:
        check_data(given)
    except TooDeep:
        return Own(None, (fault("recipe", "", "recipe_nested", where=name, most=str(MOST_LEVELS)),), None, "")
    text = write_recipe(complete(given, taken))
    recipe, faults = read_recipe(text, name, _FormReader)
    # Back from the text: whatever was typed is then something that a form can hold.
    return Own(recipe, tuple(faults), data_of(text), text if recipe else "")


def complete(data: Mapping, taken: Collection[str]) -> dict:
    """The data of a recipe file with what its form does not ask for.

    data: as a form or a file has it, kept as it is where it says something; taken: ids that it may not bear.
    """
    made = {"schema": SCHEMA, "language": spoken(), "targets": {}, "batch": {}, "ingredient": [], **data}
    if made.get("kinds") == []:
        del made["kinds"]  # none is ticked: missing, not wrong
    given = data.get("id")
    made["id"] = id_for(given if isinstance(given, str) and ID.fullmatch(given) else data.get("title"), taken)
    if made["id"] != given or "revision" not in data:
        made["revision"] = 1
    if isinstance(made["ingredient"], list):
        made["ingredient"] = [_with_id(line, number) for number, line in enumerate(made["ingredient"], 1)]
    return made


def _with_id(line: object, number: int) -> object:
    """An ingredient with an id where its name makes none: names are in any script."""
    if not isinstance(line, Mapping) or "id" in line or not line.get("name"):
        return line
    slug = _slug(line["name"])
    return {"id": slug if ID.fullmatch(slug) and slug not in FIGURES else f"line-{number}", **line}


def _slug(text: object) -> str:
    plain = unicodedata.normalize("NFKD", clip(text, _LONGEST_ID * 4)).lower()
    kept = "".join(sign for sign in plain if not unicodedata.combining(sign))
    return re.sub("[^a-z0-9]+", "-", kept).strip("-")[:_LONGEST_ID].strip("-")


def id_for(named: object, taken: Collection[str]) -> str:
    """An id made from ``named``, a title or another id, that is none of ``taken``."""
    base = _slug(named) if isinstance(named, str) else ""
    if not ID.fullmatch(base):
        base = f"recipe-{base}".strip("-")[:_LONGEST_ID]
    made, count = base, 1
    while made in taken or made == FOUND:
        made, count = copied_id(base, "" if count == 1 else f"-{count}"), count + 1
    return made


def copied_id(pattern: str, more: str = "") -> str:
    """The id of a recipe that the one with the id ``pattern`` was the pattern for."""
    behind = COPY + more
    return pattern[: _LONGEST_ID - len(behind)] + behind
