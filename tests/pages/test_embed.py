"""A recipe in a frame of another site's page, under that site's content policy, on another port.

The blog's page is whole without the frame; the frame asks for the pack before it shows a gram,
and leaves nothing behind.
"""

from __future__ import annotations

import json
import re
import shutil
import threading
from collections.abc import Callable, Iterator
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from curebatch.views import embed
from curebatch.words import say
from helpers.card_page import START_MS, expected, expected_weights, plain
from helpers.hosts import Host
from helpers.runtime import built_site
from playwright.sync_api import Error, FrameLocator, Page, expect

pytestmark = pytest.mark.site
LOAF = "pistachio-pork-loaf"
KITCHEN = {"pack": "6.25 %", "scale": "1 g"}
UNTOUCHED_BYTES = 60_000


class Blog(BaseHTTPRequestHandler):
    """A page of somebody else's, with the policy of a careful host."""

    def __init__(self, *args, page: Callable[[], str], policy: str):
        self.page, self.policy = page, policy
        super().__init__(*args)

    def do_GET(self):
        if self.path != "/":
            self.send_error(404)
            return
        data = self.page().encode()
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Security-Policy", self.policy)
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        self.wfile.write(data)

    def log_message(self, *_):
        pass


@pytest.fixture
def host(tmp_path: Path, watch) -> Iterator[Host]:
    """The site, whose folder may be changed and whose server may be stopped."""
    made = Host(shutil.copytree(built_site(), tmp_path / "site"), "/club/").start()
    watch.places.append(made.url)
    yield made
    made.stop()


@pytest.fixture
def blog(host: Host, watch) -> Iterator[Callable[..., str]]:
    """Serves a page with frames: blog(snippets...) gives its address. Another origin than the site's."""
    servers = []

    def serve(*snippets: str, width: str = "100%") -> str:
        site = host.url.removesuffix("/club/")
        policy = f"default-src 'none'; frame-src {site}; script-src {site}; style-src 'self'"
        text = (
            '<!doctype html><html lang="en"><head><title>A blog</title></head><body>'
            f"<h1>Sunday</h1><table width='{width}'><tr><td>{'<hr>'.join(snippets)}</td></tr></table><p>The end.</p></body></html>"
        )
        server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Blog, page=lambda: text, policy=policy))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        servers.append(server)
        # Another name, so that it is another site and not only another port.
        address = f"http://localhost:{server.server_port}/"
        watch.places.append(address)
        return address

    yield serve
    for server in servers:
        server.shutdown()
        server.server_close()


def snippet(host: Host, recipe: str = LOAF, more: str = "") -> str:
    return embed.snippet(f"{host.url}embed/{recipe}/{more}", f"{host.url}recipes/{recipe}/", "Pistachio pork loaf", f"{host.url}embed.js")


def frame_of(page: Page, number: int = 0) -> FrameLocator:
    return page.frame_locator("iframe").nth(number)


def state(frame: FrameLocator, **fields: str) -> None:
    for key, text in fields.items():
        frame.locator(f"#f-{key}").fill(text)


def test_until_it_is_touched_it_costs_little_and_loads_no_python(blog, host, page):
    sizes: dict[str, int] = {}
    page.on("response", lambda answer: sizes.update({answer.url: int(answer.headers.get("content-length") or 0)}))
    page.goto(blog(snippet(host)))
    frame = frame_of(page)
    expect(frame.locator("form")).to_be_visible()
    frame.locator("summary").first.click()  # the static answers are no touch
    page.wait_for_timeout(1500)  # for what must not happen there is nothing to wait for
    own = {url: size for url, size in sizes.items() if url.startswith(host.url)}
    assert own and sum(own.values()) <= UNTOUCHED_BYTES, own
    assert not [url for url in own if re.search(r"wasm|\.whl|pyodide|worker|bridge", url)]


def test_the_common_strengths_are_answered_without_a_script(blog, host, new_page, watch):
    page = new_page(java_script_enabled=False)
    page.goto(blog(snippet(host)))
    frame = frame_of(page)
    expect(frame.locator("form")).to_be_hidden()
    first = expected()["card"]["strengths"][0]
    frame.get_by_text(say("embed.pack_says", percent=first["percent"])).click()
    expect(frame.get_by_text(first["text"])).to_be_visible()
    assert plain(frame.locator("h2").first.text_content()) == say("embed.question")


def test_nothing_is_stored_or_registered(blog, host, new_page):
    page = new_page(service_workers="allow")
    page.goto(blog(snippet(host)))
    state(frame_of(page), **KITCHEN)
    expect(frame_of(page).locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=2 * START_MS)
    # Where the browser refuses them to a frame of another site there is nothing either.
    found = page.frames[1].evaluate("""async () => {
      const count = async (work) => { try { return (await work()).length; } catch { return 0; } };
      return [
        await count(() => navigator.serviceWorker.getRegistrations()), await count(() => caches.keys()),
        await count(() => indexedDB.databases()), await count(() => localStorage), await count(() => document.cookie),
      ];
    }""")
    assert found == [0, 0, 0, 0, 0]
    assert page.context.cookies() == []
    # Nor on the site's own pages, where storage is allowed.
    page.goto(host.url + f"embed/{LOAF}/")
    page.locator("#f-pack").fill("6.25 %")
    expect(page.locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=2 * START_MS)
    assert page.evaluate("async () => [(await navigator.serviceWorker.getRegistrations()).length, (await caches.keys()).length, (await indexedDB.databases()).length]") == [0, 0, 0]


REFUSE = """for (const name of ["indexedDB", "localStorage", "sessionStorage", "caches"])
  Object.defineProperty(globalThis, name, { get() { throw new DOMException("refused", "SecurityError"); } });"""


def test_it_works_where_storage_is_refused(blog, host, page):
    page.add_init_script(REFUSE)
    page.goto(blog(snippet(host)))
    with pytest.raises(Error):
        page.frames[1].evaluate("localStorage.length")
    state(frame_of(page), **KITCHEN)
    expect(frame_of(page).locator("[data-section=amounts]")).to_contain_text("6.25 %", timeout=2 * START_MS)


def test_a_doubtful_pack_must_be_confirmed_in_the_frame_too(blog, host, page):
    page.goto(blog(snippet(host), width="320"))
    frame = frame_of(page)
    state(frame, pack="0.62 %")
    box = frame.locator("[data-confirm-pack]")
    expect(box).to_be_visible(timeout=2 * START_MS)
    expect(frame.locator("[data-section=amounts]")).not_to_contain_text("sodium nitrite")
    box.click()
    expect(frame.locator("[data-section=amounts]")).to_contain_text("0.62 % sodium nitrite", timeout=START_MS)
    # The verdict stands on the card: beside it, it is heard and not seen again.
    status = frame.locator("[data-status]")
    expect(frame.locator("[data-section=verdict]")).to_contain_text(status.text_content())
    assert status.bounding_box()["width"] <= 1
    state(frame, pack="six")
    expect(frame.locator("#e-pack")).to_be_visible(timeout=START_MS)
    assert status.bounding_box()["width"] > 100
    expect(frame.locator("[data-section=amounts]")).not_to_contain_text("sodium nitrite")
    # A narrow column: nothing sticks out of it.
    assert page.frames[1].evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("kind", ["recipe", "edition"])
def test_what_is_withdrawn_is_refused_in_the_frame(kind, blog, host, page):
    edition = re.search(r'data-edition="([0-9-]+)"', (host.folder / "embed" / LOAF / "index.html").read_text("utf-8"))[1]
    listed = {"recipes": {f"{LOAF}.1": "The nitrite was given per kilo of meat."} if kind == "recipe" else {}, "editions": {edition: "A limit was misread."} if kind == "edition" else {}}
    (host.folder / "withdrawn.json").write_text(json.dumps(listed), "utf-8")
    page.goto(blog(snippet(host)))
    frame = frame_of(page)
    expect(frame.locator("[data-withdrawn]")).to_contain_text("withdrawn")
    expect(frame.locator("[data-withdrawn]")).to_contain_text("per kilo of meat" if kind == "recipe" else "misread")
    expect(frame.locator("[data-usable]")).to_have_count(0)
    assert not re.search(r"\d g of that", frame.locator("main").inner_text())


@pytest.mark.parametrize(("look", "dark"), [("dark", True), ("light", False), ("pink", False)])
def test_its_colours_may_be_fixed_by_a_checked_key(look, dark, blog, host, page, assert_no_axe_findings):
    page.emulate_media(color_scheme="dark" if look == "light" else "light")
    page.goto(blog(snippet(host, more=f"?look={look}")))
    expect(frame_of(page).locator("form")).to_be_visible()
    red = int(re.search(r"\d+", page.frames[1].evaluate("getComputedStyle(document.body).backgroundColor"))[0])
    assert (red < 80) == dark
    assert page.frames[1].evaluate("document.documentElement.dataset.look ?? ''") == (look if look in ("dark", "light") else "")
    page.goto(f"{host.url}embed/{LOAF}/?look={look}")
    expect(page.locator("form")).to_be_visible()
    assert_no_axe_findings(page)


def test_only_the_frame_itself_may_size_the_frame(blog, host, page):
    page.goto(blog(snippet(host)))
    expect(frame_of(page).locator("form")).to_be_visible()
    frame = page.locator("iframe")
    expect(frame).not_to_have_attribute("height", str(embed.HEIGHT))
    before = frame.get_attribute("height")
    page.evaluate("postMessage({ curebatch: 'height', height: 3000 }, '*')")  # the page's own origin
    page.frames[1].evaluate("height => parent.postMessage({ curebatch: 'height', height }, '*')", int(before) + 3)
    page.frames[1].evaluate("parent.postMessage({ curebatch: 'height', height: 'tall' }, '*')")
    page.wait_for_timeout(300)
    assert frame.get_attribute("height") == before
    page.frames[1].evaluate("parent.postMessage({ curebatch: 'height', height: 1e9 }, '*')")
    expect(frame).to_have_attribute("height", "6000")


NO_HEIGHTS = ["'3000'", "NaN", "Infinity", "-Infinity", "-3000", "0", "-0", "null", "undefined", "true", "[3000]", "{ valueOf: 3000 }", "3000n", "new Date(3000)", "new Number(3000)"]
FORGED = """(home) => {
  const [frame, help, other] = document.querySelectorAll("iframe");
  const send = (data, more) => dispatchEvent(new MessageEvent("message", { data, origin: home, source: frame.contentWindow, ...more }));
  // As if the browser had brought them, and with what no message can hold.
  send({ curebatch: "height", height: 3000 });
  send({ get curebatch() { throw new Error("asked"); } });
  send({ curebatch: "height", get height() { throw new Error("asked"); } });
  send(Object.create({ curebatch: "height", height: 3000 }));
  send(JSON.parse('{ "__proto__": { "curebatch": "height", "height": 3000 } }'));
  for (const data of [null, undefined, "height", 5, [], { curebatch: { height: 3000 } }, { curebatch: ["height"], height: 3000 }]) postMessage(data, "*");
  postMessage({ curebatch: "height", height: 3000 }, "*");
}"""


def test_no_forged_message_sizes_the_frame(blog, host, page):
    help_page = f'<iframe src="{host.url}help/" title="b"></iframe>'
    page.goto(blog(snippet(host), help_page, snippet(host)))
    frames = page.locator("iframe")
    for number in (0, 2):
        frames.nth(number).scroll_into_view_if_needed()
        expect(frame_of(page, number).locator("form")).to_be_visible()
        expect(frames.nth(number)).not_to_have_attribute("height", str(embed.HEIGHT))
    first, _, third = (frames.nth(number).get_attribute("height") for number in range(3))
    page.evaluate(FORGED, host.url.removesuffix("/club/"))
    inside = {number: frames.nth(number).element_handle().content_frame() for number in range(3)}
    # A page of the same origin that is no frame of a recipe, and one frame in another's name.
    inside[1].evaluate("parent.postMessage({ curebatch: 'height', height: 3000 }, '*')")
    inside[2].evaluate("parent.frames[0].postMessage({ curebatch: 'height', height: 3000 }, '*')")
    for value in NO_HEIGHTS:
        inside[0].evaluate(f"parent.postMessage({{ curebatch: 'height', height: {value} }}, '*')")
    inside[0].evaluate("parent.postMessage({ curebatch: 'Height', height: 3000 }, '*'); parent.postMessage({ height: 3000 }, '*')")
    # Messages come in their order: after this one all others have been heard.
    inside[0].evaluate("parent.postMessage({ curebatch: 'height', height: 777.2 }, '*')")
    expect(frames.nth(0)).to_have_attribute("height", "778")
    assert frames.nth(1).get_attribute("height") is None and frames.nth(2).get_attribute("height") == third and first != "778"
    # One that asks is its own page, and gets nothing but a number.
    inside[0].evaluate("for (const data of [null, 5, 'height?', { curebatch: 'fill' }, { curebatch: 'height?', pack: '62.5 %' }]) postMessage(data, '*')")
    assert inside[0].locator("#f-pack").input_value() == "" and page.evaluate("Object.keys(Object.prototype).length") == 0
