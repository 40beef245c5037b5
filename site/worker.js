// Python, off the page's thread. Starts the runtime that this build pins, puts our own packages
// in, then answers requests: JSON text in, JSON text out. No quantity is looked at here.

import { RUNTIME } from "./runtime.js";

const ROOT = new URL("../", import.meta.url); // this file lies in assets/, one step below the root
const at = (path) => new URL(path, ROOT).href;
const post = (message) => postMessage(JSON.stringify(message));

let stage = "script";
let loaded = 0;

function enter(name) {
  stage = name;
  post({ stage });
}

function fail(kind, detail) {
  post({ error: kind, detail: `${stage}: ${detail}` });
}

// The runtime fetches its parts itself and, where one is blocked or carries a wrong type, waits
// for ever. So its fetch is watched: bytes are counted, failures reported, and WebAssembly that
// a simple server sends with another type gets the right one.
const plainFetch = globalThis.fetch.bind(globalThis);

globalThis.fetch = async (...what) => {
  const address = String(what[0]?.url ?? what[0]);
  let response;
  try {
    response = await plainFetch(...what);
  } catch (error) {
    fail("network", `${address}: ${error.message}`);
    throw error;
  }
  if (!response.ok) {
    fail("network", `${address}: status ${response.status}`);
    return response;
  }
  // As it comes from the device's own copy, type and all: an untouched response is what lets the
  // browser keep the compiled program beside it.
  if (self.name === "kept") return response;
  const headers = new Headers(response.headers);
  if (new URL(address, ROOT).pathname.endsWith(".wasm")) headers.set("content-type", "application/wasm");
  let reported = 0;
  const counted = response.body.pipeThrough(new TransformStream({
    transform(chunk, controller) {
      loaded += chunk.byteLength;
      controller.enqueue(chunk);
      const now = performance.now();
      if (now - reported > 200) {
        reported = now;
        post({ stage, progress: { loaded, total: RUNTIME.bytes ?? null } });
      }
    },
  }));
  return new Response(counted, { status: response.status, statusText: response.statusText, headers });
};

async function start() {
  enter("runtime");
  // Asked for at once, so that it comes down beside the runtime.
  const shelf = fetch(at(RUNTIME.shelf)).then((response) => response.text());
  shelf.catch(() => {}); // told by the watched fetch; unheard here it would be told twice
  const { loadPyodide } = await import(at(RUNTIME.mjs));
  enter("python");
  const python = await loadPyodide({
    indexURL: at(RUNTIME.indexURL),
    stdLibURL: at(RUNTIME.stdlib),
    lockFileURL: at(RUNTIME.lock),
    packages: RUNTIME.packages,
    stdout: () => {},
    stderr: (line) => console.warn(line),
  });
  enter("code");
  // A package that did not load is only logged by the runtime: the import finds it out.
  const curebatch = python.pyimport("curebatch");
  enter("shelf");
  curebatch.start(await shelf);
  return curebatch;
}

let curebatch = null;

addEventListener("message", (event) => {
  const { id, draw } = JSON.parse(event.data);
  try {
    post({ id, answer: draw ? curebatch.draw(JSON.stringify(draw)) : curebatch.answer(event.data) });
  } catch (error) {
    post({ id, detail: String(error?.message ?? error) });
  }
});

try {
  curebatch = await start();
  enter("ready");
} catch (error) {
  fail(stage === "runtime" ? "network" : "python", String(error?.message ?? error));
}
