"""Thermal properties against CoolProp, the IAPWS equations, and published figures; the source beside each."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curebatch.science import thermal_properties as props
from curebatch.science.thermal_properties import Composition, OutOfRange

# ASHRAE Refrigeration Handbook, "Thermal Properties of Foods": beef carcass.
BEEF = {"water": 0.5821, "protein": 0.1748, "fat": 0.2405, "ash": 0.0081}
# USDA SR28 10972, pork, ground, 84 % lean, raw.
PORK = Composition.scaled(water=0.6467, protein=0.1799, fat=0.16, carbohydrate=0.0044, ash=0.0091)

OURS = {"L": props.component_conductivity, "D": props.component_density, "C": props.component_specific_heat}
NAMES = {"protein": "Protein", "fat": "Fat", "carbohydrate": "Carbohydrate", "fibre": "Fiber", "ash": "Ash", "water": "Water", "ice": "Ice"}


# Water's specific heat is judged against IAPWS below: CoolProp carries another row.
@pytest.mark.parametrize("what, component", [(w, c) for w in OURS for c in NAMES if (w, c) != ("C", "water")])
def test_component_polynomials_against_coolprop(component, what):
    from CoolProp.CoolProp import PropsSI

    for temperature in (-38.0, -10.0, -0.5) if component == "ice" else (-30.0, 0.5, 21.0, 70.0, 140.0):
        expected = PropsSI(what, "T", temperature + 273.15, "P", 101325, f"INCOMP::Food{NAMES[component]}")
        assert OURS[what](component, temperature) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("temperature", [1.0, 20.0, 50.0, 80.0])
def test_water_against_iapws(temperature):
    from iapws import IAPWS95

    water = IAPWS95(T=temperature + 273.15, P=0.101325)
    assert props.component_specific_heat("water", temperature) == pytest.approx(1000 * water.cp, rel=0.01)
    assert props.component_density("water", temperature) == pytest.approx(water.rho, rel=0.006)
    assert props.component_conductivity("water", temperature) == pytest.approx(water.k, rel=0.03)


def test_the_water_row_of_coolprop_is_low():
    # Why the row is not taken from there: 1.3 % under IAPWS at 20 degC.
    from CoolProp.CoolProp import PropsSI
    from iapws import IAPWS95

    theirs = PropsSI("C", "T", 293.15, "P", 101325, "INCOMP::FoodWater")
    true = 1000 * IAPWS95(T=293.15, P=0.101325).cp
    assert theirs / true - 1 == pytest.approx(-0.013, abs=0.002)
    assert abs(props.component_specific_heat("water", 20.0) / true - 1) < 0.003


@pytest.mark.parametrize("temperature, printed", [(0.0, -333.36), (-18.0, -369.91)])
def test_ice_against_iapws(temperature, printed):
    # IAPWS R10-06 for ice Ih, with liquid water at 0 degC as its zero.
    from iapws import _iapws

    ice = _iapws._Ice(temperature + 273.15 - 1e-9, 0.101325)
    assert ice["h"] == pytest.approx(printed, abs=0.2)
    assert props.ice_enthalpy(temperature) / 1000 == pytest.approx(ice["h"], abs=0.5)


@pytest.mark.parametrize("temperature, printed", [(10.0, 280.4), (-20.0, 48.8)])
def test_beef_carcass_by_chen(temperature, printed):
    # ASHRAE example, remembered and reproduced: H(10) 280.4, H(-20) 48.8 kJ/kg.
    found = props.chen_enthalpy(1 - BEEF["water"], BEEF["water"], BEEF["protein"], -1.7, temperature)
    assert found / 1000 == pytest.approx(printed, abs=0.05)


def test_freezing_a_beef_carcass():
    # The same example: 34,700 kJ for 150 kg from 10 to -20 degC. Our own enthalpy comes within 1 %.
    def taken(heat):
        return 150 * (heat(10.0) - heat(-20.0)) / 1000

    assert taken(lambda t: props.chen_enthalpy(0.4179, 0.5821, 0.1748, -1.7, t)) == pytest.approx(34_700, rel=0.002)
    beef = Composition.scaled(**BEEF)
    assert taken(lambda t: props.enthalpy(beef, t, freezing=-1.7)) == pytest.approx(34_700, rel=0.01)


def test_lean_pork_begins_to_freeze_at_minus_two():
    # About -2 degC for pork and beef; 1 % of salt in the water 0.6 K more (from memory).
    assert props.freezing_point(PORK) == pytest.approx(-2.0, abs=0.05)
    salted = props.mixed([(1.0, PORK), (0.01 * PORK.free_water, props.SALT)])
    assert props.freezing_point(PORK) - props.freezing_point(salted) == pytest.approx(0.6, abs=1e-6)
    assert props.freezing_point(props.WATER) == 0.0
    assert props.freezing_point(props.SALT) is None


@pytest.mark.parametrize("temperature", [5.0, 40.0, 90.0])
def test_mixing_by_the_components_of_coolprop(temperature):
    # cp by mass, 1/rho by mass, k by volume, put together once more from CoolProp's components.
    from CoolProp.CoolProp import PropsSI

    def ask(what, component):
        if (what, component) == ("C", "water"):
            return 4176.2 - 9.0864e-2 * temperature + 5.4731e-3 * temperature**2
        return PropsSI(what, "T", temperature + 273.15, "P", 101325, f"INCOMP::Food{NAMES[component]}")

    parts = [(name, share) for name, share in PORK.parts() if share]
    volume = sum(share / ask("D", name) for name, share in parts)
    assert props.density(PORK, temperature) == pytest.approx(1 / volume, rel=1e-6)
    assert props.specific_heat(PORK, temperature) == pytest.approx(sum(share * ask("C", name) for name, share in parts), rel=1e-6)
    by_volume = sum(share / ask("D", name) / volume * ask("L", name) for name, share in parts)
    assert props.conductivity(PORK, temperature) == pytest.approx(by_volume, rel=1e-6)


def test_a_cooked_ham():
    # Measured: k .495, rho 1075, cp 3537, alpha 1.30e-7, working spread 12 %. Composition: USDA-like ham.
    ham = Composition.scaled(water=0.70, protein=0.19, fat=0.06, carbohydrate=0.01, ash=0.012, salt=0.022)
    assert props.conductivity(ham, 20.0) == pytest.approx(0.495, rel=0.03)
    assert props.density(ham, 20.0) == pytest.approx(1075, rel=0.02)
    assert props.specific_heat(ham, 20.0) == pytest.approx(3537, rel=0.03)
    assert props.diffusivity(ham, 20.0) == pytest.approx(1.30e-7, rel=0.12)


@pytest.mark.parametrize("temperature", [20.0, 40.0, 60.0, 80.0])
def test_batters_lie_where_they_were_measured(temperature):
    # Marcotte et al. 2008, J Food Eng 88:315-322, abstract: k .26-.48 rising to 60 degC, cp 2.85-3.38,
    # rho at most 1070 raw at 20 degC. A pork batter with a quarter fat and a fifth ice.
    batter = Composition.scaled(water=0.575, protein=0.13, fat=0.245, carbohydrate=0.02, ash=0.01, salt=0.021)
    assert 0.26 <= props.conductivity(batter, temperature) <= 0.48
    assert 2850 <= props.specific_heat(batter, temperature) <= 3380
    assert 970 <= props.density(batter, temperature) <= 1070
    assert props.conductivity(batter, 60.0) > props.conductivity(batter, 20.0)


@pytest.mark.parametrize("temperature", [-40.1, 150.1, float("nan"), float("inf")])
def test_nothing_outside_the_range(temperature):
    for ask in (props.density, props.conductivity, props.specific_heat, props.diffusivity, props.enthalpy):
        with pytest.raises(OutOfRange) as error:
            ask(PORK, temperature)
        assert (error.value.low, error.value.high) == (-40.0, 150.0)
    with pytest.raises(OutOfRange):
        props.component_density("ice", 0.1)


@pytest.mark.parametrize("row", [{"water": 0.5, "fat": 0.2}, {"water": 0.9, "fat": 0.3}, {"water": -0.1, "fat": 1.1}])
def test_a_composition_that_cannot_be(row):
    with pytest.raises(OutOfRange):
        Composition(**row)


@st.composite
def compositions(draw) -> Composition:
    parts = {name: draw(st.floats(0, 1)) for name in ("protein", "fat", "carbohydrate", "fibre", "ash")}
    parts["salt"] = draw(st.floats(0, 0.1))
    parts["water"] = draw(st.floats(0.2, 3))
    total = sum(parts.values())
    return Composition(**{name: part / total for name, part in parts.items()})


@given(compositions(), st.floats(-39, 149))
def test_specific_heat_is_the_slope_of_enthalpy(composition, temperature):
    start = props.freezing_point(composition)
    if start is not None and abs(temperature - start) < 0.01:
        return
    step = 1e-3
    slope = (props.enthalpy(composition, temperature + step) - props.enthalpy(composition, temperature - step)) / (2 * step)
    assert props.specific_heat(composition, temperature) == pytest.approx(slope, rel=2e-2 if temperature < 0 else 1e-5)


@given(compositions(), st.floats(-39, 149))
def test_heat_to_temperature_and_back(composition, temperature):
    start = props.freezing_point(composition)
    if start is not None and start > -0.01 and temperature <= 0:
        return  # next to clean water: the melting point is one temperature for many heats
    found = props.temperature_at(composition, props.enthalpy(composition, temperature))
    assert found == pytest.approx(temperature, abs=1e-4)


@given(compositions(), st.floats(-40, 150), st.floats(-40, 150))
def test_enthalpy_rises(composition, one, two):
    low, high = sorted((one, two))
    assert props.enthalpy(composition, low) <= props.enthalpy(composition, high) + 1e-6


@given(st.floats(0.01, 0.9))
def test_half_frozen_as_a_temperature(share):
    temperature = props.temperature_when_frozen(PORK, share)
    assert props.ice_fraction(PORK, temperature) / PORK.free_water == pytest.approx(share, abs=1e-9)


@given(compositions(), compositions(), st.floats(0.01, 10), st.floats(0.01, 10))
def test_mixed_is_the_weighted_mean(one, two, a, b):
    both = props.mixed([(a, one), (b, two)])
    assert both.fat == pytest.approx((a * one.fat + b * two.fat) / (a + b))
    assert props.specific_heat(both, 20.0) == pytest.approx(
        (a * props.specific_heat(one, 20.0) + b * props.specific_heat(two, 20.0)) / (a + b)
    )
