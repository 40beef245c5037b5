"""Cooking and cooling beside the dose: three verdicts, and what each means for that of the card.

What was not measured yet is no fault of a card: before anything was cooked it leaves
the dose as it stands. What was measured and is not settled yet asks for care. A stop of
any of the three is a stop of the card, and takes the dose away: nobody weighs by a card
that says to throw the batch away, or not to cook it so.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..batch.cure import Batch
from ..intake.document import Document
from ..messages import Messages, worst
from ..words import say
from . import cooking, cooling


@dataclass(frozen=True)
class Heat:
    """The pieces' cooking and cooling, as rows of the card."""

    cooking: list[dict]
    cooling: list[dict]

    @property
    def verdicts(self) -> dict[str, str]:
        """Of cooking and cooling, each the worst of its pieces; "incomplete" where nothing is known of the meat."""
        return {name: worst([piece["verdict"] for piece in pieces] or ["incomplete"]) for name, pieces in (("cooking", self.cooking), ("cooling", self.cooling))}

    @property
    def counted(self) -> str:
        """What they count for in the verdict of the card."""
        found = ["ok"]
        for piece in (*self.cooking, *self.cooling):
            verdict = piece["verdict"]
            found.append(verdict if verdict != "incomplete" else "caution" if piece["measured"] else "ok")
        return worst(found)

    @property
    def safe_target(self) -> bool:
        """Whether the core that is aimed at may be told as a step."""
        return all(piece["target"]["verdict"] != "stop" for piece in self.cooking)

    def verdict_id(self) -> str:
        """The words of the card's verdict, where cooking or cooling decide it; "" where they do not."""
        if any(piece["verdict"] == "stop" for piece in self.cooling):
            return "verdict.stop_cooled"
        if any(piece["verdict"] == "stop" for piece in self.cooking):
            return "verdict.stop_cooked" if self.safe_target else "verdict.stop_target"
        if any(piece["verdict"] == "incomplete" and piece["measured"] for piece in self.cooling):
            return "verdict.cooling_open"
        return ""

    def steps(self) -> dict[str, str]:
        """What the recipe's steps call core and hold: what the thermometer must show. Nothing of a target that is not safe."""
        if not self.cooking or not self.safe_target:
            return {"core": "", "hold": ""}
        target = self.cooking[0]["target"]
        return {"core": target["read_text"], "hold": target["hold_text"]}

    def open_text(self, raw: bool) -> str:
        """What is not judged, because nothing was measured."""
        cooked, cooled = (any(piece["measured"] for piece in pieces) for pieces in (self.cooking, self.cooling))
        if raw and not cooked:
            return say("card.raw_open")
        return "" if cooled else say("card.cooling_open" if cooked else "card.cooking_open")


def judge(document: Document, weighed: Batch, dosed: Batch | None, messages: Messages, whole: bool, loads: int) -> Heat:
    """Judge cooking and cooling.

    weighed: the batch as far as it can be weighed; dosed: the same with its dose, None
    where there is none; whole: False leaves out what only the rest of the page shows; loads:
    how many such batches make up the whole.
    Stops and cautions go to the messages.
    """
    return Heat(cooking.judge(document, weighed, messages, whole), cooling.judge(document, dosed, messages, whole, weighed, loads))
