"""The JSON Schema of a recipe file, drawn from the tables that the reader itself goes by.

Its keys and choices are those of the one format; amounts and tins may be spelled in every way
that the reader knows, in every language, and are written back the one way. It holds shapes,
choices and units; what hangs on other lines (shares that add up, a
dose within the limits, a food that the table has) only ``check`` can tell.
"""

from __future__ import annotations

import re

from ..batch import additives, allergens, foods, spoons
from ..fields import BASES, COMPOUNDS, LENGTH, MASS, PERCENT, RATIO, SPOONS
from ..words import say
from . import ingredients, recipe
from .reader import MOST_SIGNS
from .tins import HOLDS, OPENINGS, VOLUME
from .units import UNITS

_NUMBER = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+|(?:[0-9]+ +)?[0-9]+ ?/ ?[0-9]+)"
DRAFT = "https://json-schema.org/draft/2020-12/schema"


def _spelled(units: tuple[str, ...]) -> str:
    """A pattern for the units of the list in every way that they may be spelled, in any letters."""
    spellings = sorted((spelling for unit in units for spelling in UNITS[unit].spellings), key=len, reverse=True)
    return "(?:" + "|".join("".join(f"[{c.upper()}{c.lower()}]" if c.isalpha() and c.upper() != c.lower() else _quoted(c) for c in s) for s in spellings) + ")"


def _any_case(pattern: str) -> str:
    """A pattern for its letters large and small: a schema knows no flags."""

    def both(found: re.Match[str]) -> str:
        one = found[0]
        return f"[{one.upper()}{one.lower()}]" if len(one) == len(one.upper()) == 1 and one.upper() != one.lower() else one

    return re.sub(r"\\.|\[[^\]]*\]|[^\W\d_]", both, pattern)


def _quoted(sign: str) -> str:
    return f"\\{sign}" if sign in "./" else sign


def _amount(units: tuple[str, ...], *, ranged: bool = False) -> str:
    one = f"{_NUMBER} ?{_spelled(units)}"
    # Pounds and ounces go together.
    one = f"(?:{one}|{_NUMBER} ?{_spelled(('lb',))} ?{_NUMBER} ?{_spelled(('oz',))})" if "lb" in units else one
    return f"^{_NUMBER} ?{_spelled(units)}? ?[-–] ?{one}$|^{one}$" if ranged else f"^{one}$"


def _described(what: str, **schema) -> dict:
    return {**schema, "description": say(f"schema.{what}")}


def _text(what: str = "text", **more) -> dict:
    return {"maxLength": MOST_SIGNS, **_described(what, type="string", **more)}


def _quantity(what: str, units: tuple[str, ...], *, ranged: bool = False) -> dict:
    return _described(what, type="string", pattern=_amount(units, ranged=ranged))


def _choice(what: str, choices: tuple[str, ...]) -> dict:
    return _described(what, type="string", enum=list(choices))


def _table(what: str, properties: dict, required: tuple[str, ...] = ()) -> dict:
    return _described(what, type="object", properties=properties, required=list(required), additionalProperties=False)


def _ingredient() -> dict:
    spoonful = f"{_NUMBER} ?(?:{_any_case(spoons.LEVEL)})?{_spelled(('tsp', 'tbsp', 'cup'))}"
    in_words = _any_case("^(?:half|quarter|three|one|two|an?|ein(?:en?|er)?|halbe[nrs]?|drei ?viertel|viertel|anderthalb|eineinhalb|zwei|drei)\\b.*$")
    amount = "|".join((_amount(MASS), _amount(PERCENT), f"^{spoonful}$", in_words))
    properties = {
        "id": _text("id", pattern=f"^{ingredients.ID.pattern}$"),
        "name": _text(maxLength=ingredients.MOST_NAME),
        "role": _choice("role", ingredients.ROLES),
        "amount": _described("amount", type="string", pattern=amount),
        "per": _choice("per", BASES),
        "form": _text("form"),
        "food": _text("food"),
        "fat": _quantity("fat", ("%",)),
        "animal": _choice("animal", foods.KINDS),
        "salt": _quantity("ingredient_salt", PERCENT),
        "substance": _choice("substance", (*additives.ACCELERATORS, *additives.PHOSPHATES)),
        "p2o5": _quantity("p2o5", ("%",)),
        "pack_list": _text("pack_list"),
        "allergens": _described("allergens", type="array", items={"enum": list(allergens.ids())}),
    }
    return _table("ingredient", properties, ("name", "role", "amount"))


def recipe_schema() -> dict:
    """The schema, as a dictionary that is ready for JSON."""
    share = _amount(PERCENT)
    count, kinds = "(?:[0-9]{1,2} ?[xX×✕] ?)?", "|".join(map(_any_case, OPENINGS))
    tin = f"^{count}(?:{kinds})(?=[ .,0-9]).*(?:{_spelled(LENGTH)})$|^{count}(?:{_any_case(HOLDS)}) ?{_NUMBER} ?{_spelled(VOLUME)}$"
    targets = {
        "nitrite": _quantity("nitrite", RATIO),
        "nitrite_as": _choice("nitrite_as", COMPOUNDS),
        "nitrite_per": _choice("nitrite_per", BASES),
        "salt": _described("salt", type="string", pattern=share),
        "salt_per": _choice("salt_per", BASES),
    }
    batch = {
        "meat": _quantity("meat", MASS),
        "portions": _described("portions", type="integer", minimum=1, maximum=recipe.MOST_PORTIONS),
        "tins": _described("tins", type="array", maxItems=recipe.MOST_TINS, items={"type": "string", "pattern": tin}),
    }
    cooking = {
        "core": _quantity("core", ("°C", "°F")),
        "hold": _quantity("hold", ("min", "h")),
        "raw": _described("raw", type="boolean"),
        "vessel": _choice("vessel", recipe.VESSELS),
        "yield": _quantity("yield", ("%",), ranged=True),
    }
    properties = {
        "schema": _described("schema", const=recipe.SCHEMA),
        "id": _text("id", pattern=f"^{ingredients.ID.pattern}$"),
        "revision": _described("revision", type="integer", minimum=1, maximum=9999),
        "language": _text("language", pattern="^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$"),
        "title": _text(),
        "author": _text(),
        "summary": _text("summary"),
        "method": _choice("method", recipe.METHODS),
        "kinds": _described("kinds", type="array", minItems=1, items={"enum": list(recipe.KINDS)}),
        "cut": _text("cut"),
        "belly": _described("belly", type="boolean"),
        "species": _choice("species", recipe.SPECIES),
        "state": _choice("state", recipe.STATES),
        "spoons": _choice("spoons", SPOONS),
        "day": _text("day", pattern="^[0-9]{4}-[0-9]{2}-[0-9]{2}$"),
        "changes": _described("changes", type="array", maxItems=recipe.MOST_CHANGES, items={"type": "string", "minLength": 1, "maxLength": MOST_SIGNS}),
        "targets": {**_table("targets", targets, ("salt", "salt_per")), "dependentRequired": {"nitrite": ["nitrite_as", "nitrite_per"]}},
        "batch": _table("batch", batch, ("meat",)),
        "pickle": _table("pickle", {"pump": _quantity("pump", ("%",)), "pick_up": _quantity("pick_up", ("%",))}),
        "ingredient": {"type": "array", "minItems": 1, "maxItems": ingredients.MOST_INGREDIENTS, "items": _ingredient()},
        "step": {"type": "array", "items": _table("step", {"text": _text()}, ("text",))},
        "cooking": _table("cooking", cooking),
    }
    required = ("schema", "id", "revision", "language", "title", "method", "kinds", "targets", "batch", "ingredient")
    return {"$schema": DRAFT, "title": say("schema.title"), **_table("title", properties, required)}
