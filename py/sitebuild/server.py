"""A plain file server for a built site, below any path. For this machine only.

python -m sitebuild.server dist [--port 8000] [--path /kitchen/curebatch/] [--headers]
"""

from __future__ import annotations

import argparse
import contextlib
import socket
import threading
from collections.abc import Sequence
from functools import partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import urlsplit

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".mjs": "text/javascript; charset=utf-8",
    ".json": "application/json",
    ".webmanifest": "application/manifest+json",
    ".wasm": "application/wasm",
    ".whl": "application/zip",
    ".zip": "application/zip",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".ico": "image/x-icon",
    ".txt": "text/plain; charset=utf-8",
    ".toml": "text/plain; charset=utf-8",
    ".xml": "application/xml",
    ".ics": "text/calendar; charset=utf-8",
}


#: What is said with each file where the folder's own rules are not asked for: nothing is kept.
PLAINLY = {"Cache-Control": "no-cache", "X-Content-Type-Options": "nosniff"}

Rule = tuple[str, dict[str, str]]


def rules_of(text: str) -> list[Rule]:
    """[(way from the site's root, fields)] of a ``_headers``; a way may end in * for all that begins so."""
    rules: list[Rule] = []
    for line in text.splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        if not line.startswith(" "):
            rules.append((line, {}))
            continue
        name, colon, value = line.strip().partition(": ")
        if not colon or not rules:
            raise ValueError(f"no rule: {line!r}")
        rules[-1][1][name] = value
    # The first is the site's root.
    return [(way.removeprefix(rules[0][0]), fields) for way, fields in rules]


def said(rules: Sequence[Rule], way: str) -> dict[str, str]:
    """What is said with a way: of all rules that fit, the values of one header joined, as hosts do it."""
    fields: dict[str, list[str]] = {}
    for fits, own in rules:
        if way.startswith(fits[:-1]) if fits.endswith("*") else way == fits:
            for name, value in own.items():
                fields.setdefault(name, []).append(value)
    return {name: ", ".join(values) for name, values in fields.items()}


class Handler(SimpleHTTPRequestHandler):
    protocol_version = "HTTP/1.1"  # one connection for the many small files
    # Nothing from this machine's own table of types: a site is served alike everywhere.
    extensions_map = {"": "application/octet-stream", **TYPES}

    def __init__(self, *args, prefix: str, talk: bool, rules: Sequence[Rule] = (), **kwargs):
        self.prefix, self.talk, self.rules = prefix, talk, rules
        super().__init__(*args, **kwargs)

    def send_head(self):
        path = urlsplit(self.path).path
        if not path.startswith(self.prefix):
            if path + "/" == self.prefix or (path == "/" and self.talk):
                self.send_response(HTTPStatus.MOVED_PERMANENTLY)
                self.send_header("Location", self.prefix)
                self.send_header("Content-Length", "0")
                self.end_headers()
                return None
            self.send_error(HTTPStatus.NOT_FOUND)
            return None
        return super().send_head()

    def translate_path(self, path):
        return super().translate_path("/" + path[len(self.prefix) :])

    def list_directory(self, path):
        # A static host shows no listings; a missing index is to be seen as missing.
        self.send_error(HTTPStatus.NOT_FOUND)
        return None

    def end_headers(self):
        # A line that is no request at all has no path.
        way = urlsplit(getattr(self, "path", "")).path.removeprefix(self.prefix)
        for name, value in (said(self.rules, way) or PLAINLY).items():
            self.send_header(name, value)
        super().end_headers()

    def log_message(self, format, *args):
        if self.talk:
            super().log_message(format, *args)


class _Listener(ThreadingHTTPServer):
    """Knows its open connections: browsers keep them, and would be served on them after a stop."""

    daemon_threads = True

    def __init__(self, *args):
        self.connections: set[socket.socket] = set()
        super().__init__(*args)

    def process_request(self, request, client_address):
        self.connections.add(request)
        super().process_request(request, client_address)

    def shutdown_request(self, request):
        self.connections.discard(request)
        super().shutdown_request(request)

    def cut(self) -> None:
        for connection in tuple(self.connections):
            with contextlib.suppress(OSError):  # gone already
                connection.shutdown(socket.SHUT_RDWR)


class Server:
    """Serves `folder` below `prefix`, from its own thread, until it is stopped.

    headers: with what the folder's own ``_headers`` says, as a host would.
    """

    def __init__(self, folder: Path, prefix: str = "/", port: int = 0, talk: bool = False, headers: bool = False):
        if not (prefix.startswith("/") and prefix.endswith("/")):
            raise ValueError(f"The path {prefix!r} must begin and end with a slash.")
        rules = rules_of((folder / "_headers").read_text(encoding="utf-8")) if headers else []
        handler = partial(Handler, directory=str(folder), prefix=prefix, talk=talk, rules=rules)
        self._server = _Listener(("127.0.0.1", port), handler)
        self.origin = f"http://127.0.0.1:{self._server.server_port}"
        self.url = self.origin + prefix
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)

    def __enter__(self) -> Server:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def stop(self) -> None:
        if self._thread.is_alive():
            self._server.shutdown()
            self._thread.join()
        self._server.server_close()
        self._server.cut()


def main() -> None:
    parser = argparse.ArgumentParser(prog="sitebuild.server", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--port", type=int, default=8000)
    parser.add_argument("--path", default="/", help="the path to serve it below, as /kitchen/")
    parser.add_argument("--headers", action="store_true", help="with what the folder's _headers says")
    given = parser.parse_args()
    with Server(given.folder, given.path, given.port, talk=True, headers=given.headers) as server:
        print(f"{server.url} serves {given.folder}; stop with Ctrl+C", flush=True)
        try:
            threading.Event().wait()
        except KeyboardInterrupt:
            pass


if __name__ == "__main__":
    main()
