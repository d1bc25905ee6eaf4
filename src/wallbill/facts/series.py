"""A row of readings over time."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from wallbill.facts.origin import Origin
from wallbill.facts.pressure import Tendency, pressure_tendency
from wallbill.units.quantity import UNITS, Quantity


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
        return self._quantity(self.latest)

    @property
    def minimum(self) -> Reading | None:
        """The reading of the lowest value, the earliest of equals; None if no value is known."""
        return min(self._known(), key=lambda known: known[0], default=(0.0, None))[1]

    @property
    def maximum(self) -> Reading | None:
        """The reading of the highest value, the earliest of equals; None if no value is known."""
        return max(self._known(), key=lambda known: known[0], default=(0.0, None))[1]

    @property
    def minimum_quantity(self) -> Quantity | None:
        """The lowest value with its unit."""
        return self._quantity(self.minimum)

    @property
    def maximum_quantity(self) -> Quantity | None:
        """The highest value with its unit."""
        return self._quantity(self.maximum)

    def change(self, *, hours: float = 3.0) -> Quantity | None:
        """How much the latest value differs from the one so many hours before, negative if it fell.

        A difference: 3 °C more is not to be turned into °F. The earlier reading is the nearest to its moment, of two the
        first, and a sixth of the span off at most (half an hour of three hours); None if there is none. Raises ValueError for no hours.
        """
        if not hours > 0:
            raise ValueError(f"more than 0 hours, got {hours}")
        latest, span = self.latest, timedelta(hours=hours)
        if latest is None or latest.value is None:
            return None
        wanted = latest.at - span
        near = [(abs(r.at - wanted), value) for value, r in self._known() if abs(r.at - wanted) <= span / 6]
        if not near:
            return None
        return Quantity(round(latest.value - min(near, key=lambda pair: pair[0])[1], 9), self.unit)

    @property
    def tendency(self) -> Tendency | None:
        """The word for a pressure's change over three hours; None for what is no pressure, or is not known so long."""
        change = self.change() if UNITS.get(self.unit, UNITS["K"]).kind == "pressure" else None
        return None if change is None else pressure_tendency(change)

    def between(self, start: datetime, end: datetime) -> "Series":
        """The same series with the readings from ``start`` up to, not at, ``end`` (both aware)."""
        return replace(self, readings=tuple(r for r in self.readings if start <= r.at < end))

    def stretches(self, *, longest_gap: timedelta | None = None) -> tuple[tuple[Reading, ...], ...]:
        """The runs of readings that a line may join: broken at gaps, and where time jumps by more than ``longest_gap``."""
        runs: list[list[Reading]] = [[]]
        for reading in self.readings:
            jump = longest_gap is not None and bool(runs[-1]) and reading.at - runs[-1][-1].at > longest_gap
            if reading.value is None or jump:
                runs.append([])
            if reading.value is not None:
                runs[-1].append(reading)
        return tuple(tuple(run) for run in runs if run)

    def thinned(self, buckets: int) -> "Series":
        """The same series with at most five readings for each of ``buckets`` equal spans of time.

        Each span keeps its first, lowest, highest and last reading and its first gap, in order of time, so that a
        lone peak and every gap survive. Method: the M4 aggregation of Jugel et al., "M4: A Visualization-Oriented
        Time Series Data Aggregation", PVLDB 7(10), 2014, with gaps kept as well. Raises ValueError below one bucket.
        """
        if buckets < 1:
            raise ValueError(f"at least one bucket, got {buckets}")
        if len(self.readings) <= 4 * buckets:
            return self
        kept = (reading for bucket in self._buckets(buckets) for reading in _outline(bucket))
        return replace(self, readings=tuple(kept))

    def _buckets(self, count: int) -> Iterator[list[Reading]]:
        first, last = self.readings[0].at, self.readings[-1].at
        length = (last - first) / count or timedelta(seconds=1)
        bucket: list[Reading] = []
        number = 0
        for reading in self.readings:
            here = min(int((reading.at - first) / length), count - 1)
            if here != number and bucket:
                yield bucket
                bucket = []
            number = here
            bucket.append(reading)
        yield bucket

    def _known(self) -> Iterator[tuple[float, Reading]]:
        return ((reading.value, reading) for reading in self.readings if reading.value is not None)

    def _quantity(self, reading: Reading | None) -> Quantity | None:
        return None if reading is None or reading.value is None else Quantity(reading.value, self.unit)


def _outline(bucket: list[Reading]) -> Iterable[Reading]:
    """The first, lowest, highest and last reading of a bucket and its first gap, each once, in order."""
    known = [(reading.value, place) for place, reading in enumerate(bucket) if reading.value is not None]
    gap = next((place for place, reading in enumerate(bucket) if reading.value is None), None)
    places = {place for place in (gap,) if place is not None}
    if known:
        lowest, highest = min(known), max(known, key=lambda pair: pair[0])
        places |= {known[0][1], lowest[1], highest[1], known[-1][1]}
    return (bucket[place] for place in sorted(places))
