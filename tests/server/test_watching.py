"""What is told of a wall, and when: each kind begins, lasts and ends as it should, and is told once."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from wallbill.facts.origin import Freshness
from wallbill.panels.model import Climate
from wallbill.server.batteries import Forecast
from wallbill.server.watching import (
    NO_NEWS,
    Kind,
    Seen,
    SeenDisplay,
    SeenFault,
    SeenSource,
    Showing,
    follow_contact,
    follow_report,
    judge,
    keep_vigil,
    lasting,
    over,
    sent,
    unsent,
)
from wallbill.server.watching_rules import cleaned
from wallbill.store.model import Contact, Notice, Outcome, Pressing, Report
from wallbill.wall.model import WatchSettings

NOON = datetime(2027, 3, 10, 12, tzinfo=UTC)
LONG_AGO = NOON - timedelta(days=100)
ZONE = ZoneInfo("Europe/London")
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
HALF = timedelta(minutes=30)


def called(at: datetime, sleep: timedelta = HALF, **more: Any) -> Contact:
    return Contact("hall", at, **{"status": 304, "tag": "b", "shown": "b", **more}, due_at=at + sleep)


def hall(**more: Any) -> SeenDisplay:
    return SeenDisplay("hall", **{"installed_at": LONG_AGO, "every": HALF, **more})


def seen(*displays: SeenDisplay, **more: Any) -> Seen:
    return Seen(**{"up_since": LONG_AGO, "zone": ZONE, "displays": displays, **more})


class Book:
    """The notices as a store would keep them, judged look by look."""

    def __init__(self) -> None:
        self.notices: dict[tuple[str, str, datetime], Notice] = {}
        self.written = 0

    def look(self, what: Seen, now: datetime) -> tuple[Notice, ...]:
        written = judge(what, tuple(self.notices.values()), now)
        self.written += len(written)
        for notice in written:
            self.notices[notice.kind, notice.subject, notice.since] = notice
        return written

    def send(self, now: datetime) -> list[tuple[str, bool]]:
        told = unsent(tuple(self.notices.values()), now)
        for notice in told:
            self.notices[notice.kind, notice.subject, notice.since] = sent(notice, now)
        return [(notice.kind, notice.ended_at is not None) for notice in told]

    def open(self) -> list[tuple[str, str]]:
        return [(n.kind, n.subject) for n in self.notices.values() if n.ended_at is None]


def watch(
    book: Book, see: Callable[[datetime], Seen], start: datetime, end: datetime, step: timedelta = MINUTE
) -> list[tuple[datetime, str, bool]]:
    """Looks at each step and sends; gives what went out, when, and whether it was the end."""
    out = []
    now = start
    while now <= end:
        book.look(see(now), now)
        out += [(now, kind, ended) for kind, ended in book.send(now)]
        now += step
    return out


# --- wakes -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("after", "told"), [(38, 0), (97, 0), (99, 1)])
def test_a_display_is_told_after_two_missed_wakes_and_a_grace(after: int, told: int) -> None:
    """Due 30 minutes after its call; two wakes of 30 minutes; a grace of 5 minutes and a tenth of 30."""
    found = judge(seen(hall(contact=called(NOON))), (), NOON + timedelta(minutes=after))
    assert [(n.kind, n.subject) for n in found] == [("missed-wakes", "hall")] * told


def test_the_notice_says_when_it_last_called_in_the_walls_own_time() -> None:
    summer = datetime(2027, 7, 1, 12, tzinfo=UTC)
    (notice,) = judge(seen(hall(contact=called(summer))), (), summer + 4 * HOUR)
    assert notice.what == "hall has not called: last at 2027-07-01 13:00 BST, due at 2027-07-01 13:30 BST"
    assert notice.since == summer + HALF
    assert notice.mend
    assert notice.sent_at is None


def test_quiet_hours_are_in_what_it_was_told() -> None:
    night = called(NOON, sleep=7 * HOUR)
    assert not judge(seen(hall(contact=night)), (), NOON + 7 * HOUR + 100 * MINUTE)
    # A clock without a crystal may be a tenth out over seven hours: 42 minutes.
    assert judge(seen(hall(contact=night)), (), NOON + 7 * HOUR + 108 * MINUTE)


def test_how_many_wakes_may_be_missed_is_the_walls_to_say() -> None:
    display = hall(contact=called(NOON))
    at = NOON + 3 * HOUR
    assert judge(seen(display, settings=WatchSettings(missed_wakes=2)), (), at)
    assert not judge(seen(display, settings=WatchSettings(missed_wakes=6)), (), at)


def test_a_display_that_never_called_is_told_after_a_day() -> None:
    new = hall(installed_at=NOON)
    assert not judge(seen(new), (), NOON + DAY)
    (notice,) = judge(seen(new), (), NOON + DAY + MINUTE)
    assert "has never called" in notice.what


def test_it_ends_when_the_display_has_called_twice_on_time_and_is_told_once_more() -> None:
    book = Book()
    calls = [NOON, NOON + 5 * HOUR, NOON + 5.5 * HOUR, NOON + 6 * HOUR, NOON + 6.5 * HOUR]

    def see(now: datetime) -> Seen:
        return seen(hall(contact=called(max(at for at in calls if at <= now))))

    told = watch(book, see, NOON, NOON + 7 * HOUR)
    assert [(kind, ended) for _, kind, ended in told] == [("missed-wakes", False), ("missed-wakes", True)]
    begun, ended = told[0][0], told[1][0]
    assert begun == NOON + 99 * MINUTE
    assert NOON + 5.5 * HOUR < ended <= NOON + 6 * HOUR
    (notice,) = book.notices.values()
    assert over(notice) == "hall calls again"
    assert book.written <= 3, "a notice is written when it begins, looks better, and ends; not at every look"


def test_a_display_that_comes_and_goes_makes_one_notice() -> None:
    book = Book()

    def see(now: datetime) -> Seen:
        return seen(hall(contact=called(NOON + (now - NOON) // (3 * HOUR) * 3 * HOUR)))

    told = watch(book, see, NOON, NOON + 3 * DAY, step=5 * MINUTE)
    assert len(told) == 1


def test_one_that_recovers_for_an_hour_each_time_makes_few() -> None:
    """Hours of good calls between failures: each end within three days takes twice as long to be believed."""
    book = Book()

    def see(now: datetime) -> Seen:
        spell, within = divmod(now - NOON, 4 * HOUR)
        begun = NOON + spell * 4 * HOUR
        return seen(
            hall(contact=called(begun + min(within // HALF, 3) * HALF))
        )  # an hour and a half of good calls

    told = watch(book, see, NOON, NOON + 4 * DAY, step=5 * MINUTE)
    assert 1 <= len(told) <= 9  # 24 spells would make 48


def test_a_server_that_was_away_for_a_day_blames_no_one_who_is_still_waiting_to_try_again() -> None:
    vigil = keep_vigil(None, NOON, alive_at=NOON - DAY)
    last = called(NOON - DAY - 10 * MINUTE)

    def at(now: datetime) -> tuple[Notice, ...]:
        return judge(seen(hall(contact=last), up_since=vigil.up_since, down_since=vigil.down_since), (), now)

    assert not at(NOON)
    # A device that found nobody for a day may sleep six hours before it tries again.
    assert not at(NOON + 6 * HOUR)
    assert at(NOON + 8 * HOUR)


def test_a_short_restart_does_not_forgive_a_display_that_is_off() -> None:
    """Lateness counts on over a break; only the break itself does not count."""
    dead = called(NOON - 90 * MINUTE)
    vigil = keep_vigil(None, NOON, alive_at=NOON - 2 * MINUTE)
    what = seen(hall(contact=dead), up_since=vigil.up_since, down_since=vigil.down_since)
    assert not judge(what, (), NOON + 9 * MINUTE)
    assert judge(what, (), NOON + 13 * MINUTE)


@pytest.mark.parametrize("jump", [365 * DAY, DAY, HOUR, -HOUR, -365 * DAY])
def test_a_clock_that_jumps_sends_no_storm(jump: timedelta) -> None:
    """Twenty displays that call as they should; the clock jumps in between two looks."""
    book = Book()
    vigil = None
    due = {
        f"d{number}": NOON + number * 30 * timedelta(seconds=1) for number in range(20)
    }  # by the true clock
    contacts: dict[str, Contact] = {}
    true = NOON
    sent_out: list[tuple[str, bool]] = []
    while true < NOON + 20 * HOUR:
        now = true + (jump if true >= NOON + 5 * HOUR else timedelta(0))
        for name, at in due.items():
            if at <= true:
                contacts[name] = replace(called(now), display=name)
                due[name] = true + HALF
        vigil = keep_vigil(vigil, now, alive_at=NOON - MINUTE)
        displays = tuple(
            replace(hall(contact=contacts.get(name)), name=name, installed_at=NOON - MINUTE) for name in due
        )
        book.look(seen(*displays, up_since=vigil.up_since, down_since=vigil.down_since), now)
        sent_out += book.send(now)
        true += MINUTE
    assert sent_out == []


@pytest.mark.parametrize("jump", [365 * DAY, HOUR, -HOUR, -365 * DAY])
def test_a_display_that_dies_is_told_although_the_clock_jumped(jump: timedelta) -> None:
    vigil = keep_vigil(None, NOON - MINUTE)
    last = called(NOON)
    now = NOON
    for look in range(12 * 60):
        now = NOON + look * MINUTE + (jump if look >= 10 else timedelta(0))
        vigil = keep_vigil(vigil, now)
        what = seen(hall(contact=last), up_since=vigil.up_since, down_since=vigil.down_since)
        if judge(what, (), now):
            break
    else:
        pytest.fail("never told")
    assert (now - jump) - NOON < 10 * HOUR


def test_a_call_noted_by_a_clock_a_year_ahead_does_not_hide_a_dead_display_for_a_year() -> None:
    ahead = called(NOON + 365 * DAY)
    what = seen(hall(contact=ahead), up_since=NOON)
    assert not judge(what, (), NOON + HOUR)
    assert judge(what, (), NOON + 3 * HOUR)


def test_the_vigil_makes_one_break_of_two_with_a_short_wake_between() -> None:
    first = keep_vigil(None, NOON)
    for minute in range(1, 500):
        first = keep_vigil(first, NOON + minute * MINUTE)
    away = keep_vigil(first, NOON + 20 * HOUR)
    assert (away.down_since, away.up_since) == (NOON + 499 * MINUTE, NOON + 20 * HOUR)
    again = keep_vigil(away, NOON + 30 * HOUR)
    assert (again.down_since, again.up_since) == (NOON + 499 * MINUTE, NOON + 30 * HOUR)
    assert keep_vigil(again, NOON + 30 * HOUR + 5 * MINUTE).up_since == again.up_since


def test_a_display_taken_off_ends_its_notices_without_a_word() -> None:
    book = Book()
    book.look(seen(hall(contact=called(NOON))), NOON + 4 * HOUR)
    assert book.send(NOON + 4 * HOUR) == [("missed-wakes", False)]
    book.look(seen(), NOON + 5 * HOUR)
    assert book.open() == []
    assert book.send(NOON + 5 * HOUR) == []


# --- what a display shows --------------------------------------------------------------------------------------------


def test_a_display_that_takes_nothing_up_three_times_shows_old() -> None:
    showing = Showing()
    calls = [("", "a"), ("a", "b"), ("a", "b"), ("a", "c"), ("a", "c")]
    missed = []
    contact = called(NOON)
    for number, (shown, tag) in enumerate(calls):
        contact = called(NOON + number * HALF, status=200, tag=tag, shown=shown)
        showing = follow_contact(showing, contact)
        missed.append(showing.missed)
    assert missed == [0, 0, 1, 2, 3]
    (notice,) = judge(seen(hall(contact=contact, showing=showing)), (), contact.at)
    assert (notice.kind, notice.since) == ("shows-old", NOON + 2 * HALF)
    good = follow_contact(showing, called(NOON + 3 * HOUR, tag="c", shown="c"))
    assert good.missed == 0


def test_a_new_edition_at_every_call_is_no_fault() -> None:
    showing = Showing()
    for number in range(20):
        shown, tag = (f"t{number - 1}" if number else ""), f"t{number}"
        showing = follow_contact(showing, called(NOON + number * HALF, tag=tag, shown=shown))
        showing = follow_report(showing, Report("hall", NOON + number * HALF, shown=tag))
    assert showing.missed == 0


def test_a_device_that_cannot_say_what_it_shows_is_judged_by_its_reports() -> None:
    """It sends no If-None-Match; its reports speak of the picture before, or of the new one."""
    slow, stuck = Showing(), Showing()
    for number in range(8):
        contact = called(NOON + number * HALF, status=200, tag=f"t{number}", shown="")
        slow, stuck = follow_contact(slow, contact), follow_contact(stuck, contact)
        slow = follow_report(slow, Report("hall", contact.at, shown=f"t{max(number - 1, 0)}"))
        stuck = follow_report(stuck, Report("hall", contact.at, shown="t0"))
    assert slow.missed == 0
    assert stuck.missed == 6


def test_a_call_that_got_nothing_changes_nothing() -> None:
    before = follow_contact(Showing(), called(NOON, tag="a", shown=""))
    assert follow_contact(before, called(NOON, status=503, tag="", shown="")) == before


def test_after_a_restart_an_old_notice_stays_until_the_display_is_seen_to_be_right() -> None:
    told = Notice("shows-old", "hall", "…", "…", NOON - DAY, sent_at=NOON - DAY)
    contact = called(NOON)
    unknown = judge(seen(hall(contact=contact)), (told,), NOON)
    assert [n for n in unknown if n.kind == "shows-old"] == []
    right = follow_contact(follow_contact(Showing(), contact), called(NOON + HALF))
    (better,) = judge(seen(hall(contact=contact, showing=right)), (told,), NOON)
    assert better.better_since == NOON


# --- what a display says ---------------------------------------------------------------------------------------------


def test_an_error_is_told_from_when_it_began_in_the_displays_words() -> None:
    reports = [
        Report("hall", NOON, error="panel busy\nfor\x1b[2J 90 s"),
        Report("hall", NOON - HALF, error="panel busy"),
        Report("hall", NOON - HOUR),
    ]
    (notice,) = judge(seen(hall(contact=called(NOON), reports=tuple(reports))), (), NOON)
    assert (notice.kind, notice.since) == ("display-error", NOON - HALF)
    assert notice.what == "hall reports an error: panel busy for [2J 90 s"


def test_a_key_that_a_display_quotes_is_not_kept() -> None:
    report = Report(
        "hall", NOON, error="GET http://wall/displays/hall/k3yk3yk3yk3yk3yk3y/impression.png: 500"
    )
    (notice,) = judge(seen(hall(contact=called(NOON), reports=(report,))), (), NOON)
    assert "k3y" not in notice.what
    assert "impression.png" in notice.what


def test_long_words_are_cut() -> None:
    assert len(cleaned("é" * 5000)) == 300


CLIMATE = Climate(0, 50)


@pytest.mark.parametrize(
    ("temperature_c", "kind"), [(-0.5, "too-cold"), (0.0, None), (50.0, None), (51.0, "too-warm")]
)
def test_a_panel_outside_its_climate_is_told(temperature_c: float, kind: str | None) -> None:
    report = Report("porch", NOON, temperature_c=temperature_c)
    found = judge(seen(hall(contact=called(NOON), reports=(report,), climate=CLIMATE)), (), NOON)
    assert [n.kind for n in found] == ([kind] if kind else [])


def test_a_temperature_at_the_limit_neither_begins_nor_ends_a_notice() -> None:
    told = Notice("too-cold", "hall", "…", "…", NOON - HOUR)
    for temperature_c, better in ((0.5, None), (1.5, NOON)):
        report = Report("hall", NOON, temperature_c=temperature_c)
        found = judge(seen(hall(contact=called(NOON), reports=(report,), climate=CLIMATE)), (told,), NOON)
        assert [n.better_since for n in found] == ([better] if better else [])


def test_without_a_climate_no_temperature_is_wrong() -> None:
    report = Report("hall", NOON, temperature_c=-40.0)
    assert not judge(seen(hall(contact=called(NOON), reports=(report,))), (), NOON)


# --- batteries -------------------------------------------------------------------------------------------------------


def battery(days: float | None, *, assumed: bool = True) -> Forecast:
    return Forecast(3500, 3300, assumed, 20, 10.0, days, days, None)


@pytest.mark.parametrize(("days", "told"), [(8.0, 0), (7.0, 1), (0.0, 1), (None, 0)])
def test_a_battery_is_told_a_week_ahead(days: float | None, told: int) -> None:
    found = judge(seen(hall(contact=called(NOON), battery=battery(days))), (), NOON)
    assert [n.kind for n in found] == ["battery-low"] * told


def test_the_battery_notice_says_what_is_assumed() -> None:
    (guess,) = judge(seen(hall(contact=called(NOON), battery=battery(3.2))), (), NOON)
    assert guess.what.startswith(
        "the battery of hall will be empty in about 3 days (at 3.30 V, which is assumed"
    )
    (known,) = judge(seen(hall(contact=called(NOON), battery=battery(0.2, assumed=False))), (), NOON)
    assert known.what == "the battery of hall will be empty in about a day (at 3.30 V)"
    (empty,) = judge(seen(hall(contact=called(NOON), battery=battery(0.0, assumed=False))), (), NOON)
    assert "is empty" in empty.what


def test_a_battery_that_is_nearly_empty_is_told_whatever_the_forecast() -> None:
    nearly = replace(battery(40, assumed=False), nearly=True)
    (notice,) = judge(seen(hall(contact=called(NOON), battery=nearly)), (), NOON)
    assert notice.what == "the battery of hall is nearly empty (at 3.30 V)"


def test_a_forecast_that_sways_about_the_limit_makes_one_notice() -> None:
    book = Book()

    def see(now: datetime) -> Seen:
        days = 6.5 if int((now - NOON) / HOUR) % 2 else 8.0
        return seen(hall(contact=called(now), battery=battery(days)))

    assert len(watch(book, see, NOON, NOON + 5 * DAY, step=10 * MINUTE)) == 1


# --- pressing, sources, parts ----------------------------------------------------------------------------------------


def pressing(at: datetime, outcome: Outcome, told: str = "") -> Pressing:
    return Pressing("hall", at, outcome, "weather", 100, told)


def test_a_sheet_that_fails_twice_is_told_from_its_first_failure() -> None:
    told = "sheets/weather.html:3: 'fact' is not defined\n  mend: Write facts."
    failed = (pressing(NOON, Outcome.FAILED, told), pressing(NOON - HALF, Outcome.FAILED, "other"))
    (notice,) = judge(
        seen(hall(contact=called(NOON), pressings=(*failed, pressing(NOON - HOUR, Outcome.NEW)))), (), NOON
    )
    assert (notice.kind, notice.since) == ("press-failed", NOON - HALF)
    assert (
        notice.what
        == "the sheet weather of hall cannot be pressed: sheets/weather.html:3: 'fact' is not defined"
    )
    assert notice.mend == "Write facts."


def test_one_failure_is_told_when_no_better_pressing_follows_in_time() -> None:
    failed = (pressing(NOON, Outcome.FAILED),)
    assert not judge(seen(hall(contact=called(NOON), pressings=failed)), (), NOON + MINUTE)
    late = NOON + 40 * MINUTE
    assert judge(seen(hall(contact=called(late), pressings=failed)), (), late)


@pytest.mark.parametrize("outcome", [Outcome.NEW, Outcome.SAME, Outcome.MINOR])
def test_any_other_outcome_mends_it(outcome: Outcome) -> None:
    told = Notice("press-failed", "hall", "…", "…", NOON - DAY)
    (better,) = judge(seen(hall(contact=called(NOON), pressings=(pressing(NOON, outcome),))), (told,), NOON)
    assert better.better_since == NOON


def source(freshness: Freshness | None, since: datetime, trouble: str = "", mend: str = "") -> SeenSource:
    return SeenSource("forecast", freshness, since, trouble, mend)


def test_a_stale_source_is_told_with_its_trouble_and_mend() -> None:
    stale = source(Freshness.STALE, NOON, "no full answer within 20 s", "Look at the network.")
    assert not judge(seen(sources=(stale,)), (), NOON + 9 * MINUTE)
    (notice,) = judge(seen(sources=(stale,)), (), NOON + 10 * MINUTE)
    assert notice.what == "the source forecast gives nothing new: no full answer within 20 s"
    assert (notice.mend, notice.since) == ("Look at the network.", NOON)


def test_a_source_that_no_gathering_has_asked_yet_is_not_judged() -> None:
    told = Notice("stale-source", "forecast", "…", "…", NOON - DAY)
    assert not judge(seen(sources=(source(None, NOON - DAY),)), (), NOON)
    assert not judge(seen(sources=(source(None, NOON - DAY),)), (told,), NOON)


def test_another_trouble_of_the_same_source_changes_the_words_and_sends_nothing() -> None:
    book = Book()
    for minute, trouble in ((10, "it answers 500"), (11, "it answers 500"), (12, "it answers 502")):
        book.look(seen(sources=(source(Freshness.MISSING, NOON, trouble),)), NOON + minute * MINUTE)
        book.send(NOON + minute * MINUTE)
    (notice,) = book.notices.values()
    assert "502" in notice.what
    assert book.written == 2
    assert notice.sent_at == NOON + 10 * MINUTE


def test_a_part_that_fails_for_two_minutes_is_told_and_ends_when_it_is_no_more_named() -> None:
    book = Book()
    kept: tuple[SeenFault, ...] = ()
    told = []
    for minute in range(60):
        now = NOON + minute * MINUTE
        found = [SeenFault("store", "it does not answer", "…", now)] if 5 <= minute < 20 else []
        kept = lasting(kept, found)
        book.look(seen(faults=kept), now)
        told += [(minute, *each) for each in book.send(now)]
    assert told == [(7, "server-fault", False), (35, "server-fault", True)]


def test_every_kind_has_words_for_its_end() -> None:
    for kind in Kind:
        words = over(Notice(kind, "hall", "", "", NOON))
        assert "hall" in words
        assert "over" not in words


# --- the book of notices ---------------------------------------------------------------------------------------------


def test_two_open_notices_of_one_name_become_one() -> None:
    """Two servers that judged at the same time may both have written one."""
    pair = [
        Notice("display-error", "hall", "…", "…", NOON - HOUR),
        Notice("display-error", "hall", "…", "…", NOON - 2 * HOUR, sent_at=NOON),
    ]
    report = Report("hall", NOON, error="…")
    written = judge(seen(hall(contact=called(NOON), reports=(report,))), pair, NOON)
    ended = [n for n in written if n.ended_at]
    assert [n.since for n in ended] == [NOON - HOUR]
    assert not unsent(ended, NOON)


def test_a_notice_never_takes_the_place_of_one_that_has_ended() -> None:
    """The same first moment again: the store would write over the old one."""
    report = Report("hall", NOON - HOUR, error="…")
    old = Notice("display-error", "hall", "…", "…", NOON - HOUR, sent_at=NOON, ended_at=NOON)
    (notice,) = judge(seen(hall(contact=called(NOON), reports=(report,))), (old,), NOON)
    assert notice.since == NOON


def test_a_second_look_at_the_same_moment_writes_nothing() -> None:
    book = Book()
    what = seen(
        hall(
            contact=called(NOON - 5 * HOUR),
            reports=(Report("hall", NOON - 5 * HOUR, error="…", temperature_c=-20),),
            battery=battery(1),
            climate=CLIMATE,
            pressings=(pressing(NOON, Outcome.FAILED), pressing(NOON, Outcome.FAILED)),
        ),
        sources=(source(Freshness.STALE, NOON - HOUR),),
        faults=(SeenFault("disk", "…", "…", NOON - HOUR),),
    )
    kinds = sorted(notice.kind for notice in book.look(what, NOON))
    assert kinds == [
        "battery-low",
        "display-error",
        "missed-wakes",
        "press-failed",
        "server-fault",
        "stale-source",
        "too-cold",
    ]
    assert book.look(what, NOON) == ()


def test_a_clock_set_back_between_sending_and_ending_still_sends_the_end_once() -> None:
    told = Notice(
        "stale-source", "forecast", "…", "…", NOON - DAY, sent_at=NOON + HOUR, better_since=NOON - HOUR
    )
    (ended,) = judge(seen(sources=(source(Freshness.FRESH, NOON),)), (told,), NOON)
    assert ended.ended_at is not None
    assert unsent([ended], NOON) == (ended,)
    assert unsent([sent(ended, NOON)], NOON) == ()


def test_what_has_been_over_for_a_week_is_no_news() -> None:
    old = Notice("stale-source", "forecast", "…", "…", NOON - 30 * DAY, ended_at=NOON - NO_NEWS)
    assert unsent([old], NOON) == (old,)
    assert unsent([old], NOON + MINUTE) == ()
