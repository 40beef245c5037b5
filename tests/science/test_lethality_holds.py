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


@pytest.mark.parametrize("ask", [
    lambda: heat.hold_for_meat(54.3), lambda: heat.hold_for_meat(60.0, 5.0), lambda: heat.hold_for_listeria(54.3),
    lambda: heat.lethality(checked([(0, 60.0)]), error=-0.1), lambda: heat.lethality(checked([(0, 60.0)]), error=5.1),
    lambda: heat.lethality(checked([(0, 60.0)]), poultry_fat=0.2), lambda: heat.fit_line([(60.0, 1.0)], 60.0),
    lambda: heat.fit_line([(60.0, 1.0), (61.0, 0.0)], 60.0),
])
def test_outside_what_is_known(ask):
    with pytest.raises(OutOfRange):
        ask()
