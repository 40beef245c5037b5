"""What readings taught about a kitchen's way of heating, as one line of text to be kept and brought back.

``still_oven: 1.04 x (0.05), +2.5 °C (1.8), 3f9a12c0``: for which medium, how many times as
quickly the core follows as foretold, how much warmer it is around the piece than set, each
with its standard deviation in brackets, and a mark of the readings that it came from: the
same readings must not teach twice.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass

from ..fields import OVENS
from .numbers import tidy

_NUMBER = r"([0-9]{1,3}(?:\.[0-9]{1,4})?)"
_FORM = re.compile(rf"([a-z_]+): ?{_NUMBER} x \({_NUMBER}\), ?([+-]?){_NUMBER} °C \({_NUMBER}\), ?([0-9a-f]{{8}})")
# Outside of these no oven was learnt: something else was typed.
RATES, MOST_RATE_SD = (0.3, 3.0), 1.0
MOST_OFFSET, MOST_OFFSET_SD = 60.0, 60.0  # K


@dataclass(frozen=True)
class LearntEntry:
    """What was learnt: ``oven`` one of fields.OVENS; ``rate`` [-] and ``offset`` [K] with their standard
    deviations, as in science.forecast.Learnt; ``mark`` of the readings."""

    oven: str
    rate: float
    offset: float
    rate_sd: float
    offset_sd: float
    mark: str
    text: str


def mark_of(readings: str) -> str:
    """The mark of readings, from their text."""
    return hashlib.sha256(readings.encode("utf-8", "surrogatepass")).hexdigest()[:8]


def read_learnt(text: str) -> LearntEntry | None:
    """Read what ``write_learnt`` wrote; None for anything else."""
    found = _FORM.fullmatch(tidy(text))
    if found is None or found[1] not in OVENS:
        return None
    rate, rate_sd, offset, offset_sd = float(found[2]), float(found[3]), float(f"{found[4]}{found[5]}"), float(found[6])
    if not (RATES[0] <= rate <= RATES[1] and rate_sd <= MOST_RATE_SD and abs(offset) <= MOST_OFFSET and offset_sd <= MOST_OFFSET_SD):
        return None
    return write_learnt(found[1], rate, offset, rate_sd, offset_sd, found[7])


def write_learnt(oven: str, rate: float, offset: float, rate_sd: float, offset_sd: float, mark: str) -> LearntEntry:
    """What was learnt, as an entry that reads back to the same; arguments as in LearntEntry."""
    rate, offset, rate_sd, offset_sd = round(rate, 3), round(offset, 1) + 0.0, round(rate_sd, 3), round(offset_sd, 1)
    return LearntEntry(oven, rate, offset, rate_sd, offset_sd, mark, f"{oven}: {rate:g} x ({rate_sd:g}), {offset:+g} °C ({offset_sd:g}), {mark}")
