"""The manners of fetching, as pure functions: what to ask for, how long an answer is fresh, when to ask again.

Sources: RFC 9110 (HTTP semantics), RFC 9111 (caching), and the terms of the services named in `forecast_services`.
"""

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from urllib.parse import urlsplit

LONGEST = timedelta(days=7)
"""No answer is fresh for longer, and no wait is longer, whatever a server says."""

_HEURISTIC_SHARE = 0.1
_HEURISTIC_MOST = timedelta(days=1)
_BACK_OFF_FROM, _BACK_OFF_TO = timedelta(minutes=5), timedelta(hours=6)
_JITTER_MOST = timedelta(seconds=300)


@dataclass(frozen=True, slots=True)
class Limits:
    """How long a whole fetch may last, redirects included; how large a body may be when unpacked; how many redirects."""

    total_s: float = 20.0
    body_bytes: int = 8 * 1024 * 1024
    redirects: int = 5

    def of(self, request: "Request") -> "Limits":
        """The limits of one request."""
        if not request.large:
            return self
        return replace(self, total_s=self.total_s * 2.5, body_bytes=self.body_bytes * 16)


@dataclass(frozen=True, slots=True)
class Request:
    """One GET, or another ``method`` that changes nothing, with its ``content``.

    Its address and headers may hold secrets: they are never printed; `host` may be.

    ``large``: its answer may be sixteen times as large as others, and take two and a half times as long.
    """

    url: str = field(repr=False)
    headers: tuple[tuple[str, str], ...] = field(default=(), repr=False)
    private_hosts: tuple[str, ...] = ()
    large: bool = False
    method: str = "GET"
    content: bytes = field(default=b"", repr=False)

    @property
    def host(self) -> str:
        """The host's name, without user, port and path; "" where the address has none."""
        return host_of(self.url)

    @property
    def asked(self) -> str:
        """A digest that tells two addresses apart without telling either."""
        return digest_of(self.url)


@dataclass(frozen=True, slots=True)
class Answer:
    """A response as it came. Header names are in lower case, values of repeated ones joined by commas.

    ``requested_at``, ``received_at``: our clock before and after, aware, UTC.
    """

    status: int
    headers: Mapping[str, str] = field(repr=False)
    body: bytes = field(repr=False)
    requested_at: datetime
    received_at: datetime


@dataclass(frozen=True, slots=True)
class Kept:
    """The last good payload of a part of a source.

    ``identity``: of what it is about; when a wall names another address or place, what was kept is of no use.
    ``asked``: digest of the very address that gave it, for which alone its validators hold.
    ``fetched_at``: when it came, or was last confirmed by a 304. ``due_at``: when it may be asked for again.
    ``headers``: of the answer, as far as they matter later.
    """

    source: str
    part: str
    identity: str
    asked: str
    body: bytes = field(repr=False)
    headers: Mapping[str, str] = field(repr=False)
    fetched_at: datetime
    due_at: datetime


@dataclass(frozen=True, slots=True)
class Failures:
    """What went wrong since the last good answer: how often, when to try again, and the last trouble's words.

    ``identity``: of the source's settings; a failure under other settings says nothing about these.
    """

    identity: str
    count: int
    due_at: datetime
    what: str
    mend: str


def digest_of(*texts: str) -> str:
    """SHA-256 of some texts, hexadecimal."""
    return hashlib.sha256("\0".join(texts).encode()).hexdigest()


def host_of(url: str) -> str:
    """The host of an address, "" where it has none or cannot be read."""
    try:
        return urlsplit(url).hostname or ""
    except ValueError:
        return ""


def user_agent(version: str, contact: str) -> str:
    """The User-Agent that names us and whom to write to: ``Wallbill/0.1.0 (contact)``.

    ``contact``: an address of mail or of a page; what cannot stand in a header's comment is left out.
    """
    clean = re.sub(r"[^\x21-\x27\x2a-\x7e ]", "", contact).strip()
    return f"Wallbill/{version} ({clean})" if clean else f"Wallbill/{version}"


def conditional_headers(kept: Kept | None, asked: str) -> tuple[tuple[str, str], ...]:
    """The validators of what we have of this very address, exactly as they came (RFC 9110, 13.1)."""
    if kept is None or kept.asked != asked:
        return ()
    pairs = (("If-None-Match", "etag"), ("If-Modified-Since", "last-modified"))
    return tuple((name, kept.headers[known]) for name, known in pairs if kept.headers.get(known))


STATUS = ":status"


def lasting_headers(answer: Answer) -> dict[str, str]:
    """What matters after the answer: validators, freshness, type, and the status under a name that no header has."""
    names = ("etag", "last-modified", "cache-control", "expires", "date", "age", "content-type")
    return {STATUS: str(answer.status)} | {
        name: answer.headers[name] for name in names if name in answer.headers
    }


def kept_anew(kept: Kept, answer: Answer, due_at: datetime) -> Kept:
    """What was kept, confirmed by a 304: its headers brought up to date (RFC 9111, 4.3.4), its body as it was."""
    fresh = {name: value for name, value in lasting_headers(answer).items() if name != STATUS}
    headers = {name: value for name, value in kept.headers.items() if name != "age"} | fresh
    return replace(kept, headers=headers, fetched_at=answer.received_at, due_at=due_at)


def http_date(text: str) -> datetime | None:
    """An HTTP date of any of the three forms (RFC 9110, 5.6.7), in UTC; None for anything else."""
    try:
        moment = parsedate_to_datetime(text)
    except (ValueError, TypeError, IndexError):
        return None
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)


def directives(cache_control: str) -> dict[str, tuple[str, ...]]:
    """The directives of Cache-Control by name in lower case, each with its values, "" for none."""
    found: dict[str, tuple[str, ...]] = {}
    for name, quoted, plain in re.findall(r'([\w-]+)\s*(?:=\s*(?:"([^"]*)"|([^\s,]*)))?', cache_control):
        found[name.lower()] = (*found.get(name.lower(), ()), quoted or plain)
    return found


def lifetime(answer: Answer) -> timedelta:
    """For how long an answer is fresh, from when its age was nil (RFC 9111, 4.2.1, for a private cache).

    ``max-age``, else Expires less Date, else a tenth of the time since it was last modified. ``no-store`` and
    ``no-cache`` count as nil, and so does a ``max-age`` that is repeated or no number.
    """
    control = directives(answer.headers.get("cache-control", ""))
    if "no-cache" in control or "no-store" in control:
        return timedelta(0)
    if "max-age" in control:
        values = control["max-age"]
        readable = len(values) == 1 and re.fullmatch(r"\d{1,12}", values[0], re.ASCII)
        return min(timedelta(seconds=int(values[0])), LONGEST) if readable else timedelta(0)
    dated = http_date(answer.headers.get("date", "")) or answer.received_at
    if "expires" in answer.headers:
        expires = http_date(answer.headers["expires"])
        return timedelta(0) if expires is None else min(max(expires - dated, timedelta(0)), LONGEST)
    modified = http_date(answer.headers.get("last-modified", ""))
    if modified is None:
        return timedelta(0)
    return min(max(dated - modified, timedelta(0)) * _HEURISTIC_SHARE, _HEURISTIC_MOST)


def age(answer: Answer, now: datetime) -> timedelta:
    """How old an answer is at ``now`` (aware), counting its time in other caches (RFC 9111, 4.2.3)."""
    told = answer.headers.get("age", "").strip()
    value = timedelta(seconds=int(told)) if re.fullmatch(r"\d{1,9}", told, re.ASCII) else timedelta(0)
    dated = http_date(answer.headers.get("date", ""))
    apparent = max(timedelta(0), answer.received_at - dated) if dated else timedelta(0)
    corrected = value + (answer.received_at - answer.requested_at)
    return max(apparent, corrected) + (now - answer.received_at)


def fresh_until(answer: Answer) -> datetime:
    """The moment from which an answer is stale; in the past if it is so already. By our own clock."""
    return answer.received_at + lifetime(answer) - age(answer, answer.received_at)


def retry_after(answer: Answer) -> timedelta | None:
    """How long a server asks us to stay away (RFC 9110, 10.2.3), None if it does not. At most a week.

    A date is taken as the time from the answer's own Date, so that our clock does not matter.
    """
    told = answer.headers.get("retry-after", "").strip()
    if re.fullmatch(r"\d{1,12}", told, re.ASCII):
        return min(timedelta(seconds=int(told)), LONGEST)
    until = http_date(told)
    if until is None:
        return None
    dated = http_date(answer.headers.get("date", "")) or answer.received_at
    return min(max(until - dated, timedelta(0)), LONGEST)


def jitter(*names: str) -> float:
    """A number from 0 up to 1 that is always the same for the same names, and spread over different ones."""
    return int(digest_of(*names)[:13], 16) / 16**13


def next_fetch(answer: Answer, *, every: timedelta, least: timedelta, spread: float) -> datetime:
    """When to ask again after a good answer, never before it is stale, and not on the hour.

    ``every``: as the wall wishes; ``least``: the shortest time that the service allows between two requests.
    ``spread``: 0 up to 1, from `jitter`. The wall's wish is met a little early, the service's limits a little late.
    """
    slack = spread * min(every / 10, _JITTER_MOST)
    wished = answer.received_at + every - slack
    allowed = max(answer.received_at + least, fresh_until(answer)) + spread * min(least / 10, _JITTER_MOST)
    return off_the_hour(max(wished, allowed), spread)


def back_off(
    received_at: datetime,
    *,
    count: int,
    asked: timedelta | None,
    spread: float,
    most: timedelta | None = None,
) -> datetime:
    """When to try again after the ``count``-th failure in a row (from 1), at ``received_at``.

    Five minutes, doubled each time up to ``most`` (None: six hours); or as long as the server ``asked`` for, if that
    is longer.
    """
    wait = min(_BACK_OFF_FROM * 2 ** min(count - 1, 10), most or _BACK_OFF_TO)
    wait = max(wait, asked or wait)
    return off_the_hour(received_at + wait + spread * min(wait / 10, _JITTER_MOST), spread)


def off_the_hour(moment: datetime, spread: float) -> datetime:
    """The moment, or one to four minutes past the full hour if it lies within a minute of that.

    Services ask for this: half the world asks on the hour.
    """
    past = moment.minute * 60 + moment.second
    if 60 <= past < 3540:
        return moment
    hour = moment.replace(minute=0, second=0, microsecond=0)
    hour = hour if past < 60 else hour + timedelta(hours=1)
    return hour + timedelta(seconds=60 + 180 * spread)


def coordinate(value_deg: float) -> str:
    """A latitude or longitude as services take it: at most four decimals, no zeros at the end, never ``-0``."""
    text = f"{value_deg:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
