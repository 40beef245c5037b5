// The recipe in a frame of another site's page. Until the reader types, nothing is loaded but this
// and the list of what is withdrawn; from then on Python works in the frame as it does on the page.
// Nothing is kept and nothing registered: this is somebody else's house.

import { reasonIn, watchWithdrawn } from "./withdrawn.js";

const html = document.documentElement;
const main = document.querySelector("main");
const words = JSON.parse(document.getElementById("words").textContent);
const root = new URL(html.dataset.root, location.href);
const form = main.querySelector("[data-form]");
const card = main.querySelector("[data-card]");
const published = main.querySelector("[data-published]");
const statusLine = main.querySelector("[data-status]");
const trouble = main.querySelector("[data-trouble]");

// ---------------------------------------------------------------- looks and size

const LOOKS = ["light", "dark"]; // anything else: as the reader's device has it
const look = new URLSearchParams(location.search).get("look");
if (LOOKS.includes(look)) html.dataset.look = look;

// The height is no secret, and who embeds this is not known here. What may be done with it, the
// script on that page decides.
function tellHeight() {
  if (parent !== self) parent.postMessage({ curebatch: "height", height: Math.ceil(main.getBoundingClientRect().height) }, "*");
}
new ResizeObserver(tellHeight).observe(main);
addEventListener("message", (event) => {
  if (event.source === parent && event.data?.curebatch === "height?") tellHeight();
});

// ---------------------------------------------------------------- what was taken back

let withdrawn = "";

watchWithdrawn(root, "", (text) => {
  withdrawn = text;
  const reason = reasonIn(text, main.dataset.recipe, html.dataset.edition);
  if (reason === undefined) return;
  main.querySelector("[data-usable]")?.remove();
  const place = main.querySelector("[data-withdrawn]");
  if (place) place.textContent = `${words.withdrawn_frame} ${reason}`;
});

// ---------------------------------------------------------------- the reader's own pack

let bridge = null;
let revision = 0;
let confirmed = "";

const tell = {
  stage(name) { say(words[{ script: "starting", runtime: "starting_runtime", python: "starting_runtime" }[name] ?? "starting_code"]); },
  slow() { say(words.slow); },
  ready() {},
  answer: layOut,
  failed() { fail(words.broken_answer); },
  broken() { fail(words.broken_frame); },
};

function say(text) {
  statusLine.classList.remove("quiet");
  if (statusLine.textContent !== text) statusLine.textContent = text;
}

function fail(text) {
  say("");
  trouble.textContent = text;
  trouble.hidden = false;
  card.hidden = true;
  published.hidden = false;
}

const day = () => {
  const now = new Date();
  return [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((part) => String(part).padStart(2, "0")).join("-");
};

const stated = () => [...form.querySelectorAll("input")].some((field) => field.value.trim() !== "");

async function ask() {
  revision += 1;
  const id = revision;
  // An old dose beside new input is a wrong dose, and so is the published batch's.
  card.hidden = true;
  trouble.hidden = true;
  published.hidden = stated();
  if (!stated()) return say("");
  if (bridge === null) {
    say(words.starting);
    try {
      const { openBridge } = await import("./bridge.js");
      bridge ??= openBridge(tell);
    } catch {
      return fail(words.broken_frame);
    }
  }
  if (bridge.broken) return fail(words.broken_frame);
  if (id !== revision) return;
  const fields = Object.fromEntries([...new FormData(form)].map(([key, text]) => [key, String(text)]));
  bridge.ask({
    id,
    build: html.dataset.build,
    input: {
      language: html.lang,
      page: "recipe",
      recipe: main.dataset.recipe,
      fields: { ...fields, ...(confirmed ? { pack_check: confirmed } : {}) },
      ...(withdrawn ? { withdrawn } : {}),
      today: day(),
    },
    want: ["weights"],
  });
}

function layOut(id, text) {
  if (id !== revision) return;
  const came = JSON.parse(text);
  for (const section of card.querySelectorAll("[data-section]")) section.innerHTML = came.sections[section.dataset.section] ?? "";
  for (const place of form.querySelectorAll("[data-fault]")) {
    const own = came.faults.filter(({ field }) => `e-${field}` === place.id).map((fault) => fault.text).join(" ");
    place.textContent = own;
    place.hidden = own === "";
    const control = document.getElementById(place.id.replace("e-", "f-"));
    if (own) control.setAttribute("aria-invalid", "true");
    else control.removeAttribute("aria-invalid");
    const told = [document.getElementById(place.id.replace("e-", "h-"))?.id, own ? place.id : ""].filter(Boolean).join(" ");
    if (told) control.setAttribute("aria-describedby", told);
    else control.removeAttribute("aria-describedby");
  }
  card.hidden = false;
  say(came.status);
  // It stands on the card as well: here it is heard.
  statusLine.classList.toggle("quiet", came.faults.length === 0);
}

if (form) {
  form.hidden = false;
  form.addEventListener("input", () => {
    confirmed = "";
    ask();
  });
  form.addEventListener("submit", (event) => event.preventDefault());
  card.addEventListener("change", (event) => {
    const label = event.target.dataset?.confirmPack;
    if (label === undefined) return;
    confirmed = event.target.checked ? label : "";
    ask();
  });
}
