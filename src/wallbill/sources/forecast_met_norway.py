"""The Locationforecast 2.0 of MET Norway, ``compact`` and ``complete``.

Format: the service's own documents (ForecastJSON, datamodel). A period begins at its entry's time. The steps are an
hour, later six; in the six-hour part ``next_1_hours`` is missing, and the last entry has an instant only.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from pydantic import Field

from wallbill.errors import Place, SourceError
from wallbill.facts.forecast import Forecast, Hour
from wallbill.findings import Finding
from wallbill.sources.forecast_days import make_days
from wallbill.sources.payload import (
    Amount,
    Celsius,
    Degrees,
    HectoPascal,
    Moment,
    Percent,
    Shape,
    quantity,
    read_json,
    read_rows,
    read_shape,
    share,
    unknown_weather,
)
from wallbill.sources.spec import ParseContext
from wallbill.sources.weather_words import met_norway_symbol

CREDIT = "Data from MET Norway"
_UNITS = (
    ("air_pressure_at_sea_level", "hPa"),
    ("air_temperature", "celsius"),
    ("cloud_area_fraction", "%"),
    ("precipitation_amount", "mm"),
    ("relative_humidity", "%"),
    ("wind_from_direction", "degrees"),
    ("wind_speed", "m/s"),
)


class _Instant(Shape):
    air_pressure_at_sea_level: HectoPascal | None = None
    air_temperature: Celsius | None = None
    cloud_area_fraction: Percent | None = None
    relative_humidity: Percent | None = None
    wind_from_direction: Degrees | None = None
    wind_speed: Amount | None = None
    wind_speed_of_gust: Amount | None = None


class _InstantHolder(Shape):
    details: _Instant


class _Summary(Shape):
    symbol_code: str | None = None


class _Fall(Shape):
    precipitation_amount: Amount | None = None
    probability_of_precipitation: Percent | None = None
    air_temperature_min: Celsius | None = None
    air_temperature_max: Celsius | None = None


class _Period(Shape):
    summary: _Summary = _Summary()
    details: _Fall = _Fall()


class _Data(Shape):
    instant: _InstantHolder
    next_1_hours: _Period | None = None
    next_6_hours: _Period | None = None
    next_12_hours: _Period | None = None

    def periods(self) -> dict[timedelta, _Period]:
        """The periods that begin here, by their length, the shortest first."""
        told = ((1, self.next_1_hours), (6, self.next_6_hours), (12, self.next_12_hours))
        return {timedelta(hours=length_h): period for length_h, period in told if period is not None}


class _Entry(Shape):
    time: Moment
    data: _Data


class _Meta(Shape):
    updated_at: Moment
    units: dict[str, str] = Field(default_factory=dict)


class _Properties(Shape):
    meta: _Meta
    timeseries: list[object]


class _Feature(Shape):
    properties: _Properties


def parse_met_norway(payload: bytes, context: ParseContext) -> Forecast:
    """A Locationforecast payload as a forecast; raises `SourceError` with the JSONPath of what cannot be read."""
    source = context.spec.name
    told = read_shape(_Feature, read_json(payload, source), source).properties
    _check_units(told.meta.units, source)
    rows, findings = read_rows(
        _Entry, told.timeseries, at=lambda i, path: f"$.properties.timeseries[{i}]{path}", source=source
    )
    in_order = sorted(rows, key=lambda row: row[1].time)
    entries = [row for row, before in zip(in_order, [None, *in_order], strict=False) if _is_new(row, before)]
    hours, unknown = _hours(entries, source)
    if not hours:
        raise SourceError(
            "no entry says for how long it holds",
            where=Place(source, field="$.properties.timeseries"),
            mend="Ask for the service's compact or complete forecast.",
        )
    return Forecast(
        origin=context.origin(
            "met-norway", credit=CREDIT, issued_at=told.meta.updated_at, findings=(*findings, *unknown)
        ),
        hours=hours,
        days=make_days(hours, context.zone),
    )


def _is_new(row: tuple[int, _Entry], before: tuple[int, _Entry] | None) -> bool:
    return before is None or row[1].time > before[1].time


def _check_units(units: dict[str, str], source: str) -> None:
    for name, unit in _UNITS:
        if units.get(name, unit) != unit:
            raise SourceError(
                f"{units[name]!r} in place of {unit!r}",
                where=Place(source, field=f"$.properties.meta.units.{name}"),
                mend="Use a payload in the service's own units.",
            )


def _hours(
    entries: Sequence[tuple[int, _Entry]], source: str
) -> tuple[tuple[Hour, ...], tuple[Finding, ...]]:
    hours: list[Hour] = []
    unknown: dict[str, int] = {}
    for number, (index, entry) in enumerate(entries):
        following = entries[number + 1][1].time if number + 1 < len(entries) else None
        span, period, exact = _period(entry, following)
        if not span:
            continue
        details = entry.data.instant.details
        code = period.summary.symbol_code
        symbol = met_norway_symbol(code, share(details.cloud_area_fraction)) if code else None
        if code and symbol is None:
            unknown.setdefault(code, index)
        weather, is_day = symbol or (None, None)
        fall = period.details if exact else _Fall()
        hours.append(
            Hour(
                valid_from=entry.time,
                valid_to=entry.time + span,
                temperature=quantity(details.air_temperature, "°C"),
                weather=weather,
                precipitation=quantity(fall.precipitation_amount, "mm"),
                precipitation_chance=quantity(fall.probability_of_precipitation, "%"),
                wind_speed=quantity(details.wind_speed, "m/s"),
                wind_gust=quantity(details.wind_speed_of_gust, "m/s"),
                wind_from_deg=details.wind_from_direction,
                humidity=quantity(details.relative_humidity, "%"),
                pressure=quantity(details.air_pressure_at_sea_level, "hPa"),
                is_day=is_day,
                low=quantity(fall.air_temperature_min, "°C"),
                high=quantity(fall.air_temperature_max, "°C"),
            )
        )
    place = "$.properties.timeseries[{}]"
    return tuple(hours), tuple(
        unknown_weather(code, Place(source, field=place.format(index))) for code, index in unknown.items()
    )


def _period(entry: _Entry, following: datetime | None) -> tuple[timedelta | None, _Period, bool]:
    """How long an entry holds, the period that tells its weather, and whether that is just as long.

    The period that ends where the next entry begins, if there is one; else the longest that ends before, which
    leaves a hole after an entry that could not be read; else the shortest that ends after, whose amount is then
    not this entry's alone.
    """
    periods = entry.data.periods()
    gap = None if following is None else following - entry.time
    if gap in periods:
        return gap, periods[gap], True
    shorter = [span for span in periods if gap is None or span < gap]
    if shorter:
        span = shorter[0] if gap is None else shorter[-1]
        return span, periods[span], True
    if gap is None:
        return None, _Period(), False
    longer = next(iter(periods.values()), _Period())
    return gap, longer, False
