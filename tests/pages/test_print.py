"""Paper carries the card, or says that it was not ready."""

from __future__ import annotations

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, dose, recipe_link, section, type_in
from playwright.sync_api import expect

pytestmark = pytest.mark.site


def test_paper_carries_the_card_with_the_strength_in_the_line_of_the_dose(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    page.emulate_media(media="print")
    expect(dose(page)).to_be_visible()
    expect(dose(page)).to_contain_text("6.25 %")
    expect(page.locator("[data-form]")).to_be_hidden()
    expect(page.locator(".foot .on-paper")).to_be_visible()


def test_paper_of_the_published_recipe_carries_the_table_and_no_dose(page):
    page.goto(LOAF_PAGE)
    page.emulate_media(media="print")
    expect(section(page, "strengths")).to_be_visible()
    expect(dose(page)).to_have_count(0)


@pytest.mark.parametrize("how", ["a link that is awaited", "an entry that is pending"])
def test_paper_carries_no_card_that_is_not_the_one_meant(how, page):
    held = []
    page.context.route("**/*.wasm", lambda route: held.append(route))
    if how == "a link that is awaited":
        page.goto(f"{LOAF_PAGE}#{recipe_link(meat='3 kg')}")
    else:
        page.goto(LOAF_PAGE)
        page.locator("#f-meat").fill("3 kg")
        expect(page.locator("[data-card][data-stale]")).to_have_count(1)
    page.emulate_media(media="print")
    expect(section(page, "strengths")).to_be_hidden()
    expect(page.locator("[data-card] .waiting.on-paper")).to_be_visible()
    page.context.unroute_all(behavior="ignoreErrors")


def test_the_print_button_prints(page):
    page.add_init_script("globalThis.print = () => { globalThis.printed = (globalThis.printed ?? 0) + 1 }")
    page.goto(LOAF_PAGE)
    page.locator("[data-print]").click()
    assert page.evaluate("printed") == 1
