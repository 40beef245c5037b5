"""A card in German says what the card in English says: every figure, verdict and message, in each text as well."""

from __future__ import annotations

import json
import re
from collections import Counter

import pytest
from curebatch import entry, shelf
from curebatch.bare_grams import bare_grams
from curebatch.batch.allergens import of_ingredient
from curebatch.day.mishaps import STAGES
from curebatch.day.steps import readings_of, timers_of
from curebatch.fields import BY_KEY, REGIONS
from curebatch.intake.recipe import read_recipe
from curebatch.intake.retold import retold
from curebatch.words import LANGUAGES, catalogue, speaking
from helpers.kitchens import RECIPES

_FIGURE = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[¼½¾]")
_PLACE = re.compile(r"\{[a-z_]+\}")
# What a program reads, or names a document: the same to the letter.
CANONICAL = {
    "value", "unit", "code", "severity", "field", "key", "id", "role", "method", "state", "verdict", "recipe", "rules_edition", "list", "groups", "form", "kind", "species", "status", "document", "edition", "clause", "needs",
}  # fmt: skip
HANDED = ["sheet", "label", "text", "markdown", "snippet"]
REFS = sorted(path.stem for path in RECIPES.glob("*.toml"))
READ = {"probe_error": "0.5 °C", "covered": "moist", "readings": "0 min 4 °C; 15 min 15 °C; 30 min 31 °C; 45 min 46 °C; 60 min 58 °C; 75 min 68 °C; 90 min 74.5 °C; 95 min 75 °C"}
KITCHENS = {
    "none": {},
    "strong": {"pack": "6.25 %", "fine_scale": "0.1 g", "scale": "1 g"},
    "range": {"pack": "0.4-0.5 %", "scale": "1 g"},
    "at most": {"pack": "max 0.6 %", "scale": "2 g"},
    "unusual": {"pack": "3.1 %"},
    "too strong": {"pack": "25 %"},
    "nitrate": {"pack": "6.25 %", "pack_nitrate": "4 %"},
    "stated over": {"pack": "6.25 %", "stated": "90 g"},
    "coarse": {"pack": "6.25 %", "scale": "5 g", "meat": "400 g"},
    "cooked, cooled": {"pack": "0.5 %", **READ, "cooling_readings": "12:00 out; 12:10 68 °C; 12:40 48 °C; 13:20 24 °C; 14:30 9 °C; 16:00 4 °C"},
    "cooled late": {"pack": "0.5 %", **READ, "cooling_readings": "12:00 out; 12:10 68 °C; 14:40 48 °C; 18:20 24 °C; 23:30 9 °C"},
    "in US units": {"pack": "6.25 %", "scale": "0.1 oz", "units": "us", **READ, "cooling_readings": "12:00 out; 12:10 154 °F; 12:40 118 °F; 13:20 75 °F"},
    "cold core": {"pack": "0.5 %", "core": "57 °C", "hold": "2 min", "covered": "dry"},
    "forecast": {"pack": "0.5 %", "oven": "fan_oven", "oven_setting": "120 °C", "cover": "open", "wall": "metal", "start_temperature": "4 °C", "chill": "iced_water", "thickness": "70 mm", "tin": "box 30 x 10 x 8 cm"},
}


def _figures(text: str) -> Counter[str]:
    return Counter(found.replace(",", ".") for found in _FIGURE.findall(text))


def _bones(value: object, key: str = "") -> object:
    """A card with each text in place of which stand its figures."""
    if isinstance(value, dict):
        return {name: _bones(each, name) for name, each in value.items() if name != "picture"}
    if isinstance(value, (list, tuple)):
        return [_bones(each, key) for each in value]
    if isinstance(value, str) and key not in CANONICAL:
        return bool(value), _figures(value)
    return value


def _card(language: str, ref: str, fields: dict[str, str]) -> dict:
    method = shelf.get(ref)[0].method
    fields = {key: text for key, text in fields.items() if method in BY_KEY[key].methods}
    with speaking(language):
        return entry.card_of(entry.read({"page": "recipe", "recipe": ref, "fields": fields, "confirmed_packs": ["3.1 %", "max 0.6 %"], "today": "2026-11-28"}), foretold="oven" in fields)


@pytest.fixture(scope="module", autouse=True)
def _on_the_shelf():
    texts = {path.stem: path.read_text(encoding="utf-8") for path in RECIPES.glob("*.toml")}
    other = {language: {path.stem: path.read_text(encoding="utf-8") for path in (RECIPES / language).glob("*.toml")} for language in LANGUAGES[1:]}
    shelf.put(texts, texts=other)
    yield
    shelf.put(texts)


@pytest.mark.parametrize("number, name", list(enumerate(KITCHENS)), ids=list(KITCHENS))
@pytest.mark.parametrize("ref", REFS)
def test_the_german_card_is_the_english_card_in_everything_but_its_words(ref, number, name):
    # Over the recipes and the kitchens every region comes up with each recipe.
    fields = {**KITCHENS[name], "region": REGIONS[(number + REFS.index(ref)) % len(REGIONS)]}
    english, german = (_card(language, ref, fields) for language in ("en", "de"))
    assert german["verdict"] == english["verdict"]
    assert [(m["code"], m["severity"], bool(m["source"])) for m in german["messages"]] == [(m["code"], m["severity"], bool(m["source"])) for m in english["messages"]]
    assert _bones(german) == _bones(english)
    assert german != english, "the words are another language's"


def test_a_figure_that_differs_is_seen():
    english, german = (_card(language, REFS[0], KITCHENS["strong"]) for language in ("en", "de"))
    german["messages"][0]["text"] += " 48"
    assert _bones(german) != _bones(english)


def test_the_kitchens_reach_every_verdict_and_a_forecast():
    cards = {name: _card("de", "pistachio-pork-loaf.1", fields) for name, fields in KITCHENS.items()}
    assert {card["verdict"] for card in cards.values()} == {"ok", "caution", "stop", "incomplete"}
    assert {card["verdicts"]["cooling"] for card in cards.values()} >= {"incomplete", "caution", "stop"}
    assert cards["forecast"]["forecast"] and not any(card["faults"] for card in cards.values())


# ------------------------------------------------------------------ what no card shows at once


OTHER_EXAMPLES = {"field.tin.hint", "fault.tin_kind", "fault.pound_of_what"}  # examples of how to type, more of them in German


def test_no_text_has_another_figure_in_german():
    figures = {language: {id: _figures(_PLACE.sub("", text)) for id, text in catalogue(language).items() if id not in OTHER_EXAMPLES} for language in ("en", "de")}
    assert figures["de"] == figures["en"]


@pytest.mark.parametrize("ref", REFS)
def test_the_german_texts_of_a_recipe_lead_to_the_same_allergens_timers_and_readings(ref):
    recipe, _ = read_recipe((RECIPES / f"{ref}.toml").read_text(encoding="utf-8"), ref)
    german, faults = retold(recipe, (RECIPES / "de" / f"{ref}.toml").read_text(encoding="utf-8"), ref, "de")
    assert not faults
    for one, other in zip(recipe.ingredients, german.ingredients, strict=True):
        assert {(found.source, found.how) for found in of_ingredient(one.name)} == {(found.source, found.how) for found in of_ingredient(other.name)}, other.name
    for one, other in zip(recipe.steps, german.steps, strict=True):
        assert timers_of(one, recipe.hold) == timers_of(other, recipe.hold) and readings_of(one, recipe) == readings_of(other, german)


# ------------------------------------------------------------------ what is handed on


@pytest.mark.parametrize("name", ["none", "strong", "range", "at most", "stated over", "coarse"])
@pytest.mark.parametrize("ref", REFS)
def test_no_line_that_is_handed_on_in_german_has_bare_grams(ref, name):
    given = {"language": "de", "page": "recipe", "recipe": ref, "fields": KITCHENS[name], "address": "https://example.org/de/recipes/x/"}
    answer = json.loads(entry.answer(json.dumps({"want": HANDED, "input": given})))
    # On paper what is read in one go is what stands in a row.
    texts = [re.sub(r"</(?:tr|li|p|h[1-6]|dd|div)>", "\n", text) for text in answer["handed"].values()]
    assert set(answer["handed"]) == set(HANDED)
    lines = [re.sub(r"<[^>]+>|\s+", " ", line) for text in texts for line in text.split("\n")]
    for line in lines:
        named = re.search(r"[0-9]\s(?:g|mg|kg)\s+(?:vom\s+|von\s+)?(?:diesem\s+)?Pökelsalz", line)
        assert not bare_grams(line) and (not named or "%" in line), line
    assert name not in ("strong", "range") or ref.startswith("grey") or sum("% Natriumnitrit" in line for line in lines) > 2


# ------------------------------------------------------------------ the day


WRONG = [
    ("dose", {"weighed": weighed, "stage": stage}) for weighed in ("2 g", "5,4 g", "6,5 g", "11 g", "54 g") for stage in STAGES
] + [
    ("wrong_pack", {"pack": pack, "weighed": "5,4 g", "stage": stage}) for pack in ("", "0,5 %", "höchstens 0,6 %") for stage in STAGES
] + [
    *(("doubled", {"stage": stage}) for stage in STAGES), *((kind, {"stage": stage, "minutes": minutes}) for kind in ("forgot_cure", "forgot_salt") for stage in STAGES for minutes in ("30 Minuten", "30 Stunden", "60 Std")),
    *(("warm_batter", {"celsius": celsius, "minutes": minutes}) for celsius in ("10,5 °C", "16 °C") for minutes in ("", "20 min", "4 Stunden")), ("oven_off", {}), ("oven_off", {"core": "60 °C"}),
    ("oven_off", {"core": "40 °C", "since": "2 h", "still": "60 min"}), ("oven_off", {"core": "40 °C", "since": "5 h", "still": "3 h"}), ("oven_off", {"core": "40 °C", "since": "7 h", "still": "1 h"}),
    ("on_the_counter", {}), ("on_the_counter", {"minutes": "40 min", "core": "48,5 °C"}), ("on_the_counter", {"minutes": "6 Stunden", "core": "30 °C"}), ("left_out_cold", {"minutes": "1 h"}), ("left_out_cold", {"minutes": "5 h"}), ("left_out_cold", {}), ("eaten", {}),
]  # fmt: skip


def _day(language: str, ref: str, **day: object) -> dict:
    given = {"language": language, "page": "recipe", "recipe": ref, "fields": {**KITCHENS["strong"], **({} if "loaf" in ref else {"thickness": "60 mm"})}}
    return json.loads(entry.answer(json.dumps({"build": "1", "want": ["day"], "input": {**given, "day": day}})))["day"]


@pytest.mark.parametrize("ref", ["pistachio-pork-loaf.1", "grey-pork-loaf.1", "picnic-ham.1"])
def test_what_went_wrong_is_judged_alike_in_german(ref):
    codes = set()
    begun = {language: _day(language, ref, do="begin", id="batch-1", begun="2027-03-27T18:00:00Z", zone="Europe/Paris")["log"] for language in ("en", "de")}
    for kind, typed in WRONG:
        # A batch that was begun in one language is judged in the other as well.
        english, german, crossed = (_day(said, ref, do="mishap", kind=kind, log=begun[log], **typed) for said, log in (("en", "en"), ("de", "de"), ("de", "en")))
        assert _bones(english) == _bones(german) == _bones(crossed), (kind, typed)
        if "mishap" in english:
            assert [one["id"] for one in english["mishap"]["todo"]] == [one["id"] for one in german["mishap"]["todo"]]
            assert english["mishap"]["verdict_text"] != german["mishap"]["verdict_text"]
            codes.add(german["mishap"]["code"])
    assert len(codes) > (12 if ref.startswith("grey") else 20)
