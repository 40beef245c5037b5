"""What the parts of an answer take in the shipped runtime, and how that grows with the ingredients."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path

from helpers.card_page import LOAF
from sitebuild import runtime

from .places import BATCH, KITCHEN

HERE = Path(__file__).resolve().parent
LINES = (1, 10, 100, 300)
TIMES = 15
OVEN = {
    "tin": "2 x box 30 x 10 x 8 cm", "oven": "still_oven", "oven_setting": "140 \N{DEGREE SIGN}C",
    "cover": "open", "wall": "metal", "start_temperature": "6 \N{DEGREE SIGN}C", "chill": "iced_water",
}  # fmt: skip
READ = {
    "readings": "0 min 6 \N{DEGREE SIGN}C; 20 min 14 \N{DEGREE SIGN}C; 40 min 30 \N{DEGREE SIGN}C; 55 min 41 \N{DEGREE SIGN}C",
    "wanted": "100 min",
}  # fmt: skip


def _loaf(want: str, step: int, **fields: str) -> str:
    given = {
        "page": "recipe", "recipe": LOAF, "confirmed_packs": [KITCHEN["pack"]],
        "fields": {**BATCH, **KITCHEN, "meat": f"{2 + step * 0.1:.1f} kg", **fields},
    }  # fmt: skip
    return json.dumps({"id": step, "build": "bench", "want": [want], "input": given})


def _own(want: str, step: int, lines: int) -> str:
    spices = [
        {"name": f"Spice {number}", "role": "spice", "amount": "0.1 g", "food": "Spices, mace, ground"}
        for number in range(lines - 1)
    ]
    meat = {"name": "Pork shoulder", "role": "meat", "amount": "100 %", "per": "meat", "food": "Pork, ground, 84% lean / 16% fat, raw"}
    recipe = {
        "title": "Many lines", "method": "ground", "kinds": ["pork"], "state": "held",
        "targets": {"nitrite": "100 mg/kg", "nitrite_as": "NaNO2", "nitrite_per": "mix", "salt": "2 %", "salt_per": "mix"},
        "batch": {"meat": f"{2 + step * 0.1:.1f} kg"}, "ingredient": [meat, *spices],
    }  # fmt: skip
    given = {"page": "own", "own": recipe, "confirmed_packs": [KITCHEN["pack"]], "fields": {**KITCHEN}}
    return json.dumps({"id": step, "build": "bench", "want": [want], "input": given})


def times(dist: Path) -> dict[str, list[float]]:
    """{what: [ms, one for each answer]}. Raises BuildError where a card has faults."""
    steps = range(TIMES)
    groups = {
        "weights": [_loaf("weights", step) for step in steps],
        "rest": [_loaf("rest", step) for step in steps],
        "forecast": [_loaf("forecast", step, **OVEN) for step in steps],
        "forecast, read and wanted": [_loaf("forecast", step, **OVEN, **READ) for step in steps],
        **{
            f"{count} ingredients, {want}": [_own(want, step, count) for step in steps]
            for count in LINES
            for want in ("weights", "rest")
        },
    }
    with tempfile.TemporaryDirectory() as scratch:
        job, result = Path(scratch, "job.json"), Path(scratch, "result.json")
        job.write_text(json.dumps({"groups": groups}))
        runtime.node(HERE / "cards.mjs", dist, job, result)
        return json.loads(result.read_text())
