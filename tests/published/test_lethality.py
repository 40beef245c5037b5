"""Time and temperature against the published tables; the source beside each value."""

from __future__ import annotations

from math import log10

import pytest

from curebatch.science import lethality as heat
from curebatch.science.readings import checked, from_fahrenheit
from curebatch.science.thermal_properties import OutOfRange

# FSIS Appendix A, 1999 edition: degF, degC as printed, hold for 6.5 and for 7 reductions, as printed.
MIN, S = 60, 1
APPENDIX_A = [
    (130, 54.4, 112, 121, MIN), (131, 55.0, 89, 97, MIN), (132, 55.6, 71, 77, MIN), (133, 56.1, 56, 62, MIN),
    (134, 56.7, 45, 47, MIN), (135, 57.2, 36, 37, MIN), (136, 57.8, 28, 32, MIN), (137, 58.4, 23, 24, MIN),
    (138, 58.9, 18, 19, MIN), (139, 59.5, 15, 15, MIN), (140, 60.0, 12, 12, MIN), (141, 60.6, 9, 10, MIN),
    (142, 61.1, 8, 8, MIN), (143, 61.7, 6, 6, MIN), (144, 62.2, 5, 5, MIN), (145, 62.8, 4, 4, MIN),
    (146, 63.3, 169, 182, S), (147, 63.9, 134, 144, S), (148, 64.4, 107, 115, S), (149, 65.0, 85, 91, S),
    (150, 65.6, 67, 72, S), (151, 66.1, 54, 58, S), (152, 66.7, 43, 46, S), (153, 67.2, 34, 37, S),
    (154, 67.8, 27, 29, S), (155, 68.3, 22, 23, S), (156, 68.9, 17, 19, S), (157, 69.4, 14, 15, S),
]


def fit(fahrenheit: float, reductions: float = 6.5) -> float:
    """The line again, on its own: 112 min x 10^((130 - F)/10) for 6.5 reductions [s]."""
    return 112 * 60 * 10 ** ((130 - fahrenheit) / 10) * reductions / 6.5


@pytest.mark.parametrize("fahrenheit, celsius, six, seven, unit", APPENDIX_A)
def test_appendix_a_row_by_row(fahrenheit, celsius, six, seven, unit):
    # Printed to the whole minute up to 145 degF, to the whole second above.
    for reductions, printed in ((6.5, six), (7.0, seven)):
        hold = heat.hold_for_meat(from_fahrenheit(fahrenheit), reductions)
        assert hold.row == printed * unit
        assert hold.fit == pytest.approx(fit(fahrenheit, reductions), rel=1e-9)
        assert hold.seconds == max(hold.row, hold.fit)
    # The printed degC reaches the same row, though rounding may have put it a hair below.
    assert heat.hold_for_meat(celsius).row == six * unit
    # The fit is at most 12.4 % short of the print (145 degF: 3.54 for 4 min), and 2 % over.
    assert -0.124 < fit(fahrenheit) / (six * unit) - 1 < 0.02


def test_158_fahrenheit_is_no_instant():
    # The row prints 0 s; the fit gives 11 s.
    hold = heat.hold_for_meat(70.0)
    assert (hold.row, round(hold.fit)) == (0, 11)
    assert hold.seconds == hold.fit


@pytest.mark.parametrize("fahrenheit, minutes", [(142, 7.07), (144, 4.46), (145, 3.54)])
def test_where_the_fit_is_short(fahrenheit, minutes):
    assert fit(fahrenheit) / 60 == pytest.approx(minutes, abs=0.006)
    hold = heat.hold_for_meat(from_fahrenheit(fahrenheit))
    assert hold.seconds == hold.row > hold.fit


def line(points) -> tuple[float, float, float]:
    """(z, time at 0, r2) of the straight line through the logarithms of some times, by least squares."""
    count, ts, ys = len(points), [t for t, _ in points], [log10(time) for _, time in points]
    tt, yy, ty = (sum(a * b for a, b in zip(one, two)) - sum(one) * sum(two) / count for one, two in ((ts, ts), (ys, ys), (ts, ys)))
    return -tt / ty, 10 ** ((sum(ys) - ty / tt * sum(ts)) / count), ty * ty / tt / yy


def test_the_line_through_the_rows():
    # z 10.0 degF (5.56 C), r2 0.9996; through 112 min at 130 degF D is 17.2 min.
    z, _, r2 = line([(row[0], row[2] * row[4]) for row in APPENDIX_A])
    assert z == pytest.approx(10.0, abs=0.05) and z / 1.8 == pytest.approx(5.56, abs=0.02)
    assert r2 == pytest.approx(0.9996, abs=0.00005)
    assert heat.hold_for_meat(from_fahrenheit(130)).fit / 60 / 6.5 == pytest.approx(17.2, abs=0.05)


def test_twelve_minutes_at_sixty():
    # About 7 reductions by the meat fit; the row counts them as 6.5, and Listeria reads 1.7.
    assert 12 / (fit(140) / 60 / 6.5) == pytest.approx(7.0, abs=0.05)
    found = heat.lethality(checked([(0, 60.0), (12, 60.0)]), error=0.0)
    assert found.salmonella == pytest.approx(6.5)
    assert found.listeria == pytest.approx(12 / (0.333333 * 10 ** (10 / 7.5)), abs=0.01)


# FSIS poultry tables, chicken, as printed in Ontario's meat plant guidelines: minutes for 1, 3, 5, 8, 10, 12 % fat.
CHICKEN = [
    (57.8, 136, (63.3, 65.7, 68.4, 73.0, 76.7, 81.4)), (58.3, 137, (50.1, 52.1, 54.3, 58.2, 61.4, 65.5)),
    (58.9, 138, (39.7, 41.3, 43.2, 46.4, 49.2, 52.9)), (59.4, 139, (31.6, 32.9, 34.4, 37.2, 39.6, 43.0)),
    (60.0, 140, (25.2, 26.2, 27.5, 29.8, 32.0, 35.0)), (60.6, 141, (20.1, 21.0, 22.0, 24.0, 25.9, 28.7)),
    (61.1, 142, (16.1, 16.8, 17.6, 19.4, 21.0, 23.5)), (61.7, 143, (13.0, 13.5, 14.2, 15.6, 17.1, 19.3)),
    (62.2, 144, (10.4, 10.8, 11.4, 12.6, 13.9, 15.9)),
]


@pytest.mark.parametrize("celsius, fahrenheit, minutes", CHICKEN)
def test_chicken_by_fat(celsius, fahrenheit, minutes):
    for percent, printed in zip((1, 3, 5, 8, 10, 12), minutes, strict=True):
        for core in (celsius, from_fahrenheit(fahrenheit)):
            hold = heat.hold_for_poultry(core, percent / 100)
            assert hold.seconds == hold.row == pytest.approx(printed * 60) and hold.fit is None


def test_the_ends_of_the_tables():
    # 136 degF and 12 % fat are where the chicken rows begin and end; an oven's core of 150 degC is past all cooking.
    assert heat.POULTRY_LEAST == pytest.approx(57.78, abs=0.003) and heat.POULTRY_FATTEST == 0.12
    assert (heat.PROBE_ERROR, heat.LONGEST_GAP, heat.NO_CREDIT_BELOW, heat.MOST_SHOWN) == (1.0, 15.0, 54.4, 10.0)
    assert heat.hold_for_meat(150.0).seconds < 1 and heat.hold_for_listeria(150.0).seconds < 1 and heat.hold_for_poultry(150.0, 0.01).seconds == 624


@pytest.mark.parametrize("minutes, percent, core", [(25.2, 0, 60.0), (29.8, 8, 60.0), (32.0, 8.1, 60.0), (13.5, 3, 61.7)])
def test_chicken_held_for_its_row_has_its_seven_reductions(minutes, percent, core):
    readings = checked([*((minute, core) for minute in range(0, int(minutes) + 1, 10)), (minutes, core)])
    assert heat.lethality(readings, 0.0, percent / 100).salmonella == pytest.approx(7.0)
    # The same hours a degree below the first row prove nothing against Salmonella in chicken.
    assert heat.lethality(checked([(0, 57.0), (10, 57.0)]), 0.0, percent / 100).salmonella == 0
    at_the_row = checked([(0, from_fahrenheit(136)), (10, from_fahrenheit(136))])
    assert heat.lethality(at_the_row, 0.0, 0.12).salmonella == pytest.approx(7 * 10 / 81.4)


@pytest.mark.parametrize("column, z", [(0, 5.7), (5, 6.3)])
def test_the_slope_of_the_chicken_rows(column, z):
    assert line([(from_fahrenheit(f), minutes[column]) for _, f, minutes in CHICKEN])[0] == pytest.approx(z, abs=0.05)


def test_chicken_needs_longer_than_meat():
    # FSIS warns that the meat column under-cooks poultry.
    for _, fahrenheit, _ in CHICKEN:
        core = from_fahrenheit(fahrenheit)
        assert heat.hold_for_poultry(core, 0.01).seconds > heat.hold_for_meat(core, 7.0).seconds


@pytest.mark.parametrize("core, fat", [(57.5, 0.05), (60.0, 0.121), (60.0, 0.2), (60.0, -0.01), (60.0, float("nan"))])
def test_nothing_is_extrapolated(core, fat):
    with pytest.raises(OutOfRange):
        heat.hold_for_poultry(core, fat)


@pytest.mark.parametrize("core, percent, same_as", [(66.0, 5, 62.2), (62.0, 5, 61.7), (60.0, 4, None), (60.0, 0, None)])
def test_between_rows_and_columns_the_longer(core, percent, same_as):
    next_column = {4: 5, 0: 1}.get(percent, percent)
    assert heat.hold_for_poultry(core, percent / 100) == heat.hold_for_poultry(same_as or core, next_column / 100)


# Handbook of Meat Processing, table 8.1 (Murphy 2004, Sallami 2006): D [min] in a link of beef and turkey.
MEASURED = {
    "listeria": [(55.0, 50.35), (57.0, 18.60), (60.0, 6.87), (62.5, 2.54), (65.0, 0.84), (67.5, 0.35), (70.0, 0.13)],
    "salmonella": [(55.0, 41.02), (57.0, 15.15), (60.0, 5.60), (62.5, 2.07), (65.0, 0.76), (67.5, 0.28), (70.0, 0.10)],
    "ecoli": [(55.0, 23.23), (57.0, 7.43), (60.0, 2.38), (62.5, 0.76), (65.0, 0.24), (67.5, 0.08), (70.0, 0.03)],
}


@pytest.mark.parametrize("organism, z, d70", [("listeria", 5.86, 0.128), ("salmonella", 5.84, 0.104), ("ecoli", 5.23, 0.028)])
def test_measured_d_values_by_their_own_lines(organism, z, d70):
    found, at_zero, _ = line(MEASURED[organism])
    assert found == pytest.approx(z, abs=0.005) and at_zero * 10 ** (-70 / found) == pytest.approx(d70, abs=0.0005)


@pytest.mark.parametrize("organism, since", [("listeria", 60.0), ("salmonella", 60.0), ("ecoli", 55.0)])
def test_the_judge_asks_for_more_than_was_measured_where_a_core_is_judged(organism, since):
    for core, d in MEASURED[organism]:
        if core >= since:
            assert heat.hold_for_listeria(core).seconds / 60 / 6 > d


def test_seventy_for_two_minutes_is_six_reductions():
    # Mackey & Bratchell 1989: core 70 degC for 2 min, 6-log Listeria monocytogenes.
    found = heat.lethality(checked([(0, 70.0), (2, 70.0)]), error=0.0)
    assert found.listeria == pytest.approx(6.0)
    assert heat.hold_for_listeria(70.0) == heat.Hold(pytest.approx(120), None, pytest.approx(120))
    # Read with a probe that may be one degree off, only 71 proves it.
    assert heat.lethality(checked([(0, 71.0), (2, 71.0)]), error=1.0).listeria == pytest.approx(6.0)
    assert heat.lethality(checked([(0, 71.0), (2, 71.0)])).listeria == pytest.approx(6.0)


# Food Standards Agency list: printed coarsely, the judge's line keeps within a seventh of it.
@pytest.mark.parametrize("core, minutes", [(60, 45), (65, 10), (70, 2), (75, 0.5), (80, 0.1)])
def test_equivalents_of_the_judge(core, minutes):
    assert heat.hold_for_listeria(core).seconds / 60 == pytest.approx(minutes, rel=0.15)


def test_the_judge_is_stricter_than_the_meat_table_everywhere():
    for core in range(55, 100):
        assert heat.hold_for_listeria(core).seconds > heat.hold_for_meat(core).seconds


def test_pasteurisation_value():
    # Fleischer-Jahrbuch 2000: reference 70 degC, z 10. 60 degC for 20 min reads 2.0.
    found = heat.lethality(checked([(0, 60.0), (10, 60.0), (20, 60.0)]), error=0.0)
    assert found.pasteurisation == pytest.approx(2.0)


def test_one_kelvin_of_the_probe():
    # 1 K at z 5.56 is half as much time again.
    held = heat.hold_for_meat(64.0).fit / heat.hold_for_meat(65.0).fit
    assert held == pytest.approx(1.5, abs=0.02)
