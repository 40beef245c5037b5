"""The product's own tests inside the runtime that ships, and what the product loads there."""

from __future__ import annotations

import ast

import pytest
from curebatch.intake import units
from curebatch.words import LANGUAGES, catalogue
from helpers.runtime import built_site
from runtime_suite import inside
from sitebuild import files, runtime

pytestmark = pytest.mark.site

RECORD = "run .venv/bin/python tests/runtime_suite/record.py"
MISSED = "/lib/python_rest.zip/"


@pytest.fixture(scope="module")
def exercised() -> dict:
    return inside.exercised(built_site(), rest=False)


@pytest.fixture(scope="module")
def suite() -> dict:
    return inside.suite(built_site(), *inside.tests_for_inside())


def test_the_products_own_tests_pass_inside(suite):
    assert not suite["failures"], "\n\n".join(f"{n}\n{t}" for n, t in suite["failures"].items())
    assert suite["code"] == 0
    # Skipping is told in OUT and NOT_INSIDE, and nowhere else.
    assert set(suite["outcomes"].values()) == {"passed"}
    fit, left = inside.tests_for_inside()
    ran = {name.split("::")[0] for name in suite["outcomes"]}
    # A file of which single tests stay out may have no other.
    assert ran <= set(fit) <= ran | {name.split("::")[0] for name in left if "::" in name}
    assert "/site-packages/" in suite["modules"]["curebatch"], "another curebatch was tested"


def test_reasons_for_staying_out_are_about_tests_that_are_there():
    tests = runtime.TOP / "tests"
    for name in inside.OUT:
        file, _, function = name.partition("::")
        assert (tests / file).is_file(), name
        assert f"def {function}" in (tests / file).read_text(encoding="utf-8"), name
    for folder in inside.OUT_FOLDERS:
        assert (tests / folder).is_dir(), folder


def test_the_product_starts_and_works_without_the_rest_and_the_supplement(exercised):
    assert exercised["fetched"] == 0, f"a module was missed; {RECORD}"
    places = (inside.STDLIB, inside.PACKAGES)
    for name, origin in exercised["modules"].items():
        assert origin in ("", "built-in", "frozen", "javascript") or origin.startswith(places), (name, origin)


def test_the_product_imports_nothing_from_the_supplement(suite):
    assert "curebatch" in {name.split(".")[0] for name in suite["imported"]}
    outside = {
        name: suite["modules"][name]
        for name in suite["imported"]
        if suite["modules"][name].startswith((inside.REST, "/supplement.zip"))
    }
    assert not outside, f"modules that do not ship are imported by the product; {RECORD}"


def test_the_list_of_modules_is_true(exercised, suite):
    listed = set(runtime.shipped_modules())
    assert inside.modules_of_others(exercised["modules"]) <= listed, RECORD
    lines = runtime.USED.read_text(encoding="utf-8").splitlines()
    used = {line for line in lines if line and not line.startswith("#")}
    assert used <= set(exercised["modules"]) | set(suite["modules"]), RECORD
    assert [line for line in lines if line in used] == sorted(used)


def test_each_listed_module_ships():
    told = inside.told_by(built_site())
    archives = [files.read_zip((built_site() / way).read_bytes()) for way in (told["stdlib"], *told["wheels"])]
    ships = {files.module_name(name) for archive in archives for name in archive if name.endswith(".pyc")}
    # Only the Python that made it reads it; how the names are written into it is the same for all.
    together = archives[0]["_together.bin"]
    lost = [name for name in sorted(set(runtime.shipped_modules()) - ships) if name.replace(".", "/").encode() not in together]
    assert lost == []


def test_what_we_import_ships():
    rest = files.read_zip((built_site() / inside.told_by(built_site())["rest"]).read_bytes())
    left_out = {files.module_name(name) for name in rest}
    for path in files.tree(runtime.PACKAGE):
        # The terminal's part never runs in a page.
        if path.suffix != ".py" or path.name == "__main__.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and not node.level:
                names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
            missing = left_out & set(names)
            assert not missing, f"{path.name} imports {missing}; {RECORD}"


FOUND = {
    "from json.tool import main; x = main.__module__": "json.tool",
    "import xml.etree.ElementTree as e; x = e.__file__": f"{MISSED}xml/etree/ElementTree.pyc",
    "from email.mime.text import MIMEText; x = MIMEText.__module__": "email.mime.text",
    "import jinja2.ext; x = jinja2.ext.__file__": f"{MISSED}jinja2/ext.pyc",
    "x = 'ż'.encode('cp1250')": str("ż".encode("cp1250")),
    # No page runs a loop of events; who asks for one gets that of the browser.
    "import asyncio; x = type(asyncio.new_event_loop()).__name__": "WebLoop",
}
NOT_ASKED = (
    "import no_such_module_anywhere", "import json.no_such_part", "from json import no_such_name",
    "import numpy", "x = 'a'.encode('no-such-encoding')",
)  # fmt: skip


def test_the_way_back():
    found = inside.run(built_site(), "way_back.py", rest=True, given=[*NOT_ASKED, *FOUND])
    for text in NOT_ASKED:
        assert found["tried"][text]["asked"] == 0, text
        assert "Error" in found["tried"][text]["said"], text
    for text, said in FOUND.items():
        assert found["tried"][text] == {"said": said, "asked": 1}, text


def test_with_the_rest_out_of_reach_an_import_fails_plainly():
    found = inside.run(built_site(), "way_back.py", rest=False, given=list(FOUND))
    for text, name in zip(FOUND, ("json.tool", "xml.etree", "email.mime", "jinja2.ext"), strict=False):
        assert found["tried"][text]["said"].startswith(f"ImportError {name}: No module named"), text
    assert found["tried"]["x = 'ż'.encode('cp1250')"]["said"] == "LookupError: unknown encoding: cp1250"


def test_what_was_worked_out_beforehand_is_what_a_start_would_work_out():
    site = built_site()
    made = inside.run(site, "made_ready.py", rest=True, given={"request": inside.told_by(site)["proof"]["request"]})
    assert not made["differ"]
    # A first answer finds all of it there.
    assert not made["missed"], "a start compiles these itself"
    # What it imports of the library lies together, and nothing else does.
    assert (made["apart"], made["idle"]) == ([], []) and made["together"] > 80
    folder = runtime.PACKAGE
    assert made["words"] == {language: catalogue(language) for language in LANGUAGES}
    # The factors of the units are pint's own, which is read when nobody waits for it.
    assert made["tables"] == [units.FACTORS] and not made["pint_at_first"]
    assert made["factors"] == {unit: list(ratio) for unit, ratio in units.all_by_pint().items()}
    assert made["texts"] == 2
    assert {"uuid", "xml/sax", "xml/sax/saxutils"} <= set(made["packed"])
    assert made["templates"] == len(list((folder / "views" / "templates").iterdir()))
    assert made["patterns"] > 200 and made["methods"] > made["at_the_start"] > 40
