"""No card lets an unsafe batch pass: whole recipes and kitchens, judged again from what the card prints.

The re-computation reads the printed weights and the raw records of the rules,
and works in exact fractions by the handbook's formulas (FSIS Directive 7620.3),
written from the documents and not from the code under test.

Made are recipes of all four methods as a cook might write them, and recipes found
elsewhere; packs with one strength, a range, only a maximum, or none; scales from a
hundredth of a gram to five grams; the size as meat, portions, a weight or tins;
lines set by the cook, bone and skin, bowls too small, targets changed, doses stated.

CUREBATCH_CASES sets how many cases are made; the long profile is on the map.
"""

import os
import re
import tomllib
from collections import Counter
from fractions import Fraction
from pathlib import Path

from hypothesis import HealthCheck, event, given, settings, strategies as st

import curebatch
from curebatch import entry
from curebatch.figures import per_text
from curebatch.intake.recipe import read_recipe
from curebatch.words import say

CASES = int(os.environ.get("CUREBATCH_CASES", "1500"))
RULES = tomllib.loads((Path(curebatch.__file__).parent / "data" / "limits.toml").read_text(encoding="utf-8"))["limit"]
# Sodium nitrite per gram of each compound, from the standard atomic weights.
AS_SODIUM = {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005"), "KNO2": Fraction("68.995") / Fraction("85.103")}
PPM = Fraction(1, 10**6)
REGIONS = ("strictest", "us", "eu", "gb", "ni", "ca", "au", "nz", "codex")
GRAMS = {"g": Fraction(1), "kg": Fraction(1000), "oz": Fraction("28.349523125"), "lb": Fraction("453.59237")}


def grams(text: str) -> Fraction:
    """A printed weight, read with nothing of the reader under test: "2 lb 3.1 oz", "25 g"."""
    parts = re.findall(r"([0-9]+(?:\.[0-9]+)?) (g|kg|oz|lb)\b", text)
    assert parts and " ".join(f"{number} {unit}" for number, unit in parts) == text, text
    return sum((Fraction(number) * GRAMS[unit] for number, unit in parts), Fraction(0))


# ------------------------------------------------------------------ what is made


def share_text(draw, low: int, high: int, unit: str = "g/kg") -> str:
    return f"{draw(st.integers(low, high))} {unit}"


@st.composite
def packs(draw):
    """(as typed, its low and its high end [1]); no ends where it gives no figure."""
    known = st.sampled_from(["0.4-0.5", "0.5", "0.5-0.6", "0.9", "2-2.5", "5.88", "6.25", "6.25", "10", "12", "4"])
    text = draw(known | st.tuples(st.integers(30, 1000), st.integers(0, 300)).map(lambda ends: f"{ends[0] / 100:g}" + (f"-{(ends[0] + ends[1]) / 100:g}" if ends[1] else "")))
    kind = draw(st.sampled_from([""] * 9 + ["max", "turned", "none"]))
    low, high = (Fraction(end) / 100 for end in (text.split("-") * 2)[:2])
    if kind == "none":
        return "", Fraction(0), Fraction(0)
    if kind == "max":
        return f"max {text.split('-')[-1]} %", Fraction(0), high
    return f"{'-'.join(reversed(text.split('-')))} %" if kind == "turned" else f"{text} %", low, high


def lines_of(draw, method: str) -> str:
    def line(name: str, role: str, amount: str, per: str = "", more: str = "") -> str:
        return f'[[ingredient]]\nname = "{name}"\nrole = "{role}"\namount = "{amount}"\n' + (f'per = "{per}"\n' if per else "") + more

    either = st.sampled_from(["meat", "mix"])
    fat = draw(st.sampled_from([0, 0, 25]))
    found = [line("Pork", "meat", f"{100 - fat} %", "meat")] + ([line("Back fat", "fat", f"{fat} %", "meat")] if fat else [])
    if method != "dry":
        found.append(line("Water", draw(st.sampled_from(["water", "ice"])), f"{draw(st.integers(8, 130))} %", "meat"))
    found.append(line("Spice", "spice", share_text(draw, 0, 40), draw(either)))
    if draw(st.integers(0, 2)) == 0:
        found.append(line("Soy sauce with salt", "garnish", share_text(draw, 1, 60), draw(either), f'salt = "{draw(st.integers(1, 18))} %"\n'))
    if draw(st.integers(0, 3)) == 0:
        found.append(line("Erythorbate", "accelerator", f"{draw(st.integers(1, 6)) / 10} g", more='substance = "sodium_erythorbate"\n'))
    if method != "dry" and draw(st.integers(0, 3)) == 0:
        found.append(line("Phosphate", "phosphate", f"{draw(st.integers(1, 5))} g", more='substance = "STPP"\n'))
    return "".join(found)


def recipe_of(draw) -> str:
    method = draw(st.sampled_from(["ground", "ground", "dry", "brine", "injected"]))
    belly = draw(st.booleans())
    pickle = f'[pickle]\npump = "{draw(st.integers(4, 20))} %"\n' if method == "injected" else ""
    if method == "brine" and draw(st.booleans()):
        pickle = f'[pickle]\npick_up = "{draw(st.integers(2, 60))} %"\n'
    # An injected cut answers to more limits than any other: most of them are asked for little.
    little = st.integers(40, 140) if method != "injected" else st.sampled_from([st.integers(20, 80)] * 3 + [st.integers(80, 140)]).flatmap(lambda some: some)
    asked = st.integers(10, 500) | little | little if method == "injected" else st.integers(10, 500) | little
    nitrite = "" if method == "ground" and draw(st.integers(0, 15)) == 0 else f"""nitrite = "{draw(asked)} mg/kg"
nitrite_as = "{draw(st.sampled_from(sorted(AS_SODIUM)))}"
nitrite_per = "{draw(st.sampled_from(["meat", "mix"]))}"
"""
    return f"""
schema = 1
id = "made"
revision = 1
language = "en"
title = "Made"
method = "{method}"
kinds = ["pork"]
cut = "{"belly, skinless" if belly else "shoulder"}"
belly = {"true" if belly else "false"}
[targets]
{nitrite}salt = "{draw(st.integers(14, 50) | st.integers(30, 50) if method == "injected" else st.integers(14, 50))} g/kg"
salt_per = "{draw(st.sampled_from(["meat", "mix"]))}"
[batch]
meat = "1 kg"
portions = 12
{pickle}{lines_of(draw, method)}"""


def sizes(draw, method: str) -> dict[str, str]:
    """How big the batch is, in one of the ways that a cook may say it."""
    way = draw(st.sampled_from(["meat"] * 6 + ["published", "portions", "batch", "fill", "use", "waste"]))
    meat = draw(st.sampled_from([st.integers(30, 300), st.integers(300, 30000), st.integers(300, 30000)]).flatmap(lambda range_: range_))
    if way == "meat":
        return {"meat": f"{meat} g"}
    if way == "portions":
        return {"portions": str(draw(st.integers(1, 200))), **({"portion": "80 g"} if draw(st.booleans()) else {})}
    if way == "batch":
        return {"batch": f"{meat * 2} g"}
    if way == "fill" and method == "ground":
        return {"fill": "tins", "tin": draw(st.sampled_from(["box 30 x 10 x 8 cm", "2 x box 12 x 8 x 6 cm", "casing flat 9 x 30 cm", "round 10 x 5 cm"]))}
    if way == "use":
        return {"meat": f"{meat} g", "use.spice": f"{draw(st.integers(0, 60))} g"}
    if way == "waste" and method != "ground":
        return {"meat": f"{meat + 300} g", draw(st.sampled_from(["bone", "skin"])): f"{draw(st.integers(1, 250))} g"}
    return {}


def kitchen_of(draw, pack: str) -> dict[str, str]:
    scale = st.sampled_from(["5 g", "2 g", "1 g", "1 g", "0.5 g", "0.1 g", "0.1 oz"])
    fields = {
        "pack": pack, "pack_as": draw(st.sampled_from(sorted(AS_SODIUM))), "scale": draw(scale), "fine_scale": draw(st.sampled_from(["", "0.1 g", "0.1 g", "0.05 g", "0.01 g", "0.01 g", "0.01 oz"])),
        "region": draw(st.sampled_from(REGIONS)), "stated": draw(st.sampled_from([""] * 18 + ["2 g", "6 g", "30 g", "300 g", "0.7 g", "1/2 oz"])),
    }
    return fields


@st.composite
def cases(draw):
    """(text of a recipe file or None for a found recipe, the fields, the ends of the pack, whether the whole card is made)."""
    pack, low, high = draw(packs())
    fields = kitchen_of(draw, pack)
    text = None
    if draw(st.integers(0, 6)) == 0:
        fields |= {
            "found_cure": f"{draw(st.integers(1, 600)) / 10:.1f} g", "found_meat": f"{draw(st.sampled_from([500, 1000, 2500]))} g", "found_pack": draw(st.sampled_from(["0.5 %", "0.4-0.5 %", "0.6 %", "2.5 %", "6.25 %"])),
            "found_per": draw(st.sampled_from(["meat", "mix"])), "found_pack_as": draw(st.sampled_from(["NaNO2", "NaNO2", "KNO2", "NO2-"])), "found_salt": draw(st.sampled_from(["", "0 g", "5 g", "20 g"])), "found_other": draw(st.sampled_from(["", "0 g", "100 g"])),
            "meat": draw(st.sampled_from(["", "750 g", "3 kg"])),
        }  # fmt: skip
    else:
        text = recipe_of(draw)
        method = re.search('method = "(.*)"', text)[1]
        fields |= sizes(draw, method)
        if draw(st.integers(0, 4)) == 0:
            fields |= {"nitrite": f"{draw(st.integers(5, 600))} ppm", "nitrite_per": draw(st.sampled_from(["meat", "mix"])), "nitrite_as": draw(st.sampled_from(sorted(AS_SODIUM)))}
        if draw(st.integers(0, 4)) == 0:
            fields |= {"salt": f"{draw(st.integers(15, 60))} g/kg", "salt_per": draw(st.sampled_from(["meat", "mix"]))}
        if method == "ground" and draw(st.integers(0, 5)) == 0:
            fields |= {"bowl": f"{draw(st.integers(200, 4000))} g"}
        if method == "ground" and draw(st.integers(0, 7)) == 0:
            fields |= {"state": draw(st.sampled_from(["held", "not_held", "uncured"]))}
        if method == "injected" and draw(st.integers(0, 3)) == 0:
            fields |= {"pump": f"{draw(st.integers(2, 40))} %"}
        if method == "brine" and draw(st.integers(0, 3)) == 0:
            fields |= {"pick_up": f"{draw(st.integers(1, 60))} %"}
    if pack and draw(st.integers(0, 7)):
        # The cook has looked at the pack a second time; what is written is the label as the card shows it.
        shown = f"{low * 100 if low else 0}"
        ends = [f"{float(end * 100):g}" for end in (low, high)]
        shown = f"max {ends[1]} %" if pack.startswith("max") else f"{ends[0]} %" if low == high else f"{ends[0]}-{ends[1]} %"
        fields["pack_check"] = shown if fields["pack_as"] == "NaNO2" else f"{shown} {fields['pack_as']}"
    return text, {key: value for key, value in fields.items() if value}, (low, high), draw(st.integers(0, 5)) == 0


# ------------------------------------------------------------------ judged again


def off(row: dict, way: int) -> Fraction:
    """What may really lie in the bowl: a printed weight, one step of its scale off."""
    weighed = Fraction(0) if row["note"] else grams(row["weigh"]["text"])  # under a step the scale shows nothing
    return max(Fraction(0), weighed + way * grams(row["on"]))


def rules_for(role: str, region: str, method: str, belly: bool) -> list[dict]:
    fitting = [r for r in RULES if r["role"] == role and method in r["methods"] and (r["cut"] == "any" or belly)]
    if region == "strictest":
        return [r for r in fitting if r["sure"] != "memory"]
    own = [r for r in fitting if region in r["regions"]]
    if role != "limit" or any(r["sure"] == "read" for r in own):
        return own
    return own + [r for r in fitting if r["sure"] != "memory"]


def allowed(rule: dict, compound: str) -> Fraction:
    if rule.get("same_weight_as_potassium") and compound == "KNO2":
        return Fraction(rule["value"]) * PPM * AS_SODIUM["KNO2"]
    return Fraction(rule["value"]) * PPM * AS_SODIUM[rule["counted_as"]]


class Judge:
    """A card's batch, from its printed rows alone."""

    def __init__(self, card: dict, method: str, ends: tuple[Fraction, Fraction], compound: str, scale: str):
        self.rows, self.method, self.ends, self.compound = card["amounts"], method, ends, compound
        self.cure = next(row for row in self.rows if row["role"] == "curing_salt")
        self.block = [row for row in self.rows if row["role"] in ("meat", "fat")]
        self.others = [row for row in self.rows if row["role"] not in ("meat", "fat", "curing_salt")]
        self.into = None
        self.gain = Fraction(0)
        if method == "brine":
            said = next(m["text"] for m in card["messages"] if m["code"] in ("brine_two_methods", "brine_by_gain"))
            self.gain = Fraction(re.search(r"gain of ([0-9.]+) %", said)[1]) / 100
        if method == "injected":
            said = next(m["text"] for m in card["messages"] if m["code"] == "pump_to")
            self.into = grams(re.search(r"Pump in ([^(]+) \(", said)[1])
            self.coarse = grams(scale)  # what the piece is weighed on, before and after

    def nitrite(self, per: str, way: int) -> Fraction:
        """The share of sodium nitrite; way 1 for everything wrong towards more, -1 towards less."""
        strength = self.ends[1 if way > 0 else 0] * AS_SODIUM[self.compound]
        dose = off(self.cure, way)
        meat = sum(off(row, -way) for row in self.block)
        rest = sum(off(row, -way) for row in self.others) + dose
        if not meat:
            return Fraction(1 if way > 0 else 0)
        if self.method == "injected":
            into = max(Fraction(0), self.into + way * self.coarse)
            return strength * dose * into / rest / (meat if per == "meat" else meat + into)
        if self.method == "brine" and way > 0:
            # A long soak, or what the piece gains: whichever reads more.
            return strength * dose * max(1 / (meat + rest), self.gain / rest)
        if self.method == "brine" or per == "mix":
            return strength * dose / (meat + rest)
        return strength * dose / meat


seen: Counter[str] = Counter()


@settings(max_examples=CASES, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_no_card_passes_an_unsafe_batch(case):
    text, fields, ends, whole = case
    recipe = None
    if text is not None:
        recipe, faults = read_recipe(text, "made.toml")
        assert recipe, faults
    reading = entry.read({"page": "recipe" if recipe else "found", "fields": fields}, recipe)
    # Weights and verdict come first to a cook, the rest of the card later: mostly the first are made here.
    card = entry.card_of(reading, "recipe" if recipe else "found", whole)
    method, belly = (recipe.method, recipe.belly) if recipe else ("ground", False)
    kind = f"{method if recipe else 'found'}: {'fault' if card['faults'] else card['verdict']}"
    seen[kind] += 1
    event(kind)
    if card["verdict"] in ("stop", "incomplete"):
        assert card["cure"] is None and not card["keeping"] and (card["verdict"] == "incomplete" or not card["strengths"])
        assert not {"curing_salt", "salt"} & {row["role"] for row in card["amounts"]}
        return
    if fields.get("state") == "uncured" or recipe and recipe.targets.nitrite is None:
        assert card["cure"] is None and not card["keeping"] and "curing_salt" not in {row["role"] for row in card["amounts"]}
        return
    assert ends[1], "a dose without a percentage"
    region, compound = fields["region"], fields["pack_as"]
    judge = Judge(card, method, ends, compound, fields["scale"])
    applying = rules_for("limit", region, method, belly)
    assert applying
    for rule in applying:
        assert judge.nitrite(rule["per"], 1) <= allowed(rule, compound), (rule["id"], card["verdict"])
    # What the card says of itself is what its weights say.
    for base in ("meat", "mix") if whole else ():
        said = card["cure"]["nitrite_mg_per_kg"][base]
        assert abs(Fraction(said["high"]) - judge.nitrite(base, 1) / PPM) < Fraction(1, 1000)
        assert abs(Fraction(said["low"]) - judge.nitrite(base, -1) / PPM) < Fraction(1, 1000)
    if whole:
        judge_printed(card, method)
    if card["keeping"]:
        thresholds = rules_for("threshold", region, method, belly)
        assert thresholds
        for rule in thresholds:
            assert judge.nitrite(rule["per"], -1) >= allowed(rule, compound)
    if "stated" in fields:
        exact = GRAMS["oz"] / 2 if fields["stated"] == "1/2 oz" else grams(fields["stated"])
        assert abs(exact - grams(judge.cure["weigh"]["text"])) <= grams(judge.cure["on"])
    elif recipe and method != "injected":
        judge_targets(judge, fields, recipe)


def judge_printed(card: dict, method: str) -> None:
    """No figure stands over a limit that is called met, where both count the same per the same."""
    met: dict[tuple[str, str], Fraction] = {}
    for row in card["cure"]["limits"]:
        if row["applies"]:
            assert row["within"]
            assert Fraction(row["high_text"].removesuffix(" mg/kg")) <= Fraction(row["value_text"].split(" ")[0])
        if row["within"]:
            for per in ("meat", "mix") if method == "brine" else (row["per"],):  # alike in a brine
                key = (row["counted_as"], per_text(per, method))
                met[key] = min(met.get(key, Fraction(10**6)), Fraction(str(row["value"])))
    for row in card["cure"]["rows"]:
        for compound, id_ in (("NaNO2", "card.nitrite_as_salt"), ("NO2-", "card.nitrite_as_ion")):
            key = (compound, row["per_text"])
            if row["label"] == say(id_) and key in met:
                assert Fraction(row["high"].removesuffix(" mg/kg")) <= met[key], (row, met)
    for message in card["messages"]:
        base = {"brine_two_methods": "meat", "brine_by_gain": "meat", "pump_rest": "meat", "way_finer": "mix", "way_bigger": "mix", "way_preblend": "mix"}.get(message["code"])
        if base:
            for figure in re.findall(r"([0-9.]+) mg/kg", message["text"]):
                applying = [Fraction(str(row["value"])) for row in card["cure"]["limits"] if row["applies"] and row["counted_as"] == "NaNO2" and (row["per"] == base or method == "brine")]
                assert all(Fraction(figure) <= most for most in applying), message


def judge_targets(judge: Judge, fields: dict, recipe) -> None:
    """Neither salt is off its target by more than the scales' steps, whatever the pack."""
    def wanted(key: str, amount) -> tuple[Fraction, str]:
        typed = fields.get(key)
        value = Fraction(typed.split(" ")[0]) * {"ppm": PPM, "g/kg": Fraction(1, 1000)}[typed.split(" ")[1]] if typed else amount
        return value, fields.get(f"{key}_per") or getattr(recipe.targets, f"{key}_per")

    meat = sum(off(row, 0) for row in judge.block)
    mix = meat + sum(off(row, 0) for row in [*judge.others, judge.cure])
    steps = sum(grams(row["on"]) for row in judge.rows)
    bases = {"meat": mix if judge.method == "brine" else meat, "mix": mix}
    salt, salt_per = wanted("salt", recipe.targets.salt.value)
    nitrite, nitrite_per = wanted("nitrite", recipe.targets.nitrite.value)
    dose, top = off(judge.cure, 0), judge.ends[1] * AS_SODIUM[judge.compound]
    asked = nitrite * AS_SODIUM[fields.get("nitrite_as") or recipe.targets.nitrite_as] * bases[nitrite_per]
    # Never more than was asked for by over half a step; the base as weighed may be all its steps off.
    assert dose * top <= asked * (1 + steps / max(bases[nitrite_per] - steps, 1)) + top * grams(judge.cure["on"])
    brought = sum(off(row, 0) * salt_of(row, recipe) for row in judge.others) + dose * (1 - judge.ends[1] * (AS_SODIUM["NO2-"] if judge.compound == "NO2-" else 1))
    plain = off(next(row for row in judge.others if row["role"] == "salt"), 0) if any(row["role"] == "salt" for row in judge.others) else Fraction(0)
    total = brought + plain
    assert total >= salt * bases[salt_per] - 2 * steps
    if plain:
        assert total <= salt * bases[salt_per] + 2 * steps


def salt_of(row: dict, recipe) -> Fraction:
    return next((i.salt for i in recipe.ingredients if i.id == row["id"]), Fraction(0))


def test_what_was_made_came_to_a_dose_often_enough_to_prove_something():
    """Runs behind the one above: each kind of recipe was dosed, stopped and asked about."""
    for kind in ("ground", "dry", "brine", "injected", "found"):
        made = sum(count for name, count in seen.items() if name.startswith(kind))
        dosed = sum(seen[f"{kind}: {verdict}"] for verdict in ("ok", "caution"))
        if made >= 100:
            assert dosed >= made / 10 and seen[f"{kind}: stop"] and seen[f"{kind}: incomplete"], seen
    print(dict(seen))
