"""Hostile text in every field at once, in links, files and the frame: nothing of it runs, nothing breaks, nothing typed is lost."""

from __future__ import annotations

import json

import pytest
from curebatch.intake.link import OWN, encode
from helpers.attacks import AT, log_of
from helpers.card_page import LOAF_PAGE, START_MS, dose, section, settled, type_in, weights
from helpers.kitchens import recipe_text
from playwright.sync_api import Page, expect

pytestmark = pytest.mark.site

# Each would leave its mark in `ran`, in one way of writing or another.
MARKUP = "\"><script>ran=1</script><img src=x onerror=ran=2><svg onload=ran=3>'; ran=4; //</textarea></template><style>*{display:none}</style><base href=//x.example> {{7*7}} {% raw %} {core} ${ran=5} %s"
ADDRESS = "javascript:ran=6//\u202e\u2066 4.5 g \u200f\u0000__proto__ constructor toString"
HUGE = "W" * 100_000  # no place to break a line
TEXTS = {"huge": HUGE, "address": ADDRESS, "markup": MARKUP}
KITCHEN = {"pack": "6.25 %", "fine_scale": "0.1 g"}

FILL = """(form, text) => {
  const filled = {};
  for (const [number, control] of [...form.querySelectorAll("input:not([type=checkbox]):not([type=radio]):not([type=file]):not([type=hidden]), textarea")].entries()) {
    // One long name is enough for a device to keep; in the others it is as long as a line can be.
    control.value = number === 1 ? text : text.slice(0, 2000);
    control.dispatchEvent(new Event("input", { bubbles: true }));
    filled[control.name || control.id || number] = control.value;
  }
  return filled;
}"""
STANDING = """form => Object.fromEntries([...form.querySelectorAll("input:not([type=checkbox]):not([type=radio]):not([type=file]):not([type=hidden]), textarea")]
  .map((control, number) => [control.name || control.id || number, control.value]))"""
# What text can bring into a page if it is ever taken for more.
CENSUS = """() => ({
  ran: String(globalThis.ran), sevens: document.body.innerText.includes("49 {%") , polluted: Object.keys(Object.prototype).length,
  elements: Object.fromEntries(["script", "img", "iframe", "object", "base", "meta", "style", "link", "svg [onload]"].map((name) => [name, document.querySelectorAll(name).length])),
  handlers: [...document.querySelectorAll("*")].filter((one) => one.getAttributeNames().some((name) => name.startsWith("on"))).length,
  addresses: [...document.querySelectorAll("[href], [src], [action]")].filter((one) => /^\\s*javascript:/i.test(one.getAttribute("href") ?? one.getAttribute("src") ?? one.getAttribute("action"))).length,
  headings: document.querySelectorAll("main h1").length, parts: [...document.querySelectorAll("[data-section]")].map((one) => one.dataset.section).sort(),
  wide: document.documentElement.scrollWidth > document.documentElement.clientWidth,
})"""


def census(page: Page) -> dict:
    found = page.evaluate(CENSUS)
    assert (found["ran"], found["sevens"], found["polluted"], found["handlers"], found["addresses"], found["wide"]) == ("undefined", False, 0, 0, 0, False), found
    return found


def open_all(page: Page) -> None:
    page.locator("main details").evaluate_all("all => all.forEach((one) => { one.open = true; })")


@pytest.mark.parametrize("way", [LOAF_PAGE, "found/", "own/"])
def test_in_every_field_at_once(way, page):
    page.on("dialog", lambda dialog: pytest.fail(f"a dialog came: {dialog.message}"))
    page.goto(way)
    type_in(page, **{"meat": "1 kg"})
    before = census(page)
    form = page.locator("main form[data-form]")
    open_all(page)
    filled: dict[str, str] = {}
    for text in TEXTS.values():
        filled = form.evaluate(FILL, text)
        assert len(filled) > 5 and set(map(len, filled.values())) - {0}
        settled(page)
        expect(section(page, "verdict").locator("a").first).to_be_visible(timeout=START_MS)
        expect(dose(page)).to_have_count(0)
        assert census(page) == before
        assert form.evaluate(STANDING) == filled
    # What was typed is on the device, and comes back as it was.
    form.locator("input").first.blur()
    page.reload()
    settled(page)
    expect(section(page, "verdict").locator("a").first).to_be_visible(timeout=START_MS)
    back = form.evaluate(STANDING)
    # What a kitchen is to be called is kept once the cook says so, and is no entry of the card.
    assert {key: text for key, text in back.items() if text != filled[key] and key != "kitchen-name"} == {}
    assert census(page) == before


# Sound by every rule of the file, and as unfriendly as a file may be.
NAMES = {"title": MARKUP.replace("{", "(").replace("}", ")"), "Pork": "<b onclick=ran=7>Pork</b> {{7*7}}", "Ice": "javascript:ran=8 __proto__ " + "W" * 250}
FILE = (
    recipe_text(extra='[[step]]\ntext = "<img src=x onerror=ran=9> {curing_salt} ' + "W" * 1000 + '"\n')
    .replace('"Trial"', json.dumps(NAMES["title"])).replace('name = "Pork"', f'id = "pork"\nname = {json.dumps(NAMES["Pork"])}').replace('name = "Ice"', f'id = "constructor"\nname = {json.dumps(NAMES["Ice"])}')
)  # fmt: skip


def test_in_a_sound_recipe_from_its_file_to_the_end_of_the_day(page, assert_no_axe_findings):
    page.goto("own/")
    before = census(page)
    type_in(page, **KITCHEN)
    page.locator("[data-own-file]").set_input_files({"name": "hostile.toml", "mimeType": "application/toml", "buffer": FILE.encode()})
    expect(dose(page)).to_be_visible(timeout=START_MS)
    settled(page)
    assert census(page)["elements"] == before["elements"]
    expect(section(page, "amounts")).to_contain_text(NAMES["Pork"])
    assert_no_axe_findings(page)
    planned = weights(page)
    # Its link, on a device that has never seen it.
    page.get_by_role("button", name="Start this batch").click()
    expect(page.locator("[data-title]")).to_contain_text("<script>ran=1</script>", timeout=START_MS)
    open_all(page)
    expect(page.locator("[data-amounts]")).to_contain_text(NAMES["Pork"])
    expect(page.locator("[data-amounts]")).not_to_contain_text("function")  # what every object calls its constructor
    page.locator("#f-note").fill(MARKUP)
    page.locator("[data-add-note]").click()
    expect(page.locator("[data-notes]")).to_contain_text("<script>ran=1</script>", timeout=START_MS)
    census(page)
    assert_no_axe_findings(page)
    assert planned and page.locator("[data-amounts] tbody tr").count() == len(planned)


@pytest.mark.parametrize("way", [LOAF_PAGE, "own/"])
def test_in_a_link(way, page):
    """Whole links with hostile values, cut ones, and ones that are no link of ours at all."""
    page.goto(f"{way}#v=1&__proto__=1&constructor=2&check=aaaa")
    settled(page)
    before = census(page)
    links = [
        encode({"recipe": "pistachio-pork-loaf.1", "meat": ADDRESS, "pack": MARKUP}, kitchen=True), encode({OWN: "a = " + "[" * 50_000}, kitchen=False),
        f"v=1&recipe=<script>ran=1</script>{'%' * 200}", "v=1&" + "x" * 100_000, *([encode({OWN: FILE, **KITCHEN}, kitchen=True)] if way == "own/" else []),
    ]  # fmt: skip
    for made in links:
        page.evaluate("link => { location.hash = link; }", made)
        settled(page)
        expect(section(page, "verdict")).not_to_be_empty(timeout=START_MS)
        expect(dose(page)).to_have_count(0)
        found = census(page)
        assert found["elements"] == before["elements"] and found["headings"] == 1, made[:60]


FILES = {
    "deep lists": "a = " + "[" * 40_000 + "]" * 40_000, "deep keys": ".".join(["a"] * 40_000) + " = 1", "deep tables": "a = " + "{b = " * 15_000, "quotes": '"\\' * 50_000,
    "no texts": 'kinds = 5\ntitle = 3\ningredient = "x"\nstep = 4\ntargets = [1]\nbatch = "x"\n', "other shapes": 'kinds = {a = 1}\nstep = [1, [2]]\ningredient = [3, "abc", [4]]\ntargets = 1\ncooking = true\n',
    "names of objects": '__proto__ = 1\nconstructor = {prototype = {ran = 1}}\n[targets]\n__proto__ = "x"\ntoString = "y"\n[[ingredient]]\n__proto__ = {ran = 1}\n"\\"]" = "z"\n',
}


def test_in_a_file_of_a_recipe(page):
    page.goto("own/")
    type_in(page, **KITCHEN)
    before = census(page)
    for name, text in FILES.items():
        page.locator("[data-own-file]").set_input_files({"name": f"{name}.toml", "mimeType": "application/toml", "buffer": text.encode()})
        expect(page.locator("[data-card]")).not_to_have_attribute("data-stale", "", timeout=START_MS)
        settled(page)
        expect(section(page, "verdict").locator("a, li").first).to_be_visible()
        expect(dose(page)).to_have_count(0)
        assert census(page)["elements"] == before["elements"], name
    # The runtime has come through all of it.
    page.locator("[data-own-file]").set_input_files({"name": "a.toml", "mimeType": "application/toml", "buffer": recipe_text().encode()})
    expect(dose(page)).to_be_visible(timeout=START_MS)


def test_in_a_log_and_a_backup(page):
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto("day/")
    expect(page.locator("[data-no-logs]")).to_be_visible(timeout=START_MS)
    before = census(page)

    def give(chooser: str, text: str) -> None:
        page.locator(chooser).set_input_files({"name": "a.json", "mimeType": "application/json", "buffer": text.encode()})

    for text in ("[" * 100_000, '{"a":' * 50_000, json.dumps({"__proto__": {"ran": 1}}), MARKUP):
        for chooser, faults in (("[data-import-file]", "[data-import-faults]"), ("[data-restore-file]", "[data-restore-faults]")):
            give(chooser, text)
            expect(page.locator(f"{faults} li").first).to_be_visible(timeout=START_MS)
            assert census(page) == before
    hostile = log_of(title=MARKUP, notes=[{"at": AT, "text": MARKUP}, {"at": AT, "text": "W" * 1900}], next_time="javascript:ran=1 " + "W" * 1900, zone="<b>x</b>", build="__proto__")
    hostile["amounts"][0]["name"] = NAMES["Pork"]
    give("[data-import-file]", json.dumps(hostile))
    expect(page.locator("[data-logs] > li")).to_have_count(1, timeout=START_MS)
    open_all(page)
    expect(page.locator("[data-logs]")).to_contain_text("<script>ran=1</script>")
    census(page)


def test_in_the_frame(page):
    page.goto("embed/pistachio-pork-loaf/")
    before = census(page)
    form = page.locator("form[data-form]")
    expect(form).to_be_visible()
    for text in TEXTS.values():
        filled = form.evaluate(FILL, text)
        expect(page.locator("#e-pack")).to_contain_text(text[:16], timeout=START_MS)
        assert form.evaluate(STANDING) == filled
        assert census(page)["elements"] == before["elements"]
