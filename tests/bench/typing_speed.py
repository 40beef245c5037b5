"""From an input event to the painted weights and verdict, over some hundred changes."""

from __future__ import annotations

import json
from pathlib import Path

from engines.drivers import Engine, open_engine
from helpers.card_page import expected, expected_weights

from .places import KITCHEN, Ours, card_is
from .slow_core import bound, slowed

SLOW = 4.0
BATCHES = 40  # different batch sizes, so that nothing can be answered from memory alone
PART = 20  # changes at a time: a driver does not wait for one answer for minutes

# A change of the batch size as the form hears it, then the wait until the old card's mark is gone.
# The frame that follows paints; the task after it is the first moment to know that. "Two frames"
# is the begin of the frame after: what a page can measure by frames alone.
_CHANGES = """(async () => {
  const field = document.getElementById("f-meat");
  const card = document.querySelector("[data-card]");
  const pause = (ms) => new Promise((done) => setTimeout(done, ms));
  const change = (text) => new Promise((done) => {
    const watcher = new MutationObserver(() => {
      if (card.hasAttribute("data-stale")) return;
      watcher.disconnect();
      const laid = performance.now();
      requestAnimationFrame(() => {
        const channel = new MessageChannel();
        let painted = 0;
        channel.port1.onmessage = () => { painted = performance.now(); };
        channel.port2.postMessage(null);
        requestAnimationFrame(() => {
          const now = performance.now();
          // A busy core may begin the next frame before the task.
          done([laid - begun, (painted || now) - begun, now - begun]);
        });
      });
    });
    watcher.observe(card, { attributes: true, attributeFilter: ["data-stale"] });
    const begun = performance.now();
    field.value = text;
    field.dispatchEvent(new InputEvent("input", { bubbles: true }));
  });
  const times = [];
  for (const text of TEXTS) {
    times.push(await change(text));
    // Uneven, so that it is not always the same part of a frame that is met.
    await pause(60 + Math.random() * 100);
  }
  return times;
})()"""


def changes(engine: Engine, ours: Ours, count: int) -> dict[str, list[float]]:
    """Make `count` changes on the open card and time each.

    Returns {"laid out": ..., "painted": ..., "two frames": ...} [ms from the event]. Raises
    RuntimeError where the last card is not the right one: then nothing was measured.
    """
    sizes = [f"{2 + step * 0.1:.1f} kg" for step in range(BATCHES)]
    texts = [sizes[step % BATCHES] for step in range(count)]
    link = ours.card.url.partition("#")[2]
    rows: list[list[float]] = []
    for start in range(0, count, PART):
        rows += engine.evaluate(_CHANGES.replace("TEXTS", json.dumps(texts[start : start + PART])))
    last = expected(
        link=link, confirmed_packs=[KITCHEN["pack"]], fields={"meat": texts[count - 1]}
    )
    if not engine.evaluate(card_is(expected_weights(last))):
        raise RuntimeError(f"{engine.name}: the card for {texts[count - 1]} is not the right one.")
    columns = [list(column) for column in zip(*rows, strict=True)]
    return dict(zip(("laid out", "painted", "two frames"), columns, strict=True))


def at_speed(name: str, ours: Ours, profile: Path, count: int) -> dict[str, list[float]]:
    """The times of changes in one engine with the machine as it is."""
    with open_engine(name, profile) as engine:
        ours.make_ready(engine)
        return changes(engine, ours, count)


def slow(name: str, ours: Ours, profile: Path, count: int) -> tuple[float, dict[str, list[float]]]:
    """The same with the core slowed; returns the factor that was reached as well."""
    with bound(), open_engine(name, profile) as engine:
        ours.make_ready(engine)
        with slowed(engine, SLOW) as reached:
            return reached, changes(engine, ours, count)
