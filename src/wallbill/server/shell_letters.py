"""Sending notices out, by mail and by webhook: each once to each of them, tried again until it is accepted.

A notice counts as sent when everybody who is to be told has accepted it. A server that dies between that and its being
written down sends it again, with the same name, after the restart: it may come twice, and is never lost.
"""

import contextlib
import smtplib
import socket
import ssl
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Any

from wallbill.errors import LetterError, Place, WallbillError
from wallbill.server.letters import letter_id, mail, webhook_body
from wallbill.server.watched import SeenFault
from wallbill.server.watching import Kind, sent, unsent
from wallbill.sources.fetching import Limits, Request
from wallbill.sources.shell_http import Fetcher
from wallbill.store.model import Notice
from wallbill.wall.model import MailSettings, SecretRef, WatchSettings
from wallbill.wall.secrecy import is_this_machine

MOST_IN_A_LETTER = 200
"""A letter tells of so many notices at most; more of them make more letters."""

_BACK_OFF_FROM, _BACK_OFF_TO = timedelta(minutes=1), timedelta(hours=1)
_WAIT_S, _ALL_S = 20.0, 60.0
_HOOK = Limits(total_s=15.0, body_bytes=1024 * 1024, redirects=0)

Carry = Callable[[Sequence[Notice], datetime], WallbillError | None]
"""Takes a letter to whom it is for; raises `WallbillError` where it was not accepted, gives one where not by all."""


@dataclass(frozen=True, slots=True)
class _Round:
    """How far one way of sending has come: what it has accepted, what it is being offered, how often it failed."""

    accepted: frozenset[str] = frozenset()
    offered: frozenset[str] = frozenset()
    fails: int = 0
    again_at: datetime | None = None
    trouble: SeenFault | None = None


class Postman:
    """Sends what is unsent. Keeps in memory who has accepted what; one thread at a time may use it.

    ``ways``: by name, ``mail`` and ``webhook``.
    """

    def __init__(self, ways: Mapping[str, Carry]) -> None:
        self._ways = dict(ways)
        self._rounds = {name: _Round() for name in self._ways}

    def deliver(self, notices: Sequence[Notice], now: datetime) -> tuple[Notice, ...]:
        """Offers what is unsent to each way that is not waiting after a failure; may take a minute and more.

        ``notices``: all open ones, and those that ended. Gives those that everybody has accepted now, to be written to
        the store. Without any way nothing is sent, and nothing counts as sent.
        """
        waiting = {letter_id([notice]): notice for notice in unsent(notices, now)}
        for name, carry in self._ways.items():
            self._rounds[name] = _offer(name, carry, self._rounds[name], waiting=waiting, now=now)
        if not self._ways:
            return ()
        accepted = frozenset.intersection(*(each.accepted for each in self._rounds.values()))
        return tuple(sent(notice, now) for name, notice in waiting.items() if name in accepted)

    def troubles(self) -> tuple[SeenFault, ...]:
        """The ways that failed last time, for notices of their own."""
        return tuple(each.trouble for each in self._rounds.values() if each.trouble is not None)


def ways(
    settings: WatchSettings,
    secrets: Mapping[str, str],
    *,
    wall: str,
    zone: tzinfo,
    tls: ssl.SSLContext | None = None,
) -> dict[str, Carry]:
    """The ways that a wall asks for. ``secrets``: by name. ``tls``: who is trusted, None: as this machine does.

    A secret that is missing makes its way fail when it is used, and be told as that way's trouble.
    """
    found: dict[str, Carry] = {}
    if settings.mail is not None:
        found["mail"] = _mailing(settings.mail, secrets, wall=wall, zone=zone, tls=tls)
    if settings.webhook is not None:
        found["webhook"] = _posting(settings.webhook, secrets, wall=wall, tls=tls)
    return found


def _offer(
    name: str, carry: Carry, before: _Round, *, waiting: Mapping[str, Notice], now: datetime
) -> _Round:
    """One way's round: letters as long as they are accepted."""
    # That mail does not work is not told by mail: it would come when it works again.
    own = frozenset(
        key for key, each in waiting.items() if (each.kind, each.subject) == (Kind.SERVER_FAULT, name)
    )
    after = replace(
        before,
        accepted=before.accepted.intersection(waiting) | own,
        offered=before.offered.intersection(waiting) - own,
    )
    # A clock that was set back must not make anybody wait for longer than the longest wait.
    if after.again_at is not None and now < after.again_at <= now + _BACK_OFF_TO:
        return after
    while left := [key for key in waiting if key not in after.accepted]:
        # What was offered in vain is offered again as the same letter, so that its name stays the same.
        batch = [key for key in left if key in after.offered] or left[:MOST_IN_A_LETTER]
        try:
            partly = carry([waiting[key] for key in batch], now)
        except WallbillError as fault:
            failed = _failed(name, fault, after, now=now)
            return replace(failed, offered=frozenset(batch))
        trouble = None if partly is None else _failed(name, partly, after, now=now).trouble
        after = _Round(accepted=after.accepted | set(batch), trouble=trouble)
    return after


def _failed(name: str, fault: WallbillError, before: _Round, *, now: datetime) -> _Round:
    wait = min(_BACK_OFF_FROM * 2 ** min(before.fails, 10), _BACK_OFF_TO)
    since = now if before.trouble is None else min(before.trouble.since, now)
    return replace(
        before,
        fails=before.fails + 1,
        again_at=now + wait,
        trouble=SeenFault(name, f"notices cannot be sent by {name}: {fault.what}", fault.mend, since),
    )


def _secret(value: str | SecretRef | None, secrets: Mapping[str, str], field: str) -> str:
    if not isinstance(value, SecretRef):
        return value or ""
    found = secrets.get(value.name)
    if not found:
        raise LetterError(
            f"the secret {value.name} is not set",
            where=Place("wall.toml", field=field),
            mend=f"Set {value.name} in the environment or in secrets.toml.",
        )
    return found


def _posting(
    webhook: str | SecretRef, secrets: Mapping[str, str], *, wall: str, tls: ssl.SSLContext | None
) -> Carry:
    fetcher = Fetcher(_HOOK, lambda: datetime.now(UTC), tls=tls)

    def carry(notices: Sequence[Notice], now: datetime) -> WallbillError | None:
        url = _secret(webhook, secrets, "watch.webhook")
        headers = (
            ("Content-Type", "application/json"),
            # After the IETF's draft of that name (from memory): a quoted string (RFC 8941, 3.3.3).
            ("Idempotency-Key", f'"{letter_id(notices)}"'),
            ("User-Agent", "wallbill"),
        )
        body = webhook_body(notices, wall=wall)
        request = Request(url, headers, method="POST", content=body)
        # The wall's owner wrote this address: it may well lie in their own network.
        answer = fetcher.fetch(replace(request, private_hosts=(request.host.lower(),)), "watch.webhook")
        if not 200 <= answer.status < 300:
            raise LetterError(
                f"{request.host} answers {answer.status}",
                mend="Look at what the address expects; it is sent a JSON object by POST.",
            )
        return None

    return carry


def _mailing(
    settings: MailSettings, secrets: Mapping[str, str], *, wall: str, zone: tzinfo, tls: ssl.SSLContext | None
) -> Carry:
    def carry(notices: Sequence[Notice], now: datetime) -> WallbillError | None:
        password = _secret(settings.password, secrets, "watch.mail.password")
        message = mail(notices, settings, wall=wall, zone=zone, now=now)
        host = f"{settings.host}:{settings.port}"
        if settings.user and settings.security == "none" and not is_this_machine(settings.host):
            raise LetterError(
                f"a password would go to {host} for all to read",
                mend='Say security = "starttls" or "tls" under watch.mail.',
            )
        try:
            with _session(settings, tls or ssl.create_default_context()) as session:
                if settings.user:
                    session.login(settings.user, password)
                refused = session.send_message(message)
        except (smtplib.SMTPException, OSError, ValueError) as fault:
            raise _told(fault, host) from None
        if not refused:
            return None
        return LetterError(
            f"{host} refuses {len(refused)} of {len(settings.to)} addresses",
            mend="Correct watch.mail.to in wall.toml; the other addresses got the letter.",
        )

    return carry


class _Ending(smtplib.SMTP):
    """A session that ends after a minute, whatever the server does: each of its waits alone could begin anew for ever."""

    _ending: threading.Timer | None = None

    def connect(self, *args: Any, **options: Any) -> tuple[int, bytes]:
        self._ending = ending = threading.Timer(_ALL_S, self._hang_up)
        ending.daemon = True
        ending.start()
        try:
            return super().connect(*args, **options)
        except BaseException:
            ending.cancel()
            raise

    def close(self) -> None:
        super().close()
        if self._ending is not None:
            self._ending.cancel()

    def _hang_up(self) -> None:
        with contextlib.suppress(OSError, AttributeError):
            if self.sock is not None:
                self.sock.shutdown(socket.SHUT_RDWR)


class _EndingTls(_Ending, smtplib.SMTP_SSL):
    """The same, encrypted from the first byte."""


@contextlib.contextmanager
def _session(settings: MailSettings, tls: ssl.SSLContext) -> Iterator[smtplib.SMTP]:
    """A session with the mail server, encrypted as asked for."""
    session = (
        _EndingTls(settings.host, settings.port, timeout=_WAIT_S, context=tls)
        if settings.security == "tls"
        else _Ending(settings.host, settings.port, timeout=_WAIT_S)
    )
    try:
        if settings.security == "starttls":
            session.starttls(context=tls)
        yield session
        with contextlib.suppress(smtplib.SMTPException, OSError):
            session.quit()
    finally:
        session.close()


def _told(fault: Exception, host: str) -> LetterError:
    """The words for what went wrong with a mail server; its own words are left out but for the code."""
    look = "Check host, port and security under watch.mail in wall.toml, and the network."
    if isinstance(fault, smtplib.SMTPAuthenticationError):
        return LetterError(
            f"{host} refuses the user or the password ({fault.smtp_code})",
            mend="Correct watch.mail in wall.toml.",
        )
    if isinstance(fault, smtplib.SMTPRecipientsRefused):
        codes = ", ".join(sorted({str(code) for code, _ in fault.recipients.values()}))
        return LetterError(
            f"{host} refuses every address ({codes})", mend="Correct watch.mail.to in wall.toml."
        )
    if isinstance(fault, smtplib.SMTPNotSupportedError):
        return LetterError(
            f"{host} offers no encryption or no log-in",
            mend='Try another port, or security = "tls" under watch.mail.',
        )
    if isinstance(fault, smtplib.SMTPResponseException) and fault.smtp_code < 0:
        return LetterError(f"{host} does not answer as a mail server does", mend=look)
    if isinstance(fault, smtplib.SMTPResponseException):
        return LetterError(
            f"{host} refuses the letter ({fault.smtp_code})", mend="Look at the mail server's log."
        )
    if isinstance(fault, ssl.SSLCertVerificationError):
        return LetterError(
            f"the certificate of {host} cannot be trusted",
            mend="Check the host's name and its certificate; this machine's clock may also be wrong.",
        )
    if isinstance(fault, TimeoutError | smtplib.SMTPServerDisconnected):
        return LetterError(f"{host} does not answer in time or hangs up", mend=look)
    return LetterError(f"{host} cannot be reached ({type(fault).__name__})", mend=look)
