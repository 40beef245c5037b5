"""The picture of Python's memory: made on the device, proved, and thrown away at the first doubt."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from helpers.card_page import arrived
from helpers.hosts import LONG, READY, Host, offline_troubles
from helpers.runtime import built_site
from playwright.sync_api import Page, expect

RECIPE = "recipes/pistachio-pork-loaf/"

OPEN = """
const open = indexedDB.open("curebatch / snapshot", 1);
const done = (request) => new Promise((good, bad) => { request.onsuccess = () => good(request.result); request.onerror = bad; });
const database = await done(open);
const store = database.transaction("snapshots", "readwrite").objectStore("snapshots");
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return shutil.copytree(built_site(), tmp_path_factory.mktemp("host") / "site")


@pytest.fixture
def host(folder: Path, watch) -> Iterator[Host]:
    made = Host(folder, "/").start()
    watch.places.append(made.url)
    yield made
    made.stop()


@pytest.fixture
def with_picture(new_page: Callable[..., Page], host: Host) -> Page:
    """A page whose device holds a picture of the start."""
    page = new_page(base_url=host.url, service_workers="allow")
    page.goto(host.url + RECIPE)
    page.locator(READY).wait_for(state="attached", timeout=LONG)
    page.locator("html[data-picture=made]").wait_for(state="attached", timeout=LONG)
    return page


def test_it_is_restored_without_a_server_and_works_out_the_same_card(with_picture, host, watch):
    page = with_picture
    page.locator("#f-pack").fill("6.25 %")
    page.locator("#f-meat").fill("2.4 kg")
    page.locator("#f-fine_scale").fill("0.1 g")
    amounts = page.locator("[data-section=amounts]")
    arrived(page)
    before = amounts.inner_text()
    assert "sodium nitrite" in before
    assert page.locator("html").get_attribute("data-started") == "anew"
    host.stop()
    offline_troubles(watch)
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-started", "restored", timeout=LONG)
    arrived(page)
    assert amounts.inner_text() == before
    # Another recipe, and a page drawn on the device, need nothing that is not in it.
    page.goto(host.url + "recipes/back-bacon/")
    page.locator("#f-pack").fill("0.6 %")
    expect(page.locator("[data-section=verdict]")).to_be_visible(timeout=LONG)
    assert page.locator("[data-trouble]").is_hidden()


SPOILED = {
    "of another build": "record.build = '0123456789ab';",
    "cut short": "record.memory = record.memory.slice(0, -65536);",
    "altered": "new Uint8Array(record.memory)[12_345_678] ^= 1;",
    "no picture at all": "record.memory = 'soup';",
    "right by its own digest, and not by its work": """
        const bytes = new Uint8Array(record.memory);
        bytes.fill(0, 2_000_000, 28_000_000);
        const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
        record.sha256 = Array.from(hash, (byte) => byte.toString(16).padStart(2, '0')).join('');
    """,
}


def test_one_that_is_in_doubt_is_thrown_away(with_picture, host, watch):
    page = with_picture
    watch.tolerate("Pyodide has suffered a fatal error|table index is out of bounds|memory access|console: |page error")
    # Made once, and laid aside beside it.
    page.evaluate(f"""async () => {{ {OPEN}
        const record = await done(store.get("start"));
        await done(database.transaction("snapshots", "readwrite").objectStore("snapshots").put(record, "aside"));
        database.close(); }}""")
    for how, spoil in {"not at all": "", **SPOILED}.items():
        page.goto(host.url + "licences/")  # no Python here that would make one meanwhile
        page.evaluate(f"""async () => {{ {OPEN}
            const record = await done(store.get("aside"));
            {spoil}
            await done(database.transaction("snapshots", "readwrite").objectStore("snapshots").put(record, "start"));
            database.close(); }}""")
        page.goto(host.url + RECIPE)
        page.locator("#f-pack").fill("6.25 %")
        page.locator("#f-meat").fill("1.2 kg")
        expect(page.locator("[data-section=amounts]")).to_contain_text("900 g", timeout=LONG)
        expect(page.locator("html")).to_have_attribute("data-started", "anew" if spoil else "restored")
        kept = page.evaluate(f"async () => {{ {OPEN} const record = await done(store.get('start')); database.close(); return record !== undefined; }}")
        assert kept == (how == "not at all"), how


def test_none_is_made_where_the_origin_may_be_shared(new_page, watch, tmp_path, folder):
    (tmp_path / "host").mkdir()
    (tmp_path / "host" / "club").symlink_to(folder)
    shared = Host(tmp_path / "host" / "club", "/club/").start()
    watch.places.append(shared.url)
    try:
        page = new_page(base_url=shared.url, service_workers="allow")
        page.goto(shared.url + RECIPE)
        page.locator(READY).wait_for(state="attached", timeout=LONG)
        page.wait_for_timeout(9000)
        names = page.evaluate("indexedDB.databases().then((all) => all.map(({ name }) => name))")
        assert [name for name in names if name.startswith("curebatch")] == ["curebatch /club/"]
    finally:
        shared.stop()
