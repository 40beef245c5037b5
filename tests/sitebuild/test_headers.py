"""What hosts are told to say: the pages' own policy, alike in three forms, and one rule for each way."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from helpers.runtime import built_site
from helpers.versions import site_data
from sitebuild import headers
from sitebuild.errors import BuildError
from sitebuild.server import rules_of, said

pytestmark = pytest.mark.site
SITE = built_site()
# Every file, and every page by the address that people use.
WAYS = sorted({path.relative_to(SITE).as_posix() for path in SITE.rglob("*") if path.is_file()} - set(headers.WRITTEN))
WAYS += [way.removesuffix("index.html") for way in WAYS if way.endswith("index.html")]
PAGES = [way for way in WAYS if way.endswith(".html")]


def by_path(way: str) -> dict[str, str]:
    return said(rules_of((SITE / "_headers").read_text("utf-8")), way)


def by_folder(way: str) -> dict[str, str]:
    """As the server of these files joins them: folder after folder, then what is said of one file by its name."""
    found: dict[str, str] = {}
    *folders, name = way.split("/")
    later: dict[str, str] = {}
    for depth in range(len(folders) + 1):
        file = SITE.joinpath(*folders[:depth], ".htaccess")
        if not file.is_file():
            continue
        only = None
        for line in file.read_text("utf-8").splitlines():
            if match := re.fullmatch(r'<Files "(.+)">', line):
                only = match[1]
            elif line == "</Files>":
                only = None
            elif match := re.fullmatch(r'Header always set (\S+) "([^"]+)"', line):
                if only is None:
                    found[match[1]] = match[2]
                elif only == name:
                    later[match[1]] = match[2]
    return found | later


def by_location(way: str) -> dict[str, str]:
    text = (SITE / "headers.nginx.conf").read_text("utf-8")
    places = {place: dict(re.findall(r'add_header (\S+) "([^"]+)" always;', block)) for place, block in re.findall(r"^location ([^\n]+) \{\n(.*?)^\}", text, re.M | re.S)}
    if f"= /{way}" in places:
        return places[f"= /{way}"]
    return places[max((place for place in places if f"/{way}".startswith(place)), key=len)]


def meta(way: str) -> str:
    return re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', (SITE / way).read_text("utf-8"))[1].replace("&#39;", "'")


@pytest.mark.parametrize("way", PAGES)
def test_the_policy_is_the_pages_own_and_only_the_frame_may_be_framed(way):
    for address in (way, way.removesuffix("index.html")):
        policy = by_path(address)["Content-Security-Policy"]
        assert policy == meta(way) + ("" if way.startswith("embed/") else "; frame-ancestors 'none'")


def test_three_forms_say_the_same_with_every_file():
    for way in WAYS:
        assert by_path(way) == by_folder(way) == by_location(way), way
        assert by_path(way)["X-Content-Type-Options"] == "nosniff" and by_path(way)["Referrer-Policy"] == "no-referrer"


def test_no_two_rules_fit_one_way():
    rules = rules_of((SITE / "_headers").read_text("utf-8"))
    for way in WAYS:
        assert len([fits for fits, _ in rules if (way.startswith(fits[:-1]) if fits.endswith("*") else way == fits)]) == 1, way


def test_only_what_is_named_by_its_content_is_kept_unasked():
    named = re.compile(r"(?:^|[.-])[0-9a-f]{12}(?=[./])")
    for way in WAYS:
        kept = by_path(way)["Cache-Control"]
        if "immutable" in kept:
            assert named.search(way), way
        else:
            assert kept == ("no-store" if way == "withdrawn.json" else "no-cache"), way
    assert [way for way in WAYS if "immutable" in by_path(way)["Cache-Control"]]


def test_no_device_keeps_them():
    data = site_data(SITE)
    assert not {*data["app"]["files"], *data["runtime"]["files"]} & {*headers.WRITTEN, "sbom.cdx.json"}


def test_below_a_path_of_its_host(tmp_path: Path):
    for folder in ("assets", "embed", "help"):
        (tmp_path / folder).mkdir()
    (tmp_path / "index.html").write_text("")
    headers.write(tmp_path, "https://example.org/kitchen/club")
    ways = re.findall(r"^/\S*", (tmp_path / "_headers").read_text("utf-8"), re.M)
    assert ways == ["/kitchen/club/", "/kitchen/club/assets/*", "/kitchen/club/embed/*", "/kitchen/club/help/*", "/kitchen/club/index.html"]
    assert "location /kitchen/club/embed/ {" in (tmp_path / "headers.nginx.conf").read_text("utf-8")
    assert [fits for fits, _ in rules_of((tmp_path / "_headers").read_text("utf-8"))] == ["", "assets/*", "embed/*", "help/*", "index.html"]


@pytest.mark.parametrize("path", ["/a b/", '/a"/', "/a;/", "/a{/", "/a\n/", "/*/"])
def test_a_path_that_would_break_out_of_the_rules_is_refused(path, tmp_path):
    for folder in ("assets", "embed"):
        (tmp_path / folder).mkdir()
    try:
        headers.write(tmp_path, f"https://example.org{path}")
    except BuildError as error:
        assert "cannot be written" in str(error)
    else:
        assert path == "/a\n/", "only where the address itself has lost the sign"


def test_rules_that_are_none_are_no_rules():
    with pytest.raises(ValueError, match="no rule"):
        rules_of("  X: y\n")
    with pytest.raises(ValueError, match="no rule"):
        rules_of("/\n  X y\n")
