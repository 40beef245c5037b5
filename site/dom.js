// The page of the day puts its parts together here: elements, words, fields and the faults at them.

export const html = document.documentElement;
export const find = (name, within = document) => within.querySelector(`[data-${name}]`);
const read = (id) => JSON.parse(document.getElementById(id).textContent);
export const words = { ...read("words"), ...read("day-words") };

// A word with its places filled in.
export function fill(id, values = {}) {
  return words[id].replace(/\{([a-z_]+)\}/g, (_, name) => values[name] ?? "");
}

export function make(tag, given = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(given)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name in element && typeof value !== "string") element[name] = value;
    else element.setAttribute(name, value);
  }
  element.append(...inside.filter((one) => one !== null && one !== undefined && one !== ""));
  return element;
}

// A text in pieces of which no line ends between a figure and its unit.
const WITH_UNIT = /((?<![\w.,])-?(?:[0-9]+[.,–-])*[0-9]+ (?:%|mg\/kg|g|kg|°C|°F|oz|lb|ml|l|cm|mm|min|h)(?![\w/]))/;
export const unbroken = (text) => text.split(WITH_UNIT).map((part, index) => (index % 2 ? make("span", { class: "whole" }, part) : part));

export const button = (text, work, given = {}) => make("button", { type: "button", onclick: work, ...given }, text);

export function say(text) {
  const line = find("status");
  // Said twice, it has to be another text to be heard.
  line.textContent = line.textContent === text ? `${text}\u00a0` : text;
}

const dates = new Intl.DateTimeFormat(html.lang, { weekday: "short", day: "numeric", month: "long", hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

// As the timetable writes it.
export function when(at) {
  const parts = Object.fromEntries(dates.formatToParts(new Date(at)).map(({ type, value }) => [type, value]));
  return fill("when", parts);
}

// Shows faults at the fields they belong to; those of no field here are said.
export function showFaults(faults, names = {}) {
  const left = [];
  let first = null;
  for (const { field, text } of faults) {
    const name = names[field] ?? field;
    const place = document.getElementById(`e-${name}`);
    const element = document.getElementById(`f-${name}`);
    if (place === null || element === null) {
      left.push(text);
      continue;
    }
    place.textContent = text;
    place.hidden = false;
    element.setAttribute("aria-invalid", "true");
    element.setAttribute("aria-describedby", [document.getElementById(`h-${name}`)?.id, place.id].filter(Boolean).join(" "));
    first ??= element;
  }
  first?.focus();
  say([...left, ...(first ? faults.filter(({ text }) => !left.includes(text)).map(({ text }) => text) : [])].join(" "));
}

export function clearFaults(within) {
  for (const place of within.querySelectorAll("[data-fault]")) {
    place.hidden = true;
    place.textContent = "";
    const name = place.id.slice(2);
    const element = document.getElementById(`f-${name}`);
    element?.removeAttribute("aria-invalid");
    if (element && document.getElementById(`h-${name}`)) element.setAttribute("aria-describedby", `h-${name}`);
    else element?.removeAttribute("aria-describedby");
  }
}

// A text field with its label, hint and the place for its fault.
export function field(name, label, hint = "", given = {}) {
  return make("div", { class: "field" },
    make("label", { for: `f-${name}` }, label),
    hint ? make("p", { class: "hint", id: `h-${name}` }, hint) : null,
    make("input", { type: "text", id: `f-${name}`, autocapitalize: "none", spellcheck: "false", autocomplete: "off", ...(hint ? { "aria-describedby": `h-${name}` } : {}), ...given }),
    make("p", { class: "fault", id: `e-${name}`, "data-fault": "", hidden: true }));
}

// What a text field gives the log: control signs belong to no note.
export const clean = (text) => text.replace(/\r\n?/g, "\n").replace(/[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u2028\u2029]/g, "").trim().slice(0, 1900);

export const row = (...cells) => make("tr", {}, ...cells);
export const head = (...texts) => make("thead", {}, row(...texts.map((text) => make("th", { scope: "col" }, text))));

// What a table holds under a name that somebody else chose; "" where it is the name of something
// that every object has.
export const under = (table, name) => (Object.hasOwn(table, name) ? table[name] : "");
