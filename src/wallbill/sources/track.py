"""Travels (GPX 1.0 and 1.1) made into tracks.

A payload may hold several GPX documents one after the other: a travel recorded in several files is their payloads
joined. Option ``name``: what the travel is called, if the files do not say it well.
"""

import re
from collections.abc import Iterator
from datetime import UTC, datetime

import gpxpy
from gpxpy.gpx import GPX, GPXRoute, GPXRoutePoint, GPXTrack, GPXTrackPoint, GPXWaypoint
from lxml import etree

from wallbill.errors import Place, SourceError
from wallbill.facts.origin import Origin
from wallbill.facts.track import Position, Track, Waypoint
from wallbill.findings import Finding
from wallbill.sources.spec import ParseContext

_END = re.compile(r"</(?:[\w.-]+:)?gpx\s*>")
_DECLARED = re.compile(rb"<\?xml[^>]*?encoding\s*=\s*[\"']([\w.-]+)")
_POINTS = frozenset(["trkpt", "rtept", "wpt"])
_MEND = "Export it again as GPX 1.1."


def parse(data: bytes, context: ParseContext) -> Track:
    """A payload as one track, the segments in order of time where they have one.

    Points without a place are left out with a finding. Where there are only routes, they are the segments. Raises
    `SourceError` with the line for what is no GPX or was cut, and for a document type definition: no track needs
    one, and the entities that it may declare can fill the memory.
    """
    file = str(context.spec.options.get("file") or context.spec.name)
    documents, findings = [], []
    for line, text in _documents(_decoded(data, file), file):
        root = _root(text, line=line, file=file)
        findings += _drop_bad_points(root, line=line, file=file)
        documents.append(_read(root, line=line, file=file))
    segments = [segment for document in documents for segment in _segments(document)]
    if all(segment[0].at is not None for segment in segments):
        segments.sort(key=lambda segment: segment[0].at or datetime.max.replace(tzinfo=UTC))
    waypoints = tuple(
        Waypoint((point.name or "").strip(), _position(point))
        for document in documents
        for point in document.waypoints
    )
    times = [position.at for segment in segments for position in segment if position.at is not None]
    origin = Origin(
        source=context.spec.name,
        service="track",
        credit="",
        issued_at=min(max(times), context.fetched_at) if times else None,
        fetched_at=context.fetched_at,
        good_for=context.spec.good_for,
        findings=tuple(findings),
    )
    name = str(context.spec.options.get("name") or "") or _name(documents) or context.spec.name
    return Track(origin, name, tuple(segments), waypoints)


def _decoded(data: bytes, file: str) -> str:
    """The text, by its byte order mark, its XML declaration, or as UTF-8."""
    declared = _DECLARED.match(data.lstrip()[:200])
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    encoding = "utf-16" if marked else declared[1].decode("ascii") if declared else "utf-8"
    try:
        text = data.decode("utf-8-sig" if encoding.lower() in {"utf-8", "utf8"} else encoding)
    except (UnicodeDecodeError, LookupError):
        raise SourceError(f"the track is not written in {encoding}", where=Place(file), mend=_MEND) from None
    return text.removeprefix("\ufeff")


def _documents(text: str, file: str) -> Iterator[tuple[int, str]]:
    """The GPX documents of a payload, each with the line (from 1) that it begins on."""
    if not text.strip():
        raise SourceError("the payload is empty", where=Place(file), mend="Check the address or the file.")
    start = 0
    for end in [*(found.end() for found in _END.finditer(text)), len(text)]:
        piece = text[start:end]
        if piece.strip():
            lead = len(piece) - len(piece.lstrip())
            yield text[: start + lead].count("\n") + 1, piece.strip()
        start = end


def _root(text: str, *, line: int, file: str) -> etree._Element:
    """The document's root element, checked to be GPX with no document type."""
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        at = line + text[: text.index("<!")].count("\n")
        raise SourceError(
            "a track needs no document type", where=Place(file, at), mend="Take the <!DOCTYPE …> out."
        )
    parser = etree.XMLParser(encoding="utf-8", resolve_entities=False, no_network=True, huge_tree=False)
    try:
        root = etree.fromstring(text.encode("utf-8", "replace"), parser)
    except etree.XMLSyntaxError as fault:
        raise SourceError(
            f"the track cannot be read: {str(fault.msg).split(', line')[0]}",
            where=Place(file, line + (fault.lineno or 1) - 1),
            mend="Fetch it again, if it was cut; else " + _MEND.lower(),
        ) from None
    if _local(root) != "gpx":
        raise SourceError(
            f"this is no GPX: its root is <{_local(root)}>",
            where=Place(file, line),
            mend="Give the address of the track itself, and check that it needs no login.",
        )
    return root


def _drop_bad_points(root: etree._Element, *, line: int, file: str) -> list[Finding]:
    """Takes points out that have no place on the earth, and heights and times that are none; tells each."""
    findings = []
    for element in list(root.iter(etree.Element)):
        if _local(element) not in _POINTS:
            continue
        at = Place(file, line + int(element.sourceline or 1) - 1, _local(element))
        if not _has_place(element):
            findings.append(_left_out(at, f"no place: {dict(element.attrib)}"))
            element.getparent().remove(element)
            continue
        for child in list(element):
            if (why := _bad_child(child)) is not None:
                findings.append(_left_out(at, why))
                element.remove(child)
    return findings


def _local(element: etree._Element) -> str:
    """An element's name without its namespace; the library's own way raises for names that it has read itself."""
    return str(element.tag).rpartition("}")[2]


def _left_out(where: Place, what: str) -> Finding:
    return Finding(
        "sources.left-out", where, f"left out, as it is {what}", mend="Mend the file, if it matters."
    )


def _has_place(element: etree._Element) -> bool:
    try:
        latitude, longitude = float(element.get("lat", "")), float(element.get("lon", ""))
    except ValueError:
        return False
    return -90 <= latitude <= 90 and -180 <= longitude <= 180


def _bad_child(child: etree._Element) -> str | None:
    """Why a height or a time cannot be read, None if it can."""
    name = _local(child) if isinstance(child.tag, str) else ""
    text = (child.text or "").strip()
    try:
        if name == "ele":
            float(text)
        elif name == "time":
            datetime.fromisoformat(text)
    except ValueError:
        return f"no {'height' if name == 'ele' else 'time'}: {text[:40]!r}"
    return None


def _read(root: etree._Element, *, line: int, file: str) -> GPX:
    try:
        return gpxpy.parse(etree.tostring(root, encoding="unicode"))
    except Exception as fault:  # noqa: BLE001  beside its own, the library raises what its XML library does
        raise SourceError(f"the track cannot be read: {fault}", where=Place(file, line), mend=_MEND) from None


def _segments(document: GPX) -> list[tuple[Position, ...]]:
    """The segments of all tracks that have points; of the routes, where there are no tracks."""
    walked = [segment.points for track in document.tracks for segment in track.segments]
    drawn = [route.points for route in document.routes]
    return [tuple(_position(point) for point in points) for points in (walked or drawn) if points]


def _position(point: GPXTrackPoint | GPXRoutePoint | GPXWaypoint) -> Position:
    at = point.time
    return Position(
        point.latitude,
        point.longitude,
        point.elevation,
        None if at is None else (at if at.tzinfo else at.replace(tzinfo=UTC)).astimezone(UTC),
    )


def _name(documents: list[GPX]) -> str:
    """What the first file that says it calls the travel: the file itself, or its first track or route."""
    for document in documents:
        parts: list[GPXTrack | GPXRoute] = [*document.tracks, *document.routes]
        for name in (document.name, *(part.name for part in parts)):
            if name and name.strip():
                return str(name.strip())
    return ""
