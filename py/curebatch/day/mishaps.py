"""Mistakes happen: what each means, and what is to be done.

Nothing wrong is set right by guessing. Only raw batter that can still be mixed is mended,
by more of everything else, at most to double, and judged again; or by the very dose that is
known to be missing. Tenfold errors, whole cuts and what is cooked are thrown away. Where
the judgement hangs on something nobody has measured, the answer is to measure it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from ..batch import cure as solver
from ..batch.compounds import counted_as
from ..batch.cure import Batch, Ceiling, Line, Pack
from ..batch.rounding import Scale, Scales, to_step
from ..data import table
from ..intake.recipe import Recipe
from ..science.cooling_rules import Low, judge_cooling
from ..science.lethality import PROBE_ERROR
from ..science.mixing import limit_for

VERDICTS = ("fine", "mend", "measure", "throw_away", "call_first")
STAGES = ("apart", "carrier", "raw", "cooked")
"""How far it has got: still on its own; stirred into rub or pickle, no meat in it yet; on or in raw meat; cooked."""

TENFOLD = 5  # times the dose from which it counts as a slip of the decimal point; rule of this project
WEAK = Fraction(3, 4)  # of the target: less may not cure through; rule of this project, as for a stated dose
MOST_MADE = 2  # times the batch that mending may make of it: rule of this project
SALTIEST = Fraction(11, 10)  # of the salt target, after mending: rule of this project
_FINER = Fraction(101, 100)

KINDS = ("dose", "wrong_pack", "doubled", "forgot_cure", "forgot_salt", "warm_batter", "oven_off", "on_the_counter", "left_out_cold", "eaten")
"""What a page offers. "doubled" is "dose" with twice the planned weight, "wrong_pack" the same with the pack that was used."""


@dataclass(frozen=True)
class More:
    """What one line still needs: exact grams in it already, to be added, and together."""

    id: str
    name: str
    role: str
    inside: Fraction
    more: Fraction
    more_text: str
    total_text: str


@dataclass(frozen=True)
class Mishap:
    """A mistake, judged. ``code``: what it is (``mishap.CODE``); ``verdict``: one of VERDICTS; ``todo``: ids of
    what to do, in order (``mishap.todo.ID``); ``values`` fill the words; ``more``: what to add; ``batch``: what
    it then is, for the checks of reliance and salt; ``sources``: ids (``mishap.source.ID``)."""

    code: str
    verdict: str
    todo: tuple[str, ...]
    values: dict[str, object] = field(default_factory=dict)
    more: tuple[More, ...] = ()
    batch: Batch | None = None
    sources: tuple[str, ...] = ("project",)


@dataclass(frozen=True)
class Made:
    """A batch as the card has it, with what it was solved from. ``batch`` has a curing salt."""

    recipe: Recipe
    meat: Fraction  # green weight [g]
    scales: Scales
    ceilings: tuple[Ceiling, ...]
    batch: Batch

    @property
    def mixable(self) -> bool:
        return self.recipe.method == "ground"


_DISCARD = ("throw_away", "keep_from_others", "if_eaten")


def judge_dose(made: Made, weighed: Fraction, stage: str, used: Pack | None = None, inside: Mapping[str, Fraction] | None = None) -> Mishap:
    """A weighed dose of curing salt that is not the card's.

    made: the batch; weighed: curing salt that was weighed [g, 0 or more]; stage: one of STAGES; used: the
    pack it came from, if not the card's; inside: grams in the bowl by the id of the line, "salt" for the
    plain salt, where they are not as planned.
    Raises ValueError for another stage or a negative weight. Source: rules of this project on the limits of the card.
    """
    if stage not in STAGES or weighed < 0:
        raise ValueError(f"stage {stage!r}, weighed {weighed}")
    bowl = _bowl(made.batch, weighed, used or made.batch.pack, inside or {})
    other = bowl.pack != made.batch.pack
    planned = _planned(made, bowl.pack)
    values = {**_values(made, bowl, planned), "other_pack": other}
    over = solver.over(bowl, made.ceilings)
    if over is None and weighed == planned and not other:
        return Mishap("as_planned", "fine", ("go_on",), values, batch=bowl)
    if stage in ("apart", "carrier"):
        # No meat has seen it: nothing is lost by doing it again, and nothing certain gained by going on.
        fine = over is None and planned is not None and weighed >= planned * WEAK
        if fine and not other:
            return _fine(bowl, weighed, planned, values)
        return Mishap(f"dose_{stage}", "mend", ("weigh_again" if stage == "apart" else "new_carrier",), values, batch=bowl)
    if over is None:
        return _within(made, bowl, planned, stage, values)
    if planned is not None and weighed >= TENFOLD * planned:
        return Mishap("dose_tenfold", "throw_away", _DISCARD, values, batch=bowl)
    if stage == "cooked":
        return Mishap("dose_over_cooked", "throw_away", _DISCARD, values, batch=bowl)
    if not made.mixable:
        return Mishap("dose_over_whole", "throw_away", _DISCARD, values, batch=bowl)
    mended = _stretch(made, bowl, planned) if planned else None
    if mended is None:
        return Mishap("dose_over", "throw_away", _DISCARD, values, batch=bowl)
    batch, more = mended
    values |= {"factor": batch.mix_grams / bowl.mix_grams, "after": batch.nitrite("mix", "high"), "mix": batch.mix_grams}
    return Mishap("dose_stretch", "mend", ("add_more", "mix_cold", "hold_again", "label_batch"), values, more, batch)


def as_weighed(made: Made, weighed: Fraction, inside: Mapping[str, Fraction]) -> tuple[Batch, dict[str, object], bool]:
    """What a dose comes to in what was really weighed; arguments as for ``judge_dose``.

    Returns (the batch, values for the words, whether it passes a limit).
    """
    bowl = _bowl(made.batch, weighed, made.batch.pack, inside)
    return bowl, _values(made, bowl, made.batch.cure.weighed), solver.over(bowl, made.ceilings) is not None


def _bowl(batch: Batch, weighed: Fraction, pack: Pack, inside: Mapping[str, Fraction]) -> Batch:
    """The batch as it really lies there."""

    def really(line: Line) -> Line:
        return replace(line, grams=inside[line.id], weighed=inside[line.id]) if line.id in inside else line

    return replace(batch, pack=pack, cure=replace(batch.cure, grams=weighed, weighed=weighed), lines=tuple(map(really, batch.lines)), salt=really(batch.salt))


def _planned(made: Made, pack: Pack) -> Fraction | None:
    """The dose of the pack that was used: the card's, or solved anew for another pack; None where there is none."""
    if pack == made.batch.pack:
        return made.batch.cure.weighed
    solved = solver.solve(made.recipe, made.meat, pack, made.scales, made.ceilings).batch
    return solved.cure.weighed if solved is not None else None


def _values(made: Made, bowl: Batch, planned: Fraction | None) -> dict[str, object]:
    targets = made.recipe.targets
    tight = max(made.ceilings, key=lambda c: bowl.nitrite(c.per, "high") / c.share, default=None)
    values: dict[str, object] = {
        "weighed": _apart(bowl.cure.scale, bowl.cure.weighed, planned), "label": bowl.pack.label, "planned": bowl.cure.scale.text(planned) if planned is not None else "",
        "high": bowl.nitrite(targets.nitrite_per, "high"), "low": bowl.nitrite(targets.nitrite_per, "low"), "per": targets.nitrite_per,
        "salt": bowl.salt_share(targets.salt_per, "nominal"),
    }
    if tight is not None:
        values |= {"limit": tight.share, "limit_id": tight.id, "limit_per": tight.per, "limit_high": bowl.nitrite(tight.per, "high")}
    return values


def _apart(scale: Scale, grams: Fraction, planned: Fraction | None) -> str:
    """What was weighed, with as many decimals more than the scale shows as set it apart from what was planned."""
    fine = scale
    while planned is not None and grams != planned and fine.text(grams) == fine.text(planned) and fine.places < scale.places + 6:
        fine = replace(fine, places=fine.places + 1)
    return fine.text(grams)


def _fine(bowl: Batch, weighed: Fraction, planned: Fraction | None, values: dict) -> Mishap:
    more = planned is not None and weighed >= planned
    return Mishap("dose_more" if more else "dose_less", "fine", ("go_on", "write_down") if more else ("go_on", "judge_keeping", "write_down"), values, batch=bowl)


def _within(made: Made, bowl: Batch, planned: Fraction | None, stage: str, values: dict) -> Mishap:
    """Within the limits, but perhaps too little to cure with."""
    targets, weighed = made.recipe.targets, bowl.cure.weighed
    got = counted_as(bowl.nitrite(targets.nitrite_per, "high"), targets.nitrite_as)
    if got >= targets.nitrite.value * WEAK:
        if values["other_pack"]:
            return Mishap("dose_other_within", "fine", ("go_on", "salt_is_other", "judge_keeping", "write_down"), values, batch=bowl)
        return _fine(bowl, weighed, planned, values)
    if stage == "raw" and made.mixable and planned is not None:
        missing = to_step(planned - weighed, bowl.cure.scale.step, "down")
        # Weighed in two goes, it is off twice.
        cure = replace(bowl.cure, grams=planned, weighed=weighed + missing, scale=replace(bowl.cure.scale, step=2 * bowl.cure.scale.step))
        whole = replace(bowl, cure=cure)
        if missing > 0 and solver.over(whole, made.ceilings) is None and not _too_salty(made, whole):
            row = More("curing_salt", "", "curing_salt", weighed, missing, bowl.cure.scale.text(missing), bowl.cure.scale.text(weighed + missing))
            return Mishap("dose_add_rest", "mend", ("add_rest", "mix_cold", "hold_again", "write_down"), values, (row,), whole)
    todo = ("as_uncured_now",) if stage == "raw" else ("as_uncured",)
    return Mishap("dose_weak", "fine", (*todo, "write_down"), values, batch=bowl)


def _stretch(made: Made, bowl: Batch, planned: Fraction) -> tuple[Batch, tuple[More, ...]] | None:
    """More of everything else, until the dose that lies in it is right: (the batch, what to add), or None."""
    weighed = bowl.cure.weighed
    factor = max(Fraction(1), weighed / planned)
    while factor <= MOST_MADE:
        try:
            batch = solver.judge_stated(made.recipe, made.meat * factor, bowl.pack, made.scales, weighed)
        except solver.Impossible:
            return None
        more = _more(bowl, batch)
        if more is not None and solver.over(_twice_off(batch), made.ceilings) is None and not _too_salty(made, batch):
            return batch, more
        if factor == MOST_MADE:
            return None
        factor = min(Fraction(MOST_MADE), factor * _FINER)
    return None


def _too_salty(made: Made, batch: Batch) -> bool:
    """Whether mending would oversalt it: a weak salt brings its own, and plain salt that is in stays in."""
    targets = made.recipe.targets
    return batch.salt_share(targets.salt_per, "nominal") > targets.salt.value * SALTIEST


def _twice_off(batch: Batch) -> Batch:
    """The batch with everything but the cure weighed in two goes."""

    def off(line: Line) -> Line:
        return replace(line, scale=replace(line.scale, step=2 * line.scale.step))

    return replace(batch, lines=tuple(map(off, batch.lines)), salt=off(batch.salt))


def _more(bowl: Batch, batch: Batch) -> tuple[More, ...] | None:
    """What each line needs; None where something would have to be taken out again."""
    before = {line.id: line for line in (*bowl.lines, bowl.salt)}
    found = []
    for line in (*batch.lines, batch.salt):
        # Under a step the scale shows nothing, and what the recipe asks for is what is there.
        inside = before[line.id].weighed or before[line.id].grams
        wanted = line.weighed or line.grams
        if wanted < inside:
            return None
        if wanted > inside:
            found.append(More(line.id, line.name, line.role, inside, wanted - inside, line.scale.text(wanted - inside), line.scale.text(wanted)))
    return tuple(found)


def unknown_pack(stage: str) -> Mishap:
    """Nobody knows which pack was used, so neither strength nor dose is known. stage: one of STAGES."""
    if stage in ("apart", "carrier"):
        return Mishap(f"unknown_pack_{stage}", "mend", ("weigh_again" if stage == "apart" else "new_carrier",))
    return Mishap("unknown_pack", "throw_away", _DISCARD)


def eaten() -> Mishap:
    """Someone has eaten of it: the page of help, before anything else."""
    return Mishap("eaten", "call_first", ("call_help", "keep_pack", "keep_rest"), sources=("eaten",))


# ------------------------------------------------------------------ forgotten

HOURS_UNCURED = 24  # that a whole cut may have lain cold without its cure and still be begun; rule of this project


def forgot_cure(method: str, stage: str, raw_minutes: int, most_minutes: int) -> Mishap:
    """The curing salt was left out, the plain salt is in.

    method: of the recipe; stage: "raw" or "cooked" (of an earlier one, simply weigh it); raw_minutes: since mincing,
    or since the cut was salted [0 or more], cold all the time; most_minutes: how long this batter may lie raw when cured.
    Source: handling rules from memory; no raw hold without cure.
    """
    values = {"minutes": raw_minutes, "most": most_minutes}
    if stage in ("apart", "carrier"):
        return Mishap("forgot_cure_early", "mend", ("weigh_now",), values)
    if method == "ground":
        # Uncured, it may not be held at all: what the work takes is allowed, a night is not.
        late = raw_minutes > UNCURED_WORK
        if stage == "cooked":
            return Mishap("forgot_cure_cooked_late", "throw_away", ("throw_away", "if_ill"), values, sources=("raw_held",)) if late else Mishap("forgot_cure_cooked", "fine", ("as_uncured", "write_down"), values)
        if late:
            return Mishap("forgot_cure_late", "throw_away", ("throw_away", "if_ill"), values, sources=("raw_held",))
        return Mishap("forgot_cure", "mend", ("add_dose", "mix_cold", "hold_again", "write_down"), values)
    if raw_minutes > HOURS_UNCURED * 60:
        return Mishap("forgot_cure_whole_late", "throw_away", ("throw_away", "if_ill"), values)
    if stage == "cooked":
        return Mishap("forgot_cure_cooked", "fine", ("as_uncured", "write_down"), values)
    return Mishap("forgot_cure_whole", "mend", ("new_cure", "days_again", "write_down"), values)


UNCURED_WORK = 4 * 60  # min from mincing that cutting, mixing and filling may take; rule of this project, no source


def forgot_salt(method: str, stage: str, raw_minutes: int = 0) -> Mishap:
    """The plain salt was left out; the curing salt is in, so its dose stands.

    method: of the recipe; stage: one of STAGES; raw_minutes: that a whole cut has lain so, cold all the time [0 or
    more]. Source: common practice; the low end of brine decides on cooling.
    """
    values, sources = {"minutes": raw_minutes, "most": HOURS_UNCURED * 60}, ("practice",)
    if stage in ("apart", "carrier"):
        return Mishap("forgot_salt_early", "mend", ("weigh_now",), values)
    if method != "ground" and raw_minutes > HOURS_UNCURED * 60:
        return Mishap("forgot_salt_whole_late", "throw_away", ("throw_away", "if_ill"), values)
    if stage == "cooked":
        return Mishap("forgot_salt_cooked", "fine", ("as_uncured", "eat_soon", "write_down"), values, sources=sources)
    if method == "ground":
        return Mishap("forgot_salt", "mend", ("add_salt", "mix_cold", "write_down"), values, sources=sources)
    if method == "dry":
        return Mishap("forgot_salt_dry", "mend", ("rub_salt", "days_again", "write_down"), values, sources=sources)
    # Of a brine or a pumped cut nobody knows how much would still go in, and how evenly.
    return Mishap("forgot_salt_whole", "fine", ("as_uncured_now", "write_down"), values, sources=sources)


# ------------------------------------------------------------------ temperatures

WARM_GO_ON, WARM_MOST = 30, 120  # min over its limit: chill and go on; chill and cook at once. The two hours from memory


def warm_batter(celsius: float, minutes: int | None, kinds: Iterable[str]) -> Mishap:
    """A batter that is warmer than its fat bears.

    celsius: as measured in the warmest place [degC, -5 to 60]; minutes: that it has been over its limit [0 or
    more], None if nobody knows; kinds: of meat. Source: limits of the table of mixing; two hours from memory.
    Raises ValueError out of that range.
    """
    if not -5 <= celsius <= 60:
        raise ValueError(f"{celsius} degC is no batter's temperature")
    limit = limit_for(kinds)
    values = {"celsius": celsius, "limit": limit, "minutes": minutes, "most": WARM_MOST}
    sources = ("batter_limit", "two_hours")
    if celsius <= limit:
        return Mishap("batter_cold_enough", "fine", ("go_on",), values, sources=sources)
    if minutes is None:
        return Mishap("batter_warm_unknown", "measure", ("say_minutes", "chill_batter"), values, sources=sources)
    if minutes > WARM_MOST:
        return Mishap("batter_warm_long", "throw_away", ("throw_away", "if_ill"), values, sources=sources)
    if minutes > WARM_GO_ON:
        return Mishap("batter_warm_a_while", "mend", ("chill_batter", "no_hold", "fry_test"), values, sources=sources)
    return Mishap("batter_warm", "mend", ("chill_batter", "no_more_chopping", "fry_test"), values, sources=sources)


def oven_off(core: float | None, since_in: int | None, still: int | None, error: float = PROBE_ERROR) -> Mishap:
    """The oven was off for a while, with the batch in it.

    core: of the coldest piece now [degC, -5 to 120], None if not measured; since_in: minutes since it went in, the
    pause counted [0 or more]; still: minutes until the core is at 54.4 degC again, as forecast or guessed long.
    Source: come-up within 6 h between 10 and 54.4 degC, FSIS Cooking Guideline 2021, from memory.
    """
    conditions = table("cooking")["conditions"]
    most, top = int(conditions["come_up_minutes"]), float(conditions["come_up_to"])
    values = {"core": core, "since": since_in, "still": still, "most": most, "to": top}
    sources = ("come_up",)
    if core is None:
        return Mishap("oven_off_unknown", "measure", ("oven_on_now", "measure_core"), values, sources=sources)
    if core - error >= top:
        return Mishap("oven_off_hot", "fine", ("oven_on_now", "hold_from_new"), values, sources=sources)
    if since_in is None:
        return Mishap("oven_off_unknown", "measure", ("oven_on_now", "say_times"), values, sources=sources)
    if since_in > most:
        return Mishap("oven_off_long", "throw_away", ("throw_away", "if_ill"), values, sources=sources)
    if still is None:
        return Mishap("oven_off_unknown", "measure", ("oven_on_now", "say_times"), values, sources=sources)
    if since_in + still > most:
        return Mishap("oven_off_too_slow", "throw_away", ("throw_away", "if_ill"), values, sources=sources)
    return Mishap("oven_off", "fine", ("oven_on_now", "measure_often", "hold_from_new"), values, sources=sources)


def on_the_counter(low: Low, minutes: int | None, core: float | None, region: str = "strictest", error: float = PROBE_ERROR) -> Mishap:
    """A cooked loaf that was left to cool at room temperature.

    low: the low end of nitrite, accelerator and brine, Low() for uncured; minutes: since it left the heat
    [0 or more]; core: now [degC], None if not measured; region: of the table of fields; error: of the probe [K].
    Judged by the published ways to cool that are open: fine while one can still be met. Nothing mends one that
    was missed.
    """
    values = {"minutes": minutes, "core": core}
    sources = ("cooling",)
    if minutes is None or core is None:
        return Mishap("counter_unknown", "measure", ("cool_now", "measure_core", "say_times"), values, sources=sources)
    cooled = judge_cooling(low, ((float(minutes), core),), region, error, 0.0)
    if any(one.code == "cooling_too_fast" for one in cooled.findings):
        return Mishap("counter_unknown", "measure", ("cool_now", "measure_core", "say_times"), values, sources=sources)
    if cooled.verdict == "stop":
        return Mishap("counter_long", "throw_away", ("throw_away", "cutting_is_no_help", "if_ill"), values, sources=sources)
    return Mishap("counter", "fine", ("cool_now", "measure_cooling"), values, sources=sources)


LEFT_OUT_MOST = 120  # min that chilled cooked meat may stand warm: from memory, check before relying on it


def left_out_cold(minutes: int | None) -> Mishap:
    """A loaf that was cold already and was left out of the fridge.

    minutes: that it stood out, all times together [0 or more], None if nobody knows: then it is thrown away.
    Source: two hours, from memory.
    """
    values = {"minutes": minutes, "most": LEFT_OUT_MOST}
    if minutes is None or minutes > LEFT_OUT_MOST:
        return Mishap("left_out_long", "throw_away", ("throw_away", "if_ill"), values, sources=("two_hours",))
    return Mishap("left_out", "fine", ("back_in_fridge", "eat_soon"), values, sources=("two_hours",))
