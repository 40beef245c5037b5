"""Drawings as inline SVG: to scale, in ``currentColor``, with text alternatives.

Only presentation attributes and classes: the content policy blocks ``style=``.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from html import escape
from math import floor

from curebatch.words import say

# The drawing is 320 wide so that at 360 px one unit is about one pixel and the
# lettering keeps its size; wider pages scale it up.
WIDTH, HEIGHT = 320, 126
LEFT, RIGHT = 8, 312
BEAM = 50  # height of the beam's upper edge
BEAM_DEPTH = 8
# Half the width of one figure of the lettering: keeps labels inside the drawing.
FIGURE = 3.3


def _shown(number: object, places: int = 1, way: str = ROUND_HALF_EVEN) -> str:
    """A plain number as it is written under the drawing, without a tail of noughts.

    way: what is bad for the dose is not rounded away: low and limit down, high up.
    """
    shown = Decimal(str(number)).quantize(Decimal(1).scaleb(-places), rounding=way)
    text = f"{shown:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _inside(x: float, text: str) -> float:
    """The nearest centre to ``x`` at which ``text`` stays within the drawing."""
    half = FIGURE * len(text)
    return min(max(x, LEFT + half), RIGHT - half)


def _step(top: float) -> float:
    """The distance of the notches: 1, 2 or 5 of a power of ten, about ten on the beam."""
    step = 1.0
    while top / step > 12:
        step *= 2.5 if str(step)[0] == "2" else 2
    return step


def dose_bar(picture: dict) -> str:
    """The dose on a beam from nothing to ``top``, as a balance would show it.

    picture: numbers ``low``, ``nominal``, ``high``, ``top``, the text ``unit``, and
    ``limit`` and ``threshold`` (either may be missing or None); ``per_text``, what it is per.
    Returns one <svg>; what it shows is said in its <title> and <desc> as well.
    """
    unit = str(picture["unit"])
    low, nominal, high, top = (float(picture[key]) for key in ("low", "nominal", "high", "top"))
    limit, threshold = picture.get("limit"), picture.get("threshold")
    if not top > 0:
        raise ValueError(f"the drawing needs a top above nought, not {top}")

    def at(value: float) -> float:
        share = min(max(value / top, 0.0), 1.0)
        return LEFT + share * (RIGHT - LEFT)

    figures = {
        "unit": unit,
        "top": _shown(top),
        "low": _shown(picture["low"], 1, ROUND_FLOOR),
        "nominal": _shown(picture["nominal"]),
        "high": _shown(picture["high"], 1, ROUND_CEILING),
    }
    # Two decimals: the US limit is 156.25.
    limit_text = "" if limit is None else _shown(limit, 2, ROUND_FLOOR)
    if limit is not None and high <= float(limit) and float(figures["high"]) > float(limit_text):
        # Rounded up it would read as over a limit that it keeps.
        figures["high"] = _shown(picture["high"], 2, ROUND_FLOOR)
    threshold_text = "" if threshold is None else _shown(threshold, 1, ROUND_CEILING)
    if limit is None:
        told = say("plot.desc_no_limit", **figures)
    else:
        told = say("plot.desc", limit=limit_text, **figures)
    if threshold is not None:
        told += " " + say("plot.desc_threshold", threshold=threshold_text, unit=unit)

    parts: list[str] = []
    labels: list[str] = []  # drawn last, so that no line runs over a figure

    def words(x: float, y: float, text: str, css: str, anchor: str = "middle") -> None:
        labels.append(
            f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="{css}"'
            f' font-size="11" fill="currentColor">{escape(text)}</text>'
        )

    # The beam, and its zones: plain where the dose is too small, filled where it is
    # right, crossed out past the limit. Told by texture as well as by colour.
    parts.append(
        f'<rect x="{LEFT}" y="{BEAM}" width="{RIGHT - LEFT}" height="{BEAM_DEPTH}"'
        ' class="beam" fill="none" stroke="currentColor"/>'
    )
    start = at(float(threshold)) if threshold is not None else float(LEFT)
    end = at(float(limit)) if limit is not None else float(RIGHT)
    if end > start:
        parts.append(
            f'<rect x="{start:.1f}" y="{BEAM}" width="{end - start:.1f}" height="{BEAM_DEPTH}"'
            ' class="zone-right" fill="currentColor" fill-opacity="0.25"/>'
        )
    if limit is not None:
        x = end + 4
        while x < RIGHT + BEAM_DEPTH:
            from_x, to_x = min(x, RIGHT), x - BEAM_DEPTH
            if to_x < end:
                to_x = end
            parts.append(
                f'<path d="M{from_x:.1f} {BEAM + x - from_x:.1f}'
                f'L{to_x:.1f} {BEAM + x - to_x:.1f}"'
                ' class="zone-much" stroke="currentColor" stroke-width="1.2"/>'
            )
            x += 5

    step = _step(top)
    for number in range(floor(top / step) + 1):
        x = at(number * step)
        tall = 7 if number % 2 == 0 else 4
        parts.append(
            f'<path d="M{x:.1f} {BEAM + BEAM_DEPTH}v{tall}" class="notch" stroke="currentColor"/>'
        )

    # Gates above the beam: the least to keep by, and the limit.
    for value, shown, css, word in (
        (threshold, threshold_text, "gate-threshold", "plot.threshold"),
        (limit, limit_text, "gate-limit", "plot.limit"),
    ):
        if value is None:
            continue
        x = at(float(value))
        is_limit = css == "gate-limit"
        rise = 34 if is_limit else 18
        dash = "" if is_limit else ' stroke-dasharray="3 2"'
        parts.append(
            f'<path d="M{x:.1f} {BEAM - rise}V{BEAM + BEAM_DEPTH + 4}" class="{css}"'
            f' stroke="currentColor" stroke-width="{2.5 if is_limit else 1.5}"{dash}/>'
        )
        text = say(word, value=shown)
        if not is_limit and limit is not None and abs(end - x) < FIGURE * len(text) and x - 2 * FIGURE * len(text) > LEFT:
            words(min(x + 3, end - 4), BEAM - rise - 5, text, css, "end")  # clear of the gate beside it
        else:
            words(_inside(x, text), BEAM - rise - 5, text, css)

    # What the dose may be: a thick stroke from low to high, and the nominal dose as
    # the weight that hangs from the beam.
    from_x, to_x, hang = at(low), at(high), at(nominal)
    width = max(to_x - from_x, 3.0)
    parts.append(
        f'<rect x="{from_x:.1f}" y="{BEAM - 4}" width="{width:.1f}" height="{BEAM_DEPTH + 8}"'
        ' rx="3" class="spread" fill="currentColor"/>'
    )
    foot = BEAM + BEAM_DEPTH + 4
    parts.append(
        f'<path d="M{hang:.1f} {foot}v6m0 0l7 13a7.5 7.5 0 0 1 -14 0z"'
        ' class="weight" fill="currentColor" stroke="currentColor" stroke-width="1.5"/>'
    )
    spread = say(
        "plot.spread", low=figures["low"], nominal=figures["nominal"], high=figures["high"]
    )
    words(_inside(hang, spread), HEIGHT - 20, spread, "reading")
    unit_text = say("plot.unit", unit=unit, per=picture.get("per_text", "")).strip()
    words(LEFT, HEIGHT - 4, unit_text, "unit", "start")

    return (
        f'<svg class="dose-bar" viewBox="0 0 {WIDTH} {HEIGHT}" role="img"'
        ' xmlns="http://www.w3.org/2000/svg">'
        f"<title>{escape(say('plot.title'))}</title><desc>{escape(told)}</desc>"
        + "".join(parts + labels)
        + "</svg>"
    )


def salts_bar(shares: list[float]) -> str:
    """Curing salt and plain salt end to end, to scale with the bars of the other rows.

    shares: of curing salt and of plain salt, parts of the longest bar. Returns one <svg>; the
    figures stand beside it, so it says nothing to who cannot see it.
    """
    cure, salt = (max(0.0, min(float(share), 1.0)) * WIDTH for share in shares)
    return (
        f'<svg class="salts" viewBox="0 0 {WIDTH} 16" aria-hidden="true" focusable="false" preserveAspectRatio="none" xmlns="http://www.w3.org/2000/svg">'
        f'<rect class="salts-plain" x="{cure:.1f}" y="0.5" width="{salt:.1f}" height="15" fill="none" stroke="currentColor"/>'
        f'<rect class="salts-cure" x="0" y="0" width="{cure:.1f}" height="16" fill="currentColor"/></svg>'
    )


_TIN_WIDE, _TIN_HIGH = 200.0, 90.0  # room for the outline
_TIN_LEFT, _TIN_TOP = 8.0, 22.0


def tin_filled(picture: dict, text: str) -> str:
    """A tin seen from the side, to scale, with the batter in it and the room that is left free.

    picture: ``form`` ("tin", "half-round" or "casing"), ``top``, ``bottom`` and ``depth``
    in metres, ``level`` and ``free`` as shares of the depth; text: what it shows, in words.
    Returns one <svg>.
    """
    top, bottom, depth = (float(picture[key]) for key in ("top", "bottom", "depth"))
    level, free = float(picture["level"]), float(picture["free"])
    if not (top > 0 and depth > 0):
        raise ValueError(f"the drawing needs sizes above nought, not {top} x {depth}")
    scale = min(_TIN_WIDE / max(top, bottom), _TIN_HIGH / depth)
    width, foot, height = top * scale, bottom * scale, depth * scale
    left, roof = _TIN_LEFT, _TIN_TOP
    floor_y, middle = roof + height, left + width / 2
    if picture["form"] == "casing":
        outline, batter = _casing(left, roof, width, height, level)
    elif picture["form"] == "half-round":
        outline, batter = _trough(left, roof, width, height, level)
    else:
        half = (foot + (width - foot) * level) / 2
        y = floor_y - height * level
        outline = f"M{left:.1f} {roof:.1f}L{middle - foot / 2:.1f} {floor_y:.1f}H{middle + foot / 2:.1f}L{left + width:.1f} {roof:.1f}"
        batter = f"M{middle - half:.1f} {y:.1f}L{middle - foot / 2:.1f} {floor_y:.1f}H{middle + foot / 2:.1f}L{middle + half:.1f} {y:.1f}z"
    parts = [f'<path d="{batter}" class="batter" fill="currentColor" fill-opacity="0.25"/>']
    if free and picture["form"] != "casing":
        y = roof + height * free
        parts.append(f'<path d="M{left - 4:.1f} {y:.1f}h{width + 8:.1f}" class="headroom" stroke="currentColor" stroke-dasharray="3 2" fill="none"/>')
    parts.append(f'<path d="{outline}" class="outline" stroke="currentColor" stroke-width="2" fill="none" stroke-linejoin="round"/>')
    size = say("plot.casing_size" if picture["form"] == "casing" else "plot.tin_size", top=_shown(100 * top), depth=_shown(100 * depth))
    parts.append(f'<text x="{left:.1f}" y="{roof - 8:.1f}" class="reading" font-size="11" fill="currentColor">{escape(size)}</text>')
    share = say("plot.tin_level", level=_shown(100 * level, 0))
    if picture["form"] != "casing":
        parts.append(f'<text x="{left + width + 10:.1f}" y="{floor_y - height * level + 4:.1f}" class="reading" font-size="11" fill="currentColor">{escape(share)}</text>')
    return (
        f'<svg class="tin-filled" viewBox="0 0 {WIDTH} {floor_y + 8:.0f}" role="img" xmlns="http://www.w3.org/2000/svg">'
        f"<title>{escape(say('plot.tin_title'))}</title><desc>{escape(text)}</desc>" + "".join(parts) + "</svg>"
    )


def _casing(left: float, roof: float, width: float, height: float, level: float) -> tuple[str, str]:
    """A casing lying on its side: its outline, and the length of it that is filled."""
    round_end = height / 2

    def pill(length: float) -> str:
        straight = max(0.0, length - 2 * round_end)
        return (
            f"M{left + round_end:.1f} {roof:.1f}h{straight:.1f}a{round_end:.1f} {round_end:.1f} 0 0 1 0 {height:.1f}"
            f"h{-straight:.1f}a{round_end:.1f} {round_end:.1f} 0 0 1 0 {-height:.1f}z"
        )

    return pill(width), pill(width * level)


def _trough(left: float, roof: float, width: float, height: float, level: float) -> tuple[str, str]:
    """A trough seen from its end: the arc through its rim, and the same arc under the batter."""
    half = width / 2
    radius = (half**2 + height**2) / (2 * height)
    middle, floor_y = left + half, roof + height
    y = floor_y - height * level
    chord = max(0.0, radius**2 - (radius - height * level) ** 2) ** 0.5
    outline = f"M{left:.1f} {roof:.1f}A{radius:.1f} {radius:.1f} 0 0 0 {left + width:.1f} {roof:.1f}"
    batter = f"M{middle - chord:.1f} {y:.1f}A{radius:.1f} {radius:.1f} 0 0 0 {middle + chord:.1f} {y:.1f}z"
    return outline, batter
