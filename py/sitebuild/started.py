"""The runtime that a built site ships, at work under Node for a build.

Each call is {"call": name of an entry of curebatch, "with": its JSON text}; each result is
{"text": the answer} or {"error": the last line of what went wrong, "trace": all of it}. With "into" the
answer goes into that file, whose folder is there, and the result is {}.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterable
from pathlib import Path

from .runtime import HERE, node


def calls(dist: Path, wanted: Iterable[dict]) -> list[dict]:
    """The results of some calls, by one runtime that is started for them."""
    return shared_out(dist, [list(wanted)], 1)


def shared_out(dist: Path, parts: list[list[dict]], count: int) -> list[dict]:
    """The results of the calls of all parts, in their order, by ``count`` runtimes [1 or more].

    Raises BuildError where a runtime cannot even be asked.
    """
    with tempfile.TemporaryDirectory(prefix="curebatch-") as scratch:
        job, results = Path(scratch, "job.json"), Path(scratch, "results.json")
        job.write_text(json.dumps({"count": count, "parts": parts}), encoding="utf-8")
        node(HERE / "run_calls.mjs", dist, job, results)
        return json.loads(results.read_text(encoding="utf-8"))
