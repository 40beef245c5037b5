"""Conduction against textbooks and published cooling histories; the source beside each value."""

import pytest

from curebatch.science.conduction import Axis, Run, Solid, box, roll, root, sheet

ENDLESS = 1e4  # Biot number that stands for infinity, the highest the roots are given for


def solid(axes, conductivity, diffusivity):
    return Solid(axes, conductivity, 1000.0, conductivity / diffusivity / 1000.0)


# Roots and first coefficients as tabled in heat-transfer textbooks (read; tables of
# one-term coefficients): Bi, slab z1 C1, cylinder z1 C1. 1e4 stands for infinity, so a little less is asked.
@pytest.mark.parametrize(
    "biot, slab_z, slab_c, cylinder_z, cylinder_c, within",
    [
        (0.1, 0.3111, 1.0161, 0.4417, 1.0246, 6e-5),
        (1, 0.8603, 1.1191, 1.2558, 1.2071, 6e-5),
        (10, 1.4289, 1.2620, 2.1795, 1.5677, 6e-5),
        (ENDLESS, 1.5708, 1.2732, 2.4048, 1.6020, 3e-4),
    ],
)
def test_first_roots_and_coefficients(biot, slab_z, slab_c, cylinder_z, cylinder_c, within):
    for kind, z, c in (("slab", slab_z, slab_c), ("cylinder", cylinder_z, cylinder_c)):
        assert root(kind, biot, 0) == pytest.approx(z, abs=within)
        half, conductivity = (0.05 if biot < ENDLESS else 0.5), 0.5
        piece = solid((Axis(kind, half, biot * conductivity / half),), conductivity, 1.3e-7)
        assert piece.series[0].uniform[0] == pytest.approx(c, abs=within)


def test_a_chilled_slab_of_the_textbook():
    # Half thickness 10 mm, k .45, alpha .91e-7, h 9, from 25 C to a surface of 2 C in air at -11 C: 93.1 min
    # (textbook example, read).
    piece = solid(sheet(0.020, 9.0), 0.45, 0.91e-7)
    share = (2 + 11) / (25 + 11)
    assert piece.time_for(share, piece.surface) / 60 == pytest.approx(93.1, abs=0.06)


def test_the_short_brass_cylinder():
    # Cengel, Heat Transfer, example 4.8 (read): R 50 mm, half height 60 mm, alpha 3.39e-5, k 110, h 60,
    # 120 C in air at 25 C for 900 s: 63 C at the centre by chart, 62.7 by series.
    piece = solid(roll(0.100, 0.120, 60.0), 110.0, 3.39e-5)
    assert 25 + 95 * piece.left(900.0, piece.core) == pytest.approx(62.7, abs=0.05)
    run = Run(piece, 120.0, 25.0)
    for _ in range(9):
        run.advance(100.0)
    assert run.core == pytest.approx(62.7, abs=0.05)


# Loaf of 100 x 80 x 240 mm, 4 to 70 C in 140 C without evaporation, series (derived for this project,
# alpha 1.30e-7; conductivity between .43 and .50 is not stated with it, so 3 % are allowed).
@pytest.mark.parametrize("h, hours", [(15, 2.05), (25, 1.65)])
def test_a_loaf_by_series(h, hours):
    loaf = solid(box(0.240, 0.100, 0.080, (h, h, h)), 0.465, 1.30e-7)
    share = (140 - 70) / (140 - 4)
    assert loaf.time_for(share, loaf.core) / 3600 == pytest.approx(hours, rel=0.03)


# Beef slab of 50 mm from 70 to 10 C in water at 0 C, h 500, series (derived for this project): 1.27 h with
# alpha 1.30e-7, 1.18 h with 1.4e-7. Published for it: 1.2 h (James & James, Meat Refrigeration; read).
@pytest.mark.parametrize("diffusivity, hours", [(1.30e-7, 1.27), (1.4e-7, 1.18)])
def test_a_slab_in_iced_water_by_series(diffusivity, hours):
    slab = solid(sheet(0.050, 500.0), 0.49, diffusivity)
    taken = slab.time_for(10 / 70, slab.core) / 3600
    assert taken == pytest.approx(hours, rel=0.02)
    assert taken == pytest.approx(1.2, rel=0.15)
