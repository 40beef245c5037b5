// The worker that Python runs in. Where the address carries input Python is wanted at once: then it is
// started from here, before the page's own script has come, and handed over to it.

const WORKER = new URL("./worker.js", import.meta.url).href;

// What it is made of is asked for along with it: found one in the other, the last would be fetched third.
const PARTS = [
  new URL("./runtime.js", import.meta.url),
  new URL("./python.js", import.meta.url),
  new URL("./wayback.js", import.meta.url),
  new URL("./snapshot.js", import.meta.url),
].map(String);

// purpose: as worker.js knows it. Started from a blob: so that it inherits the page's content policy
// (one loaded by its own address does not).
export function openWorker(purpose = "") {
  // Imported when it runs: what a blob: worker imports at its head, one browser fetches past the
  // service worker, and then there is no start without a network.
  const source = new Blob([
    `for (const part of ${JSON.stringify(PARTS)}) import(part).catch(() => {});\n`,
    `import(${JSON.stringify(WORKER)}).catch((error) => postMessage(JSON.stringify({ error: "network", detail: String(error) })));\n`,
  ], { type: "text/javascript" });
  // From the device's own copy nothing need be counted on its way; see worker.js.
  const from = navigator.serviceWorker?.controller ? "kept" : "fetched";
  return new Worker(URL.createObjectURL(source), { type: "module", name: `${from} ${purpose}`.trim() });
}

let begun = null; // {worker, told}: what it told before anyone listened
const listening = new AbortController();

if (document.documentElement.dataset.awaiting !== undefined) {
  try {
    begun = { worker: openWorker(), told: [] };
    for (const kind of ["message", "error"]) {
      begun.worker.addEventListener(kind, (event) => {
        event.preventDefault();
        begun.told.push(event);
      }, { signal: listening.signal });
    }
  } catch {
    // The page tries once more, and tells.
  }
}

// The one that was begun, or else a new one: {worker, told}, the events that nobody has heard yet.
export function takeWorker() {
  listening.abort();
  const taken = begun ?? { worker: openWorker(), told: [] };
  begun = null;
  return taken;
}
