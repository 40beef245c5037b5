"""Several kitchens on one device, and one way back from whatever takes away what was typed."""

import json

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, card_link, dose, recipe_link, settled, type_in
from playwright.sync_api import Page, expect

HOME = {"pack": "6.25 %", "scale": "1 g", "region": "eu"}
CLUB = {"pack": "0.4-0.5 %", "scale": "2 g", "region": "gb"}


def device(page: Page) -> dict:
    """What this device keeps, as the store has it."""
    return page.evaluate("""() => new Promise((done, failed) => {
        const request = indexedDB.open(`curebatch ${new URL(document.documentElement.dataset.root, location.href).pathname}`);
        request.onerror = () => failed(request.error);
        request.onsuccess = () => {
            const read = request.result.transaction("documents").objectStore("documents").get("device");
            read.onsuccess = () => { request.result.close(); done(read.result); };
        };
    })""")


def put(page: Page, document: dict) -> None:
    page.evaluate("""(document) => new Promise((done, failed) => {
        const request = indexedDB.open(`curebatch ${new URL(globalThis.document.documentElement.dataset.root, location.href).pathname}`, 1);
        request.onupgradeneeded = () => request.result.createObjectStore("documents");
        request.onerror = () => failed(request.error);
        request.onsuccess = () => {
            const exchange = request.result.transaction("documents", "readwrite");
            exchange.objectStore("documents").put(document, "device");
            exchange.oncomplete = () => { request.result.close(); done(); };
        };
    })""", document)


def save_as(page: Page, name: str) -> None:
    page.locator("[data-kitchen-save]").click()
    page.locator("#kitchen-name").fill(name)
    page.keyboard.press("Enter")
    expect(page.locator("[data-kitchen-which]")).to_have_value(name)


def shown(page: Page, **fields: str) -> None:
    for key, text in fields.items():
        expect(page.locator(f'form [name="{key}"]')).to_have_value(text, timeout=START_MS)


@pytest.fixture
def two_kitchens(page):
    page.goto(LOAF_PAGE)
    type_in(page, **HOME)
    expect(dose(page)).to_be_visible(timeout=START_MS)
    save_as(page, "At home")
    save_as(page, "Club house")
    type_in(page, **CLUB)
    return page


def test_another_kitchen_lies_over_the_form_and_the_card_follows(two_kitchens):
    page = two_kitchens
    type_in(page, meat="3 kg")
    before = dose(page).inner_text()
    page.locator("[data-kitchen-which]").select_option("At home")
    shown(page, **HOME, meat="3 kg")
    settled(page)
    assert dose(page).inner_text() != before and "6.25 %" in dose(page).inner_text()
    # On every page, for the recipe of one's own too.
    for way in ("own/", "recipes/back-bacon/"):
        other = page.context.new_page()
        other.goto(way)
        shown(other, **HOME)
        expect(other.locator("[data-kitchen-which]")).to_have_value("At home")
        other.close()
    page.reload()
    shown(page, **HOME, meat="3 kg")
    page.locator("[data-kitchen-which]").select_option("Club house")
    shown(page, **CLUB, meat="3 kg")


def test_what_is_typed_is_kept_in_the_kitchen_at_work_alone(two_kitchens):
    page = two_kitchens
    page.locator("[data-kitchen-which]").select_option("At home")
    settled(page)
    type_in(page, fine_scale="0.1 g", pack="0.5 %")
    expect(dose(page)).to_be_visible()
    page.locator("[data-kitchen-which]").select_option("Club house")
    shown(page, **CLUB, fine_scale="")
    kept = device(page)
    assert kept["kitchenName"] == "Club house" and kept["kitchen"] == {**CLUB}
    assert kept["kitchens"] == {"At home": {**HOME, "fine_scale": "0.1 g", "pack": "0.5 %"}}


def test_a_draft_of_another_kitchen_brings_none_of_it_along(two_kitchens):
    page = two_kitchens
    page.goto("recipes/back-bacon/")
    type_in(page, meat="2 kg", pack="0.9 %")
    # A kitchen is kept once its pack was understood.
    expect(dose(page)).to_contain_text("0.9 %", timeout=START_MS)
    settled(page)
    # Where nothing is typed that would go before the kitchen.
    page.goto("recipes/corned-brisket/")
    shown(page, pack="0.9 %")
    page.locator("[data-kitchen-which]").select_option("At home")
    shown(page, **HOME)
    settled(page)
    page.goto("recipes/back-bacon/")
    shown(page, **HOME, meat="2 kg")
    assert device(page)["kitchens"]["Club house"]["pack"] == "0.9 %"


def test_an_older_draft_takes_the_pack_that_the_kitchen_has_now(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="3 kg")
    expect(dose(page)).to_contain_text("6.25 %", timeout=START_MS)
    settled(page)
    page.goto("recipes/back-bacon/")
    type_in(page, pack="0.9 %")
    expect(dose(page)).to_contain_text("0.9 %", timeout=START_MS)
    settled(page)
    page.goto(LOAF_PAGE)
    shown(page, pack="0.9 %", meat="3 kg")
    expect(dose(page)).to_contain_text("0.9 %", timeout=START_MS)
    expect(page.locator("[data-status]")).to_contain_text("Your kitchen was changed on another page")
    settled(page)
    assert device(page)["kitchen"]["pack"] == "0.9 %"
    # It is said once, and back is no way to the older pack.
    page.reload()
    shown(page, pack="0.9 %", meat="3 kg")
    expect(dose(page)).to_contain_text("0.9 %", timeout=START_MS)
    expect(page.locator("[data-status]")).not_to_contain_text("another page")


def test_what_was_typed_wrong_stays_where_the_kitchen_did_not_change(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    type_in(page, pack="a bit")
    settled(page)
    page.goto("help/")
    page.goto(LOAF_PAGE)
    shown(page, pack="a bit")
    assert device(page)["kitchen"]["pack"] == "6.25 %"


def test_rename_and_delete_with_a_way_back(two_kitchens):
    page = two_kitchens
    page.locator("[data-kitchen-rename]").click()
    page.locator("#kitchen-name").fill("At home")
    page.keyboard.press("Enter")
    expect(page.locator("[data-status]")).to_contain_text("already")
    page.locator("#kitchen-name").fill("  Boat ")
    page.locator("[data-kitchen-ok]").click()
    expect(page.locator("[data-kitchen-which]")).to_have_value("Boat")
    page.on("dialog", lambda dialog: dialog.accept())
    page.locator("[data-kitchen-delete]").click()
    shown(page, **HOME)
    expect(page.locator("[data-kitchen-which]")).to_have_value("At home")
    assert "Boat" not in json.dumps(device(page))
    page.locator("[data-undo]").click()
    expect(page.locator("[data-kitchen-which]")).to_have_value("Boat")
    shown(page, **CLUB)
    assert device(page)["kitchens"] == {"At home": HOME}


def test_a_kitchen_from_a_link_overwrites_none_and_can_be_kept_as_one_more(two_kitchens):
    page = two_kitchens
    before = device(page)
    page.goto(f"{LOAF_PAGE}#{card_link(meat='3 kg', pack='0.9 %', scale='5 g')}")
    page.locator("[data-choose=link]").click(timeout=START_MS)
    page.locator("[data-confirm-pack]").click(timeout=START_MS)
    expect(dose(page)).to_be_visible()
    type_in(page, fine_scale="0.1 g")
    settled(page)
    kept = device(page)
    assert (kept["kitchen"], kept["kitchenName"], kept["kitchens"]) == (before["kitchen"], before["kitchenName"], before["kitchens"])
    expect(page.locator("[data-kitchen-which] option:checked")).to_contain_text("link")
    save_as(page, "Sent to me")
    kept = device(page)
    assert kept["kitchenName"] == "Sent to me" and kept["kitchen"] == {"pack": "0.9 %", "scale": "5 g", "fine_scale": "0.1 g"}
    assert kept["kitchens"] == {"At home": HOME, "Club house": CLUB}
    page.locator("[data-kitchen-which]").select_option("At home")
    shown(page, **HOME, meat="3 kg", fine_scale="")
    page.reload()
    shown(page, **HOME, meat="3 kg", fine_scale="")


def test_a_document_of_the_version_before_is_read_and_nothing_lost(page):
    page.goto("help/")
    old = {
        "version": 1, "kitchen": {**HOME}, "confirmed": ["6.25 %"], "drafts": {"pistachio-pork-loaf.1": {"link": "", "fields": {"meat": "4 kg"}}},
        "logs": [], "own": {"a": {"title": "Mine"}}, "withdrawn": "[]",
    }
    put(page, old)
    page.goto(LOAF_PAGE)
    shown(page, **HOME, meat="4 kg")
    settled(page)
    save_as(page, "At home")
    kept = device(page)
    assert kept["version"] == 2 and kept["kitchen"] == HOME and kept["kitchens"] == {}
    assert kept["confirmed"] == ["6.25 %"] and kept["own"] == old["own"] and kept["drafts"]["pistachio-pork-loaf.1"]["fields"] == {"meat": "4 kg"}


# ---------------------------------------------------------------- undo


def test_clear_can_be_undone_with_all_that_it_took(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="0.6-0.4 %", meat="3 kg")
    page.locator("[data-confirm-pack]").click(timeout=START_MS)
    expect(dose(page)).to_be_visible()
    before = dose(page).inner_text()
    page.locator("[data-clear]").click()
    expect(dose(page)).to_have_count(0)
    undo = page.locator("[data-undo]")
    expect(undo).to_be_focused()
    box = undo.bounding_box()
    assert box["height"] >= 44 and box["width"] >= 44
    expect(page.locator("[data-status]")).to_contain_text("Undo", timeout=START_MS)
    page.keyboard.press("Enter")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    assert dose(page).inner_text() == before
    expect(undo).to_be_hidden()
    page.reload()
    shown(page, meat="3 kg")
    expect(dose(page)).to_be_visible(timeout=START_MS)


def test_undo_is_gone_once_something_else_is_typed(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="3 kg")
    page.locator("[data-clear]").click()
    expect(page.locator("[data-undo]")).to_be_visible()
    type_in(page, meat="2 kg")
    expect(page.locator("[data-undo]")).to_be_hidden()


def test_going_back_over_something_typed_can_be_undone(page):
    page.goto(LOAF_PAGE)
    settled(page)
    page.evaluate("link => { location.hash = link; }", recipe_link(meat="3 kg"))
    shown(page, meat="3 kg")
    settled(page)
    type_in(page, pack="6.25 %", meat="5 kg")
    page.go_back()
    settled(page)
    expect(page.locator("#f-meat")).not_to_have_value("5 kg")
    page.locator("[data-undo]").click()
    shown(page, meat="5 kg")


def test_a_recipe_of_ones_own_that_was_deleted_comes_back(page):
    page.goto("own/")
    page.locator('[data-own="title"]').fill("Mine")
    settled(page)
    expect(page.locator("[data-own-shelf] option:checked")).to_have_text("Mine", timeout=START_MS)
    page.on("dialog", lambda dialog: dialog.accept())
    page.locator("[data-own-drop]").click()
    expect(page.locator('[data-own="title"]')).to_have_value("")
    page.locator("[data-undo]").click()
    expect(page.locator('[data-own="title"]')).to_have_value("Mine")
    expect(page.locator("[data-own-shelf] option:checked")).to_have_text("Mine")


# ---------------------------------------------------------------- nothing out of sight


def test_closed_details_say_how_many_fields_are_filled_in(page):
    page.goto(f"{LOAF_PAGE}#{card_link(meat='3 kg', oven='still_oven', oven_setting='140 °C', tin='box 30 x 10 x 8 cm')}")
    settled(page)
    oven = page.locator("details", has=page.locator("#f-oven")).locator("summary")
    expect(oven).to_contain_text("2 filled in", timeout=START_MS)
    expect(page.locator("details", has=page.locator("#f-tin")).locator("summary")).to_contain_text("1 filled in")
    expect(page.locator("details", has=page.locator("#f-meat_temperature")).locator("summary")).not_to_contain_text("filled in")
    type_in(page, oven_setting="")
    expect(oven).to_contain_text("1 filled in")


def test_clear_leaves_a_kitchen_that_has_a_name(two_kitchens):
    page = two_kitchens
    type_in(page, meat="3 kg")
    settled(page)
    typed = dose(page).inner_text()
    page.locator("[data-clear]").click()
    expect(page.locator("#f-meat")).not_to_have_value("3 kg")
    expect(dose(page)).not_to_have_text(typed)
    shown(page, **CLUB)
    expect(page.locator("[data-status]")).to_contain_text("Your kitchen “Club house” stays.")
    kept = device(page)
    assert kept["kitchenName"] == "Club house" and kept["kitchen"] == CLUB
    page.reload()
    shown(page, **CLUB)
