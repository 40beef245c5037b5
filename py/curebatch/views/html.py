"""Pages and sections in HTML. Templates hold structure, the catalogue holds words."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import FunctionType

from jinja2 import BytecodeCache, Environment, FunctionLoader, StrictUndefined, Template
from jinja2.bccache import Bucket
from jinja2.runtime import Context
from markupsafe import Markup, escape

from curebatch import beforehand
from curebatch.beside import read
from curebatch.fields import BY_KEY, FIELDS, PRICE, TINS, USE, Field
from curebatch.measures import are_us
from curebatch.messages import worst
from curebatch.views.plots import dose_bar, salts_bar, tin_filled
from curebatch.views.plots_heat import cooling_curve, cooling_forecast, core_curve, core_forecast, mix_bars
from curebatch.words import catalogue, say, shown, spoken, typed

#: The sections of a card, in their order on the page.
SECTIONS = (
    "confirm",
    "verdict",
    "amounts",
    "convert",
    "messages",
    "dose",
    "limits",
    "steps",
    "mixing",
    "cooking",
    "cooling",
    "forecast",
    "together",
    "tins",
    "composition",
    "shopping",
    "strengths",
    "handling",
    "understood",
    "bar",
)

KINDS = ("start", "recipe", "found", "own", "day", "help", "rules", "licences", "blank", "lost")

#: Only our own files, no inline script or style. The worker is started from a blob:
#: so that it inherits this; a worker loaded by address would not be bound by it.
POLICY = (
    "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; worker-src 'self' blob:; "
    "connect-src 'self'; style-src 'self'; img-src 'self' data:; manifest-src 'self'; "
    "base-uri 'none'; form-action 'none'"
)

#: What a card may leave out, and what its place then shows.
_EMPTY: dict[str, object] = {
    "title": "",
    "language": "",
    "verdict_text": "",
    "verdicts": {},
    "faults": [],
    "amounts": [],
    "mix_text": "",
    "mix_note": "",
    "cure": None,
    "strengths": [],
    "strengths_scale_text": "",
    "targets": [],
    "messages": [],
    "understood": [],
    "handling": [],
    "steps": [],
    "confirm": None,
    "convert": None,
    "composition": None,
    "mixing": None,
    "cooking": [],
    "cooling": [],
    "allergens": None,
    "additives": [],
    "tins": [],
    "about_tins": None,
    "forecast": [],
    "about_forecast": None,
    "shopping": None,
    "together": None,
    "rules_edition": "",
    "rules_age_text": "",
    "not_judged_text": "",
    "newer": None,
}

#: Of the batch, the page for a found recipe asks only this: its targets come from
#: what the recipe says.
_FOUND_BATCH = ("meat", "state")

#: A recipe of one's own says the rest in its file.
_OWN_ASKED = ("pack", "pack_as", "pack_nitrate", "meat", "units", "region", "scale", "fine_scale")

#: Set by the confirmation in the card, never typed.
_HIDDEN = ("pack_check",)

#: Of a recipe without curing salt nobody is asked this. The pack is: a batter beside it may need one.
_OF_A_CURE = ("state", "nitrite", "nitrite_as", "nitrite_per", "stated")

#: Said by the page itself.
_NOT_ASKED = ("recipe",)

_FIGURE = re.compile(r"((?:[0-9]+\s+lb\s+)?[0-9]+)([.,][0-9]+)?\s+(\S.*)")  # of pounds and ounces both are weighed


def full(card: Mapping) -> dict:
    """The card with every part that views place, empty where the card left it out."""
    return {**_EMPTY, **{key: value for key, value in card.items() if value is not None}}


def named_cure(name: str, role: str, cure: Mapping | None) -> str:
    """The name of an ingredient; that of curing salt always with its percentage.

    Raises ValueError where a curing salt would be shown without one: grams of curing
    salt mean nothing, or harm, next to another pack.
    """
    if role not in ("cure", "curing_salt") or "%" in name:
        return name
    if cure and "%" in cure.get("name_text", ""):
        return cure["name_text"]
    raise ValueError(f"{name!r} is curing salt: give cure.name_text with its percentage")


def _figure(text: str) -> tuple[str, str, str]:
    """``text`` cut into whole part, decimals and unit, to set it on its decimal sign."""
    match = _FIGURE.fullmatch(text)
    return (match[1], match[2] or "", match[3]) if match else (text, "", "")


def _graver(parts: Iterable[Mapping]) -> str:
    """The gravest verdict of several pieces."""
    return worst(part["verdict"] for part in parts)


def _source(name: str) -> str | None:
    try:
        return read(f"views/templates/{name}").decode()
    except OSError:
        return None


_NUMBER_TO_CALL = re.compile(r"(?<![0-9])(112|999|911|000)(?![0-9])")


def _callable(text: str) -> Markup:
    """The numbers of emergency lines, to be called by touching them."""
    return Markup(_NUMBER_TO_CALL.sub(r'<a href="tel:\1">\1</a>', str(escape(text))))


_WITH_UNIT = re.compile(r"(?<![\w.,])-?(?:[0-9]+[.,–-])*[0-9]+ (?:%|mg/kg|g|kg|°C|°F|oz|lb|ml|l|cm|mm|min|h)(?![\w/])")


def unbroken(text: str) -> Markup:
    """``text`` in which no line ends between a figure and its unit; what is read or copied stays the same."""
    return Markup(_WITH_UNIT.sub(lambda found: f'<span class="whole">{found[0]}</span>', str(escape(text))))


def lang_of(language: str) -> Markup:
    """The attribute that marks a recipe's own text where it is in another language than the page."""
    return Markup(f' lang="{escape(language)}"') if language and language != spoken() else Markup("")


def key_of(bucket: Bucket) -> str:
    """What a compiled template is known by: its name and its text."""
    return f"{bucket.key} {bucket.checksum}"


class Compiled(BytecodeCache):
    """Templates as the build compiled them; what it did not is compiled as ever."""

    def load_bytecode(self, bucket: Bucket) -> None:
        bucket.code = beforehand.template(key_of(bucket))

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Nothing is kept here: it is the build that compiles for later."""


class _Words(str):
    """A text of the catalogue that brings itself escaped along; put into another it is a text as any."""

    def __html__(self) -> str:
        return self.escaped


@lru_cache(maxsize=4096)
def _words(id: str, language: str, us: bool) -> _Words:
    words = _Words(say(id))
    words.escaped = str(escape(str(words)))
    return words


def _say(id: str, /, **values: object) -> str:
    """``say`` for templates, most of whose words have no places and are the same each time."""
    return say(id, **values) if values else _words(id, spoken(), are_us())


class _Calls(Context):
    """A template calls hundreds of our functions; that none asks for a context need not be found out each time."""

    def call(self, called: object, /, *args: object, _block_vars: object = None, _loop_vars: object = None, **named: object) -> object:
        if type(called) is FunctionType and not hasattr(called, "jinja_pass_arg"):
            return called(*args, **named)
        return super().call(called, *args, _block_vars=_block_vars, _loop_vars=_loop_vars, **named)


_HELD_BACK = re.compile("[&<>'\"]")


class _Environment(Environment):
    """What templates are given are tables, and what they share is set before the first is loaded: looked up so, both are quick."""

    @property
    def code_generator_class(self) -> type:
        """Asked for by whoever compiles templates, and that is the build."""
        from curebatch.views.compiling import Written

        return Written

    @staticmethod
    def escaped(value: object) -> str:
        """``escape`` for what goes into the page and no further: most of it is plain words, or was escaped before."""
        kind = type(value)
        if kind is Markup:
            return value
        if kind is str:
            return escape(value) if _HELD_BACK.search(value) else value
        if kind is _Words:
            return value.escaped
        return escape(value)

    def getattr(self, held: object, name: str) -> object:
        if type(held) is dict and name in held:
            return held[name]
        return super().getattr(held, name)

    def make_globals(self, given: Mapping | None) -> dict:
        return {**self.globals, **(given or {})}


@lru_cache(maxsize=1)
def _environment() -> Environment:
    # A loader of our own: it works from a zip, a wheel and the browser alike.
    env = _Environment(
        loader=FunctionLoader(_source),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        bytecode_cache=Compiled(),
    )
    env.context_class = _Calls
    env.globals.update(
        say=_say,
        spoken=spoken,
        shown=shown,
        typed=typed,
        lang_of=lang_of,
        drawn_fields=drawn_fields,
        callable=_callable,
        unbroken=unbroken,
        dose_bar=lambda picture: Markup(dose_bar(picture)),
        tin_filled=lambda picture, text: Markup(tin_filled(picture, text)),
        salts_bar=lambda shares: Markup(salts_bar(shares)),
        figure=_figure,
        mix_bars=lambda picture: Markup(mix_bars(picture)),
        core_curve=lambda picture: Markup(core_curve(picture)),
        cooling_curve=lambda picture: Markup(cooling_curve(picture)),
        core_forecast=lambda picture: Markup(core_forecast(picture)),
        cooling_forecast=lambda picture: Markup(cooling_forecast(picture)),
        named_cure=named_cure,
        graver=_graver,
        policy=POLICY,
    )
    return env


@lru_cache(maxsize=512)
def _drawn_field(item: object, value: str, language: str) -> Markup:
    return template("form.html").module.field(item, value)


def _untouched(item: object) -> str:
    """What stands in a field that nobody has typed in."""
    return typed(item.default) if item.group != "batch" else ""


@lru_cache(maxsize=64)
def _of_the_table(keys: tuple[str, ...], language: str) -> Markup:
    return Markup("\n").join(_drawn_field(BY_KEY[key], _untouched(BY_KEY[key]), language) for key in keys)


def drawn_fields(items: Iterable[object], texts: Mapping[str, str]) -> Markup:
    """Fields of a form, one after the other; texts: {key: what is typed there}.

    The same on the pages of many recipes, so they are drawn once a language: one by one, and as a
    whole where they are fields of the table and nothing is typed.
    """
    items = tuple(items)
    if not texts and all(isinstance(item, Field) for item in items):
        return _of_the_table(tuple(item.key for item in items), spoken())
    return Markup("\n").join(_drawn_field(item, texts.get(item.key, _untouched(item)), spoken()) for item in items)


def template(name: str) -> Template:
    """The template of that name, in templates/."""
    return _environment().get_template(name)


def sections(card: Mapping, faults: list[Mapping] = (), links: Mapping = {}, keys: tuple[str, ...] = SECTIONS) -> dict[str, str]:
    """The inner HTML of each section of a card.

    card: as in the contract; faults: [{field, label, read, text}], those of the card
    where none are given; links: {recipe, card}, or empty where there are none; keys:
    of which sections. Returns {key of the section: html}; "" for a section with nothing to show.
    """
    shown = full(card)
    shown["faults"] = list(faults) or shown["faults"]
    return {
        key: template(f"section_{key}.html").render(card=shown, links=links).strip()
        for key in keys
    }


def replaced(rows: Iterable[Mapping]) -> str:
    """The question which is to stand, a link or what the cook has; rows: [{label, had, says}]."""
    return template("replaced.html").render(rows=list(rows)).strip()


def manifest(assets: Mapping[str, str], root: str = "") -> str:
    """The web application manifest, beside the start page of its language.

    assets: {"icon", "icon-192", "icon-512", "icon-mask-512"}, ways from the site's root; root: the way there.
    """
    icons = [
        {"src": f"{root}{assets[key]}", "sizes": sizes, "type": kind, "purpose": purpose}
        for key, sizes, kind, purpose in (
            ("icon", "any", "image/svg+xml", "any"),
            ("icon-192", "192x192", "image/png", "any"),
            ("icon-512", "512x512", "image/png", "any"),
            ("icon-mask-512", "512x512", "image/png", "maskable"),
        )
    ]
    return json.dumps({
        "id": "./", "start_url": "./", "scope": root or "./", "lang": spoken(), "dir": "ltr", "display": "standalone",
        "name": say("page.name"), "short_name": say("page.name"), "description": say("page.start.description"),
        "background_color": "#f4ede1", "theme_color": "#f4ede1", "categories": ["food", "utilities"], "icons": icons,
    }, ensure_ascii=False, indent=1)


@dataclass(frozen=True)
class _OfLine:
    """The field of one ingredient, its weight or its price: the label names the ingredient."""

    key: str
    label: str
    hint: str
    kind: str = "mass"
    group: str = "batch"
    choices: tuple[str, ...] = ()
    default: str = ""
    example: str = ""


_SALTS = ("salt", "curing_salt", "cure")


def _on_hand(amounts: Iterable[Mapping]) -> list[_OfLine]:
    """A field for the weight of every line of the batch but the two salts, which are worked out."""
    return [
        _OfLine(f"{USE}{row['id']}", say("field.use.label", name=row["name"]), "")
        for row in amounts
        if row.get("id") and row["role"] not in _SALTS
    ]


def _prices(amounts: Iterable[Mapping]) -> list[_OfLine]:
    """A field for the price of everything that is bought, the two salts with it."""
    lines = [(row["id"], row["name"]) for row in amounts if row.get("id") and row["role"] not in (*_SALTS, "water", "ice")]
    lines += [(key, say(f"role.{key}")) for key in ("curing_salt", "salt")]
    return [_OfLine(f"{PRICE}{key}", say("field.price.label", name=name), "", kind="price") for key, name in lines]


def _form_groups(kind: str, method: str, amounts: Iterable[Mapping] = (), cured: bool = True) -> list[dict]:
    """The form's groups in the order in which a cook knows the answers: what the method asks for.

    amounts: the rows of the card, for the weights of single ingredients; cured: False for a recipe
    that has no curing salt: it is not asked about one, but for what the batter beside it may need.
    """
    plain: dict[str, list] = {"found": [], "pack": [], "batch": [], "kitchen": []}
    more: list = []
    tins: list = []
    heat: dict[str, list] = {"mixing": [], "heat": [], "oven": []}
    for field in FIELDS:
        if field.key in _HIDDEN + _NOT_ASKED or method not in field.methods or (field.key in _OF_A_CURE and not cured):
            continue
        if field.group == "found" and kind != "found":
            continue
        if kind == "own" and field.key not in _OWN_ASKED:
            continue
        if field.group == "batch" and kind == "found" and field.key not in _FOUND_BATCH:
            continue
        if field.group in heat or field.key in ("core", "hold"):
            if kind != "found":
                heat["heat" if field.group == "batch" else field.group].append(field)
        elif field.key in (*TINS, "headroom", "fill", "beside", "beside_mix"):
            tins.append(field)
        elif field.advanced and kind != "own":
            more.append(field)
        elif field.key in ("pack", "pack_as"):
            plain["pack"].append(field)
        else:
            plain[field.group].append(field)
    groups = [{"name": name, "fields": fields} for name, fields in plain.items() if fields]
    on_hand = _on_hand(amounts) if kind == "recipe" else []
    if on_hand:
        groups.append({"name": "use", "fields": on_hand})
        groups.append({"name": "prices", "fields": _prices(amounts)})
    if tins:
        groups.append({"name": "tins", "fields": tins})
    groups += [{"name": name, "fields": fields} for name, fields in heat.items() if fields]
    if more:
        groups.append({"name": "more", "fields": more})
    return groups


@lru_cache(maxsize=16)
def _words_below(head: str, language: str) -> dict[str, str]:
    return {name.removeprefix(head): text for name, text in catalogue(language).items() if name.startswith(head)}


def page(kind: str, context: Mapping) -> str:
    """A whole static page.

    kind: one of KINDS. context, for every page: ``root`` (the way to the site's root,
    "" or "../"), ``assets`` {style, early, page, and icon where there is one},
    ``build``, ``canonical`` (or None). For ``recipe`` and ``found`` also ``recipe``
    (id.revision, "" on the found page), ``title``, ``lead``, ``card``, ``fields``
    {key: typed text}, ``paper`` (the sheet of the recipe as published, or ""), ``cured`` (False for one without curing salt); for ``own`` ``card`` and what intake.own.choices gives; for ``start`` ``recipes`` [{title, text, path}] and ``strengths`` {title, rows, scale_text} or {}; for ``rules``
    ``limits`` [{region, what, value, source, sure}] and ``rules_edition``; for
    ``licences`` ``parts`` [{name, version, licence, text}]; for ``lost`` ``again`` [{language, title, lead, recipes, home}].
    """
    if kind not in KINDS:
        raise ValueError(f"no page {kind!r}: write one of {', '.join(KINDS)}")
    given: dict = {"canonical": None, "home": context.get("root", ""), "others": [], "language": "", "fields": {}, "recipe": "", "lead": "", "links": {}, "paper": "", **context}
    given["kind"] = kind
    given["script_words"] = _words_below("script.", spoken())
    if kind == "day":
        given["day_words"] = _words_below("day.page.", spoken())
    if kind in ("recipe", "found", "own"):
        given["sections"] = {
            key: Markup(html)
            for key, html in sections(given["card"], (), given.get("links") or {}).items()
            if key != "convert" or kind == "found"
        }
        given["groups"] = _form_groups(kind, given["card"].get("method") or "ground", given["card"].get("amounts") or (), given.get("cured", True))
        given["hidden"] = [field.key for field in FIELDS if field.key in _HIDDEN]
    return template(f"page_{kind}.html").render(given)
