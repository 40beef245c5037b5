"""One Python that is kept warm for the pages of many tests.

To start Python takes seconds of the machine, and most tests are about a page that has one. So it is
started once, in the browser, from the built site's own worker, and every page that would start a worker
is connected to it: the same requests, the same answers, by the same program. What a start itself does
(its stages, its faults, its copy on the device) is for tests that are marked `cold_start`.
"""

from __future__ import annotations

import json

from playwright.sync_api import BrowserContext, Error, Page

# Takes the place of the browser's own Worker in a page of this site, for the page's Python alone.
CONNECT = """
(() => {
  if (!location.href.startsWith(SITE)) return;
  const RealWorker = globalThis.Worker;
  const connected = new Map();
  let number = 0;
  class Connected extends EventTarget {
    #key = `${performance.timeOrigin} ${Math.random()} ${++number}`;
    constructor() {
      super();
      connected.set(this.#key, this);
      askWarmPython(this.#key, null);
    }
    postMessage(text) { askWarmPython(this.#key, text); }
    terminate() { connected.delete(this.#key); }
  }
  globalThis.Worker = class {
    constructor(address, options) {
      return options?.name === "fetched" ? new Connected() : new RealWorker(address, options);
    }
  };
  Object.defineProperty(globalThis, "hearWarmPython", {
    value: (key, texts) => {
      for (const data of texts) connected.get(key)?.dispatchEvent(new MessageEvent("message", { data }));
    },
  });
})();
"""

HEAR = "([key, texts]) => globalThis.hearWarmPython?.(key, texts)"

# The page that keeps the worker. It tells what the worker says from its start until it is ready.
START = """
(address) => new Promise((ready, failed) => {
  const from = new Blob([`import(${JSON.stringify(address)});`], { type: "text/javascript" });
  const worker = new Worker(URL.createObjectURL(from), { type: "module", name: "fetched" });
  const told = [];
  const awaited = [];
  worker.onerror = (event) => failed(new Error(event.message));
  worker.onmessage = ({ data }) => {
    const message = JSON.parse(data);
    if (message.stage === undefined) return awaited.shift()(data);
    if (message.progress === undefined) told.push(data);
    if (message.stage === "ready") ready(told);
  };
  // It answers one after the other.
  globalThis.ask = (text) => new Promise((done) => { awaited.push(done); worker.postMessage(text); });
})
"""


class WarmPython:
    """The worker of one built site. `keeper` is a page that is there for nothing else."""

    def __init__(self, keeper: Page, site_url: str, worker: str) -> None:
        keeper.goto(f"{site_url}withdrawn.json")  # on the site, and with no script of its own
        self.keeper = keeper
        self.connecting = CONNECT.replace("SITE", json.dumps(site_url))
        self.start = keeper.evaluate(START, f"{site_url}{worker}")
        assert json.loads(self.start[-1])["stage"] == "ready"

    def connect(self, context: BrowserContext) -> None:
        """Every page of the site in this context has this Python for its worker."""
        context.expose_binding("askWarmPython", self._asked)
        context.add_init_script(self.connecting)

    def _asked(self, source: dict, key: str, text: str | None) -> None:
        said = self.start if text is None else [self.keeper.evaluate("text => ask(text)", text)]
        try:
            source["frame"].evaluate(HEAR, [key, said])
        except Error:
            pass  # the page that asked has gone meanwhile
