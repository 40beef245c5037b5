"""Text and Markdown to hand on: the same lines, safe to paste, and never bare grams of curing salt."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from curebatch.views import lines, markdown
from curebatch.words import say
from helpers import handed
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

LINK = "https://example.org/recipes/pistachio-pork-loaf/#v=0&recipe=pistachio-pork-loaf.1&salt_per=mix&check=hm0u"


def rendered(text: str) -> str:
    # A reader of CommonMark, with what chats add to it.
    return MarkdownIt("commonmark").enable(["table", "strikethrough"]).render(text)


class Seen(HTMLParser):
    """Tags and text of a rendered page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.links += [value for key, value in attrs if key in ("href", "src")]

    def handle_data(self, data):
        self.text += data


@pytest.mark.parametrize("make", [markdown.plain_text, markdown.markdown])
def test_no_line_has_bare_grams_of_curing_salt(make):
    for name, card in handed.cards():
        text = make(card, LINK)
        assert not handed.bare(text), name
        assert text.count(LINK) == 1 and text.endswith("\n")
        if card["cure"]:
            lined = [line for line in text.splitlines() if card["cure"]["weigh"]["text"] in line and "uring salt" in line]
            assert lined and all(re.search(r"\d %", line) for line in lined), name


def test_without_a_pack_it_asks_and_lists_the_strengths():
    text = markdown.plain_text(handed.card(), LINK)
    assert say("hand.ask_pack") in text
    assert "6.25 %: 5.4 g of that curing salt and 63.6 g of plain salt" in text
    assert "104 mg/kg sodium nitrite of the whole mix" in text


def test_the_pack_never_travels_with_the_link():
    with pytest.raises(ValueError, match="whole address"):
        markdown.plain_text(handed.card(), "#v=0&recipe=x")
    with pytest.raises(ValueError, match="whole address"):
        markdown.plain_text(handed.card(), "javascript:alert(1)")
    with pytest.raises(ValueError, match="whole address"):
        markdown.markdown(handed.card(), "https://example.org/> <b>")


@pytest.mark.parametrize("make", [markdown.plain_text, markdown.markdown])
def test_under_stop_there_is_nothing_to_weigh_and_the_reason_stands(make):
    card = handed.card(kitchen=handed.STOPPED)
    text = make(card, LINK)
    assert say("hand.weigh") not in text and say("hand.steps") not in text
    assert card["verdict_text"].split(".")[0] in text and say("text.help")[:30] in text
    assert any(row["text"][:25] in text for row in card["messages"] if row["severity"] == "stop")


def test_text_and_markdown_say_the_same():
    for name, card in handed.cards():
        plain = markdown.plain_text(card, LINK)
        seen = " ".join(Seen(rendered(markdown.markdown(card, LINK))).text.split())
        for block in markdown.blocks(card, LINK):
            for text in block.texts:
                shown = text if block.kind == "link" else lines.handed(text)
                assert shown in plain, (name, text)
                assert shown in seen, (name, text)


@pytest.mark.parametrize("name", handed.HOSTILE)
@pytest.mark.parametrize("place", ["title", "summary", "author", "name", "step"])
def test_hostile_names_are_shown_and_do_nothing(name, place):
    card = handed.card()
    if place == "name":
        card["amounts"][0]["name"] = name
    elif place == "step":
        card["steps"][0]["text"] = name
    else:
        card[place] = name
    tame = handed.card()
    seen = Seen(rendered(markdown.markdown(card, LINK)))
    assert lines.plain(name) in seen.text
    assert sorted(seen.tags) == sorted(Seen(rendered(markdown.markdown(tame, LINK))).tags)
    assert seen.links == [LINK]
    assert not set(markdown.plain_text(card, LINK)) & set("\x00\x07\r\t\u2028\u2029\u202e")


@example("0\rx")
@given(st.text(max_size=60))
def test_escaped_text_reads_as_it_was(text):
    shown = lines.handed(text)
    for frame in ("{}", "- {}", "1. {}", "# {}", "**x {} x**", "> {}"):
        seen = Seen(rendered(frame.format(markdown.escaped(text))))
        wanted = f"x {shown} x" if frame.startswith("**") else shown
        assert seen.text.strip() == wanted or not shown, frame
        assert set(seen.tags) <= {"p", "ul", "ol", "li", "h1", "strong", "blockquote"}


def test_figures_are_not_escaped_into_something_else():
    # Pasted where Markdown is not read, the figures must stand as they are.
    for name, card in handed.cards(handed.PACKS[1]):
        text = markdown.markdown(card)
        for line in lines.lines_of(card):
            assert line.amount in text, (name, line)
