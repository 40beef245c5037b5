"""Logs and backups broken or made by an enemy: whole or not at all, and nothing that is taken breaks the page of the day."""

from __future__ import annotations

import json

import pytest
from helpers.attacks import AT, BARBS, KITCHEN, Slowest, attacked, broken, log_of
from helpers.kitchens import LOAF, RECIPES, fill_shelf
from hypothesis import given
from hypothesis import strategies as st

import curebatch
from curebatch.day import backup, log
from curebatch.intake.nesting import MOST_LEVELS

LOG = log_of()
BACKUP = json.loads(backup.write(AT, "build-1", KITCHEN, {"Club": {"pack": "0.5 %"}}, {f"recipes/{LOAF}": {"meat": "2 kg"}}, [LOG], {LOAF: (RECIPES / f"{LOAF}.toml").read_text(encoding="utf-8")}))
SEEDS = {"json": [log.write(LOG), json.dumps(LOG)], "csv": [log.write_csv(LOG), log.write_csv(LOG).replace(",", ";")], "backup": [json.dumps(BACKUP), json.dumps(BACKUP, ensure_ascii=False, indent=1)]}
READ = {"json": log.read, "csv": log.read_csv, "backup": backup.read}
SLOWEST = {kind: Slowest(f"{kind} files") for kind in READ}
json_files, csv_files, backup_files = SLOWEST.values()
values = Slowest("logs of other values on the page of the day")
fill_shelf()


def judge(kind: str, text: str) -> dict | None:
    found, faults = SLOWEST[kind].run(READ[kind], text)
    assert (found is None) == bool(faults)
    for fault in faults:
        assert fault.text and len(fault.text) < 2000 and all(sign.isprintable() for sign in fault.text)
    if found is not None and kind != "backup":
        assert log.read(log.write(found)) == (found, []) and log.read_csv(log.write_csv(found)) == (found, [])
    elif found is not None:
        assert backup.read(json.dumps(found)) == (found, [])
    return found


@pytest.mark.parametrize("kind", READ)
def test_the_seeds_are_sound(kind):
    assert all(judge(kind, text) for text in SEEDS[kind])


@attacked
@given(broken(SEEDS["json"]))
def test_a_broken_log_is_whole_or_nothing(text):
    judge("json", text)


@attacked
@given(broken(SEEDS["csv"]))
def test_a_broken_table_is_whole_or_nothing(text):
    judge("csv", text)


@attacked
@given(broken(SEEDS["backup"]))
def test_a_broken_backup_is_whole_or_nothing(text):
    judge("backup", text)


_ANY = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**20) | st.floats(allow_nan=False) | st.sampled_from((*BARBS, AT, "5.4 g", "70 °C", "core", "curing_salt", "shoulder", LOAF)),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(("at", "text", "what", "piece", "id", "name", "role", "step", "pack", "shoulder", "__proto__", "")), inner, max_size=4), max_leaves=6,
)  # fmt: skip


def _places(data: object, before: tuple = ()) -> list[tuple]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [place for key, value in inner for place in ((*before, key), *_places(value, (*before, key)))]


@st.composite
def other_values(draw, whole: dict) -> dict:
    data = json.loads(json.dumps(whole))
    for _ in range(draw(st.integers(1, 3))):
        *way, key = draw(st.sampled_from(_places(data)))
        into = data
        for part in way:
            into = into[part]
        old = into[key]
        into[key] = draw(broken((old,), most=2)) if isinstance(old, str) and draw(st.booleans()) else draw(_ANY)
    return data


def day(**asked) -> dict:
    given = {"page": "recipe", "recipe": LOAF, "fields": KITCHEN, "confirmed_packs": ["6.25 %"], "day": asked}
    return json.loads(curebatch.answer(json.dumps({"id": 1, "build": "b", "input": given, "want": ["day"]})))


@attacked
@given(other_values(LOG))
def test_a_log_of_other_values_never_breaks_the_day(data):
    text = json.dumps(data)
    found = judge("json", text)
    came = values.run(lambda _: day(do="import", text=text), text)["day"]
    assert ("log" in came) == (found is not None) and bool(came.get("faults")) == (found is None)
    for asked in ({"do": "judge"}, {"do": "export", "form": "csv"}, {"do": "weigh", "id": "curing_salt", "text": "500 g"}, {"do": "mishap", "kind": "doubled", "stage": "raw"}):
        came = values.run(lambda _, asked=asked: day(log=found or data, **asked), text)["day"]
        assert bool(came.get("faults")) or found is not None
        if asked["do"] == "weigh" and found is not None and "judged" in came and "curing_salt" in {row["role"] for row in found["amounts"]}:
            # Half a kilo of curing salt in three kilos is never well, whatever the file made of the batch.
            assert came["judged"]["verdict"] != "fine", came


@attacked
@given(other_values(BACKUP))
def test_a_backup_of_other_values_is_whole_or_nothing(data):
    found = judge("backup", json.dumps(data))
    came = day(do="restore", text=json.dumps(data))["day"]
    assert ("device" in came) == (found is not None)
    if found:
        device = came["device"]
        assert not [fields for fields in (device["kitchen"], *device["kitchens"].values(), *device["drafts"].values()) if "pack_check" in fields]


@pytest.mark.parametrize("part", ["kitchen", "kitchens", "drafts"])
def test_no_backup_confirms_a_label(part):
    """A label is confirmed against the pack itself, in the kitchen where it stands; a file may come from anybody."""
    doubtful = {"pack": "0.62 %", "pack_check": "0.62 %"}
    data = BACKUP | {part: doubtful if part == "kitchen" else {f"recipes/{LOAF}": doubtful}}
    came = day(do="restore", text=json.dumps(data))["day"]
    assert "device" not in came and "pack_check" in came["faults"][0]["text"]


@pytest.mark.parametrize("read", [log.read, backup.read], ids=["log", "backup"])
@pytest.mark.parametrize("text", ["[" * 100_000, '{"a":' * 50_000, '{"logs": ' + "[" * 1_000 + "]" * 1_000 + "}", '{"a": "\\"", "b": ' + "[" * 500], ids=range(4))
def test_what_nests_without_end_is_refused_before_it_is_read(read, text, monkeypatch):
    def never(*_, **__):
        raise AssertionError("the reader was asked")

    monkeypatch.setattr(json, "loads", never)
    found, faults = read(text)
    assert found is None and [fault.code for fault in faults] == ["kept_nested"] and str(MOST_LEVELS) in faults[0].text
