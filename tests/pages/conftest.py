"""The built site in a real browser. Any console error, page error, failed request or request to
another place than the site fails the test."""

from __future__ import annotations

import importlib.util
import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import pytest
from helpers.runtime import TOP, built_site
from helpers.warm_python import WarmPython
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, Playwright, sync_playwright
from sitebuild.server import Server

PREFIX = "/kitchen/curebatch/"
PHONE = {"width": 360, "height": 740}
AXE = TOP / "site" / "node_modules" / "axe-core" / "axe.min.js"

# What keeps a browser quiet on a machine without a network of its own.
ARGUMENTS = [
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

# The program is compiled once, quickly. The pages here live for seconds: to make it faster in the
# background, as for a long life, costs more than all that they ask of it. tests/engines/ and the bench
# run the browsers as they are.
SHORT_LIFE = "--js-flags=--liftoff-only"


def browser_path(full: bool = False) -> str:
    """full: the browser with its windows, which alone knows of installing a site, say."""
    spec = importlib.util.spec_from_file_location("curebatch_build", TOP / "build.py")
    build = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(build)
    path = (None if full else build.find_shell()) or build.find_browser() or build.find_own_browser()
    if not path:
        pytest.fail("No Chromium was found: run python3 build.py test, which sets one up.")
    return path


@pytest.fixture(scope="session")
def site() -> Iterator[Server]:
    """dist/ served below a path, as many hosts do."""
    with Server(built_site(), PREFIX) as server:
        yield server


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as playwright:
        yield playwright


def launched(playwright: Playwright, *more: str, full: bool = False) -> Browser:
    arguments = [*ARGUMENTS, *more]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        arguments.append("--no-sandbox")  # it refuses to start as root with one
    return playwright.chromium.launch(executable_path=browser_path(full), args=arguments)


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    chromium = launched(playwright, SHORT_LIFE)
    yield chromium
    chromium.close()


@pytest.fixture
def full_browser(playwright: Playwright) -> Iterator[Browser]:
    """The browser with its windows, where a test is about what only that knows."""
    chromium = launched(playwright, full=True)
    yield chromium
    chromium.close()


@pytest.fixture(scope="session")
def warm_python(playwright: Playwright, site: Server) -> Iterator[WarmPython]:
    """The Python of all pages whose own start is not what a test is about."""
    chromium = launched(playwright)
    (worker,) = (built_site() / "assets").glob("worker.*.js")
    yield WarmPython(chromium.new_page(), site.url, f"assets/{worker.name}")
    chromium.close()


@dataclass
class Watch:
    """What went wrong in a context."""

    places: list[str]
    troubles: list[str] = field(default_factory=list)
    allowed: list[re.Pattern[str]] = field(default_factory=list)
    tolerated: list[re.Pattern[str]] = field(default_factory=list)

    def allow(self, pattern: str) -> None:
        """This trouble is what the test is about: it must happen, and it is no failure."""
        self.allowed.append(re.compile(pattern))

    def tolerate(self, pattern: str) -> None:
        """This trouble may come in the test's course, or may not."""
        self.tolerated.append(re.compile(pattern))

    def follow(self, context: BrowserContext) -> None:
        context.on("console", self.hear)
        context.on("weberror", lambda e: self.note(f"page error: {e.error}"))
        context.on("request", lambda r: self.check_place(r.url))
        context.on("requestfailed", self.check_failure)
        context.on(
            "response", lambda r: r.status >= 400 and self.note(f"status {r.status}: {r.url}")
        )

    def hear(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.note(f"console: {message.text}")
        elif message.type == "warning":
            print(f"console: {message.text}")  # read where a test fails: why a start was given up stands there

    def note(self, text: str) -> None:
        self.troubles.append(text)

    def check_place(self, url: str) -> None:
        if not url.startswith((*self.places, "data:", "blob:", "about:")):
            self.note(f"request to another place: {url}")

    def check_failure(self, request) -> None:
        # A page that is left takes its open requests with it; that is no failure.
        if request.failure != "net::ERR_ABORTED":
            self.note(f"failed ({request.failure}): {request.url}")

    def verdict(self) -> None:
        left = [t for t in self.troubles if not any(p.search(t) for p in (*self.allowed, *self.tolerated))]
        unseen = [p.pattern for p in self.allowed if not any(map(p.search, self.troubles))]
        assert not left, "The browser reported:\n" + "\n".join(left)
        assert not unseen, f"Expected trouble did not come: {unseen}"


@pytest.fixture
def watch(site: Server) -> Iterator[Watch]:
    """The troubles of all contexts of this test; looked at when it ends."""
    seen = Watch([site.url])
    yield seen
    seen.verdict()


@pytest.fixture
def new_page(browser: Browser, site: Server, watch: Watch, request: pytest.FixtureRequest) -> Iterator[Callable[..., Page]]:
    """Makes a page on a device of its own: new_page(), new_page(java_script_enabled=False).

    Its Python is a warm one, but in a test that is marked `cold_start`, on another site and where there
    may be a copy on the device.
    """
    contexts: list[BrowserContext] = []
    cold = request.node.get_closest_marker("cold_start") is not None

    def make(**given) -> Page:
        settings = {
            "base_url": site.url,
            "viewport": PHONE,
            "locale": "en-GB",
            # Most tests are not about the copy on the device, and need not wait for one.
            "service_workers": "block",
            **given,
        }
        context = browser.new_context(**settings)
        contexts.append(context)
        watch.follow(context)
        scripts = settings.get("java_script_enabled", True)
        if scripts and not cold and settings["base_url"] == site.url and settings["service_workers"] == "block":
            request.getfixturevalue("warm_python").connect(context)
        return context.new_page()

    yield make
    for context in contexts:
        context.close()


@pytest.fixture
def page(new_page: Callable[..., Page]) -> Page:
    """A phone that has never seen the site."""
    return new_page()


@pytest.fixture(scope="session")
def assert_no_axe_findings() -> Callable[[Page], None]:
    source = AXE.read_text(encoding="utf-8")

    def check(page: Page) -> None:
        # Evaluated, not inserted: the page's content policy allows no foreign script.
        page.evaluate(source)
        # Colours are judged as they stay, not as they look on the way from one to the next.
        page.evaluate("() => Promise.allSettled(document.getAnimations().map(a => a.finished))")
        found = page.evaluate(
            "async () => (await axe.run(document)).violations.map("
            "v => `${v.id} (${v.impact}): ${v.help}\\n` + v.nodes.map("
            "n => `  ${n.target}: ${n.failureSummary}`).join('\\n'))"
        )
        assert not found, f"axe on {page.url}:\n" + "\n".join(found)

    return check
