"""A recipe's file, written: it reads back to the same recipe, and a changed copy to the batch that was on the page."""

import json

import pytest
from helpers.kitchens import LOAF, RECIPES, fill_shelf, recipe_text
from hypothesis import assume, given
from hypothesis import strategies as st

from curebatch import entry
from curebatch.bare_grams import dose_in_words
from curebatch.intake.processes import not_covered
from curebatch.intake.recipe import read_recipe
from curebatch.intake.signs import unseen
from curebatch.intake.writer import write_recipe

PACK = {"pack": "6.25 %", "fine_scale": "0.01 g", "scale": "0.1 g"}


def answer(**given):
    fill_shelf()
    return json.loads(entry.answer(json.dumps({"id": 1, "want": ["all"], "input": given})))


def own(text, fields):
    return answer(page="own", own=text, fields=fields)


@pytest.mark.parametrize("path", sorted(RECIPES.glob("*.toml")), ids=lambda path: path.stem)
def test_the_published_recipes_come_back(path):
    recipe, faults = read_recipe(path.read_text(encoding="utf-8"), path.name)
    assert recipe, faults
    assert read_recipe(write_recipe(recipe), path.name) == (recipe, [])


SEEN = st.characters(exclude_categories=("Cc", "Cf", "Cs", "Zl", "Zp"))


@given(st.text(SEEN, min_size=1, max_size=40), st.text(SEEN, max_size=40).map(lambda text: f"do {text}"), st.integers(1, 800_000), st.sampled_from(["meat", "mix"]))
def test_hostile_names_and_any_share_come_back(name, step, share, per):
    # What is refused for what it says has tests of its own. Not so rare: hypothesis also draws from the words in our modules.
    assume(not any(unseen(words) or not_covered(words) or dose_in_words(words) for words in (name, step)))
    text = recipe_text(extra=f'[[ingredient]]\nid = "thing"\nname = "Thing"\nrole = "spice"\namount = "{share / 10000:.4f} %"\nper = "{per}"\n')
    recipe, faults = read_recipe(text, "x.toml")
    assert recipe, faults
    from dataclasses import replace

    from curebatch.intake.numbers import tidy

    named = replace(recipe, title=tidy(name), steps=(tidy(step).replace("{", "("),))
    assert read_recipe(write_recipe(named), "x.toml") == (named, [])


@pytest.mark.parametrize("fields", [
    {}, {"meat": "3 kg"}, {"portions": "17"}, {"use.back-fat": "400 g"}, {"use.ice": "0 g", "salt": "1.9 %"}, {"nitrite": "90 mg/kg", "use.mace": "5 g", "batch": "5 kg"}, {"state": "uncured"}, {"state": "not_held"},
])
def test_a_changed_copy_makes_the_same_batch_from_its_file(fields):
    mine = answer(recipe=LOAF, fields={**PACK, **fields})
    file = entry.file_of(entry.read({"recipe": LOAF, "fields": {**PACK, **fields}}).document)
    assert file["name"] == "pistachio-pork-loaf-own.1.toml" and "6.25" not in file["text"] and "pack =" not in file["text"]
    back = own(file["text"], PACK)
    assert back["card"]["faults"] == [] and back["file"]["name"] == file["name"]

    def weights(card):
        return {row["id"]: row["weigh"]["text"] for row in card["amounts"]}

    assert weights(back["card"]) == weights(mine["card"])
    assert entry.file_of(entry.read({"page": "own", "own": file["text"]}).document) == file


def test_a_file_with_faults_says_them_with_their_lines():
    text = recipe_text().replace('role = "meat"', 'role = "meat"\nfood = "Unicorn"')
    got = own(text, PACK)
    assert got["card"]["cure"] is None and "file" not in got
    assert [fault["code"] for fault in got["faults"]] == ["unknown_food_alone"]
    _, faults = read_recipe(text, "mine.toml")
    assert [fault.code for fault in faults] == ["unknown_food_alone"] and "mine.toml, line" in faults[0].text


def test_what_is_no_recipe_file_breaks_nothing():
    for text in ("", "x", "[[[", "schema = 1", recipe_text() * 2, "\x00"):
        assert own(text, PACK)["card"]["cure"] is None
