// The fields of a form: what they hold, how many are filled in where they are closed, and the faults
// at them.

export function valueOf(element) {
  return element.type === "checkbox" ? (element.checked ? element.value : "") : element.value;
}

// What stands in it where nothing was typed.
export function asDrawn(element) {
  if (element.type === "checkbox") return element.defaultChecked ? element.value : "";
  return element.options ? ([...element.options].find((option) => option.defaultSelected) ?? element.options[0]).value : element.defaultValue;
}

export function openAround(element) {
  for (let up = element.closest("details"); up; up = up.parentElement.closest("details")) up.open = true;
}

function describe(element, key, faulty) {
  const names = new Set((element.getAttribute("aria-describedby") ?? "").split(" ").filter(Boolean));
  if (faulty) names.add(`e-${key}`);
  else names.delete(`e-${key}`);
  if (names.size) element.setAttribute("aria-describedby", [...names].join(" "));
  else element.removeAttribute("aria-describedby");
  if (faulty) element.setAttribute("aria-invalid", "true");
  else element.removeAttribute("aria-invalid");
}

export function openForm(form, words) {
  function control(key) {
    return form.elements.namedItem(key);
  }

  function setValue(key, text) {
    const element = control(key);
    if (element === null) return;
    if (element.type === "checkbox") element.checked = text === element.value;
    else if (element.value !== text) element.value = text;
  }

  // A field that a draft or a link has filled in is not out of sight: the summary says how many there are.
  function tallyFilled() {
    for (const details of form.querySelectorAll("details")) {
      const filled = [...details.querySelectorAll("[name]")].filter((element) => element.type !== "hidden" && valueOf(element) !== "" && valueOf(element) !== asDrawn(element));
      let told = details.querySelector("[data-filled]");
      if (told === null) {
        told = document.createElement("span");
        told.dataset.filled = "";
        told.className = "filled";
        details.querySelector("summary").append(" ", told);
      }
      const text = filled.length ? words.filled.replace("{count}", String(filled.length)) : "";
      if (told.textContent !== text) told.textContent = text;
    }
  }

  function showFault(key, text) {
    const place = document.getElementById(`e-${key}`);
    const element = document.getElementById(`f-${key}`);
    if (place === null || element === null) return;
    // What is set to what it is makes a browser look all the same.
    if ((place.hidden ? "" : place.textContent) === text) return;
    place.textContent = text;
    place.hidden = text === "";
    describe(element, key, text !== "");
    // A fault inside closed details would be seen by nobody.
    if (text !== "") openAround(place);
  }

  function clearFaults() {
    for (const place of form.querySelectorAll("[data-fault]")) showFault(place.id.slice(2), "");
  }

  return { control, setValue, tallyFilled, showFault, clearFaults };
}
