"""What a link would change of what the cook has on the page: told before a draft gives way to it."""

from __future__ import annotations

from collections.abc import Mapping

from . import shelf
from .entry import Reading, entries_of, read
from .fields import field_of, in_order
from .figures import entry_label, entry_text
from .intake.entries import read_field, text_of, told_of
from .intake.faults import clip
from .intake.link import OWN, decode
from .intake.numbers import tidy
from .intake.units import Amount
from .views import html as views
from .words import say

# Grams of curing salt are told with the strength that they are of, or not at all.
_OF_PACK = {"stated": "pack", "found_cure": "found_pack"}
_NEVER = ("pack_check",)  # a confirmation is the device's, and stays


def told(given: Mapping) -> dict:
    """What the link in ``given`` would replace.

    given: as for ``entry.read``, with ``draft`` {link, fields, kitchen, own}: what stands on the
    page, ``kitchen`` being what it takes from the saved one. Returns {html, kept}: the table with
    the choice, or "" where there is nothing to ask; kept is False where what the cook has would go
    all the same, because the link cannot be read.
    """
    draft = given.get("draft")
    draft = draft if isinstance(draft, Mapping) else {}
    plain = {key: value for key, value in given.items() if key not in ("draft", "own")}
    after = read(plain)
    if after.go:
        return {"html": "", "kept": True}  # it belongs to another page
    if after.faults or after.document is None:
        return {"html": "", "kept": False}
    fields, kitchen = (_texts(draft.get(part)) for part in ("fields", "kitchen"))
    before = read({**plain, "link": draft.get("link") or "", "fields": {**kitchen, **fields}, **({"own": draft["own"]} if draft.get("own") else {})})
    had, says = _entries(before), _entries(after)
    stated = {key for key, text in fields.items() if tidy(text) and key not in _NEVER}
    if draft.get("own"):
        stated.add(OWN)
    if not stated:
        return {"html": "", "kept": True}  # another link, looked at and left as it was
    stated |= set(decode(str(draft.get("link") or ""))[0])
    changed = [field.key for field in in_order({*had, *says}) if field.key not in _NEVER and not _same(field.key, had, says)]
    if had.get(OWN) != says.get(OWN):
        changed.insert(0, OWN)
    # A kitchen alone is no batch: it may meet the link's, as long as all of it stays.
    batch = any(key == OWN or (field_of(key) and field_of(key).shared) for key in stated)
    if not changed or (not batch and stated.isdisjoint(changed)):
        return {"html": "", "kept": True}
    return {"html": views.replaced([_row(key, had, says, before, after) for key in changed]), "kept": True}


def _texts(given: object) -> dict[str, str]:
    return {str(key): text for key, text in given.items() if isinstance(text, str)} if isinstance(given, Mapping) else {}


def _entries(reading: Reading) -> dict[str, str]:
    """What is stated, with what its recipe asks for; of what cannot be read, the text as it was typed."""
    if reading.document is not None and not reading.faults:
        stated = entries_of(reading.document, reading.file)
        return {**stated, "state": reading.document.state} if "state" in stated or reading.document.recipe.method == "ground" else stated
    typed = {key: text for key, text in reading.texts.items() if field_of(key) and tidy(text)}
    if reading.document is None:
        return typed
    recipe = reading.document.recipe
    published, _ = shelf.get(recipe.ref)
    return {**(_entries(_unchanged(recipe.ref)) if published else {}), **typed}


def _unchanged(ref: str) -> Reading:
    return read({"page": "recipe", "recipe": ref})


def _same(key: str, had: Mapping[str, str], says: Mapping[str, str]) -> bool:
    field = field_of(key)
    one, other = (tidy(texts.get(key) or field.default) for texts in (had, says))
    if one == other:
        return True
    first, second = (read_field(field, text)[0] if text else None for text in (one, other))
    if first is None or second is None:
        return False
    if isinstance(first, Amount) and isinstance(second, Amount):
        return (first.low, first.high) == (second.low, second.high)
    return text_of(first) == text_of(second)


def _row(key: str, had: Mapping[str, str], says: Mapping[str, str], before: Reading, after: Reading) -> dict:
    """{label, had, says} of an entry that would change."""
    if key == OWN:
        one, other = (reading.document.recipe.title if reading.document else "" for reading in (before, after))
        return {"label": say("field.recipe.label"), "had": one or say("replaced.nothing"), "says": other if one != other else say("replaced.other_recipe", title=other)}
    names = {line.id: line.name for reading in (before, after) if reading.document for line in reading.document.recipe.ingredients}
    return {"label": entry_label(key, names), "had": _told(key, had), "says": _told(key, says)}


def _told(key: str, texts: Mapping[str, str]) -> str:
    field = field_of(key)
    text = texts.get(key, "")
    if not text and not field.default:
        return say("form.as_recipe" if field.group == "batch" else "replaced.nothing")
    value, wrong = read_field(field, text) if text else (None, None)
    told = clip(text) if wrong else entry_text(field, value)
    if key not in _OF_PACK:
        return told
    pack, wrong = read_field(field_of(_OF_PACK[key]), texts.get(_OF_PACK[key], ""))
    return say("replaced.left_out") if wrong or pack is None else say("replaced.of_pack", amount=told, pack=told_of(pack))
