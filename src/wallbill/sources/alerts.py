"""Official warnings: CAP alerts, feeds that list them, and the alerts of the US National Weather Service."""

import re

from wallbill.errors import Place, SourceError
from wallbill.facts.alerts import Alerts, in_order, publishers
from wallbill.facts.track import Position
from wallbill.findings import Finding
from wallbill.sources.alerts_area import Spot
from wallbill.sources.alerts_cap import read_cap
from wallbill.sources.alerts_message import Message, in_force, unplaced, withdrawn_by
from wallbill.sources.alerts_nws import CREDIT, read_nws_alerts
from wallbill.sources.alerts_xml import MOST_LINKS, alerts_in, areas_of, is_index, links_of, name_of, read_xml
from wallbill.sources.spec import ParseContext
from wallbill.units.quantity import Quantity

_MOST_ALERTS = 1_000
_KM_MOST = 500.0


def parse(data: bytes, context: ParseContext) -> Alerts:
    """The warnings of a payload that are not over and not known to be elsewhere; of an index that links alerts, none.

    Raises `SourceError` with the place for what is neither, and for an option that cannot be read. The alerts' own age
    does not make them stale: how long ago they were asked for does.
    """
    file = str(context.spec.options.get("file") or context.spec.name)
    if data.lstrip()[:1] in {b"{", b"["}:
        messages, findings = read_nws_alerts(data, context.spec.name)
    else:
        messages, findings = _read_xml(data, context, file)
    found = in_order(in_force(messages, _spot(context), context.now))
    credit = CREDIT if "service" in context.spec.options else publishers(found)
    findings = (*findings, *unplaced(found, file))
    return Alerts(
        context.origin("alerts", credit=credit, findings=findings),
        found,
        tuple(sorted(withdrawn_by(messages))),
    )


def _read_xml(
    data: bytes, context: ParseContext, file: str
) -> tuple[tuple[Message, ...], tuple[Finding, ...]]:
    root = read_xml(data, file)
    elements = list(alerts_in(root))[:_MOST_ALERTS]
    if not elements and not is_index(root):
        raise SourceError(
            f"this is no alert: its root is <{name_of(root)[:40]}>",
            where=Place(file, root.sourceline),
            mend="Give the address of the alert, or of the feed that lists alerts, and check that it needs no login.",
        )
    messages = tuple(
        read_cap(element, file=file, language=context.language, fetched_at=context.fetched_at)
        for element in elements
    )
    findings = [finding for message in messages for finding in message.findings]
    if is_index(root) and len(_links(data, context, file)) >= MOST_LINKS:
        findings.append(
            Finding(
                "sources.left-out",
                Place(file),
                f"only the first {MOST_LINKS} alerts of the index are read",
                mend="Give the feed of a smaller region.",
            )
        )
    return messages, tuple(findings)


def _links(data: bytes, context: ParseContext, file: str) -> tuple[str, ...]:
    today = context.now.astimezone(context.zone).date()
    return links_of(data, file, today=today, areas=areas_of(context.spec.options.get("areas")))


def _spot(context: ParseContext) -> Spot:
    within = context.spec.options.get("within")
    return Spot(
        Position(context.latitude_deg, context.longitude_deg),
        0.0 if within is None else _metres(within, context.spec.where),
        areas_of(context.spec.options.get("areas")),
        asked_for="service" in context.spec.options,
    )


def _metres(told: object, where: Place) -> float:
    """A distance such as "10 km" in metres."""
    found = (
        re.fullmatch(r"\s*(\d{1,6}(?:\.\d{1,6})?)\s*(km|m|mi|nmi)\s*", told)
        if isinstance(told, str)
        else None
    )
    metres = Quantity(float(found[1]), found[2]).to("m").value if found else -1.0
    if not 0 <= metres <= _KM_MOST * 1000:
        raise SourceError(
            f"{told!r} is no distance",
            where=where,
            mend=f'Write a number and km, m, mi or nmi, up to {_KM_MOST:g} km, such as within = "10 km".',
        )
    return metres
