"""Rules for all tests: where CI is set, nothing is skipped; no test is a race against the clock of a
busy machine; and what takes long to make is made once."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("steady", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")


# Files whose tests share what takes long to make, what they have seen, or one server that is stopped and started: each
# goes to one process as a whole. Ahead of all others: they are what an end would wait for.
IN_ONE_PROCESS = (
    "tests/runtime_suite/test_inside.py", "tests/test_publish.py", "tests/test_runtime.py", "tests/test_checked.py", "tests/pages/test_blog.py", "tests/test_no_unsafe_ok.py",
)  # fmt: skip


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log):
    """Each test to the process that is free. (Not by xdist's own groups: under pytest 9.2 their marks do nothing.)"""
    from xdist.scheduler import LoadScopeScheduling  # not there inside the shipped runtime

    class ByTest(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file = nodeid.partition("::")[0]
            return file if file in IN_ONE_PROCESS else nodeid

    return ByTest(config, log)


def in_ci() -> bool:
    return bool(os.environ.get("CI"))


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session) -> None:
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    if in_ci() and skipped and session.exitstatus == pytest.ExitCode.OK:
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter) -> None:
    skipped = terminalreporter.stats.get("skipped", [])
    if in_ci() and skipped:
        terminalreporter.write_line(
            f"{len(skipped)} skipped: in CI every test has to run, so this counts as a failure.",
            red=True,
        )
