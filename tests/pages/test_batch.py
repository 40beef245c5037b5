"""The whole batch on the page: one amount changed, the tins filled, and the same batch from a link."""

from __future__ import annotations

import pytest
from helpers.card_page import LOAF_PAGE, dose, expected, expected_weights, plain, section, settled, type_in, weights
from playwright.sync_api import expect

pytestmark = pytest.mark.site

KITCHEN = {"pack": "6.25 %", "scale": "0.1 g", "fine_scale": "0.01 g"}


def test_one_amount_changed_moves_batch_dose_and_composition_together(page):
    page.goto(LOAF_PAGE)
    type_in(page, **KITCHEN)
    before = plain(section(page, "composition").inner_text())
    type_in(page, **{"use.back-fat": "400 g"})
    answer = expected(fields={**KITCHEN, "use.back-fat": "400 g"})
    assert weights(page) == expected_weights(answer)
    expect(dose(page)).to_contain_text(answer["card"]["cure"]["weigh"]["text"].split(" ")[0].split(".")[0])
    expect(section(page, "composition")).to_contain_text(answer["card"]["composition"]["rows"][2]["cooked"])
    assert plain(section(page, "composition").inner_text()) != before
    expect(section(page, "messages")).to_contain_text("Pork back fat is set")


def test_the_tins_are_drawn_and_filled(page, assert_no_axe_findings):
    page.goto(LOAF_PAGE)
    type_in(page, **KITCHEN, fill="tins", tin="2 x loaf 24 x 9 bottom 22 x 8 depth 7 cm")
    answer = expected(fields={**KITCHEN, "fill": "tins", "tin": "2 x loaf 24 x 9 bottom 22 x 8 depth 7 cm"})
    tins = section(page, "tins")
    expect(tins).to_contain_text(answer["card"]["tins"][0]["text"])
    expect(tins.locator("svg.tin-filled .batter")).to_have_count(len(answer["card"]["tins"]))
    assert_no_axe_findings(page)
    # Nothing of it makes a phone scroll sideways.
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_two_sizes_at_once_are_said_at_the_field(page):
    page.goto(LOAF_PAGE)
    type_in(page, **KITCHEN, meat="2 kg", portions="30")
    expect(dose(page)).to_have_count(0)
    expect(section(page, "verdict")).to_contain_text("each say how big the batch is")
    type_in(page, meat="")
    expect(dose(page)).to_have_count(1)


def test_a_changed_batch_comes_back_from_its_link(new_page):
    fields = {"portions": "12", "use.ice": "200 g"}
    answer = expected(fields={**KITCHEN, **fields})
    other = new_page()
    other.goto(LOAF_PAGE + "#" + answer["links"]["recipe"])
    settled(other)
    expect(other.locator('[name="use.ice"]')).to_have_value("200 g")
    expect(dose(other)).to_have_count(0)  # the pack stayed at home
    type_in(other, **KITCHEN)
    assert weights(other) == expected_weights(answer)
