"""Travels: tracks of positions, and places on the way."""

from dataclasses import dataclass, field
from datetime import datetime

from wallbill.facts.origin import Origin


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
