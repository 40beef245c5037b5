"""The integration errs on the cold side: against scipy, and by its properties."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curebatch.science import lethality as heat
from curebatch.science.readings import checked
from curebatch.science.thermal_properties import OutOfRange


@st.composite
def histories(draw):
    minutes, rows = 0.0, []
    temperature = draw(st.floats(0, 75))
    for _ in range(draw(st.integers(2, 25))):
        rows.append((minutes, temperature))
        step = draw(st.floats(0.1, 20))
        minutes += step
        temperature = min(100.0, max(0.0, temperature + draw(st.floats(-1, 1)) * min(14 * step, 12)))
    return rows


def test_against_an_integral_of_the_straight_lines():
    # An own integration, by scipy, of the same rows joined by straight lines: never less than ours,
    # and little more where the readings are close.
    from scipy.integrate import quad

    def cooked(minute):
        return 56 + 17 * (1 - 2.718281828 ** (-minute / 14))

    rows = [(m / 4, cooked(m / 4)) for m in range(60)]
    ours = heat.lethality(checked(rows[:52]), error=0.0).listeria
    true = quad(lambda m: 10 ** ((cooked(m) - 70) / 7.5) * 3, 0, rows[51][0])[0]
    assert 0.97 * true < ours < true


@given(histories(), st.floats(0, 3))
def test_the_probe_only_takes(rows, error):
    rows = checked(rows)
    sure, read = heat.lethality(rows, error), heat.lethality(rows, 0.0)
    assert sure.salmonella <= read.salmonella and sure.listeria <= read.listeria and sure.peak <= read.peak


@given(histories())
def test_a_reading_more_never_proves_less_than_the_colder_end(rows):
    # Putting in the colder of two neighbours half way between them changes nothing.
    more = [rows[0]]
    for one, two in pairwise(rows):
        cold = min(one[1], two[1])
        if two[0] - one[0] <= heat.LONGEST_GAP and abs(one[1] - two[1]) <= 7 * (two[0] - one[0]):
            more.append(((one[0] + two[0]) / 2, cold))
        more.append(two)
    assert heat.lethality(checked(more), 0.0).listeria == pytest.approx(heat.lethality(checked(rows), 0.0).listeria, abs=1e-9)


@given(histories())
def test_never_more_than_ten_and_never_below_nothing(rows):
    found = heat.lethality(checked(rows), 0.0)
    assert 0 <= found.salmonella <= 10 and 0 <= found.listeria <= 10
    if max(t for _, t in rows) < 54.4:
        assert found.salmonella == found.listeria == found.pasteurisation == 0


@given(st.floats(54.4, 100), st.floats(54.4, 100))
def test_hotter_is_never_longer(one, two):
    low, high = sorted((one, two))
    assert heat.hold_for_meat(low).seconds >= heat.hold_for_meat(high).seconds
    assert heat.hold_for_listeria(low).seconds >= heat.hold_for_listeria(high).seconds
    if low >= 57.8:
        assert heat.hold_for_poultry(low, 0.1).seconds >= heat.hold_for_poultry(high, 0.1).seconds


@given(st.floats(57.8, 70), st.floats(0, 0.12), st.floats(0, 0.12))
def test_fatter_chicken_is_never_quicker(core, one, two):
    low, high = sorted((one, two))
    assert heat.hold_for_poultry(core, low).seconds <= heat.hold_for_poultry(core, high).seconds


def test_a_time_that_nobody_watched_earns_nothing():
    watched = heat.lethality(checked([(0, 66.0), (15, 66.0), (30, 66.0)]), 0.0)
    gap = heat.lethality(checked([(0, 66.0), (30, 66.0)]), 0.0)
    assert watched.listeria > 6 and gap.listeria == 0
    assert gap.gaps == (heat.Gap(0, 30),) and watched.gaps == ()
    assert heat.gaps(checked([(0, 10.0), (40, 30.0)])) == ()


def test_a_hold_is_unbroken():
    rows = checked([(0, 65.0), (5, 70.0), (6, 70.5), (7, 69.9), (8, 71.0), (9, 70.0), (11, 70.0), (12, 60.0)])
    found = heat.held(rows, 70.0, 0.0)
    assert (found.minutes, found.begins, found.broken) == (3, 8, True)
    assert heat.held(rows, 72.0, 0.0) == heat.Held(0.0, None, False, False)
    assert heat.held(checked([(0, 71.0), (2, 71.0)]), 70.0, 1.0).minutes == 2
    assert heat.held(checked([(0, 71.0), (20, 71.0)]), 70.0, 1.0).minutes == 0


@pytest.mark.parametrize("rows, minutes, seen", [
    ([(0, 5.0), (60, 11.0), (200, 40.0), (300, 56.0)], 300, True),  # 11 less 1 may have been 12
    ([(0, 5.0), (60, 9.0), (200, 40.0), (300, 55.4)], 240, True),
    ([(0, 20.0), (200, 56.0)], 200, False),
    ([(0, 5.0), (60, 55.0)], None, False),  # 55 less 1 is not 54.4
])
def test_come_up_on_the_long_side(rows, minutes, seen):
    assert heat.come_up(checked(rows), 1.0) == heat.ComeUp(minutes, seen)


@pytest.mark.parametrize("rows, error, core, held", [
    ([(3, 71.0)], 0.0, 70.0, heat.Held(0.0, 3, True, False)),  # seen once: reached, and held for no time that is known
    ([(0, 71.0), (1, 71.0), (2, 71.0)], 0.0, 70.0, heat.Held(2, 0, True, False)),
    ([(0, 60.0), (5, 71.0), (7, 71.0)], 0.0, 70.0, heat.Held(2, 5, True, False)),
    ([(0, 71.0), (1, 69.0), (2, 71.0)], 0.0, 70.0, heat.Held(0.0, 0, True, True)),
    ([(10, 71.0), (13, 71.0), (14, 69.0), (20, 71.0), (21, 71.0)], 0.0, 70.0, heat.Held(3, 10, True, True)),
    ([(0, 71.0), (2, 71.0), (3, 69.0), (4, 71.0), (6, 71.0)], 0.0, 70.0, heat.Held(2, 0, True, True)),  # of two alike the first
    ([(0, 71.0), (15, 71.0), (30, 71.0)], 1.0, 70.0, heat.Held(30, 0, True, False)),  # a quarter of an hour apart is still watched
    ([(0, 70.9), (2, 70.9)], 1.0, 70.0, heat.Held(0.0, None, False, False)),
    ([(0, 69.5), (2, 69.5)], 1.0, 70.0, heat.Held(0.0, None, False, False)),
    ([(0, 61.1), (2, 61.1)], 1.1, 60.0, heat.Held(2, 0, True, False)),  # in binary 61.1 less 1.1 may be a hair short of 60
    ([(0, 54.4), (2, 54.4)], 0.0, 54.4, heat.Held(2, 0, True, False)),
])
def test_the_longest_hold_begins_where_it_began(rows, error, core, held):
    assert heat.held(checked(rows), core, error) == held


@pytest.mark.parametrize("rows, error, gaps", [
    ([(0, 60.0), (15, 60.0)], 0.0, ()), ([(0, 60.0), (15.5, 60.0)], 0.0, ((0, 15.5),)),
    ([(0, 54.4), (20, 60.0)], 0.0, ((0, 20),)), ([(0, 55.4), (20, 60.0)], 1.0, ((0, 20),)),  # something might have been earned
    ([(0, 55.3), (20, 60.0)], 1.0, ()), ([(0, 20.0), (20, 60.0)], 1.0, ()),
])
def test_what_was_not_watched_is_told_where_it_might_have_earned(rows, error, gaps):
    wanted = tuple(heat.Gap(*gap) for gap in gaps)
    assert heat.gaps(checked(rows), error) == heat.lethality(checked(rows), error).gaps == wanted


def test_nothing_is_earned_below_where_the_tables_begin():
    at, below = heat.lethality(checked([(0, 54.4), (12.1, 54.4)]), 0.0), heat.lethality(checked([(0, 54.3), (12.1, 54.3)]), 0.0)
    # 112 min for 6.5 at 54.4 degC
    assert at.salmonella == pytest.approx(6.5 * 12.1 / 112, rel=0.02) and at.listeria > 0 and at.pasteurisation > 0
    assert (below.salmonella, below.listeria, below.pasteurisation) == (0, 0, 0)
    assert (at.peak, heat.lethality(checked([(0, 60.0), (5, 66.0), (8, 64.0)]), 1.0).peak) == (54.4, 65.0)


@pytest.mark.parametrize("printed, begins", [(62.8, (145 - 32) / 1.8), (60.0, 60.0), (54.4, 54.4), (71.1, 71.1), (63.0, 63.0), (62.0, 62.0), (70.0, 70.0)])
def test_a_printed_temperature_begins_at_its_whole_degree_fahrenheit(printed, begins):
    # Of 62.8 it is 145 degF; 63 is no rounding of one.
    assert heat.least(printed) == pytest.approx(begins, abs=1e-9) and 0 <= printed - heat.least(printed) < 0.06


ONE = checked([(0, 60.0)])


@pytest.mark.parametrize("ask, said", [
    (lambda: heat.hold_for_meat(54.3), ("core temperature", 54.3, 54.4, 150)), (lambda: heat.hold_for_meat(150.5), ("core temperature", 150.5, 54.4, 150)),
    (lambda: heat.hold_for_meat(60.0, 5.0), ("reductions", 5.0, 6.5, 7.0)), (lambda: heat.hold_for_meat(60.0, 6.8), ("reductions", 6.8, 6.5, 7.0)),
    (lambda: heat.hold_for_listeria(54.3), ("core temperature", 54.3, 54.4, 150)), (lambda: heat.hold_for_listeria(150.5), ("core temperature", 150.5, 54.4, 150)),
    (lambda: heat.hold_for_poultry(57.7, 0.05), ("core temperature", 57.7, heat.POULTRY_LEAST, 150)), (lambda: heat.hold_for_poultry(60.0, 0.13), ("fat", 0.13, 0, 0.12)),
    (lambda: heat.lethality(ONE, -0.1), ("probe error", -0.1, 0, 5)), (lambda: heat.lethality(ONE, 5.1), ("probe error", 5.1, 0, 5)), (lambda: heat.lethality(ONE, 1.0, 0.2), ("fat", 0.2, 0, 0.12)),
    (lambda: heat.lethality(ONE, 1.0, -0.01), ("fat", -0.01, 0, 0.12)), (lambda: heat.held(ONE, 60.0, 5.1), ("probe error", 5.1, 0, 5)), (lambda: heat.held(ONE, 60.0, -0.1), ("probe error", -0.1, 0, 5)),
    (lambda: heat.come_up(ONE, 5.1), ("probe error", 5.1, 0, 5)), (lambda: heat.come_up(ONE, -0.1), ("probe error", -0.1, 0, 5)),
])
def test_outside_what_is_known_it_says_what_and_how_far_it_goes(ask, said):
    with pytest.raises(OutOfRange) as caught:
        ask()
    assert (caught.value.quantity, caught.value.value, caught.value.low, caught.value.high) == said


@pytest.mark.parametrize("error", [0.0, 0.5, 5.0])
def test_a_probe_may_be_as_far_off_as_that(error):
    assert heat.lethality(ONE, error).peak == 60 - error and heat.held(ONE, 55.0, error).reached and heat.come_up(ONE, error) == heat.ComeUp(0, False)


def test_what_is_not_known_of_the_probe_is_one_kelvin():
    rows = checked([(0, 55.3), (20, 70.9), (22, 70.9)])
    assert heat.gaps(rows) == () and heat.held(rows, 70.0) == heat.Held(0.0, None, False, False)
    assert heat.come_up(checked([(0, 5.0), (60, 9.0), (240, 55.3), (250, 55.4)])) == heat.ComeUp(190, True)
