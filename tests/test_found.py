"""A recipe found elsewhere, turned into targets: re-computed by hand, in exact fractions."""

from dataclasses import fields
from fractions import Fraction

import pytest
from hypothesis import given, strategies as st

from helpers.kitchens import found_card
from curebatch.intake.entries import read_entries
from curebatch.intake.found import NEEDED, found_recipe
from curebatch.views.html import sections
from curebatch.words import say

SODIUM = {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005"), "KNO2": Fraction("68.995") / Fraction("85.103")}


def found(**typed: str):
    values, faults = read_entries({f"found_{key}": text for key, text in typed.items()})
    assert not faults
    return found_recipe(values)


grams = st.integers(1, 3000).map(lambda n: Fraction(n, 10))


@given(grams, st.integers(500, 9000), st.sampled_from(["0.4-0.5 %", "0.6 %", "2.5 %", "6.25 %"]), st.sampled_from([None, *SODIUM]), st.sampled_from([None, "meat", "mix"]), st.none() | grams, st.none() | grams)
def test_the_targets_are_what_the_authors_pack_gave_at_its_top(cure, block, pack, compound, per, salt, other):
    typed = {"cure": f"{float(cure)} g", "meat": f"{block} g", "pack": pack, "pack_as": compound, "per": per, "salt": salt and f"{float(salt)} g", "other": other and f"{float(other)} g"}
    recipe = found(**{key: text for key, text in typed.items() if text})
    strength = Fraction(pack.split("-")[-1].removesuffix(" %")) / 100
    salt, other = salt or Fraction(0), other or Fraction(0)
    meat = Fraction(block) if per != "mix" else block - cure - salt - other
    if meat <= 0:
        assert recipe is None
        return
    # The rest of the pack is common salt; a label that counts the ion holds its sodium salt.
    carried = cure * (1 - (strength * SODIUM["NO2-"] if compound == "NO2-" else strength))
    targets = recipe.targets
    assert targets.nitrite.low == targets.nitrite.high == cure * strength * SODIUM[compound or "NaNO2"] / block
    assert targets.salt.low == targets.salt.high == (carried + salt) / block
    assert (targets.nitrite_as, targets.nitrite_per, targets.salt_per) == ("NaNO2", per or "meat", per or "meat")
    assert (targets.nitrite.unit, targets.salt.unit, targets.nitrite.text, targets.salt.text) == ("mg/kg", "%", "", "")
    assert recipe.meat == meat
    first, *more = recipe.ingredients
    assert (first.id, first.role, first.share, first.per) == ("meat", "meat", 1, "meat")
    assert [(i.id, i.role, i.share, i.per) for i in more] == ([("other", "garnish", other / meat, "meat")] if other else [])
    assert first.name and all(i.name and i.name != first.name for i in more)


def test_the_recipe_stands_for_the_page_of_found_recipes_and_for_nobody_elses_kitchen():
    recipe = found(cure="20 g", meat="1 kg", pack="0.5 %")
    assert (recipe.ref, recipe.language, recipe.method, recipe.state, recipe.kinds) == ("found.1", "en", "ground", "held", ())
    assert (recipe.author, recipe.cut, recipe.belly, recipe.steps) == ("", "", False, ()) and recipe.title


@pytest.mark.parametrize("missing", NEEDED)
def test_without_one_of_the_three_there_is_no_recipe(missing):
    typed = {"cure": "20 g", "meat": "1 kg", "pack": "0.5 %"}
    del typed[missing.removeprefix("found_")]
    assert found(**typed) is None


def test_a_kilo_of_the_mix_that_leaves_no_meat_is_no_recipe():
    assert found(cure="100 g", meat="1 kg", pack="0.5 %", per="mix", salt="400 g", other="500 g") is None
    assert found(cure="100 g", meat="1 kg", pack="0.5 %", per="mix", salt="400 g", other="499 g").meat == 1
    assert found(cure="100 g", meat="100 g", pack="0.5 %", per="meat").meat == 100


def test_before_anything_is_typed_nothing_is_called_misunderstood():
    for fields in ({}, {"pack": "6.25 %", "fine_scale": "0.1 g"}):
        assert found_card(**fields)["verdict_text"] == say("verdict.found_empty")
        shown = sections(found_card(**fields))["verdict"]
        assert say("view.faults_open") in shown and say("view.faults") not in shown
    misread = found_card(found_cure="25", pack="6.25 %")
    assert misread["verdict_text"] == say("verdict.faulty") and say("view.faults") in sections(misread)["verdict"]


def test_what_is_over_a_limit_is_told_as_the_limit_counts():
    """25 g of 6.25 % to 10 kg: 156.25 mg/kg of sodium nitrite, by 46.005/68.995 104.2 of the ion, in 10.025 kg 103.9."""
    text = found_card(found_cure="25 g", found_meat="10 kg", found_pack="6.25 %", pack="6.25 %", meat="10 kg")["convert"]["as_written"]["text"]
    assert "156 mg/kg" in text and "that is 104 mg/kg nitrite ion of the whole mix. That is over the limit of 80 mg/kg" in text


def test_a_sentence_says_nothing_of_the_rest_of_a_recipe():
    recipe = found(cure="20 g", meat="1 kg", pack="0.5 %", other="100 g")
    said = ("id", "revision", "language", "title", "author", "method", "kinds", "cut", "state", "targets", "ingredients", "meat")
    assert {field.name: getattr(recipe, field.name) for field in fields(recipe) if field.name not in said} == {
        "steps": (), "core": None, "hold": None, "portions": None, "raw": False, "summary": "", "belly": False, "pump": None, "pick_up": None,
        "tins": (), "species": "", "vessel": None, "cooked_share": None, "day": "", "changes": (),
    }  # fmt: skip
    for line in recipe.ingredients:
        assert {field.name: getattr(line, field.name) for field in fields(line) if field.name not in ("id", "name", "role", "share", "per")} == {
            "food": "", "salt": 0, "row": None, "substance": "", "p2o5": None, "pack_list": "", "declared": (), "by_spoon": "", "form": "", "fat": None, "animal": "", "salt_stated": False, "written": "",
        }  # fmt: skip
        assert line.known_as == line.name
