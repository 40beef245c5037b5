"""Forecasts: what must hold for any piece, and everything that is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curebatch.science import surfaces
from curebatch.science.forecast import (
    LONGEST,
    Heat,
    Learnt,
    NoForecast,
    Piece,
    carry_over,
    cool,
    core_at,
    forecast,
    minutes_to,
    setting_for,
)
from curebatch.science.surfaces import Around
from curebatch.science.thermal_properties import Composition, OutOfRange
from curebatch.science.together import together

CONDUCTIVITY, DENSITY, HEAT = 0.45, 1040.0, 3330.0
OPTIONS = {"any": ((54.4, 26.7, 90.0), (26.7, 4.4, 300.0)), "cured_slow": ((54.4, 26.7, 300.0), (26.7, 7.2, 600.0))}


def piece(shape="box", sizes=(0.24, 0.10, 0.065), start=4.0):
    return Piece(shape, sizes, start, CONDUCTIVITY, DENSITY, HEAT)


TIN = Heat(Around("still_oven", 140, "foil", "metal"))

kitchens = st.one_of(
    st.builds(lambda s, c: Heat(Around("still_oven", s, c)), st.floats(130, 200), st.sampled_from(["open", "foil", "casing"])),
    st.builds(lambda s, c: Heat(Around("fan_oven", s, c)), st.floats(120, 180), st.sampled_from(["foil", "casing"])),
    st.builds(lambda s: Heat(Around("poaching", s, "bag")), st.floats(76, 95)),
    st.builds(lambda s: Heat(Around("steam", s, "foil", "glass")), st.floats(85, 100)),
)
sizes_of_pieces = st.one_of(
    st.tuples(st.just("box"), st.tuples(st.floats(0.1, 0.3), st.floats(0.05, 0.12), st.floats(0.04, 0.1))),
    st.tuples(st.just("roll"), st.tuples(st.floats(0.03, 0.12), st.floats(0.1, 0.4))),
    st.tuples(st.just("ball"), st.tuples(st.floats(0.03, 0.12))),
    st.tuples(st.just("sheet"), st.tuples(st.floats(0.02, 0.08))),
)


@given(sizes_of_pieces, kitchens)
@settings(deadline=None, max_examples=25)
def test_ranges_reasons_and_curve_belong_together(body, heat):
    found = forecast(piece(*body), heat, 66.0)
    minutes = found.minutes
    assert 0 < minutes.low <= minutes.nominal
    assert minutes.high is None or minutes.nominal <= minutes.high
    assert found.reasons[0].later is None or found.reasons[0].later + found.reasons[0].sooner >= found.reasons[-1].sooner
    assert found.bigger is None or found.bigger > minutes.nominal
    assert found.warmer is None or found.warmer < minutes.nominal
    assert found.cooler is None or found.cooler > minutes.nominal
    assert found.carry_over.peak >= 65.9
    assert len(found.curve) <= 90
    for (_, _, before, _), (_, low, middle, high) in zip(found.curve, found.curve[1:]):
        assert low <= middle <= high
        assert before - 0.01 <= middle <= found.settles + 30
    passed = [minute for minute, _, middle, _ in found.curve if middle >= 66.0]
    assert passed[0] >= minutes.nominal - 0.01


@given(sizes_of_pieces, kitchens, st.floats(0.6, 1.8))
@settings(deadline=None, max_examples=25)
def test_the_setting_for_an_hour_takes_that_hour(body, heat, factor):
    wanted = minutes_to(piece(*body), heat, 66.0) * factor
    found = setting_for(piece(*body), heat, 66.0, wanted)
    if found.code == "found":
        assert found.minutes == pytest.approx(wanted, rel=0.06)
        assert minutes_to(piece(*body), heat.set_to(found.setting), 66.0) == pytest.approx(found.minutes, rel=1e-6)
    elif found.code == "too_slow":
        assert found.minutes > wanted
    else:
        assert found.minutes < wanted


def test_a_colder_oven_at_the_start_takes_longer():
    assert minutes_to(piece(), TIN, 70) < minutes_to(piece(), replace(TIN, cold_oven=15.0), 70) < minutes_to(piece(), TIN, 70) + 15


def test_what_was_learnt_moves_the_forecast():
    quicker = replace(TIN, learnt=Learnt(1.2, 0.0, 0.05, 2.0))
    hotter = replace(TIN, learnt=Learnt(1.0, 10.0, 0.05, 2.0))
    plain = forecast(piece(), TIN, 70.0)
    assert minutes_to(piece(), quicker, 70) == pytest.approx(plain.minutes.nominal / 1.2, rel=1e-4)
    assert minutes_to(piece(), hotter, 70) < plain.minutes.nominal
    known = forecast(piece(), replace(TIN, learnt=Learnt(1.0, 0.0, 0.05, 2.0)), 70.0)
    assert known.minutes.high - known.minutes.low < plain.minutes.high - plain.minutes.low


def test_composition_sets_the_pace():
    lean, fat = (Composition.scaled(water=w, protein=0.2, fat=f, ash=0.01) for w, f in ((0.74, 0.05), (0.49, 0.30)))
    times = [minutes_to(Piece.of("box", (0.24, 0.1, 0.065), 4.0, what, 70.0), TIN, 70.0) for what in (lean, fat)]
    assert times[0] == pytest.approx(times[1], rel=0.2)
    assert times[0] != times[1]


def test_carry_over_grows_with_the_oven():
    slow, quick = (Heat(Around("still_oven", setting, "foil", "metal")) for setting in (100, 200))
    peaks = [carry_over(piece(), heat, minutes_to(piece(), heat, 65.0)).peak for heat in (slow, quick)]
    assert 65.0 < peaks[0] < peaks[1] < 85


@pytest.mark.parametrize(
    "code, attempt",
    [
        ("frozen", lambda: piece(start=-5.0)),
        ("warmer_than_target", lambda: minutes_to(piece(start=72.0), TIN, 70)),
        ("warmer_than_surroundings", lambda: minutes_to(piece(start=65.0), Heat(Around("poaching", 60, "bag")), 70)),
        ("never_reaches", lambda: minutes_to(piece(), Heat(Around("poaching", 65, "bag")), 70)),
        ("never_reaches", lambda: forecast(piece(), Heat(Around("still_oven", 120, "wet")), 70)),
        ("never_reaches", lambda: setting_for(piece(), Heat(Around("oven_water_bath", 150, "foil")), 90, 60)),
        ("too_slow", lambda: minutes_to(piece("sheet", (0.39,)), Heat(Around("poaching", 71, "bag")), 70)),
        ("does_not_heat", lambda: minutes_to(piece(), Heat(Around("fridge", 4)), 70)),
        ("does_not_cool", lambda: cool(piece(), 70.0, Around("still_oven", 140), OPTIONS)),
        ("colder_than_surroundings", lambda: cool(piece(), 15.0, Around("room_air", 20), OPTIONS)),
    ],
)
def test_no_forecast(code, attempt):
    with pytest.raises(NoForecast) as refused:
        attempt()
    assert refused.value.code == code
    assert refused.value.values


@pytest.mark.parametrize(
    "attempt",
    [
        lambda: piece(sizes=(0.24, 0.10, 0.002)),
        lambda: piece(sizes=(2.4, 0.10, 0.06)),
        lambda: piece("ball", (0.6,)),
        lambda: piece(start=float("nan")),
        lambda: piece(start=120.0),
        lambda: minutes_to(piece(), TIN, 150.0),
        lambda: minutes_to(piece(), TIN, float("nan")),
        lambda: replace(TIN, cold_oven=-1.0),
        lambda: replace(TIN, changes=((30.0, 120.0), (20.0, 130.0))),
        lambda: setting_for(piece(), TIN, 70.0, 0.0),
        lambda: cool(piece(), float("nan"), Around("fridge", 4), OPTIONS),
    ],
)
def test_out_of_range(attempt):
    with pytest.raises(OutOfRange):
        attempt()


def test_a_size_out_of_range_is_named():
    with pytest.raises(OutOfRange) as error:
        piece(sizes=(0.24, 0.10, 0.002))
    assert error.value.quantity == "height"


def test_a_target_close_to_its_surroundings_may_never_be_met():
    found = forecast(piece(), Heat(Around("poaching", 71.5, "bag")), 70.0)
    assert found.minutes.high is None
    assert found.reasons[0].code == "bath" and found.reasons[0].later is None
    assert found.curve[-1][0] <= LONGEST + 60


def test_cooling_carries_the_temperatures_on():
    """After the oven the rind is hotter than the core: the core first rises, then falls."""
    minutes = minutes_to(piece(), TIN, 70.0)
    found = cool(piece(), (TIN, minutes), Around("iced_water", 0, "bag", "metal"), OPTIONS)
    cores = [middle for _, _, middle, _ in found.curve]
    assert cores[0] == pytest.approx(70.0, abs=0.1)
    assert max(cores) > 70.5
    assert cores[-1] < 5.5
    assert [option.code for option in found.options] == ["met", "met"]


def test_cooling_options_follow_the_cold():
    codes = {}
    for around in (Around("fridge", 4, "bag"), Around("moving_air", 1, "bag"), Around("iced_water", 0, "bag")):
        found = cool(piece(sizes=(0.24, 0.10, 0.09)), 72.0, around, OPTIONS)
        codes[around.medium] = {option.id: option.code for option in found.options}
        for option in found.options:
            for window in option.windows:
                low, nominal, high = window.minutes.low, window.minutes.nominal, window.minutes.high
                assert nominal is None or 0 <= low <= nominal and (high is None or nominal <= high)
    assert codes["fridge"]["any"] == "missed"
    assert codes["iced_water"] == {"any": "met", "cured_slow": "met"}


def test_a_fridge_that_is_too_warm_is_said_to_miss():
    found = cool(piece(), 70.0, Around("fridge", 8, "bag"), OPTIONS)
    [any_product] = [option for option in found.options if option.id == "any"]
    assert any_product.code == "missed"
    assert any_product.windows[1].minutes.nominal is None


def test_pieces_ready_together():
    large, small = piece(), piece(sizes=(0.18, 0.08, 0.05))
    plan = together((large, small), (TIN, TIN), (70.0, 70.0))
    assert [slot.goes_in for slot in plan.slots] == pytest.approx([0.0, plan.ready - minutes_to(small, TIN, 70.0)])
    assert plan.codes == ("company_slows", "door_opened", "check_each")
    assert all(slot.crowded > 0 for slot in plan.slots)
    assert together((small, large), (TIN, TIN), (70.0, 70.0)).ready == plan.ready


def test_alone_nothing_is_said_of_company():
    plan = together((piece(),), (TIN,), (70.0,))
    assert (plan.slots[0].goes_in, plan.slots[0].crowded, plan.codes) == (0.0, 0.0, ())


def test_a_bath_knows_no_company():
    bath = Heat(Around("stirred_bath", 80, "casing"))
    plan = together((piece(), piece("roll", (0.05, 0.2))), (bath, bath), (70.0, 70.0))
    assert [slot.crowded for slot in plan.slots] == [0.0, 0.0]
    assert plan.codes == ("check_each",)


def test_two_ovens_are_not_one():
    with pytest.raises(ValueError, match="one oven"):
        together((piece(), piece()), (TIN, TIN.set_to(160.0)), (70.0, 70.0))
    with pytest.raises(OutOfRange):
        together((), (), ())


def test_steps_add_up():
    """Two changes at once are one; a change to the same does nothing."""
    solid = piece().solid(surfaces.film(TIN.around, 4.0))
    once = core_at(solid, 4.0, ((0.0, 140.0), (30.0, 160.0)), 90.0)
    assert core_at(solid, 4.0, ((0.0, 140.0), (30.0, 150.0), (30.0, 160.0)), 90.0) == pytest.approx(once, abs=1e-9)
    assert core_at(solid, 4.0, ((0.0, 140.0), (30.0, 160.0), (50.0, 160.0)), 90.0) == pytest.approx(once, abs=1e-9)
