"""The recipe file, key by key: what each becomes, and what is said of each that is wrong.

tests/golden/recipe_faults.toml holds, for each of CHANGES, the faults that the reader gives, as
they were read over by a person; ``python tests/test_reader.py`` writes it anew where words change.
"""

import copy
import tomllib
from dataclasses import fields
from fractions import Fraction
from pathlib import Path

import pytest

from curebatch.batch.refusal import Refused
from curebatch.intake.ingredients import Ingredient
from curebatch.intake.nesting import MOST_LEVELS
from curebatch.intake.reader import MOST_FAULTS, Reader, key_of, line_of
from curebatch.intake.recipe import Recipe, Targets, fill_step, read_recipe
from curebatch.intake.recipe_file import write_recipe
from curebatch.intake.units import Amount
from curebatch.words import speaking

FAULTS = Path(__file__).resolve().parent / "golden" / "recipe_faults.toml"
LONG, GONE = "x" * 2001, object()

FULL = {
    "schema": 1, "id": "harbour-ham", "revision": 3, "language": "en-GB", "title": " Harbour  ham ", "author": " A  cook", "summary": "Pumped  and poached. ", "method": "injected",
    "kinds": ["pork", "poultry"], "species": "mixed", "cut": "shoulder  and leg", "state": "not_held", "belly": True, "spoons": "metric", "day": "2026-11-25", "changes": ["First  published.", "Less salt."],
    "targets": {"nitrite": "104 mg/kg", "nitrite_as": "NO2-", "nitrite_per": "meat", "salt": "2.1 %", "salt_per": "mix"},
    "batch": {"meat": "2.4 kg", "portions": 30, "tins": ["box 30 x 10 x 8 cm"]},
    "pickle": {"pump": "12 %", "pick_up": "9 %"},
    "ingredient": [
        {"id": "shoulder", "name": "Pork shoulder", "role": "meat", "amount": "100 %", "per": "meat", "fat": "18 %", "animal": "pork"},
        {"name": "Cold  water", "role": "water", "amount": "480 g"},
        {"id": "sugar", "name": "Sugar", "role": "sugar", "amount": "0.6 %", "per": "mix", "food": "Sugars, granulated", "form": "fine", "allergens": ["milk"]},
        {"id": "soy", "name": "Soy sauce with salt", "role": "garnish", "amount": "1 g/kg", "per": "meat", "salt": "15 %"},
        {"id": "blend", "name": "Phosphate blend", "role": "phosphate", "amount": "0.3 %", "per": "meat", "p2o5": "57 %"},
        {"id": "asc", "name": "Sodium erythorbate", "role": "accelerator", "amount": "1.2 g", "substance": "sodium_erythorbate"},
        {"id": "mace", "name": "Mace, ground", "role": "spice", "amount": "2 tsp", "food": "Spices, mace, ground"},
    ],
    "step": [{"text": " Stir {salt} into {cold-water},  then {curing_salt}. "}, {"text": "Poach to {core}, {hold}."}],
    "cooking": {"core": "72 °C", "hold": "2 min", "raw": True, "vessel": "casing", "yield": "85-95 %"},
}

CHANGES = [
    ("schema", 2), ("schema", "1"), ("schema", GONE), ("id", "Ham"), ("id", "h"), ("id", "found"), ("id", 5), ("id", GONE), ("id", "a" * 43), ("revision", 0),
    ("revision", 10000), ("revision", "1"), ("revision", GONE), ("language", "english"), ("language", "EN"), ("language", "en_GB"), ("language", GONE), ("language", 1),
    ("title", "Ha\u200bm"), ("changes", ["Less\u202e salt."]), ("title", GONE), ("title", 1), ("title", LONG), ("title", "Ham with 5 g curing salt"), ("author", 1), ("author", "20 g of curing salt"), ("summary", 1),
    ("summary", "Take 20 g of curing salt."), ("method", "smoked"), ("method", "fermented"), ("method", "air-dried"), ("method", "canned"), ("method", "country"),
    ("method", "boiled"), ("method", GONE), ("method", 5), ("cut", 5), ("state", "raw"), ("state", 5), ("kinds", []), ("kinds", ["fish"]), ("kinds", ["pork", "fish"]),
    ("kinds", "pork"), ("kinds", GONE), ("species", "swan"), ("species", 1), ("kinds", ["pork"]), ("belly", GONE), ("belly", "no"), ("day", "2026-13-01"),
    ("day", "2026-11-5"), ("day", 20261125), ("changes", "x"), ("changes", [""]), ("changes", [5]), ("changes", ["x"] * 21), ("changes", [LONG]),
    ("changes", ["Now 20 g of curing salt."]), ("spoons", "imperial"), ("spoons", GONE), ("smoke", "oak"), ("targets", GONE), ("targets", 5), ("targets.nitrite", "104"),
    ("targets.nitrite", "0.1 g"), ("targets.nitrite", "0 mg/kg"), ("targets.nitrite", "2001 mg/kg"), ("targets.nitrite", "100-120 mg/kg"), ("targets.nitrite", 104),
    ("targets.nitrite_as", "NaNO3"), ("targets.nitrite_as", GONE), ("targets.nitrite_per", "kilo"), ("targets.nitrite_per", GONE), ("targets.salt", GONE),
    ("targets.salt", "0 %"), ("targets.salt", "12.1 %"), ("targets.salt", "2 mg/kg"), ("targets.salt_per", GONE), ("targets.salt_per", "meats"), ("targets.sugar", "1 %"),
    ("batch", GONE), ("batch", []), ("batch.meat", GONE), ("batch.meat", "0.9 g"), ("batch.meat", "1001 kg"), ("batch.meat", "2.4"), ("batch.meat", 2400),
    ("batch.portions", 0), ("batch.portions", 5001), ("batch.portions", "30"), ("batch.portions", True), ("batch.tins", "box"), ("batch.tins", ["bucket 3 cm"]),
    ("batch.tins", [5]), ("batch.tins", ["box 30 x 10 x 8 cm"] * 4), ("batch.tins", ["box 30 x 10 cm"]), ("batch.tins", ["casing 9 x 30 cm"]),
    ("batch.tins", ["box 900 x 900 x 900 cm"]), ("batch.loaves", 2), ("pickle", GONE), ("pickle", 5), ("pickle.pump", GONE), ("pickle.pump", "1.9 %"), ("pickle.pump", "41 %"),
    ("pickle.pump", "12 g"), ("pickle.pick_up", "x"), ("pickle.rest", "1 h"), ("step", 5), ("step", [5]), ("step.0.text", GONE), ("step.0.text", 5),
    ("step.0.text", "Fold in {pistachio}."), ("step.0.text", "Add 20 g of curing salt."), ("step.0.note", "x"), ("cooking", 5), ("cooking.core", "49 °C"),
    ("cooking.core", "101 °C"), ("cooking.core", "72"), ("cooking.hold", "2 g"), ("cooking.hold", "2"), ("cooking.raw", "yes"), ("cooking.vessel", "bag"),
    ("cooking.yield", "49-90 %"), ("cooking.yield", "90-101 %"), ("cooking.yield", "x"), ("cooking.smoke", "1 h"), ("ingredient", GONE), ("ingredient", 5), ("ingredient", []),
    ("ingredient", [5]), ("ingredient.0.role", "garnish"), ("ingredient.0.amount", "98 %"), ("ingredient.0.amount", "102 %"), ("ingredient.0.per", "mix"),
    ("ingredient.0.per", GONE), ("ingredient.0.fat", "x"), ("ingredient.0.fat", GONE), ("ingredient.0.animal", GONE), ("ingredient.0.animal", "swan"),
    ("ingredient.0.food", "Pork, fresh, backfat, raw"), ("ingredient.0.fat", "99 %"), ("ingredient.0.name", "Smoked ham"), ("ingredient.1.role", "garnish"),
    ("ingredient.1.amount", "0 g"), ("ingredient.1.amount", GONE), ("ingredient.1.amount", "480"), ("ingredient.1.amount", 480), ("ingredient.1.amount", "20 %"),
    ("ingredient.1.name", GONE), ("ingredient.1.name", 5), ("ingredient.1.role", GONE), ("ingredient.1.role", "liquid"), ("ingredient.1.colour", "red"),
    ("ingredient.1.id", "salt"), ("ingredient.1.id", "Cold water"), ("ingredient.1.id", 5), ("ingredient.1.per", "kilo"), ("ingredient.1.fat", "3 %"),
    ("ingredient.1.substance", "STPP"), ("ingredient.1.p2o5", "57 %"), ("ingredient.1.p2o5", "x"), ("ingredient.2.food", "Unicorn"), ("ingredient.2.food", "Salt, table"),
    ("ingredient.2.allergens", ["air"]), ("ingredient.2.allergens", "milk"), ("ingredient.2.amount", "90 %"), ("ingredient.2.name", "Curing salt"),
    ("ingredient.2.name", "Salt"), ("ingredient.2.animal", "pork"), ("ingredient.2.id", "soy"), ("ingredient.2.pack_list", 5), ("ingredient.3.salt", GONE),
    ("ingredient.3.salt", "x"), ("ingredient.3.salt", "15 mg/kg"), ("ingredient.3.salt", "100.1 %"), ("ingredient.4.p2o5", "76 %"), ("ingredient.4.p2o5", "0 %"), ("ingredient.4.p2o5", GONE),
    ("ingredient.4.substance", "STPP"), ("ingredient.4.substance", "sodium_ascorbate"), ("ingredient.5.substance", GONE), ("ingredient.5.p2o5", "57 %"),
    ("ingredient.5.substance", "STPP"), ("ingredient.6.amount", "2 tsp 3"), ("ingredient.6.amount", "a pinch"), ("ingredient.6.food", "Sugars, granulated"),
    ("ingredient.6.form", "whole"), ("ingredient.5.amount", "1 tsp"), ("ingredient.4.role", "leavening"),
]


def but(path: str, value: object) -> dict:
    """FULL with one key as given, or without it."""
    data = copy.deepcopy(FULL)
    *way, key = [int(part) if part.isdigit() else part for part in path.split(".")]
    at = data
    for part in way:
        at = at[part]
    if value is GONE:
        del at[key]
    else:
        at[key] = value
    return data


def change_text(path: str, value: object) -> str:
    return f"{path} left out" if value is GONE else f"{path} = {value!r}"[:90]


def told(data: dict) -> list[str]:
    recipe, faults = read_recipe(write_recipe(data), "x.toml")
    assert (recipe is None) == bool(faults)
    return [f"{fault.field} | {fault.code} | {fault.read} | {fault.text}" for fault in faults]


@pytest.mark.parametrize("path, value", CHANGES, ids=lambda given: given if isinstance(given, str) and "." in given else "")
def test_each_wrong_key_is_told_with_its_line_and_what_to_write(path, value):
    (case,) = [case for case in tomllib.loads(FAULTS.read_text(encoding="utf-8"))["case"] if case["change"] == change_text(path, value)]
    assert told(but(path, value)) == case["faults"]


def write_faults() -> None:
    FAULTS.write_text(write_recipe({"case": [{"change": change_text(path, value), "faults": told(but(path, value))} for path, value in CHANGES]}), encoding="utf-8")


def share(text: str) -> Fraction:
    return Fraction(text.removesuffix(" %")) / 100


def test_a_whole_file_becomes_this_recipe():
    recipe, faults = read_recipe(write_recipe(FULL), "x.toml")
    assert not faults
    plain = {field.name: getattr(recipe, field.name) for field in fields(Recipe) if field.name not in ("targets", "ingredients")}
    assert plain == {
        "id": "harbour-ham", "revision": 3, "language": "en-GB", "title": "Harbour ham", "author": "A cook", "summary": "Pumped and poached.", "method": "injected",
        "kinds": ("pork", "poultry"), "species": "mixed", "cut": "shoulder and leg", "state": "not_held", "belly": True, "day": "2026-11-25", "changes": ("First published.", "Less salt."),
        "meat": Fraction(2400), "portions": 30, "tins": ("box 30 x 10 x 8 cm",), "steps": ("Stir {salt} into {cold-water}, then {curing_salt}.", "Poach to {core}, {hold}."),
        "core": Amount(Fraction(72), Fraction(72), "°C", "72 °C"), "hold": Amount(Fraction(2), Fraction(2), "min", "2 min"), "raw": True, "vessel": "casing",
        "cooked_share": Amount(share("85"), share("95"), "%", "85-95 %"), "pump": Amount(share("12"), share("12"), "%", "12 %"), "pick_up": Amount(share("9"), share("9"), "%", "9 %"),
    }
    assert recipe.ref == "harbour-ham.3"
    nitrite, salt = Fraction(104, 10**6), share("2.1")
    assert recipe.targets == Targets(Amount(nitrite, nitrite, "mg/kg", "104 mg/kg"), "NO2-", "meat", Amount(salt, salt, "%", "2.1 %"), "mix")
    assert recipe.with_targets(salt_per="meat").targets.salt_per == "meat" and recipe.with_targets(salt_per="meat").targets.nitrite == recipe.targets.nitrite


def test_each_ingredient_becomes_a_share_of_the_meat_or_of_the_mix():
    recipe, _ = read_recipe(write_recipe(FULL), "x.toml")
    shoulder, water, sugar, soy, blend, asc, mace = recipe.ingredients
    assert (shoulder.id, shoulder.name, shoulder.role, shoulder.share, shoulder.per, shoulder.animal) == ("shoulder", "Pork shoulder", "meat", 1, "meat", "pork")
    assert shoulder.fat.value == share("18") and shoulder.row.fat == 18 and shoulder.food == ""
    assert water == Ingredient("cold-water", "Cold water", "water", Fraction(480, 2400), "meat")
    assert (sugar.share, sugar.per, sugar.food, sugar.row.name, sugar.form, sugar.declared) == (share("0.6"), "mix", "Sugars, granulated", "Sugars, granulated", "fine", ("milk",))
    assert (soy.share, soy.per, soy.salt, soy.row) == (Fraction(1, 1000), "meat", share("15"), None)
    assert (blend.p2o5, blend.substance, asc.substance, asc.p2o5) == (share("57"), "", "sodium_erythorbate", None)
    assert asc.share == Fraction("1.2") / 2400
    # The food table's teaspoon, 4.92892159375 ml, holds 1.7 g of ground mace; a metric one is 5 ml.
    assert (mace.by_spoon, mace.per, mace.food) == ("2 tsp", "meat", "Spices, mace, ground")
    assert mace.share * 2400 == 2 * Fraction("1.7") * 5 / Fraction("4.92892159375")
    assert all(not i.salt for i in recipe.ingredients if i is not soy)
    assert [i.salt_stated for i in recipe.ingredients] == [i is soy for i in recipe.ingredients]
    assert [i.by_spoon for i in recipe.ingredients] == ["", "", "", "", "", "", "2 tsp"]


def test_a_file_of_only_what_it_must_have():
    data = {
        "schema": 1, "id": "loaf", "revision": 1, "language": "en", "title": "Loaf", "method": "ground", "kinds": ["beef"],
        "targets": {"salt": "2 %", "salt_per": "meat"}, "batch": {"meat": "1 kg"}, "ingredient": [{"name": "Beef", "role": "meat", "amount": "1 kg"}],
    }  # fmt: skip
    recipe, faults = read_recipe(write_recipe(data), "x.toml")
    assert recipe, faults
    plain = {field.name: getattr(recipe, field.name) for field in fields(Recipe) if field.name not in ("targets", "ingredients", "id", "revision", "language", "title", "method", "kinds", "meat")}
    assert plain == {
        "author": "", "cut": "", "state": "held", "steps": (), "core": None, "hold": None, "portions": None, "raw": False, "summary": "", "belly": False, "pump": None, "pick_up": None,
        "tins": (), "species": "", "vessel": None, "cooked_share": None, "day": "", "changes": (),
    }  # fmt: skip
    assert recipe.targets == Targets(None, "NaNO2", "mix", recipe.targets.salt, "meat")
    assert recipe.ingredients == (Ingredient("beef", "Beef", "meat", Fraction(1), "meat"),)


@pytest.mark.parametrize("path, value", [
    ("revision", 1), ("revision", 9999), ("id", "ab"), ("id", "a" * 41), ("language", "de"), ("language", "gsw"), ("language", "zh-Hant-TW"), ("title", "x" * 2000), ("targets.nitrite", "2000 mg/kg"), ("targets.nitrite", "0.1 ppm"),
    ("targets.salt", "12 %"), ("targets.salt", "0.1 g/kg"), ("batch.meat", "1 g"), ("batch.meat", "1000 kg"), ("batch.portions", 1), ("batch.portions", 5000), ("batch.tins", ["box 30 x 10 x 8 cm"] * 3), ("pickle.pump", "2 %"), ("pickle.pump", "40 %"),
    ("cooking.core", "50 °C"), ("cooking.core", "100 °C"), ("cooking.core", "212 °F"), ("cooking.yield", "50-100 %"), ("cooking.hold", "1 h"), ("changes", ["x"] * 20), ("changes", ["x" * 2000]), ("changes", []), ("targets.nitrite", GONE),
    ("ingredient.4.p2o5", "75 %"), ("ingredient.0.amount", "100.1 %"), ("ingredient.0.amount", "99.9 %"), ("ingredient.2.amount", "89 %"), ("ingredient.3.salt", "100 %"), ("ingredient.3.salt", "0 %"), ("species", GONE), ("pickle.pick_up", GONE), ("step", []), ("ingredient.1.role", "ice"),
])  # fmt: skip
def test_up_to_its_bounds_each_key_is_taken(path, value):
    assert told(but(path, value)) == []


@pytest.mark.parametrize("path, value", [
    ("targets.nitrite", "2000.1 mg/kg"), ("targets.salt", "12.01 %"), ("batch.meat", "0.99 g"), ("batch.meat", "1000.0005 kg"), ("pickle.pump", "1.99 %"), ("pickle.pump", "40.1 %"), ("cooking.core", "49.9 °C"), ("cooking.core", "100.1 °C"),
    ("cooking.yield", "49.9-90 %"), ("cooking.yield", "90-100.1 %"), ("ingredient.4.p2o5", "75.1 %"), ("ingredient.3.salt", "100.01 %"),
])  # fmt: skip
def test_a_little_beyond_its_bounds_no_key_is_taken(path, value):
    place = ".".join(str(int(part) + 1) if part.isdigit() else part for part in path.split("."))
    assert places(but(path, value)) == [(place, "recipe_value")]


def test_chicken_alone_is_no_other_bird():
    """The table of times for chicken must not open for another."""
    only = but("ingredient.0.animal", "chicken") | {"kinds": ["poultry"], "species": "chicken"}
    assert told(only) == []
    for bird in ("Turkey thigh", "duck", "Goose fat", "Quail", "pheasant", "Guinea fowl", "guineafowl", "Ostrich"):
        data = copy.deepcopy(only)
        data["ingredient"][0]["name"] = bird
        assert any(line.startswith("species | recipe_value | chicken | ") and line.endswith('Expected: "mixed".') for line in told(data)), bird
    data = copy.deepcopy(only)
    data["ingredient"][2]["food"] = "Ground turkey, raw"
    assert any(line.startswith("species | ") for line in told(data))
    named = copy.deepcopy(only)
    named["ingredient"][0] |= {"name": "Thigh", "animal": "duck"}
    assert any(line.startswith("species | ") for line in told(named))
    assert not any(line.startswith("species | ") for line in told({**data, "species": "turkey"}))


@pytest.mark.parametrize("change", [{"name": "Turkey thigh"}, {"name": "Chicken"}, {"name": "Poultry trim"}, {"food": "Ground turkey, raw"}, {"name": "Duck fat", "role": "fat"}])
def test_poultry_is_never_taken_for_other_meat(change):
    """Other meat is cooked by shorter times; a recipe that names a bird says so among its kinds."""
    text = {"schema": 1, "id": "loaf", "revision": 1, "language": "en", "title": "Loaf", "method": "ground", "targets": {"salt": "2 %", "salt_per": "meat"}, "batch": {"meat": "1 kg"}}
    meat = [{"name": "Beef", "role": "meat", "amount": "50 %", "per": "meat"}, {"name": "More", "role": "meat", "amount": "50 %", "per": "meat", **change}]
    assert told({**text, "kinds": ["beef"], "ingredient": meat}) == ["kinds | recipe_value | ['beef'] | x.toml, line 7: kinds is “['beef']”. Expected: beef, poultry."]
    assert told({**text, "kinds": ["beef", "poultry"], "ingredient": meat}) == []
    assert told({**text, "kinds": ["beef"], "ingredient": [{**meat[0], "amount": "100 %"}, {"name": "Poultry seasoning", "role": "spice", "amount": "2 g"}]}) == []


@pytest.mark.parametrize("kinds, animal, fitting", [
    (["pork"], "turkey", "pork"), (["beef", "poultry"], "pork", "beef, chicken, turkey, duck"), (["game"], "chicken", "game"), (["veal", "lamb"], "goat", "veal, lamb"),
])  # fmt: skip
def test_an_animal_that_is_none_of_the_recipes_kinds_is_told(kinds, animal, fitting):
    data = but("ingredient.0.animal", animal) | {"kinds": kinds}
    del data["species"]
    assert [line for line in told(data) if line.startswith("ingredient.1.")] == [f"ingredient.1.animal | recipe_value | {animal} | x.toml, line 47: ingredient.1.animal is “{animal}”. Expected: {fitting}."]


def test_the_line_of_a_fault_is_the_line_in_the_file():
    text = """# a comment
schema = 1
"title" = "x"
notes = '''
title = "not this"
[targets]
'''
[ targets ]  # a head
salt = "x"
[[ ingredient ]]
name = "A"
summary = \"\"\"on one line\"\"\"
cut = '''on one line'''
notes = \"\"\"
[batch]
food = "x"
\"\"\"
[[ingredient]] # the second
  name = "B"
"""
    lines = {("schema",): 2, ("title",): 3, ("targets",): 8, ("targets", "salt"): 9, ("ingredient", 0): 10, ("ingredient", 0, "name"): 11, ("ingredient", 0, "cut"): 13, ("ingredient", 1): 18, ("ingredient", 1, "name"): 19}
    assert {path: line_of(text, path) for path in lines} == lines
    # A key that is not there: the head of its table; a table that is not there: no line.
    assert line_of(text, ("ingredient", 1, "role")) == 18 and line_of(text, ("targets", "nitrite")) == 8
    assert line_of(text, ("ingredient", 0, "food")) == 10 and line_of(text, ("batch",)) is None
    assert line_of(text, ("batch", "meat")) is None and line_of(text, ("author",)) is None and line_of(text, ("ingredient", 2, "name")) is None


def test_paths_are_counted_from_one_in_what_is_said():
    assert key_of(("ingredient", 0, "amount")) == "ingredient.1.amount" and key_of(("title",)) == "title" and key_of(("step", 11)) == "step.12"


def test_after_twenty_faults_no_more_are_looked_for():
    reader = Reader("a = 1", "x.toml")
    for _ in range(MOST_FAULTS + 5):
        reader.wrong(("a",), 1, "2")
    assert len(reader.faults) == MOST_FAULTS == 20
    for _ in range(3):
        reader.refuse(("a",), 1, Refused("tin_count", read="0"))
    assert len(reader.faults) == 20


def test_a_refusal_is_told_in_the_words_of_its_code():
    reader, kinds = Reader("a = 1", "x.toml"), "; ".join(f"kind {number}" for number in range(20))
    for _ in range(MOST_FAULTS):
        reader.refuse(("a",), "x" * 70, Refused("spoon_kind", read="y" * 70, kinds=kinds))
    fault = reader.faults[0]
    assert len(reader.faults) == MOST_FAULTS and (fault.field, fault.read, fault.code) == ("a", "x" * 59 + "…", "spoon_kind")
    # What was read is cut to what a sentence can quote; what may be written is told whole.
    assert fault.text.startswith("x.toml, line 1: a") and f"“{'y' * 59}…”" in fault.text and kinds in fault.text
    with speaking("de"):
        _, (fault,) = read_recipe(write_recipe(but("batch.tins", ["box 30 x 10 x 900 cm"])), "x.toml")
    assert fault.field == "batch.tins" and "Tiefe" in fault.text


def test_what_is_no_toml_and_what_is_too_long_is_said_of_the_file():
    recipe, (fault,) = read_recipe("a = ?", "x.toml")
    assert recipe is None and (fault.field, fault.code, fault.read) == ("recipe", "recipe_toml", "x.toml") and fault.text.startswith("x.toml: ") and "line 1" in fault.text
    recipe, (fault,) = read_recipe("#" * 100_001, "x.toml")
    assert recipe is None and (fault.field, fault.code, fault.read) == ("recipe", "recipe_too_long", "x.toml") and fault.text.startswith("x.toml: ")
    assert read_recipe("#" * 100_000, "x.toml")[1][0].code == "recipe_missing"


def places(data: dict) -> list[tuple[str, ...]]:
    """(place, code) of each fault."""
    return [tuple(line.split(" | ")[:2]) for line in told(data)]


def test_a_fault_hides_none_that_has_nothing_to_do_with_it():
    assert places(but("id", "Ham") | {"revision": 0}) == [("id", "recipe_value"), ("revision", "recipe_value")]
    assert places(but("step", [5, 6])) == [("step.1", "recipe_value"), ("step.2", "recipe_value")]
    assert places(but("step", [{"text": 5}, {}, {"text": "Stir."}])) == [("step.1.text", "recipe_value"), ("step.2.text", "recipe_missing")]
    assert places(but("day", "20261125")) == [("day", "recipe_value")]


@pytest.mark.parametrize("meat", ["2.4", 2400, "0.9 g", GONE])
def test_grams_are_no_wrong_share_of_a_meat_that_nobody_knows(meat):
    data = but("batch.meat", meat)
    data["ingredient"][0] |= {"amount": "2.4 kg"}
    assert [place for place, _ in places(data)] == ["batch.meat"]


@pytest.mark.parametrize("number, amount, place", [(0, "x", "amount"), (0, GONE, "amount"), (0, "1 heaped tsp", "amount"), (1, "480", "amount"), (1, "1 tsp", "amount"), (1, "20 %", "per")])
def test_a_line_that_cannot_be_read_is_no_missing_meat_and_no_missing_water(number, amount, place):
    assert [told for told, _ in places(but(f"ingredient.{number}.amount", amount))] == [f"ingredient.{number + 1}.{place}"]


@pytest.mark.parametrize("method, whole", [("ground", False), ("dry", True), ("brine", True), ("injected", True)])
def test_of_pork_cured_in_one_piece_is_said_whether_it_is_belly(method, whole):
    """Bacon from the belly is held to less nitrite."""
    assert places(but("belly", GONE) | {"method": method}) == [("belly", "recipe_missing")] * whole
    named = but("belly", False) | {"method": method, "cut": "belly"}
    assert places(named) == [("belly", "recipe_belly")] * whole and places(named | {"cut": "leg"}) == [] and all(" | belly | " in line and line.endswith("Expected: belly = true.") for line in told(named))
    assert places(but("belly", GONE) | {"method": method, "cut": "belly"}) == [("belly", "recipe_missing")] * whole
    for number, name, is_meat in ((0, "Pork belly", True), (3, "Soy sauce for belly, with salt", False)):
        assert places(but(f"ingredient.{number}.name", name) | {"method": method, "belly": False}) == [("belly", "recipe_belly")] * (whole and is_meat)
    lamb = named | {"kinds": ["lamb"]}
    del lamb["species"]
    lamb["ingredient"][0] |= {"name": "Shoulder", "animal": "lamb"}
    assert places(lamb) == []


@pytest.mark.parametrize("method, wet", [("ground", False), ("dry", False), ("brine", True), ("injected", True)])
def test_a_brine_and_a_pickle_are_made_with_water(method, wet):
    assert places(but("ingredient.1.role", "garnish") | {"method": method}) == [("ingredient", "recipe_no_water")] * wet


def test_the_pickle_of_an_injected_cut_holds_no_meat():
    data = but("ingredient.2.salt", "10 %")
    pickle = read_recipe(write_recipe(data), "x.toml")[0]
    mace = pickle.ingredients[-1].share
    fixed, of_all = Fraction(480, 2400) + Fraction(1, 1000) + Fraction(3, 1000) + Fraction("1.2") / 2400 + mace, share("0.6")
    assert pickle.kettle == (fixed, of_all, Fraction(1, 1000) * share("15"), of_all * share("10"))
    assert read_recipe(write_recipe(data | {"method": "ground"}), "x.toml")[0].kettle == (fixed + 1, of_all, *pickle.kettle[2:])


@pytest.mark.parametrize("path, value, instead", [
    ("belly", "no", "true oder false"), ("batch.tins", ["box 30 x 10 x 8 cm"] * 4, "höchstens 3 verschiedene Formen"), ("ingredient.0.name", "Smoked ham", "rohes Fleisch"),
    ("ingredient.0.food", "Pork, fresh, backfat, raw", 'entweder "food" oder "fat"'), ("ingredient.1.amount", "480", '"250 g", "25 %" oder "2 TL"'), ("ingredient.1.amount", GONE, '"250 g", "25 %" oder "2 TL"'),
    ("ingredient.1.substance", "STPP", 'role = "accelerator" oder "phosphate"'), ("ingredient.4.p2o5", "76 %", '"57 %", bei einer Mischung'), ("ingredient.2.amount", "90 %", "weniger als 90 % der gesamten Masse"),
])  # fmt: skip
def test_what_to_write_is_said_in_the_language_of_the_fault(path, value, instead):
    with speaking("de"):
        assert any(line.endswith(f"Erwartet: {instead}.") for line in told(but(path, value)))


@pytest.mark.parametrize("method", [
    "fermented", "air-dried", "smoked", "canned", "country", "fermentiert", "gereift", "luftgetrocknet", "geräuchert", "kaltgeräuchert", "heißgeräuchert", "eingekocht", "konserve", "rohwurst", "rohschinken",
])  # fmt: skip
def test_what_is_not_covered_is_refused_by_its_name(method):
    for written in (method, method.title()):
        (line,) = told({"schema": 1, "method": written})[-1:]
        assert line.startswith(f"method | recipe_refused | {written} | ") and line.endswith("Expected: ground, dry, brine, injected."), line


@pytest.mark.parametrize("key", ["title", "author", "summary", "cut", "changes", "step.1.text"])
def test_what_a_text_asks_for_is_told_where_it_stands(key):
    text = "Rub it well. Hang it in the smoke for a day!"
    way, value = ("step.0.text", text) if key == "step.1.text" else (key, [text] if key == "changes" else text)
    (line,) = told(but(way, value))
    assert line.startswith(f"{key} | recipe_process | Hang it in the smoke for a day!") and "asks for smoking: “Hang it" in line
    assert places(but("step.0.text", "Stir in 2{salt}.")) == [("step.1.text", "recipe_beside_place")]
    assert places(but(way, ["Take 20 g of curing salt."] if key == "changes" else "Take 20 g of curing salt.")) == [(key, "recipe_bare_grams")]


def test_brackets_without_end_are_told_of_the_file():
    recipe, (fault,) = read_recipe(f"a = {'[' * 40}{']' * 40}", "x.toml")
    assert recipe is None and (fault.field, fault.code, fault.read) == ("recipe", "recipe_nested", "x.toml")
    assert fault.text.startswith(f"x.toml: lists or tables lie more than {MOST_LEVELS} deep")


def test_a_step_takes_figures_by_name_and_nothing_else():
    assert fill_step("{a-1}, {b_2}, {c}, {A}, {1}", {"a-1": "x", "b_2": "{c}", "1": "no"}) == "x, {c}, {c}, {A}, {1}"


if __name__ == "__main__":
    write_faults()
