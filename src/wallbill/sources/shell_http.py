"""The network: one GET at a time, within limits of time and size, and never into one's own network unasked."""

import socket
import ssl
import time
import zlib
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime
from typing import Any

import httpcore2
import httpx2

from wallbill.errors import Place, SourceError
from wallbill.sources.asking import follow
from wallbill.sources.fetching import Answer, Limits, Request
from wallbill.sources.judging import is_public

_REDIRECTS = frozenset({301, 302, 303, 307, 308})
_CHUNK = 65_536


class _Deadline(httpcore2.NetworkStream):
    """A stream whose every wait ends at one moment, so that a server that drips bytes cannot hold us."""

    def __init__(self, stream: httpcore2.NetworkStream, left_s: Callable[[], float]) -> None:
        self._stream = stream
        self._left_s = left_s

    def read(self, max_bytes: int, timeout: float | None = None) -> bytes:
        return self._stream.read(max_bytes, self._left_s())

    def write(self, buffer: bytes, timeout: float | None = None) -> None:
        self._stream.write(buffer, self._left_s())

    def close(self) -> None:
        self._stream.close()

    def start_tls(
        self, ssl_context: ssl.SSLContext, server_hostname: str | None = None, timeout: float | None = None
    ) -> httpcore2.NetworkStream:
        return _Deadline(self._stream.start_tls(ssl_context, server_hostname, self._left_s()), self._left_s)

    def get_extra_info(self, info: str) -> Any:
        return self._stream.get_extra_info(info)


class _Guard(httpcore2.NetworkBackend):
    """Connects to the very addresses that it has judged, so that a name cannot change its mind in between."""

    def __init__(self, private_hosts: tuple[str, ...], left_s: Callable[[], float]) -> None:
        self._backend = httpcore2.SyncBackend()
        self._private_hosts = private_hosts
        self._left_s = left_s

    def connect_tcp(self, host: str, port: int, *args: Any, **options: Any) -> httpcore2.NetworkStream:
        # Neither a local address nor socket options are ever set on the pool, so what else comes may be left aside.
        last: Exception | None = None
        for address in self._addresses(host, port):
            try:
                stream = self._backend.connect_tcp(address, port, self._left_s(), socket_options=[])
            except (httpcore2.ConnectError, httpcore2.ConnectTimeout) as fault:
                last = fault
            else:
                return _Deadline(stream, self._left_s)
        raise last or httpcore2.ConnectError("the name has no address")

    def _addresses(self, host: str, port: int) -> list[str]:
        """The host's addresses that may be asked; raises `SourceError` if it has private ones only."""
        try:
            told = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
        except (OSError, UnicodeError):
            raise httpcore2.ConnectError("its name is not known") from None
        addresses = list(dict.fromkeys(str(entry[4][0]) for entry in told))
        named = {name.strip("[]") for name in self._private_hosts}
        allowed = [a for a in addresses if host.lower() in named or a in named or is_public(a)]
        if addresses and not allowed:
            raise SourceError(
                f"{host} lies in a private network",
                mend=f'If you mean it, add private_hosts = ["{host}"] to the source.',
            )
        return allowed


class Fetcher:
    """Fetches payloads. Holds no connection between two fetches; may be used from several threads.

    ``clock``: gives now, aware, UTC. ``tls``: which certificates are trusted; None: those that this machine trusts.
    """

    def __init__(
        self, limits: Limits, clock: Callable[[], datetime], *, tls: ssl.SSLContext | None = None
    ) -> None:
        self._limits = limits
        self._clock = clock
        self._ssl = tls or httpx2.create_ssl_context()

    def now(self) -> datetime:
        """The moment by the fetcher's clock, aware, UTC."""
        return self._clock().astimezone(UTC)

    def fetch(self, request: Request, source: str) -> Answer:
        """The answer to a request, redirects followed, its body unpacked.

        Raises `SourceError` (names the host, never the address) if there is none within the limits, if the answer
        is too large or cut short, or if the host may not be asked.
        """
        ends_at_s = time.monotonic() + self._limits.of(request).total_s

        def left_s() -> float:
            return max(ends_at_s - time.monotonic(), 0.001)

        for _ in range(self._limits.redirects + 1):
            answer = self._once(request, source, left_s)
            if answer.status not in _REDIRECTS:
                return answer
            request = follow(request, answer.headers.get("location"), source)
        raise SourceError(
            f"it redirects more than {self._limits.redirects} times",
            where=Place(source, field=request.host),
            mend="Give the address that it ends at.",
        )

    def _once(self, request: Request, source: str, left_s: Callable[[], float]) -> Answer:
        where = Place(source, field=request.host)
        requested_at = self.now()
        guard = _Guard(request.private_hosts, left_s)
        try:
            url = httpx2.URL(request.url)
            target = httpcore2.URL(
                scheme=url.raw_scheme, host=url.raw_host, port=url.port, target=url.raw_path
            )
            with (
                httpcore2.ConnectionPool(ssl_context=self._ssl, network_backend=guard) as pool,
                pool.stream(
                    request.method, target, headers=list(request.headers), content=request.content or None
                ) as response,
            ):
                headers = _headers(response.headers)
                limits = self._limits.of(request)
                body = b"".join(_unpacked(response, headers, limits.body_bytes))
        except httpcore2.TimeoutException:
            raise _late(where, self._limits.of(request).total_s) from None
        except SourceError as fault:
            raise SourceError(fault.what, where=where, mend=fault.mend) from None
        except (httpcore2.NetworkError, httpcore2.ProtocolError, httpx2.InvalidURL, OSError) as fault:
            raise _unreachable(fault, where) from None
        return Answer(response.status, headers, body, requested_at, self.now())


def _late(where: Place, total_s: float) -> SourceError:
    return SourceError(
        f"no full answer within {total_s:g} s",
        where=where,
        mend="Nothing, if it happens once: it is asked again later. Else look at the network.",
    )


def _unpacked(response: httpcore2.Response, headers: dict[str, str], most_bytes: int) -> Iterator[bytes]:
    """The body in pieces, unpacked, up to a limit; a redirect's body is not read."""
    if response.status in _REDIRECTS:
        return
    encoding = headers.get("content-encoding", "identity").strip().lower()
    if encoding not in {"identity", "gzip", "x-gzip", ""}:
        raise SourceError(
            f"it is packed as {encoding[:20]!r}, which was not asked for",
            mend="Look at what the address gives.",
        )
    pieces = response.iter_stream() if encoding in {"identity", ""} else _gunzip(response.iter_stream())
    total = 0
    for piece in pieces:
        total += len(piece)
        if total > most_bytes:
            raise SourceError(
                f"it is larger than {most_bytes / 2**20:g} MiB",
                mend="Ask for less: a shorter span, or fewer values.",
            )
        yield piece


def _headers(pairs: Iterable[tuple[bytes, bytes]]) -> dict[str, str]:
    """Headers by name in lower case; those of one name joined by commas (RFC 9110, 5.3)."""
    joined: dict[str, str] = {}
    for raw_name, raw_value in pairs:
        name, value = raw_name.decode("latin-1").lower(), raw_value.decode("latin-1").strip()
        joined[name] = f"{joined[name]}, {value}" if name in joined else value
    return joined


def _gunzip(chunks: Iterable[bytes]) -> Iterator[bytes]:
    """A gzip body (RFC 1952) unpacked in pieces of bounded size, however well it is packed."""
    decoder = zlib.decompressobj(wbits=31)
    ended = False
    for chunk in chunks:
        rest = chunk
        while rest:
            if decoder.eof:
                decoder = zlib.decompressobj(wbits=31)
            try:
                yield decoder.decompress(rest, _CHUNK)
            except zlib.error:
                raise SourceError("its gzip is broken", mend="Fetch it again.") from None
            rest = decoder.unconsumed_tail or decoder.unused_data
            ended = decoder.eof
    if not ended:
        raise SourceError("its gzip is cut short", mend="Fetch it again.")


def _unreachable(fault: Exception, where: Place) -> SourceError:
    """The words for a failure below HTTP; libraries' own words are kept only where they cannot hold an address."""
    text = str(fault)
    if "CERTIFICATE_VERIFY_FAILED" in text:
        return SourceError(
            "its certificate cannot be trusted",
            where=where,
            mend="Check the host's name and its certificate; this machine's clock may also be wrong.",
        )
    if isinstance(fault, httpcore2.RemoteProtocolError):
        return SourceError("its answer breaks off or is no HTTP", where=where, mend="Fetch it again.")
    if isinstance(fault, httpcore2.ConnectError):
        why = text if text.startswith(("its name", "the name")) else "no connection"
        return SourceError(
            f"cannot be reached: {why}", where=where, mend="Check the network and the address."
        )
    return SourceError(
        f"the connection failed ({type(fault).__name__})",
        where=where,
        mend="Check the network and the address.",
    )
