// Keeps the site on the device. The build puts `const SITE = {...}` before this text: the build's
// id, the rules' edition and what changed in them, and every file with its SHA-256.
//
// Three kinds of caches, all named after this copy's path, because Cache Storage belongs to the
// origin and not to the path:
//   runtime <key>   Python and its packages; the key changes only when they do
//   app <build>     pages, scripts, style, our own code, the recipes
//   chosen          which build the cook has taken; a newer one waits there until it is taken
//
// A worker that browsers have made active has not thereby been taken: pages come from the chosen
// build, whole, until the cook says otherwise. All assets carry their content in their name, so
// a file found in any of our caches is the right one.

const HOME = new URL(self.registration.scope);
const PREFIX = `curebatch ${HOME.pathname} `;
const RUNTIME_CACHE = `${PREFIX}runtime ${SITE.runtime.key}`;
const appCache = (build) => `${PREFIX}app ${build}`;
const APP_CACHE = appCache(SITE.build);
const CHOSEN_CACHE = `${PREFIX}chosen`;
const CHOSEN_KEY = new URL("chosen-build", HOME).href; // a name in a cache, no file of the site

// Pages of recipes are not fetched ahead: there may be hundreds. One that was visited is kept; any
// other is drawn on the device, on this empty page, from the recipes' data.
const RECIPE_PAGE = /^([a-z]{2}\/)?recipes\/[a-z0-9-]+\/index\.html$/;
const blankFor = (way) => way.replace(/recipes\/.*/, "recipes/_/index.html"); // in the language of the page

const TYPES = { wasm: "application/wasm", js: "text/javascript", mjs: "text/javascript", json: "application/json" };

const address = (way) => new URL(way, HOME).href;

// ---------------------------------------------------------------- installing: all or nothing

async function bring(way, integrity) {
  // A name made from the content may come from the browser's own cache; a page may not.
  const named = way.startsWith("assets/");
  const get = async (cache) => {
    const response = await fetch(address(way), { integrity, cache, credentials: "same-origin" });
    if (!response.ok || response.redirected) throw new Error(`${way}: status ${response.status}`);
    return response;
  };
  try {
    return await get(named ? "default" : "no-cache");
  } catch (error) {
    if (!named) throw error;
    return get("reload"); // the browser's own copy may be the broken one
  }
}

// Simple servers send some files under another type, and the runtime starts from the right one only.
function typed(way, response) {
  const type = TYPES[way.split(".").at(-1)];
  if (!type || response.headers.get("content-type")?.startsWith(type)) return response;
  const headers = new Headers(response.headers);
  headers.set("content-type", type);
  return new Response(response.body, { status: response.status, headers });
}

async function fill(name, files) {
  const cache = await caches.open(name);
  const waiting = Object.entries(files);
  const one = async () => {
    try {
      for (let next = waiting.shift(); next; next = waiting.shift()) {
        const [way, integrity] = next;
        const here = way.startsWith("assets/") && (await found(way));
        if (here && (await cache.match(address(way)))) continue;
        await cache.put(address(way), here || typed(way, await bring(way, integrity)));
      }
    } catch (error) {
      waiting.length = 0; // one file that does not come is enough: the others take no more on
      throw error;
    }
  };
  // A few at a time: a phone's connection is shared with the page that is being read. All have come
  // to rest before a fault is told, or one still at work could open again what is then thrown away.
  const ended = await Promise.allSettled([one(), one(), one(), one()]);
  const fault = ended.find(({ status }) => status === "rejected");
  if (fault) throw fault.reason;
}

async function ourCaches() {
  return (await caches.keys()).filter((name) => name.startsWith(PREFIX));
}

// A file in any of our caches, newest first.
async function found(way, options) {
  for (const name of [APP_CACHE, RUNTIME_CACHE, ...(await ourCaches())]) {
    if (!(await caches.has(name))) continue;
    const response = await (await caches.open(name)).match(address(way), options);
    if (response) return response;
  }
  return undefined;
}

async function complete() {
  for (const [name, files] of [[RUNTIME_CACHE, SITE.runtime.files], [APP_CACHE, SITE.app.files]]) {
    if (!(await caches.has(name))) return false;
    const cache = await caches.open(name);
    const kept = new Set((await cache.keys()).map((request) => request.url));
    if (!Object.keys(files).every((way) => kept.has(address(way)))) return false;
  }
  return true;
}

// Files of this build that went bad on the device, or went missing, brought anew: how many.
async function mend() {
  let mended = 0;
  for (const [name, files] of [[RUNTIME_CACHE, SITE.runtime.files], [APP_CACHE, SITE.app.files]]) {
    const cache = await caches.open(name);
    for (const [way, integrity] of Object.entries(files)) {
      const kept = await cache.match(address(way));
      if (kept && (await integrityOf(kept)) === integrity) continue;
      await cache.put(address(way), typed(way, await bring(way, integrity)));
      mended += 1;
    }
  }
  return mended;
}

async function integrityOf(response) {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", await response.arrayBuffer()));
  return `sha256-${btoa(String.fromCharCode(...hash))}`;
}

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    try {
      await fill(RUNTIME_CACHE, SITE.runtime.files);
      await fill(APP_CACHE, SITE.app.files);
    } catch (error) {
      // What was fetched of the runtime is whole, file by file, and may serve the next attempt.
      // An app that is not whole serves nobody.
      if ((await chosen()) !== SITE.build) await caches.delete(APP_CACHE);
      throw error;
    }
    if ((await chosen()) === null) await choose(SITE.build);
  })());
});

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

// ---------------------------------------------------------------- which build

async function chosen() {
  const cache = await caches.open(CHOSEN_CACHE);
  const build = await (await cache.match(CHOSEN_KEY))?.text();
  // A choice whose files are gone is none.
  return build && (await caches.has(appCache(build))) ? build : null;
}

async function choose(build) {
  await (await caches.open(CHOSEN_CACHE)).put(CHOSEN_KEY, new Response(build));
}

// Away with what no open page can need any more. With a second page open all stays: it may be one
// of the build before, with a start still to come.
async function tidy() {
  const open = await self.clients.matchAll({ type: "window", includeUncontrolled: true });
  const build = await chosen();
  if (open.filter((client) => client.url.startsWith(HOME.href)).length > 1 || build !== SITE.build) return;
  for (const name of await ourCaches()) {
    if (![RUNTIME_CACHE, APP_CACHE, CHOSEN_CACHE].includes(name)) await caches.delete(name);
  }
}

self.addEventListener("message", (event) => {
  const [port] = event.ports;
  const answer = async () => {
    switch (event.data?.ask) {
      case "state":
        return { build: SITE.build, edition: SITE.edition, editions: SITE.editions, complete: await complete() };
      case "take":
        await choose(SITE.build);
        await self.skipWaiting();
        return { build: SITE.build };
      case "keep": {
        // The page of the first visit, which came before there was a worker to keep it.
        const way = wayOf(new URL(event.data.page));
        if (way !== null && RECIPE_PAGE.test(way)) await page(new Request(address(way)), way);
        return {};
      }
      case "mend":
        return { mended: await mend() };
      case "tidy":
        await tidy();
        return {};
      default:
        return {};
    }
  };
  event.waitUntil(answer().then((said) => port?.postMessage(said), () => port?.postMessage(null)));
});

// ---------------------------------------------------------------- serving

function wayOf(url) {
  if (!url.href.startsWith(HOME.href)) return null;
  const way = url.href.slice(HOME.href.length).split(/[?#]/)[0];
  return way === "" || way.endsWith("/") ? `${way}index.html` : way;
}

const buildOf = (text) => /<html[^>]* data-build="([0-9a-f]+)"/.exec(text)?.[1];

async function page(request, way) {
  const build = (await chosen()) ?? SITE.build;
  const cache = await caches.open(appCache(build));
  const kept = await cache.match(address(way));
  if (kept) return kept;
  if (!RECIPE_PAGE.test(way)) return fetch(request);
  let response;
  try {
    response = await fetch(request);
  } catch {
    return (await cache.match(address(blankFor(way)))) ?? Response.error();
  }
  if (!response.ok) return response;
  const text = await response.clone().text();
  if (buildOf(text) === build) {
    await cache.put(address(way), response.clone());
    return response;
  }
  // Another build's page among this one's scripts would be neither: it is drawn from this one's data.
  return (await cache.match(address(blankFor(way)))) ?? response;
}

async function asset(request, way) {
  const kept = await found(way);
  if (kept) return kept;
  const integrity = SITE.app.files[way] ?? SITE.runtime.files[way];
  if (!integrity) return fetch(request);
  // It should be here and is not: mend the gap with what is proved to be the right file.
  const response = typed(way, await bring(way, integrity));
  const name = way in SITE.app.files ? APP_CACHE : RUNTIME_CACHE;
  await (await caches.open(name)).put(address(way), response.clone());
  return response;
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const way = wayOf(new URL(request.url));
  if (way === null) return;
  if (request.mode === "navigate") {
    if (way.endsWith("index.html")) event.respondWith(page(request, way));
  } else if (way.startsWith("assets/") || way.endsWith("manifest.webmanifest")) {
    event.respondWith(asset(request, way));
  }
  // Everything else, the list of what is withdrawn first of all, comes from the network or not at all.
});
