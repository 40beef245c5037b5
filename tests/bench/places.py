"""The two pages that are compared, below one server, and how each is seen to be painted."""

from __future__ import annotations

import json
import shutil
import time
from dataclasses import dataclass
from pathlib import Path

from engines.drivers import TOP, Engine
from engines.serving import SiteProcess
from helpers.card_page import LOAF_PAGE, card_link, expected, expected_weights, recipe_link

HERE = Path(__file__).resolve().parent
PYODIDE = TOP / "site" / "node_modules" / "pyodide"
WHEELS = TOP / ".cache" / "wheels"

BATCH = {"meat": "3.2 kg", "nitrite": "95 mg/kg", "nitrite_per": "mix"}
KITCHEN = {"pack": "6.25 %", "scale": "0.1 g"}
WEIGHTS = '[data-section="amounts"] tbody td'
STOCK_ROWS = 20

# Long, because the machine may be slowed on purpose.
PATIENCE_S = 180
REST_S = 1

# A condition that a frame finds true is painted with that frame: the next task comes after it.
_WATCH = """(() => {
  const channel = new MessageChannel();
  channel.port1.onmessage = () => { globalThis.paintedAt = performance.now(); };
  const look = () => (CONDITION) ? channel.port2.postMessage(null) : requestAnimationFrame(look);
  look();
})()"""


@dataclass(frozen=True)
class Place:
    """A page to be opened: its address, and the JavaScript condition for all of it being there."""

    url: str
    there: str


def painted_ms(engine: Engine, place: Place) -> float:
    """Open a place and return [ms] from the start of the navigation until it is painted."""
    engine.goto(place.url, until="parsed")
    engine.evaluate(_WATCH.replace("CONDITION", place.there))
    # Asked again and again rather than awaited: a driver does not wait for one answer for minutes.
    engine.wait_for("globalThis.paintedAt !== undefined", PATIENCE_S)
    return engine.evaluate("paintedAt")


def card_is(weights: list[str]) -> str:
    """The condition for a card on the page with these weights, no older one and none awaited."""
    return (
        "!document.documentElement.hasAttribute('data-awaiting')"
        " && document.querySelector('[data-card]:not([data-stale])') !== null"
        f" && JSON.stringify([...document.querySelectorAll({json.dumps(WEIGHTS)})].map("
        r"(cell) => cell.textContent.replace(/\s+/g, ' ').trim()))"
        f" === JSON.stringify({json.dumps(weights, ensure_ascii=False)})"
    )


def make_stock(folder: Path) -> Path:
    """Lay out the page with the runtime as it comes, below a new folder."""
    shutil.copytree(HERE / "stock", folder)
    (folder / "pyodide").symlink_to(PYODIDE)
    (folder / "wheels").symlink_to(WHEELS)
    # The installer is for the build only; the page to compare with does without.
    names = sorted(w.name for w in WHEELS.glob("*.whl") if not w.name.startswith("micropip-"))
    (folder / "wheels.js").write_text(f"export const WHEELS = {json.dumps(names)};\n")
    return folder


class Ours:
    """The built site on a server of its own that can be stopped and started.

    dist: the built site; prefix: the path it is served below. The snapshot that the device makes
    is for sites that have their origin to themselves: at "/" it is used, below a path it is not.
    """

    def __init__(self, dist: Path, prefix: str):
        self.server = SiteProcess(dist, prefix, "bench.serve")
        self.has_snapshot = prefix == "/" and any(dist.glob("assets/snapshot.*.js"))
        self.start_page = self.server.url
        self.recipe_page = f"{self.server.url}{LOAF_PAGE}"
        everything = card_link(**BATCH, **KITCHEN)
        known = expected(link=everything, confirmed_packs=[KITCHEN["pack"]])
        self.card = Place(f"{self.recipe_page}#{everything}", card_is(expected_weights(known)))
        shared = recipe_link(**BATCH)
        self.shared = Place(
            f"{self.recipe_page}#{shared}", card_is(expected_weights(expected(link=shared)))
        )

    def make_ready(self, engine: Engine) -> None:
        """What a cook has done before: visited, waited until it is ready for offline, come back,
        and said once that the pack is the one in the link. At rest after that, the device makes
        its snapshot."""
        engine.goto(self.recipe_page)
        engine.wait_for("document.documentElement.dataset.offline === 'ready'", PATIENCE_S)
        engine.goto("about:blank")
        engine.goto(self.card.url)
        engine.wait_for("document.querySelector('[data-confirm-pack]') !== null", PATIENCE_S)
        engine.click("[data-confirm-pack]")
        engine.wait_for(self.card.there, PATIENCE_S)
        if self.has_snapshot:
            engine.wait_for("document.documentElement.dataset.picture === 'made'", PATIENCE_S)
        else:
            time.sleep(REST_S)  # what was said has to be on the device

    def warm_ms(self, engine: Engine) -> float:
        """A warm start with the server gone [ms]. Raises RuntimeError where it did not begin from
        the snapshot although there is one, or the other way round."""
        engine.goto("about:blank")
        self.server.stop()
        try:
            taken = painted_ms(engine, self.card)
            restored = engine.evaluate("document.documentElement.dataset.started") == "restored"
        finally:
            self.server.start()
        if restored != self.has_snapshot:
            how = "restored" if restored else "an ordinary one"
            raise RuntimeError(f"{engine.name}: this start was {how}.")
        return taken


class Stock:
    """The page with the stock runtime on a server of its own."""

    def __init__(self, folder: Path):
        self.server = SiteProcess(make_stock(folder), module="bench.serve")
        self.page = Place(
            self.server.url, f"document.querySelectorAll('tbody tr').length === {STOCK_ROWS}"
        )

    def visit_ms(self, engine: Engine) -> float:
        """A visit, on a revisit with the browser's own cache [ms]."""
        engine.goto("about:blank")
        return painted_ms(engine, self.page)
