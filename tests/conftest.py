"""Two rules for all tests: where CI is set, nothing is skipped; and no test is a race against the
clock of a busy machine."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile("steady", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")


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
