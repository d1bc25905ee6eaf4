"""What the microcontroller twin goes by: heads of answers, when to wake, what it remembers. Pure.

Runs unchanged in MicroPython and in CPython. Durations are whole seconds, moments Unix time. No header is trusted: what
is not understood is left out, and what is needed and not there is a `TwinError`.
"""

import binascii
import json

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

AGENT = "wallbill-micro/0.1"
SHORTEST_S = 60
LONGEST_S = 604800
FIRST_WAIT_S = 300
LAST_WAIT_S = 21600
KEPT = (
    b"age", b"cache-control", b"content-encoding", b"content-length", b"content-type",
    b"date", b"etag", b"repr-digest", b"retry-after", b"transfer-encoding",
)  # fmt: skip
MONTHS = "JanFebMarAprMayJunJulAugSepOctNovDec"


class TwinError(Exception):
    """Why a wake brought no picture, in a few words for the report. ``wait_s``: told by the server, or None."""

    def __init__(self, told: str, wait_s: "int | None" = None) -> None:
        super().__init__(told)
        self.told = told
        self.wait_s = wait_s


def told_of(error: Exception) -> str:
    """What an error says, in one short line for the report."""
    return " ".join((str(error) or repr(error)).split())[:120]


def status_of(line: bytes) -> int:
    """The status of a status line (RFC 9112, 4). Raises `TwinError` for anything else."""
    if line[:7] == b"HTTP/1." and line[8:9] == b" " and line[9:12].isdigit() and line[12:13] in b" \r\n":
        return int(line[9:12])
    raise TwinError("no HTTP answer")


def add_field(fields: dict[str, str], line: bytes) -> None:
    """Adds a header's line to ``fields`` if it is one that we use; one sent again is joined (RFC 9110, 5.3)."""
    name, colon, value = line.partition(b":")
    if colon and name.lower() in KEPT:
        try:
            key, text = name.lower().decode(), value.strip().decode()
        except UnicodeError:
            raise TwinError("a header is not text") from None
        fields[key] = fields[key] + ", " + text if key in fields else text


def whole(text: "str | None") -> "int | None":
    """A whole number of at most ten digits, or None."""
    text = (text or "").strip()
    return int(text) if len(text) <= 10 and text.isdigit() else None


def digest_of(fields: dict[str, str]) -> str:
    """The SHA-256 that ``Repr-Digest`` names, in base64, "" where it names none (RFC 9530)."""
    for member in fields.get("repr-digest", "").split(","):
        name, _, rest = member.strip().partition("=:")
        value, colon, _ = rest.partition(":")
        if name == "sha-256" and colon:
            return value
    return ""


def check_picture(fields: dict[str, str], length_bytes: "int | None") -> str:
    """Looks at the head of a picture before its body is read; gives the digest that the body must have.

    ``length_bytes``: what the body must have, None where it comes packed. Raises `TwinError` for a page of a captive
    network, a body that is coded or cut, and one without digest or tag.
    """
    media_type = fields.get("content-type", "").split(";")[0].strip().lower()
    if media_type != "application/octet-stream":
        raise TwinError(f"got {media_type[:40] or 'no type'}, not plates")
    if "transfer-encoding" in fields or fields.get("content-encoding", "identity") != "identity":
        raise TwinError("the answer is coded")
    told = whole(fields.get("content-length"))
    if "content-length" in fields and (told is None or (length_bytes is not None and told != length_bytes)):
        raise TwinError(f"plates of {told} bytes, not {length_bytes}")
    if not tag_of(fields):
        raise TwinError("no entity tag")
    digest = digest_of(fields)
    if not digest:
        raise TwinError("no SHA-256 digest")
    return digest


def tag_of(fields: dict[str, str]) -> str:
    """The entity tag, "" where there is none that could be sent back (RFC 9110, 8.8.3)."""
    tag = fields.get("etag", "")
    opaque = tag[2:] if tag[:2] == "W/" else tag
    good = 2 <= len(opaque) <= 100 and opaque[0] == opaque[-1] == '"' and '"' not in opaque[1:-1]
    return tag if good and all(" " < letter <= "~" for letter in tag) else ""


def is_same(one: str, other: str) -> bool:
    """Whether two entity tags name the same picture, weak ones included (RFC 9110, 8.8.3.2)."""
    return (one[2:] if one[:2] == "W/" else one) == (other[2:] if other[:2] == "W/" else other)


def date_s(text: "str | None") -> "int | None":
    """The Unix time of a date such as ``Wed, 25 Nov 2026 06:07:30 GMT`` (IMF-fixdate, RFC 9110, 5.6.7), or None."""
    parts = (text or "").split()
    if len(parts) != 6 or parts[5] != "GMT" or len(parts[4]) != 8 or len(parts[2]) != 3:
        return None
    place = MONTHS.find(parts[2])
    clock = parts[4]
    numbers = [whole(part) for part in (parts[1], parts[3], clock[:2], clock[3:5], clock[6:])]
    if place < 0 or place % 3 or None in numbers:
        return None
    day, year, hour, minute, second = [number or 0 for number in numbers]
    return day_s(year, place // 3 + 1, day) + hour * 3600 + minute * 60 + second


def day_s(year: int, month: int, day: int) -> int:
    """The Unix time at which a day begins, counted in years that begin in March: their leap day comes last."""
    years = year - (month < 3)
    days = 365 * years + years // 4 - years // 100 + years // 400 + (153 * ((month + 9) % 12) + 2) // 5 + day
    return (days - 719469) * 86400


def calls_s(fields: dict[str, str], usual_s: int) -> int:
    """In how many seconds a good answer wants us back: ``max-age`` less ``Age``; ``usual_s`` where it says nothing."""
    for part in fields.get("cache-control", "").lower().split(","):
        name, _, value = part.strip().partition("=")
        told = whole(value)
        if name == "max-age" and told is not None:
            return within(told - (whole(fields.get("age")) or 0), LONGEST_S)
    return within(usual_s, LONGEST_S)


def retry_s(fields: dict[str, str]) -> "int | None":
    """What ``Retry-After`` asks for. A date is held against the answer's own ``Date``, so no clock is needed."""
    text = fields.get("retry-after")
    told = whole(text)
    if told is None:
        until, now = date_s(text), date_s(fields.get("date"))
        told = None if until is None or now is None else until - now
    return None if told is None else within(told, LONGEST_S)


def within(wanted_s: int, most_s: int) -> int:
    """``wanted_s``, but at least a minute and at most ``most_s``."""
    return max(SHORTEST_S, min(wanted_s, most_s))


def back_off_s(failures: int) -> int:
    """How long to wait after so many failures in a row, 1 and up: five minutes, doubled up to six hours."""
    return min(FIRST_WAIT_S << min(max(failures, 1) - 1, 7), LAST_WAIT_S)


def spread_s(wait_s: int, name: str) -> int:
    """``wait_s`` and up to a tenth more, at most five minutes, always the same for a name: a fleet does not call at once."""
    return wait_s + (min(wait_s // 10, 300) * (binascii.crc32(name.encode()) & 0xFFFF) >> 16)


def rest_s(state: "dict[str, Any]", least_interval_s: int, now_s: int) -> int:
    """How long the panel must rest yet before it may be refreshed, 0 where it need not."""
    state["shown_s"] = min(state["shown_s"], now_s)  # where the clock was put back, it counts from here
    return max(0, least_interval_s - now_s + state["shown_s"]) if state["shown_s"] else 0


def remembered(text: bytes) -> "dict[str, Any]":
    """What an earlier wake wrote down. Whatever is no such thing counts as nothing, so that all begins anew.

    ``tag``: of what the panel shows, "" if that is not certain. ``kept``, ``digest``: tag and SHA-256 of the picture on
    flash. ``shown_s``: when the panel was last refreshed. ``failures``: in a row. ``error``: the last one that was not
    reported. ``refresh_ms``: of a refresh not reported. ``told_s``: when we last reported. ``since_s``: a moment that has passed.
    """
    fresh: dict[str, Any] = {
        "tag": "", "kept": "", "digest": "", "error": "",
        "shown_s": 0, "failures": 0, "refresh_ms": 0, "told_s": 0, "since_s": 0,
    }  # fmt: skip
    try:
        found = json.loads(text)
    except ValueError:
        found = None
    if isinstance(found, dict):
        for key, value in fresh.items():
            given = found.get(key)
            if type(given) is type(value):
                fresh[key] = given
    return fresh
