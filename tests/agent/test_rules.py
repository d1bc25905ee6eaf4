"""The agent's pure rules: heads, dates, waits, moments, memory, settings, buttons."""

import json
from email.utils import formatdate
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.agent.device import waking
from wallbill.agent.device.addresses import read_target, redirected
from wallbill.agent.device.answers import (
    Head,
    RefusedError,
    fresh_for_s,
    is_chunked,
    length_bytes,
    moment_s,
    read_head,
    retry_after_s,
    same_tag,
    sha256_of,
    tag_of,
)
from wallbill.agent.device.button import Edge, Presses, after
from wallbill.agent.device.memory import Memory, remembered, written
from wallbill.agent.device.moments import NEVER, Ago, Moment, ago
from wallbill.agent.device.reading import SettingsError
from wallbill.agent.device.settings import merged, parsed, read_settings

numbers = st.floats(0, 1e9)
moments = st.builds(Moment, st.text(max_size=9), numbers, st.none() | numbers)


def _head(**fields: str) -> Head:
    return Head(200, {name.replace("_", "-"): value for name, value in fields.items()})


def test_a_head_is_read() -> None:
    head = read_head(b'HTTP/1.1 200 OK\r\nETag:  W/"a"\t\r\nVary: a\r\nvary: b\r\nX-Empty:')
    assert head == Head(200, {"etag": 'W/"a"', "vary": "a, b", "x-empty": ""})
    assert read_head(b"HTTP/1.0 304").status == 304


@pytest.mark.parametrize(
    "data",
    [
        b"", b"HTTP/2 200", b"HTTP/1.1 2000 OK", b"HTTP/1.1 200 OK\r\n folded", b"HTTP/1.1 200\r\nno colon",
        b"HTTP/1.1 200\r\na b: c", b"HTTP/1.1 200\r\n: c", b"HTTP/1.1 2x0 OK", b"HTTP/1.1  200 OK",
        b"HTTP/1.1 200\r\nContent-Length: 1\r\nContent-Length: 2",
    ],
)  # fmt: skip
def test_what_is_no_head_is_refused(data: bytes) -> None:
    with pytest.raises(RefusedError):
        read_head(data)


@given(st.binary(max_size=400))
def test_any_bytes_are_a_head_or_refused(data: bytes) -> None:
    for start in (b"", b"HTTP/1.1 200 OK\r\n"):
        try:
            head = read_head(start + data)
            length_bytes(head)
            is_chunked(head)
        except RefusedError:
            continue
        assert tag_of(head).isascii()
        assert (fresh_for_s(head) or 0) >= 0
        retry_after_s(head)
        sha256_of(head)


@given(st.integers(0, 253402300799))
def test_dates_are_read_as_the_standard_library_writes_them(unix_s: int) -> None:
    assert moment_s(formatdate(unix_s, usegmt=True)) == unix_s


def test_all_three_forms_of_dates_are_read() -> None:
    """RFC 9110, 5.6.7, gives one moment in the three forms."""
    forms = ("Sun, 06 Nov 1994 08:49:37 GMT", "Sunday, 06-Nov-94 08:49:37 GMT", "Sun Nov  6 08:49:37 1994")
    assert {moment_s(form) for form in forms} == {784111777}
    for wrong in ("", "yesterday", "Sun, 06 Nov 1994 25:49:37 GMT", "Sun, 06 Nox 1994 08:49:37 GMT", None):
        assert moment_s(wrong) is None


def test_digests_after_the_standard() -> None:
    """RFC 9530, appendix B.1: the digest of a JSON object and its line end."""
    value = b"\x5f\x8f\x04\xf6\xa3\xa8\x92\xaa\xab\xbd\xdb\x6c\xf2\x73\x89\x44\x93\x77\x39\x60\xd4\xa3\x25\xb1\x05\xfe\xe4\x6e\xef\x43\x04\xf1"
    field = "sha-256=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:"
    assert sha256_of(_head(repr_digest=field)) == value
    assert sha256_of(_head(content_digest=f"sha-512=:YWJj:, {field}")) == value
    for wrong in ("", "sha-256=X48E", "sha-256=:YWJj:", "md5=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:"):
        assert sha256_of(_head(repr_digest=wrong)) is None


def test_tags() -> None:
    assert tag_of(_head(etag='W/"abc-7"')) == 'W/"abc-7"'
    for wrong in ("abc", '"a b"', '"a"b"', '"', "W/abc", '"é"', '"' + "x" * 300 + '"'):
        assert tag_of(_head(etag=wrong)) == ""
    assert same_tag('W/"1"', '"1"')  # RFC 9110, 8.8.3.2, its table
    assert not same_tag('W/"1"', 'W/"2"')


def test_how_long_an_answer_is_fresh() -> None:
    assert fresh_for_s(_head(cache_control="private, max-age=600", age="100")) == 500
    assert fresh_for_s(_head(cache_control='Max-Age="60"', age="100")) == 0
    assert fresh_for_s(_head(cache_control="no-store")) is None
    assert fresh_for_s(_head(cache_control="max-age=soon")) is None
    assert fresh_for_s(_head(cache_control="max-age=²")) is None


def test_what_retry_after_asks() -> None:
    date = "Sun, 06 Nov 1994 08:49:37 GMT"
    assert retry_after_s(_head(retry_after="120")) == 120
    assert retry_after_s(_head(retry_after="Sun, 06 Nov 1994 09:49:37 GMT", date=date)) == 3600
    assert retry_after_s(_head(retry_after="Sun, 06 Nov 1994 07:49:37 GMT", date=date)) == 0
    assert retry_after_s(_head(retry_after=date)) is None
    assert retry_after_s(_head()) is None


def test_waits() -> None:
    assert [waking.back_off_s(n) for n in (1, 2, 3, 4, 5, 6, 7, 8, 5000)] == [
        300, 600, 1200, 2400, 4800, 9600, 19200, 21600, 21600,
    ]  # fmt: skip
    assert waking.after_answer_s(5, usual_s=1800, name="a") in range(60, 67)
    assert waking.after_answer_s(None, usual_s=1800, name="a") in range(1800, 1981)
    assert waking.after_answer_s(10**9, usual_s=1800, name="a") in range(604800, 605101)
    assert waking.after_failure_s(3, None, name="a") in range(1200, 1321)
    assert waking.after_failure_s(3, 7200, name="a") in range(7200, 7501)


def test_a_fleet_is_spread_and_each_keeps_its_rhythm() -> None:
    waits = [waking.spread_s(3600, f"display-{number}") for number in range(200)]
    assert waits == [waking.spread_s(3600, f"display-{number}") for number in range(200)]
    assert 3600 <= min(waits) < 3615
    assert 3885 < max(waits) <= 3900
    assert len(set(waits)) > 100


def test_how_long_ago_things_were() -> None:
    now = Moment("b", 1000.0, 50_000.0)
    assert ago(now, Moment("b", 400.0)) == Ago(600.0, is_sure=True)
    assert ago(now, Moment("a", 9.0, 20_000.0)) == Ago(30_000.0, is_sure=True)
    assert ago(now, Moment("a", 9.0)) == Ago(1000.0, is_sure=False)
    assert ago(now, Moment("a", 9.0, 60_000.0)) == Ago(1000.0, is_sure=False)  # the server's clock went back
    assert ago(now._replace(date_s=None), Moment("a", 9.0, 20_000.0)) == Ago(1000.0, is_sure=False)
    assert not ago(now, NEVER).is_sure


@given(
    st.builds(
        Memory,
        tag=st.text(),
        shown=st.text(),
        kept=st.text(),
        marked=st.booleans(),
        since_full=st.integers(0, 1000),
        refreshed=moments,
        heard=moments,
        reported=moments,
        tried=moments,
        wait_s=st.integers(0, 10**6),
        must_wait=st.booleans(),
        failures=st.integers(0, 1000),
        error=st.text(),
        fresh_s=st.none() | st.integers(0, 10**6),
        boot=st.text(),
        zero_s=st.none() | numbers,
    )
)
def test_what_is_written_is_remembered(memory: Memory) -> None:
    assert remembered(written(memory)) == memory


@given(st.binary() | st.recursive(st.none() | st.booleans() | st.integers() | st.text(), st.lists).map(lambda x: json.dumps({"v": 1, "tag": x, "wait_s": x, "heard": [x, x, x], "zero_s": x}).encode()))  # fmt: skip
def test_anything_else_is_forgotten(text: bytes) -> None:
    memory = remembered(text)
    assert isinstance(memory.tag, str)
    assert type(memory.wait_s) is int
    assert memory.heard == NEVER or isinstance(memory.heard.up_s, (int, float))
    remembered(written(memory))


def test_addresses() -> None:
    assert read_target("http://Wall.example:8000/a?b#c") == (False, "wall.example", 8000, "/a?b")
    assert read_target("https://[2001:db8::1]").host_field == "[2001:db8::1]"
    assert read_target("http://a:81/").host_field == "a:81"
    for wrong in (
        "",
        "wall",
        "ftp://a",
        "http://",
        "http://a:0",
        "http://a:99999",
        "http://u:p@a",
        "http://a b",
    ):
        with pytest.raises(ValueError, match="no address"):
            read_target(wrong)


def test_where_an_answer_may_send_us() -> None:
    here = read_target("http://wall:8000/a")
    assert redirected(here, "/b").path == "/b"
    assert redirected(here, "http://WALL:8000/c").path == "/c"
    assert redirected(here, "https://wall/c").is_secure
    secure = read_target("https://wall/a")
    for target, location in (
        (here, "http://other:8000/a"), (here, "//other/a"), (here, "http://wall:9/a"), (here, ""),
        (here, "javascript:x"), (secure, "http://wall/a"), (secure, "http://wall:443/a"),
    ):  # fmt: skip
        with pytest.raises(RefusedError):
            redirected(target, location)


def test_what_a_button_means() -> None:
    def meant(*edges: tuple[bool, float]) -> list[str]:
        presses, found = Presses(), []
        for is_down, at_s in edges:
            presses, asked = after(presses, Edge(is_down, at_s), long_s=1.5)
            found.append(asked)
        return [asked for asked in found if asked]

    assert meant((True, 10.0), (False, 10.2)) == ["refresh"]
    assert meant((True, 10.0), (False, 11.6)) == ["next"]
    assert meant((True, 10.0), (False, 10.005), (True, 10.01), (False, 10.4)) == [
        "refresh"
    ]  # contacts bounce
    assert meant((True, 10.0), (False, 10.4), (True, 10.405), (False, 10.41)) == ["refresh"]
    assert meant((True, 10.0), (False, 10.005), (True, 30.0), (False, 30.3)) == [
        "refresh"
    ]  # a touch too short
    assert meant((True, 10.0), (True, 10.5), (False, 12.0)) == ["next"]  # a change was missed
    assert meant((True, 10.0), (False, 10.2), (True, 5.0), (False, 5.3)) == [
        "refresh",
        "refresh",
    ]  # a clock was set
    assert meant((False, 10.0)) == []
    assert meant((True, 10.0)) == []  # held, not yet let go


_GOOD: dict[str, Any] = {
    "v": 1,
    "display": "hall",
    "address": "http://wall.example:8000/",
    "panel": {
        "width_px": 800,
        "height_px": 480,
        "inks": {"black": "#000000", "white": "#FFFFFF", "red": "#ff0000"},
    },
    "glass": {"adapter": "command", "argv": ["show"]},
}


def test_settings_have_sensible_defaults() -> None:
    settings = read_settings(_GOOD, file="f")
    assert settings.address == "http://wall.example:8000"
    assert settings.panel.colours[1] == (255, 255, 255)
    assert [plane.name for plane in settings.packing.planes] == ["black", "red"]
    assert settings.glass.timeout_s == 120
    assert settings.network.check_dates
    assert settings.button is None


@pytest.mark.parametrize(
    ("over", "told"),
    [
        ({"addres": "x"}, "f addres: there is no such setting; known here are address,"),
        ({"address": "wall"}, "f address: give the server's address"),
        ({"address": None}, "f address: is missing; give a text"),
        ({"display": "a b"}, "f display: give the display's name"),
        ({"v": 2}, "write the agent's file again"),
        ({"panel": {"width_px": "800"}}, "f panel.width_px: is '800'; give a number from 1 to 20000"),
        ({"panel": {"width_px": 1.5}}, "f panel.width_px: is 1.5; give a whole number"),
        ({"panel": {"inks": {"red": "red"}}}, "f panel.inks.red: give its colour as #rrggbb"),
        ({"panel": 7}, "f panel: is 7; give a table"),
        ({"glass": {"adapter": "screen"}}, "f glass.adapter: is 'screen'; give one of file, command,"),
        ({"glass": {"adapter": "file"}}, "f glass.path: is missing; the adapter file needs it"),
        ({"glass": {"adapter": "module", "show": "x"}}, "f glass.show: give a module and its function"),
        ({"glass": {"modes": ["fast"]}}, "f glass.modes: a driver must be able to do full refreshes"),
        ({"glass": {"modes": ["ful"]}}, "f glass.modes: is 'ful'; give of full, fast, partial"),
        ({"packing": {"planes": [{"inks": ["blue"]}]}}, "f packing.planes[0].inks: is 'blue'"),
        ({"packing": {"planes": [{}]}}, "f packing.planes[0].inks: name at least one ink"),
        ({"packing": {"bits": 3}}, "f packing.bits: is 3; give one of 1, 2, 4, 8"),
        ({"packing": {"bits": 2, "codes": {"red": 4}}}, "f packing.codes.red: is 4"),
        ({"packing": {"mirror": 1}}, "f packing.mirror: is 1; give true or false"),
        ({"battery": {}}, "f battery.file: give either file or argv"),
        ({"button": {"line": "4", "input": "/dev/x"}}, "f button.line: give either line"),
        ({"limits": {"least_interval_s": True}}, "f limits.least_interval_s: is True"),
    ],
)  # fmt: skip
def test_wrong_settings_are_told_by_field(over: dict[str, Any], told: str) -> None:
    with pytest.raises(SettingsError) as caught:
        read_settings(merged(_GOOD, over), file="f")
    assert told in str(caught.value)


def test_all_faults_come_at_once() -> None:
    with pytest.raises(SettingsError) as caught:
        read_settings({"usual_s": 1, "x": 2}, file="f")
    assert str(caught.value).count("\n") > 5


def test_no_json_is_told_by_line() -> None:
    with pytest.raises(SettingsError, match=r"hall.json:2: no JSON"):
        parsed(b'{"a": 1,\n b: 2}', file="hall.json")
    with pytest.raises(SettingsError, match="no table"):
        parsed(b"[]", file="hall.json")
    with pytest.raises(SettingsError, match="UTF-8"):
        parsed(b"\xff", file="hall.json")
    assert merged({"a": {"b": 1, "c": 2}, "d": [1]}, {"a": {"b": 3}, "d": [2]}) == {
        "a": {"b": 3, "c": 2},
        "d": [2],
    }
