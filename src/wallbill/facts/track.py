"""Travels: tracks of positions, and places on the way."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import pairwise
from math import asin, cos, radians, sin, sqrt

from wallbill.facts.origin import Origin

EARTH_RADIUS_M = 6371008.8
"""Mean radius of the earth, (2a + b) / 3 of WGS 84. Source: IUGG, Moritz, Geodetic Reference System 1980."""

CLIMB_STEP_M = 5.0
"""Changes of height below this count as noise of the receiver. Common practice, no source."""


STOPPED_KMH = 1.0
"""Slower than this a traveller stands, and the receiver wanders. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Position:
    """A point on the earth, WGS 84 degrees; metres above the sea and instant (aware, UTC) where known."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None = None
    at: datetime | None = None

    def __post_init__(self) -> None:
        if not (-90 <= self.latitude_deg <= 90 and -180 <= self.longitude_deg <= 180):
            raise ValueError(f"no such place: {self.latitude_deg}, {self.longitude_deg}")

    def distance_m(self, other: "Position") -> float:
        """Great-circle distance on a sphere of `EARTH_RADIUS_M`; within 0.6 % of the ellipsoid.

        Source: the haversine formula, R. W. Sinnott, "Virtues of the Haversine", Sky and Telescope 68 (1984) 159.
        """
        phi, other_phi = radians(self.latitude_deg), radians(other.latitude_deg)
        turn = radians(other.longitude_deg - self.longitude_deg)
        share = sin((other_phi - phi) / 2) ** 2 + cos(phi) * cos(other_phi) * sin(turn / 2) ** 2
        return 2 * EARTH_RADIUS_M * asin(min(1.0, sqrt(share)))


@dataclass(frozen=True, slots=True)
class Waypoint:
    """A named place."""

    name: str
    position: Position


@dataclass(frozen=True, slots=True)
class Track:
    """A travel. Points of one segment join; segments do not."""

    origin: Origin
    name: str
    segments: tuple[tuple[Position, ...], ...]
    waypoints: tuple[Waypoint, ...] = field(default=())

    @property
    def positions(self) -> tuple[Position, ...]:
        """All points in order, segments one after the other."""
        return tuple(position for segment in self.segments for position in segment)

    @property
    def length_m(self) -> float:
        """Sum of the great-circle distances within the segments, heights ignored; see `Position.distance_m`."""
        return sum(a.distance_m(b) for segment in self.segments for a, b in pairwise(segment))

    @property
    def climb_m(self) -> float | None:
        """Metres gained, None where no height is known; see `climb`."""
        return self.climb()

    def climb(self, *, step_m: float = CLIMB_STEP_M) -> float | None:
        """Metres gained: the rises from each low to the following high that are at least ``step_m``.

        A turning point counts once the height has moved ``step_m`` away from it, so that the noise of a receiver
        adds nothing. Other programs smooth instead; their figures differ by some tens of per cent.
        """
        heights = self._heights_m()
        return sum(sum(_rises(segment, step_m)) for segment in heights) if heights else None

    @property
    def descent_m(self) -> float | None:
        """Metres lost, None where no height is known; see `descent`."""
        return self.descent()

    def descent(self, *, step_m: float = CLIMB_STEP_M) -> float | None:
        """Metres lost: the falls from each high to the following low, counted as `climb` counts rises."""
        heights = self._heights_m()
        fallen = (sum(_rises([-height for height in segment], step_m)) for segment in heights)
        return sum(fallen) if heights else None

    def _heights_m(self) -> list[list[float]]:
        """The known heights of each segment that has any."""
        known = ([p.elevation_m for p in segment if p.elevation_m is not None] for segment in self.segments)
        return [segment for segment in known if segment]

    @property
    def highest_m(self) -> float | None:
        """The greatest height known."""
        return max((height for segment in self._heights_m() for height in segment), default=None)

    @property
    def lowest_m(self) -> float | None:
        """The least height known."""
        return min((height for segment in self._heights_m() for height in segment), default=None)

    @property
    def moving(self) -> timedelta | None:
        """The time spent at `STOPPED_KMH` or faster from point to point, None where no two points have instants."""
        legs = [
            (a.distance_m(b), (b.at - a.at).total_seconds())
            for segment in self.segments
            for a, b in pairwise(segment)
            if a.at is not None and b.at is not None and b.at > a.at
        ]
        if not legs:
            return None
        return timedelta(seconds=sum(time_s for way_m, time_s in legs if way_m * 3.6 >= STOPPED_KMH * time_s))

    @property
    def starts(self) -> datetime | None:
        """The first instant known."""
        return next((position.at for position in self.positions if position.at is not None), None)

    @property
    def ends(self) -> datetime | None:
        """The last instant known."""
        return next((position.at for position in reversed(self.positions) if position.at is not None), None)

    @property
    def last(self) -> Position | None:
        """The last point: where the traveller was last seen."""
        return next(reversed(self.positions), None)

    def until(self, moment: datetime) -> "Track":
        """The same travel as far as it had come at ``moment`` (aware); points with no instant stay."""
        cut = (tuple(p for p in segment if p.at is None or p.at <= moment) for segment in self.segments)
        return replace(self, segments=tuple(segment for segment in cut if segment))


def _rises(heights_m: list[float], step_m: float) -> Iterator[float]:
    """Rises from low to high between turning points that are more than ``step_m`` apart."""
    low = high = heights_m[0]
    rising = False
    for height in heights_m:
        if rising and height > high:
            high = height
        elif rising and high - height >= step_m:
            yield high - low
            rising, low = False, height
        elif not rising and height < low:
            low = height
        elif not rising and height - low >= step_m:
            rising, high = True, height
    if rising:
        yield high - low
