// The page to compare with: the runtime as it comes, in a worker, and a table that it draws.
const worker = new Worker(new URL("worker.js", import.meta.url), { type: "module" });
worker.addEventListener("message", (event) => {
  document.querySelector("main").innerHTML = event.data;
});
