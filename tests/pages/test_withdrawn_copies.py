"""What was taken back is refused wherever an old copy of it turns up: a link, a frame, a copy without a network."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from curebatch.intake.link import decode
from curebatch.words import say
from helpers.card_page import LOAF_PAGE, START_MS, dose, expected, expected_weights, plain, recipe_link, section, settled, weights
from helpers.hosts import LONG, READY, Host, link, offline_troubles, see_card
from helpers.runtime import built_site
from helpers.versions import copy, second_revision
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.site
REASON = "The nitrite was given per kilo of meat."
LIST = json.dumps({"recipes": {"pistachio-pork-loaf.1": REASON}, "editions": {}})
CHANGED = "The nitrite is per kilo of the whole mix."


@pytest.fixture
def host(tmp_path: Path, watch) -> Iterator[Host]:
    made = Host(copy(built_site(), tmp_path / "site"), "/club/").start()
    watch.places.append(made.url)
    yield made
    made.stop()


def assert_refused(page: Page) -> None:
    messages = page.locator("[data-section=messages], [data-section=verdict]")
    expect(messages.filter(has_text=re.compile("withdrawn")).first).to_be_visible(timeout=LONG)
    expect(section(page, "messages")).to_contain_text(REASON, timeout=LONG)
    expect(dose(page)).to_have_count(0)
    expect(section(page, "strengths").locator("tbody tr")).to_have_count(0)


def test_an_old_link_is_refused_and_leads_to_the_newer_revision(host, page, assert_no_axe_findings):
    second_revision(host.folder, "pistachio-pork-loaf", CHANGED)
    (host.folder / "withdrawn.json").write_text(LIST, "utf-8")
    page.goto(f"{host.url}{LOAF_PAGE}#{recipe_link(meat='3 kg', nitrite='90 mg/kg', nitrite_per='mix')}")
    settled(page)
    assert_refused(page)
    expect(section(page, "messages")).to_contain_text(CHANGED)
    assert_no_axe_findings(page)

    newer = section(page, "messages").get_by_role("link", name=say("view.newer"))
    entries, faults = decode(newer.get_attribute("href"))
    # As much of it; what the older one asked for stays behind.
    assert not faults and entries["recipe"] == "pistachio-pork-loaf.2" and entries["meat"] == "3kg" and entries["nitrite"] == "104mg/kg"
    newer.click()
    expect(section(page, "verdict")).not_to_contain_text("withdrawn", timeout=START_MS)
    settled(page)
    expect(page.locator("#f-meat")).to_have_value("3 kg")
    page.locator("#f-pack").fill("6.25 %")
    settled(page)
    assert weights(page) == expected_weights(expected(fields={"meat": "3 kg", "pack": "6.25 %"}))


def test_a_frame_with_a_link_of_the_withdrawn_revision_is_refused(host, page):
    (host.folder / "withdrawn.json").write_text(LIST, "utf-8")
    # What stands behind its address counts for nothing, be it a link or a recipe of somebody's own.
    for behind in ("", f"#{recipe_link(meat='3 kg')}", "?own=x&look=dark"):
        page.goto(f"{host.url}embed/pistachio-pork-loaf/{behind}")
        expect(page.locator("[data-withdrawn]")).to_contain_text(REASON)
        expect(page.locator("[data-usable]")).to_have_count(0)
        assert not re.search(r"\d g\b", plain(page.locator("main").inner_text()))


@pytest.mark.parametrize("told", ["before it breaks", "after it broke"])
def test_without_python_what_was_published_is_taken_away_as_well(told, host, new_page, watch):
    page = new_page(base_url=host.url)
    page.route("**/*.wasm", lambda route: route.abort())
    watch.allow(r"failed \(net::ERR_FAILED\)")
    watch.tolerate(r"Failed to (fetch|load resource)|ERR_FAILED")
    if told == "before it breaks":
        (host.folder / "withdrawn.json").write_text(LIST, "utf-8")
    page.goto(host.url + LOAF_PAGE)
    trouble = page.locator("[data-trouble]")
    expect(trouble).to_be_visible(timeout=LONG)
    if told == "after it broke":
        expect(section(page, "strengths").locator("tbody tr").first).to_be_visible()
        (host.folder / "withdrawn.json").write_text(LIST, "utf-8")
        page.evaluate("performance.now = ((now) => () => now() + 600_000)(performance.now.bind(performance))")
        page.evaluate("dispatchEvent(new Event('online'))")
    expect(trouble).to_contain_text(REASON, timeout=LONG)
    expect(page.locator("[data-card]")).to_be_hidden()
    expect(page.locator("[data-paper]")).to_have_count(0)


@pytest.fixture
def visit(new_page: Callable[..., Page], host: Host) -> Callable[..., Page]:
    """A page on a device that keeps the site, shown again from there with the server gone."""

    def make(way: str) -> Page:
        page = new_page(base_url=host.url, service_workers="allow")
        page.goto(host.url + way)
        page.locator(READY).wait_for(state="attached", timeout=LONG)
        return page

    return make


def test_a_copy_that_comes_online_again_is_refused(visit, host, watch):
    page = visit(LOAF_PAGE + link())
    see_card(page)
    host.stop()
    offline_troubles(watch)
    page.reload()
    expect(dose(page)).to_be_visible(timeout=LONG)  # nobody has told it
    (host.folder / "withdrawn.json").write_text(LIST, "utf-8")
    host.start()
    page.evaluate("dispatchEvent(new Event('online'))")
    assert_refused(page)
    # Told once, it knows for good: without a network, by another link, and where the page is drawn anew.
    host.stop()
    page.goto(host.url + LOAF_PAGE + link(meat="1.2 kg"))
    assert_refused(page)


def test_a_page_drawn_on_the_device_knows_what_was_withdrawn(visit, host, watch):
    (host.folder / "withdrawn.json").write_text(LIST, "utf-8")
    page = visit("recipes/corned-brisket/")
    host.stop()
    offline_troubles(watch)
    page.goto(host.url + LOAF_PAGE)
    expect(page.locator("h1")).to_have_text(expected()["card"]["title"], timeout=LONG)
    assert_refused(page)
