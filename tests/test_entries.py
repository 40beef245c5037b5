"""Typed entries, field by field: what each becomes, its bounds, and what is said of each that is wrong."""

from fractions import Fraction

import pytest

from curebatch.batch.refusal import Refused
from curebatch.fields import FIELDS, field_of
from curebatch.intake.entries import Count, read_entries, read_field, refused, text_of, told_of
from curebatch.intake.units import Amount, factor
from curebatch.words import speaking


def one(key: str, text: object):
    """(value, fault) of one entry."""
    values, faults = read_entries({key: text})
    assert len(values) + len(faults) == 1
    return values.get(key), faults[0] if faults else None


def fault_of(key: str, text: object):
    """Its fault, which names the field and what was typed."""
    value, fault = one(key, text)
    assert value is None and (fault.field, fault.read) == (key, str(text))
    return fault


# ------------------------------------------------------------------ labels


@pytest.mark.parametrize(
    "typed, low, high, text",
    [
        ("6.25 %", "0.0625", "0.0625", "6.25 %"), ("6,25%", "0.0625", "0.0625", "6.25 %"), ("0.4-0.5 %", "0.004", "0.005", "0.4-0.5 %"), ("4-5 g/kg", "0.004", "0.005", "0.4-0.5 %"), ("5 g/kg", "0.005", "0.005", "0.5 %"),
        ("max 0.6 %", "0", "0.006", "max 0.6 %"), ("Max. 0.6%", "0", "0.006", "max 0.6 %"), ("maximum 0.6 %", "0", "0.006", "max 0.6 %"), ("at most 6 g/kg", "0", "0.006", "max 0.6 %"), ("up to .6 %", "0", "0.006", "max 0.6 %"),
        ("< 0.6 %", "0", "0.006", "max 0.6 %"), ("<=0.6 %", "0", "0.006", "max 0.6 %"), ("≤ 0,6 %", "0", "0.006", "max 0.6 %"), ("  AT MOST  0.6 %", "0", "0.006", "max 0.6 %"), ("MAX0.6 %", "0", "0.006", "max 0.6 %"),
    ],
)
def test_a_label_is_shown_in_per_cent_and_of_a_maximum_nothing_is_known_from_below(typed, low, high, text):
    for key in ("pack", "found_pack"):
        value, fault = one(key, typed)
        assert fault is None and (value.low, value.high, value.text) == (Fraction(low), Fraction(high), text)
        again, _ = one(key, text)
        assert (again.low, again.high, again.text) == (value.low, value.high, value.text)


def test_a_range_upside_down_stays_marked():
    value, _ = one("pack", "0.6-0.5 %")
    assert value.turned and value.text == "0.5-0.6 %"
    # A range of no width is one strength.
    assert one("pack", "0.5-0.5 %")[0].text == "0.5 %"


@pytest.mark.parametrize("key, typed", [("pack_nitrate", "3-4 %"), ("chopper", "48-56 kJ/kg")])
def test_what_may_be_a_range_beside_the_label(key, typed):
    value, fault = one(key, typed)
    assert fault is None and value.is_range and value.text == typed


@pytest.mark.parametrize("key, typed", [("salt", "1.8-2 %"), ("meat", "2-3 kg"), ("stated", "10-12 g")])
def test_what_is_weighed_once_is_no_range(key, typed):
    assert fault_of(key, typed).code == "no_range"


@pytest.mark.parametrize("typed, code", [
    ("salt petre", "saltpetre"), ("Saltpeter", "saltpetre"), ("potassium nitrate", "saltpetre"), ("Sodium Nitrate", "saltpetre"), ("E251", "saltpetre"), ("e 252", "saltpetre"), ("contains E 252", "saltpetre"),
    ("celery", "vegetable_cure"), ("Vegetable extract", "vegetable_cure"), ("beetroot", "vegetable_cure"), ("chard", "vegetable_cure"), ("plant based", "vegetable_cure"),
    ("nitrite", "pack_without_figure"), ("Curing salt", "pack_without_figure"), ("cure", "pack_without_figure"), ("pink", "pack_without_figure"), ("SALT", "pack_without_figure"), ("Pokelsalz", "pack_without_figure"),
    ("pökel", "pack_without_figure"), ("E250", "pack_without_figure"), ("e 249", "pack_without_figure"), ("contains E 250", "pack_without_figure"), ("E 250 and E 301", "pack_without_figure"),
    ("vegetable salt", "vegetable_cure"), ("nitrite and saltpetre", "saltpetre"),
    ("strong", "not_a_number"), ("?", "not_a_number"), ("6.25", "bare_number"), ("celery 5", "not_a_number"), ("max", "not_a_number"), ("max 0.4-0.5 %", "no_range"), ("E 250 0.5 %", "not_a_number"), ("100 mg/kg", "wrong_unit"),
])  # fmt: skip
def test_what_is_said_in_place_of_a_percentage_is_answered_by_name(typed, code):
    for key in ("pack", "found_pack"):
        fault = fault_of(key, typed)
        assert fault.code in (code, "unknown_unit" if code == "not_a_number" else code) and fault.field == key and fault.read == typed and typed in fault.text


def test_only_a_pack_is_asked_for_its_figure():
    assert fault_of("salt", "salt").code == "not_a_number"


# ------------------------------------------------------------------ bounds


QUANTITIES = [field for field in FIELDS if field.is_quantity]


def typed_in_base(field, value: Fraction) -> str:
    number = value / factor(field.units[0])
    whole, rest = divmod(number, 1)
    digits = f"{rest * 10**9 // 1:09d}".rstrip("0") if rest else ""
    digits += "0" if len(digits) == 3 else ""
    return f"{whole}{'.' + digits if digits else ''} {field.units[0]}"


@pytest.mark.parametrize("field", QUANTITIES, ids=lambda field: field.key)
def test_a_quantity_is_taken_up_to_its_bounds_and_not_over_them(field):
    unit = field.units[0]
    value, fault = one(field.key, typed_in_base(field, field.high))
    assert fault is None and value.value == field.high
    over = fault_of(field.key, typed_in_base(field, field.high + factor(unit) / 10**4))
    assert over.code == "too_large" and f" {unit}" in over.text and field.example in over.text
    if field.low:
        assert one(field.key, typed_in_base(field, field.low))[1] is None
        under = fault_of(field.key, typed_in_base(field, field.low - factor(unit) / 10**5))
        assert under.code in ("too_small", "zero") and field.example in under.text
        nothing = fault_of(field.key, f"0 {unit}")
        assert nothing.code == "zero" and field.example in nothing.text
    else:
        assert one(field.key, f"0 {unit}")[0].value == 0


def test_the_bounds_are_told_in_the_fields_own_unit():
    assert "(2 %)" in fault_of("pump", "1 %").text and "(40 %)" in fault_of("pump", "41 %").text
    assert "(1 g)" in fault_of("meat", "0.5 g").text and "(1000000 g)" in fault_of("meat", "1001 kg").text
    assert "(0.01 %)" in fault_of("pack", "0.009 %").text and "(100 %)" in fault_of("pack", "101 %").text


def test_the_bounds_of_a_label_look_at_both_ends_and_of_a_maximum_at_the_end_it_has():
    assert fault_of("pack", "0.009-0.5 %").code == "too_small" and fault_of("pack", "90-101 %").code == "too_large"
    assert fault_of("pack", "max 0.009 %").code == "too_small" and fault_of("pack", "max 0 %").code == "zero" and fault_of("pack", "max 101 %").code == "too_large"
    assert fault_of("pack", "0-0.5 %").code == "zero" if one("pack", "0-0.5 %")[1] else one("pack", "0-0.5 %")[0].low == 0


@pytest.mark.parametrize("key", ["scale", "fine_scale"])
def test_a_scale_has_a_step_that_a_display_can_show(key):
    for typed in ("1/3 g", "1/3 oz", "2/3 g"):
        assert fault_of(key, typed).code == "scale_step"
    for typed, grams in (("1/4 oz", "7.08738078125"), ("1/8 oz", "3.543690390625"), ("0.1 g", "0.1"), ("2 g", "2")):
        assert one(key, typed)[0].value == Fraction(grams)
        assert fault_of(key, "1/3 g").text.endswith(f"for example {field_of(key).example}.")
    assert one("stated", "1/3 g")[1] is None


# ------------------------------------------------------------------ other kinds


def test_a_count_is_a_whole_number_in_its_range():
    assert one("portions", " 30 ")[0] == Count(30, "30") and one("portions", "0030")[0] == Count(30, "30")
    assert one("portions", "1")[0].value == 1 and one("portions", "5000")[0].value == 5000
    for typed in ("3.5", "-3", "thirty", "3 0", "1234567890", "+3", "3e2", "３"):
        fault = fault_of("portions", typed)
        assert fault.code == "not_a_count" and "30" in fault.text and fault.read == typed
    for typed in ("0", "5001", "999999999"):
        fault = fault_of("portions", typed)
        assert fault.code == "count_range" and "from 1 to 5000" in fault.text and "30" in fault.text


@pytest.mark.parametrize("field", [field for field in FIELDS if field.kind == "choice"], ids=lambda field: field.key)
def test_a_choice_is_one_of_its_answers(field):
    for choice in field.choices:
        assert one(field.key, f" {choice} ") == (choice, None)
    fault = fault_of(field.key, " moon")
    assert fault.code == "not_a_choice" and fault.text.endswith(f"Write one of: {', '.join(field.choices)}.")
    assert fault_of(field.key, f"{field.choices[0]}x").code == "not_a_choice"


def test_a_text_is_tidied_and_nothing_else():
    assert one("recipe", "  pistachio-pork-loaf.1\n")[0] == "pistachio-pork-loaf.1"
    assert one("recipe", "x" * 60)[0] == "x" * 60


@pytest.mark.parametrize("name", ["x" * 61, "loaf\u202e1", "a\u200bb"])
def test_a_text_that_is_no_name_is_told(name):
    """Too long for a label, or with signs that nobody sees."""
    value, fault = one("recipe", name)
    assert value is None and (fault.field, fault.code) == ("recipe", "not_a_name") and "pistachio-pork-loaf.1" in fault.text
    assert fault.read.startswith(name[0]) and len(fault.read) in (len(name), 60)


def test_an_entry_is_told_as_its_language_writes_it():
    entries = {"meat": "2.5 kg", "portions": "30", "recipe": "loaf.1", "oven_learnt": "still_oven: 1.04 x (0.05), +2.5 °C (1.8), 3f9a12c0"}
    values, _ = read_entries(entries)
    assert {key: told_of(value) for key, value in values.items()} == entries
    with speaking("de"):
        # What was learnt is handed from card to card, and no entry of the cook's.
        assert {key: told_of(value) for key, value in values.items()} == {**entries, "meat": "2,5 kg"}


@pytest.mark.parametrize(
    "typed, text, amount, currency, grams, packed",
    [
        ("9.80 EUR/kg", "9.8 EUR/kg", "9.8", "EUR", "1000", False), ("9,80 EUR / kg", "9.8 EUR/kg", "9.8", "EUR", "1000", False), ("2.40 EUR for 250 g", "2.4 EUR/250 g", "2.4", "EUR", "250", True),
        ("3 USD per lb", "3 USD/lb", "3", "USD", "453.59237", False), ("5 GBP a kg", "5 GBP/kg", "5", "GBP", "1000", False), ("5 EUR/2 kg", "5 EUR/2 kg", "5", "EUR", "2000", True), ("4 chf/1 kg", "4 CHF/kg", "4", "CHF", "1000", False), ("3 USD PER LB", "3 USD/lb", "3", "USD", "453.59237", False), ("3 EUR für 500 g", "3 EUR/500 g", "3", "EUR", "500", True),
    ],
)
def test_a_price_is_an_amount_for_a_weight(typed, text, amount, currency, grams, packed):
    cost, fault = one("price.ice", typed)
    assert fault is None and cost.text == text and text_of(cost) == text
    made = cost.value
    assert (made.currency, made.amount, made.grams) == (currency, Fraction(amount), Fraction(grams)) and made.loose is (not packed)
    assert one("price.ice", text)[0] == cost


@pytest.mark.parametrize("typed, code", [("9.80", "not_a_price"), ("EUR 9.80/kg", "not_a_price"), ("9.80 EUR", "not_a_price"), ("9.80 EUR/kilogramme", "unknown_unit"), ("1,500 EUR/kg", "ambiguous"), ("9 EUR/5 cm", "wrong_unit"), ("9 EUR for 0 g", None), ("9..8 EUR/kg", "not_a_number"), ("4 €/kg", "price_currency"), ("4/kg", "price_no_currency")])
def test_what_is_no_price_is_told(typed, code):
    fault = fault_of("price.ice", typed)
    assert fault.field == "price.ice" and fault.read == typed and (code is None or fault.code in (code, "blank_in_number"))
    if code in ("not_a_price", "unknown_unit"):
        assert "9.80 EUR/kg" in fault.text
    if code == "price_currency":
        assert "“€” is no currency code" in fault.text


def test_of_a_long_currency_a_fault_quotes_no_more_than_a_line():
    fault = read_entries({"price.ice": f"4 {'q' * 70}/kg"})[1][0]
    assert f"“{'q' * 59}…”" in fault.text and fault.read == f"4 {'q' * 57}…"


def test_a_tin_is_read_or_told_by_its_kind():
    assert one("tin", "box 30 x 10 x 8 cm")[0].text == "box 30 x 10 x 8 cm"
    for typed, code in (("bucket", "tin_kind"), ("box 30 x 10 cm", "tin_sizes"), ("casing 9 x 30 cm", "tin_casing"), ("box 300 x 10 x 8 cm", "tin_size")):
        fault = fault_of("tin", typed)
        assert (fault.field, fault.code, fault.read) == ("tin", code, typed)
    assert "box 30 x 10 x 8 cm" in fault_of("tin", "bucket").text
    assert fault_of("tin", "box 1,500 x 10 x 8 cm").code == "ambiguous"
    bare = fault_of("tin", "box 30 x 10 x 8")
    assert bare.code == "bare_number" and "for example box 30 x 10 x 8 cm" in bare.text
    assert fault_of("tin", "box 30 x 10 x 900 cm").text.startswith("9000 mm cannot be the depth of a tin.")
    assert fault_of("tin", "holds 99 l").text.startswith("That tin holds 99 l.")
    with speaking("de"):
        assert "Tiefe" in fault_of("tin", "box 30 x 10 x 900 cm").text


def test_a_list_of_what_may_be_written_is_told_whole():
    known = ", ".join(f"ingredient-{number}" for number in range(20))
    fault = refused("use.leek", "x" * 70, Refused("on_hand_unknown", read="y" * 70, known=known))
    assert (fault.field, fault.read, fault.code) == ("use.leek", "x" * 59 + "…", "on_hand_unknown") and known in fault.text and f"“{'y' * 59}…”" in fault.text


def test_what_an_oven_was_learnt_to_do_is_read_or_told():
    learnt, fault = one("oven_learnt", "still_oven: 1.04 x (0.05), +2.5 °C (1.8), 3f9a12c0")
    assert fault is None and learnt.text == "still_oven: 1.04 x (0.05), +2.5 °C (1.8), 3f9a12c0"
    fault = fault_of("oven_learnt", " quick")
    assert fault.code == "not_learnt" and "still_oven: 1.04" in fault.text


# ------------------------------------------------------------------ together


def test_unknown_keys_come_first_and_the_rest_in_the_order_of_the_table():
    values, faults = read_entries({"zz": "1", "pack": "salt", "meat": "x", "aa": "2", "salt": "2 %"})
    assert [(fault.field, fault.code) for fault in faults] == [("zz", "unknown_key"), ("aa", "unknown_key"), ("meat", "not_a_number"), ("pack", "pack_without_figure")]
    assert [*values] == ["salt"] and "“zz”" in faults[0].text and faults[0].read == "1"


@pytest.mark.parametrize("empty", ["", "  ", "\u00a0\n", None])
def test_a_field_left_empty_is_no_entry(empty):
    assert read_entries({"meat": empty, "region": empty, "recipe": empty, "pack": empty}) == ({}, [])


@pytest.mark.parametrize("odd", [5, 0, ["6.25 %"], {"a": 1}, True])
def test_what_is_no_text_is_told(odd):
    values, (fault,) = read_entries({"pack": odd, "meat": "", "salt": "2 %", "scale": "1 g"})
    assert (fault.field, fault.code, fault.read) == ("pack", "not_text", str(odd)) and {*values} == {"salt", "scale"}


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.key)
def test_every_example_is_read_and_reads_back(field):
    if not field.example:
        return
    value, fault = read_field(field, field.example)
    assert fault is None, fault
    again, _ = read_field(field, text_of(value))
    assert again == value
    if field.is_quantity:
        assert isinstance(value, Amount) and field_of(field.key) is field
