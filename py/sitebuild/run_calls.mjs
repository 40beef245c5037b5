// Starts the runtime that a built site ships, under Node, and lets it work.
//   node run_calls.mjs DIST CALLS.json RESULTS.json
// A call is {"call": "answer", "with": "<JSON text>"}: an entry of curebatch and what it is given.

import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

// Left alone, Node would quote the line it failed in, and Pyodide's are a megabyte long.
process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).trim());
  process.exitCode = 1;
});

const [dist, calls, results] = process.argv.slice(2).map((path) => resolve(path));

// The same list of parts that the page's worker reads: it cannot differ from what ships.
const list = readdirSync(join(dist, "assets")).filter((name) => /^runtime\.[0-9a-f]+\.js$/.test(name));
if (list.length !== 1) throw new Error(`Not one assets/runtime.<hash>.js in ${dist}: ${list}`);
const source = readFileSync(join(dist, "assets", list[0]), "utf8");
const { RUNTIME } = await import(`data:text/javascript,${encodeURIComponent(source)}`);

const at = (path) => join(dist, path);
globalThis.pythonRest = () => Uint8Array.from(readFileSync(at(RUNTIME.rest))); // see way_back.py
const { loadPyodide } = await import(pathToFileURL(at(RUNTIME.mjs)));
const python = await loadPyodide({
  indexURL: at(RUNTIME.indexURL),
  stdLibURL: at(RUNTIME.stdlib),
  lockFileURL: at(RUNTIME.lock),
  packages: RUNTIME.packages,
  stdout: () => {},
});
const curebatch = python.pyimport("curebatch");
curebatch.start(readFileSync(at(RUNTIME.shelf), "utf8"));

const answers = JSON.parse(readFileSync(calls, "utf8")).map((call) => {
  try {
    return { text: call.with === undefined ? curebatch[call.call]() : curebatch[call.call](call.with) };
  } catch (error) {
    const trace = String(error.message ?? error).trim();
    return { error: trace.split("\n").at(-1), trace };
  }
});
writeFileSync(results, JSON.stringify(answers));
