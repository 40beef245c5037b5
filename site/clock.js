// The device's clock, read in one place: the time is an input of everything else.

export const now = () => globalThis.deviceClock?.() ?? Date.now();

// An instant in UTC, to the second, as Python reads it.
export const instant = (at = now()) => new Date(at).toISOString().replace(/\.\d+Z$/, "Z");

export const zoneName = () => Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC";

const DAY = 86_400_000;
const MINUTE = 60_000;
const offsetAt = (at) => -new Date(at).getTimezoneOffset();

// The zone's offsets from UTC over a span, as Python wants them: [{from_utc, offset_min}]. The
// browser tells them only one instant at a time, so they are looked for.
export function offsets(from, to) {
  // Clocks change on whole minutes of UTC.
  const begin = Math.floor(from / MINUTE) * MINUTE;
  const found = [{ from_utc: instant(begin), offset_min: offsetAt(begin) }];
  for (let day = begin; day < to; day += DAY) {
    let [before, after] = [day, day + DAY];
    if (offsetAt(before) === offsetAt(after)) continue;
    while (after - before > MINUTE) {
      const middle = before + Math.floor((after - before) / 2 / MINUTE) * MINUTE;
      if (offsetAt(middle) === offsetAt(before)) before = middle;
      else after = middle;
    }
    found.push({ from_utc: instant(after), offset_min: offsetAt(after) });
  }
  return found;
}

const LATE_MS = 5_000;

// Calls after so many milliseconds that the page was awake; gives what stops the wait. A timer that
// comes much too late slept with the page, and so did what is waited for: then the wait begins anew.
export function afterAwake(ms, work) {
  let timer = 0;
  const wait = () => {
    const begun = performance.now();
    timer = setTimeout(() => (performance.now() - begun > ms + LATE_MS ? wait() : work()), ms);
  };
  wait();
  return () => clearTimeout(timer);
}
