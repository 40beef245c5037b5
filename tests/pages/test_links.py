"""Links: what is opened is what was meant, or a fault; never another card meanwhile."""

from __future__ import annotations

import re

import pytest
from curebatch.fields import BY_KEY
from curebatch.intake.link import check_of, decode
from curebatch.words import say
from helpers.card_page import (
    LOAF,
    LOAF_PAGE,
    PAINTED,
    START_MS,
    card_link,
    dose,
    expected,
    expected_weights,
    painted,
    plain,
    recipe_link,
    section,
    settled,
    type_in,
    weights,
)
from helpers.runtime import built_site
from playwright.sync_api import expect

pytestmark = pytest.mark.site

THREE_KILOS = {"meat": "3 kg", "nitrite": "90 mg/kg", "nitrite_per": "mix"}
FOUR_KILOS = {"meat": "4 kg", "nitrite": "80 mg/kg", "nitrite_per": "mix"}
PACK = {"pack": "6.25 %", "scale": "0.1 g"}


def assert_only_painted(page, fragment: str) -> None:
    """Under this address no section ever showed anything but what it shows now."""
    seen = [(key, text) for where, key, text in painted(page) if where == fragment]
    assert seen, "nothing was painted, so nothing was watched"
    # What opens when it is wanted may have been painted shut, as it comes, or open.
    states = ["false", "/-(caution|stop)$/.test(part.id)", "true"]
    shown: dict[str, set[str]] = {}
    for state in states:
        page.evaluate(f"document.querySelectorAll('[data-card] details').forEach((part) => {{ part.open = {state}; }})")
        for key in {key for key, _ in seen}:
            shown.setdefault(key, set()).add(plain(section(page, key).inner_text()))
    for key, text in seen:
        assert plain(text) in shown[key], f"{key} once showed: {text}"


def test_a_recipe_link_opens_on_a_new_device_without_a_dose(page, assert_no_axe_findings):
    page.add_init_script(PAINTED)
    link = recipe_link(**THREE_KILOS)
    page.goto(f"{LOAF_PAGE}#{link}")
    settled(page)
    expect(page.locator("#f-meat")).to_have_value("3 kg")
    expect(page.locator("#f-pack")).to_have_value("")
    expect(dose(page)).to_have_count(0)
    answer = expected(link=link)
    assert answer["card"]["verdict"] == "incomplete"
    shown = section(page, "strengths").locator("tbody tr").all_inner_texts()
    assert len(shown) == len(answer["card"]["strengths"])
    for text, row in zip(shown, answer["card"]["strengths"], strict=True):
        assert plain(row["why"] or row["cure_text"]) in plain(text)
    assert_only_painted(page, f"#{link}")
    assert_no_axe_findings(page)

    type_in(page, pack="6.25 %")
    expect(dose(page)).to_be_visible()
    assert weights(page) == expected_weights(expected(link=link, fields={"pack": "6.25 %"}))


def test_a_link_that_is_changed_leaves_the_address(page):
    link = recipe_link(**THREE_KILOS)
    page.goto(f"{LOAF_PAGE}#{link}")
    settled(page)
    type_in(page, meat="5 kg")
    assert "#" not in page.url, "the address still names the card that was changed"
    page.reload()
    expect(page.locator("#f-meat")).to_have_value("5 kg")
    settled(page)
    expect(page.locator("#f-nitrite")).to_have_value("90 mg/kg")


def test_a_card_link_asks_about_the_pack_before_it_shows_a_weight(page, assert_no_axe_findings):
    page.add_init_script(PAINTED)
    link = card_link(**THREE_KILOS, **PACK)
    page.goto(f"{LOAF_PAGE}#{link}")
    box = page.locator("[data-confirm-pack]")
    expect(box).to_be_visible(timeout=START_MS)
    expect(section(page, "confirm")).to_contain_text("6.25 %")
    expect(dose(page)).to_have_count(0)
    for _, key, text in painted(page):
        assert key != "amounts" or not re.search(r"Curing salt\s+[0-9]", text), "a weight too early"
    assert_no_axe_findings(page)

    box.click()
    expect(dose(page)).to_be_visible()
    confirmed = expected(link=link, confirmed_packs=["6.25 %"])
    assert weights(page) == expected_weights(confirmed)
    assert page.evaluate("document.activeElement !== document.body"), "the place is lost"

    # The device remembers the pack, for this link and for the next.
    page.reload()
    expect(dose(page)).to_be_visible(timeout=START_MS)
    page.goto(f"{LOAF_PAGE}#{card_link(**FOUR_KILOS, **PACK)}")
    expect(page.locator("#f-meat")).to_have_value("4 kg", timeout=START_MS)
    expect(dose(page)).to_be_visible()


def test_a_kitchen_from_a_link_is_not_kept_unless_confirmed(page):
    page.goto(f"{LOAF_PAGE}#{card_link(**THREE_KILOS, **PACK)}")
    expect(page.locator("[data-confirm-pack]")).to_be_visible(timeout=START_MS)
    other = page.context.new_page()
    other.goto(LOAF_PAGE)
    settled(other)
    expect(other.locator("#f-pack")).to_have_value("")
    page.locator("[data-confirm-pack]").click()
    expect(dose(page)).to_be_visible()
    third = page.context.new_page()
    third.goto(LOAF_PAGE)
    expect(third.locator("#f-pack")).to_have_value("6.25 %", timeout=START_MS)
    expect(dose(third)).to_be_visible(timeout=START_MS)


def test_a_recipe_link_meets_the_saved_kitchen(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="0.5 %")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    link = recipe_link(**THREE_KILOS)
    friend = page.context.new_page()
    friend.goto(f"{LOAF_PAGE}#{link}")
    expect(dose(friend)).to_be_visible(timeout=START_MS)
    expect(friend.locator("#f-pack")).to_have_value("0.5 %")
    assert weights(friend) == expected_weights(expected(link=link, fields={"pack": "0.5 %"}))


def with_check(*pairs: tuple[str, str]) -> str:
    listed = [("v", "1"), *pairs]
    return "&".join(f"{k}={v}" for k, v in [*listed, ("check", check_of(listed))])


BAD = {
    "one bad key": with_check(("recipe", LOAF), ("meat", "3kg"), ("nitrite", "lots")),
    "cut in the middle": recipe_link(**THREE_KILOS)[:45],
    "cut by one letter": recipe_link(**THREE_KILOS)[:-1],
    "cut to almost nothing": "v",
    "altered": recipe_link(**THREE_KILOS).replace("3kg", "8kg"),
    "a key of a newer version": with_check(("recipe", LOAF), ("meat", "3kg"), ("smoke", "2h")),
    "a newer version": recipe_link(**THREE_KILOS).replace("v=1", "v=7"),
    "twice, differing": "meat=9kg&" + recipe_link(**THREE_KILOS),
}


def test_a_link_that_is_not_understood_gives_a_fault_and_no_card(page, assert_no_axe_findings):
    page.add_init_script(PAINTED)
    for link in BAD.values():  # the first on a new device, the others one after another in the same tab
        answer = expected(link=link)
        assert answer["faults"], "the case is no case"
        page.goto(f"{LOAF_PAGE}#{link}")
        settled(page)
        for fault in answer["faults"]:
            expect(page.locator("main")).to_contain_text(fault["text"])
        expect(page.locator("[data-status]")).to_have_text(answer["status"])
        expect(dose(page)).to_have_count(0)
        assert_only_painted(page, f"#{link}")
        assert_no_axe_findings(page)


def test_trackers_are_passed_over(page):
    link, other = recipe_link(**THREE_KILOS), recipe_link(**FOUR_KILOS)
    for place, meat in ((f"?utm_source=mail&fbclid=x#{link}", "3 kg"), (f"?utm_source=mail&fbclid=x#{other}&utm_campaign=x", "4 kg"), (f"?{link}&gclid=x", "3 kg")):
        page.goto(LOAF_PAGE + place)
        expect(page.locator("#f-meat")).to_have_value(meat, timeout=START_MS)
        settled(page)
        expect(page.locator("[data-fault]:visible")).to_have_count(0)


def test_trackers_alone_are_no_input(page):
    page.goto(f"{LOAF_PAGE}?utm_source=mail&si=1#fbclid=x")
    expect(page.locator("html[data-awaiting]")).to_have_count(0)
    assert section(page, "strengths").is_visible()


def test_the_page_and_the_reader_of_links_pass_over_the_same_trackers(page):
    page.goto(LOAF_PAGE)
    for key in (*BY_KEY, "v", "check", "utm_source", "utm_campaign", "utm_id2", "utm_", "fbclid",
                "gclid", "msclkid", "mc_cid", "mc_eid", "mc_xid", "igshid", "si", "sid", "ref"):  # fmt: skip
        page.evaluate("text => history.replaceState(null, '', `?${text}`)", f"{key}=1")
        on_page = page.evaluate("addressInput() !== ''")
        assert on_page == (decode(f"{key}=1") != ({}, [])), key


def test_a_second_link_in_the_same_tab_then_back_and_forward(page):
    page.add_init_script(PAINTED)
    first, second = recipe_link(**THREE_KILOS), recipe_link(**FOUR_KILOS)
    meat = page.locator("#f-meat")
    page.goto(LOAF_PAGE)
    published = meat.input_value()
    page.goto(f"{LOAF_PAGE}#{first}")
    expect(meat).to_have_value("3 kg", timeout=START_MS)
    settled(page)
    table = section(page, "strengths")
    first_table = plain(table.inner_text())

    page.goto(f"{LOAF_PAGE}#{second}")
    expect(meat).to_have_value("4 kg")
    settled(page)
    second_table = plain(table.inner_text())
    assert second_table != first_table

    page.go_back()
    expect(meat).to_have_value("3 kg")
    settled(page)
    assert plain(table.inner_text()) == first_table
    page.go_forward()
    expect(meat).to_have_value("4 kg")
    settled(page)
    assert plain(table.inner_text()) == second_table
    page.go_back()
    page.go_back()
    expect(meat).to_have_value(published)
    settled(page)
    assert plain(table.inner_text()) not in (first_table, second_table)

    for where, key, text in painted(page):
        if key == "strengths" and where in (f"#{first}", f"#{second}"):
            mine = first_table if where == f"#{first}" else second_table
            assert plain(text) == mine, f"under {where} stood the table of another card"


def test_a_changed_batch_comes_back_with_back(page):
    meat = page.locator("#f-meat")
    page.goto(LOAF_PAGE)
    type_in(page, meat="5 kg", pack="6.25 %")
    page.goto(f"{LOAF_PAGE}#{recipe_link(**THREE_KILOS)}")
    choose(page, "link")
    expect(meat).to_have_value("3 kg")
    page.go_back()
    expect(meat).to_have_value("5 kg")
    settled(page)
    answer = expected(fields={"meat": "5 kg", "pack": "6.25 %"})
    assert weights(page) == expected_weights(answer)


# ------------------------------------------------------------------ a link meets what the cook has

MINE = {"meat": "5 kg", "pack": "6.25 %", "scale": "0.1 g"}


def question(page):
    return page.locator("[data-choice]")


def choose(page, which: str) -> None:
    page.locator(f"[data-choose={which}]").click(timeout=START_MS)
    settled(page)


_STORED = """async () => {
  const settled = (request) => new Promise((done, failed) => { request.onsuccess = () => done(request.result); request.onerror = failed; });
  const { name } = (await indexedDB.databases()).find(({ name }) => !name.endsWith("snapshot"));
  const database = await settled(indexedDB.open(name));
  const found = await settled(database.transaction("documents").objectStore("documents").get("device"));
  database.close();
  return found;
}"""


def stored(page, what) -> None:
    """Wait until the device's document is as it should be; what: a test of it."""
    for _ in range(100):
        if what(page.evaluate(_STORED)):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"the device has {page.evaluate(_STORED)}")


def weights_of(fields: dict[str, str]) -> re.Pattern[str]:
    """The dose for those fields, as it would stand anywhere on the page."""
    (grams,) = [row["weigh"]["text"] for row in expected(fields=fields)["card"]["amounts"] if row["role"] == "curing_salt"]
    return re.compile(rf"(?<![0-9.]){re.escape(grams)}")


def changes(page) -> dict[str, tuple[str, str]]:
    """{entry: (what the cook has, what the link says)}."""
    rows = question(page).locator("tbody tr").all()
    return {plain(row.locator("th").inner_text()): tuple(plain(cell) for cell in row.locator("td").all_inner_texts()) for row in rows}


def draft(page, **fields: str) -> None:
    """Something of the cook's own stands on the recipe's page, and is on the device."""
    page.goto(LOAF_PAGE)
    type_in(page, **fields)
    expect(dose(page)).to_be_visible()
    stored(page, lambda device: device and device["drafts"].get(LOAF, {}).get("fields", {}).items() >= fields.items())


@pytest.mark.parametrize("way", ["fragment", "query", "on the open page"])
def test_a_link_asks_before_it_takes_the_place_of_a_draft(way, page, assert_no_axe_findings):
    page.add_init_script(PAINTED)
    draft(page, **MINE)
    link = recipe_link(**THREE_KILOS)
    if way != "on the open page":
        page.goto("rules/")  # the link is opened from elsewhere
    page.evaluate("globalThis.painted = []")
    page.goto(f"{LOAF_PAGE}{'?' if way == 'query' else '#'}{link}")
    expect(question(page)).to_be_visible(timeout=START_MS)
    expect(question(page)).to_be_focused()
    shown = changes(page)
    assert shown[plain(say("field.meat.label"))] == ("5 kg", "3 kg")
    assert shown[plain(say("field.nitrite.label"))] == ("104 mg/kg", "90 mg/kg")
    assert len(shown) == 2, "the pack stays, and so it is not listed"
    # Neither card is there, on the screen or on paper, nor a form to be typed into.
    expect(page.locator("[data-card]")).to_be_hidden()
    expect(page.locator("[data-form]")).to_be_hidden()
    expect(page.locator("[data-status]")).to_be_empty()
    expect(page.locator("body")).not_to_contain_text(weights_of(MINE), use_inner_text=True)
    where = "" if way == "query" else f"#{link}"
    assert not [text for there, key, text in painted(page) if there == where and key == "amounts"]
    page.emulate_media(media="print")
    expect(section(page, "amounts")).to_be_hidden()
    expect(page.locator("[data-card] .waiting.on-paper")).to_be_visible()
    page.emulate_media(media="screen")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert_no_axe_findings(page)
    page.emulate_media(color_scheme="dark")
    assert_no_axe_findings(page)

    choose(page, "mine")
    assert weights(page) == expected_weights(expected(fields=MINE))
    assert "v=1" not in page.url, "the address names another card"


def test_what_was_left_is_taken_back_either_way(page, assert_no_axe_findings):
    draft(page, **MINE)
    link = recipe_link(**THREE_KILOS)
    mine = expected_weights(expected(fields=MINE))
    linked = expected_weights(expected(link=link, fields={"pack": "6.25 %", "scale": "0.1 g"}))
    page.goto("rules/")
    page.goto(f"{LOAF_PAGE}#{link}")
    page.locator("[data-choose=link]").focus(timeout=START_MS)
    page.keyboard.press("Enter")
    settled(page)
    assert weights(page) == linked
    left = page.locator("[data-left]")
    expect(left).to_be_focused()
    expect(left).to_contain_text(say("script.left_mine"))
    assert_no_axe_findings(page)

    # Chosen once, it is not asked again.
    stored(page, lambda device: device["left"] and not device["drafts"][LOAF]["fields"])
    page.reload()
    expect(dose(page)).to_be_visible(timeout=START_MS)
    settled(page)
    assert weights(page) == linked
    expect(question(page)).to_be_hidden()
    left.get_by_text(say("script.left_mine_back")).click()
    settled(page)
    assert weights(page) == mine
    assert "#" not in page.url
    left.get_by_text(say("script.left_link_back")).click()
    settled(page)
    assert weights(page) == linked
    left.get_by_text(say("script.left_mine_back")).click()
    settled(page)
    left.get_by_text(say("script.left_forget")).click()
    expect(left).to_be_hidden()
    stored(page, lambda device: not device["left"])
    page.reload()
    settled(page)
    assert weights(page) == mine
    expect(left).to_be_hidden()


def test_a_card_link_shows_the_pack_that_it_would_bring(page):
    draft(page, **MINE)
    page.goto(f"{LOAF_PAGE}#{card_link(**THREE_KILOS, pack='0.5 %', stated='40 g')}")
    expect(question(page)).to_be_visible(timeout=START_MS)
    shown = changes(page)
    assert shown[plain(say("field.pack.label"))] == ("6.25 %", "0.5 %")
    assert shown[plain(say("field.stated.label"))][1] == say("replaced.of_pack", amount="40 g", pack="0.5 %")
    choose(page, "link")
    # Taken is not confirmed: this device has not seen that pack.
    expect(page.locator("[data-confirm-pack]")).to_be_visible()
    expect(dose(page)).to_have_count(0)


@pytest.mark.parametrize("what", ["a kitchen alone", "the same entries", "a link that was looked at"])
def test_where_nothing_of_the_cook_s_would_go_nobody_is_asked(what, page):
    link = recipe_link(**THREE_KILOS)
    fields = {"pack": "6.25 %"} if what == "a kitchen alone" else {"meat": "3000 g", "pack": "6.25 %", "nitrite": "90 mg/kg", "nitrite_per": "mix"}
    if what == "a link that was looked at":
        page.goto(f"{LOAF_PAGE}#{recipe_link(**FOUR_KILOS)}")
        settled(page)
    else:
        draft(page, **fields)
    page.goto(f"{LOAF_PAGE}#{link}")
    expect(page.locator("#f-meat")).to_have_value("3 kg", timeout=START_MS)
    settled(page)
    expect(question(page)).to_be_hidden()
    expect(page.locator("[data-left]")).to_be_hidden()


def test_a_link_that_cannot_be_read_leaves_what_the_cook_had_within_reach(page):
    draft(page, **MINE)
    page.goto(f"{LOAF_PAGE}#{recipe_link(**THREE_KILOS)[:-1]}")
    settled(page)
    expect(section(page, "verdict")).to_contain_text(say("view.faults"))
    expect(dose(page)).to_have_count(0)
    type_in(page, meat="1 kg")  # over the link, and the draft is that now
    page.locator("[data-left]").get_by_text(say("script.left_mine_back")).click()
    settled(page)
    assert weights(page) == expected_weights(expected(fields=MINE))


def test_a_second_link_and_back_while_it_is_asked(page):
    draft(page, **MINE)
    page.goto(f"{LOAF_PAGE}#{recipe_link(**THREE_KILOS)}")
    expect(question(page)).to_contain_text("3 kg", timeout=START_MS)
    page.goto(f"{LOAF_PAGE}#{recipe_link(**FOUR_KILOS)}")
    expect(question(page)).to_contain_text("4 kg")
    assert changes(page)[plain(say("field.meat.label"))] == ("5 kg", "4 kg")
    page.go_back()
    page.go_back()
    expect(question(page)).to_be_hidden()
    settled(page)
    assert weights(page) == expected_weights(expected(fields=MINE))


@pytest.mark.cold_start
def test_where_python_does_not_start_neither_is_shown_for_the_other(page, watch):
    draft(page, **MINE)
    watch.tolerate(r"wasm|ERR_|Failed to load|start: ")
    page.route("**/*.wasm", lambda route: route.abort())
    page.goto("rules/")
    page.goto(f"{LOAF_PAGE}#{recipe_link(**THREE_KILOS)}")
    expect(page.locator("[data-trouble]")).to_contain_text(say("script.broken_link"), timeout=START_MS)
    expect(page.locator("[data-card]")).to_be_hidden()
    page.unroute("**/*.wasm")
    page.locator("[data-trouble] a").click()
    expect(page.locator("#f-meat")).to_have_value("5 kg", timeout=START_MS)
    settled(page)
    assert weights(page) == expected_weights(expected(fields=MINE))


def test_a_place_on_the_page_is_no_input(page):
    page.goto(f"{LOAF_PAGE}#main")
    expect(page.locator("html[data-awaiting]")).to_have_count(0)
    expect(section(page, "strengths")).to_be_visible()


def test_share_gives_the_recipe_without_the_pack_and_the_card_with_it(page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="3 kg")
    expect(dose(page)).to_be_visible(timeout=START_MS)
    out = page.locator("[data-share-out] input")
    page.locator('[data-share="recipe"]').click()
    expect(out).to_be_visible()
    shared = out.input_value()
    entries, faults = decode(shared)
    assert not faults
    assert entries["meat"] == "3kg"
    assert not [key for key in entries if BY_KEY[key].group == "kitchen"]

    page.locator('[data-share="card"]').click()
    expect(out).not_to_have_value(shared)
    entries, faults = decode(out.input_value())
    assert not faults
    assert entries["pack"] == "6.25%"

    page.locator("#f-meat").fill("4 kg")
    expect(page.locator("[data-share-out]")).to_be_hidden()


def test_a_shared_link_opens_as_the_same_card(page, new_page):
    page.goto(LOAF_PAGE)
    type_in(page, pack="6.25 %", meat="3 kg")
    page.locator('[data-share="card"]').click()
    address = page.locator("[data-share-out] input").input_value()
    friend = new_page()
    friend.goto(address)
    expect(friend.locator("[data-confirm-pack]")).to_be_visible(timeout=START_MS)
    friend.locator("[data-confirm-pack]").click()
    expect(dose(friend)).to_be_visible()
    assert weights(friend) == weights(page)


def test_a_link_to_another_page_is_followed_there(page):
    page.goto(f"found/#{recipe_link(**THREE_KILOS)}")
    page.wait_for_url(re.compile(re.escape(LOAF_PAGE) + "#v=1"), timeout=START_MS)
    expect(page.locator("#f-meat")).to_have_value("3 kg", timeout=START_MS)


def test_every_word_of_the_scripts_is_in_the_catalogue(page):
    page.goto(LOAF_PAGE)
    words = set(page.evaluate("Object.keys(JSON.parse(document.getElementById('words').textContent))"))
    # The page of the day has a catalogue of its own, and a test of it.
    day = ("day", "dom", "logs", "timers", "clock")
    paths = [path for path in built_site().glob("assets/*.js") if path.name.split(".")[0] not in day]
    scripts = "\n".join(path.read_text("utf-8") for path in paths)
    used = set(re.findall(r'\bwords\.([a-z_]+)|"(starting[a-z_]*)"', scripts))
    used = {one or other for one, other in used}
    assert len(used) > 5
    assert used <= words, f"missing in [script]: {used - words}"
