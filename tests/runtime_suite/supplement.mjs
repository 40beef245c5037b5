// Compiles the test-only supplement inside Pyodide: pytest, hypothesis and what they need.
//   node supplement.mjs PYODIDE SITEBUILD WHEELS TARGET

import { join } from "node:path";
import { pathToFileURL } from "node:url";

process.on("uncaughtException", (error) => {
  console.error(String(error?.message ?? error).trim());
  process.exitCode = 1;
});

const [pyodide, sitebuild, wheels, target] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(join(pyodide, "pyodide.mjs")));
const python = await loadPyodide({ indexURL: pyodide });
python.mountNodeFS("/sitebuild", sitebuild);
python.mountNodeFS("/wheels", wheels);
python.globals.set("target", target);
python.runPython(`
import sys
from pathlib import Path

sys.dont_write_bytecode = True
sys.path.insert(0, "/sitebuild")
from files import read_zip, write_zip
from in_pyodide import compiled

content = {}
for wheel in sorted(Path("/wheels").glob("*.whl")):
    content |= read_zip(wheel.read_bytes())
made = compiled(content, "supplement.zip", docstrings=True)
Path("/wheels", target).write_bytes(write_zip(made, compress=True))
`);
