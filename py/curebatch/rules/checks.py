"""The checks: what the rules, the scale and the method say of a document and its batch.

Each takes a Document, and a Batch where there is one, and adds its sentences to the messages.
"""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from math import ceil

from ..batch import cure as solver
from ..batch.compounds import as_sodium_nitrite, counted_as
from ..batch.cure import Batch, Solved
from ..batch.rounding import Scale, Scales, to_step
from ..figures import cure_name, dosed, on_scale, percent, per_text, ppm, ppm_against, target_text
from ..intake.document import Document
from ..intake.faults import clip
from ..intake.ingredients import BLOCK, bone_in
from ..intake.numbers import plain
from ..intake.processes import doubted
from ..intake.recipe import Recipe, fill_step
from ..intake.signs import spoken
from ..intake.units import Amount
from ..measures import dose as dose_text, length
from ..messages import Messages
from ..words import say
from . import curing_time, packs
from . import limits as rules

def ceilings_for(document: Document) -> tuple[solver.Ceiling, ...]:
    found = rules.applicable(document.choice("region"), document.recipe.method, document.recipe.belly)
    return tuple(limit.ceiling(document.choice("pack_as")) for limit in found)


def source_of(limit: rules.Limit) -> str:
    return say("source.limit", document=limit.document, edition=limit.edition, clause=limit.clause, date=limit.date_read)


def high_end(share: Fraction, per: str, compound: str = "NaNO2", places: int = 1) -> str:
    """A high end as text: never on another side of a limit that counts the same, per the same, than the figure itself."""
    limits = {limit.value for limit in rules.all_limits() if limit.role == "limit" and limit.per == per and limit.counted_as == compound}
    return ppm_against(counted_as(share, compound), *limits, places=places)


def _limit_by_id(limit_id: str) -> rules.Limit:
    return next(limit for limit in rules.all_limits() if limit.id == limit_id)


RULES_OLD_DAYS = 365  # a rule of ours: the limits themselves change every few years


def judge_withdrawn(document: Document, messages: Messages) -> None:
    """Whether the recipe, or the rules themselves, were taken back."""
    for code, key, list_ in (
        ("recipe_withdrawn", document.recipe.ref, document.withdrawn.recipes),
        ("rules_withdrawn", rules.edition(), document.withdrawn.editions),
    ):
        if key in list_:
            messages.add(code, "stop", "recipe", what=key, reason=list_[key] or say("card.no_reason"))


def judge_age(document: Document, messages: Messages) -> None:
    """Whether the rules on this device are so old that a newer edition should be looked for."""
    age = rules_age(document)
    if age is not None and age > RULES_OLD_DAYS:
        messages.add("rules_old", "note", "recipe", edition=rules.edition(), days=str(age))


def judge_revision(document: Document, messages: Messages) -> None:
    """Whether there is a newer revision of the recipe, and what changed since."""
    if document.newer is not None:
        changes = " ".join(document.changes)
        messages.add(
            "newer_revision", "note", "recipe", source=say("source.newer_revision"), revision=str(document.recipe.revision), newer=str(document.newer.revision),
            changes=say("card.changed", changes=changes) if changes else say("card.changed_unsaid"),
        )


def judge_words(document: Document, messages: Messages) -> None:
    """Whether the recipe's own words say what nobody should do: each is quoted, with what to do instead."""
    for recipe in (document.recipe, *((document.beside.recipe,) if document.beside else ())):
        names = {"core": "…", "hold": "…", "salt": say("card.plain_salt"), "curing_salt": say("role.curing_salt")} | {line.id: line.name for line in recipe.ingredients}
        for text in (recipe.title, recipe.summary, *recipe.steps):
            for code, sentence in doubted(text):
                messages.add(code, "caution", "recipe", read=clip(fill_step(sentence, names)))


def judge_bone(document: Document, messages: Messages) -> None:
    """Whether a name says that there is a bone in what the dose is worked out for; the weight of the bone, once stated, settles it."""
    if document.grams("bone") is not None:
        return
    for recipe in (document.recipe, *((document.beside.recipe,) if document.beside else ())):
        for name in (*(line.name for line in recipe.ingredients if line.role in BLOCK and line.share), recipe.cut, recipe.title):
            if bone_in(spoken(name)):
                messages.add("bone_named", "caution", "bone" if recipe.method != "ground" else "meat", name=clip(name))
                break


def rules_age(document: Document) -> int | None:
    """Age of the rules [days]; None where the day is not known, or the clock is behind the rules."""
    if document.today is None:
        return None
    age = (document.today - date.fromisoformat(rules.edition())).days
    return age if age >= 0 else None


def ask_about_pack(document: Document, messages: Messages) -> dict | None:
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
        messages.add("pack_from_link", "incomplete", "pack", name=cure_name(label.text, document.choice("pack_as")))
    if doubts or document.from_link:
        return {"label": document.pack_id, "text": say("card.confirm_text", name=cure_name(label.text, document.choice("pack_as")))}
    return None


def say_conflict(solved: Solved, recipe: Recipe, label: str, messages: Messages) -> None:
    conflict = solved.conflict
    messages.add(
        "targets_exclude", "stop", "salt", label=label, brought=percent(conflict.salt_brought, 2, "up"), wanted=percent(conflict.salt_wanted),
        per=per_text(recipe.targets.salt_per, recipe.method), nitrite=ppm(counted_as(conflict.nitrite_possible, recipe.targets.nitrite_as), 0, "down"),
        compound=say(f"compound.{recipe.targets.nitrite_as}"), nitrite_per=per_text(recipe.targets.nitrite_per, recipe.method),
        strength=percent(conflict.strength_needed, 2, "up"),
    )


def say_lowered(solved: Solved, messages: Messages) -> None:
    batch, scale = solved.batch, solved.batch.cure.scale
    limit = _limit_by_id(solved.lowered_for.id)
    messages.add(
        "dose_lowered", "note", "nitrite", source=source_of(limit), wished=dose_text(solved.wished, "g", 2), dose=dosed(scale, batch.cure.weighed),
        label=batch.pack.label, limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=per_text(limit.per, batch.method),
        high=ppm_against(counted_as(batch.nitrite(limit.per, "high"), limit.counted_as), limit.value), step=scale.text(scale.step),
    )


def say_region(document: Document, messages: Messages) -> None:
    """That a region's own rules are silent here, where the cook has chosen one: else it would seem to do nothing."""
    region = document.choice("region")
    found = rules.applicable(region, document.recipe.method, document.recipe.belly)
    if region != "strictest" and any(region not in limit.regions for limit in found):
        messages.add("region_silent", "note", "region", region=say(f"choice.region.{region}"))


def say_basis(document: Document, batch: Batch, messages: Messages) -> None:
    """Where a limit counts the whole mix and the meat alone would read over it, say so: the trap is the base."""
    for limit in rules.applicable(document.choice("region"), document.recipe.method, document.recipe.belly):
        if limit.per == "mix" and batch.nitrite("meat", "nominal") > limit.share:
            messages.add(
                "basis_decides", "note", "nitrite_per", source=source_of(limit), limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"),
                meat=ppm(counted_as(batch.nitrite("meat", "nominal"), limit.counted_as)), mix=ppm(counted_as(batch.nitrite("mix", "nominal"), limit.counted_as)),
            )


_LEAST_CURE = Fraction(100, 10**6)  # "curing means 100 to 200 ppm": CFIA Manual of Procedures, 4.13.1


def judge_reliance(document: Document, batch: Batch, messages: Messages) -> bool | None:
    """Whether the low end may be relied on for keeping; None where the region names no threshold."""
    thresholds = rules.applicable(document.choice("region"), document.recipe.method, document.recipe.belly, "threshold")
    if not thresholds:
        messages.add("no_threshold", "note")
        return None
    for limit in thresholds:
        low = batch.nitrite(limit.per, "low")
        if low < limit.share:
            # Where the region is not known, limits and thresholds of different countries can leave no
            # room between them for a whole cut: then nothing is relied on, and it is said. For ground
            # meat there is room, and not to know the region is never milder than any one of them.
            no_room = document.choice("region") == "strictest" and batch.method != "ground" and low >= _LEAST_CURE
            messages.add(
                "too_little", "note" if no_room else "caution", "nitrite", source=source_of(limit), low=ppm(counted_as(low, limit.counted_as), 1, "down"),
                per=per_text(limit.per, batch.method), least=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"),
            )
            return False
    return True


def say_scale(document: Document, batch: Batch, messages: Messages) -> None:
    line = batch.cure
    if not line.weighed:
        return
    part = line.scale.error / line.weighed
    if part > Fraction(1, 20):
        messages.add("scale_coarse", "caution" if part > Fraction(1, 5) else "note", "fine_scale", step=line.scale.text(line.scale.step), dose=dosed(line.scale, line.weighed), label=batch.pack.label, part=percent(part, 0, "up"))


FAR_OVER = 2  # a rule of ours: a target or a recipe over this many limits is a slip, not a wish


def judge_target(document: Document, messages: Messages) -> None:
    """A target far over a limit is not lowered: a digit, the compound or the base is wrong, and with it perhaps all else."""
    recipe = document.recipe
    if recipe.targets.nitrite is None:
        return
    ceilings = ceilings_for(document)
    on = {per: solver.target_on(recipe, document.meat, per) for per in {c.per for c in ceilings}}
    reached = {c.id: on[c.per] / c.share for c in ceilings}
    furthest = max(reached, key=reached.get, default="")
    if furthest and reached[furthest] > FAR_OVER:
        limit, targets = _limit_by_id(furthest), recipe.targets
        messages.add(
            "target_far_over", "stop", "nitrite", source=source_of(limit), target=target_text(targets.nitrite, "mg/kg"), target_compound=say(f"compound.{targets.nitrite_as}"),
            target_per=per_text(targets.nitrite_per, recipe.method), limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=per_text(limit.per, recipe.method),
        )


def judge_found(document: Document, messages: Messages) -> None:
    """The author's own sentence, before it is turned into anything: it may be the wrong one."""
    author = document.values["found_pack"]
    low, high = (as_sodium_nitrite(end, document.choice("found_pack_as")) for end in (author.low, author.high))
    if packs.too_strong(author, high):
        messages.add("found_pack_too_strong", "stop", "found_pack", label=author.text)
        return
    if packs.doubts(author, low, high):
        messages.add("found_pack_doubtful", "caution", "found_pack", label=author.text)
    limit, reached = found_over(document, high)
    if limit is None:
        return
    times = reached / limit.share
    messages.add(
        "found_far_over" if times > FAR_OVER else "found_over", "stop" if times > FAR_OVER else "caution", "found_cure", source=source_of(limit),
        reached=ppm(counted_as(reached, limit.counted_as), 0, "up"), limit=f"{plain(limit.value)} mg/kg", compound=say(f"compound.{limit.counted_as}"), per=per_text(limit.per),
    )


def found_over(document: Document, strength: Fraction) -> tuple[rules.Limit | None, Fraction]:
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


def judge_stated(document: Document, batch: Batch, messages: Messages) -> None:
    """A dose that the cook states is judged on its high end; none is put right by guessing."""
    for ceiling in ceilings_for(document):
        high = batch.nitrite(ceiling.per, "high")
        if high > ceiling.share:
            limit = _limit_by_id(ceiling.id)
            messages.add(
                "stated_over", "stop", "stated", source=source_of(limit), stated=document.values["stated"].text,
                label=batch.pack.label, high=ppm(counted_as(high, limit.counted_as), 0, "up"), limit=f"{plain(limit.value)} mg/kg",
                compound=say(f"compound.{limit.counted_as}"), per=per_text(limit.per, batch.method),
            )
            return
    targets = document.recipe.targets
    wanted = targets.nitrite
    got = counted_as(batch.nitrite(targets.nitrite_per, "high"), targets.nitrite_as)
    if got < wanted.value * Fraction(3, 4):
        messages.add("stated_weak", "caution", "stated", high=ppm(got), wanted=target_text(wanted, "mg/kg"), per=per_text(targets.nitrite_per, batch.method))
    salty = batch.salt_share(targets.salt_per, "nominal")
    if batch.salt.weighed == 0 and salty > targets.salt.value * Fraction(102, 100):
        messages.add("stated_salty", "caution", "stated", salt=percent(salty), wanted=target_text(targets.salt, "%"), per=per_text(targets.salt_per, batch.method))


def judge_piece(document: Document, messages: Messages) -> None:
    """Whether a whole piece can be cured as the recipe says: bone and thickness."""
    method = document.recipe.method
    if method not in ("dry", "brine"):
        return
    if document.grams("bone"):
        messages.add("bone_in", "stop", "bone", method=say(f"method.{method}"))
    thickness = document.values.get("thickness")
    if isinstance(thickness, Amount) and thickness.value > curing_time.THICKEST:
        messages.add("too_thick", "stop", "thickness", read=thickness.text, most=length(curing_time.THICKEST, "down", "mm"), method=say(f"method.{method}"))


def days_in_the_cold(document: Document, batch: Batch) -> curing_time.Days | None:
    """How long a whole cut cures; None where that hangs on a thickness that nobody stated, or that is too great."""
    thickness = document.values.get("thickness")
    method = document.recipe.method
    if method != "injected" and not isinstance(thickness, Amount):
        return None
    metres = thickness.value if isinstance(thickness, Amount) else Fraction(1, 100)
    return curing_time.days(metres, batch.meat_grams, method)


def _say_days(document: Document, batch: Batch, messages: Messages) -> None:
    found = days_in_the_cold(document, batch)
    if found is None:
        messages.add("thickness_needed", "note", "thickness")
    else:
        messages.add(f"days_{document.recipe.method}", "note", "thickness", first=str(found.first), last=str(found.last))


def _say_ground(document: Document, batch: Batch, messages: Messages) -> None:
    if document.state == "not_held":
        messages.add("not_held", "note", "state")


def _say_dry(document: Document, batch: Batch, messages: Messages) -> None:
    messages.add("dry_all_counted", "note")
    _say_days(document, batch, messages)


def _say_brine(document: Document, batch: Batch, messages: Messages) -> None:
    """Both of the handbook's methods side by side: the higher is judged."""
    one, high = batch.by_pick_up(), batch.nitrite("meat", "high")
    gain = percent(batch.pick_up, 0)
    if one < high:
        messages.add("brine_two_methods", "note", "pick_up", pick_up=gain, one=high_end(one, "meat"), two=high_end(high, "meat"))
    else:
        messages.add("brine_by_gain", "note", "pick_up", pick_up=gain, one=high_end(one, "meat"))
    messages.add("pickle_order", "note")
    _say_days(document, batch, messages)


def _say_injected(document: Document, batch: Batch, messages: Messages) -> None:
    scale, into = document.scales.coarse, batch.pumped.weighed
    if not into:
        messages.add("pump_unseen", "stop", "scale", step=scale.text(scale.step), pump=dose_text(batch.pumped.grams, "g", 1))
        return
    if batch.pickle_grams < into + scale.error:
        messages.add("pickle_short", "stop", "pump", pickle=on_scale(scale, batch.pickle_grams), needed=on_scale(scale, into))
        return
    meat = batch.meat_grams
    messages.add("pump_to", "note", "pump", pump=percent(document.recipe.pump.value, 0), green=on_scale(scale, meat), into=on_scale(scale, into), after=on_scale(scale, meat + into))
    over = [c for c in ceilings_for(document) if batch.left_in_the_rest(c.per) > c.share]
    carried, left = batch.nitrite("meat", "high"), batch.left_in_the_rest("meat")
    messages.add("pump_rest_over" if over else "pump_rest", "note", "pump", carried=high_end(carried, "meat"), left=high_end(left, "meat"))
    messages.add("pickle_order", "note")
    _say_days(document, batch, messages)


SAY_METHOD = {"ground": _say_ground, "dry": _say_dry, "brine": _say_brine, "injected": _say_injected}
_SURE_ENOUGH = Fraction(1, 20)  # of a dose: more than this off, and the ways out are worked out


def say_ways(document: Document, batch: Batch, messages: Messages) -> None:
    """Where the scale makes the dose uncertain: three ways out, each with its own error."""
    line, scale = batch.cure, batch.cure.scale
    if not line.weighed or scale.error <= _SURE_ENOUGH * line.weighed:
        return
    recipe, scales, pack = document.recipe, document.scales, batch.pack

    def span(other: Batch) -> str:
        return say("card.span", low=ppm(other.nitrite("mix", "low"), 0, "down"), high=high_end(other.nitrite("mix", "high"), "mix", places=0), per=per_text("mix", batch.method))

    step = Fraction(1)
    while step > line.weighed * _SURE_ENOUGH:
        step /= 10
    if step >= Fraction(1, 1000):
        fine = Scale(step, "g", len(plain(step).partition(".")[2]))
        better = solver.solve(recipe, document.meat, pack, Scales(scales.coarse, fine), ceilings_for(document)).batch
        if better:
            messages.add("way_finer", "note", "fine_scale", step=fine.text(step), dose=dosed(fine, better.cure.weighed), label=pack.label, span=span(better))
    times = ceil(scale.error / _SURE_ENOUGH / line.weighed)
    bigger = solver.solve(recipe, document.meat * times, pack, scales, ceilings_for(document)).batch
    if bigger:
        messages.add("way_bigger", "note", "meat", meat=on_scale(scales.coarse, bigger.meat_grams), dose=dosed(scale, bigger.cure.weighed), label=pack.label, span=span(bigger))
    _say_preblend(document, batch, messages, span)


_SHARE_STEPS = 100  # the share of a pre-blend is weighed to a hundredth
_BLEND_STEPS = 30  # and the curing salt in the whole of it to a thirtieth


def _say_preblend(document: Document, batch: Batch, messages: Messages, span) -> None:
    """A dose dissolved in the recipe's own cold water: enough for the scale, and a weighed share of it."""
    scale, pack = batch.cure.scale, batch.pack
    water = sum((line.weighed for line in batch.lines if line.role in ("water", "ice")), Fraction(0))
    share = _SHARE_STEPS * scale.step
    # Solved as on a scale that is off by a twentieth of the dose wished for, which is no
    # less than a twentieth of the dose found: the blend has to keep within that.
    step = solver.solve(document.recipe, document.meat, pack, document.scales, ceilings_for(document)).wished * _SURE_ENOUGH
    off = solver.solve(document.recipe, document.meat, pack, Scales(document.scales.coarse, Scale(step, "g", 3)), ceilings_for(document)).batch
    if off is None or not off.cure.weighed:
        return
    dose = off.cure.weighed
    times = ceil(_BLEND_STEPS * scale.step / dose)
    salt = times * dose
    whole = times * share
    salt_weighed = to_step(salt, scale.step, "down")
    # All three weighings off the same way at once.
    error = (1 + scale.step / salt_weighed) / (1 - scale.step / whole) * (1 + scale.step / share) - 1
    # The water in the share must be water that the recipe has, and must dissolve its salt with ease.
    if share - dose > water or salt_weighed * 5 > whole or error > _SURE_ENOUGH:
        return
    messages.add(
        "way_preblend", "note", "fine_scale", salt=dosed(scale, salt_weighed), label=pack.label, water=on_scale(scale, whole - salt_weighed), whole=on_scale(scale, whole), share=dosed(scale, share),
        less=dosed(scale, to_step(share - dose, scale.step, "nearest")), error=percent(error, 1, "up"), span=span(off),
    )
