"""A core that is slowed for everything on it, workers as well: a browser's own throttling does not
reach them. This process, and what it starts, is bound to one core, which is taken from it for the
greater part of each millisecond. (Loops beside it would slow it as much on the whole, yet in slices
of several milliseconds each: whoever is woken then waits for three of them, which no slow core asks.)"""

from __future__ import annotations

import contextlib
import os
import statistics
import subprocess
import sys
from collections.abc import Iterator

from engines.drivers import Engine

PERIOD_MS = 1.0  # in which the core is taken and given back: far less than anything that is timed
MOST_TRIES = 6
NEAR = 0.05  # of the factor that is wanted

# Takes the core from everybody for the first part of each period. Where it may, ahead of all others;
# else it relies on their having stepped back (`bound`).
_PULSE = """
import ctypes, os, sys, time
taken, given = (float(word) / 1e3 for word in sys.argv[1:])
try:
    os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(1))
except PermissionError:
    ctypes.CDLL(None).prctl(29, 1, 0, 0, 0)  # PR_SET_TIMERSLACK [ns]: woken when it is time, not about then
while True:
    end = time.perf_counter() + taken
    while time.perf_counter() < end:
        pass
    time.sleep(given)
"""

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
    if not _may_go_first():
        os.nice(10)  # for good: nobody may take it back; with nothing beside it, it costs nothing
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)


def _may_go_first() -> bool:
    try:
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(1))
    except PermissionError:
        return False
    os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))
    return True


@contextlib.contextmanager
def slowed(engine: Engine, factor: float) -> Iterator[float]:
    """Slow the core under an engine that was opened inside `bound`.

    factor: how many times slower a worker is to count, 1 to 10. Gives the factor that was reached, which
    on an unquiet machine may stay beside it.
    """
    # The shortest, in which the machine's other work is least; under the pulse the one between.
    plain = min(engine.evaluate(_COUNT))
    given = PERIOD_MS / factor
    for left in reversed(range(MOST_TRIES)):
        with _pulse(PERIOD_MS - given, given):
            reached = statistics.median(engine.evaluate(_COUNT)) / plain
            if abs(reached - factor) <= NEAR * factor or left == 0:
                yield reached
                return
        given = min(max(given * reached / factor, 0.02 * PERIOD_MS), 0.98 * PERIOD_MS)


@contextlib.contextmanager
def _pulse(taken: float, given: float) -> Iterator[None]:
    """The core taken for `taken` and given for `given` [ms], over and over."""
    pulse = subprocess.Popen([sys.executable, "-c", _PULSE, str(taken), str(given)])
    try:
        yield
    finally:
        pulse.kill()
        pulse.wait()
