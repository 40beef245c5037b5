"""An independent model of a piece being heated: finite volumes in numpy and scipy.

Cells of equal width along each direction, fluxes between their middles, half a
cell of conduction before the surface film. It shares no formula with the series
of the product: no roots, no Bessel functions.
"""

from __future__ import annotations

import numpy as np
from scipy.linalg import eigh_tridiagonal

_POWER = {"slab": 0, "cylinder": 1, "sphere": 2}


class Direction:
    """One direction, from the middle to the surface, in ``cells`` cells.

    kind; half [m]; h [W/m2K]; conductivity [W/mK]; capacity: density times specific heat [J/m3K].
    """

    def __init__(self, kind: str, half: float, h: float, conductivity: float, capacity: float, cells: int = 60):
        power = _POWER[kind]
        edges = np.linspace(0.0, half, cells + 1)
        self.volumes = np.diff(edges ** (power + 1)) / (power + 1)
        areas = edges**power
        width = half / cells
        between = conductivity * areas[1:-1] / width
        film = areas[-1] / (1 / h + width / 2 / conductivity)
        out = np.zeros(cells)
        out[:-1] += between
        out[1:] += between
        out[-1] += film
        heat = self.volumes * capacity
        # Scaled to be symmetric, so that it can be taken apart into eigenvectors.
        scale = np.sqrt(heat)
        rates, vectors = eigh_tridiagonal(out / heat, -between / (scale[:-1] * scale[1:]))
        self.rates = rates
        self.to_modes = vectors.T * scale
        self.to_cells = vectors / scale[:, None]
        self.half, self.h, self.conductivity, self.width = half, h, conductivity, width

    def core_weights(self) -> np.ndarray:
        """Weights of the cells for the temperature in the middle: an even parabola through the first two."""
        weights = np.zeros(len(self.volumes))
        weights[0], weights[1] = 9 / 8, -1 / 8
        return weights

    def surface_weights(self) -> np.ndarray:
        """Weights of the cells for the surface's difference to the surroundings."""
        weights = np.zeros(len(self.volumes))
        weights[-1] = 1 / (1 + self.h * self.width / 2 / self.conductivity)
        return weights

    def mean_weights(self) -> np.ndarray:
        return self.volumes / self.volumes.sum()

    def point_weights(self, fraction: float) -> np.ndarray:
        """Weights of the cells at ``fraction`` of the way from the middle to the surface."""
        if fraction < 1e-9:
            return self.core_weights()
        weights = np.zeros(len(self.volumes))
        place = fraction * len(weights) - 0.5
        first = min(max(int(np.floor(place)), 0), len(weights) - 2)
        weights[first], weights[first + 1] = 1 - (place - first), place - first
        return weights


class Piece:
    """A product of directions on its way; time is taken exactly, space in cells."""

    def __init__(self, directions: list[Direction], start: float, surroundings: float):
        self.surroundings = surroundings
        self._field = np.full([len(d.volumes) for d in directions], start - surroundings)
        self._set(directions)

    def _set(self, directions: list[Direction]) -> None:
        self.directions = directions
        self._modes = self._turn(self._field, [d.to_modes for d in directions])
        self._uniform = self._turn(np.ones_like(self._field), [d.to_modes for d in directions])
        rates = np.zeros(())
        for d in directions:
            rates = np.add.outer(rates, d.rates)
        self._rates = rates

    @staticmethod
    def _turn(field: np.ndarray, matrices: list[np.ndarray]) -> np.ndarray:
        for axis, matrix in enumerate(matrices):
            field = np.moveaxis(np.tensordot(matrix, field, axes=(1, axis)), 0, axis)
        return field

    def jump(self, surroundings: float) -> None:
        self._modes = self._modes + (self.surroundings - surroundings) * self._uniform
        self.surroundings = surroundings

    def advance(self, seconds: float, surroundings: float | None = None) -> None:
        rise = 0.0 if surroundings is None else surroundings - self.surroundings
        faded = np.exp(-self._rates * seconds)
        self._modes = self._modes * faded - rise * self._uniform * (1 - faded) / (self._rates * seconds)
        self.surroundings += rise

    def change(self, directions: list[Direction], surroundings: float) -> None:
        """Other surfaces and other surroundings, the same temperatures."""
        self._field = self._turn(self._modes, [d.to_cells for d in self.directions])
        self._field = self._field + self.surroundings - surroundings
        self.surroundings = surroundings
        self._set(directions)

    def _seen(self, weights: list[np.ndarray]) -> float:
        value = self._modes
        for d, w in zip(self.directions, weights):
            value = np.tensordot(w @ d.to_cells, value, axes=(0, 0))
        return self.surroundings + float(value)

    @property
    def core(self) -> float:
        return self._seen([d.core_weights() for d in self.directions])

    @property
    def mean(self) -> float:
        return self._seen([d.mean_weights() for d in self.directions])

    @property
    def surface(self) -> float:
        """The middle of the face nearest to the core."""
        halves = [d.half for d in self.directions]
        nearest = halves.index(min(halves))
        return self._seen([d.surface_weights() if i == nearest else d.core_weights() for i, d in enumerate(self.directions)])

    def at(self, fractions: list[float]) -> float:
        return self._seen([d.point_weights(x) for d, x in zip(self.directions, fractions)])
