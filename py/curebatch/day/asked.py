"""What the page of the day asks for, one request at a time.

The page keeps a batch as it was begun: its card, steps and weights as plain data with ready
texts. Here everything that is typed on the day is read and judged. Nothing here changes a
weight of a batch that is in progress; where the program of today would weigh otherwise, it says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from fractions import Fraction

from .. import card as cards
from .. import entry
from ..batch import cure as solver
from ..batch.compounds import counted_as
from ..batch.cure import Batch, Pack
from ..fields import BY_KEY, MASS, field_of
from ..intake import heat
from ..intake.document import Document
from ..intake.entries import read_field
from ..intake.faults import Fault, fault, from_misread
from ..intake.numbers import Misread, plain, tidy
from ..intake.own import read_own
from ..intake.recipe_file import data_of
from ..intake.units import Amount, read_amount
from ..messages import DOSES
from ..rules import checks
from ..rules.raw_hold import most_minutes
from ..stages import cooling
from ..stages.told import probe_error
from ..views import html as views
from ..views.calendar import calendar
from ..words import say, shown
from . import backup, log, mishaps, planned, steps, told
from .clock import WrongTime, read_instant, read_zone
from .mishaps import Made, Mishap
from .steps import Dose
from .timetable import WrongWork

SECTIONS = ("verdict", "messages", "mixing", "cooking", "cooling")
"""The parts of a card that readings change."""
OF_A_RUN = ("batter", "readings", "cooling_readings")
"""Fields that belong to one run: a batch begins without them."""


class Refused(Exception):
    """Something typed that cannot be used: its faults."""

    def __init__(self, *faults: Fault):
        super().__init__("refused")
        self.faults = faults


def answer(given: dict, build: str = "") -> dict:
    """Answer a request of the page of the day.

    given: the input of ``entry.answer``, with ``day``: {"do": one of DONE, ...}; build: of the page.
    Returns what that gives, or {"faults": [...]}. Raises KeyError for another ``do``.
    """
    asked = given["day"]
    work = DONE[asked["do"]]
    try:
        return work(given, {**asked, "build": build})
    except Refused as refused:
        return {"faults": [one.as_dict() for one in refused.faults]}
    except WrongTime as error:
        return {"faults": [told.time_fault(error, "serve").as_dict()]}
    except WrongWork as error:
        return {"faults": [told.work_fault(error).as_dict()]}


# ------------------------------------------------------------------ the batch


def _page(given: dict) -> str:
    return "own" if given.get("page") == "own" else "recipe"


def _without_run(given: dict) -> dict:
    fields = {key: text for key, text in given["fields"].items() if key not in OF_A_RUN} if isinstance(given.get("fields"), dict) else {}
    return {**given, "fields": fields | dict.fromkeys(OF_A_RUN, "")}


def _document(given: dict) -> Document:
    reading = entry.read(_without_run(given))
    if reading.document is None or reading.faults:
        raise Refused(*reading.faults or (fault("recipe", "", "batch_not_ready"),))
    return reading.document


def _begin(given: dict, asked: dict) -> dict:
    """A batch is begun: {"log", "cards", "sheet", "texts"}; asked: {id, begun, zone}."""
    given = _without_run(given)
    reading, page = entry.read(given), _page(given)
    card = entry.card_of(reading, page)
    if card["faults"]:
        raise Refused(*reading.faults)
    if card["verdict"] not in ("ok", "caution") or not card["steps"] or reading.document is None:
        raise Refused(fault("recipe", card["verdict_text"], "batch_not_ready"))
    links = entry.links_of(reading.document, reading.file)
    link = links["card"] if len(links["card"]) <= log.LONGEST_LINK else ""
    inputs = {key: tidy(text) for key, text in reading.texts.items() if field_of(key) and isinstance(text, str) and tidy(text)}
    made, faults = log.from_data(log.begin(asked["id"], asked["begun"], card, link, inputs, asked["build"], asked["zone"]))
    if made is None:
        raise Refused(*faults)
    batch = _made(reading.document, None)
    dose = Dose(reading.document.pack_label.text, batch.batch.cure.weighed, batch.batch.cure.scale.error) if batch else None
    told_cards = told.step_texts(steps.cards(reading.document.recipe, card, dose))
    return {
        "log": made, "cards": told_cards, "sheet": log.sheet(card, told_cards), "method": card["method"], "cured": dose is not None,
        "texts": {"verdict": card["verdict_text"], "mix": card["mix_text"], "under": say("day.page.under", edition=card["rules_edition"], build=asked["build"])},
    }


def _log(asked: dict) -> dict:
    """The log that comes with a request, read as strictly as one from a file."""
    made, faults = log.from_data(asked["log"]) if isinstance(asked.get("log"), dict) else (None, [fault("log", "", "batch_not_ready")])
    if made is None:
        raise Refused(*faults)
    return made


def _mass(text: str) -> Fraction:
    return read_amount(text, "mass", (*MASS, "mg")).value


def _dose_in(made_log: dict | None) -> Fraction | None:
    """The dose of curing salt as the batch was begun [g]."""
    rows = [row for row in (made_log or {}).get("amounts", ()) if row["role"] == "curing_salt"]
    return _mass(rows[0]["text"]) if rows else None


def _made(document: Document, made_log: dict | None) -> Made | None:
    """The batch with the dose that the log has, whatever today's rules would weigh; None without a curing salt."""
    if document.state == "uncured" or document.pack is None:
        return None
    loads = cards.make(document, whole=False)["loads"]
    if loads > 1:
        document = document.load(loads)
    recipe, meat, pack, scales, ceilings = document.recipe, document.meat, document.pack, document.scales, checks.ceilings_for(document)
    dose = _dose_in(made_log)
    dose = document.grams("stated") if dose is None else dose
    try:
        batch = solver.judge_stated(recipe, meat, pack, scales, dose) if dose is not None else solver.solve(recipe, meat, pack, scales, ceilings).batch
    except solver.Impossible:
        return None
    return Made(recipe, meat, scales, ceilings, batch) if batch is not None and batch.cure is not None else None


# ------------------------------------------------------------------ what was weighed


def _weigh(given: dict, asked: dict) -> dict:
    """One weight that was really taken: {"text", "judged"}; asked: {log, id, text, stage}."""
    made_log = _log(asked)
    row = next((row for row in made_log["amounts"] if row["id"] == asked["id"]), None)
    if row is None:
        raise Refused(fault("weighed", asked["id"], "batch_not_ready"))
    try:
        amount = read_amount(asked["text"], "mass", MASS)
    except Misread as error:
        raise Refused(from_misread("weighed", asked["text"], error, row["text"])) from None
    weighed = {**made_log["weighed"], row["id"]: amount.text}
    return {"text": shown(amount.text), "judged": _judge_weight(_document(given), {**made_log, "weighed": weighed}, row, amount, asked.get("stage", "apart"))}


def _inside(made_log: dict) -> dict[str, Fraction]:
    cure = {row["id"] for row in made_log["amounts"] if row["role"] == "curing_salt"}
    return {id: _mass(text) for id, text in made_log["weighed"].items() if id not in cure}


def _judge_weight(document: Document, made_log: dict, row: dict, amount: Amount, stage: str) -> dict:
    made = _made(document, made_log)
    is_cure = row["role"] == "curing_salt"
    values = {"name": row["name"], "weighed": amount.text, "planned": row["text"]}
    same = amount.value == _mass(row["text"])
    if made is None:
        return _said("fine", "as_card" if same else "written_down", **values)
    cure = next((made_log["weighed"][one["id"]] for one in made_log["amounts"] if one["role"] == "curing_salt" and one["id"] in made_log["weighed"]), "")
    dose = _mass(cure) if cure else made.batch.cure.weighed
    if is_cure and (held := _held(made, made_log)):
        return _said("mend", "held", text=held)
    if is_cure:
        return told.mishap_data(_allowed(mishaps.judge_dose(made, dose, stage, inside=_inside(made_log))), made.recipe.method)
    bowl, _, over = mishaps.as_weighed(made, dose, _inside(made_log))
    if over or _held(made, made_log):
        return _said("mend", "over", **values)
    if _weak(made, bowl):
        return _said("mend", "weak", **values)
    return _said("fine", "as_card" if same else "written_down", **values)


def _weak(made: Made, bowl: Batch) -> bool:
    targets = made.recipe.targets
    return counted_as(bowl.nitrite(targets.nitrite_per, "high"), targets.nitrite_as) < targets.nitrite.value * mishaps.WEAK


def _held(made: Made | None, made_log: dict) -> str:
    """Why the card's dose may not go into what was weighed, all of it together; "" where it may."""
    inside = _inside(made_log)
    if made is None or not inside:
        return ""
    _, values, over = mishaps.as_weighed(made, made.batch.cure.weighed, inside)
    return told.weighed_over(values, made.recipe.method) if over else ""


def _weighed_wrong(made: Made | None, made_log: dict) -> list[str]:
    """What is wrong with all that was weighed, together."""
    if made is None or not made_log["weighed"]:
        return []
    if held := _held(made, made_log):
        return [held]
    cure = [_mass(made_log["weighed"][row["id"]]) for row in made_log["amounts"] if row["role"] == "curing_salt" and row["id"] in made_log["weighed"]]
    dose = cure[0] if cure else made.batch.cure.weighed
    bowl, _, over = mishaps.as_weighed(made, dose, _inside(made_log))
    if over:
        return [told.mishap_data(mishaps.judge_dose(made, dose, "apart", inside=_inside(made_log)), made.recipe.method)["text"]]
    return [say("day.weigh.weak_together")] if _weak(made, bowl) else []


def _held_cards(document: Document, held: str) -> dict | None:
    """The cards that name grams of curing salt, and what they say instead: {"text", "cards"}; None where they may."""
    named = [f"step-{number}" for number, text in enumerate(document.recipe.steps, 1) if "{curing_salt}" in text]
    return {"text": held, "cards": ["read-back", *named]} if held else None


def _said(verdict: str, code: str, text: str = "", **values: str) -> dict:
    return {"code": code, "verdict": verdict, "verdict_text": say(f"mishap.verdict.{verdict}"), "text": text or say(f"day.weigh.{code}", **values), "todo": [], "more": [], "sources": []}


def _allowed(mishap: Mishap) -> Mishap:
    """Only more of everything else mends a dose: the rest of a short one is not weighed after it."""
    if mishap.code != "dose_add_rest":
        return mishap
    return replace(mishap, code="dose_weak", verdict="fine", todo=("as_uncured_now", "write_down"), more=(), batch=None)


# ------------------------------------------------------------------ readings


def _read(given: dict, asked: dict) -> dict:
    """One reading at its step: {"reading", "sections", "status"}; asked: {log, what, text, at, piece}."""
    made_log, what, text = _log(asked), asked["what"], str(asked["text"])
    if what == "weight":
        try:
            text = shown(read_amount(text, "mass", MASS).text)
        except Misread as error:
            raise Refused(from_misread("reading", text, error, steps.EXAMPLES.get(what, "9 °C"))) from None
    else:
        try:
            text = shown(heat.read_temperature(text).text)
        except Misread as error:
            raise Refused(from_misread("reading", text, error, steps.EXAMPLES.get(what, "9 °C"))) from None
    reading = {"at": asked["at"], "what": what, "piece": str(asked.get("piece", "")), "text": text}
    with_it = {**made_log, "readings": [*made_log["readings"], reading]}
    checked, faults = log.from_data(with_it)
    if checked is None:
        raise Refused(*faults)
    field = steps.FIELDS.get(what, "")
    if field:
        _, wrong = read_field(BY_KEY[field], _run(checked, what))
        if wrong:
            raise Refused(replace(wrong, field="reading"))
    judged = _judged(given, checked)
    if what == "batter" and (about := _about_batter(given, text)):
        code, said = about
        judged |= {"status": " ".join([said, *([judged["status"]] if judged["verdict"] == "stop" else [])]), "tone": "caution" if code == "batter_too_warm" else ""}
    return {"reading": reading, **judged}


def _about_batter(given: dict, text: str) -> tuple[str, str] | None:
    """What one reading of the batter comes to. It never decides the card's verdict, so that of the card says
    nothing of it; and what was read before it was chilled is another place in the bowl to the card, and none here."""
    card = entry.card_of(entry.read(_with_fields(given, batter=text)), _page(given))
    said = (card["mixing"] or {}).get("messages", ())
    return next(((row["code"], row["text"]) for row in said if row["code"] in ("batter_too_warm", "batter_cold_enough")), None)


def _with_fields(given: dict, **fields: str) -> dict:
    given = _without_run(given)
    return {**given, "fields": {**given["fields"], **fields}}


def _minutes_since(first: datetime, at: str) -> str:
    seconds = Fraction(str((read_instant(at) - first).total_seconds()))
    return plain(round(seconds / 60, 2))


def _run(made_log: dict, what: str) -> str:
    """The readings of one kind as their field has them; in minutes, so that no change of the clocks touches them."""
    rows = sorted((row for row in made_log["readings"] if row["what"] == what), key=lambda row: read_instant(row["at"]))
    if what == "batter":
        return "; ".join(row["text"] for row in rows)
    out = made_log["times"].get("out", "") if what == "cooling" and rows else ""
    begun = [*([out] if out else []), *(row["at"] for row in rows)]
    if not rows:
        return ""
    first = min(map(read_instant, begun))
    entries = [f"{_minutes_since(first, row['at'])} min {row['text']}" for row in rows]
    return "; ".join([*([f"{_minutes_since(first, out)} min out"] if out else []), *entries])


def _with_run(given: dict, made_log: dict) -> dict:
    """The batch's input with what was read and weighed so far."""
    fields = dict(_without_run(given)["fields"])
    for what, field in steps.FIELDS.items():
        # Of a whole cut nobody asks for the batter, and a field that does not belong is a fault.
        if field and (text := _run(made_log, what)):
            fields[field] = text
    dose = _dose_in(made_log)
    cure = [made_log["weighed"][row["id"]] for row in made_log["amounts"] if row["role"] == "curing_salt" and row["id"] in made_log["weighed"]]
    if dose is not None and cure and _mass(cure[0]) != dose:
        fields["stated"] = cure[0]
    return {**given, "fields": fields}


def _judged(given: dict, made_log: dict) -> dict:
    reading = entry.read(_with_run(given, made_log))
    if reading.faults:
        raise Refused(*reading.faults)
    card = entry.card_of(reading, _page(given))
    wrong = _held(_made(_document(given), made_log), made_log)
    if wrong:
        # The card judges its own weights: no verdict is milder than what was really weighed.
        card = {**card, "verdict": "stop", "verdict_text": wrong, "verdicts": {**card["verdicts"], "dose": "stop"}, "messages": [row for row in card["messages"] if row["code"] not in DOSES]}
    parts = [part for part in ("cooking", "cooling") if any(piece["measured"] for piece in card[part])]
    measured = [say(f"view.verdict_{part}") + ": " + _how_far(part, card["verdicts"][part]) + "." for part in parts]
    # What is to be done comes first.
    told_first = [card["verdict_text"], *measured] if card["verdict"] == "stop" else [*measured, card["verdict_text"]]
    return {"sections": views.sections(card, (), {}, SECTIONS), "status": " ".join(told_first), "verdict": card["verdict"], "not_done": [{"cooking": "core"}.get(part, part) for part in parts if card["verdicts"][part] == "stop"]}


def _how_far(part: str, verdict: str) -> str:
    # "Cooking: Stop" would read as if the oven were to be turned off.
    return say(f"day.judged.{part}") if verdict == "stop" else say(f"view.{verdict}")


def _judge(given: dict, asked: dict) -> dict:
    """What all readings and weights come to: {"sections", "status", "warnings", "held"}; asked: {log}.

    held: of ``_held_cards``, where no curing salt may be weighed.
    """
    made_log, document = _log(asked), _document(given)
    made = _made(document, made_log)
    held = _held(made, made_log)
    return {**_judged(given, made_log), "warnings": [*_weighed_wrong(made, made_log), *_warnings(given, made_log, bool(held))], "held": _held_cards(document, held)}


def _warnings(given: dict, made_log: dict, held: bool = False) -> list[str]:
    """What today's program says otherwise about a batch that was begun under another."""
    reading = entry.read(_without_run(given))
    card = entry.card_of(reading, _page(given), whole=False)
    if card["verdict"] not in ("ok", "caution"):
        return [say("day.page.stop_now", text=card["verdict_text"]), *(row["text"] for row in card["messages"] if row["severity"] == "stop")]
    now = {row["id"]: row["weigh"]["text"] for row in card["amounts"]}
    # By weight: the batch may have been begun in another language.
    other = [row for row in made_log["amounts"] if row["id"] not in now or _mass(now[row["id"]]) != _mass(row["text"])]
    if held:
        other = [row for row in other if row["role"] != "curing_salt"]
    if not other:
        return []
    rows = "; ".join(say("day.page.differs_row", name=row["name"], then=row["text"], now=now.get(row["id"], say("day.page.nothing"))) for row in other)
    return [say("day.page.differs", rows=rows)]


# ------------------------------------------------------------------ the timetable


def _zone(asked: dict):
    return read_zone(asked.get("zone"), asked.get("offsets"))


def _plan_form(given: dict, asked: dict) -> dict:
    """What the timetable asks for this batch: {"fields": [...], "served": [...]}."""
    document = _document(given)
    return planned.form(document, entry.card_of(entry.read(_without_run(given)), _page(given), foretold=True))


def _planned(given: dict, asked: dict):
    document, zone = _document(given), _zone(asked)
    card = entry.card_of(entry.read(_without_run(given)), _page(given), foretold=True)
    made = _made(document, _log(asked) if asked.get("log") is not None else None)
    texts = asked["plan"] if isinstance(asked.get("plan"), dict) else {}
    found, faults = planned.plan_of(document, card, made.batch if made else None, texts, zone, read_instant(asked["now"], "now"))
    if found is None:
        raise Refused(*faults)
    return found, zone


def _plan(given: dict, asked: dict) -> dict:
    """The timetable: {"plan"}; asked: {plan: texts, now, zone, offsets}."""
    found, zone = _planned(given, asked)
    return {"plan": told.plan_data(found, zone)}


def _calendar(given: dict, asked: dict) -> dict:
    """The timetable as a file: {"name", "text"}; asked: as for the plan, with {log, sequence}."""
    made_log = _log(asked)
    found, zone = _planned(given, asked)
    sequence = asked.get("sequence", 0)
    text = calendar(found, zone, made_log["title"], made_log["id"], read_instant(asked["now"], "now"), sequence if isinstance(sequence, int) else 0)
    return {"name": f"{made_log['id']}.ics", "text": text}


# ------------------------------------------------------------------ mistakes


_CORE = (-5, 120)  # degC


def _minutes(asked: dict, key: str) -> int | None:
    text = tidy(str(asked.get(key, "")))
    if not text:
        return None
    try:
        value = read_amount(text, "time", ("min", "h")).value
    except Misread as error:
        raise Refused(from_misread(key, text, error, "40 min")) from None
    return int(-(-value // 1))


def _needed_minutes(asked: dict, key: str) -> int:
    found = _minutes(asked, key)
    if found is None:
        raise Refused(fault(key, "", "mishap_needed"))
    return found


def _degrees(asked: dict, key: str, low: int, high: int) -> float | None:
    text = tidy(str(asked.get(key, "")))
    if not text:
        return None
    try:
        value = heat.read_temperature(text).value
    except Misread as error:
        raise Refused(from_misread(key, text, error, "16 °C")) from None
    if not low <= value <= high:
        raise Refused(fault(key, text, "mishap_degrees", least=f"{low} °C", most=f"{high} °C"))
    return float(value)


def _stage(asked: dict) -> str:
    stage = asked.get("stage")
    if stage not in mishaps.STAGES:
        raise Refused(fault("stage", stage or "", "mishap_needed"))
    return stage


def _weighed(asked: dict, made: Made) -> Fraction:
    text = tidy(str(asked.get("weighed", "")))
    if not text:
        raise Refused(fault("weighed", "", "mishap_needed"))
    try:
        return read_amount(text, "mass", MASS).value
    except Misread as error:
        raise Refused(from_misread("weighed", text, error, made.batch.cure.scale.text(made.batch.cure.weighed))) from None


def _used_pack(asked: dict, document: Document) -> Pack:
    value, wrong = read_field(BY_KEY["pack"], str(asked["pack"]))
    if wrong:
        raise Refused(wrong)
    return Pack.of(value, document.choice("pack_as"))


def _mishap_dose(document: Document, made_log: dict, asked: dict) -> Mishap:
    made = _made(document, made_log)
    if made is None:
        raise Refused(fault("kind", "", "mishap_uncured"))
    inside, stage, kind = _inside(made_log), _stage(asked), asked["kind"]
    if kind == "doubled":
        return mishaps.judge_dose(made, 2 * made.batch.cure.weighed, stage, inside=inside)
    if kind == "wrong_pack":
        if not tidy(str(asked.get("pack", ""))):
            return mishaps.unknown_pack(stage)
        return mishaps.judge_dose(made, _weighed(asked, made), stage, _used_pack(asked, document), inside)
    return mishaps.judge_dose(made, _weighed(asked, made), stage, inside=inside)


def _forgot_cure(document: Document, made_log: dict, asked: dict) -> Mishap:
    if document.state == "uncured":
        raise Refused(fault("kind", "", "mishap_uncured"))
    stage = _stage(asked)
    raw = _needed_minutes(asked, "minutes") if stage in ("raw", "cooked") else 0
    return mishaps.forgot_cure(document.recipe.method, stage, raw, most_minutes(document.kinds))


def _forgot_salt(document: Document, made_log: dict, asked: dict) -> Mishap:
    stage, method = _stage(asked), document.recipe.method
    raw = _needed_minutes(asked, "minutes") if stage in ("raw", "cooked") and method != "ground" else 0
    return mishaps.forgot_salt(method, stage, raw)


def _warm_batter(document: Document, made_log: dict, asked: dict) -> Mishap:
    celsius = _degrees(asked, "celsius", -5, 60)
    if celsius is None:
        raise Refused(fault("celsius", "", "mishap_needed"))
    return mishaps.warm_batter(celsius, _minutes(asked, "minutes"), document.kinds)


def _oven_off(document: Document, made_log: dict, asked: dict) -> Mishap:
    return mishaps.oven_off(_degrees(asked, "core", *_CORE), _minutes(asked, "since"), _minutes(asked, "still"), probe_error(document))


def _counter(document: Document, made_log: dict, asked: dict) -> Mishap:
    made = _made(document, made_log)
    low = cooling.low_end(document, made.batch if made else None)
    return mishaps.on_the_counter(low, _minutes(asked, "minutes"), _degrees(asked, "core", *_CORE), document.choice("region"), probe_error(document))


_KINDS: dict[str, tuple[tuple[str, ...], Callable[[Document, dict, dict], Mishap]]] = {
    "dose": (("weighed", "stage"), _mishap_dose),
    "wrong_pack": (("pack", "weighed", "stage"), _mishap_dose),
    "doubled": (("stage",), _mishap_dose),
    "forgot_cure": (("stage", "minutes"), _forgot_cure),
    "forgot_salt": (("stage", "minutes"), _forgot_salt),
    "warm_batter": (("celsius", "minutes"), _warm_batter),
    "oven_off": (("core", "since", "still"), _oven_off),
    "on_the_counter": (("core", "minutes"), _counter),
    "left_out_cold": (("minutes",), lambda document, made_log, asked: mishaps.left_out_cold(_minutes(asked, "minutes"))),
    "eaten": ((), lambda document, made_log, asked: mishaps.eaten()),
}
MISHAP_FIELDS = {kind: fields for kind, (fields, _) in _KINDS.items()}
"""What is asked for each kind of mistake, in the order of the page."""


def _mishap(given: dict, asked: dict) -> dict:
    """A mistake, judged: {"mishap"}; asked: {log, kind, and the fields of MISHAP_FIELDS as typed}."""
    _, work = _KINDS[asked["kind"]]
    document = _document(given)
    return {"mishap": told.mishap_data(_allowed(work(document, _log(asked), asked)), document.recipe.method)}


# ------------------------------------------------------------------ files


def _export(given: dict, asked: dict) -> dict:
    """A log as a file: {"name", "text"}; asked: {log, form: "json" or "csv"}."""
    made_log = _log(asked)
    form = "csv" if asked.get("form") == "csv" else "json"
    return {"name": f"{made_log['id']}.{form}", "text": log.write_csv(made_log) if form == "csv" else log.write(made_log)}


def _import(given: dict, asked: dict) -> dict:
    """A log from a file, JSON or CSV: {"log", "told", "held"}; asked: {text}. told, held: of ``_looked_at``."""
    text = asked.get("text")
    is_json = isinstance(text, str) and text.lstrip("\ufeff \t\r\n").startswith("{")
    made_log, faults = log.read(text) if is_json else log.read_csv(text)
    if made_log is None:
        raise Refused(*faults)
    found, held = _looked_at(made_log)
    return {"log": made_log, "told": found, "held": held}


def _looked_at(made_log: dict) -> tuple[list[str], bool]:
    """What a log from a file says beside what its own link gives here.

    Returns (sentences, whether its grams of curing salt are shown to nobody). Nothing of it was weighed or
    judged here, and anyone can write a file: it is never believed as it stands. No weight of the link is
    told, for its pack was confirmed in another kitchen.
    """
    document, card = _of_its_link(made_log)
    if document is None:
        return [say("day.page.file_unknown")], False
    if card["verdict"] not in ("ok", "caution"):
        stops = [row["text"] for row in card["messages"] if row["severity"] == "stop"]
        return [say("day.page.file_stop", text=" ".join([card["verdict_text"], *stops]))], True
    made = _made(document, made_log)
    found = []
    over = made is not None and solver.over(made.batch, made.ceilings) is not None
    uncalled = made is None and _dose_in(made_log) is not None
    if over:
        found.append(told.dose_over(mishaps.as_weighed(made, made.batch.cure.weighed, {})[1], made.recipe.method))
    now = {row["id"]: row["weigh"]["text"] for row in card["amounts"]}
    other = [row["name"] for row in made_log["amounts"] if row["id"] not in now or _mass(now[row["id"]]) != _mass(row["text"])]
    other += [row["name"] for row in card["amounts"] if row["id"] not in {one["id"] for one in made_log["amounts"]}]
    if other:
        names = ", ".join(other)
        same = made_log["rules_edition"] == card["rules_edition"]
        found.append(say("day.page.file_differs", names=names) if same else say("day.page.file_differs_edition", names=names, edition=made_log["rules_edition"], now=card["rules_edition"]))
    if document.recipe.ref != made_log["recipe"]:
        found.append(say("day.page.file_recipe", recipe=made_log["recipe"], link=document.recipe.ref))
    if made_log["verdict"] and made_log["verdict"] != card["verdict"]:
        found.append(say("day.page.file_verdict", then=say(f"view.{made_log['verdict']}"), now=say(f"view.{card['verdict']}")))
    if not over:
        found += _weighed_wrong(made, made_log)
    return found or [say("day.page.file_same")], over or uncalled


def _of_its_link(made_log: dict) -> tuple[Document | None, dict]:
    """The document and card of a log's own link, else of its recipe and what was typed; (None, {}) where neither can be read here."""
    for given in ({"page": "recipe", "link": made_log["link"]}, {"page": "recipe", "recipe": made_log["recipe"], "fields": made_log["inputs"]}):
        if "link" in given and not given["link"]:
            continue
        reading = entry.read(_without_run(given))
        if reading.document is None or reading.faults:
            return None, {}
        document = reading.document
        if document.pack is not None:
            # Whether the pack says so was asked in the kitchen that the log comes from.
            document = replace(document, confirmed=frozenset({document.pack_id}), from_link=False)
        return document, cards.make(document, whole=False)
    return None, {}


def _copy(given: dict, asked: dict) -> dict:
    """A changed copy of the log's recipe with the notes as its first step: {"data", "name", "text"}; asked: {log}."""
    made_log = _log(asked)
    document = _document(given)
    made = entry.file_of(document)
    data = data_of(made["text"])
    noted = [line.strip() for text in (made_log["next_time"], *(note["text"] for note in made_log["notes"])) for line in text.splitlines() if line.strip()]
    # A step names ingredients in braces: those of a note mean nothing.
    known = [{"text": say("day.page.copy_step", note=line.replace("{", "(").replace("}", ")"))} for line in noted[:log.MOST_COMMENTS]]
    data["step"] = [*known, *data.get("step", [])]
    return {"data": data, "name": made["name"], "text": log.changed_copy(made["text"], made_log)}


def _back_up(given: dict, asked: dict) -> dict:
    """All that a device keeps as one file: {"name", "text", "left_out"}; asked: {now, device}."""
    device = asked["device"]
    drafts = {key: texts for key, draft in _table(device, "drafts").items() if (texts := _draft(draft))}
    recipes, left_out = {}, []
    for data in _table(device, "own").values():
        own = read_own(data, set())
        if own.recipe is None:
            left_out.append(str(data.get("title") or say("day.page.untitled")) if isinstance(data, dict) else say("day.page.untitled"))
        else:
            recipes[own.recipe.ref] = own.text
    text = backup.write(asked["now"], asked["build"], _table(device, "kitchen"), _table(device, "kitchens"), drafts, list(device.get("logs") or []), recipes, str(device.get("kitchen_name") or ""))
    made, faults = backup.read(text)
    if made is None:
        # Better no file than one that cannot be read again.
        raise Refused(*faults)
    return {"name": f"backup-{asked['now'][:10]}.json", "text": text, "left_out": left_out}


def _table(device: dict, key: str) -> dict:
    found = device.get(key)
    return found if isinstance(found, dict) else {}


def _draft(draft: object) -> dict[str, str]:
    """What a draft typed, its link's entries under it."""
    if not isinstance(draft, dict):
        return {}
    reading = entry.read({"page": "recipe", "link": draft.get("link") or "", "fields": draft.get("fields") or {}})
    return {key: text for key, text in reading.texts.items() if field_of(key) and key != "pack_check" and isinstance(text, str) and text}


def _restore(given: dict, asked: dict) -> dict:
    """A backup read: {"device"}, with its recipes as the forms have them and its logs as ``_import`` gives them; asked: {text}."""
    made, faults = backup.read(asked.get("text"))
    if made is None:
        raise Refused(*faults)
    logs = [{"log": made_log, "told": found, "held": held} for made_log in made["logs"] for found, held in [_looked_at(made_log)]]
    return {"device": {key: made[key] for key in ("kitchen", "kitchen_name", "kitchens", "drafts")} | {"logs": logs, "own": [data_of(text) for text in made["recipes"].values()]}}


DONE: dict[str, Callable[[dict, dict], dict]] = {
    "begin": _begin, "weigh": _weigh, "read": _read, "judge": _judge, "plan_form": _plan_form, "plan": _plan, "calendar": _calendar, "mishap": _mishap,
    "export": _export, "import": _import, "copy": _copy, "backup": _back_up, "restore": _restore,
}
"""What can be asked for."""
