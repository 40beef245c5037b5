// Where a link meets what the cook has on the page: the question which of them is to stand, drawn by
// Python, and afterwards the way back to the one that was left.

const html = document.documentElement;

// choose("link" or "mine"), takeBack(), forget(): what the cook decides.
export function openChoice({ words, choose, takeBack, forget }) {
  const place = document.querySelector("[data-choice]");
  const left = document.querySelector("[data-left]");

  place.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-choose]");
    if (button) choose(button.dataset.choose);
  });

  function button(text, work, look = "") {
    const made = document.createElement("button");
    made.type = "button";
    made.className = look;
    made.textContent = text;
    made.addEventListener("click", work);
    return made;
  }

  return {
    // From here on the card is neither of the two, and nothing can be typed into either.
    begin() {
      html.dataset.choosing = "";
      html.dataset.awaiting = "";
    },
    ask(inner) {
      place.innerHTML = inner;
      place.setAttribute("aria-labelledby", place.querySelector("h2").id);
      place.hidden = false;
      place.focus();
    },
    end() {
      delete html.dataset.choosing;
      place.hidden = true;
      place.removeAttribute("aria-labelledby");
      place.replaceChildren();
    },
    // which: "mine", "link", or "" where nothing was left.
    tellLeft(which, moveThere = false) {
      left.hidden = which === "";
      if (!which) return left.replaceChildren();
      const line = document.createElement("p");
      line.textContent = words[`left_${which}`];
      const buttons = document.createElement("p");
      buttons.className = "buttons";
      buttons.append(button(words[`left_${which}_back`], takeBack), button(words.left_forget, forget, "plain"));
      left.replaceChildren(line, buttons);
      if (moveThere) left.focus();
    },
  };
}
