"""Everything a device keeps, in one file, and back again on another device.

Which packs were confirmed is not in it: a label is confirmed against the pack itself, in the
kitchen where it stands, and a file may come from anywhere.
"""

from __future__ import annotations

import json
import re

from ..intake.faults import Fault, fault
from ..intake.recipe import MOST_TEXT, read_recipe
from . import log as logs
from .kept import REF, Keys, parse

SCHEMA = 2  # 1 had no name for the kitchen at work
MOST = 20_000_000  # characters
MOST_LOGS = 500
MOST_RECIPES = 300
_KEYS = ("schema", "kind", "made", "build", "kitchen", "kitchen_name", "kitchens", "drafts", "logs", "recipes")
_REQUIRED = ("schema", "kind", "made", "build")
_NAME = re.compile(r"\S(?:.{0,58}\S)?")  # of a kitchen, as the cook calls it
_CONFIRMED = ("pack_check",)  # what no file can say for the cook
_PLACE = re.compile(r"[a-z0-9][a-z0-9./-]{0,100}")  # of a draft: the page it belongs to


def write(made: str, build: str, kitchen: dict[str, str], kitchens: dict[str, dict], drafts: dict[str, dict], kept_logs: list[dict], recipes: dict[str, str], kitchen_name: str = "") -> str:
    """The backup as JSON text.

    made: an instant in UTC; build: of the page; kitchen: what is typed of the kitchen in use, by the keys of the form;
    kitchen_name: what the cook calls it, "" where it has no name; kitchens: the others by their name; drafts: by page; kept_logs; recipes: TOML texts by "id.revision".
    """
    data = {"schema": SCHEMA, "kind": "backup", "made": made, "build": build, "kitchen": kitchen, "kitchen_name": kitchen_name, "kitchens": kitchens, "drafts": drafts, "logs": kept_logs, "recipes": recipes}
    return json.dumps(data, ensure_ascii=False)


def read(text: object) -> tuple[dict | None, list[Fault]]:
    """A backup from JSON text, at most MOST characters.

    Returns (data, []) or (None, every fault found, those of its logs and recipes too); nothing is restored in part.
    """
    given, faults = parse(text, MOST, "backup")
    if given is None:
        return None, faults
    schema = given.get("schema")
    if type(schema) is int and schema > SCHEMA:
        return None, [fault("backup", schema, "kept_newer")]
    keys = Keys("backup")
    if type(schema) is not int or schema < 1:
        keys.wrong("schema", schema, str(SCHEMA))
    if given.get("kind") != "backup":
        keys.wrong("kind", given.get("kind"), "backup")
    keys.known(given, "", _KEYS, _REQUIRED)
    keys.instant(given.get("made"), "made")
    data = {
        "schema": SCHEMA, "kind": "backup", "made": given.get("made"), "build": keys.text(given, "", "build", 100), "kitchen": keys.entries(given, "", "kitchen", _CONFIRMED),
        "kitchen_name": _kitchen_name(keys, given),
        "kitchens": _tables(keys, given, "kitchens", _NAME, "the name of a kitchen"), "drafts": _tables(keys, given, "drafts", _PLACE, "recipes/pistachio-pork-loaf"),
        "logs": _logs(keys, given), "recipes": _recipes(keys, given),
    }
    return (None, keys.faults) if keys.faults else (data, [])


def _kitchen_name(keys: Keys, given: dict) -> str:
    name = keys.text(given, "", "kitchen_name", 60)
    if name and not _NAME.fullmatch(name):
        keys.wrong("kitchen_name", name, "the name of a kitchen")
    return name


def _tables(keys: Keys, given: dict, key: str, form: re.Pattern, names: str) -> dict[str, dict]:
    found = {}
    tables = keys.table(given, "", key)
    for name in tables:
        if not form.fullmatch(name) or keys.plain(name, f"{key}.", 100) != name:
            keys.wrong(key, name, names)
        elif isinstance(tables[name], dict):
            found[name] = keys.entries(tables, f"{key}.", name, _CONFIRMED)
        else:
            keys.wrong(f"{key}.{name}", tables[name], "{}")
    return found


def _logs(keys: Keys, given: dict) -> list[dict]:
    found: list[dict] = []
    rows = keys.rows(given, "", "logs")
    if len(rows) > MOST_LOGS:
        keys.wrong("logs", len(rows), str(MOST_LOGS))
        return []
    seen: set[str] = set()
    for where, row in rows:
        log, faults = logs.from_data(row)
        keys.add(faults)
        if log is None:
            continue
        if log["id"] in seen:
            keys.wrong(f"{where}id", log["id"], "another id")
        seen.add(log["id"])
        found.append(log)
    return found


def _recipes(keys: Keys, given: dict) -> dict[str, str]:
    found = {}
    table = keys.table(given, "", "recipes")
    if len(table) > MOST_RECIPES:
        keys.wrong("recipes", len(table), str(MOST_RECIPES))
        return {}
    for ref, text in table.items():
        if not ref or not REF.fullmatch(ref) or not isinstance(text, str) or len(text) > MOST_TEXT:
            keys.wrong("recipes", ref, "pistachio-pork-loaf.1")
            continue
        recipe, faults = read_recipe(text, f"{ref}.toml")
        keys.add(faults)
        if recipe is not None and recipe.ref != ref:
            keys.wrong(f"recipes.{ref}", recipe.ref, ref)
        found[ref] = text
    return found
