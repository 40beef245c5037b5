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
const { curebatch } = await startSite(dist);

const answers = JSON.parse(readFileSync(calls, "utf8")).map((call) => {
  try {
    return { text: call.with === undefined ? curebatch[call.call]() : curebatch[call.call](call.with) };
  } catch (error) {
    const trace = String(error.message ?? error).trim();
    return { error: trace.split("\n").at(-1), trace };
  }
});
writeFileSync(results, JSON.stringify(answers));
