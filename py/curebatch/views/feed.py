"""The feed of changes, in Atom (RFC 4287): revisions of recipes, editions of the rules, and what was withdrawn.

Every date comes from the data, none from a clock: the same site gives the same feed. Entries
hold plain text, so that no name of a recipe becomes markup in a reader.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from html import escape

from curebatch.views.lines import handed, sentence
from curebatch.words import say

_BASE = re.compile(r"https?://[^\s/?#]+(?:/[^\s?#]*)?")
# What XML 1.0 cannot hold, not even as a reference: control signs are gone before, these two are not.
_NOT_XML = re.compile("[\ufffe\uffff]")


@dataclass(frozen=True)
class Change:
    """One entry. ``key`` names it for ever within the site; ``day`` is YYYY-MM-DD; ``path`` leads to its page."""

    key: str
    day: str
    title: str
    text: str
    path: str


def of_recipe(ref: str, title: str, day: str, changes: Iterable[str] = ()) -> Change:
    """A revision that came out.

    ref: id.revision; title: of the recipe; day: when it came out; changes: what is new in it.
    """
    recipe_id, _, revision = ref.rpartition(".")
    head = say("feed.recipe_new", title=title) if revision == "1" else say("feed.recipe_changed", title=title, revision=revision)
    return Change(f"recipe/{ref}", day, head, " ".join(map(sentence, changes)) or title, f"recipes/{recipe_id}/")


def of_withdrawal(ref: str, title: str, day: str, reason: str, newer: str = "") -> Change:
    """A revision that was taken back: an entry of its own, so that readers show it as news.

    ref, title, day: as for ``of_recipe``, day being that of the withdrawal; reason: what was
    wrong; newer: the revision that takes its place, a number, or "".
    """
    recipe_id, _, revision = ref.rpartition(".")
    text = sentence(reason) or say("feed.reason_none")
    if newer:
        text += " " + say("feed.newer", revision=newer)
    return Change(f"withdrawn/{ref}", day, say("feed.recipe_withdrawn", title=title, revision=revision), text, f"recipes/{recipe_id}/")


def of_rules(edition: str, changes: Iterable[str]) -> Change:
    """An edition of the rules; edition: its date; changes: what is new in it."""
    head = say("feed.rules", edition=edition)
    return Change(f"rules/{edition}", edition, head, " ".join(map(sentence, changes)) or head, "rules/")


def of_rules_withdrawal(edition: str, day: str, reason: str) -> Change:
    """An edition of the rules that was taken back; day: when."""
    return Change(f"rules-withdrawn/{edition}", day, say("feed.rules_withdrawn", edition=edition), sentence(reason) or say("feed.reason_none"), "rules/")


def _instant(day: str) -> str:
    try:
        good = len(day) == 10 and date.fromisoformat(day).isoformat() == day
    except ValueError:
        good = False
    if not good:
        raise ValueError(f"{day!r} is no date: write it like 2026-11-25")
    return f"{day}T00:00:00Z"


def _text(value: object) -> str:
    return escape(_NOT_XML.sub("", handed(value)))


def _element(name: str, value: object) -> str:
    return f"<{name}>{_text(value)}</{name}>"


def _entry(change: Change, base: str) -> str:
    return "\n".join((
        "<entry>",
        _element("id", f"{base}feed/{change.key}"),
        _element("title", change.title),
        _element("updated", _instant(change.day)),
        f'<link rel="alternate" type="text/html" href="{escape(base + change.path)}"/>',
        f'<content type="text">{_text(change.text)}</content>',
        "</entry>",
    ))


def atom(changes: Iterable[Change], *, base_url: str, path: str = "feed.xml", language: str = "en") -> str:
    """The feed as XML.

    changes: in any order, at least one; base_url: the site's address, http or https, without
    query or fragment: the feed's ids are made from it and must never change; path: where the
    feed lies below it; language: of its words.
    Returns the document, newest entry first. Raises ValueError for an address or a date that
    is none, for no changes, and for a key that stands twice.
    """
    if not _BASE.fullmatch(base_url):
        raise ValueError(f"{base_url!r} is no address of a site: write it like https://example.org/kitchen/")
    base = base_url.rstrip("/") + "/"
    # Two sorts, both stable: newest day first, and within a day by the key.
    sorted_ = sorted(sorted(changes, key=lambda change: change.key), key=lambda change: change.day, reverse=True)
    if not sorted_:
        raise ValueError("a feed needs one change at least")
    keys = [change.key for change in sorted_]
    if len(set(keys)) < len(keys):
        raise ValueError(f"{next(key for key in keys if keys.count(key) > 1)!r} stands twice in the feed")
    return "\n".join((
        '<?xml version="1.0" encoding="utf-8"?>',
        f'<feed xmlns="http://www.w3.org/2005/Atom" xml:lang="{escape(language)}">',
        _element("id", f"{base}feed"),
        _element("title", f"{say('page.name')}: {say('feed.title')}"),
        _element("updated", _instant(sorted_[0].day)),
        f"<author>{_element('name', say('page.name'))}</author>",
        f'<link rel="self" type="application/atom+xml" href="{escape(base + path)}"/>',
        f'<link rel="alternate" type="text/html" href="{escape(base)}"/>',
        *(_entry(change, base) for change in sorted_),
        "</feed>",
        "",
    ))


def changes_of(recipes: Iterable[Mapping], editions: Iterable[Mapping], withdrawn: Mapping[str, Mapping[str, str]]) -> list[Change]:
    """All changes of a site, from its data.

    recipes: [{ref, title, day, changes: [texts]}], every revision; editions: [{edition,
    changes}], as in editions.toml; withdrawn: {"recipes": {ref: reason}, "editions": {edition:
    reason}}. That list names no days: a withdrawal counts from the day of what took its place,
    else from its own.
    """
    known = list(recipes)
    newest: dict[str, tuple[int, Mapping]] = {}
    for row in known:
        recipe_id, _, revision = row["ref"].rpartition(".")
        if int(revision) > newest.get(recipe_id, (0, row))[0]:
            newest[recipe_id] = (int(revision), row)
    found = [of_recipe(row["ref"], row["title"], row["day"], row.get("changes", ())) for row in known]
    for row in known:
        if row["ref"] in withdrawn.get("recipes", {}):
            recipe_id, _, revision = row["ref"].rpartition(".")
            last, successor = newest[recipe_id]
            later = str(last) if last > int(revision) and successor["ref"] not in withdrawn["recipes"] else ""
            found.append(of_withdrawal(row["ref"], row["title"], max(row["day"], successor["day"]), withdrawn["recipes"][row["ref"]], later))
    days = sorted(row["edition"] for row in editions)
    found += [of_rules(row["edition"], row.get("changes", ())) for row in editions]
    found += [of_rules_withdrawal(edition, days[-1], withdrawn["editions"][edition]) for edition in days if edition in withdrawn.get("editions", {})]
    return found
