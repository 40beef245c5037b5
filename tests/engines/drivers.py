"""One small interface to three browsers: Chromium, Firefox ESR and WebKitGTK.

``open_engine(name, profile)`` starts a browser on a profile of its own and gives an ``Engine``.
Everything goes through each browser's own protocol, so that it works under a content policy that
forbids eval: Playwright for Chromium, WebDriver BiDi for Firefox, WebDriver for WebKitGTK under
a display of its own. Opened again on the same profile, Chromium and Firefox find what they stored;
WebKitGTK keeps nothing under automation, and its profile lives as long as the engine.
"""

from __future__ import annotations

import contextlib
import functools
import importlib.util
import json
import os
import re
import signal
import socket
import subprocess
import time
import urllib.error
import urllib.request
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, NamedTuple, Self

import websocket
from playwright import sync_api as playwright

TOP = Path(__file__).resolve().parents[2]
ENGINES = ("chromium", "firefox", "webkitgtk")
VIEW = {"width": 390, "height": 800}
PATIENCE_S = 60.0  # to start, to load: other work may have the machine
STEP_S = 0.05
DELETE_KEY = "\ue017"  # as both WebDriver protocols write it

# What keeps a browser quiet on a machine without a network of its own.
CHROMIUM_ARGUMENTS = (
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
FIREFOX_PREFERENCES = {
    "app.normandy.enabled": False,
    "app.update.disabledForTesting": True,
    "browser.aboutwelcome.enabled": False,
    "browser.newtabpage.enabled": False,
    "browser.safebrowsing.downloads.enabled": False,
    "browser.safebrowsing.malware.enabled": False,
    "browser.safebrowsing.phishing.enabled": False,
    "browser.sessionstore.resume_from_crash": False,
    "browser.shell.checkDefaultBrowser": False,
    "browser.startup.page": 0,
    "datareporting.policy.dataSubmissionEnabled": False,
    "extensions.update.enabled": False,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "services.settings.server": "data:,#no-settings/v1",
    "toolkit.startup.max_resumed_crashes": -1,
    "toolkit.telemetry.enabled": False,
}


class EngineError(Exception):
    """The browser, or the script that it was given, answered with an error."""


class Trouble(NamedTuple):
    """What a page reported by itself."""

    kind: str  # "console" for a logged error, "page" for an exception that nobody caught
    text: str


@functools.cache
def _build_module():
    spec = importlib.util.spec_from_file_location("curebatch_build", TOP / "build.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@functools.cache
def program(variable: str) -> str:
    """The path of a program by the environment variable that may name one's own copy: CHROMIUM,
    FIREFOX, WEBKIT_DRIVER, MINIBROWSER or XVFB. FileNotFoundError where there is none."""
    build = _build_module()
    if variable == "CHROMIUM":
        found = build.find_browser() or build.find_own_browser()
    else:
        (wanted,) = (each for each in build.PROGRAMS if each.variable == variable)
        found = build.find_program(wanted)
    if not found:
        raise FileNotFoundError(
            f"{variable}: no such program here; python3 build.py test sets it up."
        )
    return found


def free_port() -> int:
    """A port that nothing listens on at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Engine(ABC):
    """A browser with one page open. CSS selectors name elements; the first that fits is meant."""

    name: str
    troubles: list[Trouble]

    @abstractmethod
    def goto(self, url: str, until: str = "load") -> None:
        """Open an address and wait until the page is loaded, or with ``until="parsed"`` only
        until its document is there."""

    @abstractmethod
    def reload(self) -> None:
        """Load the page again and wait until it is loaded."""

    @abstractmethod
    def _evaluate(self, function: str) -> str:
        """Call an async function, given as source, that returns a text."""

    @abstractmethod
    def _press(self, keys: str) -> None:
        """Type into the element that has the focus, as a keyboard does."""

    @abstractmethod
    def click(self, css: str) -> None:
        """Click the middle of an element, as a mouse does."""

    @abstractmethod
    def close(self) -> None:
        """End the browser and everything that was started for it."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def evaluate(self, expression: str) -> Any:
        """The value of a JavaScript expression, awaited, as JSON has it (undefined becomes None).
        Raises EngineError where it throws."""
        return json.loads(
            self._evaluate(f"async () => JSON.stringify((await ({expression})) ?? null)")
        )

    def text(self, css: str) -> str:
        """The text that an element shows, its spaces drawn together; EngineError without one."""
        return re.sub(r"\s+", " ", self.evaluate(f"{_one(css)}.innerText")).strip()

    def texts(self, css: str) -> list[str]:
        """The texts of all elements that fit, shown or not, their spaces drawn together."""
        found = self.evaluate(
            f"[...document.querySelectorAll({json.dumps(css)})].map((one) => one.textContent)"
        )
        return [re.sub(r"\s+", " ", text).strip() for text in found]

    def value(self, css: str) -> str:
        """What stands in a form field."""
        return self.evaluate(f"{_one(css)}.value")

    def fill(self, css: str, text: str) -> None:
        """Put ``text`` into a form field in place of what stands there, typed key by key; a list
        of choices is set and says so. Details around it are opened first."""
        is_list = self.evaluate(
            f"((field) => {{"
            f" let up = field;"
            f" while ((up = up.parentElement.closest('details'))) up.open = true;"
            f" field.focus();"
            f" if (field.tagName !== 'SELECT') {{ field.select(); return false; }}"
            f" field.value = {json.dumps(text)};"
            f" for (const kind of ['input', 'change'])"
            f"   field.dispatchEvent(new Event(kind, {{ bubbles: true }}));"
            f" return true; }})({_one(css)})"
        )
        if not is_list:
            self._press(text or DELETE_KEY)  # nothing to type: the delete key

    def wait_for(self, condition: str, timeout: float = 30.0) -> None:
        """Wait until a JavaScript expression is true. A page that is just being left or loaded
        does not answer; that counts as not yet.

        timeout: [s]. Raises TimeoutError with the condition and what the page reported.
        """
        deadline = time.monotonic() + timeout
        last: object = None
        while time.monotonic() < deadline:
            try:
                last = self.evaluate(condition)
            except EngineError as error:
                last = error
            if last and not isinstance(last, EngineError):
                return
            time.sleep(STEP_S)
        raise TimeoutError(
            f"{self.name}: not so after {timeout:g} s: {condition} (last: {last!r}; "
            f"reported: {self.troubles})"
        )


def _one(css: str) -> str:
    quoted = json.dumps(css)
    return (
        f"(document.querySelector({quoted}) ??"
        f" (() => {{ throw new Error('nothing fits ' + {quoted}); }})())"
    )


# ------------------------------------------------------------------ Chromium


class Chromium(Engine):
    """Chromium through Playwright, with a profile on disk.

    Playwright's plain interface holds its thread, and another test may hold one of its own: so
    this one has a thread to itself.
    """

    name = "chromium"

    def __init__(self, profile: Path):
        self.troubles = []
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="chromium")
        try:
            self._do(lambda: self._open(profile))
        except BaseException:
            self.close()
            raise

    def _do(self, work: Callable[[], Any]) -> Any:
        try:
            return self._thread.submit(work).result()
        except playwright.Error as error:
            raise EngineError(str(error)) from error

    _library = None
    _context = None

    def _open(self, profile: Path) -> None:
        arguments = list(CHROMIUM_ARGUMENTS)
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            arguments.append("--no-sandbox")  # it refuses to start as root with one
        self._library = playwright.sync_playwright().start()
        self._context = self._library.chromium.launch_persistent_context(
            profile,
            executable_path=program("CHROMIUM"),
            args=arguments,
            viewport=VIEW,
            locale="en-GB",
            timeout=PATIENCE_S * 1000,
        )
        self._context.on("console", self._hear)
        self._context.on(
            "weberror", lambda error: self.troubles.append(Trouble("page", str(error.error)))
        )
        self._page = self._context.pages[0]

    def _hear(self, message: playwright.ConsoleMessage) -> None:
        if message.type == "error":
            self.troubles.append(Trouble("console", message.text))

    def goto(self, url: str, until: str = "load") -> None:
        state = {"load": "load", "parsed": "domcontentloaded"}[until]
        self._do(lambda: self._page.goto(url, wait_until=state, timeout=PATIENCE_S * 1000))

    def reload(self) -> None:
        self._do(lambda: self._page.reload(timeout=PATIENCE_S * 1000))

    def _evaluate(self, function: str) -> str:
        return self._do(lambda: self._page.evaluate(function))

    def _press(self, keys: str) -> None:
        def press() -> None:
            if keys == DELETE_KEY:
                self._page.keyboard.press("Delete")
            else:
                self._page.keyboard.type(keys)

        self._do(press)

    def click(self, css: str) -> None:
        self._do(lambda: self._page.locator(css).first.click(timeout=PATIENCE_S * 1000))

    def close(self) -> None:
        def end() -> None:
            context, library = self._context, self._library
            self._context = self._library = None
            if context:
                context.close()
            if library:
                library.stop()

        if self._thread is None:
            return
        try:
            self._do(end)
        finally:
            self._thread.shutdown()
            self._thread = None


# ------------------------------------------------------------------ Firefox


def _end(process: subprocess.Popen, grace: float) -> None:
    """Wait for a process that was asked to end; then end it with all that it started."""
    with contextlib.suppress(subprocess.TimeoutExpired):
        process.wait(grace)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def _wait_for_line(log: Path, process: subprocess.Popen, pattern: str) -> str:
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        found = re.search(pattern, log.read_text(errors="replace"))
        if found:
            return found[1]
        if process.poll() is not None:
            break
        time.sleep(STEP_S)
    raise EngineError(f"The program did not start: {log.read_text(errors='replace')[-2000:]}")


def _key_actions(keys: str) -> list[dict]:
    pressed = [{"type": kind, "value": key} for key in keys for kind in ("keyDown", "keyUp")]
    return [{"type": "key", "id": "keyboard", "actions": pressed}]


class Firefox(Engine):
    """Firefox over WebDriver BiDi, spoken by the browser itself; no driver stands between."""

    name = "firefox"

    def __init__(self, profile: Path):
        self.troubles = []
        self._socket = None
        self._last_id = 0
        profile.mkdir(parents=True, exist_ok=True)
        (profile / "user.js").write_text(
            "".join(
                f"user_pref({json.dumps(key)}, {json.dumps(value)});\n"
                for key, value in FIREFOX_PREFERENCES.items()
            )
        )
        log = profile / "stderr.txt"
        # fmt: off
        words = [
            program("FIREFOX"), "--headless", "--no-remote", "--new-instance",
            "--profile", str(profile), "--remote-debugging-port", "0",
            "--width", str(VIEW["width"]), "--height", str(VIEW["height"]), "about:blank",
        ]
        # fmt: on
        with open(log, "w") as out:
            self._process = subprocess.Popen(
                words,
                stdout=subprocess.DEVNULL,
                stderr=out,
                start_new_session=True,
                env={**os.environ, "HOME": str(profile)},
            )
        try:
            address = _wait_for_line(log, self._process, r"WebDriver BiDi listening on (ws://\S+)")
            self._socket = websocket.create_connection(
                f"{address}/session", timeout=PATIENCE_S, suppress_origin=True
            )
            self._send("session.new", capabilities={})
            self._send("session.subscribe", events=["log.entryAdded"])
            (first, *_) = self._send("browsingContext.getTree")["contexts"]
            self._context = first["context"]
            self._send("browsingContext.setViewport", context=self._context, viewport=VIEW)
        except BaseException:
            self.close()
            raise

    def _send(self, method: str, **parameters: Any) -> dict:
        self._last_id += 1
        self._socket.send(
            json.dumps({"id": self._last_id, "method": method, "params": parameters})
        )
        while True:
            try:
                message = json.loads(self._socket.recv())
            except websocket.WebSocketException as error:
                raise EngineError(f"{method}: {error}") from error
            if message.get("id") == self._last_id:
                break
            if message.get("method") == "log.entryAdded":
                self._hear(message["params"])
        if message["type"] == "error":
            raise EngineError(f"{method}: {message['error']}: {message['message']}")
        return message["result"]

    def _hear(self, entry: dict) -> None:
        if entry["level"] == "error":
            kind = "page" if entry["type"] == "javascript" else "console"
            self.troubles.append(Trouble(kind, entry["text"] or ""))

    def goto(self, url: str, until: str = "load") -> None:
        wait = {"load": "complete", "parsed": "interactive"}[until]
        self._send("browsingContext.navigate", context=self._context, url=url, wait=wait)

    def reload(self) -> None:
        self._send("browsingContext.reload", context=self._context, wait="complete")

    def _call(self, function: str) -> dict:
        answer = self._send(
            "script.callFunction",
            functionDeclaration=function,
            awaitPromise=True,
            target={"context": self._context},
            userActivation=True,
        )
        if answer["type"] == "exception":
            raise EngineError(answer["exceptionDetails"]["text"])
        return answer["result"]

    def _evaluate(self, function: str) -> str:
        return self._call(function)["value"]

    def _press(self, keys: str) -> None:
        self._send("input.performActions", context=self._context, actions=_key_actions(keys))

    def click(self, css: str) -> None:
        element = self._call(
            f"() => {{ const one = {_one(css)};"
            " one.scrollIntoView({ block: 'center', behavior: 'instant' }); return one; }"
        )
        origin = {"type": "element", "element": {"sharedId": element["sharedId"]}}
        steps = [
            {"type": "pointerMove", "x": 0, "y": 0, "origin": origin},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]
        self._send(
            "input.performActions",
            context=self._context,
            actions=[{"type": "pointer", "id": "mouse", "actions": steps}],
        )

    def close(self) -> None:
        grace = 0.0
        if self._socket:
            with contextlib.suppress(EngineError, OSError, websocket.WebSocketException):
                self._send("browser.close")
                grace = 15.0  # it writes its storage down
            self._socket.close()
            self._socket = None
        _end(self._process, grace)


# ------------------------------------------------------------------ WebKitGTK


@contextlib.contextmanager
def _display() -> Iterator[str]:
    """A display of its own, so that no window opens on anybody's screen."""
    read, write = os.pipe()
    # fmt: off
    server = subprocess.Popen(
        [program("XVFB"), "-displayfd", str(write), "-screen", "0", "1000x1000x24",
         "-nolisten", "tcp"],
        pass_fds=[write], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    # fmt: on
    os.close(write)
    try:
        with os.fdopen(read) as numbers:
            number = numbers.readline().strip()
        if not number:
            raise EngineError("Xvfb did not start.")
        yield f":{number}"
    finally:
        server.terminate()
        _end(server, 5)


_WATCH = """(() => {
  if (globalThis.troublesHere) return;
  const list = (globalThis.troublesHere = []);
  addEventListener("error", (event) => list.push(["page", String(event.message)]));
  addEventListener("unhandledrejection", (event) => list.push(["page", String(event.reason)]));
  const log = console.error;
  console.error = (...what) => { list.push(["console", what.join(" ")]); log(...what); };
})()"""
_ELEMENT = "element-6066-11e4-a52e-4f735466cecf"  # how WebDriver names an element, by its standard


class WebKitGTK(Engine):
    """WebKitGTK's small browser through its WebDriver. Its protocol does not tell what pages
    report: that is collected on the page itself, from the moment its document is there."""

    name = "webkitgtk"

    def __init__(self, profile: Path):
        self._troubles = []
        self._session = ""
        self._base = ""
        profile.mkdir(parents=True, exist_ok=True)
        self._stack = contextlib.ExitStack()
        try:
            self._open(profile, self._stack.enter_context(_display()))
        except BaseException:
            self.close()
            raise

    def _open(self, profile: Path, display: str) -> None:
        port = free_port()
        places = {f"XDG_{kind}_HOME": str(profile) for kind in ("DATA", "CACHE", "CONFIG", "STATE")}
        self._process = subprocess.Popen(
            [program("WEBKIT_DRIVER"), "-p", str(port)],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            env={
                **os.environ,
                **places,
                "DISPLAY": display,
                "GDK_BACKEND": "x11",
                "NO_AT_BRIDGE": "1",
                "LIBGL_ALWAYS_SOFTWARE": "1",
                # Its sandbox needs rights that containers do not give.
                "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1",
            },
        )
        self._stack.callback(_end, self._process, 0)
        self._base = f"http://127.0.0.1:{port}"
        self._wait_for_driver()
        options = {
            "binary": program("MINIBROWSER"),
            "args": ["--automation"],
        }
        made = self._send(
            "POST",
            "/session",
            {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}},
        )
        self._session = f"/session/{made['sessionId']}"
        patience = PATIENCE_S * 1000
        self._send("POST", "/timeouts", {"pageLoad": patience, "script": patience})
        self._send("POST", "/window/rect", VIEW)

    def _wait_for_driver(self) -> None:
        deadline = time.monotonic() + PATIENCE_S
        while True:
            try:
                self._send("GET", "/status")
                return
            except OSError:
                if time.monotonic() > deadline or self._process.poll() is not None:
                    raise
                time.sleep(STEP_S)

    def _send(self, method: str, path: str, body: dict | None = None) -> Any:
        data = None if method != "POST" else json.dumps(body or {}).encode()
        request = urllib.request.Request(
            self._base + self._session + path,
            data,
            {"Content-Type": "application/json; charset=utf-8"},
            method=method,
        )
        try:
            with urllib.request.urlopen(request, timeout=2 * PATIENCE_S) as response:
                return json.load(response)["value"]
        except urllib.error.HTTPError as error:
            with error:
                value = json.load(error)["value"]
            raise EngineError(f"{path}: {value['error']}: {value['message']}") from error

    @property
    def troubles(self) -> list[Trouble]:
        with contextlib.suppress(EngineError, OSError):
            told = self.evaluate("globalThis.troublesHere?.splice(0)") or []
            self._troubles += [Trouble(kind, text) for kind, text in told]
        return self._troubles

    def _watch(self) -> None:
        self._run(_WATCH)

    def goto(self, url: str, until: str = "load") -> None:
        self.troubles  # noqa: B018 - what the old page reported goes with it
        if until == "load":
            self._send("POST", "/url", {"url": url})
        else:
            self._start_towards(url)
        self._watch()

    def _start_towards(self, url: str) -> None:
        """The driver's own way comes back when all is loaded, this one with the document."""
        before = self._run("return performance.timeOrigin")
        self._run(f"setTimeout(() => location.assign({json.dumps(url)}))")
        deadline = time.monotonic() + PATIENCE_S
        while time.monotonic() < deadline:
            with contextlib.suppress(EngineError):
                began, state = self._run("return [performance.timeOrigin, document.readyState]")
                if began != before and state != "loading":
                    return
            time.sleep(STEP_S / 5)
        raise TimeoutError(f"{url} was not there after {PATIENCE_S:g} s")

    def reload(self) -> None:
        self.troubles  # noqa: B018
        self._send("POST", "/refresh")
        self._watch()

    def _run(self, script: str) -> Any:
        return self._send("POST", "/execute/sync", {"script": script, "args": []})

    def _evaluate(self, function: str) -> str:
        came = self._send(
            "POST",
            "/execute/async",
            {
                "script": "const done = arguments[0];"
                f"({function})().then((text) => done({{ text }}),"
                " (error) => done({ error: String(error) }));",
                "args": [],
            },
        )
        if "error" in came:
            raise EngineError(came["error"])
        return came["text"]

    def _press(self, keys: str) -> None:
        self._send("POST", "/actions", {"actions": _key_actions(keys)})

    def click(self, css: str) -> None:
        element = self._send("POST", "/element", {"using": "css selector", "value": css})
        self._send("POST", f"/element/{element[_ELEMENT]}/click")

    def close(self) -> None:
        if self._session:
            with contextlib.suppress(EngineError, OSError):
                self._send("DELETE", "")
            self._session = ""
        self._stack.close()


# ------------------------------------------------------------------ the door

_OPENERS = {"chromium": Chromium, "firefox": Firefox, "webkitgtk": WebKitGTK}


def open_engine(name: str, profile: Path) -> Engine:
    """Start a browser.

    name: one of ENGINES; profile: the folder of its profile, made where it is missing.
    Returns the engine with an empty page. Raises KeyError for another name, FileNotFoundError
    where a program is missing, EngineError where the browser does not start.
    """
    return _OPENERS[name](Path(profile))
