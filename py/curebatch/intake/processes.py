"""What a recipe's words ask for that the program does not cover, or that harms: looked for in every language's words.

Like the search for bare grams it is a net under the author's care: what is worded otherwise it cannot see.
"""

from __future__ import annotations

import re
from functools import lru_cache

from ..bare_grams import SENTENCE
from .signs import spoken

_MEAT = (
    r"(?:pork|beef|veal|lamb|meat|ham|bacon|sausages?|salami|loa(?:f|ves)|loin|belly|brisket|shoulder|leg|jowl|turkey|chicken|duck|goose|poultry|pieces?|cuts?"
    r"|\w*(?:fleisch|schinken|speck|wurst|würste?|bauch|rücken|brust|schulter|keule|nacken|leberkäse|stücke?|pute|huhn|hähnchen|ente|gans))"
)
# A word like "smoked" is what is done where the sentence ends behind it or goes on with how; before a spice it is what that is.
_DONE = r"(?=\s*(?:$|[.,;:!?)]|(?:for|over|at|until|overnight|in|with|to|and|or|then|cold|hot|slowly|on|und|oder|über|bei|bis|mit|im|werden|wird|dann)\b))"
_STORE = r"\b(?:cellar|attic|larder|pantry|keller|speisekammer|dachboden|vorratskammer)\b"
_LONG = r"(?:weeks?|months?|wochen?|monat(?:e[ns]?)?)\b"
_DAYS = r"(?:days|tagen?|weeks?|months?|wochen?|monat(?:e[ns]?)?)\b"
_REST = r"[^.;!?]{0,60}"
_DRIES = r"\b(?:hang(?:s|ing)?|hung|to dry|drying|dry (?:it |them |the \w+ )?(?:for|over)|(?:auf|ab)?häng\w*|gehängt|abgehängt|aufgehängt|trockn\w*)\b"
_RIPENS = r"\b(?:matur(?:e[sd]?|ing)|ripen(?:s|ed|ing)?|ag(?:e[sd]?|ing)|reif(?:en|t|e)|gereift|nachreif\w*|heranreif\w*)\b"

# What is a process of its own, by the id of its words (``process.ID``).
_NOT_COVERED = {
    "ferment": re.compile(
        rf"\bferment(?:s|ing|ation|er)?\b|\bfermented\b(?:{_DONE}|\s+(?:\w+ ){{0,2}}{_MEAT}\b)|\bstarter[ -]?cultures?\b|\blactic (?:bacteria|cultures?)\b|\blactobacill\w*|\b(?:to|let it|let them) sour\b|\bmilchsäurebakterien\b|\b(?:ge)?säuern? lassen\b|\bstarterkultur\w*"
        rf"|\bfermentier(?:en?|t|st|ung)\b{_DONE}|\bfermentier(?:en|ung)\b|\bfermentierte[mnrs]?\s+(?:\w+ ){{0,2}}{_MEAT}\b|\bfermentation\b|\b(?:ver)?gären\b|\brohw(?:u|ü)rst\w*",
        re.I,
    ),
    "air_dry": re.compile(
        rf"\b(?:air|dry)[ -]?(?:dry(?:ing)?|dries|aging|ageing|aged?)\b|\bair[ -]?dried\b(?:{_DONE}|\s+(?:\w+ ){{0,2}}{_MEAT}\b)|\bdrying (?:chamber|cabinet|room|cellar)\b|\bcuring chamber\b"
        rf"|{_DRIES}{_REST}\b{_DAYS}|\b{_DAYS}{_REST}{_DRIES}|{_RIPENS}{_REST}\b{_LONG}|\b{_LONG}{_REST}{_RIPENS}"
        rf"|{_STORE}{_REST}\b{_LONG}|\b{_LONG}{_REST}{_STORE}|\blos(?:t|es?)\b[^.;!?]{{0,20}}\b[2-9]\d ?(?:%|per cent|percent) of (?:its|their)\b|\b[2-9]\d ?(?:%|prozent) (?:seines|ihres|des|vom) \w*gewichts?\b[^.;!?]{{0,20}}\bverl(?:oren|iert)\b"
        rf"|\blufttrockn\w*|\bluftgetrocknet\b|\bluftgetrocknete[mnrs]?\s+(?:\w+ ){{0,2}}{_MEAT}\b|\ban der luft (?:ge)?trockn\w*|\breife(?:kammer|schrank|keller|raum)\w*|\btrockenreif\w*",
        re.I,
    ),
    "smoke": re.compile(
        rf"(?<!liquid )\bsmoke\b(?![ -](?:point|free|alarm|detector|powder|flavou?r\w*|essence|aroma)\b)|\bsmok(?:er|ers|ehouse|ing)\b(?![ -]hot\b)|\bsmokes\b|\bsmoked\b(?:{_DONE}|\s+(?:\w+ ){{0,2}}{_MEAT}\b)"
        rf"|\b(?:an|kalt|heiß|heiss|warm)?r(?:ä|ae)uchern?\b|\b(?:kalt|heiß|heiss|warm)?r(?:ä|ae)uchere?t?\b(?!-)|\b(?:an|kalt|heiß|heiss|warm)?ger(?:ä|ae)uchert\b|\bger(?:ä|ae)ucherte[mnrs]?\s+(?:\w+ ){{0,2}}{_MEAT}\b"
        rf"|\b(?:beech|oak|hickory|alder|maple|apple|cherry|wood)(?: ?wood)? (?:chips|dust|shavings|sawdust)\b|\bchimney\b|\b(?:rauchfang|kamin)\b|\b(?:buchen|eichen|erlen|holz|buchenholz)(?:sp(?:ä|ae)nen?|mehl)\b|\bselch(?:en|t|e|ofen|kammer)?\b|\bgeselcht\b|\bgeselchte[mnrs]?\s+(?:\w+ ){{0,2}}{_MEAT}\b"
        r"|\br(?:ä|ae)ucher(?:ofen|öfen|kammer|schrank|tonne|haus|mehl|sp(?:ä|ae)ne)\w*|\b(?:im|in (?:den|kaltem?n?|warmem?n?|heißem?n?)(?: \w+)?) rauch\b|\bkaltrauch\b",
        re.I,
    ),
    "canning": re.compile(
        rf"\bcanning\b|\bcanners?\b|\bpressure[ -]can\b|\b(?:steril\w+|boil|process|seal|pressure[ -]?cook\w*)\b{_REST}(?<!from a )(?<!from the )\bjars?\b|(?<!from a )(?<!from the )\bjars?\b{_REST}\b(?:steril\w+|boil(?:ed)?|process(?:ed)?|pressure[ -]?cook\w*)\b|\bpreserving jars?\b"
        r"|\bein(?:weck|dos|mach)(?:en|t|e|gläser\w*|glas\w*)\b|\bein(?:ge|zu)(?:weck|dos|mach)\w*|\beinkoch(?:glas|gläser|automat|topf)\w*|\b(?:voll|kessel|dauer)?konserven?\b|\bdosenwurst\b"
        rf"|\b(?:einkochen|eingekocht|sterilisier\w*)\b{_REST}\b(?:gl(?:as|äser)\w*|dosen?)\b|\b(?:gl(?:as|äser)\w*|dosen?)\b{_REST}\b(?:einkochen|eingekocht|einzukochen|sterilisier\w*)\b",
        re.I,
    ),
    "saltpetre": re.compile(r"saltpet(?:re|er)\b|\bsalt petre\b|salpeter(?!säure)\w*", re.I),
}
_STANDS = r"\b(?:leave|left|let|cool(?:s|ed|ing)?|rests?|stands?|sits?|keep|kept|hold|held|thaw(?:s|ed)?|defrost|hang|overnight|lassen|lässt|stehen|steht|ruhen|rasten|(?:ab|aus)?kühlen|(?:ab|aus)gekühlt|auftauen|liegen|hängen|lagern|über nacht|halten|aufbewahren)\b"
_WARM = (
    r"(?:\b(?:on|upon) (?:the|your|a) (?:\w+ )?(?:counter|worktop|work ?surface|kitchen table|table|sideboard|window ?sill)\b|\bat (?:room|kitchen|ambient) (?:temperature|warmth)\b|\b(?:out of|outside|without) the (?:fridge|refrigerator)\b|\bunrefrigerated\b|\bto room temperature\b"
    r"|\bauf (?:der|einer) (?:arbeitsplatte|arbeitsfläche|anrichte|fensterbank|küchenzeile)\b|\bauf dem (?:küchen)?tisch\b|\bbei (?:zimmer|raum|küchen)temperatur\b|\bauf zimmertemperatur\b|\baußerhalb des kühlschranks?\b|\bohne kühlung\b|\bungekühlt\b)"
)
# Overnight in a warm room, or in an oven that was switched off.
_OUT = (
    r"\bleave (?:it |them |the \w+ )?out (?:overnight|all night|for)\b|\b(?:on|upon) the bench\b|\b(?:cool|leave|left|stand|rest)\w*\b[^.;!?]{0,30}\bin the kitchen\b[^.;!?]{0,20}\bovernight\b|\b(?:cool|stand|rest)\w*\b[^.;!?]{0,30}\bin the (?:\w+[ -]?){0,2}oven\b[^.;!?]{0,20}\bovernight\b"
    r"|\bauf dem balkon\b|\büber nacht draußen\b|\bdraußen (?:stehen|lassen|auskühlen|abkühlen)\b|\b(?:in der küche|im (?:back)?ofen) über nacht (?:\w+ )?(?:stehen|aus|ab)\w*|\büber nacht (?:in der küche|im (?:\w+ )?(?:back)?ofen) (?:\w+ )?(?:stehen|aus|ab)\w*"
)
_RAW_STUFF = r"\b(?:raw|uncooked|batter|mix(?:ture)?|farce|forcemeat|sausage ?meat|roh(?:e[mnrs]?)?|brät|fleischmasse|wurstmasse|farce|hackmasse|fleischteig)\b"
_TASTES = r"\b(?:taste|tasting|try|sample|eat|nibble|abschmecken|abgeschmeckt|schmeck\w*|probier\w*|kosten|koste|naschen|essen)\b"
# What is not forbidden but wrong: said on the card, by the id of its message.
_DOUBTED = {
    "step_warm": re.compile(rf"{_STANDS}[^.;!?]{{0,80}}{_WARM}|{_WARM}[^.;!?]{{0,80}}{_STANDS}|{_OUT}", re.I),
    "step_raw": re.compile(rf"\b(?:taste|tasting|sample)\b[^.;!?]{{0,40}}{_RAW_STUFF}|\b(?:try|sample) (?:some |a (?:little|bit) )?(?:of )?the {_RAW_STUFF}|\blick\b|{_TASTES}(?: \w+){{0,3}} (?:raw|roh)\b|\b(?:serve[ds]?|spread) (?:\w+ ){{0,3}}raw\b|{_RAW_STUFF}[^.;!?]{{0,40}}\b(?:abschmecken|probieren|kosten|naschen)\b|\broh (?:\w+ ){{0,2}}(?:essen|servieren|streichen|verzehren)\b", re.I),
}
_COOKED_FIRST = re.compile(r"\b(?:fry|fried|cook(?:ed)?|poach(?:ed)?|bake[ds]?|simmer(?:ed)?|gebraten\w*|braten|gegart\w*|garen|gekocht\w*|kochen|pochier\w*|durchgaren)\b", re.I)
# What is denied goes to the end of its clause; "without air and", "not covered" deny something else.
_NOT = r"(?:\b(?:not|cannot|never|neither|nor|instead of|rather than|nicht|nie|niemals|statt|anstatt|weder)|n['’]t)\b(?! (?:only|just|nur|bloß|\w+ed|(?:zu|ab|an|auf|ein|vor)?ge\w+t)\b)(?:(?! (?:and|und|then|dann|but|aber|sondern)\b)[^.,;:!?]){0,40}"
_WITHOUT = r"\b(?:without|no(?: longer| more| need (?:to|for))?|kein(?:e[mnrs]?)?|ohne)(?: (?:any|the|es|sie|ihn|das|zu))*\s*"
_DENIED = re.compile(rf"(?:{_NOT}|{_WITHOUT})$", re.I)
_DENIED_BEHIND = re.compile(r"\s+(?:(?!und\b|oder\b|aber\b)\w+\s+){0,2}nicht\b", re.I)
# "Do not smoke it over 60 degrees" asks for smoke all the same.
_ONLY_SO = re.compile(r"[^.,;:!?]{0,25}\b(?:too|over|above|longer|hotter|more than|zu|über|länger|heißer|mehr als)\b", re.I)


_QUOTED = 40  # signs before what was found, where a sentence is too long to be quoted whole


def _asks(pattern: re.Pattern[str], sentence: str) -> str:
    """The part of ``sentence`` that asks for what ``pattern`` finds, "" where none does: a denial before it, or close behind, is none."""
    for found in pattern.finditer(sentence):
        before, behind = sentence[: found.start()], sentence[found.end() :]
        denied = _DENIED.search(before) or _DENIED_BEHIND.match(behind)
        if not denied or _ONLY_SO.match(behind):
            cut = before.rfind(" ", 0, len(before) - _QUOTED) + 1 if len(before) > _QUOTED else 0
            return ("…" if cut else "") + sentence[cut:]
    return ""


@lru_cache(maxsize=512)  # as for an amount in words
def not_covered(text: str) -> tuple[str, str] | None:
    """(id of the process, the sentence) of the first thing in ``text`` that is not covered; None where there is none."""
    for sentence in SENTENCE.split(text):
        plain = spoken(sentence)
        for name, pattern in _NOT_COVERED.items():
            if asked := _asks(pattern, plain):
                return name, asked
    return None


@lru_cache(maxsize=256)  # a recipe's words are the same for every change of its batch
def doubted(text: str) -> tuple[tuple[str, str], ...]:
    """(id of the message, the sentence) of each thing in ``text`` that nobody should do."""
    found = []
    for sentence in SENTENCE.split(text):
        plain = spoken(sentence)
        for name, pattern in _DOUBTED.items():
            if (asked := _asks(pattern, plain)) and not (name == "step_raw" and _COOKED_FIRST.search(plain)):
                found.append((name, asked))
    return tuple(found)
