"""What made a stranger stop: each thing once, as it was met."""

from __future__ import annotations

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, dose, section, type_in
from playwright.sync_api import expect

pytestmark = pytest.mark.site


def test_a_batter_too_warm_is_said_where_it_is_read_and_stands_there_after_a_reload(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", fine_scale="0.1 g")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    page.get_by_role("button", name="Start this batch").click()
    step = page.locator("[data-step]")
    expect(step).to_contain_text("1 of 8", timeout=START_MS)
    page.locator("[data-more=steps] summary").click()
    page.locator("[data-list] button").nth(4).click()
    expect(step.locator(".hint").first).to_contain_text("9 °C")
    step.locator(".day-reading input").first.fill("14 °C")
    step.get_by_role("button", name="Write it down").click()
    expect(step.locator("[data-said] .trouble")).to_contain_text("14 °C is over 12 °C", timeout=START_MS)
    page.reload()
    expect(step.locator("[data-said]")).to_contain_text("14 °C,", timeout=START_MS)
    # Where a timetable has nothing to give, nothing stands, and no "null".
    page.locator("[data-more=plan] summary").click()
    page.get_by_label("Cooking, from going in to the end of the hold").fill("90-140 min", timeout=START_MS)
    page.get_by_role("button", name="Work out the timetable").click()
    expect(page.locator("[data-plan-out] ol")).to_be_visible(timeout=START_MS)
    assert "null" not in page.locator("[data-plan-out]").inner_text()


def test_the_first_page_promises_nothing_for_what_is_no_percentage(page):
    page.goto("")
    pack, told = page.get_by_label("What does your pack say?"), page.locator("[data-pack-kept]")
    for text, said in (("E250", "with its sign"), ("0.9", "with its sign"), ("0.4-0.5 %", "Kept on this device"), ("5 g/kg", "Kept on this device"), ("", "")):
        pack.fill(text)
        pack.press("Tab")
        expect(told).to_contain_text(said) if said else expect(told).to_be_empty()


def test_a_batch_that_cannot_be_begun_shows_why(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="5.9 %")
    expect(section(page, "verdict")).to_contain_text("confirm that it says this", timeout=START_MS)
    expect(section(page, "bar")).to_contain_text("Confirm what your pack says")
    page.get_by_role("button", name="Start this batch").click()
    verdict = page.locator("#card .verdict")
    expect(verdict).to_be_focused(timeout=START_MS)
    expect(verdict).to_be_in_viewport()


def test_the_browsers_own_menu_prints_what_is_folded_on_the_screen(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    notes = page.locator("#card details").filter(has_text="Notes on this batch").first
    expect(notes).to_be_attached(timeout=START_MS)
    notes.evaluate("one => { one.open = false; }")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.locator("#card details:not([open])").count() == 0
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    expect(notes).not_to_have_attribute("open", "")


def test_a_file_that_is_opened_is_said_and_offers_no_older_way_back(page, tmp_path):
    page.goto("own/#v=1&recipe=pistachio-pork-loaf.1")
    page.goto("own/")
    page.on("dialog", lambda dialog: dialog.accept())
    page.get_by_label("Title").fill("Walnut loaf")
    expect(page.locator("[data-card]")).not_to_have_attribute("data-stale", "", timeout=START_MS)
    page.get_by_role("button", name="Delete it here").click()
    expect(page.locator("[data-undo]")).to_be_visible()
    file = tmp_path / "mine.toml"
    file.write_text('schema = 1\nid = "mine"\nrevision = 1\nlanguage = "en"\ntitle = "Mine"\n', encoding="utf-8")
    page.locator("[data-own-file]").set_input_files(file)
    expect(page.locator("[data-status]")).to_contain_text("The file is open here", timeout=START_MS)
    expect(page.locator("[data-undo]")).to_be_hidden()


def test_in_somebody_elses_page_nothing_looks_typed_that_is_not(page):
    page.goto("embed/pistachio-pork-loaf/")
    assert page.locator("[placeholder]").count() == 0
    expect(page.get_by_label("Nitrite in your pack")).to_have_accessible_description("For example 6.25 %")
