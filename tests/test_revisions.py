"""An older revision opens, says that there is a newer one and what changed; a withdrawn one stops."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest
from curebatch import entry, shelf
from curebatch.handed import WANTS
from curebatch.intake.link import decode, encode
from helpers.kitchens import RECIPES

LOAF = "pistachio-pork-loaf"
KITCHEN = {"pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g"}


def recipe_text() -> str:
    return (RECIPES / f"{LOAF}.1.toml").read_text(encoding="utf-8")


def revision(number: int, changes: tuple[str, ...] = ()) -> str:
    text = recipe_text().replace("revision = 1", f"revision = {number}", 1)
    head, _, tail = text.partition("changes = ")
    return f"{head}changes = {json.dumps(list(changes))}\n{tail.partition(chr(10))[2]}"


@pytest.fixture
def three(monkeypatch):
    """Three revisions on the shelf; what stood there before comes back."""
    before = {ref: shelf.text(ref) for ref in shelf.refs()}
    shelf.put({f"{LOAF}.{number}": revision(number, changes) for number, changes in ((1, ()), (2, ("Less nitrite.",)), (3, ("A longer hold.", "New spices.")))})
    yield
    shelf.put(before)


def card(ref: str, **more) -> dict:
    return entry.card_of(entry.read({"page": "recipe", "recipe": ref, "fields": KITCHEN, **more}))


def said(made: dict) -> str:
    return " ".join(row["text"] for row in made["messages"] if row["code"] == "newer_revision")


def test_an_old_link_opens_and_says_what_is_new(three):
    link = encode({"recipe": f"{LOAF}.1"}, kitchen=False)
    made = card(f"{LOAF}.3", link=link)
    assert made["recipe"] == f"{LOAF}.1" and made["verdict"] in ("ok", "caution")
    text = said(made)
    assert "revision 1" in text and "newer one, 3" in text
    assert text.index("Less nitrite.") < text.index("A longer hold.") < text.index("New spices.")


def test_the_last_but_one_names_only_what_came_after_it(three):
    assert "Less nitrite" not in said(card(f"{LOAF}.2")) and "A longer hold." in said(card(f"{LOAF}.2"))


def test_the_newest_says_nothing_of_it(three):
    assert said(card(f"{LOAF}.3")) == "" and said(card(LOAF)) == ""


def test_the_newer_one_is_a_link_away_with_as_much_of_it_and_its_own_targets(three):
    old = encode({"recipe": f"{LOAF}.1", "meat": "3 kg", "nitrite": "90 mg/kg", "nitrite_per": "mix", "core": "75 °C"}, kitchen=False)
    request = {"input": {"page": "recipe", "recipe": f"{LOAF}.3", "link": old}, "want": ["weights"]}
    (found,) = re.findall(r'<a href="\./#(.*?)">', json.loads(entry.answer(json.dumps(request)))["sections"]["messages"])
    entries, faults = decode(unescape(found))
    assert not faults
    assert {key: entries.get(key) for key in ("recipe", "meat", "nitrite", "core")} == {"recipe": f"{LOAF}.3", "meat": "3kg", "nitrite": "104mg/kg", "core": None}
    request["input"]["link"] = unescape(found)
    assert "<a " not in json.loads(entry.answer(json.dumps(request)))["sections"]["messages"]


def test_a_withdrawn_revision_stops_and_names_the_newer_one(three):
    made = card(f"{LOAF}.1", withdrawn={"recipes": {f"{LOAF}.1": "Too much nitrite."}, "editions": {}})
    assert made["verdict"] == "stop" and "newer one, 3" in said(made)


def test_what_was_withdrawn_itself_is_not_recommended(three):
    made = card(f"{LOAF}.1", withdrawn={"recipes": {f"{LOAF}.3": "Wrong."}, "editions": {}})
    assert "newer one, 2" in said(made)


def test_a_withdrawn_recipe_hands_on_nothing_to_weigh(three):
    request = {"input": {"page": "recipe", "recipe": f"{LOAF}.1", "fields": KITCHEN, "address": "https://e.example/recipes/x/", "withdrawn": {"recipes": {f"{LOAF}.1": "Wrong."}, "editions": {}}}, "want": list(WANTS)}
    handed = json.loads(entry.answer(json.dumps(request)))["handed"]
    assert set(handed) == set(WANTS) == set(entry.HANDED) and handed["label"] == ""
    for want in ("sheet", "text", "markdown"):
        assert "withdrawn" in handed[want] and "1800" not in handed[want]
