"""The solver: properties that hold for every batch, and an independent re-computation."""

from fractions import Fraction

import pytest
from helpers.kitchens import ceilings_of, ground_recipe, pack_of, scales_of
from hypothesis import given, settings, strategies as st

from curebatch.batch import cure
from curebatch.batch.rounding import to_step

PPM = Fraction(1, 10**6)

labels = st.sampled_from(["0.4-0.5 %", "0.5-0.6 %", "0.5 %", "0.6 %", "0.8-1 %", "0.9 %", "2-2.5 %", "2.5 %", "5.88 %", "6.25 %", "10 %"])
steps = st.sampled_from(["5 g", "2 g", "1 g", "0.5 g", "0.1 g", "0.05 g", "0.01 g", "0.1 oz", "0.01 oz"])
regions = st.sampled_from(["strictest", "us", "eu", "gb", "ni", "ca", "au", "nz", "codex"])


@st.composite
def recipes(draw):
    return ground_recipe(
        nitrite=f"{draw(st.integers(20, 400))} mg/kg", per=draw(st.sampled_from(["meat", "mix"])), counted=draw(st.sampled_from(["NaNO2", "NO2-", "KNO2"])),
        salt=f"{draw(st.integers(12, 40))} g/kg", salt_per=draw(st.sampled_from(["meat", "mix"])), water=draw(st.integers(0, 400)),
    )


meats = st.integers(100, 40_000)


def share_by_hand(batch, per: str, high: bool) -> Fraction:
    """The worst case written out from the rules of the design, apart from the solver's own code."""
    sign = 1 if high else -1
    dose = batch.cure.weighed + sign * batch.cure.scale.step
    total = Fraction(0)
    for line in batch.lines:
        if per == "mix" or line.role in ("meat", "fat"):
            total += max(Fraction(0), line.weighed - sign * line.scale.step) if line.grams else 0
    if per == "mix":
        if batch.salt.grams:
            total += max(Fraction(0), batch.salt.weighed - sign * batch.salt.scale.step)
        total += max(dose, Fraction(0))
    strength = batch.pack.high if high else batch.pack.low
    return strength * max(dose, Fraction(0)) / total


@settings(max_examples=400, deadline=None)
@given(recipes(), meats, labels, steps, st.none() | steps, regions)
def test_no_dose_passes_a_limit_at_its_high_end(recipe, meat, label, step, fine, region):
    ceilings = ceilings_of(region)
    assert ceilings
    found = cure.solve(recipe, Fraction(meat), pack_of(label), scales_of(step, fine), ceilings)
    if found.batch is None:
        assert found.no_dose or found.conflict
        return
    for ceiling in ceilings:
        assert share_by_hand(found.batch, ceiling.per, True) <= ceiling.share
    for per in ("meat", "mix"):
        assert found.batch.nitrite(per, "high") == share_by_hand(found.batch, per, True)
        assert found.batch.nitrite(per, "low") == share_by_hand(found.batch, per, False)
        assert found.batch.nitrite(per, "low") <= found.batch.nitrite(per, "nominal") <= found.batch.nitrite(per, "high")
    assert found.batch.cure.weighed % found.batch.cure.scale.step == 0


@settings(max_examples=200, deadline=None)
@given(recipes(), meats, labels, steps, regions)
def test_the_largest_dose_that_fits_is_given(recipe, meat, label, step, region):
    """One step more would pass a limit, or would lie further from the target."""
    ceilings = ceilings_of(region)
    found = cure.solve(recipe, Fraction(meat), pack_of(label), scales_of(step), ceilings)
    if found.batch is None:
        return
    size = found.batch.cure.scale.step
    if found.lowered_for is None:
        assert abs(found.batch.cure.weighed - found.wished) * 2 <= size
    else:
        more = cure.judge_stated(recipe, Fraction(meat), pack_of(label), scales_of(step), found.batch.cure.weighed + size)
        assert cure.over(more, ceilings) is not None


@settings(max_examples=150, deadline=None)
@given(recipes(), meats, labels)
def test_doubling_the_meat_doubles_every_weight_and_no_concentration(recipe, meat, label):
    once = cure._System(recipe, Fraction(meat)).solve(pack_of(label), None)
    twice = cure._System(recipe, Fraction(2 * meat)).solve(pack_of(label), None)
    assert twice == tuple(2 * value for value in once)


@settings(max_examples=150, deadline=None)
@given(recipes(), meats, st.sampled_from(["0.6 %", "0.9 %", "2.5 %", "5.88 %"]))
def test_another_pack_changes_neither_nitrite_nor_salt(recipe, meat, label):
    """In exact grams; on the scale, only by its steps."""
    def shares(text):
        grams, salt, mix = cure._System(recipe, Fraction(meat)).solve(pack_of(text), None)
        return pack_of(text).high * grams, pack_of(text).salt_low * grams + salt

    nitrite, salt = shares(label)
    nitrite_strong, salt_strong = shares("6.25 %")
    base = recipe.targets.nitrite_per
    if base == "meat":
        assert nitrite == nitrite_strong
    # The mix weighs a trifle more with another carrier: the nitrite itself, under 1 part in 2000.
    assert abs(nitrite - nitrite_strong) <= nitrite / 2000
    assert abs(salt - salt_strong) <= salt / 2000


@settings(max_examples=150, deadline=None)
@given(recipes(), meats, labels)
def test_the_equations_hold(recipe, meat, label):
    """Re-computed from the targets, in exact fractions."""
    pack = pack_of(label)
    grams, salt, mix = cure._System(recipe, Fraction(meat)).solve(pack, None)
    others = sum(i.share for i in recipe.ingredients) * meat
    assert mix == others + grams + salt
    targets = recipe.targets
    factor = {"NaNO2": Fraction(1), "NO2-": Fraction("68.995") / Fraction("46.005"), "KNO2": Fraction("68.995") / Fraction("85.103")}[targets.nitrite_as]
    assert grams * pack.high == targets.nitrite.value * factor * (meat if targets.nitrite_per == "meat" else mix)
    assert salt + grams * pack.salt_low == targets.salt.value * (meat if targets.salt_per == "meat" else mix)


@settings(max_examples=100, deadline=None)
@given(recipes(), st.integers(2, 90), st.sampled_from(["2.5 %", "5.88 %", "6.25 %"]))
def test_ounces_and_grams_agree(recipe, pounds, label):
    meat = pounds * Fraction("453.59237")
    ounces = cure.solve(recipe, meat, pack_of(label), scales_of("0.01 oz"), ceilings_of("us")).batch
    grams = cure.solve(recipe, meat, pack_of(label), scales_of("0.1 g"), ceilings_of("us")).batch
    if ounces and grams:
        assert abs(ounces.cure.weighed - grams.cure.weighed) <= Fraction("0.75")


def test_what_was_worked_out_is_for_these_scales_this_meat_and_this_recipe_alone():
    """Each asked with nothing at hand, and behind each other one, as a card asks."""
    asked = [
        (recipe, meat, scales_of(scale))
        for recipe in (ground_recipe(), ground_recipe(salt="1.4 %"))
        for meat in (Fraction(1237), Fraction(2401))
        for scale in ("0.1 g", "5 g")
    ]
    alone = []
    for recipe, meat, scales in asked:
        cure._last.clear()
        alone.append(cure.uncured(recipe, meat, scales))
    for before in asked:
        for after, right in zip(asked, alone, strict=True):
            cure.uncured(*before)
            assert cure.uncured(*after) == right
    assert len({(batch.mix_grams, batch.lines[0].scale) for batch in alone}) == len(asked)


@pytest.mark.parametrize("way, steps_down", [("down", 2), ("nearest", 2), ("up", 3)])
def test_rounding_has_a_direction(way, steps_down):
    assert to_step(Fraction("0.25"), Fraction("0.1"), way) == Fraction(steps_down, 10)  # a half goes down


@given(st.fractions(0, 1000), st.fractions(Fraction(1, 1000), 10))
def test_rounding_stays_within_a_step(grams, step):
    down, near, up = (to_step(grams, step, way) for way in ("down", "nearest", "up"))
    assert down <= grams <= up < grams + step
    assert near in (down, up) and abs(near - grams) * 2 <= step


def test_targets_that_exclude_each_other_are_named_with_ways_out():
    recipe = ground_recipe(nitrite="125 mg/kg", per="meat", salt="18 g/kg", water=0)
    found = cure.solve(recipe, Fraction(1000), pack_of("0.5 %"), scales_of("1 g"), ceilings_of("us"))
    assert found.batch is None and found.conflict
    assert found.conflict.salt_brought == Fraction("0.024875")
    # Each way out, taken, does lead out.
    for changes, label in (
        ({"nitrite": "125 mg/kg", "salt": "2.4875 %"}, "0.5 %"),
        ({"nitrite": f"{int(found.conflict.nitrite_possible / PPM)} mg/kg", "salt": "18 g/kg"}, "0.5 %"),
        ({"nitrite": "125 mg/kg", "salt": "18 g/kg"}, f"{float(found.conflict.strength_needed) * 100 + 0.005:.2f} %"),
    ):
        mended = ground_recipe(per="meat", water=0, **changes)
        assert cure.solve(mended, Fraction(1000), pack_of(label), scales_of("0.1 g"), ceilings_of("us")).batch
