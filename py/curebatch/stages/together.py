"""Two batters in one tin: the mixture's nitrite, salt and allergens, judged by the worse of the two."""

from __future__ import annotations

from fractions import Fraction

from ..batch import cure as solver
from ..batch.compounds import counted_as
from ..batch.cure import CASES, Batch
from ..batch.share_out import Batter, Together, together
from ..figures import MG, number, percent, per_text, ppm
from ..intake.document import Document
from ..messages import Messages
from ..rules import checks
from ..words import say


def solve_beside(document: Document, messages: Messages) -> Batch | None:
    """The batch of the other batter, in the same kitchen; None where there is no other, or no dose for it.

    Without a dose for it the tin has none: that stops the card.
    """
    beside = document.beside
    if beside is None:
        return None
    recipe = beside.recipe
    if not solver.possible(recipe, beside.meat):
        messages.add("beside_no_dose", "stop", "beside", title=recipe.title)
        return None
    if beside.state == "uncured":
        return solver.uncured(recipe, beside.meat, beside.scales)
    solved = solver.solve(recipe, beside.meat, beside.pack, beside.scales, checks.ceilings_for(beside)) if beside.pack else None
    if solved is None or solved.batch is None:
        messages.add("beside_no_dose", "stop", "beside", title=recipe.title)
        return None
    return solved.batch


def judge(document: Document, batch: Batch, other: Batch | None, messages: Messages) -> Together | None:
    """What comes of both in one tin; said in the messages."""
    if other is None or not batch.meat_grams or not other.meat_grams:
        return None
    both = together((_batter(document, batch), _batter(document.beside, other)))
    mixed = both.nitrite["mix"]["nominal"]
    messages.add("together_mixed", "note", "beside", nitrite=ppm(mixed), compound=say("compound.NaNO2"), per=per_text("mix"), title=document.beside.recipe.title)
    if both.worst_nitrite["low"] != both.worst_nitrite["high"]:
        messages.add("together_worse", "note", "beside", low=ppm(both.worst_nitrite["low"], 1, "down"), high=ppm(both.worst_nitrite["high"], 1, "up"))
    if both.state == "uncured" and document.state != "uncured":
        messages.add("together_uncured", "note", "beside")
    if both.poultry and "poultry" not in document.recipe.kinds:
        messages.add("together_poultry", "note", "beside")
    return both


def _batter(document: Document, batch: Batch) -> Batter:
    nitrite = {case: batch.nitrite("mix", case) for case in CASES}
    salt = {case: batch.salt_share("mix", case) for case in CASES}
    return Batter(document.recipe.title, batch.mix_grams, batch.meat_grams, nitrite, salt, document.state, document.recipe.kinds)


def tell(document: Document, both: Together | None, amounts: list[dict]) -> dict | None:
    """The mixture as texts and plain numbers, with what the other batter is weighed from.

    amounts: the rows of the other batter.
    """
    if both is None:
        return None
    rows = []
    for compound in ("NaNO2", "NO2-"):
        rows.append({"label": say(f"card.nitrite_as_{'salt' if compound == 'NaNO2' else 'ion'}"), "text": ppm(counted_as(both.nitrite["mix"]["nominal"], compound))})
    rows.append({"label": say("card.salt_in_all"), "text": percent(both.salt["mix"]["nominal"])})
    return {
        "title": document.beside.recipe.title, "recipe": document.beside.recipe.ref, "amounts": amounts, "rows": rows, "state": both.state, "kinds": list(both.kinds),
        "nitrite_mg_per_kg": {base: {case: number(value * MG) for case, value in ends.items()} for base, ends in both.nitrite.items()},
        "worst_nitrite_mg_per_kg": {end: number(value * MG) for end, value in both.worst_nitrite.items()},
        "grams": number(Fraction(both.grams)),
    }
