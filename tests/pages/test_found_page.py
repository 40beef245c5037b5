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


def test_it_becomes_a_recipe_of_ones_own_and_is_asked_only_what_it_lacks(page):
    page.goto("found/")
    way = page.locator("[data-own-copy]")
    expect(way).to_be_hidden()
    type_in(page, **FOUND, meat="2 kg", pack="6.25 %", fine_scale="0.1 g")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    grams = weights(page)
    way.click()
    page.wait_for_url("**/own/**")
    settled(page)
    expect(page.locator('[data-own="targets.nitrite"]')).to_have_value("100.0 mg/kg")
    expect(page.locator('[data-own="targets.salt"]')).to_have_value("1.99 %")
    expect(page.locator('[data-own="batch.meat"]')).to_have_value("2000 g")
    faults = page.locator("[data-fault-summary] li")
    expect(faults).to_have_count(1)
    expect(faults).to_contain_text("Meat")
    page.locator('[data-own-kind][value="pork"]').check()
    settled(page)
    # The same grams as on the page that it came from.
    assert weights(page) == grams
    page.get_by_role("button", name="Start this batch").click()
    page.wait_for_url("**/day/")


def test_what_is_poison_is_made_nobodys_own(page):
    page.goto("found/")
    type_in(page, **{**FOUND, "found_cure": "200 g"}, meat="2 kg", pack="6.25 %", fine_scale="0.1 g")
    expect(page.locator("[data-status]")).not_to_be_empty(timeout=START_MS)
    settled(page)
    expect(page.locator("[data-own-copy]")).to_be_hidden()
