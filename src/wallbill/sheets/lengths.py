"""Adding lengths of time in a sheet: hours pass by any watch, days are turned over by the calendar.

Python adds a length to a local time as if the clocks never changed: three hours after half past midnight would be
half past three, also in the night when the hour from one to two is left out or comes twice. Here an hour is an hour;
only what `days` gives keeps the time of day.
"""

from datetime import UTC, datetime, timedelta
from typing import Any


class Days(timedelta):
    """Whole days of the calendar: added to a moment, they keep its time of day.

    A multiple of days is days again; any other reckoning gives a plain length.
    """

    __slots__ = ()

    def __mul__(self, count: float) -> "timedelta":
        """So many times as many days."""
        return calendar_days(self.days * count)

    __rmul__ = __mul__

    def __neg__(self) -> "timedelta":
        """As many days back."""
        return calendar_days(-self.days)


def calendar_days(count: float) -> timedelta:
    """So many days of the calendar; a broken number of them is a plain length of 24 hours a day."""
    return Days(days=count) if count == int(count) else timedelta(days=count)


def later(moment: datetime, length: timedelta) -> datetime:
    """``length`` after ``moment``, in its zone: by the calendar for `Days`, else by the time that passes."""
    if moment.tzinfo is None or isinstance(length, Days):
        return moment + length
    return (moment.astimezone(UTC) + length).astimezone(moment.tzinfo)


def reckoned(operator: str, left: Any, right: Any) -> Any:
    """What ``left + right`` or ``left - right`` gives where moments are in it; `NotImplemented` for all else."""
    if operator == "-":
        if isinstance(left, datetime) and isinstance(right, timedelta):
            return later(left, -right)
        if _aware(left) and _aware(right):
            return left.astimezone(UTC) - right.astimezone(UTC)
    elif isinstance(left, datetime) and isinstance(right, timedelta):
        return later(left, right)
    elif isinstance(left, timedelta) and isinstance(right, datetime):
        return later(right, left)
    return NotImplemented


def _aware(value: Any) -> bool:
    return isinstance(value, datetime) and value.tzinfo is not None
