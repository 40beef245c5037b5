"""Paper carries the card, or says that it was not ready."""

from __future__ import annotations

import json
import re
import subprocess
from datetime import date
from pathlib import Path

import pytest
from curebatch.words import say
from helpers.card_page import LOAF, LOAF_PAGE, START_MS, dose, expected, expected_weights, plain, recipe_link, section, type_in
from helpers.programs import program
from helpers.runtime import DIST, shelf_text
from playwright.sync_api import Page, expect

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


@pytest.mark.parametrize("scripts", [True, False])
def test_a_page_as_published_prints_its_sheet_with_targets_strengths_and_link(scripts, new_page, tmp_path):
    """By the browser's own menu, or where no script runs."""
    for ref in RECIPES if not scripts else [LOAF]:
        recipe = ref.rpartition(".")[0]
        page = new_page(java_script_enabled=scripts)
        page.goto(f"recipes/{recipe}/")
        expect(page.locator("[data-paper]")).to_be_hidden()
        answer = expected(recipe=ref)
        card = answer["card"]
        for size in ("A4", "Letter"):
            (text,) = pages_of(pdf(page, tmp_path, size))  # one sheet
            text = plain(text)
            for row in card["targets"]:
                assert row["text"] in text
            for row in card["strengths"]:
                assert row["text"].split(":")[0] in text
            for said in ("call the emergency number", card["rules_edition"], say("sheet.weighed")):
                assert said in text, said
            # The reader of the file joins words that a hyphen parts at a line's end.
            assert re.sub("-", "", answer["links"]["recipe"]) in re.sub(r"[\s-]", "", text)
            for row in card["amounts"]:
                assert plain(row["weigh"]["text"]) in text
        page.close()


def test_a_page_with_an_entry_prints_nothing_of_the_published_batch(page):
    page.goto(LOAF_PAGE)
    expect(page.locator("[data-paper=published]")).to_have_count(1)
    type_in(page, meat="3 kg")
    expect(page.locator("[data-paper]")).to_have_count(0)
    page.emulate_media(media="print")
    expect(section(page, "strengths")).to_be_visible()
    expect(dose(page)).to_have_count(0)
    page.goto("rules/")
    page.goto(LOAF_PAGE)  # the draft is taken up again
    expect(page.locator("#f-meat")).to_have_value("3 kg")
    expect(page.locator("[data-paper]")).to_have_count(0)


@pytest.mark.cold_start
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
    expect(page.locator("[data-paper]:visible")).to_have_count(0)
    expect(page.locator("[data-card] .waiting.on-paper")).to_be_visible()
    page.context.unroute_all(behavior="ignoreErrors")


# ------------------------------------------------------------------ the sheet, the label

KITCHEN = {"pack": "6.25 %", "scale": "1 g", "fine_scale": "0.1 g"}
NO_DIALOG = "globalThis.print = () => { globalThis.printed = (globalThis.printed ?? 0) + 1 }"
RECIPES = sorted(json.loads(shelf_text())["recipes"]) if (DIST / "index.html").is_file() else []


def print_out(page: Page, kind: str = "") -> None:
    button = page.locator(f'[data-print="{kind}"]')
    button.click()
    expect(page.locator(f'html[data-print="{kind or "sheet"}"]')).to_have_count(1, timeout=START_MS)


def pdf(page: Page, folder: Path, size: str) -> Path:
    made = folder / f"{size}.pdf"
    page.pdf(path=made, format=size)
    return made


def pages_of(paper: Path, *how: str) -> list[str]:
    """The text of each page, column by column; with "-layout" line by line across them."""
    text = subprocess.run([program("PDFTOTEXT", "pdftotext"), *how, paper, "-"], capture_output=True, text=True, check=True).stdout
    return text.split("\f")[:-1]


def code_on(paper: Path) -> str:
    """What a reader finds in the codes of a page that was printed at 300 dpi."""
    picture = paper.with_suffix("")
    subprocess.run([program("PDFTOPPM", "pdftoppm"), "-r", "300", "-gray", "-png", "-singlefile", paper, picture], check=True)
    read = [program("ZBARIMG", "zbarimg"), "--quiet", "--raw", f"{picture}.png"]
    return subprocess.run(read, capture_output=True, text=True, check=True).stdout.rstrip("\n")


@pytest.fixture
def printing(new_page):
    """A page whose print dialog is none, for what is asked for by a button."""
    made = new_page()
    made.add_init_script(NO_DIALOG)
    return made


@pytest.mark.parametrize("ref", RECIPES)
def test_the_sheet_is_one_page_with_every_weight_and_a_code_that_leads_to_the_link(ref, printing, tmp_path):
    recipe = ref.rpartition(".")[0]
    printing.goto(f"recipes/{recipe}/")
    uncured = printing.locator("#f-pack").count() == 0
    if not uncured:
        type_in(printing, **KITCHEN)
    print_out(printing)
    assert printing.evaluate("printed") == 1
    answer = expected(recipe=ref, fields={} if uncured else KITCHEN)
    link = printing.url.split("#")[0] + "#" + answer["links"]["recipe"]
    for size in ("A4", "Letter"):
        paper = pdf(printing, tmp_path, size)
        (text,) = pages_of(paper, "-layout")
        text = plain(text)
        for weight in expected_weights(answer):
            assert weight in text, weight
        assert code_on(paper) == link, size
        for said in ("call the emergency number", "edition 20", f"Printed {date.today().isoformat()}", say("view.understood"), say("sheet.weighed")):
            assert said in text, said


def test_the_sheet_without_a_pack_asks_for_it_and_has_the_table_of_strengths(printing, tmp_path):
    printing.goto(LOAF_PAGE)
    print_out(printing)
    (text,) = pages_of(pdf(printing, tmp_path, "A4"), "-layout")
    for row in expected()["card"]["strengths"]:
        assert row["text"].split(":")[0] in plain(text)
    assert "by what your own pack says" in plain(text)


def test_a_sheet_is_of_the_input_that_stands_there(printing):
    printing.goto(LOAF_PAGE)
    type_in(printing, **KITCHEN)
    print_out(printing)
    sheet = printing.locator("[data-paper=sheet]")
    expect(sheet).to_contain_text("1800 g")
    expect(sheet).to_be_hidden()  # on paper alone
    # Changed: what was laid out is gone at once, and paper carries what the page can say now.
    printing.locator("#f-meat").fill("1.2 kg")
    expect(printing.locator("[data-paper]")).to_have_count(0)
    expect(printing.locator("html[data-print]")).to_have_count(0)
    print_out(printing)
    expect(sheet).to_contain_text("900 g")
    assert "1800 g" not in sheet.inner_text()


def test_the_label_is_printed_alone(printing, tmp_path):
    printing.goto("recipes/back-bacon/")
    type_in(printing, **KITCHEN)
    print_out(printing, "label")
    (text,) = pages_of(pdf(printing, tmp_path, "A4"), "-layout")
    assert text.strip().startswith("RAW") and "Back bacon" in text and "Use by" in text
    assert "Plain salt" not in text and len(plain(text)) < 600
    # It was printed once; the browser's own menu prints the card again.
    printing.evaluate("dispatchEvent(new Event('afterprint'))")
    expect(printing.locator("html[data-print]")).to_have_count(0)


def test_the_keys_for_printing_print_the_sheet(printing):
    printing.goto(LOAF_PAGE)
    printing.keyboard.press("Control+p")
    expect(printing.locator("html[data-print=sheet]")).to_have_count(1, timeout=START_MS)
    assert printing.evaluate("printed") == 1


@pytest.mark.cold_start
def test_without_the_program_the_card_is_printed(printing, watch):
    watch.tolerate(r"wasm|Failed to load|ERR_FAILED|start: ")
    printing.route("**/*.wasm", lambda route: route.abort())
    printing.goto(LOAF_PAGE)
    printing.locator('[data-print=""]').click()
    expect(printing.locator("[data-trouble]")).to_be_visible(timeout=START_MS)
    assert printing.evaluate("printed") == 1
    printing.emulate_media(media="print")
    expect(printing.locator("[data-paper=published]")).to_contain_text(expected()["card"]["strengths"][0]["text"])
    expect(printing.locator("[data-paper=published]")).to_be_visible()
    # Once something was typed it is no longer the published one: then the card is printed, or that it is not ready.
    printing.locator("#f-meat").evaluate("field => { field.value = '3 kg'; field.dispatchEvent(new Event('input', { bubbles: true })); }")
    expect(printing.locator("[data-paper]")).to_have_count(0)
