"""Composition: linear, nothing lost, and the bad inputs."""

import tomllib
from fractions import Fraction
from importlib import resources

import pytest
from helpers.kitchens import batch_for, ground_recipe
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from curebatch.batch.composition import (
    PARTS, Composition, compose, cooked, cooked_range, density, energy, expected_yield, judge_emulsion, judge_salt, part, parts_of, shares_for_heat,
)
from curebatch.batch.foods import KINDS, UnknownFood, all_foods, find, with_fat
from curebatch.batch.labels import NUTRIENTS, eu, eu_label, us, us_label
from curebatch.batch.refusal import Refused
from curebatch.words import has

FOODS = st.sampled_from(all_foods())
LINES = st.lists(st.tuples(FOODS, st.floats(1, 5000)), min_size=1, max_size=8)


def made(lines):
    return compose(part(food.name, food.role, grams, food=food) for food, grams in lines)


@settings(deadline=None)
@given(LINES, LINES)
def test_merging_two_batches_is_the_weighted_mean(first, second):
    one, two, both = made(first), made(second), made(first + second)
    merged = one + two
    share = one.total / both.total
    for name in (*PARTS, "sodium_mg", "salt"):
        assert merged.percent(name) == pytest.approx(both.percent(name), abs=1e-9)
        assert both.percent(name) == pytest.approx(share * one.percent(name) + (1 - share) * two.percent(name), abs=1e-9)
    mean = share * energy(one).kj + (1 - share) * energy(two).kj
    assert energy(both).kj == pytest.approx(mean, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(LINES, st.floats(0.01, 100))
def test_scaling_changes_no_share(lines, factor):
    one, more = made(lines), made(lines).times(factor)
    for name in PARTS:
        assert more.percent(name) == pytest.approx(one.percent(name), abs=1e-9)
    assert density(more) == pytest.approx(density(one))


@settings(deadline=None)
@given(LINES, st.floats(0.3, 1))
def test_cooking_takes_water_and_nothing_else(lines, share):
    raw = made(lines)
    assume(raw.total * (1 - share) <= raw.water)
    done = cooked(raw, share)
    assert done.total == pytest.approx(raw.total * share)
    assert done.water == pytest.approx(raw.water - raw.total * (1 - share), abs=1e-6)
    for name in ("protein", "fat", "ash", "sodium_mg"):
        assert getattr(done, name) == getattr(raw, name)


@settings(deadline=None)
@given(st.sampled_from(KINDS), st.floats(0.5, 100))
def test_entered_fat_is_the_fat_and_the_rest_fits(kind, fat):
    food = with_fat(kind, fat)
    assert food.fat == fat
    assert 93 < food.parts_sum < 103
    assert min(food.water, food.protein, food.carbohydrate, food.ash, food.sodium_mg) >= 0
    leaner = with_fat(kind, max(0.5, fat - 0.5))
    assert leaner.water >= food.water - 1  # water falls as fat rises, but for the kinks between rows


def test_a_row_is_met_exactly():
    assert with_fat("beef", 20).water == pytest.approx(find("23572").water)
    assert with_fat("pork", 65.7).protein == pytest.approx(find("10006").protein)
    assert with_fat("lamb", 10).outside and not with_fat("pork", 10).outside


@settings(deadline=None)
@given(st.sampled_from(("fat", "protein", "carbohydrate", "salt", "energy_kj", "energy_kcal")), st.floats(0, 900))
def test_eu_rounding_of_what_is_rounded_changes_nothing(code, value):
    once = eu(code, value)
    assert eu(code, once.value).value == once.value
    assert abs(float(once.value) - value) <= 0.5 + 1e-9


@settings(deadline=None)
@given(st.sampled_from(("fat", "protein", "carbohydrate", "sodium", "energy_kcal")), st.floats(0, 2000))
def test_us_rounding_of_what_is_rounded_changes_nothing(code, value):
    once = us(code, value)
    assert us(code, once.value).value == once.value
    assert abs(float(once.value) - value) <= 5 + 1e-9


def test_labels_carry_every_figure_once():
    raw = made([(find("10219"), 700.0), (find("02047"), 20.0)])
    assert [row.code for row in eu_label(raw)] == ["energy_kj", "energy_kcal", *NUTRIENTS, "salt"]
    assert [row.code for row in us_label(raw, 50)] == ["energy_kcal", "fat", "sodium", "carbohydrate", "protein"]


def test_a_batch_as_weighed_counts_both_salts():
    recipe = ground_recipe(extra='[[ingredient]]\nname = "Sodium erythorbate"\nrole = "accelerator"\namount = "0.5 g"\n')
    batch = batch_for(recipe, "6.25 %", scale="0.01 g", meat=1000)
    raw = compose(parts_of(batch, recipe))
    assert raw.total == pytest.approx(float(batch.mix_grams))
    assert raw.salt / raw.total == pytest.approx(float(batch.salt_share("mix", "nominal")), rel=1e-9)
    # 250 g of ice are known, the pork of this recipe has no row.
    assert raw.unknown == pytest.approx(1000)
    assert raw.sodium_mg / 1000 == pytest.approx(0.3934 * raw.salt + 0.5 * 0.116 + 250 * 4e-5, rel=0.02)


def test_with_much_unknown_nothing_else_is_judged():
    raw = compose([part("Pork", "meat", 900), part("Lard", "fat", 100, food="Lard")])
    (finding,) = judge_emulsion(raw)
    assert (finding.code, finding.severity, finding.value) == ("unknown_too_much", "caution", 90)


@pytest.mark.parametrize(
    "percent, method, code, severity",
    [
        ("1.4", "ground", "salt_low", "caution"), ("1.5", "ground", "salt_low", "note"), ("2.0", "ground", None, None), ("2.4", "ground", "salt_high", "note"),
        ("2.6", "ground", "salt_high", "caution"), ("2.5", "dry", None, None), ("3.5", "brine", "salt_high", "caution"), ("1.9", "injected", "salt_low", "caution"),
    ],
)
def test_salt_against_practice(percent, method, code, severity):
    found = judge_salt(Fraction(percent) / 100, method)
    assert (found and found.code, found and found.severity) == (code, severity)


def test_yield_that_cannot_be():
    dry = compose([part("", "starch", 100, food="Cornstarch")])
    with pytest.raises(Refused) as refused:
        cooked(dry, 0.5)
    assert refused.value.code == "yield_impossible"
    wet = compose([part("", "water", 100)])
    assert set(cooked_range(wet, expected_yield("casing"))) == {"low", "likely", "high"}
    for share in (0, -1, 1.01):
        with pytest.raises(Refused):
            cooked(wet, share)


def test_unknown_foods_come_with_near_names():
    with pytest.raises(UnknownFood) as unknown:
        find("Pork, fresh, back fat, raw")
    assert "Pork, fresh, backfat, raw" in unknown.value.near
    with pytest.raises(UnknownFood) as unknown:
        find("pistachios")
    assert unknown.value.near[0].startswith("Nuts, pistachio")
    with pytest.raises(Refused):
        with_fat("unicorn", 10)
    for fat in (0.4, 100.1, float("nan")):
        with pytest.raises(Refused):
            with_fat("pork", fat)


def test_numbers_of_rows_with_and_without_the_nought():
    assert find("5062") is find("05062")
    assert len({food.ndb for food in all_foods() if food.ndb}) == sum(1 for food in all_foods() if food.ndb)
    assert {food.name for food in all_foods() if food.source == "memory"} == {"Potato starch", "Dextrose monohydrate"}


def test_nothing_and_heat():
    assert Composition().percent("water") == 0
    assert Composition().water_to_protein is None
    shares = shares_for_heat(compose([part("", "meat", 900, food="23572"), part("", "salt", 20)]))
    assert 0.94 < sum(shares.values()) < 1.06
    assert shares["salt"] == pytest.approx(20 / 920)


def test_three_hundred_ingredients_add_up():
    lines = [(all_foods()[n % len(all_foods())], 10.0 + n) for n in range(300)]
    raw = made(lines)
    assert raw.total == pytest.approx(sum(grams for _, grams in lines))


def test_every_finding_has_words():
    table = tomllib.loads(resources.files("curebatch.data").joinpath("emulsions.toml").read_text(encoding="utf-8"))
    codes = {row["code"] for row in table["bound"]} | {f"unusual_{row['what']}" for row in table["typical"]}
    codes |= {"protein", "unknown", "unknown_too_much", "salt_low", "salt_high"}
    assert not {code for code in codes if not has(f"batch.finding.{code}")}
    assert all(row["source"] and row["sure"] in ("read", "memory") for kind in ("bound", "salt", "yield") for row in table[kind])
    assert not {row["code"] for row in table["yield"] if not has(f"batch.yield.{row['code']}")}
