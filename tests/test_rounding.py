"""Steps and scales, to the digit: what is weighed, which way it is rounded, on which scale."""

from fractions import Fraction

import pytest
from helpers.kitchens import scales_of

from curebatch.batch.rounding import Scale, Scales, to_step
from curebatch.intake.units import read_amount


def scale(text: str) -> Scale:
    return Scale.of(read_amount(text, "mass", ("g", "oz")))


@pytest.mark.parametrize(
    "grams, down, nearest, up",
    [
        ("0", "0", "0", "0"), ("0.3", "0.3", "0.3", "0.3"), ("0.31", "0.3", "0.3", "0.4"), ("0.35", "0.3", "0.3", "0.4"),  # a half goes down: towards less cure
        ("0.3500001", "0.3", "0.4", "0.4"), ("0.39", "0.3", "0.4", "0.4"), ("0.04", "0", "0", "0.1"), ("17.25", "17.2", "17.2", "17.3"),
    ],
)
def test_steps_of_a_tenth(grams, down, nearest, up):
    found = tuple(to_step(Fraction(grams), Fraction("0.1"), way) for way in ("down", "nearest", "up"))
    assert found == (Fraction(down), Fraction(nearest), Fraction(up))


def test_large_steps_too():
    assert [to_step(Fraction(13), Fraction(5), way) for way in ("down", "nearest", "up")] == [10, 15, 15]
    assert [to_step(Fraction(12), Fraction(5), way) for way in ("down", "nearest", "up")] == [10, 10, 15]
    assert [to_step(Fraction(11), Fraction(5), way) for way in ("down", "nearest", "up")] == [10, 10, 15]


@pytest.mark.parametrize("way", ["", "upwards", "DOWN", "XXdownXX"])
def test_another_way_is_a_fault_of_the_program(way):
    with pytest.raises(ValueError, match="nearest, down or up") as caught:
        to_step(Fraction(1), Fraction(1), way)
    assert repr(way) in str(caught.value)


@pytest.mark.parametrize(
    "typed, step, unit, places, shown",
    [("1 g", "1", "g", 0, "250 g"), ("0.1 g", "0.1", "g", 1, "250.0 g"), ("0,05 g", "0.05", "g", 2, "250.00 g"), ("0.1 oz", "2.8349523125", "oz", 1, "8.8 oz"), ("5 g", "5", "g", 0, "250 g")],
)
def test_a_scale_is_off_by_one_step_and_shows_its_own_decimals(typed, step, unit, places, shown):
    found = scale(typed)
    assert (found.step, found.unit, found.places) == (Fraction(step), unit, places)
    assert found.error == Fraction(step)  # tare and reading: half a step each
    assert found.text(Fraction(250)) == shown


def test_the_cure_goes_on_the_fine_scale_where_there_is_one():
    assert scales_of("1 g", "0.1 g").for_cure == scale("0.1 g")
    assert scales_of("1 g").for_cure == scale("1 g")
    assert Scales(scale("1 g")).fine is None


@pytest.mark.parametrize("coarse, edge", [("1 g", 100), ("5 g", 500), ("0.5 g", 50)])
def test_small_amounts_go_on_the_fine_scale_up_to_a_hundred_steps_of_the_other(coarse, edge):
    both, only = scales_of(coarse, "0.1 g"), scales_of(coarse)
    hair = Fraction(1, 1000)
    assert both.pick(edge - hair) == both.fine and both.pick(Fraction(0)) == both.fine
    assert both.pick(Fraction(edge)) == both.pick(edge + hair) == both.coarse
    assert only.pick(Fraction(1)) == only.coarse
