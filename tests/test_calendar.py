"""The calendar file, read by an independent parser of RFC 5545."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curebatch.day.clock import read_zone
from curebatch.day.timetable import EVENTS, Piece, Range, Work, plan
from curebatch.views.calendar import calendar, escape, fold

PARIS = read_zone("Europe/Paris", [
    {"from_utc": "2026-10-25T01:00Z", "offset_min": 60}, {"from_utc": "2027-03-28T01:00Z", "offset_min": 120}, {"from_utc": "2027-10-31T01:00Z", "offset_min": 60},
])
STAMP = datetime(2027, 3, 1, 12, 0, 30, tzinfo=UTC)
PIECES = (Piece("loaf 28 x 11 cm", Range(100, 120, 150), Range(200, 400, 780)), Piece("tin, the “small; one”\\", Range(60, 70, 80), Range(100, 150, 200)))
WORK = Work(
    "ground", "held", ("pork",), "cold", PIECES, thaw=700, half_freeze=90, bowls=60, soak=60, mix=40, fill=30, heat_up=30, slice=20, cooling_steps=((26.7, 90), (4.4, 390)),
)
CURED = Work("dry", "held", ("pork",), "raw", cure=(10, 15), mix=20, soak=60, equalise=720, slice=30)


def made(work=WORK, serve="2027-03-28T18:00", title="Pistachio pork loaf", **more) -> tuple[str, object]:
    found = plan(work, PARIS, PARIS.read(serve))
    return calendar(found, PARIS, title, "batch-1", STAMP, **more), found


def events(text):
    return icalendar.Calendar.from_ical(text).walk("VEVENT")


@pytest.mark.parametrize("work, serve", [(WORK, "2027-03-28T18:00"), (WORK, "2027-10-31T12:00"), (WORK, "2027-01-01T00:30"), (CURED, "2027-03-28T18:00"), (CURED, "2027-11-05T18:00")])
def test_the_instants_are_right_across_a_change_of_the_clocks(work, serve):
    text, found = made(work, serve)
    read = events(text)
    assert len(read) == len(found.events)
    for entry, event in zip(read, found.events, strict=True):
        assert entry.decoded("dtstart") == event.at and entry.decoded("dtstart").utcoffset() == timedelta(0)
        if "dtend" in entry:
            assert entry.decoded("dtend") == event.at + timedelta(minutes=event.minutes)
    # And on the wall, by the zone database: served at the hour that was asked for.
    served = next(entry for entry in read if str(entry["summary"]).startswith("Serve"))
    assert served.decoded("dtstart").astimezone(ZoneInfo("Europe/Paris")).strftime("%Y-%m-%dT%H:%M") == serve


def test_a_hold_over_the_night_of_summer_time_is_of_real_hours():
    text, _ = made(serve="2027-03-28T23:59")
    read = {str(entry["uid"]).split(".")[0]: entry.decoded("dtstart") for entry in events(text)}
    assert read["piece-in-1"] - read["hold-0"] >= timedelta(hours=12)


def test_the_file_has_all_that_the_standard_asks_for():
    text, _ = made()
    parsed = icalendar.Calendar.from_ical(text)
    assert parsed["version"] == "2.0" and parsed["prodid"]
    assert not parsed.errors
    for entry in parsed.walk("VEVENT"):
        assert {"uid", "dtstamp", "dtstart", "summary", "description"} <= {key.lower() for key in entry} and not entry.errors
        assert entry.decoded("dtstamp") == STAMP.replace(second=0)
    raw = text.encode("utf-8")
    assert raw.endswith(b"\r\n") and b"\n" not in raw.replace(b"\r\n", b"") and b"\r" not in raw.replace(b"\r\n", b"")
    assert max(map(len, raw.split(b"\r\n"))) <= 75


def test_alarms_ring_for_what_is_done_by_hand_and_for_deadlines():
    text, found = made()
    for entry, event in zip(events(text), found.events, strict=True):
        alarms = entry.walk("VALARM")
        assert len(alarms) == (1 if event.by_hand or event.hard else 0), event.id
        for alarm in alarms:
            assert str(alarm["action"]) == "DISPLAY" and alarm["description"]
            assert timedelta(minutes=-15) <= alarm.decoded("trigger") <= timedelta(0)


def test_the_same_batch_gives_the_same_entries_and_a_second_file_replaces_the_first():
    one, two = (events(made(serve=serve, sequence=number)[0]) for number, serve in enumerate(("2027-03-28T18:00", "2027-03-29T18:00")))
    uids = [str(entry["uid"]) for entry in one]
    assert len(set(uids)) == len(uids) and {str(entry["uid"]) for entry in two} == set(uids)
    assert {entry["sequence"] for entry in one} == {0} and {entry["sequence"] for entry in two} == {1}
    assert made()[0] == made()[0]


@pytest.mark.parametrize("title", ["Loaf with 20 g curing salt", "5,5g cure", "2 oz of it", "x\r\nBEGIN:VEVENT\r\nUID:1", "a;b,c\\n", "", "ü" * 200, "\u202e\x00\ud800"])
def test_no_title_brings_a_weight_or_a_line_of_its_own(title):
    text, found = made(title=title)
    read = events(text)
    assert len(read) == len(found.events)
    for entry in read:
        for key in ("summary", "description"):
            assert not any(unit in str(entry[key]) for unit in (" g ", "5g", " g curing", " oz"))


def test_a_piece_named_with_a_weight_brings_none():
    text, _ = made(Work("ground", "held", ("pork",), "hot", (Piece("20 g cure", *[Range(60, 60, 60)]), Piece("5 g", Range(90, 90, 90)))))
    assert "20 g" not in text.replace("\r\n ", "") and "5 g" not in text.replace("\r\n ", "")


@settings(deadline=None)
@given(st.text(st.characters(codec="utf-8"), max_size=200))
def test_any_text_survives_escaping_and_folding(text):
    line = fold("X-A:" + escape(text))
    assert all(len(part) <= 75 for part in line.encode("utf-8").split(b"\r\n"))
    parsed = icalendar.Calendar.from_ical("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTAMP:20270101T000000Z\r\n" + fold("SUMMARY:" + escape(text)) + "END:VEVENT\r\nEND:VCALENDAR\r\n")
    read = str(parsed.walk("VEVENT")[0]["summary"])
    expected = "".join(char for char in text.replace("\r\n", "\n").replace("\r", "\n") if char == "\n" or char.isprintable())
    assert read == expected


@pytest.mark.parametrize("key, sequence", [("", 0), ("A", 0), ("a b", 0), ("a\r\nX:1", 0), ("a", -1), ("a", 10_000)])
def test_a_bad_key_or_sequence_is_an_error(key, sequence):
    with pytest.raises(ValueError):
        calendar(made()[1], PARIS, "x", key, STAMP, sequence)


def test_every_event_has_words():
    seen = set()
    for work in (WORK, CURED, Work("brine", "held", ("beef",), "hot", PIECES, cure=(5, 7), mix=10, rest=20), Work("injected", "held", ("pork",), "cold", PIECES, cure=(1, 3), mix=10, fill=20)):
        text, found = made(work)
        assert all(str(entry["summary"]) and str(entry["description"]) for entry in events(text))
        seen |= {event.id for event in found.events}
    assert seen == set(EVENTS)
