"""How long a raw mix may lie: 48 h for ground pork, 24 h with poultry (both from memory), and the
stricter for whatever is neither. Card and timetable say the same."""

from __future__ import annotations

import pytest
from helpers.kitchens import LOAF, card_for

from curebatch.day.timetable import Piece, Range, Work
from curebatch.rules.raw_hold import most_minutes

LOAF_IN = Piece("loaf", Range(60, 70, 80), Range(100, 150, 200))
HOURS = {("pork",): 48, ("poultry",): 24, ("pork", "poultry"): 24, ("beef",): 24, ("pork", "veal"): 24, (): 24}


@pytest.mark.parametrize("kinds, hours", HOURS.items())
def test_the_longer_time_is_for_pork_alone(kinds, hours):
    assert most_minutes(kinds) == hours * 60
    assert Work(method="ground", state="held", kinds=kinds, served="cold", pieces=(LOAF_IN,)).most_hold == hours * 60


@pytest.mark.parametrize("name, hours", [(LOAF, "48 hours"), ("turkey-leek-breakfast-loaf.1", "24 hours")])
def test_the_card_says_so(name, hours):
    (row,) = [row for row in card_for(name, pack="6.25 %")["handling"] if row["title"] == "Raw and held cold"]
    assert hours in row["text"]


def test_pork_beside_poultry_is_held_as_poultry():
    card = card_for(LOAF, pack="6.25 %", beside="turkey-leek-breakfast-loaf.1", beside_mix="1 kg")
    assert "24 hours" in next(row["text"] for row in card["handling"] if row["title"] == "Raw and held cold")
