"""A page with a card, as a cook sees it."""

from __future__ import annotations

import re

from curebatch.intake.link import encode
from playwright.sync_api import Locator, Page, expect

from .runtime import answers_here

LOAF = "pistachio-pork-loaf.1"
LOAF_PAGE = "recipes/pistachio-pork-loaf/"

# Python has to start first, on machines that have other things to do.
START_MS = 30_000

# Watches what is painted: every text that a section of the card ever shows, with the address it
# was shown under. Begins with the first frame: before it nothing is painted.
PAINTED = """
(() => {
  const painted = (globalThis.painted = []);
  const look = () => {
    for (const section of document.querySelectorAll("[data-section]")) {
      const text = section.innerText.trim();
      if (!text || !section.checkVisibility({ opacityProperty: true, visibilityProperty: true })) continue;
      const entry = `${location.hash}\\n${section.dataset.section}\\n${text}`;
      if (!painted.includes(entry)) painted.push(entry);
    }
  };
  const frame = () => { look(); requestAnimationFrame(frame); };
  requestAnimationFrame(() => {
    frame();
    new MutationObserver(look).observe(document, {
      subtree: true, childList: true, attributes: true, characterData: true,
    });
  });
})();
"""


def section(page: Page, key: str) -> Locator:
    return page.locator(f'[data-section="{key}"]')


def plain(text: str | None) -> str:
    return re.sub(r"\s+", " ", text or "").strip()


def weights(page: Page) -> list[str]:
    """What is to be weighed, each row as the figure with its unit, in the order shown."""
    cells = section(page, "amounts").locator("tbody td").all()
    return [plain(cell.text_content()) for cell in cells]


def dose(page: Page) -> Locator:
    """The row of the curing salt: there must be none wherever no dose may be shown.

    Found by what a cook reads, so that no renaming makes it be missed.
    """
    return section(page, "amounts").locator("tbody tr").filter(has_text="Curing salt")


def seen(place: Locator) -> bool:
    """Whether the eye sees it: what is merely clear is out of sight as well, and is there for nobody soon after."""
    return place.is_visible() and place.evaluate("place => place.checkVisibility({ opacityProperty: true, visibilityProperty: true })")


def expected(**given) -> dict:
    """The answer of the same program in this Python."""
    fields = given.pop("fields", {})
    told = {"page": "recipe", "recipe": LOAF, "confirmed_packs": [], "fields": fields, **given}
    if told["page"] != "recipe":
        del told["recipe"]
    (answer,) = answers_here([{"id": 1, "build": "test", "input": told, "want": ["all"]}])
    return answer


def expected_weights(answer: dict) -> list[str]:
    return [plain(row["weigh"]["text"]) for row in answer["card"]["amounts"]]


def recipe_link(**entries: str) -> str:
    return encode({"recipe": LOAF, **entries}, kitchen=False)


def card_link(**entries: str) -> str:
    return encode({"recipe": LOAF, **entries}, kitchen=True)


def settled(page: Page) -> None:
    """The card on the page is the one for what stands in the form and the address, and all of it is open."""
    arrived(page)
    unfold(page)


def arrived(page: Page) -> None:
    """The card on the page is the one for what stands in the form and the address; open is what the reader opened."""
    expect(page.locator("html[data-awaiting]")).to_have_count(0, timeout=START_MS)
    expect(page.locator("[data-card][data-stale]")).to_have_count(0, timeout=START_MS)
    # The tables and drawings that follow have come as well.
    expect(page.locator("[data-card][data-part]")).to_have_count(0, timeout=START_MS)


def unfold(page: Page) -> None:
    """What opens when it is wanted is wanted."""
    page.evaluate("document.querySelectorAll('[data-card] details').forEach((part) => { part.open = true; })")


def type_in(page: Page, **fields: str) -> None:
    """Type as a cook does; a key of an ingredient has a dot, so it is found by its name."""
    for key, text in fields.items():
        control = page.locator(f'form [name="{key}"]')
        for details in control.locator("xpath=ancestor::details[not(@open)]").all():
            details.locator("summary").first.click()
        if control.evaluate("control => control.tagName") == "SELECT":
            control.select_option(text)
        else:
            control.fill(text)
    settled(page)


def painted(page: Page) -> list[tuple[str, str, str]]:
    """(fragment, section, text) of everything that was painted; needs PAINTED before the visit."""
    return [tuple(entry.split("\n", 2)) for entry in page.evaluate("painted")]
