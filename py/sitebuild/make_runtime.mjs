// Makes the shipped runtime's parts, in stock Pyodide under Node.
//   node make_runtime.mjs JOB.json
// The job: {pyodide, work, micropip, wheels: [names in work/in], own: our wheel, imports,
// shipped: [modules] or null for all}. Into work/out go the compiled wheels, the standard library
// and the rest of both; micropip's lock goes to work/lock.json. exercise {shelf, requests: [[entry,
// JSON text]]} is what the tables of recorder.py are made with.

import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

// Left alone, Node would quote the line it failed in, and Pyodide's are a megabyte long.
process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).trim());
  process.exitCode = 1;
});

const job = JSON.parse(readFileSync(process.argv[2], "utf8"));
const { loadPyodide } = await import(pathToFileURL(join(job.pyodide, "pyodide.mjs")));

// A traceback names file and line; the columns beside them would be a tenth of all that is fetched.
const python = await loadPyodide({ indexURL: job.pyodide, env: { PYTHONNODEBUGRANGES: "1" } });
python.mountNodeFS("/build", job.work);
python.globals.set("job_text", JSON.stringify(job));

const lock = await python.runPythonAsync(`
import importlib, json, sys
from pathlib import Path
import pyodide_js

job = json.loads(job_text)
source, target = Path("/build/in"), Path("/build/out")
micropip_wheel = (source / job["micropip"]).read_bytes()

import site
pyodide_js.unpackArchive(
    __import__("js").Uint8Array.new(memoryview(micropip_wheel)), "wheel",
    extractDir=site.getsitepackages()[0],
)
importlib.invalidate_caches()
import micropip

# No resolution and no network: these files and no others.
await micropip.install([f"emfs:/build/in/{name}" for name in [*job["wheels"], job["own"]]], deps=False)
# A package that fails to install is only logged, so it is imported at once.
for name in job["imports"]:
    importlib.import_module(name)
lock = micropip.freeze()

sys.path.insert(0, "/build")
import in_pyodide
in_pyodide.make(job, source, target)
lock
`);

// Python with our packages, from one of the libraries that were made.
const packages = readdirSync(join(job.work, "out")).filter((name) => name.endsWith(".whl")).sort();
async function started(library) {
  const made = await loadPyodide({
    indexURL: job.pyodide, stdLibURL: join(job.work, library), env: { PYTHONNODEBUGRANGES: "1" }, stdout: () => {},
  });
  for (const name of packages) made.FS.writeFile(`/lib/${name}`, readFileSync(join(job.work, "out", name)));
  made.globals.set("packages", made.toPy(packages.map((name) => `/lib/${name}`)));
  made.globals.set("work", made.toPy(job.exercise));
  made.runPython("import sys; sys.path[:0] = packages");
  return made;
}

// At work and watched: the tables of what each start would work out anew.
const watched = await started("watched.zip");
watched.runPython(`
import recorder
of_the_library = recorder.of_the_library()
of_our_own = recorder.of_our_own(work["shelf"], work["requests"])
`);
for (const name of ["of_the_library", "of_our_own"]) {
  python.globals.set(name, python.toPy(watched.globals.get(name).toJs()));
}
python.runPython("in_pyodide.add_tables(job, target, bytes(of_the_library), bytes(of_our_own))");

// A start until its first answer, as it will be: what it runs of the library is put together.
const first = await started("out/python_stdlib.zip");
const ways = first.runPython(`
import _made_ready
import curebatch
curebatch.start(work["shelf"])
entry, request = work["requests"][0]
getattr(curebatch, entry)(request)
library = _made_ready.__spec__.origin.rpartition("/")[0] + "/"
run = [module for name, module in sys.modules.items() if name not in _made_ready.BEFORE and type(module) is not _made_ready.Later]
places = [getattr(module.__spec__, "origin", None) or "" for module in run]
" ".join(place.removeprefix(library) for place in places if place.startswith(library))
`);
python.globals.set("ways", ways);
python.runPython("in_pyodide.put_together(target, ways.split())");
writeFileSync(join(job.work, "lock.json"), lock);
