"""The file server does what a good static host does, below any path."""

from __future__ import annotations

import urllib.error
import urllib.request

import pytest
from sitebuild.server import Server


@pytest.fixture
def served(tmp_path):
    (tmp_path / "index.html").write_text("start")
    (tmp_path / "a.mjs").write_text("1")
    (tmp_path / "a.wasm").write_bytes(b"\0asm")
    (tmp_path / "bare").mkdir()
    with Server(tmp_path, "/kitchen/site/") as server:
        yield server


def fetch(url: str):
    with urllib.request.urlopen(url) as answer:
        return answer.headers["Content-Type"], answer.read()


def test_types(served):
    assert fetch(served.url) == ("text/html; charset=utf-8", b"start")
    assert fetch(served.url + "a.mjs")[0].startswith("text/javascript")
    assert fetch(served.url + "a.wasm") == ("application/wasm", b"\0asm")


@pytest.mark.parametrize("way", ["/", "/a.wasm", "/kitchen/site/gone", "/kitchen/site/bare/",
                                 "/kitchen/site/../../../etc/hosts"])  # fmt: skip
def test_nothing_else(served, way):
    with pytest.raises(urllib.error.HTTPError) as refused:
        fetch(served.origin + way)
    assert refused.value.code == 404
    refused.value.close()
