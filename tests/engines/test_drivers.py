"""The drivers themselves, on a small page with a content policy as strict as the site's. What
the offline test says about the site rests on these."""

from __future__ import annotations

import http.client

import pytest

from .drivers import ENGINES, EngineError, open_engine
from .serving import SiteProcess

PAGE = """<!doctype html><html lang="en"><head><title>Trial</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'self';
 worker-src 'self'; connect-src 'self'; img-src data:">
<link rel="icon" href="data:,"><script src="page.js"></script></head><body>
<details><summary>More</summary><input id="amount" value="2 kg"></details>
<select id="choice"><option>first<option>second</select>
<button id="press">Press</button><p id="said">nothing   yet</p></body></html>"""

SCRIPT = """
globalThis.heard = [];
try { globalThis.ownEval = eval("'allowed'"); } catch { globalThis.ownEval = "refused"; }
addEventListener("DOMContentLoaded", () => {
  const hear = ({ type, target }) => heard.push(`${type} ${target.id} ${target.value}`);
  for (const kind of ["input", "change"]) document.addEventListener(kind, hear);
  document.getElementById("press").addEventListener("click", (event) => {
    document.getElementById("said").textContent = `pressed, ${event.isTrusted}`;
    console.error("logged here");
    setTimeout(() => { throw new Error("thrown here"); });
  });
});
"""

WORKER = """
addEventListener("install", (event) => event.waitUntil(
  caches.open("trial").then((cache) => cache.addAll(["./", "page.js"]))));
addEventListener("activate", (event) => event.waitUntil(clients.claim()));
addEventListener("fetch", (event) => event.respondWith(
  caches.match(event.request).then((kept) => kept ?? fetch(event.request))));
"""


@pytest.fixture
def site(tmp_path):
    folder = tmp_path / "site"
    folder.mkdir()
    for name, text in {"index.html": PAGE, "page.js": SCRIPT, "worker.js": WORKER}.items():
        (folder / name).write_text(text)
    with SiteProcess(folder) as server:
        yield server


@pytest.fixture(params=ENGINES)
def engine(request, tmp_path):
    with open_engine(request.param, tmp_path / "profile") as opened:
        yield opened


def test_a_page_is_read_and_typed_into_as_by_a_person(engine, site):
    engine.goto(site.url)
    assert engine.text("#said") == "nothing yet"
    engine.fill("#amount", "3,5 kg")
    assert engine.value("#amount") == "3,5 kg"
    heard = engine.evaluate("heard")
    assert "input amount 3" in heard and heard[-1] == "input amount 3,5 kg"
    engine.fill("#amount", "")
    assert engine.value("#amount") == ""
    engine.fill("#choice", "second")
    assert engine.evaluate("heard.slice(-2)") == ["input choice second", "change choice second"]
    engine.reload()
    assert engine.evaluate("heard") == []


def test_scripts_are_evaluated_in_spite_of_the_content_policy(engine, site):
    engine.goto(site.url, until="parsed")
    assert engine.evaluate("Promise.resolve({ a: [1, 'b', null] })") == {"a": [1, "b", None]}
    assert engine.evaluate("undefined") is None
    assert engine.evaluate("ownEval") == "refused"  # the policy holds for the page itself
    with pytest.raises(EngineError, match="nothing fits #absent"):
        engine.text("#absent")
    with pytest.raises(TimeoutError, match="1 > 2"):
        engine.wait_for("1 > 2", timeout=0.3)


def test_what_a_page_reports_is_heard(engine, site):
    engine.goto(site.url)
    assert engine.troubles == []
    engine.click("#press")
    engine.wait_for("document.getElementById('said').textContent !== 'nothing   yet'")
    assert engine.text("#said") == "pressed, true"
    engine.evaluate("new Promise((done) => setTimeout(done, 200))")
    # Firefox also tells of the eval that the policy refused.
    told = {
        (kind, text.removeprefix("Error: "))
        for kind, text in engine.troubles
        if "Content-Security-Policy" not in text
    }
    assert told == {("console", "logged here"), ("page", "thrown here")}


def test_without_its_server_a_page_comes_from_the_worker_or_not_at_all(engine, site):
    engine.goto(site.url)
    engine.evaluate("navigator.serviceWorker.register('worker.js').then(() => null)")
    engine.wait_for("navigator.serviceWorker.controller !== null")
    site.stop()
    engine.goto(site.url)
    assert engine.text("#said") == "nothing yet"
    assert engine.evaluate("fetch('absent').then(() => 'came', () => 'failed')") == "failed"


@pytest.mark.parametrize("engine", ["chromium", "firefox"], indirect=True)
def test_a_new_browser_on_the_same_profile_finds_what_was_stored(engine, site, tmp_path):
    engine.goto(site.url)
    engine.evaluate("navigator.serviceWorker.register('worker.js').then(() => null)")
    engine.wait_for("navigator.serviceWorker.controller !== null")
    engine.close()
    site.stop()
    with open_engine(engine.name, tmp_path / "profile") as again:
        again.goto(site.url)
        assert again.text("#said") == "nothing yet"


def test_a_stopped_server_leaves_no_connection_open(site):
    connection = http.client.HTTPConnection("127.0.0.1", site.port)
    connection.request("GET", "/")
    assert connection.getresponse().read() == PAGE.encode()
    site.stop()
    assert not site.answers()
    with pytest.raises((http.client.HTTPException, OSError)):
        connection.request("GET", "/")
        connection.getresponse()
    site.start()
    connection.close()
    connection.request("GET", "/")
    assert connection.getresponse().status == 200
    connection.close()
