// What was taken back, recipes and rules: read from the site whenever it can be reached, past every
// cache, and remembered for when it cannot. What it means for a card is Python's work.

const LOOK_AGAIN_MS = 5 * 60_000;
const LONGEST = 200_000;

// Why a list took this recipe back, or the rules it was worked out by; undefined where it did not. For
// where there is no Python, or none any more.
export function reasonIn(text, recipe, edition) {
  const list = JSON.parse(text || "{}");
  return [list?.recipes?.[recipe], list?.editions?.[edition]].find((each) => typeof each === "string");
}

// root: the site's address; changed(text): a list has come that is another than the one before.
export function watchWithdrawn(root, known, changed) {
  let text = known;
  let looked = -Infinity;

  async function look() {
    if (performance.now() - looked < LOOK_AGAIN_MS) return;
    looked = performance.now();
    try {
      const response = await fetch(new URL("withdrawn.json", root), { cache: "no-store", credentials: "omit" });
      if (!response.ok) return;
      const came = await response.text();
      JSON.parse(came); // a login page of some network is no list
      if (came === text || came.length > LONGEST) return;
      text = came;
      changed(came);
    } catch {
      looked = -Infinity; // not reached: again at the next occasion
    }
  }

  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && look());
  addEventListener("online", look);
  setInterval(look, LOOK_AGAIN_MS);
  look();
}
