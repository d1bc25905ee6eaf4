"""Fields of HTTP heads, read and written: dates, entity tags, digests, keys, structured fields (RFC 9110, 9530, 9651)."""

import base64
import hashlib
import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from urllib.parse import parse_qsl

from wallbill.inks.rectangles import Rectangle

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MONTH = "|".join(_MONTHS)
_TIME = r"(?P<hour>\d\d):(?P<minute>\d\d):(?P<second>\d\d)"
_DATES = tuple(
    re.compile(pattern, re.ASCII)
    for pattern in (
        rf"(?:{'|'.join(_DAYS)}), (?P<day>\d\d) (?P<month>{_MONTH}) (?P<year>\d{{4}}) {_TIME} GMT",
        rf"(?:Mon|Tues|Wednes|Thurs|Fri|Satur|Sun)day, (?P<day>\d\d)-(?P<month>{_MONTH})-(?P<year>\d\d) {_TIME} GMT",
        rf"(?:{'|'.join(_DAYS)}) (?P<month>{_MONTH}) (?P<day>[\d ]\d) {_TIME} (?P<year>\d{{4}})",
    )
)
_TAG = re.compile(r'(W/)?("[^"]*")')
_TOKEN = re.compile(r"[A-Za-z*][!#$%&'*+.^_`|~0-9A-Za-z:/-]*", re.ASCII)
_BEARER = re.compile(r"bearer +([A-Za-z0-9._~+/-]+=*) *", re.IGNORECASE | re.ASCII)
_MOST_TAG_CHARS = 100


@lru_cache(maxsize=8192)
def written_date(moment_s: int) -> str:
    """A moment (Unix time, whole seconds) as an HTTP date, an IMF-fixdate (RFC 9110, 5.6.7)."""
    at = datetime.fromtimestamp(moment_s, UTC)
    day, month = _DAYS[at.weekday()], _MONTHS[at.month - 1]
    return f"{day}, {at.day:02} {month} {at.year:04} {at.hour:02}:{at.minute:02}:{at.second:02} GMT"


def read_date(text: str, *, now: datetime) -> int | None:
    """The Unix time of an HTTP date in any of its three forms (RFC 9110, 5.6.7); None for anything else.

    ``now``: a year of two digits that would lie more than 50 years ahead of it is taken a century back.
    """
    found = next((match for form in _DATES if (match := form.fullmatch(text.strip(" \t")))), None)
    if found is None:
        return None
    year = int(found["year"])
    if len(found["year"]) == 2:
        year += now.year // 100 * 100
        year -= 100 * (year > now.year + 50)
    month, second = _MONTHS.index(found["month"]) + 1, int(found["second"])
    try:
        at = datetime(
            year,
            month,
            int(found["day"]),
            int(found["hour"]),
            int(found["minute"]),
            min(second, 59),
            tzinfo=UTC,
        )
    except ValueError:
        return None
    # A leap second is the last of its minute (RFC 9110 allows 60), no other number is.
    return None if second > 60 else int((at + timedelta(seconds=second == 60)).timestamp())


def opaque_part(tag: str) -> str:
    """The part of an entity tag between its quotes: what weak comparison compares (RFC 9110, 8.8.3.2)."""
    return tag.removeprefix("W/").strip('"')


def tags_of(field: str) -> tuple[str, ...]:
    """The entity tags of a list such as If-None-Match has, each as written."""
    return tuple((match[1] or "") + match[2] for match in _TAG.finditer(field))


def matches_weakly(field: str, tag: str) -> bool:
    """Whether If-None-Match names ``tag``: any of its list by weak comparison, or ``*`` (RFC 9110, 13.1.2).

    A lone tag whose quotes or ``W/`` a simple device has lost counts too, so that it is not sent what it has.
    """
    if field == tag:
        return True
    field = field.strip(" \t")
    opaque = opaque_part(tag)
    if '"' not in field:
        return field == "*" or field.removeprefix("W/") == opaque
    return any(match[2] == f'"{opaque}"' for match in _TAG.finditer(field))


def matches_strongly(field: str, tag: str) -> bool:
    """Whether If-Match names ``tag``: by strong comparison, which no weak tag passes, or ``*`` (RFC 9110, 13.1.1)."""
    return field.strip(" \t") == "*" or (not tag.startswith("W/") and tag in tags_of(field))


def bearer_key(field: str | None) -> str | None:
    """The key of an Authorization field of the scheme Bearer (RFC 6750, 2.1), or None."""
    found = None if field is None else _BEARER.fullmatch(field)
    return found[1] if found else None


def digest_field(data: bytes) -> str:
    """The value of Repr-Digest or Content-Digest for ``data``: ``sha-256=:…:`` (RFC 9530, 2 and 3)."""
    return f"sha-256={byte_sequence(hashlib.sha256(data).digest())}"


def byte_sequence(data: bytes) -> str:
    """Bytes as a structured field has them (RFC 9651, 4.1.8)."""
    return f":{base64.b64encode(data).decode()}:"


def listed(names: Iterable[str]) -> str:
    """Names as a list of tokens, or of strings where one of them is no token (RFC 9651, 4.1.1, 4.1.6 and 4.1.7).

    Letters outside ASCII, which neither can hold, become question marks.
    """
    names = [re.sub(r"[^ -~]", "?", name) for name in names]
    if all(_TOKEN.fullmatch(name) for name in names):
        return ", ".join(names)
    return ", ".join('"' + re.sub(r'(["\\])', r"\\\1", name) + '"' for name in names)


def rectangle_field(part: Rectangle, *, whole: bytes) -> str:
    """The value of Impression-Rectangle: a dictionary (RFC 9651, 4.1.2) of where the part lies, pixels.

    ``whole``: SHA-256 of the whole plates once the part is laid in.
    """
    return (
        f"x={part.left_px}, y={part.top_px}, width={part.width_px}, height={part.height_px},"
        f" whole={byte_sequence(whole)}"
    )


def last_of(query: str) -> str:
    """The opaque part of the tag in ``last=``, "" where there is none. ``query``: as in the address, still quoted."""
    if not query or "last" not in query:
        return ""
    try:
        found = dict(parse_qsl(query, max_num_fields=10))
    except ValueError:
        return ""
    return opaque_part(found.get("last", "").strip())[:_MOST_TAG_CHARS]


def shown_tag(field: str | None) -> str:
    """What a device says it shows, fit to be kept: the first tag of its If-None-Match, printable and short."""
    if not field or field == "*":
        return ""
    found = _TAG.search(field)
    tag = found[0] if found else field.strip(" \t")
    return "".join(letter for letter in tag if "!" <= letter <= "~")[:_MOST_TAG_CHARS]
