// Pages without a card: the copy on the device, and on the start page the pack, which every recipe
// then takes from the kitchen. It is read where the card is made, and by nobody before.

import "./help.js";
import { whenIdle } from "./idle.js";
import "./language.js";
import { openStore } from "./store.js";
import { openUpdates } from "./update.js";

const words = JSON.parse(document.getElementById("words").textContent);
const updates = openUpdates({ words });

// After what the reader came for.
const begin = () => whenIdle(() => updates.begin(), 3000);
if (document.readyState === "complete") begin();
else addEventListener("load", begin);

const packForm = document.querySelector("[data-pack-first]");
if (packForm) {
  const store = openStore(new URL(document.documentElement.dataset.root || "./", location.href).pathname);
  const { pack } = packForm.elements;
  const told = packForm.querySelector("[data-pack-kept]");
  store.read().then(({ kitchen }) => { if (pack.value === "") pack.value = kitchen.pack ?? ""; });
  let timer = 0;
  const keep = async () => {
    clearTimeout(timer);
    const text = pack.value.trim();
    await store.update(({ kitchen }) => {
      if (text) kitchen.pack = text;
      else delete kitchen.pack;
    });
    // What it says is read on the page of a recipe; that a figure has no sign behind it is plain to see before.
    const bare = !/[0-9]\s*(%|m?g\s*\/\s*kg)/i.test(text);
    told.textContent = !text ? "" : bare ? packForm.dataset.bare : store.refused ? packForm.dataset.notKept : packForm.dataset.kept;
  };
  packForm.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(keep, 400);
  });
  packForm.addEventListener("change", keep);
  packForm.addEventListener("submit", (event) => {
    event.preventDefault();
    keep();
  });
}
