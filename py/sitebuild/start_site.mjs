// The runtime that a built site ships, started under Node with its recipes at hand.

import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

export async function startSite(dist) {
  const at = (path) => join(dist, path);
  // The same list of parts that the page's worker reads: it cannot differ from what ships.
  const list = readdirSync(at("assets")).filter((name) => /^runtime\.[0-9a-f]+\.js$/.test(name));
  if (list.length !== 1) throw new Error(`Not one assets/runtime.<hash>.js in ${dist}: ${list}`);
  const source = readFileSync(at(join("assets", list[0])), "utf8");
  const { RUNTIME } = await import(`data:text/javascript,${encodeURIComponent(source)}`);
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
  return { python, curebatch };
}
