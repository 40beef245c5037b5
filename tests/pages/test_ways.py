"""The ways on a phone: a touch leads to the begin of what it names, and nothing lies over that."""

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, settled, type_in
from playwright.sync_api import Locator, Page, expect

pytestmark = pytest.mark.site

STRIP = 44  # px: what stays at the top of a page that is scrolled


def top_of(place: Locator) -> float:
    return place.evaluate("element => element.getBoundingClientRect().top")


def lies_open(page: Page, place: Locator) -> bool:
    """Whether the middle of a place is to be seen: nothing else lies over it."""
    return place.evaluate("""element => {
        const box = element.getBoundingClientRect();
        const seen = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        return element === seen || element.contains(seen) || seen?.contains(element) === true;
    }""")


@pytest.mark.parametrize("way", [LOAF_PAGE, "found/", "own/"])
@pytest.mark.parametrize("by", ["a.bar", '.jump a[href="#card"]'])
def test_the_way_to_the_card_leads_to_its_begin(page, way, by):
    page.goto(way)
    settled(page)
    page.locator(by).first.click()
    card = page.locator("#card")
    expect(card).to_be_focused()
    assert STRIP <= top_of(card) < 200  # lower only where the page ends
    expect(card.locator(".tag-title")).to_be_in_viewport()


def test_where_a_pack_is_to_be_confirmed_the_bar_leads_to_the_box(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="10 %")
    bar = page.locator("a.bar")
    expect(bar).to_contain_text("Confirm", timeout=START_MS)
    bar.click()
    box = page.locator("[data-confirm-pack]")
    expect(box).to_be_focused()
    expect(box).to_be_in_viewport()
    assert lies_open(page, box)


@pytest.mark.parametrize("way", [LOAF_PAGE, "found/", "own/", "", "day/", "rules/"])
def test_help_opens_at_its_first_line_from_the_head_and_from_further_down(page, way):
    page.goto(way)
    if way in (LOAF_PAGE, "found/", "own/"):
        settled(page)
    strip = page.locator(".help-strip")
    expect(strip).to_be_hidden()
    page.locator("a[data-help]").click()
    title = page.locator("#eaten-title")
    expect(title).to_be_in_viewport()
    assert lies_open(page, title)
    expect(page.locator("#eaten li").first).to_be_in_viewport()
    expect(page.locator("a.bar")).to_be_hidden()
    expect(strip).to_be_hidden()
    page.evaluate("scrollTo(0, 400)")
    if page.locator("#eaten").evaluate("element => element.getBoundingClientRect().top < innerHeight"):
        return  # all of it is on one screen
    expect(strip).to_be_visible()
    assert strip.bounding_box()["height"] >= STRIP
    strip.click()
    expect(title).to_be_in_viewport()
    assert lies_open(page, title)


def test_a_fault_named_in_the_summary_is_shown_with_its_field_and_its_label(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="1 500 g")
    page.locator("#f-meat").press("Enter")
    summary = page.locator("[data-fault-summary]")
    expect(summary).to_be_in_viewport(timeout=START_MS)
    summary.locator("a").first.click()
    field = page.locator("#f-meat")
    expect(field).to_be_focused()
    assert lies_open(page, field)
    expect(page.locator('label[for="f-meat"]')).to_be_in_viewport()
