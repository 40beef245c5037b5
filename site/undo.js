// One way back from whatever takes away what was typed: a button beside the status line, until
// something else is typed or the page is left.

export function openUndo({ button, line, words, say }) {
  let back = null;

  function forget() {
    back = null;
    button.hidden = true;
  }

  button.addEventListener("click", async () => {
    const work = back;
    forget();
    // The button is gone: without this the place in the order of tabbing would be lost.
    line.tabIndex = -1;
    line.focus({ preventScroll: true });
    await work?.();
    say(words.undone);
  });

  return {
    // work(): brings back what there was; at: whether the cook pressed something for it, and goes on from here.
    offer(work, at = true) {
      back = work;
      button.hidden = false;
      if (at) button.focus();
    },
    forget,
  };
}
