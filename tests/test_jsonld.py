"""The JSON-LD of a recipe says what its card says, passes schema.org's own list, and cannot end its element."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser

import pytest
from curebatch.views import html, lines
from curebatch.views.recipe_jsonld import recipe_jsonld, script
from helpers import handed
from helpers.schema_org import RECIPE
from hypothesis import given
from hypothesis import strategies as st

WHERE = {"url": "https://example.org/recipes/x/", "picture": "https://example.org/recipes/x/preview.png", "published": "2026-11-25"}


class Text(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[str] = []
        # What keeps a figure with its unit on one line is no end of a word.
        self.feed(re.sub(r'<span class="whole">(.*?)</span>', r"\1", page))
        self.shown = " ".join(" ".join(self.found).split())

    def handle_data(self, data: str) -> None:
        self.found.append(data)


def words_of(data: object) -> list[str]:
    if isinstance(data, dict):
        return [word for key, value in data.items() if not key.startswith("@") for word in words_of(value)]
    if isinstance(data, list):
        return [word for value in data for word in words_of(value)]
    return [str(data)]


def test_every_recipe_passes_the_schema():
    import jsonschema

    check = jsonschema.Draft202012Validator(RECIPE)
    for name, card in handed.cards():
        for more in ({}, WHERE):
            data = recipe_jsonld(card, **more)
            if card["verdict"] == "stop":
                assert data == {}, name
            else:
                assert not [str(error) for error in check.iter_errors(data)], name
    assert list(check.iter_errors({**data, "grams": "5 g"}))


def test_it_says_what_the_page_shows():
    for name, card in handed.cards():
        data = recipe_jsonld(card)
        if not data:
            continue
        page = Text(" ".join(html.sections(card).values())).shown
        page += f" {card['title']} {card['summary']} {card['author']}"
        for step in data["recipeInstructions"]:
            assert " ".join(step["text"].split()) in page, name
        for line in lines.lines_of(card):
            if line.amount:
                # The page sets figure and unit apart, and in its own column.
                assert line.name in page, (name, line)
                assert re.search(rf"{re.escape(line.amount.split()[0].partition('.')[0])}\b", page), (name, line)
            else:
                target = next(row["text"] for row in card["targets"] if row["text"] in line.name)
                assert target in page, (name, line)


def test_without_a_pack_it_names_targets_and_no_grams_of_either_salt():
    data = recipe_jsonld(handed.card())
    said = "\n".join(data["recipeIngredient"])
    assert "104 mg/kg sodium nitrite of the whole mix" in said
    assert "2.1 % of the whole mix" in said
    for line in data["recipeIngredient"]:
        assert not (re.search(r"\bsalt\b", line, re.IGNORECASE) and re.search(r"\d g\b", line)), line


@pytest.mark.parametrize("kitchen", handed.PACKS[1:])
def test_grams_of_curing_salt_stand_with_their_strength(kitchen):
    for name, card in handed.cards(kitchen):
        said = recipe_jsonld(card)
        assert not handed.bare("\n".join(words_of(said))), name
        if said and card["cure"]:
            (line,) = [line for line in said["recipeIngredient"] if "curing salt" in line.lower()]
            assert kitchen["pack"] in line and card["cure"]["weigh"]["text"] in line


def test_a_curing_salt_without_a_percentage_is_refused():
    card = handed.card(kitchen=handed.PACKS[1])
    for row in card["amounts"]:
        if row["role"] == "curing_salt":
            row["name"] = "Curing salt"
    card["cure"]["name_text"] = "Curing salt"
    with pytest.raises(ValueError, match="percentage"):
        recipe_jsonld(card)


def test_what_must_not_be_made_is_no_recipe():
    card = handed.card(kitchen=handed.STOPPED)
    assert card["verdict"] == "stop"
    assert recipe_jsonld(card) == {}
    faulty = {**handed.card(), "faults": [{"field": "pack", "read": "x", "text": "?"}]}
    assert recipe_jsonld(faulty) == {}


@given(st.text(max_size=80))
def test_no_text_ends_the_element(text):
    data = {"name": text + "</script><!--<script>\u2028\u2029&"}
    inside = script(data)
    assert not set("<>&\u2028\u2029") & set(inside)
    assert json.loads(inside) == data


@pytest.mark.parametrize("name", handed.HOSTILE)
def test_hostile_names_come_back_as_they_were_shown(name):
    card = {**handed.card(), "title": name, "summary": name, "author": name}
    data = json.loads(script(recipe_jsonld(card)))
    assert data.get("name", "") == data.get("description", "") == lines.handed(name)


@pytest.mark.parametrize("date", ["25.11.2026", "2026-11-25T00:00", "soon"])
def test_a_date_of_another_form_is_refused(date):
    with pytest.raises(ValueError, match="no date"):
        recipe_jsonld(handed.card(), published=date)


# ------------------------------------------------------------------ the net for bare grams


@pytest.mark.parametrize(
    "text",
    [
        "Add 20 g of curing salt.",
        "add 20g curing salt and stir",
        "Curing salt: 20 g",
        "curing salt (20 g)",
        "Curing salt, 20 g.",
        "2 spoons of pink salt",
        "1/2 tsp of the curing salt",
        "0.5 oz of pickling salt",
        "3 g sodium nitrite",
        "One. Two. 20 g of your curing salt; four.",
        "20 g of E 250",
    ],
)
def test_bare_grams_are_found_and_left_out(text):
    assert lines.bare_grams(text)
    said = lines.handed(text)
    assert "left out" in said.lower() and not lines.bare_grams(said)


@pytest.mark.parametrize(
    "text",
    [
        "5.4 g of Curing salt 6.25 % sodium nitrite, 63.6 g of Plain salt and half of 576 g of Crushed ice.",
        "6.25 %: 5.4 g of that curing salt and 63.6 g of plain salt",
        "104 mg/kg sodium nitrite of the whole mix",
        "Chop 1800 g of meat with the curing salt (its weight depends on your pack) and 576 g of ice.",
        "Add the curing salt, 576 g of ice and the rest.",
        "1800 g of meat and curing salt",
        "20 g of plain salt",
    ],
)
def test_what_is_no_bare_dose_stays(text):
    assert lines.bare_grams(text) == ""
    assert lines.handed(text) == text


def test_nothing_of_a_demo_recipe_is_left_out():
    for name, card in handed.cards():
        assert "left out" not in json.dumps(recipe_jsonld(card)).lower(), name
