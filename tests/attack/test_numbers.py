"""What a person types, broken: every field reads it as it was meant by a grammar written anew here, or refuses it."""

from __future__ import annotations

import re
from fractions import Fraction

from helpers.attacks import BARBS, Slowest, attacked, broken
from hypothesis import example, given
from hypothesis import strategies as st

from curebatch.fields import FIELDS, MASS, field_of
from curebatch.intake.entries import read_entries, read_field, text_of
from curebatch.intake.numbers import Misread
from curebatch.intake.units import Amount, read_amount

SEEDS = ("2.4 kg", "2,5kg", "1 1/2 lb", "½ oz", "5 lb 3 oz", "0.125 g", "6.25 %", "0.4-0.5 %", "104 mg/kg", "45 mm", "72 °C", "158 °F", "2 min", "1 h", "30", "48-56 kJ/kg", "10:40 4 °C; 11:05 38 °C", "60 min 120 °C")
ALL = [*FIELDS, field_of("use.ice"), field_of("price.ice")]
BY_KIND = {field.kind: field for field in reversed(ALL)}
EXAMPLES = {field.key: (*SEEDS, *field.choices, *([field.example] if field.example else [])) for field in ALL}
typed, masses = Slowest("fields"), Slowest("masses")

# One number with one unit, and nothing that two people read differently.
GRAMS = {"g": Fraction(1), "kg": Fraction(1000), "oz": Fraction("28.349523125"), "lb": Fraction("453.59237")}
SPELLED = {"gram": "g", "grams": "g", "gramme": "g", "grammes": "g", "kilo": "kg", "kilos": "kg", "kilogram": "kg", "kilograms": "kg", "kgs": "kg", "ounce": "oz", "ounces": "oz", "pound": "lb", "pounds": "lb", "lbs": "lb"}
PLAIN = re.compile(r"(?:([0-9]{1,9}) )?([0-9]{1,2}) ?/ ?([0-9]{1,2})|([0-9]{0,9})(?:[.,]([0-9]{1,9}))?")


def meant(text: str) -> Fraction | None:
    """What a mass says in grams, by the words of the grammar and not by its code; None where this reader is not sure."""
    for sign, plain in {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}.items():
        text = text.replace(sign, f" {plain}")
    text = " ".join(text.split())
    total = Fraction(0)
    for number, unit in re.findall(r"([0-9.,/ ]+)([^0-9.,/ ]+)", text):
        name = SPELLED.get(unit.lower().rstrip("."), unit.lower())
        found = PLAIN.fullmatch(number.strip())
        if name not in GRAMS or not found or not number.strip():
            return None
        whole, top, bottom, before, behind = found.groups()
        value = Fraction(int(whole or 0)) + Fraction(int(top), int(bottom)) if top else Fraction(f"{before or 0}.{behind or 0}")
        total += value * GRAMS[name]
    return total


@attacked
@example("01 001/2 lb")  # a thousand and one halves, to somebody who groups by threes
@given(st.one_of(broken(("2.4 kg", "2,5kg", "1 1/2 lb", "½ oz", "1½ lb", "5 lb 3 oz", "0.125 g", "850 g", ".5 kg", "12 ounces", "1,500 g", "12.345 kg"), most=3, least=0), st.text("0123456789.,/ -½¼gkoznlb", max_size=12)))
def test_a_mass_is_what_was_meant_or_refused(text):
    def read():
        try:
            return read_amount(text, "mass", MASS)
        except Misread:
            return None

    amount = masses.run(lambda _: read(), text)
    if amount is None:
        return
    assert not re.search(r"(?<![0-9])[1-9][0-9]{0,2}[.,][0-9]{3}(?![0-9])", text) or re.search(r"[0-9]{4}[.,]|[.,][0-9]{4}", text), "read where two people differ"
    assert amount.value >= 0 and meant(text) == amount.value, (text, amount.text)
    assert read_amount(amount.text, "mass", MASS).value == amount.value


@attacked
@given(st.sampled_from(ALL), st.data())
def test_every_field_reads_within_its_bounds_or_refuses_in_words(field, data):
    text = data.draw(st.one_of(broken(EXAMPLES[field.key]), st.text(max_size=70), st.sampled_from(BARBS)))
    values, faults = typed.run(lambda _: read_entries({field.key: text}), text)
    assert len(values) + len(faults) <= 1
    for fault in faults:
        told = fault.as_dict()
        assert told["field"] == field.key and told["label"] and told["text"] and len(told["text"]) < 1000
        assert all(sign.isprintable() for sign in told["text"] + told["read"])
    for value in values.values():
        if isinstance(value, Amount) and field.low is not None:
            assert (value.high if not value.low else value.low) >= field.low and value.high <= field.high and value.low <= value.high
        if field.choices:
            assert value in field.choices
        # What is shown can be typed back.
        again, wrong = read_field(field, text_of(value))
        assert wrong is None and text_of(again) == text_of(value), (text, text_of(value))
