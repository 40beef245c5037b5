// Starts Python with our packages in it. The packages stay packed, as they came: Python reads them
// from the archive, and nothing is unpacked at a start.

import "./wayback.js";
import { RUNTIME } from "./runtime.js";

const ROOT = new URL("../", import.meta.url); // this file lies in assets/, one step below the root

export const at = (path) => new URL(path, ROOT).href;
export const sitePath = ROOT.pathname;

const place = (wheel) => `/lib/${wheel.split("/").at(-1)}`;

async function bytes(path) {
  // The name is made from the content, and the digest holds it to that.
  const response = await fetch(at(path), { integrity: RUNTIME.integrity[path] });
  if (!response.ok) throw new Error(`${path}: status ${response.status}`);
  return new Uint8Array(await response.arrayBuffer());
}

// enter(stage): told as the start goes on; more: further settings of the runtime's own.
// Gives {python, curebatch}, the latter with the recipes at hand.
export async function startPython(enter, more = {}) {
  enter("runtime");
  // All asked for at once, so that they come down beside the runtime.
  const shelf = fetch(at(RUNTIME.shelf)).then((response) => response.text());
  shelf.catch(() => {}); // told where it is awaited
  const packages = fetchPackages();
  const program = compileAhead();
  try {
    const [{ loadPyodide }] = await program.scripts();
    enter("python");
    // A program that cannot be compiled would be waited for without end.
    const python = await Promise.race([loadPyodide({ ...settings(), ...more }), program.failed]);
    enter("code");
    return await withPackages(python, packages, shelf, enter);
  } finally {
    program.end();
  }
}

async function withPackages(python, packages, shelf, enter) {
  for (const [path, wheel] of packages) python.FS.writeFile(place(path), await wheel);
  python.runPython(`import sys; sys.path[:0] = ${JSON.stringify(RUNTIME.wheels.map(place))}`);
  const curebatch = python.pyimport("curebatch");
  enter("shelf");
  curebatch.start(await shelf);
  return { python, curebatch };
}

// The program is fetched and compiled beside the runtime's scripts, which would begin with it last, and
// what they read first comes down meanwhile; each is handed to them when they ask. Nothing is fetched twice.
export function compileAhead() {
  const { fetch: plainFetch, WebAssembly: { instantiateStreaming } } = globalThis;
  const wasm = at(RUNTIME.wasm);
  const compiled = WebAssembly.compileStreaming(fetch(wasm));
  const ahead = new Map([RUNTIME.stdlib, RUNTIME.lock].map((path) => [at(path), fetch(at(path))]));
  ahead.set(wasm, Promise.resolve(new Response(null, { headers: { "content-type": "application/wasm" } })));
  globalThis.fetch = (what, ...more) => {
    const address = String(what?.url ?? what);
    const coming = ahead.get(address);
    ahead.delete(address);
    return coming ?? plainFetch(what, ...more);
  };
  WebAssembly.instantiateStreaming = async (ignored, imports) => {
    const module = await compiled;
    return { module, instance: await WebAssembly.instantiate(module, imports) };
  };
  const failed = compiled.then(() => new Promise(() => {}));
  for (const coming of [compiled, failed, ...ahead.values()]) coming.catch(() => {}); // told where they are awaited
  return {
    failed,
    scripts: () => Promise.all([import(at(RUNTIME.mjs)), import(at(`${RUNTIME.indexURL}pyodide.asm.mjs`))]),
    end() {
      globalThis.fetch = plainFetch;
      WebAssembly.instantiateStreaming = instantiateStreaming;
    },
  };
}

// The packages' files for a Python whose memory alone was restored: our own data first of all.
export async function putPackages(python, coming) {
  const put = async ([path, wheel]) => python.FS.writeFile(place(path), await wheel);
  const own = ([path]) => !path.startsWith(RUNTIME.indexURL);
  await Promise.all(coming.filter(own).map(put));
  Promise.all(coming.filter((each) => !own(each)).map(put)).catch(() => {}); // loaded long since
}

export const fetchPackages = () => RUNTIME.wheels.map((path) => {
  const coming = bytes(path);
  coming.catch(() => {}); // told where it is awaited
  return [path, coming];
});

export const settings = () => ({
  indexURL: at(RUNTIME.indexURL),
  stdLibURL: at(RUNTIME.stdlib),
  lockFileURL: at(RUNTIME.lock),
  stdout: () => {},
  stderr: (line) => console.warn(line),
});
