"""Anyone can use it: by eye, by ear, by keyboard alone, enlarged, without colours, without motion.

One page is walked through many states, and looked at in each of them.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest
from helpers.access import NAMED, Access
from helpers.card_page import LOAF_PAGE, START_MS, arrived, card_link, dose, section, settled, type_in
from playwright.sync_api import Locator, Page, expect

pytestmark = pytest.mark.site

PACK = {"pack": "6.25 %", "fine_scale": "0.1 g"}
LONG = 60_000
BEGUN = datetime(2027, 3, 26, 17, 30, tzinfo=UTC)
PAPER = {"width": 703, "height": 1000}  # A4 less its margins
PHONE = {"width": 360, "height": 740}
WIDE = {"width": 1280, "height": 900}
DAY_PART = "[data-batch]"  # step by step: what is pressed there is 44 px, for wet hands


@pytest.fixture
def access() -> Access:
    return Access()


@pytest.fixture
def still(new_page) -> Page:
    """A phone that asks for no motion: no colour is on its way when it is looked at."""
    return new_page(reduced_motion="reduce")


def open_all(page: Page, within: str = "main") -> None:
    page.locator(f"{within} details").evaluate_all("all => all.forEach(one => { one.open = true; })")


def set_clock(page: Page, at: datetime) -> None:
    page.evaluate(f"globalThis.deviceClock = () => {int(at.timestamp() * 1000)};")


def look(access: Access, page: Page, state: str, inside: str = "") -> None:
    access.in_all_looks(page, state)
    access.narrow(page, state, inside)


def on_paper(access: Access, page: Page, state: str) -> None:
    page.emulate_media(media="print")
    page.set_viewport_size(PAPER)
    access.axe(page, f"{state}, on paper", ["color-contrast"])
    access.room(page, f"{state}, on paper", least=0)
    page.set_viewport_size(PHONE)
    page.emulate_media(media="screen")


# ---------------------------------------------------------------- states


def test_the_page_of_a_recipe_in_every_state(still, access):
    page = still
    page.goto(LOAF_PAGE)
    look(access, page, "recipe, as published")
    on_paper(access, page, "recipe, as published")
    open_all(page)
    look(access, page, "recipe, every field")
    page.locator("#f-pack").fill("1,500 %")
    page.locator("#f-meat").fill("many")
    page.locator("#f-meat").blur()
    expect(page.locator("#e-meat")).to_be_visible(timeout=START_MS)
    look(access, page, "recipe, faults")
    type_in(page, pack="", meat="2 kg")
    expect(section(page, "verdict").locator(".verdict-incomplete").first).to_be_visible()
    look(access, page, "recipe, incomplete")
    type_in(page, **PACK)
    expect(section(page, "verdict").locator(".verdict-ok").first).to_be_visible()
    open_all(page)
    look(access, page, "recipe, ok")
    on_paper(access, page, "recipe, ok")
    page.locator("[data-share=card]").click()
    expect(page.locator("[data-share-out]")).to_be_visible()
    look(access, page, "recipe, a link to share")
    type_in(page, fine_scale="2 g")
    expect(section(page, "verdict").locator(".verdict-caution").first).to_be_visible()
    look(access, page, "recipe, caution")
    type_in(page, fine_scale="0.1 g", readings="0 min 4 °C; 40 min 30 °C; 80 min 52 °C; 110 min 73 °C; 112 min 73 °C", cooling_readings="12:00 out; 12:15 58 °C; 12:30 46 °C; 13:00 25 °C; 13:30 12 °C; 14:30 5 °C; 15:10 3.2 °C", tin="2 x loaf 24 x 9 bottom 22 x 8 depth 7 cm", oven="still_oven", oven_setting="150 °C")
    look(access, page, "recipe, measured, in its tin, with a forecast")
    type_in(page, stated="25 g")
    expect(section(page, "verdict").locator(".verdict-stop").first).to_be_visible()
    look(access, page, "recipe, stop")
    on_paper(access, page, "recipe, stop")
    page.goto("about:blank")
    page.goto(f"{LOAF_PAGE}#{card_link(pack='6.25 %', meat='2 kg')}")
    expect(page.locator("[data-choice]")).to_be_visible(timeout=START_MS)
    look(access, page, "recipe, asked which is to stand")
    page.get_by_role("button", name="Take what the link says").click()
    expect(page.locator("[data-confirm-pack]")).to_be_visible(timeout=START_MS)
    settled(page)
    look(access, page, "recipe, asked what the pack says")
    assert len(access.states) == 36, access.states


def test_the_page_of_the_day_in_every_state(still, access):
    page = still
    page.goto("day/")
    expect(page.locator("[data-none]")).to_be_visible()
    look(access, page, "day, no batch")
    page.locator("[data-import-file]").set_input_files({"name": "a.json", "mimeType": "application/json", "buffer": b"{}"})
    expect(page.locator("[data-import-faults] li").first).to_be_visible(timeout=LONG)
    look(access, page, "day, a log that cannot be read")
    page.goto(LOAF_PAGE)
    type_in(page, **PACK)
    page.get_by_role("button", name="Start this batch").click()
    step = page.locator("[data-step]")
    expect(step).to_contain_text("1 of 8", timeout=START_MS)
    set_clock(page, BEGUN)
    for number in range(1, 9):
        expect(step).to_contain_text(f"{number} of 8")
        open_all(page, "[data-step]")
        if number == 3:
            page.get_by_role("button", name="Done, next").click()
            expect(step.get_by_role("alert")).to_be_visible()
            other = step.get_by_label("What it really weighed")
            other.fill("54 g")
            other.press("Enter")
            expect(step.locator(".verdict")).to_be_visible(timeout=LONG)
        if number == 5:
            step.locator(".day-reading input").first.fill("4")
            step.get_by_role("button", name="Write it down").first.click()
            expect(step.locator(".fault:visible")).to_have_count(1, timeout=LONG)
        if number == 7:
            step.locator(".day-start").first.click()
            expect(page.locator(".day-clock")).to_be_visible()
            look(access, page, "day, a timer runs", DAY_PART)
            set_clock(page, BEGUN + timedelta(hours=3))
            expect(page.locator(".day-rung")).to_contain_text("The time is up")
        look(access, page, f"day, step {number}", DAY_PART)
        for box in step.locator("[data-tick]").all():
            box.check()
        page.get_by_role("button", name="Done, next").click()
    expect(step).to_contain_text("All steps are done")
    for part in page.locator("[data-more] > summary").all():
        part.click()
    expect(page.locator("#f-cooking")).to_be_visible(timeout=LONG)
    page.locator("#f-serve").fill("2027-03-28T18:00")
    page.get_by_role("button", name="Work out the timetable").click()
    expect(page.locator("#e-cooking")).to_be_visible(timeout=LONG)
    page.locator("#f-kind").select_option("doubled")
    page.locator("#f-stage").select_option("cooked")
    page.get_by_role("button", name="What does it mean?").click()
    expect(page.locator('[data-mishap-out] [data-verdict="throw_away"]')).to_be_visible(timeout=LONG)
    look(access, page, "day, every part open, a fault, a mistake judged", DAY_PART)
    page.locator("#f-cooking").fill("90-140 min")
    page.get_by_role("button", name="Work out the timetable").click()
    expect(page.locator("[data-plan-out] ol")).to_be_visible(timeout=LONG)
    look(access, page, "day, the timetable", DAY_PART)
    on_paper(access, page, "day, the sheet with blanks")
    page.get_by_role("button", name="Finish the batch").click()
    expect(page.locator("[data-logs] > li")).to_have_count(1)
    open_all(page)
    look(access, page, "day, a finished log", DAY_PART)
    assert len(access.states) == 43, access.states


def test_the_page_of_ones_own_recipe_in_every_state(still, access):
    page = still
    page.goto("own/")
    look(access, page, "own, empty")
    open_all(page)
    page.locator('[id="f-title"]').fill("Harbour loaf")
    page.locator('[id="f-targets.nitrite"]').fill("104")
    page.locator('[id="f-targets.nitrite"]').press("Enter")
    expect(page.locator('[id="e-targets.nitrite"]')).to_be_visible(timeout=START_MS)
    look(access, page, "own, faults")
    page.goto(LOAF_PAGE)
    type_in(page, **PACK)
    page.locator("[data-own-copy]").click()
    page.wait_for_url("**/own/**")
    choice = page.locator("[data-choice]")
    expect(choice).to_be_visible(timeout=START_MS)
    look(access, page, "own, asked which is to stand")
    page.get_by_role("button", name="Take what the link says").click()
    expect(dose(page)).to_be_visible(timeout=START_MS)
    settled(page)
    open_all(page)
    look(access, page, "own, a whole recipe")
    on_paper(access, page, "own, a whole recipe")
    assert len(access.states) == 13, access.states


def test_the_frame_for_other_pages_in_every_state(still, access):
    page = still
    page.goto("embed/pistachio-pork-loaf/")
    open_all(page)
    look(access, page, "frame, untouched")
    for look_of, scheme in (("dark", "light"), ("light", "dark")):
        page.emulate_media(color_scheme=scheme)
        page.goto(f"embed/pistachio-pork-loaf/?look={look_of}")
        access.axe(page, f"frame, {look_of} by its key", ["color-contrast"])
    page.emulate_media(color_scheme="light")
    page.goto("embed/pistachio-pork-loaf/")
    amounts = page.locator("[data-section=amounts]")
    page.locator("#f-pack").fill("6.25 %")
    expect(amounts).to_contain_text("6.25 %", timeout=2 * START_MS)
    look(access, page, "frame, a card")
    page.locator("#f-pack").fill("many")
    expect(page.locator("#e-pack")).to_be_visible(timeout=START_MS)
    look(access, page, "frame, a fault")
    page.locator("#f-pack").fill("2-9 %")
    expect(page.locator("[data-confirm-pack]")).to_be_visible(timeout=START_MS)
    look(access, page, "frame, asked what the pack says")
    page.goto("embed/grey-pork-loaf/")
    look(access, page, "frame, without curing salt")
    assert len(access.states) == 17, access.states


@pytest.mark.cold_start
def test_all_other_pages(still, access, watch):
    page = still
    for way in ("", "found/", "rules/", "help/", "licences/", "recipes/back-bacon/", "recipes/picnic-ham/", "recipes/corned-brisket/"):
        page.goto(way)
        open_all(page)
        look(access, page, way or "start")
    page.goto("found/")
    for control in page.locator("form input[type=text]:visible").all()[:3]:
        control.fill("many")
    page.locator("form input[type=text]:visible").first.press("Enter")
    expect(page.locator("form .fault:visible").first).to_be_visible(timeout=START_MS)
    settled(page)
    look(access, page, "found, faults")
    watch.allow(r"failed \(net::ERR_FAILED\)")
    watch.allow(r"Failed to (fetch|load resource)|ERR_FAILED")
    page.context.route("**/*.wasm", lambda route: route.abort())
    page.goto(f"{LOAF_PAGE}#{card_link(pack='6.25 %')}")
    expect(page.locator("[data-trouble]")).to_be_visible(timeout=START_MS)
    look(access, page, "recipe, the program did not come")
    assert len(access.states) == 30, access.states


def test_a_verdict_is_told_by_word_and_shape_and_not_by_colour_alone(still):
    page = still
    page.goto(LOAF_PAGE)
    seen = {}
    for verdict, typed in {
        "incomplete": {"pack": "", "meat": "2 kg"}, "ok": PACK, "caution": {**PACK, "fine_scale": "2 g"}, "stop": {**PACK, "stated": "25 g"},
    }.items():  # fmt: skip
        type_in(page, **typed)
        head = section(page, "verdict").locator(f"> .verdict-{verdict} > h2")
        expect(head).to_be_visible(timeout=START_MS)
        sign = head.locator("svg")
        # Said by the word; the shape beside it is for the eye and is not read out.
        assert sign.get_attribute("aria-hidden") == "true"
        shape = sign.evaluate("svg => [...svg.children].map(one => one.tagName + one.getAttribute('d')).join()")
        seen[verdict] = (head.inner_text(), shape, head.evaluate("head => getComputedStyle(head).color"))
    for told in zip(*seen.values(), strict=True):
        assert len(set(told)) == 4, told
    # Without colours of our own: the words and outlines are there still.
    page.emulate_media(forced_colors="active")
    expect(head.locator("svg")).to_be_visible()
    edge = section(page, "verdict").locator("> .verdict").evaluate("one => getComputedStyle(one).borderTopStyle")
    assert edge == "solid"


# ---------------------------------------------------------------- by keyboard


def check_stops(page: Page, stops: list[dict]) -> None:
    """All there is to be reached, in the order of the page, named, with a ring, and uncovered."""
    wrong = [stop for stop in stops if not (stop["seen"] and stop["ring"] and stop["name"])]
    assert not wrong, wrong
    wanted = page.locator("a[href], button, summary, input:not([type=hidden]), select, textarea").evaluate_all(
        "all => all.filter(one => !one.disabled && one.tabIndex >= 0 && !one.closest('.part-bar') && one.checkVisibility({ visibilityProperty: true }))"
        f".map(one => one.id || ({NAMED})(one))"
    )
    # The line at the foot of a phone comes and goes with what is in sight.
    assert [stop["id"] or stop["name"] for stop in stops if not stop["fixed"]] == wanted


def in_order(stops: list[dict], *names: str) -> None:
    told = iter(stop["name"] for stop in stops)
    for name in names:
        assert any(one.startswith(name) for one in told), f"{name!r} is not reached after what stands before it"


@pytest.mark.parametrize("size", [PHONE, {"width": 320, "height": 256}, WIDE], ids=["phone", "enlarged", "wide"])
def test_the_way_of_the_tabulator_on_the_page_of_a_recipe(size, new_page, access):
    page = new_page(viewport=size)
    page.goto(LOAF_PAGE)
    type_in(page, **PACK)
    stops = access.walk(page)
    check_stops(page, stops)
    in_order(
        stops, "Skip to the content", "Curebatch", "Recipes", "Someone has eaten it", "Nitrite in your pack", "Meat and fat you have",
        "If you have only so much of something", "Start this batch", "Print the sheet", "Share the recipe", "Clear what I typed", "All of it", "Licences",
    )  # fmt: skip
    assert stops[0]["name"] == "Skip to the content"
    # On one column the eye goes the same way.
    if size is not WIDE:
        main = [stop["top"] for stop in stops[stops.index(next(stop for stop in stops if stop["id"] == "f-pack")) :] if not stop["fixed"]]
        assert main == sorted(main)


def test_the_way_of_the_tabulator_on_the_page_of_the_day(new_page, access):
    page = new_page(viewport={"width": 360, "height": 500})
    page.goto(LOAF_PAGE)
    type_in(page, **PACK)
    page.get_by_role("button", name="Start this batch").click()
    step = page.locator("[data-step]")
    expect(step).to_contain_text("1 of 8", timeout=START_MS)
    page.locator('[data-more="steps"] summary').click()
    page.locator("[data-list] button").nth(6).click()
    expect(step).to_contain_text("7 of 8")
    # Timers lie over the page's top: what has the focus must not hide behind them, going back as well.
    for start in step.locator(".day-start").all():
        start.click()
    expect(page.locator(".day-timer").first).to_be_visible()
    stops = access.walk(page)
    check_stops(page, stops)
    in_order(stops, "Skip", "Stop the timer", "Back", "Done, next", "Keep the screen on", "All steps", "Finish the batch", "Read a log from a file", "Save all of it")
    back = access.walk(page, backwards=True)
    assert [stop["name"] for stop in back if not stop["seen"]] == []


def test_the_way_of_the_tabulator_on_the_page_of_ones_own_recipe(page, access):
    page.goto("own/")
    page.locator("[data-own-add]").click()
    arrived(page)  # faults of the new row are links as well
    stops = access.walk(page)
    check_stops(page, stops)
    in_order(
        stops, "Skip", "Recipe", "Save its file", "Open a file", "Title", "Method", "pork", "Nitrite", "Salt in all", "Name", "What it does", "Take away", "Name", "What it does", "Take away",
        "Add an ingredient", "Nitrite in your pack", "Start this batch",
    )  # fmt: skip


def test_a_newer_version_at_the_foot_hides_nothing_that_has_the_focus(new_page, access):
    page = new_page(viewport={"width": 360, "height": 500})
    page.goto(LOAF_PAGE)
    settled(page)
    page.locator("[data-update]").evaluate("place => { place.textContent = 'x '.repeat(2000); place.hidden = false; }")
    stops = access.walk(page)
    assert [stop["name"] for stop in stops if not stop["seen"]] == []


# ---------------------------------------------------------------- by ear


def test_faults_are_told_at_their_fields_and_the_summary_takes_the_focus(page):
    page.goto(LOAF_PAGE)
    page.locator("#f-meat").fill("many")
    page.locator("#f-pack").fill("1,500 %")
    page.locator("#f-pack").press("Enter")
    summary = page.locator("[data-fault-summary]")
    expect(summary).to_be_focused(timeout=START_MS)
    expect(summary).to_have_accessible_name("Not understood yet")
    expect(summary).to_have_role("group")
    for key in ("pack", "meat"):
        field = page.locator(f"#f-{key}")
        expect(field).to_have_attribute("aria-invalid", "true")
        expect(field).to_have_accessible_description(page.locator(f"#h-{key}").inner_text() + " " + page.locator(f"#e-{key}").inner_text())
        expect(summary.locator(f'a[href="#f-{key}"]')).to_be_visible()
    summary.locator('a[href="#f-meat"]').press("Enter")
    expect(page.locator("#f-meat")).to_be_focused()
    # What is only missing is no fault: the status asks for it, and nothing moves.
    type_in(page, meat="2 kg", pack="")
    page.locator("#f-meat").press("Enter")
    settled(page)
    expect(page.locator("[data-status]")).to_contain_text("missing: what your pack says")
    expect(page.locator("#f-meat")).to_be_focused()
    # With nothing wrong the key moves nothing.
    type_in(page, **PACK)
    page.locator("#f-meat").press("Enter")
    settled(page)
    expect(page.locator("#f-meat")).to_be_focused()


HEARD = """
globalThis.heard = [];
const live = (element) => element?.closest("[aria-live=polite], [aria-live=assertive], [role=status], [role=alert], [role=timer]");
new MutationObserver((records) => {
  for (const { target } of records) {
    const place = live(target.nodeType === 1 ? target : target.parentElement);
    const text = place?.checkVisibility() ? place.textContent.trim().replace(/\\s+/g, " ") : "";
    if (text && heard.at(-1) !== text) heard.push(text);
  }
}).observe(document, { subtree: true, childList: true, characterData: true });
"""


def heard(page: Page) -> list[str]:
    return page.evaluate("globalThis.heard.splice(0)")


def test_what_comes_of_typing_is_said_once_and_only_when_at_rest(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    expect(page.locator("[data-status]")).not_to_be_empty()
    page.evaluate(HEARD)
    page.locator("#f-meat").press_sequentially("00", delay=40)
    page.locator("#f-meat").fill("3 kg")
    settled(page)
    expect(page.locator("[data-status]")).to_have_attribute("aria-live", "polite")
    expect(page.locator("[data-status]")).to_have_role("status")
    # The same verdict as before is no news.
    told = heard(page)
    assert len(told) <= 1, told
    page.locator("#f-pack").fill("many")
    page.locator("#f-pack").blur()
    expect(page.locator("#e-pack")).to_be_visible()
    expect(page.locator("[data-status]")).to_contain_text("1 to put right")
    told = heard(page)
    assert len(told) == 1 and told[0].startswith("1 to put right"), told


@pytest.mark.cold_start
def test_a_slow_start_and_trouble_are_heard(page, watch):
    watch.allow(r"failed \(net::ERR_FAILED\)")
    watch.allow(r"Failed to (fetch|load resource)|ERR_FAILED")
    held = []
    page.context.route("**/*.wasm", lambda route: held.append(route))
    page.clock.install()
    page.goto(LOAF_PAGE)
    page.evaluate(HEARD)
    words = json.loads(page.locator("#words").text_content())
    page.locator("#f-pack").fill("6.25 %")
    while not held:
        page.wait_for_timeout(100)
    for _ in range(50):
        page.clock.fast_forward(9_000)
        if words["slow"] in (told := heard(page)):
            break
        page.wait_for_timeout(100)
    assert words["slow"] in told
    for route in held:
        route.abort()
    expect(page.locator("[data-trouble]")).to_be_visible(timeout=START_MS)
    assert words["broken"] in heard(page)


def test_the_day_is_heard(page):
    page.goto(LOAF_PAGE)
    type_in(page, **PACK)
    page.get_by_role("button", name="Start this batch").click()
    step: Locator = page.locator("[data-step]")
    expect(step).to_contain_text("1 of 8", timeout=START_MS)
    page.evaluate(HEARD)
    page.get_by_role("button", name="Done, next").click()
    # A new step is read by the focus that it takes, and by its name.
    expect(step).to_be_focused()
    expect(step).to_have_accessible_name("2 of 8")
    page.get_by_role("button", name="Done, next").click()
    page.get_by_role("button", name="Done, next").click()
    expect(step.locator("[data-tick]").first).to_be_focused()
    expect(step.get_by_role("alert")).to_contain_text("Tick each line first")
    heard(page)
    page.locator('[data-more="steps"] summary').click()
    page.locator("[data-list] button").nth(4).click()
    reading = step.locator(".day-reading input").first
    reading.fill("4")
    reading.press("Enter")
    expect(reading).to_be_focused(timeout=LONG)
    expect(reading).to_have_attribute("aria-invalid", "true", timeout=LONG)
    assert any("has no unit" in told for told in heard(page))
    reading.fill("11 °C")
    reading.press("Enter")
    expect(page.locator("[data-readings] li")).to_have_count(1, timeout=LONG)
    assert any(told.startswith("11 °C") for told in heard(page))
    page.locator("[data-list] button").nth(6).click()
    set_clock(page, BEGUN)
    step.locator(".day-start").first.click()
    expect(page.get_by_role("timer", name="Step 7")).to_be_visible()
    heard(page)
    set_clock(page, BEGUN + timedelta(hours=3))
    expect(page.locator(".day-rung")).to_contain_text("The time is up")
    expect(page.locator(".day-rung")).to_have_role("alert")


# ---------------------------------------------------------------- enlarged, and without motion

SPACED = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync("* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; } p { margin-block-end: 2em !important; }");
  document.adoptedStyleSheets = [sheet];
}"""


@pytest.mark.parametrize("way", [LOAF_PAGE, "own/", "day/", "rules/", ""])
def test_wider_spacing_of_the_text_cuts_nothing(way, still, access):
    page = still
    page.goto(way)
    if way == LOAF_PAGE:
        type_in(page, **PACK)
    page.evaluate(SPACED)
    access.room(page, f"{way}, spaced")


MOVING = """() => [...document.querySelectorAll("*")].filter((one) => {
  const style = getComputedStyle(one);
  return (style.transitionDuration + "," + style.animationDuration).split(",").some((text) => parseFloat(text) > 0) || style.scrollBehavior === "smooth";
}).length"""


def test_who_asks_for_no_motion_gets_none(page):
    page.goto(LOAF_PAGE)
    assert page.evaluate(MOVING) > 0, "nothing moves at all: this test shows nothing"
    page.emulate_media(reduced_motion="reduce")
    for way in (LOAF_PAGE, "", "day/", "own/", "embed/pistachio-pork-loaf/"):
        page.goto(way)
        assert page.evaluate(MOVING) == 0, way
