"""Whether Python's memory stays as it is over many recalculations."""

from __future__ import annotations

import json
import shutil
import tempfile
from pathlib import Path

from helpers.card_page import LOAF
from sitebuild import runtime

from .places import BATCH, KITCHEN

HERE = Path(__file__).resolve().parent


def over(dist: Path, times: int) -> dict[str, list[int]]:
    """Work out `times` cards in the runtime that `dist` ships, under Node.

    Returns {"bytes": size of the WebAssembly memory, "used": bytes of it that are in use}, each
    seen some twenty times on the way.
    """
    requests = [
        json.dumps({
            "id": step, "build": "bench", "want": ["all"],
            "input": {
                "page": "recipe", "recipe": LOAF, "confirmed_packs": [KITCHEN["pack"]],
                "fields": {**BATCH, **KITCHEN, "meat": f"{2 + step * 0.1:.1f} kg"},
            },
        })
        for step in range(40)
    ]  # fmt: skip
    with tempfile.TemporaryDirectory() as scratch:
        job, result = Path(scratch, "job.json"), Path(scratch, "result.json")
        # What ships does not export the account of its memory; the same program as pinned does.
        site = Path(scratch, "site")
        shutil.copytree(dist / "assets", site / "assets")
        (folder,) = site.glob("assets/pyodide-*")
        for name in ("pyodide.asm.mjs", "pyodide.asm.wasm"):
            shutil.copyfile(runtime.PYODIDE / name, folder / name)
        wanted = {"requests": requests, "times": times, "every": times // 20 or 1}
        job.write_text(json.dumps(wanted))
        runtime.node(HERE / "heap.mjs", site, job, result)
        return json.loads(result.read_text())
