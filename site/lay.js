// A section of the card brought to what an answer says. From key to key most of it stays as it is, and
// most of what changes is texts and attributes of the same elements: those are set, in place. Only
// where elements come, go or change places is it left to the library to find which is which.

import { Idiomorph } from "./morph.js";

const MORPHING = {
  ignoreActiveValue: true,
  callbacks: {
    // Whether details are open is the reader's affair.
    beforeAttributeUpdated: (name, element) => !isReaders(element, name),
  },
};

const isReaders = (element, name) => name === "open" && element.nodeName === "DETAILS";

const laid = new WeakMap(); // the inner HTML that a section has
const parser = document.createElement("template");

export function laySection(section, inner) {
  // What can be ticked may differ from how it was laid.
  const ticked = section.querySelector("input") !== null;
  if (laid.get(section) === inner && !ticked) return;
  laid.set(section, inner);
  if (inner === "") return section.replaceChildren();
  parser.innerHTML = inner;
  if (ticked || !settleChildren(section, parser.content)) Idiomorph.morph(section, [...parser.content.childNodes], { ...MORPHING, morphStyle: "innerHTML" });
  parser.replaceChildren();
}

// It was changed by somebody else.
export const forget = (section) => laid.delete(section);

// Whether they are as many as before, each of its kind: then all is as it is to be.
function settleChildren(now, then) {
  const [mine, theirs] = [[...now.childNodes], [...then.childNodes]];
  if (mine.length !== theirs.length || !mine.every((node, index) => isOfKind(node, theirs[index]))) return false;
  mine.forEach((node, index) => settle(node, theirs[index]));
  return true;
}

const isOfKind = (now, then) => now.nodeName === then.nodeName && now.id === then.id;

function settle(now, then) {
  if (now.isEqualNode(then)) return;
  if (now.nodeType !== Node.ELEMENT_NODE) {
    if (now.data !== then.data) now.data = then.data;
    return;
  }
  for (const { name } of [...now.attributes]) {
    if (!then.hasAttribute(name) && !isReaders(now, name)) now.removeAttribute(name);
  }
  for (const { namespaceURI, name, value } of then.attributes) {
    if (now.getAttribute(name) !== value && !isReaders(now, name)) now.setAttributeNS(namespaceURI, name, value);
  }
  if (!settleChildren(now, then)) Idiomorph.morph(now, [...then.childNodes], { ...MORPHING, morphStyle: "innerHTML" });
}
