"""One golden file, two Pythons: this one and the one that ships."""

from __future__ import annotations

import json

import pytest
from helpers import golden
from helpers.runtime import answers_here, answers_in_pyodide, built_site
from runtime_suite import inside
from sitebuild import files, runtime

# One after the other in one process: what they share takes long to make.
pytestmark = pytest.mark.site

CASES = golden.cases()


def test_there_are_golden_cases():
    assert CASES, "tests/golden holds no cases"
    assert all(case["shown"] for case in CASES), "a case that expects nothing proves nothing"
    assert len({case["name"] for case in CASES}) == len(CASES)


@pytest.fixture(scope="module")
def here() -> list[dict]:
    return answers_here([case["request"] for case in CASES])


@pytest.fixture(scope="module")
def in_pyodide() -> list[dict]:
    return answers_in_pyodide([case["request"] for case in CASES])


@pytest.mark.parametrize("number", range(len(CASES)), ids=[case["name"] for case in CASES])
def test_golden_on_both(number, here, in_pyodide):
    expected = golden.flattened(CASES[number]["shown"])
    for answers in (here, in_pyodide):
        assert {where: golden.shown(answers[number], where) for where in expected} == expected


def test_both_give_the_same_answer_to_the_last_letter(here, in_pyodide):
    assert in_pyodide == here


def test_lock_names_what_ships():
    (path,) = built_site().glob("assets/lock.*.json")
    packages = json.loads(path.read_text(encoding="utf-8"))["packages"]
    assert {"curebatch", "pint", "jinja2", "markupsafe"} <= set(packages)
    for entry in packages.values():
        data = (built_site() / "assets" / entry["file_name"]).read_bytes()
        assert files.sha256(data) == entry["sha256"]
        assert not [name for name in files.read_zip(data) if name.endswith(".py")]


def test_the_rest_is_not_kept_for_offline():
    told = inside.told_by(built_site())
    (rest,) = built_site().glob("assets/python_rest.*.zip")
    assert told["rest"] == rest.relative_to(built_site()).as_posix()
    made = files.read_zip(rest.read_bytes())
    assert "unittest/__init__.pyc" in made and not [name for name in made if name.endswith(".py")]


def test_a_second_build_gives_the_same_bytes(tmp_path):
    made = runtime.make(tmp_path)
    for way in (*made.shipped, made.rest):
        assert (built_site() / way).is_file(), f"{way}: dist/ was built from other sources"
        assert (tmp_path / way).read_bytes() == (built_site() / way).read_bytes(), way
