"""The forecast on the page: asked for, drawn after everything else, corrected, and kept for the next piece."""

from __future__ import annotations

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, expected, plain, section, type_in, weights
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.site

KITCHEN = {"pack": "6.25 %", "scale": "0.1 g", "fine_scale": "0.01 g", "oven": "still_oven", "oven_setting": "140 °C", "wall": "metal", "start_temperature": "4 °C", "chill": "iced_water"}
READINGS = "0 min 4 °C; 20 min 7 °C; 40 min 25 °C; 60 min 43 °C"


def foretold(page: Page, **fields: str) -> dict:
    """The answer that the page shows, forecast and all."""
    expect(page.locator("[data-card][data-part]")).to_have_count(0, timeout=START_MS)
    answer = expected(fields=fields)
    expect(section(page, "forecast")).to_contain_text(answer["card"]["forecast"][0]["minutes_text"])
    return answer


def test_the_forecast_comes_after_the_weights_and_is_drawn(page, assert_no_axe_findings):
    page.goto(LOAF_PAGE)
    expect(section(page, "forecast")).to_contain_text("what it is heated in")
    type_in(page, **KITCHEN)
    answer = foretold(page, **KITCHEN)
    assert weights(page)
    forecast = section(page, "forecast")
    expect(forecast.locator("svg.core-forecast .band")).to_have_count(1)
    expect(forecast.locator("svg.cooling-forecast .fence")).to_have_count(1)
    expect(forecast).to_contain_text(plain(answer["card"]["forecast"][0]["cooling"]["options"][0]["text"]))
    assert_no_axe_findings(page)
    # Nothing of it makes a phone scroll sideways.
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_what_readings_taught_is_kept_on_the_device_for_the_next_recipe(page):
    page.goto(LOAF_PAGE)
    type_in(page, **KITCHEN, readings=READINGS)
    answer = foretold(page, **KITCHEN, readings=READINGS)
    line = answer["card"]["about_forecast"]["oven_learnt"]
    assert line
    expect(section(page, "forecast").locator("svg.core-forecast .dot")).to_have_count(4)
    section(page, "forecast").locator("[data-keep]").click()
    expect(page.locator("#f-oven_learnt")).to_have_value(line)
    expect(section(page, "forecast")).to_contain_text("is kept already", timeout=START_MS)
    page.goto("recipes/grey-pork-loaf/")
    expect(page.locator("#f-oven_learnt")).to_have_value(line)
    expect(page.locator("#f-oven")).to_have_value("still_oven")
    expect(page.locator("#f-readings")).to_have_value("")
