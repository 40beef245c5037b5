"""Phosphates and accelerators against conversions derived from the standard atomic masses, and the limits."""

from fractions import Fraction

import molmass
import pytest

from curebatch.batch.additives import (
    ACCELERATORS, PHOSPHATES, Bases, Dose, accelerator_as, all_limits, applicable, hold_needed, judge_accelerators, judge_phosphates, read_leavening,
)
from curebatch.fields import REGIONS

KILO = Bases(Fraction(1000), Fraction(1000), Fraction(1000))


@pytest.mark.parametrize(
    "name, share, carries_five", [("STPP", 0.5788, 8.64), ("TSPP", 0.5338, 9.37), ("SAPP", 0.6396, 7.82), ("SHMP", 0.6961, 7.18), ("DSP", 0.4999, 10.0)]
)
def test_p2o5_in_the_pure_salts(name, share, carries_five):
    assert float(PHOSPHATES[name].p2o5) == pytest.approx(share, abs=0.00006)
    assert float(5 / PHOSPHATES[name].p2o5) == pytest.approx(carries_five, abs=0.006)


@pytest.mark.parametrize("name", PHOSPHATES)
def test_every_p2o5_share_against_a_reference_package(name):
    formula = PHOSPHATES[name].formula
    parts = {row.symbol: row.count for row in molmass.Formula(formula).composition().values()}
    assert float(PHOSPHATES[name].p2o5) == pytest.approx(parts["P"] * molmass.Formula("P2O5").mass / 2 / molmass.Formula(formula).mass, abs=2e-4)


@pytest.mark.parametrize(
    "grams, name, wanted, result",
    [
        (550, "sodium_erythorbate", "erythorbic_acid", 489), (500, "erythorbic_acid", "sodium_erythorbate", 562),
        (500, "ascorbic_acid", "sodium_erythorbate_monohydrate", 614), (469, "ascorbic_acid", "sodium_ascorbate", 527.5),
    ],
)
def test_acid_and_salt(grams, name, wanted, result):
    assert float(accelerator_as(Fraction(grams), name, wanted)) == pytest.approx(result, abs=0.6)


def test_accelerator_masses_against_a_reference_package():
    assert float(ACCELERATORS["erythorbic_acid"]) == pytest.approx(molmass.Formula("C6H8O6").mass, abs=0.01)
    assert float(ACCELERATORS["sodium_erythorbate_monohydrate"]) == pytest.approx(molmass.Formula("C6H9NaO7").mass, abs=0.01)


def test_leavening_for_the_limit_is_all_pyrophosphate():
    # 4.6 g of powder, a US teaspoon, carry at most 2.94 g P2O5.
    powder = read_leavening("E 450, E 500, corn starch")
    assert float(Fraction("4.6") * powder.p2o5_most) == pytest.approx(2.94, abs=0.005)
    assert powder.binds == "yes"


def test_550_mg_of_the_salt_is_under_500_of_the_acid_and_550_of_the_acid_is_over():
    # Reg. (EC) 1333/2008: 500 mg/kg as erythorbic acid.
    (salt,) = judge_accelerators({"sodium_erythorbate": Fraction("0.55")}, KILO, "eu")
    assert salt.within and float(salt.found) == pytest.approx(489, abs=0.05)
    (acid,) = judge_accelerators({"erythorbic_acid": Fraction("0.55")}, KILO, "eu")
    assert not acid.within and acid.found == 550


def test_phosphate_limits_each_count_their_own_way():
    # EU 5,000 mg/kg as P2O5; Canada 0.5 % as disodium phosphate, both on the finished product.
    nine = [Dose.pure(Fraction("8.63"), "STPP")]
    (eu,) = judge_phosphates(nine, KILO, "eu")
    assert eu.within and float(eu.found) == pytest.approx(4995, abs=1)
    assert not judge_phosphates([Dose.pure(Fraction("8.65"), "STPP")], KILO, "eu")[0].within
    (canada,) = judge_phosphates(nine, KILO, "ca")
    assert not canada.within and float(canada.found) == pytest.approx(9992, abs=5)
    # The US figure is from memory: those that were read stand beside it.
    assert {j.limit.id for j in judge_phosphates(nine, KILO, "us")} == {"us-phosphate", "eu-phosphate", "ca-phosphate"}


def test_pumped_bacon_asks_for_550():
    # 9 CFR 424.22(b): 550 ppm sodium ascorbate or erythorbate with pumped belly.
    short = judge_accelerators({"sodium_erythorbate": Fraction("0.5")}, KILO, "us", pumped_bacon=True)
    assert {j.limit.id: j.within for j in short}["us-bacon-accelerator"] is False
    enough = judge_accelerators({"sodium_erythorbate": Fraction("0.55")}, KILO, "us", pumped_bacon=True)
    assert all(j.within for j in enough)


def test_the_hold_is_spared_from_500_on():
    # Textbook practice, from memory: 500-550 mg/kg of the sodium salt.
    assert hold_needed({"sodium_ascorbate": Fraction("0.5")}, Fraction(1000)).spared
    assert not hold_needed({"sodium_ascorbate": Fraction("0.49")}, Fraction(1000)).spared
    assert hold_needed({}, Fraction(1000)).found == 0


def test_every_record_names_its_document_and_memory_never_stands_alone():
    for limit in all_limits():
        assert limit.document and limit.clause and limit.date_read and limit.sure in ("read", "derived", "memory")
    for region in REGIONS:
        for substance in ("phosphate", "erythorbate"):
            assert any(limit.sure == "read" for limit in applicable(region, (substance,))), region
