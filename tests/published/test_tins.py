"""Volumes of tins against closed forms and against slices added up by another hand."""

import math

import pytest
from scipy.integrate import quad

from curebatch.batch.tins import Box, CasingByDiameter, CasingByFlatWidth, HalfRound, Loaf, Round


def test_straight_shapes():
    assert Box(0.24, 0.10, 0.09).litres == pytest.approx(2.16)
    assert Round(0.20, 0.07).litres == pytest.approx(math.pi * 0.1**2 * 70)
    assert CasingByDiameter(0.06, 0.3).litres == pytest.approx(math.pi * 0.03**2 * 300)


def test_frustum_of_a_pyramid():
    # Where length and width slope alike it is a frustum: h / 3 (A + B + sqrt(A B)).
    top, bottom = 0.25 * 0.12, 0.20 * 0.096
    assert Loaf(0.25, 0.12, 0.20, 0.096, 0.07).litres == pytest.approx(1000 * 0.07 / 3 * (top + bottom + math.sqrt(top * bottom)))


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("sizes", [(0.25, 0.11, 0.23, 0.095, 0.07), (0.30, 0.15, 0.30, 0.10, 0.08), (0.2, 0.1, 0.2, 0.1, 0.1)])
def test_sloping_tin_by_slices(sizes, share):
    top_length, top_width, length, width, depth = sizes
    slices, _ = quad(lambda z: (length + (top_length - length) * z / depth) * (width + (top_width - width) * z / depth), 0, share * depth)
    assert Loaf(*sizes).up_to(share * depth) == pytest.approx(1000 * slices)


@pytest.mark.parametrize("share", [0.05, 0.5, 0.9, 1.0])
@pytest.mark.parametrize("width, depth", [(0.1, 0.05), (0.12, 0.04), (0.08, 0.02)])
def test_trough_by_slices(width, depth, share):
    # The circle through both rims and the lowest point.
    radius = (width**2 / 4 + depth**2) / (2 * depth)
    slices, _ = quad(lambda z: 2 * math.sqrt(max(0.0, radius**2 - (radius - z) ** 2)), 0, share * depth)
    assert HalfRound(width, depth, 0.3).up_to(share * depth) == pytest.approx(300 * slices, rel=1e-6)


def test_half_round_is_half_a_cylinder():
    assert HalfRound(0.1, 0.05, 0.3).litres == pytest.approx(math.pi * 0.05**2 / 2 * 300)


def test_flat_width_is_half_the_way_around():
    casing = CasingByFlatWidth(0.09, 0.4)
    assert math.pi * casing.diameter == pytest.approx(2 * 0.09)
    assert casing.litres == pytest.approx(CasingByDiameter(casing.diameter, 0.4).litres)
    # Taken for a diameter it would hold two and a half times as much.
    assert CasingByDiameter(0.09, 0.4).litres / casing.litres == pytest.approx(math.pi**2 / 4)
