"""The manners of fetching against RFC 9110 and RFC 9111, and the services' own terms."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.sources.fetching import (
    LONGEST,
    Answer,
    Kept,
    Request,
    age,
    back_off,
    conditional_headers,
    coordinate,
    directives,
    fresh_until,
    http_date,
    jitter,
    kept_anew,
    lasting_headers,
    lifetime,
    next_fetch,
    off_the_hour,
    retry_after,
    user_agent,
)

EPOCH = datetime(2026, 3, 14, 10, 7, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def stamp(second: float) -> str:
    return (EPOCH + second * SECOND).strftime("%a, %d %b %Y %H:%M:%S GMT")


def answer(received: float = 0, requested: float | None = None, status: int = 200, **headers: Any) -> Answer:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    asked = received if requested is None else requested
    return Answer(status, named, b"", EPOCH + asked * SECOND, EPOCH + received * SECOND)


@pytest.mark.parametrize(
    "text", ["Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT", "Sun Nov  6 08:49:37 1994"]
)
def test_the_three_forms_of_a_date(text: str) -> None:
    # RFC 9110, 5.6.7: three forms of one instant, 784111777 seconds after the epoch.
    moment = http_date(text)
    assert moment is not None
    assert moment.timestamp() == 784111777


@pytest.mark.parametrize("text", ["", "0", "-1", "soon", "Sun, 99 Nov 1994 08:49:37 GMT", "\x00"])
def test_what_is_no_date(text: str) -> None:
    assert http_date(text) is None


@pytest.mark.parametrize(
    ("headers", "expected_s"),
    [
        ({"cache_control": "max-age=600"}, 600),
        ({"cache_control": "public, MAX-AGE=60"}, 60),
        ({"cache_control": 'max-age="60"'}, 60),  # RFC 9111, 5.2: a recipient ought to take both forms
        ({"cache_control": "s-maxage=900, max-age=60"}, 60),  # s-maxage is for shared caches
        ({"cache_control": "max-age=60", "expires": stamp(9999)}, 60),  # max-age goes before Expires
        ({"cache_control": "no-cache, max-age=60"}, 0),
        ({"cache_control": "no-store"}, 0),
        ({"cache_control": "max-age=60, max-age=90"}, 0),  # 4.2.1: repeated, may be taken as stale
        ({"cache_control": "max-age=soon"}, 0),
        ({"cache_control": "max-age=-5"}, 0),
        ({"cache_control": "max-age"}, 0),
        ({"date": stamp(0), "expires": stamp(1800)}, 1800),
        ({"date": stamp(-300), "expires": stamp(1800)}, 2100),  # less the server's own Date, not our clock
        ({"date": stamp(0), "expires": stamp(-1)}, 0),
        ({"expires": "0"}, 0),  # 5.3: an invalid date is in the past
        ({"date": stamp(0), "last_modified": stamp(-36000)}, 3600),  # 4.2.2: a tenth
        ({"date": stamp(0), "last_modified": stamp(-(10**8))}, 86400),
        ({}, 0),
        ({"cache_control": "max-age=99999999999"}, LONGEST / SECOND),
    ],
)
def test_how_long_an_answer_is_fresh(headers: dict[str, Any], expected_s: float) -> None:
    assert lifetime(answer(**headers)) == expected_s * SECOND


def test_worked_ages() -> None:
    # Worked by hand with the formulas of RFC 9111, 4.2.3. Date 100, Age 20, request 110, response 112, now 150:
    # max(12, 22) + 38 = 60.
    told = answer(112, 110, date=stamp(100), age="20", cache_control="max-age=60")
    assert age(told, EPOCH + 150 * SECOND) == 60 * SECOND
    # It is fresh for 60 s and was 22 s old when it came: stale from 150 on.
    assert fresh_until(told) == EPOCH + 150 * SECOND
    # No Age, and a clock that is behind (response at 95): apparent 0, corrected 2, now 130 -> 37.
    behind = answer(95, 93, date=stamp(100))
    assert age(behind, EPOCH + 130 * SECOND) == 37 * SECOND


def test_directives_are_read_with_their_values() -> None:
    told = directives('private, max-age=5, no-cache="set-cookie, x", max-age=6')
    assert told == {"private": ("",), "max-age": ("5", "6"), "no-cache": ("set-cookie, x",)}


@pytest.mark.parametrize(
    ("headers", "expected_s"),
    [
        ({"retry_after": "120"}, 120),  # RFC 9110, 10.2.3, first example
        ({"retry_after": stamp(90), "date": stamp(0)}, 90),
        ({"retry_after": stamp(90), "date": stamp(60)}, 30),  # by the server's own clock
        ({"retry_after": stamp(-90), "date": stamp(0)}, 0),
        ({"retry_after": "0"}, 0),
        ({"retry_after": "99999999999"}, LONGEST / SECOND),
        ({"retry_after": "soon"}, None),
        ({"retry_after": "-5"}, None),
        ({}, None),
    ],
)
def test_retry_after(headers: dict[str, Any], expected_s: float | None) -> None:
    told = retry_after(answer(**headers))
    assert told == (None if expected_s is None else expected_s * SECOND)


def kept(**headers: str) -> Kept:
    request = Request("https://weather.example/x?token=secret")
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return Kept("forecast", "payload", "id", request.asked, b"{}", named, EPOCH, EPOCH)


def test_validators_go_back_exactly_as_they_came() -> None:
    # RFC 9110, 13.1: If-None-Match, If-Modified-Since; the services ask for the exact Last-Modified.
    old = kept(etag='W/"abc"', last_modified="Sat, 14 Mar 2026 09:00:00 GMT")
    assert conditional_headers(old, old.asked) == (
        ("If-None-Match", 'W/"abc"'),
        ("If-Modified-Since", "Sat, 14 Mar 2026 09:00:00 GMT"),
    )
    assert conditional_headers(old, "another address") == ()
    assert conditional_headers(kept(), old.asked) == ()
    assert conditional_headers(None, old.asked) == ()


def test_a_304_brings_headers_up_to_date_and_keeps_the_body() -> None:
    # RFC 9111, 4.3.4.
    old = kept(etag='"1"', last_modified="x", age="500", cache_control="max-age=1")
    new = kept_anew(old, answer(60, status=304, etag='"2"', cache_control="max-age=9"), EPOCH + 99 * SECOND)
    assert (new.body, new.fetched_at, new.due_at) == (old.body, EPOCH + 60 * SECOND, EPOCH + 99 * SECOND)
    assert new.headers == {"etag": '"2"', "last-modified": "x", "cache-control": "max-age=9"}


def test_only_lasting_headers_are_kept() -> None:
    told = lasting_headers(answer(etag='"1"', set_cookie="s=secret", server="x", date=stamp(0)))
    assert told == {":status": "200", "etag": '"1"', "date": stamp(0)}


TEN = timedelta(minutes=10)
HALF = timedelta(minutes=30)


def test_the_next_fetch_is_never_before_the_answer_is_stale() -> None:
    due = next_fetch(answer(cache_control="max-age=3600"), every=HALF, least=TEN, spread=0.5)
    assert due >= EPOCH + timedelta(hours=1)
    soon = next_fetch(answer(cache_control="max-age=5"), every=HALF, least=TEN, spread=0.0)
    assert soon == EPOCH + HALF
    floor = next_fetch(answer(cache_control="max-age=5"), every=timedelta(seconds=5), least=TEN, spread=0.0)
    assert floor == EPOCH + TEN


@given(
    st.floats(0, 1, exclude_max=True),
    st.integers(0, 86400),
    st.integers(0, 7200),
    st.integers(60, 86400),
    st.integers(0, 86400),
)
def test_limits_hold_whatever_the_wall_wishes(
    spread: float, at: int, max_age: int, every: int, least: int
) -> None:
    told = answer(at, cache_control=f"max-age={max_age}")
    due = next_fetch(told, every=every * SECOND, least=least * SECOND, spread=spread)
    assert due >= told.received_at + max(max_age, least) * SECOND
    assert due >= told.received_at + every * SECOND * 0.9
    assert 60 <= due.minute * 60 + due.second < 3540  # not on the hour


def test_off_the_hour() -> None:
    at = datetime(2026, 3, 14, 12, 0, 30, tzinfo=UTC)
    assert off_the_hour(at, 0.0) == datetime(2026, 3, 14, 12, 1, tzinfo=UTC)
    assert off_the_hour(at - timedelta(minutes=1), 1 / 3) == datetime(2026, 3, 14, 12, 2, tzinfo=UTC)
    assert off_the_hour(at + TEN, 0.5) == at + TEN


@pytest.mark.parametrize(("count", "minutes"), [(1, 5), (2, 10), (3, 20), (7, 320), (8, 360), (99, 360)])
def test_back_off_doubles_to_six_hours(count: int, minutes: int) -> None:
    assert back_off(EPOCH, count=count, asked=None, spread=0.0) == EPOCH + timedelta(minutes=minutes)


def test_back_off_waits_as_long_as_asked() -> None:
    assert back_off(EPOCH, count=1, asked=timedelta(minutes=40), spread=0.0) == EPOCH + timedelta(minutes=40)
    assert back_off(EPOCH, count=1, asked=SECOND, spread=0.0) == EPOCH + timedelta(minutes=5)


def test_jitter_is_steady_and_spread() -> None:
    assert jitter("a", "b") == jitter("a", "b")
    assert jitter("a", "b") != jitter("ab", "")
    many = [jitter("wall", str(number)) for number in range(2000)]
    assert 0 <= min(many) < 0.01 < 0.99 < max(many) < 1
    assert sum(many) / len(many) == pytest.approx(0.5, abs=0.03)


@pytest.mark.parametrize(
    ("degrees", "text"),
    [
        (50.31, "50.31"),
        (-4.05, "-4.05"),
        (50.123456, "50.1235"),
        (10.0, "10"),
        (0.0, "0"),
        (-0.00001, "0"),
        (-179.99999, "-180"),
    ],
)
def test_coordinates_have_at_most_four_decimals(degrees: float, text: str) -> None:
    # MET Norway answers 403 to five decimals; the US service redirects zeros at the end (their documents).
    assert coordinate(degrees) == text


def test_we_say_who_we_are() -> None:
    # RFC 9110, 10.1.5: product, version and a comment.
    assert user_agent("0.1.0", "keeper@fennel-quay.invalid") == "Wallbill/0.1.0 (keeper@fennel-quay.invalid)"
    assert user_agent("0.1.0", "") == "Wallbill/0.1.0"
    assert user_agent("0.1.0", "a)\r\nX-Evil: 1") == "Wallbill/0.1.0 (aX-Evil: 1)"


def test_nothing_secret_is_printed() -> None:
    request = Request("https://u:p@cal.example/hidden/abc?token=secret", (("Authorization", "Basic xyz"),))
    assert request.host == "cal.example"
    for text in (repr(request), repr(kept(etag="secret")), repr(answer(x="secret"))):
        assert "secret" not in text
        assert "hidden" not in text
        assert "xyz" not in text
