"""Departures: the small feed of the harbour, made-up days of clock changes, and news from the vehicles."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from google.transit import gtfs_realtime_pb2 as wire
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.sources.world_bench import context, tables, zipped

from wallbill.errors import SourceError
from wallbill.facts.departures import Departure, Departures
from wallbill.sources.departures import drawn, origin_of, parse, with_news
from wallbill.sources.departures_drawing import seconds

SATURDAY = datetime(2026, 3, 14, 6, 0, 20, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
MINUTE = timedelta(minutes=1)


def read(
    told: Mapping[str, str] | None = None, *, now: datetime = SATURDAY, news: bytes = b"", **options: object
) -> Departures:
    """The harbour's departures through what is kept of them, as a gathering reads them."""
    it = context("departures", now=now, options={"stop": "QUAY", **options})
    kept = drawn(zipped(told if told is not None else tables()), it.spec)
    return parse(with_news(kept, news) if news else kept, it)


def clocks(found: Departures) -> list[str]:
    return [f"{d.scheduled.astimezone(LONDON):%d %H:%M}" for d in found.departures]


def message(*trips: Any, made_at: datetime = SATURDAY) -> bytes:
    """News as the wire has them."""
    feed = wire.FeedMessage()
    feed.header.gtfs_realtime_version = "2.0"
    feed.header.timestamp = int(made_at.timestamp())
    for number, fill in enumerate(trips):
        entity = feed.entity.add()
        entity.id = str(number)
        fill(entity.trip_update)
    return bytes(feed.SerializeToString())


def trip(
    name: str,
    *,
    day: str = "20260314",
    relation: int = 0,
    calls: tuple[dict[str, Any], ...] = (),
    starts: str = "",
) -> Any:
    def fill(update: Any) -> None:
        update.trip.trip_id = name
        if day:
            update.trip.start_date = day
        if starts:
            update.trip.start_time = starts
        update.trip.schedule_relationship = relation
        for call in calls:
            told = update.stop_time_update.add()
            for key in ("stop_sequence", "stop_id", "schedule_relationship"):
                if key in call:
                    setattr(told, key, call[key])
            for event in ("departure", "arrival"):
                for part, value in call.get(event, {}).items():
                    setattr(getattr(told, event), part, value)
            if "moved" in call:
                told.stop_time_properties.assigned_stop_id = call["moved"]

    return fill


def by_trip(found: Departures) -> dict[str, Departure]:
    return {d.trip: d for d in found.departures if d.scheduled.astimezone(LONDON).day == 14 or d.trip == "T4"}


def test_a_station_is_its_platforms_and_the_day_runs_past_midnight() -> None:
    found = read()
    # T4 leaves at 24:10 of the 14th, T6 at 25:05 of the 16th: RFC-like clocks past midnight (GTFS, field type Time).
    assert clocks(found) == ["14 06:50", "14 07:20", "14 07:50", "15 00:10", "16 06:30", "17 01:05"]
    assert found.name == "Quay"
    assert found.origin.credit == "Fennel Quay Ferries"
    first = found.departures[0]
    assert (first.route, first.headsign, first.stop, first.live, first.cancelled) == (
        "3",
        "Hall",
        "Quay",
        False,
        False,
    )


def test_only_what_is_to_come_is_next_and_late_ones_are_still_there() -> None:
    late = read(
        news=message(
            trip("T1", calls=({"stop_sequence": 1, "departure": {"delay": 900}},)),
            made_at=datetime(2026, 3, 14, 6, 59, 50, tzinfo=UTC),
        ),
        now=datetime(2026, 3, 14, 7, 0, tzinfo=UTC),
    )
    first = late.next(datetime(2026, 3, 14, 7, 0, tzinfo=UTC), 1)[0]
    assert (first.trip, first.late_min) == ("T1", 15)
    assert late.next(datetime(2026, 3, 14, 7, 6, tzinfo=UTC), 1)[0].trip == "T2"
    assert late.next(datetime(2026, 3, 14, 7, 6, tzinfo=UTC), 0) == ()


def test_the_last_stop_and_where_nobody_may_board_are_no_departures() -> None:
    assert read(stop="HALL").departures == ()
    assert clocks(read(stop="MILL"))[:2] == ["14 06:59", "14 07:29"]
    closed = tables()["stop_times.txt"].replace(
        "T2,07:29:00,07:29:00,MILL,2,0", "T2,07:29:00,07:29:00,MILL,2,1"
    )
    assert clocks(read(tables(stop_times=closed), stop="MILL"))[:2] == ["14 06:59", "14 07:59"]


def test_exceptions_of_the_calendar_hold() -> None:
    # Good Friday, 3 April 2026: weekday service removed, Saturday service added (calendar_dates.txt of the feed).
    found = read(now=datetime(2026, 4, 3, 5, 0, tzinfo=UTC), ahead="1 day")
    friday = [d.trip for d in found.departures if d.scheduled.astimezone(LONDON).day == 3]
    # T6 of Thursday's service day leaves at 01:05 on Friday; it is more than an hour gone at six.
    assert friday == ["T1", "T2", "T3"]


def test_a_feed_may_have_only_either_calendar() -> None:
    only_dates = tables(calendar="", calendar_dates="service_id,date,exception_type\nSA,20260315,1\n")
    assert clocks(read(only_dates)) == ["15 06:50", "15 07:20", "15 07:50", "16 00:10"]
    assert clocks(read(tables(calendar_dates=""))) == clocks(read())
    assert read(tables(calendar="", calendar_dates="")).departures == ()


@pytest.mark.parametrize(
    ("day", "clock", "instant"),
    [
        # GTFS Schedule Reference: Time is measured from "noon minus 12h" of the service day. London, 2026: clocks go
        # forward on 29 March at 01:00 and back on 25 October at 02:00 (IANA time zone database).
        ((2026, 3, 29), "08:00:00", datetime(2026, 3, 29, 7, 0, tzinfo=UTC)),
        ((2026, 3, 29), "00:30:00", datetime(2026, 3, 28, 23, 30, tzinfo=UTC)),
        ((2026, 3, 28), "25:30:00", datetime(2026, 3, 29, 1, 30, tzinfo=UTC)),
        ((2026, 10, 25), "08:00:00", datetime(2026, 10, 25, 8, 0, tzinfo=UTC)),
        ((2026, 10, 25), "00:30:00", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        ((2026, 10, 24), "25:30:00", datetime(2026, 10, 25, 0, 30, tzinfo=UTC)),
        ((2026, 7, 1), "12:00:00", datetime(2026, 7, 1, 11, 0, tzinfo=UTC)),
    ],
)
def test_times_count_from_noon_minus_twelve_hours(
    day: tuple[int, int, int], clock: str, instant: datetime
) -> None:
    passed = seconds(clock)
    assert passed is not None
    assert origin_of(datetime(*day, tzinfo=UTC).date(), LONDON) + timedelta(seconds=passed) == instant


def test_a_sunday_of_a_clock_change_is_laid_out_right() -> None:
    calendar = tables()["calendar.txt"].replace("SA,0,0,0,0,0,1,0", "SA,0,0,0,0,0,1,1")
    found = read(tables(calendar=calendar), now=datetime(2026, 3, 29, 4, 0, tzinfo=UTC), ahead=1)
    assert clocks(found)[:3] == ["29 06:50", "29 07:20", "29 07:50"]
    assert found.departures[0].scheduled == datetime(2026, 3, 29, 5, 50, tzinfo=UTC)


def test_times_are_in_the_agencys_zone_whatever_the_walls_is() -> None:
    agency = tables()["agency.txt"].replace("Europe/London", "Europe/Copenhagen")
    assert read(tables(agency=agency)).departures[0].scheduled == datetime(2026, 3, 14, 5, 50, tzinfo=UTC)
    with pytest.raises(SourceError, match="Mars/Base"):
        read(tables(agency=agency.replace("Europe/Copenhagen", "Mars/Base")))


def test_journeys_that_repeat_leave_each_so_often() -> None:
    told = {
        **tables(),
        "frequencies.txt": "trip_id,start_time,end_time,headway_secs,exact_times\nT1,07:00:00,08:00:00,1200,0\n",
    }
    assert clocks(read(told))[:5] == ["14 07:00", "14 07:20", "14 07:20", "14 07:40", "14 07:50"]
    # At the second stop, nine minutes later each time.
    assert clocks(read(told, stop="MILL"))[:2] == ["14 07:09", "14 07:29"]
    news = message(trip("T1", starts="07:20:00", calls=({"stop_sequence": 1, "departure": {"delay": 120}},)))
    late = [d.late_min for d in read(told, news=news).departures if d.trip == "T1"]
    assert late == [0, 2, 0]


def test_times_that_the_feed_leaves_out_lie_between_their_neighbours() -> None:
    open_times = tables()["stop_times.txt"].replace("T1,06:59:00,06:59:00,MILL", "T1,,,MILL")
    assert (
        clocks(read(tables(stop_times=open_times), stop="MILL"))[0] == "14 06:58"
    )  # between 06:50 and 07:06


def test_routes_and_headsigns_can_be_chosen() -> None:
    assert len(read(routes=["3"]).departures) == 6
    assert len(read(routes="R3", towards="hall").departures) == 6
    assert read(towards=["Mill"]).departures == ()
    with pytest.raises(SourceError, match="no route '33'") as caught:
        read(routes=["33"])
    assert "'3'" in caught.value.mend or "3" in caught.value.mend


def test_a_headsign_of_the_stop_wins() -> None:
    rows = tables()["stop_times.txt"].splitlines()
    told = [
        rows[0] + ",stop_headsign",
        *(row + (",Hall by the mill" if "QUAY1" in row else ",") for row in rows[1:]),
    ]
    assert {d.headsign for d in read(tables(stop_times="\n".join(told))).departures} == {"Hall by the mill"}


@pytest.mark.parametrize(
    ("options", "what", "mend"),
    [
        ({"stop": "Quay"}, "no stop 'Quay'", "QUAY (Quay)"),
        ({"stop": "NOWHERE"}, "no stop 'NOWHERE'", "stop_id"),
        ({"stop": []}, "names no stop", "stop ="),
        ({"ahead": "90 days"}, "ahead is '90 days'", "1 to 14"),
    ],
)
def test_wrong_settings_are_told_with_their_line(options: dict[str, Any], what: str, mend: str) -> None:
    with pytest.raises(SourceError) as caught:
        read(**options)
    assert what in str(caught.value)
    assert mend in caught.value.mend
    assert caught.value.where.line == 7


def test_a_byte_order_mark_quotes_and_a_folder_inside_the_archive_do_no_harm() -> None:
    told = tables()
    told["stops.txt"] = "\ufeff" + told["stops.txt"].replace(",Quay,", ',"Quay, the\nlong one",')
    told = {f"export/{name}": text.replace("\n", "\r\n") for name, text in told.items()}
    found = read(told)
    assert len(found.departures) == 6
    assert found.departures[0].stop == "Quay, the\r\nlong one"


@pytest.mark.parametrize("missing", ["stops", "trips", "stop_times", "routes", "agency"])
def test_a_feed_that_lacks_a_table_is_refused(missing: str) -> None:
    with pytest.raises(SourceError, match=f"no {missing}.txt"):
        read(tables(**{missing: ""}))


def test_a_timetable_that_ends_is_told() -> None:
    over = read(now=datetime(2027, 1, 3, 6, 0, tzinfo=UTC))
    assert over.departures == ()
    (finding,) = over.origin.findings
    assert (finding.rule, finding.weight.value) == ("sources.timetable-ends", "warn")
    assert "2026-12-31" in finding.what
    (soon,) = read(now=datetime(2026, 12, 28, 6, 0, tzinfo=UTC)).origin.findings
    assert soon.weight.value == "note"
    assert read().origin.findings == ()


# News from the vehicles: GTFS Realtime reference 2.0, TripUpdate.


def test_news_tell_delays_and_cancellations() -> None:
    news = message(
        trip("T2", calls=({"stop_sequence": 1, "stop_id": "QUAY1", "departure": {"delay": 240}},)),
        trip("T3", relation=wire.TripDescriptor.CANCELED),
    )
    found = by_trip(read(news=news, realtime="news.pb"))
    assert [(t, d.late_min, d.live, d.cancelled) for t, d in found.items()] == [
        ("T1", 0, False, False),
        ("T2", 4, True, False),
        ("T3", 0, False, True),
        ("T4", 0, False, False),
    ]
    whole = read(news=news, realtime="news.pb")
    assert whole.origin.findings == ()
    assert whole.live_at == SATURDAY.replace(second=20)
    assert whole.is_live(SATURDAY + timedelta(seconds=90))
    assert not whole.is_live(SATURDAY + timedelta(seconds=91))


def test_a_delay_holds_for_later_stops_until_the_next_news() -> None:
    def at_mill(*calls: dict[str, Any]) -> Departure:
        return by_trip(read(stop="MILL", news=message(trip("T2", calls=calls))))["T2"]

    first = {"stop_sequence": 1, "departure": {"delay": 300}}
    assert at_mill(first).late == 5 * MINUTE
    assert at_mill({"stop_id": "QUAY1", "arrival": {"delay": 60}}).late == MINUTE
    assert at_mill(first, {"stop_sequence": 2, "departure": {"delay": -60}}).late == -MINUTE
    silent = at_mill(first, {"stop_sequence": 2, "schedule_relationship": 2})
    assert (silent.late, silent.live) == (timedelta(0), False)
    skipped = at_mill(first, {"stop_sequence": 2, "schedule_relationship": 1})
    assert (skipped.cancelled, skipped.late) == (True, 5 * MINUTE)
    # A time wins over a delay: 07:29 is scheduled, 07:35 is told (07:35 GMT = 1773473700).
    both = {"stop_sequence": 2, "departure": {"time": 1773473700, "delay": 60}}
    assert at_mill(both).late == 6 * MINUTE


def test_news_of_another_day_are_not_of_this_one() -> None:
    late = {"stop_sequence": 1, "departure": {"delay": 600}}
    assert by_trip(read(news=message(trip("T2", day="20260307", calls=(late,)))))["T2"].live is False
    assert by_trip(read(news=message(trip("T2", day="", calls=(late,)))))["T2"].late_min == 10


def test_a_journey_that_no_timetable_has_is_added() -> None:
    calls = (
        {"stop_id": "QUAY1", "departure": {"time": int(datetime(2026, 3, 14, 7, 5, tzinfo=UTC).timestamp())}},
        {"stop_id": "HALL", "arrival": {"time": int(datetime(2026, 3, 14, 7, 20, tzinfo=UTC).timestamp())}},
    )

    def extra(update: Any) -> None:
        trip("X1", relation=wire.TripDescriptor.ADDED, calls=calls)(update)
        update.trip.route_id = "R3"

    found = read(news=message(extra))
    assert clocks(found)[:3] == ["14 06:50", "14 07:05", "14 07:20"]
    assert (found.departures[1].route, found.departures[1].live) == ("3", True)


def test_texts_of_the_wire_that_are_no_utf_8_do_no_harm() -> None:
    late = trip("T2", calls=({"stop_sequence": 1, "departure": {"delay": 240}},))
    spoilt = message(late).replace(b"20260314", b"2026\xff314")
    assert by_trip(read(news=spoilt))["T2"].live is False


def test_a_moved_departure_tells_its_other_platform() -> None:
    stops = tables()["stops.txt"].replace("parent_station", "parent_station,platform_code")
    stops = stops.replace(",0,QUAY", ",0,QUAY,1") + "QUAY2,Quay,50.3,-4.0,0,QUAY,2\n"
    moved = {"stop_sequence": 1, "departure": {"delay": 0}, "moved": "QUAY2"}
    found = by_trip(read(tables(stops=stops), news=message(trip("T2", calls=(moved,)))))
    assert (found["T1"].platform, found["T2"].platform) == ("1", "2")


def test_old_news_are_marked_and_very_old_delays_are_not_shown() -> None:
    def told(minutes: int) -> Departures:
        late = trip("T2", calls=({"stop_sequence": 1, "departure": {"delay": 240}},))
        gone = trip("T3", relation=wire.TripDescriptor.CANCELED)
        return read(news=message(late, gone, made_at=SATURDAY - minutes * MINUTE), realtime="x")

    old = told(5)
    (finding,) = old.origin.findings
    assert (finding.rule, finding.measured, finding.limit) == ("sources.news-old", "300", "90")
    assert by_trip(old)["T2"].late_min == 4
    very = by_trip(told(20))
    assert (very["T2"].late_min, very["T2"].live, very["T3"].cancelled) == (0, False, True)


def test_asked_for_and_missing_news_are_told() -> None:
    assert [f.rule for f in read(realtime="x").origin.findings] == ["sources.news-old"]


@pytest.mark.parametrize("news", [b"<html>", b"\xff\xff\xff", b'{"a": 1}', b"\x0a\x00", b"\x08" * 50])
def test_news_that_are_none_are_refused(news: bytes) -> None:
    with pytest.raises(SourceError, match="news"):
        read(news=news)


# What cannot be read.


@pytest.mark.parametrize(
    "data", [b"", b"PK", b"PK\x03\x04" + b"\0" * 50, b"<html>", b"wallbill timetable 1\n99 \nx"]
)
def test_what_is_no_timetable_is_refused(data: bytes) -> None:
    with pytest.raises(SourceError):
        parse(data, context("departures", options={"stop": "QUAY"}))


def test_a_cut_archive_and_a_line_without_end_are_refused() -> None:
    whole = zipped(tables())
    for end in range(1, len(whole), 97):
        with pytest.raises(SourceError):
            parse(whole[:end], context("departures", options={"stop": "QUAY"}))
    with pytest.raises(SourceError, match="too long"):
        read(tables(stop_times="trip_id,stop_id\n" + "x" * 200_000))
    with pytest.raises(SourceError, match="too long"):
        read(tables(stops="stop_id,stop_name\n" + '"' + "x" * 200_000))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 97_200), min_size=1, max_size=20), st.integers(-1, 3))
def test_departures_are_in_order_and_within_the_days(starts: list[int], days_on: int) -> None:
    def clock(second: int) -> str:
        return f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"

    rows = "trip_id,arrival_time,departure_time,stop_id,stop_sequence\n" + "".join(
        f"N{n},{clock(at)},{clock(at)},QUAY1,1\nN{n},{clock(at + 60)},{clock(at + 60)},HALL,2\n"
        for n, at in enumerate(starts)
    )
    trips = "route_id,service_id,trip_id\n" + "".join(f"R3,ALL,N{n}\n" for n in range(len(starts)))
    days = "service_id,date,exception_type\n" + "".join(f"ALL,202603{d:02d},1\n" for d in range(10, 20))
    now = SATURDAY + timedelta(days=days_on)
    found = read(
        tables(stop_times=rows, trips=trips, calendar="", calendar_dates=days, frequencies=""), now=now
    )
    times = [d.expected for d in found.departures]
    assert times == sorted(times)
    assert all(at >= now - timedelta(hours=1) for at in times)
    # Each journey runs on each day from yesterday to the day after tomorrow, as far as it is not gone by an hour.
    days_asked = [now.astimezone(LONDON).date() + timedelta(days=n) for n in range(-1, 3)]
    expected = sum(
        origin_of(day, LONDON) + timedelta(seconds=at) >= now - timedelta(hours=1)
        for day in days_asked
        if 10 <= day.day < 20
        for at in starts
    )
    assert len(times) == expected
