"""A core that is slowed for everything on it, workers as well: a browser's own throttling does not
reach them. This process, and what it starts, is bound to one core that busy loops share."""

from __future__ import annotations

import contextlib
import os
import statistics
import subprocess
import sys
from collections.abc import Iterator

from engines.drivers import Engine

MOST_LOOPS = 8

# Counts in a worker of its own for a while, five times over; the times [ms], shortest first.
_COUNT = """new Promise((done) => {
  const source = `
    const count = () => {
      const begun = performance.now();
      let sum = 0;
      for (let step = 0; step < 4e7; step++) sum = (sum * 31 + step) | 0;
      return [performance.now() - begun, sum];
    };
    count();
    postMessage([1, 2, 3, 4, 5].map(() => count()[0]));`;
  const worker = new Worker(URL.createObjectURL(new Blob([source], { type: "text/javascript" })));
  worker.onmessage = ({ data }) => { worker.terminate(); done(data.sort((a, b) => a - b)); };
})"""


def possible() -> bool:
    """Whether this system can bind a process to a core."""
    return hasattr(os, "sched_setaffinity")


@contextlib.contextmanager
def bound() -> Iterator[None]:
    """Bind this process, and all that it starts meanwhile, to one core."""
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {max(before)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)


@contextlib.contextmanager
def slowed(engine: Engine, factor: float) -> Iterator[float]:
    """Slow the core under an engine that was opened inside `bound`.

    factor: how many times slower a worker is to count. Gives the factor that was reached: loops
    are added one by one until it is at least nine tenths of what is wanted.
    """
    # The shortest, in which the machine's other work is least; under the loops the one between.
    plain = min(engine.evaluate(_COUNT))
    with contextlib.ExitStack() as loops:
        reached = 1.0
        for _ in range(MOST_LOOPS):
            if reached >= 0.9 * factor:
                break
            # Each in a session of its own: some systems share the core out by session.
            loop = subprocess.Popen(
                [sys.executable, "-c", "while True: pass"], start_new_session=True
            )
            loops.callback(_end, loop)
            reached = statistics.median(engine.evaluate(_COUNT)) / plain
        yield reached


def _end(loop: subprocess.Popen) -> None:
    loop.kill()
    loop.wait()
