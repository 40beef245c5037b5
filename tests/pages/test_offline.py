"""The copy on the device: whole or not at all, without a network, and never swapped under the cook.

The server is really stopped. (In the other engines: tests/engines.)
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from helpers.hosts import LONG, READY, Host, link, offline_troubles, see_card
from helpers.runtime import built_site
from helpers.versions import next_version, put_in_place, site_data
from playwright.sync_api import Page, expect

@pytest.fixture
def host(tmp_path: Path, watch) -> Iterator[Host]:
    made = Host(shutil.copytree(built_site(), tmp_path / "site"), "/club/").start()
    watch.places.append(made.url)
    yield made
    made.stop()


@pytest.fixture
def visit(new_page: Callable[..., Page], host: Host) -> Callable[..., Page]:
    """A page on a device of its own that may keep the site: visit("found/")."""

    def make(way: str = "", page: Page | None = None, wait: bool = True, **settings) -> Page:
        page = page or new_page(base_url=host.url, service_workers="allow", **settings)
        page.goto(host.url + way)
        if wait:
            page.locator(READY).wait_for(state="attached", timeout=LONG)
        return page

    return make


def test_without_a_server_a_link_opens_and_a_change_is_worked_out(visit, host, watch):
    page = visit("recipes/pistachio-pork-loaf/")
    host.stop()
    offline_troubles(watch)
    page.goto(host.url + "recipes/pistachio-pork-loaf/" + link())
    see_card(page)
    page.locator("#f-meat").fill("1.2 kg")
    expect(page.locator("[data-section=amounts]")).to_contain_text("900 g")
    page.reload()
    expect(page.locator("[data-section=amounts]")).to_contain_text("900 g", timeout=LONG)


def test_without_a_server_every_page_opens(visit, host, watch):
    page = visit()
    host.stop()
    offline_troubles(watch)
    for way in ("found/", "rules/", "help/", "licences/", ""):
        page.goto(host.url + way)
        expect(page.locator("h1")).to_be_visible()
        page.locator(READY).wait_for(state="attached", timeout=LONG)
    page.goto(host.url + "recipes/nobody-knows-this/")
    expect(page.locator("[data-trouble]")).to_contain_text("not on this device", timeout=LONG)


def test_a_recipe_never_visited_is_drawn_on_the_device(visit, host, watch):
    page = visit()
    host.stop()
    offline_troubles(watch)
    page.goto(host.url + "recipes/corned-brisket/")
    expect(page.locator("h1")).to_have_text("Corned brisket", timeout=LONG)
    page.locator("#f-pack").fill("6.25 %")
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 % sodium nitrite", timeout=LONG)
    # The page of the site itself is the same.
    drawn = page.locator("main form").evaluate("form => form.outerHTML.replace(/ (aria-invalid|aria-describedby)=\"[^\"]*\"/g, '')")
    host.start()
    page.goto(host.url + "recipes/corned-brisket/#main")
    own = page.locator("main form").evaluate("form => form.outerHTML.replace(/ (aria-invalid|aria-describedby)=\"[^\"]*\"/g, '')")
    assert drawn == own


def test_a_recipe_never_visited_is_drawn_in_the_language_of_its_address(visit, host, watch):
    page = visit()
    host.stop()
    offline_troubles(watch)
    page.goto(host.url + "de/recipes/corned-brisket/")
    expect(page.locator("h1")).to_have_text("Gepökelte Rinderbrust", timeout=LONG)
    page.locator("#f-pack").fill("6,25 %")
    expect(page.locator("[data-section=amounts]")).to_contain_text("6,25 % Natriumnitrit", timeout=LONG)
    page.locator("a[data-language]").click()
    expect(page.locator("h1")).to_have_text("Corned brisket", timeout=LONG)
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 % sodium nitrite", timeout=LONG)


def test_one_file_missing_and_nothing_is_kept(visit, host, watch):
    some = next(way for way in site_data(host.folder)["app"]["files"] if way.endswith(".svg"))
    (host.folder / some).unlink()
    watch.tolerate(r"404|Failed to load resource")
    page = visit("recipes/pistachio-pork-loaf/", wait=False)
    page.locator("html[data-offline=failed]").wait_for(state="attached", timeout=LONG)
    page.locator("#f-pack").fill("6.25 %")
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=LONG)
    names = page.evaluate("caches.keys()")
    assert not [name for name in names if " app " in name]


def test_one_file_altered_and_nothing_is_kept(visit, host, watch):
    page_file = host.folder / "help" / "index.html"
    page_file.write_text(page_file.read_text("utf-8").replace("</body>", "<p>more</p></body>"), "utf-8")
    watch.tolerate(r"integrity|digest|Failed to find a valid digest")
    page = visit(wait=False)
    page.locator("html[data-offline=failed]").wait_for(state="attached", timeout=LONG)
    assert not [name for name in page.evaluate("caches.keys()") if " app " in name]


def test_a_first_visit_broken_off_goes_on_at_the_next(visit, host, new_page, watch):
    watch.tolerate(r"ERR_|Failed|status 404")
    some = next(way for way in site_data(host.folder)["app"]["files"] if way.endswith(".svg"))
    aside = host.folder / "aside.svg"
    (host.folder / some).rename(aside)
    page = visit("help/", wait=False)
    page.locator("html[data-offline=failed]").wait_for(state="attached", timeout=LONG)
    runtime = [name for name in page.evaluate("caches.keys()") if " runtime " in name]
    kept = page.evaluate("async name => (await (await caches.open(name)).keys()).length", runtime[0])
    aside.rename(host.folder / some)
    page.reload()
    page.locator(READY).wait_for(state="attached", timeout=LONG)
    # What had come whole was not fetched again.
    assert kept == len(site_data(host.folder)["runtime"]["files"])


def test_a_wrong_type_for_the_program_does_no_harm(new_page, host, watch, monkeypatch):
    from sitebuild import server

    monkeypatch.setitem(server.Handler.extensions_map, ".wasm", "application/octet-stream")
    page = new_page(base_url=host.url, service_workers="allow")
    page.goto(host.url + "recipes/pistachio-pork-loaf/")
    page.locator("#f-pack").fill("6.25 %")
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=LONG)
    page.locator(READY).wait_for(state="attached", timeout=LONG)
    host.stop()
    offline_troubles(watch)
    page.reload()
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=LONG)


def test_with_storage_refused_the_page_works(visit, watch):
    page = visit("", wait=False)
    page.context.add_init_script(
        "Object.defineProperty(globalThis, 'caches', {get() { throw new DOMException('no', 'SecurityError'); }});"
        "IDBFactory.prototype.open = () => { throw new DOMException('no', 'SecurityError'); };"
        "ServiceWorkerContainer.prototype.register = async () => { throw new DOMException('no', 'SecurityError'); };"
    )
    page.goto("recipes/pistachio-pork-loaf/" + link())
    see_card(page)
    page.locator("html[data-offline=refused]").wait_for(state="attached", timeout=LONG)


def test_two_copies_on_one_origin_leave_each_other_alone(new_page, tmp_path, watch):
    for name in ("one", "one/two"):
        shutil.copytree(built_site(), tmp_path / "host" / name)
    host = Host(tmp_path / "host", "/").start()
    watch.places.append(host.url)
    try:
        page = new_page(service_workers="allow")
        for way in ("one/", "one/two/"):
            page.goto(host.url + way)
            page.locator(READY).wait_for(state="attached", timeout=LONG)
        names = page.evaluate("caches.keys()")
        assert len([n for n in names if n.startswith("curebatch /one/ ")]) == 3
        assert len([n for n in names if n.startswith("curebatch /one/two/ ")]) == 3
        page.goto(host.url + "one/two/recipes/pistachio-pork-loaf/" + link())
        see_card(page)
        page.goto(host.url + "one/recipes/pistachio-pork-loaf/")
        expect(page.locator("#f-pack")).to_have_value("")
    finally:
        host.stop()


def bring_out(host: Host, tmp_path: Path, **what) -> None:
    put_in_place(next_version(host.folder, tmp_path / "next", **what), host.folder)


def look_again(page: Page) -> None:
    page.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update())")


NEWER = {"edition": "2031-02-03", "changes": ("The limit for dry-cured bellies is 100 mg/kg now.",)}


def test_a_newer_version_waits_and_says_what_changed(visit, host, tmp_path):
    page = visit("recipes/pistachio-pork-loaf/")
    build = page.locator("html").get_attribute("data-build")
    bring_out(host, tmp_path, **NEWER)
    look_again(page)
    notice = page.locator("[data-update]")
    expect(notice).to_contain_text("100 mg/kg now", timeout=LONG)
    # Neither a reload nor a visit later takes it.
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-build", build)
    other = page.context.new_page()
    page.close()
    other.goto(host.url + "recipes/pistachio-pork-loaf/")
    expect(other.locator("html")).to_have_attribute("data-build", build)
    expect(other.locator("[data-update]")).to_contain_text("100 mg/kg now", timeout=LONG)
    other.get_by_role("button", name="Take the newer version").click()
    expect(other.locator("html")).to_have_attribute("data-build", "0123456789ab", timeout=LONG)
    expect(other.locator("[data-update]")).to_be_hidden()


def test_a_half_filled_form_is_not_disturbed_and_not_lost(visit, host, tmp_path):
    page = visit("recipes/pistachio-pork-loaf/")
    page.locator("#f-meat").fill("1.8 kg")
    page.locator("#f-pack").fill("6.2 of")
    expect(page.locator("#e-pack")).to_be_visible(timeout=LONG)
    bring_out(host, tmp_path, **NEWER)
    look_again(page)
    page.wait_for_timeout(1500)  # for what must not happen there is nothing to wait for
    expect(page.locator("[data-update]")).to_be_hidden()
    page.locator("#f-pack").fill("6.25 %")
    expect(page.locator("[data-update]")).to_contain_text("100 mg/kg now", timeout=LONG)
    page.get_by_role("button", name="Take the newer version").click()
    expect(page.locator("html")).to_have_attribute("data-build", "0123456789ab", timeout=LONG)
    expect(page.locator("#f-meat")).to_have_value("1.8 kg")
    expect(page.locator("#f-pack")).to_have_value("6.25 %")
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=LONG)


def test_a_second_tab_goes_on_with_what_it_has(visit, host, tmp_path, watch):
    first = visit("recipes/pistachio-pork-loaf/")
    second = first.context.new_page()
    second.goto(host.url + "found/")  # its Python has not been asked for anything yet
    bring_out(host, tmp_path, **NEWER)
    look_again(first)
    first.get_by_role("button", name="Take the newer version").click(timeout=LONG)
    expect(first.locator("html")).to_have_attribute("data-build", "0123456789ab", timeout=LONG)
    host.stop()
    offline_troubles(watch)
    for key, text in (("found_cure", "20 g"), ("found_meat", "1 kg"), ("found_pack", "0.5 %"), ("pack", "6.25 %")):
        second.locator(f"#f-{key}").fill(text)
    expect(second.locator("[data-section=convert]")).to_contain_text("12.5", timeout=LONG)


def test_a_change_of_text_does_not_fetch_the_runtime_again(visit, host, tmp_path):
    page = visit()
    asked: list[str] = []
    serve = host.server._server.RequestHandlerClass.func.log_message
    host.server._server.RequestHandlerClass.func.log_message = lambda self, form, *words: asked.append(str(words[0]))
    try:
        host.server._server.RequestHandlerClass.keywords["talk"] = True
        bring_out(host, tmp_path, **NEWER)
        look_again(page)
        expect(page.locator("[data-update]")).to_be_visible(timeout=LONG)
    finally:
        host.server._server.RequestHandlerClass.func.log_message = serve
    fetched = [line.split()[1] for line in asked]
    assert [way for way in fetched if way.endswith(".html") or way.endswith("/")]
    assert not [way for way in fetched if "pyodide-" in way or way.endswith(".whl")]


@pytest.mark.parametrize("kind", ["recipe", "edition"])
def test_what_is_withdrawn_stops_at_once_and_stays_stopped_offline(kind, visit, host, watch):
    page = visit("recipes/pistachio-pork-loaf/" + link())
    see_card(page)
    expect(page.locator("[data-section=verdict]")).not_to_contain_text("withdrawn")
    edition = site_data(host.folder)["edition"]
    listed = {"recipes": {}, "editions": {}}
    if kind == "recipe":
        listed["recipes"]["pistachio-pork-loaf.1"] = "The nitrite was given per kilo of meat."
    else:
        listed["editions"][edition] = "A limit was misread."
    (host.folder / "withdrawn.json").write_text(json.dumps(listed), "utf-8")
    page.evaluate("dispatchEvent(new Event('online'))")
    page.reload()
    messages = page.locator("[data-section=messages], [data-section=verdict]")
    expect(messages.filter(has_text=re.compile("withdrawn")).first).to_be_visible(timeout=LONG)
    assert not page.locator("[data-section=amounts]").get_by_text(re.compile("sodium nitrite")).count()
    host.stop()
    offline_troubles(watch)
    page.reload()
    expect(messages.filter(has_text=re.compile("withdrawn")).first).to_be_visible(timeout=LONG)
    assert not page.locator("[data-section=amounts]").get_by_text(re.compile("sodium nitrite")).count()


def test_the_site_can_be_installed(visit, host, watch, full_browser):
    device = full_browser.new_context(base_url=host.url)
    watch.follow(device)
    page = visit(page=device.new_page())
    way = page.locator("link[rel=manifest]").get_attribute("href")
    manifest = json.loads((host.folder / way).read_text("utf-8"))
    assert manifest["start_url"] == "./" and manifest["scope"] == "./" and manifest["display"] == "standalone"
    sizes = {icon["sizes"] for icon in manifest["icons"]}
    assert {"192x192", "512x512"} <= sizes
    for icon in manifest["icons"]:
        assert (host.folder / icon["src"]).is_file()
    client = page.context.new_cdp_session(page)
    errors = client.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # The test's own device is a private window, where nothing can be installed.
    assert [error["errorId"] for error in errors] == ["in-incognito"]


@pytest.mark.parametrize("way", ["", "recipes/pistachio-pork-loaf/"])
def test_a_page_that_is_never_told_to_be_idle_is_kept_as_well(visit, new_page, host, way):
    page = new_page(base_url=host.url, service_workers="allow")
    # As a page of which nothing is drawn anew may find it.
    page.add_init_script("globalThis.requestIdleCallback = (work, given) => given?.timeout && setTimeout(work, given.timeout)")
    visit(way, page=page)


def test_a_visit_to_one_page_is_enough(visit, host, watch):
    page = visit("help/")
    host.stop()
    offline_troubles(watch)
    page.goto(host.url + "recipes/picnic-ham/")
    expect(page.locator("h1")).to_have_text("Picnic ham", timeout=LONG)



def test_a_part_that_went_bad_on_the_device_is_brought_anew(visit, host, watch):
    watch.tolerate(r"integrity|digest|Failed to find a valid digest")
    page = visit("recipes/pistachio-pork-loaf/")
    (wheel,) = host.folder.glob("assets/curebatch-*.whl")
    spoilt = page.evaluate(
        """async (name) => {
          for (const key of await caches.keys()) {
            const cache = await caches.open(key);
            for (const request of await cache.keys()) if (request.url.endsWith(name)) {
              await cache.put(request, new Response("gone bad"));
              return key;
            }
          }
          return null;
        }""",
        wheel.name,
    )
    assert " app " in spoilt
    page.goto(host.url + "recipes/pistachio-pork-loaf/" + link())
    page.reload()
    see_card(page)
    size = page.evaluate("async ([key, name]) => (await (await (await caches.open(key)).match(name)).arrayBuffer()).byteLength", [spoilt, f"{host.url}assets/{wheel.name}"])
    assert size == wheel.stat().st_size
    # Where it cannot be brought, the page says that there is no card.
    page.evaluate("async ([key, name]) => (await caches.open(key)).put(name, new Response('bad again'))", [spoilt, f"{host.url}assets/{wheel.name}"])
    host.stop()
    offline_troubles(watch)
    page.reload()
    expect(page.locator("[data-trouble]")).to_be_visible(timeout=LONG)
    expect(page.locator("[data-trouble]")).to_contain_text("Reload the page")
