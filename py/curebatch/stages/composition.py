"""What the batch is made of, raw and finished, and whether an emulsion of it will hold."""

from __future__ import annotations

from dataclasses import dataclass

from ..batch import composition as made_of
from ..batch import labels
from ..batch.composition import Composition, Finding, Range
from ..batch.cure import Batch
from ..batch.refusal import Refused
from ..intake.document import Document
from ..intake.ingredients import BLOCK, SALTY, UNSALTED
from ..intake.numbers import show
from ..intake.signs import spoken
from ..intake.units import Amount
from ..messages import Messages
from ..words import say, shown

_ROWS = ("water", "protein", "fat", "carbohydrate", "ash")
_CASES = ("low", "likely", "high")


@dataclass(frozen=True)
class Made:
    """A batch's composition: as it goes in, and finished at the low, likely and high end of its yield."""

    raw: Composition
    cooked: dict[str, Composition] | None  # None where nothing is known of a yield
    yields: Range | None
    unknown: tuple[str, ...]  # names of the lines that have no row

    @property
    def known(self) -> bool:
        """Whether so much of it is in the food table that its figures mean something."""
        return self.raw.percent("unknown") <= made_of.MOST_UNKNOWN

    @property
    def served(self) -> Composition:
        """As it is eaten, as far as that is known."""
        return self.cooked["likely"] if self.cooked else self.raw


def work_out(document: Document, batch: Batch) -> Made | None:
    """The composition of what comes out of a batch; None for a brine, of which most is thrown away."""
    recipe = document.recipe
    if recipe.method == "brine" or not batch.meat_grams:
        return None
    parts = made_of.parts_of(batch, recipe)
    if batch.method == "injected":
        block = made_of.compose(part for part in parts if part.role in ("meat", "fat"))
        pickle = made_of.compose(part for part in parts if part.role not in ("meat", "fat"))
        raw = block + pickle.times(float(batch.pumped.weighed / batch.pickle_grams)) if batch.pickle_grams else block
    else:
        raw = made_of.compose(parts)
    unknown = tuple(part.name for part in parts if part.food is None and part.role not in _NO_ROW)
    yields = _yields(document)
    cooked = None
    if yields is not None:
        try:
            cooked = made_of.cooked_range(raw, yields)
        except Refused:
            yields = None  # drier than its own yield: only as it goes in
    return Made(raw, cooked, yields, unknown)


_NO_ROW = ("salt", "curing_salt", "phosphate", "accelerator")


def _yields(document: Document) -> Range | None:
    recipe = document.recipe
    stated = recipe.cooked_share
    if stated is not None:
        low, high = float(stated.low), float(stated.high)
        return Range(low, (low + high) / 2, high, say("source.recipe_yield"), "read")
    if recipe.raw or recipe.method != "ground":
        return None
    return made_of.expected_yield(recipe.vessel or "open_tin")


def judge(document: Document, batch: Batch, made: Made | None, messages: Messages) -> None:
    """Cautions where an emulsion will not bind or will render out its fat, and salt against practice."""
    if made is not None and made.known and document.recipe.method == "ground" and made.cooked:
        for finding in made_of.judge_emulsion(made.served):
            if finding.severity == "caution":
                messages.add(f"emulsion_{finding.code}", "caution", source=_source(finding), text=_text(finding))
    _judge_uncounted(document, batch, messages)
    if document.recipe.method == "brine":
        return  # what a brined piece keeps of its salt, the cooking water decides
    per = "mix" if document.recipe.method == "ground" else "meat"
    salty = made_of.judge_salt(batch.salt_share(per, "nominal"), document.recipe.method)
    if salty is not None:
        # Taste and practice, from memory: said, and no verdict hangs on it.
        messages.add(salty.code, "note", "salt", source=_source(salty), text=_text(salty))


_SALTY_ROW = 400  # mg of sodium in 100 g, from which a food counts as salty: a rule of ours
_SEEN = 0.1  # salt that the food table adds, per cent of the meat: less of it is not said


def _judge_uncounted(document: Document, batch: Batch, messages: Messages) -> None:
    """Salt that comes in ready-made things and stands in no figure for salt: targets and figures count what is stated."""
    unknown, by_row, share = [], [], 0.0
    for line in document.recipe.ingredients:
        if not line.share or line.salt_stated or line.role in BLOCK:
            continue
        if line.row is not None:
            if line.role != "leavening" and line.row.sodium_mg >= _SALTY_ROW:
                by_row.append(line.name)
                of_meat = float(line.share) * (float(batch.mix_grams / batch.meat_grams) if line.per == "mix" else 1)
                share += of_meat * line.row.sodium_mg / 1000 * made_of.LABEL_SALT  # per cent: the row is of 100 g
        elif any(SALTY.search(spoken(name)) and not UNSALTED.search(spoken(name)) for name in dict.fromkeys((line.name, line.known_as))):
            unknown.append(line.name)
    if unknown:
        messages.add("salt_uncounted", "caution", "salt", names=", ".join(unknown))
    if share >= _SEEN:
        messages.add("salt_of_table", "note", "salt", names=", ".join(by_row), share=_one(share))


def _source(finding: Finding) -> str:
    return f"{finding.source} ({say(f'sure.{finding.sure}')})" if finding.sure in ("memory", "derived") else finding.source


def _text(finding: Finding) -> str:
    low, high = (_one(value) if value is not None else "" for value in (finding.low, finding.high))
    return say(f"batch.finding.{finding.code}", value=_one(finding.value), low=low, high=high)


def _one(value: float, places: int = 1) -> str:
    return shown(show(labels.exact(value), places))


def tell(document: Document, made: Made | None) -> dict | None:
    """The composition as texts, for the card.

    Returns rows raw and finished in 100 g, ratios, energy, label figures and what to know
    about them; only the names of what is missing, where too much is not in the table.
    """
    if made is None:
        return None
    told = {"per_100_g": {}, "unknown_percent": round(made.raw.percent("unknown"), 2), "rows": [], "ratios": [], "yield_text": "", "notes": [], "label_eu": [], "label_us": [], "portion_text": "", "served": "cooked" if made.cooked else "raw"}
    if not made.known:
        names = ", ".join(made.unknown)
        return {**told, "notes": [say("composition.unknown", share=_one(made.raw.percent("unknown")), names=names)]}
    portion = _portion(document, made)
    told["per_100_g"] = {"raw": _numbers(made.raw), **({"cooked": {case: _numbers(made.cooked[case]) for case in _CASES}} if made.cooked else {})}
    told["rows"] = _rows(made, portion)
    told["ratios"] = _ratios(made)
    if portion:
        told["portion_text"] = say("composition.portion", grams=_one(portion, 0))
    if made.yields:
        ends = {"low": _one(100 * made.yields.low, 0), "high": _one(100 * made.yields.high, 0)}
        vessel = say(f"batch.yield.{document.recipe.vessel or 'open_tin'}")
        told["yield_text"] = say("batch.finding.yield_stated", **ends) if document.recipe.cooked_share else say("batch.finding.yield", vessel=vessel, **ends)
        told["yield_source"] = made.yields.source
    told["label_eu"] = [_label(figure) for figure in labels.eu_label(made.served)]
    if portion:
        told["label_us"] = [_label(figure) for figure in labels.us_label(made.served, portion)]
    told["notes"] = _notes(document, made)
    return told


def _numbers(made: Composition) -> dict:
    """The figures in 100 g, for readers of the JSON: grams, sodium in mg, energy in kJ and kcal."""
    power = made_of.energy(made)
    return {
        **{name: round(made.percent(name), 2) for name in (*_ROWS, "salt")}, "label_salt": round(made.label_salt, 2), "sodium_mg": round(made.percent("sodium_mg"), 1),
        "energy_kj": round(power.kj, 1), "energy_kcal": round(power.kcal, 1), "brine": round(made.brine, 2), "fat_and_added_water": round(made.fat_and_added_water, 2),
        "water_to_protein": None if made.water_to_protein is None else round(made.water_to_protein, 2),
    }


def _portion(document: Document, made: Made) -> float | None:
    """Weight of a portion as served [g]: as stated, else what the recipe's own number of them makes of it."""
    stated, recipe = document.values.get("portion"), document.recipe
    if isinstance(stated, Amount):
        return float(stated.value)
    if not recipe.portions or not made.cooked and not recipe.raw:
        return None
    # The published batch gives its portions; any other gives more or fewer of the same weight.
    return made.served.total / float(document.meat) * float(recipe.meat) / recipe.portions


def _rows(made: Made, portion: float | None) -> list[dict]:
    rows = [_row(say(f"batch.part.{name}"), made, lambda c, name=name: c.percent(name), "g", 1, portion) for name in _ROWS]
    rows.append(_row(say("batch.part.label_salt"), made, lambda c: c.label_salt, "g", 1, portion))
    rows.append(_row(say("batch.part.sodium_mg"), made, lambda c: c.percent("sodium_mg"), "mg", 0, portion))
    rows.append(_row(say("batch.part.energy_kj"), made, lambda c: made_of.energy(c).kj, "kJ", 0, portion))
    rows.append(_row(say("batch.part.energy_kcal"), made, lambda c: made_of.energy(c).kcal, "kcal", 0, portion))
    return rows


def _row(label: str, made: Made, figure, unit: str, places: int, portion: float | None) -> dict:
    ends = sorted(figure(made.cooked[case]) for case in _CASES) if made.cooked else []
    served = figure(made.served)
    spread = ""
    if ends:
        low, high = _one(ends[0], places), _one(ends[-1], places)
        spread = f"{low} {unit}" if low == high else f"{low}-{high} {unit}"
    return {
        "label": label, "raw": f"{_one(figure(made.raw), places)} {unit}", "cooked": spread,
        "portion": f"{_one(served * portion / 100, places)} {unit}" if portion else "",
    }


def _ratios(made: Made) -> list[dict]:
    served, rows = made.served, []
    if served.water_to_protein is not None:
        rows.append({"label": say("batch.part.water_to_protein"), "text": f"{_one(served.water_to_protein)} : 1"})
    rows.append({"label": say("batch.part.fat_and_added_water"), "text": f"{_one(served.fat_and_added_water)} %"})
    rows.append({"label": say("batch.part.brine"), "text": f"{_one(served.brine)} %"})
    return rows


def _label(figure: labels.Rounded) -> dict:
    value = shown(f"{figure.text} {figure.unit}")
    return {"label": say(f"batch.part.{figure.code}"), "text": say("batch.part.less_than", value=value) if figure.less_than else value}


def _notes(document: Document, made: Made) -> list[str]:
    notes = []
    if document.recipe.method == "ground" and made.cooked:
        notes += [_text(finding) for finding in made_of.judge_emulsion(made.served)]
        nearest = made_of.nearest_emulsions(made.served)
        notes.append(say("batch.finding.nearest", names="; ".join(emulsion.name for emulsion in nearest)))
    drawn = [line.row for line in document.recipe.ingredients if line.row is not None and line.row.source == "model" and line.share]
    for row in drawn:
        notes.append(say(f"batch.finding.model{'_outside' if row.outside else ''}", fat=_one(row.fat), rows="; ".join(row.rows)))
    if any(line.row is not None and line.row.source == "memory" and line.share for line in document.recipe.ingredients):
        names = ", ".join(line.name for line in document.recipe.ingredients if line.row is not None and line.row.source == "memory" and line.share)
        notes.append(say("composition.memory", names=names))
    notes.append(say("composition.source"))
    return notes
