// Runs before the first paint, so it is a blocking classic script and must stay tiny.
// The static page carries the card of the published recipe. When the address carries input of
// ours, that card is not the one that was meant: mark the page, and the style sheet hides the
// card, on screen and in print, until page.js has laid out the one for that input.
(() => {
  const html = document.documentElement;
  // Added to addresses by others on the way; they say nothing about the recipe. The same list as
  // where links are read, which a test compares.
  const tracker = /^(utm_[a-z_]{1,20}|fbclid|gclid|msclkid|mc_[ce]id|igshid|si)(=|$)/;
  // Places on the page itself, which are no input.
  const place = /^(eaten|now|main)$/;
  const carries = (text) => !place.test(text) && text.split("&").some((pair) => pair && !tracker.test(pair));

  // What the address carries, raw and unread: reading it is Python's work. page.js calls this too.
  // Where both parts carry something they are handed over together, so that a contradiction is
  // found out and neither is silently preferred.
  globalThis.addressInput = () =>
    [location.search.slice(1), location.hash.slice(1)].filter(carries).join("&");

  if (globalThis.addressInput()) html.dataset.awaiting = "";

  // If page.js or a part of it does not arrive, nothing else can say so.
  addEventListener("error", (event) => {
    if (event.target?.tagName !== "SCRIPT") return;
    const tell = () => {
      const words = JSON.parse(document.getElementById("words").textContent);
      for (const place of document.querySelectorAll("[data-trouble]")) {
        place.textContent = words.broken;
        place.hidden = false;
      }
    };
    if (document.readyState === "loading") addEventListener("DOMContentLoaded", tell);
    else tell();
  }, true);
})();
