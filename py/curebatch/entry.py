"""The entry behind ``curebatch.answer`` and its companions: requests to documents, cards to answers."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

from . import card as cards
from . import shelf
from .batch.cure import Pack
from .fields import BY_KEY, COMPOUNDS, PRICE, USE, field_of
from .figures import target_text
from .intake.document import Document, with_changes
from .intake.entries import Value, read_entries, read_field, text_of, told_of
from .intake.faults import Fault, fault
from .intake.found import NEEDED, found_recipe
from .intake.link import OWN, decode, encode
from .intake.numbers import tidy
from .intake.own import COPY, choices, copied_id, read_own
from .intake.recipe import Recipe
from .intake.recipe_file import data_of
from .intake.schema import recipe_schema
from .intake.sizing import Sized, size
from .intake.units import Amount
from .intake.writer import write_recipe
from .measures import in_units
from .rules import limits as rules
from .rules.withdrawn import read_withdrawn
from .views import html as views
from .words import LANGUAGES, say, shown, speaking, spoken


class Reading:
    """A request, read: the document or its faults, what was typed, and where it belongs."""

    def __init__(self) -> None:
        self.document: Document | None = None
        self.faults: list[Fault] = []
        self.texts: dict[str, str] = {}
        self.shown: dict[str, str] = {}  # for the form: what came with a link, written our way
        self.go: str = ""
        self.file = ""  # the file of the recipe on the cook's own page; its links carry it
        self.data: dict | None = None  # what such a recipe's form is to be filled with


def units_of(given: dict) -> str:
    """The units that an input asks for, before the rest of it is read; those of the table where it names none."""
    field, texts = BY_KEY["units"], decode(str(given["link"]))[0] if given.get("link") else {}
    asked = {**texts, **(given["fields"] if isinstance(given.get("fields"), dict) else {})}.get("units")
    return asked if asked in field.choices else field.default


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
    page = given.get("page", "recipe")
    carried = {**link_texts}
    link_texts.pop(OWN, None)
    if page == "own" and "recipe" in link_texts:
        # What it changes is in the copy that is made of the recipe.
        link_texts = {key: text for key, text in link_texts.items() if field_of(key).group != "batch"}
    reading.texts = {**link_texts, **{str(key): text for key, text in fields.items()}}
    values, wrong = read_entries(reading.texts)
    reading.shown = {**reading.texts, **{key: told_of(value) for key, value in values.items() if key not in fields}}
    reading.faults += wrong
    if page == "own" or OWN in carried:
        recipe = _own(reading, given, carried)
        if page != "own":
            reading.go = "own/#" + str(given["link"]).lstrip("#?")
        elif "found_cure" in carried:
            reading.go = "found/#" + str(given["link"]).lstrip("#?")
    elif page == "found":
        recipe = found_recipe(values)
        if "recipe" in link_texts:
            reading.go = _way_to(link_texts, given)
    elif recipe is None:
        ref = str(link_texts.get("recipe") or given.get("recipe") or "")
        ref = ref if "." in ref else shelf.newest(ref) or ref
        # A link with a fault names no recipe: that fault is the one to say.
        recipe, faults = shelf.get(ref) if ref or not reading.faults else (None, [])
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
            reading.faults.append(fault("found_meat", told_of(values["found_meat"]), "found_too_much"))
    if recipe is not None:
        confirmed = _labels([*_list(given.get("confirmed_packs")), reading.texts.get("pack_check", "")])
        linked, _ = read_entries({key: link_texts[key] for key in ("pack", "pack_as") if key in link_texts})
        # What a pack counts comes from its label as much as its figure does.
        from_link = "pack" in values and any(_same(value, values.get(key)) for key, value in linked.items())
        changed = recipe if page == "found" else with_changes(recipe, values)
        taken_back = shelf.withdrawn() | read_withdrawn(given.get("withdrawn"))
        misplaced = _misplaced(values, recipe, page)
        sized, wrong = (Sized(changed), []) if misplaced else size(changed, values, _pack(values))
        reading.document = Document(sized.recipe, values, confirmed, from_link, taken_back, _day(given.get("today")), sized)
        if reading.document.state == "uncured":
            misplaced += _for_a_cure(values, recipe)
        if page == "recipe":
            reading.document = _with_newer(reading.document)
        if page != "found" and not (misplaced or wrong):
            reading.document, beside_faults = _with_beside(reading.document)
            wrong = [*wrong, *beside_faults]
        reading.faults += misplaced + wrong
        if reading.document.meat <= 0 and not reading.faults:
            key = "bone" if "bone" in values else "skin"
            reading.faults.append(fault(key, told_of(values[key]), "no_meat_left"))
    return reading


def _own(reading: Reading, given: dict, carried: dict[str, str]) -> Recipe | None:
    """The cook's own recipe: as the form or a file has it, else as the link does, else a copy of the one that the link names."""
    source = given.get("own")
    in_form = isinstance(source, dict)
    if not isinstance(source, (str, dict)):
        source = carried[OWN] if OWN in carried else _copy(reading, given, carried) if "recipe" in carried else None
    if source is None:
        return None
    made = read_own(source, set(shelf.ids()))
    reading.faults += made.faults
    reading.file = made.text
    reading.data = None if in_form else made.data
    return made.recipe


def _copy(reading: Reading, given: dict, carried: dict[str, str]) -> dict | None:
    """The data of the recipe that a link names, with the link's changes, as a recipe of one's own."""
    texts = {key: text for key, text in carried.items() if key not in ("recipe", OWN)}
    copied = read({"page": "recipe", "recipe": carried["recipe"], "fields": texts, "withdrawn": given.get("withdrawn")})
    document = copied.document
    if copied.faults or document is None:
        reading.faults += [wrong for wrong in copied.faults if wrong not in reading.faults]
        return None
    made, ref = document.recipe, document.recipe.ref
    if ref in document.withdrawn.recipes:
        reading.faults.append(fault("recipe", ref, "own_withdrawn", reason=document.withdrawn.recipes[ref]))
        return None
    published, _ = shelf.get(ref)
    # Unchanged it is taken as it was written, spoons and all.
    as_written = made == published and document.meat == made.meat and document.state == made.state
    data = shelf.data(ref) if as_written else data_of(file_of(document)["text"])
    data = {key: value for key, value in data.items() if key not in ("day", "changes")}  # the pattern's history
    return {**data, "id": copied_id(made.id), "revision": 1, "title": say("own.copy_of", title=made.title)}


# What the other batter takes over: the kitchen, and nothing of the first one's batch.
_ITS_KITCHEN = ("region", "pack", "pack_as", "pack_nitrate", "scale", "fine_scale", "spoons")


def _with_beside(document: Document) -> tuple[Document, list[Fault]]:
    """The document with the other batter that goes into the same tins, where one is named."""
    values = document.values
    ref, mix = values.get("beside"), values.get("beside_mix")
    if ref is None and mix is None:
        return document, []
    if ref is None or mix is None:
        missing, given = ("beside", mix) if ref is None else ("beside_mix", ref)
        return document, [fault(missing, told_of(given), f"needed_{missing}")]
    full = ref if "." in ref else shelf.newest(ref) or ref
    recipe, faults = shelf.get(full)
    if recipe is None:
        return document, [replace(wrong, field="beside") for wrong in faults]
    if recipe.method != "ground":
        return document, [fault("beside", ref, "beside_not_ground", method=say(f"method.{recipe.method}"))]
    own = {key: values[key] for key in _ITS_KITCHEN if key in values} | {"batch": mix}
    sized, faults = size(recipe, own, _pack(own))
    if faults:
        return document, [replace(wrong, field="beside_mix") for wrong in faults]
    other = Document(sized.recipe, own, document.confirmed, document.from_link, document.withdrawn, document.today, sized)
    return replace(document, recipe=_as_hot(document, other.recipe), beside=other), []


def _as_hot(document: Document, other: Recipe) -> Recipe:
    """The recipe with the hotter core of the two: one tin is cooked once. What the cook typed stays, and is judged."""
    recipe = document.recipe
    if "core" in document.values or other.core is None or (recipe.core is not None and other.core.value <= recipe.core.value):
        return recipe
    return replace(recipe, core=other.core, hold=other.hold)


def _with_newer(document: Document) -> Document:
    """The document of a revision that is not the newest, with what changed since."""
    later = shelf.later(document.recipe)
    good = [recipe for recipe in later if recipe.ref not in document.withdrawn.recipes]
    return replace(document, newer=good[-1], changes=tuple(change for recipe in later for change in recipe.changes)) if good else document


def _day(given: object) -> date | None:
    """The day by the device's clock, "2026-11-25"; None where it was not told, or is no day."""
    try:
        return date.fromisoformat(given) if isinstance(given, str) else None
    except ValueError:
        return None


def _list(given: object) -> list:
    return given if isinstance(given, list) else []


def _same(one: Value | None, other: Value | None) -> bool:
    return one is not None and other is not None and text_of(one) == text_of(other)


def _pack(values: dict[str, Value]) -> Pack | None:
    """The cook's curing salt, for what it weighs in the mix; a doubtful one is the card's affair."""
    label = values.get("pack")
    return Pack.of(label, values.get("pack_as", BY_KEY["pack_as"].default)) if isinstance(label, Amount) else None


# A recipe from elsewhere names its own amounts; the rest of its batch is not known.
_NOT_FOUND = ("recipe", "portions", "portion", "batch", "fill", "beside", "beside_mix", "core", "hold")


_OWN_TARGETS = ("nitrite", "nitrite_as", "nitrite_per", "salt", "salt_per")  # which its grams and its pack say


def _for_a_cure(values: dict[str, Value], recipe: Recipe) -> list[Fault]:
    """Entries that only a cure has a use for, where no curing salt goes in. What the recipe says itself comes with its links."""
    targets = recipe.targets
    said = {"nitrite_as": targets.nitrite_as, "nitrite_per": targets.nitrite_per} if targets.nitrite is not None else {}
    wrong = [fault("stated", told_of(values["stated"]), "stated_uncured")] if "stated" in values else []
    for key in (key for key in ("nitrite", "nitrite_as", "nitrite_per") if key in values):
        same = values[key] == said.get(key) if key != "nitrite" else targets.nitrite is not None and values[key].value == targets.nitrite.value
        if not same:
            wrong.append(fault(key, told_of(values[key]), "nitrite_uncured"))
    return wrong


def _misplaced(values: dict[str, Value], recipe: Recipe, page: str) -> list[Fault]:
    """Entries of the batch that this recipe's method does not ask for, or that a found recipe has no use for."""
    wrong = []
    to_buy = [*(line.id for line in recipe.ingredients), "salt", "curing_salt"]
    for key, value in values.items():
        field = field_of(key)
        if key.startswith(PRICE) and key.removeprefix(PRICE) not in to_buy:
            wrong.append(fault(key, told_of(value), "price_unknown", name=key.removeprefix(PRICE), known=", ".join(to_buy)))
        if page == "found" and (key in _NOT_FOUND or key.startswith(USE) or field.group in ("mixing", "heat", "oven")):
            wrong.append(fault(key, told_of(value), "not_for_found"))
        elif page == "found" and key in _OWN_TARGETS:
            wrong.append(fault(key, told_of(value), "found_own_targets"))
        elif page != "found" and field.group == "found":
            wrong.append(fault(key, told_of(value), "only_for_found"))
        elif field.group in ("batch", "mixing") and recipe.method not in field.methods:
            wrong.append(fault(key, told_of(value), "not_for_method", method=say(f"method.{recipe.method}")))
    if "frozen" in values and "meat_temperature" in values:
        wrong.append(fault("frozen", told_of(values["frozen"]), "frozen_and_cold"))
    if "hold" in values and "core" not in values and recipe.core is None:
        wrong.append(fault("hold", told_of(values["hold"]), "hold_alone"))
    return wrong


def _way_to(texts: dict[str, str], given: dict) -> str:
    recipe_id = texts["recipe"].rpartition(".")[0] or texts["recipe"]
    return f"recipes/{recipe_id}/#" + str(given["link"]).lstrip("#?") if shelf.newest(recipe_id) else ""


def card_of(reading: Reading, page: str = "recipe", whole: bool = True, foretold: bool = False) -> dict:
    """The card for a reading, or the card that says what is not understood.

    whole: False for weights and verdict alone, which are there sooner; foretold: True for the
    forecast of the oven as well, which takes longer than all the rest.
    """
    document = reading.document
    if reading.faults or document is None:
        card = cards.faulty(document if page != "found" else None, reading.faults)
        if page == "found" and not any(one.read for one in reading.faults):
            return card | {"verdict_text": say("verdict.found_empty")}  # nothing was typed yet that could be misunderstood
        return card | {"verdict_text": say("verdict.own_empty")} if page == "own" and not reading.faults else card
    card = cards.make(document, whole, foretold)
    if page == "found" and not reading.go:
        card["convert"] = cards.conversion(document, card["cure"] is not None)
    if document.newer is not None:
        card["newer"] = {"recipe": document.newer.ref, "link": _link_to(document.newer, document)}
    return card


# How much is made; what the older revision asked for does not go along.
_SIZE = ("meat", "portions", "portion", "batch")


def _link_to(newer: Recipe, document: Document) -> str:
    """The recipe link of a newer revision, for a batch of the same size."""
    size_of = {key: text_of(document.values[key]) for key in _SIZE if key in document.values}
    reading = read({"page": "recipe", "recipe": newer.ref, "fields": size_of})
    if reading.faults or reading.document is None:
        reading = read({"page": "recipe", "recipe": newer.ref})
    return links_of(reading.document)["recipe"] if reading.document is not None and not reading.faults else ""


def _texts(values: dict[str, Value]) -> dict[str, str]:
    return {key: text_of(value) for key, value in values.items()}


def entries_of(document: Document, file: str = "") -> dict[str, str]:
    """Everything that a document states, as {key: text}, targets with their basis in full.

    file: of a recipe that is on no shelf; it goes along whole.
    """
    texts = _texts(document.values)
    recipe = document.recipe
    if file:
        texts[OWN] = file
    elif recipe.id != "found":
        targets = recipe.targets
        texts["recipe"] = recipe.ref
        if targets.nitrite is not None:
            texts.update(nitrite=targets.nitrite.text, nitrite_as=targets.nitrite_as, nitrite_per=targets.nitrite_per)
        texts.update(salt=targets.salt.text, salt_per=targets.salt_per)
        if recipe.pump is not None:
            texts["pump"] = recipe.pump.text
    return texts


def links_of(document: Document, file: str = "") -> dict[str, str]:
    """The recipe link and the card link of a document; file: as for ``entries_of``."""
    texts = entries_of(document, file)
    return {"recipe": encode(texts, kitchen=False), "card": encode(texts, kitchen=True)}


def file_of(document: Document) -> dict[str, str]:
    """The recipe as changed, as a file of the cook's own: {name, text}.

    Targets, lines and size are those of the document. A copy of a published recipe gets an id
    of its own, so that it is never taken for it.
    """
    recipe = document.recipe
    sized = document.meat != recipe.meat
    own = recipe.id if recipe.id.endswith(COPY) else copied_id(recipe.id)
    targets = replace(recipe.targets, **{key: _written(getattr(recipe.targets, key), unit) for key, unit in (("nitrite", "mg/kg"), ("salt", "%"))})
    # What was new in the published one is no history of the copy.
    history = {} if recipe.id == own else {"day": "", "changes": ()}
    made = replace(
        recipe, **history, id=own, revision=recipe.revision if recipe.id == own else 1, targets=targets, state=document.state, meat=document.meat,
        portions=max(1, round(recipe.portions * document.meat / recipe.meat)) if recipe.portions and sized else recipe.portions,
    )
    return {"name": f"{made.ref}.toml", "text": write_recipe(made)}


def _written(amount: Amount | None, unit: str) -> Amount | None:
    """A target with its text: one that was worked out from grams has none yet."""
    if amount is None or amount.text:
        return amount
    with speaking(LANGUAGES[0]):  # a file is written alike in every language
        return replace(amount, text=target_text(amount, unit))


def start(shelf_json: str) -> None:
    given = json.loads(shelf_json)
    _LAST.clear()
    shelf.put(given["recipes"], given.get("withdrawn"), given.get("texts"))


#: Asked for first, while the rest is still being worked out.
WEIGHTS = ("confirm", "verdict", "amounts", "convert", "messages", "bar")

#: Asked for last: it takes longer than all the rest, and nothing hangs on it.
FORETOLD = ("forecast",)

#: What leaves the page, made on demand: see ``handed``.
HANDED = ("sheet", "label", "text", "markdown", "snippet")


def answer(request_json: str) -> str:
    """Answer a request {id, build, input, want}; want: ["all"], ["weights"], ["rest"], ["forecast"], some of HANDED, or sections' keys; ["day"] and ["replaced"] stand alone.

    "weights" gives the sections of WEIGHTS, made without what they do not need; "forecast" those of
    FORETOLD; "rest" the others. The card itself comes with "all" alone, what is handed on as ``handed`` {want: text}.
    """
    request = json.loads(request_json)
    request = request if isinstance(request, dict) else {}
    given = request.get("input")
    given = given if isinstance(given, dict) else {}
    with speaking(given.get("language")):
        return _answer(request, given)


def _answer(request: dict, given: dict) -> str:
    page = given.get("page") if given.get("page") in ("found", "own") else "recipe"
    wanted = _list(request.get("want")) or ["all"]
    with in_units(units_of(given)):
        # Escaped, so that it is ASCII: Pyodide hands anything else over sign by sign.
        return json.dumps(_answered(request, given, page, wanted))


def _answered(request: dict, given: dict, page: str, wanted: list) -> dict:
    if wanted == ["day"]:
        from .day import asked  # of one page only: no other start waits for it

        return {"id": request.get("id"), "build": request.get("build", ""), "want": wanted, "day": asked.answer(given, str(request.get("build", "")))}
    if wanted == ["replaced"]:
        from .replaced import told  # only where a link meets a draft

        return {"id": request.get("id"), "build": request.get("build", ""), "want": wanted, "replaced": told(given)}
    keys = _keys(wanted)
    reading = read(given)
    to_hand = [want for want in wanted if want in HANDED]
    card = card_of(reading, page, whole=bool(to_hand) or not set(keys) <= {*WEIGHTS, *FORETOLD}, foretold=page == "recipe" and not set(keys).isdisjoint(FORETOLD))
    links = links_of(reading.document, reading.file) if reading.document and not reading.faults else {}
    if page == "found" and links and (card["convert"] or {}).get("sentence"):
        # Where it is within the limits, the same as a recipe of one's own: what it still lacks is asked for there.
        whole = replace(reading.document, recipe=replace(reading.document.recipe, steps=(say("found.step", curing_salt="{curing_salt}", salt="{salt}"),)))
        links["own"] = encode({OWN: file_of(whole)["text"]}, kitchen=False)
    result = {
        "id": request.get("id"), "build": request.get("build", ""), "want": wanted,
        # A link with a whole recipe in it is none to print.
        "sections": views.sections(card, card["faults"], {} if reading.file else links, keys),
        "fields": {key: tidy(text) for key, text in reading.shown.items() if field_of(key) and isinstance(text, str)},
        "links": links, "faults": card["faults"], "status": _status(card),
    }
    if "all" in wanted:
        result["card"] = card
    if to_hand:
        # Its library for codes is no part of a start.
        from .handed import made

        result["handed"] = made(card, links, given, to_hand)
    if reading.file and reading.document and not reading.faults:
        result["file"] = {"name": f"{reading.document.recipe.ref}.toml", "text": reading.file}
    if reading.data is not None:
        result["own"] = reading.data
    if reading.go:
        result["go"] = reading.go
    return result


def _keys(wanted: list) -> tuple[str, ...]:
    if "all" in wanted:
        return views.SECTIONS
    parts = {"weights": WEIGHTS, "rest": tuple(key for key in views.SECTIONS if key not in WEIGHTS + FORETOLD)}
    keys = {key for want in wanted for key in parts.get(want, (want,))}
    return tuple(key for key in views.SECTIONS if key in keys)


def _status(card: dict) -> str:
    if card["faults"]:
        return say("status.faults", count=str(len(card["faults"])), first=card["faults"][0]["text"])
    return card["verdict_text"]


def pages() -> str:
    """The pages of the site in every language; those of the first stand at its root, others below their code."""
    recipes = [shelf.newest(recipe_id) for recipe_id in shelf.ids()]
    listed = [{"path": "recipe.schema.json", "request": {"page": "schema"}}]
    # All that is drawn of one recipe together: what was worked out for the one page is at hand for the next.
    for pages_of_one in (_pages(), *map(_recipe_pages, recipes)):
        for language in LANGUAGES:
            more = {} if language == LANGUAGES[0] else {"language": language}
            listed += [{"path": f"{_below(language)}{page['path']}", "request": {**page["request"], **more}} for page in pages_of_one]
    return json.dumps(listed)


def _pages() -> list[dict]:
    return [
        {"path": "index.html", "request": {"page": "start"}},
        {"path": "found/index.html", "request": {"page": "found"}},
        {"path": "own/index.html", "request": {"page": "own"}},
        {"path": "day/index.html", "request": {"page": "day"}},
        {"path": "help/index.html", "request": {"page": "help"}},
        {"path": "rules/index.html", "request": {"page": "rules"}},
        {"path": "licences/index.html", "request": {"page": "licences"}},
        {"path": "recipes/_/index.html", "request": {"page": "blank"}},
        {"path": "manifest.webmanifest", "request": {"page": "manifest"}},
    ]


def _recipe_pages(ref: str) -> list[dict]:
    recipe_id = ref.rpartition(".")[0]
    return [
        {"path": f"recipes/{recipe_id}/index.html", "request": {"page": "recipe", "recipe": ref, "paper": True}},
        {"path": f"embed/{recipe_id}/index.html", "request": {"page": "embed", "recipe": ref}},
    ]


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


def _listed() -> list[dict]:
    """The newest revision of each recipe, as the lists of recipes show it."""
    heads = {recipe_id: shelf.head(shelf.newest(recipe_id)) for recipe_id in shelf.ids()}
    return [{"title": head["title"], "text": head["summary"], "language": head["language"], "path": f"recipes/{recipe_id}/"} for recipe_id, head in heads.items()]


def _at_a_glance() -> dict:
    """The strengths of packs beside one another, for a kilo of meat of the first recipe that is cured through and through; {} where none is."""
    for recipe_id in shelf.ids():
        ref = shelf.newest(recipe_id)
        recipe, _ = shelf.get(ref)
        if recipe and recipe.method == "ground" and recipe.state != "uncured" and ref not in shelf.withdrawn().recipes:
            reading = read({"page": "recipe", "recipe": ref, "fields": {"meat": "1 kg"}})
            card = card_of(reading)
            if card["strengths"]:
                return {"title": recipe.title, "rows": card["strengths"], "scale_text": card["strengths_scale_text"]}
    return {}


_LAST: dict[tuple[str, str], tuple[Reading, dict]] = {}  # the page of a recipe and its frame show the same card


def _published(request: dict) -> tuple[Reading, dict]:
    """A recipe as published, without a pack, and its card."""
    ref = request.get("recipe", "")
    key = (ref, spoken())
    if key in _LAST:
        return _LAST.pop(key)
    reading = read({"page": "recipe", "recipe": ref})
    if reading.document is None:
        raise ValueError("; ".join(wrong.text for wrong in reading.faults))
    made = reading, card_of(reading, foretold=True)
    _LAST.clear()
    _LAST[key] = made
    return made


def _jsonld(recipe: Recipe, card: dict, context: dict) -> str:
    """The recipe for search engines, as its page says it; "" for one that must not be made."""
    from .views.recipe_jsonld import recipe_jsonld, script

    first, _ = shelf.get(f"{recipe.id}.1")
    data = recipe_jsonld(
        card, url=context["canonical"] or "", picture=context["picture"], published=first.day if first else recipe.day, modified=recipe.day, language=recipe.language,
    )
    return script(data) if data else ""


def draw(request_json: str) -> str:
    request = json.loads(request_json)
    with speaking(request.get("language")):
        return _draw(request)


def _lost_in(language: str, root: str) -> dict[str, str]:
    with speaking(language):
        return {"language": language, "home": f"{root}{_below(language)}", **{part: say(f"page.lost.{part}") for part in ("title", "lead", "recipes")}}


def _below(language: str) -> str:
    """Where the pages of a language stand, from the site's root."""
    return "" if language == LANGUAGES[0] else f"{language}/"


def _way(request: dict) -> str:
    """The way of a page from where the pages of its language stand."""
    kind = request["page"]
    if kind in ("recipe", "embed"):
        return f"{'recipes' if kind == 'recipe' else kind}/{request.get('recipe', '').rpartition('.')[0]}/"
    return {"start": "", "lost": "", "blank": "recipes/_/"}.get(kind, f"{kind}/")


def _draw(request: dict) -> str:
    kind = request["page"]
    context = {key: request.get(key) for key in ("root", "assets", "build", "canonical")}
    context["home"] = f"{context['root'] or ''}{_below(spoken())}"
    way, base = _way(request), str(request.get("base") or "")
    context["others"] = [
        {"language": language, "current": language == spoken(), "href": f"{context['root'] or ''}{_below(language)}{way}", "address": f"{base}{_below(language)}{way}" if base else ""}
        for language in LANGUAGES
    ]
    context["rules_edition"] = rules.edition()
    # Where the site will live, with a slash at the end; only where the build was told.
    context["feed"] = f"{base}feed.xml" if base else ""
    if kind == "recipe":
        reading, card = _published(request)
        recipe = reading.document.recipe
        links = links_of(reading.document)
        context |= {"card": card, "recipe": recipe.ref, "title": recipe.title, "lead": recipe.summary, "language": recipe.language, "links": links, "cured": recipe.targets.nitrite is not None}
        if request.get("paper"):
            from .handed import published_sheet

            context["paper"] = published_sheet(card, f"{context['canonical'] or ''}#{links['recipe']}")
        if base:
            context["picture"] = f"{base}{_below(spoken())}recipes/{recipe.id}/preview.png"
            context["jsonld"] = _jsonld(recipe, card, context)
    elif kind == "embed":
        # Only the build draws it: no card needs what it is drawn with.
        from .views.sheet import embed_page

        reading, card = _published(request)
        return embed_page(
            card, page_url=f"{context['home']}recipes/{reading.document.recipe.id}/", root=context["root"], assets=context["assets"],
            build=context["build"], language=spoken(),
        )
    elif kind == "found":
        card = cards.faulty(None, [])
        card["verdict_text"] = say("verdict.found_empty")
        context |= {"card": card, "recipe": "", "title": say("page.found.title"), "lead": say("page.found.lead")}
    elif kind == "own":
        context |= {"card": card_of(Reading(), "own"), "recipe": "", "title": say("page.own.title"), **choices()}
    elif kind == "start":
        context["recipes"] = _listed()
        context["strengths"] = _at_a_glance()
    elif kind == "day":
        from .day.asked import MISHAP_FIELDS

        context["mishaps"] = MISHAP_FIELDS
        context["recipes"] = _listed()
    elif kind == "rules":
        context["limits"] = _rows_of_limits()
        context["formulas"] = [{part: say(f"formula.{name}.{part}") for part in ("label", "text", "source")} for name in _FORMULAS]
    elif kind == "manifest":
        return views.manifest(context["assets"], context["root"] or "")
    elif kind == "schema":
        return json.dumps(recipe_schema(), ensure_ascii=False, indent=1)
    elif kind == "lost":
        context["again"] = [_lost_in(language, context["root"] or "") for language in LANGUAGES if language != spoken()]
    elif kind == "licences":
        context["parts"] = request.get("parts") or []
    return views.page(kind, context)
