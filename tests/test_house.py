"""What keeps the house in order: pins, locks, and the one way to the tests."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[1]
LOCKS = sorted((TOP / "requirements").glob("*.txt"))


def pins(lock: Path) -> dict[str, str]:
    return dict(re.findall(r"^([\w.-]+)==(\S+) \\$", lock.read_text(encoding="utf-8"), re.M))


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_every_pin_is_exact_and_carries_a_hash(lock):
    text = lock.read_text(encoding="utf-8")
    entries = re.split(r"^(?=[A-Za-z0-9])", text, flags=re.M)[1:]
    assert entries
    for entry in entries:
        assert re.match(r"[\w.-]+==\S+ \\\n", entry), entry
        assert "--hash=sha256:" in entry, entry
    assert "://" not in text


def test_the_locks_agree_on_every_version():
    seen: dict[str, str] = {}
    for lock in LOCKS:
        for name, version in pins(lock).items():
            assert seen.setdefault(name, version) == version, name


def test_the_wanted_versions_are_in_the_locks():
    for wanted in (TOP / "requirements").glob("*.in"):
        locked = pins(wanted.with_suffix(".txt"))
        for line in wanted.read_text(encoding="utf-8").splitlines():
            if line and not line.startswith(("#", "-c")):
                name, _, version = line.partition("==")
                assert name.lower() in locked, f"{wanted.name}: {name}"
                assert not version or locked[name.lower()] == version, f"{wanted.name}: {name}"


@pytest.mark.parametrize("folder", ["site", "tests/bench", "tests/checkers"])
def test_the_npm_lock_names_no_registry(folder):
    lock = json.loads((TOP / folder / "package-lock.json").read_text(encoding="utf-8"))
    for name, entry in lock["packages"].items():
        assert "resolved" not in entry, name
        assert not name or entry["integrity"].startswith("sha512-"), name
    wanted = json.loads((TOP / folder / "package.json").read_text(encoding="utf-8"))
    for version in (wanted["dependencies"] | wanted.get("devDependencies", {})).values():
        assert re.fullmatch(r"\d+\.\d+\.\d+", version)


def test_no_package_shadows_ours():
    assert not (TOP / "py" / "__init__.py").exists()


def test_ci_calls_the_one_command():
    script = TOP / ".ci" / "run"
    assert os.access(script, os.X_OK)
    assert "exec python3 build.py test" in script.read_text(encoding="utf-8")


def test_the_version_is_one():
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    import curebatch

    assert project["version"] == curebatch.__version__


def test_commands_that_are_not_understood_say_so():
    asked = subprocess.run(
        [sys.executable, TOP / "build.py", "build", "--bse-url", "x"], capture_output=True, text=True
    )
    assert asked.returncode == 2
    assert "not understood: --bse-url x" in asked.stderr
