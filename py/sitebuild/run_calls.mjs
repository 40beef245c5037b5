// Starts the runtime that a built site ships, under Node, and lets it work.
//   node run_calls.mjs DIST CALLS.json RESULTS.json
// A call is {"call": "answer", "with": "<JSON text>"}: an entry of curebatch and what it is given.

import { readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";
import { startSite } from "./start_site.mjs";

// Left alone, Node would quote the line it failed in, and Pyodide's are a megabyte long.
process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).trim());
  process.exitCode = 1;
});

const [dist, calls, results] = process.argv.slice(2).map((path) => resolve(path));
const { python } = await startSite(dist);
// As JSON from Python, thus ASCII: anything else Pyodide hands over sign by sign, as a chain of them that fills the memory.
const call = python.runPython(`
import json
import curebatch

lambda name, *given: json.dumps({"text": getattr(curebatch, name)(*given)})
`);

function answer(wanted) {
  try {
    return wanted.with === undefined ? call(wanted.call) : call(wanted.call, wanted.with);
  } catch (error) {
    const trace = String(error.message ?? error).trim();
    return JSON.stringify({ error: trace.split("\n").at(-1), trace });
  }
}

const answers = JSON.parse(readFileSync(calls, "utf8")).map(answer);
writeFileSync(results, `[${answers.join(",")}]`);
