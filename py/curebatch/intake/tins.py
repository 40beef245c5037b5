"""Tins and casings as a cook writes them: ``2 x loaf 24 x 9 bottom 22 x 8 depth 7 cm``.

German words are read as well, ``Kastenform 24 x 9 unten 22 x 8 Tiefe 7 cm``, and written the one way.

A kind, its inside sizes, a unit; how many there are in front. Sizes without a unit
of their own take the last one's. A casing is never just a casing: its flat width
and its diameter differ by half, so one of the two must be said.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from unicodedata import normalize

from ..batch import tins
from ..fields import LENGTH
from .numbers import Misread, tidy
from .units import read_amount

VOLUME = ("ml", "l")
MOST = 99  # of one kind
LONGEST = 120  # characters of one entry


@dataclass(frozen=True)
class TinEntry:
    """A tin as read, and how it is written our way."""

    shape: tins.Shape
    count: int
    text: str

    def tin(self, name: str, headroom: float | None) -> tins.Tin:
        """The tin with a name and the share of its depth that stays empty."""
        return tins.Tin(name, self.shape, self.count, None if isinstance(self.shape, tins.Casing) else headroom)


@dataclass(frozen=True)
class _Kind:
    word: str
    shape: type
    pattern: re.Pattern[str]
    written: str
    opening: re.Pattern[str]  # the word, and what is said in its place


_ALSO = {"bottom": "(?:bottom|unten|boden)", "depth": "(?:depth|tiefe|tief|höhe|hoch)"}


def _kind(word: str, shape: type, form: str, also: str) -> _Kind:
    """A kind of tin. form: its sizes in their order, each a ``#``, with the words between them; also: a pattern of other words for it."""
    pattern = r"\s*".join(r"(.+?)" if part == "#" else _ALSO.get(part, re.escape(part)) for part in form.split())
    return _Kind(word, shape, re.compile(pattern, re.IGNORECASE), form, re.compile(rf"(?:{word}|(?:{also})(?![a-zäöüß])) *", re.IGNORECASE))


# The words that open an entry; longer ones first, so that a round casing is no round tin.
_KINDS = (
    _kind("casing flat", tins.CasingByFlatWidth, "# x #", "(?:kunst)?darm,? (?:flach(?: ?liegend)?|flachbreite)"),
    _kind("casing diameter", tins.CasingByDiameter, "# x #", "(?:kunst)?darm,? (?:nach )?(?:durchmesser|kaliber|ø)"),
    _kind("half-round", tins.HalfRound, "# x # x #", "halbrund(?:e form)?|halbrundform|rehrücken(?:form)?"),
    _kind("round", tins.Round, "# x #", "rund(?:e form)?|rundform|springform"),
    _kind("loaf", tins.Loaf, "# x # bottom # x # depth #", "kastenform|königskuchenform"),
    _kind("box", tins.Box, "# x # x #", "kasten|quader|rechteckig|eckig"),
)
_COUNT = re.compile(r"([0-9]{1,3}) ?x ?(?=[a-z])", re.IGNORECASE)
OPENINGS = tuple(kind.opening.pattern for kind in _KINDS)
HOLDS = "holds|fasst|faßt"
_HOLDS = re.compile(rf"(?:{HOLDS}) ?(.+)", re.IGNORECASE)
_CASING = re.compile(r"casing|[a-zäöüß]*darm(?![a-zäöüß])|därme", re.IGNORECASE)
_HAS_UNIT = re.compile(r"[a-zäöü]+\.?$", re.IGNORECASE)


def read_tin(text: str) -> TinEntry:
    """Read one entry.

    text: what was typed. Returns a TinEntry.
    Raises Misread for what is no tin, or no size, and tins.TinRefused for one that cannot be.
    """
    entry = re.sub("[×✕]", "x", tidy(normalize("NFC", text)))
    if len(entry) > LONGEST:
        raise Misread("too_long")
    count = 1
    if found := _COUNT.match(entry):
        count, entry = int(found[1]), entry[found.end():]
        if not 1 <= count <= MOST:
            raise tins.TinRefused("tin_count", read=found[1])
    prefix = f"{count} x " if count > 1 else ""
    if found := _HOLDS.fullmatch(entry):
        volume = read_amount(found[1], "volume", VOLUME)
        return TinEntry(tins.Measured(volume.value), count, f"{prefix}holds {volume.text}")
    for kind in _KINDS:
        if found := kind.opening.match(entry):
            sizes = kind.pattern.fullmatch(entry[found.end():].strip(" "))
            if sizes is None:
                raise Misread("tin_sizes", kind=found[0].strip(" "), form=_example(kind))
            values, written = _lengths([part.strip(" ") for part in sizes.groups()])
            return TinEntry(kind.shape(*values), count, f"{prefix}{kind.word} {_filled(kind, written)}")
    raise Misread("tin_casing" if _CASING.match(entry) else "tin_kind")


def _lengths(parts: list[str]) -> tuple[list[Fraction], list[str]]:
    """The sizes [m], each with the unit that stands last where it has none, and as they are written."""
    unit = _HAS_UNIT.search(parts[-1])
    values, written = [], []
    for part in parts:
        amount = read_amount(part if _HAS_UNIT.search(part) or unit is None else f"{part} {unit[0]}", "length", LENGTH)
        values.append(amount.value)
        written.append(amount.text)
    last = written[-1].rpartition(" ")[2]
    # One unit for all is written once, at the end.
    if all(size.endswith(f" {last}") for size in written):
        written = [*(size.removesuffix(f" {last}") for size in written[:-1]), written[-1]]
    return values, written


def _filled(kind: _Kind, sizes: list[str]) -> str:
    left = iter(sizes)
    return " ".join(next(left) if part == "#" else part for part in kind.written.split())


_SAMPLE = {"box": "30 x 10 x 8", "round": "18 x 7", "loaf": "24 x 9 bottom 22 x 8 depth 7", "half-round": "10 x 5 x 30", "casing flat": "9 x 30", "casing diameter": "5.7 x 30"}


def _example(kind: _Kind) -> str:
    return f"{kind.word} {_SAMPLE[kind.word]} cm"


def examples() -> tuple[str, ...]:
    """One entry of each kind, as it may be typed."""
    return (*(_example(kind) for kind in reversed(_KINDS)), "holds 1.4 l")

