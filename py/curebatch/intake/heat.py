"""Temperatures, times and readings of a thermometer, as a cook writes them down.

Readings are one text: entries with a semicolon, a comma and a blank, or a new line
between them, each a time and what the thermometer showed: "10:40 21 °C; 11:05 48 °C"
by the clock of one run, or "0 min 5 °C; 30 min 31 °C" in minutes. A cooling may begin
with the time at which the meat left the heat, "12:00 out". Every entry carries its
unit. Nothing is put right by guessing: a wrong entry is a fault that quotes it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ..fields import Field
from ..science import readings as science
from ..science.readings import WrongReading, WrongReadings
from ..words import say
from .faults import Fault, clip, fault, from_misread
from .numbers import Misread, plain, show, spell, tidy
from .units import Amount, from_base, in_both, read_amount, same

TEMPERATURE = ("°C", "°F")
TIME = ("min", "h")
HEAT = "kJ/kg"
KINDS = ("temperature", "difference", "time", "heat", "readings", "places", "changes")
MOST_ENTRIES = 200
MOST_PLACES = 10
_COLDEST_BATTER, _HOTTEST_BATTER = -20, 60  # °C
_NEXT_DAY = 12 * 60  # min; a clock that goes back by more has passed midnight

# A comma between two digits is a decimal sign; anywhere else it parts entries.
_BETWEEN = re.compile(r"[;\n\r]+|,(?![0-9])|(?<![0-9]),")
_CLOCK = re.compile(r"([0-9]{1,2})(?::|\.(?=[0-9]{2} ?Uhr))([0-9]{2})(?![0-9:]) ?(?:([ap])\.?m\.?(?![a-z])|Uhr(?![a-z]))? ?", re.I)
_COUNTED = re.compile(r"([0-9][0-9.,/¼½¾ ]*) ?(minutes|minuten|minute|mins|min|hours|hour|stunden|stunde|std|hr|h)\.?(?![a-z]) ?", re.I)
_OUT = re.compile(r"out( of the heat)?|(?:he)?raus|(?:heraus )?aus (?:der Hitze|dem Ofen|dem Wasser)", re.I)
# What names a day: the clock of a run tells hours alone, and nobody can say which day was meant.
_DAY = re.compile(
    r"\b(?:next|following|same|other) (?:day|morning|afternoon|evening|night)|\bto(?:day|morrow|night)\b|\byesterday\b|\bday [0-9]|\bdays?\b|\b(?:mon|tues|wednes|thurs|fri|satur|sun)day\b"
    r"|\b(?:nächst|folgend|selb|ander)\w* (?:tag|morgen|vormittag|nachmittag|mittag|abend|nacht)|\b(?:heute|morgen|gestern|übermorgen|tage?s?|folgetag|tags darauf)\b"
    r"|\b(?:mon|diens|donners|frei|sams|sonn)tag\b|\bmittwoch\b|[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}",
    re.I,
)
_MINUS = re.compile("[-\N{MINUS SIGN}](?=[0-9.,])")


@dataclass(frozen=True)
class Readings:
    """Readings of one run. ``rows`` are (minute, degC) from the first entry on; ``out`` is the minute
    at which the meat left the heat, None where it is not stated; ``clock`` whether they were
    written by the clock, ``fahrenheit`` whether in degF; ``since`` is the minute that the first entry
    names, where they count minutes."""

    rows: tuple[science.Reading, ...]
    out: float | None
    text: str
    clock: bool = False
    fahrenheit: bool = False
    since: float = 0.0


@dataclass(frozen=True)
class Places:
    """What a thermometer showed in several places of one batter [degC]."""

    values: tuple[float, ...]
    text: str
    fahrenheit: bool = False


@dataclass(frozen=True)
class Changes:
    """To what the oven was set on the way: ``rows`` are (minute from going in, degC)."""

    rows: tuple[tuple[float, float], ...]
    text: str


def read_temperature(text: str) -> Amount:
    """A temperature with its unit; below zero with a minus sign right before the number.

    Returns an Amount in degC. Raises Misread.
    """
    text, again = in_both(tidy(text))
    if again:
        return same(read_temperature(text), read_temperature(again))
    minus = _MINUS.match(text)
    amount = read_amount(text[minus.end():] if minus else text, "temperature", TEMPERATURE)
    if not minus:
        return amount
    number = -from_base(amount.value, amount.unit)
    value = number if amount.unit == "°C" else (number - 32) * Fraction(5, 9)
    return Amount(value, value, amount.unit, f"-{amount.text}")


def _read_difference(text: str) -> Amount:
    """How far a thermometer may be off [K]: a degree F is five ninths of one."""
    amount = read_amount(text, "temperature", TEMPERATURE)
    number = from_base(amount.value, amount.unit)
    value = number * (Fraction(5, 9) if amount.unit == "°F" else 1)
    return Amount(value, value, amount.unit, amount.text)


def _read_heat(text: str) -> Amount:
    """Heat per kilo of batter [kJ/kg], one figure or a range."""
    spelled = spell(text)
    if len(spelled.parts) > 1 or len(spelled.top or ()) > 1:
        raise Misread("not_a_number")
    low, unit = spelled.parts[0]
    high, top_unit = spelled.top[0] if spelled.top else (low, unit)
    for letters in (top_unit, unit or top_unit):
        if not letters:
            raise Misread("bare_number", units=HEAT)
        if letters.lower().replace(" ", "") != HEAT.lower():
            raise Misread("unknown_unit", unit=letters, units=HEAT)
    low, high = sorted((low, high))
    return Amount(low, high, HEAT, f"{plain(low)} {HEAT}" if low == high else f"{plain(low)}-{plain(high)} {HEAT}")


def read(field: Field, text: str) -> tuple[Amount | Readings | Places | Changes | None, Fault | None]:
    """Read one entry of the kinds in KINDS.

    field: its row of the table; text: what was typed, not empty.
    Returns (value, None) or (None, fault).
    """
    if field.kind == "readings":
        return _Run(field, text).read()
    if field.kind == "changes":
        return _Run(field, text).read_changes()
    if field.kind == "places":
        return _read_places(field, text)
    make: Callable[[str], Amount] = {
        "temperature": read_temperature, "difference": _read_difference, "heat": _read_heat,
        "time": lambda typed: read_amount(typed, "time", TIME),
    }[field.kind]
    try:
        amount = make(text)
    except Misread as error:
        return None, from_misread(field.key, text, error, field.example)
    if field.place:
        wrong = science.wrong_place(field.place, float(amount.value))
        return (None, place_fault(field.key, text, wrong)) if wrong else (amount, None)
    for code, bound, out in (("too_small", field.low, amount.low < field.low), ("too_large", field.high, amount.high > field.high)):
        if out:
            limit = f"{plain(bound)} {field.units[0]}"
            return None, fault(field.key, text, code, least=limit, most=limit, example=field.example)
    return amount, None


def place_fault(key: str, read: object, wrong: WrongReading) -> Fault:
    """The Fault for the temperature of a place or an ingredient that cannot be right."""
    return fault(key, read, wrong.code, place=say(f"place.{wrong.place}"), celsius=_celsius(wrong.celsius), example="4 °C")


def _celsius(value: float | None) -> str:
    return "" if value is None else f"{show(Fraction(round(value, 6)), 1)} °C"


def _split(text: str) -> list[str]:
    return [entry for part in _BETWEEN.split(text) if (entry := tidy(part))]


def _read_places(field: Field, text: str) -> tuple[Places | None, Fault | None]:
    entries = _split(text)
    if not entries:
        return None, fault(field.key, text, "empty", example=field.example)
    if len(entries) > MOST_PLACES:
        return None, fault(field.key, text, "places_too_many", most=str(MOST_PLACES))
    found, wrong = [], []
    for entry in entries:
        try:
            amount = read_temperature(entry)
        except Misread as error:
            wrong.append(from_misread(field.key, entry, error, "11 °C"))
            continue
        if not _COLDEST_BATTER <= amount.value <= _HOTTEST_BATTER:
            wrong.append(fault(field.key, entry, "batter_impossible"))
        found.append(amount)
    if wrong:
        return None, _together(field.key, wrong)
    return Places(tuple(float(one.value) for one in found), "; ".join(one.text for one in found), any(one.unit == "°F" for one in found)), None


def _together(key: str, wrong: list[Fault]) -> Fault:
    """One Fault that says all that is wrong with the entries of a field."""
    texts = list(dict.fromkeys(one.text for one in wrong))
    told = texts[:5] + ([say("fault.readings_more", more=str(len(texts) - 5))] if len(texts) > 5 else [])
    return Fault(key, wrong[0].read, wrong[0].code, " ".join(told))


class _Wrong(Exception):
    """One entry that cannot be read: a code of the faults, and what fills its words."""

    def __init__(self, code: str, **values: str):
        super().__init__(code)
        self.code, self.values = code, values


@dataclass(frozen=True)
class _Time:
    minute: Fraction
    clock: bool
    text: str


def _clock(found: re.Match[str]) -> _Time:
    hour, minute, half = int(found[1]), int(found[2]), (found[3] or "").lower()
    if minute > 59 or hour > 23 or (half and not 1 <= hour <= 12):
        raise _Wrong("reading_clock")
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return _Time(Fraction(60 * hour + minute), True, f"{hour}:{minute:02}")


class _Run:
    """The entries of one field of readings."""

    def __init__(self, field: Field, text: str):
        self.field, self.typed = field, text
        self.entries = _split(text)
        self.wrong: list[Fault] = []

    def _fault(self, entry: str, code: str, **values: str) -> None:
        self.wrong.append(fault(self.field.key, entry, code, **values))

    def read(self) -> tuple[Readings | None, Fault | None]:
        if not self.entries:
            return None, fault(self.field.key, self.typed, "reading_none")
        if len(self.entries) > MOST_ENTRIES:
            return None, fault(self.field.key, self.typed, "reading_too_many", limit=str(MOST_ENTRIES))
        times, degrees = [], []
        for number, entry in enumerate(self.entries):
            try:
                time, amount = self._entry(entry, number)
                times.append(time)
                degrees.append(amount)
            except _Wrong as error:
                self._fault(entry, error.code, **error.values)
            except Misread as error:
                if error.code == "negative":  # a dash between time and temperature is no minus sign
                    self._fault(entry, "reading_not_a_number")
                else:
                    self.wrong.append(from_misread(self.field.key, entry, error, "11:05 48 °C"))
        if not self.wrong and len({time.clock for time in times}) > 1:
            self._fault(next(e for e, t in zip(self.entries, times, strict=True) if t.clock != times[0].clock), "readings_mixed")
        if self.wrong:
            return None, _together(self.field.key, self.wrong)
        return self._checked(times, degrees)

    def read_changes(self) -> tuple[Changes | None, Fault | None]:
        """The entries as changes of the oven's setting, in minutes from going in."""
        if not self.entries:
            return None, fault(self.field.key, self.typed, "reading_none")
        found: list[tuple[_Time, Amount]] = []
        for number, entry in enumerate(self.entries[:MOST_PLACES]):
            try:
                time, amount = self._entry(entry, number)
                if time.clock:
                    # Nothing says at which hour of the clock it went in.
                    raise _Wrong("changes_by_clock", example=self.field.example)
                if found and time.minute <= found[-1][0].minute:
                    raise _Wrong("reading_out_of_order", limit=clip(found[-1][0].text))
                found.append((time, amount))
            except _Wrong as error:
                self._fault(entry, error.code, **error.values)
            except Misread as error:
                self.wrong.append(from_misread(self.field.key, entry, error, self.field.example))
        if len(self.entries) > MOST_PLACES:
            self._fault(self.typed, "places_too_many", most=str(MOST_PLACES))
        if self.wrong:
            return None, _together(self.field.key, self.wrong)
        return Changes(tuple((float(time.minute), float(amount.value)) for time, amount in found), "; ".join(f"{time.text} {amount.text}" for time, amount in found)), None

    def _entry(self, entry: str, number: int) -> tuple[_Time, Amount | None]:
        """(time, temperature); no temperature for the time at which the meat left the heat."""
        if entry.startswith("-"):
            raise _Wrong("reading_not_a_number")
        if _DAY.search(entry):
            raise _Wrong("reading_day")
        clock = _CLOCK.match(entry)
        counted = None if clock else _COUNTED.match(entry)
        if clock:
            time, rest = _clock(clock), entry[clock.end():]
        elif counted:
            amount = read_amount(f"{counted[1].strip()} {counted[2]}", "time", TIME)
            time, rest = _Time(amount.value, False, amount.text), entry[counted.end():]
        else:
            raise _Wrong("reading_not_a_number")
        if self.field.key == "cooling_readings" and _OUT.fullmatch(rest):
            if number:
                raise _Wrong("reading_out_first")
            return time, None
        if not rest:
            raise _Wrong("reading_not_a_number")
        return time, read_temperature(rest)

    def _checked(self, times: list[_Time], degrees: list[Amount | None]) -> tuple[Readings | None, Fault | None]:
        minutes = _minutes(times)
        first = minutes[0]
        out = float(minutes[0] - first) if degrees[0] is None else None
        begin = 1 if out is not None else 0
        rows = [(float(minute - first), float(amount.value)) for minute, amount in zip(minutes[begin:], degrees[begin:], strict=True)]
        entries = self.entries[begin:]
        try:
            checked = science.checked(rows, not_before=out)
        except WrongReadings as error:
            for wrong in error.wrong:
                self._say(entries, wrong)
            return None, _together(self.field.key, self.wrong)
        text = "; ".join(f"{time.text} {amount.text if amount else 'out'}" for time, amount in zip(times, degrees, strict=True))
        return Readings(checked, out, text, times[0].clock, any(amount is not None and amount.unit == "°F" for amount in degrees), 0.0 if times[0].clock else float(first)), None

    def _say(self, entries: list[str], wrong: WrongReading) -> None:
        entry = entries[wrong.index] if wrong.index < len(entries) else self.entries[0]
        before = entries[wrong.index - 1] if wrong.index else self.entries[0]
        self._fault(entry, wrong.code, limit=clip(before), celsius=_celsius(wrong.celsius))


def _minutes(times: list[_Time]) -> list[Fraction]:
    """The times in minutes of one run; a clock that goes back by more than half a day has passed midnight."""
    found: list[Fraction] = []
    days = 0
    for time in times:
        minute = time.minute + days
        if time.clock and found and found[-1] - minute > _NEXT_DAY:
            days += 24 * 60
            minute += 24 * 60
        found.append(minute)
    return found
