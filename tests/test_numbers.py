"""What people type: read, or refused with a way to write it; never guessed at."""

from fractions import Fraction

import pytest
from hypothesis import given, strategies as st

from curebatch.fields import FIELDS
from curebatch.intake.entries import read_entries
from curebatch.intake.numbers import Misread, plain, show, spell
from curebatch.intake.units import read_amount, write_mass

MASS = ("g", "kg", "oz", "lb")


@pytest.mark.parametrize(
    "typed, dimension, units, value",
    [
        ("2.5 kg", "mass", MASS, "2500"),
        ("2,5 kg", "mass", MASS, "2500"),
        (" 2,5\u00a0kg ", "mass", MASS, "2500"),
        ("2 lb 3 oz", "mass", MASS, "992.233309375"),  # international pound, 453.59237 g exactly
        ("5lb 3oz", "mass", MASS, "2353.010419375"),
        ("1 1/2 tsp", "spoon", ("tsp",), "1.5"),
        ("½ tsp", "spoon", ("tsp",), "0.5"),
        ("1½ tsp", "spoon", ("tsp",), "1.5"),
        ("0.125 kg", "mass", MASS, "125"),
        ("12 °C", "temperature", ("°C", "°F"), "12"),
        ("156 ppm", "share", ("mg/kg", "ppm"), "0.000156"),
        ("120 mg/kg", "share", ("mg/kg", "ppm"), "0.00012"),
        ("120mg/kg", "share", ("mg/kg", "ppm"), "0.00012"),
    ],
)
def test_read(typed, dimension, units, value):
    assert read_amount(typed, dimension, units).value == Fraction(value)


def test_fahrenheit_is_exact():
    assert read_amount("54 F", "temperature", ("°C", "°F")).value == Fraction(110, 9)


@pytest.mark.parametrize("typed", ["0.4-0.5 %", "0,4 – 0,5 %", "0.4 % - 0.5 %", "0.4 to 0.5%"])
def test_ranges(typed):
    label = read_amount(typed, "share", ("%",), range_allowed=True)
    assert (label.low, label.high, label.text, label.turned) == (Fraction("0.004"), Fraction("0.005"), "0.4-0.5 %", False)


def test_a_range_upside_down_is_marked():
    label = read_amount("0.5-0.4 %", "share", ("%",), range_allowed=True)
    assert label.turned and label.low < label.high


@pytest.mark.parametrize(
    "typed, code",
    [
        ("1,500 g", "ambiguous"), ("1.500 g", "ambiguous"), ("", "empty"), ("   ", "empty"), ("5", "bare_number"),
        ("5 mg/kg", "wrong_unit"), ("5 °C", "wrong_unit"), ("5 furlong", "unknown_unit"), ("nan", "not_a_number"), ("inf g", "not_a_number"),
        ("1e400", "not_a_number"), ("1e3 g", "not_a_number"), ("9**9**9", "not_a_number"), ("２ kg", "not_a_number"), ("-3 kg", "negative"),
        ("−3 kg", "negative"), ("1 500 g", "blank_in_number"), ("1'500 g", "not_a_number"), ("1/0 kg", "fraction"), ("3 3/2 kg", "fraction"),
        ("1.234,5 g", "blank_in_number"), ("2 lb 17 oz", "pounds_ounces"), ("1.5 lb 2 oz", "pounds_ounces"), ("12 g 3 g", "not_a_number"),
        ("2-3 g", "no_range"), ("1-2-3 g", "not_a_number"), ("9" * 20 + " g", "too_long"), ("g" * 100, "too_long"), ("٣ kg", "not_a_number"),
        ("0x10 g", "not_a_number"), ("1_000 g", "not_a_number"), ("$5", "not_a_number"), ("1 kg; drop", "unknown_unit"),
    ],
)
def test_refused(typed, code):
    with pytest.raises(Misread) as caught:
        read_amount(typed, "mass", MASS)
    assert caught.value.code == code or code == "not_a_number" and caught.value.code in ("unknown_unit", "blank_in_number")


def test_all_faults_are_reported_together_with_what_to_write():
    values, faults = read_entries({"pack": "7", "meat": "1,500 g", "scale": "0 g", "nonsense": "1", "salt": "90 %", "region": "moon"})
    assert values == {}
    assert [fault.field for fault in faults] == ["nonsense", "meat", "salt", "region", "pack", "scale"]
    by_field = {fault.field: fault for fault in faults}
    assert "1500" in by_field["meat"].text and "1.5" in by_field["meat"].text
    assert "6.25 %" in by_field["pack"].text
    for fault in faults:
        assert fault.read in fault.text or fault.code == "unknown_key"


@pytest.mark.parametrize(
    "typed, code",
    [("contains nitrite", "pack_without_figure"), ("curing salt E 250", "pack_without_figure"), ("saltpetre", "saltpetre"), ("celery powder", "vegetable_cure"), ("0 %", "zero"), ("120 %", "too_large")],
)
def test_packs_that_are_not_guessed_at(typed, code):
    _, (fault,) = read_entries({"pack": typed})
    assert fault.code == code


@given(st.fractions(min_value=0, max_value=10**6, max_denominator=10**4), st.integers(0, 6))
def test_what_is_shown_reads_back(value, places):
    for way in ("nearest", "up", "down"):
        text = show(value, places, way)
        ((number, unit),) = spell(text).parts
        assert unit == "" and abs(number - value) <= Fraction(1, 10**places)
        assert {"up": number >= value, "down": number <= value, "nearest": abs(number - value) * 2 <= Fraction(1, 10**places)}[way]


@given(st.integers(0, 10**9 - 1), st.integers(0, 9))
def test_plain_is_exact(digits, places):
    value = Fraction(digits, 10**places)
    ((number, _),) = spell(plain(value)).parts
    assert number == value


@given(st.integers(0, 10**6), st.sampled_from(["g", "kg", "oz", "lb"]), st.integers(0, 3))
def test_a_written_mass_reads_back_and_is_written_the_same(steps, unit, places):
    from curebatch.intake.units import factor

    grams = Fraction(steps, 10**places) * factor(unit)
    text = write_mass(grams, unit, places)
    again = read_amount(text, "mass", MASS).value
    assert again == grams
    assert write_mass(again, unit, places) == text


@given(st.text(max_size=80))
def test_no_text_breaks_the_reader(text):
    for field in FIELDS:
        if field.is_quantity:
            values, faults = read_entries({field.key: text})
            assert len(values) + len(faults) <= 1


@given(st.decimals("0.001", "999999", places=3), st.sampled_from(MASS))
def test_comma_and_point_read_alike(number, unit):
    text = f"{number:f}"
    outcomes = []
    for typed in (text, text.replace(".", ",")):
        try:
            outcomes.append(read_amount(f"{typed} {unit}", "mass", MASS).value)
        except Misread as error:
            outcomes.append(error.code)
    assert outcomes[0] == outcomes[1]
