// Timers of the steps. Kept are the instants at which they end, by the device's clock, so that they
// run on while the page is closed; shown is the time that is left, as on any kitchen clock.

import { now } from "./clock.js";

const two = (number) => String(number).padStart(2, "0");

function left(ms) {
  const seconds = Math.max(0, Math.ceil(ms / 1000));
  const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor((seconds % 3600) / 60)];
  return hours ? `${hours}:${two(minutes)}:${two(seconds % 60)}` : `${two(minutes)}:${two(seconds % 60)}`;
}

const BACK_MS = 30_000; // a clock that is set right by seconds is no news

// place: where they are shown; words(id, values); make(tag, given, ...inside); changed(running): told when one is
// started, rung or stopped; said(): told when they had to be put right. Running: {id: {from, low, high, rung, number}};
// from, low and high are instants, rung how often it rang.
export function openTimers({ place, words, make, changed, said }) {
  let running = {};
  let last = null; // {at, awake}: both clocks at the last look
  let sound = null;
  const shown = new Map(); // id to {line, clock, told}

  function ring() {
    navigator.vibrate?.([400, 200, 400]);
    try {
      sound ??= new AudioContext();
      for (const start of [0, 0.5, 1]) {
        const tone = sound.createOscillator();
        tone.frequency.value = 880;
        tone.connect(sound.destination);
        tone.start(sound.currentTime + start);
        tone.stop(sound.currentTime + start + 0.25);
      }
    } catch {
      // Without a sound the line says it all the same.
    }
  }

  function show(id) {
    const timer = running[id];
    const clock = make("span", { class: "day-clock", role: "timer", "aria-label": words("timer_running", { number: timer.number }) });
    const told = make("p", { class: "day-rung", role: "alert" });
    const stop = make("button", { type: "button", class: "plain", onclick: () => end(id) }, words("timer_stop", { number: timer.number }));
    const line = make("div", { class: "day-timer" }, clock, told, stop);
    shown.set(id, { line, clock, told });
    place.append(line);
  }

  function end(id) {
    delete running[id];
    shown.get(id)?.line.remove();
    shown.delete(id);
    place.hidden = Object.keys(running).length === 0;
    changed(structuredClone(running));
  }

  // A clock that is set back must not make anything cook longer than it was told. That it was set
  // forward cannot be told from sleep.
  function putRight(ids, by) {
    if (by <= BACK_MS || !ids.length) return;
    for (const id of ids) for (const key of ["from", "low", "high"]) running[id][key] -= by;
    said(words("timer_back"));
    changed(structuredClone(running));
  }

  function look() {
    const [at, awake] = [now(), performance.now()];
    if (last !== null) putRight(Object.keys(running), last.at + (awake - last.awake) - at);
    last = { at, awake };
    for (const [id, timer] of Object.entries(running)) {
      const at = now();
      const due = Number(at >= timer.low) + Number(timer.high > timer.low && at >= timer.high);
      if (due > timer.rung) {
        timer.rung = due;
        ring();
        changed(structuredClone(running));
      }
      const { clock, told } = shown.get(id);
      const text = left((due ? timer.high : timer.low) - at);
      if (clock.textContent !== text) clock.textContent = text;
      const rung = due ? words(due > 1 ? "timer_high" : "timer_low", { number: timer.number }) : "";
      if (told.textContent !== rung) told.textContent = rung;
    }
  }

  setInterval(look, 500);
  document.addEventListener("visibilitychange", look);

  return {
    start(id, seconds, most, number) {
      const at = now();
      if (id in running) end(id);
      running[id] = { from: at, low: at + seconds * 1000, high: at + most * 1000, rung: 0, number };
      try {
        sound ??= new AudioContext(); // a browser lets it sound only after a press
      } catch {
        // A page without sound shows its timers all the same.
      }
      place.hidden = false;
      show(id);
      look();
      changed(structuredClone(running));
    },
    // Those of a batch, as they were kept.
    take(kept) {
      running = structuredClone(kept ?? {});
      last = null;
      // Set back while the page was closed: at most they begin anew.
      for (const [id, { from }] of Object.entries(running)) putRight([id], from - now());
      shown.clear();
      place.replaceChildren();
      for (const id of Object.keys(running)) show(id);
      place.hidden = Object.keys(running).length === 0;
      look();
    },
  };
}
