"""The three temperatures on the page: from a typed reading to what it proves, and what it stops."""

from __future__ import annotations

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, dose, expected, section, settled, type_in
from playwright.sync_api import expect

pytestmark = pytest.mark.site

DONE = "0 min 4 °C; 40 min 30 °C; 80 min 52 °C; 110 min 73 °C; 112 min 73 °C"
ICED = "12:00 out; 12:15 58 °C; 12:30 46 °C; 13:00 25 °C; 13:30 12 °C; 14:30 5 °C; 15:10 3.2 °C"
COUNTER = "22:00 out; 22:30 60 °C; 23:00 52 °C; 0:00 41 °C; 1:00 34 °C; 2:00 30 °C; 6:00 23 °C"
PHONE = {"width": 360, "height": 740}


def test_the_published_page_shows_all_three_before_anything_is_measured(new_page, assert_no_axe_findings):
    page = new_page(viewport=PHONE)
    page.goto(LOAF_PAGE)
    for key in ("mixing", "cooking", "cooling"):
        expect(section(page, key).locator("h2").first).to_be_visible()
    expect(section(page, "cooking")).to_contain_text("not measured yet")
    expect(section(page, "mixing").locator("svg[role=img] title")).to_have_count(1)
    assert_no_axe_findings(page)


def test_readings_are_judged_and_a_missed_cooling_takes_the_dose_away(new_page, assert_no_axe_findings):
    page = new_page(viewport=PHONE)
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", fine_scale="0.1 g")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    type_in(page, readings=DONE, cooling_readings=ICED, batter="10 °C; 11 °C; 10.5 °C", meat_temperature="2 °C")
    answer = expected(fields={"pack": "6.25 %", "fine_scale": "0.1 g", "readings": DONE, "cooling_readings": ICED})
    assert answer["card"]["verdicts"] == {"dose": "ok", "cooking": "ok", "cooling": "ok"}
    expect(section(page, "cooking").locator("svg.core-curve desc")).to_contain_text("The readings prove it", timeout=START_MS)
    expect(section(page, "cooling").locator("svg.cooling-curve")).to_be_visible()
    expect(section(page, "mixing")).to_contain_text("for the next batch")
    expect(dose(page)).to_be_visible()
    too_wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert too_wide <= 0, f"the page runs {too_wide} px over its edge"
    assert_no_axe_findings(page)

    type_in(page, cooling_readings=COUNTER)
    expect(section(page, "verdict")).to_contain_text("Throw it away")
    expect(dose(page)).to_have_count(0)
    expect(section(page, "cooling")).to_contain_text("missed", timeout=START_MS)
    settled(page)
    assert_no_axe_findings(page)


def test_a_wrong_reading_is_named_at_its_field(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", fine_scale="0.1 g")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    type_in(page, readings="10:40 160 °C")
    fault = page.locator("#e-readings")
    expect(fault).to_contain_text("10:40 160 °C", timeout=START_MS)
    expect(fault).to_contain_text("71.1 °C")
    expect(dose(page)).to_have_count(0)
    type_in(page, readings="10:40 160 °F")
    expect(fault).to_be_hidden()
    # Surely reached: what it showed, less the probe's error.
    expect(section(page, "cooking")).to_contain_text("70.1 °C", timeout=START_MS)
    expect(section(page, "verdict")).to_contain_text("not done")
