"""The weather of Bright Sky, a JSON view of the open data of the German weather service.

Format: the service's own documents, with ``units=dwd``. Temperature, cloud, pressure and humidity hold at a record's
time; precipitation, its chance and the wind are those of the hour before it. An hour takes those, and what falls,
from the record that closes it.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from pydantic import Field

from wallbill.errors import Place, SourceError
from wallbill.facts.forecast import Forecast, Hour, Weather
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
from wallbill.sources.weather_words import bright_sky_condition

CREDIT = "Deutscher Wetterdienst"


class _Record(Shape):
    timestamp: Moment
    temperature: Celsius | None = None
    pressure_msl: HectoPascal | None = None
    relative_humidity: Percent | None = None
    cloud_cover: Percent | None = None
    precipitation: Amount | None = None
    precipitation_probability: Percent | None = None
    wind_speed: Amount | None = None
    wind_direction: Degrees | None = None
    wind_gust_speed: Amount | None = None
    condition: str | None = None
    icon: str | None = None


class _Answer(Shape):
    detail: str = ""
    weather: list[object] = Field(default_factory=list)


def parse_bright_sky(payload: bytes, context: ParseContext) -> Forecast:
    """A Bright Sky payload as a forecast; raises `SourceError` with the JSONPath of what cannot be read."""
    source = context.spec.name
    told = read_shape(_Answer, read_json(payload, source), source)
    if told.detail and not told.weather:
        raise SourceError(
            f"the service answers with an error: {' '.join(told.detail.split())[:200]}",
            where=Place(source, field="$.detail"),
            mend="Check the wall's place: the service covers Germany and its surroundings.",
        )
    rows, findings = read_rows(
        _Record, told.weather, at=lambda i, path: f"$.weather[{i}]{path}", source=source
    )
    timed: dict[datetime, _Record] = {}
    unknown: dict[str, Finding] = {}
    for index, record in rows:
        timed.setdefault(record.timestamp, record)
        word = record.condition
        if word is not None and bright_sky_condition(word, cloud=0.0, rain_mm=None) is None:
            unknown.setdefault(
                word, unknown_weather(word, Place(source, field=f"$.weather[{index}].condition"))
            )
    hours = _hours(tuple(sorted(timed.items())))
    return Forecast(
        origin=context.origin("bright-sky", credit=CREDIT, findings=(*findings, *unknown.values())),
        hours=hours,
        days=make_days(hours, context.zone),
    )


def _hours(rows: Sequence[tuple[datetime, _Record]]) -> tuple[Hour, ...]:
    hour = timedelta(hours=1)
    hours = []
    for number, (start, record) in enumerate(rows):
        following = rows[number + 1] if number + 1 < len(rows) else None
        # The record that closes the hour tells what happened in it; after a hole there is none.
        closes = following is not None and following[0] - start == hour
        closing = following[1] if following is not None and closes else None
        fall = closing or _Record(timestamp=start)
        hours.append(
            Hour(
                valid_from=start,
                valid_to=min(start + hour, following[0]) if following else start + hour,
                temperature=quantity(record.temperature, "°C"),
                weather=_weather(record, closing),
                precipitation=quantity(fall.precipitation, "mm"),
                precipitation_chance=quantity(fall.precipitation_probability, "%"),
                wind_speed=quantity(fall.wind_speed, "km/h", to="m/s"),
                wind_gust=quantity(fall.wind_gust_speed, "km/h", to="m/s"),
                wind_from_deg=fall.wind_direction,
                humidity=quantity(record.relative_humidity, "%"),
                pressure=quantity(record.pressure_msl, "hPa"),
                is_day=_is_day(record.icon),
            )
        )
    return tuple(hours)


def _is_day(icon: str | None) -> bool | None:
    """Day or night by the icon's name, where that says so."""
    if icon is None or not icon.endswith(("-day", "-night")):
        return None
    return icon.endswith("-day")


def _weather(record: _Record, closing: _Record | None) -> Weather | None:
    if record.cloud_cover is None and record.condition is None and closing is None:
        return None
    told = closing or record
    cloud = share(record.cloud_cover)
    if cloud is None:
        cloud = 0.5 if told.condition in {None, "dry"} else 1.0
    return bright_sky_condition(told.condition, cloud=cloud, rain_mm=told.precipitation)
