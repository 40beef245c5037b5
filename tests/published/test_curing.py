"""The cure against regulations, handbooks and the facts of the trade; the source beside each value."""

from fractions import Fraction

import molmass
import pytest
from helpers.kitchens import batch_for, ground_recipe

from curebatch.batch.compounds import MOLAR_MASS, as_sodium_nitrite, carrier_salt, counted_as
from curebatch.batch.cure import Pack
from curebatch.intake.units import factor, read_amount
from curebatch.rules.limits import all_limits

PPM = Fraction(1, 10**6)


def pack(text: str, compound: str = "NaNO2") -> Pack:
    return Pack.of(read_amount(text, "share", ("%",), range_allowed=True), compound)


@pytest.mark.parametrize("formula", ["NaNO2", "KNO2", "NaNO3", "KNO3"])
def test_molar_masses_against_a_reference_package(formula):
    # molmass carries the IUPAC standard atomic weights; ours are the abridged ones.
    assert float(MOLAR_MASS[formula]) == pytest.approx(molmass.Formula(formula).mass, abs=0.002)


@pytest.mark.parametrize("ours, formula", [("NO2-", "NO2"), ("NO3-", "NO3")])
def test_molar_masses_of_the_ions(ours, formula):
    assert float(MOLAR_MASS[ours]) == pytest.approx(molmass.Formula(formula).mass, abs=0.002)


# Conversions derived from the standard atomic weights.
@pytest.mark.parametrize(
    "salt_mg, ion_mg", [("150", "100.02"), ("120", "80.01"), ("100", "66.68"), ("119.98", "80.00"), ("82.48", "55.00")]
)
def test_nitrite_as_salt_and_as_ion(salt_mg, ion_mg):
    assert float(counted_as(Fraction(salt_mg), "NO2-")) == pytest.approx(float(ion_mg), abs=0.006)
    assert float(as_sodium_nitrite(Fraction(ion_mg), "NO2-")) == pytest.approx(float(salt_mg), abs=0.01)


# 9 CFR 424.22(b), bacon: pairs of sodium and potassium nitrite, printed to whole ppm.
@pytest.mark.parametrize("sodium, potassium, exact", [(120, 148, 148.02), (100, 123, 123.35), (200, 246, 246.69)])
def test_bacon_pairs(sodium, potassium, exact):
    found = float(counted_as(Fraction(sodium), "KNO2"))
    assert found == pytest.approx(exact, abs=0.006)
    assert int(found) == potassium


def test_quarter_ounce_to_a_hundred_pounds():
    # 9 CFR 424.21(c): 1/4 oz of nitrite to 100 lb of meat; as 4 oz of a 6.25 % cure.
    nitrite = 4 * factor("oz") * pack("6.25 %").high
    assert nitrite / (100 * factor("lb")) == Fraction("156.25") * PPM
    assert next(limit for limit in all_limits() if limit.id == "us-comminuted").share == Fraction("156.25") * PPM


def test_two_pounds_in_a_pickle_of_a_thousand():
    # FSIS Directive 7620.3: nitrite x pump / pickle weight, at 10 % pump.
    assert Fraction(2) * Fraction(1, 10) / 1000 == 200 * PPM
    # 100 US gal of plain water weigh 834.5 lb: the same nitrite is then 239.7.
    assert float(2 * Fraction(1, 10) / Fraction("834.5") / PPM) == pytest.approx(239.7, abs=0.05)


# List of Permitted Preservatives (Canada): 0.32 and 0.19 oz per 100 lb, printed as 200 and 120.
@pytest.mark.parametrize("ounces, ppm", [("0.32", "200"), ("0.19", "118.75")])
def test_canadian_pair(ounces, ppm):
    assert Fraction(ounces) * factor("oz") / (100 * factor("lb")) == Fraction(ppm) * PPM


# 120 mg/kg in grams of curing salt per kilo, derived.
@pytest.mark.parametrize(
    "strength, grams", [("0.4", "30.0"), ("0.5", "24.0"), ("0.6", "20.0"), ("0.9", "13.3"), ("5.88", "2.04"), ("6.25", "1.92")]
)
def test_grams_for_120_mg(strength, grams):
    assert float(120 * PPM * 1000 / pack(f"{strength} %").high) == pytest.approx(float(grams), rel=0.003)


# Facts of the trade: common practice, no source.
@pytest.mark.parametrize("strength, cure, plain", [("0.5", "25.0", "0.0"), ("2.5", "5.0", "20.0"), ("6.25", "2.0", "23.0")])
def test_the_same_cure_from_three_packs(strength, cure, plain):
    recipe = ground_recipe(nitrite="125 mg/kg", per="meat", salt="2.4875 %", water=0)
    batch = batch_for(recipe, f"{strength} %", scale="0.1 g", meat=1000)
    assert batch.cure.weighed == Fraction(cure)
    assert batch.salt.weighed == Fraction(plain)
    assert batch.nitrite("meat", "nominal") == 125 * PPM


def test_what_25_grams_of_a_weak_salt_carry():
    # Common practice, no source: 125 mg of nitrite and 24.875 g of salt.
    assert 25 * pack("0.5 %").high == Fraction("0.125")
    assert 25 * carrier_salt(pack("0.5 %").high, "NaNO2") == Fraction("24.875")


@pytest.mark.parametrize("strength, times", [("2.5", "5"), ("6.25", "12.5")])
def test_as_written_with_a_stronger_pack(strength, times):
    assert pack(f"{strength} %").high / pack("0.5 %").high == Fraction(times)


def test_a_range_on_the_label():
    # A label of 0.4-0.5 % makes 25 g/kg 100 to 125 mg/kg (common practice, no source).
    label = pack("0.4-0.5 %")
    assert (25 * label.low / 1000, 25 * label.high / 1000) == (100 * PPM, 125 * PPM)


def test_over_or_under_the_eu_figure_by_the_base_alone():
    # Regulation (EC) 1333/2008 as amended by (EU) 2023/2108: 80 mg/kg as ion, per kilo of product.
    recipe = ground_recipe(nitrite="125 mg/kg", per="meat", salt="2.4875 %", water=250)
    batch = batch_for(recipe, "0.5 %", scale="0.1 g", meat=1000, ceilings=())
    assert batch.mix_grams == 1275
    assert float(counted_as(batch.nitrite("meat", "nominal"), "NO2-") / PPM) == pytest.approx(83.3, abs=0.05)
    assert float(counted_as(batch.nitrite("mix", "nominal"), "NO2-") / PPM) == pytest.approx(65.4, abs=0.05)


def test_thirty_grams_with_ice():
    # Derived: 30 g/kg of 0.5 % is 100.0 mg/kg ion on meat, 75.2 on 1,330 g of mix.
    recipe = ground_recipe(nitrite="150 mg/kg", per="meat", salt="29.85 g/kg", water=300)
    batch = batch_for(recipe, "0.5 %", scale="0.1 g", meat=1000, ceilings=())
    assert batch.mix_grams == 1330
    assert float(counted_as(batch.nitrite("meat", "nominal"), "NO2-") / PPM) == pytest.approx(100.0, abs=0.05)
    assert float(counted_as(batch.nitrite("mix", "nominal"), "NO2-") / PPM) == pytest.approx(75.2, abs=0.05)


def test_a_limit_met_to_the_last_digit_is_not_reached():
    # 9 CFR 424.21(c): 2.5 g/kg of 6.25 % is the limit exactly; a step of 0.1 g would pass it.
    recipe = ground_recipe(nitrite="156.25 mg/kg", per="meat", salt="25 g/kg", water=0)
    batch = batch_for(recipe, "6.25 %", scale="0.1 g", meat=1000)
    assert batch.cure.weighed == Fraction("2.3")
    assert batch.nitrite("meat", "high") < Fraction("156.25") * PPM
    assert (batch.cure.weighed + Fraction("0.2")) * pack("6.25 %").high / 1000 == Fraction("156.25") * PPM


@pytest.mark.parametrize("limit", all_limits(), ids=lambda limit: limit.id)
def test_every_limit_names_its_document(limit):
    assert limit.document and limit.edition and limit.clause and limit.date_read
    assert limit.sure in ("read", "derived", "memory")
    assert limit.role in ("limit", "threshold", "laboratory", "context")
    assert limit.counted_as in ("NaNO2", "NO2-", "KNO2")
    assert limit.per in (("sold",) if limit.role == "laboratory" else ("meat", "mix"))
