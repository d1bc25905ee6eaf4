"""The beat of a display: the moments at which the clocks on the wall show a multiple of its interval.

Multiples are counted from each midnight; of an interval longer than a day from a fixed Monday. A multiple that the
clocks skip falls on the moment at which they jump. In a stretch that comes twice both count, so that no hour goes by
without a look; but only the first where the interval is longer than the stretch.
"""

from datetime import UTC, datetime, timedelta, tzinfo

from wallbill.wall.clock import clock_change, instant

DAY = timedelta(days=1)
_HOUR = timedelta(hours=1)
_TICK = timedelta(microseconds=1)
_MONDAY = datetime(2001, 1, 1)  # noqa: DTZ001  what clocks show, in whichever zone


def next_beat(after: datetime, every: timedelta, zone: tzinfo) -> datetime:
    """The first beat after a moment; both UTC."""
    local = after.astimezone(zone)
    label = _label_after(local.replace(tzinfo=None), every)
    if every > DAY:
        return _next_by_date(after, label, every=every, zone=zone)
    offset = local.utcoffset() or timedelta()
    while True:
        beat = label.replace(tzinfo=UTC) - offset
        there = beat.astimezone(zone)
        if there.utcoffset() != offset:
            return _over_change(after, label, every=every, zone=zone)
        if not (there.fold and _is_once(there, every)):
            return beat
        label = _label_after(label, every)


def last_beat(upto: datetime, every: timedelta, zone: tzinfo) -> datetime:
    """The last beat that is not after a moment; both UTC."""
    start = upto - every - _TICK
    while (found := next_beat(start, every, zone)) > upto:
        start -= max(every, _HOUR)
    while (beat := next_beat(found, every, zone)) <= upto:
        found = beat
    return found


def _label_after(local: datetime, every: timedelta) -> datetime:
    """The next reading of the clocks that is a multiple; both naive."""
    if every > DAY:
        return _MONDAY + ((local - _MONDAY) // every + 1) * every
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    return midnight + min(((local - midnight) // every + 1) * every, DAY)


def _next_by_date(after: datetime, label: datetime, *, every: timedelta, zone: tzinfo) -> datetime:
    """The next beat of an interval longer than a day."""
    while (beat := instant(label.date(), label.time(), zone)) <= after:
        label += every
    return beat


def _over_change(after: datetime, label: datetime, *, every: timedelta, zone: tzinfo) -> datetime:
    """The next beat where the clocks are changed before they show ``label``."""
    old = after.astimezone(zone).utcoffset() or timedelta()
    change = clock_change(after, label.replace(tzinfo=UTC) - old, zone)
    there = change.astimezone(zone)
    new = there.utcoffset() or timedelta()
    if new < old and every <= old - new:  # put back: what comes twice is looked at twice
        label = _label_after(there.replace(tzinfo=None) - _TICK, every)
    return max(change, label.replace(tzinfo=UTC) - new)


def _is_once(second: datetime, every: timedelta) -> bool:
    """Whether a reading that comes for the second time is to be left out."""
    first = second.replace(fold=0).utcoffset() or timedelta()
    return every > first - (second.utcoffset() or timedelta())
