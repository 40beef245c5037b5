"""The watch over every page test bites: a request to another place is seen, whoever makes it."""

from __future__ import annotations

import threading
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import expect

pytestmark = [pytest.mark.site, pytest.mark.cold_start]

PAGE = """<!doctype html><html lang="en"><head><title>a</title>
<script type="module" src="page.js"></script></head><body><img src="http://picture.example/a.png" alt=""><p></p></body></html>"""
SCRIPT = """
const asked = ["page", "worker", "blob"].map((who) => new Promise((done) => {
  if (who === "page") return fetch("http://page.example/").then(done, done);
  const text = `fetch("http://${who}.example/").then(() => postMessage(1), () => postMessage(1))`;
  const way = who === "worker" ? "worker.js" : URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
  new Worker(way).onmessage = done;
}));
const registration = await navigator.serviceWorker.register("sw.js");
await navigator.serviceWorker.ready;
const channel = new MessageChannel();
asked.push(new Promise((done) => { channel.port1.onmessage = done; }));
registration.active.postMessage("ask", [channel.port2]);
await Promise.all(asked);
document.querySelector("p").textContent = "all asked";
"""
WORKER = 'fetch("http://worker.example/").then(() => postMessage(1), () => postMessage(1));'
SERVICE = """self.addEventListener("message", ({ ports: [port] }) => fetch("http://service.example/").then(() => port.postMessage(1), () => port.postMessage(1)));"""


class Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_):
        pass


@pytest.fixture
def open_house(tmp_path):
    """A page without any content policy, whose workers call at other people's."""
    for name, text in {"index.html": PAGE, "page.js": SCRIPT, "worker.js": WORKER, "sw.js": SERVICE, "favicon.ico": ""}.items():
        (tmp_path / name).write_text(text, "utf-8")
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(tmp_path)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    server.server_close()


def test_a_request_to_another_place_is_seen_whoever_makes_it(open_house, new_page, watch):
    watch.places.append(open_house)
    for who in ("picture", "page", "worker", "blob", "service"):
        watch.allow(rf"^request to another place: http://{who}\.example")
    watch.tolerate(r"console: |failed \(")
    page = new_page(service_workers="allow")
    page.goto(open_house)
    expect(page.get_by_text("all asked")).to_be_visible(timeout=20_000)
