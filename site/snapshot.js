// A picture of Python's memory, made on this device and restored at the next start in a fraction of
// the time. It rests on a private part of the runtime, so it can be left out: without this file,
// the three lines of worker.js and the one of begin.js that name it, every start is an ordinary one.
//
// It is made in a worker of its own, in an idle moment, before anything was typed there. It counts
// only with this very build's id and its own SHA-256, and only after it has worked out a card that
// the build knows; at the first doubt it is thrown away. It is not used where other sites may lie
// on the same origin, since they could write to the same storage.

import { RUNTIME } from "./runtime.js";
import { at, compileAhead, fetchPackages, putPackages, settings, sitePath, startPython } from "./python.js";

const NAME = `curebatch ${sitePath} snapshot`;
const STORE = "snapshots";
const KEY = "start";

export const allowed = () => sitePath === "/" && globalThis.isSecureContext && "indexedDB" in globalThis;

const settled = (request) => new Promise((done, failed) => {
  request.onsuccess = () => done(request.result);
  request.onerror = () => failed(request.error);
  request.onblocked = () => failed(new Error("blocked"));
});

async function withStore(mode, work) {
  const request = indexedDB.open(NAME, 1);
  request.onupgradeneeded = () => request.result.createObjectStore(STORE);
  const database = await settled(request);
  database.onversionchange = () => database.close();
  try {
    const transaction = database.transaction(STORE, mode);
    // A write is there when its transaction is through, not when its request is.
    const through = new Promise((done, failed) => {
      transaction.oncomplete = () => done();
      transaction.onabort = () => failed(transaction.error ?? new Error("aborted"));
    });
    const result = await settled(work(transaction.objectStore(STORE)));
    await through;
    return result;
  } finally {
    database.close();
  }
}

async function digest(data) {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", data));
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

// A good third of the memory is empty pages. They are left out of what is kept, so that there is
// less to read and to check: [length, number of pages, their places], then the pages end to end.
const PAGE = 65_536;

function packed(memory) {
  const cells = new Uint32Array(memory.buffer, memory.byteOffset, memory.byteLength >> 2);
  const each = PAGE >> 2;
  const places = [];
  for (let start = 0; start < cells.length; start += each) {
    if (cells.subarray(start, start + each).some((cell) => cell !== 0)) places.push(start / each);
  }
  const head = [memory.byteLength, places.length, ...places];
  const all = new Uint8Array(head.length * 4 + places.length * PAGE);
  new Uint32Array(all.buffer, 0, head.length).set(head);
  places.forEach((place, number) => {
    all.set(memory.subarray(place * PAGE, (place + 1) * PAGE), head.length * 4 + number * PAGE);
  });
  return all.buffer;
}

function unpacked(kept) {
  const [length, count] = new Uint32Array(kept, 0, 2);
  const places = new Uint32Array(kept, 8, count);
  const pages = new Uint8Array(kept, 8 + 4 * count);
  const memory = new Uint8Array(length);
  // Pages that lie beside each other are laid in one go.
  for (let from = 0; from < count;) {
    let to = from + 1;
    while (to < count && places[to] === places[to - 1] + 1) to += 1;
    memory.set(pages.subarray(from * PAGE, to * PAGE), places[from] * PAGE);
    from = to;
  }
  return memory;
}

export const forget = () => withStore("readwrite", (store) => store.delete(KEY)).catch(() => {});

const isThere = async () => (await withStore("readonly", (store) => store.count(KEY))) > 0;

async function read() {
  const kept = await withStore("readonly", (store) => store.get(KEY));
  if (kept?.build !== RUNTIME.build || !(kept.memory instanceof ArrayBuffer)) throw new Error("of another build");
  if ((await digest(kept.memory)) !== kept.sha256) throw new Error("altered");
  return unpacked(kept.memory);
}

// What Python holds of JavaScript when it has started, in the order of its coming. The runtime counts on
// its loop of events in between, which no start of ours runs.
function holds(api) {
  const all = api.getExpectedKeys;
  api.getExpectedKeys = () => {
    const [none, globals, runtime] = all();
    return [none, globals, runtime, {}]; // the last: what packages were loaded
  };
}

// Whether what was restored works out the card that this build is known to give.
async function proved(curebatch) {
  const answer = curebatch.answer(RUNTIME.proof.request);
  return (await digest(new TextEncoder().encode(answer))) === RUNTIME.proof.sha256;
}

// Python as it was, or null: then the start is an ordinary one.
export async function restore(enter) {
  if (!allowed()) return null;
  let program = null;
  try {
    if (!(await isThere())) return null;
    enter("restoring");
    // The program is compiled and set up while the memory is read, and not after it.
    const reading = read();
    reading.catch(() => {}); // told below
    program = compileAhead();
    const packages = fetchPackages();
    const [{ loadPyodide }, { default: create }] = await program.scripts();
    const starting = loadPyodide({
      ...settings(),
      _loadSnapshot: new Uint8Array(), // that there is one; what is in it comes below
      createPyodideModule: async (module) => {
        const made = await create(module);
        enter("program");
        const memory = await reading;
        // The heap is made large enough first: a picture larger than its start would not fit.
        made.growMemory(memory.length);
        const { restoreSnapshot } = made.API;
        holds(made.API);
        made.API.restoreSnapshot = () => restoreSnapshot(memory);
        return made;
      },
    });
    const python = await Promise.race([starting, program.failed]);
    enter("packages");
    await putPackages(python, packages);
    const curebatch = python.pyimport("curebatch");
    enter("proving");
    if (!(await proved(curebatch))) throw new Error("not proved");
    return { python, curebatch };
  } catch (error) {
    console.info(`snapshot: ${error?.message ?? error}; an ordinary start follows`);
    await forget();
    return null;
  } finally {
    program?.end();
  }
}

// Makes the picture and keeps it; gives whether there is one now.
export async function make() {
  if (!allowed()) return false;
  const { python, curebatch } = await startPython(() => {}, { _makeSnapshot: true });
  // Nobody waits here: what was worked out when the site was built is held against pint first.
  curebatch.prove();
  // Everything that will ever be loaded or read must have been: there are no files in the picture.
  for (const request of RUNTIME.proof.warm) curebatch.answer(request);
  for (const request of RUNTIME.proof.draw) curebatch.draw(request);
  if (!(await proved(curebatch))) throw new Error("not proved");
  curebatch.sweep();
  curebatch.destroy();
  holds(python._api);
  const memory = packed(python.makeMemorySnapshot());
  const record = { build: RUNTIME.build, sha256: await digest(memory), memory };
  await withStore("readwrite", (store) => store.put(record, KEY));
  return true;
}
