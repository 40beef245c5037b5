// What is said while Python starts, and when it does not.

// The stages as they matter to someone who waits; all of them, timed, are in bridge.stages.
export function startWords(words, name) {
  return words[{ script: "starting", runtime: "starting_runtime", python: "starting_runtime" }[name] ?? "starting_code"];
}

export function tellStart(starting, words, text, progress) {
  starting.hidden = false;
  let line = starting.querySelector("p");
  if (line === null) {
    line = document.createElement("p");
    starting.replaceChildren(line);
  }
  if (line.textContent !== text) line.textContent = text;
  let bar = starting.querySelector("progress");
  if (!progress?.total) return bar?.remove();
  if (bar === null) {
    bar = document.createElement("progress");
    bar.setAttribute("aria-label", words.starting);
    starting.append(bar);
  }
  bar.max = progress.total;
  bar.value = Math.min(progress.loaded, progress.total);
}

export function tellTrouble(trouble, words, text, wayOut) {
  const line = document.createElement("p");
  line.textContent = text;
  const retry = document.createElement("button");
  retry.type = "button";
  retry.textContent = words.retry;
  retry.addEventListener("click", () => location.reload());
  trouble.replaceChildren(line, retry);
  if (wayOut) {
    const way = document.createElement("a");
    way.href = location.pathname;
    way.textContent = wayOut;
    trouble.append(" ", way);
  }
  trouble.hidden = false;
}
