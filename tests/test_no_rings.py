"""An answer leaves nothing behind that refers to itself: in a page Python looks for such rings only while
nobody waits (``curebatch.sweep``), so what left some with every key would fill the memory of a phone."""

from __future__ import annotations

import gc
import json

import curebatch
import pytest
from helpers import golden


@pytest.mark.parametrize("want", ["weights", "rest", "forecast", "all", "sheet", "label", "text", "markdown", "snippet"])
def test_an_answer_leaves_no_rings(want):
    requests = [json.dumps({**case["request"], "want": [want]}) for case in golden.cases()]
    for request in requests:  # what is made once and kept
        curebatch.answer(request)
    was = gc.isenabled()
    gc.collect()
    gc.disable()
    try:
        for request in requests:
            curebatch.answer(request)
        assert gc.collect() == 0, [type(left).__name__ for left in rings(requests)][:20]
    finally:
        if was:
            gc.enable()


def rings(requests: list[str]) -> list[object]:
    """What the answers leave, kept to be looked at."""
    gc.set_debug(gc.DEBUG_SAVEALL)
    try:
        for request in requests:
            curebatch.answer(request)
        gc.collect()
        return list(gc.garbage)
    finally:
        gc.set_debug(0)
        gc.garbage.clear()
