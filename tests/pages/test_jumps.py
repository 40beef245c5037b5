"""Nothing jumps: on a phone the form stays where it is while a cook types and the answers come."""

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, dose, settled
from playwright.sync_api import expect

pytestmark = [pytest.mark.site, pytest.mark.cold_start]  # what a start shows must not jump either

SHIFTS = """
globalThis.shifts = [];
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) {
    if (entry.hadRecentInput) continue;
    shifts.push([entry.value, ...entry.sources.map(({ node, previousRect, currentRect }) =>
      `${node?.nodeName}.${node?.className ?? node?.textContent} ${previousRect.y}->${currentRect.y}`)]);
  }
}).observe({ type: "layout-shift", buffered: true });
"""


def test_a_typing_session_moves_nothing(new_page):
    page = new_page(viewport={"width": 360, "height": 720})
    page.add_init_script(SHIFTS)
    page.goto(LOAF_PAGE)
    settled(page)
    for key, text in (("pack", "6.25 %"), ("meat", "3 kg"), ("scale", "1,500 g"), ("scale", "1 g")):
        control = page.locator(f'form [name="{key}"]')
        control.fill("")
        control.press_sequentially(text, delay=15)
        # What comes later than half a second after a key counts as a jump: the status, the fault, the tables.
        expect(page.locator("[data-status]")).not_to_be_empty(timeout=START_MS)
        if text == "1,500 g":
            expect(page.locator("#e-scale")).to_be_visible(timeout=START_MS)
        else:
            settled(page)
    expect(dose(page)).to_have_count(1, timeout=START_MS)
    shifts = page.evaluate("shifts")
    assert sum(entry[0] for entry in shifts) < 0.02, shifts
