"""What goes wrong between a server and a device, one function each."""

import base64
import gzip
import hashlib
import zlib
from collections.abc import Callable
from types import MappingProxyType

from tests.agent.fault_server import Exchange, Fault, picture

PAGE = b"<!doctype html><title>Welcome</title><p>Please accept our terms to use this network."


def refused_at_once(exchange: Exchange) -> None:
    """The connection is closed without a byte."""


def reset_at_once(exchange: Exchange) -> None:
    """The connection is reset without a byte."""
    exchange.reset()


def reset_in_body(exchange: Exchange) -> None:
    """The connection is reset in the middle of the body."""
    exchange.head("200 OK", exchange.fields())
    exchange.send(exchange.picture.plates[:1000])
    exchange.reset()


def cut_in_head(exchange: Exchange) -> None:
    """The head ends in the middle."""
    exchange.send(b"HTTP/1.1 200 OK\r\nContent-Type: application/oct")


def cut_in_body(exchange: Exchange) -> None:
    """The body ends before its length."""
    exchange.head("200 OK", exchange.fields())
    exchange.send(exchange.picture.plates[:-1])


def no_body(exchange: Exchange) -> None:
    """Nothing comes after the head."""
    exchange.head("200 OK", exchange.fields())


def stalled_before_head(exchange: Exchange) -> None:
    """Nothing ever comes."""
    exchange.stall()


def stalled_in_body(exchange: Exchange) -> None:
    """The body stops coming."""
    exchange.head("200 OK", exchange.fields())
    exchange.send(exchange.picture.plates[:2000])
    exchange.stall()


def dripping(exchange: Exchange) -> None:
    """A byte comes now and then: never quiet for long, and never done."""
    exchange.head("200 OK", exchange.fields())
    for byte in exchange.picture.plates:
        exchange.send(bytes([byte]))
        if exchange.released.wait(0.1):
            return


def longer_than_told(exchange: Exchange) -> None:
    """The length is too short by one; what was told is not the picture."""
    exchange.head("200 OK", exchange.fields(Content_Length=str(len(exchange.picture.plates) - 1)))
    exchange.send(exchange.picture.plates)


def length_no_number(exchange: Exchange) -> None:
    """The length is a word."""
    exchange.head("200 OK", exchange.fields(Content_Length="many"))
    exchange.send(exchange.picture.plates)


def huge(exchange: Exchange) -> None:
    """A body of gigabytes is told."""
    exchange.head("200 OK", exchange.fields(Content_Length="4000000000"))
    exchange.send(exchange.picture.plates)


def endless_head(exchange: Exchange) -> None:
    """The head has no end."""
    exchange.send(b"HTTP/1.1 200 OK\r\n")
    for number in range(4000):
        exchange.send(f"X-{number}: {'x' * 60}\r\n".encode())


def no_http(exchange: Exchange) -> None:
    """Something answers that is no web server."""
    exchange.send(b"SSH-2.0-Example_9.2\r\n\r\n")


def captive_page(exchange: Exchange) -> None:
    """A network that wants its terms accepted answers for everybody, with a page."""
    exchange.head(
        "200 OK", {"Content-Type": "text/html", "Content-Length": str(len(PAGE)), "Connection": "close"}
    )
    exchange.send(PAGE)


def captive_page_dressed_up(exchange: Exchange) -> None:
    """The same, with the type and the tag of a picture."""
    exchange.head("200 OK", exchange.fields(Content_Length=str(len(PAGE)), Repr_Digest=None))
    exchange.send(PAGE)


def sent_elsewhere(exchange: Exchange) -> None:
    """A redirect to another machine: another name of this one, so that a device that follows it is caught."""
    port = exchange.raw.getsockname()[1]
    exchange.head(
        "302 Found",
        {"Location": f"http://localhost:{port}/login", "Content-Length": "0", "Connection": "close"},
    )


def sent_round_and_round(exchange: Exchange) -> None:
    """A redirect to itself."""
    exchange.head(
        "307 Temporary Redirect",
        {"Location": exchange.asked.path, "Content-Length": "0", "Connection": "close"},
    )


def busy(exchange: Exchange) -> None:
    """The server asks for patience, in seconds."""
    exchange.head(
        "503 Service Unavailable", {"Retry-After": "900", "Content-Length": "0", "Connection": "close"}
    )


def busy_until(exchange: Exchange) -> None:
    """The server asks for patience until a date, by a clock that is years ahead."""
    exchange.head(
        "503 Service Unavailable",
        {
            "Date": "Fri, 25 Nov 2039 06:00:00 GMT",
            "Retry-After": "Fri, 25 Nov 2039 06:20:00 GMT",
            "Content-Length": "0",
            "Connection": "close",
        },
    )


def too_many(exchange: Exchange) -> None:
    """The device calls too often."""
    exchange.head(
        "429 Too Many Requests", {"Retry-After": "1200", "Content-Length": "0", "Connection": "close"}
    )


def status(line: str) -> Fault:
    """An answer of that status, with a body that is none of our business."""

    def answer(exchange: Exchange) -> None:
        exchange.head(
            line, {"Content-Type": "text/html", "Content-Length": str(len(PAGE)), "Connection": "close"}
        )
        exchange.send(PAGE)

    return answer


def unasked_304(exchange: Exchange) -> None:
    """304 with the tag of the new picture, whatever was asked."""
    exchange.head("304 Not Modified", exchange.fields(Content_Length=None))


def wrong_digest(exchange: Exchange) -> None:
    """The digest is that of another picture."""
    exchange.head("200 OK", exchange.fields(Repr_Digest=picture(99).digest))
    exchange.send(exchange.picture.plates)


def digest_garbled(exchange: Exchange) -> None:
    """The digest is no digest."""
    exchange.head("200 OK", exchange.fields(Repr_Digest="sha-256=:AAAA:"))
    exchange.send(exchange.picture.plates)


def no_digest(exchange: Exchange) -> None:
    """There is no digest."""
    exchange.head("200 OK", exchange.fields(Repr_Digest=None))
    exchange.send(exchange.picture.plates)


def one_bit_turned(exchange: Exchange) -> None:
    """One bit of the body is turned over on the way."""
    data = bytearray(exchange.picture.plates)
    data[777] ^= 4
    exchange.head("200 OK", exchange.fields())
    exchange.send(bytes(data))


def other_size(exchange: Exchange) -> None:
    """A whole and sound picture, of another panel."""
    body = exchange.picture.plates[: len(exchange.picture.plates) // 2]
    digest = f"sha-256=:{base64.b64encode(hashlib.sha256(body).digest()).decode()}:"
    exchange.head("200 OK", exchange.fields(Content_Length=str(len(body)), Repr_Digest=digest))
    exchange.send(body)


def other_type(exchange: Exchange) -> None:
    """A picture of a type that was not asked for."""
    exchange.head("200 OK", exchange.fields(Content_Type="image/jpeg"))
    exchange.send(exchange.picture.plates)


def gzipped(exchange: Exchange) -> None:
    """The body is packed, which was not asked for; the digest is of the plain one."""
    body = gzip.compress(exchange.picture.plates, mtime=0)
    exchange.head("200 OK", exchange.fields(Content_Encoding="gzip", Content_Length=str(len(body))))
    exchange.send(body)


def bomb(exchange: Exchange) -> None:
    """A packed body that would fill the memory."""
    body = zlib.compress(bytes(100_000_000), 9)
    exchange.head("200 OK", exchange.fields(Content_Encoding="deflate", Content_Length=str(len(body))))
    exchange.send(body)


def chunked_and_cut(exchange: Exchange) -> None:
    """A chunked body whose last chunk does not come."""
    exchange.head("200 OK", exchange.fields(Content_Length=None, Transfer_Encoding="chunked"))
    exchange.send(b"400\r\n" + exchange.picture.plates[:0x400] + b"\r\n")


def chunks_that_lie(exchange: Exchange) -> None:
    """A chunk that is longer than it says."""
    exchange.head("200 OK", exchange.fields(Content_Length=None, Transfer_Encoding="chunked"))
    exchange.send(b"3ff\r\n" + exchange.picture.plates[:0x400] + b"\r\n0\r\n\r\n")


def chunked_and_told(exchange: Exchange) -> None:
    """Chunks and a length at once, which proxies have been fooled with."""
    exchange.head("200 OK", exchange.fields(Transfer_Encoding="chunked"))
    exchange.send(b"1\r\n" + exchange.picture.plates[:1] + b"\r\n0\r\n\r\n")


def two_lengths(exchange: Exchange) -> None:
    """Two lengths that differ."""
    exchange.send(b"HTTP/1.1 200 OK\r\nContent-Length: 10\r\n")
    exchange.send(
        "".join(f"{name}: {value}\r\n" for name, value in exchange.fields().items()).encode() + b"\r\n"
    )
    exchange.send(exchange.picture.plates)


FAULTS: MappingProxyType[str, Callable[[Exchange], None]] = MappingProxyType(
    {
        fault.__name__: fault
        for fault in (
            refused_at_once,
            reset_at_once,
            reset_in_body,
            cut_in_head,
            cut_in_body,
            no_body,
            stalled_before_head,
            stalled_in_body,
            dripping,
            longer_than_told,
            length_no_number,
            huge,
            endless_head,
            no_http,
            captive_page,
            captive_page_dressed_up,
            sent_elsewhere,
            busy,
            busy_until,
            too_many,
            wrong_digest,
            digest_garbled,
            no_digest,
            one_bit_turned,
            other_size,
            other_type,
            gzipped,
            bomb,
            chunked_and_cut,
            chunks_that_lie,
            chunked_and_told,
            two_lengths,
        )
    }
    | {
        "status_401": status("401 Unauthorized"),
        "status_404": status("404 Not Found"),
        "status_500": status("500 Internal Server Error"),
        "status_206": status("206 Partial Content"),
        "status_100_only": status("100 Continue"),
        "status_204": status("204 No Content"),
    }
)
"""Each fault after which the last good picture must stay, by its name."""


def chunked(exchange: Exchange) -> None:
    """A sound body in chunks."""
    exchange.head("200 OK", exchange.fields(Content_Length=None, Transfer_Encoding="chunked"))
    data = exchange.picture.plates
    for start in range(0, len(data), 700):
        part = data[start : start + 700]
        exchange.send(f"{len(part):X};note=1\r\n".encode() + part + b"\r\n")
    exchange.send(b"0\r\nTrailer: x\r\n\r\n")


def without_length(exchange: Exchange) -> None:
    """A sound body that ends with the connection, as HTTP/1.0 servers send it."""
    exchange.send(b"HTTP/1.0 200 OK\r\n")
    lines = "".join(f"{name}: {value}\r\n" for name, value in exchange.fields(Content_Length=None).items())
    exchange.send(lines.encode() + b"\r\n")
    exchange.send(exchange.picture.plates)


def dated_wrongly(exchange: Exchange) -> None:
    """A sound answer of a server whose clock is years off."""
    exchange.head("200 OK", exchange.fields(Date="Thu, 01 Jan 1970 00:00:09 GMT"))
    exchange.send(exchange.picture.plates)


def in_small_pieces(exchange: Exchange) -> None:
    """A sound answer, whose head is torn apart on the way."""
    lines = "".join(f"{name.upper()}:{value}\r\n" for name, value in exchange.fields().items())
    for byte in b"HTTP/1.1 200 Fine\r\n" + lines.encode() + b"\r\n":
        exchange.send(bytes([byte]))
    exchange.send(exchange.picture.plates)


def gone_on(exchange: Exchange) -> None:
    """A sound answer after one that only says to go on."""
    exchange.send(b"HTTP/1.1 103 Early Hints\r\nLink: <x>\r\n\r\n")
    exchange.head("200 OK", exchange.fields())
    exchange.send(exchange.picture.plates)


def moved_here(exchange: Exchange) -> None:
    """A redirect to another path of the same machine."""
    exchange.head(
        "301 Moved Permanently",
        {"Location": exchange.asked.path + "?moved", "Content-Length": "0", "Connection": "close"},
    )


UNUSUAL: MappingProxyType[str, Callable[[Exchange], None]] = MappingProxyType(
    {
        fault.__name__: fault
        for fault in (chunked, without_length, dated_wrongly, in_small_pieces, gone_on, moved_here)
    }
)
"""Sound answers that are seldom seen. A small device may refuse them, but must not show anything else."""
