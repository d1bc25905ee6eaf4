"""News from the vehicles (GTFS Realtime 2.0, a protobuf message): which journeys are late, cancelled or new.

Times are seconds of POSIX; a time wins over a delay; a delay holds for the later calls of a journey until the next
news of it (GTFS Realtime reference, TripUpdate).
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from google.protobuf.message import DecodeError
from google.transit import gtfs_realtime_pb2 as wire

from wallbill.errors import Place, SourceError

_TRIP = wire.TripDescriptor
_CALL = wire.TripUpdate.StopTimeUpdate
_CANCELLED = frozenset({_TRIP.CANCELED, _TRIP.DELETED})
_FURTHER = frozenset({_TRIP.ADDED, _TRIP.NEW})
_LATEST_S = 4_102_444_800
_MOST_DELAY_S = 172_800


@dataclass(frozen=True, slots=True)
class CallNews:
    """News of one call, by its ``sequence`` or its ``stop``. ``time_s``: POSIX; ``delay_s``: late if positive.

    ``skipped``: the vehicle does not stop there. ``silent``: from here on nothing is known. ``moved_to``: the stop
    that it uses instead, or "".
    """

    sequence: int | None
    stop: str
    time_s: int | None
    delay_s: int | None
    skipped: bool = False
    silent: bool = False
    moved_to: str = ""


@dataclass(frozen=True, slots=True)
class TripNews:
    """News of one journey. ``day``: its service day as ``YYYYMMDD``, ``starts``: its first time, each "" if unsaid.

    ``added``: the timetable does not have it.
    """

    trip: str
    route: str
    day: str
    starts: str
    cancelled: bool
    added: bool
    calls: tuple[CallNews, ...]
    delay_s: int | None = None


@dataclass(frozen=True, slots=True)
class News:
    """The news of all journeys asked for. ``made_at``: aware, UTC, None if the message does not say."""

    made_at: datetime | None
    trips: Mapping[str, tuple[TripNews, ...]]
    added: tuple[TripNews, ...]


def read_news(data: bytes, file: str, *, trips: Iterable[str], stops: Iterable[str]) -> News:
    """The news of these journeys, and of further ones that call at these stops; raises `SourceError`."""
    message = wire.FeedMessage()
    try:
        message.ParseFromString(data)
        whole = message.IsInitialized()
    except (DecodeError, ValueError, RecursionError):
        whole = False
    if not whole:
        page = data.lstrip()[:1] in {b"<", b"{"}
        raise SourceError(
            "text came in place of the vehicles' news" if page else "the vehicles' news cannot be read",
            where=Place(file),
            mend="Give the address of the GTFS Realtime feed in its binary form, of trip updates.",
        )
    wanted, ours = frozenset(trips), frozenset(stops)
    found: dict[str, list[TripNews]] = {}
    added = []
    for entity in message.entity:
        if not entity.HasField("trip_update") or entity.is_deleted:
            continue
        update = entity.trip_update
        relation = update.trip.schedule_relationship
        if relation in _FURTHER:
            if any(call.stop_id in ours for call in update.stop_time_update):
                added.append(_trip(update))
        elif update.trip.trip_id in wanted:
            found.setdefault(update.trip.trip_id, []).append(_trip(update))
    made_s = message.header.timestamp
    made_at = datetime.fromtimestamp(made_s, UTC) if 0 < made_s < _LATEST_S else None
    return News(made_at, {trip: tuple(news) for trip, news in found.items()}, tuple(added))


def _trip(update: Any) -> TripNews:
    trip = update.trip
    relation = trip.schedule_relationship
    delay_s = update.delay if update.HasField("delay") and abs(update.delay) <= _MOST_DELAY_S else None
    return TripNews(
        trip=_text(trip.trip_id),
        route=_text(trip.route_id),
        day=_text(trip.start_date),
        starts=_text(trip.start_time),
        cancelled=relation in _CANCELLED,
        added=relation in _FURTHER,
        calls=tuple(_call(call) for call in update.stop_time_update),
        delay_s=delay_s,
    )


def _call(call: Any) -> CallNews:
    """One call's news: of the departure, else of the arrival."""
    event = next((getattr(call, name) for name in ("departure", "arrival") if _tells(call, name)), None)
    time_s = (
        event.time if event is not None and event.HasField("time") and 0 < event.time < _LATEST_S else None
    )
    told = event is not None and event.HasField("delay") and abs(event.delay) <= _MOST_DELAY_S
    return CallNews(
        sequence=call.stop_sequence if call.HasField("stop_sequence") else None,
        stop=_text(call.stop_id),
        time_s=time_s,
        delay_s=event.delay if told and event is not None else None,
        skipped=call.schedule_relationship == _CALL.SKIPPED,
        silent=call.schedule_relationship == _CALL.NO_DATA,
        moved_to=_text(call.stop_time_properties.assigned_stop_id)
        if call.HasField("stop_time_properties")
        else "",
    )


def _text(value: str | bytes) -> str:
    """A text of the wire, which gives bytes where it is not UTF-8."""
    return value if isinstance(value, str) else value.decode("utf-8", "replace")


def _tells(call: Any, name: str) -> bool:
    return bool(call.HasField(name)) and any(getattr(call, name).HasField(part) for part in ("time", "delay"))
