"""What to ask for: the addresses of each kind of source, and the duties towards each weather service.

A source is fetched in steps. Most have one; the US weather service first tells, for a point, where its forecasts are.
"""

import base64
import contextlib
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from urllib.parse import unquote, urlencode, urljoin, urlsplit, urlunsplit

from wallbill.errors import Place, SourceError
from wallbill.sources.fetching import Request, coordinate, digest_of, host_of, user_agent
from wallbill.sources.kind_weather import METAR_LEAST, METAR_SERVICE, metar_query
from wallbill.sources.services import Service, services
from wallbill.sources.spec import SourceSpec

PAYLOAD = "payload"
NEWS = "news"
"""The part that tells what has become of a timetable."""
POINT = "point"
"""The part that has no facts, but leads to those that have."""

VISIT = "visit:"
VISITED = frozenset({"mqtt", "sql", "caldav"})
"""Kinds that are asked in a way of their own, and not over HTTP."""

_ABOUT = ("service", "url", "file", "files", "function", "station", "broker", "port", "query")
_ABOUT_WORLD = ("folder", "stop", "routes", "realtime")
_DAY = timedelta(days=1)
_AHEAD_D = 8
_TIMETABLE_LEAST, _NEWS_LEAST = timedelta(hours=12), timedelta(seconds=30)
_ALERTS_LEAST = timedelta(minutes=2)
_FOR_GOOD = timedelta(days=366)
_ACCEPT_ALERTS = (
    "application/cap+xml, application/atom+xml, application/rss+xml, application/xml;q=0.9, */*;q=0.5"
)


@dataclass(frozen=True, slots=True)
class Asker:
    """Who asks, and for which place. ``today``: the wall's local date. ``contact``: "" if the wall names none."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    zone: str
    today: date
    version: str
    contact: str = ""

    @property
    def mark(self) -> tuple[str, ...]:
        """What tells one wall's requests from another's, for `jitter`."""
        return self.contact, coordinate(self.latitude_deg), coordinate(self.longitude_deg)


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to fetch. ``least``: the shortest time between two requests for it.

    ``must``: whether the source is to be left in peace for a while when this cannot be had.
    """

    part: str
    request: Request
    least: timedelta
    must: bool = True


def steps(spec: SourceSpec, asker: Asker, got: Mapping[str, bytes]) -> tuple[Step, ...]:
    """The steps of a source that can be named so far. ``got``: the payloads of the steps done, by part.

    Raises `SourceError` if the source may not or cannot be asked: it lacks a contact, or its address is none.
    """
    if spec.kind == "forecast":
        return _forecast_steps(spec, asker, got)
    if spec.kind in VISITED:
        return (_visit_step(spec),)
    if spec.kind == "departures":
        return _departure_steps(spec, asker)
    if spec.kind == "alerts":
        return _alert_steps(spec, asker, got)
    if spec.kind == "observation" and "url" not in spec.options:
        url = f"{METAR_SERVICE}?{urlencode(metar_query(_text(spec, 'station')))}"
        return (replace(_step(spec, asker, PAYLOAD, url=url, accept="text/plain"), least=METAR_LEAST),)
    url = _text(spec, "url")
    accept = {"agenda": "text/calendar, */*;q=0.5", "json": "application/json, */*;q=0.5"}.get(
        spec.kind, "*/*"
    )
    return (_step(spec, asker, PAYLOAD, url=url, accept=accept),)


def identity_of(spec: SourceSpec, asker: Asker) -> str:
    """A digest of what a source is about, for `Kept`: where it comes from, and the place if that matters."""
    told = [str(spec.options.get(name, "")) for name in (*_ABOUT, *_ABOUT_WORLD)]
    placed = spec.kind == "forecast" or "service" in spec.options
    place = (coordinate(asker.latitude_deg), coordinate(asker.longitude_deg)) if placed else ()
    return digest_of(spec.kind, *told, *place)


def settings_of(spec: SourceSpec, asker: Asker) -> str:
    """A digest of all that a person can mend of a source; a failure under other settings says nothing about these."""
    return digest_of(identity_of(spec, asker), asker.contact, repr(sorted(spec.options.items(), key=repr)))


def quotable(spec: SourceSpec) -> bool:
    """Whether a server's own words may be shown: not where they might echo a secret of the address or headers."""
    return spec.kind in {"forecast", "observation", "alerts"} and not {
        "url",
        "headers",
        "user",
        "password",
    } & set(spec.options)


def _forecast_steps(spec: SourceSpec, asker: Asker, got: Mapping[str, bytes]) -> tuple[Step, ...]:
    service = services()[_text(spec, "service")]
    _must_have_contact(spec, asker, service)
    base = str(spec.options.get("url") or service.base)
    ask = {"met-norway": _met_norway, "open-meteo": _open_meteo, "bright-sky": _bright_sky}.get(service.name)
    if ask is not None:
        url = f"{base}?{urlencode(ask(asker), safe=',/')}"
        return (_step(spec, asker, PAYLOAD, url=url, accept=service.accept),)
    return _nws_steps(spec, asker, base, got=got)


def _must_have_contact(spec: SourceSpec, asker: Asker, service: Service) -> None:
    if service.contact and not asker.contact.strip():
        raise SourceError(
            f"the service {service.name} must be told whom to write to, and the wall names nobody",
            where=spec.where,
            mend='Add contact = "you@example.org" to [wall] in wall.toml; it is sent with each request.',
        )


def _met_norway(asker: Asker) -> dict[str, str]:
    place = {"lat": coordinate(asker.latitude_deg), "lon": coordinate(asker.longitude_deg)}
    return place if asker.elevation_m is None else place | {"altitude": str(round(asker.elevation_m))}


def _open_meteo(asker: Asker) -> dict[str, str]:
    from wallbill.sources.forecast_open_meteo import VARIABLES  # noqa: PLC0415  loaded for this service only

    asked = {
        "latitude": coordinate(asker.latitude_deg),
        "longitude": coordinate(asker.longitude_deg),
        "hourly": ",".join(VARIABLES),
        "timezone": asker.zone,
        "timeformat": "unixtime",
        "wind_speed_unit": "ms",
        "forecast_days": str(_AHEAD_D),
    }
    return asked if asker.elevation_m is None else asked | {"elevation": str(round(asker.elevation_m))}


def _bright_sky(asker: Asker) -> dict[str, str]:
    return {
        "lat": coordinate(asker.latitude_deg),
        "lon": coordinate(asker.longitude_deg),
        "date": asker.today.isoformat(),
        "last_date": (asker.today + _AHEAD_D * _DAY).isoformat(),
        "tz": asker.zone,
        "units": "dwd",
    }


def _nws_steps(spec: SourceSpec, asker: Asker, base: str, *, got: Mapping[str, bytes]) -> tuple[Step, ...]:
    accept = services()["nws"].accept
    place = f"{coordinate(asker.latitude_deg)},{coordinate(asker.longitude_deg)}"
    point = f"{base.rstrip('/')}/points/{place}"
    first = _step(spec, asker, POINT, url=point, accept=accept)
    if POINT not in got:
        return (first,)
    from wallbill.sources.forecast_nws import parse_nws_point  # noqa: PLC0415  loaded for this service only

    links = parse_nws_point(got[POINT], spec.name)
    for link in links:
        if host_of(link) != host_of(point):
            raise SourceError(
                f"the service leads to another host, {host_of(link)!r}",
                where=spec.where,
                mend="Check the address of the source.",
            )
    hourly, long = (
        _step(spec, asker, part, url=link, accept=accept)
        for part, link in zip(("hourly", "long"), links, strict=True)
    )
    return first, hourly, long


def _alert_steps(spec: SourceSpec, asker: Asker, got: Mapping[str, bytes]) -> tuple[Step, ...]:
    """The alert, the service's list of alerts, or an index and then each alert that it links, once: alerts never change."""
    if "service" in spec.options:
        service = services()[_text(spec, "service")]
        _must_have_contact(spec, asker, service)
        place = f"{coordinate(asker.latitude_deg)},{coordinate(asker.longitude_deg)}"
        url = f"{service.base}/alerts/active?point={place}"
        return (replace(_step(spec, asker, PAYLOAD, url=url, accept=service.accept), least=_ALERTS_LEAST),)
    first = _step(spec, asker, PAYLOAD, url=_text(spec, "url"), accept=_ACCEPT_ALERTS)
    if PAYLOAD not in got:
        return (first,)
    # The parser of XML is loaded for a wall that has alerts only.
    from wallbill.sources.alerts_xml import areas_of, links_of  # noqa: PLC0415 see above

    found = [first]
    areas = areas_of(spec.options.get("areas"))
    for link in links_of(got[PAYLOAD], spec.name, today=asker.today, areas=areas):
        with contextlib.suppress(SourceError):  # a link to nowhere is as good as none
            request = follow(first.request, link, spec.name)
            part = f"alert {request.asked[:32]}"
            if request.asked != first.request.asked and part not in {step.part for step in found}:
                found.append(Step(part, request, _FOR_GOOD, must=False))
    return tuple(found)


def is_web(address: object) -> bool:
    """Whether an option is an address of the web, and not the name of a file."""
    return isinstance(address, str) and re.match(r"\s*https?://", address, re.IGNORECASE) is not None


def _departure_steps(spec: SourceSpec, asker: Asker) -> tuple[Step, ...]:
    """The timetable, asked for twice a day at most, and the vehicles' news, twice a minute at most.

    A timetable in the wall folder is visited. News in a file go with such a timetable only, and are read along.
    """
    news = spec.options.get("realtime")
    if "file" in spec.options:
        first = _visit_step(spec)
    else:
        asked = _step(spec, asker, PAYLOAD, url=_text(spec, "url"), accept="application/zip, */*;q=0.5")
        first = replace(asked, least=_TIMETABLE_LEAST, request=replace(asked.request, large=True))
        if news is not None and not is_web(news):
            raise SourceError(
                "its realtime is a file, and its timetable is not",
                where=spec.where,
                mend="Give both by address, or both as files.",
            )
    if not is_web(news):
        return (first,)
    second = _step(spec, asker, NEWS, url=str(news), accept="application/x-protobuf, */*;q=0.5")
    return first, replace(second, least=_NEWS_LEAST, must=False)


def _visit_step(spec: SourceSpec) -> Step:
    """The step of a source that is visited: its host, and what is asked of it, as far as that may change."""
    host = str(spec.options.get("broker") or host_of(str(spec.options.get("url", ""))))
    wishes = digest_of(
        *(repr(spec.options.get(name)) for name in ("values", "availability", "since", "most_rows"))
    )
    return Step(part=PAYLOAD, request=Request(f"{VISIT}//{host}/{wishes}"), least=timedelta(seconds=10))


def _step(spec: SourceSpec, asker: Asker, part: str, *, url: str, accept: str) -> Step:
    least = services()[_text(spec, "service")].least if spec.kind == "forecast" else timedelta(minutes=1)
    return Step(
        part=part,
        request=request_for(spec, asker, url=url, accept=accept),
        least=_DAY if part == POINT else least,
    )


def request_for(spec: SourceSpec, asker: Asker, *, url: str, accept: str) -> Request:
    """A GET for an address of a source; raises `SourceError` for one that is no address of the web.

    ``webcal`` is taken as https. A name and password, in the options or in the address, go into a header.
    """
    address, user, password = _address(spec, url)
    headers = [
        ("User-Agent", user_agent(asker.version, asker.contact)),
        ("Accept", accept),
        ("Accept-Encoding", "gzip"),
    ]
    if user or password:
        token = base64.b64encode(f"{user}:{password}".encode()).decode()
        headers.append(("Authorization", f"Basic {token}"))
    hosts = spec.options.get("private_hosts", ())
    return Request(
        url=address,
        headers=(*headers, *_own_headers(spec)),
        private_hosts=tuple(str(host).lower() for host in hosts) if isinstance(hosts, list | tuple) else (),
    )


def _address(spec: SourceSpec, url: str) -> tuple[str, str, str]:
    """The address without name and password, and those."""
    try:
        parts = urlsplit(url.strip())
        host, port = parts.hostname, parts.port
    except ValueError:
        host, port, parts = None, None, urlsplit("")
    scheme = "https" if parts.scheme == "webcal" else parts.scheme
    if scheme not in {"http", "https"} or not host or re.search(r"[\x00-\x20\x7f]", url.strip()):
        raise SourceError(
            "its address is none of the web",
            where=spec.where,
            mend='Write url = "https://…", or file = "…" for a file in the wall folder.',
        )
    user = str(spec.options.get("user") or unquote(parts.username or ""))
    password = str(spec.options.get("password") or unquote(parts.password or ""))
    bare = f"[{host}]" if ":" in host else host
    netloc = bare if port is None else f"{bare}:{port}"
    return urlunsplit((scheme, netloc, parts.path or "/", parts.query, "")), user, password


def _own_headers(spec: SourceSpec) -> tuple[tuple[str, str], ...]:
    """The wall's own headers; raises `SourceError` for what cannot stand in one."""
    told = spec.options.get("headers", {})
    headers = (
        tuple((str(name), str(value)) for name, value in told.items()) if isinstance(told, Mapping) else ()
    )
    for name, value in headers:
        if not re.fullmatch(r"[!#$%&'*+.^_`|~0-9A-Za-z-]+", name) or re.search(r"[^\t\x20-\x7e]", value):
            raise SourceError(
                f"{name[:40]!r} cannot be sent as a header",
                where=spec.where,
                mend="Write header names as in RFC 9110, and values in one line.",
            )
    return headers


def _text(spec: SourceSpec, name: str) -> str:
    value = spec.options.get(name)
    if not isinstance(value, str) or not value:
        raise SourceError(f"it has no {name}", where=spec.where, mend=f'Add {name} = "…" to the source.')
    return value


_OF_US = ("User-Agent", "Accept", "Accept-Encoding", "If-None-Match", "If-Modified-Since")
"""The headers that go along to another host: who we are and what we have, but nothing of the wall's own."""


def follow(request: Request, location: str | None, source: str) -> Request:
    """The request that a redirect leads to; raises `SourceError` where it must not be followed.

    To another host no password goes along, and no header of the wall's own.
    """
    here = Place(source, field=request.host)
    try:
        there = urlsplit(urljoin(request.url, location) if location else "")
        origin = (there.scheme, there.hostname, there.port)
    except ValueError:
        origin, there = ("", None, None), urlsplit("")
    if origin[0] not in {"http", "https"} or not there.hostname:
        raise SourceError("it redirects to nowhere", where=here, mend="Check the address.")
    was = urlsplit(request.url)
    if was.scheme == "https" and there.scheme == "http":
        raise SourceError(
            f"it redirects from https to http, to {there.hostname}",
            where=here,
            mend="Give the address that it ends at, if you trust it.",
        )
    same = (was.scheme, was.hostname, was.port) == origin
    keep = request.headers if same else tuple(header for header in request.headers if header[0] in _OF_US)
    url = urlunsplit((there.scheme, there.netloc.rpartition("@")[2], there.path or "/", there.query, ""))
    return replace(request, url=url, headers=keep)
