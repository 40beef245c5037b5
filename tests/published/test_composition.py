"""Composition against the food table, a published trial and the facts of the trade; the source beside each value."""

import pytest

from curebatch.batch.composition import (
    batter_density, compose, cooked, density, energy, expected_yield, judge_emulsion, nearest_emulsions, part,
)
from curebatch.batch.foods import all_foods, find, with_fat
from curebatch.science.thermal_properties import component_density


# KOSFA, Food Sci Anim Resour 45(3):794: goat lean 70 %, the rest water and back fat; yield, then water,
# protein and fat of the cooked sausage.
@pytest.mark.parametrize(
    "water, fat, loss, published", [(50, 250, 0.927, (58.0, 15.5, 25.0)), (250, 50, 0.870, (76.0, 15.5, 6.4))]
)
def test_published_batters_within_a_point_and_a_half(water, fat, loss, published):
    raw = compose([part("Goat", "meat", 700, food="Goat, raw"), part("Water", "water", water), part("Back fat", "fat", fat, food="10004")])
    made = cooked(raw, loss)
    for name, value in zip(("water", "protein", "fat"), published, strict=True):
        assert made.percent(name) == pytest.approx(value, abs=1.5)


# USDA SR28 (2015): values as printed there.
@pytest.mark.parametrize(
    "ndb, name, water, protein, fat, sodium",
    [
        ("10005", "Pork, fresh, belly, raw", 36.74, 9.34, 53.01, 32),
        ("10004", "Pork, fresh, backfat, raw", 7.69, 2.92, 88.69, 11),
        ("17168", "Goat, raw", 75.84, 20.6, 2.31, 82),
        ("02047", "Salt, table", 0.2, 0, 0, 38758),
        ("12151", "Nuts, pistachio nuts, raw", 4.37, 20.16, 45.32, 1),
        ("05062", "Chicken, broiler or fryers, breast, skinless, boneless, meat only, raw", 73.9, 22.5, 2.62, 45),
    ],
)
def test_rows_of_the_table(ndb, name, water, protein, fat, sodium):
    row = find(ndb)
    assert row is find(name)
    assert (row.water, row.protein, row.fat, row.sodium_mg) == (water, protein, fat, sodium)


def test_what_is_known_about_the_sums_of_the_rows():
    # Read off SR28: pork, poultry and veal within 3 points of 100, beef within 5.7; baking soda 37.
    for food in all_foods():
        if food.role in ("meat", "fat"):
            assert food.parts_sum == pytest.approx(100, abs=5.7 if food.name.startswith("Beef") else 3.01), food.name
    assert find("Leavening agents, baking soda").parts_sum == pytest.approx(37, abs=0.2)


# Straight lines read off eight rows of ground beef and two of ground pork (SR28): water, protein, ash over fat.
@pytest.mark.parametrize("fat", [3.0, 6.0, 12.5, 20.0, 28.0])
def test_ground_beef_is_a_straight_line(fat):
    made = with_fat("beef", fat)
    assert made.water == pytest.approx(77.02 - 0.7575 * fat, abs=0.05)
    assert made.protein == pytest.approx(22.83 - 0.2826 * fat, abs=0.05)
    assert made.ash == pytest.approx(1.117 - 0.0138 * fat, abs=0.02)


@pytest.mark.parametrize("fat", [4.0, 9.0, 16.0])
def test_ground_pork_is_a_straight_line(fat):
    made = with_fat("pork", fat)
    assert made.water == pytest.approx(76.60 - 0.7458 * fat, abs=0.02)
    assert made.protein == pytest.approx(22.14 - 0.2592 * fat, abs=0.02)
    assert made.ash == pytest.approx(1.123 - 0.0133 * fat, abs=0.01)


@pytest.mark.parametrize("salt, water, brine", [(2.0, 60, 3.23), (2.2, 60, 3.54)])
def test_brine_of_a_product(salt, water, brine):
    # Worked with the rule brine = 100 salt / (salt + water).
    made = compose([part("Salt", "curing_salt", salt, salt=1.0), part("Water", "water", water / 0.999)])
    assert made.brine == pytest.approx(brine, abs=0.005)


def test_pure_salt_on_an_eu_label():
    # Sodium is 0.3934 of salt; Reg. (EU) 1169/2011 counts sodium x 2.5, so pure salt reads 98.4 %.
    assert compose([part("", "curing_salt", 100, salt=1.0)]).label_salt == pytest.approx(98.35, abs=0.01)


def test_energy_by_the_eu_factors():
    # Reg. (EU) 1169/2011, annex XIV: protein and carbohydrate 17 kJ / 4 kcal, fat 37 kJ / 9 kcal a gram.
    row = find("Bread crumbs, dry, grated, plain")
    per = energy(compose([part("Crumbs", "binder", 100, food=row)]))
    assert per.kj == pytest.approx(17 * (13.35 + 71.98) + 37 * 5.3)
    assert per.kcal == pytest.approx(4 * (13.35 + 71.98) + 9 * 5.3)


def test_yields_as_read():
    # KOSFA 45(3):794: 87-93 % in casings; another study 82-85; a covered mould 97-100 from memory.
    assert (expected_yield("casing").low, expected_yield("casing").high) == (0.82, 0.93)
    assert (expected_yield("covered_tin").low, expected_yield("covered_tin").high) == (0.97, 1.0)


def test_density_of_a_raw_emulsion():
    # Marcotte 2008: raw at most 1.07 g/ml, cooked at least 0.97; 1.03 is taken to fill a tin.
    lean = compose([part("", "meat", 700, food="17168"), part("", "ice", 250), part("", "fat", 50, food="10004")])
    assert 0.97 <= density(lean, 20) <= 1.07
    span = batter_density(lean)
    assert (span.low, span.likely, span.high) == (0.97, 1.03, 1.07)
    # By hand from the polynomials at 20 C for pure fat and for water.
    assert density(compose([part("", "fat", 10, food="Lard")]), 20) == pytest.approx(component_density("fat", 20) / 1000)
    assert density(compose([part("", "fat", 10, food="Lard")]), 20) == pytest.approx((925.59 - 0.41757 * 20) / 1000)


def test_typical_emulsions_pass_and_the_class_rules_hold():
    # US class rules for frankfurter and bologna: fat at most 30 %, binders at most 3.5 %.
    fat = compose([part("", "meat", 60, food="10219"), part("", "fat", 40, food="10004")])
    assert {"fat", "fat_and_added_water"} <= {f.code for f in judge_emulsion(fat) if f.severity == "caution"}
    starchy = compose([part("", "meat", 96, food="10219"), part("", "starch", 4, food="Cornstarch")])
    assert any(f.code == "binder" and f.value == pytest.approx(4) for f in judge_emulsion(starchy))
    assert nearest_emulsions(cooked(compose([part("", "meat", 700, food="17168"), part("", "water", 50), part("", "fat", 250, food="10004")]), 0.927), 1)[0].off < 5
