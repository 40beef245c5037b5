"""The JSON Schema of a recipe file: it takes what the reader takes, and refuses what has the wrong shape."""

import json
import tomllib

import jsonschema
import pytest
from helpers.kitchens import RECIPES, recipe_text

import curebatch
from curebatch.intake.ingredients import KEYS
from curebatch.intake.recipe import _TOP, read_recipe
from curebatch.intake.schema import recipe_schema

SCHEMA = recipe_schema()
CHECKER = jsonschema.Draft202012Validator(SCHEMA)


def test_it_is_a_schema_and_the_site_carries_it():
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    (entry,) = [page for page in json.loads(curebatch.pages()) if page["path"] == "recipe.schema.json"]
    assert json.loads(curebatch.draw(json.dumps(entry["request"]))) == SCHEMA


@pytest.mark.parametrize("path", sorted(RECIPES.glob("*.toml")), ids=lambda path: path.stem)
def test_the_published_recipes_meet_it(path):
    assert not list(CHECKER.iter_errors(tomllib.loads(path.read_text(encoding="utf-8"))))


def test_it_knows_every_key_that_the_reader_takes():
    assert set(SCHEMA["properties"]) == set(_TOP)
    assert set(SCHEMA["properties"]["ingredient"]["items"]["properties"]) == set(KEYS)


def text(**lines):
    extra = '[[ingredient]]\nname = "Thing"\n' + "".join(f"{key} = {value}\n" for key, value in lines.items())
    return recipe_text(extra=extra)


FITTING = [
    {"role": '"spice"', "amount": '"2 g"'}, {"role": '"spice"', "amount": '"0,5 %"', "per": '"meat"'}, {"role": '"spice"', "amount": '"1 lb 3 oz"'},
    {"role": '"garnish"', "amount": '"3 g/kg"', "per": '"mix"', "food": '"12151"', "allergens": '["pistachio"]'},
    {"role": '"phosphate"', "amount": '"3 g"', "substance": '"STPP"'}, {"role": '"phosphate"', "amount": '"3 g"', "p2o5": '"57 %"'},
    {"role": '"leavening"', "amount": '"8 g"', "pack_list": '"E 450, E 500, starch"'},
]
UNFIT = [
    {"role": '"meat balls"', "amount": '"2 g"'}, {"role": '"spice"', "amount": '"2"'}, {"role": '"spice"', "amount": "2"}, {"role": '"spice"'},
    {"role": '"spice"', "amount": '"2 g"', "colour": '"red"'}, {"role": '"spice"', "amount": '"2 g"', "allergens": '["air"]'},
    {"role": '"accelerator"', "amount": '"2 g"', "substance": '"sugar"'},
]


@pytest.mark.parametrize("lines", FITTING)
def test_what_the_reader_takes_meets_it(lines):
    recipe, faults = read_recipe(text(**lines), "x.toml")
    assert recipe, faults
    assert not list(CHECKER.iter_errors(tomllib.loads(text(**lines))))


@pytest.mark.parametrize("lines", UNFIT)
def test_what_it_refuses_the_reader_refuses_too(lines):
    assert list(CHECKER.iter_errors(tomllib.loads(text(**lines))))
    recipe, faults = read_recipe(text(**lines), "x.toml")
    assert recipe is None and faults
