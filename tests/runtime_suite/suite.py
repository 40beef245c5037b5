"""Inside the runtime: runs tests with pytest and watches what the product imports meanwhile.

given: {"arguments": for pytest, "product": [packages that ship]}. Leaves in `found` the exit code,
what became of each test, and every module that an import with the product behind it named.
"""

import builtins
import json
import os
import sys

given = json.loads(given_text)  # noqa: F821  run.mjs puts it there
PRODUCT = frozenset(given["product"])
imported: set[str] = set()


def asked_by_the_product() -> bool:
    frame = sys._getframe(2)
    while frame is not None:
        name = frame.f_globals.get("__name__") or ""
        # The terminal is not part of what runs in a page.
        if name.partition(".")[0] in PRODUCT and name != "curebatch.__main__":
            return True
        frame = frame.f_back
    return False


class Watch:
    """First on sys.meta_path: sees each module the first time, however it is imported."""

    def find_spec(self, name, path=None, target=None):
        if name not in imported and asked_by_the_product():
            imported.add(name)
        return None


plain_import = builtins.__import__


def watched_import(name, globals=None, locals=None, fromlist=(), level=0):
    # Sees modules too that the tests had loaded already.
    if level == 0 and (name not in imported or fromlist) and asked_by_the_product():
        imported.add(name)
        imported.update(f"{name}.{part}" for part in fromlist or ())
    return plain_import(name, globals, locals, fromlist, level)


class Report:
    """What became of each test, as pytest tells it."""

    def __init__(self):
        self.outcomes: dict[str, str] = {}
        self.failures: dict[str, str] = {}

    def pytest_runtest_logreport(self, report):
        if report.when == "call" or report.outcome != "passed":
            self.outcomes[report.nodeid] = report.outcome
        if report.failed:
            self.failures[report.nodeid] = report.longreprtext

    def pytest_collectreport(self, report):
        if report.failed:
            self.failures[report.nodeid] = report.longreprtext


sys.meta_path.insert(0, Watch())
builtins.__import__ = watched_import
sys.dont_write_bytecode = True
os.environ["CUREBATCH_CASES"] = "60"
os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = "/hypothesis"
os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
sys.path.append("/supplement.zip")
sys.path.insert(0, "/project/tests")
os.chdir("/project")

import pytest  # noqa: E402  it lies in the supplement
from helpers.few_cases import Few  # noqa: E402
from hypothesis import HealthCheck, settings  # noqa: E402

# No clock and no database: a slower machine, and a folder that is not to be written to.
settings.register_profile("inside", max_examples=25, deadline=None, database=None,
                          derandomize=True, suppress_health_check=list(HealthCheck))
settings.load_profile("inside")

report = Report()
code = pytest.main(
    ["-p", "_hypothesis_pytestplugin", "-p", "no:cacheprovider", "-p", "no:faulthandler",
     "-q", "--capture=sys", "-o", "pythonpath=", "--rootdir", "/project", *given["arguments"]],
    # The cases by the hundred are made outside, with the same program.
    plugins=[report, Few(25)],
)
builtins.__import__ = plain_import

found = json.dumps({
    "code": int(code),
    "outcomes": report.outcomes,
    "failures": report.failures,
    "imported": sorted(
        name for name in imported if name in sys.modules and name.split(".")[0] != "js"
    ),
    "modules": {
        name: str(getattr(getattr(module, "__spec__", None), "origin", None) or "")
        for name, module in sorted(sys.modules.items())
        if module is not None
    },
})
