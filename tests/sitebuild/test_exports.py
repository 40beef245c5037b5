"""The runtime's program exports what its script asks for, and is else the one that was pinned."""

from __future__ import annotations

import json
import re
import subprocess

import pytest
from helpers.runtime import built_site
from sitebuild import exports
from sitebuild.runtime import PYODIDE

# WebAssembly's own reading of a program, by the engine that Node has.
READ = """
const program = new WebAssembly.Module(require("node:fs").readFileSync(process.argv[1]));
console.log(JSON.stringify(WebAssembly.Module.exports(program).map(({ name, kind }) => [name, kind])));
"""


def read(path) -> list[list[str]]:
    return json.loads(subprocess.run(["node", "-e", READ, str(path)], capture_output=True, text=True, check=True).stdout)


@pytest.fixture(scope="module")
def shipped():
    (folder,) = built_site().glob("assets/pyodide-*")
    return folder


@pytest.mark.site
def test_what_ships_exports_a_small_part_of_what_was_pinned_and_the_same_things(shipped):
    before, after = read(PYODIDE / "pyodide.asm.wasm"), read(shipped / "pyodide.asm.wasm")
    assert [name for name, _ in after] == exports.exported((shipped / "pyodide.asm.wasm").read_bytes())
    assert len(after) * 10 < len(before)
    # In the same order and of the same kind: entries were left out, and none was made or changed.
    rest = iter(before)
    assert all(entry in rest for entry in after)


@pytest.mark.site
def test_all_but_the_exports_is_as_it_was(shipped):
    def others(path):
        return [(number, content) for number, content in exports._sections(path.read_bytes()) if number != 7]

    assert others(PYODIDE / "pyodide.asm.wasm") == others(shipped / "pyodide.asm.wasm")


@pytest.mark.site
def test_whatever_the_scripts_name_is_there(shipped):
    """Each export that the pinned script uses anywhere but where it takes them all."""
    kept = set(exports.exported((shipped / "pyodide.asm.wasm").read_bytes()))
    text = (shipped / "pyodide.asm.mjs").read_text("utf-8") + (shipped / "pyodide.mjs").read_text("utf-8")
    all_of_them = exports.exported((PYODIDE / "pyodide.asm.wasm").read_bytes())
    said = set(re.findall(r"[\w$]+", re.sub(r"function assignWasmExports.*?\}|var (_[\w$]+,){100,}[\w$,]+;", "", text)))
    assert {name for name in all_of_them if {name, f"_{name}"} & said} <= kept


@pytest.mark.parametrize("script, program", [
    ("function other(){}", b"\0asm\1\0\0\0"),
    ("var " + ",".join(f"_a{n}" for n in range(1100)) + ";function assignWasmExports(wasmExports){}", b"\0asm\2\0\0\0"),
])  # fmt: skip
def test_a_runtime_of_another_shape_is_not_cut(script, program):
    with pytest.raises(exports.UnknownShape):
        exports.cut(script, program, "")
