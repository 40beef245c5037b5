"""Valid texts broken in ways that a person, a bad connection or an enemy would, and what no card may say whatever came.

CUREBATCH_ATTACKS sets how many cases each kind of input gets; 100,000 is the long profile, which
also tells the slowest input of each kind.
"""

from __future__ import annotations

import os
import sys
import time
import tomllib
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import curebatch
from curebatch.day import log
from curebatch.fields import MASS
from curebatch.intake.document import Document
from curebatch.intake.units import read_amount
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from .kitchens import LOAF, card_for

LONG = "CUREBATCH_ATTACKS" in os.environ
# Inside the runtime each case takes several times as long.
CASES = int(os.environ.get("CUREBATCH_ATTACKS", "80" if sys.platform == "emscripten" else "400"))

attacked = settings(max_examples=CASES, deadline=None, suppress_health_check=list(HealthCheck))

#: What is put in: signs that mean something to a reader, a shell, a browser or a template, and sizes.
BARBS = (
    "\u202e", "\u200b", "\ufeff", "\x00", "\x1b[2J", "\ud800", "e\u0301\u0301\u0301", "🧂", "１２", "١٢", "½", "⅞ 1", "\u2212", "–", "\u00a0", "\u2028", "\r\n", "\n", "\t",
    "<script>alert(1)</script>", "'\"><img src=x onerror=alert(1)>", "javascript:alert(1)", "{{7*7}}", "{% raw %}", "{salt}", "%s%n", "%00", "%ff", "%", "+", "&", "=", ";", "#", "?",
    "__proto__", "constructor", "../../etc", "nan", "inf", "-inf", "1e999", "0x10", "1_000", "9" * 30, "0" * 30 + "1", "-1", "0", "0.0000000001", "1,500", "1.500", "9**9**9", "1/0", "63/64",
    "[", "]", "{", "}", "[" * 40, "{" * 40, '{"a":' * 20, ".a" * 40, "\"", "'", '"""', "'''", "\\", "\\u0000", ",", ":", "null", "true", "NaN", "x" * 300, " " * 300,
    " kg", " g", " %", " mg/kg", " oz", " °C", "-", " to ", "=cmd", "@", "KNO2", "0.4-0.5 %",
)  # fmt: skip

_PLACE = st.integers(0, 9_999)
_WAYS = st.tuples(st.sampled_from(("put", "put", "swap sign", "cut", "take out", "double", "swap", "digit", "turn")), _PLACE, _PLACE, st.sampled_from(BARBS))


def _change(text: str, way: str, one: int, other: int, barb: str) -> str:
    if not text:
        return barb
    low, high = sorted((one % len(text), other % len(text)))
    if way == "put":
        return text[:low] + barb + text[low:]
    if way == "swap sign":
        return text[:low] + barb + text[low + 1:]
    if way == "cut":
        return text[:low]
    if way == "take out":
        return text[:low] + text[high:]
    if way == "double":
        return text[:high] + text[low:high] + text[high:]
    if way == "swap":
        middle = (low + high) // 2
        return text[:low] + text[middle:high] + text[low:middle] + text[high:]
    if way == "digit":
        places = [place for place, sign in enumerate(text) if sign.isascii() and sign.isdigit()]
        if not places:
            return text
        at = places[one % len(places)]
        return text[:at] + str(other % 10) + text[at + 1:]
    return text[:low] + text[low:high][::-1] + text[high:]


@st.composite
def broken(draw, seeds: Iterable[str], most: int = 5, least: int = 1) -> str:
    """One of the valid texts ``seeds`` with up to ``most`` changes."""
    text = draw(st.sampled_from(list(seeds)))
    for change in draw(st.lists(_WAYS, min_size=least, max_size=most)):
        text = _change(text, *change)
    return text


WARM = 50  # the first cases load what all need


class Slowest:
    """The input of one kind that took the longest; a figure to look at, never a judgement."""

    def __init__(self, kind: str):
        self.kind, self.cases, self.took, self.text = kind, 0, 0.0, ""

    def run(self, work, *given):
        begun = time.process_time()
        try:
            return work(*given)
        finally:
            took = time.process_time() - begun
            self.cases += 1
            if self.cases > WARM and took > self.took:
                self.took, self.text = took, str(given[0])

    def told(self) -> str:
        shown = self.text.encode("ascii", "backslashreplace").decode()
        return f"{self.kind}: {self.cases} cases; the slowest took {self.took * 1000:.1f} ms, {len(self.text)} signs: {shown[:2000]}"


RULES = tomllib.loads((Path(curebatch.__file__).parent / "data" / "limits.toml").read_text(encoding="utf-8"))["limit"]
# Sodium nitrite per gram of each compound, from the standard atomic weights.
AS_SODIUM = {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005"), "KNO2": Fraction("68.995") / Fraction("85.103")}


def _grams(row: dict) -> Fraction:
    return read_amount(row["weigh"]["text"], "mass", (*MASS, "mg")).value


def assert_not_grossly_wrong(card: dict, document: Document | None) -> None:
    """What holds for any card, however it came about, by the weights that it shows.

    Wide on purpose, so that it needs none of the program's own reckoning: more nitrite than the
    highest limit that any region has for the method is a slip that no rounding explains.
    """
    cured = [row for row in card["amounts"] if row["role"] == "curing_salt"]
    if card["verdict"] in ("stop", "incomplete") or card["faults"]:
        assert card["cure"] is None and not cured, "a dose where there must be none"
        assert not card.get("keeping")
        return
    assert document is not None
    if not cured:
        assert document.state == "uncured" and not card["keeping"], "no curing salt, and nobody asked for that"
        return
    pack = document.values["pack"]  # no dose without a stated percentage
    method = document.recipe.method
    nitrite = pack.high * AS_SODIUM[document.choice("pack_as")] * sum(map(_grams, cured))
    meat = sum(_grams(row) for row in card["amounts"] if row["role"] in ("meat", "fat"))
    rest = sum(_grams(row) for row in card["amounts"] if row["role"] not in ("meat", "fat"))
    assert meat > 0
    into = nitrite * document.recipe.pump.high * meat / rest if method == "injected" else nitrite
    whole = meat * (1 + document.recipe.pump.high) if method == "injected" else meat + rest
    bases = {"meat": meat, "mix": whole} if method != "brine" else {"meat": whole, "mix": whole}
    limits = [rule for rule in RULES if rule["role"] == "limit" and method in rule["methods"]]
    # Within one that is counted per meat, or one per mix; the meat shown may be rounded to a coarse scale's step.
    within = [into / bases[rule["per"]] <= Fraction(rule["value"]) * AS_SODIUM[rule["counted_as"]] * Fraction(11, 10) / 10**6 for rule in limits]
    assert any(within), (float(into / meat * 10**6), float(into / whole * 10**6), card["verdict"])


AT = "2027-03-27T18:00Z"
KITCHEN = {"pack": "6.25 %", "fine_scale": "0.1 g", "region": "us"}


def log_of(**changes) -> dict:
    """A log as a batch leaves it, with a value in every place."""
    made = log.begin("batch-1", AT, card_for(LOAF, **KITCHEN), f"v=1&recipe={LOAF}", KITCHEN, "build-1", "Europe/Paris")
    return made | {
        "weighed": {"shoulder": "1.8 kg", "curing_salt": "5.4 g"},
        "readings": [{"at": AT, "what": "batter", "piece": "", "text": "11.5 °C"}, {"at": AT, "what": "core", "piece": "Tin 1", "text": "71 °C"}, {"at": AT, "what": "weight", "piece": "a", "text": "3.9 kg"}],
        "ticks": [{"at": AT, "step": "step-1"}], "notes": [{"at": AT, "text": "=1+1 \n\"quoted\", 'and so on; äöü"}], "times": {"oven_on": AT}, "next_time": "+ less mace", **changes,
    }
