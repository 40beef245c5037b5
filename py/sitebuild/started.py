"""The runtime that a built site ships, started under Node and at work for a build."""

from __future__ import annotations

import json
import subprocess
import tempfile
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from itertools import chain
from pathlib import Path
from queue import Empty, SimpleQueue
from types import TracebackType

from .errors import BuildError

SCRIPT = Path(__file__).with_name("run_calls.mjs")


class Started:
    """One runtime; it goes with the ``with`` that it was made for.

    Each call is {"call": name of an entry of curebatch, "with": its JSON text}; each result is
    {"text": the answer} or {"error": the last line of what went wrong, "trace": all of it}.
    """

    def __init__(self, dist: Path) -> None:
        self.dist = dist

    def __enter__(self) -> Started:
        self.said = tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace")
        self.node = subprocess.Popen(
            ["node", str(SCRIPT), str(self.dist)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self.said, encoding="utf-8"
        )
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        if kind is not None:
            self.node.kill()
        self.node.communicate()
        self.said.close()

    def calls(self, wanted: Iterable[dict]) -> list[dict]:
        """Let it do some work: the results, in their order. Raises BuildError where it cannot even be asked."""
        try:
            self.node.stdin.write(f"{json.dumps(list(wanted))}\n")
            self.node.stdin.flush()
            return json.loads(self.node.stdout.readline())
        except (OSError, ValueError):
            code = self.node.wait()
            self.said.seek(0)
            raise BuildError(f"{SCRIPT.name} failed (exit code {code}):\n{self.said.read().strip()}") from None


def calls(dist: Path, wanted: Iterable[dict]) -> list[dict]:
    """The work of one runtime that is started for it alone."""
    with Started(dist) as runtime:
        return runtime.calls(wanted)


def shared_out(dist: Path, parts: list[list[dict]], count: int) -> list[dict]:
    """The work of ``count`` runtimes [1 or more] on the calls of all ``parts``, in their order.

    Each takes the next part when it has done its last: neither the one that got the long calls nor a
    slower core is waited for.
    """
    done: dict[int, list[dict]] = {}
    waiting: SimpleQueue[int] = SimpleQueue()
    for number in range(len(parts)):
        waiting.put(number)

    def work(_: int) -> None:
        with Started(dist) as runtime:
            while True:
                try:
                    number = waiting.get_nowait()
                except Empty:
                    return
                done[number] = runtime.calls(parts[number])

    with ThreadPoolExecutor(count) as workers:
        list(workers.map(work, range(count)))
    return list(chain.from_iterable(done[number] for number in range(len(parts))))
