"""Sending: a real mail receiver and a real web server, encrypted and not, that take, refuse, hang and come back."""

import json
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import trustme
from tests.server.mail_server import post

from wallbill.server import shell_letters
from wallbill.server.letters import letter_id
from wallbill.server.shell_letters import MOST_IN_A_LETTER, Postman, ways
from wallbill.server.watching import unsent
from wallbill.store.model import Notice
from wallbill.wall.model import MailSettings, SecretRef, WatchSettings

NOON = datetime(2027, 3, 10, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)
ZONE = ZoneInfo("Europe/London")


def late(name: str = "hall", **more: Any) -> Notice:
    return Notice("missed-wakes", name, f"{name} has not called", "Look at its power.", NOON, **more)


@pytest.fixture(scope="module")
def ca() -> trustme.CA:
    return trustme.CA()


@pytest.fixture(scope="module")
def trust(ca: trustme.CA) -> ssl.SSLContext:
    context = ssl.create_default_context()
    ca.configure_trust(context)
    return context


def mailing(port: int, **more: Any) -> WatchSettings:
    return WatchSettings(
        mail=MailSettings(
            **{
                "to": ("keeper@fennelquay.example", "crew@fennelquay.example"),
                "sender": "wall@fennelquay.example",
                "host": "localhost",
                "port": port,
                "security": "none",
                **more,
            }
        )
    )


def postman(settings: WatchSettings, tls: ssl.SSLContext | None = None, **secrets: str) -> Postman:
    return Postman(ways(settings, secrets, wall="Fennel Quay", zone=ZONE, tls=tls))


class Hook:
    """A web server that is posted to, and answers what a test says."""

    def __init__(self) -> None:
        self.status = 204
        self.posted: list[tuple[dict[str, str], bytes]] = []
        hook = self

        class Handler(BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = self.rfile.read(int(self.headers["Content-Length"]))
                hook.posted.append(({k.lower(): v for k, v in self.headers.items()}, body))
                self.send_response_only(hook.status)
                if hook.status == 302:
                    self.send_header("Location", "/elsewhere")
                self.send_header("Content-Length", "0")
                self.end_headers()

            def log_message(self, *args: object) -> None:
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.thread = threading.Thread(
            target=self.server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True
        )
        self.thread.start()

    @property
    def url(self) -> str:
        return f"http://localhost:{self.server.server_address[1]}/hook?key=abc"

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()


@pytest.fixture
def hook() -> Iterator[Hook]:
    running = Hook()
    yield running
    running.close()


# --- mail --------------------------------------------------------------------------------------------------------------


def test_a_mail_arrives_and_the_notice_counts_as_sent() -> None:
    with post() as receiver:
        (done,) = postman(mailing(receiver.port)).deliver([late()], NOON)
        (letter,) = receiver.letters
    assert done == replace(late(), sent_at=NOON)
    assert letter["Subject"] == "Fennel Quay: hall has not called"
    assert receiver.addressed == [["TO:<keeper@fennelquay.example>", "TO:<crew@fennelquay.example>"]]


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_a_mail_is_encrypted_and_logged_in(security: str, ca: trustme.CA, trust: ssl.SSLContext) -> None:
    with post(tls=ca, at_once=security == "tls", user=("wall", "s3cret")) as receiver:
        settings = mailing(receiver.port, security=security, user="wall", password=SecretRef("MAIL"))
        assert postman(settings, trust, MAIL="s3cret").deliver([late()], NOON)
    assert receiver.encrypted == [True]
    assert receiver.logged_in == ["wall"]


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_a_mail_server_that_nobody_vouches_for_gets_nothing(security: str, ca: trustme.CA) -> None:
    with post(tls=ca, at_once=security == "tls", user=("wall", "s3cret")) as receiver:
        sender = postman(
            mailing(receiver.port, security=security, user="wall", password=SecretRef("MAIL")), MAIL="s3cret"
        )
        assert sender.deliver([late()], NOON) == ()
    (trouble,) = sender.troubles()
    assert "cannot be trusted" in trouble.what
    assert receiver.logged_in == []


def test_a_certificate_for_another_host_is_none(ca: trustme.CA, trust: ssl.SSLContext) -> None:
    with post(tls=ca) as receiver:
        sender = postman(mailing(receiver.port, security="starttls", host="127.0.0.1"), trust)
        assert sender.deliver([late()], NOON) == ()
    assert "cannot be trusted" in sender.troubles()[0].what


def test_without_encryption_on_offer_nothing_is_sent(trust: ssl.SSLContext) -> None:
    with post() as receiver:
        sender = postman(mailing(receiver.port, security="starttls"), trust)
        assert sender.deliver([late()], NOON) == ()
    assert receiver.letters == []
    assert "offers no encryption" in sender.troubles()[0].what


def test_a_password_goes_to_no_other_machine_in_the_open() -> None:
    settings = mailing(25, host="mail.fennelquay.example", user="wall", password=SecretRef("MAIL"))
    sender = postman(settings, MAIL="s3cret")
    assert sender.deliver([late()], NOON) == ()
    assert "for all to read" in sender.troubles()[0].what


@pytest.mark.parametrize(
    ("say", "told"),
    [
        ({"MAIL": "451 4.3.0 later"}, "refuses the letter (451)"),
        ({"end": "554 5.7.1 spam"}, "refuses the letter (554)"),
        ({"RCPT": "550 5.1.1 nobody"}, "refuses every address (550)"),
        ({"connect": "421 busy"}, "refuses the letter (421)"),
        ({"connect": "hello"}, "does not answer as a mail server does"),
        ({"connect": ""}, "does not answer as a mail server does"),
    ],
)
def test_what_is_refused_is_told_and_tried_again(say: dict[str, str], told: str) -> None:
    with post() as receiver:
        sender = postman(mailing(receiver.port))
        receiver.say |= say
        assert sender.deliver([late()], NOON) == ()
        (trouble,) = sender.troubles()
        assert told in trouble.what
        assert trouble.mend
        receiver.say.clear()
        assert sender.deliver([late()], NOON + MINUTE)
        assert sender.troubles() == ()


def test_a_wrong_password_is_told_without_it(ca: trustme.CA, trust: ssl.SSLContext) -> None:
    with post(tls=ca, user=("wall", "right")) as receiver:
        sender = postman(
            mailing(receiver.port, security="starttls", user="wall", password=SecretRef("MAIL")),
            trust,
            MAIL="wr0ng",
        )
        assert sender.deliver([late()], NOON) == ()
    (trouble,) = sender.troubles()
    assert "refuses the user or the password (535)" in trouble.what
    assert "wr0ng" not in trouble.what + trouble.mend


def test_one_refused_address_of_two_is_told_and_the_other_is_not_written_to_again() -> None:
    with post() as receiver:
        receiver.say["crew@"] = "550 nobody"
        sender = postman(mailing(receiver.port))
        assert sender.deliver([late()], NOON)
        assert "refuses 1 of 2 addresses" in sender.troubles()[0].what
    assert len(receiver.letters) == 1


def test_a_missing_secret_is_told_when_it_is_needed() -> None:
    sender = postman(mailing(25, user="wall", password=SecretRef("MAIL")))
    assert sender.deliver([late()], NOON) == ()
    assert "the secret MAIL is not set" in sender.troubles()[0].what


def test_nobody_there_is_told() -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    sender = postman(mailing(port))
    assert sender.deliver([late()], NOON) == ()
    assert "cannot be reached" in sender.troubles()[0].what


def test_a_server_that_never_comes_to_an_end_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each line comes in time, and there is always one more."""
    monkeypatch.setattr(shell_letters, "_ALL_S", 0.4)
    ended = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def drip() -> None:
            connection, _ = listener.accept()
            with connection:
                try:
                    while not ended.wait(0.05):
                        connection.sendall(b"220-and then\r\n")
                except OSError:
                    pass

        thread = threading.Thread(target=drip, daemon=True)
        thread.start()
        begun = time.monotonic()
        sender = postman(mailing(listener.getsockname()[1]))
        assert sender.deliver([late()], NOON) == ()
        assert time.monotonic() - begun < 10
        ended.set()
        thread.join()
    assert sender.troubles()


# --- webhook -----------------------------------------------------------------------------------------------------------


def test_a_webhook_gets_the_object_and_a_name_that_stays(hook: Hook) -> None:
    sender = postman(WatchSettings(webhook=hook.url))
    hook.status = 503
    assert sender.deliver([late()], NOON) == ()
    hook.status = 204
    # Another notice joins in between: what was offered in vain is offered again as it was.
    assert len(sender.deliver([late(), late("porch")], NOON + MINUTE)) == 2
    keys = [headers["idempotency-key"] for headers, _ in hook.posted]
    assert keys == [f'"{letter_id([late()])}"'] * 2 + [f'"{letter_id([late("porch")])}"']
    headers, body = hook.posted[0]
    assert headers["content-type"] == "application/json"
    assert body == hook.posted[1][1]
    assert json.loads(body)["notices"][0]["subject"] == "hall"


@pytest.mark.parametrize("status", [302, 400, 404, 410, 500])
def test_only_a_two_hundred_counts_and_a_redirect_is_not_followed(hook: Hook, status: int) -> None:
    hook.status = status
    sender = postman(WatchSettings(webhook=hook.url))
    assert sender.deliver([late()], NOON) == ()
    (trouble,) = sender.troubles()
    assert "localhost" in trouble.what or "redirects" in trouble.what
    assert "abc" not in trouble.what
    assert len(hook.posted) == 1


def test_a_webhook_may_be_a_secret(hook: Hook) -> None:
    settings = WatchSettings(webhook=SecretRef("HOOK"))
    assert postman(settings, HOOK=hook.url).deliver([late()], NOON)
    lacking = postman(settings)
    assert lacking.deliver([late()], NOON) == ()
    assert "HOOK is not set" in lacking.troubles()[0].what


def test_an_address_that_is_none_is_told_and_not_quoted() -> None:
    sender = postman(WatchSettings(webhook="http://[::1:bad/secretpart"))
    assert sender.deliver([late()], NOON) == ()
    assert "secretpart" not in sender.troubles()[0].what


# --- once ----------------------------------------------------------------------------------------------------------------


def test_each_way_gets_each_notice_once_however_long_the_other_fails(hook: Hook) -> None:
    with post() as receiver:
        settings = replace(mailing(receiver.port), webhook=hook.url)
        sender = postman(settings)
        hook.status = 500
        notice = late()
        for minute in range(30):
            assert sender.deliver([notice], NOON + minute * MINUTE) == ()
        assert len(receiver.letters) == 1
        assert len(hook.posted) == 5, "tried after 0, 1, 3, 7 and 15 minutes"
        hook.status = 200
        (done,) = sender.deliver([notice], NOON + 40 * MINUTE)
        assert sender.deliver([done], NOON + 41 * MINUTE) == ()
    assert len(receiver.letters) == 1
    assert len(hook.posted) == 6


def test_an_hour_is_the_longest_wait(hook: Hook) -> None:
    hook.status = 500
    sender = postman(WatchSettings(webhook=hook.url))
    for minute in range(24 * 60):
        sender.deliver([late()], NOON + minute * MINUTE)
    assert 24 <= len(hook.posted) <= 30


def test_a_clock_set_back_a_year_does_not_stop_the_post(hook: Hook) -> None:
    hook.status = 500
    sender = postman(WatchSettings(webhook=hook.url))
    sender.deliver([late()], NOON)
    hook.status = 200
    assert sender.deliver([late()], NOON - timedelta(days=365))


def test_a_server_that_dies_before_it_wrote_it_down_sends_again_and_never_loses(hook: Hook) -> None:
    settings = WatchSettings(webhook=hook.url)
    postman(settings).deliver([late()], NOON)  # and then it dies; the store knows nothing of it
    assert postman(settings).deliver([late()], NOON + MINUTE)
    assert len({headers["idempotency-key"] for headers, _ in hook.posted}) == 1
    assert len(hook.posted) == 2


def test_the_end_is_sent_once_too(hook: Hook) -> None:
    sender = postman(WatchSettings(webhook=hook.url))
    (begun,) = sender.deliver([late()], NOON)
    ended = replace(begun, ended_at=NOON + 5 * MINUTE)
    (done,) = sender.deliver([ended], NOON + 6 * MINUTE)
    assert unsent([done], NOON + 7 * MINUTE) == ()
    states = [json.loads(body)["notices"][0]["state"] for _, body in hook.posted]
    assert states == ["open", "over"]


def test_many_notices_make_letters_of_a_bounded_size(hook: Hook) -> None:
    many = [late(f"d{number}") for number in range(450)]
    assert len(postman(WatchSettings(webhook=hook.url)).deliver(many, NOON)) == 450
    assert [len(json.loads(body)["notices"]) for _, body in hook.posted] == [
        MOST_IN_A_LETTER,
        MOST_IN_A_LETTER,
        50,
    ]


def test_without_anybody_to_tell_nothing_counts_as_sent() -> None:
    assert postman(WatchSettings()).deliver([late()], NOON) == ()


def test_that_mail_fails_is_not_told_by_mail(hook: Hook) -> None:
    fault = Notice("server-fault", "mail", "notices cannot be sent by mail: …", "Look.", NOON)
    with post() as receiver:
        sender = postman(replace(mailing(receiver.port), webhook=hook.url))
        assert sender.deliver([fault], NOON)
    assert receiver.letters == []
    assert len(hook.posted) == 1
