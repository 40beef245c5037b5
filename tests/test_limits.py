"""Which limits a batch answers to: the raw records, chosen again by the words of the design."""

import re
import tomllib
from fractions import Fraction
from pathlib import Path

import pytest

import curebatch
from curebatch.fields import REGIONS
from curebatch.rules import limits

FILES = Path(curebatch.__file__).parent / "data"
RAW = tomllib.loads((FILES / "limits.toml").read_text(encoding="utf-8"))
METHODS = ("ground", "dry", "brine", "injected")
SODIUM = {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005")}
PPM = Fraction(1, 10**6)


def chosen(region: str, method: str, belly: bool, role: str) -> set[str]:
    """By hand. Strictest: all that was read. Another region: its own; where none of its own was
    read, all that was read beside them, so that nothing remembered lets a batch pass alone."""
    fitting = [row for row in RAW["limit"] if row["role"] == role and method in row["methods"] and (belly or row["cut"] != "belly")]
    sure = {row["id"] for row in fitting if row["sure"] in ("read", "derived")}
    if region == "strictest":
        return sure
    own = {row["id"]: row["sure"] for row in fitting if region in row["regions"]}
    return {*own} | (sure if role == "limit" and "read" not in own.values() else set())


@pytest.mark.parametrize("region", REGIONS)
@pytest.mark.parametrize("method", METHODS)
@pytest.mark.parametrize("belly", [True, False])
@pytest.mark.parametrize("role", ["limit", "threshold", "laboratory", "context"])
def test_a_batch_answers_to_the_limits_of_its_place_method_and_cut(region, method, belly, role):
    found = [limit.id for limit in limits.applicable(region, method, belly, role)]
    assert len(found) == len(set(found)) and set(found) == chosen(region, method, belly, role)


@pytest.mark.parametrize("region", REGIONS)
def test_what_is_asked_for_without_a_role_are_the_limits(region):
    assert limits.applicable(region, "ground", False) == limits.applicable(region, "ground", False, "limit")


def test_every_record_is_as_it_stands_in_the_file():
    for limit, row in zip(limits.all_limits(), RAW["limit"], strict=True):
        for key, value in row.items():
            held = getattr(limit, key)
            assert held == (tuple(value) if isinstance(value, list) else Fraction(value) if key == "value" else value), (row["id"], key)
        assert limit.same_weight_as_potassium is row.get("same_weight_as_potassium", False)
    assert len({limit.id for limit in limits.all_limits()}) == len(RAW["limit"])


@pytest.mark.parametrize("compound", ["NaNO2", "NO2-", "KNO2"])
def test_a_ceiling_is_the_record_as_a_share_of_sodium_nitrite_on_its_base(compound):
    for limit in limits.all_limits():
        if limit.role != "limit":
            continue
        ceiling = limit.ceiling(compound)
        share = limit.value * PPM * SODIUM[limit.counted_as]
        assert limit.share == share
        if compound == "KNO2" and limit.same_weight_as_potassium:
            share *= Fraction("68.995") / Fraction("85.103")
        assert (ceiling.id, ceiling.share, ceiling.per) == (limit.id, share, limit.per)


def test_the_edition_is_a_day_and_its_changes_are_told_newest_last():
    assert limits.edition() == RAW["edition"] and re.fullmatch(r"\d{4}-\d\d-\d\d", limits.edition())
    told = limits.editions()
    assert told == tomllib.loads((FILES / "editions.toml").read_text(encoding="utf-8"))["edition"]
    days = [row["edition"] for row in told]
    assert days == sorted(days) and days[-1] == limits.edition() and all(row["changes"] for row in told)
