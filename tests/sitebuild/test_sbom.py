"""The list of what ships is whole, sound by its own standard, and the same each time; each part has its licence."""

from __future__ import annotations

import base64
import json
import re
from html import unescape

import pytest
from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from helpers.runtime import TOP, built_site
from sitebuild import assets, licences, sbom

pytestmark = pytest.mark.site
SITE = built_site()


@pytest.fixture(scope="module")
def text() -> str:
    return (SITE / sbom.NAME).read_text("utf-8")


@pytest.fixture(scope="module")
def told(text) -> dict:
    return json.loads(text)


def parts(told: dict) -> list[dict]:
    return [told["metadata"]["component"], *told["components"]]


def test_it_is_sound_by_its_own_standard(text, told):
    check = JsonStrictValidator(SchemaVersion.V1_6)
    assert check.validate_str(text) is None
    assert check.validate_str(json.dumps(told | {"colour": "red"})) is not None


def test_the_same_sources_give_the_same_list(text, told, tmp_path):
    assert "serialNumber" not in told and "timestamp" not in told["metadata"] and "urn:uuid" not in text
    # Whoever writes it: the wheels' digests are read where they lie.
    (tmp_path / "assets").symlink_to(SITE / "assets")
    sbom.write(tmp_path, licences.of_all())
    assert (tmp_path / sbom.NAME).read_text("utf-8") == text


def test_all_that_ships_is_in_it(told):
    named = {re.sub(r"[-_.]+", "-", part["name"]).lower() for part in parts(told)}
    (lock,) = (json.loads(path.read_text("utf-8")) for path in SITE.glob("assets/lock.*.json"))
    assert lock["packages"] and {re.sub(r"[-_.]+", "-", name).lower() for name in lock["packages"]} <= named
    for name, package in lock["packages"].items():
        (part,) = [part for part in parts(told) if re.sub(r"[-_.]+", "-", part["name"]).lower() == re.sub(r"[-_.]+", "-", name).lower()]
        assert part["hashes"] == [{"alg": "SHA-256", "content": package["sha256"]}] and part["version"] == package["version"]
    python = next(part for part in parts(told) if part["name"] == "Python")
    assert python["version"] == lock["info"]["python"]
    emscripten = next(part for part in parts(told) if part["name"] == "Emscripten")
    assert emscripten["version"] == lock["info"]["platform"].removeprefix("emscripten_").replace("_", ".")


def test_every_npm_package_that_ships_is_in_it_with_what_the_lock_pins(told):
    lock = json.loads((TOP / "site" / "package-lock.json").read_text("utf-8"))["packages"]
    shipped = {path.relative_to(assets.NODE_MODULES).parts[0] for path in assets.VENDORED.values()} | {"pyodide"}
    listed = {part["purl"].removeprefix("pkg:npm/"): part for part in parts(told) if part["purl"].startswith("pkg:npm/")}
    for name in shipped:
        part = listed[f"{name}@{lock[f'node_modules/{name}']['version']}"]
        (digest,) = part["hashes"]
        assert licences.pinned(name) == "sha512-" + base64.b64encode(bytes.fromhex(digest["content"])).decode()


def test_each_part_stands_on_the_page_of_licences_with_its_text(told):
    page = (SITE / "licences" / "index.html").read_text("utf-8")
    rows = set(re.findall(r'<tr><th scope="row">([^<]+)</th>', page))
    assert rows == {part["name"] for part in parts(told)}
    for part in licences.of_all():
        assert part.licence and part.texts, part.name
        for leaf, data in part.texts.items():
            begins = next(line for line in data.decode().splitlines() if line.strip()).strip()
            assert len(data) > 40 and begins in unescape(page), leaf


def test_scripts_of_others_inside_the_runtime_are_named():
    """What other people's scripts are called inside the runtime's own: each name here has its row."""
    names = {part.name for part in licences.of_all()}
    found = set()
    for path in SITE.glob("assets/pyodide-*/*.mjs"):
        found |= set(re.findall(r"ErrorStackParser|StackFrame", path.read_text("utf-8")))
    assert found == {"ErrorStackParser", "StackFrame"}
    assert {"error-stack-parser", "stackframe"} <= names
