"""Units of the US: the same weights and verdicts, figures never milder, and what is shown reads back."""

import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings, strategies as st

from curebatch import entry, measures
from curebatch.intake.heat import read_temperature
from curebatch.intake.link import decode, encode
from curebatch.intake.numbers import Misread
from curebatch.intake.units import factor, read_amount, write_mass
from curebatch.views.text import card_text
from curebatch.words import LANGUAGES, catalogue

from .helpers.kitchens import card_for, fill_shelf

MASSES = ("mg", "g", "kg", "oz", "lb")
tenths = st.integers(-300, 1200).map(lambda number: Fraction(number, 10))
STEPS = {"g": ("5", "2", "1", "0.5", "0.1", "0.01"), "oz": ("0.25", "0.1", "0.05", "0.01", "0.005")}


def reads(text: str) -> Fraction:
    return read_temperature(text).value


@given(tenths, st.sampled_from(["up", "down"]))
def test_no_fahrenheit_is_milder_than_its_celsius(value, way):
    back = reads(measures.fahrenheit(value, way))
    # 62.8 °C is what the documents print for 145 °F.
    as_printed = measures.celsius(back) == measures.celsius(value)
    assert as_printed or (back >= value if way == "up" else back <= value)
    assert abs(back - value) <= Fraction(5, 9)


@given(tenths, st.sampled_from(["up", "down", "nearest"]), st.sampled_from(["metric", "us"]))
def test_a_temperature_that_is_shown_reads_back(value, way, units):
    with measures.in_units(units):
        shown = measures.degrees(value, way)
        assert measures.degrees(reads(shown), way) == shown
        both = f"{shown} ({measures.other_degrees(value, way)})"
        assert reads(both) == reads(shown)


@st.composite
def weights(draw):
    unit = draw(st.sampled_from(["g", "oz"]))
    step = Fraction(draw(st.sampled_from(STEPS[unit]))) * factor(unit)
    return step * draw(st.integers(1, 20_000)), unit, step


@given(weights(), st.booleans())
def test_a_weight_in_both_reads_back_as_what_the_scale_shows(weight, dosed):
    grams, unit, step = weight
    places = 3 if unit == "oz" else 2
    with measures.in_units("us"):
        shown = measures.dose(grams, unit, places, step) if dosed else measures.weighed(grams, unit, places)
    assert read_amount(shown, "mass", MASSES).value == grams


@given(weights())
def test_the_second_figure_of_a_dose_is_less_than_a_step_below_and_never_above(weight):
    grams, unit, step = weight
    with measures.in_units("us"):
        second = read_amount(measures.second_mass(grams, unit, step), "mass", MASSES).value
    # Both worst cases count a step of the scale either way: so far off, no limit is crossed.
    assert 0 <= grams - second < step


def test_two_amounts_that_are_not_the_same_are_refused():
    for text in ("4.1 g (0.3 oz)", "2 kg (4 lb)", "4.1 g (4.1 g)"):
        with pytest.raises(Misread) as wrong:
            read_amount(text, "mass", MASSES)
        assert wrong.value.code == "two_amounts"
    with pytest.raises(Misread):
        read_temperature("72 °C (72 °F)")
    assert read_temperature("-2 °C (28.4 °F)").value == -2
    for text in ("4.1 g (0.14", "4.1 g ()", "(4.1 g)"):
        with pytest.raises(Misread):
            read_amount(text, "mass", MASSES)


KITCHENS = [
    {"pack": "0.5 %"}, {"pack": "6.25 %", "scale": "0.05 oz"}, {"pack": "0.4-0.5 %", "fine_scale": "0.1 g", "meat": "5 lb"}, {"scale": "0.1 oz"},
    {"pack": "0.5 %", "region": "us", "oven": "still_oven", "oven_setting": "140 °C", "cover": "foil", "wall": "metal", "start_temperature": "4 °C", "chill": "fridge", "chill_setting": "4 °C"},
    {"pack": "0.5 %", "readings": "0 min 5 °C; 10 min 40 °C; 20 min 60 °C; 30 min 72 °C; 33 min 73.5 °C; 36 min 74 °C", "cooling_readings": "0 min out; 2 min 70 °C; 60 min 30 °C; 200 min 5 °C"},
]
RECIPES = ("pistachio-pork-loaf.1", "turkey-leek-breakfast-loaf.1", "grey-pork-loaf.1", "corned-brisket.1", "back-bacon.1", "picnic-ham.1")
_SHOWN = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?)(?:(?:-| to )(-?[0-9]+(?:\.[0-9]+)?))? °([CF])")


def in_celsius(text: str, both: str) -> list[Fraction]:
    """Every temperature of a text once; of one in both units that in the unit ``both``."""
    text = re.sub(r"(-?[0-9.]+ °[CF]) \((-?[0-9.]+ °[CF])\)", lambda pair: pair[1] if pair[1].endswith(both) else pair[2], text)
    numbers = [(number, unit) for low, high, unit in _SHOWN.findall(text) for number in (low, high) if number]
    return [reads(f"{number} °{unit}") for number, unit in numbers]


def pairs(metric, us, where=""):
    """The texts that stand in the same place of two cards."""
    if isinstance(metric, dict):
        for key in metric.keys() | us.keys():
            if (where, key) not in (("", "understood"), ("", "links")):
                yield from pairs(metric.get(key), us.get(key), f"{where}.{key}".lstrip("."))
    elif isinstance(metric, list):
        assert len(metric) == len(us), where
        for index, (one, other) in enumerate(zip(metric, us, strict=True)):
            yield from pairs(one, other, f"{where}.{index}")
    elif isinstance(metric, str):
        yield where, metric, us
    else:
        assert metric == us, where


@pytest.mark.parametrize("recipe", RECIPES)
@pytest.mark.parametrize("kitchen", KITCHENS, ids=range(len(KITCHENS)))
def test_a_card_in_us_units_weighs_and_judges_the_same(recipe, kitchen):
    if recipe in RECIPES[3:]:
        kitchen = {key: text for key, text in kitchen.items() if key not in ("meat",)} | {"thickness": "45 mm"}
    fill_shelf()
    metric, us = (entry.card_of(entry.read({"page": "recipe", "recipe": recipe, "fields": {**kitchen, "units": units}}), foretold=True) for units in ("metric", "us"))
    assert not metric["faults"] and metric["amounts"]
    for where, first, second in pairs(metric, us):
        if "weigh." in where and not where.endswith(".also"):
            assert first == second, where  # what the scale shows is what is judged
            continue
        colds = in_celsius(first, "°C")
        # In both units: the one that is not the metric card's.
        warms = in_celsius(second, "°F")
        assert len(colds) == len(warms), (where, first, second)
        for one, other in zip(colds, warms, strict=True):
            assert abs(one - other) <= Fraction(5, 9) + Fraction(1, 10) or "may be" in second, (where, first, second)
        alone = re.sub(r"\([^()]*°C\)|[0-9.-]+ °C \([^()]*°F\)", "", second)
        assert "°C" not in alone, (where, second)
    for first, second in zip(metric["cooking"], us["cooking"], strict=True):
        if first["target"]["read_text"]:
            assert reads(second["target"]["read_text"]) >= Fraction(str(first["target"]["read"])) - Fraction(1, 100)
    for row in us["amounts"]:
        if row["role"] in ("curing_salt", "phosphate", "accelerator"):
            assert row["weigh"]["also"] and row["weigh"]["also"] in row["note"]
            assert read_amount(f"{row['weigh']['text']} ({row['weigh']['also']})", "mass", MASSES).value == read_amount(row["weigh"]["text"], "mass", MASSES).value


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_temperature_of_the_catalogue_is_exact_or_as_the_documents_print_it(language):
    seen = 0
    for text in catalogue(language).values():
        if not re.search(r"[0-9] °C", text):
            continue
        with measures.in_units("us"):
            told = measures.of_words(text)
        assert not re.search("[0-9] °C", told), told
        colds, warms = (in_celsius(re.sub(r"(?<=[0-9]),(?=[0-9])", ".", one).replace(" bis ", " to ").replace(" auf ", " to "), unit) for one, unit in ((text, "°C"), (told, "°F")))
        for one, other in zip(colds, warms, strict=True):
            assert measures.celsius(one) == measures.celsius(other), text
            seen += 1
    assert seen > 30


def test_units_are_of_the_kitchen_and_travel_in_its_link_alone():
    fill_shelf()
    answer = json.loads(entry.answer(json.dumps({"id": 1, "input": {"page": "recipe", "recipe": RECIPES[0], "fields": {"units": "us", "pack": "0.5 %"}}, "want": ["all", "text", "sheet", "markdown", "label"]})))
    assert "units" not in decode(answer["links"]["recipe"])[0] and decode(answer["links"]["card"])[0]["units"] == "us"
    assert encode(decode(answer["links"]["card"])[0], kitchen=True) == answer["links"]["card"]
    for kind in ("text", "sheet", "markdown"):
        assert "164 °F (73 °C)" in answer["handed"][kind], kind
        assert "2.39 oz" in answer["handed"][kind], kind
    with_link = json.loads(entry.answer(json.dumps({"id": 2, "input": {"page": "recipe", "link": answer["links"]["card"]}, "want": ["all"]})))
    assert "°F" in with_link["sections"]["cooking"] and measures.are_us() is False


def test_the_terminal_writes_in_the_units_that_are_set(capsys):
    from curebatch.__main__ import main

    assert main(["card", RECIPES[0], "--recipes", str(Path(__file__).parents[1] / "site" / "recipes"), "--set", "units=us", "--set", "pack=0.5 %"]) == 0
    told = capsys.readouterr().out
    assert "162 °F (72 °C)" in told and "2.39 oz" in told


def test_drawings_have_their_scale_in_the_same_unit():
    fields = {**KITCHENS[-1], "units": "us"}
    fill_shelf()
    sections = json.loads(entry.answer(json.dumps({"id": 1, "input": {"page": "recipe", "recipe": RECIPES[0], "fields": fields}, "want": ["all"]})))["sections"]
    drawn = re.findall(r"<svg class=\"heat-plot.*?</svg>", sections["cooking"] + sections["cooling"], re.DOTALL)
    assert drawn
    for one in drawn:
        assert ">°F</text>" in one and "°C" not in re.sub(r"\([^()]*°C\)", "", one)


def test_metric_cards_keep_to_one_unit_but_for_the_core():
    made = card_for(pack="0.5 %")
    told = re.sub(r"[0-9.]+ °C \([0-9.]+ °F\)", "", card_text(made))
    assert "°F" not in told and " oz" not in told.replace("1/4 oz to", "")
    assert made["cooking"][0]["target"]["read_text"] == "73 °C (164 °F)"


@settings(max_examples=60)
@given(st.fractions(Fraction(1, 10), Fraction(20_000), max_denominator=1000))
def test_a_mass_that_no_scale_is_asked_for_reads_back(grams):
    with measures.in_units("us"):
        for shown in (measures.mass(grams), measures.small_mass(grams)):
            assert write_mass(read_amount(shown, "mass", MASSES).value, "oz", 1 if grams >= 10 * factor("oz") else 2) == shown
