"""What a name says, asked directly and written in small and in capital letters: cures, salt, cured meat, birds, belly, bones, spoons, and what stands beside a figure."""

from __future__ import annotations

from fractions import Fraction

import pytest

from curebatch.intake import ingredients, recipe
from curebatch.intake.ingredients import Ingredient, bone_in, judge_name, role_meant
from curebatch.intake.reader import Reader
from curebatch.intake.signs import spoken


def letters(name: str) -> set[str]:
    return {name, name.lower(), name.upper()}


INSTEAD = {"recipe_cure_named": "[targets] nitrite", "recipe_already_cured": "Expected: raw meat.", "recipe_salt_named": 'salt = "98 %"'}


def code_of(name: str, role: str = "garnish", salt_stated: bool = False) -> str:
    """The code of what is told of a name, which quotes it and says what to write instead."""
    reader = Reader("", "x.toml")
    judge_name(reader, ("name",), name, role, salt_stated)
    for fault in reader.faults:
        assert (fault.field, fault.read) == ("name", name) and INSTEAD[fault.code] in fault.text and f"“{name}”" in fault.text
    return reader.faults[0].code if reader.faults else ""


CURES = [
    "curing mix", "nitrite", "Natriumnitrat", "saltpeter", "salt petre", "instant cure", "E 249", "E-252", "e250", "NaNO2", "KNO3", "Ca(NO3)2", "Pökelstoff", "poekelsalz", "Sursalz", "Surlake", "Surgewürz", "Salpeter", "NPS", "pink salt",
    "Rosa Salz", "rosafarbenes Pulver", "pink crystals", "rosa Kristalle", "celery powder", "spinach extract", "beet juice", "beet root concentrate", "rote bete pulver", "Rote-Rübe-Saft", "Randensaft", "chard powder", "mangold pulver", "arugula extract", "Rucola-Extrakt", "lettuce, cultured",
    "vegetable juice, fermented", "Gemüsepulver", "gemuesekonzentrat", "Sellerie-Extrakt",
]  # fmt: skip
CURED = [
    "corned beef", "salami", "prosciutto", "pastrami", "cured pork", "gepökelter Nacken", "Räucherbauch", "Rauchfleisch", "Rauchspeck", "Pökelzunge", "Pökelbrust", "Surfleisch", "Rohschinken", "Rohpolnische", "Mettwurst", "Cervelat", "Landjäger", "Pancetta", "Coppa", "Chorizo", "Kasseler",
    "Bündner", "mortadella", "Wienerle", "frankfurter", "sausage meat", "Wurst", "Würstchen", "Wuerstchen", "saucisson", "hot dog", "bologna", "bacon", "ham", "gammon", "lardons", "Speck", "Schinken", "salted pork", "smoked beef", "gesalzenes Fett", "geräucherte Rippe", "luftgetrocknete Keule", "air-dried beef", "smoked back fat",
    "smoked pig's cheek", "salted tallow",
]  # fmt: skip
SALTS = ["salt", "sea salt", "Salz", "Kochsalz", "des Salzes", "Salze", "Salzlake"]
PLAIN = [
    "celery seed powder", "Selleriesalat", "sugar beet", "beet sugar powder", "vegetable stock powder", "Gemüsebrühe-Extrakt", "fresh ham", "uncured bacon", "frischer Schinken", "grüner Speck", "ungepökelter Speck", "Rückenspeck", "Backenspeck", "Speckschwarte", "bacon seasoning", "pastrami rub",
    "Schinkengewürz", "Wursthülle", "Wiener Gewürz", "Speck-Gewürz", "salami casings", "Wurstkraut", "unsmoked paprika", "salted butter", "smoked paprika", "Hirschhornsalz", "Natriumsalz", "Kaliumsalz", "ungeräucherter Fisch", "ungesalzene Keule", "Gesalzene Butter", "Malz", "Pfeffer",
]  # fmt: skip


@pytest.mark.parametrize("names, code", [(CURES, "recipe_cure_named"), (CURED, "recipe_already_cured"), (SALTS, "recipe_salt_named"), (PLAIN, "")])
def test_a_name_is_known_in_any_letters(names, code):
    for name in names:
        for written in letters(name):
            assert code_of(written) == code, written


def test_beside_the_meat_itself_salted_and_smoked_count_for_every_name():
    for role in ("meat", "fat"):
        assert code_of("Smoked neck", role) == code_of("salted cheek", role) == "recipe_already_cured"
    assert code_of("Smoked neck", "spice") == "" and code_of("Sea salt", salt_stated=True) == ""


@pytest.mark.parametrize("name, role, meant", [
    ("Umrötemittel", "spice", "accelerator"), ("Umroetehilfsmittel", "spice", "accelerator"), ("Rötemittel", "sugar", "accelerator"), ("cure accelerator", "spice", "accelerator"), ("curing accelerator", "binder", "accelerator"), ("Sodium ascorbate", "spice", "accelerator"),
    ("Phosphate", "spice", "phosphate"), ("Kutterhilfsmittel (Phosphat)", "binder", "phosphate"), ("Binder without phosphate", "binder", ""), ("no phosphate", "binder", ""), ("ohne Phosphat", "binder", ""), ("phosphate-free", "binder", ""), ("phosphatfrei", "binder", ""),
    ("Umrötemittel", "phosphate", "accelerator"), ("Umrötemittel", "leavening", "accelerator"), ("Umrötemittel", "accelerator", ""), ("Phosphate", "phosphate", ""), ("Phosphate", "leavening", ""), ("Phosphate", "accelerator", ""), ("Pepper", "spice", ""),
])  # fmt: skip
def test_an_additive_has_the_role_that_its_name_says(name, role, meant):
    for written in letters(name):
        assert role_meant(written, role) == meant, written


SALTY = [
    "soy sauce", "hot sauce", "shoyu", "capers", "anchovies", "stock", "olives", "miso", "bottarga", "caviar", "feta", "grana padano", "cheese", "kimchi", "curry paste", "mustard", "dijon", "salted nuts", "sun-dried tomatoes", "pretzels", "smoked salmon", "Sojasoße", "Grillsauce",
    "Würzsoßen", "Worcester", "Gemüsebrühe", "Rinderfond", "Gurkenlake", "Oliven", "Sardellen", "Kaviar", "Räucherlachs", "Bergkäse", "Gewürzgurke", "Senf", "gesalzen", "Salzzitronen", "Hefeextrakt", "Currypaste", "Laugenbrezeln",
]  # fmt: skip


def test_what_is_bought_salty_is_known_in_any_letters():
    for name in SALTY:
        assert all(ingredients.SALTY.search(spoken(written)) for written in letters(name)), name
    for name in ("olive oil", "olive leaves", "cream cheese", "cottage cheese", "cheese cloth", "dry mustard", "ground mustard", "mustard seed", "mustard, ground", "unsalted butter", "sardellenfrei", "Frischkäse", "Hüttenkäse", "Käsetuch", "Senf-Körner", "ungesalzen"):
        assert not any(ingredients.SALTY.search(spoken(written)) for written in letters(name)), name
    for name in ("unsalted", "no salt", "no added salt", "without salt", "salt-free", "ungesalzen", "ohne Salz", "salzfrei", "salzlos"):
        assert all(ingredients.UNSALTED.search(spoken(written)) for written in letters(name)), name


def test_a_bone_is_known_in_any_letters():
    for name in (
        "bone-in", "bones in", "with its bone", "on the bone", "unboned", "whole chickens", "whole bird", "mit dem Knochen", "mit Knochen", "am Knochen", "unausgelöst", "nicht entbeint", "ganze Gänse", "ganzes Huhn", "ganze Suppenhühner", "hock", "knuckles", "spare ribs", "back ribs", "short-ribs", "Schweinshaxe", "Haxn", "Stelze", "Eisbein",
        "Spitzbeine", "Rippen", "Schälrippchen", "Kotelettrippe",
    ):  # fmt: skip
        assert all(bone_in(spoken(written)) for written in letters(name)), name
    for name in ("boneless", "hock, boneless", "boned shank", "knuckle, bone out", "hock, bone removed", "shank off the bone", "ribs", "spare rib meat", "Haxe ohne Knochen", "Haxe, ausgelöst", "Eisbein, ausgebeint", "Haxe knochenlos", "bone broth", "Rückenspeck"):
        assert not any(bone_in(spoken(written)) for written in letters(name)), name


def line(name: str, food: str = "", animal: str = "") -> Ingredient:
    return Ingredient("x", name, "garnish", Fraction(1), "meat", food, animal=animal)


def test_a_bird_is_known_in_any_letters():
    other = ["turkey", "duck", "Goose", "squab", "foie gras", "magret", "Stopfleber", "Pute", "Babypute", "Puter", "Truthenne", "Wildente", "Enten", "Mastgans", "Gänse", "Wachtel", "Fasan", "Perlhuhn", "Perlhühner", "Straußenfilet", "Straussen", "Taube", "Täubchen", "guinea fowl", "ostrich", "pigeon", "grouse"]
    hens = ["chicken", "poultry", "Geflügel", "Suppenhuhn", "Hühner", "Hähnchen", "Hendl", "Poularde", "Kapaun", "broiler", "hens", "capon", "cockerel", "poussin", "poulet", "fowl"]
    none = [
        "gooseberries", "pigeon peas", "chicken of the woods", "hen of the woods", "Gänseblümchen", "poultry seasoning", "chicken egg", "quail's eggs", "duck rub", "egg, duck", "egg, turkey", "Hähnchengewürz", "Geflügelgewürzmischung", "Hühnereier", "Wachtel-Ei", "Enteneigelb", "Taubeneipulver", "Straußenei", "Beef", "Rind",
    ]  # fmt: skip
    for name in other + hens:
        for written in letters(name):
            assert recipe.lacks_bird(["pork"], line(written)) and not recipe.lacks_bird(["pork", "poultry"], line(written)), written
            assert recipe.is_other_bird("chicken", line(written)) is (name in other), written
            assert not recipe.is_other_bird("mixed", line(written)) and not recipe.is_other_bird(None, line(written))
    for name in none:
        assert not any(recipe.lacks_bird(["pork"], line(written)) for written in letters(name)), name
    assert not recipe.lacks_bird(["pork"], line("Gänsefuß"))
    assert recipe.lacks_bird(["pork"], line("Trim", food="Ground turkey, raw")) and recipe.lacks_bird(["pork"], line("Trim", animal="chicken")) and recipe.is_other_bird("chicken", line("Trim", animal="duck"))


def test_belly_is_known_in_any_letters():
    for name in ("belly", "pork bellies", "streaky bacon", "Bauch", "Bäuche", "Schweinebauch", "Bauchspeck", "Bauchlappen", "Wammerl", "belly, not the back", "no loin; belly"):
        assert all(recipe.says_belly(written) for written in letters(name)), name
    for name in ("loin", "beef belly", "veal belly", "lamb belly", "Rinderbauch", "Kalbsbauch", "Lammbauch", "bauchig", "no belly", "without the belly", "ohne Bauch", "kein Bauch", "nicht vom Bauch", "not belly", "nor belly"):
        assert not any(recipe.says_belly(written) for written in letters(name)), name


def beside(text: str) -> list[str]:
    """What is told of a text with a place in it."""
    reader = Reader("", "x.toml")
    recipe.no_other_figure(reader, ("step", 0, "text"), text)
    assert all((fault.field, fault.code) == ("step.1.text", "recipe_beside_place") and "Write {salt} alone" in fault.text for fault in reader.faults)
    return [fault.read for fault in reader.faults]


@pytest.mark.parametrize("before", [
    "2", "1/", "0.", "2 x ", "3×", "10 (", "twice ", "times ", "thrice ", "double ", "tripled ", "treble ", "quadruple ", "two-fold ", "Hundred", "zweimal ", "mal ", "doppelte ", "doppelt so viel ", "verdoppelte ", "dreifach ", "mehrfache ", "verzehnfacht ", "zwei ", "two of the ", "twenty ", "hundert ",
    "2 g of ", "cups ", "Tasse ", "spoonful of ", "teaspoon ", "tablespoons of the ", "* ", "✖ ", "· (", "100 % of the ", "250 per cent ", "120 Prozent ", "double the amount of ", "doppelte Menge der ", "das doppelte Gewicht vom ",
])
def test_no_figure_stands_before_a_place(before):
    for written in letters(before):
        assert len(beside(f"Add {written}{{salt}} now.")) == 1, written


@pytest.mark.parametrize("behind", ["5", ".5", "/2", "{ice}", " x 2", " twice", " (2 times)", ", doubled", " zweimal", " 3 mal", " two-fold", " verdoppelt", ": doppelt", " three times"])
def test_no_figure_stands_behind_a_place(behind):
    for written in letters(behind) if "{" not in behind else {behind}:
        assert beside(f"Add {{salt}}{written}.")[0].startswith("Add {salt}"), written


@pytest.mark.parametrize("text", ["Fold in {salt} and {ice}.", "{salt}, {ice}; then rest 2 h", "einfach {salt} dazu", "Put 50 % of the {ice} in first", "a fold of {salt}", "mit {salt} gut mischen, 20 min", "{salt} (2 min)", "Take the {salt}."])
def test_what_only_stands_near_is_no_other_figure(text):
    assert beside(text) == []


def test_what_is_told_of_a_figure_beside_a_place_quotes_just_that():
    assert beside("Stir well, then take twice  the {salt} and go on.") == ["twice  the {salt}"]
    # Behind it: as much before and behind as shows where it stands.
    assert beside("Now stir and then add {salt} x 2 of it, all of it.") == ["w stir and then add {salt} x 2 of it, all of i"]
    assert beside("Add {salt} x 2.") == ["Add {salt} x 2."]
    assert beside("{salt} and {ice}; 3 x {salt}, then {ice} twice.") == ["3 x {salt}"]


def read(extra: dict, kinds=("pork",), size=None):
    """(the line, what is told) of a meat and one more line."""
    reader = Reader("", "x.toml")
    meat = {"name": "Pork", "role": "meat", "amount": "100 %", "per": "meat"}
    found = ingredients.read_ingredients(reader, {"ingredient": [meat, dict(extra)]}, Fraction(1000), kinds, size)
    return found[-1], [(fault.field, fault.code, fault.text) for fault in reader.faults]


def together(*lines: tuple[str, str, str, str]) -> list[tuple[str, str, str]]:
    """What is told of some lines (name, role, amount, per)."""
    reader = Reader("", "x.toml")
    ingredients.read_ingredients(reader, {"ingredient": [dict(zip(("name", "role", "amount", "per"), line, strict=True)) for line in lines]}, Fraction(1000), ("pork",), None)
    return [(fault.field, fault.code, fault.read) for fault in reader.faults]


def test_meat_and_fat_add_up_to_the_whole_of_the_meat():
    """To a thousandth; and what goes by the whole mix is less than nine tenths of it."""
    for share, told in (("29.9 %", []), ("30.1 %", []), ("29.89 %", [("ingredient", "recipe_meat_sum", "99.9 %")]), ("30.11 %", [("ingredient", "recipe_meat_sum", "100.1 %")]), ("31.54 %", [("ingredient", "recipe_meat_sum", "101.5 %")])):
        assert together(("Pork", "meat", "70 %", "meat"), ("Fat", "fat", share, "meat")) == told, share
    assert together(("Fat", "fat", "100 %", "meat")) == [("ingredient", "recipe_no_meat", "")]
    assert together(("Pork", "meat", "100 %", "meat"), ("Pork", "spice", "1 g", "meat")) == [("ingredient.2.name", "recipe_twice", "pork")]
    for share, told in (("49.9 %", []), ("50 %", [("ingredient", "recipe_value", "")])):
        assert together(("Pork", "meat", "100 %", "meat"), ("Bread", "binder", "40 %", "mix"), ("Leek", "garnish", share, "mix")) == told
    assert together(("Pork", "meat", "100 %", "meat"), ("Leek", "garnish", "0 %", "mix")) == []
    assert together(("Pork", "meat", "100 %", "meat"), ("Leek", "garnish", "x", "mix")) == [("ingredient.2.amount", "recipe_value", "x")]
    reader = Reader("", "x.toml")
    assert ingredients.read_ingredients(reader, {}, Fraction(1000), ("pork",), None) == () and [(fault.field, fault.code) for fault in reader.faults][0] == ("ingredient", "recipe_missing") and "Expected: [[ingredient]]." in reader.faults[0].text


@pytest.mark.parametrize("line, field, instead", [
    ({"name": ""}, "id", "pork-shoulder"), ({"id": "Pepper"}, "id", "pork-shoulder"), ({"id": "salt"}, "id", "pork-shoulder"), ({"id": 5}, "id", "pork-shoulder"), ({"role": None}, "role", "spice, garnish"), ({"name": 5}, "name", "text"), ({"form": 5}, "form", "text"), ({"food": 5}, "food", "text"), ({"pack_list": 5}, "pack_list", "text"),
    ({"salt": "101 %"}, "salt", '"1.5 %"'), ({"salt": "x"}, "salt", '"1.5 %"'), ({"salt": 5}, "salt", '"1.5 %"'), ({"amount": "2"}, "amount", '"250 g", "25 %" or "2 tsp"'), ({"amount": 2}, "amount", '"250 g", "25 %" or "2 tsp"'), ({"amount": "2 %"}, "per", "meat, mix"), ({"food": "Salt, table"}, "food", 'salt = "98 %"'), ({"name": "Sea salt"}, "name", 'salt = "98 %"'),
    ({"role": "meat", "amount": "0 %", "per": "mix"}, "per", "meat"), ({"allergens": ["air"]}, "allergens", "milk"), ({"allergens": "milk"}, "allergens", '["milk"]'), ({"fat": "18 %"}, "fat", 'role = "meat"'), ({"animal": "pork"}, "fat", '"18 %"'), ({"substance": "STPP"}, "substance", 'role = "accelerator" or "phosphate"'),
])
def test_of_each_key_of_a_line_is_told_what_to_write(line, field, instead):
    _, told = read({"name": "Pepper", "role": "spice", "amount": "2 g"} | line if None not in line.values() else {"name": "Pepper", "amount": "2 g"})
    (text,) = [text for told_of, _, text in told if told_of == f"ingredient.2.{field}"]
    assert instead in text and text.startswith("x.toml: "), told


def test_the_keys_of_a_line_are_told_where_one_is_none():
    _, told = read({"name": "Pepper", "role": "spice", "amount": "2 g", "colour": "red"})
    assert told == [("ingredient.2.colour", "recipe_unknown_key", told[0][2])]
    assert told[0][2].endswith("id, name, role, amount, per, form, food, fat, animal, salt, substance, p2o5, pack_list, allergens.")
    _, told = read({"name": "Pepper", "role": "pepper", "amount": "2 g"})
    assert told[0][2].endswith("meat, fat, water, ice, accelerator, phosphate, leavening, binder, starch, sugar, spice, garnish.")


@pytest.mark.parametrize("animal, kind", [("chicken", "poultry"), ("turkey", "poultry"), ("duck", "poultry"), ("pork", "pork"), ("veal", "veal")])
def test_an_animal_is_of_its_kind(animal, kind):
    fat = {"name": "Back trim", "role": "fat", "amount": "0 g", "fat": "18 %", "animal": animal}
    assert read(fat, (kind, "game"))[1] == [] and [field for field, _, _ in read(fat, ("lamb", "beef"))[1]] == ["ingredient.2.animal"]


def test_a_role_that_is_none_is_told_as_it_stands_and_no_other():
    assert [text for field, _, text in read({"name": "Phosphate", "role": "phosphat", "amount": "2 g"})[1] if field == "ingredient.2.role" and "“phosphat”" not in text] == []
    for line in ({"amount": "2 g"}, {"amount": "1 %", "per": "mix"}, {"amount": "x"}, {}):
        assert [text for field, _, text in read({"name": "Phosphate", "role": "spice", **line})[1] if field == "ingredient.2.role"] == ["x.toml: ingredient.2.role is “spice”. Expected: phosphate."], line


def test_a_name_makes_an_id_of_its_letters():
    for name, made in (("Pepper, black (whole)", "pepper-black-whole"), ("  (Leek) ", "leek"), ("5 Spice", None)):
        line, told = read({"name": name, "role": "spice", "amount": "2 g"})
        assert line.id == made or (made is None and [field for field, _, _ in told] == ["ingredient.2.id"]), name


def test_of_one_kind_of_meat_the_fat_needs_no_animal():
    line, told = read({"name": "Back trim", "role": "fat", "amount": "0 g", "fat": "60 %"})
    assert told == [] and (line.animal, line.food, line.fat.text) == ("", "", "60 %") and line.row.fat == 60


@pytest.mark.parametrize("fat", ["0.4 %", "100.1 %"])
def test_no_meat_is_fatter_than_fat_or_without_any(fat):
    assert [(field, code) for field, code, _ in read({"name": "Back trim", "role": "fat", "amount": "0 g", "fat": fat})[1]] == [("ingredient.2.fat", "fat_share")]


def test_an_additive_is_what_is_stated_and_else_what_its_name_says():
    for name, stated, known in (("Booster", "sodium_ascorbate", "sodium_ascorbate"), ("Sodium erythorbate", None, "sodium_erythorbate"), ("Sodium erythorbate", "ascorbic_acid", "ascorbic_acid")):
        line, told = read({"name": name, "role": "accelerator", "amount": "1 g"} | ({"substance": stated} if stated else {}))
        assert told == [] and line.substance == known
    line, told = read({"name": "STPP", "role": "phosphate", "amount": "1 g"})
    assert told == [] and (line.substance, line.p2o5) == ("STPP", None)


def test_smoked_counts_by_the_role_of_the_line():
    for role, told in (("fat", [("ingredient.2.name", "recipe_already_cured")]), ("spice", [])):
        assert [(field, code) for field, code, _ in read({"name": "Smoked neck", "role": role, "amount": "0 g"})[1]] == told


def test_a_leavening_says_what_its_pack_lists():
    powder = {"name": "Raising powder", "role": "leavening", "amount": "5 g"}
    assert [(field, code) for field, code, _ in read({**powder, "pack_list": "secret"})[1]] == [("ingredient.2.pack_list", "leavening_unread")]
    line, told = read({**powder, "pack_list": "E 450, E 500"})
    assert told == [] and line.pack_list == "E 450, E 500" and read(powder)[1] == [] and read({**powder, "role": "spice", "pack_list": "secret"})[1] == []


def test_a_spoon_weighs_what_its_kind_and_its_form_say():
    sugar = {"name": "Sugar", "role": "sugar", "amount": "1 cup", "food": "Sugars, brown"}
    # USDA SR28: a cup of brown sugar holds 220 g packed, a teaspoon of it 3 g unpacked.
    assert read({**sugar, "form": "packed"}, size="us")[0].share * 1000 == 220 and read({**sugar, "form": "unpacked", "amount": "1 tsp"}, size="us")[0].share * 1000 == 3
    assert [(field, code) for field, code, _ in read({**sugar, "form": "wet"}, size="us")[1]] == [("ingredient.2.amount", "spoon_form")]
    # A Teelöffel is a metric one by its name, and a teaspoon is not.
    assert read({"name": "Spices, mace, ground", "role": "spice", "amount": "1 TL"})[1] == []
    assert [(field, code) for field, code, _ in read({"name": "Spices, mace, ground", "role": "spice", "amount": "1 tsp"})[1]] == [("spoons", "recipe_missing")]
    # A food that is not in the table is told as that alone.
    assert [(field, code) for field, code, _ in read({"name": "Spices, mace, ground", "role": "spice", "food": "Unicorn", "amount": "1 tsp"}, size="us")[1]] == [("ingredient.2.food", "unknown_food_alone")]
    # An accelerator is weighed, whatever it is called.
    assert [(field, code) for field, code, _ in read({"name": "Mace", "role": "accelerator", "substance": "sodium_ascorbate", "amount": "1 tsp"}, size="us")[1]] == [("ingredient.2.amount", "spoon_weighed_only")]
    assert [(field, code) for field, code, _ in read({"name": "Mace", "role": "spice", "amount": "1 tsp 3"}, size="us")[1]] == [("ingredient.2.amount", "recipe_value")]
    assert [(field, code) for field, code, _ in read({"name": "Mace", "role": "spice", "amount": "1 heaped tsp"})[1]] == [("ingredient.2.amount", "spoon_fill"), ("spoons", "recipe_missing")]


@pytest.mark.parametrize("amount", ["2 tsp", "1/2 tbsp", "½ cup", "2 teaspoons", "1 table spoon", "a pinch", "1 heap", "2 TL", "1 EL", "2 Löffel", "1 Prise", "1 Tasse", "2 Msp", "eine Messerspitze", "spoonful"])
def test_what_is_measured_by_the_spoon_is_taken_for_it(amount):
    for written in letters(amount):
        _, told = read({"name": "Phosphate", "role": "phosphate", "substance": "STPP", "amount": written})
        assert [code for _, code, _ in told] == ["spoon_weighed_only"], written


def test_lines_and_names_end_where_a_log_does():
    names = [{"name": f"Spice {number}", "role": "spice", "amount": "1 g"} for number in range(300)]
    reader = Reader("", "x.toml")
    assert ingredients.read_ingredients(reader, {"ingredient": [dict(names[0]) for _ in range(301)]}, Fraction(1000), ("pork",), None) == ()
    assert [(fault.field, fault.read) for fault in reader.faults] == [("ingredient", "301")] and "300" in reader.faults[0].text
    reader = Reader("", "x.toml")
    assert len(ingredients.read_ingredients(reader, {"ingredient": names}, Fraction(1000), ("pork",), None)) == 300 and [fault.code for fault in reader.faults] == ["recipe_no_meat"]
    assert read({"name": "x" * 301, "role": "spice", "amount": "1 g", "id": "xx"})[1][0][:2] == ("ingredient.2.name", "recipe_text_long")
    assert read({"name": "x" * 300, "role": "spice", "amount": "1 g", "id": "xx"})[1] == []
