"""Grams of curing salt without the percentage they belong to: passed on, they are read next to another pack.

The words of every language are sought in every text: a German line reaches an English page as well.
"""

from __future__ import annotations

import re

from .intake.signs import spoken

_WORDED = r"\b(?:an?|one|two|three|four|five|six|ten|twelve|twenty|half|quarter|eine?[mnr]?|zwei|drei|vier|fünf|sechs|acht|zehn|zwölf|fünfzehn|zwanzig|dreißig|(?:andert|viertel)?halbe?[mnrs]?|viertel)[ -]+(?:of +)?(?:an? +)?"
_COUNT = rf"(?:(?:\d+(?:[.,/\u2044]\d+)?|[¼½¾⅓⅔⅛])\s*|{_WORDED})"
_HANDFULS = (
    r"tsp|tbsp|(?:tea|table)?[ -]?spoons?|spoonfuls?|pinch(?:es)?"
    r"|TL|EL|(?:Tee|Ess|Eß|Mess|Meß|Kaffee)?-?löffel(?:n|chen)?|Prisen?|Messerspitzen?|Msp"
)
UNITS = rf"kg|g|mg|oz|lbs?|kilos?|grams?|ounces?|pounds?|(?:Milli|Kilo)?gramms?|Pfund|Unzen?|{_HANDFULS}"
_ASIDE = r"(?:\s*\([^()%]{0,40}\))?"
# mg/kg is a share, not a weight; so is g/kg of nitrite, but of a curing salt it is a weight for each kilo.
_WEIGHT = rf"(?:\d+(?:[.,]\d+)?\s*(?:[\u2010-\u2014-]|to|bis|oder|or)\s*)?{_COUNT}(?:(?:gestrichen|gehäuft)e?[mnrs]?\s+)?(?:{UNITS})\b\.?(?!\s*/)"
_FOR_EACH = r"\d+(?:[.,]\d+)?\s*(?:g|grams?|Gramm)\s*(?:/|per|pro|je)\s*(?:kg|kilo\w*)\b"
_CURING = r"(?:curing|pickling|pink)[ -]salt|p(?:ö|oe)kel-?salz\w{0,20}|(?:nitrit|curing)-?salz\w{0,2}|NPS\b"
_SALT = rf"(?:{_CURING}|nitrite|nitrate|saltpet(?:re|er)|(?:nitrit|nitrat|salpeter)(?:e?s)?\b|E[\s-]?2(?:49|5[0-2]))"
_FRONT = r"[\w-]{0,20}"  # "Natriumnitrit", "Kalisalpeter"
_BETWEEN = (
    r"(?:\s+(?:of|the|that|this|your|my|a|an|any|level|heaped|pink|dry|pure|sodium|potassium|same|strong|weak"
    # German: what may stand there ends in one of the endings of an adjective or an article.
    r"|von|vom|davon|rosa|voll|gehäuft|gestrichen|an|[a-zäöüß-]{0,20}(?:e[mnrs]|das|die|eine?)))*\s+"
)
# Behind the name: "Pökelsalz, 2,4 kg Schulter" goes on with the next thing.
_BEHIND = rf"{_ASIDE}(?:\s*[:=(\u2013\u2014-]+\s*|\s+)(?:(?:is|about|some|sind|ist|etwa|rund|ungefähr|insgesamt|jeweils|und zwar|je|pro|per|kilo|kg|kilogramm|ca\.?)\b\.?\s*)*"
_BARE = re.compile(
    rf"{_WEIGHT}{_ASIDE}{_BETWEEN}{_FRONT}{_SALT}|{_FOR_EACH}{_BETWEEN}{_FRONT}(?:{_CURING})"
    rf"|(?:{_CURING}){_BEHIND}{_FOR_EACH}|{_SALT}(?:{_BEHIND}{_WEIGHT}(?!\s+of\b)|\s*,\s*(?:ca\.?|etwa|und zwar|about|some)?\s*{_WEIGHT}(?!\s+of\b|\s+(?-i:[A-ZÄÖÜ])))",
    re.IGNORECASE,
)
_STRENGTH = re.compile(r"\d\s*(?:%|per ?cent\b|Prozent\b)", re.IGNORECASE)
# The point of an abbreviation before a figure ends no sentence.
SENTENCE = re.compile(
    r"(?<=[.!?;])(?<!\bca\.)(?<!\bmax\.)(?<!\bapprox\.)(?<!\bz\. B\.)(?<!\bz\.B\.)(?<!\bz\.)(?<!\bMsp\.)(?:(?<!\boz\.)(?<!\blb\.)(?<!\blbs\.)|(?=\s+[A-ZÄÖÜ0-9]))\s+"
)
WEIGHED = re.compile(rf"[0-9¼½¾⅓⅔⅛]\s*(?:{UNITS})\b", re.IGNORECASE)
"""A weight of anything, or an amount by the spoon."""


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
        plain = spoken(sentence)
        if _BARE.search(plain) and not _STRENGTH.search(plain):
            return sentence
    return ""
