"""Departures from a stop: what the timetable says, and what has become of it."""

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import islice

from wallbill.facts.origin import Origin

LIVE_FOR = timedelta(seconds=90)
"""How old news from the vehicles may be (GTFS Realtime best practices: refreshed each 30 s, at most 90 s old)."""


@dataclass(frozen=True, slots=True)
class Departure:
    """One departure. ``scheduled``, ``expected``: aware, in UTC; equal where nothing is known from the vehicle.

    ``cancelled``: it does not run, or does not stop here. ``live``: whether the vehicle itself was heard of. ``route``:
    the line's short name, else its long one. ``stop``, ``platform``: names, "" if unknown. ``trip``: the timetable's
    own name of the journey.
    """

    scheduled: datetime
    expected: datetime
    route: str
    headsign: str
    stop: str = ""
    platform: str = ""
    cancelled: bool = False
    live: bool = False
    trip: str = ""

    @property
    def late(self) -> timedelta:
        """How much later than scheduled; negative where it is early."""
        return self.expected - self.scheduled

    @property
    def late_min(self) -> int:
        """Whole minutes of `late`, towards nought: 119 s late is one minute, and 59 s early is none."""
        return int(self.late.total_seconds() / 60)


@dataclass(frozen=True, slots=True)
class Departures:
    """The departures of some stops in order of their expected time, from an hour ago on.

    ``live_at``: when the news from the vehicles were made (aware, UTC), None if there are none. ``valid_to``: the last
    day of the timetable, if it says.
    """

    origin: Origin
    name: str
    departures: tuple[Departure, ...] = field(default=())
    live_at: datetime | None = None
    valid_to: date | None = None

    def next(self, now: datetime, count: int) -> tuple[Departure, ...]:
        """The first ``count`` departures that are not gone at ``now`` (aware).

        One that is late is still there after its scheduled time; a cancelled one is there until then, to be struck out.
        """
        left = (d for d in self.departures if (d.scheduled if d.cancelled else d.expected) >= now)
        return tuple(islice(left, max(count, 0)))

    def is_live(self, now: datetime) -> bool:
        """Whether the news from the vehicles are at most `LIVE_FOR` old at ``now`` (aware)."""
        return self.live_at is not None and now - self.live_at <= LIVE_FOR
