"""Asks a CalDAV server (RFC 4791) for what a wall needs of one calendar; it only ever reads.

The ``caldav`` library knows the protocol and its servers' habits; every request it makes goes through our own
`Fetcher`, so that the limits of time, size and redirects, and the guard of one's own network, hold here too.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import timedelta
from types import MappingProxyType
from typing import Any
from urllib.parse import urljoin

from lxml import etree

from wallbill.errors import Place, SourceError, WallbillError
from wallbill.facts.agenda import midnight
from wallbill.sources.agenda import window_of
from wallbill.sources.asking import Asker, request_for
from wallbill.sources.fetching import Request, digest_of
from wallbill.sources.judging import judge
from wallbill.sources.recurrence import Window
from wallbill.sources.shell_http import Fetcher
from wallbill.sources.spec import ParseContext, SourceSpec

_METHODS = frozenset({"PROPFIND", "REPORT", "OPTIONS", "GET"})
_MOST_REQUESTS = 16
_STATE = "X-WALLBILL-STATE"
_DAY = timedelta(days=1)
_DAV, _SERVER = "{DAV:}", "{http://calendarserver.org/ns/}"
_ABOUT = """<?xml version="1.0" encoding="utf-8"?>
<propfind xmlns="DAV:" xmlns:s="http://calendarserver.org/ns/"><prop>
<displayname/><resourcetype/><sync-token/><s:getctag/></prop></propfind>"""


def ask_calendar(context: ParseContext, asker: Asker, *, fetcher: Fetcher, before: bytes | None) -> bytes:
    """The entries of a calendar that touch the source's days, as iCalendar, for `wallbill.sources.agenda.parse`.

    ``before``: what this gave last time, which is given again if the server says that nothing has changed. Raises
    `SourceError` (never with the address): no server, no such calendar, a wrong password, plain HTTP to a host that
    is not the wall's own.
    """
    spec = context.spec
    _library(spec)
    first = request_for(spec, asker, url=str(spec.options.get("url", "")), accept="text/xml, text/calendar")
    if first.url.startswith("http:") and first.host not in first.private_hosts:
        raise SourceError(
            "its address is not https, and a password would go in the clear",
            where=spec.where,
            mend=f'Write https://, or add private_hosts = ["{first.host}"] if it is a machine of your own.',
        )
    session = _Session(fetcher, first, spec)
    window = window_of(context)
    try:
        about = _about(session, spec)
        state = digest_of(about.state, window.first.isoformat(), window.end.isoformat())
        if about.state and before is not None and f"{_STATE}:{state}".encode() in before[:1000]:
            return before
        entries = _entries(session, window, spec)
    except WallbillError:
        raise
    except Exception as fault:  # noqa: BLE001  the library raises what the server made it raise; its words may hold the address
        raise SourceError(
            f"its answer cannot be read ({type(fault).__name__})",
            where=Place(spec.name, field=first.host),
            mend="Check that the address is that of a CalDAV calendar.",
        ) from None
    name = str(spec.options.get("name") or about.name)
    return _payload(name, state, entries)


def _library(spec: SourceSpec) -> None:
    try:
        import caldav  # noqa: F401, PLC0415  only a wall with such a calendar needs it
    except ImportError:
        raise SourceError(
            "what asks calendar servers is not installed",
            where=spec.where,
            mend="Install it with: pip install 'wallbill[caldav]'.",
        ) from None


@dataclass(frozen=True, slots=True)
class _Reply:
    """An answer as the library expects one of its own HTTP library."""

    status_code: int
    headers: Mapping[str, str]
    content: bytes
    url: str
    reason: str = ""

    @property
    def text(self) -> str:
        return self.content.decode("utf-8", "replace")


class _Session:
    """Stands where the library has its HTTP session: reads only, with our limits, to the one host only."""

    def __init__(self, fetcher: Fetcher, first: Request, spec: SourceSpec) -> None:
        self._fetcher = fetcher
        self._first = first
        self._spec = spec
        self._left = _MOST_REQUESTS
        self.url = first.url

    def request(self, method: str, url: str, **how: Any) -> _Reply:
        """One request of the library; raises `SourceError` for an answer that is none."""
        where = Place(self._spec.name, field=self._first.host)
        self._left -= 1
        target = urljoin(self._first.url, url)
        if method not in _METHODS or self._left < 0 or not _same_host(target, self._first.url):
            raise SourceError(
                "its server leads elsewhere or nowhere", where=where, mend="Give the calendar's own address."
            )
        content = how.get("data") or b""
        told = {name.title(): str(value) for name, value in dict(how.get("headers") or {}).items()}
        ours = {name.title() for name, _ in self._first.headers} | {"Accept-Encoding"}
        more = tuple(pair for pair in told.items() if pair[0] not in ours)
        asked = replace(
            self._first,
            url=target,
            method=method,
            content=content if isinstance(content, bytes) else str(content).encode(),
            headers=(*self._first.headers, *more),
        )
        answer = self._fetcher.fetch(asked, self._spec.name)
        if answer.status != 207:
            refusal = judge(answer, host=self._first.host, source=self._spec.name, quotable=False)
            if refusal is not None:
                raise refusal
        if re.search(rb"<!(?:DOCTYPE|ENTITY)", answer.body[:100_000].replace(b"\0", b""), re.IGNORECASE):
            raise SourceError(
                "its answer is a web page, or declares entities",
                where=where,
                mend="Check that the address is that of a CalDAV calendar.",
            )
        return _Reply(answer.status, MappingProxyType(dict(answer.headers)), answer.body, target)

    def close(self) -> None:
        """Nothing is held open."""


def _same_host(one: str, other: str) -> bool:
    return urljoin(one, "/") == urljoin(other, "/")


@dataclass(frozen=True, slots=True)
class _About:
    """What a server says of a calendar: its name, and a word that changes when any entry does ("" for none)."""

    name: str
    state: str


def _about(session: _Session, spec: SourceSpec) -> _About:
    headers = {"Depth": "0", "Content-Type": "application/xml; charset=utf-8"}
    reply = session.request("PROPFIND", session.url, data=_ABOUT.encode(), headers=headers)
    parser = etree.XMLParser(resolve_entities=False, no_network=True)
    try:
        root = etree.fromstring(reply.content, parser)
    except etree.XMLSyntaxError:
        root = None
    if root is None or root.tag != f"{_DAV}multistatus":
        raise SourceError(
            "its address is not that of a CalDAV server",
            where=Place(spec.name),
            mend="Give the calendar's own address, as its server or program shows it.",
        )
    if root.find(f".//{_DAV}resourcetype/{{urn:ietf:params:xml:ns:caldav}}calendar") is None:
        raise SourceError(
            "at its address is no calendar",
            where=Place(spec.name),
            mend="Give the address of one calendar, not that of the account.",
        )
    texts = [
        (root.findtext(f".//{tag}") or "").strip()
        for tag in (f"{_DAV}displayname", f"{_SERVER}getctag", f"{_DAV}sync-token")
    ]
    return _About(texts[0], texts[1] or texts[2])


def _entries(session: _Session, window: Window, spec: SourceSpec) -> list[str]:
    """The calendar's entries: events that touch the days, as the server finds them, and to-dos still to be done."""
    from caldav.davclient import DAVClient  # noqa: PLC0415  see _library

    client: Any = DAVClient(url=session.url, enable_rfc6764=False)
    client.session.close()
    client.session = session
    calendar: Any = client.calendar(url=session.url)
    start, end = midnight(window.first, window.zone), midnight(window.end, window.zone)
    events = calendar.search(event=True, start=start, end=end + _DAY, expand=False)
    todos = calendar.search(todo=True, include_completed=False)
    return list(dict.fromkeys(str(found.data) for found in (*events, *todos) if found.data))


def _payload(name: str, state: str, entries: list[str]) -> bytes:
    """Entries as one payload: first a calendar with the name alone, then each entry's own, with its time zones."""
    plain = " ".join(name.split())[:200]
    head = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Wallbill//CalDAV//EN", f"{_STATE}:{state}"]
    named = [f"X-WR-CALNAME:{plain}"] if plain else []
    whole = "\r\n".join([*head, *named, "END:VCALENDAR"])
    bodies = [re.sub(r"\r\n|\r|\n", "\r\n", entry.strip()) for entry in entries]
    return ("\r\n".join([whole, *bodies]) + "\r\n").encode()
