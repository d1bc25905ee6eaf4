"""When a display is looked at anew, and when its device is to call.

Worked out from its timetable, its quiet hours, what was asked for by hand, and the limits of its panel. Moments go in
and come out aware, UTC. The rules are those of docs/reference/timetable.md.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from math import ceil, fsum
from zoneinfo import ZoneInfo

from wallbill.server.beats import DAY, last_beat, next_beat
from wallbill.store.model import Asked, Why
from wallbill.wall.model import Display, interrupts_at

LEAST_WAIT_S = 60
LONGEST_WAIT_S = 7 * 86400
SPREAD_SHARE = 0.1
SPREAD_MOST_S = 300.0

_TICK = timedelta(microseconds=1)
_SECOND = timedelta(seconds=1)
_REST_EARLY = timedelta(minutes=10)
"""A look this short before the panel has rested too long is its look: it needs none of its own."""
_BEFORE_QUIET = timedelta(minutes=10)
"""So long before the quiet hours the last look is taken, so that its device has called and refreshed when they begin."""
_MOST_STEPS = 10


@dataclass(frozen=True, slots=True)
class Situation:
    """What is known of a display. ``zone``: the wall's. ``asked``: what somebody wants by hand, even if it is over.

    ``edition_at``: when what is up was put up, None: nothing yet.
    """

    display: Display
    zone: ZoneInfo
    asked: Asked | None = None
    edition_at: datetime | None = None


def shown_at(situation: Situation, moment: datetime) -> tuple[str, str]:
    """The sheet for a moment, and what chose it: ``asked`` or ``timetable``. Interrupts are judged when it is filled."""
    if (asked := _asked_at(situation, moment)) is not None:
        return asked.sheet, "asked"
    return situation.display.sheet_at(moment.astimezone(situation.zone)), "timetable"


def is_quiet(situation: Situation, moment: datetime) -> bool:
    """Whether the quiet hours hold: they do not while something is asked for by hand."""
    return _quiet_span(situation, moment) is not None


def next_look(situation: Situation, now: datetime) -> datetime:
    """The first moment after ``now`` at which the display is to be looked at anew.

    Where there is none within some days (quiet hours without an end), ``now`` and the display's interval.
    """
    found = _next_kept(situation, now)
    rest = _rest_look(situation, unless_after=found)
    if rest is not None and now < rest and (found is None or rest < found):
        return rest
    return found or now.astimezone(UTC) + situation.display.every


def last_look(situation: Situation, now: datetime) -> datetime | None:
    """The latest moment up to ``now`` at which the display was to be looked at anew; None if there was none for days."""
    found = _last_kept(situation, now)
    rest = _rest_look(situation, unless_after=now)
    if rest is not None and rest <= now and (found is None or found < rest):
        return rest
    return found


def why_look(situation: Situation, moment: datetime) -> Why:
    """Why the display is looked at: the panel has rested too long, another sheet is due, or it is the usual time."""
    rest = _rest_look(situation, unless_after=moment)
    if rest is not None and moment >= rest:
        return Why.REST
    before = last_look(situation, moment - _TICK)
    if before is None:
        return Why.FACTS
    was, due = shown_at(situation, before), shown_at(situation, moment)
    if was == due:
        return Why.FACTS
    return Why.ASKED if "asked" in {was[1], due[1]} else Why.TIMETABLE


def phase_s(name: str, *, every_s: float) -> float:
    """By how much the device of a display comes later than it could, so that a fleet does not come at once.

    The same for a name always; over many names uniform from nothing to a tenth of the interval, five minutes at most.
    """
    share = int.from_bytes(sha256(name.encode()).digest()[:8]) / 2**64
    return share * min(every_s * SPREAD_SHARE, SPREAD_MOST_S)


def back_in_s(
    now_s: float, *, looks_at_s: float, ready_s: float, phase_s: float, least_s: float = LEAST_WAIT_S
) -> int:
    """In how many seconds a device is to come back: whole ones, rounded up, so that what it comes for is there.

    ``looks_at_s``: Unix time of the look; ``ready_s``: how long its edition takes; ``phase_s``: how much later this
    device comes. At least ``least_s``, at most seven days. An edition that is late is asked for again after a short wait.
    """
    wait_s = ceil(fsum((looks_at_s, ready_s, phase_s, -now_s)))
    return min(max(wait_s, ceil(least_s)), LONGEST_WAIT_S)


def _asked_at(situation: Situation, moment: datetime) -> Asked | None:
    """What is asked for by hand at a moment."""
    asked = situation.asked
    return asked if asked is not None and asked.at <= moment < asked.until else None


def _quiet_span(situation: Situation, moment: datetime) -> tuple[datetime, datetime] | None:
    """The quiet hours that hold at a moment."""
    quiet = situation.display.quiet
    if quiet is None or _asked_at(situation, moment) is not None:
        return None
    day = next(quiet.days_at(moment.astimezone(situation.zone)), None)
    return None if day is None else quiet.span(day, situation.zone)


def _closed(situation: Situation, moment: datetime) -> tuple[datetime, datetime] | None:
    """The quiet hours that keep a display from being looked at at a moment."""
    if interrupts_at(situation.display, quiet=True):
        return None
    return _quiet_span(situation, moment)


# Looks that the timetable gives, with no regard to the panel.


def _edges(situation: Situation, day: date) -> Iterator[datetime]:
    """Begins and ends of the timetable's entries, and the end of the quiet hours, for spans that begin on a day."""
    display, zone = situation.display, situation.zone
    for entry in display.timetable:
        if entry.begins_on(day):
            begin, end = entry.hours.span(day, zone)
            yield from (begin, end) if begin < end else ()
    if display.quiet is not None:
        begin, end = display.quiet.span(day, zone)
        yield from (end,) if begin < end else ()


def _asked_edges(situation: Situation) -> tuple[datetime, ...]:
    asked = situation.asked
    return (asked.at, asked.until) if asked is not None and asked.at < asked.until else ()


def _next_edge(situation: Situation, after: datetime, upto: datetime) -> datetime:
    """The first edge after a moment, or ``upto`` where that is sooner."""
    found = min((edge for edge in _asked_edges(situation) if edge > after), default=upto)
    day = after.astimezone(situation.zone).date() - DAY
    # Midnight may come twice: the edges of two more days are looked at before the nearest is known.
    while day <= min(found, upto).astimezone(situation.zone).date() + DAY:
        found = min((edge for edge in _edges(situation, day) if after < edge < found), default=found)
        day += DAY
    return min(found, upto)


def _last_edge(situation: Situation, upto: datetime, after: datetime) -> datetime:
    """The last edge that is not after a moment, or ``after`` where that is later."""
    found = max((edge for edge in _asked_edges(situation) if edge <= upto), default=after)
    found = max(found, after)
    day = upto.astimezone(situation.zone).date() + DAY
    # A span that begins on a day may end on the next; one day more where midnight comes twice.
    while day >= found.astimezone(situation.zone).date() - 2 * DAY:
        found = max((edge for edge in _edges(situation, day) if found < edge <= upto), default=found)
        day -= DAY
    return found


def _next_base(situation: Situation, after: datetime) -> datetime | None:
    """The first look that the timetable gives after a moment."""
    for _ in range(_MOST_STEPS):
        beat = next_beat(after, situation.display.every, situation.zone)
        found = _next_edge(situation, after, beat)
        if (closed := _closed(situation, found)) is None:
            return found
        opens = [edge for edge in (closed[1], *_asked_edges(situation)) if edge > found]
        after = min(opens) - _TICK
    return None


def _last_base(situation: Situation, upto: datetime) -> datetime | None:
    """The last look that the timetable gives up to a moment."""
    for _ in range(_MOST_STEPS):
        beat = last_beat(upto, situation.display.every, situation.zone)
        found = _last_edge(situation, upto, beat)
        if (closed := _closed(situation, found)) is None:
            return found
        upto = max(edge for edge in (closed[0], *_asked_edges(situation)) if edge <= found) - _TICK
    return None


# What the panel makes of them.


def _least(situation: Situation) -> tuple[datetime, datetime] | None:
    """When what is up was put up, and the moment until which it has to stay."""
    up_at = situation.edition_at
    if up_at is None:
        return None
    least = timedelta(seconds=situation.display.panel.refresh.least_interval_s)
    return up_at.astimezone(UTC), _whole(up_at.astimezone(UTC) + least)


def _next_kept(situation: Situation, now: datetime) -> datetime | None:
    """The first look after ``now``, those that come too soon for the panel put off."""
    kept = _least(situation)
    if kept is None or now >= kept[1]:
        return _next_base(situation, now)
    up_at, until = kept
    found = _next_base(situation, min(now, up_at))
    if found is None or not up_at < found < until:
        return found
    return until if _closed(situation, until) is None else _next_base(situation, until - _TICK)


def _last_kept(situation: Situation, now: datetime) -> datetime | None:
    """The last look up to ``now``, those that come too soon for the panel put off."""
    found = _last_base(situation, now)
    kept = _least(situation)
    if kept is None or found is None or not kept[0] < found < kept[1]:
        return found
    if now >= kept[1] and _closed(situation, kept[1]) is None:
        return kept[1]
    return _last_base(situation, kept[0])


def _rest_look(situation: Situation, *, unless_after: datetime | None) -> datetime | None:
    """When the panel has rested so long that it is refreshed even if nothing is new.

    Not in the quiet hours, but before them where the panel may be refreshed by then, else after. A look that comes just
    before is taken for it. It need not be known exactly where it comes after ``unless_after``: then None.
    """
    kept = _least(situation)
    if kept is None:
        return None
    due = kept[0].replace(microsecond=0) + timedelta(seconds=situation.display.panel.refresh.longest_rest_s)
    if (quiet := _quiet_span(situation, due)) is not None:
        before = quiet[0] - _BEFORE_QUIET
        due = before if before >= kept[1] and not is_quiet(situation, before) else quiet[1]
    if unless_after is not None and unless_after < due - _REST_EARLY:
        return None
    usual = _last_base(situation, due)
    if usual is not None and usual >= max(due - _REST_EARLY, kept[1]):
        return usual
    return None if is_quiet(situation, due) else due


def _whole(moment: datetime) -> datetime:
    """The next whole second."""
    return moment if not moment.microsecond else moment.replace(microsecond=0) + _SECOND
