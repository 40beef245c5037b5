"""What a recipe's words ask for: what is not covered is refused by name, what nobody should do is said on the card."""

from __future__ import annotations

import time

import pytest
from curebatch import entry
from curebatch.intake.processes import doubted, not_covered
from curebatch.intake.recipe import read_recipe
from curebatch.words import say, speaking
from helpers.kitchens import RECIPES, card_for, recipe_text

NOT_COVERED = {
    "ferment": [
        "Ferment for two days at 24 °C.",
        "Let it ferment overnight.",
        "Add the starter culture.",
        "Leave at 20 °C for two days to sour.",
        "Inoculate with lactic bacteria.",
        "Zwei Tage bei 20 °C säuern lassen.",
        "The sausage is fermented at 22 °C.",
        "Fermented sausage",
        "Zwei Tage fermentieren.",
        "Fermentierte Wurst",
        "Starterkultur zugeben.",
        "Bei 24 °C fermentieren lassen.",
        "Don't poach it, ferment it.",
        "Rohwurst vom Schwein",
    ],
    "air_dry": [
        "Air-dry it for six weeks.",
        "Keep in the cellar at 12 °C for 8 weeks.",
        "Keep it at 12 °C until it has lost 30 % of its weight.",
        "Sechs Wochen in der Speisekammer lassen.",
        "Hang it to dry for three weeks.",
        "Hang in the cellar for 20 days.",
        "Leave it hanging for three weeks.",
        "Air-dried ham",
        "Dry it for 10 days in a cool place.",
        "Mature it for two months.",
        "Lufttrocknen.",
        "Drei Wochen hängen lassen.",
        "An der Luft trocknen lassen.",
        "3 Wochen im Keller trocknen.",
        "Luftgetrocknete Keule",
        "Zwei Monate reifen lassen.",
        "Im Reifeschrank lassen.",
    ],
    "smoke": [
        "Smoke it over beech.",
        "Finish over smouldering oak chips for two hours.",
        "Über Buchenspänen garen.",
        "In den Rauchfang damit.",
        "Zwei Stunden selchen.",
        "Cold-smoke for 6 hours.",
        "Cold smoke it.",
        "Hot smoke to 70 °C.",
        "Put it in the smoker.",
        "Smoked pork loin",
        "It is smoked over beech.",
        "Smoked bacon",
        "Kalt räuchern.",
        "Kalträuchern.",
        "Heißgeräuchert wird er am besten.",
        "In den Rauch hängen.",
        "Räuchere ihn zwei Stunden.",
        "Geräucherter Bauch",
        "Do not smoke it over 60 °C.",
        "Im Räucherofen garen.",
        "Not only smoke it, but roast it.",
        "Fill the tins without air and smoke them.",
        "Die Formen ohne Luft füllen und über Nacht kalträuchern.",
        "Ohne Deckel räuchern.",
        "Nicht zugedeckt räuchern.",
        "Never wash it and smoke it.",
    ],
    "canning": [
        "Pressure-can the meat.",
        "Pack into jars, close, and pressure cook.",
        "Fill into jars and sterilise the jars for two hours.",
        "Boil in preserving jars.",
        "Process the jars for 90 minutes.",
        "In Gläser füllen und zwei Stunden einkochen.",
        "Einwecken.",
        "Die Gläser sterilisieren.",
        "Als Konserve hält es ein Jahr.",
    ],
    "saltpetre": [
        "Add a little saltpetre.",
        "Etwas Salpeter zugeben.",
    ],
}  # fmt: skip
DOUBTED = {
    "step_warm": [
        "Leave it on the counter overnight.",
        "Leave it out overnight.",
        "Leave it on the bench overnight.",
        "Leave to cool in the kitchen overnight.",
        "Let it cool in the oven overnight.",
        "Über Nacht draußen stehen lassen.",
        "Im Backofen über Nacht abkühlen lassen.",
        "Cool it on the kitchen counter.",
        "Let it stand at room temperature for two hours.",
        "Cool overnight at room temperature.",
        "Leave it out of the fridge.",
        "Über Nacht auf der Arbeitsplatte abkühlen lassen.",
        "Bei Zimmertemperatur auskühlen lassen.",
        "Das Brät auf Zimmertemperatur kommen lassen.",
        "Ungekühlt stehen lassen.",
    ],
    "step_raw": [
        "Taste the raw mix.",
        "Try some of the batter.",
        "Taste the batter and add salt.",
        "Taste it raw.",
        "Serve it raw on bread.",
        "Eat some raw.",
        "Das Brät abschmecken.",
        "Die Masse roh probieren.",
        "Roh essen.",
    ],
}  # fmt: skip
FINE = [
    "Do not ferment it.",
    "Never smoke it.",
    "Add the fermented pepper.",
    "Smoked paprika and smoked salt",
    "Fold in the smoked paprika.",
    "Heat the oil to its smoke point.",
    "Loaf with smoked paprika",
    "It is RAW: fry gently and cook through before eating.",
    "Do not leave it on the counter.",
    "Never taste the raw mix.",
    "Fry a little of the batter and taste it.",
    "Taste a fried piece of the mix.",
    "Season to taste.",
    "Bake it in the oven, then leave it in the fridge overnight.",
    "Leave out the pepper for children.",
    "Im Backofen garen, dann über Nacht im Kühlschrank stehen lassen.",
    "Boil the eggs and serve with pickles from a jar.",
    "Nicht räuchern.",
    "Ohne Räuchern, ohne zu räuchern.",
    "Made without any smoking.",
    "No longer smoked.",
    "There is no need to smoke it.",
    "Do not ferment or smoke it.",
    "Räuchere ihn nicht.",
    "Nie roh probieren.",
    "Geräuchertes Paprikapulver zugeben.",
    "Eine Probe braten und das Brät abschmecken.",
    "Die Brühe auf die Hälfte einkochen.",
    "Rinse, dry, and leave it open in the fridge overnight.",
    "Turn it daily, for five days in the fridge.",
    "Dry cure it for two weeks in the fridge.",
    "Pat dry, then leave it in the fridge for 3 days.",
    "Trocken tupfen und 3 Tage kühlen.",
    "Abtrocknen und zwei Tage in den Kühlschrank legen.",
    "Hang the sausages for an hour, then poach.",
    "Knead on the counter.",
    "Auf der Arbeitsfläche auskneten.",
    "You can make it a day ahead.",
    "Fill the tins and seal them with foil.",
    "Serve with pickles from a jar.",
    "Not fermented, not smoked.",
    "Unsmoked and unfermented",
    "Cool fast, in iced water.",
    "Add the liquid smoke.",
    "Smoked salmon in the middle",
    "Fermented garlic",
    "Air-dried tomatoes",
    "Keep the sausage meat at 2 °C.",
    "Im Kühlschrank über Nacht umröten.",
    "Mit Räuchersalz würzen.",
    "Luftgetrocknete Tomaten",
    "Sprinkle with air-dried tomatoes.",
    "The average weight of a piece for two months",
]


def with_step(text: str) -> str:
    return recipe_text(extra=f'[[step]]\ntext = "{text}"\n')


@pytest.mark.parametrize("name, text", [(name, text) for name, texts in NOT_COVERED.items() for text in texts])
def test_what_is_not_covered_is_refused_in_a_step_by_name(name, text):
    _, faults = read_recipe(with_step(text), "x.toml")
    assert [fault.code for fault in faults if fault.code != "recipe_bare_grams"] == ["recipe_process"]
    assert say(f"process.{name}") in faults[-1].text and text.rstrip(".")[:20] in faults[-1].text
    with speaking("de"):
        assert say(f"process.{name}") in read_recipe(with_step(text), "x.toml")[1][-1].text


@pytest.mark.parametrize("key", ["title", "summary", "cut", "changes"])
def test_no_other_text_of_a_recipe_asks_for_it_either(key):
    said = 'changes = ["Now smoke it over beech."]' if key == "changes" else f'{key} = "Smoke it over beech."'
    text = recipe_text().replace('title = "Trial"', said if key == "title" else f'title = "Trial"\n{said}')
    assert [(fault.field, fault.code) for fault in read_recipe(text, "x.toml")[1]] == [(key, "recipe_process")]


@pytest.mark.parametrize("name, text", [(name, text) for name, texts in DOUBTED.items() for text in texts])
def test_what_nobody_should_do_is_said_on_the_card(name, text):
    recipe, faults = read_recipe(with_step(text), "x.toml")
    assert recipe, faults
    card = entry.card_of(entry.read({"fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe))
    told = [message for message in card["messages"] if message["code"] == name]
    assert [message["severity"] for message in told] == ["caution"] and text in told[0]["text"] and card["verdict"] == "caution"


def test_a_place_in_what_is_quoted_is_filled():
    recipe, faults = read_recipe(with_step("Leave {pork} with {curing_salt} on the counter."), "x.toml")
    assert recipe, faults
    card = entry.card_of(entry.read({"fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe))
    assert "Leave Pork with" in next(message["text"] for message in card["messages"] if message["code"] == "step_warm")
    assert "{" not in "".join(message["text"] for message in card["messages"])


def test_of_a_long_sentence_what_matters_is_quoted():
    text = "Take the piece out of its bag after a week, rinse it, dry it, tie it with string and then smoke it over beech"
    _, faults = read_recipe(with_step(text), "x.toml")
    assert "smoke it over" in faults[0].text and "Take the piece" not in faults[0].text


@pytest.mark.parametrize("text", FINE)
def test_what_asks_for_none_of_it_is_left_alone(text):
    assert not_covered(text) is None and not doubted(text)
    assert read_recipe(with_step(text), "x.toml")[0]


@pytest.mark.parametrize("path", sorted(RECIPES.rglob("*.toml")), ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_no_recipe_of_the_shelf_is_taken_for_it(path):
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line.startswith(("text", "title", "summary", "cut"))]
    assert lines and not [line for line in lines if not_covered(line) or doubted(line)]


def test_the_cards_of_the_shelf_have_no_such_message():
    for path in RECIPES.glob("*.toml"):
        assert not {"step_warm", "step_raw"} & {message["code"] for message in card_for(path.stem, pack="6.25 %", fine_scale="0.1 g")["messages"]}


@pytest.mark.parametrize("text", ["smoke ", "leave ", "hang it ", "weeks ", "a ", "not ", "taste ", "ripe "])
def test_a_long_text_is_not_slow_to_search(text):
    began = time.perf_counter()
    not_covered(text * 400)
    doubted(text * 400)
    assert time.perf_counter() - began < 2
