"""Forecasts of heating and cooling against finite volumes that follow the same surroundings."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from helpers.finite_volume import Direction
from helpers.finite_volume import Piece as Volumes

from curebatch.science import surfaces
from curebatch.science.forecast import Heat, Piece, carry_over, cool, minutes_to
from curebatch.science.surfaces import Around

CONDUCTIVITY, DENSITY, HEAT = 0.45, 1040.0, 3330.0


def piece(shape, sizes, start=4.0):
    return Piece(shape, sizes, start, CONDUCTIVITY, DENSITY, HEAT)


def directions(body, film):
    return [Direction(a.kind, a.half, a.h, CONDUCTIVITY, DENSITY * HEAT, 40) for a in body.axes(film)]


def history(volumes, minutes):
    """Core temperatures at each minute from now on [C]."""
    cores = [volumes.core]
    for _ in range(minutes):
        volumes.advance(60.0)
        cores.append(volumes.core)
    return np.array(cores)


def test_a_cold_oven_and_a_change():
    """Oven warming for 20 minutes, then turned down: steps of the forecast against volumes that follow evenly."""
    heat = replace(Heat(Around("still_oven", 150, "casing"), cold_oven=20.0), changes=((60.0, 110.0),))
    body = piece("roll", (0.07, 0.30))
    volumes = Volumes(directions(body, surfaces.film(heat.around, body.start)), body.start, 20.0)
    volumes.advance(1200.0, 150.0)
    volumes.advance(2400.0)
    volumes.jump(110.0)
    cores = history(volumes, 120)
    assert minutes_to(body, heat, 65.0) == pytest.approx(60 + np.interp(65.0, cores, np.arange(len(cores))), abs=1.0)


def test_cooling_from_one_temperature():
    body, around = piece("roll", (0.08, 0.25)), Around("cold_water", 10, "bag")
    volumes = Volumes(directions(body, surfaces.film(around, 70.0)), 70.0, 10.0)
    cores = history(volumes, 400)
    first, second = (np.interp(-limit, -cores, np.arange(len(cores))) for limit in (54.4, 26.7))
    [window] = cool(body, 70.0, around, {"one": ((54.4, 26.7, 90.0),)}).options[0].windows
    assert window.minutes.nominal == pytest.approx(second - first, abs=0.3)


def test_from_the_oven_into_the_room_and_into_the_bath():
    """Temperatures carried on from cooking: the rise after taking out, and the fall in iced water."""
    body, heat = piece("box", (0.24, 0.10, 0.065)), Heat(Around("still_oven", 140, "casing"))
    minutes = minutes_to(body, heat, 70.0)
    oven = surfaces.film(heat.around, body.start)

    def cooked():
        volumes = Volumes(directions(body, oven), body.start, oven.temperature)
        volumes.advance(60 * minutes)
        return volumes

    volumes = cooked()
    assert volumes.core == pytest.approx(70.0, abs=0.1)
    room = surfaces.film(Around("room_air", 20, "casing"), volumes.surface)
    volumes.change(directions(body, room), room.temperature)
    cores = history(volumes, 60)
    rise = carry_over(body, heat, minutes)
    assert rise.peak == pytest.approx(cores.max(), abs=0.1)
    assert rise.minutes == pytest.approx(cores.argmax(), abs=1.0)

    volumes = cooked()
    bath = surfaces.film(Around("iced_water", 0, "bag"), volumes.surface)
    volumes.change(directions(body, bath), bath.temperature)
    cores = history(volumes, 240)
    falling = cores[cores.argmax() :]
    times = np.arange(cores.argmax(), len(cores))
    first, second = (np.interp(-limit, -falling, times) for limit in (54.4, 4.4))
    [window] = cool(body, (heat, minutes), Around("iced_water", 0, "bag"), {"one": ((54.4, 4.4, 390.0),)}).options[0].windows
    assert window.minutes.nominal == pytest.approx(second - first, abs=0.5)
