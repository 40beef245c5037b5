"""The number grammar: what a person types, read strictly, never guessed at.

A comma is a decimal sign, for half the world's phones offer no other. So
``1,500`` and ``1.500`` could each be one and a half or fifteen hundred, and
are refused with a word on how to write them. Digits are 0-9 only.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

LONGEST = 60  # characters of one entry: a label, not a letter
MOST_DIGITS = 9  # before or after the decimal sign; a kitchen needs no more

VULGAR = {"¼": "1/4", "½": "1/2", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}

_DECIMAL = r"(?:[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+)"
_NUMBER = re.compile(rf"(?:(?P<whole>[0-9]+) +)?(?P<top>(?!0[0-9])[0-9]+) ?/ ?(?P<bottom>(?!0[0-9])[0-9]+)|(?P<decimal>{_DECIMAL})")
_AMBIGUOUS = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}")
_DASH = re.compile(r" ?[-\u2010-\u2015\u2212] ?| to | bis ")


class Misread(ValueError):
    """What was typed cannot be read: ``code`` names why, ``values`` fill its words."""

    def __init__(self, code: str, **values: str):
        super().__init__(code)
        self.code = code
        self.values = values


@dataclass(frozen=True)
class Spelled:
    """Numbers and the letters behind them, as they were typed."""

    parts: tuple[tuple[Fraction, str], ...]  # (number, unit letters)
    top: tuple[tuple[Fraction, str], ...] | None  # of a range, its upper end


def tidy(text: str) -> str:
    """``text`` with blanks of every kind made one plain blank, ends trimmed."""
    return re.sub(r"[ \t\n\r\u00a0\u2000-\u200a\u202f\u205f]+", " ", text).strip(" ")


def _number(found: re.Match[str]) -> Fraction:
    if found["decimal"] is not None:
        text = found["decimal"]
        if _AMBIGUOUS.fullmatch(text):
            whole, places = re.split("[.,]", text)
            raise Misread("ambiguous", read=text, thousands=whole + places, decimal=plain(Fraction(f"{whole}.{places}")))
        if max(len(part) for part in re.split("[.,]", text)) > MOST_DIGITS:
            raise Misread("too_long")
        return Fraction(text.replace(",", "."))
    digits = [found["whole"] or "0", found["top"], found["bottom"]]
    if max(map(len, digits)) > MOST_DIGITS:
        raise Misread("too_long")
    whole, top, bottom = map(int, digits)
    # "11/2" is one and a half to the one who typed it, and five and a half to a reader.
    if not top < bottom <= 64:
        raise Misread("fraction")
    return whole + Fraction(top, bottom)


def _parts(text: str) -> tuple[tuple[Fraction, str], ...]:
    parts: list[tuple[Fraction, str]] = []
    rest = text
    while rest:
        found = _NUMBER.match(rest)
        if not found:
            raise Misread("not_a_number")
        rest = rest[found.end():]
        # A full stop belongs to letters that it shortens, "2 lb. 3 oz.", and to nothing else.
        unit = re.match(r"[^0-9.,]*(?:(?<=[A-Za-z])\.(?![0-9.,]) *)?", rest).group()
        if unit.strip() == "/":
            raise Misread("not_a_number")
        rest = rest[len(unit):]
        if rest.startswith((".", ",")) and unit.strip() and not unit.endswith(" "):
            # "2lb.3oz": three ounces to the one who typed it, three tenths of one to a reader
            raise Misread("not_a_number")
        if rest and not unit.strip():
            # "1 500 g": a blank between digits is no thousands sign either
            raise Misread("blank_in_number")
        parts.append((_number(found), unit.strip()))
    return tuple(parts)


def spell(text: str) -> Spelled:
    """Read ``text`` as numbers with units behind them, or as a range of such.

    text: what was typed, at most 60 characters.
    Returns the numbers exactly, and their units as typed.
    Raises Misread (empty, too_long, negative, ambiguous, fraction, not_a_number,
    blank_in_number).
    """
    text = tidy(text)
    if not text:
        raise Misread("empty")
    if len(text) > LONGEST:
        raise Misread("too_long")
    for sign, plain in VULGAR.items():
        if sign not in text:
            continue
        if re.search(rf"{sign} ?[0-9]|/ ?[0-9]* ?{sign}", text):
            raise Misread("fraction")
        text = re.sub(rf"(?<=[0-9]) ?{sign}", f" {plain}", text).replace(sign, plain)
    if re.match(r"[-\u2010-\u2015\u2212] ?[0-9.,]", text):
        raise Misread("negative")
    ends = _DASH.split(text)
    if len(ends) > 2:
        raise Misread("not_a_number")
    top = _parts(ends[1]) if len(ends) == 2 else None
    bottom = _parts(ends[0])
    if not bottom or top == ():
        raise Misread("not_a_number")
    return Spelled(bottom, top)


_WAYS = ("nearest", "up", "down")


@lru_cache(maxsize=4096)  # a card says most of its figures twice, and again in the next language
def show(value: Fraction | int, places: int, way: str = "nearest") -> str:
    """``value`` in decimal digits, without grouping, readable back by ``spell``.

    value: the number; places: digits after the sign [0 to 9]; way: "nearest",
    "up" or "down". A judged figure is rounded towards the stricter side, so that
    one above a limit is never shown as the limit.
    Returns the text; exactly three places behind one to three digits would read
    as ambiguous, so a nought is added there.
    """
    low, rest = divmod(value.numerator * 10**places, value.denominator)
    if way == "up":
        low += rest > 0
    elif way == "nearest":
        low += rest * 2 > value.denominator or (rest * 2 == value.denominator and low % 2 == 1)
    elif way != "down":
        raise ValueError(f"way must be one of {', '.join(_WAYS)}, not {way!r}")
    text = format(Decimal(low).scaleb(-places), "f")
    return text + "0" if _AMBIGUOUS.fullmatch(text) else text


def plain(value: Fraction) -> str:
    """``value`` exactly: as a decimal where it has one of at most 9 places, else as a fraction.

    Reads back to the same value.
    """
    for places in range(MOST_DIGITS + 1):
        if value.numerator * 10**places % value.denominator == 0:
            return show(value, places)
    whole, rest = divmod(value, 1)
    return f"{whole} {rest}" if whole else str(rest)
