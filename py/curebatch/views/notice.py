"""The notice of a correction, ready to paste where a wrong recipe was shown."""

from __future__ import annotations

from dataclasses import dataclass

from curebatch.views.lines import BareGrams, bare_grams, sentence
from curebatch.views.text import plain
from curebatch.words import say

#: What was wrong: it decides what becomes of raw and cooked food, and of who has eaten it.
KINDS = ("too_much", "too_little", "heat", "other")


@dataclass(frozen=True)
class Correction:
    """A recipe that turned out wrong.

    ref: id.revision of what is withdrawn; title; reason: what was wrong, one or two sentences
    without bare grams; kind: one of KINDS; published: YYYY-MM-DD or ""; newer: the revision
    that takes its place, a number, or ""; link: the whole address of its page, or "".
    """

    ref: str
    title: str
    reason: str
    kind: str
    published: str = ""
    newer: str = ""
    link: str = ""


@dataclass(frozen=True)
class Notice:
    """Three texts: the line for a caption, the description in full, the comment to pin on top."""

    caption: str
    description: str
    pinned: str


def _way_out(correction: Correction) -> str:
    if correction.newer and correction.link:
        return say("notice.newer", revision=correction.newer, link=correction.link)
    more = " " + say("notice.newer_link", link=correction.link) if correction.link else ""
    return say("notice.newer_none") + more


def _eaten(kind: str) -> list[str]:
    """What to watch for: the salt itself, or what grows where there was too little of it or of heat."""
    lines = []
    if kind in ("too_much", "other"):
        lines += [say("notice.eaten_nitrite"), say("notice.source", source=say("handling.eaten.source"))]
    if kind != "too_much":
        lines += [say("notice.eaten_food"), say("notice.source", source=say("notice.source_food"))]
    return lines


def notice(correction: Correction) -> Notice:
    """The three texts for a withdrawn recipe.

    Raises ValueError for a kind that is none of KINDS or a correction without a reason, and
    BareGrams where its reason or title names grams of curing salt without their percentage.
    """
    if correction.kind not in KINDS:
        raise ValueError(f"no kind {correction.kind!r}: write one of {', '.join(KINDS)}")
    title, reason = plain(correction.title), sentence(correction.reason)
    if not reason:
        raise ValueError("a correction needs a reason: what was wrong")
    bare = bare_grams(reason) or bare_grams(title)
    if bare:
        raise BareGrams(bare)
    ref, kind, published = plain(correction.ref), correction.kind, plain(correction.published)
    which = say("notice.which", ref=ref, date=published) if published else say("notice.which_undated", ref=ref)
    parts = [
        [say("notice.heading", title=title)],
        [say("notice.wrong", reason=reason), which, _way_out(correction)],
        [say("notice.raw_head"), say(f"notice.raw_{kind}")],
        [say("notice.cooked_head"), say(f"notice.cooked_{kind}")],
        [say("notice.eaten_head"), *_eaten(kind)],
        [say("notice.sorry")],
    ]
    # The pinned comment holds what must not be missed where nobody opens the description.
    pinned = [
        say("notice.pinned", reason=reason),
        f"{say('notice.raw_head')}: {say(f'notice.raw_{kind}')}",
        f"{say('notice.eaten_head')}: {' '.join(_eaten(kind)[::2])}",
        _way_out(correction),
    ]
    return Notice(
        say("notice.caption", title=title, reason=reason),
        "\n\n".join("\n".join(part) for part in parts) + "\n",
        "\n\n".join(pinned) + "\n",
    )
