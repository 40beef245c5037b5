"""Fewer random cases for every property: for runs where each of them takes long."""

from __future__ import annotations

import pytest
from hypothesis import Phase, settings


class Few:
    """A plugin: fewer cases for each property, always the same ones, and no search for a smaller one."""

    def __init__(self, cases: int):
        self.cases = cases

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection_modifyitems(self, items: list) -> None:
        for item in items:
            test = getattr(item, "obj", None)
            test = getattr(test, "__func__", test)
            kept = getattr(test, "_hypothesis_internal_use_settings", None)
            if getattr(test, "is_hypothesis_test", False) and kept:
                test._hypothesis_internal_use_settings = settings(
                    kept, max_examples=min(self.cases, kept.max_examples), derandomize=True, database=None, phases=(Phase.explicit, Phase.generate), deadline=None,
                )
