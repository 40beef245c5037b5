"""The day of the batch on a phone: begun, weighed, read back, timed, read, cooled, logged. The time is an input.

In the middle the page is loaded anew, the server is stopped, and a later version of the site is put in place.
"""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import icalendar
import pytest
from curebatch.day import backup, log
from helpers.card_page import LOAF_PAGE, START_MS, dose, settled, type_in, weights
from helpers.hosts import LONG, READY, Host, offline_troubles
from helpers.runtime import built_site
from helpers.versions import next_version, put_in_place, site_data
from playwright.sync_api import Locator, Page, expect

pytestmark = pytest.mark.site

DAY = "day/"
BEGUN = datetime(2027, 3, 26, 17, 30, tzinfo=UTC)
PARIS = {"timezone_id": "Europe/Paris"}
KITCHEN = {"pack": "6.25 %", "fine_scale": "0.1 g"}


def set_clock(page: Page, at: datetime) -> None:
    """The device's clock, from the next look on and after every reload."""
    text = f"globalThis.deviceClock = () => {int(at.timestamp() * 1000)};"
    page.add_init_script(text)
    page.evaluate(text)


def begin_batch(page: Page, **kitchen: str) -> list[str]:
    """From the recipe's page to the first step; gives the weights as the card had them."""
    page.goto(LOAF_PAGE)
    set_clock(page, BEGUN)
    type_in(page, **{**KITCHEN, **kitchen})
    expect(dose(page)).to_be_visible(timeout=START_MS)
    planned = weights(page)
    page.get_by_role("button", name="Start this batch").click()
    expect(page.locator("[data-step]")).to_contain_text("1 of 8", timeout=START_MS)
    return planned


def step(page: Page) -> Locator:
    return page.locator("[data-step]")


def at_step(page: Page, number: int) -> None:
    expect(step(page)).to_contain_text(f"{number} of 8")


def forward(page: Page) -> None:
    page.get_by_role("button", name="Done, next").click()


def read_down(page: Page, text: str, at: datetime) -> None:
    """What the thermometer showed, typed at its step."""
    set_clock(page, at)
    readings = page.locator("[data-readings] li")
    before = readings.count()
    step(page).locator(".day-reading input").first.fill(text)
    step(page).get_by_role("button", name="Write it down").click()
    expect(readings).to_have_count(before + 1, timeout=LONG)


def begun_weights(page: Page) -> list[str]:
    return [re.sub(r"\s+", " ", text).strip() for text in page.locator("[data-amounts] tbody td:nth-child(2)").all_text_contents()]


def saved(page: Page, name: str) -> str:
    with page.expect_download() as download:
        page.get_by_role("button", name=name).first.click()
    return Path(download.value.path()).read_text(encoding="utf-8")


def too_wide(page: Page) -> int:
    return page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")


@pytest.fixture
def host(tmp_path: Path, watch) -> Iterator[Host]:
    made = Host(shutil.copytree(built_site(), tmp_path / "site"), "/club/").start()
    watch.places.append(made.url)
    yield made
    made.stop()


@pytest.fixture
def phone(new_page: Callable[..., Page], host: Host) -> Page:
    return new_page(base_url=host.url, service_workers="allow", **PARIS)


def test_a_whole_batch_through_a_reload_a_stopped_server_and_an_update(phone, host, watch, tmp_path, assert_no_axe_findings):
    page = phone
    planned = begin_batch(page)
    build = page.locator("html").get_attribute("data-build")
    page.locator(READY).wait_for(state="attached", timeout=LONG)
    assert too_wide(page) <= 0
    assert_no_axe_findings(page)

    # Weigh: ticked off, one weight a little other than the card's.
    for box in step(page).locator("[data-tick]").all():
        box.check()
    step(page).get_by_text("It weighed something else: Pork shoulder, lean").click()
    other = step(page).get_by_label("What it really weighed: Pork shoulder, lean")
    other.fill("1810 g")
    other.press("Enter")
    expect(step(page)).to_contain_text("1810 g is written down", timeout=LONG)
    forward(page)
    at_step(page, 2)
    forward(page)

    # Read back: nothing goes on before each line is ticked.
    at_step(page, 3)
    expect(step(page)).to_contain_text("6.25 %")
    forward(page)
    at_step(page, 3)
    expect(step(page).get_by_role("alert")).to_contain_text("Tick each line first")
    for box in step(page).locator("[data-tick]").all():
        box.check()
    step(page).get_by_text("It weighed something else").click()
    scale = step(page).get_by_label("What it really weighed")
    scale.fill("54 g")
    scale.press("Enter")
    expect(step(page).locator(".verdict")).to_contain_text("weigh it anew", timeout=LONG)
    scale.fill("5.4 g")
    scale.press("Enter")
    expect(step(page).locator(".verdict")).to_contain_text("5.4 g is what the card says", timeout=LONG)
    forward(page)

    # The page is loaded anew, without a server: the batch goes on where it stood.
    host.stop()
    offline_troubles(watch)
    page.reload()
    at_step(page, 4)
    page.locator('[data-more="card"] summary').click()
    assert begun_weights(page) == planned
    forward(page)
    at_step(page, 5)
    read_down(page, "11 °C", BEGUN + timedelta(minutes=50))
    forward(page)
    forward(page)

    # A timer runs on while the page is closed, and the core is read.
    at_step(page, 7)
    baked = BEGUN + timedelta(hours=14)
    read_down(page, "4 °C", baked)
    read_down(page, "48 °C", baked + timedelta(minutes=70))
    set_clock(page, baked + timedelta(minutes=110))
    step(page).locator(".day-start").first.click()
    expect(page.locator(".day-clock")).to_have_text("02:00")
    page.reload()
    at_step(page, 7)
    expect(page.locator(".day-clock")).to_have_text("02:00")
    set_clock(page, baked + timedelta(minutes=111, seconds=30))
    expect(page.locator(".day-clock")).to_have_text("00:30")
    set_clock(page, baked + timedelta(minutes=112))
    expect(page.locator(".day-rung")).to_contain_text("The time is up")
    page.get_by_role("button", name="Stop the timer").click()
    read_down(page, "73 °C", baked + timedelta(minutes=110))
    expect(step(page)).to_contain_text("Cooking: not done", timeout=LONG)
    read_down(page, "73.2 °C", baked + timedelta(minutes=113))
    expect(step(page)).to_contain_text("Cooking: Fits", timeout=LONG)

    # A later version is put in place: it changes no weight.
    host.start()
    put_in_place(next_version(host.folder, tmp_path / "next"), host.folder)
    page.evaluate("navigator.serviceWorker.getRegistration().then(r => r.update())")
    page.wait_for_timeout(1500)
    expect(page.locator("[data-update]")).to_be_hidden()
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-build", build)
    page.locator('[data-more="card"] summary').click()
    assert begun_weights(page) == planned
    forward(page)

    # Out of the heat, cold in time.
    at_step(page, 8)
    out = baked + timedelta(minutes=115)
    set_clock(page, out)
    step(page).get_by_role("button", name="It is out of the heat now").click()
    for text, minutes in (("68 °C", 10), ("46 °C", 30), ("25 °C", 60), ("12 °C", 90), ("5 °C", 150), ("3.2 °C", 190)):
        read_down(page, text, out + timedelta(minutes=minutes))
    expect(step(page)).to_contain_text("Cooling: Fits", timeout=LONG)
    forward(page)
    expect(step(page)).to_contain_text("All steps are done")

    # Notes, the end, the log.
    page.locator('[data-more="notes"] summary').click()
    page.get_by_label("Something to remember").fill("=soft crust")
    page.get_by_role("button", name="Add the note").click()
    page.get_by_label("For next time").fill("A little less mace")
    page.get_by_role("button", name="Finish the batch").click()
    expect(page.locator("[data-none]")).to_be_visible()
    page.locator("[data-logs] summary").click()
    assert_no_axe_findings(page)
    text = saved(page, "Save as JSON")
    kept, faults = log.read(text)
    assert kept is not None, faults
    assert [row["text"] for row in kept["amounts"]] == planned and kept["build"] == build
    assert kept["weighed"] == {"shoulder": "1810 g", "curing_salt": "5.4 g"}
    assert [row["text"] for row in kept["readings"]][:4] == ["11 °C", "4 °C", "48 °C", "73 °C"] and len(kept["readings"]) == 11
    assert kept["next_time"] == "A little less mace" and kept["begun"] == "2027-03-26T17:30:00Z"
    as_csv = saved(page, "Save as CSV")
    assert log.read_csv(as_csv) == (kept, [])
    assert "'=soft crust" in [row[3] for row in csv.reader(io.StringIO(as_csv))]


def test_another_program_keeps_the_weights_and_says_what_it_would_weigh(new_page, host):
    page = new_page(base_url=host.url, **PARIS)  # nothing between the page and the host: the new version comes at once
    planned = begin_batch(page)
    put_in_place(next_version(host.folder, host.folder.parent / "next"), host.folder)
    # The same recipe of a later program, with half the nitrite: a slip that must not reach this batch.
    shelf = host.folder / next(way for way in site_data(host.folder)["app"]["files"] if re.search(r"shelf\.[^/]*json$", way))
    shelf.write_text(shelf.read_text("utf-8").replace('nitrite = \\"104 mg/kg\\"', 'nitrite = \\"52 mg/kg\\"'), "utf-8")
    page.reload()
    expect(page.locator("html")).to_have_attribute("data-build", "0123456789ab")
    expect(page.locator("[data-warnings]")).to_contain_text("would weigh otherwise", timeout=LONG)
    expect(page.locator("[data-warnings]")).to_contain_text("5.4 g here")
    page.locator('[data-more="card"] summary').click()
    assert begun_weights(page) == planned


def test_too_little_meat_holds_back_the_dose_until_it_is_mended(new_page):
    page = new_page()
    begin_batch(page)
    shoulder = step(page).locator("details", has_text="Pork shoulder")
    shoulder.locator("summary").click()
    shoulder.locator("input").fill("900 g")
    shoulder.locator("input").press("Enter")
    warnings = page.locator("[data-warnings]")
    expect(warnings).to_contain_text("begin a new batch", timeout=LONG)
    forward(page)
    forward(page)
    at_step(page, 3)
    page.wait_for_timeout(300)  # written by then
    page.reload()
    at_step(page, 3)
    for _ in range(2):
        # At once after the reload, and when it was judged again.
        expect(step(page).locator("[data-held]")).to_contain_text("Put no curing salt in")
        expect(page.locator("main")).not_to_contain_text("5.4 g")
        expect(page.locator('[data-judged="done"]')).to_have_count(1, timeout=LONG)
    expect(warnings).to_contain_text("begin a new batch")
    forward(page)
    at_step(page, 3)
    page.get_by_role("button", name="Back").click()
    page.get_by_role("button", name="Back").click()
    at_step(page, 1)
    step(page).locator("details[open] input").first.fill("1800 g")
    step(page).locator("details[open] input").first.press("Enter")
    expect(warnings).to_be_empty(timeout=LONG)
    forward(page)
    forward(page)
    expect(step(page).locator(".day-dose")).to_contain_text("5.4 g")


def test_the_timetable_and_its_calendar_across_the_change_to_summer_time(new_page, assert_no_axe_findings):
    page = new_page(**PARIS)
    begin_batch(page)
    page.locator('[data-more="plan"] > summary').click()
    expect(page.locator("#f-cooking")).to_be_visible(timeout=LONG)
    page.get_by_role("button", name="Work out the timetable").click()
    expect(page.locator("#e-cooking")).to_contain_text("Say how long it cooks", timeout=LONG)
    page.locator("#f-serve").fill("2027-03-28T18:00")
    page.locator("#f-cooking").fill("90-140 min")
    page.get_by_role("button", name="Work out the timetable").click()
    expect(page.locator("[data-plan-out]")).to_contain_text("It can be served then.", timeout=LONG)
    assert page.locator("[data-plan-out] time").last.get_attribute("datetime")
    text = saved(page, "Save it as a calendar file")
    events = {str(event["UID"]).split(".")[0]: event for event in icalendar.Calendar.from_ical(text).walk("VEVENT")}
    # Six in the evening is four in UTC once the clocks are put forward, and was five the day before.
    assert events["serve-0"].decoded("DTSTART") == datetime(2027, 3, 28, 16, 0, tzinfo=UTC)
    hold, oven = events["hold-0"].decoded("DTSTART"), events["piece-in-0"].decoded("DTSTART")
    assert timedelta(hours=12) <= oven - hold <= timedelta(hours=48)
    assert not re.search(r"\d (g|kg|oz)\b", text)
    # Kept on the device.
    page.reload()
    page.locator('[data-more="plan"] > summary').click()
    expect(page.locator("#f-cooking")).to_have_value("90-140 min", timeout=LONG)
    expect(page.locator("[data-plan-out]")).to_contain_text("Serve")
    # An hour that does not exist, and one that comes twice.
    page.locator("#f-serve").fill("2027-03-28T02:30")
    page.get_by_role("button", name="Work out the timetable").click()
    expect(page.locator("#e-serve")).to_contain_text("does not exist", timeout=LONG)
    page.locator("#f-serve").fill("2027-10-31T02:30")
    page.get_by_role("button", name="Work out the timetable").click()
    expect(page.locator("#f-serve-offset")).to_be_visible(timeout=LONG)
    assert_no_axe_findings(page)
    assert too_wide(page) <= 0


def test_mistakes_are_judged_and_written_down(new_page, assert_no_axe_findings):
    page = new_page(color_scheme="dark")
    begin_batch(page)
    page.locator('[data-more="mishaps"] > summary').click()
    out = page.locator("[data-mishap-out]")
    judge = page.get_by_role("button", name="What does it mean?")
    page.locator("#f-kind").select_option("doubled")
    judge.click()
    expect(page.locator("#e-stage")).to_contain_text("Say this first", timeout=LONG)
    page.locator("#f-stage").select_option("raw")
    judge.click()
    expect(out).to_contain_text("can be mended", timeout=LONG)
    expect(out).to_contain_text("1800 g of Pork shoulder, lean")
    page.locator("#f-stage").select_option("cooked")
    judge.click()
    expect(out.locator('[data-verdict="throw_away"]')).to_be_visible(timeout=LONG)
    assert_no_axe_findings(page)
    page.locator("#f-kind").select_option("warm_batter")
    page.locator("#f-celsius").fill("16 °C")
    page.locator("#f-minutes").fill("20 min")
    judge.click()
    expect(out).to_contain_text("The fat may smear", timeout=LONG)
    page.locator("#f-kind").select_option("eaten")
    judge.click()
    expect(out).to_contain_text("call the emergency number", timeout=LONG)
    page.get_by_role("button", name="Write it into the log").click()
    expect(page.locator("[data-notes] li")).to_have_count(1)


def test_a_missed_cooling_is_said_at_once(new_page):
    page = new_page()
    begin_batch(page)
    page.locator('[data-more="steps"] summary').click()
    page.locator("[data-list] button").last.click()
    at_step(page, 8)
    out = BEGUN + timedelta(hours=20)
    set_clock(page, out)
    step(page).get_by_role("button", name="It is out of the heat now").click()
    read_down(page, "60 °C", out + timedelta(minutes=10))
    read_down(page, "40 °C", out + timedelta(hours=7))
    expect(step(page)).to_contain_text("Cooling: not cold in time", timeout=LONG)
    expect(step(page).locator(".day-reading input").first).to_have_value("")
    # What cannot be right is told at the field, and nothing is written down.
    step(page).locator(".day-reading input").first.fill("4")
    step(page).get_by_role("button", name="Write it down").click()
    expect(page.locator("#e-reading-cooling")).to_contain_text("has no unit", timeout=LONG)
    expect(page.locator("[data-readings] li")).to_have_count(2)
    # A slip is struck out, and what follows is judged anew.
    page.locator('[data-more="judged"] > summary').click()
    expect(page.locator('[data-section="verdict"]')).to_contain_text("Stop")
    page.get_by_role("button", name="Strike out 40 °C").click()
    expect(page.locator('[data-section="cooling"]')).not_to_contain_text("Stop", timeout=LONG)
    # One that was read a while ago is written down with its time.
    step(page).locator(".day-reading input").first.fill("45 °C")
    step(page).get_by_label("When, if not just now").fill("14:00")
    step(page).get_by_role("button", name="Write it down").click()
    expect(page.locator("[data-readings] li")).to_have_count(2, timeout=LONG)
    expect(page.locator("[data-readings] li").last).to_contain_text("14:00")


def test_everything_on_the_device_goes_into_one_file_and_back_on_another(new_page):
    page = new_page()
    begin_batch(page)
    page.get_by_label("For next time").fill("More pepper {pepper}")
    page.get_by_role("button", name="Finish the batch").click()
    expect(page.locator("[data-logs] > li")).to_have_count(1)
    text = saved(page, "Save all of it to one file")
    made, faults = backup.read(text)
    assert made is not None, faults
    assert made["kitchen"]["pack"] == "6.25 %" and len(made["logs"]) == 1
    # The other device.
    other = new_page()
    other.goto(DAY)
    other.on("dialog", lambda dialog: dialog.accept())
    spoiled = {"name": "backup.json", "mimeType": "application/json", "buffer": json.dumps({**json.loads(text), "logs": [{"schema": 1}]}).encode()}
    other.locator("[data-restore-file]").set_input_files(spoiled)
    expect(other.locator("[data-restore-faults]")).to_contain_text("cannot be read", timeout=LONG)
    expect(other.locator("[data-logs] > li")).to_have_count(0)
    other.locator("[data-restore-file]").set_input_files({"name": "backup.json", "mimeType": "application/json", "buffer": text.encode()})
    expect(other.locator("[data-logs] > li")).to_have_count(1, timeout=LONG)
    expect(other.locator("[data-from-file]")).to_contain_text("same weights", use_inner_text=False)
    # The notes go into a changed copy.
    other.locator("[data-logs] summary").click()
    other.get_by_role("button", name="Make a changed copy").click()
    expect(other.locator("#f-step")).to_have_value(re.compile(r"From the last batch: More pepper \(pepper\)"), timeout=LONG)
    # Which packs say so is said to each device anew.
    other.goto(LOAF_PAGE)
    expect(other.locator("#f-pack")).to_have_value("6.25 %", timeout=LONG)
    settled(other)
    # Erasing asks once.
    other.goto(DAY)
    asked = []
    other.on("dialog", lambda dialog: asked.append(dialog.message))
    other.get_by_role("button", name="Erase everything").click()
    expect(other.locator("[data-no-logs]")).to_be_visible()
    assert len(asked) == 1
    other.goto(LOAF_PAGE)
    expect(other.locator("#f-pack")).to_have_value("")


def test_a_log_from_a_file_is_read_and_a_wrong_one_is_not(new_page):
    page = new_page()
    begin_batch(page)
    page.get_by_role("button", name="Finish the batch").click()
    page.locator("[data-logs] summary").click()
    text = saved(page, "Save as CSV")
    other = new_page()
    other.goto(DAY)
    chooser = other.locator("[data-import-file]")
    chooser.set_input_files({"name": "a.csv", "mimeType": "text/csv", "buffer": text.replace("curing_salt", "nothing", 1).encode()})
    expect(other.locator("[data-import-faults] li").first).to_be_visible(timeout=LONG)
    chooser.set_input_files({"name": "a.csv", "mimeType": "text/csv", "buffer": text.encode()})
    expect(other.locator("[data-logs] > li")).to_have_count(1, timeout=LONG)
    expect(other.locator("[data-import-faults]")).to_be_hidden()
    # It says where it comes from, and what its own link gives.
    other.locator("[data-logs] summary").click()
    mark = other.locator("[data-from-file]")
    expect(mark).to_contain_text("Read from a file")
    expect(mark).to_contain_text("same weights")
    expect(other.locator("[data-logs]")).to_contain_text("5.4 g")
    expect(page.locator("[data-from-file]")).to_have_count(0)
    # A dose that nobody made is not shown, after a reload as well.
    wrong = re.sub(r"\bid,,[^\r\n]*", "id,,another-log", text, count=1).replace("5.4 g", "54 g")
    assert wrong.count("54 g")
    chooser.set_input_files({"name": "b.csv", "mimeType": "text/csv", "buffer": wrong.encode()})
    expect(other.locator("[data-logs] > li")).to_have_count(2, timeout=LONG)
    other.wait_for_timeout(300)  # written by then
    other.reload()
    expect(other.locator("[data-logs] > li")).to_have_count(2, timeout=LONG)
    expect(other.locator("[data-from-file]", has_text="the limit is")).to_have_count(1)
    assert "54 g" not in " ".join(other.locator("[data-logs] table").all_text_contents())


def test_no_judgement_stands_that_counted_another_weight(new_page):
    page = new_page()
    begin_batch(page)
    lines = [step(page).locator("details", has_text=name) for name in ("Pork shoulder", "back fat")]
    inputs = []
    for line in lines:
        line.locator("summary").click()
        inputs.append(line.locator("input"))
    inputs[0].fill("1810 g")
    inputs[0].press("Enter")
    expect(lines[0].locator(".verdict")).to_contain_text("stays within the limits", timeout=LONG)
    # Another line's weight: what was said of the first did not count it.
    inputs[1].fill("590 g")
    inputs[1].press("Enter")
    expect(lines[1].locator(".verdict")).to_have_count(1, timeout=LONG)
    expect(lines[0].locator(".verdict")).to_have_count(0)
    # What cannot be read has no judgement beside it.
    inputs[1].fill("a lot")
    inputs[1].press("Enter")
    expect(lines[1].locator(".fault")).to_be_visible(timeout=LONG)
    expect(lines[1].locator(".verdict")).to_have_count(0)


def press_to(page: Page, name: str, most: int = 60) -> None:
    """Tab until the element of that name has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('label, button, summary, .field')?.textContent.trim() ?? ''").startswith(name):
            return
    raise AssertionError(f"{name!r} is not reached by the keyboard")


def test_by_keyboard_alone(new_page):
    page = new_page()
    begin_batch(page)
    for number in (2, 3):
        press_to(page, "Done, next")
        page.keyboard.press("Enter")
        at_step(page, number)
        # The next step is read out: it has the focus, and its name.
        assert page.evaluate("document.activeElement === document.querySelector('[data-step]')")
    expect(page.get_by_role("region", name="3 of 8")).to_be_visible()
    for box in step(page).locator("[data-tick]").all():
        for _ in range(20):
            page.keyboard.press("Tab")
            if box.evaluate("box => box === document.activeElement"):
                break
        page.keyboard.press("Space")
        expect(box).to_be_checked()
    press_to(page, "Done, next")
    page.keyboard.press("Enter")
    at_step(page, 4)
    press_to(page, "Done, next")
    page.keyboard.press("Enter")
    press_to(page, "What the thermometer shows in the batter")
    page.keyboard.type("10 C")
    page.keyboard.press("Enter")
    expect(page.locator("[data-readings] li")).to_have_count(1, timeout=LONG)
    # What is pressed is never too small for a knuckle.
    small = page.locator("button:visible, summary:visible, .check:visible").evaluate_all(
        "all => all.filter(one => one.getBoundingClientRect().height < 43.5).map(one => one.textContent.trim())"
    )
    assert small == []


def test_a_card_that_is_not_whole_begins_no_batch(new_page):
    page = new_page()
    page.goto(LOAF_PAGE)
    type_in(page, meat="1 kg")
    page.get_by_role("button", name="Start this batch").click()
    expect(page.locator("[data-status]")).to_contain_text("not whole yet", timeout=LONG)
    # It stays: what was typed last has its faults told after a pause, and they do not talk over it.
    page.wait_for_timeout(1500)
    expect(page.locator("[data-status]")).to_contain_text("not whole yet")
    assert page.url.endswith(LOAF_PAGE)
    page.goto(DAY)
    expect(page.locator("[data-none]")).to_be_visible()


def test_the_sheet_with_blanks_is_what_is_printed(new_page):
    page = new_page()
    begin_batch(page)
    page.emulate_media(media="print")
    expect(page.locator("[data-sheet]")).to_be_visible()
    expect(page.locator("[data-sheet]")).to_contain_text("Curing salt 6.25 % sodium nitrite")
    assert page.locator("[data-sheet] .blank").count() >= 17
    expect(page.locator("[data-step]")).to_be_hidden()


def test_a_step_that_came_out_wrong_is_left_only_on_purpose(new_page):
    page = new_page()
    begin_batch(page)
    page.locator('[data-more="steps"] summary').click()
    page.locator("[data-list] button").nth(6).click()
    at_step(page, 7)
    read_down(page, "60 °C", BEGUN + timedelta(hours=20))
    expect(step(page).locator(".gives-stop")).to_contain_text("It is not done. Keep cooking", timeout=LONG)
    forward(page)
    expect(step(page)).to_contain_text("once more")
    at_step(page, 7)
    # What was said of the reading is there again after a look at another step.
    page.get_by_role("button", name="Back", exact=True).click()
    at_step(page, 6)
    forward(page)
    at_step(page, 7)
    expect(step(page).locator(".gives-stop")).to_contain_text("Keep cooking")
    forward(page)
    at_step(page, 7)
    forward(page)
    at_step(page, 8)
    # What was mistyped is struck out where it stands, and with it what it came to.
    page.get_by_role("button", name="Back", exact=True).click()
    step(page).get_by_role("button", name="Strike out 60 °C").click()
    expect(step(page).locator(".day-read")).to_have_count(0)
    expect(page.locator("[data-readings] li")).to_have_count(0)
    expect(step(page).locator(".gives-stop")).to_have_count(0)
    at_step(page, 7)
    expect(page.locator('[data-judged="done"]')).to_have_count(1, timeout=LONG)
    forward(page)
    at_step(page, 8)


def test_for_who_has_eaten_of_it_a_call_comes_first(new_page):
    page = new_page()
    begin_batch(page)
    page.locator('[data-more="mishaps"] > summary').click()
    page.locator("#f-kind").select_option("eaten")
    page.get_by_role("button", name="What does it mean?").click()
    out = page.locator("[data-mishap-out]")
    expect(out.locator("h3")).to_have_text("Call first.", timeout=LONG)
    expect(out.locator("li").first).to_contain_text("call the emergency number")
    expect(out).not_to_contain_text("Throw it away.")
