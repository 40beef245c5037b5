"""Two batters in one tin: the mixture is the weighted mean, and everything is judged by the worse of the two."""

import pytest
from helpers.kitchens import LOAF, card_for

FINE = {"pack": "6.25 %", "scale": "0.1 g", "fine_scale": "0.01 g"}
GREY, TURKEY = "grey-pork-loaf.1", "turkey-leek-breakfast-loaf.1"


def codes(card):
    return {message["code"] for message in card["messages"]}


def test_the_mixture_is_the_weighted_mean():
    alone, other = card_for(LOAF, **FINE), card_for(TURKEY, **FINE, batch="1200 g")
    both = card_for(LOAF, **FINE, beside="turkey-leek-breakfast-loaf", beside_mix="1200 g")
    grams = [sum(row["grams"] for row in card["amounts"]) for card in (alone, other)]
    nitrite = [card["cure"]["nitrite_mg_per_kg"]["mix"]["nominal"] for card in (alone, other)]
    mean = sum(g * n for g, n in zip(grams, nitrite, strict=True)) / sum(grams)
    assert both["together"]["nitrite_mg_per_kg"]["mix"]["nominal"] == pytest.approx(mean, rel=1e-6)
    assert both["together"]["worst_nitrite_mg_per_kg"]["high"] == max(card["cure"]["nitrite_mg_per_kg"]["mix"]["high"] for card in (alone, other))
    assert [row["weigh"]["text"] for row in both["together"]["amounts"]] == [row["weigh"]["text"] for row in other["amounts"]]
    assert both["amounts"] == alone["amounts"] and {"together_mixed", "together_worse", "together_poultry"} <= codes(both)


def test_one_uncured_batter_makes_the_tin_uncured():
    both = card_for(LOAF, **FINE, beside=GREY, beside_mix="1 kg")
    assert both["verdicts"]["dose"] == "ok" and "together_uncured" in codes(both) and both["keeping"] is False
    assert "Two batters in one tin" in [row["title"] for row in both["handling"]] and "Two batters in one tin" not in [row["title"] for row in card_for(LOAF)["handling"]]
    assert both["together"]["state"] == "uncured" and "curing_salt" not in {row["role"] for row in both["together"]["amounts"]}
    assert card_for(LOAF, **FINE)["keeping"] is not None


def test_allergens_and_tins_are_those_of_both():
    both = card_for(TURKEY, **FINE, beside=GREY, beside_mix="1 kg", tin="holds 10 l")
    assert both["allergens"]["rows"][0]["groups"] == ["nuts"]
    alone = card_for(TURKEY, **FINE, tin="holds 10 l")
    assert alone["allergens"]["rows"][0]["groups"] == []
    filled = [sum(row["grams"] * row["count"] for row in card["tins"]) + card["about_tins"]["left_grams"] for card in (both, alone)]
    assert filled[0] - filled[1] == pytest.approx(1000, abs=0.2)


@pytest.mark.parametrize("pack, code, verdict", [
    ({}, "pack_needed", "incomplete"), ({"pack": "4 %"}, "pack_unusual", "incomplete"), ({"pack": "12 %"}, "pack_too_strong", "stop"), ({"pack": "6.25 %", "pack_nitrate": "4 %"}, "nitrate_refused", "stop"),
])
def test_beside_an_uncured_batter_the_pack_is_asked_about_all_the_same(pack, code, verdict):
    card = card_for(GREY, **pack, beside=TURKEY, beside_mix="1 kg")
    assert code in codes(card) and card["verdict"] == verdict and card["together"] is None
    assert not {"salt", "curing_salt"} & {row["role"] for row in card["amounts"]}


def test_a_confirmed_pack_goes_for_both():
    card = card_for(GREY, pack="4 %", pack_check="4 %", scale="0.1 g", fine_scale="0.01 g", beside=TURKEY, beside_mix="1 kg")
    assert card["together"] and "4 % sodium nitrite" in str(card["together"]["amounts"])


def test_no_dose_for_the_other_stops_the_tin():
    """50 g of batter with a strong salt on a scale of a gram: not one step of it is within the limits."""
    card = card_for(LOAF, pack="6.25 %", beside=TURKEY, beside_mix="50 g")
    assert card["verdict"] == "stop" and "beside_no_dose" in codes(card) and card["cure"] is None and card["together"] is None


@pytest.mark.parametrize("fields, code", [
    ({"beside": GREY}, "needed_beside_mix"), ({"beside_mix": "1 kg"}, "needed_beside"), ({"beside": "nothing", "beside_mix": "1 kg"}, "recipe_not_here"), ({"beside": "back-bacon", "beside_mix": "1 kg"}, "beside_not_ground"),
])
def test_what_is_missing_is_said(fields, code):
    assert [fault["code"] for fault in card_for(LOAF, **FINE, **fields)["faults"]] == [code]


def test_beside_poultry_the_pork_is_cooked_as_poultry_asks():
    """74 C for poultry outside its own tables; a core that is typed too low for it is stopped."""
    readings = "0 min 4 °C; 15 min 30 °C; 30 min 45 °C; 45 min 60 °C; 60 min 73.5 °C; 63 min 73.5 °C"
    alone = card_for(LOAF, **FINE, readings=readings)
    both = card_for(LOAF, **FINE, readings=readings, beside=TURKEY, beside_mix="1200 g")
    assert alone["verdicts"]["cooking"] in ("ok", "caution")
    assert both["verdicts"]["cooking"] == "stop"
    assert (alone["cooking"][0]["target"]["core"], both["cooking"][0]["target"]["core"]) == (72, 74)
    assert card_for(LOAF, **FINE, core="72 °C", beside=TURKEY, beside_mix="1200 g")["verdicts"]["cooking"] == "stop"


def test_two_batters_open_no_cured_way_of_cooling():
    salty = {"nitrite": "148 mg/kg", "nitrite_per": "mix", "salt": "3 %", "region": "us", **FINE}
    alone = card_for(LOAF, **salty)["cooling"][0]
    both = card_for(LOAF, **salty, beside=GREY, beside_mix="1 kg")["cooling"][0]
    assert alone["low"]["nitrite_mg_per_kg"] > 100
    assert both["low"]["nitrite_mg_per_kg"] == 0 and both["low"]["brine_percent"] == 0
    opened = {option["id"] for option in both["options"] if option["open"]}
    assert opened and not any("cured" in name for name in opened)
