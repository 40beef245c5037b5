"""Heat in the chopper against IAPWS, CoolProp, published batters and own arithmetic; the source beside each."""

from __future__ import annotations

import pytest

from curebatch.science import mixing
from curebatch.science import thermal_properties as props
from curebatch.science.findings import Spread
from curebatch.science.mixing import Part
from curebatch.science.thermal_properties import Composition

# USDA SR28 10972 pork, ground, 84 % lean; 10004 pork backfat, both raw; potato starch about 80 % carbohydrate (memory).
LEAN = Composition.scaled(water=0.6467, protein=0.1799, fat=0.16, carbohydrate=0.0044, ash=0.0091)
FAT = Composition.scaled(water=0.0769, protein=0.0292, fat=0.8869, ash=0.007)
STARCH = Composition(water=0.2, carbohydrate=0.8)
IDLE = Spread(0.0, 0.0, 0.0)


def batter(meat=2.0, ice=0.576, water=0.0, ice_at=-2.0, water_at=15.0, fat=0.6, fat_at=None):
    return (
        Part("shoulder", "meat", 1.8, meat, LEAN),
        Part("back fat", "fat", fat, meat if fat_at is None else fat_at, FAT),
        Part("ice", "ice", ice, ice_at, props.WATER),
        Part("water", "water", water, water_at, props.WATER),
        Part("salt", "salt", 0.066, 20.0, props.SALT),
        Part("starch", "starch", 0.072, 20.0, STARCH),
    )


def test_ice_into_water_by_iapws():
    # IAPWS R10-06 and IAPWS-95: 1 kg of ice at -18 degC into 6 kg of water at 40 degC.
    from iapws import IAPWS95, _iapws
    from scipy.optimize import brentq

    def liquid(t):
        return IAPWS95(T=t + 273.15, P=0.101325).h

    ice = _iapws._Ice(255.15, 0.101325)["h"]
    end = brentq(lambda t: 7 * liquid(t) - 6 * liquid(40.0) - ice, 1, 40)
    found = mixing.balance([Part("ice", "ice", 1, -18.0, props.WATER), Part("water", "water", 6, 40.0, props.WATER)], IDLE)
    assert found.end.nominal == pytest.approx(end, abs=0.1)
    assert found.ice_left.nominal == 0


def test_ice_left_over_by_iapws():
    # 1 kg of ice at 0 degC into 1 kg of water at 20 degC: 83.9 kJ melt 251.7 g at 333.4 kJ/kg.
    from iapws import IAPWS95

    melted = (IAPWS95(T=293.15, P=0.101325).h - IAPWS95(T=273.16, P=0.101325).h) / 333.4
    found = mixing.balance([Part("ice", "ice", 1, 0.0, props.WATER), Part("water", "water", 1, 20.0, props.WATER)], IDLE)
    assert found.end.nominal == pytest.approx(0.0, abs=1e-5)
    assert found.ice_left.nominal == pytest.approx(1 - melted, abs=0.002)


def test_ice_instead_of_water():
    # At 15 % of the batch about 55 kJ/kg, some 16 K less rise: derived from 333.4 kJ/kg and cold water.
    saved = 0.15 * (333.4 + 4.18 * 4 + 2.05 * 5)  # water at 4 degC against ice at -5
    assert saved == pytest.approx(55, abs=1.5)
    total = 1.8 + 0.6 + 0.066 + 0.072
    added = total * 0.15 / 0.85
    wet = mixing.balance(batter(ice=0.0, water=added, water_at=4.0), Spread(80, 80, 80))
    iced = mixing.balance(batter(ice=added, ice_at=-5.0), Spread(80, 80, 80))
    cp = props.specific_heat(props.mixed([(p.mass, p.composition) for p in batter(ice=0, water=added)]), 12.0) / 1000
    warmest = wet.end.high - iced.end.high  # no fat melting in it
    assert warmest == pytest.approx(saved / cp, rel=0.05)
    assert warmest == pytest.approx(16, abs=1.5)


def test_chopping_without_cooling():
    # Uncooled, chopping reaches 17-20 degC in 8 to 12 min with 48 to 58 kJ/kg (derived from published batters).
    parts = batter(meat=2.0, ice=0.0, water=0.576, water_at=2.0)
    low = mixing.balance(parts, Spread(48, 48, 48)).end
    high = mixing.balance(parts, Spread(58, 58, 58)).end
    assert low.low < 18.5 and high.high > 17
    assert low.nominal < 20 and high.nominal > 15


def test_the_balance_again_with_the_components_of_coolprop():
    # Another enthalpy: CoolProp's specific heats integrated by scipy, ice only as clean ice, no solutes:
    # a batter that ends well above its melting point, no fat melting.
    from CoolProp.CoolProp import PropsSI
    from scipy.integrate import quad
    from scipy.optimize import brentq

    names = {"protein": "Protein", "fat": "Fat", "carbohydrate": "Carbohydrate", "ash": "Ash", "ice": "Ice"}

    def heat(component, t):
        if component == "water":
            return 4.18 * t
        return quad(lambda x: PropsSI("C", "T", x + 273.15, "P", 101325, f"INCOMP::Food{names[component]}"), 0, t)[0] / 1000

    def brought(part, t):
        if part.role == "ice":
            return part.mass * (heat("ice", t) - 333.4)
        return part.mass * sum(share * heat(name, t) for name, share in part.composition.parts() if share)

    def melted(part):
        return Part(part.name, "water", part.mass, 1.0, props.WATER) if part.role == "ice" else part

    parts = [part for part in batter() if part.mass]
    start = sum(brought(part, part.temperature) for part in parts)
    work = 90 * sum(part.mass for part in parts)
    end = brentq(lambda t: sum(brought(melted(part), t) for part in parts) - start - work, 0.1, 40)
    assert mixing.balance(parts, Spread(90, 90, 90)).end.high == pytest.approx(end, abs=0.1)


def test_frozen_meat_against_chen():
    # Chen (ASHRAE Refrigeration Handbook): the heat to bring a kilo of lean from -10 to 5 degC, here as work.
    chen = (props.chen_enthalpy(1 - LEAN.water, LEAN.water, LEAN.protein, -2.0, 5.0) - props.chen_enthalpy(1 - LEAN.water, LEAN.water, LEAN.protein, -2.0, -10.0)) / 1000
    found = mixing.chopper_heat([Part("shoulder", "meat", 1, -10.0, LEAN)], 5.0, error=0.0)
    assert found.work.low == pytest.approx(chen, rel=0.03)


def test_fat_melting_is_about_a_fifth():
    # James & James, Meat Refrigeration, table 13.3: a fat batter takes up to about a fifth more heat.
    parts = batter(meat=2.0, ice=0.0, water=0.576, water_at=2.0)
    work = mixing.chopper_heat(parts, 12.0, error=0.0).work
    assert 0.15 < work.high / work.low - 1 < 0.25
    assert work.low < work.nominal < work.high


# Pork and turkey 12 (common practice; 12-13 in a turkey frankfurter study), beef up to 18.
@pytest.mark.parametrize("kinds, limit", [(["pork"], 12), (["poultry"], 12), (["beef"], 18), (["beef", "pork"], 12), (["game"], 12), (["yak"], 12), ([], 12)])
def test_limits_by_kind(kinds, limit):
    assert mixing.limit_for(kinds) == limit
