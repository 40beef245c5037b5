"""Dry, brine and injected: the handbook's formulas, the demo recipes, and what is refused."""

import json
import re
from fractions import Fraction

import pytest
from helpers.kitchens import RECIPES, card_for, ceilings_of, fill_shelf, pack_of, scales_of
from hypothesis import given, settings, strategies as st

from curebatch import entry, shelf
from curebatch.batch import cure, handbook
from curebatch.fields import REGIONS
from curebatch.intake.recipe import read_recipe
from curebatch.rules import limits as rules
from curebatch.rules.curing_time import THICKEST, days

PPM = Fraction(1, 10**6)
DEMO = {"ground": "pistachio-pork-loaf", "brine": "corned-brisket", "dry": "back-bacon", "injected": "picnic-ham"}


def whole_cut(method, *, nitrite="120 mg/kg", per="meat", salt="2.5 %", water="100 %", pump="10 %", cut="loin", meat="1 kg", accelerator=""):
    lines = f'[[ingredient]]\nname = "Water"\nrole = "water"\namount = "{water}"\nper = "meat"\n' if method != "dry" else ""
    pickle = f'[pickle]\npump = "{pump}"\n' if method == "injected" else ""
    recipe, faults = read_recipe(f"""
schema = 1
id = "trial"
revision = 1
language = "en"
title = "Trial"
method = "{method}"
kinds = ["pork"]
cut = "{cut}"
belly = {"true" if cut == "belly" else "false"}
[targets]
nitrite = "{nitrite}"
nitrite_as = "NaNO2"
nitrite_per = "{per}"
salt = "{salt}"
salt_per = "{per}"
[batch]
meat = "{meat}"
{pickle}
[[ingredient]]
name = "Cut"
role = "meat"
amount = "100 %"
per = "meat"
{lines}""", "trial.toml")
    assert recipe, faults
    return recipe


def solved(recipe, label="6.25 %", step="0.01 g", meat=1000, ceilings=()):
    found = cure.solve(recipe, Fraction(meat), pack_of(label), scales_of(step), ceilings)
    assert found.batch, found
    return found.batch


def test_a_kilo_of_meat_and_a_kilo_of_brine():
    """FSIS Directive 7620.3, methods two and one: 120 ppm at equilibrium takes 0.240 g of sodium
    nitrite, 3.84 g of a 6.25 % cure; by a pick-up of 10 % the same brine reads 24 ppm. Printed
    figures derived from the formulas."""
    nitrite = 120 * PPM * 2000
    assert nitrite == Fraction("0.240") and nitrite / Fraction("0.0625") == Fraction("3.84")
    assert handbook.immersed_to_equilibrium(nitrite, Fraction(1000), Fraction(1000)) == 120 * PPM
    assert handbook.immersed_by_pick_up(nitrite, Fraction("0.1"), Fraction(1000)) == 24 * PPM
    # The solver on the same kilo of meat: its brine weighs a kilo when the water makes room for the salts.
    recipe = whole_cut("brine", per="mix", salt="2.5 %", water="94.9760 %")
    batch = solved(recipe)
    assert float(batch.pickle_grams) == pytest.approx(1000, abs=0.05)
    assert batch.cure.weighed == Fraction("3.84")


def test_the_handbooks_pumped_formula_is_what_the_pumped_cut_carries():
    batch = solved(whole_cut("injected", nitrite="150 mg/kg", water="20 %"))
    nitrite = batch.cure.weighed * batch.pack.high
    by_formula = handbook.pumped(nitrite, handbook.pump_share(batch.meat_grams, batch.meat_grams + batch.pumped.weighed), batch.pickle_grams)
    assert batch.nitrite("meat", "nominal") == by_formula
    assert float(by_formula / PPM) == pytest.approx(150, abs=0.5)
    assert batch.nitrite("mix", "nominal") == by_formula / Fraction("1.1")


def test_lying_in_the_rest_of_the_pickle_carries_more_in():
    batch = solved(whole_cut("injected", nitrite="150 mg/kg", water="30 %"))
    meat, into, pickle = batch.meat_grams, batch.pumped.weighed, batch.pickle_grams
    # Everything wrong towards more: curing salt and pump a step over, meat, water and salt a step short.
    step, dose = batch.cure.scale.step, batch.cure.weighed + batch.cure.scale.step
    meat, into, pickle = meat - step, into + step, pickle - 2 * step + step
    by_hand = batch.pack.high * dose / (meat + pickle) * (meat + into) / meat
    assert batch.left_in_the_rest("meat") == by_hand > batch.nitrite("meat", "high")
    assert batch.left_in_the_rest("mix") == batch.pack.high * dose / (meat + pickle)


@settings(max_examples=120, deadline=None)
@given(
    st.sampled_from(["dry", "brine", "injected"]), st.integers(30, 250), st.sampled_from(["meat", "mix"]), st.integers(15, 35), st.integers(15, 120),
    st.integers(300, 9000), st.sampled_from(["0.6 %", "2.5 %", "5.88 %", "6.25 %", "0.4-0.5 %"]), st.sampled_from(["1 g", "0.1 g", "0.1 oz"]), st.sampled_from(REGIONS), st.booleans(),
)
def test_every_method_stays_within_every_limit_recomputed(method, nitrite, per, salt, water, meat, label, step, region, belly):
    """An independent re-computation in exact fractions, from the handbook's formulas."""
    recipe = whole_cut(method, nitrite=f"{nitrite} mg/kg", per=per, salt=f"{salt} g/kg", water=f"{water} %", cut="belly" if belly else "loin")
    limits = rules.applicable(region, method, belly)
    assert limits
    found = cure.solve(recipe, Fraction(meat), pack_of(label), scales_of(step), tuple(limit.ceiling("NaNO2") for limit in limits))
    if found.batch is None:
        return
    batch, error = found.batch, scales_of(step).coarse.step
    dose = batch.cure.weighed + error
    nitrite_grams = pack_of(label).high * dose
    def short(lines):
        return sum((max(Fraction(0), line.weighed - error) for line in lines if line.grams), Fraction(0))
    green = short([line for line in batch.lines if line.role == "meat"])
    pickle = short([*(line for line in batch.lines if line.role != "meat"), batch.salt]) + dose
    for limit in limits:
        if method == "dry":
            reached = handbook.dry(nitrite_grams, green if limit.per == "meat" else green + pickle)
        elif method == "brine":
            reached = handbook.immersed_to_equilibrium(nitrite_grams, green, pickle)
        else:
            into = batch.pumped.weighed + error
            reached = handbook.pumped(nitrite_grams, into / green, pickle)
            if limit.per == "mix":
                reached = nitrite_grams * into / pickle / (green + into)
        allowed = limit.value / 10**6 * {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005")}[limit.counted_as]
        assert reached <= allowed
        assert batch.nitrite(limit.per, "high") == reached
    assert batch.nitrite("meat", "low") <= batch.nitrite("meat", "nominal") <= batch.nitrite("meat", "high")


@pytest.mark.parametrize("method", DEMO)
@pytest.mark.parametrize("region", REGIONS)
def test_all_methods_and_regions_carry_the_whole_card(method, region):
    card = card_for(f"{DEMO[method]}.1", pack="6.25 %", fine_scale="0.1 g", region=region)
    assert card["verdict"] in ("ok", "caution"), card["messages"]
    assert all(message["source"] for message in card["messages"])
    assert any(limit["applies"] for limit in card["cure"]["limits"])
    for base in ("meat", "mix"):
        three = card["cure"]["nitrite_mg_per_kg"][base]
        assert 0 < three["low"] < three["nominal"] < three["high"] < 200
    assert json.loads(json.dumps(card)) == card


def test_one_batch_judged_side_by_side_each_on_its_own_base():
    rows = {row["id"]: row for row in card_for(f"{DEMO['ground']}.1", pack="6.25 %", fine_scale="0.1 g")["cure"]["limits"]}
    us, eu, ca = rows["us-comminuted"], rows["eu-heat-treated"], rows["ca-cured-meat"]
    assert (us["per"], eu["per"], ca["per"]) == ("meat", "mix", "mix")
    assert us["nominal"] > ca["nominal"] > eu["nominal"]
    assert eu["nominal"] == pytest.approx(ca["nominal"] * 46.005 / 68.995, abs=1e-4)


def test_potassium_is_held_to_the_same_weight_where_the_handbook_does():
    limit = next(limit for limit in rules.all_limits() if limit.id == "us-comminuted")
    assert limit.ceiling("KNO2").share * Fraction("85.103") / Fraction("68.995") == limit.ceiling("NaNO2").share
    bacon = next(limit for limit in rules.all_limits() if limit.id == "us-bacon-pickle")
    # 9 CFR 424.22(b) prints 148 ppm of the potassium salt for 120 of the sodium salt.
    assert int(bacon.ceiling("KNO2").share * Fraction("85.103") / Fraction("68.995") / PPM) == 148


def test_a_region_with_nothing_read_takes_every_limit_that_was_read():
    for region in ("au", "nz", "codex"):
        assert {limit.id for limit in rules.applicable(region, "ground", False)} == {limit.id for limit in rules.applicable("strictest", "ground", False)}
    for region in REGIONS:
        for method in DEMO:
            assert any(limit.sure != "memory" for limit in rules.applicable(region, method, True))


def test_the_dry_cure_of_whole_cuts_never_uses_the_surplus_figure():
    for region in REGIONS:
        for belly in (True, False):
            assert all(limit.share <= 200 * PPM for limit in rules.applicable(region, "dry", belly))


def codes(card):
    return {message["code"] for message in card["messages"]}


def test_thick_and_bone_in_pieces_are_refused_with_a_way_out():
    thick = card_for("back-bacon.1", pack="6.25 %", thickness="100 mm")
    assert thick["verdict"] == "stop" and "too_thick" in codes(thick) and thick["cure"] is None
    bone = card_for("corned-brisket.1", pack="6.25 %", bone="300 g")
    assert bone["verdict"] == "stop" and "bone_in" in codes(bone) and bone["cure"] is None


def test_bone_is_taken_out_of_the_green_weight_of_a_ham():
    with_bone = card_for("picnic-ham.1", pack="6.25 %", fine_scale="0.1 g", meat="4 kg", bone="500 g")
    without = card_for("picnic-ham.1", pack="6.25 %", fine_scale="0.1 g", meat="3.5 kg")
    assert with_bone["cure"]["grams"] == without["cure"]["grams"] and "green_weight" in codes(with_bone)


def test_days_take_the_longer_practice_rule_and_a_margin():
    # Extension practice: 7 days to the inch; Purdue Extension 1919: 2 days to the pound.
    inch, pound = Fraction(254, 10000), Fraction("453.59237")
    assert days(2 * inch, pound, "dry").first == 14
    assert days(inch, 10 * pound, "brine").first == 20
    assert days(inch, pound, "dry").last > days(inch, pound, "dry").first
    assert days(THICKEST + Fraction(1, 10**6), pound, "dry") is None


def test_raw_says_so():
    card = card_for("back-bacon.1", pack="6.25 %", fine_scale="0.1 g", thickness="50 mm")
    assert card["raw"] and "RAW" in card["verdict_text"] and "raw" in codes(card)


def test_the_brine_shows_both_methods():
    (message,) = [m for m in card_for("corned-brisket.1", pack="6.25 %", fine_scale="0.1 g")["messages"] if m["code"] == "brine_two_methods"]
    assert "10 %" in message["text"] and "7620.3" in message["source"]


def test_a_great_gain_in_little_brine_is_judged_by_what_it_carries_in():
    """In 70 % of water a gain of 50 % reads more than the equilibrium: half the nitrite of so much
    brine, per green weight, is over what meat and brine share out. The higher answers to the limit."""
    fields = {"pack": "6.25 %", "fine_scale": "0.1 g", "region": "us", "nitrite": "400 mg/kg"}
    little, great = (card_for("corned-brisket.1", **fields, pick_up=gain) for gain in ("10 %", "50 %"))
    assert great["cure"]["grams"] < little["cure"]["grams"]
    assert {"brine_two_methods"} == codes(little) & {"brine_two_methods", "brine_by_gain"} and "brine_by_gain" in codes(great)
    for card in (little, great):
        (limit,) = [row for row in card["cure"]["limits"] if row["id"] == "us-pickle"]
        assert limit["within"] and limit["high"] <= 200 < limit["high"] * 1.03
    # By hand, from the weights of the card: method one, the scale a step off the wrong way each time.
    rows = {row["role"]: row["grams"] for row in great["amounts"]}
    pickle = sum(row["grams"] for row in great["amounts"] if row["role"] != "meat")
    wrong = (rows["curing_salt"] + 0.1) * 0.0625 * 0.5 / pickle * 1e6
    assert 195 < wrong < 201


def test_a_stated_dose_stops_where_the_gain_carries_in_too_much():
    fields = {"pack": "6.25 %", "fine_scale": "0.1 g", "region": "us", "stated": "16 g"}
    assert card_for("corned-brisket.1", **fields)["verdict"] != "stop"
    assert "stated_over" in codes(card_for("corned-brisket.1", **fields, pick_up="60 %"))


def test_a_pickle_too_small_for_the_pump_stops():
    card = card_for("picnic-ham.1", pack="6.25 %", fine_scale="0.1 g", pump="30 %")
    assert card["verdict"] == "stop" and "pickle_short" in codes(card) and card["cure"] is None


def test_a_pump_that_the_scale_does_not_show_stops():
    fields = {"pack": "0.5 %", "scale": "5 g", "fine_scale": "0.01 g", "nitrite": "5 mg/kg"}
    card = card_for("picnic-ham.1", **fields, meat="20 g")
    (message,) = [m for m in card["messages"] if m["code"] == "pump_unseen"]
    assert card["verdict"] == "stop" and card["cure"] is None and "2.4 g" in message["text"] and "5 g" in message["text"]
    assert "pump_unseen" not in codes(card_for("picnic-ham.1", **fields, meat="25 g"))


def test_a_coarse_scale_gets_three_ways_out_each_with_its_error():
    card = card_for(f"{DEMO['ground']}.1", pack="6.25 %")
    texts = {m["code"]: m["text"] for m in card["messages"]}
    for way in ("way_finer", "way_bigger", "way_preblend"):
        assert "6.25 %" in texts[way] and "mg/kg" in texts[way]
    # The pre-blend by hand: 32 g in 600 g, 100 g of it: the share carries 5.33 g.
    assert "stir 32 g" in texts["way_preblend"] and "600 g" in texts["way_preblend"] and "Take 100 g" in texts["way_preblend"]
    fine = card_for(f"{DEMO['ground']}.1", pack="6.25 %", fine_scale="0.1 g")
    assert not {"way_finer", "way_bigger", "way_preblend"} & codes(fine)


def test_a_bowl_too_small_makes_loads_each_with_its_own_cure():
    whole = card_for(f"{DEMO['ground']}.1", pack="6.25 %", fine_scale="0.1 g")
    card = card_for(f"{DEMO['ground']}.1", pack="6.25 %", fine_scale="0.1 g", bowl="2 kg")
    assert card["loads"] == 2 and "loads" in codes(card) and "2 loads" in card["mix_text"]
    assert card["amounts"][0]["grams"] * 2 == whole["amounts"][0]["grams"]
    assert abs(card["cure"]["grams"] * 2 - whole["cure"]["grams"]) <= 0.2


def test_a_label_that_names_only_a_maximum_is_not_relied_on():
    card = card_for(f"{DEMO['ground']}.1", pack="max 0.6 %", region="us")
    assert card["keeping"] is False and "pack_maximum" in codes(card)
    assert card["cure"]["nitrite_mg_per_kg"]["meat"]["low"] == 0
    assert all(limit["within"] for limit in card["cure"]["limits"] if limit["applies"])


@pytest.mark.parametrize("method", ["fermented", "air-dried", "smoked", "canned", "country"])
def test_what_is_not_covered_is_refused_by_name(method):
    fill_shelf()
    text = shelf._TEXTS["back-bacon.1"].replace('method = "dry"', f'method = "{method}"')
    recipe, (fault,) = read_recipe(text, "x.toml")
    assert recipe is None and method in fault.text and "not covered" in fault.text


def test_the_ceilings_helper_is_the_rules_own():
    assert ceilings_of("us") == tuple(limit.ceiling("NaNO2") for limit in rules.applicable("us", "ground", False))


def test_salt_that_cannot_be_met_is_said_not_divided_by():
    recipe = whole_cut("injected", salt="3.8 %", per="mix", pump="4 %", water="8 %")
    from curebatch import entry

    reading = entry.read({"page": "recipe", "fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe)
    card = entry.card_of(reading)
    assert card["verdict"] == "stop" and codes(card) & {"targets_impossible", "pickle_saturated"} and card["cure"] is None


def test_a_pickle_saltier_than_water_can_be_stops():
    # CFIA Manual of Procedures, chapter 4: a saturated brine holds 26.4 % salt by weight.
    assert cure.SATURATED == Fraction("0.264")
    from curebatch import entry

    recipe = whole_cut("injected", salt="3.5 %", per="meat", pump="10 %", water="12 %")
    card = entry.card_of(entry.read({"page": "recipe", "fields": {"pack": "6.25 %", "fine_scale": "0.1 g"}}, recipe))
    assert card["verdict"] == "stop" and "pickle_saturated" in codes(card)


@pytest.mark.parametrize("meat", range(800, 6000, 370))
@pytest.mark.parametrize("label", ["2.5 %", "5.88 %", "6.25 %"])
@pytest.mark.parametrize("region", ["us", "eu", "strictest"])
def test_a_pre_blend_stays_within_the_limits_at_its_own_worst(meat, label, region):
    """Its three weighings read off the sentence, each a step off the same way (1 g scale); re-computed by hand."""
    import re

    card = card_for(f"{DEMO['ground']}.1", pack=label, meat=f"{meat} g", region=region, nitrite="150 mg/kg", nitrite_per="meat")
    texts = [m["text"] for m in card["messages"] if m["code"] == "way_preblend"]
    for text in texts:
        salt, whole, share = (Fraction(re.search(pattern, text)[1]) for pattern in (r"stir ([0-9.]+) g", r"([0-9.]+) g in all", r"Take ([0-9.]+) g"))
        dose = (salt + 1) / (whole - 1) * (share + 1)
        nitrite = dose * pack_of(label).high
        green = sum(Fraction(row["weigh"]["value"]) - 1 for row in card["amounts"] if row["role"] in ("meat", "fat"))
        others = sum(max(Fraction(0), Fraction(row["weigh"]["value"]) - 1) for row in card["amounts"] if row["role"] not in ("meat", "fat", "curing_salt"))
        for limit in rules.applicable(region, "ground", False):
            reached = nitrite / (green if limit.per == "meat" else green + others + dose)
            assert reached <= limit.share, (limit.id, text)
    assert texts or card["cure"] is None or card["cure"]["grams"] >= 20 or meat < 1500


def test_the_table_of_strengths_names_the_scale_it_is_for():
    assert "0.1 g" in card_for(f"{DEMO['ground']}.1")["strengths_scale_text"]
    assert "0.01 g" in card_for(f"{DEMO['ground']}.1", fine_scale="0.01 g")["strengths_scale_text"]


def steps_of(recipe, **fields):
    return " ".join(step["text"] for step in card_for(recipe, **{"pack": "6.25 %", "fine_scale": "0.1 g", **fields})["steps"])


def test_the_steps_say_how_many_days_it_lies():
    # The rules behind the days: test_days_take_the_longer_practice_rule_and_a_margin.
    found = days(Fraction("0.045"), Fraction(2000), "dry")
    assert f"in the fridge for {found.first} to {found.last} days. Turn it daily." in steps_of("back-bacon.1", thickness="45 mm", meat="2000 g")
    brine = days(Fraction("0.06"), Fraction(2000), "brine")
    assert f"for {brine.first} to {brine.last} days. Turn it daily." in steps_of("corned-brisket.1", thickness="60 mm", meat="2000 g")
    assert "for 1 to 3 days" in steps_of("picnic-ham.1", pick_up="")
    # Of what is not known nothing is made up.
    assert "as many days as its thickness asks" in steps_of("back-bacon.1")
    assert "as many days as its thickness asks" in steps_of("back-bacon.1", pack="", thickness="")


def test_uncured_meat_lies_no_day():
    text = (RECIPES / "back-bacon.1.toml").read_text(encoding="utf-8").replace('method = "dry"', 'method = "dry"\nstate = "uncured"')
    text = re.sub(r"(?m)^nitrite.*\n", "", text).replace("{curing_salt} with ", "")
    card = entry.card_of(entry.read({"page": "own", "own": text, "fields": {"meat": "2 kg"}}), "own")
    assert "no days at all (uncured, it is cooked today)" in " ".join(step["text"] for step in card["steps"])


def test_a_batter_has_no_days_to_name():
    text = (RECIPES / "grey-pork-loaf.1.toml").read_text(encoding="utf-8").replace("Weigh everything.", "Weigh everything, {days}.")
    recipe, faults = read_recipe(text, "x.toml")
    assert recipe is None and "{days}" in faults[0].text
