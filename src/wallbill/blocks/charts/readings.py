"""Readings on their way into a chart: facts turned into points, thinned without losing a peak, cut at gaps."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from statistics import median

from wallbill.facts.forecast import Forecast, Hour
from wallbill.facts.series import Reading, Series
from wallbill.units.quantity import Quantity

Runs = tuple[tuple[Reading, ...], ...]

_GAP_TIMES = 3  # so many usual distances without a reading are a gap: common practice, no source


@dataclass(frozen=True, slots=True)
class Span:
    """An amount over a stretch of time (aware moments), such as rain in an hour."""

    start: datetime
    end: datetime
    value: float


def runs(readings: Iterable[Reading], *, gap_after: timedelta | None = None) -> Runs:
    """Readings that may be joined by a line: cut where one has no value, or the next is too far away.

    ``gap_after``: how far is too far; None: three times the usual (median) distance.
    """
    ordered = sorted(readings, key=lambda reading: reading.at)
    limit = gap_after or _usual_gap(ordered)
    parts: list[list[Reading]] = [[]]
    for reading in ordered:
        if reading.value is None or (parts[-1] and limit and reading.at - parts[-1][-1].at > limit):
            parts.append([])
        if reading.value is not None:
            parts[-1].append(reading)
    return tuple(tuple(part) for part in parts if part)


def _usual_gap(ordered: Sequence[Reading]) -> timedelta | None:
    steps_s = [(later.at - earlier.at).total_seconds() for earlier, later in pairwise(ordered)]
    return timedelta(seconds=_GAP_TIMES * median(steps_s)) if len(steps_s) > 1 else None


def thinned(run: Sequence[Reading], column: Callable[[datetime], int]) -> tuple[Reading, ...]:
    """At most four readings for each pixel column: its first, lowest, highest and last, in order of time.

    The line through these covers the same pixels' extremes as the line through all, so no peak is lost.
    Source: the reduction is known as M4 (Jugel et al., VLDB 7(10), 2014).
    """
    columns: dict[int, list[Reading]] = {}
    for reading in run:
        columns.setdefault(column(reading.at), []).append(reading)
    kept: list[Reading] = []
    for same in columns.values():
        lowest = min(same, key=_value)
        highest = max(same, key=_value)
        chosen = {id(reading): reading for reading in (same[0], lowest, highest, same[-1])}
        kept += sorted(chosen.values(), key=lambda reading: reading.at)
    return tuple(kept)


def _value(reading: Reading) -> float:
    return 0.0 if reading.value is None else reading.value


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
    moments = [r.at.astimezone(UTC) for one in series for r in one.readings if r.value is not None]
    return (min(moments), max(moments)) if moments else None
