"""Readings on their way into a chart: facts turned into points, thinned without losing a peak, cut at gaps."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from operator import attrgetter
from typing import overload

import numpy as np

from wallbill.blocks.drawing.shapes import Reals, Wholes
from wallbill.facts.forecast import Forecast, Hour
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity

_GAP_TIMES = 3  # so many usual distances without a reading are a gap: common practice, no source
_US = 1_000_000  # microseconds in a second
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_AT, _VALUE = attrgetter("at"), attrgetter("value")
_FIRST_US, _LAST_US = (
    (datetime(year, 1, 1, tzinfo=UTC) - _EPOCH) // timedelta(microseconds=1) for year in (2, 9998)
)  # so that every zone still has a day before and after
_MOST = 1e15
"""A value further from nought is no reading: a float no longer tells it from its neighbours, and no label holds it."""


@dataclass(frozen=True, slots=True, eq=False)
class Run(Sequence[Reading]):
    """Readings that a line may join, in order of time, none without a value; also by columns.

    ``at_us``: int64, shape (n,), microseconds since 1970 (UTC), never falling. ``values``: float64, shape (n,), finite.
    """

    readings: tuple[Reading, ...]
    at_us: Wholes
    values: Reals

    @overload
    def __getitem__(self, place: int) -> Reading: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[Reading, ...]: ...
    def __getitem__(self, place: int | slice) -> Reading | tuple[Reading, ...]:
        """The reading at a place, or some of them."""
        return self.readings[place]

    def __len__(self) -> int:
        return len(self.readings)

    def places(self, start: datetime | None, end: datetime | None) -> slice:
        """Where the readings from ``start`` to ``end`` stand, both included; None: no bound."""
        first = 0 if start is None else int(np.searchsorted(self.at_us, micros(start), "left"))
        last = len(self) if end is None else int(np.searchsorted(self.at_us, micros(end), "right"))
        return slice(first, max(first, last))

    def cut(self, start: datetime | None, end: datetime | None) -> tuple[Wholes, Reals]:
        """Moments (microseconds) and values from ``start`` to ``end``, with the points of the line at these two."""
        part = self.places(start, end)
        at_us, values = self.at_us[part], self.values[part]
        for edge, place in ((start, part.start), (end, part.stop)):
            if edge is None or not 0 < place < len(self):
                continue
            edge_us = micros(edge)
            before, after = self.at_us[place - 1], self.at_us[place]
            if before < edge_us < after:
                share = (edge_us - before) / (after - before)
                value = self.values[place - 1] + share * (self.values[place] - self.values[place - 1])
                where = 0 if edge is start else len(at_us)
                at_us, values = np.insert(at_us, where, edge_us), np.insert(values, where, value)
        return at_us, values

    def between(self, start: datetime | None, end: datetime | None) -> "Run":
        """The readings from ``start`` to ``end``, both included; None: no bound."""
        part = self.places(start, end)
        return Run(self.readings[part], self.at_us[part], self.values[part])

    def __iter__(self) -> Iterator[Reading]:
        return iter(self.readings)


Runs = tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Span:
    """An amount over a stretch of time (aware moments), such as rain in an hour."""

    start: datetime
    end: datetime
    value: float

    def touches(self, start: datetime | None, end: datetime | None) -> bool:
        """Whether any of it lies between two moments; None: no bound."""
        return (start is None or self.end > start) and (end is None or self.start < end)


def micros(moment: datetime) -> int:
    """Microseconds since 1970 (UTC) of an aware moment."""
    return (moment - _EPOCH) // timedelta(microseconds=1)


def moment_of(at_us: int) -> datetime:
    """The moment (UTC) of so many microseconds since 1970."""
    return _EPOCH + timedelta(microseconds=int(at_us))


def is_number(value: float | None) -> bool:
    """Whether a value can be drawn: there, finite, and not beyond all measure."""
    return value is not None and abs(value) <= _MOST


def runs(readings: Iterable[Reading], *, gap_after: timedelta | None = None) -> Runs:
    """Readings that may be joined by a line: cut where one has no value, or the next is too far away.

    ``gap_after``: how far is too far; None: three times the usual (median) distance. What is not a finite number,
    or is more than 10^15 either way, counts as no value, as does what is not of the years 2 to 9997. Readings may come in any order.
    """
    ordered = list(readings)
    at_us, values = _columns(ordered)
    if (np.diff(at_us) < 0).any():
        order = np.argsort(at_us, kind="stable")
        ordered, at_us, values = [ordered[place] for place in order], at_us[order], values[order]
    steps_us = np.diff(at_us)
    limit_us = gap_after / timedelta(microseconds=1) if gap_after else _usual_gap_us(steps_us)
    known = (
        (np.abs(values) <= _MOST) & (at_us >= _FIRST_US) & (at_us <= _LAST_US)
    )  # false for what is not a number
    places = np.flatnonzero(known)
    if not len(places):
        return ()
    apart = np.diff(places) > 1
    if limit_us:
        apart |= steps_us[places[1:] - 1] > limit_us
    cuts = np.flatnonzero(apart) + 1
    edges = [0, *cuts.tolist(), len(places)]
    found = []
    for first, last in pairwise(edges):
        part = slice(int(places[first]), int(places[last - 1]) + 1)
        found.append(Run(tuple(ordered[part]), at_us[part], values[part]))
    return tuple(found)


def run_of(readings: Sequence[Reading]) -> Run:
    """Readings in order of time, each with a value, as one run."""
    return Run(tuple(readings), *_columns(readings))


def _columns(readings: Sequence[Reading]) -> tuple[Wholes, Reals]:
    """Moments in microseconds and values, not a number for none."""
    # A float of seconds rounds to the very microsecond until 2038, and to one nearby after that.
    seconds = np.fromiter(map(datetime.timestamp, map(_AT, readings)), np.float64, len(readings))
    values = np.array(list(map(_VALUE, readings)), dtype=np.float64)
    return np.rint(seconds * _US).astype(np.int64), values


def _usual_gap_us(steps_us: Wholes) -> float | None:
    return _GAP_TIMES * float(np.median(steps_us)) if len(steps_us) > 1 else None


def telling(columns: Wholes, values: Reals) -> Wholes:
    """The places of at most four readings for each pixel column: its first, lowest, highest and last, in order.

    The line through these covers the same pixels' extremes as the line through all, so no peak is lost.
    ``columns``: that of each reading, never falling; ``values``: of the same shape (n,).
    Source: the reduction is known as M4 (Jugel et al., VLDB 7(10), 2014).
    """
    if not len(columns) or (np.diff(columns) > 0).all():
        return np.arange(len(columns))
    firsts = np.flatnonzero(np.diff(columns, prepend=columns[0] - 1)).astype(np.int64)
    lasts = np.append(firsts[1:], len(columns)) - 1
    lowest = _first_of_each(values, np.minimum.reduceat(values, firsts), firsts)
    highest = _first_of_each(values, np.maximum.reduceat(values, firsts), firsts)
    return np.unique(np.concatenate((firsts, lowest, highest, lasts)))


def _first_of_each(values: Reals, wanted: Reals, firsts: Wholes) -> Wholes:
    """The first place in each group (which begin at ``firsts``) of the value that is ``wanted`` of it."""
    sizes = np.diff(np.append(firsts, len(values)))
    found = np.flatnonzero(values == np.repeat(wanted, sizes))
    groups = np.searchsorted(firsts, found, side="right")
    return found[np.flatnonzero(np.diff(groups, prepend=-1))].astype(np.int64)


def in_unit(series: Series, unit: str) -> Series:
    """The series in another unit of its kind. Raises `WallbillError` for a unit of another kind."""
    readings = tuple(
        Reading(r.at, None if r.value is None else Quantity(r.value, series.unit).to(unit).value)
        for r in series.readings
    )
    return Series(series.origin, series.name, unit, readings)


def temperatures(forecast: Forecast, *, unit: str, name: str = "") -> Series:
    """The temperature of every hour of a forecast, in ``unit``; an hour without one is a gap."""
    return _series(forecast, lambda hour: hour.temperature, unit=unit, name=name)


def wind_speeds(forecast: Forecast, *, unit: str, name: str = "") -> Series:
    """The wind speed of every hour of a forecast, in ``unit``; an hour without one is a gap."""
    return _series(forecast, lambda hour: hour.wind_speed, unit=unit, name=name)


def _series(forecast: Forecast, pick: Callable[[Hour], Quantity | None], *, unit: str, name: str) -> Series:
    readings = []
    for hour in forecast.hours:
        quantity = pick(hour)
        readings.append(Reading(hour.valid_from, None if quantity is None else quantity.to(unit).value))
    return Series(forecast.origin, name, unit, tuple(readings))


def rain(forecast: Forecast, *, unit: str) -> tuple[Span, ...]:
    """What falls in each span of a forecast that says so, in ``unit``."""
    return tuple(
        Span(hour.valid_from, hour.valid_to, hour.precipitation.to(unit).value)
        for hour in forecast.hours
        if hour.precipitation is not None
    )


def nights(forecast: Forecast) -> tuple[tuple[datetime, datetime], ...]:
    """The stretches that a forecast marks as night, joined where hours follow on one another."""
    found: list[tuple[datetime, datetime]] = []
    for hour in forecast.hours:
        if hour.is_day is not False:
            continue
        if found and found[-1][1] == hour.valid_from:
            found[-1] = (found[-1][0], hour.valid_to)
        else:
            found.append((hour.valid_from, hour.valid_to))
    return tuple(found)


def stretch(series: Iterable[Series]) -> tuple[datetime, datetime] | None:
    """The first and last moment (UTC) that has a value in any series, or None if none has."""
    moments = [r.at.astimezone(UTC) for one in series for r in one.readings if is_number(r.value)]
    return (min(moments), max(moments)) if moments else None


def reach(parts: Iterable[Runs]) -> tuple[datetime, datetime] | None:
    """As `stretch`, of runs."""
    every = [run for part in parts for run in part]
    if not every:
        return None
    return moment_of(min(run.at_us[0] for run in every)), moment_of(max(run.at_us[-1] for run in every))
