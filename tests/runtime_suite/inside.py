"""Starts programs inside a made runtime and says what they found."""

from __future__ import annotations

import ast
import json
import tempfile
from collections.abc import Iterable
from pathlib import Path

from helpers import golden
from helpers.runtime import told_by
from sitebuild import files, recipe_files, runtime
from sitebuild.runtime import TOP

HERE = Path(__file__).resolve().parent
SUPPLEMENT = TOP / ".cache" / "supplement"

# What cannot run inside, and why. The one place where a test is taken out.
OUT = {
    "conftest.py": "no test",
    "test_house.py": "looks at pins and starts processes; nothing of it ships",
    "test_runtime.py": "starts the runtime from outside",
    "test_spoons.py::test_every_refusal_has_words": "reads the sources, which do not ship",
    "test_correct.py": "the terminal, as test_terminal.py",
    "test_log.py": "nests its hostile files deeper than the stack of the program that holds the runtime",
    "test_forecast_card.py::test_each_recipe_carries_forecast_and_curve_for_each_piece": "the terminal, as test_terminal.py",
    "test_day_asked.py::test_the_page_finds_every_word_that_it_asks_for": "reads the scripts, which do not ship there",
    "test_mutation.py": "reads the sources, which lie inside compiled",
    "test_terminal.py": "the terminal is no part of a page, and looks for the recipes beside its sources",
}
OUT_FOLDERS = {
    "engines": "need a browser",
    "helpers": "no tests",
    "pages": "need a browser",
    "runtime_suite": "starts this",
    "sitebuild": "test the build, which does not run inside",
}
# A test that imports one of these stays out, or its file if the file does.
NOT_INSIDE = {
    "subprocess": "there are no processes inside",
    "multiprocessing": "there are no processes inside",
    "playwright": "needs a browser",
    "selenium": "needs a browser",
    "jsonschema": "has a compiled part that the runtime lacks",
    "numpy": "oracle library with compiled parts",
    "scipy": "oracle library with compiled parts",
    "CoolProp": "oracle library with compiled parts",
    "iapws": "oracle library on compiled parts",
    "sitebuild": "the build does not run inside",
    "markdown_it": "reference library, for tests alone",
    "icalendar": "reference library, for tests alone",
    "zoneinfo": "the table of zones is the machine's; the product never asks it",
}

# Where modules lie inside the runtime.
STDLIB = "/lib/python314.zip/"
PACKAGES = "/lib/python3.14/site-packages/"
REST = "/lib/python_rest.zip/"


def run(site: Path, program: str, *, rest: bool, given: object = None,
        supplement: Path | None = None, shelf: Path = recipe_files.FOLDER) -> dict:
    """What a program of this folder found inside the runtime of `site`.

    rest: whether the archive with the rest is within reach; supplement: an archive besides.
    The answer carries "fetched" as well: how often the rest was asked for.
    """
    with tempfile.TemporaryDirectory(prefix="curebatch-") as scratch:
        job = {
            "root": str(site),
            "told": told_by(site),
            "project": str(TOP),
            "rest": rest,
            "supplement": str(supplement) if supplement else None,
            "shelf": recipe_files.read_shelf(shelf).decode(),
            "program": (HERE / program).read_text(encoding="utf-8"),
            "given": given,
            "result": str(Path(scratch, "result.json")),
        }
        asked = Path(scratch, "job.json")
        asked.write_text(json.dumps(job), encoding="utf-8")
        # pytest stands a hundred frames deep before a test begins, and Python in WebAssembly does
        # not see the end of Node's stack coming: a test of endless nesting needs its usual room.
        runtime.node(HERE / "run.mjs", asked, options=["--stack-size=3900"])
        return json.loads(Path(job["result"]).read_text(encoding="utf-8"))


def exercised(site: Path, *, rest: bool) -> dict:
    """The product at work: {"modules": {name: origin}, "fetched": times}."""
    requests = [case["request"] for case in golden.cases()]
    found = (path.relative_to(site) for path in site.glob("assets/**/*") if path.is_file())
    ways = {way.name.split(".")[0]: way.as_posix() for way in found}
    return run(site, "exercise.py", rest=rest, given={"requests": requests, "assets": ways})


def modules_of_others(loaded: dict[str, str]) -> set[str]:
    """Of {module: where it came from} those of the standard library and of other people's packages."""
    return {
        name
        for name, file in loaded.items()
        if file.startswith((STDLIB, REST, PACKAGES))
        and name.split(".")[0] not in ("curebatch", "sitecustomize")
        and not name.startswith(("_way_back", "_made_ready"))
    }


def unfit(path: Path) -> str | None:
    """Why no test of a file runs inside; None where it does."""
    way = path.relative_to(TOP / "tests")
    if way.parts[0] in OUT_FOLDERS:
        return OUT_FOLDERS[way.parts[0]]
    if way.as_posix() in OUT:
        return OUT[way.as_posix()]
    return why_not(ast.parse(path.read_bytes()).body)


def why_not(nodes: Iterable[ast.AST]) -> str | None:
    """Why code with these imports does not run inside; functions among them are passed over."""
    for node in nodes:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            continue
        for each in ast.walk(node):
            names = []
            if isinstance(each, ast.Import):
                names = [alias.name for alias in each.names]
            elif isinstance(each, ast.ImportFrom):
                # A helper names another by a dot.
                module = f"helpers.{each.module}" if each.level else each.module
                names = [module, *(f"{module}.{alias.name}" for alias in each.names)]
            elif isinstance(each, ast.Call) and getattr(each.func, "attr", "") == "importorskip":
                names = [each.args[0].value]
            for name in names:
                top, _, below = name.partition(".")
                if top in NOT_INSIDE:
                    return NOT_INSIDE[top]
                helper = TOP / "tests" / "helpers" / f"{below}.py"
                if top == "helpers" and helper.is_file():
                    reason = why_not(ast.parse(helper.read_bytes()).body)
                    if reason:
                        return reason
    return None


def tests_for_inside() -> tuple[list[str], dict[str, str]]:
    """(the files that run inside, {what does not: why}), as pytest names them."""
    fit, left = [], {}
    for path in sorted((TOP / "tests").rglob("test_*.py")):
        name = path.relative_to(TOP).as_posix()
        reason = unfit(path)
        if reason:
            left[name] = reason
            continue
        fit.append(name)
        for node in ast.parse(path.read_bytes()).body:
            if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
                reason = why_not(node.body) or OUT.get(f"{name.removeprefix('tests/')}::{node.name}")
                if reason:
                    left[f"{name}::{node.name}"] = reason
    return fit, left


def supplement() -> Path:
    """The archive with pytest, hypothesis and what they need, made once for the same wheels."""
    wheels = sorted(SUPPLEMENT.glob("*.whl"))
    if not wheels:
        raise FileNotFoundError(f"No wheels in {SUPPLEMENT}: run python3 build.py setup.")
    makers = [runtime.HERE / "in_pyodide.py", runtime.PYODIDE / "python_stdlib.zip", *wheels]
    name = f"supplement.{files.short_hash(*(path.read_bytes() for path in makers))}.zip"
    if not (SUPPLEMENT / name).is_file():
        for old in SUPPLEMENT.glob("supplement.*.zip"):
            old.unlink()
        runtime.node(HERE / "supplement.mjs", runtime.PYODIDE, runtime.HERE, SUPPLEMENT, name)
    return SUPPLEMENT / name


def suite(site: Path, fit: list[str], left: Iterable[str] = ()) -> dict:
    """The tests `fit` but those of `left`, run inside; what suite.py leaves."""
    given = {
        "arguments": [*fit, *(f"--deselect={name}" for name in left if "::" in name)],
        "product": sorted({file.split("/")[0].removesuffix(".pyc")
                           for way in told_by(site)["wheels"]
                           for file in files.read_zip((site / way).read_bytes())
                           if ".dist-info" not in file}),
    }  # fmt: skip
    return run(site, "suite.py", rest=True, given=given, supplement=supplement())


def imported_by_the_product(site: Path) -> set[str]:
    """What our code and the packages it uses import while the product's own tests run."""
    found = suite(site, *tests_for_inside())
    for name in found["failures"]:
        print(f"{name} failed inside: what it would have imported further on was not seen.")
    return modules_of_others({name: found["modules"][name] for name in found["imported"]})
