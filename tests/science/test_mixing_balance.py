"""Properties of the balance: heat is kept, answers answer, wrong parts are named."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curebatch.science import mixing
from curebatch.science import thermal_properties as props
from curebatch.science.findings import Spread
from curebatch.science.mixing import Part, WrongParts
from curebatch.science.thermal_properties import Composition, OutOfRange
from curebatch.words import catalogue, has

LEAN = Composition.scaled(water=0.6467, protein=0.1799, fat=0.16, carbohydrate=0.0044, ash=0.0091)
FAT = Composition.scaled(water=0.0769, protein=0.0292, fat=0.8869, ash=0.007)
IDLE = Spread(0.0, 0.0, 0.0)


@st.composite
def batters(draw, coldest=-12.0):
    kilos = st.floats(0.05, 5)
    lean, water = draw(kilos), draw(kilos)
    return (
        Part("lean", "meat", lean, draw(st.floats(coldest, 15)), LEAN),
        Part("fat", "fat", draw(kilos), draw(st.floats(coldest, 15)), FAT),
        Part("water", "water", water, draw(st.floats(0, 25)), props.WATER),
        Part("ice", "ice", draw(st.floats(0, 2)), draw(st.floats(-20, 0)), props.WATER),
        Part("salt", "salt", draw(st.floats(0, 0.08)) * (lean + water), 20.0, props.SALT),
    )


def codes(findings):
    for found in findings:
        assert has(f"message.{found.code}"), found.code
        wanted = {part.split("}")[0] for part in catalogue("en")[f"message.{found.code}"].split("{")[1:]}
        assert wanted <= set(found.figures), found.code
    return {found.code for found in findings}


@given(batters(), st.floats(0, 120))
def test_no_heat_is_lost(parts, work):
    found = mixing.balance(parts, Spread(work, work, work))
    # In the warmest case no fat melts: the parts' heat and the work are the batter's heat.
    total = sum(p.mass * (props.ice_enthalpy(p.temperature) if p.role == "ice" else props.enthalpy(p.composition, p.temperature)) for p in parts)
    mix = props.mixed([(p.mass, p.composition) for p in parts])
    assert props.enthalpy(mix, found.end.high) * found.mass == pytest.approx(total + 1000 * work * found.mass, abs=50 * found.mass)
    # And what each part brings or takes adds up to the work, less the ice that is left.
    left = found.ice_left.nominal
    if left < 1e-9:
        assert sum(kj for _, kj in found.heats) == pytest.approx(-work * found.mass, abs=0.05 * found.mass + 1e-6)


@given(batters())
def test_from_coldest_to_warmest(parts):
    found = mixing.balance(parts)
    assert found.end.low <= found.end.nominal <= found.end.high
    assert found.ice_left.low <= found.ice_left.nominal <= found.ice_left.high
    if found.end.low > found.melts_at + 1e-6:
        assert found.ice_left.high == 0


def test_the_spread_without_any_of_the_work():
    parts = [Part("fat", "fat", 1, 4.0, FAT), Part("water", "water", 0.5, 4.0, props.WATER)]
    end = mixing.balance(parts, Spread(40, 40, 40)).end
    assert end.low + 1 < end.nominal and end.nominal + 1 < end.high


@given(batters(), st.floats(0.1, 5))
def test_a_batch_of_another_size_ends_alike(parts, times):
    one = mixing.balance(parts)
    other = mixing.balance([replace(part, mass=part.mass * times) for part in parts])
    assert other.end.nominal == pytest.approx(one.end.nominal, abs=1e-5)


@given(st.floats(-10, 15), st.floats(0.1, 10))
def test_meat_mixed_with_itself_stays_as_it_is(temperature, mass):
    found = mixing.balance([Part("a", "meat", mass, temperature, LEAN), Part("b", "meat", 1, temperature, LEAN)], IDLE)
    assert found.end.nominal == pytest.approx(temperature, abs=1e-4)


@settings(max_examples=40)
@given(batters(coldest=-1.0), st.floats(4, 16), st.floats(20, 90))
def test_the_share_of_ice_ends_at_the_target(parts, target, work):
    done = Spread(work, work, work)
    share = mixing.ice_share(parts, target, done, water=10.0, ice=-2.0).high
    added = sum(p.mass for p in parts if p.role in ("water", "ice"))
    rest = [p for p in parts if p.role not in ("water", "ice")]

    def end(x):
        return mixing.balance([*rest, Part("w", "water", added * (1 - x), 10.0, props.WATER), Part("i", "ice", added * x, -2.0, props.WATER)], done).end.high

    if share is None:
        assert end(1.0) > target
    elif share == 0:
        assert end(0.0) <= target
    else:
        assert end(share) == pytest.approx(target, abs=0.01) and end(share) <= target + 1e-6


@settings(max_examples=40)
@given(batters(), st.floats(4, 16), st.floats(20, 90))
def test_meat_that_cold_ends_at_the_target(parts, target, work):
    done = Spread(work, work, work)
    start = mixing.meat_start(parts, target, done).high

    def end(x):
        try:
            return mixing.balance([replace(p, temperature=x) if p.place == "meat" else p for p in parts], done).end.high
        except OutOfRange:
            return float("inf")  # over 60 degC

    if start is None:
        assert end(-10.0) > target
    elif start < 30:
        assert end(start) == pytest.approx(target, abs=0.05)
    else:
        assert end(30.0) <= target + 1e-6


@given(batters(coldest=-1.0), st.floats(15, 100), st.floats(2, 20))
def test_the_choppers_heat_is_found_again(parts, work, minutes):
    end = mixing.balance(parts, Spread(work, work, work)).end.nominal
    if end < props.freezing_point(props.mixed([(p.mass, p.composition) for p in parts])) + 0.5:
        return  # with ice in it the temperature hardly says how much heat went in
    found = mixing.chopper_heat(parts, end, minutes, error=0.0)
    assert found.work.nominal == pytest.approx(work, abs=0.01)
    assert found.rate is None or found.rate.nominal == pytest.approx(work / minutes, abs=0.01)


def test_minutes_until_the_limit():
    parts = (Part("lean", "meat", 2, 4.0, LEAN), Part("water", "water", 0.5, 4.0, props.WATER))
    left = mixing.minutes_left(parts, 6.0, 12.0)
    assert 0 < left.low < left.nominal < left.high
    # Half a batter's heat again: 6 K of about 3.5 kJ/kg K at 7.25 kJ/kg and minute, no fat melting.
    assert left.low == pytest.approx(6 * 3.55 / 7.25, rel=0.03)
    assert mixing.minutes_left(parts, 12.0, 12.0) == Spread(0, 0, 0)
    assert mixing.minutes_left(parts, 15.0, 12.0) == Spread(0, 0, 0)


def test_salt_keeps_ice_melting_below_zero():
    plain = [Part("lean", "meat", 1, 0.0, LEAN), Part("ice", "ice", 0.5, -2.0, props.WATER)]
    salted = [*plain, Part("salt", "salt", 0.03, 15.0, props.SALT)]
    one, two = mixing.balance(plain, IDLE), mixing.balance(salted, IDLE)
    assert two.end.nominal < one.end.nominal < 0
    assert two.ice_left.nominal < one.ice_left.nominal
    assert two.melts_at < one.melts_at < 0


@pytest.mark.parametrize("part, code", [
    (Part("ice", "ice", 1, 3.0, props.WATER), "ice_too_warm"),
    (Part("lean", "meat", 1, 36.0, LEAN), "place_fahrenheit"),
    (Part("lean", "meat", 1, 120.0, LEAN), "place_too_warm"),
    (Part("water", "water", 1, 59.0, props.WATER), "place_fahrenheit"),
    (Part("water", "water", 1, -4.0, props.WATER), "place_too_cold"),
    (Part("lean", "meat", -1, 2.0, LEAN), "part_mass"),
    (Part("lean", "meat", float("nan"), 2.0, LEAN), "part_mass"),
    (Part("lean", "meat", 0, 2.0, LEAN), "part_mass"),
])
def test_wrong_parts(part, code):
    with pytest.raises(WrongParts) as error:
        mixing.balance([part])
    assert error.value.wrong[0].wrong.code == code
    assert has(f"fault.{code}")


def test_every_wrong_part_at_once():
    with pytest.raises(WrongParts) as error:
        mixing.balance([Part("ice", "ice", 1, 3.0, props.WATER), Part("lean", "meat", 1, 120.0, LEAN)])
    assert [part.name for part in error.value.wrong] == ["ice", "lean"]


def test_colder_than_its_parts():
    with pytest.raises(OutOfRange) as error:
        mixing.chopper_heat([Part("lean", "meat", 1, 10.0, LEAN)], 2.0)
    assert error.value.quantity == "work"


@pytest.mark.parametrize("work", [Spread(-1, 0, 1), Spread(0, 0, 500), Spread(0, 0, float("nan"))])
def test_work_that_no_chopper_does(work):
    with pytest.raises(OutOfRange):
        mixing.balance([Part("lean", "meat", 1, 2.0, LEAN)], work)


def test_more_salt_than_the_melting_point_is_known_for():
    with pytest.raises(OutOfRange):
        mixing.balance([Part("water", "water", 1, 4.0, props.WATER), Part("salt", "salt", 0.3, 20.0, props.SALT)])


def test_warmer_than_any_batter():
    with pytest.raises(OutOfRange):
        mixing.balance([Part("lean", "meat", 1, 20.0, LEAN)], Spread(300, 300, 300))


@pytest.mark.parametrize("places, kinds, verdict, expected", [
    ([11.0, 11.5, 11.9], ["pork"], "ok", {"batter_cold_enough"}),
    ([12.1, 11.0, 11.5], ["pork"], "caution", {"batter_too_warm"}),
    ([12.1, 11.0, 11.5], ["beef"], "ok", {"batter_cold_enough"}),
    ([8.0], ["pork"], "ok", {"batter_cold_enough", "batter_one_place"}),
    ([1.0, 8.0, 8.0], ["pork"], "ok", {"batter_cold_enough", "batter_ice_pocket"}),
    ([4.0, 8.0, 8.0], ["pork"], "ok", {"batter_cold_enough", "batter_uneven"}),
])
def test_measured(places, kinds, verdict, expected):
    found = mixing.judge_measured(places, kinds)
    assert found.verdict == verdict and codes(found.findings) == expected


def test_what_is_said_beforehand():
    lean = Part("lean", "meat", 2, 4.0, LEAN)
    ice, water = Part("ice", "ice", 0.4, -2.0, props.WATER), Part("water", "water", 0.4, 12.0, props.WATER)
    warm = mixing.judge_balance(mixing.balance([lean, water]), ["pork"])
    assert warm.verdict == "caution" and codes(warm.findings) == {"mix_too_warm"}
    near = mixing.judge_balance(mixing.balance([lean, replace(ice, mass=0.3)]), ["pork"])
    assert near.verdict == "ok" and "mix_near" in codes(near.findings)
    cold = mixing.judge_balance(mixing.balance([replace(lean, temperature=-4.0), ice]), ["pork"])
    assert codes(cold.findings) == {"mix_fits", "mix_ice_left"}
    assert codes(mixing.advise([lean, water], ["pork"])) == {"mix_ice_share", "mix_meat_start"}
    assert codes(mixing.advise([replace(lean, temperature=25.0), water], ["pork"], Spread(100, 100, 100))) == {"mix_ice_not_enough", "mix_meat_start"}
    assert codes(mixing.advise([replace(lean, temperature=-8.0), water], ["pork"], Spread(5, 5, 5))) == {"mix_ice_not_needed", "mix_meat_cold"}
    assert codes(mixing.advise([lean], ["pork"], Spread(300, 300, 300))) == {"mix_meat_not_enough"}


@pytest.mark.parametrize("work", [1, 5, 20, 60, 100, 150])
@pytest.mark.parametrize("kinds", [["pork"], ["beef"], ["poultry"]])
def test_no_advice_is_for_meat_warmer_than_it_is_kept(work, kinds):
    lean, ice = Part("lean", "meat", 2, 4.0, LEAN), Part("ice", "ice", 0.6, -2.0, props.WATER)
    for finding in mixing.advise([lean, ice], kinds, Spread(work, work, work)):
        for name in ("meat", "sure"):
            if name in finding.figures:
                assert finding.figures[name].value <= 4.0
