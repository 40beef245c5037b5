#!/usr/bin/env python3
"""The project's own commands. Needs Python 3.11 or newer, Node 20 or newer, nothing else.

    python3 build.py setup                      .venv, the npm packages, the browser's wheels
    python3 build.py build [--base-url URL] [--recipes FOLDER]
                                                writes dist/
    python3 build.py serve [--port N]           builds, then serves dist/ on this machine
    python3 build.py test [pytest arguments]    builds, then runs every test
    python3 build.py bench [--engines NAMES] [--runs N] [--only PARTS]
                                                builds, then measures it in three engines
    python3 build.py mutants [MODULES]          changes the program on purpose, and lists what no
                                                test noticed; takes an hour or more for all of it

Every command sets up first what is missing, so none needs another before it.
This file uses the standard library only: it runs before .venv exists.
"""

from __future__ import annotations

import argparse
import contextlib
import glob
import hashlib
import os
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from typing import NamedTuple

try:
    import fcntl
except ImportError:  # Windows has none
    fcntl = None

TOP = Path(__file__).resolve().parent
VENV = TOP / ".venv"
WHEELS = TOP / ".cache" / "wheels"
SUPPLEMENT = TOP / ".cache" / "supplement"
REQUIREMENTS = TOP / "requirements"
SITE = TOP / "site"
DIST = TOP / "dist"
BENCH = TOP / "tests" / "bench"
MUTANTS = TOP / ".cache" / "mutation"
CHECKERS = TOP / "tests" / "checkers"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")

# The Python inside the pinned Pyodide: the wheels for the browser are chosen for it.
BROWSER_PYTHON = "3.14"

# What the product's own tests need inside the runtime, besides what ships: for tests only.
FOR_TESTS_INSIDE = ("hypothesis", "iniconfig", "molmass", "packaging", "pluggy", "pygments", "pytest",
                    "sortedcontainers")


class Stop(Exception):
    """A plain sentence for whoever typed the command."""


def run(*command: object, cwd: Path = TOP, env: dict[str, str] | None = None) -> None:
    words = [str(word) for word in command]
    result = subprocess.run(words, cwd=cwd, env={**os.environ, **(env or {})})
    if result.returncode:
        raise Stop(f"This step failed (exit code {result.returncode}): {' '.join(words)}")


def digest(*parts: str | Path) -> str:
    seen = hashlib.sha256()
    for part in parts:
        data = part.read_bytes() if isinstance(part, Path) else part.encode()
        seen.update(str(len(data)).encode() + b":" + data)
    return seen.hexdigest()


def once(stamp: Path, mark: str, work) -> None:
    """Run `work` unless `stamp` says that it was finished for the same `mark`."""
    if stamp.is_file() and stamp.read_text() == mark:
        return
    stamp.unlink(missing_ok=True)
    work()
    stamp.parent.mkdir(parents=True, exist_ok=True)
    stamp.write_text(mark)


@contextlib.contextmanager
def alone():
    """One setup at a time: two commands started together must not clear each other's .venv."""
    if fcntl is None:
        yield
        return
    (TOP / ".cache").mkdir(exist_ok=True)
    with open(TOP / ".cache" / "setup.lock", "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        yield


# ------------------------------------------------------------------ setup


def setup() -> None:
    if sys.version_info < (3, 11):
        raise Stop("Python 3.11 or newer is needed; this is " + sys.version.split()[0] + ".")
    node = shutil.which("node")
    if not node or not shutil.which("npm"):
        raise Stop("Node 20 or newer, with npm, is needed: install it and run this again.")
    version = subprocess.run([node, "--version"], capture_output=True, text=True).stdout.strip()
    if int(version.lstrip("v").split(".")[0]) < 20:
        raise Stop(f"Node 20 or newer is needed; this is {version}.")

    locks = [REQUIREMENTS / "product.txt", REQUIREMENTS / "test.txt"]
    mark = digest("venv 1", sys.version, str(TOP), *locks)
    once(VENV / "curebatch.stamp", mark, make_venv)

    npm = digest(SITE / "package.json", SITE / "package-lock.json")
    once(
        SITE / "node_modules" / "curebatch.stamp",
        npm,
        lambda: run("npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund", cwd=SITE),
    )

    wheels = digest(mark, REQUIREMENTS / "browser.txt", *FOR_TESTS_INSIDE)
    once(WHEELS / "curebatch.stamp", wheels, fetch_browser_wheels)


def make_venv() -> None:
    print("Preparing .venv ...", flush=True)
    try:
        venv.create(VENV, with_pip=True, clear=True)
    except subprocess.CalledProcessError as error:
        raise Stop(
            "This Python cannot make a virtual environment; on Debian and Ubuntu the package "
            "python3-venv is missing."
        ) from error
    # Hashes for every file: what was tested is what is installed.
    pip("install", "--require-hashes", "-r", REQUIREMENTS / "product.txt",
        "-r", REQUIREMENTS / "test.txt")
    site_packages = subprocess.run(
        [PYTHON, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        capture_output=True, text=True, check=True,
    ).stdout.strip()
    # A path file in place of an editable install: no build step, and the sources are live.
    (Path(site_packages) / "curebatch.pth").write_text(f"{TOP / 'py'}\n", encoding="utf-8")


def pip(*arguments: object, env: dict[str, str] | None = None) -> None:
    run(PYTHON, "-m", "pip", "--quiet", "--disable-pip-version-check", "--no-input",
        *arguments, env=env)


def fetch_browser_wheels() -> None:
    """The pinned packages as pure wheels for the Python in the browser."""
    print("Fetching the wheels for the browser ...", flush=True)
    shutil.rmtree(WHEELS, ignore_errors=True)
    WHEELS.mkdir(parents=True)
    product = locked(REQUIREMENTS / "product.txt")
    # MarkupSafe has no pure wheel on the registry: it is built below.
    compiled = {"markupsafe"}
    pure = "".join(text for name, text in product.items() if name not in compiled)
    native = "".join(product[name] for name in sorted(compiled))
    pure += (REQUIREMENTS / "browser.txt").read_text()
    scratch = WHEELS / "wanted.txt"
    scratch.write_text(pure)
    pip("download", "--require-hashes", "--no-deps", "--only-binary=:all:",
        "--python-version", BROWSER_PYTHON, "--dest", WHEELS, "-r", scratch)
    scratch.write_text(native)
    # With no compiler its build leaves the optional C part out and tags the wheel py3-none-any.
    pip("wheel", "--require-hashes", "--no-deps", "--no-build-isolation", "--no-cache-dir",
        "--no-binary=:all:", "--wheel-dir", WHEELS, "-r", scratch, env={"CC": "false"})
    scratch.unlink()
    impure = [w.name for w in WHEELS.glob("*.whl") if not w.name.endswith("-none-any.whl")]
    if impure:
        raise Stop(f"These wheels are not pure Python and cannot run in the browser: {impure}")

    shutil.rmtree(SUPPLEMENT, ignore_errors=True)
    SUPPLEMENT.mkdir(parents=True)
    tested = locked(REQUIREMENTS / "test.txt")
    scratch = SUPPLEMENT / "wanted.txt"
    scratch.write_text("".join(tested[name] for name in FOR_TESTS_INSIDE))
    pip("download", "--require-hashes", "--no-deps", "--only-binary=:all:",
        "--python-version", BROWSER_PYTHON, "--dest", SUPPLEMENT, "-r", scratch)
    scratch.unlink()


def locked(path: Path) -> dict[str, str]:
    """A requirements lock as {name: its lines}."""
    found: dict[str, str] = {}
    name = ""
    for line in path.read_text().splitlines(keepends=True):
        if "==" in line and not line.startswith((" ", "#")):
            name = line.split("==")[0].strip().lower()
        if name:
            found[name] = found.get(name, "") + line
    return found


# ------------------------------------------------------------------ browser

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def named(variable: str) -> str | None:
    """The program that an environment variable names, where it names one."""
    name = os.environ.get(variable)
    if name and not shutil.which(name):
        raise Stop(f"{variable} says {name!r}, and there is no such program.")
    return shutil.which(name) if name else None


def find_browser() -> str | None:
    return named("CHROMIUM") or next((path for name in BROWSERS if (path := shutil.which(name))), None)


def find_own_browser() -> str | None:
    """The browser that the test library downloaded itself, if it did."""
    asked = subprocess.run(
        [PYTHON, "-c",
         "from playwright.sync_api import sync_playwright\n"
         "with sync_playwright() as p: print(p.chromium.executable_path)"],
        capture_output=True, text=True,
    )
    path = asked.stdout.strip()
    return path if asked.returncode == 0 and path and Path(path).exists() else None


def browser() -> str:
    """The path of a Chromium, installed here if it may be."""
    found = find_browser() or find_own_browser()
    if found:
        return found
    if apt_install("chromium"):
        found = find_browser()
        # On some systems "chromium" is a stub that only points to another installer.
        if found and subprocess.run([found, "--version"], capture_output=True).returncode == 0:
            return found
    subprocess.run([str(PYTHON), "-m", "playwright", "install", "chromium"])
    found = find_own_browser()
    if found:
        return found
    raise Stop(
        "The page tests need Chromium, and it could not be installed here. Install chromium, "
        "or set CHROMIUM to the path of one, and run this again."
    )


def find_shell() -> str | None:
    """A Chromium without windows: the same engine, which opens a page for a third of the work."""
    found = named("CHROMIUM_SHELL") or shutil.which("chromium-headless-shell")
    own = None if found else find_own_browser()
    if own:  # the test library keeps the two beside each other
        beside = Path(own).parents[2].glob("chromium_headless_shell-*/*/*headless*shell")
        found = next((str(path) for path in sorted(beside, reverse=True) if os.access(path, os.X_OK)), None)
    return found


def page_browser(full: str) -> str:
    """The path of what opens the pages of most tests: a Chromium without windows, installed here if it
    may be, else the full one."""
    if find_shell() is None:
        apt_install("chromium-headless-shell")
    return find_shell() or full


class Program(NamedTuple):
    """A program that the tests run: those in the other engines, those of what is printed."""

    variable: str  # names a copy of one's own
    places: tuple[str, ...]  # a name on the PATH, or a pattern of absolute paths
    package: str  # the Debian package that brings it


PROGRAMS = (
    Program("FIREFOX", ("firefox-esr", "firefox"), "firefox-esr"),
    Program("WEBKIT_DRIVER", ("WebKitWebDriver",), "webkit2gtk-driver"),
    # The library's own small browser: it comes with the library and is on no PATH.
    Program(
        "MINIBROWSER",
        ("/usr/lib/*/webkit2gtk-4.1/MiniBrowser", "/usr/lib*/webkit2gtk-4.1/MiniBrowser",
         "/usr/libexec/webkit2gtk-4.1/MiniBrowser"),
        "webkit2gtk-driver",
    ),
    Program("XVFB", ("Xvfb",), "xvfb"),
    # What is printed, read back.
    Program("ZBARIMG", ("zbarimg",), "zbar-tools"),
    Program("PDFTOPPM", ("pdftoppm",), "poppler-utils"),
    Program("PDFTOTEXT", ("pdftotext",), "poppler-utils"),
    # The checker of HTML runs on it.
    Program("JAVA", ("java",), "default-jre-headless"),
)


def find_program(program: Program) -> str | None:
    if found := named(program.variable):
        return found
    for place in program.places:
        found = sorted(glob.glob(place)) if os.path.isabs(place) else [shutil.which(place)]
        if found and found[0]:
            return found[0]
    return None


def engines() -> dict[str, str]:
    """Firefox ESR and WebKitGTK with what they need, the readers of what is printed, and Java for the
    checker of HTML, installed here if they may be, as {environment variable: path}."""
    missing = [program for program in PROGRAMS if find_program(program) is None]
    if missing:
        apt_install(*sorted({program.package for program in missing}))
        missing = [program for program in missing if find_program(program) is None]
    if missing:
        packages = ", ".join(sorted({program.package for program in missing}))
        variables = ", ".join(program.variable for program in missing)
        raise Stop(
            "The tests in Firefox and WebKitGTK, those of paper and of HTML need programs that could not "
            "be installed here. "
            f"Install {packages} (these are the Debian names), or set {variables} to the path of "
            "your own, and run this again."
        )
    return {program.variable: find_program(program) for program in PROGRAMS}


_lists_are_fresh = False


def apt_install(*packages: str) -> bool:
    """Whether apt was there and allowed; what came of it is for the caller to see."""
    global _lists_are_fresh
    prefix = may_be_root() if shutil.which("apt-get") else None
    if prefix is None:
        return False
    print(f"Installing {', '.join(packages)} ...", flush=True)
    quiet = [*prefix, "env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-q",
             "-o", "Acquire::Retries=3"]
    if not _lists_are_fresh:
        subprocess.run([*quiet, "update"])
        _lists_are_fresh = True
    # One by one: a name that this system does not know must not stop the others.
    for package in packages:
        # What chromium recommends brings fonts, for the other engines too.
        lean = [] if package == "chromium" else ["--no-install-recommends"]
        subprocess.run([*quiet, "install", "-y", *lean, package])
    return True


def may_be_root() -> list[str] | None:
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        return []
    if shutil.which("sudo") and not subprocess.run(["sudo", "-n", "true"],
                                                   capture_output=True).returncode:
        return ["sudo", "-n"]
    return None


# ------------------------------------------------------------------ commands


def build(base_url: str | None = None, recipes: str | None = None) -> None:
    arguments = ["--out", DIST]
    if base_url:
        arguments += ["--base-url", base_url]
    if recipes:
        arguments += ["--recipes", Path(recipes).resolve()]
    run(PYTHON, "-m", "sitebuild", *arguments)


def npm_packages(folder: Path) -> None:
    """The npm packages that only the bench needs, or only the tests."""
    mark = digest(folder / "package.json", folder / "package-lock.json")
    once(
        folder / "node_modules" / "curebatch.stamp",
        mark,
        lambda: run("npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund", cwd=folder),
    )


def mutants() -> None:
    """The packages that only the command of this name needs, beside .venv and not in it."""
    lock = REQUIREMENTS / "mutants.txt"
    once(MUTANTS / "curebatch.stamp", digest(sys.version, lock), lambda: pip(
        "install", "--require-hashes", "--upgrade", "--target", MUTANTS, "-r", lock))


def main(words: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="build.py", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    commands.add_parser("setup", help="prepare .venv, the npm packages, the browser's wheels")
    one = commands.add_parser("build", help="write dist/")
    one.add_argument("--base-url", help="where the site will live, for absolute addresses")
    one.add_argument("--recipes", help="a folder of recipe files in place of site/recipes; a withdrawn.json may lie in it")
    one = commands.add_parser("serve", help="build, then serve dist/ on this machine")
    one.add_argument("--port", type=int, default=8000)
    commands.add_parser("test", help="build, then run every test; more words go to pytest")
    commands.add_parser("bench", help="build, then measure it in three engines, beside the stock "
                        "runtime; --only size,heap and the like for a part")
    commands.add_parser("mutants", add_help=False, help="change the program on purpose, and list what no test "
                        "noticed; -h tells more")
    given, rest = parser.parse_known_args(words)
    if rest and given.command not in ("test", "bench", "mutants"):
        parser.error(f"not understood: {' '.join(rest)}")

    try:
        with alone():
            setup()
        if given.command == "build":
            build(given.base_url, given.recipes)
        elif given.command == "serve":
            build()
            run(PYTHON, "-m", "sitebuild.server", DIST, "--port", given.port)
        elif given.command == "test":
            full = browser()
            programs = {"CHROMIUM": full, "CHROMIUM_SHELL": page_browser(full), **engines()}
            npm_packages(CHECKERS)
            build()
            # Page tests wait more than they work: two at a time on any machine.
            beside = [] if any(word.startswith("-n") for word in rest) else [
                "-n", str(max(2, os.cpu_count() or 2))]
            return subprocess.run([str(PYTHON), "-m", "pytest", *beside, *rest], cwd=TOP,
                                  env={**os.environ, **programs}).returncode
        elif given.command == "bench":
            programs = {"CHROMIUM": browser(), **engines()}
            npm_packages(BENCH)
            build()
            return subprocess.run([str(PYTHON), "-m", "bench", *rest], cwd=TOP, env={
                **os.environ, **programs, "PYTHONPATH": str(TOP / "tests")}).returncode
        elif given.command == "mutants":
            mutants()
            return subprocess.run([str(PYTHON), "-m", "mutation", *rest], cwd=TOP, env={
                **os.environ, "PYTHONPATH": str(TOP / "tests"), "CUREBATCH_MUTANTS": str(MUTANTS),
            }).returncode
    except Stop as stop:
        print(stop, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
