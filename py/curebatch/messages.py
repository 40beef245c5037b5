"""What a card has to say: messages with severity, field and source, and the verdict they add up to."""

from __future__ import annotations

from .words import has, say

VERDICTS = ("ok", "caution", "incomplete", "stop")  # from mild to grave


def worst(verdicts) -> str:
    """The gravest of some verdicts."""
    return max(verdicts, key=VERDICTS.index)


class Messages:
    def __init__(self) -> None:
        self.rows: list[dict] = []

    def add(self, code: str, severity: str, field: str = "", source: str = "", text: str = "", **values: str) -> None:
        """Say something once.

        code: of the message; its words are ``message.CODE``, filled with ``values``, unless
        ``text`` comes ready made; severity: "stop", "incomplete", "caution" or "note";
        field: what it is about; source: where it comes from, else ``source.CODE`` or practice.
        """
        if any(row["code"] == code and row["field"] == field for row in self.rows):
            return
        own = f"source.{code}"
        self.rows.append({
            "code": code, "severity": severity, "field": field, "text": text or say(f"message.{code}", **values),
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
DOSES = frozenset({"dose_lowered", "scale_coarse", "way_finer", "way_bigger", "way_preblend"})
