"""Which parser reads a source, and how the parts of one source become one fact."""

from collections.abc import Sequence
from dataclasses import replace

from wallbill.errors import Place, SourceError
from wallbill.facts.forecast import Forecast
from wallbill.facts.supply import Fact
from wallbill.findings import Finding
from wallbill.sources import agenda, own, series, sky, track
from wallbill.sources.fetching import STATUS, Kept
from wallbill.sources.forecast_bright_sky import parse_bright_sky
from wallbill.sources.forecast_met_norway import parse_met_norway
from wallbill.sources.forecast_nws import join_nws, parse_nws
from wallbill.sources.forecast_open_meteo import parse_open_meteo
from wallbill.sources.spec import Parse, ParseContext, SourceSpec

Facts = Fact | tuple[Fact, ...]


def reader(spec: SourceSpec) -> Parse:
    """The parser for a source's payloads; raises `SourceError` for a kind or a service that there is not."""
    if spec.kind == "forecast":
        services = {
            "met-norway": parse_met_norway,
            "nws": parse_nws,
            "open-meteo": parse_open_meteo,
            "bright-sky": parse_bright_sky,
        }
        service = str(spec.options.get("service", ""))
        if service in services:
            return services[service]
        raise SourceError(
            f"there is no weather service {service!r}",
            where=spec.where,
            mend=f"Use one of {', '.join(services)}.",
        )
    kinds: dict[str, Parse] = {
        "agenda": agenda.parse,
        "series": series.parse,
        "track": track.parse,
        "sky": sky.parse,
        "own": own.parse,
    }
    if spec.kind in kinds:
        return kinds[spec.kind]
    raise SourceError(
        f"there is no kind of source {spec.kind!r}",
        where=spec.where,
        mend=f"Use one of forecast, {', '.join(kinds)}.",
    )


def read_kept(kept: Kept, context: ParseContext) -> Facts:
    """The facts of a kept payload; raises `SourceError`. ``context``: its ``fetched_at`` is the payload's."""
    facts = reader(context.spec)(kept.body, context)
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
    forecasts = [part for part in parts if isinstance(part, Forecast)]
    return join_nws(forecasts, context) if len(forecasts) > 1 else parts[0]
