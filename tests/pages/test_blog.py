"""Two recipes in frames of a blog that a generator made, on another port, under the policy of a careful host."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from curebatch.words import say
from helpers.card_page import START_MS, expected, expected_weights
from helpers.hosts import Host
from helpers.runtime import answers_here, built_site
from playwright.sync_api import FrameLocator, Page, expect

pytestmark = pytest.mark.site

RECIPES = {"pistachio-pork-loaf": "2.4 kg", "corned-brisket": "1.5 kg"}  # with the meat of the reader
KITCHEN = {"pack": "6.25 %", "scale": "1 g", "pack_as": "NaNO2"}

SETTINGS = """
SITENAME = "Quayside Supper Club"
AUTHOR = "The club"
PATH = "content"
OUTPUT_PATH = "output"
THEME = "simple"
TIMEZONE = "UTC"
DEFAULT_LANG = "en"
RELATIVE_URLS = True
FEED_ALL_ATOM = CATEGORY_FEED_ATOM = TRANSLATION_FEED_ATOM = AUTHOR_FEED_ATOM = AUTHOR_FEED_RSS = None
"""
ARTICLE = """Title: What we cured on Sunday
Date: 2026-11-25
Slug: sunday

Thirty came, and *nothing* was left over.

{first}
And the brisket:

{second}
That was all.
"""


class Blog(SimpleHTTPRequestHandler):
    def __init__(self, *args, policy: str, **more):
        self.policy = policy
        super().__init__(*args, **more)

    def end_headers(self):
        self.send_header("Content-Security-Policy", self.policy)
        super().end_headers()

    def log_message(self, *_):
        pass


@pytest.fixture(scope="module")
def host(tmp_path_factory) -> Iterator[Host]:
    """The site, whose server may be stopped."""
    made = Host(shutil.copytree(built_site(), tmp_path_factory.mktemp("blog") / "site"), "/club/").start()
    yield made
    made.stop()


def snippet(host: Host, recipe: str) -> str:
    """What the recipe's own page gives to be pasted."""
    told = {"page": "recipe", "recipe": f"{recipe}.1", "fields": {}, "address": f"{host.url}recipes/{recipe}/"}
    (answer,) = answers_here([{"id": 1, "build": "test", "input": told, "want": ["snippet"]}])
    return answer["handed"]["snippet"]


@pytest.fixture(scope="module")
def blog(host: Host, tmp_path_factory) -> Iterator[str]:
    """The address of the blog's page; another origin than the site's, and another site by its name."""
    folder = tmp_path_factory.mktemp("pelican")
    (folder / "content").mkdir()
    first, second = (snippet(host, recipe) for recipe in RECIPES)
    (folder / "content" / "sunday.md").write_text(ARTICLE.format(first=first, second=second), encoding="utf-8")
    (folder / "settings.py").write_text(SETTINGS, encoding="utf-8")
    subprocess.run([sys.executable, "-m", "pelican", "--settings", "settings.py", "--fatal", "errors"], cwd=folder, check=True, capture_output=True)
    site = host.url.removesuffix("/club/")
    policy = f"default-src 'none'; frame-src {site}; script-src {site}; style-src 'self'"
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Blog, policy=policy, directory=folder / "output"))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://localhost:{server.server_port}/sunday.html"
    server.shutdown()
    server.server_close()


@pytest.fixture
def reader(host: Host, blog: str, watch, page: Page) -> Iterator[Page]:
    watch.places += [host.url, blog.removesuffix("sunday.html")]
    if host.server is None:
        host.start()
    return page


def frame_of(page: Page, number: int) -> FrameLocator:
    page.locator("iframe").nth(number).scroll_into_view_if_needed()
    return page.frame_locator("iframe").nth(number)


def state(frame: FrameLocator, **fields: str) -> None:
    for key, text in fields.items():
        field = frame.locator(f"#f-{key}")
        if field.evaluate("field => field.tagName") == "SELECT":
            field.select_option(text)
        else:
            field.fill(text)


def is_whole(page: Page) -> None:
    for text in ("What we cured on Sunday", "Thirty came", "And the brisket:", "That was all."):
        expect(page.get_by_text(text).first).to_be_visible()


def test_a_reader_of_the_blog_gets_the_grams_for_their_own_pack_in_both_frames(reader, blog):
    reader.goto(blog)
    is_whole(reader)
    for number, (recipe, meat) in enumerate(RECIPES.items()):
        frame = frame_of(reader, number)
        expect(frame.locator("[data-published]")).to_be_visible()
        state(frame, **KITCHEN, meat=meat)
        wanted = expected_weights(expected(recipe=f"{recipe}.1", fields={**KITCHEN, "meat": meat}))
        amounts = frame.locator("[data-section=amounts]")
        expect(amounts).to_contain_text("6.25 % sodium nitrite", timeout=2 * START_MS)
        expect(amounts.locator("tbody td")).to_have_text([re.compile(rf"^\s*{re.escape(w).replace(chr(92) + ' ', '[ ]')}\s*$") for w in wanted])
        expect(frame.locator("[data-published]")).to_be_hidden()
        # As high as what is in it: the script was let in by the policy.
        inner = frame.locator("main").evaluate("main => main.getBoundingClientRect().height")
        assert abs(int(reader.locator("iframe").nth(number).get_attribute("height")) - inner) < 5
    is_whole(reader)


def test_with_the_server_stopped_after_the_load_the_frame_says_so(reader, blog, host, watch):
    watch.tolerate(r"ERR_|Failed to (load|fetch)|start: |dynamically imported")
    reader.goto(blog)
    frame = frame_of(reader, 0)
    expect(frame.locator("form")).to_be_visible()
    host.stop()
    state(frame, pack="6.25 %")
    expect(frame.locator("[data-trouble]")).to_contain_text(say("script.broken_frame"), timeout=START_MS)
    expect(frame.locator("[data-published]")).to_be_visible()
    expect(frame.locator("[data-card]")).to_be_hidden()
    is_whole(reader)


def test_with_the_server_stopped_before_the_page_stays_whole(reader, blog, host, watch):
    watch.tolerate(r"ERR_|Failed to load|chrome-error")
    host.stop()
    reader.goto(blog)
    is_whole(reader)
    links = reader.get_by_role("link", name=say("embed.open"))
    for number, recipe in enumerate(RECIPES):
        title = expected(recipe=f"{recipe}.1")["card"]["title"]
        expect(reader.get_by_text(say("embed.fallback", title=title))).to_be_visible()
        assert links.nth(number).get_attribute("href") == f"{host.url}recipes/{recipe}/"
