// The day of the batch: one step at a time, timers, what was weighed and read, the log.
//
// A batch was frozen when it was begun: cards, weights and texts stand in the device's document as
// they were then, and nothing here changes them. What is typed is read and judged by Python, which
// need not be there for the steps, the weights and the timers. No quantity is computed here.

import { openBridge } from "./bridge.js";
import { instant, now, offsets, zoneName } from "./clock.js";
import { button, clean, clearFaults, field, fill, find, head, html, make, row, say, showFaults, unbroken, under, when, words } from "./dom.js";
import "./help.js";
import { openLogs } from "./logs.js";
import { saveFile } from "./own.js";
import { openStore } from "./store.js";
import { openTimers } from "./timers.js";
import { openUpdates } from "./update.js";
import { watchWithdrawn } from "./withdrawn.js";

const SPAN_BEFORE = 400 * 86_400_000;
const SPAN_AFTER = 62 * 86_400_000;

const root = new URL(html.dataset.root, location.href);
const home = new URL(html.dataset.home, location.href);
const store = openStore(root.pathname);

let device = null;
let batch = null; // the one in progress
let wasKept = true; // what stands here came from the device

function keep() {
  batch.kept = (batch.kept ?? 0) + 1;
  const kept = structuredClone(batch);
  device.batch = kept;
  return store.update((stored) => { stored.batch = kept; }).then(showKept);
}

// Whether what is written here outlives the page, and what of before could not be read.
function showKept() {
  const told = [];
  if (store.newer) told.push(words.kept_newer);
  else if (store.refused && batch) told.push(device.batch && wasKept ? words.not_written : words.not_kept);
  const aside = Object.keys(device.aside ?? {});
  if (aside.length) told.push(fill("kept_aside", { names: [...new Set(aside.map((key) => words[`aside_${key}`] ?? words.aside_other))].join(", ") }));
  const place = find("unkept");
  if (place.textContent !== told.join("")) place.replaceChildren(...told.map((text) => make("p", { class: "trouble" }, text)));
}

// ---------------------------------------------------------------- asking Python

const questions = []; // [{request, done}], one after the other
let inFlight = null;
let lastId = 0;

const bridge = openBridge({
  stage() {},
  slow() { tellStart(words.busy); },
  ready() { find("starting").hidden = true; updates.begin(); },
  answer(id, text) {
    if (id !== inFlight?.id) return;
    const { done } = inFlight;
    inFlight = null;
    done(JSON.parse(text).day);
    nextQuestion();
  },
  failed(id, detail) {
    console.warn(detail);
    if (id !== inFlight?.id) return;
    const { done } = inFlight;
    inFlight = null;
    say(words.failed);
    done(null);
    nextQuestion();
  },
  broken() {
    find("starting").hidden = true;
    const trouble = find("trouble");
    trouble.replaceChildren(make("p", {}, words.broken), button(words.retry, () => location.reload()));
    trouble.hidden = false;
    inFlight?.done(null);
    for (const { done } of questions.splice(0)) done(null);
    updates.begin();
  },
});

function tellStart(text) {
  const place = find("starting");
  place.replaceChildren(make("p", {}, text));
  place.hidden = false;
}

function nextQuestion() {
  if (inFlight !== null || questions.length === 0) return;
  inFlight = questions.shift();
  bridge.ask(inFlight.request);
}

// What Python says to {do, ...}: its answer, which may hold faults; null where there is none.
function ask(day, input = batch?.input ?? {}) {
  if (bridge.broken) return Promise.resolve(null);
  if (!bridge.ready) tellStart(words.starting);
  return new Promise((done) => {
    lastId += 1;
    // A batch that was finished meanwhile has no use for what is said of it.
    const [mine, id] = [input === batch?.input, batch?.log.id];
    const still = (said) => done(mine && batch?.log.id !== id ? null : said);
    questions.push({ id: lastId, done: still, request: {
      id: lastId, build: html.dataset.build, want: ["day"],
      input: { ...input, language: html.lang, ...(device.withdrawn ? { withdrawn: device.withdrawn } : {}), day },
    } });
    nextQuestion();
  });
}

// ---------------------------------------------------------------- ticks

const tickName = (...parts) => parts.join(".").replaceAll("_", "-").toLowerCase();
const ticked = (step) => batch.log.ticks.find((tick) => tick.step === step);

function tick(step, on = true) {
  if (on === Boolean(ticked(step))) return;
  if (on) batch.log.ticks.push({ at: instant(), step });
  else batch.log.ticks = batch.log.ticks.filter((other) => other.step !== step);
  keep();
}

function tickBox(step, ...label) {
  const box = make("input", { type: "checkbox", "data-tick": step, onchange: () => tick(step, box.checked) });
  box.checked = Boolean(ticked(step));
  return make("label", { class: "check day-check" }, box, make("span", {}, ...label));
}

// ---------------------------------------------------------------- the step at hand

const cards = () => batch.frozen.cards;
const card = () => cards()[batch.step] ?? null;

// What stands in place of a step that names the curing salt, while what was weighed lets none go in
// or has still to be judged; "" where nothing does.
let unjudged = 0;

function heldText(one) {
  if (batch.held?.cards.includes(one.id)) return batch.held.text;
  return unjudged > 0 && (one.kind === "read_back" || one.dose) ? words.busy : "";
}

function heldStep(text) {
  return make("p", { class: "day-text trouble", role: "alert", "data-held": "" }, text);
}

function showStep(focus) {
  const place = find("step");
  const here = card();
  const held = here === null ? "" : heldText(here);
  const position = () => make("h3", { id: "day-position", class: "day-position" }, here.position_text);
  const inside = here === null
    ? [...(batch.stopped ? [make("p", { class: "gives-stop" }, batch.stopped)] : []), make("h3", { id: "day-position" }, words.last)]
    : held ? [position(), heldStep(held)] : [position(), make("p", { class: "day-text" }, ...unbroken(here.text)), ...partsOf(here)];
  place.replaceChildren(...inside);
  find("back").disabled = batch.step === 0;
  find("next").hidden = here === null;
  showList();
  if (focus) {
    place.focus({ preventScroll: true });
    place.scrollIntoView({ block: "start" });
  }
}

function partsOf(here) {
  const parts = [];
  if (here.loads > 1) parts.push(make("p", { class: "day-read" }, fill("loads", { loads: here.loads })));
  if (here.kind === "weigh") {
    parts.push(make("ul", { class: "day-rows" }, ...here.rows.map((row) => make("li", {}, tickBox(tickName("weigh", row.id), make("span", { class: "name" }, row.name), " ", make("strong", { class: "day-weight" }, row.text)), weighed(row)))));
  }
  if (here.kind === "read_back") {
    const cure = batch.log.amounts.find((row) => row.role === "curing_salt");
    parts.push(make("p", { class: "day-dose" }, make("span", { class: "name" }, ...unbroken(here.name)), " ", make("strong", { class: "day-weight" }, here.weigh)));
    parts.push(make("ul", { class: "day-rows" }, ...here.asks.map((one) => make("li", {}, tickBox(tickName("read-back", one.id), ...unbroken(one.text))))));
    parts.push(make("p", { class: "fault", role: "alert", "data-unticked": "", hidden: true }, words.tick_first));
    parts.push(weighed(cure));
  }
  if (here.kind === "cooling" || here.readings?.some(({ what }) => what === "cooling")) parts.push(outOfTheHeat());
  for (const timer of here.timers ?? []) parts.push(startOf(timer, here));
  for (const reading of here.readings ?? []) parts.push(readingOf(reading));
  parts.push(make("div", { "aria-live": "polite", "data-said": "" }, ...readAt(here)));
  return parts;
}

let askedAt = ""; // the step that was to be left in spite of what it came to

function next() {
  const here = card();
  if (here && heldText(here)) return find("step").focus();
  const left = here?.kind === "read_back" ? [...find("step").querySelectorAll("[data-tick]")].find((box) => !box.checked) : null;
  if (left) {
    find("unticked").hidden = false;
    left.focus();
    return;
  }
  // Past what its thermometer has not let pass, only a second time.
  if (here && askedAt !== here.id && here.readings?.some(({ what }) => batch.notDone?.includes(what))) {
    askedAt = here.id;
    find("said", find("step")).replaceChildren(...readAt(here), make("p", { class: "trouble" }, words.next_stopped));
    return;
  }
  if (here) tick(here.id);
  go(batch.step + 1);
}

function go(step) {
  askedAt = "";
  batch.step = Math.max(0, Math.min(step, cards().length));
  keep();
  showStep(true);
}

function showList() {
  find("list").replaceChildren(...cards().map((one, index) => {
    const done = ticked(one.id);
    const text = one.kind === "step" ? heldText(one) || one.text : one.text.split(". ")[0];
    return make("li", {}, button(text, () => go(index), { class: "plain day-jump", ...(index === batch.step ? { "aria-current": "step" } : {}) }), done ? make("span", { class: "aside" }, ` ${fill("step_ticked", { when: when(done.at) })}`) : null);
  }));
}

// ---------------------------------------------------------------- what was really weighed

function weighed(row) {
  const name = `weighed-${row.id}`;
  const input = field(name, fill("weighed", { name: row.name }), "", { value: under(batch.log.weighed, row.id) });
  const out = make("div", { "aria-live": "polite", "data-judged-weight": "" });
  const judge = async () => {
    const element = input.querySelector("input");
    const text = element.value.trim();
    clearFaults(input);
    if (text === under(batch.log.weighed, row.id)) return;
    // What was judged before counted another weight: of this line, and with it of every other.
    for (const said of find("step").querySelectorAll("[data-judged-weight]")) said.replaceChildren();
    if (text === "") {
      delete batch.log.weighed[row.id];
      out.replaceChildren();
      keep();
      showBegun();
      return judgeAll();
    }
    // Until it is judged no grams of curing salt are shown, except where it is they that are typed.
    const waits = row.role === "curing_salt" ? 0 : 1;
    unjudged += waits;
    try {
      await judgeTyped(element, text);
    } finally {
      unjudged -= waits;
      if (batch && waits) showHeld();
    }
  };
  const judgeTyped = async (element, text) => {
    const said = await ask({ do: "weigh", log: batch.log, id: row.id, text, stage: "apart" });
    if (said === null || element.value.trim() !== text) return;
    if (said.faults) {
      // The old weight is not the one that was typed.
      delete batch.log.weighed[row.id];
      keep();
      showFaults(said.faults, { weighed: name });
      return judgeAll();
    }
    batch.log.weighed[row.id] = said.text;
    element.value = said.text;
    keep();
    out.replaceChildren(mishapOf(said.judged));
    showBegun();
    await judgeAll();
  };
  input.addEventListener("change", judge);
  input.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); judge(); } });
  const open = make("details", { class: "more day-weighed" }, make("summary", {}, words.other, make("span", { class: "quiet" }, `: ${row.name}`)), input, out);
  open.open = row.id in batch.log.weighed;
  return open;
}

const TONES = { fine: "ok", mend: "caution", measure: "incomplete", throw_away: "stop", call_first: "stop" };

// A judgement in Python's words.
function mishapOf(judged) {
  return make("div", { class: `verdict verdict-${TONES[judged.verdict]}`, "data-verdict": judged.verdict },
    make("h3", {}, judged.verdict_text),
    make("p", {}, judged.text),
    judged.more.length ? make("h4", {}, words.mishap_more) : null,
    judged.more.length ? make("ul", {}, ...judged.more.map((row) => make("li", {}, make("strong", {}, row.text), ` (${row.total_text})`))) : null,
    judged.todo.length ? make("h4", {}, words.mishap_todo) : null,
    judged.todo.length ? make("ol", {}, ...judged.todo.map(({ text }) => make("li", {}, text))) : null,
    ...judged.sources.map((text) => make("p", { class: "source" }, text)));
}

// ---------------------------------------------------------------- readings

function readingOf(reading) {
  const name = `reading-${reading.what}`;
  // One run of readings stands for all of them, so it has to be that of the slowest.
  const slowest = ["core", "cooling"].includes(reading.what) ? ` ${words.reading_slowest}` : "";
  const input = field(name, reading.text, fill("reading_hint", { example: reading.example ?? (reading.what === "weight" ? "2.1 kg" : "9 °C") }) + slowest);
  const element = input.querySelector("input");
  const earlier = field(`${name}-when`, words.reading_when, "", { type: "time" });
  const clock = earlier.querySelector("input");
  const down = async () => {
    const text = element.value.trim();
    clearFaults(input);
    if (!text) return element.focus();
    const at = instant(lastTime(clock.value));
    clock.value = "";
    element.value = "";
    // While the arithmetic starts this may take a while: what was typed is not gone.
    const place = find("said", find("step"));
    place?.replaceChildren(make("p", { class: "day-read" }, text), make("p", { class: "aside" }, words.busy));
    const said = await ask({ do: "read", log: batch.log, what: reading.what, text, at, piece: "" });
    if (said === null || said.faults) {
      place?.replaceChildren();
      if (!element.value) element.value = text;
      return said && showFaults(said.faults, { reading: name });
    }
    batch.log.readings.push(said.reading);
    const { id } = batch.log;
    await keep(); // what is said to be written down outlives a reload
    if (batch?.log.id !== id) return;
    showJudged(said);
    say(`${said.reading.text}. ${said.status}`);
    const out = find("said", find("step"));
    if (out) out.replaceChildren(make("p", { class: "day-read" }, `${said.reading.text}, ${when(at)} `, strikeOf(said.reading)), make("p", { class: said.verdict === "stop" ? "gives-stop" : said.tone === "caution" ? "trouble" : "" }, said.status));
  };
  element.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); down(); } });
  return make("div", { class: "day-reading" }, input, earlier, button(words.write_down, down));
}

// What was read at this step before the page was opened anew.
function readAt(here) {
  const whats = (here.readings ?? []).map(({ what }) => what);
  const read = batch.log.readings.filter(({ what }) => whats.includes(what)).at(-1);
  return read ? [make("p", { class: "day-read" }, `${read.text}, ${when(read.at)} `, strikeOf(read)), batch.notDone?.includes(read.what) ? make("p", { class: "gives-stop" }, batch.stopped) : ""] : [];
}

// The last time that the clock on the wall showed this; now, where nothing is said.
function lastTime(text) {
  const [hours, minutes] = text.split(":").map(Number);
  if (!text || Number.isNaN(minutes)) return now();
  const at = new Date(now());
  at.setHours(hours, minutes, 0, 0);
  if (at.getTime() > now()) at.setDate(at.getDate() - 1);
  return at.getTime();
}

function outOfTheHeat() {
  const at = batch.log.times.out;
  if (at) {
    return make("p", { class: "day-read" }, fill("out_at", { when: when(at) }), " ", button(words.undo, () => {
      delete batch.log.times.out;
      keep();
      showStep(true);
      judgeAll();
    }, { class: "plain" }));
  }
  return make("p", {}, button(words.out_now, () => {
    batch.log.times.out = instant();
    keep();
    showStep(true);
  }));
}

// What was misread or mistyped is taken out where it stands.
function strikeOf(reading) {
  return button(fill("strike", { text: reading.text }), (event) => {
    const inStep = event.target.closest("[data-step]") !== null;
    const at = batch.log.readings.findIndex((other) => ["at", "what", "text"].every((key) => other[key] === reading[key]));
    if (at >= 0) batch.log.readings.splice(at, 1);
    batch.notDone = (batch.notDone ?? []).filter((what) => what !== reading.what); // until what is left is judged
    keep();
    showReadings();
    judgeAll();
    if (card() !== null) showStep(inStep);
    if (!inStep) find("judged").closest("details").querySelector("summary").focus();
  }, { class: "plain" });
}

function showReadings() {
  find("nothing").hidden = batch.log.readings.length > 0;
  find("readings").replaceChildren(...batch.log.readings.map((reading) => make("li", {}, `${when(reading.at)}: ${reading.text} `, strikeOf(reading))));
}

// What was read and has not come out as it must, by what was read: at its step it is said again.
function keepNotDone(notDone) {
  if (JSON.stringify(batch.notDone ?? []) === JSON.stringify(notDone)) return;
  batch.notDone = notDone;
  keep();
}

function showJudged({ sections = {}, warnings, verdict, status, not_done: notDone = [] }) {
  keepNotDone(notDone);
  // A stop stands before the end of the steps, and does so before the arithmetic has started again.
  const stopped = verdict === "stop" ? status : "";
  if ((batch.stopped ?? "") !== stopped) {
    batch.stopped = stopped;
    keep();
    if (card() === null) showStep(false);
  }
  for (const [key, inner] of Object.entries(sections)) {
    const place = find("judged").querySelector(`[data-section="${CSS.escape(key)}"]`);
    // Written by Python from its own templates, where everything typed is escaped.
    if (place) place.innerHTML = inner;
  }
  find("judged").dataset.judged = "done";
  if (warnings) find("warnings").replaceChildren(...warnings.map((text) => make("p", { class: "trouble" }, text)));
  showReadings();
}

// The step at hand anew, where what stands in its place is another by now; and whatever else names its grams.
function showHeld() {
  const here = card();
  const shown = find("held", find("step"))?.textContent ?? "";
  if (here && heldText(here) !== shown) showStep(false);
  else showList();
  showBegun();
  showSheet();
}

// What all of it comes to by the program of today, and whether that would weigh otherwise.
async function judgeAll() {
  const id = batch?.log.id;
  const said = await ask({ do: "judge", log: batch.log });
  if (said === null || batch?.log.id !== id) return;
  if (said.faults) find("warnings").replaceChildren(...said.faults.map(({ text }) => make("p", { class: "trouble" }, text)));
  else showJudged(said);
  if (said.faults || JSON.stringify(said.held) === JSON.stringify(batch.held ?? null)) return;
  batch.held = said.held;
  keep();
  showHeld();
}

// ---------------------------------------------------------------- timers

const timers = openTimers({
  place: find("timers"), words: fill, make, said: say,
  changed(running) {
    batch.timers = running;
    keep();
  },
});

function startOf(timer, here) {
  return make("p", {}, button(fill("timer_start", { length: timer.text }), () => {
    timers.start(timer.id, timer.seconds, timer.most, here.number);
    find("timers").scrollIntoView({ block: "nearest" });
  }, { class: "day-start" }));
}

// ---------------------------------------------------------------- the screen stays on

let lock = null;

async function stayAwake(told = false) {
  const box = find("awake");
  if (!box.checked || !batch || document.visibilityState !== "visible") return;
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    box.checked = false;
    if (told) say(words.awake_failed);
  }
}

async function letSleep() {
  await lock?.release().catch(() => {});
  lock = null;
}

// ---------------------------------------------------------------- the card as begun, notes, paper

// No grams of curing salt while none may go in.
function weightOf(one) {
  const role = batch.log.amounts.find((other) => other.id === one.id)?.role;
  return role === "curing_salt" && batch.held ? "" : one.text;
}

function showBegun() {
  const { log } = batch;
  find("amounts").replaceChildren(
    make("p", {}, batch.frozen.texts.verdict),
    make("table", {}, head(words.ingredient, words.amount, words.really),
      make("tbody", {}, ...log.amounts.map((one) => row(make("th", { scope: "row" }, one.name), make("td", { class: "num" }, weightOf(one)), make("td", { class: "num" }, under(log.weighed, one.id)))))));
}

function showNotes() {
  find("notes").replaceChildren(...batch.log.notes.map((note) => make("li", {}, make("span", { class: "aside" }, `${when(note.at)} `), note.text)));
}

function addNote() {
  const text = clean(document.getElementById("f-note").value);
  if (!text) return document.getElementById("f-note").focus();
  batch.log.notes.push({ at: instant(), text });
  document.getElementById("f-note").value = "";
  keep();
  showNotes();
  say(words.noted);
}

// The sheet for those who write by hand: what is known in print, blanks beside it.
function showSheet() {
  const { sheet } = batch.frozen;
  const names = new Map(cards().map((one) => [one.id, one]));
  const table = (heads, rows) => make("table", { class: "blanks" }, head(...heads), make("tbody", {}, ...rows));
  const plan = batch.plan?.plan.events.filter((event) => event.by_hand) ?? [];
  find("sheet").replaceChildren(
    make("h2", {}, words.sheet),
    table([words.ingredient, words.amount, words.blank_weighed], sheet.weighed.map((one) => row(make("th", { scope: "row" }, one.name), make("td", {}, weightOf(one)), make("td", { class: "blank" })))),
    ...(plan.length ? [table([words.plan, "", words.blank_step], plan.map((event) => row(make("th", { scope: "row" }, event.text), make("td", {}, event.when_text), make("td", { class: "blank" }))))] : []),
    table([words.steps, words.blank_reading, words.blank_step], sheet.steps.map((one) => row(make("th", { scope: "row" }, `${one.number}. ${heldText(one) || one.text}`), make("td", { class: "blank" }, ...(names.get(one.id)?.readings ?? []).map(({ text }) => make("span", { class: "aside" }, text))), make("td", { class: "blank" })))),
    make("p", {}, words.blank_notes), make("p", { class: "blank-lines" }));
}

// ---------------------------------------------------------------- the timetable

let planFields = null;

async function showPlanForm() {
  if (planFields !== null || !batch) return;
  planFields = [];
  const said = await ask({ do: "plan_form" });
  if (said === null || said.faults) {
    planFields = null;
    return said && say(said.faults.map(({ text }) => text).join(" "));
  }
  planFields = said.fields;
  const served = document.getElementById("f-served");
  served.replaceChildren(...said.served.map(({ value, text }) => new Option(text, value)));
  find("plan-fields").replaceChildren(...planFields.map((one) => {
    const made = field(one.key, one.label, one.hint, { "data-plan-key": one.key });
    made.dataset.served = one.served.join(" ");
    return made;
  }));
  const texts = batch.plan?.texts ?? {};
  for (const [key, text] of Object.entries(texts)) {
    const element = document.getElementById(`f-${key}`);
    if (element) element.value = text;
  }
  if (!served.value) served.selectedIndex = 0;
  suitServed();
  showPlan();
}

function suitServed() {
  const served = document.getElementById("f-served").value;
  for (const one of find("plan-fields").children) one.hidden = !one.dataset.served.split(" ").includes(served);
}

// What the timetable is asked with: texts, the clock, and the zone over as long as the plan may be.
function planInput() {
  const serve = document.getElementById("f-serve").value;
  const offset = document.getElementById("f-serve-offset").value.trim();
  const texts = { serve, "serve-offset": offset, served: document.getElementById("f-served").value };
  for (const one of find("plan-fields").querySelectorAll("input")) texts[one.dataset.planKey] = one.value.trim();
  const aim = Date.parse(serve) || now();
  const [from, to] = [Math.min(now(), aim), Math.max(now(), aim)];
  // A slip in the year must not keep the page busy: Python says what is wrong with it.
  const span = to - from > 5 * 365 * 86_400_000 ? [now(), now()] : [from, to];
  return {
    texts,
    asked: {
      plan: { ...texts, serve: serve && offset ? `${serve}${offset}` : serve }, now: instant(), zone: zoneName(),
      offsets: offsets(span[0] - SPAN_BEFORE, span[1] + SPAN_AFTER), log: batch.log,
    },
  };
}

async function makePlan(event) {
  event.preventDefault();
  const form = find("plan");
  clearFaults(form);
  const { texts, asked } = planInput();
  const said = await ask({ do: "plan", ...asked });
  if (said === null) return;
  if (said.faults) {
    find("offset").hidden = !said.faults.some(({ code }) => code === "time_twice") && !texts["serve-offset"];
    return showFaults(said.faults);
  }
  batch.plan = { texts, plan: said.plan };
  keep();
  showPlan();
  showSheet();
}

function showPlan() {
  const plan = batch.plan?.plan;
  if (!plan) return find("plan-out").replaceChildren();
  find("plan-out").replaceChildren(...[
    make("h3", {}, plan.met ? words.plan_met : words.plan_not_met), make("p", {}, `${plan.serve_text} (${plan.zone})`),
    plan.gives.length ? make("h4", {}, words.plan_gives) : null,
    plan.gives.length ? make("ul", { class: "day-gives" }, ...plan.gives.map((one) => make("li", { class: `gives-${one.severity}` }, one.text))) : null,
    make("ol", { class: "day-plan" }, ...plan.events.map((event) => make("li", { class: event.hard ? "is-hard" : "" }, make("time", { datetime: event.at.utc }, event.when_text), " ", make("strong", {}, event.text), event.detail_text ? make("p", { class: "aside" }, event.detail_text) : null))),
    make("p", { class: "source" }, plan.source),
  ].filter(Boolean)); // where there is nothing a place stays empty, and is not written out as "null"
}

async function saveCalendar() {
  clearFaults(find("plan"));
  const { texts, asked } = planInput();
  const said = await ask({ do: "calendar", ...asked, sequence: batch.sequence });
  if (said === null) return;
  if (said.faults) return showFaults(said.faults);
  batch.sequence += 1;
  batch.plan ??= { texts, plan: null };
  keep();
  saveFile(said.name, said.text, "text/calendar");
  say(words.saved);
}

// ---------------------------------------------------------------- mistakes

function suitMishap() {
  const kind = document.getElementById("f-kind");
  const asks = (kind.selectedOptions[0]?.dataset.asks ?? "").split(" ");
  for (const one of find("mishap").querySelectorAll("[data-mishap-field]")) one.hidden = !asks.includes(one.dataset.mishapField);
  find("mishap-out").replaceChildren();
  clearFaults(find("mishap"));
}

async function judgeMishap(event) {
  event.preventDefault();
  const form = find("mishap");
  clearFaults(form);
  const kind = document.getElementById("f-kind");
  if (!kind.value) return kind.focus();
  const asked = { do: "mishap", kind: kind.value, log: batch.log };
  for (const one of form.querySelectorAll("[data-mishap-field]:not([hidden])")) asked[one.dataset.mishapField] = one.querySelector("input, select").value.trim();
  const said = await ask(asked);
  if (said === null) return;
  if (said.faults) return showFaults(said.faults);
  const text = clean(`${kind.selectedOptions[0].textContent}: ${said.mishap.text} ${said.mishap.verdict_text}`);
  const down = button(words.mishap_log, () => {
    batch.log.notes.push({ at: instant(), text });
    keep();
    showNotes();
    down.disabled = true;
    say(words.noted);
  });
  find("mishap-out").replaceChildren(mishapOf(said.mishap), make("p", {}, down));
}

// ---------------------------------------------------------------- the end, and the logs

async function finish() {
  if (document.getElementById("f-note").value.trim()) addNote();
  batch.log.next_time = clean(document.getElementById("f-next-time").value);
  const { log, input } = structuredClone(batch);
  await endBatch((stored) => {
    stored.logs = [...(stored.logs ?? []).filter((other) => other.log.id !== log.id), { log, input }];
  });
  say(words.finished);
  document.getElementById("day-logs").focus();
}

async function endBatch(change = () => {}) {
  batch = null;
  letSleep();
  timers.take({});
  await store.update((stored) => {
    delete stored.batch;
    change(stored);
  });
  device = await store.read();
  planFields = null;
  show();
}

function discard() {
  if (confirm(words.discard_ask)) endBatch();
}

// ---------------------------------------------------------------- the page

function show() {
  const going = batch !== null;
  find("none").hidden = going;
  find("batch").hidden = !going;
  if (going) {
    find("title").textContent = batch.log.title;
    find("begun").textContent = `${fill("begun", { when: when(batch.log.begun) })}.`;
    find("under").textContent = batch.frozen.texts.under;
    // As it was judged last, until Python is there to judge it again.
    find("warnings").replaceChildren(...(batch.held ? [make("p", { class: "trouble" }, batch.held.text)] : []));
    document.getElementById("f-next-time").value = batch.log.next_time;
    timers.take(batch.timers);
    showStep(false);
    showReadings();
    showBegun();
    showNotes();
    showPlan();
    showSheet();
    suitMishap();
  } else {
    timers.take({});
  }
  logs.show(device.logs);
  showKept();
}

const logs = openLogs({
  store, home, ask,
  async erased() {
    batch = null;
    letSleep();
    timers.take({});
    device = await store.read();
    planFields = null;
    show();
  },
});

const updates = openUpdates({ words, busy: () => batch !== null });

function listen() {
  const press = (name, work) => find(name).addEventListener("click", work);
  press("next", next);
  press("back", () => go(batch.step - 1));
  press("add-note", addNote);
  press("finish", finish);
  press("discard", discard);
  press("print", () => print());
  press("calendar", saveCalendar);
  find("plan").addEventListener("submit", makePlan);
  find("mishap").addEventListener("submit", judgeMishap);
  document.getElementById("f-kind").addEventListener("change", suitMishap);
  document.getElementById("f-served").addEventListener("change", suitServed);
  document.querySelector('[data-more="plan"]').addEventListener("toggle", (event) => event.target.open && showPlanForm());
  document.getElementById("f-next-time").addEventListener("change", (event) => {
    batch.log.next_time = clean(event.target.value);
    keep();
  });
  find("awake").addEventListener("change", (event) => (event.target.checked ? stayAwake(true) : letSleep()));
  document.addEventListener("visibilitychange", () => {
    stayAwake();
    catchUp();
  });
}

// The same batch may have gone on in another tab: what was written last holds.
async function catchUp() {
  if (document.visibilityState !== "visible" || store.refused) return;
  const stored = await store.read();
  if (stored.batch?.log.id === batch?.log.id && (stored.batch?.kept ?? 0) <= (batch?.kept ?? 0)) return;
  device = stored;
  batch = stored.batch ?? null;
  planFields = null;
  show();
  if (batch) judgeAll();
}

async function begin() {
  delete html.dataset.awaiting;
  device = await store.read();
  wasKept = !store.refused;
  batch = device.batch ?? null;
  listen();
  show();
  if (batch) {
    if (navigator.wakeLock) find("awake").checked = true;
    stayAwake();
    judgeAll();
  } else {
    bridge.start();
  }
  watchWithdrawn(root, device.withdrawn ?? "", (text) => {
    device.withdrawn = text;
    store.update((stored) => { stored.withdrawn = text; });
    if (batch) judgeAll();
  });
  setTimeout(() => updates.begin(), 20_000);
}

begin();
