"""Grams of curing salt without the percentage they belong to: passed on, they are read next to another pack."""

from __future__ import annotations

import re

_WEIGHT = (
    r"\d+(?:[.,/]\d+)?\s*(?:kg|g|mg|oz|lbs?|grams?|ounces?|pounds?|tsp|tbsp|(?:tea|table)?spoons?|spoonfuls?|pinch(?:es)?)"
    r"\b(?!\s*/)"  # mg/kg is a share, not a weight
)
_SALT = r"(?:(?:curing|pickling|pink)[ -]salt|nitrite|nitrate|saltpet(?:re|er)|E\s?2(?:49|5[0-2]))"
_BETWEEN = r"(?:\s+(?:of|the|that|this|your|my|a|an|any|level|heaped|pink|dry|pure|sodium|potassium|same|strong|weak))*\s+"
_BARE = re.compile(
    rf"{_WEIGHT}{_BETWEEN}{_SALT}|{_SALT}\s*[:=,(\u2013\u2014-]*\s*(?:is|about|some)?\s*{_WEIGHT}(?!\s+of\b)",
    re.IGNORECASE,
)
_STRENGTH = re.compile(r"\d\s*%")
SENTENCE = re.compile(r"(?<=[.!?;])\s+")


class BareGrams(ValueError):
    """Grams of curing salt without the percentage they belong to; ``read`` is the sentence."""

    def __init__(self, read: str) -> None:
        super().__init__(read)
        self.read = read


def bare_grams(text: str) -> str:
    """The first sentence of ``text`` with grams of curing salt and no percentage; "" where there is none.

    It finds a weight that stands beside the name of a curing salt; what is worded
    otherwise it cannot see, so it is a net under the authors' care, not in its place.
    """
    for sentence in SENTENCE.split(text):
        if _BARE.search(sentence) and not _STRENGTH.search(sentence):
            return sentence
    return ""
