"""Lighthouse on the start page, as on a phone."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import tempfile
from pathlib import Path

from engines.drivers import CHROMIUM_ARGUMENTS, program

HERE = Path(__file__).resolve().parent
CATEGORIES = ("performance", "accessibility", "best-practices", "seo")
FIGURES = {"largest paint": "largest-contentful-paint", "layout shift": "cumulative-layout-shift"}


def run(url: str, runs: int) -> dict[str, list[float]]:
    """Scores [of 100] by category, the largest paint [ms] and the layout shift, one of each run.

    The package has to be installed beside this file; python3 build.py bench does that.
    """
    seen: dict[str, list[float]] = {}
    for _ in range(runs):
        report = _once(url)
        for category in CATEGORIES:
            score = report["categories"][category]["score"]
            seen.setdefault(category, []).append(100 * (score or 0))
        for name, audit in FIGURES.items():
            seen.setdefault(name, []).append(report["audits"][audit]["numericValue"])
    return seen


def _once(url: str) -> dict:
    flags = ["--headless=new", *CHROMIUM_ARGUMENTS]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        flags.append("--no-sandbox")
    with tempfile.TemporaryDirectory() as scratch:
        target = Path(scratch, "report.json")
        # fmt: off
        words = [
            "node", HERE / "node_modules" / "lighthouse" / "cli" / "index.js", url,
            "--output=json", f"--output-path={target}", "--quiet", "--no-enable-error-reporting",
            f"--only-categories={','.join(CATEGORIES)}", f"--chrome-flags={' '.join(flags)}",
        ]
        # fmt: on
        done = subprocess.run(
            [str(word) for word in words],
            check=False,
            capture_output=True,
            text=True,
            env={**os.environ, "CHROME_PATH": program("CHROMIUM")},
        )
        if done.returncode or not target.is_file():
            raise RuntimeError(f"Lighthouse failed: {done.stderr[-2000:]}")
        return json.loads(target.read_text(encoding="utf-8"))


def medians(seen: dict[str, list[float]]) -> dict[str, float]:
    """The median of each figure."""
    return {name: statistics.median(values) for name, values in seen.items()}
