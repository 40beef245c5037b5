"""Steps as cards: figures in them, timers and readings from what they name, the read-back before the cure."""

from __future__ import annotations

from fractions import Fraction

import pytest
from helpers.kitchens import RECIPES, card_for, ground_recipe
from hypothesis import given
from hypothesis import strategies as st

from curebatch.day import steps, told
from curebatch.day.steps import Dose, Extra
from curebatch.intake.recipe import read_recipe
from curebatch.intake.units import read_amount

F = Fraction
KITCHEN = {"pack": "6.25 %", "fine_scale": "0.1 g", "region": "us"}


def recipe_of(name):
    recipe, faults = read_recipe((RECIPES / f"{name}.toml").read_text(encoding="utf-8"), name)
    assert recipe, faults
    return recipe


def cards_of(name, grams="5.5", error="0.1", **fields):
    card = card_for(name, **fields)
    dose = Dose("6.25 %", F(grams), F(error)) if card["cure"] else None
    return told.step_texts(steps.cards(recipe_of(name), card, dose)), card


def time(text):
    return read_amount(text, "time", ("min", "h"), range_allowed=True)


def test_a_loaf_is_weighed_read_back_made_and_cooled_in_this_order():
    cards, card = cards_of("pistachio-pork-loaf.1", **KITCHEN)
    assert [one["id"] for one in cards] == ["weigh", "step-1", "read-back", "step-2", "step-3", "step-4", "step-5", "cooling"]
    assert [(one["number"], one["of"]) for one in cards] == [(n, 8) for n in range(1, 9)]
    assert "curing_salt" not in [row["role"] for row in cards[0]["rows"]] and len(cards[0]["rows"]) == len(card["amounts"]) - 1
    dose = next(row for row in card["amounts"] if row["role"] == "curing_salt")["weigh"]["text"]
    read_back = cards[2]
    assert read_back["weigh"] == dose and [ask["id"] for ask in read_back["asks"]][:3] == ["pack", "percent", "grams"]
    assert any("6.25 %" in ask["text"] and dose in ask["text"] for ask in read_back["asks"])
    assert cards[3]["text"] == card["steps"][1]["text"] and dose in cards[3]["text"]


def test_what_a_step_names_decides_what_is_read_and_timed_there():
    cards, _ = cards_of("pistachio-pork-loaf.1", **KITCHEN)
    by_id = {one["id"]: one for one in cards}
    assert [(reading["what"], reading["field"]) for reading in by_id["step-3"]["readings"]] == [("batter", "batter")]
    assert [reading["what"] for reading in by_id["step-5"]["readings"]] == ["core"]
    assert [(timer["seconds"], timer["most"], timer["of"]) for timer in by_id["step-5"]["timers"]] == [(120, 120, "hold")]
    assert [reading["field"] for reading in by_id["cooling"]["readings"]] == ["cooling_readings"]


def test_a_pumped_cut_is_weighed_where_it_is_pumped():
    cards, _ = cards_of("picnic-ham.1", **KITCHEN)
    read = {one["id"]: [reading["what"] for reading in one["readings"]] for one in cards if one["kind"] == "step"}
    assert read == {"step-1": [], "step-2": ["weight"], "step-3": ["core"]}


def test_raw_bacon_is_never_read_as_cooked():
    cards, _ = cards_of("back-bacon.1", **KITCHEN)
    assert all(one["kind"] != "cooling" and not one.get("readings") for one in cards)
    assert cards[1]["kind"] == "read_back"


def test_without_a_dose_the_way_ends_before_the_cure():
    cards, card = cards_of("pistachio-pork-loaf.1")
    assert card["cure"] is None and [one["kind"] for one in cards][2] == "no_dose"
    assert "weigh" not in cards[2] and all(one["kind"] != "read_back" for one in cards)


def test_an_uncured_batch_has_nothing_to_read_back():
    cards, _ = cards_of("grey-pork-loaf.1")
    assert {one["kind"] for one in cards} <= {"weigh", "step", "cooling"}


@pytest.mark.parametrize("grams, error, tiny", [("4.9", "0.1", True), ("5", "0.1", False), ("20", "1", False), ("19", "1", True), ("2", "0.01", True)])
def test_a_tiny_dose_is_looked_at_twice(grams, error, tiny):
    assert steps.is_tiny(F(grams), F(error)) == tiny
    cards, _ = cards_of("pistachio-pork-loaf.1", grams, error, **KITCHEN)
    assert ("again" in [ask["id"] for ask in cards[2]["asks"]]) == tiny


@pytest.mark.parametrize("text, expected", [
    ("Rest for 20 min.", [(1200, 1200)]), ("Chop 8-12 minutes, then rest 1 h", [(480, 720), (3600, 3600)]), ("Soak 1 1/2 hours", [(5400, 5400)]), ("Bake 2,5 h", [(9000, 9000)]), ("12 to 8 min", []),
    ("Hold overnight", []), ("Stay under 12 °C", []), ("Within 1,500 min", []), ("0 min", []), ("100 h", []), ("8 minutes 9 minutes 10 minutes 11 minutes", [(480, 480), (540, 540), (600, 600)]), ("for {hold}", [(90, 90)]),
])
def test_times_in_a_text(text, expected):
    assert [(timer.low, timer.high) for timer in steps.timers_of(text, time("1.5 min"))] == expected


def test_what_the_file_says_of_a_step_holds_over_its_text():
    recipe = ground_recipe()
    assert steps.timers_of("Rest 20 min", None, Extra(timer=time("5-10 min"))) == (steps.Timer(300, 600, "recipe"),)
    assert steps.readings_of("Reads {core}", recipe, Extra(reading="batter")) == ("batter",)
    assert steps.readings_of("Reads {core}", recipe, Extra(reading="none")) == ()
    # A hold of a broken number of seconds is never cut short.
    assert steps.timers_of("{hold}", read_amount("0.01 min", "time", ("min",)))[0].low == 1


@given(st.text(max_size=300))
def test_no_text_brings_it_down(text):
    recipe = ground_recipe()
    assert len(steps.timers_of(text, None)) <= steps.MOST_TIMERS
    assert set(steps.readings_of(text, recipe)) <= set(steps.READINGS)
