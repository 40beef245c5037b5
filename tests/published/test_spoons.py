"""Spoons against USDA SR28 (2015), table of weights; its spoons are the US ones."""

from fractions import Fraction

import pytest

from curebatch.batch.spoons import SPOONS, Spoons, to_grams
from curebatch.batch.refusal import Refused


def grams(count, measure, food, size="us", form=""):
    return float(to_grams(Spoons(Fraction(count), measure), food, size=size, form=form).nominal)


@pytest.mark.parametrize(
    "count, measure, food, form, printed",
    [
        ("1", "tsp", "Salt, table", "", 6.0), ("1", "tbsp", "Salt, table", "", 18.0), ("1", "tsp", "Sugars, granulated", "", 4.2),
        ("1", "tsp", "Sugars, brown", "packed", 4.6), ("1", "tsp", "Sugars, brown", "unpacked", 3.0),
        # A cup as it was weighed, not as 48 teaspoons.
        ("1", "cup", "Sugars, brown", "packed", 220), ("1", "cup", "Sugars, brown", "unpacked", 145), ("1", "cup", "Salt, table", "", 292),
        ("1", "tsp", "Spices, pepper, white", "ground", 2.4), ("1", "tsp", "Spices, pepper, black", "whole", 2.9),
        ("1", "tsp", "Spices, mace, ground", "", 1.7), ("1", "tsp", "Leavening agents, baking soda", "", 4.6),
        ("0.5", "tsp", "18370", "", 2.3), ("1", "cup", "Cornstarch", "", 128), ("0.25", "cup", "01091", "", 30), ("1", "tbsp", "Honey", "", 21.0),
        ("1", "cup", "Wheat flour, white, all-purpose, enriched, bleached", "", 125),
    ],
)
def test_a_us_spoon_weighs_what_the_table_says(count, measure, food, form, printed):
    found = to_grams(Spoons(Fraction(count), measure), food, size="us", form=form)
    assert found.low <= found.nominal <= found.high
    assert float(found.nominal) == pytest.approx(printed)


def test_ends_come_from_the_rows_that_scatter():
    # Salt: 6 g a teaspoon, 292 g a cup of 48; powdered sugar 2.5 g, 100 g a cup sifted, 8 g a tablespoon unsifted.
    salt = to_grams(Spoons(Fraction(1), "tsp"), "Salt, table", size="us")
    assert (salt.low, salt.nominal, salt.high) == (6, 6, Fraction(292, 48))
    sugar = to_grams(Spoons(Fraction(1), "tsp"), "powdered sugar", size="us")
    assert (sugar.low, sugar.nominal, sugar.high) == (Fraction(100, 48), Fraction(5, 2), Fraction(8, 3))


def test_regular_milk_powder_weighs_1_8_times_instant():
    assert grams(1, "cup", "regular milk powder") / grams(1, "cup", "instant milk powder") == pytest.approx(1.8, abs=0.05)


def test_sizes_of_the_spoons():
    # US customary: a gallon of 231 cubic inches has 768 teaspoons. Metric 5, 15 and 250; Australian tablespoon 20 ml.
    assert float(SPOONS["us"]["tsp"]) == pytest.approx(4.93, abs=0.005)
    assert float(SPOONS["us"]["tbsp"]) == pytest.approx(14.79, abs=0.005)
    assert SPOONS["us"]["tsp"] * 768 == Fraction("3785.411784")
    assert (SPOONS["metric"]["tsp"], SPOONS["metric"]["tbsp"], SPOONS["au"]["tbsp"]) == (5, 15, 20)
    assert grams(1, "tbsp", "table salt", "au") / grams(1, "tbsp", "table salt", "metric") == pytest.approx(20 / 15)


def test_other_salts_scatter_from_2_8_to_6_8_grams():
    # Common practice, no source; a kind has to be named before a spoon of "coarse salt" means grams.
    other = to_grams(Spoons(Fraction(1), "tsp"), "Salt, other than table salt", size="us")
    assert (other.low, other.high, other.source) == (Fraction("2.8"), Fraction("6.8"), "trade")
    for vague in ("salt", "Coarse salt", "milk powder", "baking powder"):
        with pytest.raises(Refused) as refused:
            to_grams(Spoons(Fraction(1), "tsp"), vague, size="us")
        assert refused.value.code == "spoon_kind"
