"""What the page of the day asks for: begun, judged, planned, kept; nothing of it changes a weight that was begun with."""

from __future__ import annotations

import inspect
import json
import re
from datetime import datetime, timedelta

import pytest
from helpers.kitchens import RECIPES, fill_shelf
from hypothesis import example, given, settings
from hypothesis import strategies as st

import curebatch
from curebatch import entry
from curebatch.day import asked, backup
from curebatch.day.mishaps import STAGES
from curebatch.intake.recipe import read_recipe
from curebatch.intake.recipe_file import data_of
from curebatch.words import catalogue, has

LOAF = "pistachio-pork-loaf.1"
BEGUN = "2027-03-27T18:00:00Z"
KITCHEN = {"pack": "6.25 %", "fine_scale": "0.1 g"}
ZONE = {"zone": "Europe/Paris", "offsets": [{"from_utc": "2026-01-01T00:00:00Z", "offset_min": 60}, {"from_utc": "2027-03-28T01:00:00Z", "offset_min": 120}]}
NOW = "2027-03-26T10:00:00Z"
CUTS = {"back-bacon.1": {"thickness": "45 mm"}, "corned-brisket.1": {"thickness": "60 mm"}, "picnic-ham.1": {}}


@pytest.fixture(autouse=True)
def shelf():
    fill_shelf()


def batch(recipe: str = LOAF, **fields: str) -> dict:
    return {"page": "recipe", "recipe": recipe, "fields": {**KITCHEN, **fields}, "confirmed_packs": ["6.25 %"]}


def do(given: dict, **day) -> dict:
    """As the page asks: JSON text in, JSON text out."""
    answer = json.loads(curebatch.answer(json.dumps({"id": 1, "build": "build-1", "want": ["day"], "input": {**given, "day": day}})))
    return answer["day"]


def begin(given: dict) -> dict:
    begun = do(given, do="begin", id="batch-1", begun=BEGUN, zone="Europe/Paris")
    assert "faults" not in begun, begun["faults"]
    return begun


def later(minutes: float) -> str:
    return (datetime.fromisoformat(BEGUN) + timedelta(minutes=minutes)).strftime("%Y-%m-%dT%H:%M:%SZ")


def read(log: dict, what: str, text: str, minutes: float, given: dict | None = None) -> dict:
    said = do(given or batch(), do="read", log=log, what=what, text=text, at=later(minutes), piece="")
    assert "faults" not in said, said
    log["readings"].append(said["reading"])
    return said


def test_a_batch_is_begun_with_the_weights_of_its_card():
    begun = begin(batch())
    card = entry.card_of(entry.read(batch()))
    assert [row["text"] for row in begun["log"]["amounts"]] == [row["weigh"]["text"] for row in card["amounts"]]
    assert begun["log"]["link"].startswith("v=1&recipe=") and begun["log"]["build"] == "build-1"
    assert [one["id"] for one in begun["cards"]][:3] == ["weigh", "step-1", "read-back"]


def test_readings_of_the_batch_before_are_left_behind():
    begun = begin(batch(readings="0 min 4 °C; 60 min 40 °C", batter="20 °C"))
    assert "readings" not in begun["log"]["inputs"] and "batter" not in begun["log"]["inputs"]


@pytest.mark.parametrize("fields, why", [({"pack": ""}, "pack"), ({"pack": "none"}, "none"), ({"stated": "54 g"}, "")])
def test_no_batch_is_begun_without_a_whole_card(fields, why):
    refused = do(batch(**fields), do="begin", id="batch-1", begun=BEGUN, zone="UTC")
    assert refused["faults"] and "log" not in refused
    assert why in json.dumps(refused["faults"])


@pytest.mark.parametrize("recipe", sorted(path.stem for path in RECIPES.glob("*.toml")))
def test_every_recipe_can_be_begun_and_judged(recipe):
    given = batch(recipe, **CUTS.get(recipe, {}))
    begun = begin(given)
    said = do(given, do="judge", log=begun["log"])
    assert said["warnings"] == [] and set(said["sections"]) == set(asked.SECTIONS)
    assert begun["cured"] == (recipe != "grey-pork-loaf.1")


def test_the_dose_on_the_scale_is_judged_by_the_dose_that_was_begun_with():
    log = begin(batch())["log"]
    assert do(batch(), do="weigh", log=log, id="curing_salt", text="5.4 g")["judged"]["code"] == "as_planned"
    assert do(batch(), do="weigh", log=log, id="curing_salt", text="54 g")["judged"]["code"] == "dose_apart"
    # The program of today would weigh half of it: what was begun with still holds.
    half = batch(nitrite="52 mg/kg")
    assert do(half, do="weigh", log=log, id="curing_salt", text="5.4 g")["judged"]["code"] == "as_planned"
    (warning,) = do(half, do="judge", log=log)["warnings"]
    assert "5.4 g here" in warning


@pytest.mark.parametrize("text, code, verdict", [("1800 g", "as_card", "fine"), ("1.81 kg", "written_down", "fine"), ("1 kg", "over", "mend"), ("4 kg", "weak", "mend")])
def test_too_little_or_too_much_of_the_meat_is_said(text, code, verdict):
    log = begin(batch())["log"]
    judged = do(batch(), do="weigh", log=log, id="shoulder", text=text)["judged"]
    assert (judged["code"], judged["verdict"]) == (code, verdict)


def test_while_what_was_weighed_is_too_little_no_dose_is_given_and_nothing_fits():
    begun = begin(batch())
    log, dose = begun["log"], "5.4 g"
    log["weighed"] = {"shoulder": "900 g"}
    said = do(batch(), do="judge", log=log)
    assert said["verdict"] == "stop" and "Fits" not in said["status"].split(". ")[-1]
    (warning,) = said["warnings"]
    assert warning == said["held"]["text"] and "begin a new batch" in warning and dose not in warning
    # Every card that names the dose is held, and no other.
    named = [one["id"] for one in begun["cards"] if dose in json.dumps(one)]
    assert said["held"]["cards"] == named == ["read-back", "step-2"]
    assert all(one["dose"] for one in begun["cards"] if one["id"] == "step-2") and dose not in said["sections"]["verdict"] + said["sections"]["messages"]
    assert do(batch(), do="weigh", log=log, id="curing_salt", text=dose)["judged"]["code"] == "held"
    # A dose that was put in is no way out of it, nor is a reading.
    assert read(log, "batter", "8 °C", 5)["verdict"] == "stop"
    log["weighed"]["shoulder"] = "1800 g"
    said = do(batch(), do="judge", log=log)
    assert said["verdict"] != "stop" and said["warnings"] == [] and said["held"] is None


def test_every_weight_as_the_card_has_it_is_no_trouble():
    log = begin(batch())["log"]
    log["weighed"] = {row["id"]: row["text"] for row in log["amounts"]}
    said = do(batch(), do="judge", log=log)
    assert said["held"] is None and said["warnings"] == []


def test_a_dose_logged_over_a_limit_and_one_too_weak_are_warned_of():
    log = begin(batch())["log"]
    for weighed, part in (({"curing_salt": "54 g"}, "54.0 g is not what the card says"), ({"shoulder": "4 kg"}, "too little to cure")):
        said = do(batch(), do="judge", log={**log, "weighed": weighed})
        assert part in said["warnings"][0] and said["held"] is None


def test_the_rest_of_a_short_dose_is_never_added():
    log = begin(batch())["log"]
    mishap = do(batch(), do="mishap", kind="dose", log=log, stage="raw", weighed="2 g")["mishap"]
    assert mishap["code"] == "dose_weak" and mishap["more"] == []
    assert "add_rest" not in [one["id"] for one in mishap["todo"]]


def test_cooking_and_cooling_are_judged_by_minutes_whatever_the_clocks_do():
    # Over the night in which the clocks are put forward.
    log = begin(batch())["log"]
    at = 6 * 60 + 40  # 01:40 on the wall, twenty minutes before the jump
    for text, minutes in (("4 °C", 0), ("48 °C", 60), ("73 °C", 100)):
        read(log, "core", text, at + minutes)
    assert "Cooking: Fits" in read(log, "core", "73 °C", at + 102.5)["status"]
    log["times"]["out"] = later(at + 105)
    said = {}
    for text, minutes in (("60 °C", 120), ("30 °C", 150), ("20 °C", 180), ("10 °C", 240), ("3 °C", 330)):
        said = read(log, "cooling", text, at + minutes)
    assert "Cooling: Fits" in said["status"]


def test_a_batter_that_is_too_warm_is_said_at_its_step():
    log = begin(batch())["log"]
    said = read(log, "batter", "14 °C", 5)
    assert said["status"].startswith("14 °C is over 12 °C") and "Stop, chill it hard" in said["status"] and said["tone"] == "caution"
    # What is read once it was chilled is judged by itself; the place in the log keeps both.
    said = read(log, "batter", "8 °C", 35)
    assert said["status"].startswith("8 °C is under the 12 °C") and said["tone"] == "" and "14 °C" in said["sections"]["mixing"]
    # It never speaks in place of a stop.
    log["weighed"] = {"shoulder": "900 g"}
    said = read(log, "batter", "8 °C", 40)
    assert said["verdict"] == "stop" and "Put no curing salt in" in said["status"]


def test_while_it_cooks_what_is_to_be_done_is_said_first():
    log = begin(batch())["log"]
    read(log, "core", "4 °C", 0)
    assert read(log, "core", "65 °C", 60)["status"] == "It is not done. Keep cooking until the middle has been as hot, and for as long, as it must; nobody eats it yet. Cooking: not done."


def test_each_reading_is_asked_for_with_an_example_of_its_own():
    asks = [(one["what"], one["example"]) for card in begin(batch())["cards"] for one in card.get("readings", ())]
    assert dict(asks) == {"batter": "9 °C", "core": "76 °C", "cooling": "20 °C"}
    (fault,) = do(batch(), do="read", log=begin(batch())["log"], what="core", text="73", at=later(5), piece="")["faults"]
    assert fault["text"].endswith("for example 76 °C.")


def test_a_reading_written_down_late_stands_where_it_belongs():
    log = begin(batch())["log"]
    read(log, "core", "4 °C", 0)
    read(log, "core", "60 °C", 80)
    read(log, "core", "30 °C", 40)
    assert asked._run(log, "core") == "0 min 4 °C; 40 min 30 °C; 80 min 60 °C"


@pytest.mark.parametrize("what, text", [("core", "73"), ("core", "730 °C"), ("batter", "-80 °C"), ("weight", "2 l"), ("core", "")])
def test_a_reading_that_cannot_be_is_not_written_down(what, text):
    log = begin(batch())["log"]
    said = do(batch(), do="read", log=log, what=what, text=text, at=later(5), piece="")
    assert [one["field"] for one in said["faults"]] == ["reading"] and "reading" not in said


def plan(given: dict, log: dict, **texts: str) -> dict:
    return do(given, do="plan", log=log, plan=texts, now=NOW, **ZONE)


def test_the_plan_takes_what_the_card_knows_and_asks_for_the_rest():
    log = begin(batch())["log"]
    assert [one["field"] for one in plan(batch(), log, serve="2027-03-28T18:00")["faults"]] == ["cooking"]
    found = plan(batch(), log, serve="2027-03-28T18:00", served="cold", cooking="90-140 min")["plan"]
    events = {event["id"]: event for event in found["events"]}
    assert found["met"] and events["serve"]["at"] == {"utc": "2027-03-28T16:00Z", "wall": "2027-03-28T18:00", "offset": "+02:00", "twice": False}
    steps = [event["values"]["celsius"] for event in found["events"] if event["id"] == "cool_by"]
    assert steps == sorted(steps, reverse=True) and len(steps) >= 2


def test_a_form_says_what_it_assumes():
    for recipe in sorted(path.stem for path in RECIPES.glob("*.toml")):
        fields = do(batch(recipe, **CUTS.get(recipe, {})), do="plan_form")["fields"]
        for one in fields:
            assert one["label"] and one["hint"]
            assert one["assumed"] == "" or one["assumed"] in one["hint"]
    keys = {one["key"]: one["assumed"] for one in do(batch("back-bacon.1", thickness="45 mm"), do="plan_form")["fields"]}
    assert keys["cure"] == "13-19 d" and "cooking" not in keys


@pytest.mark.parametrize("recipe", sorted(CUTS))
def test_whole_cuts_are_planned_by_their_days(recipe):
    given = batch(recipe, **CUTS[recipe])
    log = begin(given)["log"]
    found = plan(given, log, cooking="3-5 h", cooling="4-8 h")
    assert "faults" not in found, found
    events = {event["id"]: event for event in found["plan"]["events"]}
    assert "cure" in events and "take_out" in events


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("kind", sorted(asked.MISHAP_FIELDS))
def test_every_mistake_has_an_answer_at_every_stage(kind, stage):
    typed = {"weighed": "8 g", "pack": "0.5 %", "minutes": "40 min", "celsius": "16 °C", "core": "48 °C", "since": "1 h", "still": "1 h"}
    for recipe, more in ((LOAF, {}), ("back-bacon.1", CUTS["back-bacon.1"])):
        given = batch(recipe, **more)
        said = do(given, do="mishap", kind=kind, log=begin(given)["log"], stage=stage, **typed)
        assert said["mishap"]["verdict_text"] and said["mishap"]["todo"] and said["mishap"]["sources"]


def test_what_is_missing_for_a_judgement_is_asked_for():
    log = begin(batch())["log"]
    for kind, field in (("dose", "stage"), ("warm_batter", "celsius"), ("forgot_cure", "stage")):
        assert do(batch(), do="mishap", kind=kind, log=log)["faults"][0]["field"] == field
    assert do(batch(), do="mishap", kind="wrong_pack", log=log, stage="raw", pack="")["mishap"]["code"] == "unknown_pack"


def test_an_uncured_batch_has_no_dose_to_get_wrong():
    given = {"page": "recipe", "recipe": "grey-pork-loaf.1", "fields": {}, "confirmed_packs": []}
    log = begin(given)["log"]
    assert do(given, do="mishap", kind="doubled", log=log, stage="raw")["faults"][0]["field"] == "kind"
    assert do(given, do="weigh", log=log, id=log["amounts"][0]["id"], text="1 kg")["judged"]["verdict"] == "fine"


def test_a_backup_names_what_it_leaves_out():
    log = begin(batch())["log"]
    own = {"whole": do(batch(), do="copy", log={**log, "next_time": "less {mace}"})["data"], "half": {"title": "Half of one"}}
    device = {"kitchen": {"pack": "6.25 %"}, "kitchens": {}, "drafts": {LOAF: {"link": "", "fields": {"meat": "1 kg", "pack_check": "6.25 %"}}}, "logs": [log], "own": own}
    made = do({}, do="backup", now=NOW, device=device)
    assert made["left_out"] == ["Half of one"] and "pack_check" not in made["text"]
    back = do({}, do="restore", text=made["text"])["device"]
    assert [one["log"] for one in back["logs"]] == [log] and back["drafts"] == {LOAF: {"meat": "1 kg"}} and back["own"] == [own["whole"]]


@example("plan", {"log": None, "amounts": None})
@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(asked.DONE)), st.recursive(st.none() | st.integers() | st.text(max_size=20), lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["log", "id", "text", "what", "at", "plan", "stage", "amounts", "readings"]), inner, max_size=4), max_leaves=12))
def test_a_log_that_is_none_is_refused_by_name(work, log):
    if work in ("begin", "plan_form", "backup", "restore", "import"):
        return
    fill_shelf()
    said = do(batch(), do=work, log=log, id="x", text="", what="core", at=BEGUN, kind="dose", plan={}, now=NOW, **ZONE)
    assert said["faults"] and all(one["text"] for one in said["faults"])


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=60))
def test_a_file_that_is_none_is_refused(text):
    fill_shelf()
    for work in ("import", "restore"):
        assert do({}, do=work, text=text)["faults"]


def test_every_kind_and_field_has_its_words():
    for kind, fields in asked.MISHAP_FIELDS.items():
        assert has(f"day.mishap.kind.{kind}")
        for field in fields:
            assert has(f"day.mishap.field.{field}") and has(f"day.mishap.hint.{field}")


def test_the_page_finds_every_word_that_it_asks_for():
    own = {name.removeprefix("day.page.") for name in catalogue("en") if name.startswith("day.page.")}
    shared = {name.removeprefix("script.") for name in catalogue("en") if name.startswith("script.")}
    scripts = {name: (RECIPES.parent / f"{name}.js").read_text(encoding="utf-8") for name in ("day", "dom", "logs", "timers")}
    wanted = {word for text in scripts.values() for word in re.findall(r'\bwords\.([a-z_]+)|\b(?:fill|words)\("([a-z_]+)"', text) for word in word if word}
    assert wanted <= own | shared, wanted - own - shared
    placed = set(re.findall(r'told\("([a-z_]+)"\)', (RECIPES.parents[1] / "py/curebatch/views/templates/page_day.html").read_text(encoding="utf-8")))
    said = set(re.findall(r'say\("day\.page\.([a-z_]+)"', inspect.getsource(asked)))
    # What was put aside is named by what it was: aside_batch, aside_logs.
    left = {word for word in own - wanted - placed - said if not word.startswith("aside_") and not any(f'"{word}"' in text for text in scripts.values())}
    assert left == set() and placed | said <= own


def test_every_piece_that_is_forecast_goes_in_at_its_own_time():
    given = batch(oven="fan_oven", oven_setting="130 °C", wall="metal", start_temperature="3 °C", tin="box 30 x 10 x 8 cm", tin_2="loaf 20 x 8 bottom 18 x 7 depth 6 cm")
    card = entry.card_of(entry.read(given), foretold=True)
    foretold = [row["minutes"] for row in card["forecast"]]
    assert len(foretold) == 2, card["about_forecast"]
    log = begin(given)["log"]
    (form,) = [one for one in do(given, do="plan_form")["fields"] if one["key"] == "cooking"]
    assert form["assumed"]
    events = plan(given, log, serve="2027-03-28T18:00", served="cold")["plan"]["events"]
    into = [event for event in events if event["id"] == "piece_in"]
    assert len(into) == 2 and into[0]["at"]["utc"] < into[1]["at"]["utc"]
    # The hold is within it, and what is typed goes before what is forecast.
    assert [event["minutes"] for event in into] == sorted((int(one["nominal"]) + 2 for one in foretold), reverse=True)
    assert len([1 for event in plan(given, log, serve="2027-03-28T18:00", cooking="90-100 min")["plan"]["events"] if event["id"] == "piece_in"]) == 1


def test_a_recipe_of_ones_own_is_begun_and_its_log_copied():
    data = data_of((RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8")) | {"id": "loaf-own", "title": "My loaf"}
    given = {"page": "own", "own": data, "fields": KITCHEN, "confirmed_packs": ["6.25 %"]}
    log = begin(given)["log"]
    assert log["recipe"] == "loaf-own.1" and log["title"] == "My loaf"
    copied = do(given, do="copy", log={**log, "notes": [{"at": BEGUN, "text": "two\nlines"}]})
    assert [step["text"] for step in copied["data"]["step"][:2]] == ["From the last batch: two", "From the last batch: lines"]
    assert curebatch_reads(copied["text"]) and copied["text"].startswith("# 2027-03-27: two\n")


def curebatch_reads(text: str) -> bool:
    recipe, faults = read_recipe(text, "copy.toml")
    return recipe is not None and not faults


def test_of_several_bowls_each_is_weighed():
    begun = begin(batch(bowl="2 kg"))
    (weigh,) = [one for one in begun["cards"] if one["kind"] == "weigh"]
    assert weigh["loads"] == 2 and begun["log"]["amounts"][0]["text"] == "900 g"
    assert do(batch(bowl="2 kg"), do="weigh", log=begun["log"], id="curing_salt", text=begun["cards"][2]["weigh"])["judged"]["code"] == "as_planned"


# ------------------------------------------------------------------ logs from files


def imported(log: dict) -> dict:
    said = do({}, do="import", text=json.dumps(log))
    assert "faults" not in said, said["faults"]
    assert said["log"] == log
    return said


def test_a_log_from_a_file_is_judged_again_from_its_own_link():
    log = begin(batch())["log"]
    said = imported(log)
    assert len(said["told"]) == 1 and "same weights" in said["told"][0] and not said["held"]


def dosed(log: dict, text: str) -> dict:
    return {**log, "amounts": [{**row, "text": text} if row["role"] == "curing_salt" else row for row in log["amounts"]]}


def test_a_tenfold_dose_in_a_file_is_not_believed():
    said = imported(dosed(begin(batch())["log"], "54 g"))
    assert said["held"] and "limit is" in said["told"][0] and "not those that its own link gives" in said["told"][1]
    # Nor is a line of curing salt in a batch that takes none.
    grey = begin({"page": "recipe", "recipe": "grey-pork-loaf.1", "fields": {}, "confirmed_packs": []})["log"]
    said = imported({**grey, "amounts": [*grey["amounts"], {"id": "curing_salt", "name": "Curing salt", "role": "curing_salt", "text": "5 g"}]})
    assert said["held"] and "Curing salt" in said["told"][0]


def test_the_logs_of_a_backup_are_believed_no_more():
    log = begin(batch())["log"]
    tenfold = {**dosed(log, "54 g"), "id": "other"}
    text = backup.write(NOW, "b", {}, {}, {}, [log, tenfold], {})
    whole, wrong = do({}, do="restore", text=text)["device"]["logs"]
    assert "same weights" in whole["told"][0] and not whole["held"]
    assert wrong["log"] == tenfold and wrong["held"] and "limit is" in wrong["told"][0]


def test_what_else_a_file_may_say_otherwise_is_named():
    log = begin(batch())["log"]
    first = log["amounts"][0]
    less = [{**first, "text": "1000 g"}, *log["amounts"][1:]]
    assert first["name"] in imported({**log, "amounts": less})["told"][0]
    assert "2020-01-01" in imported({**log, "amounts": less, "rules_edition": "2020-01-01"})["told"][0]
    assert "corned-brisket.1" in imported({**log, "recipe": "corned-brisket.1"})["told"][0]
    assert "Stop" in imported({**log, "verdict": "stop"})["told"][0]
    wrong = imported({**log, "weighed": {first["id"]: "500 g"}})
    assert "limit is" in wrong["told"][0]


def test_a_file_whose_link_stops_or_cannot_be_read_says_so():
    log = begin(batch())["log"]
    stopped = {**log, "link": "", "inputs": {**log["inputs"], "stated": "300 g"}}
    said = imported(stopped)
    assert said["held"] and "gives no weights" in said["told"][0]
    for strange in ({"link": log["link"][:-5]}, {"link": "", "recipe": "nowhere.1"}):
        said = imported({**log, **strange})
        assert "cannot be read here" in said["told"][0] and not said["held"]


def test_a_file_tells_no_weight_of_its_link():
    """Its pack was confirmed in another kitchen."""
    log = begin(batch(pack="0.9 %"))["log"]
    dose = next(row["text"] for row in log["amounts"] if row["role"] == "curing_salt")
    assert dose not in " ".join(imported(dosed(log, "1 g"))["told"])


def test_a_weight_that_is_almost_the_cards_is_told_with_the_digits_that_differ():
    log = begin(batch())["log"]
    (planned,) = [row["text"] for row in log["amounts"] if row["role"] == "curing_salt"]
    for off in ("4", "004"):
        typed = f"{planned.split(' ')[0]}{off} g"
        text = do(batch(), do="weigh", log=log, id="curing_salt", text=typed)["judged"]["text"]
        assert typed in text and planned in text, text


@pytest.mark.parametrize("read", ["18:30 next day", "18:30", "tomorrow 18:30"])
def test_an_hour_without_its_date_is_told_how_it_is_written(read):
    (wrong,) = do(batch(), do="plan", log=begin(batch())["log"], plan={"serve": read, "cooking": "90-100 min"}, now=NOW, **ZONE)["faults"]
    assert wrong["field"] == "serve" and read in wrong["text"] and "2027-03-28T18:00" in wrong["text"]
