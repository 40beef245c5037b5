"""The start of Python, and what is said when it does not start."""

from __future__ import annotations

import pytest
from helpers.card_page import LOAF_PAGE, START_MS, dose, recipe_link, section, settled, type_in
from playwright.sync_api import expect

pytestmark = [pytest.mark.site, pytest.mark.cold_start]


def words(page, key: str) -> str:
    return page.evaluate("key => JSON.parse(document.getElementById('words').textContent)[key]", key)


def block(page, watch, pattern: str) -> None:
    watch.allow(r"failed \(net::ERR_FAILED\)")
    watch.allow(r"Failed to (fetch|load resource)|ERR_FAILED")
    page.context.route(pattern, lambda route: route.abort())


def test_it_starts_by_itself_and_says_nothing_once_it_is_there(page):
    page.goto(LOAF_PAGE)
    page.wait_for_event("worker", timeout=START_MS) if not page.workers else None
    type_in(page, pack="6.25 %")
    expect(page.locator("[data-starting]")).to_be_hidden()
    expect(page.locator("[data-trouble]")).to_be_hidden()
    names = page.evaluate("performance.getEntriesByType('measure').map(m => m.name)")
    assert [name for name in names if name.startswith("start: ")][-1] == "start: ready"


def hold_up(page) -> list:
    """Python's own part does not come, and nothing says why. The page's clock can be moved."""
    held = []
    page.context.route("**/*.wasm", lambda route: held.append(route))
    page.clock.install()
    return held


def test_while_it_starts_the_page_says_so_and_shows_no_card_of_another_input(page):
    held = hold_up(page)
    page.goto(LOAF_PAGE)
    page.locator("#f-pack").fill("6.25 %")
    starting = page.locator("[data-starting]")
    expect(starting).to_contain_text(words(page, "starting_runtime"))
    expect(section(page, "strengths")).to_be_hidden()
    while not held:
        page.wait_for_timeout(100)
    # Only silence is slow: while other parts still come down, each of them begins the wait anew.
    slow = words(page, "slow")
    for _ in range(100):
        page.clock.fast_forward(9_000)
        if said := slow in starting.inner_text():
            break
        page.wait_for_timeout(100)
    assert said, "silence was not told"
    for route in held:
        route.continue_()
    expect(dose(page)).to_be_visible(timeout=START_MS)
    expect(starting).to_be_hidden()


def test_silence_is_noticed(page):
    held = hold_up(page)
    page.goto(LOAF_PAGE)
    page.locator("#f-pack").fill("6.25 %")
    while not held:
        page.wait_for_timeout(100)
    # Whatever came before it was held is no silence: the minute counts from the last of it.
    for _ in range(20):
        page.clock.fast_forward(61_000)
        if page.locator("[data-trouble]").is_visible():
            break
        page.wait_for_timeout(200)
    expect(page.locator("[data-trouble]")).to_contain_text(words(page, "broken"))
    expect(section(page, "strengths")).to_be_visible()
    expect(dose(page)).to_have_count(0)
    for _ in range(50):  # the browser takes a moment to end it
        if not page.workers:
            break
        page.wait_for_timeout(100)
    assert not page.workers, "the worker was left running"


def test_a_blocked_runtime_is_told_and_the_published_table_holds(page, watch, assert_no_axe_findings):
    block(page, watch, "**/*.wasm")
    page.goto(LOAF_PAGE)
    table = section(page, "strengths").inner_text()
    page.locator("#f-pack").fill("6.25 %")
    expect(page.locator("[data-trouble]")).to_contain_text(words(page, "broken"), timeout=START_MS)
    expect(page.locator("[data-starting]")).to_be_hidden()
    expect(section(page, "strengths")).to_be_visible()
    assert section(page, "strengths").inner_text() == table
    expect(dose(page)).to_have_count(0)
    assert_no_axe_findings(page)
    # And whatever is typed after that.
    page.locator("#f-meat").fill("3 kg")
    page.wait_for_timeout(500)
    assert section(page, "strengths").inner_text() == table
    expect(page.locator("[data-trouble]")).to_contain_text(words(page, "broken"))


def test_a_blocked_runtime_shows_no_card_for_a_link(page, watch):
    block(page, watch, "**/*.wasm")
    page.goto(f"{LOAF_PAGE}#{recipe_link(meat='3 kg')}")
    expect(page.locator("[data-trouble]")).to_contain_text(
        words(page, "broken_link"), timeout=START_MS
    )
    expect(page.locator("[data-card]")).to_be_hidden()
    page.locator("[data-trouble] a").click()
    expect(section(page, "strengths")).to_be_visible()


SLOW_STORE = """
Object.defineProperty(IDBRequest.prototype, "onsuccess", {
  set(told) { this.addEventListener("success", (event) => setTimeout(() => told.call(this, event), 2500)); },
});
"""


def test_what_breaks_before_the_device_is_read_shows_no_card_for_a_link_either(page, watch):
    page.add_init_script(SLOW_STORE)
    block(page, watch, "**/*.wasm")
    page.goto(f"{LOAF_PAGE}#{recipe_link(meat='3 kg')}")
    expect(page.locator("[data-trouble]")).to_contain_text(words(page, "broken_link"), timeout=START_MS)
    expect(page.locator("[data-card]")).to_be_hidden()


@pytest.mark.parametrize("script", ["page", "bridge"])
def test_a_script_that_does_not_come_is_told(script, page, watch):
    block(page, watch, f"**/{script}.*.js")
    page.goto(LOAF_PAGE)
    expect(page.locator("[data-trouble]")).to_have_text(words(page, "broken"))
    expect(section(page, "strengths")).to_be_visible()


def test_webassembly_of_another_type_starts_all_the_same(page):
    def plain_type(route):
        response = route.fetch()
        headers = {**response.headers, "content-type": "application/octet-stream"}
        route.fulfill(response=response, headers=headers)

    page.context.route("**/*.wasm", plain_type)
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)


def test_the_worker_is_bound_by_the_content_policy_of_the_page(page):
    """Started from a blob: it inherits the policy; started by its address it would not."""
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    (worker,) = page.workers
    assert worker.url.startswith("blob:")
    # In a task of its own: what the test library evaluates directly is exempt from the policy.
    outcome = worker.evaluate("""() => new Promise((done) => setTimeout(() => {
        try { done(new Function("return 'ran'")()); } catch (error) { done(error.name); }
    }))""")
    assert outcome == "EvalError"


def test_the_help_page_needs_neither_scripts_nor_the_runtime(new_page, watch):
    page = new_page()
    wanted = []
    page.context.on("request", lambda request: wanted.append(request.url))
    page.goto("help/")
    page.wait_for_load_state("networkidle")
    assert not [url for url in wanted if "pyodide" in url or "worker" in url]
    # What is on the page stays when the network goes.
    page.context.set_offline(True)
    for sign in ("112", "poison", "blue or grey lips"):
        assert sign in page.locator("main").inner_text()


@pytest.mark.parametrize("way", ["", LOAF_PAGE, "found/", "rules/", "licences/"])
def test_help_is_one_touch_away_and_needs_no_network(way, page):
    page.goto(way)
    page.wait_for_load_state("networkidle")
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.locator("a[data-help]").first.click()
    expect(page.locator("#eaten")).to_be_in_viewport()
    for sign in ("112", "poison line", "blue or grey lips", "Take the pack along"):
        expect(page.locator("#eaten")).to_contain_text(sign)
    # It stands on the page: at most the browser looks for the tab's icon again.
    assert [url for url in asked if "/icons/" not in url] == []
    page.locator("#eaten a[href$='help/']").click()
    page.wait_for_url("**/help/")
    expect(page.locator("main h1")).to_be_visible()


def test_settled_means_settled(page):
    """The helper of these tests must not pass on a page whose card is still awaited."""
    held = []
    page.context.route("**/*.wasm", lambda route: held.append(route))
    page.goto(f"{LOAF_PAGE}#{recipe_link(meat='3 kg')}")
    expect(page.locator("html[data-awaiting]")).to_have_count(1)
    expect(section(page, "strengths")).to_be_hidden()
    while not held:
        page.wait_for_timeout(100)
    for route in held:
        route.continue_()
    settled(page)
    expect(section(page, "strengths")).to_be_visible()


NEVER_ANSWERS = "IDBFactory.prototype.open = () => ({});"


def test_storage_that_never_answers_does_not_hold_up_what_is_typed(page):
    page.add_init_script(NEVER_ANSWERS)
    page.goto(LOAF_PAGE)
    page.locator("#f-pack").fill("6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    expect(page.locator("#f-pack")).to_have_value("6.25 %")


def test_a_link_that_comes_before_the_page_has_begun_is_taken_up(page):
    page.add_init_script(NEVER_ANSWERS)
    page.goto(LOAF_PAGE)
    page.goto(f"{LOAF_PAGE}#{recipe_link(meat='3 kg')}")
    expect(page.locator("html[data-awaiting]")).to_have_count(1)
    settled(page)
    expect(page.locator("#f-meat")).to_have_value("3 kg")
