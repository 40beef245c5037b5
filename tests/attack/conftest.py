"""In the long profile each file tells its slowest input."""

from __future__ import annotations

import pytest
from helpers.attacks import LONG, Slowest


@pytest.fixture(scope="module", autouse=True)
def told(request: pytest.FixtureRequest):
    yield
    capture = request.config.pluginmanager.getplugin("capturemanager")
    if LONG and capture:
        with capture.global_and_fixture_disabled():
            for each in vars(request.module).values():
                if isinstance(each, Slowest):
                    print("\n" + each.told(), flush=True)
