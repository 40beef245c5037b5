"""The stages in their order: a Document in, a card of plain data out.

Every text on a card is made here or in the checks, from the catalogue; views only place it.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from math import ceil

from .batch import cure as solver
from .batch.compounds import as_sodium_nitrite, carrier_salt, counted_as
from .batch.cure import CASES, Batch, Ceiling, Pack, Solved
from .batch.rounding import Scale, Scales
from .fields import FIELDS, USE, field_of
from .figures import MG, WAY, core_text, cure_name, dosed as dose_on, entry_label, entry_text, number, on_scale, per_text, percent, ppm, ppm_against, target_text
from .intake.document import Document
from .intake.entries import text_of
from .intake.faults import Fault
from .intake.numbers import plain, show
from .intake.recipe import Recipe, fill_step
from .intake.units import Amount, from_base
from .measures import beside, dose as dose_text, in_units, mass, second_mass
from .messages import DOSES, VERDICTS, Messages, worst
from .rules import checks, packs
from .rules import limits as rules
from .rules.curing_time import Days
from .rules.raw_hold import is_pork_alone
from .stages import additives, allergens, by_spoon, composition, cooling, heat, make_for, mixing, shopping, tins, together
from .words import say, shown

SCHEMA = 1
DOSED = ("curing_salt", "phosphate", "accelerator")  # with limits of their own, and weighed by the gram
_TABLE_SCALE = Scale(Fraction(1, 10), "g", 1)  # of the table of strengths, where no finer one is stated


def _targets(recipe: Recipe) -> list[dict]:
    targets = recipe.targets
    rows = []
    if targets.nitrite is not None:
        rows.append({
            "label": say("card.target_nitrite"),
            "text": say("card.target_nitrite_text", value=target_text(targets.nitrite, "mg/kg"), compound=say(f"compound.{targets.nitrite_as}"), per=per_text(targets.nitrite_per, recipe.method)),
        })
    rows.append({"label": say("card.target_salt"), "text": say("card.target_salt_text", value=target_text(targets.salt, "%"), per=per_text(targets.salt_per, recipe.method))})
    if recipe.core is not None:
        hold = recipe.hold.text if recipe.hold else ""
        rows.append({"label": say("card.target_core"), "text": say("card.target_core_text", core=core_text(recipe.core), hold=hold) if hold else core_text(recipe.core)})
    return rows


def _understood(document: Document) -> list[dict]:
    rows = []
    names = {line.id: line.name for line in document.recipe.ingredients}
    used = [field_of(key) for key in sorted(document.values) if key.startswith(USE)]
    for field in (*FIELDS, *used):
        if field.key in ("recipe", "pack_check") or field.key == "units" and "units" not in document.values or document.recipe.method not in field.methods:
            continue
        if field.group in ("mixing", "heat", "oven") and not document.recipe.kinds:
            continue
        value = document.values.get(field.key)
        if value is None and (not field.default or field.key in ("nitrite_as", "nitrite_per", "salt_per", "state") or (field.group == "found" and document.recipe.id != "found")):
            continue
        text = entry_text(field, value)
        rows.append({"key": field.key, "label": entry_label(field.key, names), "text": say("card.assumed", text=text) if value is None else text})
    if "meat" not in document.values and (document.sized is None or document.sized.meat is None):
        rows.insert(0, {"key": "meat", "label": say("field.meat.label"), "text": say("card.published_batch", text=mass(document.recipe.meat))})
    return rows


def _amounts(document: Document, batch: Batch, cure_name: str, with_cure: bool) -> list[dict]:
    """What to weigh, in the order of weighing: meat and fat, then the two salts, then the rest."""
    meat, mix = batch.meat_grams, batch.mix_grams
    stated = text_of(document.values.get("stated", ""))
    ingredients = {line.id: line for line in document.recipe.ingredients}
    block = [line for line in batch.lines if line.role in ("meat", "fat")]
    rest = [line for line in batch.lines if line.role not in ("meat", "fat")]
    salts = [line for line in (batch.cure, batch.salt if batch.salt.grams else None) if line] if with_cure else []
    rows = []
    for line in (*block, *salts, *rest):
        if line.id in ingredients and not line.grams:
            continue  # the cook leaves it out
        name = {"curing_salt": cure_name, "salt": say("card.plain_salt")}.get(line.role, line.name)
        text, unit = line.scale.text(line.weighed), line.scale.unit
        note = ""
        # What plain salt the curing salt leaves to be added may be a trace: of that there is none to weigh.
        trace = line.role == "salt" and batch.cure is not None and line.weighed == 0
        if trace and line.grams > 0:
            note = say("card.salt_under_a_step")
        elif line.weighed == 0 and line.grams > 0:
            # Under one step the scale shows nothing: say what the recipe wants.
            text, unit = shown(f"{show(line.grams, 3 if line.grams < Fraction(1, 10) else 2)} g"), "g"
            note = say("card.under_a_step")
        elif line.role == "curing_salt" and stated:
            # Judged as it was typed, so shown as it was typed, whatever the scale can show.
            text, unit = shown(stated), document.values["stated"].unit
        grams = line.weighed if trace else line.weighed or line.grams
        # A dose in both: whoever has the other scale must not take one figure for the other.
        also = shown(second_mass(grams, unit, line.scale.step if line.role in DOSED else None))
        note = " ".join(part for part in (say("card.also", also=also) if also else "", note) if part)
        of_meat, of_mix = grams / meat, grams / mix
        rows.append({
            "id": line.id, "name": name, "role": line.role, "role_text": say(f"role.{line.role}"), "grams": number(grams),
            "weigh": {"value": show(from_base(grams, line.scale.unit), line.scale.places), "unit": line.scale.unit, "text": text, "also": also}, "on": line.scale.text(line.scale.step),
            "percent_of_meat": number(of_meat * 100), "percent_of_mix": number(of_mix * 100),
            "percent_of_meat_text": say("card.of_meat", share=percent(of_meat)), "percent_of_mix_text": say("card.of_mix" if batch.method == "ground" else "card.of_all", share=percent(of_mix)), "note": note,
            "by_spoon": by_spoon.hint(ingredients[line.id], grams, document.choice("spoons")) if line.id in ingredients else "",
        })
    return rows


def _three(batch: Batch, compound: str) -> dict:
    return {
        base: {case: number(counted_as(batch.nitrite(base, case), compound) * MG) for case in CASES} for base in ("meat", "mix")
    }


def _cure(document: Document, batch: Batch, name: str, rows_to_weigh: list[dict]) -> dict:
    """The cure as figures and as texts."""
    rows = []
    for base in ("meat", "mix"):
        for compound in ("NaNO2", "NO2-"):
            rows.append({
                "label": say(f"card.nitrite_as_{'salt' if compound == 'NaNO2' else 'ion'}"),
                "per_text": per_text(base, batch.method),
                **{case: ppm(counted_as(batch.nitrite(base, case), compound), 1, WAY[case]) for case in ("low", "nominal")},
                "high": checks.high_end(batch.nitrite(base, "high"), base, compound),
            })
        rows.append({"label": say("card.salt_in_all"), "per_text": per_text(base, batch.method), **{case: percent(batch.salt_share(base, case), 2, WAY[case]) for case in CASES}})
    ceilings = {c.id: c for c in checks.ceilings_for(document)}
    limit_rows = []
    method, belly = document.recipe.method, document.recipe.belly
    for limit in rules.all_limits():
        if limit.role != "limit" or method not in limit.methods or (limit.cut != "any" and not belly):
            continue
        ceiling = ceilings.get(limit.id) or limit.ceiling(document.choice("pack_as"))
        high = batch.nitrite(limit.per, "high")
        limit_rows.append({
            "id": limit.id, "text": say("card.limit_name", regions=", ".join(say(f"choice.region.{r}") for r in limit.regions), clause=limit.clause),
            "value": number(limit.value), "counted_as": limit.counted_as, "per": limit.per, "applies": limit.id in ceilings,
            "within": high <= ceiling.share,
            "low": number(counted_as(batch.nitrite(limit.per, "low"), limit.counted_as) * MG),
            "nominal": number(counted_as(batch.nitrite(limit.per, "nominal"), limit.counted_as) * MG),
            "high": number(counted_as(high, limit.counted_as) * MG),
            "value_text": say("card.limit_value", value=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=per_text(limit.per, method)),
            "high_text": ppm_against(counted_as(high, limit.counted_as), limit.value),
            "source_text": checks.source_of(limit), "document": limit.document, "edition": limit.edition, "clause": limit.clause,
            "date_read": limit.date_read, "sure": limit.sure, "sure_text": say(f"sure.{limit.sure}"),
        })
    line = batch.cure
    return {
        "grams": number(line.weighed), "name_text": name, "weigh": next(row["weigh"] for row in rows_to_weigh if row["role"] == "curing_salt"),
        "salt_grams_added": number(batch.salt.weighed),
        "salt_percent": {base: {case: number(batch.salt_share(base, case) * 100) for case in CASES} for base in ("meat", "mix")},
        "nitrite_mg_per_kg": _three(batch, "NaNO2"), "nitrite_ion_mg_per_kg": _three(batch, "NO2-"),
        "nitrate_mg_per_kg": {base: dict.fromkeys(CASES, 0.0) for base in ("meat", "mix")},
        "rows": rows, "limits": limit_rows, "picture": _picture(document, batch, tuple(ceilings.values())),
    }


def _least_to_keep(document: Document, batch: Batch, per: str) -> Fraction | None:
    """The least nitrite to rely on for keeping: the strictest threshold, as a share of the base that is drawn."""
    low = {base: batch.nitrite(base, "low") for base in ("meat", "mix")}
    thresholds = rules.applicable(document.choice("region"), document.recipe.method, document.recipe.belly, "threshold")
    return max((limit.share * low[per] / low[limit.per] for limit in thresholds if low[limit.per]), default=None)


def _picture(document: Document, batch: Batch, ceilings: tuple[solver.Ceiling, ...]) -> dict | None:
    """Numbers for the drawing: the binding limit, on its own base."""
    if not ceilings:
        return None
    tight = max(ceilings, key=lambda c: batch.nitrite(c.per, "high") / c.share)
    numbers = {case: batch.nitrite(tight.per, case) * MG for case in CASES}
    floor = _least_to_keep(document, batch, tight.per)
    top = max(numbers["high"], tight.share * MG) * Fraction(5, 4)
    return {
        "unit": "mg/kg", **{case: number(value) for case, value in numbers.items()}, "limit": number(tight.share * MG),
        "threshold": number(floor * MG) if floor else None, "top": number(top), "per_text": per_text(tight.per, batch.method),
    }


def _table_scales(document: Document) -> Scales:
    # Beside a dose it must say of the same pack what the dose says.
    return document.scales if document.pack_label else Scales(document.scales.coarse, document.scales.fine or _TABLE_SCALE)


# No word in it: the same in every language, and whatever else on the card changes.
@lru_cache(maxsize=16)
def _with_known_packs(recipe: Recipe, meat: Fraction, scales: Scales, ceilings: tuple[Ceiling, ...]) -> tuple[tuple[Amount, Solved], ...]:
    return tuple((label, solver.solve(recipe, meat, Pack.of(label, "NaNO2"), scales, ceilings)) for label in packs.known_labels())


def _strengths(document: Document, recipe: Recipe) -> list[dict]:
    """The table of common strengths: each row one whole answer, on the same solver as the card."""
    rows = []
    for label, solved in _with_known_packs(recipe, document.meat, _table_scales(document), checks.ceilings_for(document)):
        row = {"percent": shown(label.text), "cure_text": "", "salt_text": "", "why": "", "shares": None}
        if solved.batch:
            row["cure_text"] = dose_on(solved.batch.cure.scale, solved.batch.cure.weighed)
            row["salt_text"] = on_scale(solved.batch.salt.scale, solved.batch.salt.weighed)
            row["shares"] = [solved.batch.cure.weighed, solved.batch.salt.weighed]
            row["text"] = say("card.strength_row", percent=label.text, cure=row["cure_text"], salt=row["salt_text"])
        elif solved.conflict:
            row["why"] = say("card.strength_salty", brought=percent(solved.conflict.salt_brought), wanted=percent(solved.conflict.salt_wanted))
            row["text"] = say("card.strength_why", percent=label.text, why=row["why"])
        else:
            row["why"] = say("card.strength_no_dose")
            row["text"] = say("card.strength_why", percent=label.text, why=row["why"])
        rows.append(row)
    # For the drawing: parts of the most that is weighed in any row.
    most = max((sum(row["shares"]) for row in rows if row["shares"]), default=0)
    for row in rows:
        row["shares"] = [number(part / most) for part in row["shares"]] if row["shares"] and most else None
    return rows


_SALTED = Fraction(21, 20)  # room for the salts, before they are known


def _loads(document: Document) -> int:
    """How many bowls the batch takes: 1 where the bowl holds it, or is not stated."""
    bowl = document.grams("bowl")
    if bowl is None or document.recipe.method != "ground":
        return 1
    return max(1, ceil(solver.unsalted(document.recipe, document.meat, document.scales).mix_grams * _SALTED / bowl))


def _handling(document: Document) -> list[dict]:
    rows = []
    for name in ("raw_held", "tasting", "one_tin", "brine", "strong_salt", "storing", "hot_holding", "reheating", "keeping", "freezing", "who"):
        if document.state == "uncured" and name in ("strong_salt", "storing"):
            continue
        if name == "one_tin" and document.beside is None:
            continue
        if name in ("raw_held", "tasting") and document.recipe.method != "ground" or name == "brine" and document.recipe.method not in ("brine", "injected"):
            continue
        if name == "freezing" and document.recipe.raw:
            continue
        prefix = f"handling.{name}"
        text_id = f"{prefix}.text_short" if name == "raw_held" and not is_pork_alone(document.kinds) else f"{prefix}.text"
        rows.append({"title": say(f"{prefix}.title"), "text": say(text_id), "source": say(f"{prefix}.source")})
    return rows


def _in_step(row: dict) -> str:
    weigh = row["weigh"]
    return say("figure.both", figure=weigh["text"], also=weigh["also"]) if weigh["also"] else weigh["text"]


def _steps(recipe: Recipe, rows: list[dict], uncured: bool, dosed: bool, aim: dict, days: Days | None) -> list[dict]:
    figures = {"curing_salt": say("card.step_curing_salt"), "salt": say("card.plain_salt")}
    figures["days"] = say("card.step_days_uncured") if uncured else say("card.step_days", first=str(days.first), last=str(days.last)) if days else say("card.step_days_open")
    figures["core"] = aim["core"] or say("card.step_core")
    figures["hold"] = aim["hold"] or say("card.step_hold")
    by_id = {row["id"]: row for row in rows}
    for item in recipe.ingredients:
        row = by_id.get(item.id)
        left_out = item.name if item.share else say("card.step_left_out", name=item.name)
        figures[item.id] = say("card.step_amount", amount=_in_step(row), name=item.name) if row else left_out
    if dosed:
        for row in rows:
            if row["role"] in ("curing_salt", "salt"):
                figures[row["role"]] = say("card.step_amount", amount=_in_step(row), name=row["name"]) if row["grams"] else say("card.step_no_salt")
    if uncured:
        figures["curing_salt"] = say("card.step_no_cure")
    return [{"text": fill_step(beside(step, shown), figures)} for step in recipe.steps]


def make(document: Document, whole: bool = True, foretold: bool = False) -> dict:
    """The card for a document, in the units that its cook chose.

    document: recipe, changes and kitchen as read; whole: False leaves out the table of
    strengths and the figures of the cure, which weights and verdict do not need; foretold:
    True works out the forecast of the oven as well, on which nothing else hangs.
    Returns plain data, JSON-ready. Under ``stop`` and ``incomplete`` it names no
    dose: no curing salt, and no plain salt, which hangs on it.
    """
    with in_units(document.choice("units")):
        return _make(document, whole, foretold)


def _make(document: Document, whole: bool, foretold: bool) -> dict:
    recipe = document.recipe
    messages = Messages()
    card = _frame(document)
    checks.judge_withdrawn(document, messages)
    checks.judge_revision(document, messages)
    if messages.verdict == "stop":
        return _close(card, document, messages, None, False)
    checks.judge_age(document, messages)
    checks.judge_words(document, messages)
    checks.judge_bone(document, messages)
    make_for.tell(document, messages)
    shopping.check(document, messages)
    loads = _loads(document)
    if loads > 1:
        # Each load gets a cure of its own, so each is solved and judged by itself.
        document = document.load(loads)
        card["loads"] = loads
        messages.add("loads", "note", "bowl", loads=str(loads), meat=on_scale(document.scales.coarse, document.meat))
    if not solver.unsalted(recipe, document.meat, document.scales).meat_grams:
        messages.add("scale_useless", "stop", "scale", step=document.scales.coarse.text(document.scales.coarse.step), meat=mass(document.meat))
        return _close(card, document, messages, None, False)
    checks.judge_piece(document, messages)
    if messages.verdict == "stop":
        return _close(card, document, messages, None, False)
    if not solver.possible(recipe, document.meat):
        messages.add("targets_impossible", "stop", "salt", wanted=target_text(recipe.targets.salt, "%"), per=per_text(recipe.targets.salt_per, recipe.method))
        return _close(card, document, messages, None, False)
    if document.state == "uncured":
        batch = solver.uncured(recipe, document.meat, document.scales)
        messages.add("uncured", "note", "state")
        _judge_parts(card, document, batch, messages)
        return _close(card, document, messages, batch, messages.verdict in ("ok", "caution"), whole, foretold)
    if recipe.id == "found":
        checks.judge_found(document, messages)
    else:
        checks.judge_target(document, messages)
    if messages.verdict == "stop":
        return _close(card, document, messages, None, False)
    if whole:
        card["strengths"] = _strengths(document, recipe)
        scale = _table_scales(document).for_cure
        card["strengths_scale_text"] = say("card.strengths_scale_own" if document.pack_label else "card.strengths_scale", step=scale.text(scale.step))
    card["confirm"] = checks.ask_about_pack(document, messages)
    dosed, batch = False, None
    if messages.verdict in ("ok", "caution"):
        pack = document.pack
        stated = document.grams("stated")
        if stated is not None:
            batch = solver.judge_stated(recipe, document.meat, pack, document.scales, stated)
            checks.judge_stated(document, batch, messages)
        else:
            solved = solver.solve(recipe, document.meat, pack, document.scales, checks.ceilings_for(document))
            batch = solved.batch
            if solved.conflict:
                checks.say_conflict(solved, recipe, pack.label, messages)
            elif solved.impossible:
                messages.add("targets_impossible", "stop", "salt", wanted=target_text(recipe.targets.salt, "%"), per=per_text(recipe.targets.salt_per, recipe.method))
            elif solved.no_dose:
                messages.add("no_dose", "stop", "fine_scale", step=document.scales.for_cure.text(document.scales.for_cure.step), wished=dose_text(solved.wished, "g", 2), label=pack.label)
            elif solved.lowered_for:
                checks.say_lowered(solved, messages)
        if batch is not None and messages.verdict in ("ok", "caution"):
            dosed = True
            card["keeping"] = checks.judge_reliance(document, batch, messages)
            checks.say_scale(document, batch, messages)
            checks.say_region(document, messages)
            checks.say_basis(document, batch, messages)
            if recipe.id == "found" and "found_other" not in document.values:
                messages.add("mix_unknown", "note", "found_other")
            checks.say_ways(document, batch, messages)
            checks.SAY_METHOD[recipe.method](document, batch, messages)
            _judge_parts(card, document, batch, messages)
            if recipe.method in ("brine", "injected") and solver.brine_strength(batch) > solver.SATURATED:
                messages.add("pickle_saturated", "stop", "salt", strength=percent(solver.brine_strength(batch), 1, "up"), most=percent(solver.SATURATED, 1))
            if messages.verdict not in ("ok", "caution"):
                dosed = False
    return _close(card, document, messages, batch, dosed, whole, foretold)


def _judge_parts(card: dict, document: Document, batch: Batch, messages: Messages) -> None:
    """What the rest of the batch has to say for the verdict."""
    if document.recipe.method == "ground" and document.state == "held":
        additives.judge_hold(document, batch, messages)
    composition.judge(document, batch, composition.work_out(document, batch), messages)
    card["additives"] = additives.judge(document, batch, messages)
    if document.beside is not None:
        card["together"] = _together(card, document, batch, messages)


def _together(card: dict, document: Document, batch: Batch, messages: Messages) -> dict | None:
    """The other batter in the same tins, and what the two come to."""
    beside = document.beside
    checks.judge_withdrawn(beside, messages)
    if beside.state != "uncured":
        checks.judge_target(beside, messages)
        # Beside an uncured batter nobody has asked about the pack yet.
        card["confirm"] = card["confirm"] or checks.ask_about_pack(beside, messages)
    if messages.verdict in ("stop", "incomplete"):
        return None
    other = together.solve_beside(document, messages)
    both = together.judge(document, batch, other, messages)
    if both is None:
        return None
    card["keeping"] = False if both.state == "uncured" else card["keeping"] and checks.judge_reliance(beside, other, messages)
    if other.cure is not None:
        checks.say_scale(beside, other, messages)
    card["additives"] = [*card["additives"], *additives.judge(beside, other, messages)]
    label = beside.pack_label
    return together.tell(document, both, _amounts(beside, other, cure_name(label.text, beside.choice("pack_as")) if label else "", True))


def _tell_parts(card: dict, document: Document, batch: Batch, dosed: bool) -> None:
    """The parts of a whole card that no verdict hangs on. Without a dose all of the salt counts as plain salt."""
    recipe = document.recipe
    if not dosed:
        batch = solver.uncured(recipe, document.meat, document.scales)
    made = None if recipe.id == "found" else composition.work_out(document, batch)
    card["composition"] = composition.tell(document, made)
    card["allergens"] = None if recipe.id == "found" else allergens.name(document)
    card["shopping"] = None if recipe.id == "found" else shopping.list_up(document, card["amounts"], card["loads"])
    card["tins"], card["about_tins"] = tins.fill(document, batch, card["loads"], made)


def _foretell(card: dict, document: Document, batch: Batch, relied: Batch | None, three: heat.Heat) -> None:
    """When it will be done and cold: of no weight for any verdict, so made after all of them. relied: the batch with its dose, None where there is none."""
    from .stages import forecast  # in a part of its own: no start waits for it

    # Stopped by readings on their way up, it is a batch in the oven all the same.
    target = three.cooking[0]["target"]
    aim = forecast.Aim(target["read"], target["hold_text"]) if three.safe_target and target["way"] else None
    made = None if document.recipe.id == "found" else composition.work_out(document, batch)
    card["forecast"], card["about_forecast"] = forecast.tell(document, batch, card["loads"], made, aim, cooling.low_end(document, relied))


def _frame(document: Document) -> dict:
    recipe = document.recipe
    return {
        "schema": SCHEMA, "recipe": recipe.ref, "language": recipe.language, "title": recipe.title, "summary": recipe.summary, "author": recipe.author, "method": recipe.method, "state": document.state, "raw": recipe.raw,
        "verdict": "incomplete", "verdict_text": "", "verdicts": {}, "faults": [], "amounts": [], "mix_text": "", "mix_note": "", "cure": None, "keeping": None, "loads": 1,
        "strengths": [], "strengths_scale_text": "", "targets": _targets(recipe), "messages": [], "understood": _understood(document), "handling": _handling(document),
        "steps": [], "confirm": None, "convert": None, "mixing": None, "cooking": [], "cooling": [], "composition": None, "allergens": None, "additives": [], "portions": shopping.portions_of(document), "tins": [], "about_tins": None, "forecast": [], "about_forecast": None, "shopping": None, "together": None, "rules_edition": rules.edition(), "rules_age_text": _age_text(document), "not_judged_text": "" if recipe.kinds else say("card.not_judged"),
    }


def _age_text(document: Document) -> str:
    """How old the rules on this device are, where the day is known."""
    age = checks.rules_age(document)
    if age is not None:
        return say("card.rules_age" if age != 1 else "card.rules_age_one", days=str(age))
    return say("card.rules_ahead") if document.today is not None else ""


def _close(card: dict, document: Document, messages: Messages, batch: Batch | None, dosed: bool, whole: bool = True, foretold: bool = False) -> dict:
    recipe = document.recipe
    label = document.pack_label
    name = cure_name(label.text, document.choice("pack_as")) if label else ""
    uncured = document.state == "uncured"
    dose_verdict = messages.verdict
    weighed = batch or solver.unsalted(recipe, document.meat, document.scales)
    solved, relied = batch, batch if dosed else None
    three = heat.judge(document, weighed, relied, messages, whole, card["loads"])
    dosed = dosed and three.counted != "stop"
    card["cooking"], card["cooling"] = three.cooking, three.cooling
    if batch is None or not dosed:
        # Everything but the two salts can be said without a dose.
        card["keeping"] = card["together"] = None
        batch = solver.unsalted(recipe, document.meat, document.scales)
    card["amounts"] = _amounts(document, batch, name, dosed) if batch.meat_grams else []
    if dosed and not uncured:
        card["cure"] = _cure(document, batch, name, card["amounts"]) if whole else {"name_text": name}
    if document.gross != document.meat:
        messages.add("green_weight", "note", "bone", green=on_scale(document.scales.coarse, document.meat), gross=on_scale(document.scales.coarse, document.gross))
    if dosed:
        card["mix_text"] = say("card.one_of_loads", mix=on_scale(batch.lines[0].scale, batch.mix_grams), loads=str(card["loads"])) if card["loads"] > 1 else batch.lines[0].scale.text(batch.mix_grams) if batch.lines else ""
        also = shown(second_mass(batch.mix_grams, batch.lines[0].scale.unit)) if batch.lines and card["loads"] == 1 else ""
        card["mix_note"] = say("card.also", also=also) if also else ""
    card["steps"] = _steps(recipe, card["amounts"], uncured, dosed, three.steps(), checks.days_in_the_cold(document, batch) if recipe.method != "ground" else None)
    if recipe.raw:
        messages.add("raw", "note", "recipe")
    elif dosed and document.state != "uncured":
        messages.add("thermometer", "note")
    if not dosed:
        messages.drop(DOSES)
    card["messages"] = sorted(messages.rows, key=lambda row: -VERDICTS.index({"note": "ok"}.get(row["severity"], row["severity"])))
    card["verdict"] = worst([dose_verdict, messages.verdict, three.counted])
    if card["verdict"] == "stop":
        card["strengths"] = []
    elif whole and batch.meat_grams:
        _tell_parts(card, document, batch, dosed)
    if whole and recipe.kinds:
        card["mixing"] = mixing.tell(document, batch)
    if foretold and dose_verdict != "stop" and three.cooking and weighed.meat_grams:
        _foretell(card, document, solved or solver.uncured(recipe, document.meat, document.scales), relied, three)
    card["verdicts"] = {"dose": dose_verdict, **three.verdicts}
    if recipe.kinds:
        card["not_judged_text"] = three.open_text(recipe.raw)
    decided = three.verdict_id() if dose_verdict in ("ok", "caution") else ""
    if card["verdict"] == "incomplete" and card["confirm"] is not None:
        decided = "verdict.confirm"
    card["verdict_text"] = say(decided) if decided else say(f"verdict.{'uncured' if uncured and card['verdict'] == 'ok' else card['verdict']}")
    if recipe.raw:
        card["verdict_text"] += " " + say("message.raw")
    return card


def faulty(document: Document | None, faults: list[Fault]) -> dict:
    """The card while something typed cannot be understood: no dose, no amounts, the faults."""
    card = _frame(document) if document else {
        "schema": SCHEMA, "recipe": "", "title": "", "verdict": "incomplete", "verdicts": {}, "amounts": [], "messages": [], "cure": None, "rules_edition": rules.edition(),
    }
    card["faults"] = [fault.as_dict() for fault in faults]
    card["verdict"] = "incomplete"
    card["verdicts"] = dict.fromkeys(("dose", "cooking", "cooling"), "incomplete")
    card["verdict_text"] = say("verdict.link" if faults and all(fault.field == "link" for fault in faults) else "verdict.faulty")
    return card


def conversion(document: Document, dosed: bool) -> dict:
    """What a found recipe meant, and what would have happened had its grams been taken as written.

    document: with the recipe made by ``found_recipe``; dosed: whether the card gives a dose.
    Returns the card's ``convert`` part.
    """
    values, recipe = document.values, document.recipe
    author = values["found_pack"]
    compound = document.choice("found_pack_as")
    cure, block = values["found_cure"].value, values["found_meat"].value
    per = document.choice("found_per")
    low, high = (as_sodium_nitrite(end, compound) * cure / block for end in (author.low, author.high))
    span = ppm(high) if low == high else f"{show(low * MG, 1)}-{ppm(high)}"
    rows = [
        {"label": say("convert.nitrite"), "text": say("convert.nitrite_text", value=span, compound=say("compound.NaNO2"), per=per_text(per))},
        {"label": say("convert.salt"), "text": say("convert.salt_text", value=f"{show(carrier_salt(author.high, compound) * cure, 2)} g", label=author.text, cure=values["found_cure"].text)},
    ]
    over, _ = checks.found_over(document, as_sodium_nitrite(author.high, compound))
    result = {"rows": rows, "nitrite_mg_per_kg": {"low": number(low * MG), "high": number(high * MG)}, "sentence": "", "as_written": None}
    if over is None and rules.edition() not in document.withdrawn.editions and not packs.too_strong(author, as_sodium_nitrite(author.high, compound)):
        # A sentence to hand on is given only where what it says is within the limits.
        result["sentence"] = say("convert.sentence", value=span, compound=say("compound.NaNO2"), per=per_text(per), salt=percent(recipe.targets.salt.value))
    if document.pack and not packs.too_strong(document.pack_label, document.pack.high):
        pack = document.pack
        as_written = cure * pack.high / block
        factor = pack.high / as_sodium_nitrite(author.high, compound)
        way = "more" if factor > 1 else "less" if factor < 1 else "same"
        limit, reached = checks.found_over(document, pack.high)
        if dosed or way == "more" or limit is not None:
            text = say(f"convert.as_written_{way}", cure=values["found_cure"].text, label=document.pack_label.text, nitrite=ppm(as_written, 0), per=per_text(per), factor=show(factor, 1))
            if limit is not None:
                text += " " + say("convert.as_written_over", reached=ppm(counted_as(reached, limit.counted_as), 0, "up"), limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), limit_per=per_text(limit.per))
            result["as_written"] = {"nitrite_mg_per_kg": number(as_written * MG), "factor": number(factor), "over": limit is not None, "text": text}
    return result
