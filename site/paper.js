// The sheet and the fridge label: made by Python when they are asked for, laid where only paper
// shows them. Until then, and when the program cannot start, paper carries the card as it stands.

const html = document.documentElement;

function place(kind) {
  let found = document.querySelector(`[data-paper="${kind}"]`);
  if (found === null) {
    found = document.createElement("div");
    found.dataset.paper = kind;
    document.body.append(found);
  }
  return found;
}

// What was laid out belonged to another input.
export function clearPaper() {
  delete html.dataset.print;
  for (const old of document.querySelectorAll("[data-paper]")) old.remove();
}

// hand(kind): asks Python, gives its text, "" where there is nothing to print, null where it cannot be asked.
export function openPaper({ hand, refuse }) {
  async function printOut(kind) {
    const made = await hand(kind);
    if (made === "") return refuse();
    if (made !== null) {
      place(kind).innerHTML = made;
      html.dataset.print = kind;
    } else if (kind !== "sheet") return refuse();
    print();
  }

  // The browser's own menu prints the card where no sheet was asked for: with what is folded on a screen, too.
  const unfolded = [];
  addEventListener("beforeprint", () => {
    if (html.dataset.print) return;
    for (const fold of document.querySelectorAll("[data-card] details:not([open])")) {
      fold.open = true;
      unfolded.push(fold);
    }
  });
  addEventListener("afterprint", () => {
    for (const fold of unfolded.splice(0)) fold.open = false;
  });

  // A label is printed once; what is printed next, by the browser's own menu, is the sheet or the card.
  addEventListener("afterprint", () => {
    if (html.dataset.print !== "label") return;
    if (document.querySelector('[data-paper="sheet"]')) html.dataset.print = "sheet";
    else delete html.dataset.print;
  });
  addEventListener("keydown", (event) => {
    if (event.key.toLowerCase() !== "p" || !(event.ctrlKey || event.metaKey) || event.shiftKey || event.altKey) return;
    event.preventDefault();
    printOut("sheet");
  });
  return printOut;
}
