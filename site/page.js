// The page: collects what was typed, asks Python, lays out its answer. It computes and formats no
// quantity and holds no words of its own.
//
// What a card is made from, the first that states a field wins:
//   the link in the address, the draft of this page, the saved kitchen, the published recipe.
// Where a link would take the place of something the cook has typed, it asks first.

import { openBridge } from "./bridge.js";
import { openChoice } from "./choose.js";
import "./help.js";
import "./language.js";
import { instant, now, zoneName } from "./clock.js";
import { asDrawn, openAround, openForm, valueOf } from "./form.js";
import { whenIdle } from "./idle.js";
import { openKitchens } from "./kitchens.js";
import { forget, laySection } from "./lay.js";
import { openOwn, saveFile } from "./own.js";
import { startWords, tellStart, tellTrouble } from "./starting.js";
import { openStore } from "./store.js";
import { clearPaper, openPaper } from "./paper.js";
import { hideLink, linkAddress, showLink, showText } from "./share.js";
import { openUndo } from "./undo.js";
import { openUpdates } from "./update.js";
import { reasonIn, watchWithdrawn } from "./withdrawn.js";

const PAUSE_MS = 400; // from the last key to what need not follow each one
const LONG_MS = 50; // from a key to its weights; where it takes longer, the next key is waited for
const NEXT_KEY_MS = 200;
const LASTING_MS = 150; // that the card is away: then nobody hears it or comes to it by keys either
const BEGIN_UPDATES_MS = 20_000;
const FAULT_PAUSE_MS = 700; // to the fault at the field: nobody is corrected in mid-word

// What belongs to the cook's kitchen and not to the recipe: kept from recipe to recipe.
const KITCHEN = [
  "units", "pack", "pack_as", "pack_nitrate", "scale", "fine_scale", "region",
  "bowl", "tin", "tin_2", "tin_3", "headroom", "spoons", "probe_error",
  "oven", "oven_setting", "cover", "wall", "oven_learnt", "chill", "chill_setting",
];

const html = document.documentElement;
const words = JSON.parse(document.getElementById("words").textContent);
const tell = { stage() {}, slow() {}, ready() {}, answer() {}, failed() {}, broken() {} };
const bridge = openBridge(tell);

const main = document.querySelector("main");
if (main.dataset.page === "blank") await drawHere();

const form = document.querySelector("[data-form]");
const card = document.querySelector("[data-card]");
const statusLine = document.querySelector("[data-status]");
const starting = document.querySelector("[data-starting]");
const trouble = document.querySelector("[data-trouble]");
const shareOut = document.querySelector("[data-share-out]");
const root = new URL(html.dataset.root, location.href);
const home = new URL(html.dataset.home, location.href); // of the pages in this language

// What is forecast hangs on fields that only the page of a recipe asks for.
const foretells = main.dataset.page === "recipe";

const { control, setValue, tallyFilled, showFault, clearFaults } = openForm(form, words);
const own = main.dataset.page === "own" ? openOwn(form) : null;

const store = openStore(root.pathname);
const draftKey = main.dataset.recipe ?? main.dataset.page;

// The card as published, to go back to when Python cannot start.
const published = new Map();

let device = null; // the stored document, once read
let link = ""; // raw text of the link that the card is made from
let typed = {}; // what the cook typed, over the link
let kitchen = {}; // fields taken from the saved kitchen, under what is typed
let foreign = false; // whether the link brought a kitchen that the cook has not taken for this device's
let ownData = {}; // on the page for one's own recipe: what its file holds
let ownText = ""; // a file that was just chosen, until Python has read it
let ownSlot = ""; // its place among the recipes on this device
let confirmedHere = false; // the cook has said, for this very input, that the pack says so
let revision = 0; // of the input; an answer to an older one is dropped
let asked = -1; // the revision that was last sent
let answer = null; // the answer to the newest input, or null
let whole = false; // whether what comes after weights and verdict has come as well
let foretold = false; // and the forecast of the oven after that
let lastKey = 0;
let changedAt = 0; // when the input last did
let pauseTimer = 0;
let keeping = Promise.resolve(); // until the draft is on the device
let faultTimer = 0;
let note = ""; // what the cook just did, said together with what came of it
let visited = new Set(); // fields that the cook has been in
let ticked = null; // the confirmation that has just been ticked
const waitingForAnswer = [];
let handing = null; // {id, done}: what was asked for to leave the page, and is not here yet
let choosing = null; // {source, mine}: a link and what it would replace, until the cook has chosen

// ---------------------------------------------------------------- a page drawn on the device

// Without a network the page of a recipe that was never visited is drawn here, from the recipes'
// data, by the same code that drew it for the site.
async function drawHere() {
  const request = JSON.parse(document.getElementById("drawing").textContent);
  request.recipe = location.pathname.split("/").at(-2);
  Object.assign(tell, {
    stage(name, progress) { tellStart(main.querySelector("[data-starting]"), words, startWords(words, name), progress); },
    broken() { main.querySelector("[data-trouble]").hidden = false; },
  });
  let drawn;
  try {
    drawn = await bridge.draw(request);
  } catch {
    main.querySelector("[data-starting]").hidden = true;
    const trouble = main.querySelector("[data-trouble]");
    trouble.textContent = bridge.broken ? words.broken : words.not_here;
    trouble.hidden = false;
    return new Promise(() => {}); // there is no page to go on with
  }
  const page = new DOMParser().parseFromString(drawn, "text/html");
  const made = page.querySelector("main");
  main.replaceChildren(...made.childNodes);
  main.dataset.page = made.dataset.page;
  main.dataset.recipe = made.dataset.recipe;
  document.title = page.title;
}

// ---------------------------------------------------------------- the form

function fillForm(fields) {
  for (const [key, text] of Object.entries(fields)) {
    // What the cook has typed stays as typed; nothing is changed under the cursor.
    if (key in typed || control(key) === document.activeElement) continue;
    setValue(key, text);
  }
  tallyFilled();
}

// ---------------------------------------------------------------- what it is made from

// held: what the kitchen said by then of the fields that were typed here.
const record = () => ({ link, fields: { ...typed }, ...(device && !foreign ? { kitchen: device.kitchenName, held: heldOf(typed) } : {}), ...(own ? { own: ownData, slot: ownSlot } : {}) });

const heldOf = (fields) => Object.fromEntries(KITCHEN.filter((key) => key in fields && device.kitchen[key]).map((key) => [key, device.kitchen[key]]));

// What a draft says of the kitchen is of its day. Where another page has said otherwise since, that
// counts: a dose by the pack of last month is a wrong dose.
function asOfNow(source) {
  const fields = { ...source.fields };
  const now = { ...source, fields, newer: false };
  if (source.held === undefined || source.kitchen !== device.kitchenName) return now;
  for (const key of KITCHEN) {
    const here = device.kitchen[key] ?? "";
    if (!(key in fields) || fields[key] === here || (source.held[key] ?? "") === here) continue;
    now.newer = true;
    delete fields[key];
    if (key === "pack") delete fields.pack_check;
    if (bringsKitchen(source.link ?? "")) fields[key] = here;
  }
  return now;
}

// Each entry of the tab's history keeps its own input, so that back, forward and reload show
// what stood there. An address that carries a link is its own record.
function remember() {
  if (addressInput()) return;
  try {
    history.replaceState({ curebatch: record() }, "");
  } catch {
    // Some browsers limit how often; the draft is kept all the same.
  }
}

function keepDraft() {
  if (choosing !== null) return Promise.resolve(); // neither of the two stands yet
  const draft = record();
  return remembering((stored) => {
    stored.drafts[draftKey] = draft;
    if (own && Object.keys(draft.own).length) (stored.own ??= {})[draft.slot] = draft.own;
  });
}

// What was typed within the pause, for this tab alone and at once: a reload must not lose it.
const LAST = `curebatch ${location.pathname}`;

function keepLast(something) {
  try {
    if (something) sessionStorage.setItem(LAST, JSON.stringify({ href: location.href, ...record() }));
    else sessionStorage.removeItem(LAST);
  } catch {
    // Refused, or full: then the draft has it after the pause.
  }
}

function lastHere() {
  try {
    const kept = JSON.parse(sessionStorage.getItem(LAST));
    return kept?.href === location.href ? kept : null; // of another link it says nothing
  } catch {
    return null;
  }
}

// Once changed, the card is no longer the one the address names: the address must not say so.
function leaveLinkInAddress() {
  if (addressInput() && answer !== null && answer.faults.length === 0) {
    history.replaceState({ curebatch: record() }, "", location.pathname);
  }
}

// Only the names of the keys are looked at here; reading a link is Python's work.
const linkKeys = (text) => new Set(text.split("&").map((pair) => pair.split("=")[0]));

function takeSource({ link: newLink = "", fields = {}, kitchen: called, own: data = null, slot = "" }) {
  link = newLink;
  typed = { ...fields };
  if (own) {
    ownData = data ?? {};
    ownText = "";
    ownSlot = slot || newSlot();
  }
  confirmedHere = false;
  visited = new Set();
  foreign = bringsKitchen(link) && called === undefined;
  kitchen = foreign ? {} : kitchenHere();
  // What was typed of another kitchen than the one at work belongs to that other one.
  if (called !== undefined && called !== device.kitchenName) layKitchen();
  form.reset();
  for (const [key, text] of Object.entries({ ...kitchen, ...typed })) setValue(key, text);
  if (own) {
    own.fill(ownData);
    listOwn();
  }
  clearFaults();
  tallyFilled();
  kitchens.show();
}

// A link with a kitchen brings the whole one: half of each would be nobody's.
function bringsKitchen(someLink) {
  const named = linkKeys(someLink);
  return KITCHEN.some((key) => named.has(key));
}

// Of the kitchen at work what this page asks for.
const kitchenHere = () => Object.fromEntries(KITCHEN.filter((key) => device.kitchen[key] && control(key)).map((key) => [key, device.kitchen[key]]));

// The kitchen at work in the place of what was typed of another, and of what a link brought.
function layKitchen() {
  for (const key of [...KITCHEN, "pack_check"]) delete typed[key];
  kitchen = kitchenHere();
  if (bringsKitchen(link)) for (const key of KITCHEN) if (control(key)) typed[key] = kitchen[key] ?? "";
}

function takeKitchen() {
  undo.forget();
  foreign = false;
  confirmedHere = false;
  layKitchen();
  for (const key of [...KITCHEN, "pack_check"]) {
    const element = control(key);
    if (element === null) continue;
    setValue(key, typed[key] ?? kitchen[key] ?? asDrawn(element));
  }
  clearFaults();
  tallyFilled();
  leaveLinkInAddress();
  changed();
  ask();
  settleDown();
}

// What is stated of the kitchen as it stands in the form: of a link's all that it brought.
function kitchenStated() {
  const stated = foreign ? { ...(answer?.fields ?? {}), ...typed } : { ...device.kitchen, ...typed };
  return Object.fromEntries(KITCHEN.filter((key) => stated[key]).map((key) => [key, stated[key]]));
}

// What is taken from the saved kitchen beside a link.
const kitchenBeside = (someLink) => (bringsKitchen(someLink) ? {} : kitchenHere());

const isAnchor = () =>
  location.hash.length > 1 && document.getElementById(location.hash.slice(1)) !== null;

// A fragment that is the id of something on the page is a place, not an input.
const addressLink = () => (isAnchor() ? "" : addressInput());

function resume() {
  const inAddress = addressLink();
  if (inAddress) return { link: inAddress };
  return history.state?.curebatch ?? device.drafts[draftKey] ?? {};
}

// ---------------------------------------------------------------- a link meets a draft

const choice = openChoice({ words, choose, takeBack, forget() { keepLeft(null); } });

// A confirmation is the device's and stays; all else that was typed would go.
const hasTyped = ({ fields = {}, own: data = null }) =>
  Object.entries(fields).some(([key, text]) => key !== "pack_check" && text !== "") || Object.keys(data ?? {}).length > 0;

// Whether the cook is asked; then neither card is there until the answer has come.
function considers(source, mine) {
  if (!source.link || !mine || !hasTyped(mine) || bridge.broken) return false;
  mine = asOfNow(mine);
  choosing = { source, mine };
  choice.begin();
  changed();
  say(""); // what was said of the card before
  asked = revision;
  bridge.ask({
    id: revision,
    build: html.dataset.build,
    input: {
      ...inputOf(source.link, kitchenBeside(source.link)),
      draft: { link: mine.link ?? "", fields: mine.fields ?? {}, kitchen: kitchenBeside(mine.link ?? ""), ...(mine.own ? { own: mine.own } : {}) },
    },
    want: ["replaced"],
  });
  return true;
}

// What came of it: the question, or that there is none.
function layChoice({ html: inner, kept }) {
  starting.hidden = true;
  if (inner) {
    choice.ask(inner);
    return release();
  }
  const { source, mine } = choosing;
  endChoice();
  if (!kept) keepLeft({ which: "mine", record: mine });
  use(source);
}

function endChoice() {
  choosing = null;
  choice.end();
}

function choose(which) {
  const { source, mine } = choosing;
  endChoice();
  if (which === "link") swap(source, { which: "mine", record: mine });
  else swap(mine, { which: "link", record: source });
}

function takeBack() {
  const { which, record: other } = device.left[draftKey];
  swap(other, { which: which === "mine" ? "link" : "mine", record: record() });
}

// One takes the place of the other, which is kept.
function swap(taken, left) {
  clearTimeout(pauseTimer);
  pauseTimer = 0;
  keepLast(false);
  // The address goes on naming a link only while that link is what stands here.
  if (!(taken.link && taken.link === addressLink() && !hasTyped(taken))) history.replaceState({ curebatch: taken }, "", location.pathname);
  use(taken);
  keepDraft();
  keepLeft(left, true);
}

function keepLeft(left, moveThere = false) {
  remembering((stored) => {
    stored.left ??= {};
    if (left) stored.left[draftKey] = left;
    else delete stored.left[draftKey];
  });
  choice.tellLeft(left?.which ?? "", moveThere);
}

// ---------------------------------------------------------------- asking

function changed() {
  revision += 1;
  changedAt = performance.now();
  answer = null;
  whole = false;
  foretold = false;
  note = "";
  statusLine.classList.add("quiet");
  bridge.overtake();
  // At once, not when the answer comes: an old dose beside new input is a wrong dose.
  takeCardAway();
  hideLink(shareOut);
  clearPaper();
  handOver(null);
  clearTimeout(pauseTimer);
  pauseTimer = 0;
  clearTimeout(faultTimer);
}

let lastingTimer = 0;

function takeCardAway(lasting = false) {
  clearTimeout(lastingTimer);
  card.dataset.stale = lasting ? "lasting" : "";
  delete card.dataset.part;
  if (!lasting) lastingTimer = setTimeout(takeCardAway, LASTING_MS, true);
}

function showCard() {
  clearTimeout(lastingTimer);
  delete card.dataset.stale;
}

const day = () => {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
};

const inputOf = (someLink, fields) => ({
  language: html.lang,
  page: main.dataset.page,
  ...(main.dataset.recipe ? { recipe: main.dataset.recipe } : {}),
  ...(someLink ? { link: someLink } : {}),
  fields,
  confirmed_packs: device.confirmed,
  ...(device.withdrawn ? { withdrawn: device.withdrawn } : {}),
  today: day(),
  address: `${location.origin}${location.pathname}`,
});

function send(...want) {
  bridge.ask({
    id: revision,
    build: html.dataset.build,
    input: {
      ...inputOf(link, { ...kitchen, ...typed }),
      ...(own && (ownText || Object.keys(ownData).length) ? { own: ownText || ownData } : {}),
      ...(want[0] === "day" ? { day: beginning } : {}),
    },
    want,
  });
}

function ask() {
  if (device === null || choosing !== null || asked === revision) return;
  asked = revision;
  // No answer will come: what was published is put back, not left out of sight.
  if (bridge.broken) return tell.broken();
  // Weights and verdict first; the tables and drawings follow when nothing newer has come.
  send("weights");
}

// The answer to the input as it stands now; null where there cannot be one.
function settled() {
  if (answer !== null || bridge.broken) return Promise.resolve(answer);
  return new Promise((done) => {
    waitingForAnswer.push(done);
    ask();
  });
}

function release() {
  for (const done of waitingForAnswer.splice(0)) done(answer);
}

// ---------------------------------------------------------------- what leaves the page

function handOver(handed) {
  const { done } = handing ?? {};
  handing = null;
  done?.(handed);
}

// What Python makes of the card as it stands now: "sheet", "text" and the like; null where it cannot.
async function hand(kind) {
  if (choosing !== null) return null;
  if ((await settled()) === null) return null;
  const handed = await new Promise((done) => {
    handOver(null);
    handing = { id: revision, done };
    // The rest may be on its way, and this overtakes it.
    send(...(whole ? [] : ["rest"]), ...(foretold || !foretells ? [] : ["forecast"]), kind);
  });
  return handed?.[kind] ?? null;
}

// ---------------------------------------------------------------- a batch is begun

let beginning = null; // what its log begins with

// The card as it stands is frozen, with everything it was made from: from here on nothing changes
// its weights.
async function beginBatch() {
  device.batch = (await store.read()).batch; // it may have been finished meanwhile, on another page
  if (device.batch) {
    say(words.batch_running);
    location.assign(new URL("day/", home));
    return;
  }
  const came = await settled();
  if (came === null || came.faults.length) {
    await toFaults();
    return refuse(words.no_link);
  }
  if (store.refused) return refuse(words.batch_not_kept);
  beginning = { do: "begin", id: `batch-${now().toString(36)}`, begun: instant(), zone: zoneName() };
  const begun = await new Promise((done) => {
    handOver(null);
    handing = { id: revision, done };
    send("day");
  });
  if (begun === null) return;
  if (begun.faults) {
    if (!whole) send("rest");
    refuse(begun.faults.map(({ text }) => text).join(" "));
    return showWhy();
  }
  const { log, ...frozen } = begun;
  const input = {
    page: main.dataset.page,
    ...(main.dataset.recipe ? { recipe: main.dataset.recipe } : {}),
    ...(link ? { link } : {}),
    ...(own ? { own: ownData } : {}),
    fields: { ...kitchen, ...typed },
    confirmed_packs: [...device.confirmed],
  };
  await remembering((stored) => { stored.batch = { input, log, frozen, step: 0, timers: {}, plan: null, sequence: 0 }; });
  if (store.refused) {
    delete device.batch;
    return refuse(words.batch_not_kept);
  }
  location.assign(new URL("day/", home));
}

// The line that says it may be far above the button that was pressed: the verdict says why, and is shown.
function showWhy() {
  const verdict = card.querySelector(".verdict");
  if (verdict === null) return;
  verdict.tabIndex = -1;
  verdict.focus();
}

const printOut = openPaper({ hand, refuse: () => { refuse(words.no_paper); showWhy(); } });

async function handText(kind, button) {
  const text = await hand(kind);
  const about = kind === "snippet" ? { hint: words.snippet_hint, shared: false } : {};
  if (text) showText(shareOut, text, button.textContent.trim(), words, say, about);
  else {
    refuse(words.no_link);
    showWhy();
  }
}

// ---------------------------------------------------------------- laying out

function layOut(id, text) {
  if (id !== revision) return;
  const came = JSON.parse(text);
  if (came.want.includes("day")) return handOver(came.day);
  if (came.want.includes("replaced")) return layChoice(came.replaced);
  if (came.go) {
    const place = new URL(came.go, home);
    if (place.href !== location.href) {
      say(words.other_recipe);
      // In place of this entry: going back must not lead straight here again.
      location.replace(place);
      return;
    }
  }
  const first = came.want.includes("weights");
  if (first) answer = came;
  for (const [key, inner] of Object.entries(came.sections)) {
    const section = card.querySelector(`[data-section="${CSS.escape(key)}"]`);
    if (section !== null) laySection(section, inner);
  }
  if (came.want.includes("rest")) {
    whole = true;
    afterPaint(updates.begin);
    if (foretells && !foretold) card.dataset.part = "forecast"; // of the old card, and out of sight
    else delete card.dataset.part;
  }
  if (came.want.includes("forecast")) {
    foretold = true;
    if (whole) delete card.dataset.part;
  } else if (whole && foretells && !foretold) {
    // It takes longer than all the rest, and a key that met it would wait for it to end.
    const pause = changedAt + PAUSE_MS - performance.now();
    afterPaint(() => setTimeout(() => {
      if (id === revision && !foretold && handing === null) send("forecast");
    }, Math.max(0, pause)));
  }
  if (came.handed) handOver(came.handed);
  if (!first) return;
  fillForm(came.fields);
  if (own && came.own && (ownText || link)) takeOwn(came.own, came.faults);
  const copy = document.querySelector("[data-own-copy]");
  const copied = came.links.own ?? (main.dataset.page === "found" ? "" : came.links.recipe);
  if (copy && copied) copy.href = new URL(`own/#${copied}`, home);
  if (copy && main.dataset.page === "found") copy.hidden = !copied;
  trouble.hidden = true;
  starting.hidden = true; // it may have said that this is slow
  // An answer with faults says what is to be seen instead of the old card. If it left the weights
  // alone, the old ones would stand there: then they stay hidden.
  if (came.faults.length === 0 || "amounts" in came.sections) {
    showCard();
    card.dataset.part = ""; // what is still of the old card stays out of sight
  } else {
    takeCardAway(true);
  }
  // On a slow device the next key would meet the rest, and wait for it to end.
  const pause = lastKey > 0 && performance.now() - changedAt > LONG_MS ? NEXT_KEY_MS : 0;
  afterPaint(() => setTimeout(() => {
    if (id === revision && answer === came && !whole && handing === null) send("rest");
  }, pause));
  delete html.dataset.awaiting;
  keepKitchen();
  askToStay();
  updates.offer();
  if (ticked !== null) {
    // It was hidden while the answer was under way, and may be gone: without this the place in
    // the order of tabbing would be lost.
    card.tabIndex = -1;
    (ticked.isConnected ? ticked : card).focus({ preventScroll: true });
    ticked = null;
  }

  const untilFaults = lastKey + FAULT_PAUSE_MS - performance.now();
  settleFaults(false);
  if (untilFaults > 0) faultTimer = setTimeout(() => settleFaults(true), untilFaults);
  else settleFaults(true);
  release();
}

// A frame that is never painted, in a tab out of sight, must not keep the rest away.
function afterPaint(work) {
  let due = true;
  const once = () => {
    if (due) work();
    due = false;
  };
  requestAnimationFrame(() => setTimeout(once));
  setTimeout(once, 120);
}

function say(text, quiet = false) {
  statusLine.classList.toggle("quiet", quiet);
  if (statusLine.textContent !== text) statusLine.textContent = text;
}

// What a button is answered with is not talked over: the faults that still wait are told before it.
function refuse(text) {
  clearTimeout(faultTimer);
  settleFaults(true);
  say(text);
}

// What is mended disappears at once; what is wrong appears after the pause, with the status.
function settleFaults(paused) {
  if (answer === null) return;
  const texts = new Map();
  for (const { field, text } of answer.faults) {
    texts.set(field, texts.has(field) ? `${texts.get(field)} ${text}` : text);
  }
  for (const place of form.querySelectorAll("[data-fault]")) {
    const key = place.id.slice(2);
    // "Missing" is no fault of a field that the cook has not come to yet; the card says it anyway.
    const reached = () => visited.has(key) || ((control(key) ?? document.getElementById(`f-${key}`))?.value ?? "") !== "";
    const text = texts.has(key) && reached() ? texts.get(key) : "";
    if (text === "" || paused) showFault(key, text);
  }
  if (!paused && answer.faults.length > 0) return;
  // It stands on the card: here it is heard, and seen only with what the cook did. Seen, it would
  // push the page down long after the key.
  say(`${note} ${answer.status}`.trim(), note === "");
}

// ---------------------------------------------------------------- the device's memory

function keepKitchen() {
  if (answer.faults.length) return;
  // What a link brought is somebody's kitchen: it becomes this device's only on the cook's word, and
  // never in the place of one that is kept here.
  const none = Object.keys(device.kitchen).length === 0;
  if (foreign && !none) return;
  const keep = {};
  for (const key of KITCHEN) {
    if (key in typed) keep[key] = typed[key];
    else if (confirmedHere && link && key in answer.fields) keep[key] = answer.fields[key];
  }
  if (Object.entries(keep).every(([key, text]) => (device.kitchen[key] ?? "") === text)) return;
  remembering((stored) => {
    for (const [key, text] of Object.entries(keep)) {
      if (text === "") delete stored.kitchen[key];
      else stored.kitchen[key] = text;
    }
  });
}

let askedToStay = false;

// After a first use, so that the browser knows this device means it: do not clear us away.
function askToStay() {
  if (askedToStay || answer.faults.length || !("pack" in typed) || !typed.pack) return;
  askedToStay = true;
  navigator.storage?.persist?.().catch(() => {});
}

// What the card offers to be kept goes into its field, where the cook sees it and can take it out.
function keepInField(key, text) {
  undo.forget();
  typed[key] = text;
  setValue(key, text);
  leaveLinkInAddress();
  changed();
  ask();
  keepLast(true);
  pauseTimer = setTimeout(settleDown, PAUSE_MS);
}

function remembering(change) {
  if (device !== null) change(device); // not read yet: the store has it first
  return store.update(change);
}

function confirmPack(box) {
  undo.forget();
  const label = box.dataset.confirmPack;
  typed.pack_check = box.checked ? label : "";
  confirmedHere = box.checked;
  ticked = box;
  setValue("pack_check", typed.pack_check);
  remembering((stored) => {
    stored.confirmed = stored.confirmed.filter((other) => other !== label);
    if (box.checked) stored.confirmed.push(label);
  });
  changed();
  if (box.checked) note = words.confirmed;
  keepDraft();
  ask();
}

async function clearAll() {
  clearTimeout(pauseTimer); // or what was just typed would be kept after all
  pauseTimer = 0;
  const before = { source: record(), href: location.href, state: history.state, confirmed: confirmedHere };
  const { kitchen: held, confirmed, drafts, left } = structuredClone(device);
  keepLast(false);
  await store.update((stored) => {
    if (!stored.kitchenName) {
      stored.kitchen = {};
      stored.confirmed = [];
    }
    delete stored.drafts[draftKey];
    delete stored.left?.[draftKey];
  });
  device = await store.read();
  choice.tellLeft("");
  history.replaceState(null, "", location.pathname);
  use({});
  remember();
  note = device.kitchenName ? words.cleared_batch.replace("{name}", () => device.kitchenName) : words.cleared;
  undo.offer(async () => {
    await store.update((stored) => {
      stored.kitchen = held;
      stored.confirmed = [...new Set([...confirmed, ...stored.confirmed])];
      if (drafts[draftKey]) stored.drafts[draftKey] = drafts[draftKey];
      if (left?.[draftKey]) (stored.left ??= {})[draftKey] = left[draftKey];
    });
    device = await store.read();
    choice.tellLeft(left?.[draftKey]?.which ?? "");
    history.replaceState(before.state, "", before.href);
    bringBack(before);
  });
}

// What stood here before something took its place.
function bringBack({ source, confirmed }) {
  if ((source.link ?? "") !== addressLink()) dropAddress();
  use(source);
  confirmedHere = confirmed;
  remember();
  keepDraft();
  note = words.undone;
}

// ---------------------------------------------------------------- the start of Python

Object.assign(tell, {
  stage(name, progress) { tellStart(starting, words, startWords(words, name), progress); },
  slow() {
    const text = link || choosing ? words.slow_link : words.slow;
    tellStart(starting, words, text, null);
    say(text);
  },
  ready(restored) {
    starting.hidden = true;
    html.dataset.started = restored ? "restored" : "anew";
    for (const { name, ms } of bridge.stages) {
      performance.measure(`start: ${name}`, { start: 0, duration: ms });
    }
    // While a card is on its way, the copy for this device would only hold it up.
    if (asked < 0 && html.dataset.awaiting === undefined) updates.begin();
    pictureWhenIdle();
  },
  answer: layOut,
  failed(id, detail) {
    console.warn(detail);
    if (id !== revision) return;
    // The question went wrong: the link is taken, and what it replaced stays within reach.
    if (choosing !== null) return layChoice({ html: "", kept: false });
    giveUp(words.broken_answer);
    handOver(null);
    release();
  },
  broken() {
    starting.hidden = true;
    // Until the device is read nobody knows what the card is to be made from: told again then.
    if (device === null) return;
    if (choosing !== null) {
      link = choosing.source.link;
      endChoice();
    }
    const reason = reasonIn(device.withdrawn, main.dataset.recipe, html.dataset.edition);
    if (reason !== undefined) {
      // What was published is not to be used, and nothing here can say so on the card itself.
      card.hidden = true;
      clearPaper();
      giveUp(`${words.withdrawn_frame} ${reason}`);
    } else if (link) {
      // The card here is not the one the link means, and the one it means will not come.
      card.hidden = true;
      giveUp(words.broken_link, words.as_published);
    } else {
      for (const [section, inner] of published) {
        forget(section);
        section.innerHTML = inner;
      }
      delete html.dataset.awaiting;
      showCard();
      giveUp(words.broken);
    }
    handOver(null);
    release();
    updates.begin();
  },
});

const PICTURE_MS = 6_000;

// Once the copy on this device is whole, and the cook is at rest.
function pictureWhenIdle() {
  setTimeout(() => whenIdle(async () => {
    const rested = performance.now() - lastKey > PICTURE_MS;
    if (!rested || html.dataset.offline !== "ready") return pictureWhenIdle();
    if (await bridge.takePicture()) html.dataset.picture = "made";
  }, PICTURE_MS), PICTURE_MS);
}

const undo = openUndo({ button: document.querySelector("[data-undo]"), line: statusLine, words, say });

const kitchens = openKitchens({
  place: form.querySelector("[data-kitchens]"), words, remembering, device: () => device, foreign: () => foreign, fields: kitchenStated, taken: takeKitchen,
  say(text) {
    note = text;
    say(text);
  },
  gone(text, back) {
    note = text;
    say(text);
    undo.offer(back);
  },
});

const updates = openUpdates({
  words,
  busy: () => device?.batch ? true : answer === null ? Object.keys(typed).length > 0 : answer.faults.some(({ field }) => field in typed),
  saved: () => keepDraft(),
});

function giveUp(text, wayOut) {
  tellTrouble(trouble, words, text, wayOut);
  say(text);
}

// A page that was drawn here has its Python running already.
if (bridge.ready) tell.ready(bridge.restored);

// ---------------------------------------------------------------- events

// Takes up a source and asks for its card.
function use(source) {
  const now = asOfNow(source);
  takeSource(now);
  changed();
  if (now.newer) note = words.kitchen_newer;
  if (link) html.dataset.awaiting = "";
  if (bridge.broken) location.reload(); // nothing can be worked out here any more
  else ask();
}

function typing(event) {
  if (own && isOwn(event.target)) return typingOwn(event.target);
  const key = event.target.name;
  if (!key) return;
  undo.forget();
  lastKey = performance.now();
  visited.add(key);
  typed[key] = valueOf(event.target);
  tallyFilled();
  leaveLinkInAddress();
  changed();
  ask();
  keepLast(true);
  pauseTimer = setTimeout(settleDown, PAUSE_MS);
}

// ---------------------------------------------------------------- one's own recipe

const OWN_PARTS = ["own", "ownKey", "ownKind", "ownText"];
const isOwn = (element) => OWN_PARTS.some((part) => part in element.dataset);

// Where a fault of it is told.
function ownPlace(element) {
  if ("ownKind" in element.dataset) return "kinds";
  return element.dataset.own ?? "step";
}

function newSlot() {
  return `${Date.now().toString(36)}${Math.random().toString(36).slice(2, 6)}`;
}

function typingOwn(element) {
  undo.forget();
  lastKey = performance.now();
  visited.add(ownPlace(element));
  ownChanged();
}

function ownChanged() {
  ownData = own.collect();
  ownText = "";
  leaveLinkInAddress();
  changed();
  ask();
  keepLast(true);
  pauseTimer = setTimeout(settleDown, PAUSE_MS);
}

// What a link or a file held, as Python has read it: from here on it is the cook's own. Whole, it is
// there to be made; to change it is another matter, and comes first only where something is missing.
function takeOwn(data, faults) {
  if (link) {
    const parts = form.querySelector("[data-own-parts]");
    parts.open = !linkKeys(link).has("own") || faults.some(({ field }) => parts.contains(document.getElementById(`f-${field}`)));
    document.querySelector("[data-own-title]").textContent = data.title || words.own_untitled;
  }
  // The same one opened again is the same one.
  const known = Object.entries(device.own ?? {}).find(([, kept]) => JSON.stringify(kept) === JSON.stringify(data));
  ownSlot = known?.[0] ?? newSlot();
  ownData = data;
  ownText = "";
  own.fill(data);
  keepDraft();
  remember();
  listOwn();
}

// What the address says is no longer what is on the page.
function dropAddress() {
  if (addressInput()) history.replaceState(null, "", location.pathname);
}

function listOwn() {
  const shelf = form.querySelector("[data-own-shelf]");
  const kept = Object.entries(device.own ?? {});
  shelf.replaceChildren(shelf.options[0], ...kept.map(([slot, data]) => new Option(data.title || words.own_untitled, slot)));
  shelf.value = kept.some(([slot]) => slot === ownSlot) ? ownSlot : "";
}

function switchOwn(slot) {
  undo.forget();
  if (pauseTimer) settleDown();
  dropAddress();
  use({ own: device.own?.[slot] ?? {}, slot, fields: {} });
  keepDraft();
  remember();
}

async function readOwnFile(file) {
  if (!file) return;
  if (pauseTimer) settleDown();
  const text = file.size > 400_000 ? "" : await file.text();
  if (!text) return say(words.own_no_file);
  undo.forget(); // what it would bring back is still on the shelf
  ownText = text;
  link = "";
  dropAddress();
  changed();
  note = words.own_opened;
  ask();
}

function pressedOwn(button) {
  const row = button.closest(own.row);
  if ("ownAdd" in button.dataset) own.addRow().querySelector("[data-own-key]").focus();
  else if ("ownRemove" in button.dataset) own.removeRow(row);
  else if ("ownSave" in button.dataset) return settled().then((came) => {
    if (came?.file) saveFile(came.file.name, came.file.text);
    else refuse(words.own_not_whole);
  });
  else if ("ownLoad" in button.dataset) return form.querySelector("[data-own-file]").click();
  else if ("ownDrop" in button.dataset) {
    if (!confirm(words.own_drop)) return;
    clearTimeout(pauseTimer); // or what was just typed would be kept after all
    pauseTimer = 0;
    const slot = ownSlot; // the store may take its time
    const before = { source: record(), confirmed: confirmedHere };
    const data = structuredClone(device.own?.[slot] ?? ownData);
    remembering((stored) => { delete stored.own?.[slot]; });
    switchOwn("");
    note = words.own_dropped;
    return undo.offer(() => {
      remembering((stored) => { (stored.own ??= {})[slot] = data; });
      bringBack(before);
    });
  } else return;
  ownChanged();
}

function listenOwn() {
  form.querySelector("[data-own-shelf]").addEventListener("change", (event) => {
    event.stopPropagation();
    switchOwn(event.target.value);
  });
  const chooser = form.querySelector("[data-own-file]");
  chooser.addEventListener("change", (event) => {
    event.stopPropagation();
    readOwnFile(chooser.files[0]);
    chooser.value = "";
  });
  form.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button) pressedOwn(button);
  });
}

// What need not follow each key: the draft on the device, and the tab's own history.
function settleDown() {
  clearTimeout(pauseTimer);
  pauseTimer = 0;
  remember();
  const kept = keepDraft();
  if (own && device !== null) listOwn(); // it may be on this device only now
  keeping = kept.then(() => keepLast(pauseTimer !== 0));
  return keeping;
}

function paused(event) {
  if (own && isOwn(event.target)) visited.add(ownPlace(event.target));
  if (event.target.name) visited.add(event.target.name);
  lastKey = 0;
  if (pauseTimer) settleDown();
  if (answer === null) ask();
  else settleFaults(true);
}

function moved() {
  if (isAnchor()) return;
  if (device === null) {
    // The page has not begun yet; when it does, it takes up what the address says by then.
    if (addressLink()) html.dataset.awaiting = "";
    return;
  }
  const source = resume();
  if (choosing !== null ? source.link === choosing.source.link : (source.link ?? "") === link && JSON.stringify(source.fields ?? {}) === JSON.stringify(typed)) return;
  const before = { source: record(), confirmed: confirmedHere };
  const mine = choosing?.mine ?? (hasTyped(record()) ? record() : device.drafts[draftKey]);
  const wasChoosing = choosing !== null;
  endChoice();
  if (addressLink() && considers(source, mine)) return;
  use(source);
  if (wasChoosing || Object.keys(before.source.fields).length === 0) return;
  note = words.replaced;
  undo.offer(() => bringBack(before), false);
}

// All faults at their fields, and the summary of them, with links to each, gets the focus.
async function toFaults() {
  const came = await settled();
  if (came === null || came.faults.length === 0) return;
  for (const field of form.elements) visited.add(isOwn(field) ? ownPlace(field) : field.name);
  settleFaults(true);
  const summary = card.querySelector("[data-fault-summary]");
  summary?.focus({ preventScroll: true });
  summary?.scrollIntoView({ block: "nearest" });
}

async function share(kind, button) {
  const came = await settled();
  const fragment = came?.links?.[kind];
  if (fragment) showLink(shareOut, linkAddress(fragment), button.textContent.trim(), words, say);
  else {
    refuse(words.no_link);
    showWhy();
  }
}

// What was typed just now must be on the device before the other page looks for it.
function otherLanguage(event, way) {
  if (event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
  event.preventDefault();
  (pauseTimer ? settleDown() : keeping).finally(() => location.assign(way.href));
}

function listen() {
  form.addEventListener("input", typing);
  form.addEventListener("change", paused);
  form.addEventListener("focusout", paused);
  if (own) listenOwn();
  form.addEventListener("submit", (event) => event.preventDefault());
  // There is no button to send a form with: the card follows each key. The key that sends forms
  // asks what is wrong with all of it.
  form.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || event.isComposing || !event.target.matches('input[type="text"], input[type="checkbox"]')) return;
    event.preventDefault();
    paused(event);
    toFaults();
  });
  addEventListener("popstate", moved);
  addEventListener("pagehide", () => { if (pauseTimer) settleDown(); });
  addEventListener("hashchange", moved);
  // What is not to be seen is not to be pressed.
  card.addEventListener("click", (event) => {
    if (card.dataset.stale === undefined) return;
    event.preventDefault();
    event.stopPropagation();
  }, true);
  document.addEventListener("change", (event) => {
    if (event.target.matches?.("[data-confirm-pack]")) confirmPack(event.target);
  });
  document.addEventListener("click", (event) => {
    const button = event.target.closest?.("button, a");
    if (!button) return;
    if (button.dataset.share !== undefined) share(button.dataset.share, button);
    else if (button.dataset.print !== undefined) printOut(button.dataset.print || "sheet");
    else if (button.dataset.hand !== undefined) handText(button.dataset.hand, button);
    else if (button.dataset.begin !== undefined) beginBatch();
    else if (button.dataset.keep !== undefined) keepInField(button.dataset.keep, button.dataset.text);
    else if (button.dataset.clear !== undefined) clearAll();
    else if (button.dataset.language !== undefined) otherLanguage(event, button);
  });
  for (const kind of ["pointerdown", "focusin", "keydown"]) {
    form.addEventListener(kind, () => bridge.start(), { once: true });
  }
}

// The bar at the foot of a narrow screen stands for the card, for as long as none of it is in sight.
if (card) {
  new IntersectionObserver(([{ isIntersecting }]) => {
    html.toggleAttribute("data-card-seen", isIntersecting);
  }, { rootMargin: "0px 0px -64px" }).observe(card);
}

// Links to places on the page (skip link, summary of faults) move there without changing the
// address: the address is where the input stands.
document.addEventListener("click", (event) => {
  const anchor = event.target.closest?.('a[href^="#"]');
  if (!anchor) return;
  event.preventDefault();
  const target = document.getElementById(anchor.getAttribute("href").slice(1));
  if (target === null) return;
  openAround(target);
  if (!target.matches("input, select, textarea, button, a[href]")) target.tabIndex = -1;
  // Of what is taller than the screen its begin is wanted: to focus it alone would show its middle.
  const entry = target.matches("input, select, textarea");
  target.focus({ preventScroll: true });
  target.scrollIntoView({ block: entry ? "center" : "start" });
});

// Whether the list of what is withdrawn can be about this page. What it says of it Python reads.
function concerns(list) {
  const [id] = (main.dataset.recipe ?? "").split(".");
  return list.includes(html.dataset.edition) || (id !== "" && list.includes(`${id}.`));
}

async function begin() {
  if (!addressLink()) delete html.dataset.awaiting; // a fragment that is only a place
  for (const section of card.querySelectorAll("[data-section]")) published.set(section, section.innerHTML);
  listen();
  // The link needs Python in any case: it starts while the store is read.
  if (addressLink()) bridge.start();
  device = await store.read();
  const last = lastHere();
  const source = asOfNow(last ?? resume());
  // Whatever was typed while the store was read lies over what it held.
  const late = { ...source, fields: { ...source.fields, ...typed } };
  const asks = last === null && addressLink() !== "" && considers(late, device.drafts[draftKey]);
  if (!asks) {
    takeSource(late);
    remember();
  }
  choice.tellLeft(device.left?.[draftKey]?.which ?? "");
  watchWithdrawn(root, device.withdrawn ?? "", (text) => {
    const concerned = concerns(text) || concerns(device.withdrawn ?? "");
    remembering((stored) => { stored.withdrawn = text; });
    if (!concerned || choosing !== null) return;
    changed();
    ask();
  });
  // Slow to start is no reason never to be kept on the device.
  setTimeout(() => updates.begin(), BEGIN_UPDATES_MS);
  if (asks) return;
  if (bridge.broken) return tell.broken();
  const given = { ...kitchen, ...typed };
  if (link || (own && Object.keys(ownData).length) || concerns(device.withdrawn ?? "") || Object.keys(given).length || waitingForAnswer.length) {
    changed();
    if (source.newer) note = words.kitchen_newer;
    ask();
  } else {
    whenIdle(() => bridge.start(), 3000);
  }
}

begin();
