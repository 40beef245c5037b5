"""When it will be done, what the readings say about that, and how it will cool: a forecast, never a judgement.

No verdict hangs on anything here. What is missing is asked for by the name of its field;
what no forecast can be given for is said in a sentence of its own.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..batch.cure import Batch
from ..intake.document import Document
from ..intake.heat import Changes, Readings
from ..intake.learnt import LearntEntry, mark_of, write_learnt
from ..intake.units import Amount
from ..measures import length
from ..science import fit as correcting
from ..science import forecast as science
from ..science import surfaces
from ..science.cooling_rules import Low, openings
from ..science.fit import Fitted
from ..science.forecast import Forecast, Heat, Learnt, NoForecast, Piece, Range
from ..science.readings import WrongReadings
from ..science.surfaces import Around
from ..science.thermal_properties import Composition, OutOfRange
from ..science.together import together
from ..words import has, say
from . import told
from .composition import Made
from .pieces import Body, Unknown, bodies, made_of

LATE = 8.0  # K warmer than when it went in, a first reading is none of going in. Rule of this project
ICE = 0.0  # C, of water with ice in it
_AIR = ("still_oven", "fan_oven", "oven_water_bath")  # where a cover keeps vapour in
_WATER = ("cold_water", "iced_water")  # nobody lays it bare into these
_DOUBTFUL = {"probe_at_surface", "readings_disagree"}
_SIZES = {name for names in science.SIZES.values() for name in names}


@dataclass(frozen=True)
class Aim:
    """What the thermometer must show [C], and for how long, as text."""

    read: float
    hold_text: str


def tell(document: Document, batch: Batch, loads: int, made: Made | None, aim: Aim | None, low: Low) -> tuple[list[dict], dict]:
    """The forecast for each piece, and what goes for all of them.

    batch: as far as it can be weighed, one of ``loads``; made: its composition; aim: None for a target
    that is not safe; low: the low end of the cure, for the ways to cool that are open.
    Returns a row per kind of piece, and about them: what is missing, how they are ready together,
    what was learnt.
    """
    about: dict = {"lead_text": say("forecast.lead"), "needs": [], "ask_text": "", "notes": [], "around_text": "", "chilled_text": "", "together": None, "oven_learnt": "", "learnt_text": "", "kept": False, "sources": []}
    if aim is None:
        about["ask_text"] = say("forecast.needs.target")
        return [], about
    try:
        what, taken = made_of(document, batch, made)
        found = bodies(document, batch, loads, made, what)
    except Unknown as error:
        about["needs"] = [error.field]
        about["ask_text"] = say(f"forecast.needs.{error.code}", **error.values)
        return [], about
    missing = _missing(document, found)
    if missing:
        about["needs"] = missing
        about["ask_text"] = say("forecast.needs.lead", fields="; ".join(say(f"forecast.needs.{key}") for key in missing))
        return [], about
    return _Plan(document, found, what, taken, aim, low, about).tell()


def _missing(document: Document, found: list[Body]) -> list[str]:
    """The fields without which there is no forecast, in the order of the form."""
    values, missing = document.values, []
    oven = values.get("oven")
    if oven is None:
        missing.append("oven")
    if "oven_setting" not in values:
        missing.append("oven_setting")
    if "cover" not in values and oven in _AIR and any(not body.cover for body in found):
        missing.append("cover")
    if "wall" not in values and any(body.tin for body in found):
        missing.append("wall")
    if "start_temperature" not in values:
        missing.append("start_temperature")
    return missing


class _Plan:
    """All pieces in one oven."""

    def __init__(self, document: Document, found: list[Body], what: Composition, taken: bool, aim: Aim, low: Low, about: dict):
        self.document, self.found, self.what, self.aim, self.low, self.about = document, found, what, aim, low, about
        self.both = told.in_fahrenheit(document)
        self.oven: str = document.values["oven"]
        self.start, self.setting = self._degrees("start_temperature"), self._degrees("oven_setting")
        self.wanted = float(document.values["wanted"].value) if "wanted" in document.values else None
        if taken:
            about["notes"].append(say("forecast.view.taken"))
        if document.recipe.method != "ground":
            about["notes"].append(say("forecast.view.whole_cut"))
        given = document.values.get("readings")
        self.readings = given if isinstance(given, Readings) else None
        turned = document.values.get("oven_changes")
        self.changes = turned.rows if isinstance(turned, Changes) else ()
        self.learnt = self._known()

    def _degrees(self, key: str) -> float | None:
        value = self.document.values.get(key)
        return float(value.value) if isinstance(value, Amount) else None

    def _known(self) -> Learnt:
        """What is kept of this kind of oven; not from these very readings, which would count twice."""
        entry = self.document.values.get("oven_learnt")
        if not isinstance(entry, LearntEntry):
            return science.NOTHING_LEARNT
        if entry.oven != self.oven:
            self.about["notes"].append(say("forecast.view.learnt_other", oven=say(f"choice.oven.{entry.oven}")))
            return science.NOTHING_LEARNT
        if self.readings is not None and entry.mark == mark_of(self.readings.text):
            self.about["kept"] = True
            return science.NOTHING_LEARNT
        self.about["notes"].append(say("forecast.view.learnt_used"))
        return Learnt(entry.rate, entry.offset, entry.rate_sd, entry.offset_sd)

    # ------------------------------------------------------------ what surrounds a piece

    def _cover(self, body: Body) -> str:
        if body.cover == "casing" and not body.tin:
            return body.cover  # it has its own, whatever lies on the tins
        return self.document.values.get("cover") or body.cover or "open"

    def _wall(self, body: Body) -> str:
        # The kitchen's tins say nothing of a piece that lies in none.
        return self.document.values["wall"] if body.tin else "none"

    def _heat(self, body: Body) -> Heat:
        return Heat(Around(self.oven, self.setting, self._cover(body), self._wall(body)), changes=self.changes, learnt=self.learnt)

    def _chilled(self, body: Body) -> Around | None:
        chill, setting = self.document.values.get("chill"), self._degrees("chill_setting")
        if chill is None:
            return None
        cover = self._cover(body)
        return Around(chill, ICE if chill == "iced_water" and setting is None else setting, "bag" if chill in _WATER and cover in ("open", "wet", "foil") else cover, self._wall(body))

    def _around_text(self, key: str, around: Around) -> str:
        what = say("forecast.view.iced") if around.medium == "iced_water" else say(f"choice.{key}.{around.medium}")
        setting = told.degrees(around.setting, both=self.both)
        if key == "oven":
            setting += "".join(say("forecast.view.turned", setting=told.degrees(to, both=self.both), minutes=_minutes(minute)) for minute, to in self.changes)
        words = {"setting": setting, "cover": say(f"choice.cover.{around.cover}"), "wall": say(f"choice.wall.{around.wall}")}
        return say("forecast.view.around_text" if key == "oven" else "forecast.view.chilled_text", **{key: what}, **words)

    # ------------------------------------------------------------ the pieces

    def tell(self) -> tuple[list[dict], dict]:
        about = self.about
        heats = [self._heat(body) for body in self.found]
        about["around_text"] = self._around_text("oven", heats[0].around)
        about["sources"] = self._sources(heats)
        chill = self.document.values.get("chill")
        if chill is None:
            about["chilled_text"] = say("forecast.view.cooling_needs")
        elif "chill_setting" not in self.document.values and chill != "iced_water":
            about["needs"] = ["chill_setting"]
            about["chilled_text"] = say("forecast.needs.lead", fields=say("forecast.needs.chill_setting"))
        else:
            about["chilled_text"] = self._around_text("chill", self._chilled(self.found[0]))
        plans = self._plans(heats)
        rows = [self._row(body) for body in self.found]
        known = [(number, *plan) for number, plan in enumerate(plans) if isinstance(plan, tuple)]
        for row, plan in zip(rows, plans, strict=True):
            if isinstance(plan, str):
                row["none_text"] = plan
        for number, piece, heat, plan in known:
            rows[number] |= self._foretold(piece, heat, plan)
        if known:
            # Readings are of the piece that takes longest: it is the thickest.
            number, piece, heat, plan = max(known, key=lambda one: one[3].minutes.nominal)
            done = plan.minutes.nominal
            if self.readings is not None:
                fitted = self._correct(rows[number], piece, heat, plan)
                if fitted is not None and fitted.minutes.nominal is not None:
                    done = fitted.minutes.nominal
            for each, own, in_heat, its in known:
                if chill is not None and "chill_setting" not in about["needs"]:
                    rows[each]["cooling"] = self._cool(self.found[each], own, in_heat, done if each == number else its.minutes.nominal)
            about["together"] = self._together(known)
        return rows, about

    def _row(self, body: Body) -> dict:
        name = say("forecast.view.pieces", count=str(body.count), name=body.name) if body.count > 1 else body.name
        return {
            "piece": name, "count": body.count, "shape": body.shape, "sizes_cm": [round(100 * size, 2) for size in body.sizes], "shape_text": body.text,
            "start": round(self.start, 2), "target": round(self.aim.read, 2),
            "aim_text": say("forecast.view.start_to", start=told.degrees(self.start, both=self.both), target=self._target()),
            "hold_text": say("forecast.view.hold", hold=self.aim.hold_text) if self.aim.hold_text else "",
            "none_text": "", "minutes": None, "minutes_text": "", "reasons": [], "curve": [], "rows": [], "setting": None, "corrected": None, "cooling": None, "picture": None,
        }

    def _target(self) -> str:
        return told.core(self.aim.read)

    def _plans(self, heats: list[Heat]) -> list[tuple[Piece, Heat, Forecast] | str]:
        """For each body its piece, heat and forecast, or the sentence that says why there is none."""
        found: list[tuple[Piece, Heat, Forecast] | str] = []
        for body, heat in zip(self.found, heats, strict=True):
            try:
                piece = Piece.of(body.shape, body.sizes, self.start, self.what, self.aim.read)
                found.append((piece, heat, science.forecast(piece, heat, self.aim.read)))
            except (NoForecast, OutOfRange) as error:
                found.append(self._none(error))
        return found

    def _none(self, error: NoForecast | OutOfRange) -> str:
        """The sentence for what no forecast can be given for."""
        if isinstance(error, NoForecast):
            values = {name: told.digits(value, 0) if name == "hours" else told.degrees(value, both=self.both) for name, value in error.values.items()}
            return say(f"forecast.none.{error.code}", **values)
        name = "size" if error.quantity in _SIZES else error.quantity
        if not has(f"forecast.none.{name}_out_of_range"):
            return say("forecast.view.beyond", quantity=error.quantity)
        write = {"size": lambda value: length(value), "minutes": told.duration}.get(name, lambda value: told.degrees(value, both=self.both))
        values = {"read": write(error.value), "low": write(error.low), "high": write(error.high)}
        return say(f"forecast.none.{name}_out_of_range", **values, **({"size": say(f"forecast.size.{error.quantity}")} if name == "size" else {}))

    def _foretold(self, piece: Piece, heat: Heat, plan: Forecast) -> dict:
        minutes, target = plan.minutes, self._target()
        rows = [say("forecast.bigger", minutes=_minutes(plan.bigger, "up"))] if plan.bigger is not None else []
        rows += [say("forecast.warmer", minutes=_minutes(plan.warmer))] if plan.warmer is not None else []
        rows.append(say("forecast.cooler", minutes=_minutes(plan.cooler, "up")) if plan.cooler is not None else say("forecast.cooler_never", target=target))
        if plan.settles < heat.around.setting - 5:
            rows.append(say("forecast.settles", temperature=told.degrees(plan.settles, both=self.both)))
        if plan.carry_over.peak > self.aim.read + 0.5:
            rows.append(say("forecast.carry_over", target=target, peak=told.degrees(plan.carry_over.peak, "down", self.both), minutes=_minutes(plan.carry_over.minutes)))
        setting = self._setting(piece, heat) if self.wanted is not None and self.readings is None else None
        return {
            "minutes": _range(minutes), "minutes_text": _span(minutes), "curve": _curve(plan.curve),
            "reasons": [self._reason("reason", one, target) for one in plan.reasons if (one.later is None or one.later >= 0.5) or one.sooner >= 0.5],
            "rows": rows, "bigger_min": _round(plan.bigger), "warmer_min": _round(plan.warmer), "cooler_min": _round(plan.cooler), "settles": round(plan.settles, 1),
            "carry_over": {"peak": round(plan.carry_over.peak, 1), "minutes": round(plan.carry_over.minutes)}, "setting": setting,
            "picture": self._picture(plan.curve, minutes),
        }

    def _reason(self, table: str, one: science.Reason, target: str) -> dict:
        later = "" if one.later is None else _minutes(one.later, "up")
        text = say(f"forecast.{table}.{one.code}", later=later or _minutes(0), sooner=_minutes(one.sooner, "up"))
        if one.later is None:
            text = say("forecast.reason.open_end", reason=text, target=target)
        return {"code": one.code, "later": _round(one.later), "sooner": _round(one.sooner), "text": text}

    def _setting(self, piece: Piece, heat: Heat) -> dict:
        try:
            found = science.setting_for(piece, heat, self.aim.read, self.wanted)
        except (NoForecast, OutOfRange) as error:
            return {"code": "none", "setting": None, "minutes": None, "text": self._none(error)}
        wanted = found.minutes if found.code != "found" else self.wanted
        return {"code": found.code, "setting": round(found.setting, 1), "minutes": round(found.minutes, 1), "text": say(f"forecast.setting_{found.code}", minutes=_minutes(wanted), setting=told.degrees(round(found.setting), both=self.both))}

    def _picture(self, curve: Iterable, minutes: Range, readings: Iterable = ()) -> dict:
        return {"curve": _curve(curve), "target": self.aim.read, "minutes": _range(minutes), "readings": [[round(minute, 2), round(read, 2)] for minute, read in readings]}

    # ------------------------------------------------------------ the thermometer corrects it

    def _correct(self, row: dict, piece: Piece, heat: Heat, plan: Forecast) -> Fitted | None:
        given = self.readings
        rows = [(one.minute + given.since, one.temperature) for one in given.rows]
        if (given.clock or not given.since) and rows[0][1] > self.start + LATE:
            row["corrected"] = _uncorrected(say("forecast.view.readings_late", read=told.degrees(rows[0][1], both=self.both), start=told.degrees(self.start, both=self.both)))
            return None
        try:
            fitted = correcting.fit(piece, heat, rows, self.aim.read, wanted=self.wanted)
        except (NoForecast, OutOfRange) as error:
            row["corrected"] = _uncorrected(self._none(error))
            return None
        except WrongReadings:
            row["corrected"] = _uncorrected(say("forecast.view.readings_unusable"))
            return None
        row["corrected"] = self._corrected(fitted, rows)
        row["picture"] = self._picture(plan.curve, plan.minutes, rows)
        if _DOUBTFUL & set(fitted.codes):
            return None
        row["picture"] = self._picture(fitted.curve, fitted.minutes if fitted.minutes.nominal is not None else plan.minutes, rows)
        if len(self.found) > 1:
            row["corrected"]["notes"].append(say("forecast.view.thickest", name=row["piece"]))
        if given.clock:
            row["corrected"]["notes"].append(say("forecast.view.first"))
        self._teach(fitted)
        return fitted

    def _corrected(self, fitted: Fitted, rows: list[tuple[float, float]]) -> dict:
        minutes, notes = fitted.minutes, []
        doubtful = bool(_DOUBTFUL & set(fitted.codes))
        if doubtful:
            # A probe in the tin would have it done long before it is: no end is told from it.
            text = say("forecast.view.readings_unusable")
        elif fitted.verdict == "done":
            text = ""
        elif minutes.nominal is None:
            text = say("forecast.fit.never_reaches", target=self._target())
        elif minutes.high is None:
            text = _span(minutes)
        else:
            text = say("forecast.fit.minutes", nominal=_minutes(minutes.nominal), low=_minutes(minutes.low, "down"), high=_minutes(minutes.high, "up"), left=_minutes(fitted.left))
        if fitted.verdict != "done" and not doubtful:
            notes.append(say("forecast.fit.core", core=told.degrees(fitted.core, both=self.both)))
        if fitted.sure is not None and fitted.verdict != "done" and not doubtful:
            notes.append(say("forecast.view.sure", share=f"{told.digits(100 * fitted.sure, 0, 'up')} %"))
        odd = [{
            "code": one.code, "minute": round(rows[one.index][0], 2), "read": round(one.read, 2), "expected": round(one.expected, 1),
            "text": say(f"forecast.fit.{one.code}", read=told.degrees(one.read, both=self.both), minute=_minutes(rows[one.index][0]), expected=told.degrees(round(one.expected), both=self.both)),
        } for one in fitted.odd]
        notes += [one["text"] for one in odd]
        notes += [say(f"forecast.fit.{code}") for code in fitted.codes if code != "never_reaches"]
        if fitted.off_centre > OFF and len(rows) >= correcting.FEW:
            notes.append(say("forecast.fit.off_centre"))
        if doubtful:
            return {**_uncorrected(text), "odd": odd, "codes": list(fitted.codes), "notes": notes}
        return {
            "text": text, "minutes": _range(minutes) if minutes.nominal is not None else None, "left": _round(fitted.left), "core": round(fitted.core, 1),
            "sure": None if fitted.sure is None else round(fitted.sure, 3), "odd": odd, "codes": list(fitted.codes), "word": fitted.verdict, "word_text": self._word(fitted),
            "setting": _round(fitted.setting), "curve": _curve(fitted.curve), "notes": notes,
        }

    def _word(self, fitted: Fitted) -> str:
        """In time, too quick, too late, or done: a word of the plan, none of safety."""
        word = fitted.verdict
        if word is None:
            return ""
        off = abs((fitted.minutes.nominal or 0.0) - (self.wanted or 0.0))
        closed = fitted.setting is not None
        if word == "late" and fitted.minutes.nominal is None:
            return say("forecast.fit.never_reaches", target=self._target())
        if word in ("turn_down", "late"):
            setting = {"setting": told.degrees(round(fitted.setting), both=self.both)} if closed else {}
            return say(f"forecast.verdict.{word}" if closed else f"forecast.verdict.{word}_open", minutes=_minutes(off), **setting)
        return say(f"forecast.verdict.{word}")

    def _teach(self, fitted: Fitted) -> None:
        learnt = fitted.learnt
        if self.about["kept"]:
            self.about["oven_learnt"] = self.document.values["oven_learnt"].text
            self.about["learnt_text"] = say("forecast.view.kept")
        elif not fitted.codes and not fitted.odd and learnt.rate_sd is not None and learnt.offset_sd is not None:
            # Of readings that do not fit nothing is kept.
            entry = write_learnt(self.oven, learnt.rate, learnt.offset, learnt.rate_sd, learnt.offset_sd, mark_of(self.readings.text))
            self.about["oven_learnt"] = entry.text
            self.about["learnt_text"] = say("forecast.fit.learnt", rate=told.digits(entry.rate, 2), offset=told.difference(abs(entry.offset)), way=say("forecast.fit.warmer" if entry.offset >= 0 else "forecast.fit.colder"))

    # ------------------------------------------------------------ several at once, and cooling

    def _together(self, known: list[tuple[int, Piece, Heat, Forecast]]) -> dict | None:
        """When each goes in to be ready together; None for one piece alone."""
        listed = [one for one in known for _ in range(min(self.found[one[0]].count, 2))]
        if len(listed) < 2:
            return None
        found = together([one[1] for one in listed], [one[2] for one in listed], [self.aim.read] * len(listed))
        rows, first = [], {}
        for (number, *_), slot in zip(listed, found.slots, strict=True):
            first.setdefault(number, slot)
        for number, slot in first.items():
            name = self._row(self.found[number])["piece"]
            text = say("forecast.together.goes_in", name=name, minutes=_minutes(slot.goes_in)) if slot.goes_in >= 0.5 else say("forecast.together.goes_in_first", name=name)
            rows.append({"piece": name, "goes_in": round(slot.goes_in, 1), "crowded": _round(slot.crowded), "text": text})
        notes = []
        for code in found.codes:
            if code == "company_slows":
                slow = [slot.crowded for slot in first.values()]
                notes.append(say("forecast.together.company_open") if None in slow else say("forecast.together.company_slows", minutes=_minutes(max(slow), "up")))
            else:
                notes.append(say(f"forecast.together.{code}"))
        return {"ready": round(found.ready, 1), "rows": rows if len(first) > 1 else [{**rows[0], "text": ""}], "codes": list(found.codes), "notes": notes}

    def _cool(self, body: Body, piece: Piece, heat: Heat, minutes: float) -> dict:
        open_ways = [one.option for one in openings(self.low, self.document.choice("region")) if one.open]
        ways = {one.id: [(window.starts, window.ends, window.within) for window in one.every_window] for one in open_ways}
        try:
            found = science.cool(piece, (heat, minutes), self._chilled(body), ways)
        except (NoForecast, OutOfRange) as error:
            return {"none_text": self._none(error), "curve": [], "options": [], "reasons": [], "settles": None, "picture": None}
        options = [{"id": one.id, "code": one.code, "text": self._option(one), "windows": [{"from": w.start, "to": w.end, "within_min": w.limit, "minutes": _range(w.minutes)} for w in one.windows]} for one in found.options]
        target = told.degrees(science.cool.__kwdefaults__["down_to"], both=self.both)
        return {
            "none_text": "", "curve": _curve(found.curve), "settles": round(found.settles, 1), "options": options,
            "reasons": [self._reason("cooling_reason", one, target) for one in found.reasons if one.later is None or one.later >= 0.5 or one.sooner >= 0.5],
            "picture": self._cool_picture(found),
        }

    def _option(self, one: science.Option) -> str:
        """In the words of the stretch that comes nearest to its limit."""
        name = say(f"cooling.{one.id}")
        never = next((w for w in one.windows if w.minutes.nominal is None), None)
        if never is not None:
            if one.code == "missed":
                return say("forecast.cooling.missed_never", option=name, end=told.degrees(never.end, both=self.both))
            return say("forecast.cooling.unsure_open", option=name, limit=_minutes(never.limit))
        tight = max(one.windows, key=lambda w: (w.minutes.high or 1e9) / w.limit)
        minutes = tight.minutes
        if one.code == "unsure":
            if minutes.high is None:
                return say("forecast.cooling.unsure_open", option=name, limit=_minutes(tight.limit))
            return say("forecast.cooling.unsure", option=name, low=_minutes(minutes.low, "down"), high=_minutes(minutes.high, "up"), limit=_minutes(tight.limit))
        return say(f"forecast.cooling.{one.code}", option=name, minutes=_minutes(minutes.nominal if one.code == "missed" else minutes.high, "up"), limit=_minutes(tight.limit))

    def _cool_picture(self, found: science.Cooling) -> dict | None:
        """The curve against the option that comes nearest to being met, from where its first stretch begins."""
        best = min(found.options, key=lambda one: ("met", "unsure", "missed").index(one.code), default=None)
        if best is None:
            return None
        limits, at = [], 0.0
        for window in best.windows:
            # A window of the whole way counts from the start as well.
            at = window.limit if window.start == best.windows[0].start else at + window.limit
            limits.append({"to": window.end, "by_min": at})
        return {"option": self._option(best), "starts": best.windows[0].start, "limits": sorted(limits, key=lambda one: one["by_min"]), "curve": _curve(found.curve)}

    def _sources(self, heats: list[Heat]) -> list[dict]:
        """Where the figures of the surfaces come from: most of them are no published ones, and that is said."""
        found: dict[str, dict] = {}

        def add(key: str, row: surfaces.Medium | surfaces.Layer) -> None:
            name = say(f"choice.{key}.{row.id}")
            found[f"{key}.{row.id}"] = {"id": row.id, "sure": row.sure, "text": say("forecast.view.sources", what=name, sure=say(f"sure.{row.sure}"), source=row.source)}

        for body, heat in zip(self.found, heats, strict=True):
            add("oven", surfaces.medium(heat.around.medium))
            if heat.around.wall != "none":
                add("wall", surfaces.wall(heat.around.wall))
            add("cover", surfaces.cover(heat.around.cover))
            chilled = self._chilled(body)
            if chilled is not None:
                add("chill", surfaces.medium(chilled.medium))
        return list(found.values())


OFF = 0.3  # of the half thickness: a probe so far off the centre is worth a word. Rule of this project


def _uncorrected(text: str) -> dict:
    """What stands in place of a correction that readings cannot make."""
    return {"text": text, "minutes": None, "left": None, "core": None, "sure": None, "odd": [], "codes": [], "word": None, "word_text": "", "setting": None, "curve": [], "notes": []}


def _minutes(minutes: float, way: str = "nearest") -> str:
    """A time as text, to the minute: nobody foretells seconds."""
    whole = float(told.digits(minutes, 0, way))
    return told.duration(whole) if whole >= 1 else say("plot_heat.minutes", minutes=told.digits(whole, 0))


def _round(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def _range(minutes: Range) -> dict:
    return {"low": _round(minutes.low), "nominal": _round(minutes.nominal), "high": _round(minutes.high)}


def _span(minutes: Range) -> str:
    words = {"nominal": _minutes(minutes.nominal), "low": _minutes(minutes.low, "down")}
    return say("forecast.minutes_open", **words) if minutes.high is None else say("forecast.minutes", **words, high=_minutes(minutes.high, "up"))


def _curve(rows: Iterable[tuple[float, float, float, float]]) -> list[list[float]]:
    return [[round(value, 2) for value in row] for row in rows]
