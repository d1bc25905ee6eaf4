"""Local calendar days made of a forecast's hours. Pure; a day with a change of clocks has 23 or 25 hours."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from wallbill.facts.forecast import Day, Falling, Hour, Phenomenon, Weather
from wallbill.units.quantity import Quantity

_LIT_FROM_H, _LIT_TO_H = 7, 19
"""Local hours taken for daylight where a service does not say whether it is day (common practice, no source)."""

_WET_FOR_H = 2.0
_WET_FROM_MM = 0.5
_WET_FROM_SHARE = 0.2
"""A day is called wet if it is so for two hours, or half a millimetre falls; a kind of weather gives its name to the
day if it holds a fifth of the time (common practice, no source)."""

_FULL_FROM_H = 18
"""The last day is given only if the forecast reaches this local hour: else its high would be a night's."""


@dataclass(frozen=True, slots=True)
class _Part:
    """The part of an hour that lies in a day.

    ``length_h``: how long it lasts; ``share``: of the hour, 0 to 1. ``home``: whether the hour's extremes are this
    day's; ``begins``: whether the hour begins in it.
    """

    hour: Hour
    length_h: float
    share: float
    lit: bool
    home: bool
    begins: bool


def make_days(hours: Sequence[Hour], zone: ZoneInfo) -> tuple[Day, ...]:
    """The local days that the hours (in order of time) touch.

    A span over midnight gives each day its share of what falls; its extremes go to the day that holds more of it,
    of two equal ones the later, for the lowest of a night comes before dawn. The first day is what is left of it.
    A last day that breaks off before the evening is left out.
    """
    if not hours:
        return ()
    first = hours[0].valid_from.astimezone(zone).date()
    end = hours[-1].valid_to.astimezone(zone)
    last = end.date() if end.hour >= _FULL_FROM_H else end.date() - timedelta(days=1)
    touched: dict[date, list[Hour]] = {}
    for hour in hours:
        begins, ends = (moment.astimezone(zone).date() for moment in (hour.valid_from, hour.valid_to))
        for number in range((ends - begins).days + 1):
            touched.setdefault(begins + timedelta(days=number), []).append(hour)
    laid = ((day, _parts(touched[day], day, zone)) for day in sorted(touched) if first <= day <= last)
    return tuple(_day(day, parts) for day, parts in laid if parts)


def _bounds(day: date, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """First instant of a local day and of the next, in UTC."""
    start, end = (datetime.combine(d, time(), zone).astimezone(UTC) for d in (day, day + timedelta(days=1)))
    return start, end


def _parts(hours: Sequence[Hour], day: date, zone: ZoneInfo) -> tuple[_Part, ...]:
    start, end = _bounds(day, zone)
    found = []
    for hour in hours:
        inside = min(hour.valid_to, end) - max(hour.valid_from, start)
        if inside <= timedelta(0):
            continue
        middle = max(hour.valid_from, start) + inside / 2
        lit = _LIT_FROM_H <= middle.astimezone(zone).hour < _LIT_TO_H
        share = inside / (hour.valid_to - hour.valid_from)
        found.append(
            _Part(
                hour=hour,
                length_h=inside / timedelta(hours=1),
                share=share,
                lit=lit if hour.is_day is None else hour.is_day,
                home=share > 0.5 or (share == 0.5 and hour.valid_from < start),
                begins=hour.valid_from >= start,
            )
        )
    return tuple(found)


def _day(day: date, parts: tuple[_Part, ...]) -> Day:
    # A temperature holds at its instant, so it belongs to the day in which its hour begins.
    known = [p.hour.temperature for p in parts if p.begins]
    winds = [p.hour for p in parts if p.hour.wind_speed is not None]
    strongest = max(winds, key=lambda hour: _value(hour.wind_speed), default=None)
    return Day(
        day=day,
        low=min(_said(known, (p.hour.low for p in parts if p.home)), key=_value, default=None),
        high=max(_said(known, (p.hour.high for p in parts if p.home)), key=_value, default=None),
        precipitation=_fallen(parts, lambda hour: True),
        snow=_fallen(parts, _snows),
        rain=_fallen(parts, lambda hour: not _snows(hour)),
        precipitation_chance=_most(p.hour.precipitation_chance for p in parts),
        wind_speed=None if strongest is None else strongest.wind_speed,
        wind_from_deg=None if strongest is None else strongest.wind_from_deg,
        wind_gust=_most(p.hour.wind_gust for p in parts),
        weather=_weather(tuple(part for part in parts if part.lit) or parts),
    )


def _value(quantity: Quantity | None) -> float:
    """A number to compare by; the hours of one forecast share their units."""
    return float("-inf") if quantity is None else quantity.value


def _said(*quantities: Iterable[Quantity | None]) -> list[Quantity]:
    return [quantity for row in quantities for quantity in row if quantity is not None]


def _most(quantities: Iterable[Quantity | None]) -> Quantity | None:
    return max(_said(quantities), key=_value, default=None)


def _snows(hour: Hour) -> bool:
    return hour.weather is not None and hour.weather.falling is Falling.SNOW


def _fallen(parts: Sequence[_Part], counts: Callable[[Hour], bool]) -> Quantity | None:
    """What falls in a day's hours that count; None if no hour says an amount."""
    amounts = [(part, part.hour.precipitation) for part in parts if part.hour.precipitation is not None]
    if not amounts:
        return None
    total = sum(part.share * amount.to("mm").value for part, amount in amounts if counts(part.hour))
    return Quantity(round(total, 6), "mm")


def _weather(parts: Sequence[_Part]) -> Weather | None:
    """The weather that matters most of some hours."""
    told = [(part, part.hour.weather) for part in parts if part.hour.weather is not None]
    if not told:
        return None
    total_h = sum(part.length_h for part, _ in told)
    cloud = sum(part.length_h * weather.cloud for part, weather in told) / total_h
    wet = [(part, weather) for part, weather in told if not weather.dry]
    kind = _kind(wet)
    if kind is None:
        fog_h = sum(part.length_h for part, weather in told if weather.fog)
        fog = fog_h >= _WET_FROM_SHARE * total_h
        return Weather(cloud=min(cloud, 1.0), fog=fog, phenomenon=_phenomenon(told, total_h))
    wet_h = sum(part.length_h for part, _ in wet)
    shower_h = sum(part.length_h for part, weather in wet if weather.showers)
    return Weather(
        cloud=min(cloud, 1.0),
        falling=kind,
        strength=max(
            (w.strength for _, w in wet if w.falling is kind), key=lambda strength: strength.gravity
        ),
        showers=shower_h > wet_h / 2,
        thunder=any(weather.thunder for _, weather in wet),
        phenomenon=_phenomenon(told, total_h),
    )


def _phenomenon(told: Sequence[tuple[_Part, Weather]], total_h: float) -> Phenomenon:
    """What the air does that matters most: what is dangerous always, else what lasts a fifth of the time."""
    found = [
        kind
        for kind in dict.fromkeys(weather.phenomenon for _, weather in told)
        if kind.dangerous
        or sum(part.length_h for part, weather in told if weather.phenomenon is kind)
        >= _WET_FROM_SHARE * total_h
    ]
    return max(found, key=lambda kind: kind.gravity, default=Phenomenon.NONE)


def _kind(wet: Sequence[tuple[_Part, Weather]]) -> Falling | None:
    """What falls that matters most: what is dangerous always, else what lasts; None if the day counts as dry."""
    if not wet:
        return None
    dangerous = [weather for _, weather in wet if weather.gravity[0]]
    if dangerous:
        return max(dangerous, key=lambda weather: weather.gravity).falling
    wet_h = sum(part.length_h for part, _ in wet)
    fallen = _fallen([part for part, _ in wet], lambda hour: True)
    if wet_h < _WET_FOR_H and (fallen is None or fallen.value < _WET_FROM_MM):
        return None
    lasting = [
        kind
        for kind in Falling
        if sum(part.length_h for part, weather in wet if weather.falling is kind) >= _WET_FROM_SHARE * wet_h
        and kind is not Falling.NONE
    ]
    return max(lasting, key=lambda kind: kind.gravity)
