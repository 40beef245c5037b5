// Copies a link and shows it. The link's text is Python's; here it is only put behind the page's
// own address.

export function linkAddress(fragment) {
  // The query is left out: it is read, but never written.
  return `${location.origin}${location.pathname}#${fragment}`;
}

export function hideLink(place) {
  place.replaceChildren();
  place.hidden = true;
}

export async function showLink(place, address, label, words, say) {
  const caption = document.createElement("label");
  caption.htmlFor = "share-link";
  caption.textContent = label;
  const field = document.createElement("input");
  field.type = "text";
  field.id = caption.htmlFor;
  field.readOnly = true;
  field.value = address;
  place.replaceChildren(caption, field);
  place.hidden = false;
  try {
    // Missing on plain http and refused in some frames: then the cook copies by hand.
    await navigator.clipboard.writeText(address);
    say(words.copied);
  } catch {
    // The cook pressed Share: an explicit act, so focus may move to what it brought.
    field.focus();
    field.select();
    say(words.copy_failed);
  }
}
