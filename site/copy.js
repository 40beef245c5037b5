// What the service worker is asked about the copy of the site on this device.

export function ask(worker, question, more = {}) {
  return new Promise((done) => {
    const channel = new MessageChannel();
    channel.port1.onmessage = (event) => done(event.data);
    worker.postMessage({ ask: question, ...more }, [channel.port2]);
  });
}

const LONGEST_MS = 30_000; // no answer is an answer too

// Where a start failed the copy may have gone bad: whether something of it was bad and is whole again.
export async function mendCopy() {
  const worker = navigator.serviceWorker?.controller;
  if (!worker) return false;
  const late = new Promise((done) => { setTimeout(done, LONGEST_MS, null); });
  return Boolean((await Promise.race([ask(worker, "mend"), late]))?.mended);
}
