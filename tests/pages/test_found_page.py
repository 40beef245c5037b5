"""A recipe found elsewhere: the author's grams and pack become grams of one's own."""

from __future__ import annotations

import pytest
from curebatch.intake.link import encode
from helpers.card_page import (
    START_MS,
    dose,
    expected,
    expected_weights,
    plain,
    section,
    settled,
    type_in,
    weights,
)
from playwright.sync_api import expect

pytestmark = pytest.mark.site

FOUND = {"found_cure": "20 g", "found_meat": "1 kg", "found_pack": "0.5 %"}


def test_the_authors_grams_become_ones_own(page, assert_no_axe_findings):
    page.goto("found/")
    expect(dose(page)).to_have_count(0)
    fields = {**FOUND, "meat": "1 kg", "pack": "6.25 %", "fine_scale": "0.1 g"}
    type_in(page, **fields)
    expect(dose(page)).to_be_visible(timeout=START_MS)
    answer = expected(page="found", fields=fields)
    assert weights(page) == expected_weights(answer)
    convert = plain(section(page, "convert").inner_text())
    assert plain(answer["card"]["convert"]["as_written"]["text"]) in convert
    assert_no_axe_findings(page)


def test_without_the_authors_strength_there_is_no_answer(page):
    page.goto("found/")
    type_in(page, found_cure="20 g", found_meat="1 kg", meat="1 kg", pack="6.25 %")
    expect(page.locator("[data-status]")).not_to_be_empty(timeout=START_MS)
    expect(dose(page)).to_have_count(0)


def test_a_found_recipe_travels_as_a_link(page, new_page):
    fields = {**FOUND, "meat": "1 kg"}
    mine = {"pack": "6.25 %", "fine_scale": "0.1 g"}
    page.goto("found/")
    type_in(page, **fields, **mine)
    expect(dose(page)).to_be_visible(timeout=START_MS)
    page.locator('[data-share="recipe"]').click()
    address = page.locator("[data-share-out] input").input_value()
    assert "/found/#" in address and "6.25" not in address
    friend = new_page()
    friend.goto(address)
    settled(friend)
    expect(friend.locator("#f-found_cure")).to_have_value("20 g")
    expect(friend.locator("#f-pack")).to_have_value("")
    expect(dose(friend)).to_have_count(0)
    type_in(friend, **mine)
    expect(dose(friend)).to_be_visible()
    assert weights(friend) == weights(page)


def test_a_prefilled_found_page(page):
    page.goto("found/#" + encode(FOUND, kitchen=False))
    settled(page)
    expect(page.locator("#f-found_pack")).to_have_value("0.5 %")
    expect(dose(page)).to_have_count(0)
