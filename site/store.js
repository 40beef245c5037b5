// What this device remembers: one versioned document in IndexedDB. The database's name carries
// the path of the site, because storage belongs to the origin and one origin may serve two copies.
// Storage may be refused (private windows, frames, full disks, policies): then the same document
// lives in memory until the page is left, and nobody is bothered with it.

const VERSION = 1;
// Some browsers never answer an open, and the card must not wait for ever. A busy phone takes long.
const PATIENCE_MS = 6000;

const fresh = () => ({ version: VERSION, kitchen: {}, confirmed: [], drafts: {} });

const settled = (request) => new Promise((done, failed) => {
  request.onsuccess = () => done(request.result);
  request.onerror = () => failed(request.error);
});

const patient = (promise) => Promise.race([
  promise,
  new Promise((_, failed) => setTimeout(() => failed(new Error("storage gives no answer")), PATIENCE_MS)),
]);

function open(path) {
  const request = indexedDB.open(`curebatch ${path}`, 1);
  request.onupgradeneeded = () => request.result.createObjectStore("documents");
  return patient(settled(request).then((database) => {
    // Another tab with a newer page may want to change the database: never stand in its way.
    database.onversionchange = () => database.close();
    return database;
  }));
}

// A document from an older page is read, one from a newer page is not understood and left alone.
function understood(found) {
  if (found === undefined) return fresh();
  if (found?.version !== VERSION) throw new Error("the stored document is of another version");
  return { ...fresh(), ...found };
}

export function openStore(path) {
  let memory = fresh();
  let refused = false;
  const database = Promise.resolve().then(() => open(path));
  database.catch(() => { refused = true; });

  // Read and write in one transaction, so that two tabs do not undo each other's changes.
  async function exchange(change) {
    if (!refused) {
      try {
        const transaction = (await database).transaction("documents", change ? "readwrite" : "readonly");
        const documents = transaction.objectStore("documents");
        const found = understood(await patient(settled(documents.get("device"))));
        if (change) {
          change(found);
          await patient(settled(documents.put(found, "device")));
        }
        memory = found;
        return structuredClone(memory);
      } catch {
        refused = true;
      }
    }
    if (change) change(memory);
    return structuredClone(memory);
  }

  return {
    read: () => exchange(null),
    update: (change) => exchange(change),
    // Nothing outlives the page: whoever counts on it has to say so.
    get refused() { return refused; },
  };
}
