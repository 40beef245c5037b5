// The copy of the site on this device: asks for it, says when it is whole, and offers a newer one.
// What is open is never swapped under the cook: a newer build waits until it is taken here, and is
// not even offered while something is half filled in or a batch is in progress.

import { ask } from "./copy.js";

const LOOK_AGAIN_MS = 60 * 60_000;

function settled(worker) {
  if (worker.state === "activated") return Promise.resolve(true);
  return new Promise((done) => {
    worker.addEventListener("statechange", () => {
      if (worker.state === "activated") done(true);
      if (worker.state === "redundant") done(false);
    });
  });
}

// words: the scripts' words; busy(): whether a swap would come at a bad time;
// saved(): settles when everything typed is on the device.
export function openUpdates({ words, busy = () => false, saved = async () => {} }) {
  const html = document.documentElement;
  const root = new URL(html.dataset.root, location.href);
  const place = document.querySelector("[data-update]");
  const offline = document.querySelector("[data-offline]");
  let registration = null;
  let offered = null; // {worker, state} of the build that waits
  let putOff = "";
  let looked = 0;
  let begun = false;

  function tellOffline(text, state) {
    if (offline.textContent !== text) offline.textContent = text;
    html.dataset.offline = state;
  }

  // Changes in the rules that the offered build knows and this page does not.
  function news(state) {
    const lines = state.editions.filter(({ edition }) => edition > html.dataset.edition);
    return lines.flatMap(({ edition, changes }) => changes.map((change) => `${edition}: ${change}`));
  }

  function button(text, work) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = text;
    made.addEventListener("click", work);
    return made;
  }

  function offer() {
    if (offered === null || putOff === offered.state.build || busy()) {
      place.hidden = true;
      return;
    }
    if (!place.hidden && place.dataset.update === offered.state.build) return;
    const line = document.createElement("p");
    line.textContent = words.update_ready;
    const changes = news(offered.state);
    const what = document.createElement(changes.length ? "ul" : "p");
    if (changes.length) {
      for (const change of changes) {
        const item = document.createElement("li");
        item.textContent = change;
        what.append(item);
      }
    } else {
      what.textContent = words.update_same_rules;
    }
    const buttons = document.createElement("p");
    buttons.className = "buttons";
    buttons.append(button(words.update_take, take), button(words.update_later, () => {
      putOff = offered.state.build;
      place.hidden = true;
    }));
    place.dataset.update = offered.state.build;
    place.replaceChildren(line, what, buttons);
    place.hidden = false;
  }

  async function take() {
    for (const made of place.querySelectorAll("button")) made.disabled = true;
    await saved();
    await ask(offered.worker, "take");
    location.reload();
  }

  async function look() {
    const { active, waiting } = registration;
    const worker = waiting ?? active;
    if (!worker) return;
    const state = await ask(worker, "state");
    if (state === null) return;
    if (state.build === html.dataset.build) {
      offered = null;
      if (active && state.complete) {
        tellOffline(words.offline_ready, "ready");
        ask(active, "keep", { page: location.origin + location.pathname }).then(() => ask(active, "tidy"));
      }
    } else if (navigator.serviceWorker.controller) {
      // Loaded past the worker, by a forced reload, a page may well be the newer one of the two.
      offered = { worker, state };
      tellOffline(words.offline_ready, "ready");
    }
    offer();
  }

  function follow(worker) {
    if (worker === null) return;
    worker.addEventListener("statechange", () => {
      if (worker.state === "installed" || worker.state === "activated") look();
      // The first copy could not be made whole, so there is none.
      else if (worker.state === "redundant" && !registration.active) tellOffline(words.offline_failed, "failed");
    });
  }

  async function again() {
    if (document.visibilityState !== "visible" || performance.now() - looked < LOOK_AGAIN_MS) return;
    looked = performance.now();
    await registration.update().catch(() => {}); // without a network there is nothing to find
    await look();
  }

  async function begin() {
    // In somebody else's frame nothing is kept.
    if (!("serviceWorker" in navigator) || globalThis.top !== globalThis || begun) return;
    begun = true;
    let registered;
    try {
      registered = await navigator.serviceWorker.register(new URL("service-worker.js", root), {
        scope: root.pathname, updateViaCache: "none",
      });
    } catch {
      // Said below: the page works, with a network.
    }
    if (!registered) return tellOffline(words.offline_refused, "refused");
    registration = registered;
    looked = performance.now();
    follow(registration.installing);
    registration.addEventListener("updatefound", () => follow(registration.installing));
    document.addEventListener("visibilitychange", again);
    addEventListener("online", () => { looked = -Infinity; again(); });
    if (registration.active) await settled(registration.active);
    await look();
    // The check for a newer one, after this page has all it needs.
    await registration.update().catch(() => {});
  }

  return { begin, offer };
}
