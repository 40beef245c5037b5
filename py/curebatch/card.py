"""The stages in their order: a Document in, a card of plain data out.

Every text on a card is made here from the catalogue; views only place it.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import ceil

from .batch import cure as solver
from .batch import handbook
from .batch.compounds import as_sodium_nitrite, carrier_salt, counted_as
from .batch.cure import CASES, Batch, Pack, Solved
from .batch.rounding import Scale, Scales, to_step
from .fields import BY_KEY, FIELDS
from .intake.document import Document
from .intake.faults import Fault
from .intake.numbers import plain, show
from .intake.recipe import Recipe, fill_step
from .intake.units import Amount, from_base, write_mass
from .rules import curing_time
from .rules import limits as rules
from .rules import packs
from .words import has, say

SCHEMA = 1
VERDICTS = ("ok", "caution", "incomplete", "stop")  # from mild to grave
_MG = 10**6
_TABLE_SCALE = Scale(Fraction(1, 10), "g", 1)  # of the table of strengths, where no finer one is stated


def worst(verdicts) -> str:
    """The gravest of some verdicts."""
    return max(verdicts, key=VERDICTS.index)


class _Messages:
    def __init__(self) -> None:
        self.rows: list[dict] = []

    def add(self, code: str, severity: str, field: str = "", source: str = "", **values: str) -> None:
        if any(row["code"] == code and row["field"] == field for row in self.rows):
            return
        text_id = f"message.{code}"
        own = f"source.{code}"
        self.rows.append({
            "code": code, "severity": severity, "field": field, "text": say(text_id, **values),
            "source": source or say(own if has(own) else "source.practice"),
        })

    def drop(self, codes: frozenset[str]) -> None:
        """Take back what names a dose, on a card that gives none."""
        self.rows = [row for row in self.rows if row["code"] not in codes]

    @property
    def verdict(self) -> str:
        grave = {"stop": "stop", "incomplete": "incomplete", "caution": "caution", "note": "ok"}
        return worst([grave[row["severity"]] for row in self.rows] or ["ok"])


# Sentences with grams of curing salt in them.
_DOSES = frozenset({"dose_lowered", "scale_coarse", "way_finer", "way_bigger", "way_preblend"})


def _percent(share: Fraction, places: int = 2, way: str = "nearest") -> str:
    return f"{show(share * 100, places, way)} %"


def _ppm(share: Fraction, places: int = 1, way: str = "nearest") -> str:
    return f"{show(share * _MG, places, way)} mg/kg"


def _ppm_against(share: Fraction, limit: Fraction) -> str:
    """A high end beside its limit: rounded up, with as many decimals as keep it on its own side."""
    places = 1
    while places < 6 and (Fraction(show(share * _MG, places, "up")) > limit) != (share * _MG > limit):
        places += 1
    return _ppm(share, places, "up")


_WAY = {"low": "down", "nominal": "nearest", "high": "up"}


def _per(base: str, method: str = "ground") -> str:
    """What a figure is per: the same two bases, named as the method makes them."""
    own = f"per.{base}_{method}"
    return say(own if has(own) else f"per.{base}")


def _is_belly(recipe: Recipe) -> bool:
    return recipe.belly


def _ceilings(document: Document) -> tuple[solver.Ceiling, ...]:
    found = rules.applicable(document.choice("region"), document.recipe.method, _is_belly(document.recipe))
    return tuple(limit.ceiling(document.choice("pack_as")) for limit in found)


def _source_of(limit: rules.Limit) -> str:
    return say("source.limit", document=limit.document, edition=limit.edition, clause=limit.clause, date=limit.date_read)


def _targets(recipe: Recipe) -> list[dict]:
    targets = recipe.targets
    rows = []
    if targets.nitrite is not None:
        rows.append({
            "label": say("card.target_nitrite"),
            "text": say("card.target_nitrite_text", value=_target_text(targets.nitrite, "mg/kg"), compound=say(f"compound.{targets.nitrite_as}"), per=_per(targets.nitrite_per, recipe.method)),
        })
    rows.append({"label": say("card.target_salt"), "text": say("card.target_salt_text", value=_target_text(targets.salt, "%"), per=_per(targets.salt_per, recipe.method))})
    if recipe.core is not None:
        hold = recipe.hold.text if recipe.hold else ""
        rows.append({"label": say("card.target_core"), "text": say("card.target_core_text", core=recipe.core.text, hold=hold) if hold else recipe.core.text})
    return rows


def _target_text(amount: Amount, unit: str) -> str:
    """A target as it was typed; one that was worked out, rounded for reading."""
    if amount.text:
        return amount.text
    return _ppm(amount.value) if unit == "mg/kg" else _percent(amount.value)


def _salt_label(label: str, compound: str) -> str:
    return say("card.cure_name", label=label, compound=say(f"compound.{compound}"))


def _understood(document: Document) -> list[dict]:
    rows = []
    for field in FIELDS:
        if field.key in ("recipe", "pack_check") or document.recipe.method not in field.methods:
            continue
        value = document.values.get(field.key)
        if value is None:
            if not field.default or field.key in ("nitrite_as", "nitrite_per", "salt_per", "state") or (field.group == "found" and document.recipe.id != "found"):
                continue
            text, assumed = field.default, True
        else:
            text, assumed = (value.text if isinstance(value, Amount) else value), False
        if field.kind == "choice":
            text = say(f"choice.{field.key}.{text}")
        rows.append({"key": field.key, "label": say(f"field.{field.key}.label"), "text": say("card.assumed", text=text) if assumed else text})
    if "meat" not in document.values:
        rows.insert(0, {"key": "meat", "label": say("field.meat.label"), "text": say("card.published_batch", text=write_mass(document.recipe.meat, "g", 0))})
    return rows


def _amounts(batch: Batch, cure_name: str, with_cure: bool, stated: str = "") -> list[dict]:
    """What to weigh, in the order of weighing: meat and fat, then the two salts, then the rest."""
    meat, mix = batch.meat_grams, batch.mix_grams
    block = [line for line in batch.lines if line.role in ("meat", "fat")]
    rest = [line for line in batch.lines if line.role not in ("meat", "fat")]
    salts = [line for line in (batch.cure, batch.salt if batch.salt.grams else None) if line] if with_cure else []
    rows = []
    for line in (*block, *salts, *rest):
        name = {"curing_salt": cure_name, "salt": say("card.plain_salt")}.get(line.role, line.name)
        text = line.scale.text(line.weighed)
        note = ""
        if line.weighed == 0 and line.grams > 0:
            # Under one step the scale shows nothing: say what the recipe wants.
            text = f"{show(line.grams, 3 if line.grams < Fraction(1, 10) else 2)} g"
            note = say("card.under_a_step")
        elif line.role == "curing_salt" and stated:
            # Judged as it was typed, so shown as it was typed, whatever the scale can show.
            text = stated
        grams = line.weighed or line.grams
        of_meat, of_mix = _percent(grams / meat), _percent(grams / mix)
        rows.append({
            "id": line.id, "name": name, "role": line.role, "role_text": say(f"role.{line.role}"), "grams": _number(grams),
            "weigh": {"value": show(from_base(grams, line.scale.unit), line.scale.places), "unit": line.scale.unit, "text": text}, "on": line.scale.text(line.scale.step),
            "percent_of_meat": _number(grams / meat * 100), "percent_of_mix": _number(grams / mix * 100),
            "percent_of_meat_text": say("card.of_meat", share=of_meat), "percent_of_mix_text": say("card.of_mix" if batch.method == "ground" else "card.of_all", share=of_mix), "note": note,
        })
    return rows


def _grams(value: Fraction) -> Amount:
    return Amount(value, value, "g", write_mass(value, "g", 1))


def _number(value: Fraction) -> float:
    """For readers of the JSON; nothing is computed from it again."""
    return float(round(value, 6))


def _three(batch: Batch, compound: str) -> dict:
    return {
        base: {case: _number(counted_as(batch.nitrite(base, case), compound) * _MG) for case in CASES} for base in ("meat", "mix")
    }


def _cure(document: Document, batch: Batch, name: str, rows_to_weigh: list[dict]) -> dict:
    """The cure as figures and as texts."""
    rows = []
    for base in ("meat", "mix"):
        for compound in ("NaNO2", "NO2-"):
            rows.append({
                "label": say(f"card.nitrite_as_{'salt' if compound == 'NaNO2' else 'ion'}"),
                "per_text": _per(base, batch.method),
                **{case: _ppm(counted_as(batch.nitrite(base, case), compound), 1, _WAY[case]) for case in CASES},
            })
        rows.append({"label": say("card.salt_in_all"), "per_text": _per(base, batch.method), **{case: _percent(batch.salt_share(base, case), 2, _WAY[case]) for case in CASES}})
    ceilings = {c.id: c for c in _ceilings(document)}
    limit_rows = []
    method, belly = document.recipe.method, _is_belly(document.recipe)
    for limit in rules.all_limits():
        if limit.role != "limit" or method not in limit.methods or (limit.cut != "any" and not belly):
            continue
        ceiling = ceilings.get(limit.id) or limit.ceiling(document.choice("pack_as"))
        high = batch.nitrite(limit.per, "high")
        limit_rows.append({
            "id": limit.id, "text": say("card.limit_name", regions=", ".join(say(f"choice.region.{r}") for r in limit.regions), clause=limit.clause),
            "value": _number(limit.value), "counted_as": limit.counted_as, "per": limit.per, "applies": limit.id in ceilings,
            "within": high <= ceiling.share,
            "low": _number(counted_as(batch.nitrite(limit.per, "low"), limit.counted_as) * _MG),
            "nominal": _number(counted_as(batch.nitrite(limit.per, "nominal"), limit.counted_as) * _MG),
            "high": _number(counted_as(high, limit.counted_as) * _MG),
            "value_text": say("card.limit_value", value=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=_per(limit.per, method)),
            "high_text": _ppm_against(counted_as(high, limit.counted_as), limit.value),
            "source_text": _source_of(limit), "document": limit.document, "edition": limit.edition, "clause": limit.clause,
            "date_read": limit.date_read, "sure": limit.sure, "sure_text": say(f"sure.{limit.sure}"),
        })
    line = batch.cure
    return {
        "grams": _number(line.weighed), "name_text": name, "weigh": next(row["weigh"] for row in rows_to_weigh if row["role"] == "curing_salt"),
        "salt_grams_added": _number(batch.salt.weighed),
        "salt_percent": {base: {case: _number(batch.salt_share(base, case) * 100) for case in CASES} for base in ("meat", "mix")},
        "nitrite_mg_per_kg": _three(batch, "NaNO2"), "nitrite_ion_mg_per_kg": _three(batch, "NO2-"),
        "nitrate_mg_per_kg": {base: dict.fromkeys(CASES, 0.0) for base in ("meat", "mix")},
        "rows": rows, "limits": limit_rows, "picture": _picture(document, batch, tuple(ceilings.values())),
    }


def _picture(document: Document, batch: Batch, ceilings: tuple[solver.Ceiling, ...]) -> dict | None:
    """Numbers for the drawing: the binding limit, on its own base."""
    if not ceilings:
        return None
    tight = max(ceilings, key=lambda c: batch.nitrite(c.per, "high") / c.share)
    numbers = {case: batch.nitrite(tight.per, case) * _MG for case in CASES}
    floor = next((t for t in rules.applicable(document.choice("region"), document.recipe.method, False, "threshold") if t.per == tight.per), None)
    top = max(numbers["high"], tight.share * _MG) * Fraction(5, 4)
    return {
        "unit": "mg/kg", **{case: _number(value) for case, value in numbers.items()}, "limit": _number(tight.share * _MG),
        "threshold": _number(floor.share * _MG) if floor else None, "top": _number(top), "per_text": _per(tight.per, batch.method),
    }


def _strengths(document: Document, recipe: Recipe) -> list[dict]:
    """The table of common strengths: each row one whole answer, on the same solver as the card."""
    rows = []
    scales = Scales(document.scales.coarse, document.scales.fine or _TABLE_SCALE)
    for label in packs.known_labels():
        pack = Pack.of(label, "NaNO2")
        solved = solver.solve(recipe, document.meat, pack, scales, _ceilings(document))
        row = {"percent": label.text, "cure_text": "", "salt_text": "", "why": ""}
        if solved.batch:
            row["cure_text"] = solved.batch.cure.scale.text(solved.batch.cure.weighed)
            row["salt_text"] = solved.batch.salt.scale.text(solved.batch.salt.weighed)
            row["text"] = say("card.strength_row", percent=label.text, cure=row["cure_text"], salt=row["salt_text"])
        elif solved.conflict:
            row["why"] = say("card.strength_salty", brought=_percent(solved.conflict.salt_brought), wanted=_percent(solved.conflict.salt_wanted))
            row["text"] = say("card.strength_why", percent=label.text, why=row["why"])
        else:
            row["why"] = say("card.strength_no_dose")
            row["text"] = say("card.strength_why", percent=label.text, why=row["why"])
        rows.append(row)
    return rows


def _ask_about_pack(document: Document, messages: _Messages) -> dict | None:
    """What must be settled about the pack before any weight is shown; messages say it."""
    label, pack = document.pack_label, document.pack
    nitrate = document.values.get("pack_nitrate")
    if isinstance(nitrate, Amount) and nitrate.high > 0:
        messages.add("nitrate_refused", "stop", "pack_nitrate", label=nitrate.text)
        return None
    if label is None:
        messages.add("pack_needed", "incomplete", "pack")
        return None
    if packs.too_strong(label, pack.high):
        messages.add("pack_too_strong", "stop", "pack", label=label.text)
        return None
    if not label.low:
        messages.add("pack_maximum", "caution", "pack", label=label.text)
    if document.pack_id in document.confirmed:
        return None
    doubts = packs.doubts(label, pack.low, pack.high)
    for doubt in doubts:
        messages.add(f"pack_{doubt}", "incomplete", "pack", label=label.text)
    if document.from_link:
        messages.add("pack_from_link", "incomplete", "pack", name=_salt_label(label.text, document.choice("pack_as")))
    if doubts or document.from_link:
        return {"label": document.pack_id, "text": say("card.confirm_text", name=_salt_label(label.text, document.choice("pack_as")))}
    return None


def _conflict(solved: Solved, recipe: Recipe, label: str, messages: _Messages) -> None:
    conflict = solved.conflict
    messages.add(
        "targets_exclude", "stop", "salt", label=label, brought=_percent(conflict.salt_brought, 2, "up"), wanted=_percent(conflict.salt_wanted),
        per=_per(recipe.targets.salt_per, recipe.method), nitrite=_ppm(counted_as(conflict.nitrite_possible, recipe.targets.nitrite_as), 0, "down"),
        compound=say(f"compound.{recipe.targets.nitrite_as}"), nitrite_per=_per(recipe.targets.nitrite_per, recipe.method),
        strength=_percent(conflict.strength_needed, 2, "up"),
    )


def _limit_by_id(limit_id: str) -> rules.Limit:
    return next(limit for limit in rules.all_limits() if limit.id == limit_id)


def _say_lowered(solved: Solved, messages: _Messages) -> None:
    batch, scale = solved.batch, solved.batch.cure.scale
    limit = _limit_by_id(solved.lowered_for.id)
    messages.add(
        "dose_lowered", "note", "nitrite", source=_source_of(limit), wished=write_mass(solved.wished, "g", 2), dose=scale.text(batch.cure.weighed),
        label=batch.pack.label, limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=_per(limit.per, batch.method),
        high=_ppm_against(counted_as(batch.nitrite(limit.per, "high"), limit.counted_as), limit.value), step=scale.text(scale.step),
    )


def _say_basis(document: Document, batch: Batch, messages: _Messages) -> None:
    """Where a limit counts the whole mix and the meat alone would read over it, say so: the trap is the base."""
    for limit in rules.applicable(document.choice("region"), document.recipe.method, _is_belly(document.recipe)):
        if limit.per == "mix" and batch.nitrite("meat", "nominal") > limit.share:
            messages.add(
                "basis_decides", "note", "nitrite_per", source=_source_of(limit), limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"),
                meat=_ppm(counted_as(batch.nitrite("meat", "nominal"), limit.counted_as)), mix=_ppm(counted_as(batch.nitrite("mix", "nominal"), limit.counted_as)),
            )


_LEAST_CURE = Fraction(100, 10**6)  # "curing means 100 to 200 ppm": CFIA Manual of Procedures, 4.13.1


def _reliance(document: Document, batch: Batch, messages: _Messages) -> bool | None:
    """Whether the low end may be relied on for keeping; None where the region names no threshold."""
    thresholds = rules.applicable(document.choice("region"), document.recipe.method, _is_belly(document.recipe), "threshold")
    if not thresholds:
        messages.add("no_threshold", "note")
        return None
    for limit in thresholds:
        low = batch.nitrite(limit.per, "low")
        if low < limit.share:
            # Where the region is not known, limits and thresholds of different countries
            # can leave no room between them: then nothing is relied on, and it is said.
            messages.add(
                "too_little", "note" if document.choice("region") == "strictest" and low >= _LEAST_CURE else "caution", "nitrite", source=_source_of(limit), low=_ppm(counted_as(low, limit.counted_as), 1, "down"),
                per=_per(limit.per, batch.method), least=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"),
            )
            return False
    return True


def _scale_messages(document: Document, batch: Batch, messages: _Messages) -> None:
    line = batch.cure
    if not line.weighed:
        return
    part = line.scale.error / line.weighed
    if part > Fraction(1, 20):
        messages.add("scale_coarse", "caution" if part > Fraction(1, 5) else "note", "fine_scale", step=line.scale.text(line.scale.step), dose=line.scale.text(line.weighed), label=batch.pack.label, part=_percent(part, 0, "up"))


def _judge_found(document: Document, messages: _Messages) -> None:
    """The author's own sentence, before it is turned into anything: it may be the wrong one."""
    author = document.values["found_pack"]
    low, high = (as_sodium_nitrite(end, document.choice("found_pack_as")) for end in (author.low, author.high))
    if packs.too_strong(author, high):
        messages.add("found_pack_too_strong", "stop", "found_pack", label=author.text)
        return
    if packs.doubts(author, low, high):
        messages.add("found_pack_doubtful", "caution", "found_pack", label=author.text)
    limit, reached = _found_over(document, high)
    if limit is None:
        return
    times = reached / limit.share
    messages.add(
        "found_far_over" if times > 2 else "found_over", "stop" if times > 2 else "caution", "found_cure", source=_source_of(limit),
        reached=_ppm(counted_as(reached, limit.counted_as), 0, "up"), limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=_per(limit.per),
    )


def _found_over(document: Document, strength: Fraction) -> tuple[rules.Limit | None, Fraction]:
    """The limit that the author's grams pass furthest with a salt of ``strength``, and what they reach."""
    values = document.values
    cure, block = values["found_cure"].value, values["found_meat"].value
    rest = sum((values[key].value for key in ("found_salt", "found_other") if key in values), Fraction(0)) + cure
    meat = block if document.choice("found_per") == "meat" else block - rest
    found: tuple[rules.Limit | None, Fraction] = (None, Fraction(0))
    for limit in rules.applicable(document.choice("region"), "ground", False):
        reached = cure * strength / (meat if limit.per == "meat" else meat + rest)
        if reached > limit.share and (found[0] is None or reached / limit.share > found[1] / found[0].share):
            found = (limit, reached)
    return found


def _judge_stated(document: Document, batch: Batch, messages: _Messages) -> None:
    """A dose that the cook states is judged on its high end; none is put right by guessing."""
    for ceiling in _ceilings(document):
        high = batch.nitrite(ceiling.per, "high")
        if high > ceiling.share:
            limit = _limit_by_id(ceiling.id)
            messages.add(
                "stated_over", "stop", "stated", source=_source_of(limit), stated=document.values["stated"].text,
                label=batch.pack.label, high=_ppm(counted_as(high, limit.counted_as), 0, "up"), limit=f"{plain(limit.value)} mg/kg",
                compound=say(f"compound.{limit.counted_as}"), per=_per(limit.per, batch.method),
            )
            return
    targets = document.recipe.targets
    wanted = targets.nitrite
    got = counted_as(batch.nitrite(targets.nitrite_per, "high"), targets.nitrite_as)
    if got < wanted.value * Fraction(3, 4):
        messages.add("stated_weak", "caution", "stated", high=_ppm(got), wanted=_target_text(wanted, "mg/kg"), per=_per(targets.nitrite_per, batch.method))
    salty = batch.salt_share(targets.salt_per, "nominal")
    if batch.salt.weighed == 0 and salty > targets.salt.value * Fraction(102, 100):
        messages.add("stated_salty", "caution", "stated", salt=_percent(salty), wanted=_target_text(targets.salt, "%"), per=_per(targets.salt_per, batch.method))


def _judge_piece(document: Document, messages: _Messages) -> None:
    """Whether a whole piece can be cured as the recipe says: bone and thickness."""
    method = document.recipe.method
    if method not in ("dry", "brine"):
        return
    if document.grams("bone"):
        messages.add("bone_in", "stop", "bone", method=say(f"method.{method}"))
    thickness = document.values.get("thickness")
    if isinstance(thickness, Amount) and thickness.value > curing_time.THICKEST:
        messages.add("too_thick", "stop", "thickness", read=thickness.text, most=f"{plain(curing_time.THICKEST * 1000)} mm", method=say(f"method.{method}"))


def _say_days(document: Document, batch: Batch, messages: _Messages) -> None:
    thickness = document.values.get("thickness")
    method = document.recipe.method
    if method != "injected" and not isinstance(thickness, Amount):
        messages.add("thickness_needed", "note", "thickness")
        return
    metres = thickness.value if isinstance(thickness, Amount) else Fraction(1, 100)
    found = curing_time.days(metres, batch.meat_grams, method)
    messages.add(f"days_{method}", "note", "thickness", first=str(found.first), last=str(found.last))


def _say_ground(document: Document, batch: Batch, messages: _Messages) -> None:
    if document.state == "not_held":
        messages.add("not_held", "note", "state")
    elif any(i.role == "accelerator" for i in document.recipe.ingredients):
        messages.add("accelerated", "note", "state")
    else:
        messages.add("held", "note", "state")


def _say_dry(document: Document, batch: Batch, messages: _Messages) -> None:
    messages.add("dry_all_counted", "note")
    _say_days(document, batch, messages)


def _say_brine(document: Document, batch: Batch, messages: _Messages) -> None:
    """Both of the handbook's methods side by side: they differ by the pick-up against the whole soak."""
    pick_up = document.recipe.pick_up.value if document.recipe.pick_up else Fraction(1, 10)
    nitrite = batch.pack.nitrite("high") * batch.cure.off(1)
    by_pick_up = handbook.immersed_by_pick_up(nitrite, pick_up, batch.pickle_grams)
    messages.add("brine_two_methods", "note", "pick_up", pick_up=_percent(pick_up, 0), one=_ppm(by_pick_up), two=_ppm(batch.nitrite("meat", "high"), 1, "up"))
    messages.add("pickle_order", "note")
    _say_days(document, batch, messages)


def _say_injected(document: Document, batch: Batch, messages: _Messages) -> None:
    scale, into = document.scales.coarse, batch.pumped.weighed
    if batch.pickle_grams < into + scale.error:
        messages.add("pickle_short", "stop", "pump", pickle=scale.text(batch.pickle_grams), needed=scale.text(into))
        return
    meat = batch.meat_grams
    messages.add("pump_to", "note", "pump", pump=_percent(document.recipe.pump.value, 0), green=scale.text(meat), into=scale.text(into), after=scale.text(meat + into))
    left = batch.left_in_the_rest()
    carried = batch.nitrite("meat", "high")
    ceilings = [c for c in _ceilings(document) if c.per == "meat" and left > c.share]
    # Per kilo of the pumped cut the same soak reads less by the pump.
    ceilings += [c for c in _ceilings(document) if c.per == "mix" and left / (1 + document.recipe.pump.value) > c.share]
    messages.add("pump_rest_over" if ceilings else "pump_rest", "note", "pump", carried=_ppm(carried, 1, "up"), left=_ppm(left, 1, "up"))
    messages.add("pickle_order", "note")
    _say_days(document, batch, messages)


_SAY_METHOD = {"ground": _say_ground, "dry": _say_dry, "brine": _say_brine, "injected": _say_injected}

_SURE_ENOUGH = Fraction(1, 20)  # of a dose: more than this off, and the ways out are worked out


def _say_ways(document: Document, batch: Batch, messages: _Messages) -> None:
    """Where the scale makes the dose uncertain: three ways out, each with its own error."""
    line, scale = batch.cure, batch.cure.scale
    if not line.weighed or scale.error <= _SURE_ENOUGH * line.weighed:
        return
    recipe, scales, pack = document.recipe, document.scales, batch.pack

    def span(other: Batch) -> str:
        return say("card.span", low=_ppm(other.nitrite("mix", "low"), 0, "down"), high=_ppm(other.nitrite("mix", "high"), 0, "up"), per=_per("mix", batch.method))

    step = Fraction(1)
    while step > line.weighed * _SURE_ENOUGH:
        step /= 10
    if step >= Fraction(1, 1000):
        fine = Scale(step, "g", len(plain(step).partition(".")[2]))
        better = solver.solve(recipe, document.meat, pack, Scales(scales.coarse, fine), _ceilings(document)).batch
        if better:
            messages.add("way_finer", "note", "fine_scale", step=fine.text(step), dose=fine.text(better.cure.weighed), label=pack.label, span=span(better))
    times = ceil(scale.error / _SURE_ENOUGH / line.weighed)
    bigger = solver.solve(recipe, document.meat * times, pack, scales, _ceilings(document)).batch
    if bigger:
        messages.add("way_bigger", "note", "meat", meat=scales.coarse.text(bigger.meat_grams), dose=scale.text(bigger.cure.weighed), label=pack.label, span=span(bigger))
    _say_preblend(document, batch, messages, span)


_SHARE_STEPS = 100  # the share of a pre-blend is weighed to a hundredth
_BLEND_STEPS = 30  # and the curing salt in the whole of it to a thirtieth


def _say_preblend(document: Document, batch: Batch, messages: _Messages, span) -> None:
    """A dose dissolved in the recipe's own cold water: enough for the scale, and a weighed share of it."""
    scale, pack = batch.cure.scale, batch.pack
    water = sum((line.weighed for line in batch.lines if line.role in ("water", "ice")), Fraction(0))
    share = _SHARE_STEPS * scale.step
    dose = batch.cure.weighed
    # Solved as on a scale that is off by a twentieth of the dose: what the blend achieves.
    off = solver.solve(document.recipe, document.meat, pack, Scales(document.scales.coarse, Scale(dose * _SURE_ENOUGH, "g", 3)), _ceilings(document)).batch
    if off is None or not off.cure.weighed:
        return
    dose = off.cure.weighed
    times = ceil(_BLEND_STEPS * scale.step / dose)
    salt = times * dose
    whole = times * share
    salt_weighed = to_step(salt, scale.step, "down")
    error = scale.step / salt_weighed + scale.step / whole + scale.step / share
    # The water in the share must be water that the recipe has, and must dissolve its salt with ease.
    if share - dose > water or salt_weighed * 5 > whole or error > _SURE_ENOUGH:
        return
    messages.add(
        "way_preblend", "note", "fine_scale", salt=scale.text(salt_weighed), label=pack.label, water=scale.text(whole - salt_weighed), whole=scale.text(whole), share=scale.text(share),
        less=scale.text(to_step(share - dose, scale.step, "nearest")), error=_percent(error, 1, "up"), span=span(off),
    )


_SALTED = Fraction(21, 20)  # room for the salts, before they are known


def _loads(document: Document) -> int:
    """How many bowls the batch takes: 1 where the bowl holds it, or is not stated."""
    bowl = document.grams("bowl")
    if bowl is None or document.recipe.method != "ground":
        return 1
    return max(1, ceil(solver.unsalted(document.recipe, document.meat, document.scales).mix_grams * _SALTED / bowl))


def _handling(document: Document) -> list[dict]:
    rows = []
    poultry = "poultry" in document.recipe.kinds
    for name in ("raw_held", "tasting", "brine", "strong_salt", "storing", "hot_holding", "reheating", "keeping", "who"):
        if document.state == "uncured" and name in ("strong_salt", "storing"):
            continue
        if name in ("raw_held", "tasting") and document.recipe.method != "ground" or name == "brine" and document.recipe.method not in ("brine", "injected"):
            continue
        prefix = f"handling.{name}"
        text_id = f"{prefix}.text_poultry" if poultry and has(f"{prefix}.text_poultry") else f"{prefix}.text"
        rows.append({"title": say(f"{prefix}.title"), "text": say(text_id), "source": say(f"{prefix}.source")})
    return rows


def _steps(recipe: Recipe, rows: list[dict], uncured: bool, dosed: bool) -> list[dict]:
    figures = {"curing_salt": say("card.step_curing_salt"), "salt": say("card.plain_salt")}
    figures["core"] = recipe.core.text if recipe.core else say("card.step_core")
    figures["hold"] = recipe.hold.text if recipe.hold else say("card.step_hold")
    by_id = {row["id"]: row for row in rows}
    for item in recipe.ingredients:
        row = by_id.get(item.id)
        figures[item.id] = say("card.step_amount", amount=row["weigh"]["text"], name=item.name) if row else item.name
    if dosed:
        for row in rows:
            if row["role"] in ("curing_salt", "salt"):
                figures[row["role"]] = say("card.step_amount", amount=row["weigh"]["text"], name=row["name"])
    if uncured:
        figures["curing_salt"] = say("card.step_no_cure")
    return [{"text": fill_step(step, figures)} for step in recipe.steps]


def make(document: Document) -> dict:
    """The card for a document.

    document: recipe, changes and kitchen as read.
    Returns plain data, JSON-ready. Under ``stop`` and ``incomplete`` it names no
    dose: no curing salt, and no plain salt, which hangs on it.
    """
    recipe = document.recipe
    messages = _Messages()
    card = _frame(document)
    loads = _loads(document)
    if loads > 1:
        # Each load gets a cure of its own, so each is solved and judged by itself.
        document = replace(document, values={**document.values, "meat": _grams(document.gross / loads)})
        card["loads"] = loads
        messages.add("loads", "note", "bowl", loads=str(loads), meat=document.scales.coarse.text(document.meat))
    if not solver.unsalted(recipe, document.meat, document.scales).meat_grams:
        messages.add("scale_useless", "stop", "scale", step=document.scales.coarse.text(document.scales.coarse.step), meat=write_mass(document.meat, "g", 0))
        return _close(card, document, messages, None, False)
    _judge_piece(document, messages)
    if messages.verdict == "stop":
        return _close(card, document, messages, None, False)
    if not solver.possible(recipe, document.meat):
        messages.add("targets_impossible", "stop", "salt", wanted=_target_text(recipe.targets.salt, "%"), per=_per(recipe.targets.salt_per, recipe.method))
        return _close(card, document, messages, None, False)
    if document.state == "uncured":
        batch = solver.uncured(recipe, document.meat, document.scales)
        messages.add("uncured", "note", "state")
        return _close(card, document, messages, batch, True)
    card["strengths"] = _strengths(document, recipe)
    card["confirm"] = _ask_about_pack(document, messages)
    dosed, batch = False, None
    if messages.verdict in ("ok", "caution"):
        pack = document.pack
        if recipe.id == "found":
            _judge_found(document, messages)
        stated = document.grams("stated")
        if messages.verdict in ("stop", "incomplete"):
            pass
        elif stated is not None:
            batch = solver.judge_stated(recipe, document.meat, pack, document.scales, stated)
            _judge_stated(document, batch, messages)
        else:
            solved = solver.solve(recipe, document.meat, pack, document.scales, _ceilings(document))
            batch = solved.batch
            if solved.conflict:
                _conflict(solved, recipe, pack.label, messages)
            elif solved.impossible:
                messages.add("targets_impossible", "stop", "salt", wanted=_target_text(recipe.targets.salt, "%"), per=_per(recipe.targets.salt_per, recipe.method))
            elif solved.no_dose:
                messages.add("no_dose", "stop", "fine_scale", step=document.scales.for_cure.text(document.scales.for_cure.step), wished=write_mass(solved.wished, "g", 2), label=pack.label)
            elif solved.lowered_for:
                _say_lowered(solved, messages)
        if batch is not None and messages.verdict in ("ok", "caution"):
            dosed = True
            card["keeping"] = _reliance(document, batch, messages)
            _scale_messages(document, batch, messages)
            _say_basis(document, batch, messages)
            if recipe.id == "found" and "found_other" not in document.values:
                messages.add("mix_unknown", "note", "found_other")
            _say_ways(document, batch, messages)
            _SAY_METHOD[recipe.method](document, batch, messages)
            if recipe.method in ("brine", "injected") and solver.brine_strength(batch) > solver.SATURATED:
                messages.add("pickle_saturated", "stop", "salt", strength=_percent(solver.brine_strength(batch), 1, "up"), most=_percent(solver.SATURATED, 1))
            if messages.verdict == "stop":
                dosed = False
    return _close(card, document, messages, batch, dosed)


def _frame(document: Document) -> dict:
    recipe = document.recipe
    return {
        "schema": SCHEMA, "recipe": recipe.ref, "title": recipe.title, "summary": recipe.summary, "author": recipe.author, "method": recipe.method, "state": document.state, "raw": recipe.raw,
        "verdict": "incomplete", "verdict_text": "", "verdicts": {}, "faults": [], "amounts": [], "mix_text": "", "cure": None, "keeping": None, "loads": 1,
        "strengths": [], "targets": _targets(recipe), "messages": [], "understood": _understood(document), "handling": _handling(document),
        "steps": [], "confirm": None, "convert": None, "rules_edition": rules.edition(), "not_judged_text": say("card.not_judged"),
    }


def _close(card: dict, document: Document, messages: _Messages, batch: Batch | None, dosed: bool) -> dict:
    recipe = document.recipe
    label = document.pack_label
    name = _salt_label(label.text, document.choice("pack_as")) if label else ""
    uncured = document.state == "uncured"
    if batch is None or not dosed:
        # Everything but the two salts can be said without a dose.
        card["keeping"] = None
        batch = solver.unsalted(recipe, document.meat, document.scales)
    stated = document.values.get("stated")
    card["amounts"] = _amounts(batch, name, dosed, stated.text if isinstance(stated, Amount) else "") if batch.meat_grams else []
    if dosed and not uncured:
        card["cure"] = _cure(document, batch, name, card["amounts"])
    if document.gross != document.meat:
        messages.add("green_weight", "note", "bone", green=document.scales.coarse.text(document.meat), gross=document.scales.coarse.text(document.gross))
    if dosed:
        card["mix_text"] = say("card.one_of_loads", mix=batch.lines[0].scale.text(batch.mix_grams), loads=str(card["loads"])) if card["loads"] > 1 else batch.lines[0].scale.text(batch.mix_grams) if batch.lines else ""
    card["steps"] = _steps(recipe, card["amounts"], uncured, dosed)
    if recipe.raw:
        messages.add("raw", "note", "recipe")
    elif dosed and document.state != "uncured":
        messages.add("thermometer", "note")
    if not dosed:
        messages.drop(_DOSES)
    card["messages"] = sorted(messages.rows, key=lambda row: -VERDICTS.index({"note": "ok"}.get(row["severity"], row["severity"])))
    card["verdict"] = messages.verdict
    if card["verdict"] == "stop":
        card["strengths"] = []
    card["verdicts"] = {"dose": card["verdict"]}
    card["verdict_text"] = say(f"verdict.{'uncured' if uncured and card['verdict'] == 'ok' else card['verdict']}")
    if recipe.raw:
        card["verdict_text"] += " " + say("message.raw")
    return card


def faulty(document: Document | None, faults: list[Fault]) -> dict:
    """The card while something typed cannot be understood: no dose, no amounts, the faults."""
    card = _frame(document) if document else {
        "schema": SCHEMA, "recipe": "", "title": "", "verdict": "incomplete", "verdicts": {"dose": "incomplete"}, "amounts": [], "messages": [], "cure": None, "rules_edition": rules.edition(),
    }
    card["faults"] = [fault.as_dict() for fault in faults]
    card["verdict"] = "incomplete"
    card["verdicts"] = {"dose": "incomplete"}
    card["verdict_text"] = say("verdict.faulty")
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
    span = _ppm(high) if low == high else f"{show(low * _MG, 1)}-{_ppm(high)}"
    rows = [
        {"label": say("convert.nitrite"), "text": say("convert.nitrite_text", value=span, compound=say("compound.NaNO2"), per=_per(per))},
        {"label": say("convert.salt"), "text": say("convert.salt_text", value=f"{show(carrier_salt(author.high, compound) * cure, 2)} g", label=author.text, cure=values["found_cure"].text)},
    ]
    over, _ = _found_over(document, as_sodium_nitrite(author.high, compound))
    result = {"rows": rows, "nitrite_mg_per_kg": {"low": _number(low * _MG), "high": _number(high * _MG)}, "sentence": "", "as_written": None}
    if over is None and not packs.too_strong(author, as_sodium_nitrite(author.high, compound)):
        # A sentence to hand on is given only where what it says is within the limits.
        result["sentence"] = say("convert.sentence", value=span, compound=say("compound.NaNO2"), per=_per(per), salt=_percent(recipe.targets.salt.value))
    if document.pack and not packs.too_strong(document.pack_label, document.pack.high):
        pack = document.pack
        as_written = cure * pack.high / block
        factor = pack.high / as_sodium_nitrite(author.high, compound)
        way = "more" if factor > 1 else "less" if factor < 1 else "same"
        limit, _ = _found_over(document, pack.high)
        if dosed or way == "more" or limit is not None:
            text = say(f"convert.as_written_{way}", cure=values["found_cure"].text, label=document.pack_label.text, nitrite=_ppm(as_written, 0), per=_per(per), factor=show(factor, 1))
            if limit is not None:
                text += " " + say("convert.as_written_over", limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), limit_per=_per(limit.per))
            result["as_written"] = {"nitrite_mg_per_kg": _number(as_written * _MG), "factor": _number(factor), "over": limit is not None, "text": text}
    return result
