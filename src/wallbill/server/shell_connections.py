"""Connections that are watched: each has so long to send a request, and there are only so many.

A request that never ends, a caller who never reads, and hundreds of connections that say nothing must not keep a device
out. So every connection is looked at once a second, and where there is no room left, the one that has kept us waiting
longest makes room for the new one.
"""

import asyncio
from collections.abc import Iterable
from dataclasses import dataclass
from importlib.util import find_spec
from time import time
from typing import TYPE_CHECKING, Any, ClassVar

from uvicorn.protocols.http.h11_impl import H11Protocol

from wallbill.server.heads import written_date

if TYPE_CHECKING:
    _Base = H11Protocol
else:
    _Base = object


@dataclass(frozen=True, slots=True)
class Guard:
    """What a connection may take.

    ``head_s``: from its beginning until the head of a request is there; ``body_s``: for the body after that; ``idle_s``:
    between two requests; ``read_s``: without taking what is sent to it; ``handshake_s``: for TLS. ``connections``: at once,
    on one port. ``head_bytes``, ``body_bytes``: of a request.
    """

    head_s: float = 10.0
    body_s: float = 20.0
    idle_s: float = 15.0
    read_s: float = 30.0
    handshake_s: float = 10.0
    connections: int = 512
    head_bytes: int = 16_384
    body_bytes: int = 1 << 20


class Watched(_Base):
    """What is added to uvicorn's protocols: how long each has been waited for, and how much it has sent."""

    guard: ClassVar[Guard]

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        """Begins to watch; makes room where there is none."""
        self._since_s = self.loop.time()
        self._reused = False
        self._stalled_s = 0.0
        self._fed = 0
        super().connection_made(transport)  # type: ignore[arg-type]  # uvicorn narrows it to what it is
        if len(self.connections) > self.guard.connections:
            self._make_room()

    def data_received(self, data: bytes) -> None:
        """Counts what comes in before it is read."""
        cycle = self._cycle()
        before, guard = self._fed, self.guard
        self._fed += len(data)
        if cycle is None or cycle.response_complete:
            room = guard.head_bytes - before
            if len(data) > room and data.find(b"\r\n\r\n", 0, max(room, 0)) < 0:
                self.refuse(431, "Request Header Fields Too Large")
                return
        elif self._fed > guard.body_bytes:
            cycle.disconnected = True
            cycle.message_event.set()
            self.refuse(413, "Content Too Large")
            return
        super().data_received(data)
        if self.cycle is not cycle:
            self._fed = 0

    def on_response_complete(self) -> None:
        """From here on the next request is waited for."""
        self._since_s = self.loop.time()
        self._reused = True
        self._fed = 0
        super().on_response_complete()

    def pause_writing(self) -> None:
        """The other side takes nothing."""
        self._stalled_s = self.loop.time()
        super().pause_writing()

    def send_400_response(self, msg: str) -> None:
        """What cannot be read is refused in our own words; ``msg`` is uvicorn's."""
        self.refuse(400, "Bad Request")

    def refuse(self, status: int, reason: str) -> None:
        """Refuses whatever is coming in, and hangs up."""
        if self.transport.is_closing():
            return
        text = f"{reason.lower()}\n"
        self.transport.write(
            f"HTTP/1.1 {status} {reason}\r\nDate: {written_date(int(time()))}\r\nContent-Type: text/plain; charset=utf-8\r\n"
            f"Content-Length: {len(text)}\r\nConnection: close\r\n\r\n{text}".encode()
        )
        self.transport.close()

    def waits(self) -> bool:
        """Whether it is the other side's turn: nothing of its is being answered."""
        cycle = self._cycle()
        return cycle is None or cycle.response_complete or cycle.more_body or self.flow.write_paused

    def since_s(self) -> float:
        """Since when it is the other side's turn, by the clock of the loop."""
        return self._since_s

    def is_late(self, now_s: float) -> bool:
        """Whether the other side has had its time. ``now_s``: by the clock of the loop."""
        guard, cycle = self.guard, self._cycle()
        if self.transport.is_closing() or self.flow.write_paused:
            # What was written to it is not taken.
            self._stalled_s = self._stalled_s or now_s
            return now_s - self._stalled_s > guard.read_s
        self._stalled_s = 0.0
        limit_s = guard.head_s + (guard.idle_s if self._reused else 0.0)
        if cycle is not None and not cycle.response_complete:
            if not cycle.more_body:
                return False
            limit_s += guard.body_s
        return now_s - self._since_s > limit_s

    def _cycle(self) -> Any:
        """The request that came last; None before the first one, whatever its type says."""
        return self.cycle

    def _make_room(self) -> None:
        waiting = [each for each in watched(self.connections) if each is not self and each.waits()]
        if not waiting:
            self.refuse(503, "Service Unavailable")
            return
        longest = min(waiting, key=Watched.since_s)
        self.connections.discard(longest)
        longest.transport.abort()


def watched(connections: Iterable[Any]) -> list[Watched]:
    """The connections of a server, as a list that stays while they go."""
    return [each for each in connections if isinstance(each, Watched)]


def guarded_protocol(guard: Guard) -> type[asyncio.Protocol]:
    """Uvicorn's protocol, the fast one where httptools is installed, under a guard."""
    base: type[Any] = H11Protocol
    if find_spec("httptools") is not None:
        from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol  # noqa: PLC0415  an extra

        base = HttpToolsProtocol
    made: type[asyncio.Protocol] = type("GuardedProtocol", (Watched, base), {"guard": guard})
    return made
