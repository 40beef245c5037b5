"""An author's folder becomes a site: pages that read without scripts, what search engines and feed readers are given, and how it grows."""

from __future__ import annotations

import json
import re
import shutil
from importlib import resources
from pathlib import Path
from urllib.parse import urlsplit
from xml.etree import ElementTree

import jsonschema
import pytest
from curebatch.bare_grams import bare_grams
from curebatch.views.preview import preview
from helpers.checkers import html_errors, schema_org_errors
from helpers.runtime import runtime_of_the_site
from helpers.schema_org import RECIPE
from sitebuild import assets, offline, pages, publish, recipe_files, runtime
from sitebuild.__main__ import build
from sitebuild.errors import BuildError

# One after the other in one process: the site they share takes long to make.

BASE = "https://example.org/kitchen"
STARTER = (resources.files("curebatch") / "data" / "starter.toml").read_text(encoding="utf-8")
HOSTILE = 'Loaf </script><b>& "x"'


def recipe(recipe_id: str, revision: int = 1, **lines: str) -> str:
    """The starter as another recipe; lines: {key: TOML value} in place of its own."""
    text = STARTER
    for key, value in {"id": f'"{recipe_id}"', "revision": str(revision), **lines}.items():
        text, count = re.subn(rf"(?m)^{key} = [^#\n]*", lambda _, key=key, value=value: f"{key} = {value} ", text, count=1)
        assert count == 1, key
    return text


def folder_of(place: Path, *texts: str, withdrawn: dict | None = None) -> Path:
    place.mkdir()
    for number, text in enumerate(texts):
        (place / f"{number}.toml").write_text(text, encoding="utf-8")
    if withdrawn:
        (place / "withdrawn.json").write_text(json.dumps(withdrawn), encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Path:
    """A site of an author's own: one recipe with two revisions, one with a hostile title."""
    top = tmp_path_factory.mktemp("publish")
    folder = folder_of(
        top / "mine",
        recipe("my-pork-loaf"),
        recipe("my-pork-loaf", 2, day='"2026-12-03"', changes='["Less nitrite."]'),
        recipe("hostile", title=json.dumps(HOSTILE)),
        withdrawn={"recipes": {"my-pork-loaf.1": "Too much nitrite"}, "editions": {}},
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(runtime, "make", runtime_of_the_site)
        build(top / "dist", folder, BASE + "/")
    return top / "dist"


def page_of(site: Path, way: str) -> str:
    return (site / way / "index.html").read_text(encoding="utf-8")


def data_of(page: str) -> list[dict]:
    return [json.loads(text) for text in re.findall(r'<script type="application/ld\+json">(.*?)</script>', page, re.DOTALL)]


def test_each_recipe_has_a_page_that_reads_without_scripts_and_a_frame(site):
    assert sorted(path.name for path in (site / "recipes").iterdir()) == ["_", "hostile", "my-pork-loaf"]
    assert sorted(path.name for path in (site / "embed").iterdir() if path.is_dir()) == ["hostile", "my-pork-loaf"]
    page = page_of(site, "recipes/my-pork-loaf")
    for said in ("My pork loaf", "Pork shoulder", "104 mg/kg", "What does your pack say?"):
        assert said in page
    assert 'data-recipe="my-pork-loaf.2"' in page
    start = page_of(site, "")
    assert "recipes/my-pork-loaf/" in start and "recipes/hostile/" in start


def test_the_data_for_search_engines_passes_the_schema_and_names_no_bare_grams(site):
    check = jsonschema.Draft202012Validator(RECIPE)
    for name, title in (("my-pork-loaf", "My pork loaf"), ("hostile", HOSTILE)):
        (data,) = data_of(page_of(site, f"recipes/{name}"))
        assert not [str(error) for error in check.iter_errors(data)]
        assert data["name"] == title and data["url"] == f"{BASE}/recipes/{name}/"
        assert data["image"] == f"{BASE}/recipes/{name}/preview.png"
        for line in (*data["recipeIngredient"], *(step["text"] for step in data["recipeInstructions"])):
            assert not bare_grams(line)
        assert any("104 mg/kg" in line for line in data["recipeIngredient"])
    (data,) = data_of(page_of(site, "recipes/my-pork-loaf"))
    assert data["datePublished"] == "2026-11-25" and data["dateModified"] == "2026-12-03"


def test_other_people_s_checkers_find_no_error(site, tmp_path):
    assert not html_errors(sorted(site.rglob("*.html")))
    assert not schema_org_errors([data for name in ("my-pork-loaf", "hostile") for data in data_of(page_of(site, f"recipes/{name}"))], tmp_path)


def test_a_link_shows_a_picture_and_its_address(site):
    page = page_of(site, "recipes/my-pork-loaf")
    told = dict(re.findall(r'<meta property="(og:[a-z:]+)" content="([^"]*)">', page))
    assert told["og:url"] == f"{BASE}/recipes/my-pork-loaf/" and told["og:title"] == "My pork loaf"
    assert told["og:image"] == f"{BASE}/recipes/my-pork-loaf/preview.png"
    picture = (site / "recipes" / "my-pork-loaf" / "preview.png").read_bytes()
    assert picture == preview("My pork loaf") and picture[16:24] == (1200).to_bytes(4, "big") + (630).to_bytes(4, "big")


def test_the_feed_tells_revisions_and_what_was_withdrawn(site):
    feed = ElementTree.fromstring((site / "feed.xml").read_bytes())
    atom = "{http://www.w3.org/2005/Atom}"
    entries = {entry.find(f"{atom}id").text.removeprefix(f"{BASE}/feed/"): entry for entry in feed.findall(f"{atom}entry")}
    assert {"recipe/my-pork-loaf.1", "recipe/my-pork-loaf.2", "recipe/hostile.1", "withdrawn/my-pork-loaf.1"} <= set(entries)
    assert "Less nitrite." in entries["recipe/my-pork-loaf.2"].find(f"{atom}content").text
    assert "Too much nitrite" in entries["withdrawn/my-pork-loaf.1"].find(f"{atom}content").text
    assert f'<link rel="alternate" type="application/atom+xml" href="{BASE}/feed.xml">' in page_of(site, "")


@pytest.mark.parametrize("way", ["", "recipes/my-pork-loaf/"])
def test_each_page_names_both_languages_by_whole_addresses(site, way):
    """As search engines ask of localized pages: whole addresses, and each page names them all (from memory)."""
    both = {"en": f"{BASE}/{way}", "de": f"{BASE}/de/{way}"}
    for page in (way, f"de/{way}"):
        assert dict(re.findall(r'<link rel="alternate" hreflang="(..)" href="([^"]*)">', page_of(site, page))) == both


def test_the_list_of_pages_names_each_by_its_own_address(site):
    listed = re.findall("<loc>(.*?)</loc>", (site / "sitemap.xml").read_text(encoding="utf-8"))
    assert f"{BASE}/recipes/my-pork-loaf/" in listed and f"{BASE}/" in listed
    assert not [address for address in listed if "/embed/" in address or "/_/" in address]
    for address in listed:
        page = page_of(site, address.removeprefix(f"{BASE}/"))
        assert f'<link rel="canonical" href="{address}">' in page


def test_the_author_s_own_list_of_what_is_withdrawn_goes_along(site):
    assert json.loads((site / "withdrawn.json").read_text("utf-8"))["recipes"] == {"my-pork-loaf.1": "Too much nitrite"}


def test_the_script_for_other_pages_has_a_lasting_name(site):
    assert (site / "embed.js").read_bytes() == (recipe_files.SITE / "embed-loader.js").read_bytes()


def test_frames_and_pages_of_recipes_are_not_fetched_ahead(site):
    text = (site / "service-worker.js").read_text(encoding="utf-8")
    listed = json.loads(text[text.index("{") : text.index(";\n\n")])["app"]["files"]
    assert not [way for way in listed if way.startswith(("embed/", "recipes/")) and way != offline.BLANK]


def test_an_address_that_is_none_leads_back_from_any_depth(site):
    page = (site / "404.html").read_text("utf-8")
    below = urlsplit(BASE).path.rstrip("/") + "/"
    ways = [way for way in re.findall(r' (?:href|src)="([^"#]+)"', page) if not way.startswith(("data:", "tel:"))]
    assert len(ways) > 15 and all(way.startswith(below) for way in ways)
    for way in ways:
        place = site / way.removeprefix(below)
        assert (place / "index.html" if place.is_dir() else place).is_file(), way
    assert '<meta name="robots" content="noindex">' in page and "There is no page here" in page and "Hier ist keine Seite" in page
    assert "404" not in (site / "sitemap.xml").read_text("utf-8") and "404.html" not in (site / "service-worker.js").read_text("utf-8")


def test_without_an_address_nothing_absolute_is_written(tmp_path):
    publish.write(tmp_path, b"{}", [], None)
    assert [path.name for path in tmp_path.iterdir()] == ["embed.js"]


def test_a_list_of_what_is_withdrawn_that_is_none_stops_the_build(tmp_path):
    folder = folder_of(tmp_path / "mine", STARTER)
    (folder / "withdrawn.json").write_text("{", encoding="utf-8")
    with pytest.raises(BuildError, match=r"withdrawn\.json"):
        recipe_files.read_shelf(folder)


def test_many_recipes_do_not_make_the_device_fetch_more(tmp_path):
    """But for their own data and the list of them."""
    base = tmp_path / "base"
    made = runtime_of_the_site(base)
    ahead = {}
    for count in (2, 60):
        out = shutil.copytree(base, tmp_path / f"out{count}")
        shelf = recipe_files.read_shelf(folder_of(tmp_path / f"recipes{count}", *(recipe(f"loaf-{n}") for n in range(count))))
        ways, shelf_way, build_id = assets.write(out, made, shelf)
        drawn = pages.write(out, ways, build_id, [], BASE)
        offline.write(out, made, ways, shelf_way, drawn, build_id)
        text = (out / "service-worker.js").read_text(encoding="utf-8")
        files = json.loads(text[text.index("{") : text.index(";\n\n")])["app"]["files"]
        ahead[count] = {way for way in files if not way.startswith("assets/shelf.")}, sum((out / way).stat().st_size for way in files if "shelf." not in way and offline.within(way) not in ("index.html", "de/index.html"))
    assert len(ahead[60][0]) == len(ahead[2][0])
    assert ahead[60][1] - ahead[2][1] < 10_000
    assert "recipes/loaf-1/" in page_of(tmp_path / "out2", "day")
    assert "recipes/loaf-7/" not in page_of(tmp_path / "out60", "day") and "recipes/loaf-7/" in page_of(tmp_path / "out60", "")
