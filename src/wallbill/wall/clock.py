"""From what a clock on the wall shows to moments, also where the clocks are changed.

A time of the day that is skipped means the moment at which the clocks jump; one that comes twice means the first.
Source for what is skipped and what comes twice: PEP 495, over the rules of the IANA time zone database.
"""

from datetime import UTC, date, datetime, time, timedelta, tzinfo

_SECOND = timedelta(seconds=1)
_TICK = timedelta(microseconds=1)


def instant(day: date, at: time, zone: tzinfo) -> datetime:
    """The moment (UTC) at which the clocks of ``zone`` first show ``at`` on ``day``, or skip it."""
    local = datetime.combine(day, at, zone)  # fold is 0: the first of two, or the offset before a jump
    moment = local.astimezone(UTC)
    if moment.astimezone(zone).replace(tzinfo=None) == local.replace(tzinfo=None):
        return moment
    return clock_change(local.replace(fold=1).astimezone(UTC), moment, zone)


def clock_change(before: datetime, after: datetime, zone: tzinfo) -> datetime:
    """The moment (UTC, a whole second) of the one change of the clocks of ``zone`` after ``before`` and up to ``after``."""
    low, high = before.replace(microsecond=0), after + (-after.microsecond % 1_000_000) * _TICK
    old = _offset(low, zone)
    while high - low > _SECOND:
        middle = (low + (high - low) / 2).replace(microsecond=0)
        low, high = (middle, high) if _offset(middle, zone) == old else (low, middle)
    return high


def _offset(moment: datetime, zone: tzinfo) -> timedelta | None:
    return moment.astimezone(zone).utcoffset()
