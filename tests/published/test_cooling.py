"""Cooling against the published options, as a strict inspector would judge it; the source beside each."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curebatch.science import cooling_rules as cooling
from curebatch.science.cooling_rules import Low
from curebatch.science.readings import WrongReadings
from curebatch.words import catalogue, has

UNCURED = Low()
CURED = Low(nitrite=101, accelerator=260, brine=3.3)
STRONG = Low(nitrite=121, accelerator=0, brine=3.55)
WHOLE = Low(nitrite=110, brine=3.4, intact=True)

# FSIS Appendix B and successors, US Food Code, Cal. Code Regs tit. 3 sec. 910.15, CFIA, James & James: as printed.
PRINTED = {
    "any": [(54.4, 26.7, 90), (26.7, 4.4, 300)],
    "two_six": [(57.2, 21.1, 120), (21.1, 5.0, 240)],
    "cured_slow": [(54.4, 26.7, 300), (26.7, 7.2, 600), (54.4, 7.2, 900)],
    "cured_slowest": [(48.9, 4.4, 1200)],
    "ca_intact": [(50, 20, 120), (60, 4, 450)],
    "ca_two_six": [(60, 20, 120), (20, 4, 240)],
    "uk": [(70, 50, 60), (50, 12, 360), (12, 5, 60)],
    "uk_cured": [(70, 50, 75), (50, 12, 450), (12, 5, 75)],
    "uk_most": [(70, 50, 150), (50, 12, 360), (12, 5, 90)],
}


def codes(findings) -> set[str]:
    for found in findings:
        assert has(f"message.{found.code}"), found.code
        wanted = {part.split("}")[0] for part in catalogue("en")[f"message.{found.code}"].split("{")[1:]}
        assert wanted <= set(found.figures) | set(found.ids), found.code
        assert all(has(id) for id in found.ids.values())
        assert found.source or has(f"source.{found.code}"), found.code
    return {found.code for found in findings}


def test_the_options_as_printed():
    found = {option.id: [(w.starts, w.ends, w.within) for w in option.every_window] for option in cooling.all_options()}
    assert found == PRINTED
    assert all(has(f"cooling.{id}") for id in found)


def opened(low: Low, region: str = "strictest") -> set[str]:
    return {one.option.id for one in cooling.openings(low, region) if one.open}


@pytest.mark.parametrize("low, region, expected", [
    (UNCURED, "strictest", {"any", "two_six"}),
    # 100 ppm ingoing nitrite (memory), and 250 ppm erythorbate (2021, memory): the stricter reading wants both.
    (CURED, "strictest", {"any", "two_six", "cured_slow"}),
    (Low(nitrite=99.9, accelerator=260), "strictest", {"any", "two_six"}),
    (Low(nitrite=101, accelerator=249), "strictest", {"any", "two_six"}),
    # 120 ppm and brine 3.5 %, or 40 ppm and brine 6 %, or water activity 0.92.
    (STRONG, "strictest", {"any", "two_six", "cured_slowest"}),
    (Low(nitrite=119, brine=3.55), "strictest", {"any", "two_six"}),
    (Low(nitrite=40, brine=6.0), "strictest", {"any", "two_six", "cured_slowest"}),
    (Low(nitrite=40, aw=0.92), "strictest", {"any", "two_six", "cured_slowest"}),
    (Low(nitrite=40, aw=0.93), "strictest", {"any", "two_six"}),
    (Low(nitrite=float("nan"), accelerator=300, brine=float("nan"), aw=float("nan")), "strictest", {"any", "two_six"}),
    (UNCURED, "gb", {"any", "two_six", "uk", "uk_most"}),
    (Low(nitrite=100, brine=2.5), "gb", {"any", "two_six", "uk", "uk_cured", "uk_most"}),
    (WHOLE, "ca", {"any", "two_six", "ca_intact"}),  # the remembered Canadian rule lets nothing pass
    (UNCURED, "ca", {"any", "two_six"}),
])
def test_which_are_open(low, region, expected):
    assert opened(low, region) == expected


def test_why_one_is_closed():
    closed = {one.option.id: one.missing for one in cooling.openings(Low(nitrite=104, brine=3.3)) if not one.open}
    assert closed == {"cured_slow": (("accelerator", 250),), "cured_slowest": (("nitrite", 120), ("brine", 3.5))}


# 100 x salt / (salt + water): salt 2.0 with water 60 gives 3.23, 2.2 gives 3.54.
@pytest.mark.parametrize("salt, water, percent", [(2.0, 60, 3.23), (2.2, 60, 3.54)])
def test_brine(salt, water, percent):
    assert cooling.brine_percent(salt, water) == pytest.approx(percent, abs=0.005)


FAST = [(0, 70.0), (15, 58.0), (25, 50.0), (60, 25.0), (100, 12.0), (150, 6.0), (200, 3.2)]
SLOW = [(0, 70.0), (30, 58.0), (45, 53.0), (120, 38.0), (240, 28.0), (300, 24.0), (420, 15.0), (600, 9.0), (780, 6.0), (1000, 3.3)]


@pytest.mark.parametrize("low, readings, region, error, verdict, code", [
    (UNCURED, FAST, "strictest", 1.0, "ok", "cooling_met"),
    (UNCURED, SLOW, "strictest", 1.0, "stop", "cooling_missed"),
    (CURED, SLOW, "strictest", 1.0, "ok", "cooling_met"),  # the cured, slow rule
    (STRONG, SLOW, "strictest", 1.0, "ok", "cooling_met"),  # the cured, slowest rule
    (Low(nitrite=104, brine=3.3), SLOW, "strictest", 1.0, "stop", "cooling_missed"),
    # still running
    (UNCURED, FAST[:4], "strictest", 1.0, "incomplete", "cooling_running"),
    (UNCURED, FAST[:1], "strictest", 1.0, "incomplete", "cooling_running"),
    # running, and over
    (UNCURED, SLOW[:4], "strictest", 1.0, "incomplete", "cooling_running"),
    (UNCURED, [*SLOW[:4], (160, 33.0)], "strictest", 1.0, "stop", "cooling_missed"),
    # within the probe's error: 4.4 read at the last minute may be 5.4
    (UNCURED, [*FAST[:5], (320, 4.3)], "strictest", 1.0, "caution", "cooling_as_read"),
    (UNCURED, [*FAST[:5], (320, 4.3)], "strictest", 0.0, "ok", "cooling_met"),
    # too few readings to show it
    (UNCURED, [(0, 70.0), (100, 20.0), (250, 3.0)], "strictest", 0.0, "caution", "cooling_as_read"),
    # warmer again under the rule that must always fall
    (STRONG, [*SLOW[:7], (500, 18.0), (700, 9.0), (1000, 3.0)], "strictest", 1.0, "stop", "cooling_rose"),
    # the readings begin cold, and nobody knows since when
    (UNCURED, [(0, 40.0), (30, 24.0), (150, 3.0)], "strictest", 1.0, "incomplete", "cooling_start_unseen"),
    (STRONG, [(0, 50.0), (30, 24.0), (150, 3.0)], "strictest", 0.0, "ok", "cooling_met"),  # 48.9 is seen
    (STRONG, [(0, 48.0), (30, 24.0), (150, 3.0)], "strictest", 0.0, "incomplete", "cooling_start_unseen"),
    # nothing measured
    (UNCURED, [], "strictest", 1.0, "incomplete", "cooling_not_measured"),
    # in Great Britain, at the very most
    (UNCURED, [(0, 72.0), (5, 70.5), (130, 52.0), (150, 47.0), (300, 20.0), (375, 13.2), (385, 10.5), (440, 3.9)], "gb", 1.0, "caution", "cooling_grudging"),
])
def test_judged(low, readings, region, error, verdict, code):
    found = cooling.judge_cooling(low, readings, region, error)
    assert found.verdict == verdict, found.findings
    assert code in codes(found.findings)


def test_when_it_left_the_heat():
    rows = [(20, 45.0), (50, 25.0), (200, 3.0)]
    assert cooling.judge_cooling(UNCURED, rows, out=0).verdict == "ok"
    assert cooling.judge_cooling(UNCURED, rows, out=-30).verdict == "ok"
    assert cooling.judge_cooling(UNCURED, rows, out=-60).verdict == "stop"  # hot at -60, 107 min to 26.7
    with pytest.raises(WrongReadings):
        cooling.judge_cooling(UNCURED, rows, out=30)


def test_the_window_runs_from_when_it_may_have_begun():
    # 55.0 less 1 may be below 54.4 already: the time runs from the reading before.
    found = cooling.follow(cooling.all_options()[0], [(0, 58.0), (20, 55.0), (109, 25.0), (300, 3.0)], 1.0)
    assert found.windows[0].took == 109
    assert found.windows[0].state == "as_read"


def test_a_loaf_warmed_up_again_is_not_new():
    rows = [(0, 60.0), (30, 40.0), (80, 30.0), (120, 60.0), (150, 25.0), (300, 3.0)]
    assert cooling.judge_cooling(UNCURED, rows, error=0.0).verdict == "stop"


@pytest.mark.parametrize("readings, out, verdict", [
    ([(30, 4.0)], 0, "incomplete"), ([(5, 72.0), (30, 4.0)], 0, "incomplete"), ([(0, 70.0), (30, 4.0)], None, "incomplete"),
    ([(0, 70.0), (100, 24.0), (120, 3.0)], None, "incomplete"),
    ([(1470, 4.0)], 0, "stop"),  # the same by the right day
    ([(0, 70.0), (20, 56.0), (40, 30.0), (60, 15.0), (90, 3.0)], None, "ok"),  # a thin piece in iced water
])
def test_a_fall_that_no_middle_can_make_is_asked_about(readings, out, verdict):
    cooled = cooling.judge_cooling(UNCURED, readings, out=out)
    assert cooled.verdict == verdict
    assert ("cooling_too_fast" in codes(cooled.findings)) == (verdict == "incomplete")


@pytest.mark.parametrize("thickness, asked", [(None, False), (0.02, False), (0.04, False), (0.069, False), (0.1, True), (0.2, True)])
def test_a_thick_piece_falls_more_slowly(thickness, asked):
    """By hand, for a cube of 10 cm: (pi / 2)^2 x 1.3e-7 / 0.05^2 x 3 = 3.85e-4 per second, so from 54 to 20 degC takes 41 min at the least; a slab of 4 cm takes 20."""
    rows = [(0, 60.0), (5, 54.0), (35, 20.0), (120, 3.0)]
    assert (cooling.too_fast(rows, None, thickness) is not None) is asked
    assert ("cooling_too_fast" in codes(cooling.judge_cooling(UNCURED, rows, thickness=thickness).findings)) is asked


COLD = [(5, 72.0), (30, 54.4), (100, 25.0), (200, 3.0)]


@pytest.mark.parametrize("low", [UNCURED, CURED, STRONG])
@pytest.mark.parametrize("readings, verdicts", [
    (COLD, {"ok", "caution"}),
    ([*COLD, (600, 20.0)], {"stop", "incomplete"}), ([*COLD, (1600, 20.0)], {"stop"}),
    ([*COLD[:3], (200, 40.0), (395, 4.0)], {"stop"}),
    # Two readings that are both cold bear out what lies between them; the probe's own swing is no warming.
    ([*COLD, (1640, 3.0), (1660, 9.0)], {"incomplete"}), ([*COLD, (1640, 3.0), (1660, 9.0), (1680, 3.0)], {"ok", "caution"}), ([*COLD, (1640, 4.2)], {"ok", "caution"}),
])
def test_warming_up_again_is_seen(low, readings, verdicts):
    cooled = cooling.judge_cooling(low, readings, error=0.0, out=0)
    assert cooled.verdict in verdicts, cooled
    assert ("cooling_warmed" in codes(cooled.findings)) == (cooled.verdict == "incomplete")


@pytest.mark.parametrize("low", [UNCURED, STRONG])
def test_readings_from_the_cold_on(low):
    # One series for cooking and cooling: what comes before the heat is no cooling.
    heating = [(-120, 4.0), (-90, 28.0), (-88, 26.0), (-60, 45.0), (-20, 65.0), (-10, 69.0)]
    cooled = cooling.judge_cooling(low, heating + FAST)
    assert cooled.verdict == "ok"
    assert [one.took for one in cooled.followed[0].windows] == [45, 175]
    assert cooling.judge_cooling(low, heating).verdict == "incomplete"
    assert cooling.judge_cooling(UNCURED, heating + SLOW).verdict == "stop"


def test_a_prediction_is_none_but_a_forecast():
    good = cooling.judge_forecast(UNCURED, FAST)
    assert good.verdict == "ok" and codes(good.findings) == {"cooling_forecast_meets"} and not good.advice
    # The 2.2 kg loaf of the reference: a still fridge 2.4 h to 26.7 and 11 h more, iced water 0.8 and 1.9 h.
    fridge = [(0, 72.0), (30, 54.4), (30 + 144, 26.7), (30 + 144 + 660, 4.4)]
    iced = [(0, 72.0), (20, 54.4), (20 + 48, 26.7), (20 + 48 + 114, 4.4)]
    bad = cooling.judge_forecast(UNCURED, fridge, grams=2200)
    assert bad.verdict == "caution" and codes(bad.findings) == {"cooling_forecast_misses"}
    assert bad.advice[0] == "iced_water" and all(has(f"cooling_advice.{id}") for id in bad.advice)
    assert cooling.judge_forecast(UNCURED, iced).verdict == "ok"


@st.composite
def coolings(draw):
    rows, minute, temperature = [(0.0, draw(st.floats(58, 75)))], 0.0, 0.0
    for _ in range(draw(st.integers(1, 30))):
        step = draw(st.floats(1, 90))
        minute += step
        temperature = max(1.0, rows[-1][1] - draw(st.floats(-0.05, 1)) * min(20.0, 10 * step))
        rows.append((minute, temperature))
    return rows


@given(coolings(), st.floats(0, 2))
def test_ok_holds_by_a_second_reckoning(rows, error):
    """Told another way: whatever truth lies within readings and error, an "ok" window keeps its time."""
    found = cooling.judge_cooling(UNCURED, rows, error=error)
    if found.verdict != "ok":
        return
    met = next(one for one in found.followed if one.state == "met")
    for starts, ends, within in PRINTED[met.option.id]:
        warm = [m for m, t in rows if t - error >= starts]
        first_cold = min(m for m, t in rows if t - error < starts and m > warm[0])
        begins = max(m for m, _ in rows if m < first_cold)
        assert min(m for m, t in rows if m >= begins and t + error <= ends + 1e-9) - begins <= within + 1e-6


@given(coolings(), st.floats(0, 2))
def test_more_cure_and_a_better_probe_never_make_it_worse(rows, error):
    order = ("ok", "caution", "incomplete", "stop")

    def grave(low, error):
        return order.index(cooling.judge_cooling(low, rows, error=error).verdict)

    assert grave(Low(130, 300, 4.0), error) <= grave(UNCURED, error)
    assert grave(UNCURED, 0.0) <= grave(UNCURED, error)
