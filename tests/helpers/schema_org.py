"""What schema.org says of the types that a recipe's JSON-LD is made of, as JSON Schema.

Properties and expected types from the schema.org vocabulary (Thing, CreativeWork, Recipe, HowToStep,
ListItem, Organization), as carried by the package msgspec-schemaorg 0.2.1, read 2026-11-25. Closed:
a property that stands here with no type is none of schema.org's, or is not used.
"""

from __future__ import annotations

TEXT = {"type": "string", "minLength": 1}
URL = {"type": "string", "pattern": r"^https?://[^\s<>]+$"}
DATE = {"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"}

STEP = {
    "type": "object",
    "additionalProperties": False,
    "required": ["@type", "text"],
    "properties": {"@type": {"const": "HowToStep"}, "position": {"type": ["integer", "string"]}, "text": TEXT, "name": TEXT, "url": URL},
}

AUTHOR = {
    "type": "object",
    "additionalProperties": False,
    "required": ["@type", "name"],
    "properties": {"@type": {"enum": ["Organization", "Person"]}, "name": TEXT, "url": URL},
}

RECIPE = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "type": "object",
    "additionalProperties": False,
    "required": ["@context", "@type", "name", "recipeIngredient", "recipeInstructions"],
    "properties": {
        "@context": {"const": "https://schema.org"},
        "@type": {"const": "Recipe"},
        "name": TEXT,
        "description": TEXT,
        "author": AUTHOR,
        "inLanguage": TEXT,
        "url": URL,
        "image": URL,
        "identifier": TEXT,
        "version": {"type": ["number", "string"]},
        "datePublished": DATE,
        "dateModified": DATE,
        "recipeYield": TEXT,
        "recipeIngredient": {"type": "array", "minItems": 1, "items": TEXT},
        "recipeInstructions": {"type": "array", "items": STEP},
    },
}
