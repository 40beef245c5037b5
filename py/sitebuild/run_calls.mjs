// Starts the runtime that a built site ships, under Node, and lets it work.
//   node run_calls.mjs DIST
// Each line that comes in is a list of calls, each that goes out their results, as JSON. A call is
// {"call": "answer", "with": "<JSON text>"}: an entry of curebatch and what it is given.

import { resolve } from "node:path";
import { createInterface } from "node:readline";
import { startSite } from "./start_site.mjs";

// Left alone, Node would quote the line it failed in, and Pyodide's are a megabyte long.
process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).trim());
  process.exit(1);
});

const { python } = await startSite(resolve(process.argv[2]));
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

for await (const line of createInterface({ input: process.stdin })) {
  process.stdout.write(`[${JSON.parse(line).map(answer).join(",")}]\n`);
}
