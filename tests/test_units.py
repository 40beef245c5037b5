"""The fixed list of units, each against its definition; quantities of two parts, ranges, and how a mass is written."""

from fractions import Fraction

import pytest

from curebatch.intake.numbers import Misread
from curebatch.intake import units
from curebatch.intake.units import UNITS, _registry, factor, from_base, in_both, read_amount, write_mass

# Every spelling that is taken, with its factor: SI; the international pound of 1959, 0.45359237 kg, and inch, 25.4 mm.
POUND = Fraction("453.59237")
SPELLED = {
    "mass": {
        "mg": (Fraction(1, 1000), "mg"), "g": (1, "g"), "gram": (1, "g"), "grams": (1, "g"), "gramm": (1, "g"), "milligramm": (Fraction(1, 1000), "mg"), **{text: (1000, "kg") for text in ("kg", "kilo", "kilos", "kilogramm")},
        **{text: (POUND / 16, "oz") for text in ("oz", "oz.", "ounce", "ounces", "unze", "unzen")}, **{text: (POUND, "lb") for text in ("lb", "lb.", "lbs", "lbs.", "pound", "pounds")},
    },
    "share": {
        **{text: (Fraction(1, 100), "%") for text in ("%", "percent", "per cent", "pct", "prozent")}, "g/kg": (Fraction(1, 1000), "g/kg"), "g / kg": (Fraction(1, 1000), "g/kg"),
        "mg/kg": (Fraction(1, 10**6), "mg/kg"), "mg / kg": (Fraction(1, 10**6), "mg/kg"), "ppm": (Fraction(1, 10**6), "ppm"),
    },
    "length": {
        "mm": (Fraction(1, 1000), "mm"), "millimeter": (Fraction(1, 1000), "mm"), "cm": (Fraction(1, 100), "cm"), "zentimeter": (Fraction(1, 100), "cm"),
        **{text: (Fraction(254, 10000), "in") for text in ("in", "inch", "inches", "zoll")},
    },
    "volume": {"ml": (Fraction(1, 1000), "ml"), "milliliter": (Fraction(1, 1000), "ml"), **{text: (1, "l") for text in ("l", "litre", "litres", "liter", "liters")}},
    "time": {
        **{text: (1, "min") for text in ("min", "mins", "minute", "minutes", "min.", "minuten")}, **{text: (60, "h") for text in ("h", "hr", "hour", "hours", "std", "std.", "stunde", "stunden")}, **{text: (1440, "d") for text in ("d", "day", "days", "tag", "tage", "tagen")},
    },
    "temperature": {**{text: (1, "°C") for text in ("°c", "c", "℃", "grad celsius", "grad c")}},
    "spoon": {
        **{text: (1, "tsp") for text in ("tsp", "teaspoon", "teaspoons", "tl", "teelöffel")}, **{text: (1, "tbsp") for text in ("tbsp", "tablespoon", "tablespoons", "el", "esslöffel", "eßlöffel")}, **{text: (1, "cup") for text in ("cup", "cups")},
    },
}  # fmt: skip
CASES = [(dimension, spelling, *value) for dimension, rows in SPELLED.items() for spelling, value in rows.items()]


@pytest.mark.parametrize("dimension, spelling, size, unit", CASES, ids=[case[1] for case in CASES])
def test_every_spelling_is_its_unit_and_its_size(dimension, spelling, size, unit):
    for written in (spelling, spelling.upper(), spelling.capitalize()):
        amount = read_amount(f"3 {written}", dimension, (unit,))
        assert (amount.value, amount.unit, amount.text) == (3 * size, unit, f"3 {unit}")
    assert from_base(Fraction(3 * size), unit) == 3 if unit not in ("tsp", "tbsp", "cup") else True
    if dimension not in ("temperature", "spoon"):
        assert factor(unit) == size


def test_there_are_no_other_units_nor_spellings():
    assert {spelling for unit in UNITS.values() for spelling in unit.spellings} == {spelling for rows in SPELLED.values() for spelling in rows} | {"°f", "f", "℉", "grad fahrenheit", "grad f"}
    assert {unit.text: unit.dimension for unit in UNITS.values()} == {unit: dimension for dimension, _, _, unit in CASES} | {"°F": "temperature"}
    assert all(key == unit.text for key, unit in UNITS.items())


@pytest.mark.parametrize("unit", ["°C", "°F", "tsp", "cup", "furlong", ""])
def test_what_has_no_fixed_size_has_no_factor(unit):
    with pytest.raises(KeyError):
        factor(unit)


@pytest.mark.parametrize("typed, celsius", [("32 °F", "0"), ("212 F", "100"), ("158 ° F", "70"), ("-40 °F", None), ("98.6 ℉", "37"), ("70 ° C", "70"), ("0 c", "0")])
def test_degrees(typed, celsius):
    if celsius is None:
        with pytest.raises(Misread):
            read_amount(typed, "temperature", ("°C", "°F"))
        return
    amount = read_amount(typed, "temperature", ("°C", "°F"))
    assert amount.value == Fraction(celsius) and from_base(amount.value, "°C") == Fraction(celsius)
    assert from_base(amount.value, "°F") == Fraction(celsius) * Fraction(9, 5) + 32


@pytest.mark.parametrize(
    "typed, grams, text", [("2 lb 3 oz", "992.233309375", "2 lb 3 oz"), ("2lb3oz", "992.233309375", "2 lb 3 oz"), ("2 lb. 3 oz.", "992.233309375", "2 lb 3 oz"), ("0 lb 15.5 oz", "439.4176084375", "0 lb 15.5 oz"), ("1 pound 1/2 ounce", None, "1 lb 0.5 oz"), ("1 lb 15 oz", None, "1 lb 15 oz"), ("2 lb .5 oz", None, "2 lb 0.5 oz")]
)
def test_pounds_and_ounces_are_one_amount(typed, grams, text):
    amount = read_amount(typed, "mass", ("g", "oz", "lb"))
    pounds, ounces = text.removesuffix(" oz").split(" lb ")
    assert amount.value == (Fraction(grams) if grams else (Fraction(pounds) + Fraction(ounces) / 16) * POUND)
    assert (amount.unit, amount.text, amount.is_range) == ("oz", text, False)


@pytest.mark.parametrize(
    "typed, units, code, values",
    [
        ("5", ("g", "kg"), "bare_number", {"units": "g, kg"}), ("5 stone", ("g", "kg"), "unknown_unit", {"units": "g, kg", "unit": "stone"}), ("5 cm", ("g", "kg"), "wrong_unit", {"units": "g, kg", "unit": "cm"}),
        ("5 lb", ("g", "kg"), "wrong_unit", {"units": "g, kg", "unit": "lb"}), ("2 lb 16 oz", ("lb", "oz"), "pounds_ounces", {}), ("2.5 lb 1 oz", ("lb", "oz"), "pounds_ounces", {}), ("2 oz 1 lb", ("lb", "oz"), "not_a_number", {}),
        ("2 lb 3 lb", ("lb", "oz"), "not_a_number", {}), ("2 kg 3 g", ("g", "kg"), "not_a_number", {}), ("2 lb 3 oz", ("g", "lb"), "wrong_unit", {"units": "g, lb", "unit": "oz"}), ("2 lb 3 oz", ("g", "oz"), "wrong_unit", {"units": "g, oz", "unit": "lb"}),
        ("1 lb 2 oz 3 g", ("g", "lb", "oz"), "not_a_number", {}), ("1 lb 2 stone", ("lb", "oz"), "not_a_number", {}), ("2lb.3oz", ("lb", "oz"), "not_a_number", {}), ("2 lb,3 oz", ("lb", "oz"), "not_a_number", {}), ("2lbs.3oz.", ("lb", "oz"), "not_a_number", {}), ("5 oz..", ("oz",), "not_a_number", {}), ("1-2 g", ("g",), "no_range", {}),
    ],
)
def test_what_is_no_amount_is_told_with_what_is_taken(typed, units, code, values):
    with pytest.raises(Misread) as caught:
        read_amount(typed, "mass", units)
    assert (caught.value.code, caught.value.values) == (code, values)


@pytest.mark.parametrize(
    "typed, low, high, text, turned",
    [
        ("400-500 g", "400", "500", "400-500 g", False), ("400 g to 500 g", "400", "500", "400-500 g", False), ("400 g - 0.5 kg", "400", "500", "400 g-0.5 kg", False), ("0.5 kg - 400 g", "400", "500", "400 g-0.5 kg", True),
        ("500-400 g", "400", "500", "400-500 g", True), ("400-400 g", "400", "400", "400-400 g", False), ("1/2-3/4 kg", "500", "750", "0.5-0.75 kg", False), ("0-5 g", "0", "5", "0-5 g", False),
    ],
)
def test_a_range_is_sorted_and_written_with_its_unit_once(typed, low, high, text, turned):
    amount = read_amount(typed, "mass", ("g", "kg"), range_allowed=True)
    assert (amount.low, amount.high, amount.value, amount.text, amount.turned, amount.is_range) == (Fraction(low), Fraction(high), Fraction(high), text, turned, low != high)
    again = read_amount(text, "mass", ("g", "kg"), range_allowed=True)
    assert (again.low, again.high, again.text) == (amount.low, amount.high, text)
    assert amount.unit == ("kg" if text.split("-")[0].endswith("kg") or text == "0.5-0.75 kg" else "g")


def test_a_range_of_pounds_and_ounces():
    amount = read_amount("1 lb 2 oz - 1 lb 4 oz", "mass", ("lb", "oz"), range_allowed=True)
    assert (amount.low, amount.high, amount.text) == (POUND * 18 / 16, POUND * 20 / 16, "1 lb 2-1 lb 4 oz")
    bare = read_amount("2-1 lb 4 oz", "mass", ("lb", "oz"), range_allowed=True)
    assert bare.low == POUND * 2 / 16  # the unit that stands last
    with pytest.raises(Misread, match="unknown_unit"):
        read_amount("5 stone-6 g", "mass", ("g",), range_allowed=True)
    assert not read_amount("5 g", "mass", ("g",)).turned


@pytest.mark.parametrize(
    "grams, unit, places, way, text",
    [
        ("1234.5", "g", 0, "nearest", "1234 g"), ("1235.5", "g", 0, "nearest", "1236 g"), ("1234.2", "g", 0, "up", "1235 g"), ("1234.9", "g", 0, "down", "1234 g"), ("1234.5", "kg", 2, "nearest", "1.23 kg"), ("1234.5", "kg", 1, "nearest", "1.2 kg"),
        ("5", "mg", 0, "nearest", "5000 mg"), ("100", "oz", 1, "nearest", "3.5 oz"), ("453.59237", "oz", 1, "nearest", "1 lb 0.0 oz"), ("452.7", "oz", 1, "nearest", "1 lb 0.0 oz"), ("450.7", "oz", 1, "nearest", "15.9 oz"), ("907.18474", "lb", 1, "nearest", "2.0 lb"),
        ("1020.6", "oz", 1, "nearest", "2 lb 4.0 oz"), ("1020.6", "oz", 1, "up", "2 lb 4.1 oz"), ("1020.4", "oz", 1, "down", "2 lb 3.9 oz"), ("0", "oz", 1, "nearest", "0.0 oz"), ("1000", "oz", 2, "nearest", "2 lb 3.27 oz"),
    ],
)
def test_a_mass_as_the_scale_shows_it(grams, unit, places, way, text):
    assert write_mass(Fraction(grams), unit, places, way) == text


def test_a_mass_is_rounded_to_the_nearest_unless_said():
    assert write_mass(Fraction("1.6"), "g", 0) == "2 g" and write_mass(Fraction("1.4"), "g", 0) == "1 g"


@pytest.mark.parametrize("text", ["01 001/2 lb", "1 001/2 lb", "001/2 lb", "1 1/02 lb"])
def test_a_fraction_with_noughts_in_front_is_no_half(text):
    """A thousand and one halves, to somebody who groups by threes."""
    with pytest.raises(Misread):
        read_amount(text, "mass", ("g", "kg", "oz", "lb"))


def test_only_what_has_a_fixed_size_is_known_to_the_table_of_units():
    assert {unit.text for unit in UNITS.values() if not unit.pint_name} == {"°C", "°F", "tsp", "tbsp", "cup"} == {unit.text for unit in UNITS.values() if unit.pint_name == ""}


def test_pint_knows_of_no_other_units_than_ours():
    assert not {"furlong", "stone", "gallon", "cup"} & {*_registry()}


@pytest.mark.parametrize("typed", ["1 Pfund", "2 pfd", "3 Pfd."])
def test_a_pound_of_this_country_or_that_is_asked_for(typed):
    with pytest.raises(Misread) as caught:
        read_amount(typed, "mass", ("g", "lb"))
    assert caught.value.code == "pound_of_what"


@pytest.mark.parametrize("text, parts", [("4.1 g (0.144 oz)", ("4.1 g", "0.144 oz")), (" 4.1 g(0.144 oz) ", ("4.1 g", "0.144 oz")), ("4.1 g", ("4.1 g", "")), ("4.1 g ()", ("4.1 g ()", "")), ("a (b) c", ("a (b) c", ""))])
def test_an_entry_in_both_units_is_cut_in_two(text, parts):
    assert in_both(text) == parts


# The second figure says the same as far as the coarser of the two is written: within one of its last place.
@pytest.mark.parametrize("dimension, typed, taken", [
    ("mass", "4.1 g (0.144 oz)", "4.1 g"), ("mass", "4.1 g (0.15 oz)", "4.1 g"), ("mass", "4.1 g (0.16 oz)", None), ("mass", "4 g (0.151 oz)", "4 g"), ("mass", "4 g (0.13 oz)", None), ("mass", "4 g (4 g)", None),
    ("mass", "1 kg (33.55 oz)", "1 kg"), ("mass", "1 kg (33.5 oz)", None), ("mass", "4 lb (2 kg)", None),  # with few figures still within a twentieth
    ("mass", "1.1440 oz (32.41 g)", "1.1440 oz"), ("mass", "0.1445 oz (4.08 g)", None), ("mass", "2 lb 3.5 oz (1.0040 kg)", "2 lb 3.5 oz"), ("mass", "2 lb 3.5 oz (1.02 kg)", None),
    ("length", "30 cm (11.8 in)", "30 cm"), ("length", "30 cm (10 in)", None),
    ("temperature", "70 °C (158 °F)", "70 °C"), ("temperature", "4 °C (40 °F)", "4 °C"), ("temperature", "0 °C (33.8 °F)", "0 °C"), ("temperature", "70 °C (159.7 °F)", "70 °C"), ("temperature", "70 °C (160 °F)", None), ("temperature", "158 °F (70 °C)", "158 °F"),
    ("temperature", "40.5 °F (4.67 °C)", "40.5 °F"), ("temperature", "40.5 °F (4.66 °C)", None),
])  # fmt: skip
def test_two_figures_for_one_amount(dimension, typed, taken):
    units = {"mass": ("g", "kg", "oz", "lb"), "length": ("cm", "in"), "temperature": ("°C", "°F")}[dimension]
    if taken:
        assert read_amount(typed, dimension, units) == read_amount(taken, dimension, units)
        return
    with pytest.raises(Misread) as caught:
        read_amount(typed, dimension, units)
    assert caught.value.code == "two_amounts"


def test_what_stands_in_brackets_is_never_passed_over():
    with pytest.raises(Misread) as caught:
        read_amount("4.1 g (0.144 oz)", "mass", ("g",))
    assert (caught.value.code, caught.value.values["unit"]) == ("wrong_unit", "oz")
    for typed in ("0.5 % (5 g/kg)", "0.5 % (as nitrite)"):
        with pytest.raises(Misread):
            read_amount(typed, "share", ("%", "g/kg"))
    assert read_amount("4.1 g", "mass", ("g",)).turned is False


def test_a_wrong_factor_does_not_pass_for_pints(monkeypatch):
    units.prove()
    units.factor.cache_clear()
    monkeypatch.setattr(units.beforehand, "table", lambda place: {"oz": (28, 1)} if place == "intake/factors" else None)
    try:
        assert units.factor("oz") == 28 and units.factor("kg") == 1000
        with pytest.raises(ArithmeticError, match="oz"):
            units.prove()
    finally:
        units.factor.cache_clear()
