"""A link as a QR code: inline SVG, black on white whatever the page's colours are, and its size on paper.

Level M takes a seventh of the sign's bytes lost, from memory: check before relying on it.
Worked out by a library, and only where the code is shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from math import floor

import segno

QUIET = 4  # modules left white around the code: segno's own border for a QR code, after the standard
LEVEL = "m"
# 997 bytes, 117 modules: larger codes need a bigger print than a sheet has room for.
LARGEST = 25
MM_PER_INCH = 25.4
DPI = 300
# A module of six dots at 300 dpi is 0.5 mm; four are the least that a phone reads from a
# kitchen print (common practice, no source).
DOTS = (6, 5, 4)
WIDEST = 60.0  # mm that the sheet gives away before the modules shrink


class LinkTooLong(ValueError):
    """More bytes than a code to scan from paper holds here: ``length``, ``most``."""

    def __init__(self, length: int, most: int) -> None:
        super().__init__(f"{length} bytes, at most {most}")
        self.length, self.most = length, most


@dataclass(frozen=True)
class Code:
    """The modules of a code, row by row, 1 for black; without the white around."""

    rows: tuple[bytes, ...]
    version: int

    @property
    def modules(self) -> int:
        """Modules across, with the white on both sides."""
        return len(self.rows) + 2 * QUIET


@lru_cache(maxsize=1)
def most_bytes() -> int:
    """How many bytes the largest code holds that is made here."""
    low, high = 1, 4000
    while high - low > 1:
        middle = (low + high) // 2
        try:
            segno.make_qr(b"a" * middle, error=LEVEL, version=LARGEST, mode="byte", boost_error=False)
            low = middle
        except segno.DataOverflowError:
            high = middle
    return low


@lru_cache(maxsize=32)
def code_of(link: str) -> Code:
    """The code of a link.

    link: the whole address. Raises LinkTooLong over ``most_bytes()`` bytes, ValueError for "".
    """
    data = link.encode("utf-8")
    if not data:
        raise ValueError("a code needs a link")
    try:
        # Level M as asked: the sheet's room is planned by it. One mode, so that the same
        # link always gives the same code.
        made = segno.make_qr(data, error=LEVEL, mode="byte", boost_error=False)
    except segno.DataOverflowError:
        raise LinkTooLong(len(data), most_bytes()) from None
    if made.version > LARGEST:
        raise LinkTooLong(len(data), most_bytes())
    return Code(tuple(bytes(row) for row in made.matrix), made.version)


def dots_of(code: Code, dpi: int = DPI) -> int:
    """Printer's dots for one module: the most of DOTS with which the code stays within WIDEST.

    dpi: dots per inch of the printer, from 72 on. Whole dots, so that no edge is blurred.
    """
    scaled = [max(1, floor(dots * dpi / DPI)) for dots in DOTS]
    return next((dots for dots in scaled if code.modules * dots * MM_PER_INCH / dpi <= WIDEST), scaled[-1])


def size_mm(link: str, dpi: int = DPI) -> float:
    """The width of the code on paper, the white around it included [mm].

    link: as for ``code_of``; dpi: dots per inch of the printer, from 72 on.
    """
    code = code_of(link)
    return code.modules * dots_of(code, dpi) * MM_PER_INCH / dpi


def _runs(row: Sequence[int]) -> list[tuple[int, int]]:
    """(start, length) of each run of black."""
    runs, start = [], None
    for at, black in enumerate((*row, 0)):
        if black and start is None:
            start = at
        elif not black and start is not None:
            runs.append((start, at - start))
            start = None
    return runs


def svg(link: str, title: str, css_class: str = "qr") -> str:
    """The code of a link as one <svg> for a page.

    link: as for ``code_of``; title: what it is, for who cannot see it; css_class: its class.
    Returns a picture with presentation attributes only, sized in millimetres for paper.
    """
    code = code_of(link)
    drawn = "".join(
        f"M{QUIET + start} {QUIET + y}h{length}v1h-{length}z" for y, row in enumerate(code.rows) for start, length in _runs(row)
    )
    size, side = f"{size_mm(link):.2f}mm", code.modules
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="{escape(css_class)}" role="img" width="{size}" height="{size}" '
        f'viewBox="0 0 {side} {side}" shape-rendering="crispEdges"><title>{escape(title)}</title>'
        f'<rect width="{side}" height="{side}" fill="#fff"/><path fill="#000" d="{drawn}"/></svg>'
    )
