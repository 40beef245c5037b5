"""What people type: read, or refused with a way to write it; never guessed at."""

from fractions import Fraction

import pytest
from hypothesis import given, strategies as st

from curebatch.fields import FIELDS
from curebatch.intake.entries import read_entries
from curebatch.intake.numbers import Misread, plain, show, spell, tidy
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


# ------------------------------------------------------------------ the grammar, to its edges


def parts(text: str):
    return spell(text).parts


@pytest.mark.parametrize("sign, value", [("¼", "1/4"), ("½", "1/2"), ("¾", "3/4"), ("⅓", "1/3"), ("⅔", "2/3"), ("⅛", "1/8"), ("⅜", "3/8"), ("⅝", "5/8"), ("⅞", "7/8")])
def test_every_fraction_that_has_a_sign(sign, value):
    assert parts(f"{sign} g") == parts(f"{sign}g") == ((Fraction(value), "g"),)
    assert parts(f"2{sign} g") == parts(f"2 {sign} g") == parts(f"2 {value} g") == ((2 + Fraction(value), "g"),)


@pytest.mark.parametrize("text, value", [("1/64", "1/64"), ("63/64", "63/64"), ("0/1", "0"), ("1 / 2", "1/2"), ("12  1/2", "25/2"), ("999999999", "999999999"), ("0.999999999", "0.999999999"), (".5", "0.5"), (",5", "0.5"), ("0,5", "0.5"), ("0.500", "0.5"), ("1.5000", "1.5"), ("1000.123", "1000.123"), ("123456789.987654321", "123456789.987654321"), ("100000000 1/2", "200000001/2")])
def test_a_number_up_to_the_edges(text, value):
    assert parts(text) == ((Fraction(value), ""),)


@pytest.mark.parametrize("text, code", [
    ("1/65", "fraction"), ("64/65", "fraction"), ("64/64", "fraction"), ("2/2", "fraction"), ("3/2", "fraction"), ("0/0", "fraction"), ("1 3/2", "fraction"), ("½2", "fraction"), ("½ 2", "fraction"), ("1/½", "fraction"), ("1/2½", "fraction"), ("½½", "not_a_number"),
    ("1234567890", "too_long"), ("0.1234567890", "too_long"), ("1234567890.1", "too_long"), ("1.1234567890", "too_long"), ("1234567890 1/2", "too_long"), ("1 1234567890/2", "too_long"), ("1/1234567890", "too_long"), ("1" * 60, "too_long"), ("1" + "g" * 60, "too_long"),
    ("5 /", "not_a_number"), ("5/", "not_a_number"), ("1/2/3", "not_a_number"), ("5 g -", "not_a_number"), ("-", "not_a_number"), ("- g", "not_a_number"), ("1-2-3", "not_a_number"), ("g", "not_a_number"), (".", "not_a_number"), ("5 .5 g", "blank_in_number"), ("\x0b5 g", "not_a_number"),
    ("", "empty"), (" \u00a0\u2009\u202f\u205f\t\n\r ", "empty"), ("-5", "negative"), ("- 5", "negative"), ("\u20125", "negative"), ("\u2212.5", "negative"), ("-½", "negative"), ("1 2 g", "blank_in_number"), ("1 2", "blank_in_number"),
])  # fmt: skip
def test_what_is_no_number_to_the_edges(text, code):
    with pytest.raises(Misread) as caught:
        spell(text)
    assert caught.value.code == code == str(caught.value)


def test_an_entry_has_sixty_signs_at_most():
    assert parts("1" + "g" * 59) == ((Fraction(1), "g" * 59),)


@pytest.mark.parametrize("text, thousands, decimal", [("1,500", "1500", "1.5"), ("1.500", "1500", "1.5"), ("999.999", "999999", "999.9990"), ("12.345", "12345", "12.3450"), ("100,000", "100000", "100")])
def test_what_reads_two_ways_is_told_with_both(text, thousands, decimal):
    with pytest.raises(Misread) as caught:
        spell(f"{text} g")
    assert (caught.value.code, caught.value.values) == ("ambiguous", {"read": text, "thousands": thousands, "decimal": decimal})
    assert parts(f"{decimal} g")[0][0] == Fraction(text.replace(",", "."))


@pytest.mark.parametrize("dash", ["-", " - ", "\u2010", "\u2011", "\u2012", " \u2013 ", "\u2014", "\u2015", "\u2212", " to ", " bis "])
def test_a_range_has_one_of_these_between_its_ends(dash):
    found = spell(f"1{dash}2 g")
    assert (found.parts, found.top) == (((Fraction(1), ""),), ((Fraction(2), "g"),))
    assert spell("1 g").top is None


@pytest.mark.parametrize("text, units", [("5 Xg", "Xg"), ("5\x0bg", "\x0bg"), ("5g", "g"), ("5  g / kg", "g / kg"), ("5 X", "X"), ("5 % ", "%"), ("5 g.", "g.")])
def test_the_letters_behind_a_number_are_its_unit_as_typed(text, units):
    assert spell(text).parts[0][1] == units.strip()


def test_blanks_of_every_kind_are_one_blank():
    assert tidy("  a\t\n b\u00a0\u2000\u200a\u202f\u205fc ") == "a b c" and tidy("X 5 X") == "X 5 X" and tidy("\x0bx\x0b") == "\x0bx\x0b"


@pytest.mark.parametrize("value, places, nearest, up, down", [
    ("1", 0, "1", "1", "1"), ("1/2", 0, "0", "1", "0"), ("3/2", 0, "2", "2", "1"), ("5/2", 0, "2", "3", "2"), ("1/3", 2, "0.33", "0.34", "0.33"), ("2/3", 2, "0.67", "0.67", "0.66"), ("0.125", 2, "0.12", "0.13", "0.12"), ("0.375", 2, "0.38", "0.38", "0.37"),
    ("156.25", 1, "156.2", "156.3", "156.2"), ("1.5", 3, "1.5000", "1.5000", "1.5000"), ("0.5", 3, "0.500", "0.500", "0.500"), ("1234.5", 3, "1234.500", "1234.500", "1234.500"), ("0", 1, "0.0", "0.0", "0.0"), ("12", 1, "12.0", "12.0", "12.0"),
])  # fmt: skip
def test_a_value_is_shown_to_its_places_by_its_way(value, places, nearest, up, down):
    assert (show(Fraction(value), places), show(Fraction(value), places, "up"), show(Fraction(value), places, "down")) == (nearest, up, down)
    assert show(Fraction(value), places, "nearest") == nearest


def test_another_way_of_rounding_is_a_fault_of_the_program():
    with pytest.raises(ValueError, match="one of nearest, up, down, not 'sideways'"):
        show(Fraction(1), 1, "sideways")


@pytest.mark.parametrize("value, text", [("4/3", "1 1/3"), ("1/3", "1/3"), ("22/7", "3 1/7"), ("1/1024", "1/1024"), ("1/512", "0.001953125"), ("1025/1024", "1 1/1024"), ("5", "5"), ("1/4", "0.25"), ("1/8", "0.125"), ("9/8", "1.1250"), ("0", "0")])
def test_a_value_is_written_exactly(value, text):
    assert plain(Fraction(value)) == text
