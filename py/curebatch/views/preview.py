"""The picture that a link shows in a chat: 1200 by 630, drawn dot by dot into a PNG, with no browser and no font file.

The lettering is one of our own: capitals and figures as strokes with round ends, on a grid nine
units high. A title with letters that it lacks is left out, and the emblem stands alone: half a
name would be worse than none. The same title gives the same bytes, by the same zlib.
"""

from __future__ import annotations

import unicodedata
import zlib
from functools import lru_cache
from itertools import pairwise
from math import ceil, cos, hypot, radians, sin
from struct import pack

from curebatch.views.lines import handed
from curebatch.words import say

WIDTH, HEIGHT = 1200, 630
PANEL = 380  # width of the coloured part, with the emblem
EDGE = 70
SHADES = 16  # steps between a ground and what is drawn on it
PAPER, INK, GROUND = (0xF4, 0xED, 0xE1), (0x2D, 0x1B, 0x27), (0x5B, 0x22, 0x44)  # as in the style sheet
ON_PAPER, ON_PANEL = 0, SHADES  # where the two ramps begin in the palette
#: Dots for one unit of the grid, the largest that fits is taken; lines at most for each.
SIZES = ((9.0, 3), (7.0, 4), (5.5, 5), (4.5, 5))
SMALL = 3.6
CAP = 9  # units from the top of a capital to its foot

# A path is points "x,y" and arcs "@cx,cy,rx,ry,from,to" (degrees, y downwards), paths parted by ";".
_LETTERS: dict[str, str] = {
    "A": "0,9 3,0 6,9;1.2,6 4.8,6",
    "B": "0,0 0,9;0,0 2.8,0 @2.8,2.1,2,2.1,-90,90 0,4.2;2.8,4.2 @2.8,6.6,2.4,2.4,-90,90 0,9",
    "C": "@3.4,4.5,3.4,4.5,-48,-312",
    "D": "0,0 2.2,0 @2.2,4.5,3.8,4.5,-90,90 0,9 0,0",
    "E": "4.8,0 0,0 0,9 4.8,9;0,4.3 4,4.3",
    "F": "4.8,0 0,0 0,9;0,4.3 4,4.3",
    "G": "@3.4,4.5,3.4,4.5,-48,-356 4,4.8",
    "H": "0,0 0,9;5.8,0 5.8,9;0,4.4 5.8,4.4",
    "I": "0,0 0,9",
    "J": "3.8,0 3.8,6.6 @1.9,6.6,1.9,2.4,0,160",
    "K": "0,0 0,9;5.2,0 0,5.4;1.9,3.5 5.4,9",
    "L": "0,0 0,9 4.6,9",
    "M": "0,9 0,0 3.5,6 7,0 7,9",
    "N": "0,9 0,0 5.8,9 5.8,0",
    "O": "@3.5,4.5,3.5,4.5,0,360",
    "P": "0,9 0,0 2.8,0 @2.8,2.4,2.4,2.4,-90,90 0,4.8",
    "Q": "@3.5,4.5,3.5,4.5,0,360;4.4,6.4 6.8,9.4",
    "R": "0,9 0,0 2.8,0 @2.8,2.4,2.4,2.4,-90,90 0,4.8;2.8,4.8 5.4,9",
    "S": "@2.5,2.3,2.3,2.3,-30,-270 @2.5,6.8,2.5,2.2,-90,155",
    "T": "0,0 5.8,0;2.9,0 2.9,9",
    "U": "0,0 0,6 @2.9,6,2.9,3,180,0 5.8,0",
    "V": "0,0 3,9 6,0",
    "W": "0,0 2.1,9 4.2,1.6 6.3,9 8.4,0",
    "X": "0,0 5.6,9;5.6,0 0,9",
    "Y": "0,0 2.9,4.6 5.8,0;2.9,4.6 2.9,9",
    "Z": "0,0 5.2,0 0,9 5.2,9",
    "0": "@2.7,4.5,2.7,4.5,0,360",
    "1": "0,1.7 2.2,0 2.2,9",
    "2": "@2.5,2.5,2.5,2.5,-170,40 0,9 5.1,9",
    "3": "@2.4,2.2,2.2,2.2,-155,90 @2.4,6.7,2.6,2.3,-90,155",
    "4": "4,9 4,0 0,6.2 5.3,6.2",
    "5": "4.7,0 0.7,0 0.4,4 @2.5,6.2,2.6,2.8,-140,150",
    "6": "4.1,0 0.5,4.9;@2.6,6.3,2.6,2.7,0,360",
    "7": "0,0 5.1,0 1.6,9",
    "8": "@2.6,2.2,2.2,2.2,0,360;@2.6,6.7,2.6,2.3,0,360",
    "9": "@2.6,2.7,2.6,2.7,0,360;4.7,4.1 1.1,9",
    ".": "0,9 0,9",
    ",": "0.4,8.9 0,10.4",
    ":": "0,3.4 0,3.4;0,9 0,9",
    "'": "0,0 0,2",
    "-": "0,4.9 2.6,4.9",
    "+": "0,4.9 4.4,4.9;2.2,2.7 2.2,7.1",
    "/": "0,9.6 3.4,-0.6",
    "(": "@4.2,4.5,4.2,6,-128,-232",
    ")": "@-2.4,4.5,4.2,6,-52,52",
    "?": "@2.2,2.3,2.2,2.3,-170,90 2.2,6;2.2,9 2.2,9",
    "!": "0,0 0,6;0,9 0,9",
    "&": "5.8,9 1.4,3.2 @2.7,1.9,1.6,1.9,150,395 1.4,4.9 @2.2,6.8,2.2,2.2,-115,-320 5.6,5.4",
    "%": "@1.3,1.9,1.3,1.9,0,360;@5.1,7.1,1.3,1.9,0,360;5,0 1.4,9",
}
_SAME = str.maketrans({"’": "'", "‘": "'", "“": "'", "”": "'", "–": "-", "—": "-", "ß": "ss", "æ": "ae", "Æ": "AE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "œ": "oe", "Œ": "OE"})
_SPACE = 2.9
_BETWEEN = 2.9  # between two letters, from stroke to stroke

# The emblem: a steelyard with its pan and its weight, on a grid of 32 units.
_EMBLEM = "3,11 29,11;20,4 20,11;9,11 9,15;25,11 25,14;9,15 15,25;9,15 3,25;3,25 15,25;3.4,25.4 @9,25,5.6,3.4,180,0"
_WEIGHT = "22.6,14.4 27.4,14.4 27.4,19 22.6,19 22.6,14.4;23.4,16.6 26.6,16.6"

Polyline = tuple[tuple[float, float], ...]


def _polylines(path: str) -> tuple[Polyline, ...]:
    found = []
    for part in path.split(";"):
        points: list[tuple[float, float]] = []
        for token in part.split():
            if token.startswith("@"):
                cx, cy, rx, ry, begin, end = map(float, token[1:].split(","))
                steps = max(2, ceil(abs(end - begin) / 12))
                angles = (radians(begin + (end - begin) * step / steps) for step in range(steps + 1))
                points += [(cx + rx * cos(angle), cy + ry * sin(angle)) for angle in angles]
            else:
                x, y = map(float, token.split(","))
                points.append((x, y))
        found.append(tuple(points))
    return tuple(found)


@lru_cache(maxsize=128)
def _letter(letter: str) -> tuple[tuple[Polyline, ...], float, float]:
    """Its strokes, and where it begins and ends on the grid."""
    lines = _polylines(_LETTERS[letter])
    across = [x for line in lines for x, _ in line]
    return lines, min(across), max(across)


def _distance(x: float, y: float, a: tuple[float, float], b: tuple[float, float]) -> float:
    """From a point to the stretch from ``a`` to ``b``."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = dx * dx + dy * dy
    along = 0.0 if length == 0 else min(1.0, max(0.0, ((x - a[0]) * dx + (y - a[1]) * dy) / length))
    return hypot(x - a[0] - along * dx, y - a[1] - along * dy)


def _stroked(lines: tuple[Polyline, ...], width: int, height: int, half: float) -> list[bytearray]:
    """Strokes in dots as shades from 0 to SHADES - 1; half: half of the stroke's width [dots]."""
    shades = [bytearray(width) for _ in range(height)]
    for line in lines:
        for a, b in pairwise(line):
            left, right = sorted((a[0], b[0]))
            top, bottom = sorted((a[1], b[1]))
            for y in range(max(0, int(top - half - 1)), min(height, ceil(bottom + half + 1))):
                row = shades[y]
                for x in range(max(0, int(left - half - 1)), min(width, ceil(right + half + 1))):
                    cover = half + 0.5 - _distance(x + 0.5, y + 0.5, a, b)
                    if cover > 0:
                        shade = SHADES - 1 if cover >= 1 else round(cover * (SHADES - 1))
                        row[x] = max(row[x], shade)
    return shades


@lru_cache(maxsize=512)
def _drawn(letter: str, unit: float, ramp: int) -> tuple[tuple[bytes, ...], int]:
    """A letter as rows of palette numbers, and the padding around it [dots]."""
    lines, begin, end = _letter(letter)
    half = unit * 0.62
    pad = ceil(half + 1)
    moved = tuple(tuple(((x - begin) * unit + pad, (y + 1) * unit + pad) for x, y in line) for line in lines)
    width, height = ceil((end - begin) * unit) + 2 * pad, ceil((CAP + 3) * unit) + 2 * pad
    return tuple(bytes(ramp + shade for shade in row) for row in _stroked(moved, width, height, half)), pad


def _advance(letter: str) -> float:
    """How far a letter moves on [units]."""
    if letter == " ":
        return _SPACE
    _, begin, end = _letter(letter)
    return end - begin + _BETWEEN


def _span(text: str, unit: float) -> float:
    """The width of ``text`` in dots."""
    return sum(map(_advance, text)) * unit


def _put(canvas: list[bytearray], text: str, x: float, y: float, unit: float, ramp: int) -> None:
    """Write ``text`` with its upper left at x, y, on bare ground: no two letters' boxes touch."""
    for letter in text:
        if letter != " ":
            rows, pad = _drawn(letter, unit, ramp)
            left, top = round(x) - pad, round(y - unit) - pad
            for down, row in enumerate(rows):
                canvas[top + down][left : left + len(row)] = row
        x += _advance(letter) * unit


def spelled(text: str) -> str:
    """``text`` in the letters that there are, in capitals; "" where one is missing."""
    plain = unicodedata.normalize("NFKD", handed(text).translate(_SAME)).upper()
    kept = "".join(char for char in plain if not unicodedata.combining(char))
    return kept if all(char == " " or char in _LETTERS for char in kept) else ""


def _lines(text: str, unit: float, room: float) -> list[str]:
    """``text`` broken between words to lines no wider than ``room``; [] where a word is wider."""
    lines: list[str] = []
    for word in text.split():
        if _span(word, unit) > room:
            return []
        if lines and _span(f"{lines[-1]} {word}", unit) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


@lru_cache(maxsize=1)
def _ground() -> tuple[bytes, ...]:
    """The panel with its emblem, and bare paper beside it: the same on every picture."""
    unit, half = 8.5, 11.0
    left, top = (PANEL - 32 * unit) / 2, (HEIGHT - 32 * unit) / 2
    lines = tuple(tuple((x * unit + left, y * unit + top) for x, y in line) for line in _polylines(f"{_EMBLEM};{_WEIGHT}"))
    shades = _stroked(lines, PANEL, HEIGHT, half)
    return tuple(bytes(ON_PANEL + shade for shade in row) + bytes([ON_PAPER]) * (WIDTH - PANEL) for row in shades)


def _ramp(ground: tuple[int, int, int], ink: tuple[int, int, int]) -> bytes:
    top = SHADES - 1
    return bytes(round(g + (i - g) * step / top) for step in range(SHADES) for g, i in zip(ground, ink, strict=True))


def _chunk(kind: bytes, data: bytes) -> bytes:
    return pack(">I", len(data)) + kind + data + pack(">I", zlib.crc32(kind + data))


def png(rows: list[bytes], palette: bytes) -> bytes:
    """A PNG of rows of palette numbers; palette: three bytes for each colour."""
    head = pack(">IIBBBBB", len(rows[0]), len(rows), 8, 3, 0, 0, 0)
    # Filter 0 on each row: large even grounds need no other. Level 3 takes a third of the time
    # of 6 for a quarter more bytes, and there may be hundreds of pictures.
    data = zlib.compress(b"".join(b"\0" + row for row in rows), 3)
    parts = ((b"IHDR", head), (b"PLTE", palette), (b"IDAT", data), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, part) for kind, part in parts)


def preview(title: str, line: str = "") -> bytes:
    """The picture for a page's link.

    title: of the recipe; line: the sentence below it, else the question for the pack.
    Returns a PNG of WIDTH by HEIGHT; without lettering where the title has letters that
    there are none for, or is too long.
    """
    canvas = [bytearray(row) for row in _ground()]
    room, text = WIDTH - PANEL - 2 * EDGE, spelled(title)
    below, mark = spelled(line or say("preview.question")), spelled(say("page.name"))
    for unit, most in SIZES if text else ():
        lines = _lines(text, unit, room)
        if not lines or len(lines) > most:
            continue
        step = (CAP + 5) * unit
        y = (HEIGHT - step * len(lines)) / 2 - 20
        for number, one in enumerate(lines):
            _put(canvas, one, PANEL + EDGE, y + number * step, unit, ON_PAPER)
        if _span(below, SMALL) <= room:
            _put(canvas, below, PANEL + EDGE, y + len(lines) * step + 18, SMALL, ON_PAPER)
        break
    if _span(mark, SMALL) <= PANEL - 40:
        _put(canvas, mark, (PANEL - _span(mark, SMALL) + _BETWEEN * SMALL) / 2, HEIGHT - 80, SMALL, ON_PANEL)
    return png([bytes(row) for row in canvas], _ramp(PAPER, INK) + _ramp(GROUND, PAPER))
