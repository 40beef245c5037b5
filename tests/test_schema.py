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


@pytest.mark.parametrize("tin", [
    "box 30 x 10 x 8 cm", "Box 30 × 10 x 8 cm", "2x Loaf 24 x 9 bottom 22 x 8 depth 7 cm", "holds 1.4 l", "3 x holds 900 ml", "casing flat 9 x 30 cm", "Casing Diameter 5.7 x 30 cm", "half-round 10 x 5 x 30 cm", "round 18 x 7 in",
    "Kastenform 24 x 9 unten 22 x 8 Tiefe 7 cm", "2 x Kasten 30 x 10 x 8 cm", "fasst 1,4 l", "Darm flach 9 x 30 cm", "Kunstdarm, Kaliber 6 x 30 cm", "Springform 18 x 7 cm", "Rehrücken 10 x 5 x 30 cm",
])
def test_a_tin_may_be_written_in_every_way_that_the_reader_knows(tin):
    with_tin = recipe_text().replace('meat = "1 kg"', f'meat = "1 kg"\ntins = ["{tin}"]')
    made, faults = read_recipe(with_tin, "x.toml")
    assert made, faults
    assert not list(CHECKER.iter_errors(tomllib.loads(with_tin)))
    # Written back the one way, it is read and fits again.
    again = recipe_text().replace('meat = "1 kg"', f'meat = "1 kg"\ntins = ["{made.tins[0]}"]')
    assert read_recipe(again, "x.toml")[0].tins == made.tins and not list(CHECKER.iter_errors(tomllib.loads(again)))


@pytest.mark.parametrize("tin", ["30 x 10 x 8 cm", "Darm 9 x 30 cm", "bucket 30 x 10 cm", "Boxen 3 cm", "holds 3 cm", "darmstadt 9 x 30 cm"])
def test_a_tin_that_nobody_knows_is_refused_by_both(tin):
    with_tin = recipe_text().replace('meat = "1 kg"', f'meat = "1 kg"\ntins = ["{tin}"]')
    assert list(CHECKER.iter_errors(tomllib.loads(with_tin))) and read_recipe(with_tin, "x.toml")[0] is None


@pytest.mark.parametrize("amount", ["2 tsp", "2 level tsp", "2 TL", "2 gestrichene TL", "Ein halber Esslöffel", "anderthalb TL", "Half a teaspoon", "drei Viertel TL"])
def test_a_spoon_may_be_written_so_too(amount):
    lines = {"role": '"sugar"', "amount": f'"{amount}"', "food": '"Sugars, granulated"'}
    with_spoon = text(**lines).replace("[targets]", 'spoons = "metric"\n[targets]')
    made, faults = read_recipe(with_spoon, "x.toml")
    assert made, faults
    assert not list(CHECKER.iter_errors(tomllib.loads(with_spoon)))
