"""The project's own server, as an ordinary static host is: files may be kept for ten minutes, so that
the stock runtime has the browser's cache on a revisit, and texts are sent compressed.

python -m bench.serve FOLDER --port N --path /below/
"""

from __future__ import annotations

import argparse
import gzip
import io
from functools import lru_cache, partial
from http import HTTPStatus
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import urlsplit

from sitebuild.server import Handler


TEXTS = (".html", ".css", ".js", ".mjs", ".json", ".svg", ".webmanifest")


@lru_cache(maxsize=None)
def compressed(path: str) -> bytes:
    return gzip.compress(Path(path).read_bytes(), mtime=0)


class LastingHandler(Handler):
    def send_head(self):
        path = Path(self.translate_path(urlsplit(self.path).path))
        path = path / "index.html" if path.is_dir() and self.path.split("?")[0].endswith("/") else path
        if path.suffix not in TEXTS or not path.is_file() or "gzip" not in self.headers.get("Accept-Encoding", ""):
            return super().send_head()
        data = compressed(str(path))
        self.send_response(HTTPStatus.OK)
        self.send_header("Content-Type", self.guess_type(str(path)))
        self.send_header("Content-Encoding", "gzip")
        self.send_header("Content-Length", str(len(data)))
        self.end_headers()
        return io.BytesIO(data)

    def end_headers(self):
        self.send_header("Cache-Control", "max-age=600")
        SimpleHTTPRequestHandler.end_headers(self)


def main() -> None:
    parser = argparse.ArgumentParser(prog="bench.serve", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--port", type=int, required=True)
    parser.add_argument("--path", default="/")
    given = parser.parse_args()
    handler = partial(
        LastingHandler, directory=str(given.folder), prefix=given.path, talk=False
    )
    with ThreadingHTTPServer(("127.0.0.1", given.port), handler) as server:
        server.serve_forever()


if __name__ == "__main__":
    main()
