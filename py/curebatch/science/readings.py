"""Readings of a thermometer: what cannot be right is found out before anything is judged.

A reading is (minute, degC). Nothing is put right by guessing: a number that
looks like Fahrenheit is named as such and handed back.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isfinite
from typing import NamedTuple

# Rules of this project, no source: what a core in a kitchen can read at all.
COLDEST_CORE, HOTTEST_CORE = -30.0, 105.0  # degC
FASTEST = 15.0  # K/min; a core changes more slowly, so a faster change is a probe put in or pulled out
STEADY = 1.0  # K, changes within this are the probe's own
MOST_READINGS = 10_000

# What each place can be [degC]. Rules of this project, no source.
PLACES = {
    "fridge": (-2.0, 12.0),
    "freezer": (-40.0, -5.0),
    "room": (2.0, 45.0),
    "oven": (40.0, 300.0),
    "bath": (30.0, 100.5),
    "ice_water": (-1.0, 8.0),
    "cold_water": (0.0, 35.0),
    "ice": (-40.0, 0.0),
    "meat": (-40.0, 30.0),
    "water": (0.0, 45.0),
    "dry": (-40.0, 45.0),
}


class Reading(NamedTuple):
    minute: float  # from a start of the cook's own
    temperature: float  # degC


@dataclass(frozen=True)
class WrongReading:
    """One thing that cannot be right. ``index`` counts the readings from 0; ``celsius`` is
    what the number would be if it was read in Fahrenheit, where that would fit."""

    code: str
    index: int
    read: float
    celsius: float | None = None
    limit: float | None = None
    place: str = ""


class WrongReadings(ValueError):
    """All that is wrong with some readings, together."""

    def __init__(self, wrong: tuple[WrongReading, ...]):
        super().__init__(", ".join(f"{fault.code} ({fault.index + 1}: {fault.read:g})" for fault in wrong))
        self.wrong = wrong


def from_fahrenheit(value: float) -> float:
    """A temperature in degF as [degC]."""
    return (value - 32) / 1.8


def to_fahrenheit(value: float) -> float:
    """A temperature in degC as [degF]."""
    return value * 1.8 + 32


def wrong_place(place: str, temperature: float) -> WrongReading | None:
    """What is wrong with the stated temperature of a place or an ingredient.

    place: a key of PLACES; temperature [degC]. Returns None where nothing is, else a
    WrongReading that names the place, with code "place_not_a_number", "place_fahrenheit" (it
    would fit as Fahrenheit), "place_too_cold", "place_too_warm" or "ice_too_warm", and the
    limit that it passed.
    """
    low, high = PLACES[place]
    if not isfinite(temperature):
        return WrongReading("place_not_a_number", 0, temperature, place=place)
    if low <= temperature <= high:
        return None
    if temperature < low:
        return WrongReading("place_too_cold", 0, temperature, None, low, place)
    if place == "ice":  # above 0 it is wrong, whatever the number would be in degF
        return WrongReading("ice_too_warm", 0, temperature, None, high, place)
    celsius = from_fahrenheit(temperature)
    if low <= celsius <= high:
        return WrongReading("place_fahrenheit", 0, temperature, celsius, high, place)
    return WrongReading("place_too_warm", 0, temperature, None, high, place)


def checked(
    readings: Iterable[tuple[float, float]], *, not_before: float | None = None, not_after: float | None = None
) -> tuple[Reading, ...]:
    """Readings of a core, if they can be right.

    readings: (minute, temperature [degC]) in the order of time; not_before, not_after
    [min]: no reading can be from before the meat was there, nor from after now.
    Returns them as Readings. Raises WrongReadings with every fault:
    "reading_none", "reading_too_many", "reading_not_a_number", "reading_fahrenheit",
    "reading_impossible", "reading_out_of_order", "reading_same_time", "reading_too_early",
    "reading_too_late", "reading_jump".
    """
    rows = tuple(Reading(*row) for row in readings)
    if not rows:
        raise WrongReadings((WrongReading("reading_none", 0, 0.0),))
    if len(rows) > MOST_READINGS:
        raise WrongReadings((WrongReading("reading_too_many", MOST_READINGS, len(rows), limit=MOST_READINGS),))
    wrong = [fault for index, row in enumerate(rows) for fault in _alone(index, row, not_before, not_after)]
    if not wrong:
        wrong = [fault for index in range(1, len(rows)) if (fault := _after(index, rows[index - 1], rows[index]))]
    if wrong:
        raise WrongReadings(tuple(wrong))
    return rows


def _alone(index: int, row: Reading, not_before: float | None, not_after: float | None):
    if not isfinite(row.minute) or not isfinite(row.temperature):
        yield WrongReading("reading_not_a_number", index, row.temperature if isfinite(row.minute) else row.minute)
        return
    if row.temperature > HOTTEST_CORE and from_fahrenheit(row.temperature) <= HOTTEST_CORE:
        yield WrongReading("reading_fahrenheit", index, row.temperature, from_fahrenheit(row.temperature), HOTTEST_CORE)
    elif row.temperature > HOTTEST_CORE:
        yield WrongReading("reading_impossible", index, row.temperature, None, HOTTEST_CORE)
    elif row.temperature < COLDEST_CORE:
        yield WrongReading("reading_impossible", index, row.temperature, None, COLDEST_CORE)
    if not_before is not None and row.minute < not_before:
        yield WrongReading("reading_too_early", index, row.minute, None, not_before)
    if not_after is not None and row.minute > not_after:
        yield WrongReading("reading_too_late", index, row.minute, None, not_after)


def _after(index: int, before: Reading, row: Reading) -> WrongReading | None:
    minutes = row.minute - before.minute
    if minutes < 0:
        return WrongReading("reading_out_of_order", index, row.minute, None, before.minute)
    if minutes == 0:
        return WrongReading("reading_same_time", index, row.minute, None, before.minute)
    if abs(row.temperature - before.temperature) > STEADY + FASTEST * minutes:
        return WrongReading("reading_jump", index, row.temperature, None, before.temperature)
    return None
