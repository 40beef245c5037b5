"""The log and the backup: read back as written, and nothing of a bad file used."""

from __future__ import annotations

import csv
import io
import json
from fractions import Fraction
from functools import lru_cache

import pytest
from helpers.kitchens import LOAF, RECIPES, card_for
from hypothesis import given, settings
from hypothesis import strategies as st

from curebatch.day import backup, kept, log, steps
from curebatch.intake.recipe import read_recipe

BEGUN = "2027-03-27T18:00Z"
FIELDS = {"pack": "6.25 %", "fine_scale": "0.1 g", "region": "us"}


@lru_cache(maxsize=1)
def card() -> dict:
    return card_for(LOAF, **FIELDS)


def new(**changes) -> dict:
    return {**log.begin("batch-1", BEGUN, card(), "v=0&recipe=" + LOAF, FIELDS, "build-1", "Europe/Paris"), **changes}


def full() -> dict:
    return new(
        weighed={"shoulder": "1.8 kg", "curing_salt": "5.4 g"},
        readings=[{"at": BEGUN, "what": "batter", "piece": "", "text": "11.5 °C"}, {"at": BEGUN, "what": "room", "piece": "", "text": "-2 °C"}, {"at": BEGUN, "what": "weight", "piece": "a", "text": "3.9 kg"}],
        ticks=[{"at": BEGUN, "step": "step-1"}], notes=[{"at": BEGUN, "text": "=1+1 \n-- äöü; \"quoted\", 'and so on"}], times={"oven_on": BEGUN}, next_time="+ less mace",
    )


def codes(faults):
    return {fault.code for fault in faults}


def test_a_log_says_what_it_was_made_under():
    made, made_under = new(), card()
    assert made["rules_edition"] == made_under["rules_edition"] and made["build"] == "build-1" and made["recipe"] == LOAF
    assert [row["text"] for row in made["amounts"]] == [row["weigh"]["text"] for row in made_under["amounts"]]


@pytest.mark.parametrize("make", [new, full])
def test_json_and_csv_read_back(make):
    made = make()
    assert log.read(log.write(made)) == (made, [])
    assert log.read_csv(log.write_csv(made)) == (made, [])


def test_a_csv_that_a_spreadsheet_saved_again_is_read():
    rows = list(csv.reader(io.StringIO(log.write_csv(full()), newline="")))
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=";").writerows(rows)
    assert log.read_csv("\ufeff" + out.getvalue()) == (full(), [])


TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"), exclude_characters="\u2028\u2029"), max_size=60)


@settings(deadline=None)
@given(TEXTS, TEXTS, st.sampled_from(("=", "+", "-", "@", "\t", "'", "''=", "＝")))
def test_any_note_reads_back_and_no_cell_is_a_formula(note, title, sign):
    made = new(title=title, next_time=sign + note, notes=[{"at": BEGUN, "text": sign + note + "\n" + note}])
    assert log.read(log.write(made)) == (made, [])
    text = log.write_csv(made)
    assert log.read_csv(text) == (made, [])
    for row in csv.reader(io.StringIO(text, newline="")):
        for cell in row:
            assert not cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))


@pytest.mark.parametrize("change, where", [
    ({"id": "../x"}, "id"), ({"id": 7}, "id"), ({"kind": "backup"}, "kind"), ({"begun": "yesterday"}, "begun"), ({"recipe": "x"}, "recipe"), ({"rules_edition": "new"}, "rules_edition"), ({"title": "a\x00b"}, "title"), ({"title": "\u2028"}, "title"), ({"title": "a" * 2001}, "title"), ({"title": None}, "title"),
    ({"inputs": {"pack_chek": "6.25 %"}}, "inputs"), ({"inputs": {"pack": 6.25}}, "inputs.pack"), ({"inputs": []}, "inputs"), ({"verdict": "fine"}, "verdict"), ({"weighed": {"shoulder": "2"}}, "weighed.shoulder"), ({"weighed": {"sugar": "2 g"}}, "weighed"), ({"weighed": {"__proto__": "2 g"}}, "weighed"),
    ({"readings": [{"at": BEGUN, "what": "core", "text": "70"}]}, "readings.1.text"), ({"readings": [{"at": BEGUN, "what": "soup", "text": "70 °C"}]}, "readings.1.what"), ({"readings": [{"what": "core", "text": "70 °C"}]}, "readings.1.at"), ({"readings": ["x"]}, "readings.1"), ({"readings": "x"}, "readings"),
    ({"ticks": [{"at": BEGUN, "step": "<b>"}]}, "ticks.1.step"), ({"notes": [{"at": BEGUN, "text": "x", "more": 1}]}, "notes.1.more"), ({"times": {"oven_on": "18:00"}}, "times.oven_on"), ({"secret": 1}, "secret"), ({"amounts": [{"id": "a", "name": "A", "role": "meat", "text": "x"}]}, "amounts.1.text"),
    ({"link": "x" * 8001}, "link"), ({"readings": [{}] * 1001}, "readings"), ({"schema": "1"}, "schema"), ({"schema": True}, "schema"), ({"schema": 0}, "schema"),
])
def test_what_is_wrong_is_named_and_nothing_is_used(change, where):
    read, faults = log.read(json.dumps({**new(), **change}))
    assert read is None and any(fault.text.startswith(f"{where}: ") for fault in faults), [fault.text for fault in faults]


def test_a_key_that_stands_twice_is_no_log():
    twice = log.write(new()).replace('"build":', '"build": "other", "build":', 1)
    assert json.loads(twice)["build"] == "build-1" and codes(log.read(twice)[1]) == {"kept_not_json"}


def test_all_faults_come_together():
    read, faults = log.read(json.dumps({**new(), "id": "", "begun": "", "title": 1, "secret": 2}))
    assert read is None and len(faults) == 4


def test_there_is_an_end_to_the_faults():
    read, faults = log.read(json.dumps({**new(), **{f"x{n}": n for n in range(500)}}))
    assert read is None and len(faults) == kept.MOST_FAULTS


@pytest.mark.parametrize("text", [
    "", "null", "[]", "7", "{", "[" * 100_000, '{"a":' * 50_000, '{"schema": NaN}', '{"schema": 1, "schema": 1}', '{"schema": 1' + "0" * 5000 + "}", "\ud800", None, 7, b"{}",
])
def test_what_is_no_json_of_ours_is_refused(text):
    read, faults = log.read(text)
    assert read is None and faults


def test_a_file_that_is_too_long_is_not_even_parsed():
    assert codes(log.read(" " * (log.MOST + 1))[1]) == codes(log.read_csv(" " * (log.MOST + 1))[1]) == {"kept_too_long"}


def test_a_newer_format_says_so_and_nothing_else():
    assert codes(log.read(json.dumps({**new(), "schema": 2, "colour": "red"}))[1]) == {"kept_newer"}
    assert codes(backup.read(json.dumps({"schema": backup.SCHEMA + 1, "kind": "backup"}))[1]) == {"kept_newer"}


@pytest.mark.parametrize("text", ["", "part,name", 'part,name,at,text\r\n"', "a;b;c;d\r\n", "part,name,at,text\r\nlog,schema,,1\r\nlog,schema,,1\r\n", "part,name,at,text\r\nspell,x,,y\r\n", "part,name,at,text\r\namount_name,x,,y\r\n", "part,name,at,text\r\nlog,schema,,one\r\n", "\x00", None])
def test_a_bad_csv_is_refused(text):
    read, faults = log.read_csv(text)
    assert read is None and faults


@settings(deadline=None, max_examples=60)
@given(st.recursive(st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20), lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(("schema", "kind", "id", "inputs", "readings", "logs", "drafts", "kitchens", "recipes", "at", "x")), inner, max_size=6), max_leaves=20))
def test_hostile_data_is_never_more_than_faults(data):
    for read in (log.read, backup.read):
        found, faults = read(json.dumps(data))
        assert (found is None) == bool(faults)


def test_hours_of_notes_go_into_a_changed_copy_as_comments_and_the_recipe_stays():
    text = (RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8")
    copy = log.changed_copy(text, new(next_time="less mace\nid = \"other\"", notes=[{"at": BEGUN, "text": "more ice"}]))
    assert copy.splitlines()[:3] == ["# 2027-03-27: less mace", '# 2027-03-27: id = "other"', "# 2027-03-27: more ice"]
    assert read_recipe(copy, "copy")[0] == read_recipe(text, "copy")[0]


@settings(deadline=None, max_examples=30)
@given(TEXTS, TEXTS)
def test_no_note_reaches_into_the_recipe(one, two):
    text = (RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8")
    copy = log.changed_copy(text, new(next_time=f"{one}\n{two}"))
    assert read_recipe(copy, "copy")[0] == read_recipe(text, "copy")[0]


def test_a_sheet_has_a_blank_for_all_that_is_weighed_and_read():
    recipe = read_recipe((RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8"), LOAF)[0]
    sheet = log.sheet(card(), steps.cards(recipe, card(), steps.Dose("6.25 %", Fraction(5), Fraction(1, 10))))
    assert len(sheet["weighed"]) == len(card()["amounts"]) and {row["what"] for row in sheet["readings"]} == {"batter", "core", "cooling"}


# ------------------------------------------------------------------ backup


def device() -> dict:
    return {
        "made": BEGUN, "build": "build-1", "kitchen": {"pack": "6.25 %", "scale": "1 g"}, "kitchens": {"At my mother’s": {"pack": "0.4-0.5 %"}}, "drafts": {"recipes/pistachio-pork-loaf": {"meat": "half typ"}},
        "kept_logs": [full(), new(id="batch-2")], "recipes": {LOAF: (RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8")},
    }


def test_a_backup_reads_back():
    given = device()
    data, faults = backup.read(backup.write(**given))
    assert not faults
    assert (data["kitchen"], data["kitchens"], data["drafts"], data["recipes"]) == (given["kitchen"], given["kitchens"], given["drafts"], given["recipes"])
    assert data["logs"] == given["kept_logs"]


def test_a_backup_carries_the_name_of_the_kitchen_at_work_and_one_from_before_is_read():
    text = backup.write(**device(), kitchen_name="At home")
    data, faults = backup.read(text)
    assert not faults and data["kitchen_name"] == "At home"
    older = json.loads(text)
    del older["kitchen_name"]
    data, faults = backup.read(json.dumps({**older, "schema": 1}))
    assert not faults and data["kitchen_name"] == "" and data["kitchen"] == device()["kitchen"] and data["kitchens"] == device()["kitchens"]


def test_a_backup_confirms_no_pack():
    text = json.dumps({**json.loads(backup.write(**device())), "confirmed": ["9 %"]})
    assert backup.read(text)[0] is None
    assert "confirmed" not in json.loads(backup.write(**device()))


@pytest.mark.parametrize("change", [
    {"logs": [{}]}, {"logs": [1]}, {"recipes": {"pistachio-pork-loaf.1": "x ="}}, {"recipes": {"other.1": "PLACE"}}, {"recipes": {"../x": ""}}, {"recipes": {"found": ""}}, {"kitchens": {"": {}}}, {"kitchens": {"a": {"b": "c"}}}, {"kitchens": {"a": 1}}, {"kitchens": {"a\u202e\x00": {}}},
    {"drafts": {"/etc": {}}}, {"kitchen": {"pack": 1}}, {"made": "now"}, {"kind": "log"}, {"schema": None}, {"schema": 0}, {"kitchen_name": " "}, {"kitchen_name": 1}, {"kitchen_name": "a\nb"},
])
def test_a_backup_with_any_fault_restores_nothing(change):
    given = json.loads(backup.write(**device()))
    if change == {"recipes": {"other.1": "PLACE"}}:
        change = {"recipes": {"other.1": given["recipes"][LOAF]}}
    data, faults = backup.read(json.dumps({**given, **change}))
    assert data is None and faults and all(fault.text for fault in faults)


def test_two_logs_of_one_name_are_a_fault():
    assert backup.read(backup.write(**{**device(), "kept_logs": [new(), new()]}))[0] is None
