// The kitchens of this device, each under the name that the cook gave it: which one is at work, a
// new one, another name, gone. What a kitchen holds are fields of the form, as typed; the one at work
// stands in the device's document as `kitchen`, the others as `kitchens`.

const FROM_LINK = " "; // no name begins with a blank
const LONGEST = 60;

// What a cook may call a kitchen; "" for what is no name, or is none that an object can hold.
const nameOf = (text) => text.replace(/^\s*__proto__\s*$/, "").replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]/g, " ").replace(/\s+/g, " ").trim().slice(0, LONGEST).trim();

function free(name, kitchens) {
  let tried = name;
  for (let number = 2; Object.hasOwn(kitchens, tried); number += 1) tried = `${name} ${number}`;
  return tried;
}

// Puts the kitchen at work aside, so that another can take its place.
export function putAside(stored, unnamed) {
  if (stored.kitchenName) stored.kitchens[stored.kitchenName] = stored.kitchen;
  else if (Object.keys(stored.kitchen).length) stored.kitchens[free(unnamed, stored.kitchens)] = stored.kitchen;
}

// device(): the stored document; foreign(): whether the form shows a kitchen that a link brought;
// fields(): what is stated of the kitchen in the form; remembering(change): keeps a change;
// taken(fields): told when another is at work, to lay it over the form; gone(back): told how to undo.
export function openKitchens({ place, words, say, device, foreign, fields, remembering, taken, gone }) {
  const find = (name) => place.querySelector(`[data-kitchen-${name}]`);
  const which = find("which");
  const naming = find("naming");
  const name = find("name");
  let asked = ""; // what the name is for: "save" or "rename"

  function show() {
    const { kitchenName, kitchens } = device();
    const names = [...new Set([kitchenName, ...Object.keys(kitchens)])].sort((one, other) => one.localeCompare(other));
    const options = names.map((one) => new Option(one || words.kitchen_unnamed, one));
    if (foreign()) options.unshift(new Option(words.kitchen_from_link, FROM_LINK));
    which.replaceChildren(...options);
    which.value = foreign() ? FROM_LINK : kitchenName;
    which.disabled = options.length < 2;
    find("rename").disabled = find("delete").disabled = foreign() || kitchenName === "";
  }

  function choose(chosen) {
    if (chosen === FROM_LINK) return;
    remembering((stored) => {
      if (stored.kitchenName === chosen) return;
      putAside(stored, words.kitchen_first);
      stored.kitchen = stored.kitchens[chosen] ?? {};
      stored.kitchenName = chosen;
      delete stored.kitchens[chosen];
    });
    taken(device().kitchen);
    show();
    say(words.kitchen_taken.replace("{name}", () => chosen || words.kitchen_unnamed));
  }

  function ask(what) {
    asked = what;
    naming.hidden = false;
    name.value = what === "rename" ? device().kitchenName : "";
    name.focus();
  }

  function done(button) {
    naming.hidden = true;
    asked = "";
    find(button).focus();
  }

  function named() {
    const { kitchenName, kitchens } = device();
    const wanted = nameOf(name.value);
    const known = Object.hasOwn(kitchens, wanted) || (asked === "save" && wanted === kitchenName);
    if (!wanted || known) {
      say(wanted ? words.kitchen_known : words.kitchen_nameless);
      return name.focus();
    }
    if (asked === "rename") {
      remembering((stored) => { stored.kitchenName = wanted; });
    } else {
      const made = fields();
      const brought = foreign();
      remembering((stored) => {
        // The first name is given to the kitchen that is there.
        if (brought || stored.kitchenName) putAside(stored, words.kitchen_first);
        stored.kitchen = made;
        stored.kitchenName = wanted;
      });
      taken(made);
    }
    say(words.kitchen_saved.replace("{name}", () => wanted));
    show();
    done(asked);
  }

  function drop() {
    const { kitchen, kitchenName, kitchens } = structuredClone(device());
    if (!confirm(words.kitchen_delete_ask.replace("{name}", () => kitchenName))) return;
    remembering((stored) => {
      // The next by name is at work then, so that no form stands without one.
      const [next = ""] = Object.keys(stored.kitchens).sort((one, other) => one.localeCompare(other));
      stored.kitchen = stored.kitchens[next] ?? {};
      stored.kitchenName = next;
      delete stored.kitchens[next];
    });
    taken(device().kitchen);
    show();
    gone(words.kitchen_deleted.replace("{name}", () => kitchenName), () => {
      remembering((stored) => { Object.assign(stored, { kitchen, kitchenName, kitchens }); });
      taken(kitchen);
      show();
    });
  }

  which.addEventListener("change", (event) => {
    event.stopPropagation();
    choose(which.value);
  });
  for (const kind of ["input", "change"]) name.addEventListener(kind, (event) => event.stopPropagation());
  name.addEventListener("keydown", (event) => {
    if (event.key === "Enter") named();
    else if (event.key === "Escape") done(asked);
    else return;
    event.preventDefault();
    event.stopPropagation(); // it is no key of the form's
  });
  place.addEventListener("click", (event) => {
    const button = event.target.closest("button");
    if (button === null) return;
    if (button === find("ok")) named();
    else if (button === find("cancel")) done(asked);
    else if (button === find("delete")) drop();
    else ask(button === find("rename") ? "rename" : "save");
  });

  return { show };
}
