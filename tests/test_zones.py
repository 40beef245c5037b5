"""Wall time against the zone database, which the runtime does not have."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curebatch.day.clock import WrongTime, read_zone, write_instant

ZONES = ("Europe/Paris", "Europe/London", "America/New_York", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Auckland", "America/Sao_Paulo")
_START = datetime(2026, 1, 1, tzinfo=UTC)
_HOURS = 24 * 500


def offsets(name: str) -> list[dict]:
    """As a page finds them: the offset at the start, and each change to the minute."""
    zone, found = ZoneInfo(name), []

    def look(at: datetime) -> None:
        minutes = int(at.astimezone(zone).utcoffset() / timedelta(minutes=1))
        if not found or found[-1]["offset_min"] != minutes:
            found.append({"from_utc": write_instant(at), "offset_min": minutes})

    for day in range(_HOURS // 24):
        at = _START + timedelta(days=day)
        look(at)
        if (at + timedelta(days=1)).astimezone(zone).utcoffset() != at.astimezone(zone).utcoffset():
            for quarter in range(96):
                look(at + timedelta(minutes=15 * quarter))
    return found


GIVEN = {name: read_zone(name, offsets(name)) for name in ZONES}


@given(st.sampled_from(ZONES), st.integers(0, _HOURS * 60 - 1))
def test_the_wall_clock_is_that_of_the_zone(name, minute):
    at = _START + timedelta(minutes=minute)
    assert GIVEN[name].wall(at) == at.astimezone(ZoneInfo(name)).replace(tzinfo=None)


@given(st.sampled_from(ZONES), st.integers(24 * 60, _HOURS * 60 - 24 * 60))
def test_wall_time_is_read_as_the_zone_has_it(name, minute):
    wall = (_START + timedelta(minutes=minute)).replace(tzinfo=None)
    both = [wall.replace(tzinfo=ZoneInfo(name), fold=fold).astimezone(UTC) for fold in (0, 1)]
    real = sorted({at for at in both if at.astimezone(ZoneInfo(name)).replace(tzinfo=None) == wall})
    assert list(GIVEN[name].instants(wall)) == real
    try:
        read = [GIVEN[name].read(wall.strftime("%Y-%m-%dT%H:%M"))]
    except WrongTime as error:
        assert error.code == {0: "time_skipped", 2: "time_twice"}[len(real)]
    else:
        assert read == real


@pytest.mark.parametrize("name, wall, code", [
    ("Europe/London", "2026-03-29T01:30", "time_skipped"), ("America/New_York", "2026-11-01T01:30", "time_twice"), ("Australia/Lord_Howe", "2026-10-04T02:15", "time_skipped"), ("Pacific/Auckland", "2026-04-05T02:30", "time_twice"),
])
def test_nights_on_which_the_clocks_change(name, wall, code):
    with pytest.raises(WrongTime) as error:
        GIVEN[name].read(wall)
    assert error.value.code == code
