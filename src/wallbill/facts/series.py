"""A row of readings over time."""

from dataclasses import dataclass
from datetime import datetime

from wallbill.facts.origin import Origin
from wallbill.units.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Reading:
    """A number at an instant (aware, UTC); ``value`` None is a gap that stays a gap."""

    at: datetime
    value: float | None


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one thing in one unit, in order of time. ``unit``: a sign of `wallbill.units.quantity.UNITS`."""

    origin: Origin
    name: str
    unit: str
    readings: tuple[Reading, ...]

    @property
    def latest(self) -> Reading | None:
        """The last reading that has a value."""
        return next((reading for reading in reversed(self.readings) if reading.value is not None), None)

    @property
    def latest_quantity(self) -> Quantity | None:
        """The last known value with its unit."""
        latest = self.latest
        return None if latest is None or latest.value is None else Quantity(latest.value, self.unit)
