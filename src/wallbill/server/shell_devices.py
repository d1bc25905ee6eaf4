"""The devices' part of the server as an ASGI application: sockets on one side, `answering.py` on the other."""

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping, MutableMapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import lru_cache
from time import monotonic
from types import MappingProxyType
from typing import Any

from wallbill.errors import WallbillError
from wallbill.server.answering import answer, later, opened
from wallbill.server.heads import written_date
from wallbill.server.model import Answer, Body, Form, Head, Hung, Wanted
from wallbill.server.openapi import openapi_bytes
from wallbill.server.proxies import Caller, Network, caller_of
from wallbill.server.rates import Buckets, Limits, counted_as
from wallbill.server.refusing import problem, refusal, too_often, without_body
from wallbill.server.reporting import MOST_BYTES, ReportError, read_report, too_long
from wallbill.server.shell_shelf import LiveShelf

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Scope = MutableMapping[str, Any]
App = Callable[[Scope, Receive, Send], Awaitable[None]]
MakeBody = Callable[[str, Form], Awaitable[Body]]

_LOG = logging.getLogger("wallbill.server.devices")
_HEADERS = frozenset(
    {b"authorization", b"content-length", b"forwarded", b"if-match", b"if-modified-since", b"if-none-match",
     b"if-unmodified-since", b"x-forwarded-for", b"x-forwarded-proto"}
)  # fmt: skip
_MAKE_AGAIN_S = 60
_TRIES = 3


def _ignore(*_: object) -> None:
    """What is told to nobody."""


@dataclass(frozen=True, slots=True)
class DeviceSettings:
    """How the devices' addresses are guarded and watched.

    ``trusted``: proxies whose word is taken for the caller's address. ``answered``: told each answer's status and form;
    ``contacted``: told each call of a display. ``paths``: of the rest of the server, for its OpenAPI document.
    """

    limits: Limits = field(default_factory=Limits)
    trusted: tuple[Network, ...] = ()
    answered: Callable[[int, str], None] = _ignore
    contacted: Callable[[], None] = _ignore
    paths: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))


def utc_now() -> datetime:
    """The moment, aware, UTC."""
    return datetime.now(UTC)


def device_app(
    shelf: LiveShelf,
    other: App,
    *,
    make_body: MakeBody | None = None,
    clock: Callable[[], datetime] = utc_now,
    settings: DeviceSettings | None = None,
) -> App:
    """An ASGI application that answers devices under ``/displays/`` and hands all else to ``other``.

    ``make_body``: makes a form of the edition that ``shelf.hung(display)`` holds when it is called; without it only the
    forms that hang already are given. ``/openapi.json`` is answered too.
    """
    return _DeviceApp(shelf, other, clock, settings or DeviceSettings(), make_body)


class _GoneError(Exception):
    """The caller has hung up."""


class _DeviceApp:
    """See `device_app`."""

    def __init__(
        self,
        shelf: LiveShelf,
        other: App,
        clock: Callable[[], datetime],
        settings: DeviceSettings,
        make_body: MakeBody | None,
    ) -> None:
        self._shelf, self._other, self._clock = shelf, other, clock
        self._settings, self._make_body = settings, make_body
        limits = settings.limits
        self._displays = Buckets(limits.display, most=limits.most_counted)
        self._refused = Buckets(limits.refused, most=limits.most_counted)
        self._making: dict[tuple[str, Form, int], asyncio.Task[Body]] = {}
        self._openapi = openapi_bytes(settings.paths)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._other(scope, receive, send)
        elif scope["path"].startswith("/displays/"):
            await self._device(scope, receive, send)
        elif scope["path"] == "/openapi.json":
            await _send(self._document(scope["method"]), send)
        else:
            await self._rest(scope, receive, send)

    async def _device(self, scope: Scope, receive: Receive, send: Send) -> None:
        head, now = self._head(scope), self._clock()
        if head.method == "POST":
            try:
                said = await self._report(head, receive, now)
            except _GoneError:
                return
        else:
            said = await self._picture(head, now)
        if said.contact is not None:
            self._shelf.note(said.contact)
            self._settings.contacted()
        self._settings.answered(said.status, head.path.rpartition(".")[2])
        await _send(said, send)

    async def _picture(self, head: Head, now: datetime) -> Answer:
        """The answer to a device that wants a picture, or to somebody who wants anything else."""
        found = answer(head, self._shelf, now)
        if isinstance(found, Wanted):
            wait_s = self._displays.take(found.display, monotonic())
            return too_often(wait_s, now=now) if wait_s else await self._made(head, found)
        return self._within_rates(found, head, now)

    def _within_rates(self, found: Answer, head: Head, now: datetime) -> Answer:
        """The answer, or the refusal of who asks too often.

        A good key is never refused for what others do from the same address.
        """
        if found.contact is not None:
            wait_s = self._displays.take(found.contact.display, monotonic())
        else:
            wait_s = self._refused.take(counted_as(head.peer), monotonic())
        if not wait_s:
            return found
        said = too_often(wait_s, now=now)
        return without_body(said) if head.method == "HEAD" else said

    async def _made(self, head: Head, wanted: Wanted) -> Answer:
        """The answer, once the form that it needs is made. Another edition may be hung meanwhile."""
        for _ in range(_TRIES):
            hung = self._shelf.hung(wanted.display)
            if hung is None or hung.edition is None or self._make_body is None:
                break
            try:
                body = await self._once(hung, wanted.form)
            except WallbillError as error:
                _LOG.warning("%s cannot be given as %s: %s", wanted.display, wanted.form, error)
                break
            except Exception:  # noqa: BLE001  whatever it is, the device is told when to come again
                _LOG.exception("%s cannot be given as %s", wanted.display, wanted.form)
                break
            self._shelf.add_form(hung, wanted.form, body)
            found = answer(head, self._shelf, self._clock())
            if isinstance(found, Answer):
                return found
        return _not_made(wanted.display, self._clock())

    async def _once(self, hung: Hung, form: Form) -> Body:
        """Makes a form, once for all who wait for it; who hangs up does not stop it for the others."""
        assert hung.edition is not None
        assert self._make_body is not None
        key = hung.name, form, hung.edition.number
        task = self._making.get(key)
        if task is None:
            task = self._making[key] = asyncio.ensure_future(_awaited(self._make_body(hung.name, form)))
            task.add_done_callback(lambda _: self._making.pop(key, None))
        return await asyncio.shield(task)

    async def _report(self, head: Head, receive: Receive, now: datetime) -> Answer:
        """The answer to a report, which is in the book then. Raises `_GoneError`."""
        found = opened(head, self._shelf, now)
        if isinstance(found, Answer):
            return problem(self._within_rates(found, head, now))
        wait_s = self._displays.take(found.display, monotonic())
        if wait_s:
            return problem(too_often(wait_s, now=now))
        try:
            body = await _body(head, receive, display=found.display)
            self._shelf.tell(read_report(body, display=found.display, now=now))
        except ReportError as error:
            more = (("Connection", "close"),) if error.status == 413 else ()
            said = refusal(error.status, error.what, mend=error.mend, now=now, more=more)
            return problem(said, faults=error.faults)
        return Answer(204, (("Date", written_date(int(now.timestamp()))),))

    def _head(self, scope: Scope) -> Head:
        headers: dict[str, str] = {}
        for name, value in scope["headers"]:
            if name in _HEADERS:
                key, text = name.decode(), value.decode("latin-1")
                headers[key] = f"{headers[key]}, {text}" if key in headers else text
        client = scope.get("client")
        peer = client[0] if client else ""
        if self._settings.trusted:
            peer = self._caller(peer, "", headers).peer
        query = scope["query_string"]
        return Head(scope["method"], scope["path"], query.decode("latin-1") if query else "", headers, peer)

    def _caller(self, peer: str, scheme: str, headers: Mapping[str, str]) -> Caller:
        return caller_of(
            Caller(peer, scheme),
            forwarded=headers.get("forwarded"),
            x_forwarded=headers.get("x-forwarded-for"),
            x_proto=headers.get("x-forwarded-proto"),
            trusted=self._settings.trusted,
        )

    def _document(self, method: str) -> Answer:
        """The OpenAPI document."""
        now = self._clock()
        if method not in {"GET", "HEAD"}:
            more = (("Allow", "GET, HEAD"),)
            return refusal(405, "this method does not work here", mend="Use GET.", now=now, more=more)
        headers = (
            ("Date", written_date(int(now.timestamp()))),
            ("Content-Type", "application/openapi+json"),
            ("Content-Length", str(len(self._openapi))),
        )
        return Answer(200, headers, b"" if method == "HEAD" else self._openapi)

    async def _rest(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hands a request on, with the caller's true address; sees to it that the answer is dated (RFC 9110, 6.6.1)."""
        if self._settings.trusted and scope.get("client"):
            caller = self._caller(scope["client"][0], scope["scheme"], self._head(scope).headers)
            scope = {**scope, "client": (caller.peer, scope["client"][1]), "scheme": caller.scheme}

        async def dated(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = list(message.get("headers", ()))
                if not any(name == b"date" for name, _ in headers):
                    headers.append((b"date", written_date(int(self._clock().timestamp())).encode()))
                message = {**message, "headers": headers}
            await send(message)

        await self._other(scope, receive, dated)


async def _awaited(body: Awaitable[Body]) -> Body:
    return await body


async def _body(head: Head, receive: Receive, *, display: str) -> bytes:
    """A report's body. Raises `ReportError` where it is too long, as soon as that is known, and `_GoneError`."""
    told = head.headers.get("content-length", "")
    if told.isdigit() and int(told[:20]) > MOST_BYTES:
        raise too_long(display)
    found: bytes = b""
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            raise _GoneError
        found += message.get("body", b"")
        if len(found) > MOST_BYTES:
            raise too_long(display)
        if not message.get("more_body", False):
            return found


def _not_made(display: str, now: datetime) -> Answer:
    return later(
        display,
        _MAKE_AGAIN_S,
        "the picture cannot be given in this form now",
        mend="Come back when Retry-After says, or ask for another form.",
        now=now,
    )


@lru_cache(maxsize=64)
def _lower(name: str) -> bytes:
    return name.lower().encode()


async def _send(said: Answer, send: Send) -> None:
    headers = [(_lower(name), value.encode("latin-1")) for name, value in said.headers]
    await send({"type": "http.response.start", "status": said.status, "headers": headers})
    await send({"type": "http.response.body", "body": said.body})
