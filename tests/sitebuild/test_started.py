"""The shipped runtime at work under Node: what goes in and comes out, and what is said when it cannot."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from helpers.runtime import built_site
from sitebuild.errors import BuildError
from sitebuild.started import calls, shared_out

pytestmark = pytest.mark.site


def asked(number: int) -> dict:
    return {"call": "answer", "with": json.dumps({"id": number, "build": "", "input": {"page": "found", "fields": {}}, "want": ["weights"]})}


def test_results_come_in_the_order_of_the_calls_whoever_made_them():
    numbers = iter(range(40))
    parts = [[asked(next(numbers)) for _ in range(length)] for length in (1, 9, 2, 12, 1, 3, 8, 4)]
    results = shared_out(built_site(), parts, 2)
    assert [json.loads(result["text"])["id"] for result in results] == list(range(40))


def test_no_calls_are_no_results():
    assert shared_out(built_site(), [], 1) == shared_out(built_site(), [], 2) == []
    assert calls(built_site(), []) == []


@pytest.mark.parametrize("count", [1, 2])
def test_a_call_that_fails_is_told_and_the_next_is_answered(count):
    wrong, right = shared_out(built_site(), [[{"call": "draw", "with": json.dumps({"page": "none such"})}, asked(7)]], count)
    assert "none such" in wrong["error"]
    assert "Traceback" in wrong["trace"]
    assert json.loads(right["text"])["id"] == 7


def test_what_is_no_built_site_is_told_with_what_node_said(tmp_path: Path):
    (tmp_path / "assets").mkdir()
    with pytest.raises(BuildError, match=r"(?s)run_calls\.mjs failed \(exit code 1\):.*Not one assets/runtime"):
        calls(tmp_path, [asked(1)])
    with pytest.raises(BuildError, match="Not one assets/runtime"):
        shared_out(tmp_path, [[asked(1)], [asked(2)]], 2)
