// What this device remembers: one versioned document in IndexedDB. The database's name carries
// the path of the site, because storage belongs to the origin and one origin may serve two copies.
// Storage may be refused (private windows, frames, full disks, policies): then the same document
// lives in memory until the page is left, and nobody is bothered with it. What could not be written
// is written with the next change that can be.

import { afterAwake } from "./clock.js";

const VERSION = 2;
// Some browsers never answer an open, and the card must not wait for ever. A busy phone takes long.
const PATIENCE_MS = 6000;
const LITTLE_PATIENCE_MS = 300; // with one that has let us wait already

// `kitchen` is the one at work, `kitchenName` what the cook calls it ("" as long as it has no name), `kitchens` are the others.
export const fresh = () => ({ version: VERSION, kitchen: {}, kitchenName: "", kitchens: {}, confirmed: [], drafts: {} });

// How a document of one version becomes one of the next; nothing in it is lost.
const RAISE = {
  1: (found) => ({ ...found, version: 2, kitchenName: "", kitchens: found.kitchens ?? {} }),
};

const settled = (request) => new Promise((done, failed) => {
  request.onsuccess = () => done(request.result);
  request.onerror = () => failed(request.error);
});

class Impatience extends Error {}

const patient = (promise, ms) => new Promise((done, failed) => {
  const stop = afterAwake(ms, () => failed(new Impatience("storage gives no answer")));
  promise.then(done, failed).finally(stop);
});

async function open(path) {
  const request = indexedDB.open(`curebatch ${path}`, 1);
  request.onupgradeneeded = () => request.result.createObjectStore("documents");
  const database = await settled(request);
  // Another tab with a newer page may want to change the database: never stand in its way.
  database.onversionchange = () => database.close();
  return database;
}

// ---------------------------------------------------------------- what was read is what was written

const isText = (value) => typeof value === "string";
const isTable = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
const isList = (value, each) => Array.isArray(value) && value.every(each);
const isTexts = (value) => isTable(value) && Object.values(value).every(isText);
const isDraft = (value) => isTable(value) && (value.link === undefined || isText(value.link)) &&
  (value.fields === undefined || isTexts(value.fields)) && (value.held === undefined || isTexts(value.held)) && (value.own === undefined || isTable(value.own));

const isLog = (log) => isTable(log) && [log.id, log.title, log.begun, log.next_time].every(isText) &&
  [log.amounts, log.readings, log.ticks, log.notes].every((rows) => isList(rows, isTable)) && isTexts(log.weighed) && isTexts(log.times);
const isTimer = (value) => isTable(value) && [value.low, value.high, value.rung].every(Number.isFinite);
const isBatch = (batch) => isTable(batch) && isLog(batch.log) && isTable(batch.input) && Number.isInteger(batch.step) && batch.step >= 0 &&
  isTable(batch.timers) && Object.values(batch.timers).every(isTimer) && isTable(batch.frozen) && isTexts(batch.frozen.texts) &&
  isList(batch.frozen.cards, (card) => isTable(card) && isText(card.id) && isText(card.text)) &&
  isTable(batch.frozen.sheet) && isList(batch.frozen.sheet.weighed, isTable) && isList(batch.frozen.sheet.steps, isTable) &&
  (batch.plan === null || isTable(batch.plan)) && isText(batch.stopped ?? "") && isList(batch.notDone ?? [], isText) &&
  ((batch.held ?? null) === null || (isTable(batch.held) && isText(batch.held.text) && isList(batch.held.cards, isText)));

// Of lists and tables of many things only what is wrong is left out.
const SOUND = {
  kitchen: isTexts, kitchenName: isText, confirmed: (value) => isList(value, isText), withdrawn: isText, batch: isBatch,
  kitchens: { each: isTexts }, drafts: { each: isDraft }, own: { each: isTable }, logs: { each: (value) => isTable(value) && isLog(value.log) && (value.told === undefined || isList(value.told, isText)) },
};

// A document from an older page is read; what is of no use is put aside, never thrown away. One
// from a newer page is not understood and left alone.
function understood(found) {
  if (found === undefined) return fresh();
  if (Number.isInteger(found?.version) && found.version > VERSION) throw new Newer("the stored document is of a newer version");
  while (isTable(found) && Object.hasOwn(RAISE, found.version)) found = RAISE[found.version](found);
  if (!isTable(found) || found.version !== VERSION) return { ...fresh(), aside: { document: found } };
  const made = { ...found };
  const aside = {};
  for (const [key, sound] of Object.entries(SOUND)) {
    const value = found[key];
    if (value === undefined) continue;
    if (typeof sound === "function") {
      if (sound(value)) continue;
      delete made[key];
      aside[key] = value;
      continue;
    }
    const many = key === "logs" ? Array.isArray(value) : isTable(value);
    const wrong = many ? Object.entries(value).filter(([, one]) => !sound.each(one)) : [];
    if (many && wrong.length === 0) continue;
    if (!many) delete made[key];
    else if (key === "logs") made.logs = value.filter(sound.each);
    else made[key] = Object.fromEntries(Object.entries(value).filter(([, one]) => sound.each(one)));
    aside[key] = many ? Object.fromEntries(wrong) : value;
  }
  if (Object.keys(aside).length) made.aside = { ...(isTable(found.aside) ? found.aside : {}), ...aside };
  return { ...fresh(), ...made };
}

class Newer extends Error {}

export function openStore(path) {
  let memory = fresh();
  let database = null; // a promise
  let refused = false; // what was asked last did not reach the disk
  let shut = false; // and nothing will
  let newer = false;
  let patience = PATIENCE_MS;
  let missed = []; // changes that the disk has not had
  let last = Promise.resolve(); // one after the other, so that what was missed is made up for once

  function opened() {
    database ??= open(path);
    database.catch((error) => { shut ||= !(error instanceof Impatience); });
    return database;
  }

  // Read and write in one transaction, so that two tabs do not undo each other's changes.
  async function onDisk(changes) {
    const transaction = (await patient(opened(), patience)).transaction("documents", changes.length ? "readwrite" : "readonly");
    // A write is there when its transaction is through, not when its request is.
    const through = new Promise((done, failed) => {
      transaction.oncomplete = () => done();
      transaction.onabort = () => failed(transaction.error ?? new Error("aborted"));
    });
    through.catch(() => {});
    try {
      const documents = transaction.objectStore("documents");
      const found = understood(await patient(settled(documents.get("device")), patience));
      if (changes.length) {
        for (const change of changes) change(found);
        settled(documents.put(found, "device")).catch(() => {}); // its transaction says so
        await patient(through, patience);
      }
      return found;
    } catch (error) {
      try {
        transaction.abort();
      } catch {
        // It is over already.
      }
      throw error;
    }
  }

  async function exchange(change) {
    const changes = change ? [...missed, change] : missed;
    for (let again = true; !shut && !newer; again = false) {
      try {
        memory = await onDisk(changes);
        missed = [];
        refused = false;
        patience = PATIENCE_MS;
        return structuredClone(memory);
      } catch (error) {
        newer ||= error instanceof Newer;
        if (error instanceof Impatience) patience = LITTLE_PATIENCE_MS;
        // Closed by the browser or for another tab: it may be opened anew.
        if (error?.name !== "InvalidStateError" || !again) break;
        database = null;
      }
    }
    refused = true;
    if (change) {
      change(memory);
      missed = changes;
    }
    return structuredClone(memory);
  }

  function inTurn(change) {
    const turn = last.then(() => exchange(change));
    last = turn.catch(() => {});
    return turn;
  }

  return {
    read: () => inTurn(null),
    update: (change) => inTurn(change),
    // Nothing outlives the page: whoever counts on it has to say so.
    get refused() { return refused; },
    // A newer page wrote what lies here.
    get newer() { return newer; },
  };
}
