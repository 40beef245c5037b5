// For a page that shows a recipe in a frame: makes the frame as high as what is in it. It touches
// nothing else there, and sets an attribute, not a style, so that any content policy lets it.
(() => {
  const own = document.currentScript;
  if (!own) return;
  const home = new URL("./", own.src);
  const here = Symbol.for(`frames of ${home.href}`); // a page that pastes the lines twice needs it once
  if (globalThis[here]) return;
  globalThis[here] = true;
  const LEAST = 120; // CSS pixels
  const MOST = 6000;
  const SAME = 4; // a smaller change is a rounding, and following it could go on for ever

  const frames = () => [...document.querySelectorAll("iframe")].filter((frame) => frame.src.startsWith(`${home.href}embed/`));

  addEventListener("message", (event) => {
    // Only what the browser itself brings from the frame's own place is looked at.
    if (!event.isTrusted || event.origin !== home.origin || event.data?.curebatch !== "height") return;
    const { height } = event.data;
    const frame = frames().find(({ contentWindow }) => contentWindow === event.source);
    if (!frame || !Number.isFinite(height) || height <= 0) return;
    const wanted = Math.min(Math.max(Math.ceil(height), LEAST), MOST);
    if (Math.abs(wanted - Number(frame.height)) >= SAME) frame.height = String(wanted);
  });

  // A frame that was there before this script has told its height to nobody.
  const ask = () => frames().forEach(({ contentWindow }) => contentWindow?.postMessage({ curebatch: "height?" }, "*"));
  if (document.readyState === "complete") ask();
  else addEventListener("load", ask);
})();
