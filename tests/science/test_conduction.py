"""The series against finite volumes, scipy's functions, and what must hold for any piece."""

from __future__ import annotations

import math
import random

import pytest
import scipy.integrate
import scipy.special
from helpers.finite_volume import Direction
from helpers.finite_volume import Piece as Volumes
from hypothesis import given, settings
from hypothesis import strategies as st

from curebatch.science.conduction import KINDS, Axis, Run, Solid, ball, bessel, box, first_time, roll, root, sheet
from curebatch.science.thermal_properties import OutOfRange

SHAPES = {
    "box": lambda s, h: box(*s, (h, h, h)),
    "roll": lambda s, h: roll(s[0], s[1], h),
    "ball": lambda s, h: ball(s[0], h),
    "sheet": lambda s, h: sheet(s[0], h),
}


def pair(shape, sizes, h, conductivity, diffusivity, cells=60):
    """The same piece as a series and as directions of finite volumes."""
    capacity = conductivity / diffusivity
    solid = Solid(SHAPES[shape](sizes, h), conductivity, 1000.0, capacity / 1000.0)
    return solid, [Direction(a.kind, a.half, a.h, conductivity, capacity, cells) for a in solid.axes]


@pytest.mark.parametrize("number", range(16))
def test_against_finite_volumes(number):
    """Random shapes, surfaces and histories: an oven that swings, a setting changed, then a bath."""
    rng = random.Random(number)
    shape = rng.choice(sorted(SHAPES))
    sizes = [rng.uniform(0.03, 0.15) for _ in range(3)]
    conductivity, diffusivity = rng.uniform(0.35, 0.55), rng.uniform(1.1e-7, 1.5e-7)
    solid, volumes = pair(shape, sizes, 10 ** rng.uniform(0.7, 2.7), conductivity, diffusivity)
    oven = rng.uniform(70, 180)
    run, piece = Run(solid, 4.0, oven), Volumes(volumes, 4.0, oven)
    for step in range(30):
        around = oven + rng.uniform(-15, 15)
        if step == 12:
            run.jump(around)
            piece.jump(around)
        run.advance(120.0, around)
        piece.advance(120.0, around)
        assert run.core == pytest.approx(piece.core, abs=0.1)
        assert run.mean == pytest.approx(piece.mean, abs=0.15)
    before = run.core
    bath, cold = pair(shape, sizes, 10 ** rng.uniform(0.7, 3), conductivity, diffusivity)
    run = run.carry(bath, 2.0)
    piece.change(cold, 2.0)
    assert run.core == pytest.approx(before, abs=1e-9)
    for _ in range(20):
        run.advance(120.0)
        piece.advance(120.0)
        assert run.core == pytest.approx(piece.core, abs=0.1)
        assert run.mean == pytest.approx(piece.mean, abs=0.15)


def test_the_finite_volumes_against_an_integrator_of_scipy():
    """The oracle itself, by another way through time: a cylinder, integrated step by step."""
    conductivity, capacity, radius, h, cells = 0.45, 3.5e6, 0.04, 25.0, 40
    piece = Volumes([Direction("cylinder", radius, h, conductivity, capacity, cells)], 4.0, 140.0)
    width = radius / cells
    edges = [i * width for i in range(cells + 1)]

    def slope(_, t):
        flow = [0.0] * (cells + 1)
        for i in range(1, cells):
            flow[i] = conductivity * edges[i] * (t[i] - t[i - 1]) / width
        flow[cells] = radius * (140.0 - t[-1]) / (1 / h + width / 2 / conductivity)
        return [(flow[i + 1] - flow[i]) / (capacity * (edges[i + 1] ** 2 - edges[i] ** 2) / 2) for i in range(cells)]

    found = scipy.integrate.solve_ivp(slope, (0, 3600), [4.0] * cells, method="BDF", rtol=1e-7, atol=1e-6)
    piece.advance(3600.0)
    assert piece.core == pytest.approx(9 / 8 * found.y[0, -1] - found.y[1, -1] / 8, abs=0.01)


@pytest.mark.parametrize("x", [0.0, 0.1, 1.0, 2.4, 5.0, 11.9, 12.0, 12.1, 20.0, 50.0, 90.0])
def test_bessel_functions(x):
    assert bessel(x) == pytest.approx((scipy.special.j0(x), scipy.special.j1(x)), abs=1e-10)


@given(st.sampled_from(KINDS), st.floats(-3, 4), st.integers(0, 15))
@settings(deadline=None, max_examples=200)
def test_roots_solve_their_equation_each_in_its_own_place(kind, exponent, n):
    biot = 10**exponent
    z = root(kind, biot, n)
    if kind == "slab":
        assert z * math.sin(z) == pytest.approx(biot * math.cos(z), abs=1e-9 * (biot + z))
        assert n * math.pi < z < (n + 0.5) * math.pi
    elif kind == "cylinder":
        j0, j1 = scipy.special.j0(z), scipy.special.j1(z)
        assert z * j1 == pytest.approx(biot * j0, abs=1e-8 * (biot + z))
        zeros = [0.0, *scipy.special.jn_zeros(0, n + 1)]
        assert zeros[n] < z < zeros[n + 1]
    else:
        assert math.sin(z) - z * math.cos(z) == pytest.approx(biot * math.sin(z), abs=1e-9 * (biot + z))
        assert n * math.pi < z < (n + 1) * math.pi


pieces = st.tuples(
    st.sampled_from(sorted(SHAPES)),
    st.lists(st.floats(0.02, 0.3), min_size=3, max_size=3),
    st.floats(2, 2000),
)


@given(pieces)
@settings(deadline=None, max_examples=40)
def test_the_core_comes_nearer_all_the_time_and_never_passes(piece):
    shape, sizes, h = piece
    solid, _ = pair(shape, sizes, h, 0.45, 1.3e-7, cells=4)
    before = 1.0 + 1e-9
    for minute in range(0, 600, 30):
        left = solid.left(60 * minute, solid.core)
        assert -1e-9 <= left <= before + 1e-4
        before = left


@given(pieces, st.floats(1.0, 3.0))
@settings(deadline=None, max_examples=30)
def test_a_larger_piece_takes_longer(piece, factor):
    shape, sizes, h = piece
    small, _ = pair(shape, sizes, h, 0.45, 1.3e-7, cells=4)
    large, _ = pair(shape, [min(size * factor, 0.9) for size in sizes], h, 0.45, 1.3e-7, cells=4)
    assert large.time_for(0.5, large.core) >= small.time_for(0.5, small.core) * (1 - 1e-6)


@given(pieces, st.floats(0.5, 2.0))
@settings(deadline=None, max_examples=30)
def test_size_surface_and_heat_capacity_in_proportion_change_the_clock_only(piece, factor):
    """Similar pieces: sizes times f, coefficient over f, is the same piece with time going f squared slower."""
    shape, sizes, h = piece
    one, _ = pair(shape, sizes, h, 0.45, 1.3e-7, cells=4)
    other, _ = pair(shape, [size * factor for size in sizes], h / factor, 0.45, 1.3e-7, cells=4)
    assert other.time_for(0.4, other.core) == pytest.approx(factor**2 * one.time_for(0.4, one.core), rel=1e-5)


@given(pieces, st.integers(1, 6))
@settings(deadline=None, max_examples=15)
def test_steps_make_no_difference_while_nothing_changes(piece, steps):
    shape, sizes, h = piece
    solid, _ = pair(shape, sizes, h, 0.45, 1.3e-7, cells=4)
    run = Run(solid, 4.0, 140.0)
    for _ in range(steps):
        run.advance(5400.0 / steps)
    assert run.core == pytest.approx(140 - 136 * solid.left(5400.0, solid.core), abs=0.01)
    assert run.mean == pytest.approx(140 - 136 * solid.left(5400.0, solid.mean), abs=0.01)


def test_turning_the_same_way_with_the_same_surface_changes_nothing():
    solid, _ = pair("box", (0.2, 0.1, 0.07), 20.0, 0.45, 1.3e-7, cells=4)
    run = Run(solid, 4.0, 140.0)
    run.advance(3600.0)
    on = run.carry(solid, 140.0)
    for _ in range(10):
        run.advance(300.0)
        on.advance(300.0)
        assert on.core == pytest.approx(run.core, abs=0.01)
        assert on.mean == pytest.approx(run.mean, abs=0.01)


def test_taken_out_the_core_goes_on_rising():
    solid, _ = pair("box", (0.24, 0.1, 0.08), 25.0, 0.45, 1.3e-7, cells=4)
    room, _ = pair("box", (0.24, 0.1, 0.08), 10.0, 0.45, 1.3e-7, cells=4)
    run = Run(solid, 4.0, 140.0)
    assert first_time(run, 60.0, solid.core, 60.0, 20000.0) is not None
    before = run.core
    run = run.carry(room, 20.0)
    run.advance(600.0)
    assert run.core > before + 1


def test_first_time_gives_up():
    solid, _ = pair("sheet", (0.05,), 25.0, 0.45, 1.3e-7, cells=4)
    assert first_time(Run(solid, 4.0, 60.0), 60.0, solid.core, 70.0, 40000.0) is None
    met = first_time(Run(solid, 4.0, 80.0), 60.0, solid.core, 70.0, 40000.0)
    assert met == pytest.approx(solid.time_for(10 / 76, solid.core), abs=2.0)


def test_a_direction_that_is_very_long_does_not_count():
    short = Solid(roll(0.06, 0.99, 20.0), 0.45, 1000.0, 3460.0)
    endless = Solid((Axis("cylinder", 0.03, 20.0),), 0.45, 1000.0, 3460.0)
    assert short.time_for(0.4, short.core) == pytest.approx(endless.time_for(0.4, endless.core), rel=1e-6)


@pytest.mark.parametrize(
    "axes",
    [
        (Axis("slab", 0.0005, 10.0),),
        (Axis("slab", 0.03, 0.1),),
        (Axis("slab", math.nan, 10.0),),
        (Axis("slab", 0.03, math.inf),),
    ],
)
def test_out_of_range(axes):
    with pytest.raises(OutOfRange):
        Solid(axes, 0.45, 1000.0, 3500.0)


def test_no_such_shape():
    with pytest.raises(ValueError, match="no shape"):
        Solid((Axis("sphere", 0.03, 10.0), Axis("slab", 0.03, 10.0)), 0.45, 1000.0, 3500.0)
    with pytest.raises(ValueError, match="another shape"):
        small, _ = pair("ball", (0.05,), 10.0, 0.45, 1.3e-7, cells=4)
        large, _ = pair("ball", (0.06,), 10.0, 0.45, 1.3e-7, cells=4)
        Run(small, 4.0, 80.0).carry(large, 4.0)


def test_times_and_temperatures_out_of_range():
    solid, _ = pair("ball", (0.05,), 10.0, 0.45, 1.3e-7, cells=4)
    run = Run(solid, 4.0, 80.0)
    for wrong in (-1.0, math.nan, math.inf):
        with pytest.raises(OutOfRange):
            run.advance(wrong)
    with pytest.raises(OutOfRange):
        run.jump(math.nan)
