"""The feed keeps RFC 4287, takes its dates from the data alone, and tells a withdrawal as news."""

from __future__ import annotations

import random
import re
import tomllib
from importlib import resources
from xml.etree import ElementTree

import pytest
from curebatch.views import feed
from helpers import handed
from hypothesis import given
from hypothesis import strategies as st

ATOM = "{http://www.w3.org/2005/Atom}"
BASE = "https://example.org/kitchen"
RECIPES = [
    {"ref": "pork-loaf.1", "title": "Pork loaf", "day": "2026-11-25"},
    {"ref": "pork-loaf.2", "title": "Pork loaf", "day": "2026-12-03", "changes": ["Less nitrite", "The hold is longer."]},
    {"ref": "ham.1", "title": "Ham", "day": "2026-12-01"},
]
EDITIONS = [{"edition": "2026-11-25", "changes": ["The first edition."]}, {"edition": "2026-12-02", "changes": ["One limit."]}]
WITHDRAWN = {"recipes": {"pork-loaf.1": "Ten times the nitrite"}, "editions": {"2026-11-25": ""}}


def made(recipes=RECIPES, editions=EDITIONS, withdrawn=WITHDRAWN) -> str:
    return feed.atom(feed.changes_of(recipes, editions, withdrawn), base_url=BASE)


def parsed(text: str) -> ElementTree.Element:
    return ElementTree.fromstring(text.encode())


def one(element: ElementTree.Element, name: str) -> str:
    """The text of the only child of that name."""
    (child,) = element.findall(ATOM + name)
    return child.text or ""


def entries(text: str) -> dict[str, ElementTree.Element]:
    return {one(entry, "id"): entry for entry in parsed(text).findall(f"{ATOM}entry")}


def test_it_holds_what_the_standard_asks_for():
    # RFC 4287, sections 4.1.1 and 4.1.2: exactly one id, title, updated; an author; a self link;
    # an entry with content or an alternate link.
    root = parsed(made())
    assert root.tag == f"{ATOM}feed"
    (author,) = root.findall(f"{ATOM}author")
    assert one(author, "name")
    assert one(root, "title") and one(root, "id").startswith(BASE)
    links = {link.attrib["rel"]: link.attrib["href"] for link in root.findall(f"{ATOM}link")}
    assert links == {"self": f"{BASE}/feed.xml", "alternate": f"{BASE}/"}
    found = root.findall(f"{ATOM}entry")
    assert len({one(entry, "id") for entry in found}) == len(found) == 7
    for each in (root, *found):
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT00:00:00Z", one(each, "updated"))
    for entry in found:
        assert one(entry, "title") and one(entry, "content")
        (link,) = entry.findall(f"{ATOM}link")
        assert link.attrib["rel"] == "alternate" and link.attrib["href"].startswith(f"{BASE}/")


def test_newest_first_and_the_feed_is_as_new_as_its_newest():
    root = parsed(made())
    days = [one(entry, "updated") for entry in root.findall(f"{ATOM}entry")]
    assert days == sorted(days, reverse=True)
    assert one(root, "updated") == days[0] == "2026-12-03T00:00:00Z"


def test_the_order_of_the_data_changes_nothing():
    changes = feed.changes_of(RECIPES, EDITIONS, WITHDRAWN)
    first = feed.atom(changes, base_url=BASE)
    for seed in range(5):
        random.Random(seed).shuffle(changes)
        assert feed.atom(changes, base_url=BASE + "/") == first


def test_a_withdrawal_is_an_entry_of_its_own_with_its_reason():
    found = entries(made())
    entry = found[f"{BASE}/feed/withdrawn/pork-loaf.1"]
    assert "Withdrawn" in one(entry, "title") and "Do not use" in one(entry, "title")
    assert one(entry, "content") == "Ten times the nitrite. Revision 2 takes its place."
    assert one(entry, "updated").startswith("2026-12-03")
    assert f"{BASE}/feed/recipe/pork-loaf.1" in found
    rules = found[f"{BASE}/feed/rules-withdrawn/2026-11-25"]
    assert one(rules, "content") and one(rules, "updated").startswith("2026-12-02")


def test_the_newest_withdrawn_names_no_successor():
    withdrawn = {"recipes": {"pork-loaf.1": "Wrong", "pork-loaf.2": "Wrong too"}, "editions": {}}
    found = entries(made(withdrawn=withdrawn))
    for ref in ("pork-loaf.1", "pork-loaf.2"):
        assert "takes its place" not in one(found[f"{BASE}/feed/withdrawn/{ref}"], "content")


def test_what_is_new_is_told():
    found = entries(made())
    changed = found[f"{BASE}/feed/recipe/pork-loaf.2"]
    assert one(changed, "title") == "Changed: Pork loaf, revision 2"
    assert one(changed, "content") == "Less nitrite. The hold is longer."
    assert one(found[f"{BASE}/feed/recipe/ham.1"], "title") == "New recipe: Ham"


@pytest.mark.parametrize("name", handed.HOSTILE)
def test_hostile_names_are_text(name):
    found = entries(made([{**RECIPES[0], "title": name, "changes": [name]}], EDITIONS, {"recipes": {"pork-loaf.1": name}, "editions": {}}))
    for entry in found.values():
        (content,) = entry.findall(f"{ATOM}content")
        assert content.attrib == {"type": "text"} and not list(content)
        assert not set(content.text) & set("\x00\x07\u2028\u202e")


@given(st.text(max_size=60))
def test_any_name_gives_a_document(name):
    found = entries(made([{**RECIPES[0], "title": name}]))
    assert len(found) == 5


def test_bare_grams_do_not_go_round_in_the_feed():
    found = entries(made([{**RECIPES[0], "changes": ["Now 20 g of curing salt."]}]))
    assert "20 g" not in one(found[f"{BASE}/feed/recipe/pork-loaf.1"], "content")


@pytest.mark.parametrize("day", ["2026-13-01", "2026-1-1", "20261125", "", "today", "2026-11-25T10:00"])
def test_a_date_that_is_none_is_refused(day):
    with pytest.raises(ValueError, match="no date"):
        made([{**RECIPES[0], "day": day}], EDITIONS, {})


@pytest.mark.parametrize("base", ["", "example.org", "ftp://example.org/", "https://example.org/?x", "https://example.org/#a", "https://ex ample.org"])
def test_an_address_that_is_none_is_refused(base):
    with pytest.raises(ValueError, match="no address"):
        feed.atom(feed.changes_of(RECIPES, EDITIONS, {}), base_url=base)


def test_nothing_and_twice_are_refused():
    with pytest.raises(ValueError, match="one change"):
        feed.atom([], base_url=BASE)
    with pytest.raises(ValueError, match="twice"):
        made([RECIPES[0], RECIPES[0]], [], {})


def test_the_editions_of_the_rules_fit_it():
    text = (resources.files("curebatch.data") / "editions.toml").read_text(encoding="utf-8")
    editions = tomllib.loads(text)["edition"]
    assert len(entries(made([], editions, {}))) == len(editions)
