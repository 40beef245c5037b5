"""Wall time and instants. The runtime knows no time zones, so the offsets from UTC are an input.

Lengths of time are real minutes: a hold of twelve hours is twelve hours, whatever the
clocks on the wall do meanwhile. Wall time that does not exist, or exists twice, is never
guessed at.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

DAY = 24 * 60
MOST_CHANGES = 100
_LEAST_OFFSET, _MOST_OFFSET = -12 * 60, 14 * 60  # min; the zones of the world lie between
_ZONE = re.compile(r"[A-Za-z][A-Za-z0-9_+-]*(?:/[A-Za-z0-9_+-]+){0,2}")
_LONGEST = 60
_YEARS = (1970, 9000)  # the ends of the calendar leave no room to count from
_WALL = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})[T ]([0-9]{2}:[0-9]{2})(?:([+-])([0-9]{2}):?([0-9]{2}))?")
_INSTANT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?Z")


class WrongTime(ValueError):
    """A time that cannot be used: ``code`` names why, ``values`` fill its words (``fault.CODE``)."""

    def __init__(self, code: str, field: str = "", **values: str):
        super().__init__(code)
        self.code = code
        self.field = field
        self.values = values


def read_instant(text: object, field: str = "") -> datetime:
    """An instant written in UTC, such as "2027-03-28T16:00Z" or with seconds.

    text: what was written; field: what it is for, for the error.
    Returns an aware datetime. Raises WrongTime ("time_instant").
    """
    try:
        if isinstance(text, str) and _INSTANT.fullmatch(text):
            at = datetime.fromisoformat(text)
            if _YEARS[0] <= at.year <= _YEARS[1]:
                return at
    except ValueError:
        pass
    raise WrongTime("time_instant", field, read=str(text)[:_LONGEST])


def write_instant(at: datetime) -> str:
    """An instant as text in UTC, to the second where it has any: "2027-03-28T16:00Z"."""
    at = at.astimezone(UTC)
    return at.strftime("%Y-%m-%dT%H:%M:%SZ") if at.second else at.strftime("%Y-%m-%dT%H:%MZ")


def write_wall(at: datetime) -> str:
    return at.strftime("%Y-%m-%dT%H:%M")


def _offset_text(minutes: int) -> str:
    sign = "-" if minutes < 0 else "+"
    return f"{sign}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"


@dataclass(frozen=True)
class Zone:
    """A time zone over the span of one plan: its name, and from when on which offset holds [min]."""

    name: str
    changes: tuple[tuple[datetime, int], ...]

    def offset(self, at: datetime) -> int:
        """Minutes that the wall clock is ahead of UTC at an instant.

        Raises WrongTime ("zone_short") for an instant before the first offset that is known.
        """
        index = bisect_right(self.changes, at, key=lambda change: change[0]) - 1
        if index < 0:
            raise WrongTime("zone_short", "offsets", at=write_instant(at))
        return self.changes[index][1]

    def wall(self, at: datetime) -> datetime:
        """The wall clock at an instant, as a datetime without a zone."""
        return (at.astimezone(UTC) + timedelta(minutes=self.offset(at))).replace(tzinfo=None)

    def instants(self, wall: datetime) -> tuple[datetime, ...]:
        """The instants at which the wall clock shows ``wall``: none, one or two."""
        found = []
        for offset in dict.fromkeys(offset for _, offset in self.changes):
            at = wall.replace(tzinfo=UTC) - timedelta(minutes=offset)
            if at >= self.changes[0][0] and self.offset(at) == offset:
                found.append(at)
        return tuple(sorted(found))

    def is_twice(self, at: datetime) -> bool:
        """Whether the wall clock shows this time a second time, before or after."""
        return len(self.instants(self.wall(at))) > 1

    def offset_text(self, at: datetime) -> str:
        """The offset at an instant, such as "+02:00"."""
        return _offset_text(self.offset(at))

    def read(self, text: object, field: str = "") -> datetime:
        """Wall time as an instant.

        text: "2027-03-28T18:00"; where the clocks go back and a time comes twice, with the offset
        that is meant behind it: "2027-10-31T02:30+01:00". field: what it is for, for the error.
        Raises WrongTime: "time_wall" (not a time), "time_skipped" (the clocks jump over it),
        "time_twice" (it comes twice), "time_offset" (that offset does not hold then), "zone_short".
        """
        found = _WALL.fullmatch(text) if isinstance(text, str) and len(text) <= _LONGEST else None
        try:
            wall = datetime.fromisoformat(f"{found[1]}T{found[2]}") if found else None
        except ValueError:
            wall = None
        if wall is None or not _YEARS[0] <= wall.year <= _YEARS[1]:
            raise WrongTime("time_wall", field, read=str(text)[:_LONGEST])
        instants = self.instants(wall)
        if found[3]:
            wanted = found[3] + found[4] + ":" + found[5]
            meant = [at for at in instants if self.offset_text(at) == wanted]
            if not meant:
                raise WrongTime("time_offset", field, read=str(text), offset=wanted)
            return meant[0]
        if len(instants) > 1:
            first, second = (write_wall(wall) + self.offset_text(at) for at in instants)
            raise WrongTime("time_twice", field, read=str(text), first=first, second=second)
        if not instants:
            self._say_missing(wall, str(text), field)
        return instants[0]

    def _say_missing(self, wall: datetime, text: str, field: str) -> None:
        for (_, before), (at, after) in zip(self.changes, self.changes[1:], strict=False):
            jump = [(at + timedelta(minutes=offset)).replace(tzinfo=None) for offset in (before, after)]
            if jump[0] <= wall < jump[1]:
                raise WrongTime("time_skipped", field, read=text, before=write_wall(jump[0] - timedelta(minutes=1)), after=write_wall(jump[1]))
        raise WrongTime("zone_short", "offsets", at=text)


def read_zone(name: object, offsets: object) -> Zone:
    """The zone that a page gives.

    name: of the zone, such as "Europe/Paris"; offsets: [{"from_utc": instant, "offset_min":
    minutes ahead of UTC, whole, -720 to 840}], earliest first, each holding until the next, the
    last to the end. The first must lie before anything that is planned.
    Raises WrongTime ("zone_name", "zone_offsets").
    """
    if not isinstance(name, str) or len(name) > _LONGEST or not _ZONE.fullmatch(name):
        raise WrongTime("zone_name", "zone", read=str(name)[:_LONGEST])
    if not isinstance(offsets, list) or not 1 <= len(offsets) <= MOST_CHANGES:
        raise WrongTime("zone_offsets", "offsets", read=type(offsets).__name__)
    changes: list[tuple[datetime, int]] = []
    for row in offsets:
        if not isinstance(row, dict) or set(row) != {"from_utc", "offset_min"}:
            raise WrongTime("zone_offsets", "offsets", read=str(row)[:_LONGEST])
        at, minutes = read_instant(row["from_utc"], "offsets"), row["offset_min"]
        if type(minutes) is not int or not _LEAST_OFFSET <= minutes <= _MOST_OFFSET or (changes and at <= changes[-1][0]):
            raise WrongTime("zone_offsets", "offsets", read=str(row)[:_LONGEST])
        changes.append((at, minutes))
    return Zone(name, tuple(changes))
