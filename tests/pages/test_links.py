"""Links: what is opened is what was meant, or a fault; never another card meanwhile."""

from __future__ import annotations

import re

import pytest
from curebatch.fields import BY_KEY
from curebatch.intake.link import check_of, decode
from helpers.card_page import (
    LOAF,
    LOAF_PAGE,
    PAINTED,
    START_MS,
    card_link,
    dose,
    expected,
    expected_weights,
    painted,
    plain,
    recipe_link,
    section,
    settled,
    type_in,
    weights,
)
from helpers.runtime import built_site
from playwright.sync_api import expect

pytestmark = pytest.mark.site

THREE_KILOS = {"meat": "3 kg", "nitrite": "90 mg/kg", "nitrite_per": "mix"}
FOUR_KILOS = {"meat": "4 kg", "nitrite": "80 mg/kg", "nitrite_per": "mix"}
PACK = {"pack": "6.25 %", "scale": "0.1 g"}


def assert_only_painted(page, fragment: str) -> None:
    """Under this address no section ever showed anything but what it shows now."""
    seen = [(key, text) for where, key, text in painted(page) if where == fragment]
    assert seen, "nothing was painted, so nothing was watched"
    for key, text in seen:
        assert plain(text) == plain(section(page, key).inner_text()), f"{key} once showed: {text}"


def test_a_recipe_link_opens_on_a_new_device_without_a_dose(page, assert_no_axe_findings):
    page.add_init_script(PAINTED)
    link = recipe_link(**THREE_KILOS)
    page.goto(f"{LOAF_PAGE}#{link}")
    settled(page)
    expect(page.locator("#f-meat")).to_have_value("3 kg")
    expect(page.locator("#f-pack")).to_have_value("")
    expect(dose(page)).to_have_count(0)
    answer = expected(link=link)
    assert answer["card"]["verdict"] == "incomplete"
    shown = section(page, "strengths").locator("tbody tr").all_inner_texts()
    assert len(shown) == len(answer["card"]["strengths"])
    for text, row in zip(shown, answer["card"]["strengths"], strict=True):
        assert plain(row["why"] or row["cure_text"]) in plain(text)
    assert_only_painted(page, f"#{link}")
    assert_no_axe_findings(page)

    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible()
    assert weights(page) == expected_weights(expected(link=link, fields={"pack": "6.25 %"}))


def test_a_link_that_is_changed_leaves_the_address(page):
    link = recipe_link(**THREE_KILOS)
    page.goto(f"{LOAF_PAGE}#{link}")
    settled(page)
    type_in(page, meat="5 kg")
    assert "#" not in page.url, "the address still names the card that was changed"
    page.reload()
    expect(page.locator("#f-meat")).to_have_value("5 kg")
    settled(page)
    expect(page.locator("#f-nitrite")).to_have_value("90 mg/kg")


def test_a_card_link_asks_about_the_pack_before_it_shows_a_weight(page, assert_no_axe_findings):
    page.add_init_script(PAINTED)
    link = card_link(**THREE_KILOS, **PACK)
    page.goto(f"{LOAF_PAGE}#{link}")
    box = page.locator("[data-confirm-pack]")
    expect(box).to_be_visible(timeout=START_MS)
    expect(section(page, "confirm")).to_contain_text("6.25 %")
    expect(dose(page)).to_have_count(0)
    for _, key, text in painted(page):
        assert key != "amounts" or not re.search(r"Curing salt\s+[0-9]", text), "a weight too early"
    assert_no_axe_findings(page)

    box.click()
    expect(dose(page)).to_be_visible()
    confirmed = expected(link=link, confirmed_packs=["6.25 %"])
    assert weights(page) == expected_weights(confirmed)
    assert page.evaluate("document.activeElement !== document.body"), "the place is lost"

    # The device remembers the pack, for this link and for the next.
    page.reload()
    expect(dose(page)).to_be_visible(timeout=START_MS)
    page.goto(f"{LOAF_PAGE}#{card_link(**FOUR_KILOS, **PACK)}")
    expect(page.locator("#f-meat")).to_have_value("4 kg", timeout=START_MS)
    expect(dose(page)).to_be_visible()


def test_a_kitchen_from_a_link_is_not_kept_unless_confirmed(page):
    page.goto(f"{LOAF_PAGE}#{card_link(**THREE_KILOS, **PACK)}")
    expect(page.locator("[data-confirm-pack]")).to_be_visible(timeout=START_MS)
    other = page.context.new_page()
    other.goto(LOAF_PAGE)
    settled(other)
    expect(other.locator("#f-pack")).to_have_value("")
    page.locator("[data-confirm-pack]").click()
    expect(dose(page)).to_be_visible()
    third = page.context.new_page()
    third.goto(LOAF_PAGE)
    expect(third.locator("#f-pack")).to_have_value("6.25 %", timeout=START_MS)
    expect(dose(third)).to_be_visible(timeout=START_MS)


def test_a_recipe_link_meets_the_saved_kitchen(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="0.5 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    link = recipe_link(**THREE_KILOS)
    friend = page.context.new_page()
    friend.goto(f"{LOAF_PAGE}#{link}")
    expect(dose(friend)).to_be_visible(timeout=START_MS)
    expect(friend.locator("#f-pack")).to_have_value("0.5 %")
    assert weights(friend) == expected_weights(expected(link=link, fields={"pack": "0.5 %"}))


def with_check(*pairs: tuple[str, str]) -> str:
    listed = [("v", "1"), *pairs]
    return "&".join(f"{k}={v}" for k, v in [*listed, ("check", check_of(listed))])


BAD = {
    "one bad key": with_check(("recipe", LOAF), ("meat", "3kg"), ("nitrite", "lots")),
    "cut in the middle": recipe_link(**THREE_KILOS)[:45],
    "cut by one letter": recipe_link(**THREE_KILOS)[:-1],
    "cut to almost nothing": "v",
    "altered": recipe_link(**THREE_KILOS).replace("3kg", "8kg"),
    "a key of a newer version": with_check(("recipe", LOAF), ("meat", "3kg"), ("smoke", "2h")),
    "a newer version": recipe_link(**THREE_KILOS).replace("v=1", "v=7"),
    "twice, differing": "meat=9kg&" + recipe_link(**THREE_KILOS),
}


@pytest.mark.parametrize("what", BAD)
def test_a_link_that_is_not_understood_gives_a_fault_and_no_card(what, page, assert_no_axe_findings):
    link = BAD[what]
    page.add_init_script(PAINTED)
    answer = expected(link=link)
    assert answer["faults"], "the case is no case"
    page.goto(f"{LOAF_PAGE}#{link}")
    settled(page)
    for fault in answer["faults"]:
        expect(page.locator("main")).to_contain_text(fault["text"])
    expect(page.locator("[data-status]")).to_have_text(answer["status"])
    expect(dose(page)).to_have_count(0)
    assert_only_painted(page, f"#{link}")
    assert_no_axe_findings(page)


@pytest.mark.parametrize("place", ["query", "fragment", "between"])
def test_trackers_are_passed_over(place, page):
    link = recipe_link(**THREE_KILOS)
    page.goto(LOAF_PAGE + {
        "query": f"?utm_source=mail&fbclid=x#{link}",
        "fragment": f"#{link}&utm_campaign=x",
        "between": f"?{link}&gclid=x",
    }[place])  # fmt: skip
    settled(page)
    expect(page.locator("#f-meat")).to_have_value("3 kg")
    expect(page.locator("[data-fault]:visible")).to_have_count(0)


def test_trackers_alone_are_no_input(page):
    page.goto(f"{LOAF_PAGE}?utm_source=mail&si=1#fbclid=x")
    expect(page.locator("html[data-awaiting]")).to_have_count(0)
    assert section(page, "strengths").is_visible()


def test_the_page_and_the_reader_of_links_pass_over_the_same_trackers(page):
    page.goto(LOAF_PAGE)
    for key in (*BY_KEY, "v", "check", "utm_source", "utm_campaign", "utm_id2", "utm_", "fbclid",
                "gclid", "msclkid", "mc_cid", "mc_eid", "mc_xid", "igshid", "si", "sid", "ref"):  # fmt: skip
        page.evaluate("text => history.replaceState(null, '', `?${text}`)", f"{key}=1")
        on_page = page.evaluate("addressInput() !== ''")
        assert on_page == (decode(f"{key}=1") != ({}, [])), key


def test_a_second_link_in_the_same_tab_then_back_and_forward(page):
    page.add_init_script(PAINTED)
    first, second = recipe_link(**THREE_KILOS), recipe_link(**FOUR_KILOS)
    meat = page.locator("#f-meat")
    page.goto(LOAF_PAGE)
    published = meat.input_value()
    page.goto(f"{LOAF_PAGE}#{first}")
    expect(meat).to_have_value("3 kg", timeout=START_MS)
    settled(page)
    table = section(page, "strengths")
    first_table = plain(table.inner_text())

    page.goto(f"{LOAF_PAGE}#{second}")
    expect(meat).to_have_value("4 kg")
    settled(page)
    second_table = plain(table.inner_text())
    assert second_table != first_table

    page.go_back()
    expect(meat).to_have_value("3 kg")
    settled(page)
    assert plain(table.inner_text()) == first_table
    page.go_forward()
    expect(meat).to_have_value("4 kg")
    settled(page)
    assert plain(table.inner_text()) == second_table
    page.go_back()
    page.go_back()
    expect(meat).to_have_value(published)
    settled(page)
    assert plain(table.inner_text()) not in (first_table, second_table)

    for where, key, text in painted(page):
        if key == "strengths" and where in (f"#{first}", f"#{second}"):
            mine = first_table if where == f"#{first}" else second_table
            assert plain(text) == mine, f"under {where} stood the table of another card"


def test_a_changed_batch_comes_back_with_back(page):
    meat = page.locator("#f-meat")
    page.goto(LOAF_PAGE)
    type_in(page, meat="5 kg", pack="6.25 %")
    page.goto(f"{LOAF_PAGE}#{recipe_link(**THREE_KILOS)}")
    expect(meat).to_have_value("3 kg")
    page.go_back()
    expect(meat).to_have_value("5 kg")
    settled(page)
    answer = expected(fields={"meat": "5 kg", "pack": "6.25 %"})
    assert weights(page) == expected_weights(answer)


def test_a_place_on_the_page_is_no_input(page):
    page.goto(f"{LOAF_PAGE}#main")
    expect(page.locator("html[data-awaiting]")).to_have_count(0)
    expect(section(page, "strengths")).to_be_visible()


def test_share_gives_the_recipe_without_the_pack_and_the_card_with_it(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="3 kg")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    out = page.locator("[data-share-out] input")
    page.locator('[data-share="recipe"]').click()
    expect(out).to_be_visible()
    shared = out.input_value()
    entries, faults = decode(shared)
    assert not faults
    assert entries["meat"] == "3kg"
    assert not [key for key in entries if BY_KEY[key].group == "kitchen"]

    page.locator('[data-share="card"]').click()
    expect(out).not_to_have_value(shared)
    entries, faults = decode(out.input_value())
    assert not faults
    assert entries["pack"] == "6.25%"

    page.locator("#f-meat").fill("4 kg")
    expect(page.locator("[data-share-out]")).to_be_hidden()


def test_a_shared_link_opens_as_the_same_card(page, new_page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="3 kg")
    page.locator('[data-share="card"]').click()
    address = page.locator("[data-share-out] input").input_value()
    friend = new_page()
    friend.goto(address)
    expect(friend.locator("[data-confirm-pack]")).to_be_visible(timeout=START_MS)
    friend.locator("[data-confirm-pack]").click()
    expect(dose(friend)).to_be_visible()
    assert weights(friend) == weights(page)


def test_a_link_to_another_page_is_followed_there(page):
    page.goto(f"found/#{recipe_link(**THREE_KILOS)}")
    page.wait_for_url(re.compile(re.escape(LOAF_PAGE) + "#v=1"), timeout=START_MS)
    expect(page.locator("#f-meat")).to_have_value("3 kg", timeout=START_MS)


def test_every_word_of_the_scripts_is_in_the_catalogue(page):
    page.goto(LOAF_PAGE)
    words = set(page.evaluate("Object.keys(JSON.parse(document.getElementById('words').textContent))"))
    # The page of the day has a catalogue of its own, and a test of it.
    day = ("day", "dom", "logs", "timers", "clock")
    paths = [path for path in built_site().glob("assets/*.js") if path.name.split(".")[0] not in day]
    scripts = "\n".join(path.read_text("utf-8") for path in paths)
    used = set(re.findall(r'\bwords\.([a-z_]+)|"(starting[a-z_]*)"', scripts))
    used = {one or other for one, other in used}
    assert len(used) > 5
    assert used <= words, f"missing in [script]: {used - words}"
