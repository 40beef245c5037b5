"""A second language: whole catalogues, no text of one in the other, figures that read back, links and numbers that stay the same."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import curebatch
from curebatch import __main__ as terminal
from curebatch.batch import allergens
from curebatch.fields import FIELDS, MASS, TINS, field_of
from curebatch.intake.entries import read_field, text_of, told_of
from curebatch.intake.numbers import plain, show, spell
from curebatch.intake.recipe import read_recipe
from curebatch.intake.retold import retold
from curebatch.intake.tins import examples, read_tin
from curebatch.intake.units import factor, read_amount, write_mass
from curebatch.words import LANGUAGES, catalogue, say, shown, speaking, spoken, typed

TOP = Path(__file__).resolve().parents[1]
RECIPES = TOP / "site" / "recipes"
OTHERS = LANGUAGES[1:]
PLACE = re.compile(r"\{[a-z_]+\}")

# ------------------------------------------------------------------ the catalogues

# Texts that are the same in both, beside names, sources and bare figures.
ALIKE = {
    "de": {
        "page.name", "language.to.en", "language.to.de", "choice.region.codex", "schema.text", "day.month.4", "day.month.8", "day.month.9", "day.month.11",
        "page.rules.region", "page.licences.version", "own.ingredient.name.label", "batch.spoon.table",
    },
}


@pytest.mark.parametrize("language", OTHERS)
def test_a_catalogue_says_all_that_the_first_says(language):
    first, other = catalogue(LANGUAGES[0]), catalogue(language)
    assert set(first) == set(other)
    for id, text in first.items():
        assert sorted(PLACE.findall(text)) == sorted(PLACE.findall(other[id])), id


@pytest.mark.parametrize("language", OTHERS)
def test_nothing_is_left_untranslated(language):
    first, other = catalogue(LANGUAGES[0]), catalogue(language)
    alike = {id for id, text in first.items() if text == other[id] and re.search("[A-Za-z]{4}", PLACE.sub("", text))}
    sources = {id for id in alike if "source" in id.split(".")}
    assert alike - sources == ALIKE[language] & alike


def test_each_language_has_files_of_its_own_and_the_others_are_not_read():
    asked = "import curebatch, json; from curebatch import words; curebatch.answer(json.dumps({'input': {}})); print(words.catalogue.cache_info().currsize)"
    assert subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout.strip() == "1"


def test_a_language_holds_while_it_is_spoken_and_no_longer():
    with speaking("de"):
        with speaking("xx"):
            assert spoken() == LANGUAGES[0]
        assert spoken() == "de" and say("verdict.faulty") == catalogue("de")["verdict.faulty"]
    assert spoken() == LANGUAGES[0]
    with pytest.raises(ValueError, match="inside"), speaking("de"):
        raise ValueError("inside")
    assert spoken() == LANGUAGES[0]


# ------------------------------------------------------------------ whole answers

KITCHEN = {"pack": "0,4-0,5 %", "fine_scale": "0,1 g"}
OVEN = {
    "oven": "fan_oven", "oven_setting": "120,5 °C", "cover": "open", "wall": "metal", "start_temperature": "4,5 °C", "chill": "iced_water",
    "readings": "10:40 4,5 °C; 11:05 38,5 °C; 12:20 74,5 °C; 12:25 74,6 °C", "cooling_readings": "12:40 out; 12:50 68,5 °C; 13:40 21,5 °C; 16:00 4,5 °C",
}
GROUND = {
    "tin": "2 x box 30 x 10,5 x 8 cm", "tin_2": "loaf 24,5 x 9 bottom 22 x 8 depth 7 cm", "price.curing_salt": "9,8 EUR/kg", "price.shoulder": "4,55 EUR for 250 g", "use.ice": "400,5 g",
    "batter": "10,5 °C; 11,5 °C", "meat_temperature": "2,5 °C", "water_temperature": "12,5 °C", "ice_temperature": "-6,5 °C", "chop": "8,5 min", "spoons": "metric",
}
WANTS = ["all", "sheet", "label", "text", "markdown", "snippet"]


def refs() -> list[str]:
    return sorted(path.stem for path in RECIPES.glob("*.toml"))


def shelf_text() -> str:
    texts = {language: {path.stem: path.read_text("utf-8") for path in sorted((RECIPES / language).glob("*.toml"))} for language in OTHERS}
    return json.dumps({"recipes": {ref: (RECIPES / f"{ref}.toml").read_text("utf-8") for ref in refs()}, "texts": texts, "withdrawn": {}})


def inputs() -> list[dict]:
    """Every recipe without and with a kitchen, some refused, found ones, one's own, and a whole kitchen."""
    given = [{"page": "recipe", "recipe": ref, "fields": fields} for ref in refs() for fields in ({}, KITCHEN)]
    given += [{"page": "recipe", "recipe": "pistachio-pork-loaf.1", "fields": {**KITCHEN, **OVEN, **GROUND}}, {"page": "recipe", "recipe": "picnic-ham.1", "fields": {**KITCHEN, **OVEN, "thickness": "85,5 mm", "region": "us"}}]
    given += [{"page": "recipe", "recipe": ref, "fields": {**KITCHEN, **OVEN, "thickness": "85,5 mm", "units": "us"}} for ref in ("picnic-ham.1", "corned-brisket.1")]
    given += [{"page": "recipe", "recipe": "pistachio-pork-loaf.1", "fields": {**KITCHEN, **GROUND, "units": "us"}}]
    given += [{"page": "recipe", "recipe": "pistachio-pork-loaf.1", "fields": {"pack": "1.500 %", "meat": "1,500 g", "tin": "bucket", "core": "1"}}, {"page": "recipe", "recipe": "none.1"}]
    given += [{"page": "found", "fields": {"found_cure": "20,5 g", "found_meat": "1,5 kg", "found_pack": pack, "pack": "0,5 %"}} for pack in ("0,5 %", "6,25 %")]
    given += [{"page": "own", "link": json.loads(curebatch.answer(json.dumps({"input": {"recipe": "back-bacon.1"}})))["links"]["recipe"]}]
    return [{**one, "today": "2026-11-28", "address": "https://example.org/recipes/x/", "confirmed_packs": ["0.5 %"]} for one in given]


def answers(language: str) -> list[dict]:
    return [json.loads(curebatch.answer(json.dumps({"id": 1, "want": WANTS, "input": {**given, "language": language}}))) for given in inputs()]


@cache
def told() -> dict[str, list[dict]]:
    """The answers in each language, asked in turn in one process."""
    curebatch.start(shelf_text())
    made = {language: answers(language) for language in LANGUAGES}
    again = {language: answers(language) for language in LANGUAGES}
    assert made == again
    return made


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_text_of_one_language_comes_out_in_the_other(language):
    """Against a process that has never spoken another."""
    asked = (
        f"import sys, json; sys.path[:0] = {[str(TOP / 'tests')]!r}; import curebatch, test_languages as t;"
        f" curebatch.start(t.shelf_text()); print(json.dumps(t.answers({language!r})))"
    )
    fresh = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout
    assert json.loads(fresh) == told()[language]


def strings(value: object, way: tuple = ()) -> Iterator[tuple[tuple, str]]:
    if isinstance(value, dict):
        for key, each in value.items():
            yield from strings(each, (*way, key))
    elif isinstance(value, list):
        for number, each in enumerate(value):
            yield from strings(each, (*way, number))
    elif isinstance(value, str):
        yield way, value


def others(value: object, way: tuple = ()) -> Iterator[tuple[tuple, object]]:
    if isinstance(value, dict):
        for key, each in value.items():
            yield from others(each, (*way, key))
    elif isinstance(value, list):
        for number, each in enumerate(value):
            yield from others(each, (*way, number))
    elif not isinstance(value, str):
        yield way, value


# What names documents, or is for programs: the same in every language.
SOURCES = {"source", "source_text", "density_source", "yield_source", "document", "edition", "clause", "sources", "author"}
CANONICAL = {"value", "recipe", "links", "id", "code", "key", "field", "unit", "severity", "role", "method", "state", "verdict", "rules_edition", "needs", "oven_learnt", "form"}


@pytest.mark.parametrize("language", OTHERS)
def test_numbers_and_links_are_the_same_in_every_language(language):
    for first, other in zip(told()[LANGUAGES[0]], told()[language], strict=True):
        if "own" not in first:  # a copy carries its texts
            # A recipe that is made the cook's own is a file in the language that it was found in.
            assert all(link == other["links"][name] for name, link in first["links"].items() if name != "own")
            assert set(first["links"]) == set(other["links"])
        assert dict(others(first["card"])) == dict(others(other["card"]))
        for way, text in strings(first["card"]):
            if way[-1] in CANONICAL and "picture" not in way:
                assert dict(strings(other["card"]))[way] == text, way


POINT = re.compile(r"(?<![\w.])[0-9]+\.[0-9]+(?![\w.])")


def test_no_decimal_point_stands_in_german():
    for answer in told()["de"]:
        for way, text in strings(answer["card"]):
            if set(way) & (SOURCES | {"value", "read"}) or "limits" in way and way[-1] == "text":
                continue
            assert not POINT.search(text) or "fault" in " ".join(map(str, way)), (way, text)
        for fault in answer["faults"]:
            # What was typed is quoted as it was typed.
            assert not POINT.search(fault["text"].replace(fault["read"], "")), fault


def test_nothing_on_a_german_card_is_english():
    for english, german in zip(told()["en"], told()["de"], strict=True):
        there = dict(strings(german["card"]))
        for way, text in strings(english["card"]):
            if len(re.findall(r"\b[a-z]{3,}\b", text)) < 2 or set(way) & SOURCES or way[-1] in CANONICAL or "read" in way:
                continue
            assert there.get(way) != text, (way, text)


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("ref", refs())
def test_every_recipe_is_told_and_marked(language, ref):
    made = next(answer for answer in told()[language] if answer["card"].get("recipe") == ref)
    assert made["card"]["language"] == language


def test_a_recipe_without_texts_keeps_its_own_and_is_marked():
    curebatch.start(json.dumps({**json.loads(shelf_text()), "texts": {}}))
    try:
        request = {"want": ["amounts", "steps"], "input": {"language": "de", "recipe": "back-bacon.1", "fields": KITCHEN}}
        sections = json.loads(curebatch.answer(json.dumps(request)))["sections"]
        assert '<ol class="steps" lang="en">' in sections["steps"] and '<span class="name" lang="en">Sugar</span>' in sections["amounts"]
    finally:
        curebatch.start(shelf_text())


# ------------------------------------------------------------------ figures and entries


@pytest.mark.parametrize("language", LANGUAGES)
@given(st.fractions(min_value=0, max_value=10**6, max_denominator=10**4), st.integers(0, 6))
def test_a_figure_reads_back(language, value, places):
    with speaking(language):
        for text in (show(value, places), plain(Fraction(round(value * 10**4), 10**4))):
            ((number, _),) = spell(shown(text)).parts
            ((meant, _),) = spell(text).parts
            assert number == meant
            assert shown(shown(text)) == shown(text)


@pytest.mark.parametrize("language", LANGUAGES)
@given(st.integers(0, 10**7), st.sampled_from(MASS), st.integers(0, 4))
def test_a_mass_reads_back(language, steps, unit, places):
    grams = Fraction(steps, 10**places) * factor(unit)
    with speaking(language):
        assert read_amount(shown(write_mass(grams, unit, places)), "mass", MASS).value == grams


ENTRIES = {
    **{field.key: field.example for field in FIELDS if field.example and field.kind not in ("text", "learnt")},
    "pack": "max 0.65 %", "price.salt": "2.45 EUR for 250.5 g", "cooling_readings": "12:00 out; 12:10 68.5 °C; 12:40 41 °C", "oven_changes": "61.5 min 120.5 °C", "chopper": "48.5-56 kJ/kg",
}


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("key", ENTRIES)
def test_an_entry_reads_back_as_it_is_shown(language, key):
    value, wrong = read_field(field_of(key), ENTRIES[key])
    assert wrong is None
    with speaking(language):
        told_text = told_of(value)
        again, wrong = read_field(field_of(key), told_text)
    assert wrong is None and text_of(again) == text_of(value)
    assert (told_text == text_of(value)) or language != LANGUAGES[0]


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_tin_that_is_shown_is_read(language):
    with speaking(language):
        for entry in (*examples(), *(BY for key in TINS for BY in [field_of(key).example])):
            assert read_tin(typed(entry)) == read_tin(entry)


@pytest.mark.parametrize("text, meant", [
    ("2,5 Kilogramm", "2.5 kg"), ("250 Gramm", "250 g"), ("1,5 kg", "1.5 kg"),
])  # fmt: skip
def test_german_weights_are_read(text, meant):
    assert read_amount(text, "mass", MASS).text == meant


@pytest.mark.parametrize("key, text, meant", [
    ("pack", "0,4 bis 0,5 %", "0.4-0.5 %"), ("pack", "höchstens 0,6 Prozent", "max 0.6 %"), ("hold", "2,5 Minuten", "2.5 min"), ("hold", "2 Std.", "2 h"), ("core", "72 Grad Celsius", "72 °C"),
    ("readings", "10:40 Uhr 4,5 °C; 11:05 Uhr 38 °C", "10:40 4.5 °C; 11:05 38 °C"), ("cooling_readings", "12:00 heraus; 12:10 68 °C", "12:00 out; 12:10 68 °C"),
    ("tin", "2 x Kastenform 24 x 9 unten 22 x 8 Tiefe 7,5 cm", "2 x loaf 24 x 9 bottom 22 x 8 depth 7.5 cm"), ("tin", "Darm flach 9 x 30 cm", "casing flat 9 x 30 cm"), ("price.salt", "2,40 EUR für 250 g", "2.4 EUR/250 g"),
])  # fmt: skip
def test_german_entries_are_read(key, text, meant):
    value, wrong = read_field(field_of(key), text)
    assert wrong is None and text_of(value) == meant


@pytest.mark.parametrize("text", ["1.500 g", "1,500 g", "70 Grad", "1 Pfund", "ein Kilo"])
def test_what_reads_two_ways_is_refused_in_german_too(text):
    with speaking("de"):
        assert read_field(field_of("meat"), text)[1] is not None


@pytest.mark.parametrize("text, code", [("Nitritpökelsalz", "pack_without_figure"), ("NPS", "pack_without_figure"), ("Salpeter", "saltpetre"), ("Selleriepulver", "vegetable_cure"), ("Meersalz", "pack_without_figure")])
def test_a_pack_that_names_no_figure_is_refused_by_its_german_name(text, code):
    assert read_field(field_of("pack"), text)[1].code == code


# ------------------------------------------------------------------ what is in it, by its German name


def recipe_with(name: str, role: str, amount: str = "1 %") -> str:
    return (RECIPES / "back-bacon.1.toml").read_text("utf-8").replace("[[step]]", f'[[ingredient]]\nid = "more"\nname = "{name}"\nrole = "{role}"\namount = "{amount}"\nper = "meat"\n\n[[step]]', 1)


@pytest.mark.parametrize("name, role, code", [
    ("Nitritpökelsalz", "spice", "recipe_cure_named"), ("NPS", "spice", "recipe_cure_named"), ("Salpeter", "spice", "recipe_cure_named"), ("Pökelsalz", "garnish", "recipe_cure_named"),
    ("Kochsalz", "spice", "recipe_salt_named"), ("Meersalz, grob", "spice", "recipe_salt_named"), ("Schwarzwälder Schinken", "meat", "recipe_already_cured"), ("Speck", "fat", "recipe_already_cured"),
    ("Kasseler", "meat", "recipe_already_cured"), ("Gepökelte Zunge", "meat", "recipe_already_cured"), ("Putenbrust", "meat", "recipe_value"), ("Hähnchenkeule", "meat", "recipe_value"),
])  # fmt: skip
def test_what_must_not_be_an_ingredient_is_known_by_its_german_name(name, role, code):
    recipe, faults = read_recipe(recipe_with(name, role), "x.toml")
    assert recipe is None and (code in {fault.code for fault in faults} or (code == "recipe_value" and faults))


@pytest.mark.parametrize("name, role", [("Rückenspeck, frisch", "fat"), ("Grüner Speck", "fat"), ("Schinkenstück, roh, ungepökelt", "meat"), ("Salbei", "spice"), ("Bergamotte", "spice")])
def test_what_may_be_an_ingredient_is_taken(name, role):
    _, faults = read_recipe(recipe_with(name, role), "x.toml")
    assert not {fault.code for fault in faults} & {"recipe_cure_named", "recipe_salt_named", "recipe_already_cured"}


@pytest.mark.parametrize("name, group, sure", [
    ("Weizenmehl Type 405", "gluten", True), ("Paniermehl", "gluten", True), ("Roggenbrot", "gluten", True), ("Eigelb", "egg", True), ("Eier", "egg", True), ("Sardellen", "fish", True), ("Garnelen", "crustaceans", True),
    ("Erdnüsse", "peanut", True), ("Sojamehl", "soy", True), ("Magermilchpulver", "milk", True), ("Sahne", "milk", True), ("Bergkäse", "milk", True), ("Mandeln", "nuts", True), ("Haselnüsse", "nuts", True),
    ("Walnusskerne", "nuts", True), ("Pistazien", "nuts", True), ("Cashewkerne", "nuts", True), ("Knollensellerie", "celery", True), ("Senfkörner", "mustard", True), ("Sesam", "sesame", True), ("Weißwein", "sulphites", False),
    ("Lupinenmehl", "lupin", True), ("Miesmuscheln", "molluscs", True), ("Gemüsebrühe", "celery", False), ("Gewürzmischung", "mustard", False), ("Bier", "gluten", True),
])  # fmt: skip
def test_allergens_are_known_by_their_german_names(name, group, sure):
    found = {row.group: row.sure for row in allergens.on_list(allergens.of_ingredient(name), "eu")}
    assert found.get(group) is sure


@pytest.mark.parametrize("name, group", [("Muskatnuss, gerieben", "nuts"), ("Buchweizenmehl", "gluten"), ("Milchsäure", "milk"), ("Kokosmilch", "milk"), ("Tintenfisch", "fish"), ("Austernpilze", "molluscs"), ("Eis", "egg"), ("Leberkäse", "milk")])
def test_names_that_only_sound_like_one_are_spared(name, group):
    assert group not in {row.group for row in allergens.on_list(allergens.of_ingredient(name), "eu") if row.sure}


# ------------------------------------------------------------------ a recipe's texts in a file of their own

LOAF = "pistachio-pork-loaf.1"


def told_with(before: str, after: str):
    recipe, _ = read_recipe((RECIPES / f"{LOAF}.toml").read_text("utf-8"), f"{LOAF}.toml")
    text = (RECIPES / "de" / f"{LOAF}.toml").read_text("utf-8")
    assert before in text
    return retold(recipe, text.replace(before, after, 1), f"de/{LOAF}.toml", "de")


@pytest.mark.parametrize("before, after, line", [
    ("12 °C", "14 °C", True), ("{core}", "{hold}", True), ("{curing_salt}, ", "", True), ("Pistazien-Fleischkäse", "3 Pistazien-Fleischkäse", True), ('ice = "Scherbeneis"', "", True),
    ('ice = "Scherbeneis"', 'ice = ""', True), ("[ingredient]", '[ingredient]\nnitrite = "x"', True), ("[ingredient]", "[targets]\nsalt = \"2 %\"\n[ingredient]", True),
    ("title", "name", True), ("über Nacht", "mit 54 g Pökelsalz über Nacht", True), ("über Nacht", "über \u202eNacht", True), ('changes = ["Zum ersten Mal veröffentlicht."]', "", True), ("[[step]]\n", "[[step]]\ntimer = \"1 h\"\n", True),
    ("title =", "title", False),
])  # fmt: skip
def test_texts_that_say_something_else_are_a_fault_with_its_place(before, after, line):
    recipe, faults = told_with(before, after)
    assert recipe is None and faults
    assert all(f"de/{LOAF}.toml" in fault.text for fault in faults)
    if line:
        assert any("line" in fault.text for fault in faults) or before.startswith(("ice", "changes", "title"))


@pytest.mark.parametrize("before, after, code", [
    ("Macis, gemahlen", "Pökelsalz", "recipe_cure_named"), ("Macis, gemahlen", "Rosa Salz", "recipe_cure_named"), ("Macis, gemahlen", "Meersalz", "recipe_salt_named"), ("Schweineschulter, mager", "Geräucherte Schulter", "recipe_already_cured"),
    ("Schweineschulter, mager", "Putenbrust", "retold_thing"), ("Macis, gemahlen", "Ascorbinsäure", "retold_thing"), ("Macis, gemahlen", "Phosphat", "retold_thing"), ("Macis, gemahlen", "M" * 301, "recipe_text_long"), ("Macis, gemahlen", "Macis (20 g Pökelsalz)", "recipe_cure_named"),
    ("über Nacht kalt halten", "über Nacht kalträuchern", "recipe_process"), ("über Nacht kalt halten", "eine Handvoll NPS zugeben", "recipe_bare_grams"), ("Pistazien-Fleischkäse vom", "Fermentierte Wurst vom", "recipe_process"),
])  # fmt: skip
def test_names_and_steps_in_german_pass_the_same_nets(before, after, code):
    recipe, faults = told_with(before, after)
    assert recipe is None and code in {fault.code for fault in faults}


def test_what_a_thing_is_may_be_named_by_what_was_done_to_it():
    recipe, faults = told_with("Macis, gemahlen", "Pfeffer, fermentiert")
    assert recipe, faults


@pytest.mark.parametrize("before, after", [("Schweinerücken, ohne Knochen und Schwarte", "Schweinebauch, ohne Schwarte"), ('cut = "Rücken, ohne Knochen"', 'cut = "Bauch"'), ("Bacon vom Schweinerücken", "Bacon vom Schweinebauch")])
def test_no_belly_goes_in_by_its_german_name(before, after):
    recipe, _ = read_recipe((RECIPES / "back-bacon.1.toml").read_text("utf-8"), "back-bacon.1.toml")
    text = (RECIPES / "de" / "back-bacon.1.toml").read_text("utf-8")
    assert before in text
    assert [fault.code for fault in retold(recipe, text.replace(before, after, 1), "x.toml", "de")[1]] == ["retold_thing"]


def test_texts_change_what_is_read_and_nothing_that_is_weighed():
    recipe, _ = read_recipe((RECIPES / f"{LOAF}.toml").read_text("utf-8"), f"{LOAF}.toml")
    other, faults = told_with("Ein feines", "Ein feines")
    assert not faults and other.title != recipe.title and other.language == "de"
    assert (other.targets, other.meat, other.core, other.hold, other.tins) == (recipe.targets, recipe.meat, recipe.core, recipe.hold, recipe.tins)
    assert [(one.id, one.share, one.role, one.row, one.known_as) for one in other.ingredients] == [(one.id, one.share, one.role, one.row, one.name) for one in recipe.ingredients]


@pytest.mark.parametrize("language", OTHERS)
def test_every_file_of_texts_belongs_to_a_recipe(language):
    files = sorted((RECIPES / language).glob("*.toml"))
    assert files and {path.stem for path in files} <= set(refs())
    for path in files:
        assert set(tomllib.loads(path.read_text("utf-8"))) <= {"title", "summary", "cut", "changes", "ingredient", "step"}


def test_a_copy_of_ones_own_speaks_the_language_of_the_page():
    told()
    link = json.loads(curebatch.answer(json.dumps({"input": {"recipe": LOAF}})))["links"]["recipe"]
    made = json.loads(curebatch.answer(json.dumps({"want": ["all"], "input": {"language": "de", "page": "own", "link": link, "fields": KITCHEN}})))
    assert not made["faults"] and made["own"]["language"] == "de" and made["own"]["ingredient"][0]["name"] == "Schweineschulter, mager"
    english = json.loads(curebatch.answer(json.dumps({"want": ["all"], "input": {"page": "own", "link": link, "fields": KITCHEN}})))
    assert [row["weigh"]["value"] for row in made["card"]["amounts"]] == [row["weigh"]["value"] for row in english["card"]["amounts"]]
    assert made["card"]["allergens"]["rows"][0]["groups"] == english["card"]["allergens"]["rows"][0]["groups"]


# ------------------------------------------------------------------ the terminal


def test_the_terminal_speaks_german(capsys):
    assert terminal.main(["card", LOAF, "--set", "pack=0,5 %", "--set", "fine_scale=0,1 g", "--language", "de"]) == 0
    said = capsys.readouterr().out
    assert said.startswith("Pistazien-Fleischkäse") and "68,0 g" in said and not re.search(r"\d\.\d g", said)
    assert terminal.main(["--language", "de", "card", LOAF, "--set", "pack=1.500 %"]) == 2
    assert "1,5" in capsys.readouterr().err
    assert terminal.main(["check", str(RECIPES / "de" / f"{LOAF}.toml"), "--language", "de"]) == 0
    assert terminal.main(["card", str(RECIPES / f"{LOAF}.toml"), "--language", "de"]) == 4
    assert "Pistazien-Fleischkäse" in capsys.readouterr().out
    assert spoken() == LANGUAGES[0]
