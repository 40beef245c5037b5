"""A card for a chat or the description of a video: as plain text, and as Markdown.

Both are drawn from the same blocks, so they say the same. A sentence keeps its figures on one
line, and curing salt its percentage.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from curebatch.views.html import full
from curebatch.views.lines import answers, handed, is_dosed, lines_of, targets
from curebatch.words import say

# Whatever can begin markup within a line, in CommonMark and in the dialects of chats
# (struck out, tables, mathematics, hidden text). Any ASCII punctuation may be escaped so:
# CommonMark 0.31, section 2.4.
_MARKUP = re.compile(r"[\\`*_\[\]<>&#|~$!{}]")
# A list, a heading's underline or a numbered item, at the beginning of a line.
_LEADING = re.compile(r"^(?:[-+=:]|\d+(?=[.)](?:\s|$)))")
# What dialects make a link of by itself: a name must not open one.
_SCHEME = re.compile(r":(?=//)|(?<=\bwww)\.", re.IGNORECASE)
_LINK = re.compile(r"https?://[^\s<>]+")


@dataclass(frozen=True)
class Block:
    """A piece of the text: kind is "title", "text", "strong", "head", "items", "numbers" or "link"."""

    kind: str
    texts: tuple[str, ...]


def escaped(text: object) -> str:
    """``text`` as Markdown that shows it sign for sign, wherever it stands in a line."""
    clean = handed(text)
    marked = _SCHEME.sub(lambda found: "\\" + found[0], _MARKUP.sub(lambda found: "\\" + found[0], clean))
    lead = _LEADING.match(marked)
    if not lead:
        return marked
    # A number is taken out of its list by its full stop, a sign by itself.
    at = lead.end() if lead[0][0].isdigit() else 0
    return f"{marked[:at]}\\{marked[at:]}"


def _checked(link: str) -> str:
    if link and not _LINK.fullmatch(link):
        raise ValueError(f"{link!r} is no whole address to hand on: it begins with https:// and holds no space")
    return link


def blocks(card: Mapping, link: str = "") -> list[Block]:
    """What there is to say, in order.

    card: as in the contract; link: the whole address of the recipe link (never the card
    link: the pack stays at home), or "". Raises ValueError for another kind of link.
    """
    card, link = full(card), _checked(link)
    found = [Block("title", (card["title"],))] if card["title"] else []
    if card.get("author"):
        found.append(Block("text", (say("hand.by", author=card["author"]),)))
    if card.get("summary"):
        found.append(Block("text", (card["summary"],)))
    if card["verdict"] != "incomplete":
        # Without a pack the question says it; a judgement of somebody's pack is worth its words.
        found.append(Block("strong", (f"{say('view.' + card['verdict'])}. {card['verdict_text']}",)))
    if card["verdict"] == "stop":
        found += _list("items", "hand.cautions", [row["text"] for row in card["messages"] if row["severity"] == "stop"])
    else:
        found += _recipe(card)
    if link:
        found.append(Block("link", (say("hand.link"), link)))
    found.append(Block("text", (say("text.help"),)))
    found.append(Block("text", (say("page.footer_law"),)))
    if card["rules_edition"]:
        found.append(Block("text", (say("hand.made_with", edition=card["rules_edition"]),)))
    return found


def _list(kind: str, heading: str, rows: list[str]) -> list[Block]:
    return [Block("head", (say(heading),)), Block(kind, tuple(rows))] if rows else []


def _recipe(card: Mapping) -> list[Block]:
    lines = lines_of(card)
    found = _list("items", "hand.weigh", [f"{line.text} ({line.note})" if line.note else line.text for line in lines])
    if is_dosed(card) and card["cure"]:
        found.append(Block("strong", (say("hand.own_pack"),)))
    found += _list("items", "hand.targets", targets(card))
    if not is_dosed(card):
        found.append(Block("strong", (say("hand.ask_pack"),)))
        rows = answers(card)
        found += _list("items", "hand.strengths", rows)
        if rows:
            found.append(Block("text", (f"{card['strengths_scale_text']} {say('view.strengths_none')}".strip(),)))
    found += _list("numbers", "hand.steps", [step["text"] for step in card["steps"]])
    return found + _list("items", "hand.cautions", [row["text"] for row in card["messages"] if row["severity"] == "caution"])


def plain_text(card: Mapping, link: str = "") -> str:
    """The card as plain text for a chat or a description; card, link: as for ``blocks``.

    Returns text that ends with a line break.
    """
    shown = []
    for block in blocks(card, link):
        texts = [text if block.kind == "link" else handed(text) for text in block.texts]
        if block.kind == "items":
            shown.append("\n".join(f"- {text}" for text in texts))
        elif block.kind == "numbers":
            shown.append("\n".join(f"{number}. {text}" for number, text in enumerate(texts, 1)))
        elif block.kind == "link":
            shown.append(f"{texts[0]}:\n{texts[1]}")
        else:
            shown.append(texts[0])
    return _joined(shown)


def markdown(card: Mapping, link: str = "") -> str:
    """The card as Markdown; card, link: as for ``blocks``. Returns text that ends with a line break."""
    shown = []
    for block in blocks(card, link):
        texts = [text if block.kind == "link" else escaped(text) for text in block.texts]
        if block.kind == "title":
            shown.append(f"# {texts[0]}")
        elif block.kind == "head":
            shown.append(f"## {texts[0]}")
        elif block.kind == "strong":
            shown.append(f"**{texts[0]}**")
        elif block.kind == "items":
            shown.append("\n".join(f"- {text}" for text in texts))
        elif block.kind == "numbers":
            shown.append("\n".join(f"{number}. {text}" for number, text in enumerate(texts, 1)))
        elif block.kind == "link":
            # The bare address: where Markdown is not read, it can still be touched.
            shown.append(f"{escaped(texts[0])}: <{texts[1]}>")
        else:
            shown.append(texts[0])
    return _joined(shown)


def _joined(shown: list[str]) -> str:
    return "\n\n".join(text for text in shown if text) + "\n"
