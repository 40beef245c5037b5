// Copies a link or a text, shows it, and offers the device's own way of sharing where there is one.
// The texts are Python's; here a link is only put behind the page's own address.

export function linkAddress(fragment) {
  // The query is left out: it is read, but never written.
  return `${location.origin}${location.pathname}#${fragment}`;
}

export function hideLink(place) {
  place.replaceChildren();
  place.hidden = true;
}

export const showLink = (place, address, label, words, say) =>
  show(place, { kind: "url", text: address, label }, words, say);

// hint: a line below the text, or nothing; shared: whether it is something to send to people.
export const showText = (place, text, label, words, say, { hint = "", shared = true } = {}) =>
  show(place, { kind: shared ? "text" : "", text, label, hint }, words, say);

async function show(place, { kind, text, label, hint = "" }, words, say) {
  const caption = document.createElement("label");
  caption.htmlFor = "share-link";
  caption.textContent = label;
  const field = document.createElement(kind === "url" ? "input" : "textarea");
  if (kind === "url") field.type = "text";
  else field.rows = 8;
  field.id = caption.htmlFor;
  field.readOnly = true;
  field.value = text;
  place.replaceChildren(caption, field, ...below(hint), ...sender(kind, text, words));
  place.hidden = false;
  try {
    // Missing on plain http and refused in some frames: then the cook copies by hand.
    await navigator.clipboard.writeText(text);
    say(kind === "url" ? words.copied : words.copied_text);
  } catch {
    // The cook pressed Share: an explicit act, so focus may move to what it brought.
    field.focus();
    field.select();
    say(kind === "url" ? words.copy_failed : words.copy_failed_text);
  }
}

function below(hint) {
  if (!hint) return [];
  const line = document.createElement("p");
  line.className = "hint";
  line.textContent = hint;
  return [line];
}

// A button of its own: sharing must follow a press at once, and the text came only after one.
function sender(kind, text, words) {
  if (!kind || typeof navigator.share !== "function") return [];
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = words.send_on;
  button.addEventListener("click", async () => {
    try {
      await navigator.share({ title: document.title, [kind]: text });
    } catch {
      // Closed without choosing anybody, or not allowed here: the text stands above.
    }
  });
  return [button];
}
