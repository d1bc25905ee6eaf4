"""Fetching from a real server on the loopback, its good and its bad manners."""

import gzip
import ssl
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler
from typing import Any

import pytest
import trustme
from tests.sources.web_server import Web, dripping, plain, raw_server, slow, web

from wallbill.errors import SourceError
from wallbill.sources.fetching import Limits, Request
from wallbill.sources.shell_http import Fetcher

BODY = b'{"hours": [1, 2, 3]}' * 100
HEADERS = (
    ("User-Agent", "Wallbill/0 (test)"),
    ("Accept-Encoding", "gzip"),
    ("Authorization", "Basic secret"),
)
NAMED = ("localhost", "127.0.0.1")


@pytest.fixture
def server() -> Iterator[Web]:
    with web() as running:
        yield running


def fetcher(**limits: Any) -> Fetcher:
    return Fetcher(Limits(**{"total_s": 5.0, **limits}), lambda: datetime.now(UTC))


Get = Callable[..., bytes]


@pytest.fixture
def get(server: Web) -> Get:
    def get(path: str, *, private_hosts: tuple[str, ...] = NAMED, **limits: float) -> bytes:
        return fetcher(**limits).fetch(Request(server.url(path), HEADERS, private_hosts), "club").body

    return get


def refused(get: Get, path: str, **more: float) -> SourceError:
    with pytest.raises(SourceError) as caught:
        get(path, **more)
    assert caught.value.where.file == "club"
    assert caught.value.mend
    assert "secret" not in str(caught.value)
    assert path not in str(caught.value)
    return caught.value


def test_a_payload_comes_with_its_headers(server: Web) -> None:
    server.pages["/x"] = plain(BODY, etag='"1"', cache_control="max-age=60")
    answer = fetcher().fetch(Request(server.url("/x?q=1"), HEADERS, NAMED), "club")
    assert (answer.status, answer.body) == (200, BODY)
    assert answer.headers["etag"] == '"1"'
    assert answer.requested_at <= answer.received_at
    ((path, sent),) = server.asked
    assert path == "/x?q=1"
    assert sent["user-agent"] == "Wallbill/0 (test)"
    assert sent["accept-encoding"] == "gzip"
    assert sent["host"] == f"localhost:{server.port}"


def test_headers_that_come_twice_are_joined(server: Web) -> None:
    def page(request: BaseHTTPRequestHandler) -> None:
        request.send_response(200)
        request.send_header("Cache-Control", "max-age=60")
        request.send_header("Cache-Control", "max-age=90")
        request.send_header("Content-Length", "0")
        request.end_headers()

    server.pages["/x"] = page
    answer = fetcher().fetch(Request(server.url("/x"), (), NAMED), "club")
    assert answer.headers["cache-control"] == "max-age=60, max-age=90"


def test_gzip_is_unpacked(server: Web, get: Get) -> None:
    server.pages["/x"] = plain(gzip.compress(BODY), content_encoding="gzip")
    server.pages["/two"] = plain(gzip.compress(BODY) + gzip.compress(b"more"), content_encoding="gzip")
    assert get("/x") == BODY
    assert get("/two") == BODY + b"more"  # RFC 1952, 2.2: a file is a series of members


def test_gzip_that_is_broken_or_cut_or_something_else(server: Web, get: Get) -> None:
    packed = gzip.compress(BODY)
    server.pages["/cut"] = plain(packed[:-9], content_encoding="gzip")
    server.pages["/bad"] = plain(b"\x1f\x8b" + b"x" * 50, content_encoding="gzip")
    server.pages["/empty"] = plain(b"", content_encoding="gzip")
    server.pages["/br"] = plain(BODY, content_encoding="br")
    assert "cut short" in refused(get, "/cut").what
    assert "broken" in refused(get, "/bad").what
    assert "cut short" in refused(get, "/empty").what
    assert "'br'" in refused(get, "/br").what


def test_a_body_that_is_too_large_is_not_read_to_its_end(server: Web, get: Get) -> None:
    server.pages["/large"] = plain(b"x" * 300_000)
    assert len(get("/large", body_bytes=300_000)) == 300_000
    assert "larger than" in refused(get, "/large", body_bytes=299_999).what


def test_a_small_body_that_unpacks_to_a_large_one_is_stopped(server: Web, get: Get) -> None:
    bomb = gzip.compress(b"\0" * 200_000_000)
    assert len(bomb) < 300_000
    server.pages["/bomb"] = plain(bomb, content_encoding="gzip")
    begun = time.monotonic()
    assert "larger than 8 MiB" in refused(get, "/bomb", body_bytes=8 * 2**20).what
    assert time.monotonic() - begun < 5


def test_a_body_that_breaks_off(server: Web, get: Get) -> None:
    def page(request: BaseHTTPRequestHandler) -> None:
        request.send_response(200)
        request.send_header("Content-Length", "48000")
        request.end_headers()
        request.wfile.write(b"x" * 20000)

    server.pages["/cut"] = page
    assert "breaks off" in refused(get, "/cut").what


@pytest.mark.parametrize("page", [slow(BODY, 3.0), dripping(BODY, 0.05)])
def test_a_slow_server_is_given_up_in_time(server: Web, get: Get, page: Callable[..., None]) -> None:
    server.pages["/slow"] = page
    begun = time.monotonic()
    assert "no full answer within 0.4 s" in refused(get, "/slow", total_s=0.4).what
    assert time.monotonic() - begun < 1.5


def test_headers_that_drip_are_given_up_in_time(server: Web, get: Get) -> None:
    def page(request: BaseHTTPRequestHandler) -> None:
        request.wfile.write(b"HTTP/1.1 200 OK\r\n")
        for number in range(100):
            request.wfile.write(b"X-%d: y\r\n" % number)
            request.wfile.flush()
            time.sleep(0.05)

    server.pages["/slow"] = page
    begun = time.monotonic()
    refused(get, "/slow", total_s=0.4)
    assert time.monotonic() - begun < 1.5


def test_redirects_are_followed_five_times_and_no_more(server: Web, get: Get) -> None:
    for number in range(1, 7):
        server.pages[f"/{number}"] = plain(b"", 302, location=f"/{number - 1}")
    server.pages["/0"] = plain(BODY)
    assert get("/5") == BODY
    assert "more than 5 times" in refused(get, "/6").what


def test_a_redirect_to_another_host_takes_no_password_along(server: Web, get: Get) -> None:
    server.pages["/x"] = plain(b"", 301, location=server.url("/y", host="127.0.0.1"))
    server.pages["/y"] = plain(BODY)
    assert get("/x") == BODY
    (_, first), (_, second) = server.asked
    assert "authorization" in first
    assert "authorization" not in second
    assert second["user-agent"] == first["user-agent"]


def test_a_redirect_out_of_the_web_is_not_followed(server: Web, get: Get) -> None:
    server.pages["/x"] = plain(b"", 302, location="file:///etc/passwd")
    server.pages["/y"] = plain(b"", 302)
    assert "nowhere" in refused(get, "/x").what
    assert "nowhere" in refused(get, "/y").what


def test_private_addresses_are_refused_unless_named(server: Web, get: Get) -> None:
    server.pages["/x"] = plain(BODY)
    with pytest.raises(SourceError, match="private network") as caught:
        get("/x", private_hosts=())
    assert 'private_hosts = ["localhost"]' in caught.value.mend
    assert server.asked == []
    assert get("/x", private_hosts=("localhost",)) == BODY
    assert get("/x", private_hosts=("127.0.0.1",)) == BODY  # by its address
    with pytest.raises(SourceError, match="private network"):
        get("/x", private_hosts=("nas.local",))


@pytest.mark.parametrize(
    "host", ["127.0.0.1", "127.1", "2130706433", "0x7f000001", "[::ffff:127.0.0.1]", "[::1]", "0"]
)
def test_the_loopback_by_any_other_name(server: Web, host: str) -> None:
    with pytest.raises(SourceError):
        fetcher().fetch(Request(server.url("/x", host=host)), "club")
    assert server.asked == []


def test_every_redirect_is_judged_anew(server: Web, get: Get) -> None:
    server.pages["/x"] = plain(b"", 302, location=server.url("/y", host="127.0.0.1"))
    server.pages["/y"] = plain(BODY)
    with pytest.raises(SourceError, match=r"127\.0\.0\.1 lies in a private network"):
        # Named by its name alone, the address is no way in, even though both are the same machine.
        fetcher().fetch(
            Request(server.url("/x").replace("localhost", "LocalHost"), HEADERS, ("localhost",)), "club"
        )
    assert server.paths == ["/x"]


def test_what_cannot_be_reached() -> None:
    with pytest.raises(SourceError, match="its name is not known"):
        fetcher().fetch(Request("http://nowhere.invalid/x"), "club")  # RFC 6761: .invalid never exists
    with pytest.raises(SourceError, match="no connection"):
        fetcher().fetch(Request("http://127.0.0.1:9/x", (), NAMED), "club")


@pytest.mark.parametrize(
    "reply", [b"", b"SSH-2.0-x\r\n", b"\x15\x03\x01\x00\x02\x02\x16", b"HTTP/1.1 abc\r\n\r\n"]
)
def test_what_is_no_web_server(reply: bytes) -> None:
    with raw_server(reply) as port, pytest.raises(SourceError, match=r"no HTTP|failed"):
        fetcher().fetch(Request(f"http://127.0.0.1:{port}/x", (), NAMED), "club")


def test_certificates_are_checked() -> None:
    authority, trusting = trustme.CA(), ssl.create_default_context()
    authority.configure_trust(trusting)
    with web(tls=authority) as server:
        server.pages["/x"] = plain(BODY)
        known = Fetcher(Limits(), lambda: datetime.now(UTC), tls=trusting)
        assert known.fetch(Request(server.url("/x"), HEADERS, NAMED), "club").body == BODY
        with pytest.raises(SourceError, match="certificate"):  # issued for another name
            known.fetch(Request(server.url("/x", host="127.0.0.1"), HEADERS, NAMED), "club")
        with pytest.raises(SourceError, match="certificate"):  # issued by nobody that this machine trusts
            fetcher().fetch(Request(server.url("/x"), HEADERS, NAMED), "club")
    assert server.paths == ["/x"]
