"""HTTP answers, read strictly: heads, digests, tags, dates. Whatever is not plainly right is refused. Pure.

Durations are seconds, moments Unix time. Source: RFC 9110 (semantics), RFC 9111 (caching), RFC 9112 (HTTP/1.1), RFC 9530 (digests).
"""

from __future__ import annotations

import binascii
from collections.abc import Mapping
from typing import NamedTuple

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_TOKEN = frozenset(b"!#$%&'*+-.^_`|~0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")
_LONGEST_TAG = 200


class RefusedError(Exception):
    """Why a wake brought no picture, in a few words for the report. ``wait_s``: told by the server, or None."""

    def __init__(self, told: str, wait_s: int | None = None) -> None:
        super().__init__(told)
        self.told = told
        self.wait_s = wait_s


class Head(NamedTuple):
    """Status and fields of an answer; names in lower case, repeated fields joined by commas (RFC 9110, 5.3)."""

    status: int
    fields: Mapping[str, str]


def read_head(data: bytes) -> Head:
    """The head of an answer, given without its last empty line. Raises `RefusedError` for anything but HTTP/1.x."""
    lines = data.replace(b"\r\n", b"\n").split(b"\n")
    first = lines[0]
    digits = first[9:12]
    if (
        first[:7] != b"HTTP/1."
        or first[8:9] != b" "
        or not digits.isdigit()
        or first[12:13] not in (b" ", b"")
    ):
        raise RefusedError("no HTTP answer")
    fields: dict[str, str] = {}
    for line in lines[1:]:
        name, colon, value = line.partition(b":")
        if not colon or not name or not _TOKEN.issuperset(name):
            raise RefusedError("the head is no HTTP head")
        key, text = name.decode("ascii").lower(), value.strip(b" \t").decode("latin-1")
        if key == "content-length" and fields.get(key, text) != text:
            raise RefusedError("two lengths in one answer")
        fields[key] = f"{fields[key]}, {text}" if key in fields and key != "content-length" else text
    return Head(int(digits), fields)


def whole(text: str | None) -> int | None:
    """A whole number of at most ten digits, or None."""
    text = (text or "").strip()
    return int(text) if len(text) <= 10 and text.isascii() and text.isdigit() else None


def length_bytes(head: Head) -> int | None:
    """The length of the body that was told; None where none was. Raises `RefusedError` for one that is no number."""
    text = head.fields.get("content-length")
    told = whole(text)
    if text is not None and told is None:
        raise RefusedError("a length that is no number")
    return told


def is_chunked(head: Head) -> bool:
    """Whether the body comes in chunks. Raises `RefusedError` for any other coding of the transfer."""
    coding = head.fields.get("transfer-encoding")
    if coding is None:
        return False
    if coding.strip().lower() != "chunked" or "content-length" in head.fields:
        raise RefusedError("the transfer is coded in an unknown way")
    return True


def media_type(head: Head) -> str:
    """The type of the body, in lower case, without its parameters."""
    return head.fields.get("content-type", "").split(";")[0].strip().lower()


def tag_of(head: Head) -> str:
    """The entity tag, "" where there is none that could be sent back (RFC 9110, 8.8.3)."""
    tag = head.fields.get("etag", "")
    opaque = tag[2:] if tag[:2] == "W/" else tag
    good = 2 <= len(opaque) <= _LONGEST_TAG and opaque[0] == opaque[-1] == '"' and '"' not in opaque[1:-1]
    return tag if good and all(" " < letter <= "~" for letter in tag) else ""


def same_tag(one: str, other: str) -> bool:
    """Weak comparison of entity tags (RFC 9110, 8.8.3.2)."""
    return one.replace("W/", "", 1) == other.replace("W/", "", 1)


def sha256_of(head: Head) -> bytes | None:
    """The SHA-256 that the body must have, from ``Repr-Digest`` or ``Content-Digest``; None where neither names one."""
    for name in ("repr-digest", "content-digest"):
        for member in head.fields.get(name, "").split(","):
            algorithm, _, rest = member.strip().partition("=:")
            value, colon, _ = rest.partition(":")
            if algorithm == "sha-256" and colon:
                try:
                    digest = binascii.a2b_base64(value)
                except ValueError:
                    return None
                return digest if len(digest) == 32 else None
    return None


def moment_s(text: str | None) -> int | None:
    """The Unix time of an HTTP date in any of its three forms (RFC 9110, 5.6.7), or None."""
    parts = (text or "").replace("-", " ").replace(",", " ").split()
    if len(parts) == 6 and parts[5] == "GMT":
        day, month, year, time = parts[1:5]
    elif len(parts) == 5:  # asctime's form
        month, day, time, year = parts[1:5]
    else:
        return None
    clock = time.split(":")
    numbers = [whole(part) for part in (day, year, *clock)]
    known = [number for number in numbers if number is not None]
    if month.lower() not in _MONTHS or len(clock) != 3 or len(known) != 5:
        return None
    if len(year) == 2:  # the old form: years 69 to 99 were of the last century
        known[1] += 1900 if known[1] >= 69 else 2000
    if not (
        1970 <= known[1] <= 9999 and 1 <= known[0] <= 31 and known[2] < 24 and known[3] < 60 and known[4] < 61
    ):
        return None
    return (
        _unix_s(known[1], _MONTHS.index(month.lower()) + 1, known[0])
        + known[2] * 3600
        + known[3] * 60
        + known[4]
    )


def _unix_s(year: int, month: int, day: int) -> int:
    """Midnight UTC of a date. Counted in years that begin in March, whose leap day comes last; from memory."""
    years = year - (month < 3)
    days = 365 * years + years // 4 - years // 100 + years // 400 + (153 * ((month + 9) % 12) + 2) // 5 + day
    return (days - 719469) * 86400


def fresh_for_s(head: Head) -> int | None:
    """For how long an answer stays fresh: ``max-age`` less ``Age``, at least 0 (RFC 9111, 4.2); None where untold."""
    for part in head.fields.get("cache-control", "").lower().split(","):
        name, _, value = part.strip().partition("=")
        told = whole(value.strip('"'))
        if name.strip() == "max-age" and told is not None:
            return max(0, told - (whole(head.fields.get("age")) or 0))
    return None


def retry_after_s(head: Head) -> int | None:
    """What ``Retry-After`` asks for (RFC 9110, 10.2.3); None where it asks nothing.

    A date is held against the answer's own ``Date``, so that no clock of ours is needed.
    """
    text = head.fields.get("retry-after")
    told = whole(text)
    if told is not None:
        return told
    until, now = moment_s(text), moment_s(head.fields.get("date"))
    return None if until is None or now is None else max(0, until - now)
