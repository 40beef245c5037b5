"""Readings that cannot be right are named, and never put right."""

from __future__ import annotations

import pytest

from curebatch.science.readings import PLACES, WrongReadings, checked, wrong_place
from curebatch.words import has


def codes(rows, **bounds):
    with pytest.raises(WrongReadings) as error:
        checked(rows, **bounds)
    for wrong in error.value.wrong:
        assert has(f"fault.{wrong.code}"), wrong.code
    return [(wrong.code, wrong.index) for wrong in error.value.wrong]


@pytest.mark.parametrize("rows, expected", [
    ([], [("reading_none", 0)]),
    ([(0, 60.0), (10, 62.0), (5, 63.0)], [("reading_out_of_order", 2)]),
    ([(0, 60.0), (0, 61.0)], [("reading_same_time", 1)]),
    ([(0, 60.0), (5, 160.0)], [("reading_fahrenheit", 1)]),
    ([(0, 145.0), (5, 160.0)], [("reading_fahrenheit", 0), ("reading_fahrenheit", 1)]),
    ([(0, 60.0), (5, 350.0)], [("reading_impossible", 1)]),
    ([(0, -41.0), (5, 60.0)], [("reading_impossible", 0)]),
    ([(0, float("nan")), (float("inf"), 5.0)], [("reading_not_a_number", 0), ("reading_not_a_number", 1)]),
    ([(0, 20.0), (1, 62.0)], [("reading_jump", 1)]),
    ([(0, 60.0), (1, 20.0)], [("reading_jump", 1)]),
])
def test_each_is_named(rows, expected):
    assert codes(rows) == expected


def test_what_it_would_be_in_celsius():
    with pytest.raises(WrongReadings) as error:
        checked([(0, 160.0)])
    assert error.value.wrong[0].celsius == pytest.approx(71.1, abs=0.02)


def test_from_before_it_could_be_and_from_after_now():
    assert codes([(-5, 60.0), (5, 61.0), (90, 62.0)], not_before=0, not_after=60) == [("reading_too_early", 0), ("reading_too_late", 2)]
    assert len(checked([(0, 60.0), (60, 61.0)], not_before=0, not_after=60)) == 2


@pytest.mark.parametrize("place, temperature, code", [
    ("fridge", 90.0, "place_too_warm"), ("fridge", 40.0, "place_fahrenheit"), ("fridge", 4.0, None), ("fridge", -8.0, "place_too_cold"),
    ("ice", 0.1, "ice_too_warm"), ("ice", 28.0, "ice_too_warm"), ("ice", 0.0, None), ("ice", -60.0, "place_too_cold"),
    ("oven", 350.0, "place_fahrenheit"), ("oven", 120.0, None), ("oven", 20.0, "place_too_cold"), ("bath", 180.0, "place_fahrenheit"),
    ("meat", 36.0, "place_fahrenheit"), ("meat", 2.0, None), ("water", 60.0, "place_fahrenheit"), ("water", -1.0, "place_too_cold"),
    ("room", 70.0, "place_fahrenheit"), ("freezer", 0.0, "place_fahrenheit"), ("freezer", -18.0, None), ("ice_water", 33.0, "place_fahrenheit"),
    ("fridge", float("nan"), "place_not_a_number"),
])
def test_places(place, temperature, code):
    found = wrong_place(place, temperature)
    assert (found.code if found else None) == code
    assert found is None or has(f"fault.{found.code}")


@pytest.mark.parametrize("place", PLACES)
def test_every_place_has_a_name(place):
    assert has(f"place.{place}")
