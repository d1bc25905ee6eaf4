"""What a wall needs of a GTFS feed: the journeys that call at its stops, drawn out of tables of any size.

A feed of a land has tens of millions of calls; those of one stop are some thousand. They are drawn out once, when the
feed is fetched, and only they are kept. See docs/decisions/0091-timetables.md.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from wallbill.errors import Place, SourceError
from wallbill.places.words import did_you_mean
from wallbill.sources.departures_tables import Tables
from wallbill.sources.departures_timetable import Call, Service, Stop, Timetable, Trip, day_of

_MOST_TRIPS = 60_000
_MOST_CALLS = 3_000_000
_MOST_STOPS = 500
_FEW_STOPS = 8
"""Up to so many stops, a line is quicker searched for each of them than taken apart."""
_CLOCK = re.compile(r"([0-9]{1,3}):([0-5][0-9]):([0-5][0-9])")
_DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a wall asks of a feed. ``stops``: ids of stops or stations. ``routes``: ids or names, empty: all."""

    stops: tuple[str, ...]
    routes: tuple[str, ...]
    where: Place


class _Row(NamedTuple):
    sequence: int
    stop: str
    departs_s: int | None
    boards: bool
    headsign: str


def drawn_out(tables: Tables, wanted: Wanted) -> bytes:
    """The timetable of the wanted stops as JSON; raises `SourceError` for a stop or a route that the feed lacks.

    The table of calls is read twice: first for the journeys that call at our stops, then for all calls of those.
    """
    for name in ("stops.txt", "trips.txt", "stop_times.txt", "routes.txt", "agency.txt"):
        if tables.heading(name) is None:
            raise SourceError(
                f"the timetable has no {name}", where=Place(tables.file), mend="Give a whole GTFS feed."
            )
    stops = _stops(tables, wanted)
    calling = _calling(tables, stops)
    routes = _routes(tables, wanted)
    trips = [trip for trip in _trips(tables, calling) if trip[1] in routes]
    rows = _all_calls(tables, {trip[0] for trip in trips})
    made, patterns = _laid(trips, rows, repeats=_repeats(tables, rows), stops=stops)
    zone, agency = _agency(tables)
    publisher, first, last = _feed(tables)
    used = {trip.route for trip in made}
    return (
        Timetable(
            zone=zone,
            agency=publisher or agency,
            first=first,
            last=last,
            stops=stops,
            routes={route: name for route, name in routes.items() if route in used},
            services=_services(tables, {trip.service for trip in made}),
            patterns=patterns,
            trips=made,
        )
        .model_dump_json(exclude_defaults=True)
        .encode()
    )


def _laid(
    trips: Iterable[tuple[str, str, str, str]],
    rows: Mapping[str, list[_Row]],
    *,
    repeats: Mapping[str, list[tuple[int, int, int]]],
    stops: Mapping[str, Stop],
) -> tuple[tuple[Trip, ...], tuple[tuple[Call, ...], ...]]:
    """The journeys that one may board at our stops, and their patterns, each once."""
    patterns: dict[tuple[Call, ...], int] = {}
    made = []
    for trip, route, service, headsign in trips:
        laid = _pattern(rows.get(trip, []), stops)
        if laid is not None:
            starts_s, calls = laid
            made.append(
                Trip(
                    id=trip,
                    route=route,
                    service=service,
                    headsign=headsign,
                    pattern=patterns.setdefault(calls, len(patterns)),
                    starts_s=starts_s,
                    repeats=tuple(repeats.get(trip, ())),
                )
            )
    return tuple(made), tuple(patterns)


def _stops(tables: Tables, wanted: Wanted) -> dict[str, Stop]:
    """The wanted stops, stations as their platforms."""
    found: dict[str, Stop] = {}
    known: set[str] = set()
    near: list[str] = []
    asked = set(wanted.stops)
    words = [stop.casefold() for stop in wanted.stops]
    columns = ("stop_id", "stop_name", "platform_code", "parent_station", "location_type")
    parts: list[tuple[str, str, Stop]] = []
    for stop, name, platform, parent, kind in tables.rows("stops.txt", *columns):
        if stop in asked or parent in asked:
            known.add(stop)
            parts.append((stop, kind or "0", Stop(name=name, platform=platform)))
        elif len(near) < 5 and any(word in name.casefold() for word in words if word):
            near.append(f"{stop} ({name})")
    names = {stop: part.name for stop, kind, part in parts}
    parents = dict(_parents(tables, known))
    for stop, kind, part in parts:
        if kind == "0":
            found[stop] = (
                part if part.name else Stop(name=names.get(parents.get(stop, ""), ""), platform=part.platform)
            )
    for stop in wanted.stops:
        if stop not in known:
            raise SourceError(
                f"the timetable has no stop {stop!r}",
                where=wanted.where,
                mend=f"Perhaps one of {', '.join(near)}." if near else "Give the stop_id of its stops.txt.",
            )
    if not found or len(found) > _MOST_STOPS:
        raise SourceError(
            f"{len(found)} places to board are at the wanted stops",
            where=wanted.where,
            mend=f"Give stops or stations that have from 1 to {_MOST_STOPS}.",
        )
    return found


def _parents(tables: Tables, stops: set[str]) -> Iterator[tuple[str, str]]:
    return (
        (stop, parent)
        for stop, parent in tables.rows("stops.txt", "stop_id", "parent_station")
        if stop in stops
    )


def _calling(tables: Tables, stops: Mapping[str, Stop]) -> set[str]:
    """The journeys that call at our stops."""
    few = tuple(stops) if len(stops) <= _FEW_STOPS else ()
    keep = (lambda line: any(stop in line for stop in few)) if few else None
    rows = tables.rows("stop_times.txt", "trip_id", "stop_id", keep=keep)
    found = {trip for trip, stop in rows if stop in stops}
    if len(found) > _MOST_TRIPS:
        raise SourceError(
            f"{len(found)} journeys call at the wanted stops",
            where=Place(tables.file),
            mend="Name fewer stops.",
        )
    return found


def _routes(tables: Tables, wanted: Wanted) -> dict[str, str]:
    """The routes by id: their short names, or long ones; only the wanted, if any are."""
    found = {}
    names: dict[str, None] = {}
    asked = {name.casefold() for name in wanted.routes}
    met = set()
    for route, short, long in tables.rows("routes.txt", "route_id", "route_short_name", "route_long_name"):
        mine = {part.casefold() for part in (route, short, long) if part}
        if not asked or mine & asked:
            found[route] = short or long or route
            met |= mine & asked
        if len(names) < 5000:
            names[short or long or route] = None
    for name in wanted.routes:
        if name.casefold() not in met:
            raise SourceError(
                f"the timetable has no route {name!r}",
                where=wanted.where,
                mend=did_you_mean(name, list(names)),
            )
    return found


def _trips(tables: Tables, calling: set[str]) -> Iterator[tuple[str, str, str, str]]:
    columns = ("trip_id", "route_id", "service_id", "trip_headsign")
    for trip, route, service, headsign in tables.rows("trips.txt", *columns):
        if trip in calling:
            yield trip, route, service, headsign


def _all_calls(tables: Tables, trips: set[str]) -> dict[str, list[_Row]]:
    """All calls of some journeys, in order."""
    rows: dict[str, list[_Row]] = {}
    count = 0
    columns = (
        "trip_id",
        "departure_time",
        "arrival_time",
        "stop_id",
        "stop_sequence",
        "pickup_type",
        "stop_headsign",
    )
    first = next(iter(tables.heading("stop_times.txt") or ()), "") == "trip_id"
    keep = (lambda line: line.partition(",")[0].strip() in trips) if first else None
    for trip, departs, arrives, stop, sequence, pickup, headsign in tables.rows(
        "stop_times.txt", *columns, keep=keep
    ):
        if trip not in trips or not sequence.isascii() or not sequence.isdigit() or len(sequence) > 9:
            continue
        count += 1
        if count > _MOST_CALLS:
            raise SourceError("too many calls to keep", where=Place(tables.file), mend="Name fewer stops.")
        departs_s = seconds(departs)
        at_s = seconds(arrives) if departs_s is None else departs_s
        rows.setdefault(trip, []).append(_Row(int(sequence), stop, at_s, pickup != "1", headsign))
    for calls in rows.values():
        calls.sort(key=lambda row: row.sequence)
    return rows


def _pattern(rows: list[_Row], stops: Mapping[str, Stop]) -> tuple[int, tuple[Call, ...]] | None:
    """When a journey begins and its calls; None if nobody may board at our stops. The last call is none to board at."""
    times = _times(rows)
    if times is None:
        return None
    last = len(rows) - 1
    calls = tuple(
        Call(
            sequence=row.sequence,
            stop=row.stop,
            after_s=at_s - times[0],
            here=row.stop in stops and row.boards and number < last,
            headsign=row.headsign,
        )
        for number, (row, at_s) in enumerate(zip(rows, times, strict=True))
    )
    return (times[0], calls) if any(call.here for call in calls) else None


def _times(rows: list[_Row]) -> list[int] | None:
    """The departure of each call; those that the feed leaves out lie evenly between their neighbours."""
    known = [(number, row.departs_s) for number, row in enumerate(rows) if row.departs_s is not None]
    if len(known) < 2 or known[0][0] != 0:
        return None
    times: list[int] = []
    for (here, at_s), (there, then_s) in pairwise(known):
        times += [at_s + (then_s - at_s) * step // (there - here) for step in range(there - here)]
    end, end_s = known[-1]
    return times + [end_s] * (len(rows) - end)


def seconds(clock: str) -> int | None:
    """Seconds of ``HH:MM:SS``, which may pass 24:00:00; None for what is no such time."""
    found = _CLOCK.fullmatch(clock.strip())
    return None if found is None else int(found[1]) * 3600 + int(found[2]) * 60 + int(found[3])


def _repeats(tables: Tables, trips: Iterable[str]) -> dict[str, list[tuple[int, int, int]]]:
    """Of journeys that run each so many seconds: from when, until when, and the interval."""
    wanted = set(trips)
    found: dict[str, list[tuple[int, int, int]]] = {}
    columns = ("trip_id", "start_time", "end_time", "headway_secs")
    for trip, start, end, headway in tables.rows("frequencies.txt", *columns):
        start_s, end_s = seconds(start), seconds(end)
        good = headway.isascii() and headway.isdigit() and 0 < len(headway) < 6
        every_s = int(headway) if good else 0
        if trip in wanted and start_s is not None and end_s is not None and every_s:
            found.setdefault(trip, []).append((start_s, end_s, every_s))
    return found


def _agency(tables: Tables) -> tuple[str, str]:
    """The zone of all times, which a feed's agencies share, and the first agency's name."""
    for zone, name in tables.rows("agency.txt", "agency_timezone", "agency_name"):
        return zone, name
    raise SourceError(
        "the timetable names no agency", where=Place(tables.file), mend="Give a whole GTFS feed."
    )


def _feed(tables: Tables) -> tuple[str, str, str]:
    columns = ("feed_publisher_name", "feed_start_date", "feed_end_date")
    for name, first, last in tables.rows("feed_info.txt", *columns):
        return name, first, last
    return "", "", ""


def _services(tables: Tables, wanted: set[str]) -> dict[str, Service]:
    """The days of some services; either of the two tables may be missing, and of one service too."""
    weekly: dict[str, tuple[tuple[int, ...], str, str]] = {}
    for service, first, last, *days in tables.rows(
        "calendar.txt", "service_id", "start_date", "end_date", *_DAYS
    ):
        if service in wanted:
            weekly[service] = (tuple(n for n, runs in enumerate(days) if runs == "1"), first, last)
    added: dict[str, list[str]] = {}
    removed: dict[str, list[str]] = {}
    for service, day, change in tables.rows("calendar_dates.txt", "service_id", "date", "exception_type"):
        if service in wanted and day_of(day) is not None:
            (added if change == "1" else removed).setdefault(service, []).append(day)
    made = {}
    for service in sorted(wanted):
        weekdays, first, last = weekly.get(service, ((), "", ""))
        made[service] = Service(
            weekdays=weekdays,
            first=first,
            last=last,
            added=tuple(added.get(service, ())),
            removed=tuple(removed.get(service, ())),
        )
    return made
