"""The timetable: worked back from the hour of serving, or on from now.

Science gives ranges, so events have them: what the cook does stands at one time with the
earliest and the latest that would do, what happens by itself stands between its ends. The
slow end is planned for. Where a plan has room, hands are wanted by day. A plan that cannot
be met says what gives, and by how many minutes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from ..rules.raw_hold import most_minutes
from .clock import DAY, Zone, write_instant, write_wall

LEAST_HOLD = 12 * 60  # min; 12 to 48 h before cooking, overnight usual: common practice, no source
KEEPS = (3 * DAY, 4 * DAY)  # cooked, whole, at 4-5 degC or below: from memory, check before relying on it
KEEPS_RAW = (7 * DAY, 7 * DAY)  # raw, cured: from memory, check before relying on it
MOST_PIECES = 20
LONGEST = 200 * DAY  # of any one length of time; a page gives offsets for as much before and after
SPAN_BEFORE_DAYS, SPAN_AFTER_DAYS = 400, 60
BY_DAY = (7 * 60, 22 * 60)  # wall minutes between which hands are wanted
_STEP = 15  # min: how finely room is looked through
METHODS = ("ground", "dry", "brine", "injected")
STATES = ("held", "not_held", "uncured")
SERVED = ("cold", "hot", "raw")


class WrongWork(ValueError):
    """A length of time or a choice that no plan can be made from: ``field`` and what was read."""

    def __init__(self, field: str, read: object):
        super().__init__(field)
        self.field = field
        self.read = read


@dataclass(frozen=True)
class Range:
    """Minutes, from the quickest to the slowest."""

    low: int
    nominal: int
    high: int

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.nominal <= self.high <= LONGEST:
            raise WrongWork("range", (self.low, self.nominal, self.high))


_NONE = Range(0, 0, 0)


@dataclass(frozen=True)
class Piece:
    """One loaf, tin or cut. Minutes: cooking from going in to the end of its hold, cooling from
    leaving the heat to cold; ``check``: the first look with a thermometer, after going in."""

    name: str
    cooking: Range
    cooling: Range = _NONE
    check: int | None = None

    @property
    def first_check(self) -> int:
        """Before the quickest end that science allows: rule of this project, a sixth before."""
        return self.check if self.check is not None else self.cooking.low - self.cooking.low // 6


@dataclass(frozen=True)
class Work:
    """What has to be done, in minutes of real time, 0 for what this batch does not need.

    kinds: of meat, as a recipe names them; accelerated: whether the accelerator spares the hold;
    served: "cold" (cooled through, then sliced), "hot" (rested, sliced) or "raw" (not cooked);
    cure: days in the cold of a whole cut, (first day it may come out, day it should), 0 to 200;
    soak: casings before filling, or a whole cut after its cure; equalise: after that, open in the
    cold; cooling_steps: [(degC, minutes from leaving the heat)], each by when it must be that cold.
    Raises WrongWork.
    """

    method: str
    state: str
    kinds: tuple[str, ...]
    served: str
    pieces: tuple[Piece, ...] = ()
    accelerated: bool = False
    cure: tuple[int, int] = (0, 0)
    thaw: int = 0
    half_freeze: int = 0
    bowls: int = 0
    soak: int = 0
    mix: int = 0
    fill: int = 0
    equalise: int = 0
    heat_up: int = 0
    rest: int = 0
    slice: int = 0
    cooling_steps: tuple[tuple[float, int], ...] = ()
    by_day: tuple[int, int] = BY_DAY

    def __post_init__(self) -> None:
        for name, allowed in (("method", METHODS), ("state", STATES), ("served", SERVED)):
            if getattr(self, name) not in allowed:
                raise WrongWork(name, getattr(self, name))
        for name in ("thaw", "half_freeze", "bowls", "soak", "mix", "fill", "equalise", "heat_up", "rest", "slice"):
            value = getattr(self, name)
            if type(value) is not int or not 0 <= value <= LONGEST:
                raise WrongWork(name, value)
        if not 0 <= self.cure[0] <= self.cure[1] <= LONGEST // DAY:
            raise WrongWork("cure", self.cure)
        if len(self.pieces) > MOST_PIECES or bool(self.pieces) == (self.served == "raw"):
            raise WrongWork("pieces", len(self.pieces))
        if self.method in ("dry", "brine") and self.state != "uncured" and not self.cure[1]:
            raise WrongWork("cure", self.cure)
        if self.method == "ground" and self.served == "raw":
            raise WrongWork("served", self.served)
        if not 0 <= self.by_day[0] < self.by_day[1] <= DAY:
            raise WrongWork("by_day", self.by_day)

    @property
    def waits(self) -> tuple[int, int, int]:
        """Minutes that the meat waits raw in the cold: at least, as wanted, at most.

        Ground: from filled to the oven, at most counted from the start of mincing. Whole: the cure.
        """
        if self.method != "ground":
            if self.state == "uncured":
                return 0, 0, 0
            first, last = (days * DAY for days in self.cure)
            # Longer does no harm where all of the cure is meant to go in; a pumped cut has an end.
            return first, (first if self.method == "injected" else last), last
        if self.state == "uncured":
            return 0, 0, 0
        most = max(0, self.most_hold - self.mix - self.fill)
        if self.state == "not_held":
            return 0, 0, 0
        least = 0 if self.accelerated else LEAST_HOLD
        return least, least, most

    @property
    def most_hold(self) -> int:
        """The longest that ground meat may lie raw, from mincing to the oven [min]."""
        if self.state == "uncured":
            return 0
        return most_minutes(self.kinds)


@dataclass(frozen=True)
class Event:
    """One thing to do or to expect. ``at`` lies between ``earliest`` and ``latest``; ``minutes``: how
    long it takes; ``hard``: whether a limit hangs on it; ``values`` fill its words, ``day.event.ID``."""

    id: str
    at: datetime
    earliest: datetime
    latest: datetime
    minutes: int = 0
    hard: bool = False
    piece: str = ""
    number: int = 0  # of the piece, or of the step of cooling, from 1
    by_hand: bool = True
    values: dict[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Gives:
    """What gives in a plan: a code (``day.gives.CODE``) and the minutes it is about.

    severity: "stop" (cannot be met), "caution", "note", or "way" for a way out, which is
    ``enough`` by itself or not.
    """

    code: str
    severity: str
    minutes: int
    enough: bool = False


@dataclass(frozen=True)
class Plan:
    """A timetable. ``met``: whether it can be kept as it stands; ``serve``: when it is ready, at the slow end."""

    events: tuple[Event, ...]
    gives: tuple[Gives, ...]
    serve: datetime

    @property
    def met(self) -> bool:
        return not any(one.severity == "stop" for one in self.gives)


@dataclass(frozen=True)
class _Layout:
    """All times of one plan, in minutes from a common zero: the first piece going in, or for raw
    meat the end of its equalising."""

    work: Work
    wait: int  # raw, in the cold
    slack: int = 0  # cold and whole, before it is sliced

    @property
    def _high(self) -> int:
        return max((piece.cooking.high for piece in self.work.pieces), default=0)

    def into(self, piece: Piece) -> int:
        """When a piece goes in: so that all come out together, but an uncured batter waits for nothing."""
        if self.work.method == "ground" and self.work.most_hold == 0:
            return 0
        return self._high - piece.cooking.high

    @property
    def out(self) -> int:
        """When every piece is done, at the slow end."""
        return self._high

    @property
    def last_in(self) -> int:
        return max((self.into(piece) for piece in self.work.pieces), default=0)

    @property
    def first_out(self) -> int:
        return min((self.into(piece) + piece.cooking.low for piece in self.work.pieces), default=0)

    @property
    def cold(self) -> int:
        """When all of it is cold, at the slow end; of what is served hot, rested."""
        if self.work.served == "cold":
            return max(self.into(piece) + piece.cooking.high + piece.cooling.high for piece in self.work.pieces)
        return self.out + (self.work.rest if self.work.served == "hot" else 0)

    @property
    def cut(self) -> int:
        return self.cold + self.slack

    @property
    def ready(self) -> int:
        return self.cut + self.work.slice

    @property
    def wait_end(self) -> int:
        if self.work.method == "ground":
            return 0
        return -self.work.equalise - self.work.soak

    @property
    def wait_start(self) -> int:
        return self.wait_end - self.wait

    @property
    def filled(self) -> int:
        return self.wait_start - self.work.fill

    @property
    def mixed(self) -> int:
        return self.filled - self.work.mix

    def prep(self) -> Iterator[tuple[str, int, int]]:
        """(id, minute, how long) of what comes before the mixing, in no order."""
        work = self.work
        begin = self.mixed
        if work.method == "ground" and work.soak:
            yield "soak_casings", self.filled - work.soak, work.soak
        if work.bowls:
            yield "bowls", begin - work.bowls, work.bowls
        freeze = begin - (work.half_freeze if work.method == "ground" else 0)
        if work.method == "ground" and work.half_freeze:
            yield "half_freeze", freeze, work.half_freeze
        if work.thaw:
            yield "thaw", freeze - work.thaw, work.thaw

    @property
    def first(self) -> int:
        """When the first thing is done; the oven is lit before a batter that is not held is mixed."""
        begins = [self.mixed, *(at for _, at, _ in self.prep())]
        if self.work.pieces:
            begins.append(-self.work.heat_up)
        return min(begins)

    def hands_cooking(self) -> tuple[int, ...]:
        """Minutes at which hands are wanted from the oven on."""
        if not self.work.pieces:
            return (self.cut,)
        hands = [-self.work.heat_up]
        for piece in self.work.pieces:
            begin = self.into(piece)
            hands += [begin, begin + piece.first_check, begin + piece.cooking.high]
        return (*hands, self.cut)

    def hands_before(self) -> tuple[int, ...]:
        hands = [at for _, at, _ in self.prep()] + [self.mixed, self.wait_start]
        if self.work.method != "ground":
            hands += [self.wait_end, self.wait_end + self.work.soak]
        return tuple(hands)


def _nights(zone: Zone, zero: datetime, minutes: tuple[int, ...], by_day: tuple[int, int]) -> int:
    count = 0
    for minute in minutes:
        wall = zone.wall(zero + timedelta(minutes=minute))
        count += not by_day[0] <= wall.hour * 60 + wall.minute <= by_day[1]
    return count


def _fewest(candidates: Iterator[tuple[int, int]]) -> int:
    """The candidate [(value, nights)] with the fewest nights; of several, the first."""
    best, fewest = 0, None
    for value, nights in candidates:
        if fewest is None or nights < fewest:
            best, fewest = value, nights
        if not nights:
            break
    return best


def _room(least: int, most: int) -> range:
    return range(least, most + 1, _STEP)


class _Planner:
    def __init__(self, work: Work, zone: Zone):
        self.work, self.zone = work, zone
        self.least, self.wanted, self.most = work.waits

    def _most_slack(self, layout: _Layout) -> int:
        if self.work.served == "hot":
            return 0
        keeps = KEEPS_RAW if self.work.served == "raw" else KEEPS
        begins = layout.wait_end if self.work.served == "raw" else layout.first_out
        return max(0, begins + keeps[0] - layout.cold - self.work.slice)

    def _zero_back(self, layout: _Layout, serve: datetime) -> datetime:
        return serve - timedelta(minutes=layout.ready)

    def _zero_on(self, layout: _Layout, now: datetime) -> datetime:
        return now - timedelta(minutes=layout.first)

    def _most_wait(self, layout: _Layout) -> int:
        """The longest wait, with the last piece still in the oven in time."""
        return max(self.least, self.most - (layout.last_in if self.work.method == "ground" else 0))

    def back(self, serve: datetime) -> tuple[_Layout, datetime]:
        """The comfortable plan: as late as hands by day allow."""
        layout = _Layout(self.work, self.wanted)

        def cooking(slack: int) -> int:
            # When it is sliced hangs on the hour of serving alone.
            trial = replace(layout, slack=slack)
            return _nights(self.zone, self._zero_back(trial, serve), trial.hands_cooking()[:-1], self.work.by_day)

        layout = replace(layout, slack=_fewest((slack, cooking(slack)) for slack in _room(0, self._most_slack(layout))))
        zero = self._zero_back(layout, serve)
        return self._wait_by_day(layout, zero), zero

    def _wait_by_day(self, layout: _Layout, zero: datetime) -> _Layout:
        if self.most <= self.wanted:
            return layout

        def before(wait: int) -> int:
            trial = replace(layout, wait=wait)
            return _nights(self.zone, zero, trial.hands_before(), self.work.by_day)

        return replace(layout, wait=_fewest((wait, before(wait)) for wait in _room(self.wanted, self._most_wait(layout))))

    def tight(self, serve: datetime) -> tuple[_Layout, datetime]:
        """The plan that can be begun last."""
        layout = _Layout(self.work, self.least)
        return layout, self._zero_back(layout, serve)

    def on(self, now: datetime) -> tuple[_Layout, datetime]:
        """As soon as it goes, but with the cooking by day where the raw meat may wait for it."""
        layout = _Layout(self.work, self.wanted)

        def cooking(wait: int) -> int:
            trial = replace(layout, wait=wait)
            return _nights(self.zone, self._zero_on(trial, now), trial.hands_cooking()[:-1], self.work.by_day)

        most = self._most_wait(layout) if self.most > self.wanted else self.wanted
        layout = replace(layout, wait=_fewest((wait, cooking(wait)) for wait in _room(self.wanted, max(self.wanted, most))))

        def cutting(slack: int) -> int:
            trial = replace(layout, slack=slack)
            return _nights(self.zone, self._zero_on(trial, now), (trial.cut, trial.ready), self.work.by_day)

        layout = replace(layout, slack=_fewest((slack, cutting(slack)) for slack in _room(0, self._most_slack(layout))))
        return layout, self._zero_on(layout, now)


def plan(work: Work, zone: Zone, serve: datetime | None = None, now: datetime | None = None) -> Plan:
    """Work the timetable out.

    work: what has to be done; zone: over the span of the plan, see SPAN_BEFORE_DAYS and
    SPAN_AFTER_DAYS; serve: when it is wanted; now: before which nothing can be done. With serve
    the plan is worked back, with now alone it is worked on from now.
    Raises WrongTime ("zone_short") where the zone does not reach, WrongWork without serve and now.
    """
    planner = _Planner(work, zone)
    gives: list[Gives] = []
    if serve is None:
        if now is None:
            raise WrongWork("serve", None)
        layout, zero = planner.on(_next_minute(now))
        serve = zero + timedelta(minutes=layout.ready)
    else:
        layout, zero = planner.back(serve)
        if now is not None and _begin(layout, zero) < now:
            layout, zero = _squeeze(planner, serve, now, gives)
    gives += _limits(planner, layout)
    events = _events(layout, zero)
    if now is not None:
        # What could have begun earlier can no longer.
        events = tuple(replace(event, earliest=min(event.at, max(event.earliest, now))) for event in events)
    if any(event.by_hand and _nights(zone, event.at, (0,), work.by_day) for event in events):
        gives.append(Gives("at_night", "note", 0))
    return Plan(events, tuple(gives), serve)


def _next_minute(at: datetime) -> datetime:
    whole = at.replace(second=0, microsecond=0)
    return whole if whole == at else whole + timedelta(minutes=1)


def _begin(layout: _Layout, zero: datetime) -> datetime:
    return zero + timedelta(minutes=layout.first)


def _minutes(length: timedelta) -> int:
    """Whole minutes, a part of one counted as one."""
    return -(-length // timedelta(minutes=1))


def _squeeze(planner: _Planner, serve: datetime, now: datetime, gives: list[Gives]) -> tuple[_Layout, datetime]:
    """Between now and the serving there is less time than is comfortable: what gives first is comfort,
    then the margin of the cure, and then it cannot be met."""
    layout, zero = planner.tight(serve)
    spare = _minutes(_begin(layout, zero) - now)
    if spare >= 0:
        # What is to spare goes to the wait, up to what is wanted of it.
        layout = replace(layout, wait=min(planner.wanted, layout.wait + spare))
        while _begin(layout, zero) < now:
            layout = replace(layout, wait=layout.wait - 1)
        if layout.wait < planner.wanted:
            gives.append(Gives("cure_margin", "caution", planner.wanted - layout.wait))
        return layout, zero
    gives.append(Gives("too_late", "stop", -spare))
    gives += _ways(planner.work, -spare)
    return layout, zero


def _ways(work: Work, late: int) -> list[Gives]:
    """Ways out of a plan that begins too late by ``late`` minutes: each with the minutes that it saves."""
    ways = [Gives("way_serve_later", "way", late, True)]
    tight = _Layout(work, work.waits[0])

    def saved(code: str, other: Work) -> None:
        less = _Layout(other, other.waits[0])
        minutes = (tight.ready - tight.first) - (less.ready - less.first)
        if minutes > 0:
            ways.append(Gives(code, "way", minutes, minutes >= late))

    if work.method == "ground" and work.state == "held":
        saved("way_not_held", replace(work, state="not_held"))
        if not work.accelerated:
            saved("way_accelerator", replace(work, accelerated=True))
    if work.served == "cold":
        saved("way_serve_hot", replace(work, served="hot"))
    if work.thaw:
        saved("way_thawed", replace(work, thaw=0))
    return ways


def _limits(planner: _Planner, layout: _Layout) -> list[Gives]:
    """Whether the raw meat lies too long, or what is cooked is kept too long, with nothing left to choose."""
    work, found = planner.work, []
    raw = layout.last_in - layout.mixed
    # An uncured batter is on its way to the oven all the time.
    allowed = work.most_hold if work.state != "uncured" else work.mix + work.fill
    if work.method == "ground" and raw > allowed:
        found.append(Gives("raw_too_long", "stop", raw - allowed))
    begins, keeps = (layout.wait_end, KEEPS_RAW) if work.served == "raw" else (layout.first_out, KEEPS)
    if layout.ready - begins > keeps[0]:
        found.append(Gives("kept_too_long", "stop", layout.ready - begins - keeps[0]))
    return found


def _events(layout: _Layout, zero: datetime) -> tuple[Event, ...]:
    def when(minute: int) -> datetime:
        return zero + timedelta(minutes=minute)

    events = [*_before(layout, when), *(_cooking(layout, when) if layout.work.pieces else ()), *_after(layout, when)]
    order = {name: number for number, name in enumerate(EVENTS)}
    return tuple(sorted(events, key=lambda event: (event.at, order[event.id], event.number)))


EVENTS = (
    "thaw", "half_freeze", "bowls", "soak_casings", "oven_on", "mix", "pickle", "rub", "fill", "pump", "hold", "cure", "take_out", "soak", "equalise",
    "piece_in", "first_check", "out", "rest", "cool", "cool_by", "cold", "slice", "serve", "use_by",
)
"""Every id of an event, in the order in which they would come at one time."""


def _before(layout: _Layout, when) -> Iterator[Event]:
    """From the freezer to the cold wait. Each could begin earlier by what the wait may be longer, later by what it may be shorter."""
    work = layout.work
    least, _, most = work.waits
    more = max(0, most - (layout.last_in if work.method == "ground" else 0) - layout.wait)
    less = max(0, layout.wait - least)

    def moving(id: str, minute: int, minutes: int, hard: bool = False, **values: object) -> Event:
        return Event(id, when(minute), when(minute - more), when(minute + less), minutes, hard, values=values)

    for id, minute, minutes in layout.prep():
        yield moving(id, minute, minutes)
    begin = {"ground": "mix", "dry": "rub", "brine": "pickle", "injected": "pickle"}[work.method]
    if work.state != "uncured" or work.method == "ground":
        # From here the raw meat is on its clock.
        yield moving(begin, layout.mixed, work.mix, True)
    if work.fill:
        yield moving("pump" if work.method == "injected" else "fill", layout.filled, work.fill)
    if layout.wait:
        yield moving("hold" if work.method == "ground" else "cure", layout.wait_start, layout.wait, True, least=least, most=most)
    if work.method == "ground":
        return
    if layout.wait:
        yield _fixed("take_out", when, layout.wait_end, 0, hard=True)
    if work.soak:
        yield _fixed("soak", when, layout.wait_end, work.soak)
    if work.equalise:
        yield _fixed("equalise", when, layout.wait_end + work.soak, work.equalise)


def _fixed(id: str, when, minute: int, minutes: int = 0, **more) -> Event:
    return Event(id, when(minute), when(minute), when(minute), minutes, **more)


def _cooking(layout: _Layout, when) -> Iterator[Event]:
    work = layout.work
    several = len(work.pieces) > 1
    if work.heat_up:
        yield _fixed("oven_on", when, -work.heat_up, work.heat_up)
    for number, piece in enumerate(work.pieces, 1):
        named = {"piece": piece.name, "number": number if several else 0}
        into, cooking = layout.into(piece), piece.cooking
        yield _fixed("piece_in", when, into, cooking.nominal, hard=work.method == "ground", **named)
        if piece.first_check:
            yield _fixed("first_check", when, into + piece.first_check, **named)
        yield Event("out", when(into + cooking.nominal), when(into + cooking.low), when(into + cooking.high), hard=True, **named)
        if work.served != "cold":
            continue
        cooling = piece.cooling
        yield Event("cold", when(into + cooking.nominal + cooling.nominal), when(into + cooking.low + cooling.low), when(into + cooking.high + cooling.high), by_hand=False, **named)
    last = max(work.pieces, key=lambda piece: layout.into(piece) + piece.cooking.nominal)
    out = layout.into(last) + last.cooking.nominal
    if work.served == "hot" and work.rest:
        yield Event("rest", when(out), when(layout.first_out), when(layout.out), work.rest, by_hand=False)
    if work.served == "cold":
        yield Event("cool", when(out), when(layout.first_out), when(layout.out), hard=True)
    for number, (celsius, within) in enumerate(work.cooling_steps if work.served == "cold" else (), 1):
        # Counted from the heat, though the published clocks start a little later: the stricter way.
        yield Event("cool_by", when(out + within), when(layout.first_out + within), when(layout.out + within), hard=True, number=number, by_hand=False, values={"celsius": celsius, "within": within})


def _after(layout: _Layout, when) -> Iterator[Event]:
    work = layout.work
    begins = layout.wait_end if work.served == "raw" else layout.first_out
    first, last = (begins + keeps for keeps in (KEEPS_RAW if work.served == "raw" else KEEPS))
    if work.slice:
        yield Event("slice", when(layout.cut), when(layout.cut - layout.slack), when(layout.cut), work.slice)
    yield _fixed("serve", when, layout.ready, by_hand=False)
    # The earlier end holds: the first piece may have been out at the quick end.
    yield Event("use_by", when(first), when(first), when(last), hard=True, by_hand=False, values={"first_days": (first - begins) // DAY, "last_days": (last - begins) // DAY})


def both(at: datetime, zone: Zone) -> dict:
    """An instant in UTC and by the wall clock; "twice" where the wall shows that time twice."""
    return {"utc": write_instant(at), "wall": write_wall(zone.wall(at)), "offset": zone.offset_text(at), "twice": zone.is_twice(at)}


def as_data(event: Event, zone: Zone) -> dict:
    """An event as plain data: instants with the wall clock beside them, and its id with values for the words."""
    return {
        "id": event.id, "at": both(event.at, zone), "earliest": both(event.earliest, zone), "latest": both(event.latest, zone), "minutes": event.minutes, "hard": event.hard,
        "by_hand": event.by_hand, "piece": event.piece, "number": event.number, "values": dict(event.values),
    }
