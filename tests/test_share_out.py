"""Make it for: weights on hand, a batch, portions; two batters in one tin; shopping."""

from fractions import Fraction

import pytest
from helpers.kitchens import RECIPES, batch_for, ceilings_of, ground_recipe, pack_of, scales_of
from hypothesis import given, settings
from hypothesis import strategies as st

from curebatch.batch import allergens, cure
from curebatch.batch.composition import compose, part
from curebatch.batch.refusal import Refused
from curebatch.batch.share_out import (
    Batter, Need, allowed, meat_for_mix, meat_for_portions, mix_per_meat, portions_from, price, scaled_to, shopping, together, with_amount, with_block,
)
from curebatch.intake.recipe import read_recipe


def loaf():
    recipe, faults = read_recipe((RECIPES / "pistachio-pork-loaf.1.toml").read_text(encoding="utf-8"), "loaf")
    assert recipe, faults
    return recipe


def code_of(call) -> str:
    with pytest.raises(Refused) as refused:
        call()
    return refused.value.code


GRAMS = st.integers(100, 20000).map(Fraction)


@settings(deadline=None)
@given(st.integers(1000, 20000), st.sampled_from(["6.25 %", "0.8-1.0 %", "2.0-2.5 %"]))
def test_a_batch_weight_gives_a_batch_of_that_weight(mix, label):
    pack = pack_of(label)
    meat = meat_for_mix(loaf(), Fraction(mix), pack)
    batch = batch_for(loaf(), label, scale="0.001 g", meat=meat, ceilings=())
    # Ten lines, each off by half a step at the most.
    assert float(batch.mix_grams) == pytest.approx(mix, abs=0.01)


def test_a_weak_curing_salt_that_fills_the_salt_by_itself():
    recipe = ground_recipe(nitrite="100 mg/kg", salt="2.0 %")
    batch = batch_for(recipe, "0.5 %", scale="0.001 g", meat=1000, ceilings=())
    assert float(mix_per_meat(recipe, pack_of("0.5 %")) * 1000) == pytest.approx(float(batch.mix_grams), abs=0.05)


def test_injected_counts_the_pumped_cut():
    recipe, _ = read_recipe((RECIPES / "picnic-ham.1.toml").read_text(encoding="utf-8"), "ham")
    assert mix_per_meat(recipe) == Fraction("1.12")


@settings(deadline=None)
@given(st.integers(1, 200), st.integers(20, 300))
def test_portions_are_enough(count, portion):
    meat = meat_for_portions(loaf(), count, Fraction(portion), Fraction(82, 100))
    cooked = meat * mix_per_meat(loaf()) * Fraction(82, 100)
    assert portions_from(cooked, Fraction(portion)) == count


@settings(deadline=None)
@given(st.dictionaries(st.sampled_from(["shoulder", "back-fat", "ice", "pistachios"]), GRAMS, min_size=1))
def test_the_scarcest_decides_and_nothing_on_hand_is_overdrawn(on_hand):
    recipe = loaf()
    rows = allowed(recipe, on_hand)
    assert rows[0].meat == min(row.meat for row in rows)
    shares = {line.id: line.share for line in recipe.ingredients}
    for name, grams in on_hand.items():
        assert rows[0].meat * shares[name] <= grams
    assert any(rows[0].meat * shares[name] == grams for name, grams in on_hand.items())


@settings(deadline=None)
@given(GRAMS, GRAMS)
def test_a_block_as_it_lies_there_keeps_the_targets(lean, fat):
    made = with_block(loaf(), {"shoulder": lean, "back-fat": fat})
    assert made.meat == lean + fat
    assert sum(line.share for line in made.recipe.ingredients if line.role in ("meat", "fat")) == 1
    solved = cure.solve(made.recipe, made.meat, pack_of("6.25 %"), scales_of("0.001 g"), ceilings_of("us")).batch
    assert float(solved.nitrite("mix", "nominal") * 10**6) == pytest.approx(104, abs=0.7)
    assert float(solved.salt_share("mix", "nominal")) == pytest.approx(0.021, abs=0.0001)


def test_only_400_g_of_fat():
    recipe = loaf()
    smaller = scaled_to(recipe, "back-fat", Fraction(400))
    assert (smaller.meat, smaller.changed, smaller.recipe) == (1600, (), recipe)
    other = with_amount(recipe, Fraction(2400), "back-fat", Fraction(400))
    assert other.meat == 1800 + 400
    assert {c.id: c.after for c in other.changed} == {"shoulder": Fraction(1800, 2200), "back-fat": Fraction(400, 2200)}
    # With none of it the block is lean alone.
    assert with_amount(recipe, Fraction(2400), "back-fat", Fraction(0)).meat == 1800


def test_another_ingredient_set_changes_itself_alone():
    made = with_amount(loaf(), Fraction(2400), "pistachios", Fraction(100))
    assert made.meat == 2400
    assert [(c.id, c.after) for c in made.changed] == [("pistachios", Fraction(100, 2400))]


def test_what_makes_no_batch():
    recipe = loaf()
    assert code_of(lambda: allowed(recipe, {"tofu": Fraction(1)})) == "on_hand_unknown"
    assert code_of(lambda: allowed(recipe, {"ice": Fraction(0)})) == "on_hand_nothing"
    assert code_of(lambda: with_block(recipe, {"back-fat": Fraction(400)})) == "no_meat"
    assert code_of(lambda: with_block(recipe, {"ice": Fraction(400)})) == "on_hand_unknown"
    assert code_of(lambda: with_amount(recipe, Fraction(600), "shoulder", Fraction(0))) == "no_meat"
    assert code_of(lambda: meat_for_portions(recipe, 0, Fraction(50), Fraction(9, 10))) == "portions"


def three(low, nominal, high):
    return {"low": Fraction(low), "nominal": Fraction(nominal), "high": Fraction(high)}


def batter(name, grams, nitrite, **more):
    zero = three(0, 0, 0)
    given_ = {"salt": zero, "state": "held", "kinds": ("pork",), **more}
    return Batter(name, Fraction(grams), Fraction(grams) * 3 / 4, three(*nitrite) if nitrite else zero, **given_)


def test_two_batters_in_one_tin_are_judged_by_the_worse():
    wheat = allergens.of_ingredient("Wheat flour")
    one = batter("pink", 2000, (90, 100, 110), allergens=allergens.of_ingredient("Pistachios"), made_of=compose([part("", "meat", 2000, food="10219")]))
    two = batter("grey", 1000, None, state="uncured", kinds=("poultry", "pork"), allergens=wheat, made_of=compose([part("", "meat", 1000, food="05332")]))
    both = together([one, two])
    assert both.nitrite["mix"]["nominal"] == Fraction(200, 3)
    assert both.nitrite["meat"]["high"] == Fraction(220, 3) * 4 / 3
    assert (both.worst_nitrite["low"], both.worst_nitrite["high"]) == (0, 110)
    assert both.state == "uncured" and both.poultry and both.kinds == ("pork", "poultry")
    assert {group.group for group in allergens.on_list(both.allergens, "eu")} == {"nuts", "gluten"}
    assert both.made_of.total == 3000
    assert code_of(lambda: together([one])) == "together"


@settings(deadline=None)
@given(st.lists(st.tuples(GRAMS, st.integers(0, 150)), min_size=2, max_size=4))
def test_the_mixture_lies_between_its_batters(rows):
    both = together([batter("b", grams, (nitrite, nitrite, nitrite)) for grams, nitrite in rows])
    assert both.worst_nitrite["low"] <= both.nitrite["mix"]["nominal"] <= both.worst_nitrite["high"]


NEEDS = [Need("Pork shoulder", "meat", Fraction(1830)), Need("pork  shoulder", "meat", Fraction(170)), Need("Ice", "ice", Fraction(500)), Need("Mace", "spice", Fraction(3))]


def test_a_list_joins_the_same_thing_and_leaves_out_the_tap():
    listed = shopping(NEEDS, {"pork shoulder": price(Fraction("8.50"), "eur", Fraction(1500))}, portions=20)
    assert [(item.name, item.grams) for item in listed.items] == [("Pork shoulder", 2000), ("Mace", 3)]
    meat = listed.items[0]
    assert (meat.packs, meat.spent, meat.used) == (2, 17, Fraction("8.50") * 2000 / 1500)
    assert listed.per_portion == meat.used / 20 and listed.currency == "EUR" and listed.unpriced == ("Mace",)


def test_what_is_at_home_is_not_bought_but_used():
    listed = shopping(NEEDS, {"Pork shoulder": price(Fraction(10), "GBP", Fraction(1000)), "Gold": price(Fraction(1), "GBP", Fraction(1))}, have={"Pork Shoulder": Fraction(1500)})
    assert (listed.items[0].grams, listed.items[0].packs, listed.items[0].used) == (500, 1, 20)
    assert listed.unmatched == ("Gold",) and listed.per_portion is None
    assert shopping(NEEDS).used is None


def test_prices_need_one_currency():
    assert code_of(lambda: price(Fraction(3), "", Fraction(1000))) == "price_no_currency"
    assert code_of(lambda: price(Fraction(3), "€", Fraction(1000))) == "price_currency"
    assert code_of(lambda: price(Fraction(-3), "EUR", Fraction(1000))) == "price_value"
    mixed = {"Mace": price(Fraction(3), "EUR", Fraction(30)), "Pork shoulder": price(Fraction(3), "USD", Fraction(1000))}
    assert code_of(lambda: shopping(NEEDS, mixed)) == "price_two_currencies"
