"""A reader of QR codes of our own, to hold the drawn ones against: modules in, text out.

After ISO/IEC 18004, from memory; it proves itself: a wrong table or a wrong way through the
modules leaves syndromes that are not nought. Byte mode, level M, versions 1 to 25. It mends nothing:
one wrong module and it refuses.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

QUIET = 4  # modules of white that belong around a code
RUN = re.compile(r"M(\d+) (\d+)h(\d+)v1h-(\d+)z")
LEVEL_M = 0b00
CHECKS_PER_BLOCK = (10, 16, 26, 18, 24, 16, 18, 22, 22, 26, 30, 22, 22, 24, 24, 28, 28, 26, 26, 26, 26, 28, 28, 28, 28)
BLOCKS = (1, 1, 1, 2, 2, 4, 4, 4, 5, 5, 5, 8, 9, 9, 10, 10, 11, 13, 14, 16, 17, 17, 18, 20, 21)
MASKS = (
    lambda y, x: (y + x) % 2 == 0,
    lambda y, x: y % 2 == 0,
    lambda y, x: x % 3 == 0,
    lambda y, x: (y + x) % 3 == 0,
    lambda y, x: (y // 2 + x // 3) % 2 == 0,
    lambda y, x: y * x % 2 + y * x % 3 == 0,
    lambda y, x: (y * x % 2 + y * x % 3) % 2 == 0,
    lambda y, x: ((y + x) % 2 + y * x % 3) % 2 == 0,
)


class Unreadable(Exception):
    pass


def modules_of(drawing: str) -> list[list[int]]:
    """The modules of a drawing, the white around included, read from its path alone."""
    svg = ElementTree.fromstring(drawing)
    _, _, width, height = map(int, svg.attrib["viewBox"].split())
    rows = [[0] * width for _ in range(height)]
    path = svg.find("{http://www.w3.org/2000/svg}path").attrib["d"]
    if RUN.sub("", path):
        raise Unreadable("the path holds more than runs of black")
    for x, y, length, back in (map(int, found) for found in RUN.findall(path)):
        if length != back:
            raise Unreadable("a run does not close")
        rows[y][x : x + length] = [1] * length
    return rows


def bare(rows: list[list[int]]) -> list[list[int]]:
    """Without the white around, which must be white all over."""
    edge = [*rows[:QUIET], *rows[-QUIET:], *(row[:QUIET] for row in rows), *(row[-QUIET:] for row in rows)]
    if any(map(any, edge)):
        raise Unreadable("the white around is not white")
    return [row[QUIET:-QUIET] for row in rows[QUIET:-QUIET]]


def drawn(drawing: str) -> list[list[int]]:
    """The modules of a drawing without the white around."""
    return bare(modules_of(drawing))


def _times(a: int, b: int) -> int:
    """In the field of 256 elements, over x^8 + x^4 + x^3 + x^2 + 1."""
    product = 0
    while b:
        if b & 1:
            product ^= a
        a = a << 1 ^ (0x11D if a & 0x80 else 0)
        b >>= 1
    return product


def _syndromes(word: list[int], checks: int) -> list[int]:
    found, root = [], 1
    for _ in range(checks):
        value = 0
        for codeword in word:
            value = _times(value, root) ^ codeword
        found.append(value)
        root = _times(root, 2)
    return found


def _format(rows: list[list[int]]) -> tuple[int, int]:
    """(level, mask), read in both places."""
    size = len(rows)
    first = [(8, x) for x in (0, 1, 2, 3, 4, 5, 7, 8)] + [(y, 8) for y in (7, 5, 4, 3, 2, 1, 0)]
    second = [(size - 1 - n, 8) for n in range(7)] + [(8, size - 8 + n) for n in range(8)]
    seen = set()
    for places in (first, second):
        bits = 0
        for y, x in places:
            bits = bits << 1 | rows[y][x]
        seen.add(bits ^ 0b101010000010010)
    if len(seen) != 1:
        raise Unreadable("the two copies of the format differ")
    bits = seen.pop()
    rest = bits
    for shift in range(4, -1, -1):
        if rest >> shift + 10 & 1:
            rest ^= 0b10100110111 << shift
    if rest:
        raise Unreadable("the format's check is wrong")
    return bits >> 13, bits >> 10 & 7


def _aligned(version: int) -> list[int]:
    if version == 1:
        return []
    count = version // 7 + 2
    step = (version * 4 + count * 2 + 1) // (count * 2 - 2) * 2
    last = version * 4 + 10
    return [6, *sorted(last - step * n for n in range(count - 1))]


def _fixed(version: int) -> set[tuple[int, int]]:
    """All modules that carry no data."""
    size = version * 4 + 17
    cells = {(6, n) for n in range(size)} | {(n, 6) for n in range(size)}
    cells |= {(y, x) for y in range(9) for x in range(9)}
    cells |= {(y, size - 1 - x) for y in range(9) for x in range(8)}
    cells |= {(size - 1 - y, x) for y in range(8) for x in range(9)}
    places = _aligned(version)
    for y in places:
        for x in places:
            if (y, x) not in ((6, 6), (6, size - 7), (size - 7, 6)):
                cells |= {(y + dy, x + dx) for dy in range(-2, 3) for dx in range(-2, 3)}
    if version >= 7:
        cells |= {(y, size - 11 + x) for y in range(6) for x in range(3)}
        cells |= {(size - 11 + y, x) for y in range(3) for x in range(6)}
    return cells


def _codewords(rows: list[list[int]], version: int, mask: int) -> list[int]:
    size, fixed, bits = len(rows), _fixed(version), []
    upwards, right = True, size - 1
    while right > 0:
        if right == 6:
            right -= 1
        for y in range(size - 1, -1, -1) if upwards else range(size):
            for x in (right, right - 1):
                if (y, x) not in fixed:
                    bits.append(rows[y][x] ^ MASKS[mask](y, x))
        upwards, right = not upwards, right - 2
    return [int("".join(str(int(bit)) for bit in bits[at : at + 8]), 2) for at in range(0, len(bits) - 7, 8)]


def read(rows: list[list[int]]) -> str:
    """The text of a code.

    rows: its modules, 1 for black, without the white around. Raises Unreadable.
    """
    size = len(rows)
    version = (size - 17) // 4
    if any(len(row) != size for row in rows) or version * 4 + 17 != size or not 1 <= version <= 25:
        raise Unreadable(f"{size} modules are no code")
    level, mask = _format(rows)
    if level != LEVEL_M:
        raise Unreadable(f"level {level:02b} is not M")
    words, checks, count = _codewords(rows, version, mask), CHECKS_PER_BLOCK[version - 1], BLOCKS[version - 1]
    short = len(words) // count - checks
    lengths = [short + (n >= count - len(words) % count) for n in range(count)]
    blocks: list[list[int]] = [[] for _ in lengths]
    stream = iter(words)
    for at in range(max(lengths)):
        for block, length in zip(blocks, lengths, strict=True):
            if at < length:
                block.append(next(stream))
    data = [word for block in blocks for word in block]
    for _ in range(checks):
        for block in blocks:
            block.append(next(stream))
    for block in blocks:
        if any(_syndromes(block, checks)):
            raise Unreadable("a block's checks are wrong")
    bits = "".join(f"{word:08b}" for word in data)
    if bits[:4] != "0100":
        raise Unreadable(f"mode {bits[:4]} is not bytes")
    begin = 4 + (8 if version < 10 else 16)
    length = int(bits[4:begin], 2)
    return bytes(int(bits[at : at + 8], 2) for at in range(begin, begin + 8 * length, 8)).decode("utf-8")
