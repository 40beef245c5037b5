// The logs of batches that are finished, and all that this device keeps: into files and back. What a
// file holds is read by Python, whole or not at all.

import { instant, now } from "./clock.js";
import { button, fill, find, head, make, row, say, under, when, words } from "./dom.js";
import { putAside } from "./kitchens.js";
import { saveFile } from "./own.js";
import { fresh } from "./store.js";

const LONGEST_FILE = 20_000_000;

// ask(day, input): asks Python; erased(): told when nothing is kept any more.
export function openLogs({ store, home, ask, erased }) {
  let known = []; // [{log, input, told, held}]; without an input a log came from a file, told says what is to be said of it

  async function again() {
    show((await store.read()).logs);
  }

  function show(logs) {
    known = logs ?? [];
    const kept = [...known].sort((one, other) => (one.log.begun < other.log.begun ? 1 : -1));
    find("no-logs").hidden = kept.length > 0;
    find("logs").replaceChildren(...kept.map(({ log, input, told, held }) => {
      const called = fill("log_of", { title: log.title, when: when(log.begun) });
      return make("li", { class: "day-log" }, make("details", { class: "more" }, make("summary", {}, called), input ? null : fromFile(told), logTable(log, held),
        make("p", { class: "buttons" },
          button(words.export_json, () => exportLog(log, "json")), button(words.export_csv, () => exportLog(log, "csv")),
          button(words.copy, () => copyRecipe(log, input)), button(words.delete_log, () => deleteLog(log.id), { class: "plain" }))));
    }));
  }

  // Anyone can write a file.
  function fromFile(told) {
    return make("div", { class: "trouble", "data-from-file": "" }, ...[words.from_file, ...(told ?? [])].map((text) => make("p", {}, text)));
  }

  function logTable(log, held) {
    // No grams of curing salt where they may not go in.
    const shown = (one, text) => (held && one.role === "curing_salt" ? "" : text);
    return make("div", {},
      make("p", { class: "aside" }, `${log.rules_edition}, ${log.build}`),
      make("table", {}, head(words.ingredient, words.amount, words.really), make("tbody", {}, ...log.amounts.map((one) => row(make("th", { scope: "row" }, one.name), make("td", { class: "num" }, shown(one, one.text)), make("td", { class: "num" }, shown(one, under(log.weighed, one.id))))))),
      log.readings.length ? make("h3", {}, words.readings) : null,
      log.readings.length ? make("ul", {}, ...log.readings.map((one) => make("li", {}, `${when(one.at)}: ${one.text}`))) : null,
      log.notes.length ? make("h3", {}, words.notes) : null,
      log.notes.length ? make("ul", {}, ...log.notes.map((note) => make("li", {}, `${when(note.at)}: ${note.text}`))) : null,
      log.next_time ? make("h3", {}, words.next_time) : null,
      log.next_time ? make("p", {}, log.next_time) : null);
  }

  async function exportLog(log, form) {
    const said = await ask({ do: "export", log, form }, {});
    if (!said) return;
    if (said.faults) return say(said.faults.map(({ text }) => text).join(" "));
    saveFile(said.name, said.text, form === "csv" ? "text/csv" : "application/json");
    say(words.saved);
  }

  // What a log's recipe is read from: what the batch was made from, or for a log from a file its link.
  const inputOf = (log, input) => input ?? (log.recipe && log.recipe !== "found" ? { page: "recipe", recipe: log.recipe, fields: log.inputs, confirmed_packs: [] } : null);

  async function copyRecipe(log, input) {
    const from = inputOf(log, input);
    if (from === null) return say(words.no_recipe);
    const said = await ask({ do: "copy", log }, from);
    if (!said) return;
    if (said.faults) return say(said.faults.map(({ text }) => text).join(" "));
    const slot = `${now().toString(36)}copy`;
    await store.update((stored) => {
      (stored.own ??= {})[slot] = said.data;
      stored.drafts.own = { link: "", fields: {}, own: said.data, slot };
    });
    if (store.refused) return saveFile(said.name, said.text);
    location.assign(new URL("own/", home));
  }

  async function deleteLog(id) {
    if (!confirm(words.delete_log_ask)) return;
    await store.update((stored) => { stored.logs = (stored.logs ?? []).filter(({ log }) => log.id !== id); });
    await again();
    document.getElementById("day-logs").focus();
  }

  function showFileFaults(name, faults) {
    const place = find(name);
    place.replaceChildren(...faults.map(({ text }) => make("li", {}, text)));
    place.hidden = faults.length === 0;
    if (faults.length) say(faults[0].text);
  }

  async function readFile(chooser) {
    const [file] = chooser.files;
    chooser.value = "";
    if (!file) return null;
    if (file.size > LONGEST_FILE) {
      say(words.too_long);
      return null;
    }
    return file.text();
  }

  async function importLog(chooser) {
    const text = await readFile(chooser);
    if (text === null) return;
    showFileFaults("import-faults", []);
    const said = await ask({ do: "import", text }, {});
    if (!said) return;
    if (said.faults) return showFileFaults("import-faults", said.faults);
    if (known.some(({ log }) => log.id === said.log.id)) return say(words.known_log);
    await store.update((stored) => { stored.logs = [...(stored.logs ?? []), { log: said.log, input: null, told: said.told, held: said.held }]; });
    await again();
    say(words.imported);
  }

  // -------------------------------------------------------------- all of the device

  async function saveBackup() {
    const device = await store.read();
    const logs = (device.logs ?? []).map(({ log }) => log);
    if (device.batch && !logs.some(({ id }) => id === device.batch.log.id)) logs.push(device.batch.log);
    const { kitchen, kitchenName, kitchens, drafts, own = {} } = device;
    const said = await ask({ do: "backup", now: instant(), device: { kitchen, kitchen_name: kitchenName, kitchens, drafts, own, logs } }, {});
    if (!said) return;
    if (said.faults) return say(said.faults.map(({ text }) => text).join(" "));
    saveFile(said.name, said.text, "application/json");
    say([words.backup_made, ...(said.left_out.length ? [fill("backup_left_out", { names: said.left_out.join(", ") })] : [])].join(" "));
  }

  async function restore(chooser) {
    const text = await readFile(chooser);
    if (text === null) return;
    showFileFaults("restore-faults", []);
    const said = await ask({ do: "restore", text }, {});
    if (!said) return;
    if (said.faults) return showFileFaults("restore-faults", said.faults);
    if (!confirm(words.restore_ask)) return;
    const { kitchen, kitchen_name: kitchenName, kitchens, drafts, logs, own } = said.device;
    await store.update((stored) => {
      // The kitchens of this device stay beside those of the file; of two with one name the file's counts.
      const some = kitchenName !== "" || Object.keys(kitchen).length > 0;
      if (some) putAside(stored, words.kitchen_first);
      Object.assign(stored.kitchens, kitchens);
      if (some) Object.assign(stored, { kitchen, kitchenName });
      else if (Object.hasOwn(kitchens, stored.kitchenName)) stored.kitchen = kitchens[stored.kitchenName];
      delete stored.kitchens[stored.kitchenName];
      for (const [place, fields] of Object.entries(drafts)) stored.drafts[place] = { link: "", fields };
      const here = new Set((stored.logs ?? []).map(({ log }) => log.id));
      stored.logs = [...(stored.logs ?? []), ...logs.filter(({ log }) => !here.has(log.id)).map((one) => ({ ...one, input: null }))];
      const known = new Set(Object.values(stored.own ?? {}).map((data) => JSON.stringify(data)));
      for (const [number, data] of own.entries()) {
        if (!known.has(JSON.stringify(data))) (stored.own ??= {})[`${now().toString(36)}r${number}`] = data;
      }
    });
    await again();
    say(words.restored);
  }

  async function erase() {
    if (!confirm(words.erase_ask)) return;
    await store.update((stored) => {
      for (const key of Object.keys(stored)) delete stored[key];
      Object.assign(stored, fresh());
    });
    history.replaceState(null, "", location.pathname);
    await erased();
    say(words.erased);
  }

  const press = (name, work) => find(name).addEventListener("click", work);
  press("import", () => find("import-file").click());
  press("backup", saveBackup);
  press("restore", () => find("restore-file").click());
  press("erase", erase);
  find("import-file").addEventListener("change", (event) => importLog(event.target));
  find("restore-file").addEventListener("change", (event) => restore(event.target));

  return { show };
}
