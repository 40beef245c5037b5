"""What a link would replace is listed, entry by entry, and nothing is asked where nothing would go."""

from __future__ import annotations

import json
from html.parser import HTMLParser

import pytest
from curebatch import entry
from curebatch.bare_grams import bare_grams
from curebatch.intake.link import encode
from curebatch.words import say
from helpers.kitchens import LOAF, fill_shelf

LINK = {"meat": "3 kg", "nitrite": "90 mg/kg", "nitrite_per": "mix"}
PACK = {"pack": "6.25 %", "scale": "1 g"}


class Cells(HTMLParser):
    """{entry: (what the cook has, what the link says)} of the table."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.cells: list[str] = []
        self.tags: list[str] = []
        self.feed(html)
        body = self.cells[3:]
        self.rows = {body[n]: (body[n + 1], body[n + 2]) for n in range(0, len(body), 3)}

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag in ("th", "td"):
            self.cells.append("")

    def handle_data(self, data):
        if self.tags and self.tags[-1] in ("th", "td"):
            self.cells[-1] += data.strip()


def link(kitchen: bool = False, **entries: str) -> str:
    return encode({"recipe": LOAF, **entries}, kitchen=kitchen)


def told(draft: dict, text: str, page: str = "recipe", **given) -> dict:
    fill_shelf()
    told = {"page": page, "recipe": LOAF, "link": text, "fields": {}, "draft": draft, **given}
    answer = json.loads(entry.answer(json.dumps({"id": 7, "build": "b", "input": told, "want": ["replaced"]})))
    assert answer["id"] == 7
    return answer["replaced"]


def rows(*args, **given) -> dict[str, tuple[str, str]]:
    made = told(*args, **given)
    assert made["kept"]
    return Cells(made["html"]).rows if made["html"] else {}


def label(key: str) -> str:
    return say(f"field.{key}.label")


def test_each_entry_that_would_change_is_named_with_both_its_values():
    found = rows({"fields": {"meat": "5 kg", **PACK}}, link(**LINK), fields=PACK)
    assert found == {label("meat"): ("5 kg", "3 kg"), label("nitrite"): ("104 mg/kg", "90 mg/kg")}


def test_what_neither_states_is_said_to_be_the_recipe_s():
    found = rows({"fields": {"portions": "30"}}, link(meat="3 kg"))
    assert found == {label("meat"): (say("form.as_recipe"), "3 kg"), label("portions"): ("30", say("form.as_recipe"))}


def test_choices_are_told_by_their_names():
    found = rows({"fields": {"meat": "3 kg", "region": "us"}}, link(True, meat="3 kg", region="eu", pack="0.5 %"))
    assert found[label("region")] == (say("choice.region.us"), say("choice.region.eu"))


@pytest.mark.parametrize(
    "draft",
    [
        {},
        {"fields": {}},
        {"fields": {"meat": " "}},
        {"fields": {"pack_check": "6.25 %"}},
        {"fields": {"meat": "3000 g", "nitrite": "90 ppm", "nitrite_per": "mix"}},
        {"fields": {"meat": "3 kg"}, "link": link(**LINK)},
        {"fields": {}, "link": link(meat="9 kg")},
        {"fields": PACK},
        {"fields": "nonsense", "link": 5},
        "nonsense",
    ],
)
def test_nothing_is_asked_where_nothing_of_the_cook_s_would_go(draft):
    draft = {**draft, "kitchen": PACK} if isinstance(draft, dict) else draft
    assert told(draft, link(**LINK), fields=PACK) == {"html": "", "kept": True}


def test_a_batch_of_the_cook_s_is_asked_about_even_where_only_its_targets_would_change():
    assert set(rows({"fields": {"meat": "3 kg"}}, link(**LINK))) == {label("nitrite")}


def test_a_kitchen_that_would_go_is_asked_about():
    found = rows({"fields": PACK}, link(True, meat="3 kg", pack="0.5 %"))
    assert found[label("pack")] == ("6.25 %", "0.5 %")
    assert rows({"fields": {"pack": "6.25 %"}}, link(meat="3 kg"))[label("pack")] == ("6.25 %", say("replaced.nothing"))


def test_what_cannot_be_read_is_told_as_it_was_typed():
    found = rows({"fields": {"meat": "<b>five", "nitrite": "lots"}}, link(**LINK))
    assert found == {label("meat"): ("<b>five", "3 kg"), label("nitrite"): ("lots", "90 mg/kg")}


@pytest.mark.parametrize("text", [link(**LINK)[:-1], link(**LINK).replace("3kg", "9kg"), link(meat="lots"), "v=9&x=1&check=aaaa"])
def test_a_link_that_cannot_be_read_replaces_what_it_cannot_show(text):
    assert told({"fields": {"meat": "5 kg"}}, text) == {"html": "", "kept": False}


def test_a_link_of_another_page_leaves_this_one_alone():
    assert told({"fields": {"meat": "5 kg"}}, encode({"recipe": "corned-brisket.1", "meat": "1 kg"}, kitchen=False)) == {"html": "", "kept": True}


def test_grams_of_curing_salt_are_told_with_their_strength_or_not_at_all():
    html = told({"fields": {"stated": "40 g", "meat": "5 kg"}}, link(True, stated="20 g", pack="0.5 %"))["html"]
    shown = Cells(html).rows[label("stated")]
    assert shown == (say("replaced.left_out"), say("replaced.of_pack", amount="20 g", pack="0.5 %"))
    assert not [cell for row in Cells(html).rows.items() for cell in (f"{row[0]}: {row[1][0]}", f"{row[0]}: {row[1][1]}") if bare_grams(cell)]
    found = {"found_cure": "20 g", "found_meat": "1 kg", "found_pack": "0.5 %"}
    other = encode({**found, "found_cure": "30 g"}, kitchen=False)
    assert rows({"fields": found}, other, page="found", recipe="")[label("found_cure")] == tuple(say("replaced.of_pack", amount=grams, pack="0.5 %") for grams in ("20 g", "30 g"))


def test_a_recipe_of_one_s_own_is_named_by_its_title():
    fill_shelf()
    copied = json.loads(entry.answer(json.dumps({"id": 1, "input": {"page": "own", "link": link(**LINK)}, "want": ["weights"]})))
    mine = {**copied["own"], "title": "Mine"}
    made = {"own": mine, "fields": {}}
    found = rows(made, copied["links"]["recipe"], page="own", recipe="")
    assert found[label("recipe")] == ("Mine", copied["own"]["title"])
    assert rows({"own": copied["own"], "fields": {}}, copied["links"]["recipe"], page="own", recipe="") == {}
