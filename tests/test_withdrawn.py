"""What was taken back can no longer say ok; the age of the rules is told, never guessed."""

from __future__ import annotations

import json

import pytest
from helpers.runtime import answers_here
from hypothesis import given
from hypothesis import strategies as st

from curebatch.rules import limits
from curebatch.rules.withdrawn import read_withdrawn

REF = "pistachio-pork-loaf.1"


def ask(**more) -> dict:
    given = {
        "page": "recipe",
        "recipe": REF,
        "fields": {"pack": "6.25 %", "fine_scale": "0.1 g"},
        "confirmed_packs": ["6.25 %"],
        **more,
    }
    return answers_here([{"id": 1, "build": "b", "input": given, "want": ["all"]}])[0]


def codes(answer: dict) -> set[str]:
    return {message["code"] for message in answer["card"]["messages"]}


@pytest.mark.parametrize("as_text", [True, False])
@pytest.mark.parametrize("kind, key, code", [
    ("recipes", REF, "recipe_withdrawn"),
    ("editions", limits.edition(), "rules_withdrawn"),
])  # fmt: skip
def test_what_is_listed_stops(kind, key, code, as_text):
    assert ask()["card"]["verdict"] in ("ok", "caution")
    listed = {"recipes": {}, "editions": {}, kind: {key: "It was <wrong>."}}
    answer = ask(withdrawn=json.dumps(listed) if as_text else listed)
    card = answer["card"]
    assert card["verdict"] == "stop" and code in codes(answer)
    assert "It was <wrong>." in next(m["text"] for m in card["messages"] if m["code"] == code)
    assert "&lt;wrong&gt;" in answer["sections"]["messages"]
    assert card["cure"] is None and card["strengths"] == []
    assert not [row for row in card["amounts"] if row["role"] in ("curing_salt", "salt")]


def test_a_found_recipe_is_stopped_with_the_rules_and_gives_no_sentence_to_hand_on():
    given = {"found_cure": "20 g", "found_meat": "1 kg", "found_pack": "0.5 %", "pack": "6.25 %"}
    answer = ask(page="found", recipe="", fields=given, withdrawn={"editions": {limits.edition(): "Wrong."}})
    assert answer["card"]["verdict"] == "stop"
    assert answer["card"]["convert"]["sentence"] == ""


def test_another_revision_or_edition_stops_nothing():
    listed = {"recipes": {"pistachio-pork-loaf.2": "x"}, "editions": {"1999-01-01": "x"}}
    assert ask(withdrawn=listed)["card"]["verdict"] == ask()["card"]["verdict"]


@given(st.recursive(st.none() | st.booleans() | st.integers() | st.text(max_size=20),
                    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=12), inner, max_size=3)))  # fmt: skip
def test_a_list_that_is_none_withdraws_nothing_and_breaks_nothing(given):
    read = read_withdrawn(given)
    assert read_withdrawn(json.dumps(given)).recipes == read.recipes


def test_one_slip_does_not_hide_the_others():
    read = read_withdrawn({"recipes": {"Not A Ref": "x", REF: "y", "a.0": "z"}, "editions": ["2026-01-01"]})
    assert read.recipes == {REF: "y"} and read.editions == {}


@pytest.mark.parametrize("today, words", [
    (limits.edition(), "They are 0 days old."),
    ("2126-01-01", "days old."),
    ("1999-12-31", "from the future"),
    ("soon", ""),
    (None, ""),
])  # fmt: skip
def test_the_age_of_the_rules(today, words):
    answer = ask(today=today)
    text = answer["card"]["rules_age_text"]
    assert words in text if words else text == ""
    assert ("rules_old" in codes(answer)) is (today == "2126-01-01")


def test_weights_come_alone_and_the_same():
    whole = ask()
    given = {"page": "recipe", "recipe": REF, "fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}, "confirmed_packs": ["6.25 %"]}
    parts = {}
    for want in ("weights", "rest", "forecast"):
        (answer,) = answers_here([{"id": 1, "input": given, "want": [want]}])
        assert "card" not in answer
        assert not set(parts) & set(answer["sections"])
        parts |= answer["sections"]
    assert parts == whole["sections"]
