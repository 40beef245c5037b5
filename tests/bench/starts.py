"""From the start of a navigation to the painted card: warm and cold, ours and stock in turns."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from engines.drivers import open_engine

from .places import Ours, Stock, painted_ms

# WebKitGTK keeps nothing from one automated browser to the next: no warm start in a new one.
KEEPS_PROFILE = ("chromium", "firefox")

# The largest ratio of the medians to be content with.
RUNNING_AIM = {"chromium": 0.20, "firefox": 0.25, "webkitgtk": 0.20}
NEW_AIM = {"chromium": 0.30, "firefox": 0.25}
COLD_AIM = 0.40


@dataclass(frozen=True)
class Pair:
    """One thing, measured for us and for the stock runtime [ms], in turns."""

    what: str
    ours: list[float]
    stock: list[float]
    aim: float


def warm(name: str, ours: Ours, stock: Stock, scratch: Path, runs: int) -> list[Pair]:
    """Warm starts in one engine: ours with the server gone, stock on a revisit with it there.

    name: of the engine; scratch: a folder for profiles; runs: how many of each. Both servers are
    running before and after. Each page has a browser of its own, because what one leaves behind,
    a program still being compiled, would be counted as the other's.
    """
    mode = "with snapshot" if ours.has_snapshot else "no snapshot"
    profiles = [scratch / f"{name}-{mode}-{kind}" for kind in ("ours", "stock")]
    running = Pair(f"warm, running browser, {mode}", [], [], RUNNING_AIM[name])
    with open_engine(name, profiles[0]) as first, open_engine(name, profiles[1]) as second:
        ours.make_ready(first)
        # Twice unmeasured: by then both have all that a browser keeps of them.
        for _ in range(2):
            ours.warm_ms(first)
            stock.visit_ms(second)
        for _ in range(runs):
            running.ours.append(ours.warm_ms(first))
            running.stock.append(stock.visit_ms(second))
    if name not in KEEPS_PROFILE:
        return [running]
    new = Pair(f"warm, new browser, {mode}", [], [], NEW_AIM[name])
    for _ in range(runs):
        with open_engine(name, profiles[0]) as engine:
            new.ours.append(ours.warm_ms(engine))
        with open_engine(name, profiles[1]) as engine:
            new.stock.append(stock.visit_ms(engine))
    return [running, new]


def cold(name: str, ours: Ours, stock: Stock, scratch: Path, runs: int) -> Pair:
    """First visits of a new browser on a new profile, of a shared link and of the stock page.

    scratch: a folder for the profiles.
    """
    pair = Pair("cold, first visit", [], [], COLD_AIM)
    for run in range(runs):
        for times, place, kind in (
            (pair.ours, ours.shared, "ours"),
            (pair.stock, stock.page, "stock"),
        ):
            with open_engine(name, scratch / f"{name}-cold-{kind}-{run}") as engine:
                times.append(painted_ms(engine, place))
    return pair
