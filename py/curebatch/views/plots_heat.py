"""Drawings of the three temperatures as inline SVG, to scale, with text alternatives.

Only presentation attributes and classes, as in plots; colours come from the style sheet.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from math import ceil, floor

from curebatch.measures import are_us
from curebatch.stages.told import degrees, digits, duration
from curebatch.words import say

# 320 wide, so that at 360 px one unit is about one pixel.
WIDTH = 320
LEFT, RIGHT = 34, 312
TOP, FLOOR = 14, 150
HEIGHT = 178
FIGURE = 3.1  # half the width of one letter
MOST_DOTS = 60  # more readings than this are drawn as a line alone


def _text(x: float, y: float, text: str, css: str, anchor: str = "middle") -> str:
    half = FIGURE * len(text) * (1 if anchor == "middle" else 2)
    if anchor == "middle":
        x = min(max(x, half + 2), WIDTH - half - 2)
    elif anchor == "start":
        x = max(2, min(x, WIDTH - half))
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" class="{css}" font-size="11" fill="currentColor">{escape(text)}</text>'


def _whole(css: str, height: float, title: str, told: str, parts: Iterable[str]) -> str:
    return (
        f'<svg class="heat-plot {css}" viewBox="0 0 {WIDTH} {height:g}" role="img" xmlns="http://www.w3.org/2000/svg">'
        f"<title>{escape(title)}</title><desc>{escape(told)}</desc>" + "".join(parts) + "</svg>"
    )


class _Field:
    """The square that a curve is drawn in: minutes to the right, degC upwards."""

    def __init__(self, longest: float, coldest: float, hottest: float):
        self.longest = max(longest, 1.0)
        self.low, self.high = 10 * floor(coldest / 10), 10 * ceil(hottest / 10)

    def x(self, minute: float) -> float:
        return LEFT + min(max(minute / self.longest, 0.0), 1.0) * (RIGHT - LEFT)

    def y(self, temperature: float) -> float:
        share = (temperature - self.low) / (self.high - self.low)
        return FLOOR - min(max(share, 0.0), 1.0) * (FLOOR - TOP)

    def axes(self) -> list[str]:
        step = 20 if self.high - self.low <= 120 else 40
        ticks = [(value, str(value)) for value in range(ceil(self.low / step) * step, self.high + 1, step)]
        if are_us():
            low, high, step = (9 * self.low / 5 + 32, 9 * self.high / 5 + 32, 2 * step)
            ticks = [((value - 32) * 5 / 9, str(value)) for value in range(ceil(low / step) * step, floor(high) + 1, step)]
        parts = [f'<path d="M{LEFT} {TOP}V{FLOOR}H{RIGHT}" class="axis" fill="none" stroke="currentColor"/>']
        for value, shown in ticks:
            y = self.y(value)
            parts.append(f'<path d="M{LEFT} {y:.1f}h-4" class="axis" stroke="currentColor"/>')
            parts.append(_text(LEFT - 6, y + 3.5, shown, "tick-text", "end"))
        parts.append(_text(2, 9, "°F" if are_us() else "°C", "tick-text", "start"))
        every = next(one for one in (5, 10, 15, 30, 60, 120, 180, 240, 360, 720, 1440, 10**9) if self.longest / one <= 5)
        for minute in range(0, int(self.longest) + 1, every):
            shown = say("plot_heat.hours", hours=digits(minute / 60, 1)) if every >= 60 else say("plot_heat.minutes", minutes=str(minute))
            x = self.x(minute)
            parts.append(f'<path d="M{x:.1f} {FLOOR}v4" class="axis" stroke="currentColor"/>')
            parts.append(_text(x, FLOOR + 15, shown, "tick-text"))
        return parts

    def curve(self, readings: list) -> list[str]:
        points = [(self.x(minute), self.y(temperature)) for minute, temperature in readings]
        parts = []
        if len(points) > 1:
            parts.append('<polyline points="' + " ".join(f"{x:.1f},{y:.1f}" for x, y in points) + '" class="curve" fill="none" stroke="currentColor" stroke-width="2"/>')
        if len(points) <= MOST_DOTS:
            parts += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" class="dot" fill="currentColor"/>' for x, y in points]
        return parts


def _told(readings: list) -> str:
    """Readings as a sentence: all of a few, first and last of many."""
    shown = readings if len(readings) <= 8 else [*readings[:3], *readings[-3:]]
    return ", ".join(f"{duration(minute) if minute else '0 min'} {degrees(temperature)}" for minute, temperature in shown)


def core_curve(picture: dict) -> str:
    """Readings of the middle, the temperature that must be shown, and how long.

    picture: ``readings`` [[minute, degC]], ``read`` [degC] or None, ``hold_min`` [min],
    ``held_from`` [min] or None, ``proved``. Returns one <svg>.
    """
    readings, read, hold = picture["readings"], picture["read"], float(picture["hold_min"])
    temperatures = [temperature for _, temperature in readings] + ([read] if read is not None else [])
    longest = max(readings[-1][0], (picture["held_from"] or 0.0) + hold)
    field = _Field(longest, min(0.0, *temperatures), max(temperatures) + 6)
    parts = field.axes()
    if read is not None:
        y = field.y(read)
        begins = picture["held_from"]
        if hold and begins is not None:
            x, width = field.x(begins), max(field.x(begins + hold) - field.x(begins), 3.0)
            parts.append(f'<rect x="{x:.1f}" y="{TOP}" width="{width:.1f}" height="{y - TOP:.1f}" class="hold" fill="currentColor" fill-opacity="0.25"/>')
        parts.append(f'<path d="M{LEFT} {y:.1f}H{RIGHT}" class="gate" stroke="currentColor" stroke-width="1.5" stroke-dasharray="5 3"/>')
    parts += field.curve(readings)
    if read is not None:
        label = say("plot_heat.core_line", read=degrees(read, "up"))
        parts.append(_text(LEFT + 6, field.y(read) - 5, label, "gate-text", "start"))
    told = say(
        "plot_heat.core_desc", readings=_told(readings), read=degrees(read, "up") if read is not None else "-",
        hold=say("plot_heat.core_hold", hold=duration(hold, "up")) if hold else "", proved=say("plot_heat.core_proved" if picture["proved"] else "plot_heat.core_open"),
    )
    return _whole("core-curve", HEIGHT, say("plot_heat.core_title"), told, parts)


def _from_start(picture: dict) -> list:
    """Readings with the clock at nought where the first window begins."""
    readings = picture["readings"]
    hot = [minute for minute, temperature in readings if temperature >= picture["starts"]]
    begin = hot[-1] if hot else picture["out"] if picture["out"] is not None else readings[0][0] if readings else 0.0
    return [[minute - begin, temperature] for minute, temperature in readings if minute >= begin]


def cooling_curve(picture: dict) -> str:
    """Readings against the limits of one way to cool; what must not be entered is fenced off.

    picture: ``option``, ``state``, ``starts`` [degC], ``limits`` [{to, by_min}], ``readings``
    [[minute, degC]], ``out`` [min] or None. Returns one <svg>.
    """
    readings, limits = _from_start(picture), picture["limits"]
    longest = max([limit["by_min"] for limit in limits] + [minute for minute, _ in readings]) * 1.05
    hottest = max([picture["starts"]] + [temperature for _, temperature in readings]) + 4
    field = _Field(longest, min([0.0] + [temperature for _, temperature in readings]), hottest)
    parts = field.axes()
    fence, labels, above = "", [], TOP
    for limit in limits:
        x, y = field.x(limit["by_min"]), field.y(limit["to"])
        fence += f"M{x:.1f} {TOP}V{y:.1f}" if not fence else f"H{x:.1f}V{y:.1f}"
        text = say("plot_heat.cool_limit", to=degrees(limit["to"]), time=duration(limit["by_min"]))
        labels.append(_text(x - 4 - 2 * FIGURE * len(text) if x > WIDTH / 2 else x + 4, above + 12, text, "gate-text", "start"))
        above = y
    parts.append(f'<path d="{fence}H{RIGHT}" class="fence" fill="none" stroke="currentColor" stroke-width="2.5"/>')
    parts += field.curve(readings) + labels
    if readings:
        told = say("plot_heat.cool_desc", readings=_told(readings), option=picture["option"], state=picture["state"])
    else:
        told = say("plot_heat.cool_plan", option=picture["option"])
    return _whole("cooling-curve", HEIGHT, say("plot_heat.cool_title"), told, parts)


def _banded(field: _Field, curve: list) -> list[str]:
    """A forecast: the band that it lies in, and its middle; nothing but its own figures."""
    there = [(field.x(minute), field.y(low), field.y(high)) for minute, low, _, high in curve]
    outline = [f"{x:.1f},{high:.1f}" for x, _, high in there] + [f"{x:.1f},{low:.1f}" for x, low, _ in reversed(there)]
    line = " ".join(f"{field.x(minute):.1f},{field.y(middle):.1f}" for minute, _, middle, _ in curve)
    return [
        '<polygon points="' + " ".join(outline) + '" class="band" fill="currentColor" fill-opacity="0.2"/>',
        f'<polyline points="{line}" class="curve foretold" fill="none" stroke="currentColor" stroke-width="2"/>',
    ]


def core_forecast(picture: dict) -> str:
    """The forecast of the middle with its band, the target, and the readings that correct it.

    picture: ``curve`` [[minute, low, nominal, high]], ``target`` [degC], ``minutes`` {low, nominal,
    high} [min], high None where it has no end, ``readings`` [[minute, degC]]. Returns one <svg>.
    """
    curve, target, minutes, readings = picture["curve"], float(picture["target"]), picture["minutes"], picture["readings"]
    warmest = max([target, *(row[2] for row in curve), *(read for _, read in readings)])
    field = _Field(max([curve[-1][0], *(minute for minute, _ in readings)]), min([0.0, *(row[1] for row in curve)]), warmest + 6)
    y = field.y(target)
    parts = [*field.axes(), *_banded(field, curve)]
    parts.append(f'<path d="M{LEFT} {y:.1f}H{RIGHT}" class="gate" stroke="currentColor" stroke-width="1.5" stroke-dasharray="5 3"/>')
    parts += [f'<circle cx="{field.x(minute):.1f}" cy="{field.y(read):.1f}" r="3" class="dot" fill="currentColor"/>' for minute, read in readings]
    parts.append(_text(LEFT + 6, y - 5, say("plot_heat.core_line", read=degrees(target, "up")), "gate-text", "start"))
    shown = say("plot_heat.forecast_readings", readings=_told(readings)) if readings else ""
    ends = {name: duration(round(value)) for name, value in minutes.items() if value is not None}
    told = say("plot_heat.forecast_desc" if "high" in ends else "plot_heat.forecast_open", readings=shown, target=degrees(target, "up"), **ends)
    return _whole("core-forecast", HEIGHT, say("plot_heat.forecast_title"), told, parts)


def cooling_forecast(picture: dict) -> str:
    """The forecast of cooling against the limits of one way to cool, the clock at nought where that begins.

    picture: ``option`` (a sentence), ``starts`` [degC], ``limits`` [{to, by_min}], ``curve`` [[minute, low,
    nominal, high]] of the middle. Returns one <svg>.
    """
    curve, limits = picture["curve"], picture["limits"]
    # Of the slow end: the clock of the limits runs from the last minute that may still be as warm.
    begin = max((row[0] for row in curve if row[2] >= picture["starts"]), default=0.0)
    curve = [[row[0] - begin, *row[1:]] for row in curve if row[0] >= begin]
    field = _Field(max([curve[-1][0], *(limit["by_min"] for limit in limits)]) * 1.05, min([0.0, *(row[1] for row in curve)]), max([picture["starts"], curve[0][3]]) + 4)
    parts = [*field.axes(), *_banded(field, curve)]
    fence, labels, above = "", [], TOP
    for limit in limits:
        x, y = field.x(limit["by_min"]), field.y(limit["to"])
        fence += f"M{x:.1f} {TOP}V{y:.1f}" if not fence else f"H{x:.1f}V{y:.1f}"
        text = say("plot_heat.cool_limit", to=degrees(limit["to"]), time=duration(limit["by_min"]))
        labels.append(_text(x - 4 - 2 * FIGURE * len(text) if x > WIDTH / 2 else x + 4, above + 12, text, "gate-text", "start"))
        above = y
    parts.append(f'<path d="{fence}H{RIGHT}" class="fence" fill="none" stroke="currentColor" stroke-width="2.5"/>')
    told = say("plot_heat.cool_forecast_desc", option=picture["option"], temperature=degrees(curve[-1][2]), time=duration(round(curve[-1][0])))
    return _whole("cooling-forecast", HEIGHT, say("plot_heat.cool_forecast_title"), told, [*parts, *labels])


BAR = 22  # height of a row of the balance


def mix_bars(picture: dict) -> str:
    """What each part brings to the batter, or takes from it, and the chopper's work.

    picture: ``parts`` [[name, kJ]], ``work`` [kJ], ``end``, ``limit`` [degC]. Returns one <svg>.
    """
    rows = [*((name, float(heat)) for name, heat in picture["parts"]), (say("mixing.work"), float(picture["work"]))]
    most = max([abs(heat) for _, heat in rows] + [1e-9])
    below, over = min([0.0] + [heat for _, heat in rows]), max([0.0] + [heat for _, heat in rows])
    span = (over - below) or most
    left, right = 8, 312

    def at(heat: float) -> float:
        return left + (heat - below) / span * (right - left)

    parts, labels = [], []
    zero, height = at(0.0), BAR * len(rows) + 12
    for number, (name, heat) in enumerate(rows):
        y = 14 + BAR * number
        x, width = min(zero, at(heat)), max(abs(at(heat) - zero), 1.0)
        css = "bar-cools" if heat < 0 else "bar-warms"
        parts.append(f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="7" class="{css}" fill="currentColor" fill-opacity="{0.45 if heat < 0 else 0.8}"/>')
        shown = f"{name} {digits(heat, 0)} kJ"
        labels.append(_text(zero, y - 3, shown, "bar-text"))
    parts.append(f'<path d="M{zero:.1f} 4V{height:.1f}" class="axis" stroke="currentColor" stroke-dasharray="2 2"/>')
    bars = ", ".join(say("mixing.heat_out" if heat < 0 else "mixing.heat_in", name=name, heat=f"{digits(abs(heat), 0)} kJ") for name, heat in rows)
    told = say("plot_heat.mix_desc", bars=bars, end=degrees(picture["end"]), limit=degrees(picture["limit"]))
    return _whole("mix-bars", height + 4, say("plot_heat.mix_title"), told, parts + labels)
