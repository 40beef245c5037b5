"""Grams of curing salt without the percentage they belong to: passed on, they are read next to another pack.

The words of every language are sought in every text: a German line reaches an English page as well.
"""

from __future__ import annotations

import re
from functools import lru_cache

from .intake.signs import spoken

_NUMBER_WORDS = (
    r"one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|sixteen|eighteen|(?:twenty|thirty|forty|fifty|sixty|seventy|eighty|ninety)(?:-\w{3,5})?|hundred|half|quarter"
    r"|zwei|drei|vier|fünf|sechs|sieben|acht|neun|zehn|elf|zwölf|(?:fünf|sech|acht)zehn|(?:\w{3,6}und)?(?:zwanzig|dreißig|vierzig|fünfzig|sechzig|siebzig|achtzig|neunzig)|hundert|(?:andert|viertel)?halbe?[mnrs]?|viertel"
)
_WORDED = rf"\b(?:an?|eine?[mnr]?|{_NUMBER_WORDS})[ -]+(?:of +)?(?:an? +)?"
_SIZED = r"(?:\s*\b(?:level|heap(?:ed|ing)|scant|generous|good|rounded|flat|small|large|big|gute?|knappe?|kleine?|große?|gestrichene?|gehäufte?|gestrichen|gehäuft|flache?|volle?)[mnrs]?\s+)"
_COUNT = rf"(?:(?:\d+(?:[.,/\u2044]\d+)?|[¼½¾⅓⅔⅛])\s*|{_WORDED})"
# What is said without a figure as well: "handful of curing salt".
_BY_HAND = (
    r"(?:tea|table)?[ -]?spoonfuls?|pinch(?:es)?|handfuls?|(?:dash(?:es)?|scoops?|capfuls?|sprinkl(?:e|ing))(?= of\b)"
    r"|Prisen?|Messerspitzen?|Msp|Handvoll|Hand voll|Hände voll"
)
_HANDFULS = (
    rf"tsp|tbsp|(?:tea|table)?[ -]?spoons?|{_BY_HAND}|cups?|packets?|sachets?"
    r"|TL|EL|(?:Tee|Ess|Eß|Mess|Meß|Kaffee)?-?löffel(?:n|chen)?|Tassen?|Becher|Päckchen|Tütchen"
)
UNITS = rf"kg|g|mg|ml|oz|lbs?|kilos?|gram(?:me)?s?|ounces?|pounds?|(?:Milli|Kilo)?gramms?|Pfund|Unzen?|{_HANDFULS}"
_ASIDE = r"(?:\s*\([^()%]{0,40}\))?"
# mg/kg is a share, not a weight; so is g/kg of nitrite, but of a curing salt it is a weight for each kilo.
_WEIGHT = rf"(?:(?:\d+(?:[.,]\d+)?\s*(?:[\u2010-\u2014-]|to|bis|oder|or)\s*)?{_COUNT}{_SIZED}?(?:{UNITS})|\b(?:{_BY_HAND}))\b\.?(?!\s*/)"
_EACH = r"(?:/|\b(?:per|pro|je|a|auf|to (?:the|a)|(?:for|to) (?:each|every))\b(?: \w{3,5})?)\s*(?:\d+(?:[.,]\d+)?\s*)?(?:kg|kilo\w*|lbs?|pounds?|Pfund)\b(?:(?: of)?(?: the)? (?:meat|mix|Fleisch|Masse|Brät))?"
_FOR_EACH = rf"{_COUNT}(?:g|grams?|Gramm|oz|ounces?|Unzen?|{_HANDFULS})\s*{_EACH}"
_CURING = (
    r"(?:curing|pickling|pink|nitrited?|nitrite)[ -]salt|curing[ -](?:mix|powder|blend|agent|compound)|pink (?:stuff|powder|crystals|mix)|(?:pink|instant|quick)[ -]cure\b"
    rf"|\bcure ?(?:#|no\.?|nr\.?|number)? ?(?:[12]|one|two)\b(?! ?(?:{UNITS}|days?|weeks?|hours?|of)\b)"
    r"|p(?:ö|oe)kel(?:-?(?:salz|mischung|mittel|stoff|pulver|zeug)\w{0,20}|\b)|(?:nitrit|curing)-?salz\w{0,2}|NPS\b|rosa(?:farben)?e?[mnrs]?[ -]?(?:salz|pulver|zeug|mischung|kristalle)\w{0,2}"
)
# Behind a weight "cure" is a thing; before one, "cure 2 kg of belly", it may be what is done.
_CURE = r"\bcure\b(?! (?:times?|days?|for|it|them|until|in|at)\b)"
_THE_CURE = r"(?:\b(?:the|your|my|this|of) cure\b|\bcure(?=\s*[:=(]))"
_SALT = rf"(?:{_CURING}|nitrite|nitrate|saltpet(?:re|er)|(?:nitrit|nitrat|salpeter)(?:e?s)?\b|E[\s-]?2(?:49|5[0-2]))"
_FRONT = r"[\w-]{0,20}"  # "Natriumnitrit", "Kalisalpeter"
_BETWEEN = (
    r"(?:\s+(?:of|the|that|this|your|my|a|an|any|level|heaped|pink|dry|pure|sodium|potassium|same|strong|weak"
    # German: what may stand there ends in one of the endings of an adjective or an article.
    r"|von|vom|davon|rosa|voll|gehäuft|gestrichen|an|[a-zäöüß-]{0,20}(?:e[mnrs]|das|die|eine?)))*\s+"
)
# Behind the name: "Pökelsalz, 2,4 kg Schulter" goes on with the next thing.
_BEHIND = rf"{_ASIDE}(?:\s*[:=(\u2013\u2014-]+\s*|\s+)(?:(?:is|at (?:a|the) rate of|at|about|some|sind|ist|etwa|rund|ungefähr|insgesamt|jeweils|und zwar|je|pro|per|kilo|kg|kilogramm|ca\.?)\b\.?\s*|@\s*)*"
_BARE = re.compile(
    rf"{_WEIGHT}{_ASIDE}{_BETWEEN}{_FRONT}(?:{_SALT}|{_CURE})|{_FOR_EACH}{_BETWEEN}{_FRONT}(?:{_CURING}|{_CURE})"
    rf"|(?:{_CURING}|{_THE_CURE}){_BEHIND}{_FOR_EACH}|(?:{_SALT}|{_THE_CURE})(?:{_BEHIND}{_WEIGHT}(?!\s+of\b)|\s*,\s*(?:ca\.?|etwa|und zwar|about|some)?\s*{_WEIGHT}(?!\s+of\b|\s+(?-i:[A-ZÄÖÜ])))",
    re.IGNORECASE,
)
# A share of the meat is a dose as well. "A 6.25 % curing salt" is a pack; without the article nobody can tell which of the two is meant.
_SHARE = re.compile(
    rf"(?<!\ba )(?<!\ban )(?<!\bthe )(?<!\byour )(?<!\bein )(?<!\beine )(?<!\beinem )(?<!\beinen )(?<!\beines )(?<!\bdas )(?<!\bdem )(?<!\bdes )(?<![\d.,])\d[\d.,]{{0,8}}\s?(?:%|per ?cent|Prozent)\s+(?:of (?:the )?)?(?:{_CURING}|{_CURE})"
    rf"|\d\s?(?:%|per ?cent|Prozent)\s+(?:of (?:the )?)?(?:{_CURING}|{_CURE}).{{0,20}}\b(?:of (?:the )?(?:meat|mix|weight)|by weight|per kilo|on the meat|vom Fleisch|auf das Fleisch|des Fleisch\w*|der Masse)",
    re.IGNORECASE,
)
_PERCENT = re.compile(
    r"(?: \(?(?:with|of|at|mit|zu|von)\b)? ?\(?(?<![\d.,])\d{1,3}(?:[.,]\d{1,4})?(?: ?[\u2010-\u2014-] ?\d{1,3}(?:[.,]\d{1,4})?)? ?(?:%|per ?cent\b|Prozent\b)(?: (?:sodium nitrite|nitrite|natriumnitrit|nitrit)\b)?\)?", re.IGNORECASE
)
_STRENGTH = re.compile(r"\d\s*(?:%|per ?cent\b|Prozent\b)", re.IGNORECASE)
# The point of an abbreviation before a figure ends no sentence.
SENTENCE = re.compile(
    r"(?<=[.!?;])(?<!\bca\.)(?<!\bmax\.)(?<!\bapprox\.)(?<!\bz\. B\.)(?<!\bz\.B\.)(?<!\bz\.)(?<!\bMsp\.)(?:(?<!\b[Nn][or]\.)|(?=\s+\D))(?:(?<!\bg\.)(?<!\bkg\.)(?<!\btsp\.)(?<!\btbsp\.)(?<!\boz\.)(?<!\blb\.)(?<!\blbs\.)|(?=\s+[A-ZÄÖÜ0-9]))\s+"
)
WEIGHED = re.compile(rf"[0-9¼½¾⅓⅔⅛]\s*(?:{UNITS})\b", re.IGNORECASE)
"""A weight of anything, or an amount by the spoon."""
# What a match of _BARE and of _SHARE holds in any case: looked for first, since most sentences have none of it.
_NAMED = re.compile(rf"{_SALT}|{_CURING}|{_CURE}|{_THE_CURE}", re.IGNORECASE)


class BareGrams(ValueError):
    """Grams of curing salt without the percentage they belong to; ``read`` is the sentence."""

    def __init__(self, read: str) -> None:
        super().__init__(read)
        self.read = read


@lru_cache(maxsize=512)  # while one writes a recipe, all its texts but one are what they were at the key before
def dose_in_words(text: str) -> str:
    """The first sentence of ``text`` with an amount of curing salt, a percentage beside it or not; "" where there is none.

    A recipe is read next to any pack: grams beside the strength of its author's are as wrong there as grams alone.
    """
    for sentence in SENTENCE.split(text):
        plain = spoken(sentence)
        # With the strength between them, name and weight still belong together.
        without = _PERCENT.sub("", plain)
        if _is_bare(plain) or _is_bare(without) or (_NAMED.search(plain) and _SHARE.search(plain)):
            return sentence
    return ""


def _is_bare(plain: str) -> bool:
    return bool(_NAMED.search(plain) and _BARE.search(plain))


@lru_cache(maxsize=512)  # one card says the same in its sections, on its sheet and as data
def bare_grams(text: str) -> str:
    """The first sentence of ``text`` with grams of curing salt and no percentage; "" where there is none.

    It finds a weight that stands beside the name of a curing salt; what is worded
    otherwise it cannot see, so it is a net under the authors' care, not in its place.
    """
    for sentence in SENTENCE.split(text):
        plain = spoken(sentence)
        if _is_bare(plain) and not _STRENGTH.search(plain):
            return sentence
    return ""
