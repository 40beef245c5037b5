"""The entry behind ``curebatch.answer`` and its companions: requests to documents, cards to answers."""

from __future__ import annotations

import json
from datetime import date

from . import card as cards
from . import shelf
from .fields import BY_KEY, COMPOUNDS
from .intake.document import Document, with_changes
from .intake.entries import Value, read_entries, read_field
from .intake.faults import Fault, fault
from .intake.found import NEEDED, found_recipe
from .intake.link import decode, encode
from .intake.numbers import tidy
from .intake.recipe import Recipe
from .intake.units import Amount
from .rules import limits as rules
from .rules.withdrawn import read_withdrawn
from .views import html as views
from .words import say


class Reading:
    """A request, read: the document or its faults, what was typed, and where it belongs."""

    def __init__(self) -> None:
        self.document: Document | None = None
        self.faults: list[Fault] = []
        self.texts: dict[str, str] = {}
        self.shown: dict[str, str] = {}  # for the form: what came with a link, written our way
        self.go: str = ""


def _labels(texts: list) -> frozenset[str]:
    """Confirmed labels, written our way, each with what it counts; what cannot be read confirms nothing."""
    found = set()
    for text in texts:
        if not isinstance(text, str) or not text:
            continue
        label, _, compound = text.rpartition(" ")
        if compound not in COMPOUNDS:
            label, compound = text, "NaNO2"
        value, _ = read_field(BY_KEY["pack"], label)
        if isinstance(value, Amount):
            found.add(value.text if compound == "NaNO2" else f"{value.text} {compound}")
    return frozenset(found)


def read(given: dict, recipe: Recipe | None = None) -> Reading:
    """Read an input.

    given: {page, recipe, fields, link, confirmed_packs, withdrawn, today}; recipe: one that is at
    hand already, in place of a reference.
    """
    reading = Reading()
    link_texts: dict[str, str] = {}
    if given.get("link"):
        link_texts, reading.faults = decode(str(given["link"]))
    fields = given.get("fields")
    fields = fields if isinstance(fields, dict) else {}
    reading.texts = {**link_texts, **{str(key): text for key, text in fields.items()}}
    page = given.get("page", "recipe")
    values, wrong = read_entries(reading.texts)
    reading.shown = {**reading.texts, **{key: text for key, text in _texts(values).items() if key not in fields}}
    reading.faults += wrong
    if page == "found":
        recipe = found_recipe(values)
        if "recipe" in link_texts:
            reading.go = _way_to(link_texts, given)
    elif recipe is None:
        ref = str(link_texts.get("recipe") or given.get("recipe") or "")
        ref = ref if "." in ref else shelf.newest(ref) or ref
        recipe, faults = shelf.get(ref)
        reading.faults += faults
        if link_texts and "found_cure" in link_texts:
            reading.go = "found/#" + str(given["link"]).lstrip("#?")
        elif link_texts and given.get("recipe") and recipe and recipe.id != str(given["recipe"]).rpartition(".")[0]:
            reading.go = _way_to(link_texts, given)
    if page == "found" and recipe is None and not reading.faults:
        missing = [key for key in NEEDED if key not in values]
        if missing:
            reading.faults += [fault(key, "", f"needed_{key}") for key in missing]
        else:
            reading.faults.append(fault("found_meat", values["found_meat"].text, "found_too_much"))
    if recipe is not None:
        confirmed = _labels([*_list(given.get("confirmed_packs")), reading.texts.get("pack_check", "")])
        linked, _ = read_entries({key: link_texts[key] for key in ("pack", "pack_as") if key in link_texts})
        # What a pack counts comes from its label as much as its figure does.
        from_link = "pack" in values and any(_same(value, values.get(key)) for key, value in linked.items())
        changed = recipe if page == "found" else with_changes(recipe, values)
        taken_back = shelf.withdrawn() | read_withdrawn(given.get("withdrawn"))
        reading.document = Document(changed, values, confirmed, from_link, taken_back, _day(given.get("today")))
        reading.faults += _misplaced(values, recipe, reading.document.state)
        if reading.document.meat <= 0:
            key = "bone" if "bone" in values else "skin"
            reading.faults.append(fault(key, values[key].text, "no_meat_left"))
    return reading


def _day(given: object) -> date | None:
    """The day by the device's clock, "2026-11-25"; None where it was not told, or is no day."""
    try:
        return date.fromisoformat(given) if isinstance(given, str) else None
    except ValueError:
        return None


def _list(given: object) -> list:
    return given if isinstance(given, list) else []


def _same(one: Value | None, other: Value | None) -> bool:
    return (one.text if isinstance(one, Amount) else one) == (other.text if isinstance(other, Amount) else other)


def _misplaced(values: dict[str, Value], recipe: Recipe, state: str) -> list[Fault]:
    """Entries of the batch that this recipe's method does not ask for, and a dose where there is no cure."""
    wrong = [
        fault(key, value.text if isinstance(value, Amount) else value, "not_for_method", method=say(f"method.{recipe.method}"))
        for key, value in values.items()
        if BY_KEY[key].group == "batch" and recipe.method not in BY_KEY[key].methods
    ]
    if state == "uncured" and "stated" in values:
        wrong.append(fault("stated", values["stated"].text, "stated_uncured"))
    return wrong


def _way_to(texts: dict[str, str], given: dict) -> str:
    recipe_id = texts["recipe"].rpartition(".")[0] or texts["recipe"]
    return f"recipes/{recipe_id}/#" + str(given["link"]).lstrip("#?") if shelf.newest(recipe_id) else ""


def card_of(reading: Reading, page: str = "recipe", whole: bool = True) -> dict:
    """The card for a reading, or the card that says what is not understood.

    whole: False for weights and verdict alone, which are there sooner.
    """
    document = reading.document
    if reading.faults or document is None:
        return cards.faulty(document if page != "found" else None, reading.faults)
    card = cards.make(document, whole)
    if page == "found":
        card["convert"] = cards.conversion(document, card["cure"] is not None)
    return card


def _texts(values: dict[str, Value]) -> dict[str, str]:
    return {key: value.text if isinstance(value, Amount) else value for key, value in values.items()}


def links_of(document: Document) -> dict[str, str]:
    """The recipe link and the card link of a document, targets with their basis in full."""
    texts = _texts(document.values)
    recipe = document.recipe
    if recipe.id != "found":
        targets = recipe.targets
        texts["recipe"] = recipe.ref
        if targets.nitrite is not None:
            texts.update(nitrite=targets.nitrite.text, nitrite_as=targets.nitrite_as, nitrite_per=targets.nitrite_per)
        texts.update(salt=targets.salt.text, salt_per=targets.salt_per)
        if recipe.pump is not None:
            texts["pump"] = recipe.pump.text
    return {"recipe": encode(texts, kitchen=False), "card": encode(texts, kitchen=True)}


def start(shelf_json: str) -> None:
    given = json.loads(shelf_json)
    shelf.put(given["recipes"], given.get("withdrawn"))


#: Asked for first, while the rest is still being worked out.
WEIGHTS = ("confirm", "verdict", "amounts", "convert", "messages")


def answer(request_json: str) -> str:
    """Answer a request {id, build, input, want}; want: ["all"], ["weights"], ["rest"], or sections' keys.

    "weights" gives the sections of WEIGHTS, made without what they do not need; "rest"
    the others. The card itself comes with "all" alone.
    """
    request = json.loads(request_json)
    request = request if isinstance(request, dict) else {}
    given = request.get("input")
    given = given if isinstance(given, dict) else {}
    page = "found" if given.get("page") == "found" else "recipe"
    wanted = _list(request.get("want")) or ["all"]
    keys = _keys(wanted)
    reading = read(given)
    card = card_of(reading, page, whole=not set(keys) <= set(WEIGHTS))
    links = links_of(reading.document) if reading.document and not reading.faults else {}
    result = {
        "id": request.get("id"), "build": request.get("build", ""), "want": wanted,
        "sections": views.sections(card, card["faults"], links, keys),
        "fields": {key: tidy(text) for key, text in reading.shown.items() if key in BY_KEY and isinstance(text, str)},
        "links": links, "faults": card["faults"], "status": _status(card),
    }
    if "all" in wanted:
        result["card"] = card
    if reading.go:
        result["go"] = reading.go
    return json.dumps(result, ensure_ascii=False)


def _keys(wanted: list) -> tuple[str, ...]:
    if "all" in wanted:
        return views.SECTIONS
    parts = {"weights": WEIGHTS, "rest": tuple(key for key in views.SECTIONS if key not in WEIGHTS)}
    keys = {key for want in wanted for key in parts.get(want, (want,))}
    return tuple(key for key in views.SECTIONS if key in keys)


def _status(card: dict) -> str:
    if card["faults"]:
        return say("status.faults", count=str(len(card["faults"])), first=card["faults"][0]["text"])
    return card["verdict_text"]


def pages() -> str:
    listed = [
        {"path": "index.html", "request": {"page": "start"}},
        {"path": "found/index.html", "request": {"page": "found"}},
        {"path": "help/index.html", "request": {"page": "help"}},
        {"path": "rules/index.html", "request": {"page": "rules"}},
        {"path": "licences/index.html", "request": {"page": "licences"}},
        {"path": "recipes/_/index.html", "request": {"page": "blank"}},
        {"path": "manifest.webmanifest", "request": {"page": "manifest"}},
    ]
    for recipe_id in sorted({ref.rpartition(".")[0] for ref in shelf.refs()}):
        listed.append({"path": f"recipes/{recipe_id}/index.html", "request": {"page": "recipe", "recipe": shelf.newest(recipe_id)}})
    return json.dumps(listed)


_FORMULAS = ("ion", "ground", "dry", "brine_two", "brine_one", "pumped", "high", "low", "days")


def _rows_of_limits() -> list[dict]:
    return [
        {
            "region": ", ".join(say(f"choice.region.{region}") for region in limit.regions),
            "what": say(f"limit_role.{limit.role}", clause=limit.clause),
            "value": say("card.limit_value", value=f"{cards.plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=say(f"per.{limit.per}")),
            "source": say("source.limit", document=limit.document, edition=limit.edition, clause=limit.clause, date=limit.date_read),
            "sure": say(f"sure.{limit.sure}"),
        }
        for limit in rules.all_limits()
    ]


def draw(request_json: str) -> str:
    request = json.loads(request_json)
    kind = request["page"]
    context = {key: request.get(key) for key in ("root", "assets", "build", "canonical")}
    context["rules_edition"] = rules.edition()
    if kind == "recipe":
        reading = read({"page": "recipe", "recipe": request["recipe"]})
        if reading.document is None:
            raise ValueError("; ".join(wrong.text for wrong in reading.faults))
        card = card_of(reading)
        recipe = reading.document.recipe
        context |= {"card": card, "recipe": recipe.ref, "title": recipe.title, "lead": recipe.summary, "links": links_of(reading.document)}
    elif kind == "found":
        card = cards.faulty(None, [])
        card["verdict_text"] = say("verdict.found_empty")
        context |= {"card": card, "recipe": "", "title": say("page.found.title"), "lead": say("page.found.lead")}
    elif kind == "start":
        context["recipes"] = []
        for recipe_id in sorted({ref.rpartition(".")[0] for ref in shelf.refs()}):
            recipe, faults = shelf.get(shelf.newest(recipe_id))
            if recipe is None:
                raise ValueError("; ".join(wrong.text for wrong in faults))
            context["recipes"].append({"title": recipe.title, "text": recipe.summary, "path": f"recipes/{recipe.id}/"})
    elif kind == "rules":
        context["limits"] = _rows_of_limits()
        context["formulas"] = [{part: say(f"formula.{name}.{part}") for part in ("label", "text", "source")} for name in _FORMULAS]
    elif kind == "manifest":
        return views.manifest(context["assets"])
    elif kind == "licences":
        context["parts"] = request.get("parts") or []
    return views.page(kind, context)
