// Starts the runtime that a built site ships, under Node, and lets it work.
//   node run_calls.mjs DIST JOB.json RESULTS.json
// The job: {count, parts: [[call]]}. A call is {"call": "answer", "with": "<JSON text>"}: an entry of
// curebatch and what it is given; with "into" its text goes into that file. The results stand in one list,
// in the order of the calls. With a count over one there are as many runtimes, each in a thread of its own:
// they share the compiled program. Each takes the next part when it has done its last, so neither long calls
// nor a slower core is waited for.

import { readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";
import { Worker, isMainThread, parentPort, workerData } from "node:worker_threads";
import { startSite } from "./start_site.mjs";

// Left alone, Node would quote the line it failed in, and Pyodide's are a megabyte long.
process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).trim());
  process.exit(1);
});

const SWEEP_EACH = 200; // calls: until then what they leave is little, and to look for it takes long

// A runtime that is started: gives each call's result as JSON.
async function opened(dist) {
  const { python } = await startSite(dist);
  // As JSON from Python, thus ASCII: anything else Pyodide hands over sign by sign, as a chain of them that fills the memory.
  const [call, bytes] = python.runPython(`
import json
import curebatch

[
    lambda name, *given: json.dumps({"text": getattr(curebatch, name)(*given)}),
    lambda name, *given: getattr(curebatch, name)(*given).encode(),
]
`);
  // Straight from Python's memory into the file.
  const write = (file, ...given) => {
    const text = bytes(...given);
    const held = text.getBuffer("u8");
    writeFileSync(file, held.data);
    held.release();
    text.destroy();
  };
  call("sweep_later");
  let made = 0;
  return (wanted) => {
    made += 1;
    if (made % SWEEP_EACH === 0) call("sweep");
    const given = wanted.with === undefined ? [wanted.call] : [wanted.call, wanted.with];
    try {
      if (wanted.into === undefined) return call(...given);
      write(wanted.into, ...given);
      return "{}";
    } catch (error) {
      const trace = String(error.message ?? error).trim();
      return JSON.stringify({ error: trace.split("\n").at(-1), trace });
    }
  };
}

async function sharedOut(dist, parts, count) {
  const done = [];
  let next = 0;
  const work = () => new Promise((ended, failed) => {
    const thread = new Worker(new URL(import.meta.url), { workerData: dist });
    thread.on("error", failed);
    thread.on("message", ({ number, results }) => {
      if (results) done[number] = results;
      if (next === parts.length) return thread.terminate().then(ended);
      thread.postMessage({ number: next, part: parts[next] });
      next += 1;
    });
  });
  await Promise.all(Array.from({ length: count }, work));
  return done;
}

if (isMainThread) {
  const [dist, job, results] = process.argv.slice(2).map((path) => resolve(path));
  const { count, parts } = JSON.parse(readFileSync(job, "utf8"));
  let done;
  if (count > 1) done = await sharedOut(dist, parts, count);
  else {
    const result = await opened(dist);
    done = parts.map((part) => part.map(result));
  }
  writeFileSync(results, `[${done.flat().join(",")}]`);
} else {
  const result = await opened(workerData);
  parentPort.on("message", ({ number, part }) => parentPort.postMessage({ number, results: part.map(result) }));
  parentPort.postMessage({}); // ready for the first part
}
