// Runs a Python program inside a made runtime, under Node.
//   node run.mjs JOB.json
// The job: {root, told: what assets/runtime.js tells, project: the folder seen as /project,
// rest: whether the rest may be fetched, supplement: an archive put on sys.path or null,
// shelf: the shelf's text, program: Python that leaves its findings, as JSON text, in `found`,
// given: what it is given as `given`, result: where the findings go}.

import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

// Left alone, Node would quote the line it failed in, and Pyodide's are a megabyte long.
process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).trim());
  process.exitCode = 1;
});

const job = JSON.parse(readFileSync(process.argv[2], "utf8"));
const at = (way) => join(job.root, way);
let fetched = 0;
globalThis.restAsked = () => fetched;
globalThis.pythonRest = () => {
  fetched += 1;
  return job.rest ? Uint8Array.from(readFileSync(at(job.told.rest))) : null;
};

const { loadPyodide } = await import(pathToFileURL(at(job.told.mjs)));
const python = await loadPyodide({
  indexURL: at(job.told.indexURL),
  stdLibURL: at(job.told.stdlib),
  lockFileURL: at(job.told.lock),
  packages: job.told.packages,
  stdout: () => {},
});
python.mountNodeFS("/project", job.project);
if (job.supplement) python.FS.writeFile("/supplement.zip", readFileSync(job.supplement));
python.globals.set("shelf_text", job.shelf);
python.globals.set("given_text", JSON.stringify(job.given ?? null));
python.runPython(job.program);
writeFileSync(job.result, JSON.stringify({ ...JSON.parse(python.globals.get("found")), fetched }));
