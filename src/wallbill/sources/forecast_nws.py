"""The hourly and the twelve-hourly forecast of the US National Weather Service.

Format: the service's OpenAPI description. Temperature and wind come either as numbers and words (``"5 to 10 mph"``)
or, by a feature flag, as quantities with a unit code; both are read. There is no amount of precipitation and no
symbol: the weather is read out of the words of the short forecast.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from wallbill.errors import Place, SourceError
from wallbill.facts.forecast import Day, Forecast, Hour
from wallbill.facts.wind import Point
from wallbill.findings import Finding
from wallbill.sources.forecast_days import make_days
from wallbill.sources.payload import (
    Moment,
    Number,
    Shape,
    Temperature,
    quantity,
    read_json,
    read_rows,
    read_shape,
    unknown_weather,
)
from wallbill.sources.spec import ParseContext
from wallbill.sources.weather_words import nws_words
from wallbill.units.quantity import Quantity

CREDIT = "US National Weather Service"
_LONG = timedelta(hours=6)
"""Periods from this length on are those of the twelve-hourly forecast: their temperature is a high or a low."""

_UNIT_CODES = (
    ("degC", "°C"), ("degF", "°F"), ("K", "K"), ("percent", "%"), ("km_h-1", "km/h"), ("m_s-1", "m/s"),
    ("mi_h-1", "mph"), ("kn", "kn"), ("kt", "kn"),
)  # fmt: skip
_WORD_UNITS = (("mph", "mph"), ("km/h", "km/h"), ("kph", "km/h"), ("kt", "kn"), ("kn", "kn"), ("m/s", "m/s"))


class _Measure(Shape):
    """A quantity as the service writes it: a value, or a range, with a unit code such as ``wmoUnit:degC``."""

    unitCode: str = ""  # noqa: N815 the service's own name
    value: Number | None = None
    maxValue: Number | None = None  # noqa: N815 the service's own name

    def quantity(self, to: str) -> Quantity | None:
        """In the unit asked for, the top of a range; None where it has no value or a unit of another kind."""
        value = self.value if self.value is not None else self.maxValue
        unit = dict(_UNIT_CODES).get(self.unitCode.rpartition(":")[2])
        if value is None or unit is None or Quantity(0, unit).kind != Quantity(0, to).kind:
            return None
        return Quantity(value, unit).to(to)


class _Period(Shape):
    startTime: Moment  # noqa: N815 the service's own name
    endTime: Moment  # noqa: N815 the service's own name
    isDaytime: bool | None = None  # noqa: N815 the service's own name
    temperature: Temperature | _Measure | None = None
    temperatureUnit: str | None = None  # noqa: N815 the service's own name
    probabilityOfPrecipitation: _Measure | None = None  # noqa: N815 the service's own name
    relativeHumidity: _Measure | None = None  # noqa: N815 the service's own name
    windSpeed: str | _Measure | None = None  # noqa: N815 the service's own name
    windGust: str | _Measure | None = None  # noqa: N815 the service's own name
    windDirection: str | None = None  # noqa: N815 the service's own name
    shortForecast: str | None = None  # noqa: N815 the service's own name


class _Properties(Shape):
    updateTime: Moment | None = None  # noqa: N815 the service's own name
    generatedAt: Moment | None = None  # noqa: N815 the service's own name
    periods: list[object]


class _Feature(Shape):
    title: str = ""
    detail: str = ""
    properties: _Properties | None = None


class _Links(Shape):
    forecast: str
    forecastHourly: str  # noqa: N815 the service's own name


class _Point(Shape):
    properties: _Links


def parse_nws_point(payload: bytes, source: str) -> tuple[str, str]:
    """The addresses of the hourly and the twelve-hourly forecast for a point; raises `SourceError`."""
    links = read_shape(_Point, read_json(payload, source), source).properties
    return links.forecastHourly, links.forecast


def parse_nws(payload: bytes, context: ParseContext) -> Forecast:
    """One of the two forecasts; raises `SourceError` with the JSONPath of what cannot be read.

    The temperature of a twelve-hourly period is its high by day and its low by night.
    """
    source = context.spec.name
    told = read_shape(_Feature, read_json(payload, source), source)
    if told.properties is None:
        raise SourceError(
            f"the service answers with an error: {' '.join((told.detail or told.title).split())[:200] or 'no reason'}",
            where=Place(source, field="$.properties"),
            mend="Check the wall's place: the service covers the United States and its waters.",
        )
    rows, findings = read_rows(
        _Period, told.properties.periods, at=lambda i, path: f"$.properties.periods[{i}]{path}", source=source
    )
    good = [(i, p) for i, p in rows if p.endTime > p.startTime]
    if not good:
        raise SourceError(
            "every period ends before it begins",
            where=Place(source, field="$.properties.periods"),
            mend="Fetch it again, and look at what the address gives.",
        )
    hours = _in_order([_hour(period) for _, period in good])
    found = (*findings, *_unknown(good, source))
    issued_at = told.properties.updateTime or told.properties.generatedAt
    days = make_days(hours, context.zone)
    return Forecast(
        origin=context.origin("nws", credit=CREDIT, issued_at=issued_at, findings=found),
        hours=hours,
        days=days,
    )


def join_nws(forecasts: Sequence[Forecast], context: ParseContext) -> Forecast:
    """The hourly and the twelve-hourly forecast as one.

    Hours come from the hourly forecast as far as it goes, then from the other. A day's high is the forecaster's own
    where there is one. The elder of the two dates the whole.
    """
    if len(forecasts) == 1:
        return forecasts[0]
    hourly, long = sorted(forecasts, key=lambda f: f.hours[0].valid_to - f.hours[0].valid_from)
    end = hourly.hours[-1].valid_to
    hours = (*hourly.hours, *(hour for hour in long.hours if hour.valid_from >= end))
    highs = {day.day: day.high for day in long.days if day.high is not None}
    elder = min(hourly.origin, long.origin, key=lambda origin: origin.dated)
    return Forecast(
        origin=replace(elder, findings=hourly.origin.findings + long.origin.findings),
        hours=hours,
        days=tuple(_high(day, highs.get(day.day)) for day in make_days(hours, context.zone)),
    )


def _high(day: Day, high: Quantity | None) -> Day:
    return day if high is None else replace(day, high=high)


def _in_order(hours: Sequence[Hour]) -> tuple[Hour, ...]:
    """By time, without those that begin before another has ended."""
    kept: list[Hour] = []
    for hour in sorted(hours, key=lambda h: h.valid_from):
        if not kept or hour.valid_from >= kept[-1].valid_to:
            kept.append(hour)
    return tuple(kept)


def _hour(period: _Period) -> Hour:
    long = period.endTime - period.startTime >= _LONG
    temperature = _temperature(period)
    chance, humidity = period.probabilityOfPrecipitation, period.relativeHumidity
    return Hour(
        valid_from=period.startTime,
        valid_to=period.endTime,
        temperature=None if long else temperature,
        weather=nws_words(period.shortForecast) if period.shortForecast else None,
        precipitation_chance=chance.quantity("%") if chance else None,
        wind_speed=_speed(period.windSpeed),
        wind_gust=_speed(period.windGust),
        wind_from_deg=_direction(period.windDirection),
        humidity=humidity.quantity("%") if humidity else None,
        is_day=period.isDaytime,
        low=temperature if long and not period.isDaytime else None,
        high=temperature if long and period.isDaytime else None,
    )


def _temperature(period: _Period) -> Quantity | None:
    if isinstance(period.temperature, _Measure):
        return period.temperature.quantity("°C")
    return quantity(period.temperature, "°C" if period.temperatureUnit == "C" else "°F", to="°C")


def _speed(told: str | _Measure | None) -> Quantity | None:
    """A wind in m/s, out of ``"10 mph"`` or ``"5 to 10 mph"``, of which the higher counts, or out of a quantity."""
    if told is None or isinstance(told, _Measure):
        return told.quantity("m/s") if told else None
    if told.strip().lower() == "calm":
        return Quantity(0.0, "m/s")
    found = re.fullmatch(r"\s*(?:(?:up )?to\s+)?(?:\d+(?:\.\d+)?\s*to\s*)?(\d+(?:\.\d+)?)\s*(\S+)\s*", told)
    unit = dict(_WORD_UNITS).get(found[2].lower()) if found else None
    return Quantity(float(found[1]), unit).to("m/s") if found and unit else None


def _direction(told: str | None) -> float | None:
    """Degrees of a point of the compass; None for a variable or unsaid wind."""
    return Point(told).degrees if told in tuple(Point) else None


def _unknown(rows: Sequence[tuple[int, _Period]], source: str) -> tuple[Finding, ...]:
    first: dict[str, int] = {}
    for index, period in rows:
        if period.shortForecast and nws_words(period.shortForecast) is None:
            first.setdefault(period.shortForecast, index)
    return tuple(
        unknown_weather(words, Place(source, field=f"$.properties.periods[{index}].shortForecast"))
        for words, index in first.items()
    )
