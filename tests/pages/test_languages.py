"""The second language as a cook meets it: typed and shown its way, switched without losing a word, and without a network."""

from __future__ import annotations

import json
import re

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, expected, expected_weights, recipe_link, section, settled, type_in, weights
from helpers.runtime import built_site
from playwright.sync_api import expect

pytestmark = pytest.mark.site

TYPED = {"pack": "0,5 %", "fine_scale": "0,1 g", "meat": "2,5 kg"}
SWITCH = "a[data-language]"


def test_typed_in_german_and_switched_to_english_without_losing_a_word(page):
    page.goto(f"de/{LOAF_PAGE}")
    expect(page.locator("html")).to_have_attribute("lang", "de")
    type_in(page, **TYPED)
    german = expected(fields=TYPED, language="de")
    assert weights(page) == expected_weights(german) and any("," in weight for weight in weights(page))
    expect(section(page, "amounts").locator("tr.is-cure")).to_contain_text("0,5 %")
    expect(page.locator("[data-status]")).to_have_text(german["status"])
    # Typed within the pause, and left at once.
    page.locator("#f-meat").fill("2,6 kg")
    page.locator(SWITCH).click()
    page.wait_for_url(re.compile(f"curebatch/{LOAF_PAGE}$"))
    expect(page.locator("#f-meat")).to_have_value("2,6 kg", timeout=START_MS)
    settled(page)
    english = expected(fields={**TYPED, "meat": "2.6 kg"})
    assert weights(page) == expected_weights(english)
    expect(page.locator("#f-pack")).to_have_value("0,5 %")
    page.locator(SWITCH).click()
    page.wait_for_url(re.compile(f"de/{LOAF_PAGE}$"))
    expect(page.locator("#f-meat")).to_have_value("2,6 kg", timeout=START_MS)


def test_a_link_opens_in_either_language_and_stays_the_same(page):
    link = recipe_link(meat="2.45kg")
    page.goto(f"de/{LOAF_PAGE}#{link}")
    expect(page.locator("#f-meat")).to_have_value("2,45 kg", timeout=START_MS)
    settled(page)
    page.locator("[data-share=recipe]").click()
    shared = page.locator("[data-share-out] input, [data-share-out] textarea").first.input_value()
    fragment = shared.partition("#")[2]
    assert "meat=2.45kg" in fragment and f"/de/{LOAF_PAGE}" in shared
    page.locator(SWITCH).click()
    expect(page.locator("#f-meat")).to_have_value("2.45 kg", timeout=START_MS)
    assert page.url.partition("#")[2] == link


def test_a_fault_is_told_in_german_and_quotes_what_was_typed(page):
    page.goto(f"de/{LOAF_PAGE}")
    page.locator("#f-meat").fill("1.500 g")
    fault = page.locator("#e-meat")
    expect(fault).to_contain_text("1.500 g", timeout=START_MS)
    expect(fault).to_contain_text("1,5")
    expect(page.locator("#f-meat")).to_have_attribute("aria-invalid", "true")


@pytest.mark.parametrize("way", ["", "found/", "own/", "day/", "help/", "rules/", "licences/", LOAF_PAGE])
def test_each_page_leads_to_itself_in_the_other_language_without_scripts(new_page, site, way):
    page = new_page(java_script_enabled=False)
    for language, other in (("en", "de"), ("de", "en")):
        page.goto(f"{'' if language == 'en' else 'de/'}{way}")
        expect(page.locator("html")).to_have_attribute("lang", language)
        link = page.locator(SWITCH)
        expect(link).to_have_attribute("lang", other)
        # For search engines it is told where the site's own address is known; see test_publish.py.
        expect(page.locator("head link[hreflang]")).to_have_count(0)
        link.click()
        expect(page.locator("html")).to_have_attribute("lang", other)
        assert page.url == site.url + ("de/" if other == "de" else "") + way


@pytest.mark.parametrize("way", [LOAF_PAGE, "found/"])
def test_a_second_language_makes_no_page_wider(new_page, way):
    page = new_page(viewport={"width": 320, "height": 640})
    page.goto(f"de/{way}")
    page.locator("details:not([open])").evaluate_all("all => all.forEach(one => { one.open = true; })")
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")


def test_a_frame_speaks_german(page):
    page.goto("de/embed/pistachio-pork-loaf/")
    page.locator("#f-pack").fill("0,5 %")
    expect(page.locator("[data-section=amounts] tr.is-cure")).to_contain_text("Pökelsalz", timeout=START_MS)
    expect(page.locator("[data-section=amounts] tr.is-cure")).to_contain_text(",")


def test_both_languages_are_on_the_device_and_weigh_little():
    text = (built_site() / "service-worker.js").read_text("utf-8")
    for way in ("index.html", "found/index.html", "own/index.html", "day/index.html", "help/index.html", "rules/index.html", "recipes/_/index.html", "manifest.webmanifest"):
        assert f'"{way}"' in text and f'"de/{way}"' in text
    assert '"de/recipes/back-bacon/index.html"' not in text
    manifest = json.loads((built_site() / "de" / "manifest.webmanifest").read_text("utf-8"))
    assert manifest["lang"] == "de" and manifest["scope"] == "../"
    assert all((built_site() / "de" / icon["src"]).resolve().is_file() for icon in manifest["icons"])
