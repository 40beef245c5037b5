"""Which tests prove which safety rule: a table for whoever changes something near one, and what no other test holds.

A rule is as its name says; `python3 build.py test tests/test_safety_rules.py` holds that every test
of the table is there, and the tests themselves run with all the others. Beside these stand mutation
testing (`python3 build.py mutants`), which changes the core on purpose, and the values of
tests/published/, each with its source.
"""

import ast
import json
import re
from functools import cache
from pathlib import Path

import pytest
from helpers.kitchens import RECIPES, card_for, fill_shelf

import curebatch
from curebatch import entry
from curebatch.fields import REGIONS
from curebatch.words import LANGUAGES, say, speaking

TESTS = Path(__file__).resolve().parent
REFS = sorted(path.stem for path in RECIPES.glob("*.toml"))
CURED = [ref for ref in REFS if not ref.startswith("grey")]

PROVED_BY = {
    "1 no curing salt without a stated percentage": [
        "test_safety_rules.py::test_without_a_pack_nothing_that_is_handed_out_names_a_dose", "test_no_unsafe_ok.py::test_no_card_passes_an_unsafe_batch", "test_card.py::test_without_a_pack_there_is_no_dose",
        "test_card.py::test_a_found_recipe_without_the_authors_strength_has_no_answer", "test_links.py::test_a_recipe_link_shows_no_dose_before_the_pack", "test_links.py::test_a_card_link_asks_for_the_pack_once",
        "test_handed_on.py::test_the_sheet_has_no_grams_of_curing_salt_without_a_strength", "test_terminal.py::test_no_line_of_text_bears_bare_grams_of_curing_salt", "pages/test_print.py::test_a_page_as_published_prints_its_sheet_with_targets_strengths_and_link",
    ],
    "2 two worst cases": [
        "test_batch.py::test_every_weight_and_every_share_of_a_solved_batch", "test_batch.py::test_a_stated_dose_and_its_shares", "test_cure.py::test_no_dose_passes_a_limit_at_its_high_end",
        "test_methods.py::test_every_method_stays_within_every_limit_recomputed", "test_batch.py::test_a_label_that_names_only_the_most_is_judged_at_its_most_and_relied_on_for_nothing",
        "test_three_temperatures.py::test_a_slow_way_is_open_only_on_the_low_end",
    ],
    "3 the largest weighable dose whose high end is within the limit": [
        "test_batch.py::test_the_dose_is_the_largest_that_every_ceiling_takes", "test_cure.py::test_the_largest_dose_that_fits_is_given", "test_cure.py::test_the_equations_hold", "test_card.py::test_a_tenfold_dose_stops_and_shows_no_dose",
        "test_hostile.py::test_a_stated_dose_is_printed_as_it_is_judged", "test_batch.py::test_not_even_one_step_is_no_dose",
    ],
    "4 rounding never crosses a limit, the scale counts for a step either way": [
        "test_rounding.py::test_steps_of_a_tenth", "test_rounding.py::test_a_scale_is_off_by_one_step_and_shows_its_own_decimals", "published/test_curing.py::test_a_limit_met_to_the_last_digit_is_not_reached",
        "test_no_unsafe_ok.py::test_no_card_passes_an_unsafe_batch", "test_methods.py::test_a_coarse_scale_gets_three_ways_out_each_with_its_error", "test_methods.py::test_a_pre_blend_stays_within_the_limits_at_its_own_worst",
        "test_methods.py::test_a_pump_that_the_scale_does_not_show_stops",
    ],
    "5 nothing is guessed: an error names the field, what was read and how to write it": [
        "test_numbers.py::test_refused", "test_units.py::test_what_is_no_amount_is_told_with_what_is_taken", "test_units.py::test_every_spelling_is_its_unit_and_its_size", "test_entries.py::test_a_quantity_is_taken_up_to_its_bounds_and_not_over_them",
        "test_reader.py::test_each_wrong_key_is_told_with_its_line_and_what_to_write", "test_packs.py::test_any_other_label_is_asked_about_with_every_reason", "test_card.py::test_a_confirmation_holds_for_its_own_label_alone",
        "test_links.py::test_a_link_cut_at_any_place_is_found_out", "test_links.py::test_a_link_altered_at_any_place_is_found_out", "test_hostile.py::test_typed_amounts_that_two_people_read_differently",
    ],
    "6 what is not covered is refused by name": [
        "test_methods.py::test_what_is_not_covered_is_refused_by_name", "test_entries.py::test_what_is_said_in_place_of_a_percentage_is_answered_by_name", "test_packs.py::test_over_ten_per_cent_is_no_kitchen_salt_however_it_is_counted",
        "test_hostile.py::test_meat_that_is_already_cured_is_refused_by_name", "test_hostile.py::test_no_salt_and_no_cure_hides_among_the_ingredients", "test_card.py::test_nitrate_is_refused_by_name",
        "test_methods.py::test_thick_and_bone_in_pieces_are_refused_with_a_way_out",
    ],
    "7 source and edition with every limit; nothing remembered lets a batch pass alone": [
        "test_safety_rules.py::test_every_limit_on_a_card_shows_its_source_and_edition", "test_safety_rules.py::test_every_page_says_who_decides_and_what_to_do_for_who_has_eaten_it", "test_card.py::test_messages_carry_sources_and_the_json_is_plain",
        "published/test_curing.py::test_every_limit_names_its_document", "test_limits.py::test_a_batch_answers_to_the_limits_of_its_place_method_and_cut", "test_hostile.py::test_a_rule_of_our_own_is_no_regions_limit",
    ],
    "8 a prediction never replaces a thermometer": [
        "test_safety_rules.py::test_every_card_of_a_cooked_batch_names_the_thermometer", "test_forecast_card.py::test_it_touches_no_verdict_and_no_weight", "test_three_temperatures.py::test_before_anything_is_cooked_the_dose_stands_and_nothing_is_claimed",
        "test_three_temperatures.py::test_a_lower_reading_or_a_worse_probe_is_never_better", "science/test_lethality_holds.py::test_against_an_integral_of_the_straight_lines", "published/test_lethality.py::test_appendix_a_row_by_row",
        "published/test_core.py::test_no_readings_are_ok_that_prove_too_little",
    ],
    "9 scaling changes no concentration, another pack neither nitrite nor salt": [
        "test_cure.py::test_doubling_the_meat_doubles_every_weight_and_no_concentration", "test_cure.py::test_another_pack_changes_neither_nitrite_nor_salt", "test_make_for.py::test_a_size_changes_no_concentration",
        "published/test_curing.py::test_the_same_cure_from_three_packs", "test_no_unsafe_ok.py::test_no_card_passes_an_unsafe_batch",
    ],
    "10 nothing wrong is set right by guessing": [
        "test_mishaps.py::test_nothing_over_a_limit_is_ever_fine_or_mended", "test_mishaps.py::test_more_than_double_is_not_mended", "test_mishaps.py::test_a_tenfold_dose_is_thrown_away_unless_no_meat_has_seen_it",
        "test_mishaps.py::test_whole_cuts_and_cooked_goods_over_a_limit_are_thrown_away", "test_mishaps.py::test_a_doubled_dose_in_raw_batter_is_mended_by_doubling_the_rest_and_no_further",
    ],
    "11 someone has eaten it: one touch away": [
        "test_safety_rules.py::test_every_page_says_who_decides_and_what_to_do_for_who_has_eaten_it", "test_safety_rules.py::test_every_stop_carries_the_help", "test_handed_on.py::test_every_notice_says_what_was_wrong_what_to_do_and_what_if_it_was_eaten",
        "test_handed_on.py::test_each_thing_said_of_someone_ill_has_its_source", "pages/test_offline.py::test_without_a_server_every_page_opens",
    ],
}  # fmt: skip


@cache
def names_in(file: str) -> set[str]:
    return {node.name for node in ast.parse((TESTS / file).read_bytes()).body if isinstance(node, ast.FunctionDef)}


def test_each_rule_has_its_tests_and_each_of_them_is_there():
    assert [int(rule.split(" ")[0]) for rule in PROVED_BY] == list(range(1, 12))
    for rule, names in PROVED_BY.items():
        for name in names:
            file, _, test = name.partition("::")
            # Inside the runtime the tests of pages do not lie at hand.
            assert not (TESTS / file).is_file() and file.startswith("pages/") or test in names_in(file), (rule, name)


# ------------------------------------------------------------------ what no other test holds

HANDED = ("sheet", "label", "text", "markdown", "snippet")


def answer(ref: str, want: tuple[str, ...] = ("all",), **fields: str) -> dict:
    fill_shelf()
    request = {"id": 1, "want": list(want), "input": {"page": "recipe", "recipe": ref, "fields": fields, "address": "https://example.org/"}}
    return json.loads(entry.answer(json.dumps(request)))


@pytest.mark.parametrize("ref", CURED)
@pytest.mark.parametrize("region", ["strictest", "us", "eu"])
def test_without_a_pack_nothing_that_is_handed_out_names_a_dose(ref, region):
    """Rule 1, for each recipe and region, in every form."""
    from curebatch.bare_grams import bare_grams

    got = answer(ref, region=region, fine_scale="0.1 g")
    card = got["card"]
    assert card["verdict"] == "incomplete" and card["cure"] is None and not {"curing_salt", "salt"} & {row["role"] for row in card["amounts"]}
    assert all(row["percent"] in row["text"] and row["percent"].endswith("%") for row in card["strengths"]) and card["strengths"]
    handed = answer(ref, HANDED, region=region, fine_scale="0.1 g")["handed"]
    assert set(handed) == set(HANDED)
    for form, text in handed.items():
        assert not bare_grams(json.dumps(text, ensure_ascii=False).replace("\\n", "\n")), form


@pytest.mark.parametrize("ref", CURED)
@pytest.mark.parametrize("region", REGIONS)
def test_every_limit_on_a_card_shows_its_source_and_edition(ref, region):
    """Rule 7: on the card, in its section and in its text."""
    got = answer(ref, region=region, pack="6.25 %", fine_scale="0.1 g")
    limits = got["card"]["cure"]["limits"]
    shown = "".join(got["sections"].values())
    assert any(limit["applies"] for limit in limits)
    for limit in limits:
        for part in ("document", "edition", "clause", "date_read"):
            assert limit[part] and limit[part] in limit["source_text"], (limit["id"], part)
        assert limit["sure_text"]
    assert got["card"]["rules_edition"] in shown
    for message in got["card"]["messages"]:
        assert message["source"], message["code"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_page_says_who_decides_and_what_to_do_for_who_has_eaten_it(language):
    """Rules 7 and 11, on each page as it is drawn."""
    fill_shelf()
    assets = dict.fromkeys(("style", "print", "early", "page", "plain", "own", "day", "embed", "frame"), "x")
    drawn = 0
    for page in json.loads(curebatch.pages()):
        if page["request"].get("language", LANGUAGES[0]) != language or not page["path"].endswith(".html") or "embed/" in page["path"]:
            continue
        text = curebatch.draw(json.dumps({**page["request"], "root": "../", "assets": assets, "parts": [], "build": "x", "canonical": None, "base": None}))
        text = re.sub(r'<a href="tel:[0-9]+">([0-9]+)</a>', r"\1", text)  # numbers to be called by touching them
        with speaking(language):
            for words in ("page.footer_law", "help.keep_1", "help.signs_1", "help.now_1"):
                assert say(words) in text, (page["path"], words)
        assert "data-help" in text, page["path"]
        drawn += 1
    assert drawn >= 8


STOPS = [{"pack": "12 %"}, {"pack": "6.25 %", "stated": "300 g"}, {"pack": "6.25 %", "pack_nitrate": "4 %"}, {"pack": "6.25 %", "meat": "20 g", "scale": "5 g"}]


@pytest.mark.parametrize("fields", STOPS)
@pytest.mark.parametrize("ref", CURED)
def test_every_stop_carries_the_help(ref, fields):
    """Rule 11: in the verdict's own section, in the text and on the sheet."""
    got = answer(ref, **fields)
    assert got["card"]["verdict"] == "stop"
    help_text = say("text.help")
    assert help_text in got["sections"]["verdict"]
    for form, handed in answer(ref, ("text", "sheet", "markdown"), **fields)["handed"].items():
        assert help_text.split("?")[0] in " ".join(json.dumps(handed, ensure_ascii=False).replace("\\n", " ").split()), form


@pytest.mark.parametrize("ref", REFS)
def test_every_card_of_a_cooked_batch_names_the_thermometer(ref):
    """Rule 8: whatever was foretold, a thermometer in the middle decides."""
    card = card_for(ref, pack="6.25 %", fine_scale="0.1 g", oven="still_oven", oven_setting="140 °C", start_temperature="4 °C")
    said = " ".join([card["verdict_text"], *(message["text"] for message in card["messages"]), *(part["text"] for part in card["handling"])])
    assert card["verdict"] in ("ok", "caution") and ("thermometer" in said.lower() or card["raw"])
