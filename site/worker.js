// Python, off the page's thread. Starts the runtime that this build pins, puts our own packages
// in, then answers requests: JSON text in, JSON text out. No quantity is looked at here.

import { RUNTIME } from "./runtime.js";
import { at, startPython } from "./python.js";
import * as snapshot from "./snapshot.js";

// What the page started this worker for: "kept" and "fetched" answer requests, from the device's own
// copy or from the network; "picture" makes a snapshot of a start, and nothing else.
const [source, picture] = self.name.split(" ");

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
  // From the device's own copy nothing need be counted. An untouched response is what lets the browser
  // keep the compiled program beside it.
  if (source === "fetched") count(response.clone());
  const type = response.headers.get("content-type");
  if (!new URL(address, at("")).pathname.endsWith(".wasm") || type === "application/wasm") return response;
  const headers = new Headers(response.headers);
  headers.set("content-type", "application/wasm");
  return new Response(response.body, { status: response.status, statusText: response.statusText, headers });
};

let reported = 0;

async function count(response) {
  try {
    const reader = response.body.getReader();
    for (let part = await reader.read(); !part.done; part = await reader.read()) {
      loaded += part.value.byteLength;
      const now = performance.now();
      if (now - reported < 200) continue;
      reported = now;
      post({ stage, progress: { loaded, total: RUNTIME.bytes ?? null } });
    }
  } catch {
    // Told where it is read in earnest.
  }
}

// The runtime fetches some parts for later; that one of them failed was told where it was fetched.
addEventListener("unhandledrejection", (event) => event.preventDefault());

let curebatch = null;

const REST_MS = 2_000;
const MANY = 20; // answers, after which Python is to put away what they left
let answers = 0;
let restTimer = 0;

function restAfterwards() {
  answers += 1;
  clearTimeout(restTimer);
  restTimer = setTimeout(() => {
    if (answers < MANY) return;
    answers = 0;
    curebatch.sweep();
  }, REST_MS);
}

addEventListener("message", (event) => {
  const { id, draw } = JSON.parse(event.data);
  try {
    post({ id, answer: draw ? curebatch.draw(JSON.stringify(draw)) : curebatch.answer(event.data) });
  } catch (error) {
    // What Python itself did not raise has left it unusable: then there is no next answer either.
    if (error?.name === "PythonError") post({ id, detail: String(error.message) });
    else fail("python", String(error?.message ?? error));
  }
  restAfterwards();
});

if (picture) {
  // Nobody waits for it, and without it a start only takes longer.
  const made = await snapshot.make().catch((error) => {
    console.info(`snapshot: none was made: ${error?.message ?? error}`);
    return false;
  });
  post({ picture: made });
} else {
  try {
    const restored = await snapshot.restore(enter);
    ({ curebatch } = restored ?? (await startPython(enter)));
    curebatch.sweep_later();
    stage = "ready";
    post({ stage, restored: restored !== null, picture: snapshot.allowed() });
  } catch (error) {
    fail(stage === "runtime" ? "network" : "python", String(error?.message ?? error));
  }
}
