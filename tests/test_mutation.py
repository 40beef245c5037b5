"""The list of mutants that may be missed is of lines that are there, each with a reason."""

import tomllib
from pathlib import Path

import curebatch

LEFT = Path(__file__).resolve().parent / "mutation" / "left.toml"
PROGRAM = Path(curebatch.__file__).parent


def test_what_may_be_missed_is_still_there_and_has_a_reason():
    for row in tomllib.loads(LEFT.read_text(encoding="utf-8")).get("left", []):
        assert set(row) <= {"module", "inside", "was", "now", "why"} and len(row["why"]) > 15, row
        lines = {line.strip() for line in (PROGRAM / row["module"]).read_text(encoding="utf-8").splitlines()}
        assert all(line in lines for line in row["was"].split("\n")), row
        assert row["inside"].split(".")[-1] in (PROGRAM / row["module"]).read_text(encoding="utf-8"), row
