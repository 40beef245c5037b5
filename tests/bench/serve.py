"""The project's own server, with the headers of an ordinary static host: files may be kept for ten
minutes, so that the stock runtime has the browser's cache on a revisit.

python -m bench.serve FOLDER --port N --path /below/
"""

from __future__ import annotations

import argparse
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from sitebuild.server import Handler


class LastingHandler(Handler):
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
