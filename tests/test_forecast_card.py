"""The forecast on the card: asked for by name, corrected by readings, of no weight for any verdict."""

import json
import re
from xml.etree import ElementTree

import pytest
from helpers.kitchens import LOAF, fill_shelf
from hypothesis import given, settings, strategies as st

import curebatch
from curebatch import entry
from curebatch.__main__ import main
from curebatch.intake.learnt import mark_of, read_learnt, write_learnt
from curebatch.science import forecast as science
from curebatch.stages import forecast as stage
from curebatch.views.html import sections

KITCHEN = {"pack": "6.25 %", "fine_scale": "0.01 g", "oven": "still_oven", "oven_setting": "140 °C", "cover": "open", "wall": "metal", "start_temperature": "4 °C", "chill": "iced_water"}
POT = {**KITCHEN, "oven": "poaching", "oven_setting": "82 °C", "thickness": "70 mm"}
SIX = {
    "pistachio-pork-loaf": KITCHEN, "grey-pork-loaf": KITCHEN | {"tin": "box 30 x 10 x 8 cm"}, "turkey-leek-breakfast-loaf": KITCHEN | {"tin": "box 30 x 10 x 8 cm"},
    "corned-brisket": POT, "back-bacon": POT, "picnic-ham": POT,
}
TWO = {"tin": "box 30 x 10 x 8 cm", "tin_2": "box 12 x 8 x 6 cm"}


def answer(*want, recipe=LOAF, **fields):
    fill_shelf()
    fields = {key: text for key, text in {**KITCHEN, **fields}.items() if text}
    return json.loads(curebatch.answer(json.dumps({"id": 1, "input": {"page": "recipe", "recipe": recipe, "fields": fields}, "want": list(want)})))


def card(**fields):
    return answer("all", **fields)["card"]


def piece(**fields):
    (found,) = card(**fields)["forecast"]
    return found


# ------------------------------------------------------------------ the six recipes


@pytest.mark.parametrize("name", SIX)
def test_each_recipe_carries_forecast_and_curve_for_each_piece(name, capsys):
    fill_shelf()
    main(["card", name, "--json", *(part for key, text in SIX[name].items() for part in ("--set", f"{key}={text}"))])
    made = json.loads(capsys.readouterr().out)
    assert made["faults"] == [] and made["forecast"], made["about_forecast"]
    for one in made["forecast"]:
        low, nominal, high = (one["minutes"][end] for end in ("low", "nominal", "high"))
        assert 0 < low < nominal < high
        assert all(row[1] <= row[2] <= row[3] for row in one["curve"]) and one["curve"][0][2] == pytest.approx(4, abs=0.1)
        # The curve goes through the target where the minutes say so.
        before = max(row for row in one["curve"] if row[0] <= nominal)
        after = min(row for row in one["curve"] if row[0] >= nominal)
        assert before[2] - 0.1 <= one["target"] <= after[2] + 0.1
        assert one["reasons"] and one["cooling"]["curve"] and one["cooling"]["options"]
        assert one["target"] >= made["cooking"][0]["target"]["core"]


def test_the_end_of_the_range_is_that_of_its_reasons():
    one = piece()
    wide = sum(reason["later"] ** 2 for reason in one["reasons"]) ** 0.5
    assert one["minutes"]["high"] - one["minutes"]["nominal"] == pytest.approx(wide, rel=0.05)


def test_what_is_bigger_or_cooler_takes_longer():
    one = piece()
    assert one["warmer_min"] < one["minutes"]["nominal"] < one["cooler_min"] and one["bigger_min"] > one["minutes"]["nominal"]
    hotter = piece(oven_setting="150 °C")
    assert hotter["minutes"]["nominal"] == pytest.approx(one["warmer_min"], abs=0.2)
    assert piece(oven="fan_oven")["minutes"]["nominal"] < one["minutes"]["nominal"] < piece(cover="wet")["minutes"]["nominal"]


def test_the_forecast_is_of_the_tins_as_they_are_filled():
    half, whole = piece(meat="2 kg", tin="2 x box 30 x 10 x 8 cm"), piece(tin="2 x box 30 x 10 x 8 cm")
    assert half["sizes_cm"][2] < whole["sizes_cm"][2] and half["minutes"]["nominal"] < whole["minutes"]["nominal"]
    assert whole["sizes_cm"][:2] == [30, 10]
    roll = piece(tin="4 x casing diameter 6 x 40 cm", cover="", wall="", oven="stirred_bath", oven_setting="80 °C")
    assert roll["shape"] == "roll" and roll["sizes_cm"][0] == 6


def test_a_loaf_is_the_straight_block_that_holds_as_much():
    one = piece()
    made = card()
    length, width, height = one["sizes_cm"]
    assert length * width * height == pytest.approx(made["tins"][0]["grams"] / float(re.search(r"[0-9.]+", made["about_tins"]["density_text"])[0]), rel=0.01)


# ------------------------------------------------------------------ what is missing is asked for


@pytest.mark.parametrize("gone", ["oven", "oven_setting", "cover", "wall", "start_temperature"])
def test_what_is_missing_is_asked_for_by_name_and_never_guessed(gone):
    # The recipe says that its tins are open.
    recipe = LOAF if gone != "cover" else "corned-brisket.1"
    made = card(**{gone: ""}, recipe=recipe, **({"thickness": "70 mm"} if gone == "cover" else {}))
    assert made["forecast"] == [] and made["about_forecast"]["needs"] == [gone]
    assert curebatch.words.say(f"forecast.needs.{gone}") in made["about_forecast"]["ask_text"]


def test_without_an_oven_a_sentence_says_what_to_fill_in():
    made = answer("forecast", oven="", oven_setting="", start_temperature="")
    assert "what it is heated in" in made["sections"]["forecast"] and "<svg" not in made["sections"]["forecast"]


def test_a_cut_is_asked_for_its_thickness_and_says_what_it_was_taken_for():
    assert card(recipe="corned-brisket.1")["about_forecast"]["needs"] == ["thickness"]
    made = card(recipe="corned-brisket.1", **POT)
    assert "Taken as a block" in made["forecast"][0]["shape_text"] and "no tin" in made["about_forecast"]["around_text"]
    assert "Taken as a roll" in piece(recipe="picnic-ham.1", **POT | {"thickness": "150 mm"})["shape_text"]
    assert "cannot be 240 mm" in card(recipe="picnic-ham.1", thickness="240 mm")["about_forecast"]["ask_text"]


# ------------------------------------------------------------------ bad input


@pytest.mark.parametrize(
    "fields, text",
    [
        ({"oven": "poaching", "oven_setting": "60 °C", "start_temperature": "65 °C"}, "heats no further than 60 °C"),
        ({"start_temperature": "150 °C"}, "The temperature at the start was read as 150 °C. Write one from -1 °C"),
        ({"start_temperature": "-8 °C"}, "it may hold ice"),
        ({"start_temperature": "80 °C"}, "there is nothing to heat"),
        ({"cover": "wet", "oven_setting": "75 °C"}, "Never reaches 73 °C: the surface stays at 5"),
        ({"oven_setting": "390 °C"}, "The setting was read as 390 °C. Write one from 60 °C to 260 °C"),
        ({"tin": "casing diameter 41 x 43 cm", "meat": "44 kg"}, "The diameter was read as 41 cm"),
    ],
)
def test_what_cannot_be_foretold_is_a_plain_sentence(fields, text):
    made = card(**fields)
    told = [made["about_forecast"]["ask_text"], *(one["none_text"] for one in made["forecast"])]
    assert any(text in one for one in told), told
    assert all(one["curve"] == [] and one["minutes"] is None for one in made["forecast"])
    assert text in sections(made, keys=("forecast",))["forecast"]


@pytest.mark.parametrize(
    "fields, key, text",
    [
        ({"tin": "box 30 x 10 x 0.2 cm"}, "tin", "2 mm cannot be the depth"),
        ({"oven_setting": "5000 °C"}, "oven_setting", "more than this can be"),
        ({"oven_setting": "140"}, "oven_setting", "unit"),
        ({"oven": "campfire"}, "oven", "still_oven"),
        ({"readings": "0 min 4 °C; 20 min 170 °C"}, "readings", "170 °C"),
        ({"oven_learnt": "quick"}, "oven_learnt", "not what a card gave"),
        ({"oven_learnt": "still_oven: 9.04 x (0.05), +2.5 °C (1.8), 3f9a12c0"}, "oven_learnt", "not what a card gave"),
        ({"wanted": "30 h"}, "wanted", "more than this can be"),
    ],
)
def test_what_cannot_be_read_is_a_fault_of_its_field(fields, key, text):
    (wrong,) = answer("all", **fields)["faults"]
    assert wrong["field"] == key and text in wrong["text"]


def test_no_forecast_is_given_to_a_target_that_is_not_safe():
    made = card(core="50 °C")
    assert made["forecast"] == [] and "not safe" in made["about_forecast"]["ask_text"]


# ------------------------------------------------------------------ the thermometer corrects it


def core_at(curve, minute):
    for one, two in zip(curve, curve[1:]):
        if one[0] <= minute <= two[0]:
            return one[2] + (two[2] - one[2]) * (minute - one[0]) / (two[0] - one[0])
    raise AssertionError(f"the curve ends before {minute} min")


def history(plan, minutes, slower=1.0, **changed):
    """Readings of a piece that follows ``slower`` times as slowly: the same curve, stretched in time."""
    rows = [(minute, core_at(plan["curve"], minute / slower)) for minute in minutes]
    return "; ".join(f"{minute} min {changed.get(f'at_{minute}', round(core, 1))} °C" for minute, core in rows)


@pytest.mark.parametrize("slower", [0.9, 1.0, 1.12])
def test_readings_bring_the_end_nearer_to_the_truth(slower):
    plan = piece()
    truth = slower * plan["minutes"]["nominal"]
    one = piece(readings=history(plan, range(0, 61, 10), slower))
    fitted = one["corrected"]
    assert fitted["minutes"]["nominal"] == pytest.approx(truth, rel=0.05) and fitted["minutes"]["low"] < truth < fitted["minutes"]["high"]
    assert fitted["minutes"]["high"] - fitted["minutes"]["low"] < plan["minutes"]["high"] - plan["minutes"]["low"]
    assert fitted["odd"] == [] and fitted["left"] == pytest.approx(fitted["minutes"]["nominal"] - 60, abs=0.2)
    assert one["picture"]["readings"][-1][0] == 60


def test_readings_that_do_not_begin_at_nought_count_from_going_in():
    plan = piece()
    late, early = (piece(readings=history(plan, minutes, 1.12))["corrected"]["minutes"]["nominal"] for minutes in (range(30, 71, 10), range(0, 71, 10)))
    assert late == pytest.approx(early, rel=0.03)


def test_by_the_clock_the_first_reading_is_that_of_going_in():
    late = piece(readings="10:05 30 °C; 10:20 41 °C; 10:40 55 °C")
    assert late["corrected"]["minutes"] is None and "begin at 30 °C" in late["corrected"]["text"]


def test_a_mistyped_reading_is_named_and_counts_for_little():
    plan = piece()
    right = history(plan, range(0, 71, 10))
    wrong = history(plan, range(0, 71, 10), at_50=core_at(plan["curve"], 50) + 9)
    fitted, other = (piece(readings=text)["corrected"] for text in (wrong, right))
    assert [odd["minute"] for odd in fitted["odd"]] == [50] and other["odd"] == []
    assert fitted["minutes"]["nominal"] == pytest.approx(other["minutes"]["nominal"], rel=0.03)
    assert any("does not fit the others" in note for note in fitted["notes"])


def test_a_probe_that_reads_the_tin_tells_no_end():
    fitted = piece(readings="0 min 4 °C; 10 min 38 °C; 20 min 52 °C; 30 min 61 °C; 40 min 67 °C")["corrected"]
    assert "probe_at_surface" in fitted["codes"] and fitted["minutes"] is None and fitted["word_text"] == ""
    assert any("touch the tin" in note for note in fitted["notes"])


@pytest.mark.parametrize("wanted, word", [("300 min", "turn_down"), ("105 min", "fine"), ("70 min", "late")])
def test_the_plan_has_its_word_where_an_hour_is_wanted(wanted, word):
    one = piece(wanted=wanted, readings=history(piece(), range(0, 61, 10)))
    assert one["corrected"]["word"] == word and one["corrected"]["word_text"] and one["setting"] is None


def test_a_wanted_hour_is_met_by_the_setting_that_is_named():
    found = piece(wanted="2 h")["setting"]
    assert found["code"] == "found"
    assert piece(oven_setting=f"{found['setting']} °C")["minutes"]["nominal"] == pytest.approx(120, abs=0.5)
    assert piece(wanted="30 min")["setting"]["code"] == "too_slow" and piece(wanted="9 h")["setting"]["code"] == "too_quick"


def test_what_was_learnt_serves_the_next_piece_and_never_twice_the_same():
    plan = piece()
    readings = history(plan, range(0, 91, 10), 1.12)
    taught = card(readings=readings)
    line = taught["about_forecast"]["oven_learnt"]
    kept = card(readings=readings, oven_learnt=line)
    assert kept["about_forecast"]["kept"] and kept["about_forecast"]["oven_learnt"] == line
    assert kept["forecast"] == taught["forecast"]
    again = piece(oven_learnt=line)
    assert again["minutes"]["nominal"] == pytest.approx(1.12 * plan["minutes"]["nominal"], rel=0.04)
    narrow, wide = ((one["high"] - one["low"]) / one["nominal"] for one in (again["minutes"], plan["minutes"]))
    assert narrow < wide
    other = card(oven="fan_oven", oven_learnt=line)
    assert other["forecast"] == card(oven="fan_oven")["forecast"] and "another kind of oven" in other["about_forecast"]["notes"][-1]


def test_readings_that_do_not_fit_teach_nothing():
    assert card(readings="0 min 4 °C; 10 min 38 °C; 20 min 52 °C; 30 min 61 °C; 40 min 67 °C")["about_forecast"]["oven_learnt"] == ""


@given(st.floats(0.31, 2.99), st.floats(-59, 59), st.floats(0, 0.99), st.floats(0, 59), st.text(max_size=40))
def test_what_was_learnt_reads_back(rate, offset, rate_sd, offset_sd, readings):
    written = write_learnt("steam", rate, offset, rate_sd, offset_sd, mark_of(readings))
    assert read_learnt(written.text) == written


# ------------------------------------------------------------------ several at once, and cooling


def test_pieces_of_different_size_go_in_so_that_they_are_ready_together():
    made = card(**TWO)
    ends = [one["minutes"]["nominal"] for one in made["forecast"]]
    rows = made["about_forecast"]["together"]["rows"]
    assert [row["goes_in"] + end for row, end in zip(rows, ends, strict=True)] == pytest.approx([max(ends)] * 2, abs=0.2)
    assert {"company_slows", "door_opened", "check_each"} == set(made["about_forecast"]["together"]["codes"]) and all(row["crowded"] > 0 for row in rows)
    assert card(tin="box 30 x 10 x 8 cm")["about_forecast"]["together"] is None


def test_two_tins_filled_alike_are_worked_out_once():
    science.forecast.cache_clear()
    made = card()
    assert made["forecast"][0]["count"] == 2 and science.forecast.cache_info().misses == 1
    assert "company_slows" in made["about_forecast"]["together"]["codes"]


def test_cooling_says_which_ways_will_be_met_before_the_bath_is_chosen():
    codes = {chill: {way["id"]: way["code"] for way in piece(chill=chill, chill_setting=setting)["cooling"]["options"]} for chill, setting in (("iced_water", ""), ("fridge", "4 °C"))}
    assert set(codes["iced_water"].values()) == {"met"} and set(codes["fridge"].values()) == {"missed"}
    assert piece(chill="")["cooling"] is None
    assert card(chill="fridge")["about_forecast"]["needs"] == ["chill_setting"]
    assert "The setting was read as 30 °C" in piece(chill="fridge", chill_setting="30 °C")["cooling"]["none_text"]
    assert "does not get down to" in piece(chill="room_air", chill_setting="22 °C")["cooling"]["options"][0]["text"]


# ------------------------------------------------------------------ its part of an answer


@pytest.mark.parametrize("want", ["weights", "rest"])
def test_it_is_worked_out_in_no_other_part(want, monkeypatch):
    monkeypatch.setattr(stage, "tell", lambda *given: pytest.fail("worked out"))
    assert "forecast" not in answer(want)["sections"]


def test_its_own_part_holds_it_alone_and_all_holds_it_too():
    made = answer("forecast")
    assert set(made["sections"]) == {"forecast"} and made["sections"]["forecast"].count("<svg") == 2
    assert answer("all")["sections"]["forecast"] == made["sections"]["forecast"]
    assert answer("weights", "rest", "forecast")["sections"].keys() == answer("all")["sections"].keys()


def test_it_stays_in_the_kitchen():
    links = answer("weights", wanted="2 h")["links"]
    for key in ("oven", "oven_setting", "cover", "wall", "start_temperature", "wanted", "chill"):
        assert f"&{key}=" not in links["recipe"] and f"&{key}=" in links["card"]


def test_its_drawings_are_well_formed_and_tell_what_they_show():
    found = re.findall(r"<svg.*?</svg>", answer("forecast", readings=history(piece(), range(0, 41, 10)))["sections"]["forecast"])
    assert len(found) == 2
    for drawing in found:
        tree = ElementTree.fromstring(drawing)
        name = "{http://www.w3.org/2000/svg}"
        assert tree.find(f"{name}title").text and re.search("[0-9] °C", tree.find(f"{name}desc").text)
        assert "style=" not in drawing and "nan" not in drawing and "inf" not in drawing
    core = ElementTree.fromstring(found[0])
    assert len(core.findall(f"{name}circle")) == 5 and core.find(f"{name}polygon") is not None


@settings(max_examples=12)
@given(
    st.sampled_from([*SIX]), st.sampled_from(["still_oven", "steam", "poaching"]), st.integers(50, 200),
    st.sampled_from(["", "0 min 4 °C; 20 min 20 °C; 40 min 45 °C", "0 min 4 °C; 30 min 60 °C; 60 min 74 °C; 70 min 76 °C"]), st.sampled_from(["6.25 %", ""]),
)
def test_it_touches_no_verdict_and_no_weight(name, oven, setting, readings, pack):
    fill_shelf()
    own = {**SIX[name], "oven": oven, "oven_setting": f"{setting} °C", "readings": readings, "pack": pack}
    reading = entry.read({"page": "recipe", "recipe": f"{name}.1", "fields": {key: text for key, text in own.items() if text}})
    told, silent = (entry.card_of(reading, foretold=foretold) for foretold in (True, False))
    for made in (told, silent):
        made.pop("forecast"), made.pop("about_forecast")
    assert told == silent
    bare = {key: text for key, text in own.items() if text and key not in ("oven", "oven_setting", "cover", "wall", "start_temperature", "chill")}
    other = entry.card_of(entry.read({"page": "recipe", "recipe": f"{name}.1", "fields": bare}))
    assert {key: told[key] for key in ("verdict", "verdicts", "messages", "amounts", "cooking", "cooling")} == {key: other[key] for key in ("verdict", "verdicts", "messages", "amounts", "cooking", "cooling")}


# ------------------------------------------------------------------ turned on the way


def test_an_oven_turned_down_on_the_way_takes_longer_and_is_told():
    made = card(oven_changes="60 min 115 °C")
    plain, hotter = piece(), piece(oven_changes="40 min 120 °C; 60 min 180 °C")
    assert plain["minutes"]["nominal"] < made["forecast"][0]["minutes"]["nominal"] < piece(oven_setting="115 °C")["minutes"]["nominal"]
    assert "115 °C after 60 min" in made["about_forecast"]["around_text"] and hotter["minutes"]["nominal"] < plain["minutes"]["nominal"]
    # Changed back to what it was is no change.
    assert piece(oven_changes="60 min 140 °C")["minutes"]["nominal"] == pytest.approx(plain["minutes"]["nominal"], abs=0.2)


def test_the_turn_that_the_card_advises_meets_the_hour():
    plan = piece()
    readings = history(plan, range(0, 61, 10))
    advised = piece(readings=readings, wanted="2 h")["corrected"]
    assert advised["word"] == "turn_down"
    turned = piece(readings=readings, wanted="2 h", oven_changes=f"60 min {advised['setting']} °C")["corrected"]
    assert turned["word"] == "fine" and turned["minutes"]["nominal"] == pytest.approx(120, abs=3)


@pytest.mark.parametrize("typed, text", [("11:30 120 °C", "minutes from going in"), ("60 min 120 °C; 40 min 100 °C", "earlier"), ("60 min 120", "unit"), ("hot", "hot")])
def test_a_turn_that_cannot_be_read_is_a_fault_of_its_field(typed, text):
    (wrong,) = answer("all", oven_changes=typed)["faults"]
    assert wrong["field"] == "oven_changes" and text in wrong["text"]


def test_a_turn_beyond_the_oven_is_a_plain_sentence():
    assert "The setting was read as 300 °C" in piece(oven_changes="60 min 300 °C")["none_text"]
