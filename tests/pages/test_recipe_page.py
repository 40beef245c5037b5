"""From a typed pack to the card, and back to no card when something is wrong."""

from __future__ import annotations

import re

import pytest
from helpers.card_page import (
    LOAF_PAGE,
    START_MS,
    arrived,
    dose,
    expected,
    expected_weights,
    plain,
    section,
    seen,
    settled,
    type_in,
    unfold,
    weights,
)
from playwright.sync_api import expect

pytestmark = pytest.mark.site


def test_without_scripts_the_targets_and_the_table_of_strengths_are_there(new_page):
    page = new_page(java_script_enabled=False)
    page.goto(LOAF_PAGE)
    answer = expected()
    rows = [row["percent"] for row in answer["card"]["strengths"]]
    assert len(rows) > 3
    shown = section(page, "strengths").locator("tbody th").all_inner_texts()
    assert [plain(text) for text in shown] == [plain(text) for text in rows]
    for target in answer["card"]["targets"]:
        expect(page.locator("main dl.targets").first).to_contain_text(target["text"])
    expect(dose(page)).to_have_count(0)
    expect(page.locator("a[data-help]")).to_be_visible()


def test_the_static_card_is_the_one_that_python_gives_on_the_page(page):
    page.goto(LOAF_PAGE)
    keys = page.locator("[data-section]").evaluate_all("all => all.map(one => one.dataset.section)")
    assert keys
    unfold(page)
    before = {key: plain(section(page, key).inner_text()) for key in keys}
    # Typed, and typed back: the computed card is that of the published recipe again.
    given = page.locator("#f-meat").input_value()
    type_in(page, meat="7 kg")
    type_in(page, meat=given)
    expect(page.locator("[data-card][data-part]")).to_have_count(0)  # the rest has come as well
    after = {key: plain(section(page, key).inner_text()) for key in keys}
    after["understood"] = before["understood"]  # names the fields that were typed
    assert after == before


def test_a_typed_pack_gives_the_weights(page):
    page.goto(LOAF_PAGE)
    expect(dose(page)).to_have_count(0)
    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    expect(dose(page)).to_contain_text("6.25 %")
    answer = expected(fields={"pack": "6.25 %"})
    assert weights(page) == expected_weights(answer)
    expect(page.locator("[data-status]")).to_have_text(answer["status"])


def test_a_comma_is_a_decimal_sign_and_a_label_may_be_a_range(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="0,4 – 0,5 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    assert weights(page) == expected_weights(expected(fields={"pack": "0.4-0.5 %"}))


def test_the_old_dose_goes_at_once_and_the_fault_comes_after_a_pause(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    pack, fault = page.locator("#f-pack"), page.locator("#e-pack")
    pack.press("End")
    pack.press("x")
    assert not seen(dose(page)), "the old dose stands beside the new input"
    expect(dose(page)).to_be_hidden(timeout=1000)  # and soon for whoever listens
    assert not fault.is_visible(), "corrected in mid-word"
    expect(fault).to_be_visible()
    expect(pack).to_have_attribute("aria-invalid", "true")
    assert "e-pack" in pack.get_attribute("aria-describedby").split()
    assert "h-pack" in pack.get_attribute("aria-describedby").split()
    expect(pack).to_be_focused()
    (told,) = [f for f in expected(fields={"pack": "6.25 %x"})["faults"] if f["field"] == "pack"]
    expect(fault).to_have_text(told["text"])
    settled(page)
    expect(dose(page)).to_have_count(0)

    pack.press("Backspace")
    expect(fault).to_be_hidden()
    expect(dose(page)).to_be_visible()
    assert pack.get_attribute("aria-invalid") is None


def test_leaving_a_field_shows_its_fault_without_waiting(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")  # Python has started
    page.locator("#f-pack").fill("5")
    page.keyboard.press("Tab")
    expect(page.locator("#e-pack")).to_be_visible(timeout=650)


def test_all_faults_come_together_and_the_summary_leads_to_the_fields(page, assert_no_axe_findings):
    page.goto(LOAF_PAGE)
    page.locator("#f-pack").fill("1,500 %")
    page.locator("#f-meat").fill("many")
    page.locator("#f-meat").blur()
    expect(page.locator("#e-pack")).to_be_visible(timeout=START_MS)
    expect(page.locator("#e-meat")).to_be_visible()
    expect(page.locator("body")).to_be_focused()
    assert_no_axe_findings(page)
    address = page.url
    section(page, "verdict").locator('a[href="#f-pack"]').click()
    expect(page.locator("#f-pack")).to_be_focused()
    assert page.url == address, "a step within the page has changed the address"


def test_only_the_last_of_quick_changes_counts(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    for kilos in range(1, 10):
        page.locator("#f-meat").fill(f"{kilos} kg")
        page.wait_for_timeout(60)
    settled(page)
    expect(page.locator("[data-card][data-stale]")).to_have_count(0)
    answer = expected(fields={"pack": "6.25 %", "meat": "9 kg"})
    assert weights(page) == expected_weights(answer)


# A device on which every answer takes its time, and what is asked of its Python.
SLOW_PYTHON = """(() => {
  const Plain = globalThis.Worker;
  globalThis.asked = [];
  globalThis.Worker = function (...given) {
    const worker = new Plain(...given);
    const post = worker.postMessage.bind(worker), listen = worker.addEventListener.bind(worker);
    worker.postMessage = (text) => { asked.push(...(JSON.parse(text).want ?? [])); post(text); };
    worker.addEventListener = (kind, hear) => listen(kind, kind === "message" ? (event) => setTimeout(() => hear(event), 150) : hear);
    return worker;
  };
})()"""
# Each key soon after the weights of the one before: timers of one page keep their order, however busy the machine.
KEYS = """(async () => {
  const field = document.getElementById("f-meat");
  const card = document.querySelector("[data-card]");
  asked.length = 0;
  for (const text of ["3 kg", "4 kg", "5 kg", "6 kg"]) {
    await new Promise((done) => {
      new MutationObserver((_, watcher) => {
        if (card.hasAttribute("data-stale")) return;
        watcher.disconnect();
        setTimeout(done, 20);
      }).observe(card, { attributes: true, attributeFilter: ["data-stale"] });
      field.value = text;
      field.dispatchEvent(new InputEvent("input", { bubbles: true }));
    });
  }
  return [...asked];
})()"""


def test_on_a_slow_device_the_next_key_does_not_wait_for_the_tables(page):
    page.add_init_script(SLOW_PYTHON)
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    settled(page)
    assert page.evaluate(KEYS) == ["weights"] * 4
    settled(page)
    assert page.evaluate("asked.slice(4)")[:1] == ["rest"]
    assert weights(page) == expected_weights(expected(fields={"pack": "6.25 %", "meat": "6 kg"}))


def test_focus_and_open_details_survive_a_new_card(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", pack_as="NaNO2", fine_scale="0.1 g")  # the second lies in details
    page.evaluate("document.querySelectorAll('[data-card] details').forEach((part) => { part.open = part.id === 'fold-limits'; })")
    meat = page.locator("#f-meat")
    meat.fill("3 kg")
    arrived(page)
    expect(meat).to_be_focused()
    assert meat.input_value() == "3 kg"
    opened = page.locator("[data-card] details[open]")
    expect(opened).to_have_count(1)
    expect(opened).to_have_attribute("id", "fold-limits")
    expect(page.locator("[data-form] details[data-more]")).to_have_attribute("open", "")


def test_a_part_that_gets_grave_opens_by_itself(page):
    page.goto(LOAF_PAGE)
    page.locator("#f-pack").fill("6.25 %")
    arrived(page)
    expect(page.locator("#fold-mixing")).not_to_have_attribute("open", "")
    page.locator("form summary", has_text="The chopper").click()
    page.locator("#f-meat_temperature").fill("28 °C")
    arrived(page)
    grave = page.locator("[data-section=mixing] .fold")
    expect(grave).to_have_attribute("id", re.compile("fold-mixing-(caution|stop)"))
    expect(grave).to_have_attribute("open", "")


def test_on_a_phone_a_bar_stands_for_the_card_until_it_is_in_sight(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    page.locator("#f-pack").scroll_into_view_if_needed()
    bar = section(page, "bar")
    expect(bar).to_be_visible()
    # Never grams without the strength they belong to.
    assert re.search(r"\d g Curing salt 6\.25 %", plain(bar.inner_text()))
    bar.locator("a").click()
    expect(page.locator("#card")).to_be_focused()
    expect(bar).to_be_hidden()
    page.set_viewport_size({"width": 1280, "height": 800})
    page.evaluate("scrollTo(0, 0)")
    expect(bar).to_be_hidden()


def test_the_pack_told_on_the_start_page_is_the_pack_of_every_recipe(page):
    page.goto("")
    page.locator("#f-pack").fill("6.25 %")
    expect(page.locator("[data-pack-kept]")).to_contain_text("Kept on this device")
    page.get_by_role("link", name="Pistachio pork loaf").click()
    expect(dose(page)).to_contain_text("6.25 %", timeout=START_MS)
    assert page.locator("#f-pack").input_value() == "6.25 %"


def test_a_tenfold_dose_is_stopped_and_leads_to_help(page, assert_no_axe_findings):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="1 kg", stated="25 g")
    expect(section(page, "verdict").locator(".verdict-stop").first).to_be_visible(timeout=START_MS)
    expect(dose(page)).to_have_count(0)
    assert_no_axe_findings(page)


def test_reload_and_a_later_visit_find_what_was_typed(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="3 kg")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    before = weights(page)
    page.reload()
    expect(dose(page)).to_be_visible(timeout=START_MS)
    assert weights(page) == before
    assert page.locator("#f-meat").input_value() == "3 kg"
    later = page.context.new_page()
    later.goto(LOAF_PAGE)
    expect(dose(later)).to_be_visible(timeout=START_MS)
    assert weights(later) == before


def test_clear_forgets_the_batch_and_the_kitchen(page):
    page.goto(LOAF_PAGE)
    published = page.locator("#f-meat").input_value()
    type_in(page, pack="6.25 %", meat="3 kg")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    page.locator("[data-clear]").click()
    expect(dose(page)).to_have_count(0)
    expect(page.locator("#f-pack")).to_have_value("")
    expect(page.locator("#f-meat")).to_have_value(published)
    page.reload()
    expect(page.locator("#f-pack")).to_have_value("")
    expect(dose(page)).to_have_count(0)


def test_works_where_storage_is_refused(page):
    page.add_init_script("""Object.defineProperty(globalThis, "indexedDB", {
        get() { throw new DOMException("no", "SecurityError"); }
    })""")
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)


def test_no_axe_findings_in_any_state(page, assert_no_axe_findings):
    page.goto(LOAF_PAGE)
    type_in(page, meat="2 kg")
    for pack in ("6.25 %", "0.4-0.5 %", "1,500 %", ""):
        type_in(page, pack=pack)
        page.locator("#f-pack").blur()
        expect(page.locator("#e-pack")).to_be_visible(visible=pack == "1,500 %")
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            assert_no_axe_findings(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), f"with {pack!r} the page is wider than a phone"


def test_pounds_and_both_units_of_a_dose_have_room_on_a_phone(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="0.5-0.6 %", meat="27 lb", scale="0.1 oz")
    page.locator("#f-region").select_option("us")
    page.locator("#f-units").select_option("us")
    settled(page)
    expect(section(page, "amounts").locator("tbody .fig").first).to_have_text("20 lb 4.0")
    expect(section(page, "strengths").locator(".one-weight + .one-weight").first).to_contain_text("g)")
    for width in (360, 320):
        page.set_viewport_size({"width": width, "height": 740})
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_line_at_the_foot_of_a_phone_is_not_printed(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", fine_scale="0.1 g")
    page.evaluate("scrollTo(0, 0)")
    bar = page.locator(".part-bar")
    expect(bar).to_be_visible()
    page.emulate_media(media="print")
    expect(bar).to_be_hidden()
