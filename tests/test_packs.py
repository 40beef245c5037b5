"""Labels: which are known, which are asked about first, which are no kitchen salt."""

from fractions import Fraction

import pytest
from helpers.kitchens import card_for

from curebatch.batch.cure import Pack
from curebatch.intake.units import read_amount
from curebatch.rules.packs import doubts, known_labels, too_strong


def label(text: str):
    return read_amount(text, "share", ("%",), range_allowed=True)


def doubted(text: str, compound: str = "NaNO2") -> tuple[str, ...]:
    pack = Pack.of(label(text), compound)
    return doubts(label(text), pack.low, pack.high)


def test_the_known_strengths_read_as_labels_weakest_first():
    # Common practice, no source: read off packs.
    assert [known.text for known in known_labels()] == ["0.4-0.5 %", "0.5-0.6 %", "0.8-1 %", "2-2.5 %", "5.88 %", "6.25 %"]
    assert [(known.low, known.high) for known in known_labels()][0] == (Fraction("0.004"), Fraction("0.005"))
    assert all(not known.is_range for known in known_labels()[-2:])


@pytest.mark.parametrize("text", ["0.4-0.5 %", "0.4 %", "0.45 %", "0.5 %", "0.6 %", "0.5-0.6 %", "0.8-1 %", "2-2.5 %", "2.3 %", "5.88 %", "6.25 %"])
def test_a_known_label_is_not_doubted(text):
    assert doubted(text) == ()


@pytest.mark.parametrize(
    "text, why",
    [
        ("0.399 %", ("unusual",)), ("0.39999-0.5 %", ("unusual",)), ("0.61 %", ("unusual",)), ("0.4-0.6 %", ("unusual",)), ("0.40-0.601 %", ("wide", "unusual")), ("62.5 %", ("unusual",)),
        ("0.625 %", ("unusual",)), ("5.87 %", ("unusual",)), ("6.26 %", ("unusual",)), ("0.5-0.4 %", ("turned",)), ("0.9-0.4 %", ("turned", "wide", "unusual")), ("5.88-6.25 %", ("unusual",)),
        ("4 %", ("unusual",)), ("0.04-0.05 %", ("unusual",)),
    ],
)
def test_any_other_label_is_asked_about_with_every_reason(text, why):
    assert doubted(text) == why


def test_a_range_of_one_and_a_half_to_one_is_not_yet_wide():
    assert "wide" not in doubted("2-3 %") and "wide" in doubted("2-3.0001 %")


def test_of_a_label_that_names_only_the_most_the_upper_end_is_looked_at():
    known, unknown = label("0.6 %"), label("0.7 %")
    assert doubts(known, Fraction(0), known.high) == ()
    assert doubts(unknown, Fraction(0), unknown.high) == ("unusual",)


@pytest.mark.parametrize("text, compound, refused", [("10 %", "NaNO2", False), ("10.0001 %", "NaNO2", True), ("9.99 %", "NaNO2", False), ("62.5 %", "NaNO2", True), ("7 %", "NO2-", True), ("6.6 %", "NO2-", False), ("10.5 %", "KNO2", True), ("9-10.1 %", "NaNO2", True)])
def test_over_ten_per_cent_is_no_kitchen_salt_however_it_is_counted(text, compound, refused):
    # The stronger of what is printed and what it is as sodium nitrite.
    assert too_strong(label(text), Pack.of(label(text), compound).high) is refused
    card = card_for(pack=text, pack_as=compound, fine_scale="0.1 g", pack_check=text if compound == "NaNO2" else f"{text} {compound}")
    assert (card["cure"] is None) is refused or card["verdict"] == "incomplete"
    assert ("pack_too_strong" in {message["code"] for message in card["messages"]}) is refused


@pytest.mark.parametrize("written, plain", [
    ("6.25 % sodium nitrite", "6.25 %"), ("6.25% nitrite", "6.25 %"), ("0,4-0,5 % Nitrit", "0.4-0.5 %"), ("0.4 % - 0.5 % Natriumnitrit", "0.4-0.5 %"), ("max 0.6 % sodium nitrite", "max 0.6 %"),
    ("0.9 % als Natriumnitrit", "0.9 %"), ("6.25 % NaNO2", "6.25 %"), ("9 g/kg nitrite", "0.9 %"),
])
def test_a_figure_is_read_with_what_packs_print_behind_it(written, plain):
    card = card_for(pack=written)
    assert card["faults"] == []
    assert {row["text"] for row in card["understood"] if row["key"] == "pack"} == {plain}
    assert card_for(pack=plain)["amounts"] == card["amounts"]


@pytest.mark.parametrize("written", ["4 % nitrate", "6.25 % nitrite, 4 % nitrate", "0.5 % Nitrit 0.2 % Nitrat", "1 % KNO3", "sodium nitrate 4 %", "4 % sodium nitrate"])
def test_a_figure_of_nitrate_is_never_taken_for_one_of_nitrite(written):
    card = card_for(pack=written)
    (fault,) = card["faults"]
    assert (fault["field"], fault["code"]) == ("pack", "pack_names_nitrate") and "nitrite figure alone" in fault["text"]
    assert card["amounts"] == [] and card["cure"] is None
