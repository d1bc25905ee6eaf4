"""One HTTP/1.0 exchange in little memory: a socket, TLS that verifies, and one block that everything passes through.

HTTP/1.0, so that no server sends its answer in chunks. The socket is read itself, never by ``makefile``: in a small heap a
collected stream closes a descriptor that is another's by then. Nothing blocks: each wait ends with the wake's own end,
so a server that sends a byte now and then cannot keep the radio on.
"""

import select
import socket
import time

from twin_rules import TwinError, add_field, status_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

HEAD_BYTES = 8192
NEWLINE = 10
WANTS_READ, WANTS_WRITE = 2, 3  # how CPython's TLS says that it waits; MicroPython's says None

ticks_ms = getattr(time, "ticks_ms", None) or (lambda: time.monotonic_ns() // 1000000)
ticks_diff = getattr(time, "ticks_diff", None) or (lambda end, start: end - start)
ticks_add = getattr(time, "ticks_add", None) or (lambda start, span: start + span)
pause_ms = getattr(time, "sleep_ms", None) or (lambda wait_ms: time.sleep(wait_ms / 1000))


def secured(ca: "bytes | None") -> "Any":
    """What makes a socket speak TLS with none but holders of a certificate by ``ca`` (DER); None: with anybody.

    MicroPython's own default verifies nothing. Raises `TwinError` where the firmware cannot verify.
    """
    import ssl  # noqa: PLC0415  plain HTTP has no memory to spare for it

    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    if ca is None:
        context.check_hostname = False
        context.verify_mode = ssl.CERT_NONE
        return context
    context.verify_mode = ssl.CERT_REQUIRED
    context.load_verify_locations(cadata=ca)
    if context.verify_mode != ssl.CERT_REQUIRED:
        raise TwinError("this firmware verifies no certificate")
    return context


class Wire:
    """A connection for one request. ``status``, ``fields``: of the answer's head.

    ``block``: the buffer for all that is read. ``quiet_ms``: how long it waits without a byte. ``patience_ms``: after
    which all ends, whatever the server does.
    """

    def __init__(self, block: bytearray, *, quiet_ms: int, patience_ms: int) -> None:
        self.status = 0
        self.fields: dict[str, str] = {}
        self._quiet_ms = quiet_ms
        self._block = block
        self._view = memoryview(block)
        self._start = self._end = self._head_bytes = 0
        self._ends_ms = ticks_add(ticks_ms(), patience_ms)
        self._open: list[Any] = []
        self._stream: Any = None
        self._poll = select.poll()

    def open(self, host: str, port: int, context: "Any" = None) -> None:
        """Connects; with a ``context`` TLS is spoken, whose handshake takes place with the first bytes sent."""
        address = socket.getaddrinfo(host, port, 0, socket.SOCK_STREAM)[0]
        stream: Any = socket.socket(address[0], socket.SOCK_STREAM)
        self._open.append(stream)
        stream.settimeout(self._quiet_ms / 1000)
        stream.connect(address[-1])
        stream.setblocking(False)
        if context is not None:
            stream = context.wrap_socket(stream, server_hostname=host, do_handshake_on_connect=False)
            self._open.append(stream)
        if not hasattr(stream, "readinto"):
            stream = stream.makefile("rwb", buffering=0)  # CPython only
            self._open.append(stream)
        self._stream = stream
        self._poll.register(stream, select.POLLIN)

    def ask(self, request: bytes) -> None:
        """Sends a request and reads the head of its answer."""
        view = memoryview(request)
        while view:
            view = view[self._patiently(self._stream.write, view, select.POLLOUT) :]
        self.status = status_of(self._line())
        line = self._line()
        while line.strip():
            add_field(self.fields, line)
            line = self._line()

    def body(self) -> memoryview:
        """The next bytes of the body, none at its end. They hold until the next call."""
        if self._start == self._end:
            self._fill()
        part = self._view[self._start : self._end]
        self._start = self._end
        return part

    def close(self) -> None:
        """Lets go of the connection, whatever state it is in."""
        for each in reversed(self._open):
            try:
                each.close()
            except OSError:
                continue
        self._open = []

    def _line(self) -> bytes:
        """A line of the head. Of one that is longer than the block only the end comes back: it is none of ours."""
        line = b""
        while True:
            if self._start == self._end and not self._fill():
                raise TwinError("the head is cut")
            if self._head_bytes > HEAD_BYTES:
                raise TwinError("the head has no end")
            stop = self._start
            while stop < self._end and self._block[stop] != NEWLINE:
                stop += 1
            is_whole = stop < self._end
            if len(line) + stop - self._start > len(self._block):
                line = b"?"
            line += bytes(self._view[self._start : stop])
            self._head_bytes += stop - self._start + 1
            self._start = stop + is_whole
            if is_whole:
                return line

    def _fill(self) -> int:
        """Reads what has come into the block; gives how much, 0 at the end of all."""
        self._start = 0
        self._end = self._patiently(self._stream.readinto, self._view, select.POLLIN)
        return self._end

    def _patiently(self, does: "Callable[[memoryview], int | None]", view: memoryview, event: int) -> int:
        """What ``does`` gives once it can be done. Raises `TwinError` where nothing moves for long, or the wake is over."""
        while True:
            wanted = event
            try:
                done = does(view)
            except OSError as error:
                if error.errno not in (WANTS_READ, WANTS_WRITE):
                    raise
                done = None
                wanted = select.POLLIN if error.errno == WANTS_READ else select.POLLOUT
            if done is not None:
                return done
            left_ms = ticks_diff(self._ends_ms, ticks_ms())
            self._poll.modify(self._stream, wanted)
            if left_ms <= 0 or not self._poll.poll(min(left_ms, self._quiet_ms)):
                raise TwinError("the server stalls")
