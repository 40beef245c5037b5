"""A recipe of the cook's own on its page: typed, kept, shared, saved, opened, copied and deleted."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, card_link, dose, expected, expected_weights, section, settled, type_in, weights
from playwright.sync_api import Locator, Page, expect

pytestmark = pytest.mark.site

OWN_PAGE = "own/"
KITCHEN = {"pack": "6.25 %", "scale": "0.1 g", "fine_scale": "0.01 g"}
TYPED = {
    "title": "Harbour loaf", "method": "ground", "targets.nitrite": "104 mg/kg", "targets.nitrite_as": "NaNO2", "targets.nitrite_per": "mix",
    "targets.salt": "2.1 %", "targets.salt_per": "mix", "batch.meat": "2 kg", "batch.portions": "20",
}  # fmt: skip
ROWS = [{"name": "Pork shoulder", "role": "meat", "amount": "100 %", "per": "meat"}, {"name": "Ice", "role": "ice", "amount": "400 g"}]
STEPS = ["Chop {pork-shoulder} with {curing_salt}.", "Fold in {ice}."]
# What the file of that holds.
DATA = {
    "title": "Harbour loaf", "method": "ground", "kinds": ["pork"],
    "targets": {"nitrite": "104 mg/kg", "nitrite_as": "NaNO2", "nitrite_per": "mix", "salt": "2.1 %", "salt_per": "mix"},
    "batch": {"meat": "2 kg", "portions": 20}, "ingredient": ROWS, "step": [{"text": text} for text in STEPS],
}  # fmt: skip


def place(page: Page, path: str) -> Locator:
    """The place in the form for a key of a recipe file; its id has dots."""
    return page.locator(f'[id="f-{path}"]')


def put(control: Locator, text: str) -> None:
    if control.evaluate("control => control.tagName") == "SELECT":
        control.select_option(text)
    else:
        control.fill(text)


def write(page: Page) -> None:
    """The small recipe, typed as a cook does."""
    for path, text in TYPED.items():
        put(place(page, path), text)
    page.get_by_label("pork", exact=True).check()
    for number, row in enumerate(ROWS, 1):
        if number > 1:
            page.locator("[data-own-add]").click()
        for key, text in row.items():
            put(place(page, f"ingredient.{number}.{key}"), text)
    place(page, "step").fill("\n".join(STEPS))
    settled(page)


def shown(page: Page) -> dict[str, str]:
    """What stands in the form's places for a recipe file."""
    return page.locator("[data-own]").evaluate_all("all => Object.fromEntries(all.map(one => [one.dataset.own, one.value]).filter(([, value]) => value))")


def kept(page: Page) -> list[str]:
    return page.locator("[data-own-shelf] option").all_inner_texts()[1:]


def no_sideways(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def saved(page: Page, folder: Path) -> Path:
    with page.expect_download() as coming:
        page.locator("[data-own-save]").click()
    way = folder / coming.value.suggested_filename
    coming.value.save_as(way)
    return way


@pytest.fixture
def written(page: Page) -> Page:
    page.goto(OWN_PAGE)
    write(page)
    type_in(page, **KITCHEN)
    return page


def test_a_recipe_written_on_the_page_gives_its_card(written, assert_no_axe_findings):
    answer = expected(page="own", own=DATA, fields=KITCHEN)
    assert answer["faults"] == []
    expect(dose(written)).to_have_count(1)
    assert weights(written) == expected_weights(answer)
    expect(written.locator("[data-card]")).to_contain_text("Chop 2000")
    assert_no_axe_findings(written)
    no_sideways(written)


def test_an_empty_page_says_what_to_do_and_what_is_missing_comes_by_and_by(page, assert_no_axe_findings):
    page.goto(OWN_PAGE)
    expect(section(page, "verdict")).to_contain_text("Say what you make")
    assert_no_axe_findings(page)
    no_sideways(page)
    place(page, "title").fill("Harbour loaf")
    settled(page)
    expect(section(page, "verdict")).to_contain_text("“Method” is still empty")
    assert not page.locator("form [data-fault]:visible").count(), "told of what the cook has not come to"
    put(place(page, "ingredient.1.amount"), "20 x")
    put(place(page, "targets.nitrite"), "104")
    fault = page.locator('[id="e-targets.nitrite"]')
    expect(fault).to_contain_text("Expected: 104 mg/kg.", timeout=START_MS)
    expect(place(page, "targets.nitrite")).to_have_attribute("aria-invalid", "true")
    expect(page.locator('[id="e-ingredient.1.amount"]')).to_be_visible()
    pork = page.get_by_label("pork", exact=True)
    pork.check()
    pork.uncheck()
    expect(page.locator("#e-kinds")).to_contain_text("still empty")
    assert_no_axe_findings(page)
    no_sideways(page)
    # The card leads to the place.
    section(page, "verdict").get_by_role("link", name="Ingredient 1").last.click()
    assert page.evaluate("document.activeElement.id").startswith("f-ingredient.1.")


def test_any_amount_changed_moves_the_card_at_once(written):
    put(place(written, "ingredient.2.amount"), "600 g")
    settled(written)
    rows = [ROWS[0], {**ROWS[1], "amount": "600 g"}]
    assert weights(written) == expected_weights(expected(page="own", own={**DATA, "ingredient": rows}, fields=KITCHEN))
    type_in(written, meat="3 kg")
    assert weights(written) == expected_weights(expected(page="own", own={**DATA, "ingredient": rows}, fields={**KITCHEN, "meat": "3 kg"}))


def test_rows_come_and_go_and_keep_their_numbers(written):
    written.locator("[data-own-add]").click()
    assert written.evaluate("document.activeElement.id") == "f-ingredient.3.name"
    put(place(written, "ingredient.3.name"), "Mace")
    put(place(written, "ingredient.3.role"), "spice")
    put(place(written, "ingredient.3.amount"), "5 g")
    settled(written)
    expect(section(written, "amounts")).to_contain_text("Mace")
    place(written, "step").fill(STEPS[0])
    written.locator("[data-own-remove]").nth(1).click()
    settled(written)
    assert place(written, "ingredient.2.name").input_value() == "Mace" and place(written, "ingredient.3.name").count() == 0
    assert weights(written) == expected_weights(
        expected(page="own", own={**DATA, "ingredient": [ROWS[0], {"name": "Mace", "role": "spice", "amount": "5 g"}], "step": [{"text": STEPS[0]}]}, fields=KITCHEN)
    )


def test_it_is_kept_over_a_reload_and_beside_another(written):
    before, was = shown(written), weights(written)
    written.reload()
    settled(written)
    expect(dose(written)).to_have_count(1, timeout=START_MS)
    assert shown(written) == before and weights(written) == was
    assert kept(written) == ["Harbour loaf"]
    written.locator("[data-own-shelf]").select_option(label="A new one")
    assert place(written, "title").input_value() == ""
    place(written, "title").fill("Second")
    settled(written)
    expect(written.locator("[data-own-shelf] option")).to_have_text(["A new one", "Harbour loaf", "Second"])
    written.locator("[data-own-shelf]").select_option(label="Harbour loaf")
    expect(place(written, "title")).to_have_value("Harbour loaf")
    settled(written)
    expect(dose(written)).to_have_count(1)
    assert shown(written) == before and weights(written) == was


def test_its_link_opens_on_a_fresh_device_with_the_same_card(written, new_page):
    written.locator('[data-share="recipe"]').click()
    field = written.locator("#share-link")
    expect(field).to_be_visible()
    address = field.input_value()
    assert "#v=1&own=" in address and "6.25" not in address
    other = new_page()
    other.goto(address)
    settled(other)
    expect(place(other, "title")).to_have_value("Harbour loaf")
    expect(dose(other)).to_have_count(0)  # the pack stayed at home
    type_in(other, **KITCHEN)
    assert weights(other) == weights(written)
    assert {key: text for key, text in shown(other).items()} == shown(written)
    # Opened twice it is there once.
    other.goto("about:blank")
    other.goto(address)
    settled(other)
    assert kept(other) == ["Harbour loaf"]
    # It is there to be made: its title stands above it, the pack is asked for first, and to change it is another matter.
    expect(other.get_by_role("heading", level=1)).to_have_text("Harbour loaf")
    expect(place(other, "targets.salt")).to_be_hidden()
    other.locator("[data-own-parts] > summary").click()
    # What is changed then is the cook's, and the address no longer says otherwise.
    put(place(other, "targets.salt"), "1.9 %")
    settled(other)
    assert "#" not in other.url
    other.reload()
    settled(other)
    expect(place(other, "targets.salt")).to_have_value("1.9 %")


def test_its_card_link_asks_for_the_pack_on_the_other_device(written, new_page):
    written.locator('[data-share="card"]').click()
    address = written.locator("#share-link").input_value()
    other = new_page()
    other.goto(address)
    settled(other)
    expect(dose(other)).to_have_count(0)
    other.locator("[data-confirm-pack]").click()  # not check(): the box goes with what it has confirmed
    settled(other)
    assert weights(other) == weights(written)


def test_a_link_of_it_opened_elsewhere_goes_to_its_page(page):
    link = expected(page="own", own=DATA)["links"]["recipe"]
    page.goto(f"{LOAF_PAGE}#{link}")
    page.wait_for_url(re.compile("/own/#v=1"), timeout=START_MS)
    settled(page)
    expect(place(page, "title")).to_have_value("Harbour loaf")


def test_its_file_is_saved_and_opens_on_another_device(written, new_page, tmp_path):
    way = saved(written, tmp_path)
    assert way.name == "harbour-loaf.1.toml"
    assert tomllib.loads(way.read_text("utf-8"))["targets"] == DATA["targets"] and "6.25" not in way.read_text("utf-8")
    other = new_page()
    other.goto(OWN_PAGE)
    type_in(other, **KITCHEN)
    other.locator("[data-own-file]").set_input_files(way)
    expect(place(other, "title")).to_have_value("Harbour loaf", timeout=START_MS)
    settled(other)
    assert weights(other) == weights(written) and shown(other) == shown(written)
    other.reload()
    settled(other)
    expect(place(other, "title")).to_have_value("Harbour loaf")
    assert saved(other, tmp_path / "again").read_text("utf-8") == way.read_text("utf-8")


def test_what_is_no_recipe_file_takes_nothing_away(written, tmp_path):
    broken = tmp_path / "photo.toml"
    broken.write_bytes(bytes(range(256)) * 8)
    written.locator("[data-own-file]").set_input_files(broken)
    expect(section(written, "verdict")).to_contain_text("The file: not TOML", timeout=START_MS)
    expect(dose(written)).to_have_count(0)
    assert place(written, "title").input_value() == "Harbour loaf"
    put(place(written, "batch.portions"), "21")
    settled(written)
    expect(dose(written)).to_have_count(1)
    assert kept(written) == ["Harbour loaf"]


def test_a_published_recipe_is_changed_into_ones_own(page):
    page.goto(LOAF_PAGE)
    type_in(page, **KITCHEN, meat="3 kg")
    theirs = weights(page)
    page.locator("[data-own-copy]").click()
    page.wait_for_url(re.compile("/own/#v=1"))
    settled(page)
    expect(place(page, "title")).to_have_value("Pistachio pork loaf, my own", timeout=START_MS)
    expect(dose(page)).to_have_count(1, timeout=START_MS)  # the kitchen is this device's
    assert weights(page) == theirs
    no_sideways(page)
    put(place(page, "targets.salt"), "1.8 %")
    settled(page)
    assert weights(page) != theirs
    page.reload()
    settled(page)
    expect(place(page, "targets.salt")).to_have_value("1.8 %")
    # The published one is as it was.
    page.goto("about:blank")
    page.goto(LOAF_PAGE)
    settled(page)
    assert weights(page) == theirs


def test_a_card_link_of_a_recipe_keeps_its_kitchen_in_the_copy(page):
    page.goto(f"{OWN_PAGE}#{card_link(meat='3 kg', **KITCHEN)}")
    settled(page)
    expect(place(page, "title")).to_have_value("Pistachio pork loaf, my own", timeout=START_MS)
    expect(page.locator("#f-pack")).to_have_value("6.25 %")
    expect(page.locator("#f-meat")).to_have_value("")
    expect(place(page, "batch.meat")).to_have_value("3000 g")
    expect(page.locator("[data-confirm-pack]")).to_have_count(1)


def test_deleting_asks_once_and_deletes(written):
    asked: list[str] = []
    answers = iter([False, True])

    def reply(dialog) -> None:
        asked.append(dialog.message)
        dialog.accept() if next(answers) else dialog.dismiss()

    written.on("dialog", reply)
    written.locator("[data-own-drop]").click()
    assert place(written, "title").input_value() == "Harbour loaf"
    place(written, "title").fill("Harbour loaf 2")
    written.locator("[data-own-drop]").click()
    assert len(asked) == 2 and all("Delete this recipe" in text for text in asked)
    expect(place(written, "title")).to_have_value("")
    assert kept(written) == []
    written.reload()
    settled(written)
    assert kept(written) == [] and place(written, "title").input_value() == ""
    expect(written.locator("#f-pack")).to_have_value("6.25 %")  # the kitchen is not the recipe's


def test_save_before_it_is_whole_says_so(page):
    page.goto(OWN_PAGE)
    place(page, "title").fill("Harbour loaf")
    settled(page)
    page.locator("[data-own-save]").click()
    expect(page.locator("[data-status]")).to_contain_text("not whole yet")


def test_three_hundred_ingredients_stay_quick_to_type_in(page):
    rows = [*ROWS, *({"name": f"Spice {number}", "role": "spice", "amount": "1 g"} for number in range(298))]
    link = expected(page="own", own={**DATA, "ingredient": rows})["links"]["recipe"]
    page.goto(f"{OWN_PAGE}#{link}")
    settled(page)
    expect(place(page, "ingredient.300.name")).to_have_value("Spice 297", timeout=START_MS)
    took = page.evaluate(
        """() => {
          const field = document.getElementById("f-ingredient.150.name");
          const start = performance.now();
          field.value = "Salty mace";
          field.dispatchEvent(new InputEvent("input", { bubbles: true }));
          return performance.now() - start;
        }"""
    )
    assert took < 500  # on the page's thread; the sum itself is done beside it
    settled(page)
