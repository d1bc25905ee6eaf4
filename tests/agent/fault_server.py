"""A server for devices that misbehaves on demand, down to the byte. Standard library only; nothing in it depends on time.

It answers each request with the next fault that was asked for, and rightly when there is none left.
"""

import base64
import hashlib
import socket
import struct
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field

DATE = "Wed, 25 Nov 2026 06:07:30 GMT"
WIDTH_PX, HEIGHT_PX = 163, 96
"""A width that is no multiple of eight, so that rows have bits to spare."""
INKS = {"black": "#000000", "white": "#ffffff", "red": "#ff0000"}
_STRIDE = -(-WIDTH_PX // 8)


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture as its plates in one piece, with its entity tag."""

    plates: bytes
    tag: str

    @property
    def digest(self) -> str:
        """The value of ``Repr-Digest``."""
        return f"sha-256=:{base64.b64encode(hashlib.sha256(self.plates).digest()).decode()}:"


def picture(number: int) -> Picture:
    """One of many pictures, all different: columns of inks, the ink of each by a fixed rule."""
    plates = [bytearray(_STRIDE * HEIGHT_PX) for _ in INKS]
    for y in range(HEIGHT_PX):
        for x in range(WIDTH_PX):
            ink = (x // 7 + y // 5 + number * (1 + x * y % 3)) % len(plates)
            plates[ink][y * _STRIDE + x // 8] |= 0x80 >> (x % 8)
    body = b"".join(bytes(plate) for plate in plates)
    return Picture(body, f'W/"{hashlib.sha256(body).hexdigest()[:32]}"')


@dataclass(frozen=True, slots=True)
class Asked:
    """A request that came. ``headers``: names in lower case."""

    method: str
    path: str
    headers: dict[str, str]
    body: bytes = b""


@dataclass(slots=True)
class Exchange:
    """A request under way, for a fault to spoil."""

    asked: Asked
    picture: Picture
    max_age_s: int
    raw: socket.socket
    released: threading.Event

    def fields(self, **other: str | None) -> dict[str, str]:
        """The fields of a right answer, with ``other`` ones (underscores for hyphens), None to leave one out."""
        fields: dict[str, str | None] = {
            "Date": DATE,
            "Content-Type": "application/octet-stream",
            "Content-Length": str(len(self.picture.plates)),
            "ETag": self.picture.tag,
            "Repr-Digest": self.picture.digest,
            "Cache-Control": f"private, max-age={self.max_age_s}",
            "Connection": "close",
        }
        fields |= {name.replace("_", "-"): value for name, value in other.items()}
        return {name: value for name, value in fields.items() if value is not None}

    def send(self, data: bytes) -> None:
        """Sends bytes as they are; a device that has hung up is left alone."""
        try:
            self.raw.sendall(data)
        except OSError:
            return

    def head(self, status: str, fields: dict[str, str]) -> None:
        """Sends a head."""
        lines = [f"HTTP/1.1 {status}", *(f"{name}: {value}" for name, value in fields.items()), "", ""]
        self.send("\r\n".join(lines).encode())

    def stall(self) -> None:
        """Does nothing until the test is over, or the device hangs up."""
        self.raw.settimeout(0.05)
        while not self.released.is_set():
            try:
                if not self.raw.recv(1):
                    return
            except TimeoutError:
                continue
            except OSError:
                return

    def reset(self) -> None:
        """Breaks the connection off."""
        self.raw.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))


Fault = Callable[[Exchange], None]


def rightly(exchange: Exchange) -> None:
    """As a server should: 304 for the tag that it has, else the picture."""
    asked = exchange.asked
    if asked.method == "POST":
        exchange.head("204 No Content", {"Date": DATE, "Connection": "close"})
    elif exchange.picture.tag in asked.headers.get("if-none-match", ""):
        exchange.head(
            "304 Not Modified",
            exchange.fields(Content_Length=None, Content_Type=None, Repr_Digest=None),
        )
    else:
        exchange.head("200 OK", exchange.fields())
        exchange.send(exchange.picture.plates if asked.method == "GET" else b"")


@dataclass(slots=True)
class FaultServer:
    """The server. ``faults``: for the next pictures that are asked for. ``report_faults``: for the next reports.

    ``max_age_s``: what a right answer tells. ``asked``: every request so far.
    """

    picture: Picture
    max_age_s: int = 1800
    faults: list[Fault] = field(default_factory=list)
    report_faults: list[Fault] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)
    address: str = ""
    _released: threading.Event = field(default_factory=threading.Event)

    @property
    def pictures_asked(self) -> list[Asked]:
        """The requests for a picture."""
        return [asked for asked in self.asked if asked.method != "POST"]

    @property
    def reports(self) -> list[Asked]:
        """The requests that brought a report."""
        return [asked for asked in self.asked if asked.method == "POST"]

    def answer(self, raw: socket.socket) -> None:
        """Answers the one request of a connection."""
        with raw:
            raw.settimeout(10)
            asked = _read(raw)
            if asked is None:
                return
            self.asked.append(asked)
            waiting = self.report_faults if asked.method == "POST" else self.faults
            fault = waiting.pop(0) if waiting else rightly
            fault(Exchange(asked, self.picture, self.max_age_s, raw, self._released))

    def release(self) -> None:
        """Lets go of every device that is being stalled."""
        self._released.set()


def _read(raw: socket.socket) -> Asked | None:
    """A request, None where it does not come whole."""
    data = b""
    while b"\r\n\r\n" not in data:
        more = raw.recv(65536)
        if not more:
            return None
        data += more
    head, _, body = data.partition(b"\r\n\r\n")
    first, *lines = head.decode("latin-1").split("\r\n")
    headers = {line.partition(":")[0].lower(): line.partition(":")[2].strip() for line in lines}
    length = int(headers.get("content-length", "0"))
    while len(body) < length:
        body += raw.recv(65536)
    method, path, _ = first.split(" ", 2)
    return Asked(method, path, headers, body)


@contextmanager
def serving(first: Picture) -> Iterator[FaultServer]:
    """A running server on 127.0.0.1."""
    server = FaultServer(first)
    listener = socket.create_server(("127.0.0.1", 0))
    server.address = f"http://127.0.0.1:{listener.getsockname()[1]}"
    workers: list[threading.Thread] = []

    def listen() -> None:
        while True:
            try:
                raw, _ = listener.accept()
            except OSError:
                return
            worker = threading.Thread(target=server.answer, args=(raw,))
            workers.append(worker)
            worker.start()

    thread = threading.Thread(target=listen)
    thread.start()
    try:
        yield server
    finally:
        server.release()
        listener.shutdown(socket.SHUT_RDWR)
        listener.close()
        thread.join()
        for worker in workers:
            worker.join()
