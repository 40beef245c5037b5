"""What is recognised by its name, in the words of every language: no net may be open in one of them."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from curebatch import bare_grams as nets
from curebatch.bare_grams import WEIGHED, bare_grams, dose_in_words
from curebatch.batch.additives import accelerator_named, phosphate_named, read_leavening
from curebatch.batch.allergens import ids as allergen_ids
from curebatch.batch.allergens import of_ingredient
from curebatch.batch.spoons import SPOONS, SpoonRefused, read_spoons, to_grams, weighed_only
from curebatch.day.steps import timers_of
from curebatch.intake.entries import read_entries
from curebatch.intake.numbers import Misread
from curebatch.intake.recipe import read_recipe
from curebatch.intake.tins import read_tin
from curebatch.intake.units import read_amount
from curebatch.views import lines
from curebatch.words import catalogue
from helpers.kitchens import recipe_text
from hypothesis import example, given
from hypothesis import strategies as st

BARE = (
    "Zwanzig Gramm Pökelsalz",
    "18 bis 20 g Pökelsalz",
    "Pökelsalz (18–20 g)",
    "curing salt: 18-20 g",
    "Pökelsalz: je Kilo 20 g",
    "Pökelsalz, und zwar 20 g",
    "2 Teelöffel voll Pökelsalz",
    "einen Esslöffel gehäuft Pökelsalz",
    "20 g Nitritsalz",
    "20 g davon Pökelsalz",
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
    "20 g of pink cure per kilo",
    "1/2 level teaspoon of pink curing salt",
    "a heaped tablespoon curing salt",
    "einen guten Esslöffel Pökelsalz",
    "20 grammes of curing salt",
    "20 g. of curing salt",
    "fifteen grams of pink salt",
    "twenty-five grams of cure",
    "fünfundzwanzig Gramm Pökelsalz",
    "cure no 1 at a rate of 2.5 g per kg",
    "5 g/kg cure",
    "0.5 oz of cure #1",
    "cure no. 1: 5 g",
    "1 tsp per 5 lb of cure #1",
    "half a teaspoon of the cure",
    "the cure, 20 g",
    "Cure: 20 g",
    "handful of curing salt",
    "a pinch of the pink stuff",
    "54 g of the pink stuff",
    "20 g to the kilo of curing salt",
    "curing salt at 20 g per kilo",
    "curing salt @ 20 g/kg",
    "10 ml curing salt",
    "3 cups of curing salt",
    "1 packet curing salt",
    "20 g curing mix",
    "20 g rosa Salz",
    "20 g Rosasalz",
    "5 g vom rosa Pulver",
    "eine Handvoll Pökelsalz",
    "Handvoll Pökelsalz",
    "Pökelsalz: eine Handvoll",
    "ein halber Teelöffel NPS",
    "eine halbe Tasse Pökelsalz",
    "20 g auf das Kilo Pökelsalz",
    "5 g Pökelmischung",
    "1 Päckchen Pökelsalz",
)
WITH_ITS_STRENGTH_OR_NO_CURE = (
    "Nitrit: 0,15 g/kg",
    "Pökelsalz: auf 2,4 kg Fleisch nach der Karte",
    "NPS (0,4–0,5 % Nitrit): 20 g",
    "Curing salt is kept apart from 20 g bags of sugar",
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
    "Cure 2 kg of belly",
    "Cure 2 kg belly for five days",
    "Dry cure 2 kg belly",
    "Let the 2 kg cure for three days",
    "Scoop the cure back on",
    "Mix the cure with 20 g of pepper",
    "Rub the cure into 2 kg of belly",
    "a handful of parsley and the curing salt",
    "2 kg Schulter pökeln",
    "Pökelsalz mit 20 g Zucker mischen",
    "20 g rosa Pfeffer",
    "20 g pink peppercorns",
)
WITH_THE_AUTHORS_STRENGTH = ("54 g of curing salt 6.25 %", "5 g of cure #1 (6.25 % nitrite)", "20 g Pökelsalz mit 0,5 %", "Pökelsalz 0,5 %: 20 g je kg", "NPS (0,4–0,5 % Nitrit): 20 g", "54 g of a 6.25 % curing salt", "2 % curing salt of the meat", "rub with 3 % cure", "0.25 % cure #1", "0,3 % Pökelsalz zugeben", "0,3 % Pökelsalz auf das Fleisch")


@pytest.mark.parametrize("text", BARE)
def test_bare_grams_of_curing_salt_are_found_and_left_out(text):
    assert bare_grams(text)
    assert bare_grams(f"Zuerst 6,25 % lesen! {text}"), "a percentage of another sentence excuses nothing"
    assert not bare_grams(lines.handed(text))


@pytest.mark.parametrize("text", WITH_ITS_STRENGTH_OR_NO_CURE)
def test_what_is_no_bare_dose_stays(text):
    assert bare_grams(text) == ""
    assert lines.handed(text) == text


@pytest.mark.parametrize("text", [*BARE[::7], *WITH_THE_AUTHORS_STRENGTH])
@pytest.mark.parametrize("key", ["title", "summary", "author", "cut", "changes", "step"])
def test_no_text_of_a_recipe_says_an_amount_of_curing_salt(key, text):
    said = {"step": f'\n[[step]]\ntext = "{text}"\n', "changes": f'changes = ["{text}"]\n'}.get(key, f'{key} = "{text}"\n')
    file = recipe_text().replace('title = "Trial"\n', said if key == "title" else f'title = "Trial"\n{said if key != "step" else ""}') + (said if key == "step" else "")
    assert "recipe_bare_grams" in {fault.code for fault in read_recipe(file, "x.toml")[1]}


@pytest.mark.parametrize("text", ["Made for a curing salt of 6.25 %.", "Made for a 6.25 % curing salt.", "Mit einem Pökelsalz zu 0,5 % gemacht.", "Ein Pökelsalz mit 0,5 % reicht.", "{curing_salt} and {salt}", "nitrite 104 mg/kg of the mix", "Cure 2 kg of belly."])
def test_a_recipe_may_name_a_pack_and_its_targets(text):
    assert read_recipe(recipe_text(extra=f'[[step]]\ntext = "{text}"\n'), "x.toml")[0]


@pytest.mark.parametrize("language", ["en", "de"])
def test_no_word_of_ours_is_taken_for_bare_grams(language):
    assert not {id: text for id, text in catalogue(language).items() if bare_grams(text)}


@pytest.mark.parametrize("text", ["20 " + "e" * 60_000, "n" * 60_000, "20 g " + "eines " * 12_000, "Pökel" * 12_000, "a " * 30_000, "(" * 60_000, "20 g(" + " " * 60_000, "1 " * 30_000, "1," * 30_000 + "x", "1-" * 30_000, "cure " * 12_000])
def test_a_long_text_is_not_slow_to_search(text):
    # A search that went over the text for each of its letters would not end within the suite.
    assert bare_grams(text) == dose_in_words(text) == ""


PIECES = sorted({piece for text in (*BARE, *WITH_ITS_STRENGTH_OR_NO_CURE, *WITH_THE_AUTHORS_STRENGTH) for piece in re.findall(r"[\w]+|[^\w\s]+|\s+", text)}) + [" 6.25 %", " (0.5 %) ", " of ", "pink", "curing", " salt", "-"]


@given(st.lists(st.sampled_from(PIECES), min_size=1, max_size=12).map("".join))
@example("5 g pink 6.25 % salt")
def test_to_look_for_the_name_first_misses_nothing(text):
    found = dose_in_words(text), bare_grams(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(nets, "_NAMED", re.compile(""))
        assert (nets.dose_in_words(text), nets.bare_grams.__wrapped__(text)) == found


@pytest.mark.parametrize("title", ["Mit 12 Gramm Pökelsalz", "2 Pfund Leberkäse", "1 kg", "½ EL Salz", "3 Kilogramm", "2 TL", "5 Prisen", "2 Unzen"])
def test_a_weight_in_a_title_is_seen(title):
    assert WEIGHED.search(title)


@pytest.mark.parametrize("title", ["Leberkäse Nr. 3", "4 Gäste", "Pistazien-Leberkäse", "2 Elche", "Loaf 3"])
def test_what_is_no_weight_in_a_title_is_none(title):
    assert not WEIGHED.search(title)


# ------------------------------------------------------------------ names of ingredients


WEIGHED_ONLY = [
    "Pökelsalz", "Nitritpökelsalz", "Po\u0308kelsalz", "Poekelsalz", "NPS", "Salpeter", "Kalisalpeter", "Kaliumnitrat", "Natriumnitrit", "E 250", "E-252", "E251", "Phosphat", "Kutterhilfsmittel",
    "Umrötehilfsmittel", "Umroetehilfsmittel", "Rötemittel", "Ascorbinsäure", "Natriumascorbat", "Erythorbat", "Natriumisoascorbat", "Vitamin C", "Nitrit\u00adpökelsalz",
]  # fmt: skip


def spooned(size: str, extra: str) -> str:
    """A recipe whose spoons were bought in ``size``, "" where it does not say."""
    return recipe_text(extra=extra).replace('kinds = ["pork"]', f'kinds = ["pork"]\nspoons = "{size}"' if size else 'kinds = ["pork"]')


@pytest.mark.parametrize("name", WEIGHED_ONLY)
def test_what_is_weighed_only_is_known_in_german(name):
    assert weighed_only(name)
    _, faults = read_recipe(spooned("metric", f'[[ingredient]]\nname = "{name}"\nrole = "spice"\namount = "2 TL"\n'), "x.toml")
    assert {"spoon_weighed_only"} & {fault.code for fault in faults} or "\u00ad" in name


@pytest.mark.parametrize("name", ["Backpulver", "Natron", "Backtriebmittel Diphosphat", "Pfeffer", "Zucker", "Kochsalz", "Petersilie", "Muskatblüte", "Paprika edelsüß", "Korianderkörner"])
def test_what_may_be_spooned_is_not_taken_for_it(name):
    assert not weighed_only(name)


def codes_of(line: str) -> set[str]:
    _, faults = read_recipe(recipe_text(extra=f"[[ingredient]]\n{line}\n"), "x.toml")
    return {fault.code for fault in faults}


@pytest.mark.parametrize("name", ["Nitritpökelsalz", "Pökelsalz", "Pökelstoff", "Salpeter", "NPS", "Natriumnitrit", "Pökel-Salz", "Pökelmischung", "E 250", "E-252", "Poekelsalz", "Po\u0308kelsalz"])
def test_no_cure_is_an_ingredient(name):
    assert "recipe_cure_named" in codes_of(f'name = "{name}"\nrole = "spice"\namount = "12 g"')


@pytest.mark.parametrize("name", ["Pink salt", "Pink stuff", "Pink cure", "rosa Salz", "Rosasalz", "Rosa Pulver"])
def test_no_cure_goes_in_by_its_colour_as_plain_salt(name):
    assert "recipe_cure_named" in codes_of(f'name = "{name}"\nrole = "spice"\namount = "12 g"\nsalt = "98 %"')


@pytest.mark.parametrize("name", ["Himalayan pink salt", "Himalaya-Salz", "Pink peppercorns", "Rosa Pfeffer", "Rosenpaprika"])
def test_what_is_only_pink_is_no_cure(name):
    assert not codes_of(f'name = "{name}"\nrole = "spice"\namount = "12 g"\nsalt = "98 %"')


@pytest.mark.parametrize("role", ["spice", "binder", "sugar", "garnish"])
@pytest.mark.parametrize("name", ["Ascorbinsäure", "Natriumascorbat", "Umrötehilfsmittel", "Vitamin C", "Sodium erythorbate", "E 316", "Natriumtripolyphosphat", "Phosphat", "Sodium tripolyphosphate", "Kutterhilfsmittel (Phosphat)"])
def test_an_additive_is_no_spice_for_no_limit_would_be_held_against_it(name, role):
    _, faults = read_recipe(recipe_text(extra=f'[[ingredient]]\nname = "{name}"\nrole = "{role}"\namount = "2 g"\n'), "x.toml")
    assert [(fault.field, fault.code) for fault in faults] == [("ingredient.3.role", "recipe_value")] and ("accelerator" in faults[0].text or "phosphate" in faults[0].text)


@pytest.mark.parametrize("name", ["Kutterhilfsmittel ohne Phosphat", "phosphatfreies Bindemittel", "Phosphate-free binder", "Paprika", "Zitronensäure", "Backpulver"])
def test_what_is_no_such_additive_may_be_a_binder(name):
    assert read_recipe(recipe_text(extra=f'[[ingredient]]\nname = "{name}"\nrole = "binder"\namount = "2 g"\n'), "x.toml")[0]


CURED = [
    "Schinken", "Rohschinken", "roher Schinken", "Schinkenspeck", "Speck", "Bauchspeck", "geräucherter Bauch", "frisch geräucherter Speck", "gepökelter Nacken", "Pökelfleisch", "Pökelzunge", "Kassler", "Kasseler Nacken",
    "Salami", "Rohwurst", "Mettwurst", "gesalzener Rückenspeck", "geräucherter Rückenspeck", "luftgetrocknete Keule", "Räucherbauch", "Rauchfleisch", "Bündner Fleisch", "Fresh smoked ham", "Landjäger",
]  # fmt: skip
RAW = [
    "Schweineschulter", "Frischer Schinken", "Schinken, frisch", "ungepökelter Schinken", "Rückenspeck", "grüner Speck", "Nackenspeck", "Speckschwarte", "Rinderbrust", "Schweinebauch, roh", "ungeräucherter frischer Schinken",
    "Fresh ham", "Uncured bacon", "Unsmoked fresh bacon", "Schweinebacke", "Kalbfleisch",
]  # fmt: skip


@pytest.mark.parametrize("name", CURED)
def test_meat_that_is_cured_already_is_refused(name):
    assert "recipe_already_cured" in codes_of(f'name = "{name}"\nrole = "meat"\namount = "100 g"')


@pytest.mark.parametrize("name", RAW)
def test_raw_meat_is_not_taken_for_cured(name):
    assert not {"recipe_already_cured", "recipe_cure_named", "recipe_salt_named"} & codes_of(f'name = "{name}"\nrole = "meat"\namount = "100 g"')


@pytest.mark.parametrize("name", ["Salz", "Kochsalz", "Meersalz, grob", "Selleriesalz", "Gewürzsalz", "Jodsalz", "KOCHSALZ", "des Salzes", "Salzlake"])
def test_salt_among_the_ingredients_must_say_how_much_salt_it_is(name):
    assert "recipe_salt_named" in codes_of(f'name = "{name}"\nrole = "spice"\namount = "10 g"')
    assert "recipe_salt_named" not in codes_of(f'name = "{name}"\nrole = "spice"\namount = "10 g"\nsalt = "98 %"')


@pytest.mark.parametrize("name", ["Schmalz", "Malz", "Hirschhornsalz", "Pistazien, ungesalzen", "Salzig-süße Gewürze", "Balsamico", "Salsiz", "Petersilie"])
def test_what_only_sounds_like_salt_is_none(name):
    assert "recipe_salt_named" not in codes_of(f'name = "{name}"\nrole = "spice"\namount = "10 g"')


BIRDS = ["Putenbrust", "Hähnchenschenkel", "Hühnerhaut", "Entenbrust", "Gänsefett", "Wildente", "Truthahn", "Perlhuhn", "Wachtel", "Geflügelfleisch", "Suppenhuhn", "Fasan", "Straußenfleisch", "Gans", "Masthähnchen"]


@pytest.mark.parametrize("name", BIRDS)
def test_a_bird_in_german_is_poultry(name):
    text = recipe_text(extra=f'[[ingredient]]\nname = "{name}"\nrole = "meat"\namount = "100 g"\n')
    assert 'kinds = ["pork"]' in text
    assert "kinds" in {fault.field for fault in read_recipe(text, "x.toml")[1]}


@pytest.mark.parametrize("name", ["Schweineschulter", "Rindernacken", "Kalbsbrust", "Lammkeule", "Ganzes Stück Nacken", "Entbeinte Schulter", "Rentierfleisch", "Ganter Schwein"])
def test_what_is_no_bird_is_none(name):
    text = recipe_text(extra=f'[[ingredient]]\nname = "{name}"\nrole = "meat"\namount = "100 g"\n')
    assert "kinds" not in {fault.field for fault in read_recipe(text, "x.toml")[1]}


@pytest.mark.parametrize("method", ["fermentiert", "Luftgetrocknet", "geräuchert", "eingekocht", "rohwurst", "smoked", "fermented"])
def test_what_is_not_covered_is_refused_by_its_german_name(method):
    _, faults = read_recipe(recipe_text().replace('method = "ground"', f'method = "{method}"'), "x.toml")
    assert [fault.code for fault in faults] == ["recipe_refused"]


@pytest.mark.parametrize(
    "name, meant",
    [
        ("Ascorbinsäure", "ascorbic_acid"), ("L-Ascorbinsäure (E 300)", "ascorbic_acid"), ("Isoascorbinsäure", "erythorbic_acid"), ("Erythorbinsäure", "erythorbic_acid"), ("Natriumascorbat", "sodium_ascorbate"),
        ("Natriumerythorbat", "sodium_erythorbate"), ("Natriumisoascorbat", "sodium_erythorbate"), ("Natriumerythorbat-Monohydrat", "sodium_erythorbate_monohydrate"), ("Natriumsalz der Ascorbinsäure", None), ("Ascorbinsa\u0308ure", "ascorbic_acid"),
    ],
)  # fmt: skip
def test_an_accelerator_in_german_is_the_acid_or_its_salt(name, meant):
    assert accelerator_named(name) == meant


@pytest.mark.parametrize(
    "name, letters",
    [
        ("Natriumtripolyphosphat", "STPP"), ("Pentanatriumtriphosphat", "STPP"), ("Kaliumtripolyphosphat", "KTPP"), ("Dinatriumdiphosphat", "SAPP"), ("saures Natriumpyrophosphat", "SAPP"), ("Dinatriumdihydrogendiphosphat", "SAPP"),
        ("Tetranatriumdiphosphat", "TSPP"), ("Natriumpyrophosphat", "TSPP"), ("Tetrakaliumdiphosphat", "TKPP"), ("Natriumhexametaphosphat", "SHMP"), ("Natriumpolyphosphat", "SHMP"), ("Dinatriumhydrogenphosphat", "DSP"),
        ("Natriumdihydrogenphosphat", "MSP"), ("Trinatriumphosphat", "TSP"), ("Dikaliumhydrogenphosphat", "DKP"), ("Phosphatmischung", None), ("Natriumphosphat", None),
    ],
)  # fmt: skip
def test_a_phosphate_in_german_is_the_one_it_is(name, letters):
    assert phosphate_named(name) == letters


@pytest.mark.parametrize(
    "listed, binds, raises_ph, holds",
    [
        ("Dinatriumdiphosphat, Natriumhydrogencarbonat, Maisstärke", "yes", False, True), ("Monocalciumphosphat, Natron", "no", False, True), ("Natron", "no", True, False), ("Natriumbikarbonat", "no", True, False),
        ("Weinsteinsäure, Natron", "no", False, False), ("Natriumphosphat, Natron", "unknown", False, True), ("Backtriebmittel: Natriumcarbonate; Säuerungsmittel: Diphosphate", "yes", False, True),
    ],
)  # fmt: skip
def test_the_list_of_a_german_pack_decides_whether_a_leavening_helps(listed, binds, raises_ph, holds):
    powder = read_leavening(listed)
    assert (powder.binds, powder.raises_ph, powder.p2o5_most > 0) == (binds, raises_ph, holds)


# ------------------------------------------------------------------ allergens


SURE = {
    "Weizenmehl": "wheat", "Hartweizengrieß": "wheat", "Semmelbrösel": "wheat", "Paniermehl": "wheat", "Dinkelmehl": "wheat", "Roggenmehl": "rye", "Malzextrakt": "barley", "Haferflocken": "oats", "Garnelen": "crustaceans",
    "Ei": "egg", "Eigelb": "egg", "Eiweiß": "egg", "Hühnereiweißpulver": "egg", "Sardellen": "fish", "Fischsauce": "fish", "Räucherlachs": "fish", "Erdnüsse": "peanut", "Erdnußöl": "peanut", "Sojaprotein": "soy", "Sojaeiweiß": "soy",
    "Milchpulver": "milk", "Magermilchpulver": "milk", "Sahne": "milk", "Käse": "milk", "Molkenpulver": "milk", "Natriumcaseinat": "milk", "Laktose": "milk", "Milcheiweiß": "milk", "Butter": "milk", "Mandeln": "almond", "Haselnüsse": "hazelnut",
    "Haselnusskerne": "hazelnut", "Walnüsse": "walnut", "Cashewkerne": "cashew", "Pekannüsse": "pecan", "Paranüsse": "brazil_nut", "Pistazien, geschält": "pistachio", "Macadamianüsse": "macadamia", "Pinienkerne": "pine_nut", "gemischte Nüsse": "nuts",
    "Sellerie": "celery", "Knollensellerie": "celery", "Selleriesalz": "celery", "Senfkörner": "mustard", "Gelbsenf": "mustard", "Sesamöl": "sesame", "Natriummetabisulfit": "sulphites", "Lupinenmehl": "lupin", "Miesmuscheln": "molluscs", "Tintenfisch": "molluscs",
    "Ka\u0308se": "milk", "Se\u00adsam": "sesame", "Kräuterquark": "milk", "Magerquark": "milk", "Paneer": "milk", "Halloumi": "milk", "Tahin": "sesame", "Tahinpaste": "sesame", "Brezeln": "wheat", "Laugenbrezel": "wheat", "Brezen": "wheat",
    "Müsli": "oats", "Bottarga": "fish", "Sauerteig": "rye", "Dijon-Senf": "mustard", "Mayonnaise": "egg", "Remoulade": "egg", "Pilsner": "barley", "Kölsch": "barley",
}  # fmt: skip


@pytest.mark.parametrize("name, source", SURE.items())
def test_german_names_give_their_allergen_away(name, source):
    assert {found.source for found in of_ingredient(name) if found.how == "name"} == {source}


def test_every_source_of_the_lists_is_known_in_german():
    assert set(SURE.values()) == set(allergen_ids())


@pytest.mark.parametrize("name, sources", [("Hefeweizen", {"wheat", "barley"}), ("Weißbier", {"wheat", "barley"}), ("Weizenbier", {"wheat", "barley"})])
def test_wheat_beer_is_both(name, sources):
    assert {found.source for found in of_ingredient(name) if found.how == "name"} == sources


@pytest.mark.parametrize("name, sources", [("Pesto", {"milk", "nuts", "pine_nut", "cashew"}), ("Pralinen", {"milk", "soy", "hazelnut", "almond", "nuts"}), ("Balsamico", {"sulphites"})])
def test_what_only_its_pack_can_tell_is_said_to_be_possible(name, sources):
    assert {found.source for found in of_ingredient(name)} == sources and {found.how for found in of_ingredient(name)} == {"possible"}


SPARED = [
    "Schweineschulter", "Rückenspeck", "Schweinefleisch", "Wildschwein", "Rindfleisch", "Putenbrust", "Entenbrust", "Gänsefett", "Eis", "Eiswasser", "Muskatnuss", "Muskatblüte", "Weinstein", "Milchsäure", "Milchkalbfleisch", "Kokosmilch", "Buchweizenmehl", "Reismehl",
    "Kartoffelmehl", "Johannisbrotkernmehl", "Maisgrieß", "Maltodextrin", "Lachsschinken", "Schweinelachs", "Eierschwammerl", "Austernpilze", "Kakaobutter", "Gewürznelken", "Pfeffer, weiß", "Majoran", "Kümmel", "Zwiebeln", "Zitronenschale", "Lauch", "Eisbein", "Kirschwasser",
]  # fmt: skip


@pytest.mark.parametrize("name", SPARED)
def test_german_names_that_only_look_like_it(name):
    assert not of_ingredient(name)


@pytest.mark.parametrize(
    "name, maybe",
    [("Gewürzmischung", {"celery", "mustard"}), ("Leberkäsgewürz", {"celery", "mustard"}), ("Gemüsebrühe", {"celery", "mustard"}), ("Currypulver", {"celery", "mustard"}), ("Suppengrün", {"celery"}), ("Weißwein", {"sulphites"}), ("Mehl", {"wheat"}), ("Pflanzeneiweiß", {"soy"})],
)  # fmt: skip
def test_where_only_the_pack_can_tell_in_german(name, maybe):
    assert {(found.source, found.how) for found in of_ingredient(name)} == {(source, "possible") for source in maybe}


# ------------------------------------------------------------------ what is typed


@pytest.mark.parametrize(
    "typed, code",
    [
        ("Nitritpökelsalz", "pack_without_figure"), ("NPS", "pack_without_figure"), ("enthält Nitrit", "pack_without_figure"), ("Pökelsalz E 250", "pack_without_figure"), ("po\u0308kelsalz", "pack_without_figure"), ("Salpeter", "saltpetre"),
        ("Kaliumnitrat", "saltpetre"), ("Selleriepulver", "vegetable_cure"), ("Gemüsepulver", "vegetable_cure"), ("Rote Bete", "vegetable_cure"), ("pflanzliches Nitrit", "vegetable_cure"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("key", ["pack", "found_pack"])
def test_a_german_label_without_a_figure_is_not_guessed_at(key, typed, code):
    values, faults = read_entries({key: typed})
    assert not values and [fault.code for fault in faults] == [code]


@pytest.mark.parametrize("typed", ["höchstens 0,6 %", "max. 0,6 %", "maximal 0,6 %", "bis zu 0,6 %", "bis 0,6 Prozent", "Max 0,6 %", "ho\u0308chstens 0,6 %"])
def test_a_label_that_names_only_the_most_there_can_be(typed):
    values, faults = read_entries({"pack": typed})
    assert not faults and (values["pack"].low, values["pack"].high) == (0, Fraction(6, 1000))
    assert values["pack"].text == "max 0.6 %"


def test_a_german_range_has_two_ends():
    values, faults = read_entries({"pack": "0,4 bis 0,5 %"})
    assert not faults and (values["pack"].low, values["pack"].high, values["pack"].text) == (Fraction(4, 1000), Fraction(5, 1000), "0.4-0.5 %")


@pytest.mark.parametrize("typed", ["1 Pfund", "2 Pfd.", "½ pfund", "1,5 PFUND", "1-2 Pfund", "3 Pfd"])
def test_a_pfund_is_no_pound_and_no_half_kilo(typed):
    for key in ("meat", "use.ham", "portion"):
        values, faults = read_entries({key: typed})
        assert not values and [fault.code for fault in faults] == ["no_range" if "-" in typed else "pound_of_what"]
        assert "-" in typed or ("500 g" in faults[0].text and "1 lb" in faults[0].text and typed in faults[0].text)


@pytest.mark.parametrize(
    "typed, count, measure",
    [("2 TL", 2, "tsp"), ("1 1/2 EL", Fraction(3, 2), "tbsp"), ("½ TL", Fraction(1, 2), "tsp"), ("ein halber Teelöffel", Fraction(1, 2), "tsp"), ("anderthalb EL", Fraction(3, 2), "tbsp"), ("2 gestrichene Esslöffel", 2, "tbsp"), ("1 gestr. TL", 1, "tsp"), ("dreiviertel TL", Fraction(3, 4), "tsp"), ("zwei EL", 2, "tbsp")],
)  # fmt: skip
def test_german_spoons_are_the_metric_ones(typed, count, measure):
    spoons = read_spoons(typed)
    assert (spoons.count, spoons.measure, spoons.size) == (count, measure, "metric")
    assert SPOONS["metric"]["tsp"] == 5 and SPOONS["metric"]["tbsp"] == 15
    with pytest.raises(SpoonRefused) as told:
        to_grams(spoons, "table salt", size="au")
    assert told.value.code == "spoon_size"


@pytest.mark.parametrize("typed", ["1 gehäufter TL", "eine Prise", "1 Msp.", "1 Messerspitze", "ein guter TL", "1 voller EL", "2 Tassen", "etwas", "ein Schuss", "1 knapper EL", "1 geh. TL"])
def test_german_heaps_and_pinches_are_not_guessed(typed):
    with pytest.raises(SpoonRefused) as told:
        read_spoons(typed)
    assert told.value.code == "spoon_fill"


def test_german_spoons_in_a_recipe_are_weighed_as_metric_and_other_spoons_are_refused():
    pepper = '[[ingredient]]\nname = "Pfeffer, weiß"\nrole = "spice"\nfood = "02032"\namount = "2 TL"\n'
    metric, unstated = (read_recipe(spooned(size, pepper), "x.toml") for size in ("metric", ""))
    assert metric[0] and unstated[0] and metric[0].ingredients[-1].share == unstated[0].ingredients[-1].share
    _, faults = read_recipe(spooned("us", pepper), "x.toml")
    assert [fault.code for fault in faults] == ["spoon_size"]


@pytest.mark.parametrize(
    "typed, written",
    [
        ("Kasten 30 x 10 x 8 cm", "box 30 x 10 x 8 cm"), ("2 x Kastenform 24 x 9 unten 22 x 8 Tiefe 7 cm", "2 x loaf 24 x 9 bottom 22 x 8 depth 7 cm"), ("rund 18 x 7 cm", "round 18 x 7 cm"), ("Halbrund 10 × 5 × 30 cm", "half-round 10 x 5 x 30 cm"),
        ("Darm flach 9 x 30 cm", "casing flat 9 x 30 cm"), ("Darm flach liegend 9 x 30 cm", "casing flat 9 x 30 cm"), ("Darm Durchmesser 5,7 x 30 cm", "casing diameter 5.7 x 30 cm"), ("fasst 1,4 l", "holds 1.4 l"), ("3 x fasst 1,4 Liter", "3 x holds 1.4 l"),
    ],
)  # fmt: skip
def test_german_tins_are_the_same_tins(typed, written):
    assert read_tin(typed) == read_tin(written) and read_tin(typed).text == written


@pytest.mark.parametrize("typed, code", [("Kastenform 30 x 10 x 8 cm", "tin_sizes"), ("Darm 57 x 300 mm", "tin_casing"), ("Kunstdarm 5 x 30 cm", "tin_casing"), ("Form 30 x 10 x 8 cm", "tin_kind"), ("rundlich 4 x 4 cm", "tin_kind")])
def test_a_german_tin_that_is_not_clear_is_not_guessed(typed, code):
    with pytest.raises(Misread) as told:
        read_tin(typed)
    assert told.value.code == code


def test_what_the_german_hints_show_can_be_typed():
    words = catalogue("de")
    for example in ("rund 18 x 7 cm", "halbrund 10 x 5 x 30 cm", "Kastenform 24 x 9 unten 22 x 8 Tiefe 7 cm", "Darm Durchmesser 5,7 x 30 cm", "fasst 1,4 l"):
        assert example in words["field.tin.hint"] and read_tin(example)
    for example in ("Darm flach 9 x 30 cm", "Darm Durchmesser 5,7 x 30 cm"):
        assert example in words["fault.tin_casing"] and read_tin(example)
    assert "12:00 raus" in words["field.cooling_readings.hint"]
    assert "2,40 EUR/250 g" in words["field.price.hint"] and read_entries({"price.ice": "2,40 EUR/250 g"})[1] == []


@pytest.mark.parametrize("out", ["raus", "heraus", "aus der Hitze", "aus dem Ofen", "out", "RAUS"])
@pytest.mark.parametrize("clock", ["12:10", "12:10 Uhr", "12.10 Uhr"])
def test_german_readings_are_the_same_readings(out, clock):
    english, german = (read_entries({"cooling_readings": text}) for text in ("12:00 out; 12:10 68 °C; 12:40 41.5 °C; 14:00 4 °C", f"12:00 {out}; {clock} 68 °C; 12:40 41,5 °C; 14:00 Uhr 4 °C"))
    assert english == german and not german[1]


@pytest.mark.parametrize(
    "key, german, english",
    [
        ("readings", "0 Min 5 °C; 15 Minuten 21 °C; 30 Min. 52,5 °C; 1 Std 70 °C", "0 min 5 °C; 15 min 21 °C; 30 min 52.5 °C; 1 h 70 °C"), ("hold", "30 Minuten", "30 min"), ("hold", "2 Stunden", "2 h"), ("hold", "1,5 Std.", "1.5 h"),
        ("oven_changes", "60 Minuten 120 °C", "60 min 120 °C"), ("price.ice", "2,40 EUR für 250 g", "2.40 EUR for 250 g"), ("price.ice", "9,80 EUR pro kg", "9.80 EUR/kg"), ("meat", "2,4 Kilogramm", "2.4 kg"), ("thickness", "2 Zoll", "2 in"),
    ],
)  # fmt: skip
def test_german_quantities_are_the_same_quantities(key, german, english):
    one, other = read_entries({key: german}), read_entries({key: english})
    assert one == other and not one[1]


@pytest.mark.parametrize("typed, low, high", [("8-12 Tage", 8, 12), ("8 bis 12 Tage", 8, 12), ("1 Tag", 1, 1), ("3 d", 3, 3)])
def test_german_days_are_days(typed, low, high):
    amount = read_amount(typed, "time", ("d", "h"), range_allowed=True)
    assert (amount.low, amount.high) == (low * 1440, high * 1440)


@pytest.mark.parametrize(
    "german, english",
    [("20 Minuten rühren", "stir 20 minutes"), ("10-12 Stunden kalt stellen", "chill 10-12 hours"), ("2 bis 3 Stunden ruhen", "rest 2 to 3 hours"), ("1,5 Std. ziehen lassen", "leave 1.5 h"), ("bis 70 °C garen", "cook to 70 °C"), ("{hold} halten, dann 5 min ruhen", "hold {hold}, then rest 5 min")],
)  # fmt: skip
def test_a_german_step_rings_when_the_english_one_does(german, english):
    hold = read_amount("30 min", "time", ("min",))
    assert timers_of(german, hold) == timers_of(english, hold)


# ------------------------------------------------------------------ beside a place in a step


def step_faults(text: str) -> list:
    recipe = recipe_text(extra=f'[[step]]\ntext = "{text}"\n')
    return read_recipe(recipe, "x.toml")[1]


OTHER_FIGURES = [
    "Add 2{curing_salt}", "Add 2 {curing_salt}", "Add 0.{curing_salt}", "Add 1,5 {curing_salt}", "Add .{curing_salt}", "Add 2 x {curing_salt}", "Add 3× {curing_salt}", "Add x{curing_salt}", "Add x {curing_salt}", "Add ½ {curing_salt}",
    "Add twice {curing_salt}", "Add twice the amount of {curing_salt}", "Add three times {curing_salt}", "Add double {curing_salt}", "Add triple the {curing_salt}", "Add two tablespoons of {curing_salt}", "Add tablespoons of {curing_salt}",
    "Zweimal {curing_salt} zugeben", "2-mal {curing_salt} zugeben", "mal {curing_salt}", "doppelt {curing_salt}", "doppelt so viel {curing_salt}", "Die doppelte Menge von {curing_salt}", "das Dreifache von {curing_salt}", "20 g {curing_salt}", "EL {curing_salt}",
    "Add {curing_salt}0", "Add {curing_salt} x 2", "Add {curing_salt} × 2", "Add {curing_salt} 2x", "Add {curing_salt} twice", "Add {curing_salt} (doubled)", "{curing_salt} zweimal zugeben", "{curing_salt} doppelt zugeben", "{curing_salt}{salt}", "Add ２{curing_salt}", "200 % of {curing_salt}",
]  # fmt: skip


@pytest.mark.parametrize("text", OTHER_FIGURES)
def test_what_would_make_another_figure_of_a_place_is_refused_with_its_line(text):
    faults = step_faults(text)
    assert [fault.code for fault in faults] == ["recipe_beside_place"]
    assert faults[0].text.startswith("x.toml, line ") and "“Add {curing_salt} and mix”" in faults[0].text


@pytest.mark.parametrize(
    "text",
    [
        "Chop with half of {ice}.", "mit der Hälfte von {ice} kuttern", "Keep it at 12 °C. {salt} goes in last.", "Fold {salt} in", "Fold in {salt}, then rest 5 min", "{hold} halten, dann 5 min ruhen", "einfach {salt} zugeben", "Mix {curing_salt}, {salt} and {ice}",
        "Max. 12 °C; then {ice}", "normal {salt}", "einmal {salt} zugeben", "Step 2: {salt}", "{ice} (cold)", "until it reads {core} and has stayed there for {hold}.",
    ],
)  # fmt: skip
def test_plain_words_beside_a_place_stay(text):
    assert not step_faults(text)


# ------------------------------------------------------------------ in every role


EVERY_ROLE = ["meat", "fat", "garnish", "spice", "binder", "water", "sugar"]


@pytest.mark.parametrize("role", EVERY_ROLE)
@pytest.mark.parametrize("name", ["Chicken livers, diced", "Duck confit", "Foie gras", "Hühnerbrust", "Gänseleber", "Turkey stock", "Stopfleber"])
def test_a_bird_is_poultry_in_every_role(name, role):
    _, faults = read_recipe(recipe_text(extra=f'[[ingredient]]\nname = "{name}"\nrole = "{role}"\namount = "10 g"\n'), "x.toml")
    assert "kinds" in {fault.field for fault in faults}


@pytest.mark.parametrize("name", ["Gooseberries", "Pigeon peas", "Poultry seasoning", "Geflügelgewürz", "Duck eggs", "Hühnereiweißpulver", "Wachteleier", "Hen's eggs", "Hühnerei", "Entenei"])
def test_what_is_called_after_a_bird_is_no_poultry(name):
    assert read_recipe(recipe_text(extra=f'[[ingredient]]\nname = "{name}"\nrole = "garnish"\namount = "10 g"\n'), "x.toml")[0]


@pytest.mark.parametrize("role", EVERY_ROLE)
@pytest.mark.parametrize(
    "name",
    [
        "NaNO2", "KNO2", "NaNO3", "KNO3", "Na NO2", "K N O 3", "NaNO₂", "KNO₃", "Ca(NO3)2", "Pökelgewürz", "Pökelhilfe", "Surpökel", "Pökelpulver", "Celery powder", "Cultured celery", "Celery juice, cultured", "Powdered celery", "Spinach powder", "Beet juice", "Beetroot powder",
        "Chard powder", "Selleriepulver", "Selleriesaft", "Spinatpulver", "Rote-Bete-Pulver", "Mangoldsaft", "Vegetable juice powder", "Gemüsepulver",
    ],
)  # fmt: skip
def test_a_cure_is_an_ingredient_in_no_role(name, role):
    assert "recipe_cure_named" in codes_of(f'name = "{name}"\nrole = "{role}"\namount = "5 g"')


@pytest.mark.parametrize("role", EVERY_ROLE)
@pytest.mark.parametrize("name", ["Bacon", "Bacon bits", "Cooked ham", "Mortadella", "Pancetta", "Wiener", "Lardons", "Räucherspeck", "Sausage", "Bratwurst", "Frankfurter", "Kochschinken", "Smoked pork belly", "Salted pork fat", "geräucherter Bauch", "Pökelzunge", "Salami"])
def test_cured_goods_are_an_ingredient_in_no_role(name, role):
    assert "recipe_already_cured" in codes_of(f'name = "{name}"\nrole = "{role}"\namount = "5 g"')


@pytest.mark.parametrize("role", ["spice", "garnish", "accelerator", "phosphate", "leavening", "binder"])
@pytest.mark.parametrize("name", ["Umrötepulver", "Umroeter", "Umrötung"])
def test_what_turns_meat_red_needs_its_substance_in_every_role(name, role):
    assert {"recipe_value", "recipe_missing"} & codes_of(f'name = "{name}"\nrole = "{role}"\namount = "1 g"')


@pytest.mark.parametrize(
    "name",
    ["Celery", "Celery seed", "Celery leaf", "Selleriesamen", "Spinach, blanched", "Beetroot, diced", "Mangold", "Smoked paprika", "Geräucherter Paprika", "Salted butter", "Pistachios, salted", "Wurstgewürz", "Wurstkraut", "Sausage seasoning", "Schinkengewürz", "Vegetable stock powder", "Gemüsebrühe, Pulver", "Rückenspeck, gewürfelt", "Fresh lardons", "Lemon juice", "Zwiebelpulver", "Nori", "Kno blauch"],
)  # fmt: skip
def test_what_holds_no_cure_stays_an_ingredient(name):
    assert not {"recipe_cure_named", "recipe_already_cured"} & codes_of(f'name = "{name}"\nrole = "garnish"\namount = "5 g"')
