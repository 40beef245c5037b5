"""Views place texts and nothing else: escaped in HTML, calm in a terminal, and never
grams of curing salt without the percentage they belong to."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from curebatch import entry
from curebatch.fields import FIELDS
from curebatch.intake.own import choices
from curebatch.views import html, plots, text
from curebatch.words import catalogue, say
from helpers.kitchens import fill_shelf

HOSTILE = "<script>alert(\"x\")</script> & 'loaf' \" onload=\"x"
CURE = "curing salt 6.25 % sodium nitrite"


TIN = {"form": "tin", "top": 0.28, "bottom": 0.26, "depth": 0.07, "level": 0.9, "free": 0.1}


def amount(name: str, role: str, weigh: str, **more: str) -> dict:
    value, unit = weigh.rsplit(" ", 1)
    return {
        "name": name,
        "role": role,
        "role_text": "",
        "grams": value,
        "weigh": {"value": value, "unit": unit, "text": weigh},
        "percent_of_meat_text": "",
        "percent_of_mix_text": "",
        "note": "",
        **more,
    }


def whole_card(**changes: object) -> dict:
    card = {
        "title": "Pork loaf",
        "verdict": "ok",
        "verdict_text": "The dose is within the limits.",
        "verdicts": {"dose": "ok"},
        "faults": [],
        "amounts": [
            amount("Pork", "meat", "2000 g", percent_of_meat_text="100 % of meat"),
            amount(CURE, "cure", "3.8 g", note="on the fine scale"),
            amount("Plain salt", "salt", "41.6 g"),
        ],
        "mix_text": "2045.4 g",
        "cure": {
            "name_text": CURE,
            "weigh": {"text": "3.8 g"},
            "rows": [
                {
                    "label": "Nitrite",
                    "low": "116.3",
                    "nominal": "118.8",
                    "high": "121.3",
                    "per_text": "mg per kg of meat",
                }
            ],
            "limits": [
                {
                    "text": "US, ground meat",
                    "value_text": "156.25 mg/kg",
                    "high_text": "121.3 mg/kg",
                    "within": True,
                    "source_text": "9 CFR 424.21(c)",
                    "applies": True,
                    "sure_text": "read",
                }
            ],
            "picture": {
                "unit": "mg/kg",
                "low": 116.3,
                "nominal": 118.8,
                "high": 121.3,
                "limit": 156.25,
                "threshold": 120,
                "top": 200,
            },
        },
        "strengths": [
            {"percent": "6.25 %", "text": "", "cure_text": "3.8 g", "salt_text": "41.6 g", "why": "", "shares": [0.08, 0.92]},
            {"percent": "0.4-0.5 %", "text": "", "cure_text": "", "salt_text": "", "why": "too salt", "shares": None},
        ],
        "targets": [{"label": "Nitrite", "text": "118 mg/kg of meat"}],
        "messages": [
            {"code": "a", "severity": "caution", "field": "", "text": "Watch it.", "source": "CFR"}
        ],
        "understood": [{"key": "meat", "label": "Meat", "text": "2000 g"}],
        "handling": [{"title": "Tasting", "text": "Fry a piece.", "source": "practice"}],
        "steps": [{"text": "Mince."}],
        "confirm": {"label": "0.45 %", "text": "Unusual."},
        "convert": {
            "rows": [{"label": "Meant", "text": "125 mg/kg of meat"}],
            "sentence": "2.0 g of a 6.25 % curing salt per kilo of meat.",
            "as_written": {"text": "12.5 times as much."},
        },
        "composition": {
            "served": "cooked",
            "rows": [{"label": "protein", "raw": "12.2 g", "cooked": "12.6-14.9 g", "portion": "13.3 g"}],
            "ratios": [{"label": "water to protein", "text": "4.1 : 1"}],
            "portion_text": "A portion is 98 g.",
            "yield_text": "Of 100 g raw expect 82 to 97 g cooked.",
            "yield_source": "No figure",
            "label_eu": [{"label": "energy", "text": "1204 kJ"}],
            "label_us": [{"label": "energy", "text": "290 kcal"}],
            "notes": ["From a table."],
        },
        "allergens": {"rows": [{"list": "eu", "label": "EU list", "text": "Contains: nuts."}], "note": "As written."},
        "additives": [{"text": "Phosphate 3000 mg/kg", "source": "A rule", "within": True, "sure_text": "read"}],
        "together": {"title": "Turkey loaf", "amounts": [amount("Turkey", "meat", "700 g"), amount(CURE, "curing_salt", "1.7 g")], "rows": [{"label": "Nitrite", "text": "79.6 mg/kg"}]},
        "shopping": {"rows": [{"name": "Pork", "role": "meat", "text": "2000 g of Pork", "cost_text": "17.80 EUR"}], "sums": ["In all 17.80 EUR."]},
        "tins": [{"id": "tin", "count": 1, "text": "loaf tin: 1730 g, 6.3 cm high", "grams": 1730, "picture": TIN}],
        "about_tins": {
            "left_text": "20 g are left over.",
            "rises_text": "10 % is left free.",
            "density_text": "1.03 g/ml.",
            "density_source": "Practice",
            "whose_text": "",
        },
        "mixing": {
            "applies": True, "verdict": "ok", "text": "", "rows": [{"label": "The batter ends at", "text": "about 8.5 °C"}, {"label": "", "text": "Not counted."}],
            "messages": [{"code": "mix_fits", "severity": "note", "field": "", "text": "It fits.", "source": "A balance"}],
            "picture": {"parts": [["Ice", -187.4], ["<Pork>", 45.0]], "work": 125.1, "end": 8.5, "limit": 12.0},
        },
        "cooking": [{
            "piece": "The thickest piece", "verdict": "ok", "measured": True, "target": {"read_text": "73 °C", "hold_text": "2 min"}, "note_text": "", "pink_text": "Pink is not raw.",
            "rows": [{"label": "Aim at", "text": "72 °C in the middle"}], "messages": [{"code": "core_proved", "severity": "note", "field": "readings", "text": "Proved.", "source": "A paper"}],
            "picture": {"readings": [[0, 4.0], [60, 55.0], [90, 73.0]], "read": 73.0, "hold_min": 2.0, "held_from": 90, "proved": True},
        }],
        "cooling": [{
            "piece": "The thickest piece", "verdict": "incomplete", "measured": False, "note_text": "Not measured yet.",
            "options": [{"id": "any", "text": "54.4 to 26.7 °C in 1½ hours", "open": True, "state": "open", "state_text": "Open", "why_text": "", "source": "A rule"}],
            "followed": [{"id": "any", "text": "any product", "state_text": "kept", "windows": [{"label": "54.4 °C to 26.7 °C", "text": "70 min of 90 min"}]}],
            "messages": [{"code": "cooling_not_measured", "severity": "incomplete", "field": "", "text": "Nothing measured.", "source": "A rule"}],
            "advice": ["Use iced water."], "advice_source": "This project",
            "picture": {"option": "any", "state": "", "starts": 54.4, "limits": [{"to": 26.7, "by_min": 90}, {"to": 4.4, "by_min": 390}], "readings": [], "out": None},
        }],
        "forecast": [{
            "piece": "2 x loaf", "aim_text": "From 4 °C to 73 °C", "hold_text": "", "shape_text": "Taken as a block.", "none_text": "", "minutes_text": "About 105 min.",
            "rows": ["Larger: 122 min."], "reasons": [{"text": "The oven."}], "setting": {"text": "Set 150 °C."},
            "corrected": {"text": "Done after 112 min.", "word_text": "In time.", "notes": ["The centre is at 33 °C."]},
            "picture": {"curve": [[0, 3.0, 4.0, 5.0], [60, 40.0, 45.0, 50.0], [120, 70.0, 76.0, 80.0]], "target": 73.0, "minutes": {"low": 88.0, "nominal": 105.0, "high": None}, "readings": [[30, 16.0]]},
            "cooling": {
                "none_text": "", "options": [{"text": "It will be met."}], "reasons": [{"text": "The water."}],
                "picture": {"option": "any", "starts": 54.4, "limits": [{"to": 26.7, "by_min": 90}, {"to": 4.4, "by_min": 390}], "curve": [[0, 70.0, 72.0, 74.0], [60, 20.0, 25.0, 30.0], [120, 3.0, 5.0, 8.0]]},
            },
        }],
        "about_forecast": {
            "lead_text": "A forecast.", "ask_text": "", "around_text": "An oven.", "chilled_text": "A fridge.", "together": {"rows": [{"text": "Goes in first."}], "notes": ["Measure each."]},
            "oven_learnt": "still_oven: 1 x (0.1), +1 °C (1), 00000000", "learnt_text": "Learnt.", "notes": ["One piece."], "sources": [{"text": "From memory."}],
        },
        "rules_edition": "2026-11",
        "not_judged_text": "Cooking is not judged.",
    }
    return {**card, **changes}


class Reader(HTMLParser):
    """Every element with its attributes, and whether all that was opened was closed."""

    VOID = {"meta", "link", "input", "br", "hr", "img"}

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == [], f"left open: {self.open}"

    def handle_starttag(self, tag, attrs):
        assert len({name for name, _ in attrs}) == len(attrs), f"an attribute twice on {tag}"
        self.seen.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-3:]}"
        self.open.pop()

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())

    def all(self, tag: str) -> list[dict]:
        return [attrs for name, attrs in self.seen if name == tag]


ASSETS = {
    "style": "assets/style.css",
    "early": "assets/early.js",
    "page": "assets/page.js",
    "plain": "assets/plain.js",
}


def draw(kind: str, **more: object) -> str:
    context = {"root": "../", "assets": ASSETS, "build": "0123456789ab", "canonical": None, "rules_edition": "2026-11"}
    if kind in ("recipe", "found"):
        context |= {
            "recipe": "pork-loaf.1" if kind == "recipe" else "",
            "title": "Pork loaf",
            "lead": "",
            "card": whole_card(),
            "fields": {"meat": "2 kg"},
        }
    context |= {
        "start": {"recipes": [{"title": "Pork loaf", "text": "Pale.", "path": "recipes/pork/"}], "strengths": {"title": "Pork loaf", "rows": whole_card()["strengths"], "scale_text": "On 0.1 g."}},
        "rules": {
            "limits": [{"region": "US", "what": "all", "value": "1", "source": "CFR", "sure": "read"}],
            "rules_edition": "2026-11",
            "formulas": [{"label": "Dry cure", "text": "All of it counts.", "source": "A handbook"}],
        },
        "own": {"card": whole_card(), "title": "My own recipe", **choices()},
        "licences": {"parts": [{"name": "Part", "version": "1", "licence": "MIT", "text": "As is."}]},
        "lost": {"again": [{"language": "de", "title": "Hier ist keine Seite", "lead": "Die Adresse ist alt.", "recipes": "Alle Rezepte", "home": "de/"}]},
    }.get(kind, {})
    return html.page(kind, {**context, **more})


def hostile(value: object) -> object:
    """The same card with hostile text in place of every text that a stranger may write."""
    if isinstance(value, dict):
        kept = ("severity", "role", "weigh", "field", "verdict", "verdicts", "picture", "name_text", "served")
        return {k: v if k in kept else hostile(v) for k, v in value.items()}
    if isinstance(value, list):
        return [hostile(part) for part in value]
    return HOSTILE + " %" if isinstance(value, str) else value


def test_every_section_is_there_and_shows_its_part():
    shown = html.sections(whole_card())
    assert tuple(shown) == html.SECTIONS
    assert {"confirm", "verdict", "amounts", "dose", "limits", "strengths"} < set(shown)
    assert {"messages", "handling", "understood", "convert", "tins", "composition", "mixing", "cooking", "cooling"} < set(shown)
    for key, part in {
        "confirm": "Unusual.",
        "verdict": "The dose is within the limits.",
        "amounts": "41 .6 g",
        "convert": "125 mg/kg of meat",
        "dose": "116.3",
        "limits": "9 CFR 424.21(c)",
        "messages": "Watch it.",
        "tins": "6.3 cm high",
        "mixing": "about 8.5 °C",
        "cooking": "72 °C in the middle",
        "cooling": "Use iced water.",
        "forecast": "About 105 min.",
        "composition": "12.6-14.9 g",
        "shopping": "17.80 EUR",
        "together": "79.6 mg/kg",
        "strengths": "too salt",
        "handling": "Fry a piece.",
        "understood": "2000 g",
    }.items():
        assert part in Reader(shown[key]).text


def test_a_section_with_nothing_to_show_is_empty():
    bare = html.sections({"verdict": "incomplete", "verdict_text": "What does your pack say?"})
    assert [key for key, part in bare.items() if part] == ["verdict", "bar"]  # what it comes to, and a way there


@pytest.mark.parametrize(
    "text, held",
    [
        ("Curing salt 6.25 % sodium nitrite", ["6.25 %"]), ("My scale shows 5.4 g of it, in steps of 0.1 g.", ["5.4 g", "0.1 g"]),
        ("-2.4 °C, then 0.4-0.5 % and 104 mg/kg", ["-2.4 °C", "0.4-0.5 %", "104 mg/kg"]), ("v1.4 gives 3 good reasons", []),
    ],
)
def test_a_figure_and_its_unit_stay_on_one_line(text, held):
    read = Reader(str(html.unbroken(text)))
    assert "".join(read.words) == text and len(read.all("span")) == len(held)
    assert [part for part in held if f">{part}<" not in str(html.unbroken(text))] == []
    assert str(html.unbroken("<b>5 g</b>")) == '&lt;b&gt;<span class="whole">5 g</span>&lt;/b&gt;'


def test_the_numbers_of_emergency_lines_are_called_by_touching_them():
    for kind in ("help", "start", "recipe"):
        calls = [attrs["href"] for attrs in Reader(draw(kind)).all("a") if attrs.get("href", "").startswith("tel:")]
        assert calls == ["tel:112", "tel:999", "tel:911", "tel:000"], kind


@pytest.mark.parametrize("code, gist", [("dose_lowered", "Why the dose is lower"), ("way_bigger", "a bigger batch would change"), ("held", "")])
def test_what_a_cook_looks_for_among_the_notes_is_named_while_they_are_folded(code, gist):
    note = {"code": code, "severity": "note", "field": "", "text": "So it is.", "source": "Practice"}
    part = html.sections({"verdict": "ok", "messages": [note]})["messages"]
    assert "<details" in part and (gist in part if gist else 'class="gist"' not in part)


def test_hostile_text_stays_text_in_sections():
    for part in html.sections(hostile(whole_card()), links={"recipe": HOSTILE, "card": HOSTILE}).values():
        read = Reader(part)
        assert not read.all("script")
        assert not any(name.startswith("on") for _, attrs in read.seen for name in attrs)
        assert "<script>alert(" in read.text


def test_hostile_text_stays_text_on_pages():
    fields = {field.key: HOSTILE for field in FIELDS}
    page = draw("recipe", title=HOSTILE, lead=HOSTILE, card=hostile(whole_card()), fields=fields)
    read = Reader(page)
    assert len(read.all("script")) == 3
    typed = {attrs["name"]: attrs.get("value") for attrs in read.all("input") if "name" in attrs}
    assert typed["pack"] == HOSTILE
    assert HOSTILE.split("&")[0] not in page
    assert not any(name.startswith("on") for _, attrs in read.seen for name in attrs)


@pytest.mark.parametrize("kind", html.KINDS)
def test_pages_are_well_formed(kind):
    page = draw(kind)
    read = Reader(page)
    assert len(read.all("h1")) == 1
    assert len(read.all("main")) == len(read.all("header")) == len(read.all("footer")) == 1
    ids = [attrs["id"] for _, attrs in read.seen if "id" in attrs]
    assert len(ids) == len(set(ids))
    for name in ("aria-labelledby", "aria-describedby", "for"):
        for _, attrs in read.seen:
            assert set((attrs.get(name) or "").split()) <= set(ids), (name, attrs)
    assert not any("style" in attrs for _, attrs in read.seen)
    assert any(a.get("href") == ("#now" if kind == "help" else "#eaten") and "data-help" in a for a in read.all("a"))
    assert say("page.footer_law") in read.text and say("page.footer_heat") in read.text
    # The policy binds only what comes after it.
    assert read.seen[2][1].get("http-equiv") == "Content-Security-Policy"
    assert "unsafe-inline" not in html.POLICY and "unsafe-eval" not in html.POLICY.replace("wasm-unsafe-eval", "")
    for attrs in read.all("th"):
        assert attrs.get("scope") in ("row", "col")


@pytest.mark.parametrize("kind", ["recipe", "found"])
def test_every_field_has_its_label_hint_and_place_for_a_fault(kind):
    read = Reader(draw(kind))
    labels = {attrs.get("for") for attrs in read.all("label")}
    controls = read.all("input") + read.all("select")
    # Which kitchen it is and what it is called are no entries of the card.
    kitchens = [attrs for attrs in controls if "data-kitchen-which" in attrs or "data-kitchen-name" in attrs]
    assert len(kitchens) == 2 and all("name" not in attrs and attrs["id"] in labels for attrs in kitchens)
    asked = [attrs for attrs in controls if attrs.get("type") not in ("hidden", "checkbox") and attrs not in kitchens]
    assert asked
    for attrs in asked:
        key = attrs["name"]
        assert attrs["id"] == f"f-{key}" in labels
        assert any(a.get("id") == f"e-{key}" and "data-fault" in a for a in read.all("p"))
    keys = {attrs["name"] for attrs in asked}
    assert {"pack", "meat", "scale", "region"} <= keys
    assert ("found_cure" in keys) == (kind == "found")
    assert ("nitrite" in keys) == (kind == "recipe")
    assert "recipe" not in keys


def test_a_field_is_asked_only_where_the_method_needs_it():
    asked = {
        method: {
            field.key
            for group in html._form_groups("recipe", method)
            for field in group["fields"]
        }
        for method in ("ground", "injected")
    }
    for field in FIELDS:
        if field.key not in ("recipe", "pack_check") and field.group != "found":
            for method, keys in asked.items():
                assert (field.key in keys) == (method in field.methods)


def test_an_uncured_recipe_asks_for_nothing_of_a_cure_but_the_pack_of_a_batter_beside_it():
    fill_shelf()
    pages = {ref: entry.draw(json.dumps({"page": "recipe", "recipe": ref, "root": "../../", "assets": dict.fromkeys(("style", "early", "page", "plain", "print", "icon"), "a"), "build": "b", "canonical": None})) for ref in ("grey-pork-loaf.1", "pistachio-pork-loaf.1")}
    asked = {ref: set(re.findall(r'name="([a-z_]+)"', page)) for ref, page in pages.items()}
    cure = {"state", "nitrite", "nitrite_as", "nitrite_per", "stated"}
    assert not cure & asked["grey-pork-loaf.1"] and cure <= asked["pistachio-pork-loaf.1"]
    assert {"pack", "salt", "beside"} <= asked["grey-pork-loaf.1"]


def test_the_page_carries_every_word_the_scripts_look_up():
    words = {id.removeprefix("script.") for id in catalogue("en") if id.startswith("script.")}
    wanted = set()
    for script in (Path(__file__).parents[1] / "site").glob("*.js"):
        if script.name in ("day.js", "dom.js", "logs.js"):
            continue  # its page carries words of its own: see test_day_asked.py
        source = script.read_text(encoding="utf-8")
        wanted |= set(re.findall(r"\bwords\.([a-z_]+)", source))
    assert wanted, "no script asks for a word"
    assert wanted <= words


def test_help_page_has_no_script_that_its_text_needs():
    sources = [a["src"] for a in Reader(draw("help")).all("script") if "src" in a]
    # The second keeps the site on the device.
    assert sources == ["../assets/early.js", "../assets/plain.js"]


def test_unknown_page_is_refused():
    with pytest.raises(ValueError, match="no page 'cellar'"):
        html.page("cellar", {})


# ---- curing salt and its percentage


def test_curing_salt_takes_its_percentage_along():
    card = whole_card(amounts=[amount("Curing salt", "cure", "3.8 g")])
    assert CURE in Reader(html.sections(card)["amounts"]).text
    line = next(line for line in text.card_text(card).splitlines() if "3.8 g" in line)
    assert "6.25 %" in line


def test_curing_salt_without_a_percentage_is_refused():
    card = whole_card(amounts=[amount("Curing salt", "cure", "3.8 g")], cure=None)
    with pytest.raises(ValueError, match="percentage"):
        html.sections(card)
    with pytest.raises(ValueError, match="percentage"):
        text.card_text(card)


def test_no_line_of_text_has_grams_of_cure_without_percentage():
    long = "Dissolve it in cold water and then, when all of it has gone, weigh out of that "
    card = whole_card(
        messages=[
            {
                "code": "a",
                "severity": "note",
                "field": "",
                "text": long + "3.8 g of curing salt with sodium nitrite at a strength of 6.25 %.",
                "source": "",
            }
        ]
    )
    lines = [line for line in text.card_text(card).splitlines() if "3.8 g" in line]
    assert len(lines) == 3  # amounts, message, table of strengths
    assert all("6.25 %" in line for line in lines)


# ---- text


def test_text_has_every_part():
    shown = text.card_text(whole_card())
    for part in (
        "Pork loaf",
        "The dose is within the limits.",
        "116.3",
        "121.3 mg/kg",
        "9 CFR 424.21(c)",
        "Watch it.",
        "too salt",
        "118 mg/kg of meat",
        "Fry a piece.",
        "12.5 times as much.",
        "about 8.5 °C",
        "72 °C in the middle",
        "70 min of 90 min",
        "12.6-14.9 g",
        "Contains: nuts.",
        "Phosphate 3000 mg/kg",
        "6.3 cm high",
        "2026-11",
    ):
        assert part in shown


def test_text_sets_amounts_on_the_decimal_sign():
    rows = [line for line in text.card_text(whole_card(together=None)).splitlines() if line.startswith("  [ ]")]
    assert len(rows) == 3
    points = {line.index(".") for line in rows[1:]}
    assert points == {rows[0].index("2000") + 4}


def test_text_takes_no_orders_from_names():
    name = "loaf\x1b[2J\u202e\r\ngone"
    card = whole_card(title=name, amounts=[amount(name, "meat", "1 kg")])
    shown = text.card_text(card)
    assert "\x1b" not in shown and "\u202e" not in shown and "\r" not in shown
    assert any("1 kg" in line and "gone" in line for line in shown.splitlines())


# ---- the drawing


def spread_of(picture: dict) -> tuple[float, float]:
    root = ElementTree.fromstring(plots.dose_bar(picture))
    bar = next(e for e in root.iter() if e.get("class") == "spread")
    return float(bar.get("x")), float(bar.get("width"))


PICTURE = {"unit": "mg/kg", "low": 50, "nominal": 75, "high": 100, "limit": 156.25, "top": 200}


def test_drawing_is_to_scale():
    assert spread_of({**PICTURE, "threshold": None}) == (8 + 304 / 4, 304 / 4)
    assert spread_of({**PICTURE, "high": 900})[1] == 304 * 3 / 4  # held at the edge


def test_drawing_says_what_it_shows_and_never_rounds_a_limit():
    drawn = ElementTree.fromstring(plots.dose_bar({**PICTURE, "threshold": 120}))
    names = [e.tag.split("}")[1] for e in drawn][:2]
    assert names == ["title", "desc"]
    assert "156.25" in drawn[1].text and "120" in drawn[1].text
    assert any(e.text and "156.25" in e.text for e in drawn.iter() if e.tag.endswith("text"))
    assert not any("style" in e.attrib for e in drawn.iter())


def test_drawing_escapes_its_unit():
    ElementTree.fromstring(plots.dose_bar({**PICTURE, "unit": "<mg> & co"}))


def test_drawing_needs_a_scale():
    with pytest.raises(ValueError, match="top"):
        plots.dose_bar({**PICTURE, "top": 0})


def test_a_stop_says_why_before_anything_to_weigh():
    shown = text.card_text(whole_card(verdict="stop"))
    assert shown.index("Watch it.") < shown.index("2000 g")
    assert "Blue or grey lips" in shown
    assert "Blue or grey lips" in Reader(html.sections(whole_card(verdict="stop"))["verdict"]).text


# ---- the tin


@pytest.mark.parametrize("form", ["tin", "half-round", "casing"])
def test_tin_is_to_scale_and_says_what_it_shows(form):
    picture = {**TIN, "form": form, "top": 0.2, "bottom": 0.18, "depth": 0.08}
    drawn = ElementTree.fromstring(plots.tin_filled(picture, "half <full>"))
    assert drawn[1].text == "half <full>"
    assert not any("style" in e.attrib for e in drawn.iter())
    outline = next(e.get("d") for e in drawn.iter() if e.get("class") == "outline")
    assert outline.startswith("M") and any(e.get("class") == "batter" for e in drawn.iter())
    # 0.2 m by 0.08 m: held by the width of 200 units, so 1 mm is one unit and the depth 80.
    numbers = [float(number) for number in re.findall(r"-?[0-9]+[.][0-9]", outline)]
    assert max(numbers) - 8 == pytest.approx(200) or form == "casing"
    assert any(e.text and "90" in e.text for e in drawn.iter() if e.tag.endswith("text")) is (form != "casing")


def test_the_level_of_a_straight_tin_stands_where_it_should():
    drawn = ElementTree.fromstring(plots.tin_filled({**TIN, "top": 0.2, "bottom": 0.2, "depth": 0.08, "level": 0.5}, ""))
    batter = next(e.get("d") for e in drawn.iter() if e.get("class") == "batter")
    # Half of 80 units under the rim at 22.
    assert batter.startswith("M8.0 62.0L8.0 102.0H208.0L208.0 62.0")


def test_tin_needs_sizes():
    with pytest.raises(ValueError, match="sizes"):
        plots.tin_filled({**TIN, "depth": 0}, "")
