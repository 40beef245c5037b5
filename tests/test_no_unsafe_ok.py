"""No card lets an unsafe batch pass: whole recipes and kitchens, judged again from what the card prints.

The re-computation reads the printed weights and the raw records of the rules,
and works in exact fractions by the handbook's formulas (FSIS Directive 7620.3),
written from the documents and not from the code under test.

CUREBATCH_CASES sets how many cases are made; 20,000 is the long profile.
"""

import os
import tomllib
from fractions import Fraction
from pathlib import Path

from hypothesis import HealthCheck, given, settings, strategies as st

import curebatch
from curebatch import entry
from curebatch.intake.recipe import read_recipe
from curebatch.intake.units import read_amount

CASES = int(os.environ.get("CUREBATCH_CASES", "1500"))
RULES = tomllib.loads((Path(curebatch.__file__).parent / "data" / "limits.toml").read_text(encoding="utf-8"))["limit"]
# Sodium nitrite per gram of each compound, from the standard atomic weights.
AS_SODIUM = {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005"), "KNO2": Fraction("68.995") / Fraction("85.103")}
PPM = Fraction(1, 10**6)


def grams(text: str) -> Fraction:
    return read_amount(text, "mass", ("g", "kg", "oz", "lb")).value


@st.composite
def cases(draw):
    method = draw(st.sampled_from(["ground", "ground", "dry", "brine", "injected"]))
    per, salt_per = draw(st.sampled_from(["meat", "mix"])), draw(st.sampled_from(["meat", "mix"]))
    cut = draw(st.sampled_from(["shoulder", "belly, skinless"]))
    water = draw(st.integers(8, 130))
    pickle = f'[pickle]\npump = "{draw(st.integers(4, 20))} %"\n' if method == "injected" else ""
    wet = f'[[ingredient]]\nname = "Water"\nrole = "water"\namount = "{water} %"\nper = "meat"\n' if method != "dry" else ""
    text = f"""
schema = 1
id = "made"
revision = 1
language = "en"
title = "Made"
method = "{method}"
kinds = ["pork"]
cut = "{cut}"
belly = {"true" if "belly" in cut else "false"}
[targets]
nitrite = "{draw(st.integers(10, 500))} mg/kg"
nitrite_as = "{draw(st.sampled_from(sorted(AS_SODIUM)))}"
nitrite_per = "{per}"
salt = "{draw(st.integers(10, 60))} g/kg"
salt_per = "{salt_per}"
[batch]
meat = "1 kg"
{pickle}
[[ingredient]]
name = "Pork"
role = "meat"
amount = "100 %"
per = "meat"
{wet}
[[ingredient]]
name = "Spice"
role = "spice"
amount = "{draw(st.integers(1, 40))} g/kg"
per = "{draw(st.sampled_from(["meat", "mix"]))}"
"""
    kitchen = {
        "pack": draw(st.sampled_from(["0.4-0.5 %", "0.5 %", "0.5-0.6 %", "max 0.6 %", "0.9 %", "2-2.5 %", "5.88 %", "6.25 %", "10 %", "12 %", "4 %", "0.6-0.4 %", ""])),
        "pack_as": draw(st.sampled_from(sorted(AS_SODIUM))),
        "scale": draw(st.sampled_from(["5 g", "2 g", "1 g", "0.1 g", "0.1 oz"])),
        "fine_scale": draw(st.sampled_from(["", "0.1 g", "0.01 g"])),
        "region": draw(st.sampled_from(["strictest", "us", "eu", "gb", "ni", "ca", "au", "nz", "codex"])),
        "meat": f"{draw(st.integers(30, 30000))} g",
        "stated": draw(st.sampled_from(["", "", "", "2 g", "6 g", "30 g", "300 g"])),
    }
    compound = "" if kitchen["pack_as"] == "NaNO2" else " " + kitchen["pack_as"]
    kitchen["pack_check"] = kitchen["pack"] + compound if kitchen["pack"] and draw(st.booleans()) else ""
    return text, {key: value for key, value in kitchen.items() if value}


@settings(max_examples=CASES, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_no_card_passes_an_unsafe_batch(case):
    text, kitchen = case
    recipe, faults = read_recipe(text, "made.toml")
    assert recipe, faults
    reading = entry.read({"page": "recipe", "fields": kitchen}, recipe)
    card = entry.card_of(reading)
    if card["verdict"] in ("stop", "incomplete"):
        assert card["cure"] is None and not card["keeping"]
        assert not {"curing_salt", "salt"} & {row["role"] for row in card["amounts"]}
        return
    coarse = grams(kitchen["scale"])

    def off(row, way):
        value = grams(row["weigh"]["text"])
        if row["note"]:
            value = Fraction(0)  # under a step: the scale shows nothing
        return max(Fraction(0), value + way * grams(row["on"]))

    label = read_amount(kitchen["pack"].removeprefix("max "), "share", ("%",), range_allowed=True)
    rows = card["amounts"]
    cure = next(row for row in rows if row["role"] == "curing_salt")
    method, region, belly = recipe.method, kitchen["region"], "belly" in recipe.cut and recipe.belly

    def share(per, way):
        strength = (label.high if way > 0 else Fraction(0) if kitchen["pack"].startswith("max") else label.low) * AS_SODIUM[kitchen["pack_as"]]
        nitrite = strength * off(cure, way)
        meat = sum(off(row, -way) for row in rows if row["role"] == "meat")
        rest = sum(off(row, -way) for row in rows if row["role"] not in ("meat", "curing_salt")) + off(cure, way)
        if method == "injected":
            green = sum(grams(row["weigh"]["text"]) for row in rows if row["role"] == "meat")
            into = max(Fraction(0), recipe.pump.value * green + way * (coarse + coarse / 2 + recipe.pump.value * coarse))
            got = nitrite * into / rest
            return got / meat if per == "meat" else got / (meat + into)
        if method == "brine":
            return nitrite / (meat + rest)
        return nitrite / (meat if per == "meat" else meat + rest)

    def rules_for(role):
        fitting = [r for r in RULES if r["role"] == role and method in r["methods"] and (r["cut"] == "any" or (belly and method != "ground"))]
        own = fitting if region == "strictest" else [r for r in fitting if region in r["regions"]]
        if any(r["sure"] == "read" for r in own) or role != "limit":
            return own
        return own + [r for r in fitting if r["sure"] != "memory"]

    def allowed(rule):
        if rule.get("same_weight_as_potassium") and kitchen["pack_as"] == "KNO2":
            return Fraction(rule["value"]) * PPM * AS_SODIUM["KNO2"]
        return Fraction(rule["value"]) * PPM * AS_SODIUM[rule["counted_as"]]

    applying = rules_for("limit")
    assert applying
    # The pumped share is re-computed with its rounding left open; that slack is all there is.
    slack = Fraction(1) if method != "injected" else 1 + 2 * (coarse + recipe.pump.value * coarse) / max(recipe.pump.value * grams(kitchen["meat"]), coarse)
    for rule in applying:
        assert share(rule["per"], 1) <= allowed(rule) * slack, (rule["id"], card["verdict"])
    if card["keeping"]:
        thresholds = [r for r in RULES if r["role"] == "threshold" and (region == "strictest" or region in r["regions"])]
        assert thresholds
        for rule in thresholds:
            assert share(rule["per"], -1) >= Fraction(rule["value"]) * PPM / slack
