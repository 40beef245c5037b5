"""Label rounding against the rules. EU: guidance to Reg. (EU) 1169/2011, in a page that quotes its table.
US: FDA, Guide to Nutrition Labeling and Education Act requirements, attachment 7, in a page that quotes its table."""

from fractions import Fraction

import pytest

from curebatch.batch.labels import eu, salt_from_sodium, us


@pytest.mark.parametrize(
    "code, value, text",
    [
        ("energy_kj", 1203.5, "1204"), ("energy_kcal", 287.4, "287"), ("fat", 24.5, "25"), ("fat", 9.94, "9.9"), ("fat", 9.96, "10"),
        ("protein", 15.49, "15"), ("carbohydrate", 3.25, "3.3"), ("carbohydrate", 0.44, "0.4"), ("salt", 2.14, "2.1"), ("salt", 2.15, "2.2"),
        ("salt", 0.994, "0.99"), ("salt", 0.996, "1.0"), ("salt", 0.125, "0.13"), ("salt", 1, "1.0"),
    ],
)
def test_eu_rounding(code, value, text):
    assert eu(code, value).text == text


@pytest.mark.parametrize(
    "code, value, text, less",
    [
        ("energy_kcal", 4.9, "0", False), ("energy_kcal", 47.4, "45", False), ("energy_kcal", 47.5, "50", False), ("energy_kcal", 50, "50", False),
        ("energy_kcal", 54, "50", False), ("energy_kcal", 155, "160", False), ("fat", 0.49, "0", False), ("fat", 0.5, "0.5", False), ("fat", 4.7, "4.5", False),
        ("fat", 4.8, "5", False), ("fat", 5.4, "5", False), ("sodium", 4.9, "0", False), ("sodium", 66, "65", False), ("sodium", 78, "80", False),
        ("sodium", 140, "140", False), ("sodium", 154, "150", False), ("sodium", 168, "170", False), ("protein", 0.4, "0", False), ("protein", 0.7, "1", True),
        ("carbohydrate", 1.5, "2", False),
    ],
)
def test_us_rounding(code, value, text, less):
    found = us(code, value)
    assert (found.text, found.less_than) == (text, less)


def test_salt_is_sodium_times_two_and_a_half():
    assert salt_from_sodium(1000) == Fraction(5, 2)
    assert salt_from_sodium(393.4) == Fraction("0.9835")
