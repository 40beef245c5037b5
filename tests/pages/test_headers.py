"""The site under the rules that it writes for its hosts: everything works, and only the frame may be framed."""

from __future__ import annotations

import shutil

import pytest
from curebatch.views import embed
from helpers.card_page import LOAF_PAGE, START_MS, expected, expected_weights, settled, type_in, weights
from helpers.hosts import LONG, READY, Host, link, offline_troubles, see_card
from helpers.runtime import built_site
from playwright.sync_api import expect

pytestmark = [pytest.mark.site, pytest.mark.cold_start]
KITCHEN = {"pack": "6.25 %", "fine_scale": "0.1 g"}


@pytest.fixture
def host(tmp_path, watch):
    made = Host(shutil.copytree(built_site(), tmp_path / "site"), "/club/", headers=True).start()
    watch.places.append(made.url)
    yield made
    made.stop()


@pytest.fixture
def blog(tmp_path, watch):
    """Another site, under another name and with no rules of its own: blog(html) gives its address."""
    hosts = []

    def serve(text: str) -> str:
        folder = tmp_path / f"blog{len(hosts)}"
        folder.mkdir()
        (folder / "index.html").write_text(f'<!doctype html><html lang="en"><head><title>A blog</title><link rel="icon" href="data:,"></head><body>{text}</body></html>', "utf-8")
        made = Host(folder, "/").start()
        hosts.append(made)
        address = made.url.replace("127.0.0.1", "localhost")
        watch.places.append(address)
        return address

    yield serve
    for made in hosts:
        made.stop()


def test_a_page_works_and_says_what_its_host_was_told(host, page, assert_no_axe_findings):
    response = page.goto(host.url + LOAF_PAGE)
    assert response.headers["content-security-policy"].endswith("frame-ancestors 'none'")
    assert (response.headers["cache-control"], response.headers["referrer-policy"], response.headers["x-content-type-options"]) == ("no-cache", "no-referrer", "nosniff")
    type_in(page, **KITCHEN)
    settled(page)
    assert weights(page) == expected_weights(expected(fields=KITCHEN))
    assert_no_axe_findings(page)


def test_a_recipe_may_be_framed_by_anybody_and_no_other_page_by_anyone(host, blog, page, watch):
    place = f"{host.url}recipes/pistachio-pork-loaf/"
    made = embed.snippet(f"{host.url}embed/pistachio-pork-loaf/", place, "Pistachio pork loaf", f"{host.url}embed.js")
    page.goto(blog(made))
    frame = page.frame_locator("iframe")
    frame.locator("#f-pack").fill("6.25 %")
    expect(frame.locator("[data-section=amounts]")).to_contain_text("6.25 % sodium nitrite", timeout=2 * START_MS)
    expect(page.locator("iframe")).not_to_have_attribute("height", str(embed.HEIGHT))
    watch.allow(r"frame-ancestors|ERR_BLOCKED_BY_RESPONSE")
    watch.tolerate("chrome-error|ERR_BLOCKED")
    page.goto(blog(f'<iframe src="{place}" title="a"></iframe><p>done</p>'))
    expect(page.get_by_text("done")).to_be_visible()
    page.wait_for_load_state("load")
    assert not page.frame_locator("iframe").locator("#f-pack").count()


def test_without_a_server_it_starts_from_what_was_kept(host, new_page, watch):
    page = new_page(base_url=host.url, service_workers="allow")
    page.goto(host.url + LOAF_PAGE)
    page.locator(READY).wait_for(state="attached", timeout=LONG)
    host.stop()
    offline_troubles(watch)
    page.goto(host.url + LOAF_PAGE + link())
    see_card(page)
