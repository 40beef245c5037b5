"""What is recognised by its name, in the words of every language: no net may be open in one of them."""

from __future__ import annotations

import pytest
from curebatch.bare_grams import WEIGHED, bare_grams
from curebatch.views import lines
from curebatch.words import catalogue

BARE = (
    "2 oz. curing salt",
    "2 lbs. of curing salt",
    "It says 6.25 % in 2 lb. Add 20 g of curing salt.",
    "20 g Pökelsalz",
    "20 g NPS",
    "5 Gramm Nitritpökelsalz",
    "2 EL Pökelsalz",
    "Salpeter: 2 g",
    "12 g E 250",
    "2 g E250",
    "½ TL NPS",
    "20 g (0,7 oz) Pökelsalz",
    "Pökelsalz (20 g)",
    "Pökelsalz, ca. 20 g",
    "Nitritpökelsalz ca. 20 g zugeben",
    "20 g vom Nitrit-Pökelsalz",
    "20 g des Pökelsalzes",
    "20 g handelsübliches Pökelsalz",
    "20 g/kg NPS",
    "18 g pro kg Pökelsalz",
    "NPS: 20 g/kg",
    "eine Prise Salpeter",
    "zwei Esslöffel Pökelsalz",
    "einen halben Teelöffel Pökelsalz",
    "1 gestrichener EL Pökelsalz",
    "2 Msp. Salpeter",
    "0,5 g Natriumnitrit",
    "3 g Kaliumnitrat",
    "3 g Kalisalpeter",
    'Po\u0308kelsalz: 20 g',
    '20 g Po\u0308kelsalz',
    '20 g P\xf6kel\xadsalz',
    "20 G PÖKELSALZ",
    "20 g Poekelsalz",
    "Pökelsalz, 20 g, zugeben",
    "Pökelsalz 20 g Pfeffer 3 g",
    "Das Pökelsalz sind 20 g.",
    "1 Pfund Pökelsalz",
    "a pinch of curing salt",
    "two tablespoons of curing salt",
    "20 g/kg curing salt",
    "20 g (0.7 oz) of curing salt",
    "half a teaspoon of pink salt",
    "Eins. Zwei. 20 g Pökelsalz; vier.",
    "1 Kilo Nitritpökelsalz",
    "20 g rosa Pökelsalz",
    "2 gehäufte Teelöffel Pökelsalz",
    "Pökelsalz = 20 g",
    "Je Kilo 20 g Pökelsalz",
    "20 Gramm eines Pökelsalzes",
)
WITH_ITS_STRENGTH_OR_NO_CURE = (
    "Nitrit: 0,15 g/kg",
    "nitrite 0.15 g/kg of the mix",
    "20 g of a curing salt with 0.5 percent",
    "20 g eines Pökelsalzes mit 0,5 %",
    "20 g Pökelsalz (0,5 % Natriumnitrit)",
    "20 g Pökelsalz mit 0,5 Prozent Nitrit",
    "5,4 g Pökelsalz 6,25 % Natriumnitrit und 63,6 g Kochsalz",
    "104 mg/kg Natriumnitrit auf die gesamte Masse",
    "20 g Kochsalz",
    "Das Pökelsalz, 576 g Eis und den Rest zugeben.",
    "1800 g Fleisch mit dem Pökelsalz mischen",
    "Das Fleisch mit dem Pökelsalz (sein Gewicht hängt von der Packung ab) und 576 g Eis kuttern",
    "1800 g Fleisch und Pökelsalz",
    "2 kg Schulter, Pökelsalz, 5 g Pfeffer",
    "Pökelsalz, 2,4 kg Schulter",
    "20 g Meersalz und Pökelsalz nach Karte",
    "20 g Pökelsalz, max. 0,6 % Nitrit",
    "200 g Wasser, Pökelsalz",
    "20 g of plain salt",
    "0,15 g/kg Nitrit",
    "2 EL Salz",
    "3 g Salpetersäurefrei",
)


@pytest.mark.parametrize("text", BARE)
def test_bare_grams_of_curing_salt_are_found_and_left_out(text):
    assert bare_grams(text)
    assert bare_grams(f"Zuerst 6,25 % lesen! {text}"), "a percentage of another sentence excuses nothing"
    assert not bare_grams(lines.handed(text))


@pytest.mark.parametrize("text", WITH_ITS_STRENGTH_OR_NO_CURE)
def test_what_is_no_bare_dose_stays(text):
    assert bare_grams(text) == ""
    assert lines.handed(text) == text


@pytest.mark.parametrize("language", ["en", "de"])
def test_no_word_of_ours_is_taken_for_bare_grams(language):
    assert not {id: text for id, text in catalogue(language).items() if bare_grams(text)}


@pytest.mark.parametrize("text", ["20 " + "e" * 60_000, "n" * 60_000, "20 g " + "eines " * 12_000, "Pökel" * 12_000, "a " * 30_000, "(" * 60_000, "20 g(" + " " * 60_000])
def test_a_long_text_is_not_slow_to_search(text):
    # A search that went over the text for each of its letters would not end within the suite.
    assert bare_grams(text) == ""


@pytest.mark.parametrize("title", ["Mit 12 Gramm Pökelsalz", "2 Pfund Leberkäse", "1 kg", "½ EL Salz", "3 Kilogramm", "2 TL", "5 Prisen", "2 Unzen"])
def test_a_weight_in_a_title_is_seen(title):
    assert WEIGHED.search(title)


@pytest.mark.parametrize("title", ["Leberkäse Nr. 3", "4 Gäste", "Pistazien-Leberkäse", "2 Elche", "Loaf 3"])
def test_what_is_no_weight_in_a_title_is_none(title):
    assert not WEIGHED.search(title)
