"""Notices of correction, the sheet, the fridge label and what stands in another site's page."""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser
from itertools import product

import pytest
from curebatch.views import embed, label, notice, sheet
from curebatch.views.lines import BareGrams
from curebatch.words import catalogue, say
from helpers import handed, qr_reader

LINK = "https://example.org/recipes/pistachio-pork-loaf/#v=0&recipe=pistachio-pork-loaf.1&check=hm0u"
VOID = {"meta", "link", "br", "hr", "img", "input", "rect", "path"}
ASSETS = {"embed": "assets/embed.css"}


class Tree(HTMLParser):
    """Every tag closed by its own, what it holds, and what its attributes say."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str]] = []
        self.text = ""
        self.feed(page)
        assert not self.open, self.open
        self.text = " ".join(self.text.split())

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


def correction(**changes) -> notice.Correction:
    return notice.Correction(**{
        "ref": "pork-loaf.1", "title": "Pork loaf", "reason": "The nitrite was ten times too high", "kind": "too_much",
        "published": "2026-11-25", "newer": "2", "link": "https://example.org/recipes/pork-loaf/", **changes,
    })  # fmt: skip


def test_the_search_for_bare_grams_finds_them():
    assert handed.bare("x\n5 g of curing salt\ny") == ["5 g of curing salt"]
    assert handed.bare("5.4 g Curing salt") and not handed.bare("5.4 g Curing salt 6.25 % sodium nitrite")


# ------------------------------------------------------------------ the notice


@pytest.mark.parametrize(("kind", "newer", "link", "published"), list(product(notice.KINDS, ("2", ""), ("https://e.example/x/", ""), ("2026-11-25", ""))))
def test_every_notice_says_what_was_wrong_what_to_do_and_what_if_it_was_eaten(kind, newer, link, published):
    made = notice.notice(correction(kind=kind, newer=newer, link=link, published=published))
    for text in (made.caption, made.description, made.pinned):
        assert "The nitrite was ten times too high." in text
        assert "{" not in text and not handed.bare(text)
        assert not link or link in text or text is made.caption
    assert say(f"notice.raw_{kind}") in made.description and say(f"notice.raw_{kind}") in made.pinned
    assert say(f"notice.cooked_{kind}") in made.description
    assert ("lips" in made.pinned) == (kind in ("too_much", "other"))
    assert ("fever" in made.pinned) == (kind != "too_much")
    assert "emergency number" in made.pinned
    assert "\n" not in made.caption


def test_each_thing_said_of_someone_ill_has_its_source():
    for kind in notice.KINDS:
        text = notice.notice(correction(kind=kind)).description
        assert text.count("Source: ") == (2 if kind == "other" else 1)


def test_words_for_every_kind():
    words = catalogue("en")
    for kind in notice.KINDS:
        assert {f"notice.raw_{kind}", f"notice.cooked_{kind}"} <= set(words)


def test_a_correction_with_bare_grams_is_refused():
    with pytest.raises(BareGrams) as told:
        notice.notice(correction(reason="It said 20 g of curing salt, and 2 g of curing salt was meant."))
    assert "20 g" in told.value.read
    assert notice.notice(correction(reason="It said 20 g of a curing salt with 6.25 %; it must be one with 0.5 %."))


@pytest.mark.parametrize("changes", [{"kind": "bad"}, {"reason": ""}, {"reason": " \x00 "}])
def test_a_correction_that_says_nothing_is_refused(changes):
    with pytest.raises(ValueError, match=r"kind|reason"):
        notice.notice(correction(**changes))


@pytest.mark.parametrize("name", handed.HOSTILE)
def test_hostile_words_cannot_add_lines_to_a_notice(name):
    tame, made = notice.notice(correction()), notice.notice(correction(title=name, reason=f"x {name}"))
    for one, other in ((tame.caption, made.caption), (tame.description, made.description), (tame.pinned, made.pinned)):
        assert one.count("\n") == other.count("\n")
        assert not set(other) & set("\x00\x07\u2028\u202e")


# ------------------------------------------------------------------ the sheet


def test_the_sheet_holds_every_weight_and_its_code_leads_to_the_link():
    for name, card in handed.cards():
        drawn = sheet.sheet(card, link=LINK, date="25 November 2026")
        seen = Tree(drawn)
        assert "style" not in dict(seen.attributes), name
        if card["verdict"] != "stop":
            assert drawn.count('class="tick"') >= len(card["amounts"]) == sum(row["weigh"]["text"] in seen.text for row in card["amounts"])
            for row in card["strengths"]:
                assert row["text"] in seen.text, name
        for part in (card["title"], card["verdict_text"], card["rules_edition"], "25 November 2026", say("text.help")):
            assert part in seen.text, name
        for row in card["understood"]:
            assert f"{row['label']}: {row['text']}" in seen.text, name
        for row in card["messages"]:
            assert (row["text"] in seen.text) or row["severity"] == "note", name
        (code,) = re.findall(r"<svg [^>]*class=\"qr\".*?</svg>", drawn)
        assert qr_reader.read(qr_reader.drawn(code)) == LINK


def test_the_sheet_has_no_grams_of_curing_salt_without_a_strength():
    for name, card in handed.cards():
        for cell in re.findall(r"<(?:li|tr)[^>]*>(.*?)</(?:li|tr)>", sheet.sheet(card), re.DOTALL):
            assert not handed.bare(" ".join(unescape(re.sub(r"<[^>]+>", " ", cell)).split())), name
        if card["cure"]:
            (row,) = re.findall(r'<tr class="is-cure">(.*?)</tr>', sheet.sheet(card), re.DOTALL)
            assert card["cure"]["weigh"]["text"] in row and re.search(r"\d %", row)


def test_under_stop_the_sheet_has_nothing_to_weigh():
    drawn = sheet.sheet(handed.card(kitchen=handed.STOPPED), link=LINK)
    assert "<table" not in drawn and "<ol>" not in drawn and say("view.stop") in drawn


def test_temperatures_cooling_and_a_blank_date_find_their_place():
    drawn = Tree(sheet.sheet(handed.card(), heat=["Oven: 90 °C"], cooling=["To 5 °C <b>"])).text
    assert "Oven: 90 °C" in drawn and "To 5 °C <b>" in drawn and say("sheet.date_blank") in drawn


@pytest.mark.parametrize("name", handed.HOSTILE)
def test_hostile_names_are_text_on_sheet_label_and_frame(name):
    card = handed.card()
    card["title"] = card["amounts"][0]["name"] = card["steps"][0]["text"] = name
    tame = handed.card()
    for draw in (
        lambda c: sheet.sheet(c, link=LINK),
        sheet.label_html,
        lambda c: sheet.embed_page(c, page_url="../x/", root="", assets=ASSETS, build="b"),
    ):
        assert Tree(draw(card)).tags == Tree(draw(tame)).tags


# ------------------------------------------------------------------ the label


def test_the_label_says_what_it_must_and_leaves_blanks():
    made = label.label(handed.card(), made="25 Nov", use_by="27 Nov", raw=True)
    rows = {row["key"]: row["text"] for row in made["rows"]}
    assert list(rows) == ["made", "use_by", "allergens", "salt", "cured"]
    assert rows["made"] == "25 Nov" and rows["use_by"] == "27 Nov"
    assert "pistachio" in rows["allergens"] and rows["salt"].startswith("2.1 %")
    assert made["raw"] and "°C" in made["raw_text"]
    drawn = sheet.label_html(handed.card())
    assert drawn.count('class="write"') == 2 and say("label.raw") not in drawn
    assert say("label.raw") in sheet.label_html(handed.card(), raw=True)


def test_a_raw_product_says_so_by_itself():
    assert label.label({**handed.card("back-bacon.1"), "raw": True})["raw"]


def test_the_label_tells_cured_from_uncured():
    for name, card in handed.cards():
        made = label.label(card)
        assert (made == {}) == (card["verdict"] == "stop"), name
        if not made:
            continue
        (text,) = [row["text"] for row in made["rows"] if row["key"] == "cured"]
        assert (text == say("label.cured_none")) == (card["state"] == "uncured"), name
        assert not re.search(r"\d g\b", text)


def test_no_label_for_what_must_not_be_kept():
    assert label.label(handed.card(kitchen=handed.STOPPED)) == {}
    assert sheet.label_html(handed.card(kitchen=handed.STOPPED)) == ""


# ------------------------------------------------------------------ in another site's page


def test_the_frame_asks_first_and_answers_without_a_script():
    for name, card in handed.cards({}):
        page = sheet.embed_page(card, page_url="../../recipes/x/", root="../../", assets=ASSETS, build="abc")
        seen = Tree(page.split("\n", 1)[1])
        assert "script" not in seen.tags and "style" not in dict(seen.attributes)
        assert len(page.encode()) < 20_000
        for row in card["strengths"]:
            assert row["text"] in seen.text, name
        if card["strengths"]:
            assert seen.text.index(say("embed.question")) < seen.text.index(card["strengths"][0]["text"])
        assert say("text.help") in seen.text
        for answer in embed.answers(card):
            assert answer["percent"] in answer["text"] and not handed.bare(answer["text"])


def test_a_stopped_recipe_is_refused_in_the_frame():
    card = handed.card(kitchen=handed.STOPPED)
    page = sheet.embed_page(card, page_url="../x/", root="", assets=ASSETS, build="b")
    assert say("embed.question") not in page and say("view.stop") in page


def test_the_snippet_stands_on_its_own():
    made = embed.snippet("https://e.example/embed/x/?a=1&b=2", "https://e.example/recipes/x/", 'Loaf "x" <b>', "https://e.example/embed.js")
    seen = Tree(made)
    assert seen.tags == ["iframe", "p", "a", "script"]
    told = dict(seen.attributes[:6])
    assert told["src"] == "https://e.example/embed/x/?a=1&b=2" and told["loading"] == "lazy" and told["sandbox"] == embed.SANDBOX
    assert ("href", "https://e.example/recipes/x/") in seen.attributes
    assert 'Loaf "x" <b>' in seen.text
    assert Tree(embed.snippet("https://e.example/", "https://e.example/", "x")).tags == ["iframe", "p", "a"]


@pytest.mark.parametrize("bad", ["javascript:alert(1)", "//e.example/", "https://e.example/ x", 'https://e.example/"onload="x', ""])
def test_a_snippet_with_no_whole_address_is_refused(bad):
    with pytest.raises(ValueError, match="whole address"):
        embed.snippet(bad, "https://e.example/", "x")
