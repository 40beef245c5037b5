// The way to Python and back: JSON text, both ways.
// One request is on its way at a time; of those that come meanwhile only the newest waits.

import { openWorker, takeWorker } from "./begin.js";
import { afterAwake } from "./clock.js";
import { mendCopy } from "./copy.js";

const SLOW_MS = 8_000;
const BROKEN_MS = 60_000;

// tell: {stage(name, progress), slow(), ready(restored), answer(id, text), failed(id), broken(kind)}
export function openBridge(tell) {
  const stages = []; // [{name, ms}], for whoever measures
  let worker = null;
  let state = "closed"; // closed, starting, ready, broken
  let inFlight = null;
  let waiting = null;
  let stopWaiting = () => {};
  let answered = false; // since the worker was started
  let mended = false;
  let startedAt = 0;
  let pictureWanted = false;
  let restored = false;
  const drawings = []; // [{request, done, failed}], pages to be drawn before anything is asked

  // Some failures of the runtime never settle: silence itself must be noticed.
  function listen() {
    hush();
    if (state !== "starting" && inFlight === null) return;
    const stops = [afterAwake(SLOW_MS, () => tell.slow()), afterAwake(BROKEN_MS, () => fail("silence"))];
    stopWaiting = () => { for (const stop of stops) stop(); };
  }

  const hush = () => stopWaiting();

  // A worker that has answered and then died is started anew, and what was asked is asked again. If
  // the new one dies of it as well, that is the end.
  function fail(kind, detail) {
    if (state === "starting" && !mended) return mendAndStart(kind, detail);
    if (state !== "ready" || !answered) return breakDown(kind, detail);
    console.warn(`again: ${kind}: ${detail ?? ""}`);
    hush();
    worker.terminate();
    if (waiting === null && inFlight?.id !== "drawing") waiting = inFlight;
    inFlight = null;
    answered = false;
    state = "closed";
    start();
  }

  // What does not start from the device's own copy may start from one that was mended.
  async function mendAndStart(kind, detail) {
    mended = true;
    hush();
    worker?.terminate();
    const whole = await mendCopy().catch(() => false);
    if (!whole) return breakDown(kind, detail);
    console.warn(`mended: ${kind}: ${detail ?? ""}`);
    state = "closed";
    start();
  }

  function breakDown(kind, detail) {
    if (state === "broken") return;
    state = "broken";
    hush();
    worker?.terminate();
    inFlight = null;
    waiting = null;
    for (const { failed } of drawings.splice(0)) failed(new Error(kind));
    if (detail) console.warn(`start: ${kind}: ${detail}`);
    tell.broken(kind);
  }

  function next() {
    if (state !== "ready" || inFlight !== null) return;
    if (drawings.length) {
      inFlight = { id: "drawing", draw: drawings[0].request };
      worker.postMessage(JSON.stringify(inFlight));
      return listen();
    }
    if (waiting === null) return;
    inFlight = waiting;
    waiting = null;
    worker.postMessage(JSON.stringify(inFlight));
    listen();
  }

  function hear(event) {
    if (state === "broken" || event.target !== worker) return;
    const message = JSON.parse(event.data);
    if (message.error !== undefined) return fail(message.error, message.detail);
    if (message.stage !== undefined) {
      const ms = Math.round(performance.now() - startedAt);
      if (stages.at(-1)?.name !== message.stage) {
        stages.push({ name: message.stage, ms });
        performance.mark(`start ${message.stage}`);
      }
      if (message.stage === "ready") {
        state = "ready";
        hush();
        // Asked for where the next start would otherwise be an ordinary one again.
        pictureWanted = message.picture && !message.restored;
        restored = message.restored;
        tell.ready(message.restored);
        next();
      } else {
        tell.stage(message.stage, message.progress ?? null);
        listen();
      }
      return;
    }
    if (message.id !== inFlight?.id) return; // not what is being waited for
    inFlight = null;
    answered = true;
    hush();
    if (message.id === "drawing") {
      const { done, failed } = drawings.shift();
      if (message.answer !== undefined) done(message.answer);
      else failed(new Error(message.detail));
      return next();
    }
    // What is newer has the floor: an answer that has been overtaken is dropped.
    if (waiting === null) {
      if (message.answer !== undefined) tell.answer(message.id, message.answer);
      else tell.failed(message.id, message.detail);
    }
    next();
  }

  function hearError(event) {
    event.preventDefault();
    if (event.target === worker) fail(state === "starting" ? "network" : "python", event.message);
  }

  function start() {
    if (state !== "closed") return;
    state = "starting";
    startedAt = performance.now();
    tell.stage("script", null);
    listen();
    try {
      const taken = takeWorker();
      worker = taken.worker;
      worker.addEventListener("message", hear);
      worker.addEventListener("error", hearError);
      for (const event of taken.told) (event.type === "error" ? hearError : hear)(event);
    } catch (error) {
      breakDown("worker", String(error));
    }
  }

  // Makes the next start a short one, in a worker of its own that has seen no input.
  function takePicture() {
    if (!pictureWanted) return Promise.resolve(false);
    pictureWanted = false;
    return new Promise((done) => {
      const maker = openWorker("picture");
      const end = (made) => {
        maker.terminate();
        done(made);
      };
      maker.addEventListener("message", (event) => {
        const { picture } = JSON.parse(event.data);
        if (picture !== undefined) end(picture);
      });
      maker.addEventListener("error", (event) => {
        event.preventDefault();
        end(false);
      });
    });
  }

  return {
    start,
    ask(request) {
      if (state === "broken") return;
      start();
      waiting = request;
      next();
    },
    draw(request) {
      if (state === "broken") return Promise.reject(new Error("broken"));
      return new Promise((done, failed) => {
        drawings.push({ request, done, failed });
        start();
        next();
      });
    },
    // Input has changed and its request is not made yet: what waits is out of date.
    overtake() { waiting = null; },
    get broken() { return state === "broken"; },
    get ready() { return state === "ready"; },
    get restored() { return restored; },
    get started() { return state !== "closed"; },
    takePicture,
    stages,
  };
}
