"""One HTTP/1.1 exchange on a socket of its own, verified TLS, with an end to every wait.

The standard library's client would take 4 MB and 15 ms more than a socket does, follows what it should not, and has no limit
for an exchange as a whole (docs/reference/agent.md).
"""

from __future__ import annotations

import errno
import socket
import time
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from wallbill.agent.device.addresses import REDIRECTS, Target, redirected
from wallbill.agent.device.answers import Head, RefusedError, is_chunked, length_bytes, read_head
from wallbill.agent.device.settings import Network

_BLOCK_BYTES = 16384
_HEAD_BYTES = 16384
_MOST_REDIRECTS = 3
_NO_CHECK_TIME = 0x200000  # X509_V_FLAG_NO_CHECK_TIME of OpenSSL (x509_vfy.h)
_NOT_UP_YET = (errno.ENETUNREACH, errno.ENETDOWN, errno.EHOSTUNREACH, errno.EADDRNOTAVAIL)


class Request(NamedTuple):
    """What is asked. ``most_bytes``: a longer body is refused."""

    method: str
    target: Target
    headers: Mapping[str, str]
    body: bytes = b""
    most_bytes: int = 0


class Answer(NamedTuple):
    """What came. ``join_ms``: until the connection stood, ``transfer_ms``: from then to the end of the body."""

    head: Head
    join_ms: int
    transfer_ms: int


def exchange(
    request: Request, network: Network, *, accept: Callable[[Head], None], sink: Callable[[bytes], object]
) -> Answer:
    """Asks, follows the few redirects that are allowed, and gives the body of a 200 to ``sink`` piece by piece.

    ``accept``: sees the head of a 200 before its body, and raises `RefusedError` for one that is not wanted.
    Raises `RefusedError`, or `OSError` where the network fails.
    """
    ends_s = time.monotonic() + network.patience_s
    for _ in range(_MOST_REDIRECTS + 1):
        began = time.monotonic()
        wire = _Wire(_connected(request.target, network, ends_s), network, ends_s)
        try:
            joined = time.monotonic()
            wire.send(_asking(request))
            head = wire.head()
            if head.status == 200 and request.method == "GET":
                accept(head)
                for part in wire.body(head, request.most_bytes):
                    sink(part)
        finally:
            wire.close()
        if head.status in REDIRECTS and request.method != "POST":
            request = request._replace(target=redirected(request.target, head.fields.get("location", "")))
            continue
        return Answer(head, _ms(joined - began), _ms(time.monotonic() - joined))
    raise RefusedError("sent on and on")


def _ms(span_s: float) -> int:
    return max(0, round(span_s * 1000))


def _asking(request: Request) -> bytes:
    """The request as bytes; one exchange a connection."""
    fields = {"Host": request.target.host_field, **request.headers, "Connection": "close"}
    if request.method == "POST":
        fields["Content-Length"] = str(len(request.body))
    lines = [f"{request.method} {request.target.path} HTTP/1.1", *(f"{k}: {v}" for k, v in fields.items())]
    return "\r\n".join((*lines, "", "")).encode("latin-1") + request.body


def _connected(target: Target, network: Network, ends_s: float) -> socket.socket:
    """A connection. While the network is not up yet, it is tried again, for ``network.join_s``."""
    until_s = min(time.monotonic() + network.join_s, ends_s)
    while True:
        try:
            raw = _any_address(target, network, ends_s)
        except UnicodeError as error:
            raise OSError(f"no name of a machine: {target.host}") from error
        except OSError as error:
            waits = isinstance(error, socket.gaierror) or error.errno in _NOT_UP_YET
            if not waits or time.monotonic() + 2 > until_s:
                raise
            time.sleep(2)
            continue
        if not target.is_secure:
            return raw
        try:
            return _secured(raw, target, network)
        except BaseException:
            raw.close()
            raise


def _any_address(target: Target, network: Network, ends_s: float) -> socket.socket:
    """A connection to the first of the host's addresses that takes one."""
    fault: OSError = OSError("no address")
    for family, kind, protocol, _, place in socket.getaddrinfo(
        target.host, target.port, type=socket.SOCK_STREAM
    ):
        found = socket.socket(family, kind, protocol)
        try:
            found.settimeout(max(0.01, min(network.quiet_s, ends_s - time.monotonic())))
            found.connect(place)
        except OSError as error:
            found.close()
            fault = error
        else:
            return found
    raise fault


def _secured(raw: socket.socket, target: Target, network: Network) -> socket.socket:
    """TLS over a connection, the host's name and its certificate verified. Raises `OSError` where they do not hold."""
    import ssl  # noqa: PLC0415  costs 2 MB that plain HTTP on a house's own network can do without

    context = ssl.create_default_context(cafile=network.ca_file or None)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    if not network.check_dates:
        context.verify_flags |= ssl.VerifyFlags(_NO_CHECK_TIME)
    return context.wrap_socket(raw, server_hostname=target.host)


class _Wire:
    """A connection as a stream of bytes, each wait ended by silence or by the end of the exchange."""

    def __init__(self, raw: Any, network: Network, ends_s: float) -> None:
        self._raw = raw
        self._quiet_s = network.quiet_s
        self._ends_s = ends_s
        self._rest = b""

    def close(self) -> None:
        """Lets go of the connection."""
        self._raw.close()

    def send(self, data: bytes) -> None:
        """Sends all of it."""
        self._hurry()
        try:
            self._raw.sendall(data)
        except socket.timeout:  # its own kind in Python 3.9
            raise RefusedError("the server stalls") from None

    def head(self) -> Head:
        """The head of the answer; those that only tell to go on (1xx) are left out."""
        while True:
            data = self._until(b"\r\n\r\n")
            head = read_head(data)
            if head.status >= 200:
                return head

    def body(self, head: Head, most_bytes: int) -> Any:
        """The pieces of the body. Raises `RefusedError` where it is too long, cut, or coded in a way that is not HTTP's."""
        total = 0
        told = length_bytes(head)
        if told is not None and told > most_bytes:
            raise RefusedError(f"a body of {told} bytes is too long")
        pieces = self._chunks(most_bytes) if is_chunked(head) else self._plain(told)
        for piece in pieces:
            total += len(piece)
            if total > most_bytes:
                raise RefusedError("the body is too long")
            yield piece
        if told is not None and total != told:
            raise RefusedError(f"the body is cut: {total} of {told} bytes")

    def _plain(self, told: int | None) -> Any:
        """The body up to its length, or to the end of the connection."""
        left = told
        while left is None or left > 0:
            piece = self._rest or self._more()
            self._rest = b""
            if not piece:
                return
            if left is not None:
                piece = piece[:left]
                left -= len(piece)
            yield piece

    def _chunks(self, most_bytes: int) -> Any:
        """The body of a chunked answer (RFC 9112, 7.1)."""
        while True:
            line = self._until(b"\r\n").split(b";")[0].strip()
            if not line or len(line) > 8 or not set(line) <= set(b"0123456789abcdefABCDEF"):
                raise RefusedError("a chunk without its length")
            left = int(line, 16)
            if left > most_bytes:
                raise RefusedError("the body is too long")
            if not left:
                while self._until(b"\r\n"):
                    pass
                return
            while left:
                piece = self._rest or self._more()
                if not piece:
                    raise RefusedError("the body is cut in a chunk")
                self._rest = piece[left:]
                piece = piece[:left]
                left -= len(piece)
                yield piece
            if self._until(b"\r\n"):
                raise RefusedError("a chunk of another length than told")

    def _until(self, mark: bytes) -> bytes:
        """What comes before a mark, which is taken off. Raises `RefusedError` if it does not come."""
        data = self._rest
        while mark not in data:
            if len(data) > _HEAD_BYTES:
                raise RefusedError("the head has no end")
            more = self._more()
            if not more:
                raise RefusedError("the answer is cut in its head" if data else "no answer")
            data += more
        found, _, self._rest = data.partition(mark)
        return found

    def _more(self) -> bytes:
        """The next bytes, none at the end of the connection."""
        self._hurry()
        try:
            return bytes(self._raw.recv(_BLOCK_BYTES))
        except socket.timeout:  # its own kind in Python 3.9
            raise RefusedError("the server stalls") from None

    def _hurry(self) -> None:
        left_s = self._ends_s - time.monotonic()
        if left_s <= 0:
            raise RefusedError("the exchange takes too long")
        self._raw.settimeout(min(self._quiet_s, left_s))
