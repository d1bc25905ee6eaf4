"""The forecast of Open-Meteo, or of an instance of one's own.

Format: the service's own documents. Columns of equal length; the amounts, chances and gusts of an entry are those of
the hour that ends at its time, the other values hold at it. So an hour takes its fall from the entry that closes it,
and so it does with what falls according to the weather code, which the service works out from that amount.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, timedelta
from typing import Annotated

from pydantic import BeforeValidator, Field

from wallbill.errors import Place, SourceError
from wallbill.facts.forecast import Forecast, Hour, Weather
from wallbill.findings import Finding
from wallbill.sources.forecast_days import make_days
from wallbill.sources.payload import (
    Amount,
    Degrees,
    HectoPascal,
    Percent,
    Shape,
    Temperature,
    left_out,
    of_our_age,
    quantity,
    read_json,
    read_rows,
    read_shape,
    share,
    unknown_weather,
)
from wallbill.sources.spec import ParseContext
from wallbill.sources.weather_words import WMO_CODES

CREDIT = "Weather data by Open-Meteo.com"
VARIABLES = (
    "temperature_2m", "relative_humidity_2m", "pressure_msl", "cloud_cover", "weather_code", "is_day",
    "precipitation", "precipitation_probability", "wind_speed_10m", "wind_direction_10m", "wind_gusts_10m",
)  # fmt: skip
"""What is asked for, by the service's names."""

_UNITS = (("°C", "°C"), ("°F", "°F"), ("km/h", "km/h"), ("m/s", "m/s"), ("mp/h", "mph"), ("kn", "kn"),
          ("mm", "mm"), ("inch", "in"), ("%", "%"), ("hPa", "hPa"), ("°", "°"))  # fmt: skip
"""The service's signs of units, and ours."""

_DEFAULT_UNITS = (("temperature_2m", "°C"), ("precipitation", "mm"), ("wind_speed_10m", "km/h"),
                  ("wind_gusts_10m", "km/h"), ("pressure_msl", "hPa"))  # fmt: skip


def _whole(value: object) -> object:
    return int(value) if isinstance(value, float) and value.is_integer() else value


Whole = Annotated[int, BeforeValidator(_whole)]


class _Row(Shape):
    time: int | str
    temperature_2m: Temperature | None = None
    relative_humidity_2m: Percent | None = None
    pressure_msl: HectoPascal | None = None
    cloud_cover: Percent | None = None
    weather_code: Whole | None = None
    is_day: Whole | None = None
    precipitation: Amount | None = None
    precipitation_probability: Percent | None = None
    wind_speed_10m: Amount | None = None
    wind_direction_10m: Degrees | None = None
    wind_gusts_10m: Amount | None = None


class _Answer(Shape):
    error: bool = False
    reason: str = ""
    utc_offset_seconds: Annotated[int, Field(ge=-86_400, le=86_400)] = 0
    hourly: dict[str, list[object]] = Field(default_factory=dict)
    hourly_units: dict[str, str] = Field(default_factory=dict)


def parse_open_meteo(payload: bytes, context: ParseContext) -> Forecast:
    """An Open-Meteo payload as a forecast; raises `SourceError` with the JSONPath of what cannot be read.

    Times may be Unix seconds, or local times without an offset, which then all have ``utc_offset_seconds``, even
    over a change of clocks.
    """
    source = context.spec.name
    told = read_shape(_Answer, read_json(payload, source), source)
    if told.error:
        raise SourceError(
            f"the service answers with an error: {' '.join(told.reason.split())[:200] or 'no reason given'}",
            where=Place(source, field="$.reason"),
            mend="Check the wall's place and the source's settings.",
        )
    rows, findings = read_rows(
        _Row, _rows(told.hourly, source), at=lambda i, path: f"$.hourly{path}[{i}]", source=source
    )
    timed, untimed = _timed(rows, timedelta(seconds=told.utc_offset_seconds), source)
    hours = _hours(timed, _units(told.hourly_units, source))
    found = (*findings, *untimed, *_unknown(rows, source))
    return Forecast(
        origin=context.origin("open-meteo", credit=CREDIT, findings=found),
        hours=hours,
        days=make_days(hours, context.zone),
    )


def _rows(hourly: Mapping[str, Sequence[object]], source: str) -> list[object]:
    """Columns as rows; raises `SourceError` for columns of unequal length."""
    times = hourly.get("time")
    if times is None:
        raise SourceError(
            "it has no hourly times",
            where=Place(source, field="$.hourly.time"),
            mend="Ask for hourly values of the forecast.",
        )
    columns = {name: hourly[name] for name in ("time", *VARIABLES) if name in hourly}
    for name, column in columns.items():
        if len(column) != len(times):
            raise SourceError(
                f"{len(column)} values for {len(times)} times",
                where=Place(source, field=f"$.hourly.{name}"),
                mend="Fetch it again; the payload has lost something.",
            )
    return [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]


def _timed(
    rows: Sequence[tuple[int, _Row]], offset: timedelta, source: str
) -> tuple[tuple[tuple[datetime, _Row], ...], tuple[Finding, ...]]:
    """The rows by their instants, in order; those whose time cannot be read are left out with a finding."""
    timed: dict[datetime, _Row] = {}
    bad = []
    for index, row in rows:
        try:
            timed.setdefault(_moment(row.time, offset), row)
        except (ValueError, OverflowError, OSError):
            bad.append((f"$.hourly.time[{index}]", f"{row.time!r} is no time"))
    if not timed:
        raise SourceError(
            bad[0][1], where=Place(source, field=bad[0][0]), mend="Ask for timeformat=unixtime or iso8601."
        )
    return tuple(sorted(timed.items())), left_out(bad, source)


def _moment(time: int | str, offset: timedelta) -> datetime:
    """A time of either shape, in UTC."""
    if isinstance(time, int):
        return of_our_age(datetime.fromtimestamp(time, UTC))
    moment = of_our_age(datetime.fromisoformat(time))
    return moment.astimezone(UTC) if moment.tzinfo else moment.replace(tzinfo=UTC) - offset


def _units(units: Mapping[str, str], source: str) -> Mapping[str, str]:
    """Our unit of each variable that has one; raises `SourceError` for a sign that is not known."""
    ours = dict(_UNITS)
    found = {}
    for name, default in _DEFAULT_UNITS:
        sign = units.get(name, default)
        if sign not in ours:
            raise SourceError(
                f"unknown unit {sign[:20]!r}",
                where=Place(source, field=f"$.hourly_units.{name}"),
                mend=f"Ask for one of {', '.join(ours)}.",
            )
        found[name] = ours[sign]
    return found


def _hours(rows: Sequence[tuple[datetime, _Row]], unit: Mapping[str, str]) -> tuple[Hour, ...]:
    hour = timedelta(hours=1)
    hours = []
    for number, (start, row) in enumerate(rows):
        following = rows[number + 1] if number + 1 < len(rows) else None
        # The entry that closes the hour tells what falls in it; after a hole there is none.
        closing = following[1] if following is not None and following[0] - start == hour else _Row(time=0)
        hours.append(
            Hour(
                valid_from=start,
                valid_to=min(start + hour, following[0]) if following else start + hour,
                temperature=quantity(row.temperature_2m, unit["temperature_2m"], to="°C"),
                weather=_weather(row, closing),
                precipitation=quantity(closing.precipitation, unit["precipitation"], to="mm"),
                precipitation_chance=quantity(closing.precipitation_probability, "%"),
                wind_speed=quantity(row.wind_speed_10m, unit["wind_speed_10m"], to="m/s"),
                wind_gust=quantity(closing.wind_gusts_10m, unit["wind_gusts_10m"], to="m/s"),
                wind_from_deg=row.wind_direction_10m,
                humidity=quantity(row.relative_humidity_2m, "%"),
                pressure=quantity(row.pressure_msl, unit["pressure_msl"], to="hPa"),
                is_day=None if row.is_day is None else row.is_day == 1,
            )
        )
    return tuple(hours)


def _weather(row: _Row, closing: _Row) -> Weather | None:
    """What falls from the entry that closes the hour; a dry sky from the entry that opens it."""
    sky = None if row.weather_code is None else WMO_CODES.get(row.weather_code)
    fall = sky if closing.weather_code is None else WMO_CODES.get(closing.weather_code)
    if fall is None or sky is None:
        return fall or sky
    told = share(row.cloud_cover)
    if fall.dry:
        cloud = told if told is not None else sky.cloud
        return Weather(cloud, fog=sky.fog, phenomenon=sky.phenomenon)
    return Weather(
        fall.cloud if told is None else told, fall.falling, fall.strength, fall.showers, fall.thunder
    )


def _unknown(rows: Sequence[tuple[int, _Row]], source: str) -> tuple[Finding, ...]:
    first: dict[int, int] = {}
    for index, row in rows:
        if row.weather_code is not None and row.weather_code not in WMO_CODES:
            first.setdefault(row.weather_code, index)
    return tuple(
        unknown_weather(code, Place(source, field=f"$.hourly.weather_code[{index}]"))
        for code, index in first.items()
    )
