"""python3 build.py bench [--engines chromium,firefox,webkitgtk] [--runs N] [--only PARTS]

Measures the built site against the stock runtime and prints one table; all figures go to
.cache/bench.json. No time is asserted: machines differ, ratios hold.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import shutil
import signal
import statistics
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from engines.drivers import ENGINES, TOP, EngineError
from helpers.runtime import built_site

from . import cards, heap, lighthouse, publishing, sizes, slow_core, starts, typing_speed
from .places import Ours, Stock

PARTS = ("warm", "cold", "input", "slow", "cards", "recipes", "size", "heap", "lighthouse")
WITHOUT_ENGINES = ("cards", "recipes", "size", "heap", "lighthouse")
RESULT = TOP / ".cache" / "bench.json"
MEGABYTE = 1e6
RECALCULATIONS = 2000

INPUT_AIMS = (33, 50)  # median and 95th percentile [ms]
SLOW_AIMS = (0, 150)
SIZE_AIM = 7.0
LIGHTHOUSE_AIMS = {
    "performance": ">= 95", "accessibility": "100", "best-practices": "100", "seo": "100",
    "largest paint": "< 1500 ms", "layout shift": "0",
}  # fmt: skip


@dataclass(frozen=True)
class Row:
    """A line of the table."""

    engine: str
    what: str
    ours: str
    stock: str = ""
    ratio: str = ""
    aim: str = ""


class Bench:
    """The parts that are wanted and what they gave: rows for the table, values for the file."""

    def __init__(self, given: argparse.Namespace, dist: Path, scratch: Path):
        self.given, self.scratch = given, scratch
        self.dist = dist.resolve()
        self.rows: list[Row] = []
        self.values: dict[str, object] = {}
        self.failed: list[str] = []
        self.ours = Ours(self.dist, "/")
        self.below = Ours(self.dist, "/below/")
        self.stock = Stock(scratch / "stock")

    def run(self) -> None:
        with self.ours.server, self.below.server, self.stock.server:
            # In this order, whichever they are asked for in: publishing leaves other recipes at hand.
            for part in sorted(self.given.only, key=PARTS.index):
                measure = getattr(self, f"_{part}")
                if part in WITHOUT_ENGINES:
                    self._try(part, "", measure)
                    continue
                for engine in self.given.engines:
                    self._try(part, engine, lambda: measure(engine))  # noqa: B023 - called at once

    def _try(self, part: str, engine: str, measure: Callable[[], None]) -> None:
        """What fails is told in the table, and the rest is measured all the same."""
        try:
            measure()
        except (EngineError, RuntimeError, TimeoutError) as error:
            self.failed.append(f"{engine} {part}: {error}".strip())
            self._note(f"{engine} {part} failed", str(error), Row(engine, part, "failed"))

    def _note(self, key: str, values: object, *rows: Row) -> None:
        self.values[key] = values
        for row in rows:
            self.rows.append(row)
            print(f"  {row.engine} {row.what}: {row.ours} {row.stock} {row.ratio}", flush=True)

    def _pair(self, engine: str, pair: starts.Pair) -> None:
        ours, stock = statistics.median(pair.ours), statistics.median(pair.stock)
        row = Row(
            engine, pair.what, f"{ours:.0f} ms", f"{stock:.0f} ms", f"{ours / stock:.3f}",
            f"<= {pair.aim:.2f}",
        )  # fmt: skip
        self._note(f"{engine} {pair.what}", {"ours": pair.ours, "stock": pair.stock}, row)

    def _warm(self, engine: str) -> None:
        for ours in (self.ours, self.below) if self.ours.has_snapshot else (self.below,):
            for pair in starts.warm(engine, ours, self.stock, self.scratch, self.given.runs):
                self._pair(engine, pair)

    def _cold(self, engine: str) -> None:
        pair = starts.cold(engine, self.ours, self.stock, self.scratch, self.given.runs)
        self._pair(engine, pair)

    def _times(
        self, engine: str, what: str, times: dict[str, list[float]], aims: tuple[int, int]
    ) -> None:
        rows = []
        for moment, values in times.items():
            middle, late = statistics.median(values), statistics.quantiles(values, n=20)[-1]
            for name, value, aim in (("median", middle, aims[0]), ("95th", late, aims[1])):
                met = f"<= {aim} ms" if aim and moment == "painted" else ""
                rows.append(Row(engine, f"{what}, {moment}, {name}", f"{value:.1f} ms", aim=met))
        self._note(f"{engine} {what}", times, *rows)

    def _input(self, engine: str) -> None:
        profile = self.scratch / f"{engine}-input"
        times = typing_speed.at_speed(engine, self.below, profile, self.given.changes)
        self._times(engine, "input", times, INPUT_AIMS)

    def _slow(self, engine: str) -> None:
        if not slow_core.possible():
            raise RuntimeError("this system cannot bind a process to a core, so none is slowed")
        profile = self.scratch / f"{engine}-slow"
        count = max(20, self.given.changes // 3)
        factor, times = typing_speed.slow(engine, self.below, profile, count)
        self._times(engine, f"input, core {factor:.1f} times slower", times, SLOW_AIMS)

    def _cards(self) -> None:
        seen = cards.times(self.dist)
        rows = [
            Row("", f"answer under Node, {what}, median", f"{statistics.median(values):.1f} ms",
                aim="<= 150 ms" if what.startswith("forecast") else "")
            for what, values in seen.items()
        ]  # fmt: skip
        self._note("cards", seen, *rows)

    def _recipes(self) -> None:
        seen = publishing.times(self.scratch, self.given.runs)
        few, many = (statistics.median(seen[count]) for count in publishing.COUNTS)
        count = publishing.COUNTS[1]
        self._note(
            "recipes", seen,
            Row("", f"the pages of {count} recipes, median", f"{many:.1f} s"),
            Row("", f"the same of {publishing.COUNTS[0]}, and the ratio", f"{few:.1f} s", ratio=f"{many / few:.2f}", aim="<= 3"),
        )  # fmt: skip

    def _size(self) -> None:
        groups = sizes.compressed(self.dist)
        parts = ", ".join(f"{name} {size / MEGABYTE:.2f}" for name, size in groups.items())
        total = sum(groups.values()) / MEGABYTE
        self._note(
            "first visit, gzip -9 [bytes]", groups,
            Row("", f"first visit, gzip -9 ({parts})", f"{total:.2f} MB",
                aim=f"<= {SIZE_AIM:g} MB"),
        )  # fmt: skip

    def _heap(self) -> None:
        seen = heap.over(self.dist, RECALCULATIONS)
        # The first cards fill what is remembered; from the second look on it has to be flat.
        grown, used = ((seen[key][-1] - seen[key][1]) / MEGABYTE for key in ("bytes", "used"))
        size, taken = (seen[key][-1] / MEGABYTE for key in ("bytes", "used"))
        what = f"Python's memory after {RECALCULATIONS} cards"
        self._note(
            "heap", seen,
            Row("", what, f"{size:.1f} MB, {taken:.1f} in use"),
            Row("", f"{what}, growth", f"{grown:+.2f} MB, {used:+.2f} in use", aim="flat"),
        )  # fmt: skip

    def _lighthouse(self) -> None:
        seen = lighthouse.run(self.ours.start_page, 3)
        rows = [
            Row("chromium", f"Lighthouse, {name}", f"{value:.4g}", aim=LIGHTHOUSE_AIMS[name])
            for name, value in lighthouse.medians(seen).items()
        ]
        self._note("lighthouse", seen, *rows)


def table(rows: list[Row]) -> str:
    """The rows as text in columns."""
    head = Row("engine", "what", "ours", "stock", "ratio", "aim")
    lines = [
        [row.engine, row.what, row.ours, row.stock, row.ratio, row.aim] for row in (head, *rows)
    ]
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
        for line in lines
    )


def _names(known: tuple[str, ...]):
    def read(text: str) -> list[str]:
        names = [name.strip() for name in text.split(",") if name.strip()]
        wrong = [name for name in names if name not in known]
        if wrong or not names:
            raise argparse.ArgumentTypeError(f"{text!r}: choose from {', '.join(known)}")
        return names

    return read


def _count(least: int):
    def read(text: str) -> int:
        if not text.isdigit() or int(text) < least:
            raise argparse.ArgumentTypeError(f"{text!r}: write a whole number from {least} up")
        return int(text)

    return read


def main() -> int:
    parser = argparse.ArgumentParser(
        prog="build.py bench", description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--engines", type=_names(ENGINES), default=list(ENGINES))
    parser.add_argument("--runs", type=_count(1), default=5, help="of each start; 5 unless told")
    parser.add_argument("--changes", type=_count(20), default=300, help="of input; 300 unless told")
    parser.add_argument("--only", type=_names(PARTS), default=list(PARTS), help=", ".join(PARTS))
    parser.add_argument("--site", type=Path, default=None, help="a built site; dist/ unless told")
    given = parser.parse_args()
    # Ended from outside, it still ends the browsers that it started.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    scratch = Path(tempfile.mkdtemp(prefix="curebatch-bench-"))
    try:
        bench = Bench(given, given.site or built_site(), scratch)
        bench.run()
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
    print(f"\n{table(bench.rows)}")
    for line in bench.failed:
        print(f"failed: {line}", file=sys.stderr)
    RESULT.parent.mkdir(exist_ok=True)
    machine = {"system": platform.platform(), "cores": os.cpu_count(), "runs": given.runs}
    RESULT.write_text(json.dumps({"machine": machine, "values": bench.values}, indent=1))
    return 1 if bench.failed else 0


if __name__ == "__main__":
    sys.exit(main())
