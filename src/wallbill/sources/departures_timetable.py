"""The part of a timetable that a wall keeps: the journeys that call at its stops, and the days that they run on."""

import re
from datetime import date
from typing import Annotated

from pydantic import Field

from wallbill.sources.payload import Shape, read_json, read_shape

_Seconds = Annotated[int, Field(ge=-864_000, le=8_640_000)]


class Stop(Shape):
    """A stop of the wall: its name and platform, "" where the feed names none."""

    name: str
    platform: str


class Service(Shape):
    """The days on which journeys run: weekdays (0 Monday) from ``first`` to ``last``, and single days.

    Dates are ``YYYYMMDD``, "" where the feed has no calendar of weekdays for it.
    """

    weekdays: tuple[int, ...] = ()
    first: str = ""
    last: str = ""
    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()


class Call(Shape):
    """A call of a pattern: ``after_s`` seconds after its first departure. ``here``: whether one may board at our stop."""

    sequence: int
    stop: str
    after_s: _Seconds
    here: bool
    headsign: str = ""


class Trip(Shape):
    """A journey: the number of its pattern, and when it begins, in seconds from noon minus 12 h of a service day."""

    id: str
    route: str
    service: str
    headsign: str
    pattern: Annotated[int, Field(ge=0)]
    starts_s: _Seconds
    repeats: tuple[tuple[_Seconds, _Seconds, Annotated[int, Field(ge=1)]], ...] = ()


class Timetable(Shape):
    """What a wall needs of a feed."""

    zone: str
    agency: str
    first: str = ""
    last: str = ""
    stops: dict[str, Stop]
    routes: dict[str, str]
    services: dict[str, Service]
    patterns: tuple[tuple[Call, ...], ...]
    trips: tuple[Trip, ...]


def read_timetable(data: bytes, file: str) -> Timetable:
    """What `drawn_out` gave, read again; raises `SourceError`."""
    return read_shape(Timetable, _as_tuples(read_json(data, file)), file)


def _as_tuples(value: object) -> object:
    """JSON's lists as tuples, which a strict shape asks for."""
    if isinstance(value, list):
        return tuple(_as_tuples(inner) for inner in value)
    if isinstance(value, dict):
        return {key: _as_tuples(inner) for key, inner in value.items()}
    return value


def day_of(text: str) -> date | None:
    """The date of ``YYYYMMDD``, None for what is none."""
    if not re.fullmatch(r"[0-9]{8}", text):
        return None
    try:
        return date(int(text[:4]), int(text[4:6]), int(text[6:]))
    except ValueError:
        return None


def runs_on(service: Service, day: date) -> bool:
    """Whether journeys of a service run on a service day."""
    told = day.strftime("%Y%m%d")
    if told in service.removed:
        return False
    if told in service.added:
        return True
    first, last = day_of(service.first), day_of(service.last)
    return (
        day.weekday() in service.weekdays and first is not None and last is not None and first <= day <= last
    )


def last_day(timetable: Timetable) -> date | None:
    """The last day of which the feed says anything, None if it does not say: its own word, else its services'."""
    own = day_of(timetable.last)
    services = timetable.services.values()
    told = [day_of(text) for service in services for text in (service.last, *service.added)]
    days = [day for day in told if day is not None]
    return own or max(days, default=None)
