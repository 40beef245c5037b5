"""Spoons: what is read, what is refused, and the way back."""

import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import curebatch.batch as package
from curebatch.batch.additives import accelerator_named, acid_with_nitrite, blend_p2o5, phosphate_named, read_leavening
from curebatch.batch.refusal import Refused
from curebatch.batch.spoons import Spoons, forms, read_spoons, to_grams, to_spoons, weighed_only
from curebatch.intake.numbers import Misread
from curebatch.words import has

FOODS = ["table salt", "granulated sugar", "Spices, paprika", "Spices, mace, ground", "Honey", "baking soda"]


def code_of(call) -> str:
    with pytest.raises(Refused) as refused:
        call()
    return refused.value.code


@pytest.mark.parametrize(
    "text, count, measure",
    [
        ("2 tsp", 2, "tsp"), ("1/2 tbsp", Fraction(1, 2), "tbsp"), ("half a teaspoon", Fraction(1, 2), "tsp"), ("a quarter tsp", Fraction(1, 4), "tsp"),
        ("three quarters of a teaspoon", Fraction(3, 4), "tsp"), ("1 1/2 cups", Fraction(3, 2), "cup"), ("2 level teaspoons", 2, "tsp"), ("½ tsp", Fraction(1, 2), "tsp"),
        ("two tablespoons", 2, "tbsp"), ("one and a half teaspoons", Fraction(3, 2), "tsp"), ("0,5 tsp", Fraction(1, 2), "tsp"),
    ],
)
def test_level_spoons_are_read(text, count, measure):
    assert read_spoons(text) == Spoons(Fraction(count), measure)


@pytest.mark.parametrize("text", ["1 heaped tsp", "a pinch", "2 heaping tablespoons", "a rounded teaspoon", "a good tbsp", "1 scant cup", "a knob"])
def test_heaps_and_pinches_are_not_guessed(text):
    assert code_of(lambda: read_spoons(text)) == "spoon_fill"


@pytest.mark.parametrize("text", ["", "2", "two g", "3 g", "some tsp"])
def test_what_is_no_number_of_spoons(text):
    with pytest.raises(Misread):
        read_spoons(text)


@pytest.mark.parametrize(
    "name, role",
    [
        ("anything", "curing_salt"), ("anything", "accelerator"), ("anything", "phosphate"), ("Pink curing salt", "spice"), ("Sodium nitrite", "salt"),
        ("Ascorbic acid", "spice"), ("Sodium erythorbate", "binder"), ("Sodium tripolyphosphate", "binder"), ("E 450", "binder"), ("E250 mix", "salt"),
    ],
)
def test_cure_accelerator_and_phosphate_are_weighed(name, role):
    assert weighed_only(name, role)
    for call in (lambda: to_grams(Spoons(Fraction(1), "tsp"), name, size="us", role=role), lambda: to_spoons(Fraction(5), name, size="us", role=role)):
        assert code_of(call) == "spoon_weighed_only"


def test_leavening_is_no_such_thing():
    assert not weighed_only("Leavening agents, baking powder, double-acting, straight phosphate", "binder")


def test_forms_have_to_be_named():
    assert set(forms("brown sugar")) == {"packed", "unpacked"}
    assert code_of(lambda: to_grams(Spoons(Fraction(1), "tsp"), "brown sugar", size="us")) == "spoon_form"
    assert code_of(lambda: to_grams(Spoons(Fraction(1), "tsp"), "brown sugar", size="us", form="damp")) == "spoon_form"
    assert code_of(lambda: to_grams(Spoons(Fraction(1), "tsp"), "goat hair", size="us")) == "spoon_unknown_alone"
    assert code_of(lambda: to_grams(Spoons(Fraction(1), "tsp"), "Potato starch", size="us")) == "spoon_not_measured"


@settings(deadline=None)
@given(st.sampled_from(FOODS), st.integers(1, 12), st.sampled_from(["tsp", "tbsp"]), st.sampled_from(["us", "metric", "au"]))
def test_there_and_back(food, quarters, measure, size):
    spoons = Spoons(Fraction(quarters, 4), measure)
    weight = to_grams(spoons, food, size=size)
    assert weight.low <= weight.nominal <= weight.high
    back = to_spoons(weight.nominal, food, size=size)
    assert back.off == 0 and back.grams.nominal == weight.nominal


@settings(deadline=None)
@given(st.sampled_from(FOODS), st.fractions(Fraction(5), Fraction(200), max_denominator=100))
def test_the_nearest_quarter_misses_by_an_eighth_of_a_teaspoon_at_most(food, grams):
    found = to_spoons(grams, food, size="metric")
    eighth = to_grams(Spoons(Fraction(1, 8), "tsp"), food, size="metric").nominal
    assert abs(found.grams.nominal - grams) <= eighth


def test_less_than_an_eighth_of_a_teaspoon():
    assert code_of(lambda: to_spoons(Fraction(1, 10), "table salt", size="us")) == "spoon_too_little"


@pytest.mark.parametrize(
    "listed, binds, raises_ph, holds",
    [
        ("Disodium diphosphate, sodium bicarbonate, corn starch", "yes", False, True), ("sodium acid pyrophosphate, soda", "yes", False, True),
        ("Monocalcium phosphate, baking soda", "no", False, True), ("E 341, E 500", "no", False, True), ("sodium hydrogen carbonate", "no", True, False),
        ("cream of tartar, baking soda", "no", False, False), ("sodium aluminium phosphate, E 500", "no", False, True), ("sodium phosphate, soda", "unknown", False, True),
        ("Straight phosphate", "no", False, True),
    ],
)
def test_the_packs_list_decides_whether_a_leavening_helps(listed, binds, raises_ph, holds):
    powder = read_leavening(listed)
    assert (powder.binds, powder.raises_ph, powder.p2o5_most > 0) == (binds, raises_ph, holds)


def test_leavening_that_says_nothing():
    assert code_of(lambda: read_leavening("Baking powder")) == "leavening_unread"
    assert code_of(lambda: read_leavening("phosphates")) == "leavening_which"


def test_blends_and_names():
    assert blend_p2o5({"STPP": Fraction(1, 2), "SAPP": Fraction(1, 2)}) == (blend_p2o5({"STPP": Fraction(1)}) + blend_p2o5({"SAPP": Fraction(1)})) / 2
    assert code_of(lambda: blend_p2o5({"XYZ": Fraction(1)})) == "phosphate_unknown"
    assert code_of(lambda: blend_p2o5({"STPP": Fraction(2)})) == "phosphate_blend"
    assert code_of(lambda: blend_p2o5({"STPP": Fraction(-1)})) == "phosphate_blend"
    assert phosphate_named("Sodium tripolyphosphate") == "STPP" and phosphate_named("Phosphate blend") is None
    assert accelerator_named("Sodium erythorbate") == "sodium_erythorbate" and accelerator_named("Vitamin C") == "ascorbic_acid"
    assert accelerator_named("Sodium isoascorbate, monohydrate") == "sodium_erythorbate_monohydrate" and accelerator_named("Sugar") is None
    assert acid_with_nitrite({"ascorbic_acid": Fraction(1)}, True) and not acid_with_nitrite({"sodium_ascorbate": Fraction(1)}, True)


def test_every_refusal_has_words():
    folder = Path(package.__file__).parent
    codes = set()
    for path in folder.glob("*.py"):
        text = path.read_text(encoding="utf-8")
        codes |= set(re.findall(r'(?:Refused|BadFatShare)\("([a-z_]+)"', text)) | set(re.findall(r'super\(\).__init__\("([a-z_]+)"', text))
    assert "spoon_fill" in codes and "unknown_food" in codes
    assert not {code for code in codes | {"leavening_unread", "leavening_which"} if not has(f"batch.refused.{code}")}
