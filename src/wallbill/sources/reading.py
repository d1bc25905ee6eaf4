"""Which parser reads a source, and how the parts of one source become one fact."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from importlib import import_module
from types import MappingProxyType

from wallbill.errors import Place, SourceError
from wallbill.facts.alerts import Alerts, join_alerts
from wallbill.facts.departures import Departures
from wallbill.facts.forecast import Forecast
from wallbill.facts.supply import Fact
from wallbill.findings import Finding
from wallbill.places.words import did_you_mean
from wallbill.sources.asking import NEWS, PAYLOAD
from wallbill.sources.fetching import STATUS, Kept
from wallbill.sources.spec import Parse, ParseContext, SourceSpec

Facts = Fact | tuple[Fact, ...]


_PARSERS = MappingProxyType(
    {
        "forecast met-norway": "forecast_met_norway:parse_met_norway",
        "forecast nws": "forecast_nws:parse_nws",
        "forecast open-meteo": "forecast_open_meteo:parse_open_meteo",
        "forecast bright-sky": "forecast_bright_sky:parse_bright_sky",
        "observation": "metar:parse",
        "alerts": "alerts:parse",
        "agenda": "agenda:parse",
        "series": "series:parse",
        "track": "track:parse",
        "sky": "sky:parse",
        "own": "own:parse",
        "feed": "feed:parse",
        "departures": "departures:parse",
        "list": "lists:parse",
        "holidays": "holidays:parse",
        "caldav": "agenda:parse",
        "pictures": "pictures:parse",
        "mqtt": "mqtt:parse",
        "json": "json_values:parse",
        "sql": "sql:parse",
    }
)
"""The parser of each kind, or kind and service: module and function. A module is loaded when a wall needs it."""


def reader(spec: SourceSpec) -> Parse:
    """The parser for a source's payloads; raises `SourceError` for a kind or a service that there is not."""
    service = str(spec.options.get("service", ""))
    named = _PARSERS.get(f"{spec.kind} {service}") or _PARSERS.get(spec.kind)
    if named:
        module, function = named.split(":")
        parse: Parse = getattr(import_module(f"wallbill.sources.{module}"), function)
        return parse
    services = [name.split(" ")[1] for name in _PARSERS if name.startswith(f"{spec.kind} ")]
    if services:
        raise SourceError(
            f"there is no service {service!r} for {spec.kind}",
            where=spec.where,
            mend=did_you_mean(service, services),
        )
    kinds = dict.fromkeys(name.split(" ")[0] for name in _PARSERS)
    raise SourceError(
        f"there is no kind of source {spec.kind!r}", where=spec.where, mend=did_you_mean(spec.kind, kinds)
    )


def to_keep(spec: SourceSpec, part: str, body: bytes) -> bytes:
    """What is to be kept of a fetched body: of a timetable only what concerns the wall's stops; raises `SourceError`."""
    if spec.kind != "departures" or part != PAYLOAD:
        return body
    from wallbill.sources.departures import drawn  # noqa: PLC0415  its libraries are loaded for such walls only

    return drawn(body, spec)


def read_kept(kept: Kept, context: ParseContext, before: Mapping[str, bytes] = MappingProxyType({})) -> Facts:
    """The facts of a kept payload; raises `SourceError`. ``context``: its ``fetched_at`` is the payload's.

    ``before``: the bodies of other parts of the source, for a part that means nothing without them.
    """
    body = kept.body
    if kept.part == NEWS:
        from wallbill.sources.departures import with_news  # noqa: PLC0415  as above

        body = with_news(before.get(PAYLOAD, b""), body)
    facts = reader(context.spec)(body, context)
    if kept.headers.get(STATUS) != "203" or not isinstance(facts, Forecast):
        return facts
    finding = Finding(
        rule="sources.deprecated",
        where=Place(context.spec.name),
        what="the service says that this edition of its forecast will go away",
        mend="Look for a newer Wallbill, and at the service's own news.",
    )
    return replace(facts, origin=replace(facts.origin, findings=(*facts.origin.findings, finding)))


def joined(parts: Sequence[Facts], context: ParseContext) -> Facts | None:
    """The facts of a source's parts as one; None of no parts."""
    if not parts:
        return None
    timed = [part for part in parts if isinstance(part, Departures)]
    if timed:
        return max(timed, key=lambda part: part.live_at or datetime.min.replace(tzinfo=UTC))
    warnings = [part for part in parts if isinstance(part, Alerts)]
    if len(warnings) > 1:
        return join_alerts(warnings)
    forecasts = [part for part in parts if isinstance(part, Forecast)]
    if len(forecasts) < 2:
        return parts[0]
    from wallbill.sources.forecast_nws import join_nws  # noqa: PLC0415  only that service comes in parts

    return join_nws(forecasts, context)
