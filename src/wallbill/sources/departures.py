"""Departures out of a timetable (GTFS Schedule) and the news from the vehicles (GTFS Realtime).

A payload is a feed as a ZIP archive, or what `packed` makes of a feed's part and the news. Times count from noon minus
12 h of the service day in the agency's zone (GTFS Schedule Reference, field type Time), so that they hold on the days
when clocks change, and may pass 24:00:00.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from wallbill.errors import Place, SourceError
from wallbill.facts.agenda import local_day
from wallbill.facts.departures import LIVE_FOR, Departure, Departures
from wallbill.findings import Finding, Weight
from wallbill.sources.departures_drawing import Wanted, drawn_out, seconds
from wallbill.sources.departures_live import CallNews, News, TripNews, read_news
from wallbill.sources.departures_tables import zip_tables
from wallbill.sources.departures_timetable import (
    Call,
    Timetable,
    Trip,
    day_of,
    last_day,
    read_timetable,
    runs_on,
)
from wallbill.sources.spec import ParseContext, SourceSpec

AHEAD_DAYS = 2
DELAYS_FOR = timedelta(minutes=15)
"""News older than this say nothing any more about how late a vehicle is; that it is cancelled, they still do."""

_MARK = b"wallbill timetable 1\n"
_NO_TIMETABLE = "Give the address of a GTFS feed, a ZIP archive, and check that it needs no login."
_MOST = 2000
_BACK = timedelta(hours=1)
_ENDS_SOON = timedelta(days=7)
_HALF_DAY = timedelta(hours=12)


def packed(timetable: bytes, news: bytes = b"", *, mark: str = "") -> bytes:
    """A timetable's part and the news as one payload. ``mark``: one word that tells this edition from others."""
    return _MARK + f"{len(timetable)} {mark}\n".encode() + timetable + news


def drawn(body: bytes, spec: SourceSpec) -> bytes:
    """What is to be kept of a fetched feed: the payload of the wall's stops alone; raises `SourceError`."""
    name = str(spec.options.get("file") or spec.name)
    if not body.startswith(b"PK"):
        raise _no_timetable(body, name)
    return packed(drawn_out(zip_tables(BytesIO(body), name), wanted_of(spec)))


def with_news(payload: bytes, news: bytes) -> bytes:
    """A payload with other news; raises `SourceError` for a payload that is none."""
    timetable, _, mark = _unpacked(payload, "timetable")
    return packed(timetable, news, mark=mark)


def mark_of(payload: bytes) -> str:
    """The word that tells a payload's edition, "" for none."""
    try:
        return _unpacked(payload, "timetable")[2]
    except SourceError:
        return ""


def wanted_of(spec: SourceSpec) -> Wanted:
    """The stops and routes that a source names."""
    stops = _texts(spec.options.get("stop"))
    if not stops:
        raise SourceError(
            "it names no stop", where=spec.where, mend='Add stop = "…": a stop_id of the timetable.'
        )
    return Wanted(stops, _texts(spec.options.get("routes")), spec.where)


def _texts(value: object) -> tuple[str, ...]:
    values = value if isinstance(value, list | tuple) else [] if value is None else [value]
    return tuple(text for one in values if (text := str(one).strip()))


def parse(data: bytes, context: ParseContext) -> Departures:
    """A payload as departures from an hour ago until the day ``ahead`` of today (2 unless said).

    Raises `SourceError` for what is no timetable, a zone that is unknown, or news that cannot be read. Old news and a
    timetable that ends are told by findings.
    """
    file = str(context.spec.options.get("file") or context.spec.name)
    payload = drawn(data, context.spec) if data.startswith(b"PK") else data
    body, told, _ = _unpacked(payload, file)
    timetable = read_timetable(body, file)
    zone = _zone(timetable, file)
    news = _news(told, timetable, context) if told else News(None, {}, ())
    laying = _Laying(timetable, zone, news, context)
    found = sorted(laying.all(), key=lambda d: (d.expected, d.scheduled, d.route, d.headsign))
    towards = {name.casefold() for name in _texts(context.spec.options.get("towards"))}
    kept = [d for d in found if not towards or d.headsign.casefold() in towards]
    findings = (*_timetable_findings(timetable, context, file), *_news_findings(news, told, context))
    origin = context.origin("timetable", credit=timetable.agency, issued_at=news.made_at, findings=findings)
    names = dict.fromkeys(stop.name for stop in timetable.stops.values() if stop.name)
    name = str(context.spec.options.get("name") or ", ".join(names) or context.spec.name)
    return Departures(origin, name, tuple(kept[:_MOST]), news.made_at, last_day(timetable))


def _news(told: bytes, timetable: Timetable, context: ParseContext) -> News:
    """The news; those that do not say when they were made count as made when they came."""
    trips = (trip.id for trip in timetable.trips)
    news = read_news(told, context.spec.name, trips=trips, stops=timetable.stops)
    return news if news.made_at else replace(news, made_at=context.fetched_at)


def _unpacked(payload: bytes, file: str) -> tuple[bytes, bytes, str]:
    """The timetable's part, the news and the mark of a payload."""
    head, _, rest = payload.removeprefix(_MARK).partition(b"\n")
    length, _, mark = head.partition(b" ")
    if not payload.startswith(_MARK) or not length.isdigit() or len(length) > 12 or int(length) > len(rest):
        raise _no_timetable(payload, file)
    return rest[: int(length)], rest[int(length) :], mark.decode("ascii", "replace")


def _no_timetable(payload: bytes, file: str) -> SourceError:
    page = payload.lstrip()[:1] == b"<"
    return SourceError(
        "a web page came in place of a timetable" if page else "this is no timetable",
        where=Place(file),
        mend=_NO_TIMETABLE,
    )


def _zone(timetable: Timetable, file: str) -> ZoneInfo:
    try:
        return ZoneInfo(timetable.zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise SourceError(
            f"the time zone {timetable.zone[:40]!r} is not known",
            where=Place(f"{file}/agency.txt", field="agency_timezone"),
            mend="Tell who publishes the feed: it must be one of the IANA database.",
        ) from None


def origin_of(day: date, zone: ZoneInfo) -> datetime:
    """Noon minus 12 h of a service day, the instant (UTC) from which its times count."""
    return datetime(day.year, day.month, day.day, 12, tzinfo=zone).astimezone(UTC) - _HALF_DAY


@dataclass(frozen=True, slots=True)
class _Run:
    """A journey on a day. ``begins``: the instant of its first departure."""

    trip: Trip
    day: date
    begins: datetime
    news: TripNews | None


class _Laying:
    """Lays a timetable out over some days."""

    def __init__(self, timetable: Timetable, zone: ZoneInfo, news: News, context: ParseContext) -> None:
        self._timetable = timetable
        self._zone = zone
        self._news = news
        self._since = context.now - _BACK
        today = local_day(context.now, zone)
        self._days = [today + timedelta(days=n) for n in range(-1, _ahead(context) + 1)]
        self._delays = news.made_at is None or context.now - news.made_at <= DELAYS_FOR

    def all(self) -> Iterator[Departure]:
        """Every departure of the days, and of the journeys that are in no timetable."""
        running = {
            day: {name for name, service in self._timetable.services.items() if runs_on(service, day)}
            for day in self._days
        }
        for trip in self._timetable.trips:
            if trip.pattern < len(self._timetable.patterns):
                days = [day for day in self._days if trip.service in running[day]]
                for run in self._runs(trip, days):
                    yield from self._of(run)
        for news in self._news.added:
            yield from self._added(news)

    def _runs(self, trip: Trip, days: Sequence[date]) -> Iterator[_Run]:
        """A journey on each of its days; one that repeats, as often as it does."""
        told = self._news.trips.get(trip.id, ())
        for day in days:
            base = origin_of(day, self._zone)
            for starts_s in _starts(trip):
                begins = base + timedelta(seconds=starts_s)
                yield _Run(trip, day, begins, self._told(told, trip, day=day, starts_s=starts_s))

    def _told(self, told: Sequence[TripNews], trip: Trip, *, day: date, starts_s: int) -> TripNews | None:
        """The news of a journey of this very day; of one that repeats, of this very start."""
        for news in told:
            right_day = day_of(news.day) == day if news.day else self._is_now(day, starts_s)
            right_start = not trip.repeats or seconds(news.starts) == starts_s
            if right_day and right_start:
                return news
        return None

    def _is_now(self, day: date, starts_s: int) -> bool:
        """Whether news with no day mean a journey that begins then: it is the one nearest to them."""
        made_at = self._news.made_at or self._since + _BACK
        begins = origin_of(day, self._zone) + timedelta(seconds=starts_s)
        return abs(begins - made_at) <= _HALF_DAY

    def _of(self, run: _Run) -> Iterator[Departure]:
        """The departures of a journey from our stops."""
        calls = self._timetable.patterns[run.trip.pattern]
        at = [run.begins + timedelta(seconds=call.after_s) for call in calls]
        delays = _delays(calls, at, run.news)
        for call, scheduled, (delay, news) in zip(calls, at, delays, strict=True):
            if call.here and scheduled >= self._since - timedelta(hours=3):
                late = delay if self._delays else None
                made = self._departure(run, call, scheduled, late=late, news=news)
                if made.expected >= self._since:
                    yield made

    def _departure(
        self, run: _Run, call: Call, scheduled: datetime, *, late: timedelta | None, news: CallNews | None
    ) -> Departure:
        stops = self._timetable.stops
        moved = stops.get(news.moved_to) if news is not None and news.moved_to else None
        stop = moved or stops.get(call.stop)
        return Departure(
            scheduled=scheduled,
            expected=scheduled + (late or timedelta(0)),
            route=self._timetable.routes.get(run.trip.route, run.trip.route),
            headsign=call.headsign or run.trip.headsign,
            stop=stop.name if stop else "",
            platform=stop.platform if stop else "",
            cancelled=(run.news is not None and run.news.cancelled) or (news is not None and news.skipped),
            live=late is not None,
            trip=run.trip.id,
        )

    def _added(self, news: TripNews) -> Iterator[Departure]:
        """The departures of a journey that the timetable does not have; its last call is none to board at."""
        for call in news.calls[:-1]:
            stop = self._timetable.stops.get(call.stop)
            if stop is None or call.time_s is None or not self._delays:
                continue
            expected = datetime.fromtimestamp(call.time_s, UTC)
            if expected >= self._since:
                yield Departure(
                    scheduled=expected - timedelta(seconds=call.delay_s or 0),
                    expected=expected,
                    route=self._timetable.routes.get(news.route, news.route),
                    headsign="",
                    stop=stop.name,
                    platform=stop.platform,
                    cancelled=call.skipped,
                    live=True,
                    trip=news.trip,
                )


def _ahead(context: ParseContext) -> int:
    value = context.spec.options.get("ahead", AHEAD_DAYS)
    text = str(value).removesuffix("days").removesuffix("day").strip()
    days = int(text) if text.isascii() and text.isdigit() and len(text) < 3 else 0
    if not 1 <= days <= 14 or isinstance(value, bool):
        raise SourceError(
            f"ahead is {value!r}", where=context.spec.where, mend='Give days from 1 to 14, such as "2 days".'
        )
    return days


def _starts(trip: Trip) -> Iterator[int]:
    """When a journey begins, in seconds; one that repeats begins from each start up to but without its end."""
    if not trip.repeats:
        yield trip.starts_s
    for start_s, end_s, every_s in trip.repeats:
        yield from range(start_s, min(end_s, start_s + every_s * 2000), every_s)


def _delays(
    calls: Sequence[Call], at: Sequence[datetime], news: TripNews | None
) -> Iterator[tuple[timedelta | None, CallNews | None]]:
    """How late each call is, None where nothing is known of it, and the news of that very call."""
    if news is None:
        yield from ((None, None) for _ in calls)
        return
    by_sequence: Mapping[int, CallNews] = {c.sequence: c for c in news.calls if c.sequence is not None}
    by_stop: Mapping[str, CallNews] = {c.stop: c for c in news.calls if c.sequence is None}
    late = None if news.delay_s is None or news.calls else timedelta(seconds=news.delay_s)
    for call, scheduled in zip(calls, at, strict=True):
        told = by_sequence.get(call.sequence) or by_stop.get(call.stop)
        if told is not None and told.silent:
            late = None
        elif told is not None and not told.skipped:
            late = _late(told, scheduled, late)
        yield late, told


def _late(told: CallNews, scheduled: datetime, before: timedelta | None) -> timedelta | None:
    """How late a call is by its news: a time wins over a delay; news of neither change nothing."""
    if told.time_s is not None:
        late = datetime.fromtimestamp(told.time_s, UTC) - scheduled
        return late if abs(late) <= timedelta(days=2) else before
    return before if told.delay_s is None else timedelta(seconds=told.delay_s)


def _timetable_findings(timetable: Timetable, context: ParseContext, file: str) -> Iterator[Finding]:
    """Whether the timetable has ended or soon will."""
    last, today = last_day(timetable), local_day(context.now, context.zone)
    if last is None or last - today > _ENDS_SOON:
        return
    over = last < today
    yield Finding(
        rule="sources.timetable-ends",
        where=Place(file, field="feed_end_date"),
        what=f"the timetable {'ended' if over else 'ends'} on {last.isoformat()}",
        mend="Give the address or the file of its next edition.",
        weight=Weight.WARN if over else Weight.NOTE,
    )


def _news_findings(news: News, told: bytes, context: ParseContext) -> Iterator[Finding]:
    """Whether there are news from the vehicles where the wall asks for them, and of when."""
    if "realtime" not in context.spec.options:
        return
    where = Place(context.spec.name, field="realtime")
    mend = "Nothing, if it happens once; else look at the service that gives the news."
    if not told:
        yield Finding("sources.news-old", where, "there are no news from the vehicles", mend=mend)
    elif news.made_at is not None and context.now - news.made_at > LIVE_FOR:
        age = context.now - news.made_at
        yield Finding(
            rule="sources.news-old",
            where=where,
            what="the news from the vehicles are old"
            + ("" if age <= DELAYS_FOR else "; delays are not shown"),
            measured=f"{age.total_seconds():.0f}",
            limit=f"{LIVE_FOR.total_seconds():.0f}",
            unit="s",
            mend=mend,
        )
