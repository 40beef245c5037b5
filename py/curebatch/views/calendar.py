"""The timetable as a calendar file, by RFC 5545 (iCalendar).

Instants are in UTC, so that no calendar needs to know our zone and none is an hour off when
the clocks change. No weight of curing salt is ever in it: a calendar is read without the card.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from ..bare_grams import WEIGHED
from ..day.clock import Zone, write_instant
from ..day.timetable import Event, Plan
from ..day.told import detail_text, event_text
from ..words import say, spoken

WIDTH = 75  # octets of one line, its end not counted: RFC 5545, section 3.1
ALARM = 15  # minutes before, for what is done by hand
_MOST_TITLE = 80
_KEY = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")


def escape(text: str) -> str:
    """A text value: backslash, semicolon, comma and line ends escaped (section 3.3.11), control signs left out."""
    clean = "".join(char for char in text.replace("\r\n", "\n").replace("\r", "\n") if char == "\n" or (char.isprintable() and not "\ud800" <= char <= "\udfff"))
    return clean.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def fold(line: str) -> str:
    """One content line, folded at 75 octets without parting a character, with its end (section 3.1)."""
    parts, part, size = [], "", 0
    for char in line:
        octets = len(char.encode("utf-8"))
        if size + octets > WIDTH:
            parts.append(part)
            part, size = " ", 1
        part += char
        size += octets
    return "\r\n".join([*parts, part]) + "\r\n"


def _stamp(at: datetime) -> str:
    return write_instant(at.replace(second=0, microsecond=0)).replace("-", "").replace(":", "").replace("Z", "00Z")


def _named(title: str) -> str:
    """The batch's name for a calendar; a title with a weight in it is not taken over, whatever weight it is."""
    title = " ".join(title.split())[:_MOST_TITLE]
    return title if title and not WEIGHED.search(title) else say("calendar.batch")


def calendar(plan: Plan, zone: Zone, title: str, key: str, stamp: datetime, sequence: int = 0) -> str:
    """The calendar file of a plan.

    plan: of the timetable; zone: for the times in the texts; title: of the recipe; key: of this batch, small letters,
    digits and dashes: the same key gives the same entries again, so that a second import replaces the first; stamp:
    when the file is made, from the page; sequence: how many files of this batch came before [0 to 9999].
    Returns the text, lines ended with CRLF, to be saved as it is in UTF-8. Raises ValueError for another key or
    sequence. Source: RFC 5545.
    """
    if not _KEY.fullmatch(key) or not 0 <= sequence <= 9999:
        raise ValueError(f"key {key!r}, sequence {sequence}")
    name = _named(title)
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:-//curebatch//timetable 1//{spoken().upper()}", "CALSCALE:GREGORIAN", "METHOD:PUBLISH"]
    for event in plan.events:
        lines += _event(event, zone, name, key, _stamp(stamp), sequence)
    lines.append("END:VCALENDAR")
    return "".join(map(fold, lines))


def _event(event: Event, zone: Zone, name: str, key: str, stamp: str, sequence: int) -> list[str]:
    text = say("calendar.summary", what=_without_weights(event_text(event)), title=name)
    about = [detail_text(event, zone), say("calendar.on_the_card")]
    ends = event.at + timedelta(minutes=max(event.minutes, 0) if event.id not in _ONGOING else 0)
    lines = [
        "BEGIN:VEVENT", f"UID:{event.id.replace('_', '-')}-{event.number}.{key}@curebatch.invalid", f"DTSTAMP:{stamp}", f"SEQUENCE:{sequence}", f"DTSTART:{_stamp(event.at)}",
        # Without an end an entry takes no time (section 3.6.1).
        *([f"DTEND:{_stamp(ends)}"] if ends > event.at else []),
        f"SUMMARY:{escape(text)}", f"DESCRIPTION:{escape(chr(10).join(part for part in about if part))}",
        # What goes on by itself must not make the cook look busy for days.
        "TRANSP:TRANSPARENT",
    ]
    if event.by_hand:
        lines += _alarm(ALARM if event.id not in _AT_ONCE else 0, text)
    elif event.hard:
        lines += _alarm(0, text)
    return [*lines, "END:VEVENT"]


_ONGOING = ("thaw", "half_freeze", "bowls", "soak_casings", "soak", "equalise", "hold", "cure", "piece_in")
"""What is begun by hand and then goes on by itself: the entry marks the beginning."""
_AT_ONCE = ("first_check", "out", "cool")


def _alarm(minutes: int, text: str) -> list[str]:
    return ["BEGIN:VALARM", "ACTION:DISPLAY", f"TRIGGER:-PT{minutes}M" if minutes else "TRIGGER:PT0S", f"DESCRIPTION:{escape(text)}", "END:VALARM"]


def _without_weights(text: str) -> str:
    # The name of a piece is the cook's own text.
    return text if not WEIGHED.search(text) else text.split(":")[0] if not WEIGHED.search(text.split(":")[0]) else say("calendar.step")
