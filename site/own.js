// A recipe of one's own as a form: rows that come and go, a file in and out. What a value means is
// Python's to say; here the form is collected into the recipe file's data, by the paths that the
// inputs carry ("targets.nitrite", "ingredient.2.amount", counted from 1 as in the faults).

const ROW = "[data-own-row]";

export function openOwn(form) {
  const list = form.querySelector("[data-own-rows]");
  const pattern = form.querySelector("template[data-own-pattern]");
  const steps = form.querySelector("[data-own-steps]");
  // What a form has no place for comes from a file and goes back into it.
  let unshown = {};

  const fields = () => [...form.querySelectorAll("[data-own]")];

  function number() {
    for (const [index, row] of [...list.querySelectorAll(ROW)].entries()) {
      for (const element of row.querySelectorAll("[data-own-key]")) {
        const key = element.dataset.ownKey;
        const path = `ingredient.${index + 1}.${key}`;
        element.dataset.own = path;
        element.id = `f-${path}`;
        const cell = element.closest("[data-own-cell]");
        cell.querySelector("label").htmlFor = element.id;
        const fault = cell.querySelector("[data-fault]");
        fault.id = `e-${path}`;
        const hint = cell.querySelector(".hint");
        if (hint) hint.id = `h-${path}`;
        const told = [hint?.id, fault.hidden ? "" : fault.id].filter(Boolean).join(" ");
        if (told) element.setAttribute("aria-describedby", told);
        else element.removeAttribute("aria-describedby");
      }
      for (const place of row.querySelectorAll("[data-own-number]")) place.textContent = String(index + 1);
    }
  }

  function makeRow(values = {}) {
    const row = pattern.content.firstElementChild.cloneNode(true);
    for (const element of row.querySelectorAll("[data-own-key]")) put(element, values[element.dataset.ownKey]);
    row.unshown = Object.fromEntries(Object.entries(values).filter(([key]) => !row.querySelector(`[data-own-key="${CSS.escape(key)}"]`)));
    list.append(row);
    return row;
  }

  function addRow() {
    const row = makeRow();
    number();
    return row;
  }

  function put(element, value) {
    if (element.type === "checkbox") element.checked = Array.isArray(value) ? false : value === true;
    else element.value = value === undefined || value === null ? "" : String(value);
  }

  function take(element) {
    if (element.type === "checkbox") return element.checked ? true : undefined;
    const text = element.value.trim();
    if (text === "") return undefined;
    // The few whole numbers of a recipe file; anything else stays text, to be refused by name.
    if (element.dataset.ownWhole !== undefined && /^[0-9]{1,6}$/.test(text)) return Number(text);
    if (element.dataset.ownYesNo !== undefined) return text === "true";
    return text;
  }

  function collect() {
    const data = structuredClone(unshown);
    for (const element of fields()) {
      if (element.closest(ROW)) continue;
      const value = take(element);
      if (value === undefined) continue;
      const [table, key] = element.dataset.own.split(".");
      if (key === undefined) data[table] = value;
      else (data[table] ??= {})[key] = value;
    }
    const kinds = [...form.querySelectorAll("[data-own-kind]")].filter((box) => box.checked).map((box) => box.value);
    data.kinds = kinds;
    data.ingredient = [...list.querySelectorAll(ROW)].map((row) => {
      const made = { ...row.unshown };
      for (const element of row.querySelectorAll("[data-own-key]")) {
        const value = take(element);
        if (value !== undefined) made[element.dataset.ownKey] = value;
      }
      return made;
    });
    // Faults name rows by their number: only those at the end may be left out.
    while (data.ingredient.length && !Object.keys(data.ingredient.at(-1)).length) data.ingredient.pop();
    const texts = steps.value.split("\n").map((line) => line.trim()).filter(Boolean);
    if (texts.length) data.step = texts.map((text) => ({ text }));
    return data;
  }

  function fill(data) {
    const shown = new Set(fields().filter((element) => !element.closest(ROW)).map((element) => element.dataset.own));
    unshown = {};
    for (const [key, value] of Object.entries(data)) {
      if (["kinds", "ingredient", "step"].includes(key)) continue;
      if (value !== null && typeof value === "object" && !Array.isArray(value)) {
        const rest = Object.entries(value).filter(([name]) => !shown.has(`${key}.${name}`));
        if (rest.length) unshown[key] = Object.fromEntries(rest);
      } else if (!shown.has(key)) {
        unshown[key] = value;
      }
    }
    for (const element of fields()) {
      if (element.closest(ROW)) continue;
      const [table, key] = element.dataset.own.split(".");
      put(element, key === undefined ? data[table] : data[table]?.[key]);
    }
    for (const box of form.querySelectorAll("[data-own-kind]")) box.checked = Array.isArray(data.kinds) && data.kinds.includes(box.value);
    list.replaceChildren();
    for (const values of Array.isArray(data.ingredient) ? data.ingredient : []) makeRow(values ?? {});
    if (!list.children.length) makeRow();
    number();
    steps.value = (Array.isArray(data.step) ? data.step : []).map((step) => step?.text ?? "").join("\n");
  }

  function removeRow(row) {
    const next = row.nextElementSibling ?? row.previousElementSibling;
    row.remove();
    if (!list.children.length) addRow();
    number();
    (next ?? list.firstElementChild).querySelector("[data-own-key]").focus();
  }

  return { collect, fill, addRow, removeRow, row: ROW };
}

// The file of a recipe, saved by the browser.
export function saveFile(name, text, type = "application/toml") {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
