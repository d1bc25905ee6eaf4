"""Active alerts of the US National Weather Service: a GeoJSON collection (RFC 7946) of CAP's fields.

Format: the service's OpenAPI description. An alert's end is ``ends`` where there is one: ``expires`` is only when
the message wants renewal.
"""

from collections.abc import Sequence

from wallbill.errors import Place, SourceError
from wallbill.facts.alerts import Alert, Certainty, Severity, Urgency
from wallbill.findings import Finding
from wallbill.sources.alerts_area import Area, Polygon, ring_of
from wallbill.sources.alerts_cap import one_line, paragraphs
from wallbill.sources.alerts_message import Message, Notice, ending, word_of
from wallbill.sources.payload import Moment, Shape, left_out, read_json, read_shape

CREDIT = "US National Weather Service"


class _Reference(Shape):
    identifier: str = ""
    sender: str = ""


class _Properties(Shape):
    id: str
    sent: Moment
    status: str
    messageType: str  # noqa: N815 the service's own name
    event: str
    severity: str = "Unknown"
    urgency: str = "Unknown"
    certainty: str = "Unknown"
    sender: str = ""
    senderName: str | None = None  # noqa: N815 the service's own name
    effective: Moment | None = None
    onset: Moment | None = None
    expires: Moment | None = None
    ends: Moment | None = None
    headline: str | None = None
    description: str | None = None
    instruction: str | None = None
    category: str | None = None
    response: str | None = None
    web: str | None = None
    areaDesc: str | None = None  # noqa: N815 the service's own name
    geocode: dict[str, list[str]] | None = None
    references: list[_Reference] = []  # noqa: RUF012 pydantic copies it


class _Feature(Shape):
    properties: _Properties
    geometry: dict[str, object] | None = None


class _Collection(Shape):
    features: list[object] | None = None
    title: str = ""
    detail: str = ""


def read_nws_alerts(data: bytes, source: str) -> tuple[tuple[Message, ...], tuple[Finding, ...]]:
    """The messages of a payload, and a finding for each that cannot be read; raises `SourceError` where none can."""
    told = read_shape(_Collection, read_json(data, source), source)
    if told.features is None:
        raise SourceError(
            f"the service answers with an error: {one_line(told.detail or told.title)[:200] or 'no reason'}",
            where=Place(source, field="$.features"),
            mend="Check the wall's place: the service covers the United States and its waters.",
        )
    messages, bad = [], []
    for index, feature in enumerate(told.features):
        try:
            messages.append(_message(read_shape(_Feature, feature, source, at=f"$.features[{index}]")))
        except SourceError as fault:
            bad.append((fault.where.field, fault.what))
    if bad and not messages:
        raise SourceError(bad[0][1], where=Place(source, field=bad[0][0]), mend="Look at the payload.")
    return tuple(messages), left_out(bad, source)


def _message(feature: _Feature) -> Message:
    told = feature.properties
    sender = told.sender or CREDIT
    effective = told.effective or told.sent
    alert = Alert(
        identifier=told.id,
        sender=sender,
        sent=told.sent,
        event=one_line(told.event),
        severity=word_of(Severity, told.severity),
        urgency=word_of(Urgency, told.urgency),
        certainty=word_of(Certainty, told.certainty),
        effective=effective,
        onset=told.onset,
        ends=ending(ends=told.ends or told.expires, begins=(told.sent, effective, told.onset)),
        language="en-US",
        headline=one_line(told.headline or ""),
        description=paragraphs(told.description or ""),
        instruction=paragraphs(told.instruction or ""),
        sender_name=one_line(told.senderName or ""),
        web=told.web or "",
        categories=(told.category,) if told.category else (),
        responses=(told.response,) if told.response else (),
    )
    codes = tuple((name, value) for name, values in (told.geocode or {}).items() for value in values)
    area = Area(one_line(told.areaDesc or ""), _shapes(feature.geometry), codes)
    return Message(
        key=(sender, told.id),
        sent=told.sent,
        status=told.status.lower(),
        kind=told.messageType.lower(),
        references=tuple((r.sender or sender, r.identifier) for r in told.references if r.identifier),
        notices=(Notice(alert, (area,), warns=told.response != "AllClear"),),
    )


def _shapes(geometry: object) -> tuple[Polygon, ...]:
    """The polygons of a GeoJSON geometry; what is none, or is broken, is left to the codes of the areas."""
    if not isinstance(geometry, dict):
        return ()
    told = geometry.get("coordinates")
    listed = [told] if geometry.get("type") == "Polygon" else told
    if geometry.get("type") not in {"Polygon", "MultiPolygon"} or not isinstance(listed, list):
        return ()
    found = []
    for polygon in listed:
        rings = [_ring(ring) for ring in polygon] if isinstance(polygon, list) else []
        good = [ring for ring in rings if ring is not None]
        if good and len(good) == len(rings):
            found.append(Polygon(good[0], tuple(good[1:])))
    return tuple(found)


def _ring(told: object) -> tuple[tuple[float, float], ...] | None:
    """Positions of GeoJSON, longitude first."""
    if not isinstance(told, list):
        return None
    points = [_point(position) for position in told]
    good = [point for point in points if point is not None]
    return ring_of(good) if good and len(good) == len(points) else None


def _point(position: object) -> tuple[float, float] | None:
    if not isinstance(position, list) or len(position) < 2:
        return None
    lon, lat = position[0], position[1]
    numbers: Sequence[object] = (lat, lon)
    if any(isinstance(n, bool) or not isinstance(n, int | float) for n in numbers):
        return None
    return float(lat), float(lon)
