"""Tins: levels, sharing, and what cannot be a tin."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curebatch.batch.refusal import Refused
from curebatch.batch.tins import (
    LEAST_FILL, Box, CasingByDiameter, CasingByFlatWidth, HalfRound, Loaf, Measured, Round, Tin, casing_length, even_box, half_thickness, holds_grams, share,
    tins_needed,
)

SIZE = st.floats(0.06, 0.39)  # a cube of 0.4 m holds more than the largest tin
SHAPES = st.one_of(
    st.builds(Box, SIZE, SIZE, SIZE), st.builds(Round, SIZE, SIZE), st.builds(lambda w, p, n: HalfRound(w, w / 2 * p, n), SIZE, st.floats(0.4, 1), SIZE),
    st.builds(lambda a, b, p, q, d: Loaf(a, b, a * p, b * q, d), SIZE, SIZE, st.floats(0.6, 1), st.floats(0.6, 1), SIZE),
    st.builds(CasingByDiameter, SIZE, SIZE), st.builds(CasingByFlatWidth, SIZE, SIZE), st.builds(Measured, st.floats(0.1, 5)),
)
TINS = st.lists(st.tuples(SHAPES, st.integers(1, 3)), min_size=1, max_size=4).map(
    lambda rows: [Tin(str(index), shape, count) for index, (shape, count) in enumerate(rows)]
)


@settings(deadline=None)
@given(SHAPES, st.floats(0, 1))
def test_level_and_volume_are_each_others_way_back(shape, part):
    litres = part * shape.litres
    assert shape.up_to(shape.level_for(litres)) == pytest.approx(litres, rel=1e-9, abs=1e-9)


@settings(deadline=None)
@given(SHAPES, st.floats(0, 1), st.floats(0, 1))
def test_more_is_higher(shape, one, other):
    low, high = sorted((one, other))
    assert shape.level_for(low * shape.litres) <= shape.level_for(high * shape.litres) + 1e-12


@settings(deadline=None)
@given(st.floats(50, 30000), TINS, st.floats(0.9, 1.1), st.booleans())
def test_no_batter_is_lost_and_no_tin_overfull(grams, tins, density, alike):
    shared = share(grams, tins, density, alike=alike)
    assert sum(one.grams for one in shared.filled) + shared.left_grams == pytest.approx(grams)
    by_id = {tin.id: tin for tin in tins}
    for one in shared.filled:
        tin = by_id[one.id]
        assert 1 <= one.number <= tin.count
        assert LEAST_FILL <= one.level <= 1 - tin.free + 1e-9
        assert one.litres <= tin.takes * (1 + 1e-9)
    for name in shared.left_fits:
        assert by_id[name].takes >= shared.left_litres
        assert sum(one.id == name for one in shared.filled) < by_id[name].count
    assert (shared.box_side > 0) == (shared.left_grams > 0)


@settings(deadline=None)
@given(st.floats(100, 20000), SHAPES, st.floats(0.9, 1.1))
def test_as_many_tins_as_it_takes_and_not_one_more(grams, shape, density):
    tin = Tin("t", shape)
    count = tins_needed(grams, tin, density)
    assert holds_grams([Tin("t", shape, count)], density) >= grams * (1 - 1e-8)
    assert count == 1 or holds_grams([Tin("t", shape, count - 1)], density) < grams


def test_shared_alike_all_stand_at_the_same_part_of_their_room():
    tins = [Tin("large", Box(0.25, 0.1, 0.08)), Tin("small", Box(0.12, 0.08, 0.06), 2)]
    shared = share(2000, tins, 1.03, alike=True)
    assert len(shared.filled) == 3 and not shared.left_grams
    assert len({round(one.level, 9) for one in shared.filled}) == 1
    # One after the other, the first is full and the last takes what is left.
    levels = [one.level for one in share(2600, tins, 1.03).filled]
    assert levels[0] == pytest.approx(0.9) and levels[-1] < 0.9


def test_left_over_finds_the_snuggest_empty_tin():
    tins = [Tin("large", Box(0.25, 0.1, 0.08)), Tin("mid", Measured(1.4)), Tin("mug", Measured(0.8))]
    shared = share(1854 + 300, tins, 1.03)
    assert [one.id for one in shared.filled] == ["large"]
    assert shared.left_fits == ("mug", "mid")
    # It would fill the mug to 0.37 of its depth: too low to begin, but it is offered.
    assert shared.left_litres == pytest.approx(300 / 1.03 / 1000)


def test_a_casing_is_filled_to_its_ties():
    assert Tin("c", CasingByDiameter(0.06, 0.3)).free == 0
    assert casing_length(CasingByFlatWidth(0.09, 0.4).litres, CasingByFlatWidth(0.09, 0.1)) == pytest.approx(0.4)
    assert CasingByDiameter(0.09, 0.4) != CasingByFlatWidth(0.09, 0.4)


def test_for_the_heat():
    loaf = Loaf(0.25, 0.11, 0.23, 0.095, 0.07)
    assert even_box(loaf).litres == pytest.approx(loaf.litres)
    assert half_thickness(loaf) == 0.035
    assert half_thickness(Measured(1.4)) is None
    assert half_thickness(CasingByFlatWidth(0.0942, 0.4)) == pytest.approx(0.03, abs=1e-4)


@pytest.mark.parametrize(
    "make, code",
    [
        (lambda: Box(0.001, 0.2, 0.2), "tin_size"), (lambda: Box(25, 10, 8), "tin_size"), (lambda: Box(0.02, 0.02, 0.02), "tin_too_small"),
        (lambda: Measured(0.004), "tin_too_small"), (lambda: Measured(1400), "tin_too_large"), (lambda: Loaf(0.2, 0.1, 0.25, 0.1, 0.1), "tin_upside_down"),
        (lambda: HalfRound(0.1, 0.08, 0.3), "tin_half_round"), (lambda: Tin("t", Measured(1), 0), "tin_count"), (lambda: Tin("t", Measured(1), 1, 0.9), "tin_headroom"),
        (lambda: Measured(1).level_for(1.2), "tin_overfull"), (lambda: Round(float("nan"), 0.1), "tin_size"),
    ],
)
def test_what_cannot_be_a_tin(make, code):
    with pytest.raises(Refused) as refused:
        make()
    assert refused.value.code == code
