"""The golden cases: [{"name", "request", "shown": {where: text}}] in tests/golden/*.json.

`where` is a way into the answer, its steps parted by dots: "card.amounts.0.weigh.text".
"""

from __future__ import annotations

import json
from pathlib import Path

GOLDEN = Path(__file__).resolve().parents[1] / "golden"


def cases() -> list[dict]:
    found = []
    for path in sorted(GOLDEN.glob("*.json")):
        for case in json.loads(path.read_text(encoding="utf-8")):
            found.append({**case, "name": f"{path.stem}: {case['name']}"})
    return found


def shown(answer: dict, where: str) -> object:
    """What stands at `where`; None where the answer has no such place."""
    place: object = answer
    for step in where.split("."):
        if isinstance(place, list) and step.lstrip("-").isdigit():
            place = place[int(step)] if int(step) < len(place) else None
        elif isinstance(place, dict):
            place = place.get(step)
        else:
            return None
    return place


def flattened(expected: dict, above: str = "") -> dict[str, object]:
    """A nested "shown" as {where: text}, so that a case may be written either way."""
    out: dict[str, object] = {}
    for key, value in expected.items():
        where = f"{above}.{key}" if above else key
        if isinstance(value, dict):
            out.update(flattened(value, where))
        elif isinstance(value, list):
            out.update(flattened({str(n): item for n, item in enumerate(value)}, where))
        else:
            out[where] = value
    return out
