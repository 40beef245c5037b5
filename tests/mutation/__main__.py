"""``python3 build.py mutants [MODULES]``: changes the program on purpose, and lists what no test noticed.

Modules are paths below py/curebatch, "batch/cure.py"; none means all of MODULES.
What was caught stays caught while its function is as it was; ``--afresh`` forgets that.
Exit code 1: fewer than 95 in a hundred were caught, or one that was missed is not in left.toml.
"""

from __future__ import annotations

import argparse
import compileall
import hashlib
import json
import os
import pickle
import shutil
import sys
import time
import tomllib
from functools import lru_cache
from pathlib import Path

HERE = Path(__file__).resolve().parent
TOP = HERE.parents[1]
KEPT = TOP / ".cache" / "mutants"
ENOUGH = 95  # in a hundred

MODULES = (
    "batch/cure.py", "batch/rounding.py", "batch/compounds.py", "rules/limits.py", "rules/packs.py", "intake/numbers.py", "intake/units.py",
    "intake/entries.py", "intake/link.py", "intake/found.py", "science/lethality.py", "intake/recipe.py", "intake/reader.py", "intake/ingredients.py",
)
# Quick tests of the core alone; which of them a mutant has to pass follows from what they call.
TESTS = (
    "test_numbers.py", "test_units.py", "test_entries.py", "test_reader.py", "test_links.py", "test_batch.py", "test_cure.py", "test_rounding.py", "test_methods.py", "test_hostile.py", "test_card.py", "test_recipe_file.py",
    "test_limits.py", "test_packs.py", "test_found.py", "test_own.py", "test_no_unsafe_ok.py", "published/test_curing.py", "test_nets.py", "test_names.py", "published/test_lethality.py", "science/test_lethality_holds.py", "test_signs.py",
)
# Those that are about a module are tried first.
NEAR = {
    "batch/cure.py": ("test_batch", "test_cure", "published/test_curing", "test_methods"), "batch/rounding.py": ("test_rounding", "test_cure"),
    "batch/compounds.py": ("published/test_curing",), "rules/limits.py": ("test_limits", "test_methods"), "rules/packs.py": ("test_packs",),
    "intake/numbers.py": ("test_numbers", "test_units"), "intake/units.py": ("test_units", "test_numbers"), "intake/entries.py": ("test_entries", "test_numbers"),
    "intake/link.py": ("test_links",), "intake/found.py": ("test_found", "test_card"), "science/lethality.py": ("published/test_lethality", "science/test_lethality"),
    "intake/recipe.py": ("test_found", "test_reader", "test_names", "test_hostile", "test_recipe_file", "test_nets"), "intake/reader.py": ("test_reader", "test_own", "test_signs"), "intake/ingredients.py": ("test_found", "test_names", "test_reader", "test_hostile", "test_nets"),
}
CASES = 25  # of each property, at first
MORE_CASES = 120  # where 25 found nothing


def main(words: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="build.py mutants", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", nargs="*", help="paths below py/curebatch")
    parser.add_argument("--afresh", action="store_true", help="forget what was caught before")
    parser.add_argument("--quick", action="store_true", help="no second look at what was missed, and none at what has its reason")
    given = parser.parse_args(words)
    sys.path.append(os.environ["CUREBATCH_MUTANTS"])
    sys.setrecursionlimit(5000)
    KEPT.mkdir(parents=True, exist_ok=True)
    made: dict[str, list] = {}
    copy = _copy()
    try:
        os.chdir(copy)
        for module in given.modules or MODULES:
            made[module] = _mutants(copy / "py" / "curebatch" / module, module)
            if given.afresh:
                _memory(module).unlink(missing_ok=True)
            before = _remembered(module)
            print(f"{module}: {len(made[module])} mutants, {_count(made[module], before)} of them caught before", flush=True)
        _run(copy, made, given.quick)
    finally:
        os.chdir(TOP)
        shutil.rmtree(copy)
    print(f"{_spent():.0f} s of CPU time", flush=True)
    return _tell(made)


def _mutants(path: Path, module: str) -> list:
    """All of a module; to make them anew takes longer than to keep them."""
    from . import making

    mark = hashlib.sha256(path.read_bytes() + Path(making.__file__).read_bytes()).hexdigest()
    kept = KEPT / (module.replace("/", "-") + ".pickle")
    if kept.is_file():
        known, made = pickle.loads(kept.read_bytes())
        if known == mark:
            return made
    made = making.mutants(path, module)
    kept.write_bytes(pickle.dumps((mark, made)))
    return made


def _spent() -> float:
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def _memory(module: str) -> Path:
    return KEPT / (module.replace("/", "-") + ".json")


def _remembered(module: str) -> dict[str, str]:
    """{name of the mutant: the test that caught it}."""
    path = _memory(module)
    return json.loads(path.read_text("utf-8")) if path.is_file() else {}


def _count(mutants: list, caught: dict[str, str]) -> int:
    return sum(mutant.name in caught for mutant in mutants)


def _remember(module: str, caught: dict[str, str]) -> None:
    _memory(module).write_text(json.dumps(caught), "utf-8")


def _copy() -> Path:
    """What the tests need, as it is now: a run may take an hour, and the work goes on meanwhile."""
    copy = KEPT / f"copy-{os.getpid()}"
    shutil.copytree(TOP / "py", copy / "py", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(TOP / "tests", copy / "tests", ignore=shutil.ignore_patterns("__pycache__", "pages", "engines", "bench", "node_modules"))
    shutil.copytree(TOP / "site" / "recipes", copy / "site" / "recipes")
    shutil.copy(TOP / "pyproject.toml", copy)
    # A child that imports the program anew writes nothing, and would compile all of it each time.
    for part in ("py", "tests"):
        compileall.compile_dir(copy / part, quiet=1)
    return copy


@lru_cache
def _file_mark(file: str) -> str:
    return hashlib.sha256(Path(file).read_bytes()).hexdigest() if Path(file).is_file() else ""


def _test_mark(name: str) -> str:
    return _file_mark(name.partition("::")[0])


def _seen_before() -> dict:
    """What each test was seen to reach, of those that are as they were: a guide to the choice, no more."""
    path = KEPT / "seen.pickle"
    if not path.is_file():
        return {}
    marks, looked = pickle.loads(path.read_bytes())
    return {name: seen for name, seen in looked.items() if marks[name] == _test_mark(name)}


def _run(copy: Path, made: dict, quick: bool) -> None:
    import pytest

    from helpers.few_cases import Few

    from .running import OPTIONS, Recent, Warm, catches_anew, in_child

    # What comes from others is imported before any child is made; the program is not.
    for other in ("hypothesis.strategies", "pint", "jinja2", "segno", "molmass", "jsonschema"):
        __import__(other)
    files = [f"tests/{name}" for name in TESTS]
    plan = copy / "plan.json"
    program = copy / "py" / "curebatch"
    caught = {module: _remembered(module) for module in made}
    recent = Recent()

    def save(module: str) -> None:
        _remember(module, caught[module])

    def warm_work(warm: Warm) -> None:
        (KEPT / "seen.pickle").write_bytes(pickle.dumps(({name: _test_mark(name) for name in warm.looked}, warm.looked)))
        plan.write_text(json.dumps({"seconds": warm.seconds, "reaching": {
            module: warm.reaching(module, None) for module in made}, "hitting": {
            mutant.name: warm.hitting(mutant) for module in made for mutant in made[module] if mutant.name not in caught[module]}}), "utf-8")
        saved = time.monotonic()
        for module, mutants in made.items():
            for mutant in mutants:
                if mutant.name in caught[module] or (quick and excused(mutant)):
                    continue
                names = _affordable(recent.first(warm.hitting(mutant)), warm.seconds, 25.0)
                try:
                    by = warm.catches(mutant, names) if names else None
                except LookupError:
                    continue
                if by:
                    recent.caught_by(by)
                    caught[module][mutant.name] = by
                if time.monotonic() > saved + 20:
                    save(module)
                    saved = time.monotonic()
            save(module)
            print(f"  {module}: {_count(mutants, caught[module])} of {len(mutants)} after the quick part", flush=True)

    def warm(pipe: int) -> int:
        near = {module: tuple(f"tests/{name}" for name in names) for module, names in NEAR.items()}
        plugin = Warm({module: program / module for module in MODULES}, near, _seen_before(), warm_work)
        return int(pytest.main([*files, "-s", *OPTIONS], plugins=[Few(CASES), plugin]) not in (0, 5))

    failed, _ = in_child(warm, 24 * 3600, quiet=False)
    if failed:
        raise SystemExit("The quick part did not come to its end.")
    planned = json.loads(plan.read_text("utf-8"))
    seconds = planned["seconds"]
    for module, mutants in made.items():
        caught[module] = _remembered(module)
        for look, (cases, budget) in enumerate([(CASES, 25.0)] if quick else [(CASES, 25.0), (MORE_CASES, 40.0)]):
            for mutant in mutants:
                if mutant.name in caught[module] or (look == 0 and mutant.in_body):
                    continue
                if (quick or look == 1) and excused(mutant):
                    continue
                names = _affordable(recent.first(planned["hitting"][mutant.name] or planned["reaching"][module]), seconds, budget)
                near = [name for name in names if name.startswith(tuple(f"tests/{start}" for start in NEAR[module]))]
                by = None
                # First the module's own tests alone: a child imports what its tests import.
                for some in (near, names):
                    if some and not by:
                        by = catches_anew(mutant, program / module, some, cases, sum(seconds[name] for name in some) * cases / CASES)
                if by:
                    recent.caught_by(by)
                    caught[module][mutant.name] = by
            save(module)
        print(f"  {module}: {_count(mutants, caught[module])} of {len(mutants)} in all", flush=True)


def _affordable(names: list[str], seconds: dict[str, float], budget: float) -> list[str]:
    """The first of ``names`` that together take no longer than ``budget`` [s], watched line by line as they were timed: by themselves about a quarter of it."""
    kept, spent = [], 0.0
    for name in names:
        if spent + seconds[name] <= budget:
            kept.append(name)
            spent += seconds[name]
    return kept


@lru_cache
def left() -> frozenset[tuple[str, str, str, str]]:
    """What may be missed: (module, inside, was, now), with "" for any change of the line."""
    rows = tomllib.loads((HERE / "left.toml").read_text("utf-8")).get("left", [])
    return frozenset((row["module"], row["inside"], row["was"], row.get("now", "")) for row in rows)


def excused(mutant) -> bool:
    """Whether left.toml has a reason for it."""
    return mutant.key in left() or (*mutant.key[:3], "") in left()


def _tell(made: dict) -> int:
    caught = {module: _remembered(module) for module in made}
    lines, unknown = [], []
    total = found = let = 0
    for module, mutants in made.items():
        missed = [mutant for mutant in mutants if mutant.name not in caught[module]]
        open_ = [mutant for mutant in missed if not excused(mutant)]
        unknown += open_
        total, found, let = total + len(mutants), found + len(mutants) - len(missed), let + len(missed) - len(open_)
        lines.append(f"{module:24} {len(mutants):5} made {len(mutants) - len(missed):5} caught {len(missed) - len(open_):4} left with a reason {len(open_):4} left without")
    share = 100 * found / max(total, 1)
    lines.append(f"{'':24} {total:5} made {found:5} caught ({share:.1f} %) {let:4} left with a reason {len(unknown):4} left without")
    detail = [f"\n{m.module} {m.inside}\n- " + m.was.replace("\n", "\n- ") + "\n+ " + m.now.replace("\n", "\n+ ") for m in unknown]
    (KEPT / "summary.txt").write_text("\n".join([*lines, *detail]) + "\n", "utf-8")
    print("\n".join(lines))
    print(f"What is left without a reason stands in {(KEPT / 'summary.txt').relative_to(TOP)}.")
    return 0 if share >= ENOUGH and not unknown else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
