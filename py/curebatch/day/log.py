"""The log: what was really weighed, read and seen, beside the card it was made under.

A log is plain data. It keeps the card's link, what was typed, the edition of the rules and
the build, and the weights as the card had them: a later version may warn, but what was
weighed then stays what it was. Numbers stay the texts that were typed.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable

from ..fields import MASS
from ..intake.faults import Fault, fault
from ..intake.heat import read_temperature
from ..intake.ingredients import MOST_NAME
from ..intake.numbers import Misread
from ..intake.signs import TURNING
from ..intake.units import read_amount
from ..messages import VERDICTS
from .kept import DATE, REF, Keys, is_id, parse
from .steps import READINGS

SCHEMA = 1
MOST = 500_000  # characters of one log
LONGEST_LINK = 8000
WHAT = (*READINGS, "room")
_KEYS = ("schema", "kind", "id", "begun", "zone", "recipe", "title", "link", "inputs", "rules_edition", "build", "verdict", "amounts", "weighed", "readings", "ticks", "notes", "times", "next_time")
_REQUIRED = ("schema", "kind", "id", "begun", "recipe", "rules_edition", "build")
_AMOUNT = ("id", "name", "role", "text")
_TICK = re.compile(r"[a-z][a-z0-9.-]{0,63}")


def begin(id: str, begun: str, card: dict, link: str, inputs: dict[str, str], build: str, zone: str = "") -> dict:
    """A new log for a card.

    id: of the log, small letters, digits and dashes; begun: an instant in UTC; card: as ``card.make`` gives it; link:
    the card link; inputs: texts by the keys of the form; build: of the page; zone: its name.
    Returns the log; ``read`` takes what ``write`` makes of it.
    """
    amounts = [{"id": row["id"], "name": row["name"], "role": row["role"], "text": row["weigh"]["text"]} for row in card["amounts"]]
    return {
        "schema": SCHEMA, "kind": "log", "id": id, "begun": begun, "zone": zone, "recipe": card["recipe"], "title": card["title"], "link": link, "inputs": dict(inputs),
        "rules_edition": card["rules_edition"], "build": build, "verdict": card["verdict"], "amounts": amounts, "weighed": {}, "readings": [], "ticks": [], "notes": [], "times": {}, "next_time": "",
    }


def write(log: dict) -> str:
    """A log as JSON text, its keys in their order."""
    return json.dumps({key: log[key] for key in _KEYS}, ensure_ascii=False, indent=1)


def read(text: object) -> tuple[dict | None, list[Fault]]:
    """A log from JSON text, at most MOST characters.

    Returns (log, []) or (None, every fault found). A newer schema is one fault of its own.
    """
    given, faults = parse(text, MOST, "log")
    return (None, faults) if given is None else from_data(given)


def from_data(given: dict) -> tuple[dict | None, list[Fault]]:
    """A log from plain data, such as a part of a backup; see ``read``."""
    schema = given.get("schema")
    if type(schema) is int and schema > SCHEMA:
        return None, [fault("log", schema, "kept_newer")]
    keys = Keys("log")
    if type(schema) is not int or schema != SCHEMA:
        keys.wrong("schema", schema, str(SCHEMA))
    if given.get("kind") != "log":
        keys.wrong("kind", given.get("kind"), "log")
    keys.known(given, "", _KEYS, _REQUIRED)
    log = {
        "schema": SCHEMA, "kind": "log", "id": _identity(keys, given), "begun": _time(keys, given.get("begun"), "begun"), "zone": keys.text(given, "", "zone", 60),
        "recipe": keys.text(given, "", "recipe", 60, REF, "pistachio-pork-loaf.1"), "title": keys.text(given, "", "title"), "link": keys.text(given, "", "link", LONGEST_LINK),
        "inputs": keys.entries(given, "", "inputs"), "rules_edition": keys.text(given, "", "rules_edition", 20, DATE, "2026-11-25"), "build": keys.text(given, "", "build", 100),
        "verdict": _verdict(keys, given), "amounts": _amounts(keys, given),
    }
    log |= _what_was_done(keys, given, {row["id"] for row in log["amounts"]})
    return (None, keys.faults) if keys.faults else (log, [])


def _identity(keys: Keys, given: dict) -> str:
    value = given.get("id")
    if not isinstance(value, str) or not is_id(value):
        keys.wrong("id", value, "batch-2027-03-28")
        return ""
    return value


def _time(keys: Keys, value: object, where: str) -> str:
    return value if keys.instant(value, where) is not None else ""


def _verdict(keys: Keys, given: dict) -> str:
    value = given.get("verdict", "")
    if value not in ("", *VERDICTS):
        keys.wrong("verdict", value, ", ".join(VERDICTS))
        return ""
    return value


def _amounts(keys: Keys, given: dict) -> list[dict]:
    found: list[dict] = []
    for where, row in keys.rows(given, "", "amounts"):
        keys.known(row, where, _AMOUNT, _AMOUNT)
        one = {key: keys.text(row, where, key, MOST_NAME) for key in _AMOUNT}
        if not is_id(one["id"].replace("_", "-")) or one["id"] in {other["id"] for other in found}:
            keys.wrong(f"{where}id", one["id"], "pork-shoulder")
        if TURNING.search(one["name"]):
            # In a sentence beside a weight it would turn the weight's digits round.
            keys.wrong(f"{where}name", one["name"], "Pork shoulder")
        _mass(keys, one["text"], f"{where}text")
        found.append(one)
    return found


def _mass(keys: Keys, text: str, where: str) -> None:
    try:
        read_amount(text, "mass", (*MASS, "mg"))
    except Misread:
        keys.wrong(where, text, "5.5 g")


def _what_was_done(keys: Keys, given: dict, lines: set[str]) -> dict:
    weighed = keys.texts(given, "", "weighed", lambda one: one in lines, "an id of the amounts", 60)
    for name, text in weighed.items():
        _mass(keys, text, f"weighed.{name}")
    readings = []
    for where, row in keys.rows(given, "", "readings"):
        keys.known(row, where, ("at", "what", "piece", "text"), ("at", "what", "text"))
        what = row.get("what")
        if what not in WHAT:
            keys.wrong(f"{where}what", what, ", ".join(WHAT))
        text = keys.text(row, where, "text", 60)
        if what == "weight":
            _mass(keys, text, f"{where}text")
        else:
            _temperature(keys, text, f"{where}text")
        readings.append({"at": _time(keys, row.get("at"), f"{where}at"), "what": what, "piece": keys.text(row, where, "piece", MOST_NAME), "text": text})
    ticks = []
    for where, row in keys.rows(given, "", "ticks"):
        keys.known(row, where, ("at", "step"), ("at", "step"))
        ticks.append({"at": _time(keys, row.get("at"), f"{where}at"), "step": keys.text(row, where, "step", 64, _TICK, "step-1")})
    notes = []
    for where, row in keys.rows(given, "", "notes"):
        keys.known(row, where, ("at", "text"), ("at", "text"))
        notes.append({"at": _time(keys, row.get("at"), f"{where}at"), "text": keys.text(row, where, "text")})
    times = keys.texts(given, "", "times", lambda one: bool(_TICK.fullmatch(one.replace("_", "-"))), "an event of the plan", 60)
    for name, value in times.items():
        _time(keys, value, f"times.{name}")
    return {"weighed": weighed, "readings": readings, "ticks": ticks, "notes": notes, "times": times, "next_time": keys.text(given, "", "next_time")}


def _temperature(keys: Keys, text: str, where: str) -> None:
    try:
        read_temperature(text)
    except Misread:
        keys.wrong(where, text, "71 °C")


# ------------------------------------------------------------------ CSV

_HEAD = ("part", "name", "at", "text")
# A spreadsheet takes a cell that begins so for a formula, and an apostrophe for "this is text".
_GUARDED = ("=", "+", "-", "@", "\t", "\r", "\n", "'", "\N{FULLWIDTH EQUALS SIGN}", "\N{FULLWIDTH PLUS SIGN}", "\N{FULLWIDTH HYPHEN-MINUS}", "\N{FULLWIDTH COMMERCIAL AT}")
_ONE = ("schema", "kind", "id", "begun", "zone", "recipe", "title", "link", "rules_edition", "build", "verdict", "next_time")


def guard(text: str) -> str:
    """A cell that no spreadsheet takes for a formula: an apostrophe before what would be one."""
    return f"'{text}" if text.startswith(_GUARDED) else text


def unguard(text: str) -> str:
    """What ``guard`` was given; lines ended as a spreadsheet ends them are ended as ours."""
    return (text[1:] if text.startswith("'") else text).replace("\r\n", "\n")


def write_csv(log: dict) -> str:
    """A log as CSV: a row of (part, name, at, text) for each thing, lines ended as RFC 4180 has them."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(_HEAD)
    writer.writerows([guard(cell) for cell in row] for row in _rows(log))
    return out.getvalue()


def _rows(log: dict) -> Iterable[tuple[str, str, str, str]]:
    for key in _ONE:
        yield "log", key, "", str(log[key])
    for key, text in log["inputs"].items():
        yield "input", key, "", text
    for row in log["amounts"]:
        yield "amount", row["id"], row["role"], row["text"]
        yield "amount_name", row["id"], "", row["name"]
    for key, text in log["weighed"].items():
        yield "weighed", key, "", text
    for row in log["readings"]:
        yield f"reading_{row['what']}", row["piece"], row["at"], row["text"]
    for row in log["ticks"]:
        yield "tick", row["step"], row["at"], ""
    for row in log["notes"]:
        yield "note", "", row["at"], row["text"]
    for key, at in log["times"].items():
        yield "time", key, at, ""


def read_csv(text: object) -> tuple[dict | None, list[Fault]]:
    """A log from the CSV that ``write_csv`` makes, also as a spreadsheet saves it again with semicolons.

    text: at most MOST characters. Returns (log, []) or (None, every fault found).
    """
    if not isinstance(text, str) or len(text) > MOST:
        return None, [fault("log", "", "kept_too_long", most=str(MOST // 1000))]
    text = text.removeprefix("\ufeff")
    first = text.split("\n", 1)[0].strip("\r")
    delimiter = ";" if first.replace('"', "") == ";".join(_HEAD) else ","
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error:
        rows = []
    if not rows or tuple(rows[0]) != _HEAD:
        return None, [fault("log", first, "kept_not_csv", expected=",".join(_HEAD))]
    keys = Keys("log")
    given: dict = {"inputs": {}, "amounts": [], "weighed": {}, "readings": [], "ticks": [], "notes": [], "times": {}}
    for number, cells in enumerate(rows[1:], 2):
        if not any(cells):
            continue
        if len(cells) != len(_HEAD) or not _take(given, *map(unguard, cells)):
            keys.wrong(f"line {number}", ", ".join(cells), ",".join(_HEAD))
    log, faults = from_data(given)
    keys.add(faults)
    return (None, keys.faults) if keys.faults else (log, [])


def _take(given: dict, part: str, name: str, at: str, text: str) -> bool:
    """One row into the data of a log; False for one that does not belong, or comes twice."""
    if part == "log" and name in _ONE and name not in given:
        given[name] = int(text) if name == "schema" and re.fullmatch("[0-9]{1,4}", text) else text
    elif part in ("input", "weighed", "time"):
        table = given[{"input": "inputs", "weighed": "weighed", "time": "times"}[part]]
        if name in table:
            return False
        table[name] = at if part == "time" else text
    elif part == "amount":
        given["amounts"].append({"id": name, "name": "", "role": at, "text": text})
    elif part == "amount_name":
        named = [row for row in given["amounts"] if row["id"] == name]
        if not named:
            return False
        named[0]["name"] = text
    elif part.startswith("reading_"):
        given["readings"].append({"at": at, "what": part.removeprefix("reading_"), "piece": name, "text": text})
    elif part == "tick":
        given["ticks"].append({"at": at, "step": name})
    elif part == "note":
        given["notes"].append({"at": at, "text": text})
    else:
        return False
    return True


# ------------------------------------------------------------------ for paper, and for the next time


def sheet(card: dict, cards: list[dict], plan: list[dict] = ()) -> dict:
    """What a printed sheet holds for those who write by hand: rows with blanks.

    card: as ``card.make`` gives it; cards: of ``steps.cards``; plan: events of ``timetable.as_data``.
    Returns {"weighed", "times", "readings", "steps"}; each row has "blank", what is written there.
    """
    return {
        "weighed": [{"id": row["id"], "name": row["name"], "text": row["weigh"]["text"], "blank": "mass"} for row in card["amounts"]],
        "times": [{"id": event["id"], "piece": event["piece"], "number": event["number"], "wall": event["at"]["wall"], "blank": "time"} for event in plan if event["by_hand"]],
        "readings": [{"step": one["id"], "what": reading["what"], "blank": "time_and_mass" if reading["what"] == "weight" else "time_and_temperature"} for one in cards for reading in one.get("readings", ())],
        "steps": [{"id": one["id"], "number": one["number"], "text": one["text"], "blank": "tick"} for one in cards],
    }


MOST_COMMENTS = 40


def changed_copy(recipe_text: str, log: dict) -> str:
    """A recipe's text with what was noted for the next time, as comments on top; the recipe itself is not changed.

    recipe_text: a recipe file; log: with ``next_time`` and ``notes``. A line of a note can end no comment, so no note
    can bring a key of its own.
    """
    noted = [line for text in (log["next_time"], *(note["text"] for note in log["notes"])) for line in re.split(r"[\r\n\x85\u2028\u2029]+", text) if line.strip()]
    day = log["begun"][:10]
    return "".join(f"# {day}: {line.strip()}\n" for line in noted[:MOST_COMMENTS]) + recipe_text
