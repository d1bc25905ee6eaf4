"""Building alerts for tests, and reading them as a wall does."""

from datetime import UTC, datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo

from wallbill.errors import Place
from wallbill.facts.alerts import Alerts
from wallbill.sources.alerts import parse
from wallbill.sources.spec import ParseContext, SourceSpec

PAYLOADS = Path(__file__).parent / "payloads"
NOW = datetime(2026, 3, 14, 7, 45, tzinfo=UTC)
HERE = (50.31, -4.05)


def read(
    data: str | bytes,
    *,
    place: tuple[float, float] = HERE,
    now: datetime = NOW,
    language: str = "en-GB",
    **options: Any,
) -> Alerts:
    spec = SourceSpec("warnings", "alerts", MappingProxyType(options), None, None, Place("wall.toml", 3))
    raw = data.encode() if isinstance(data, str) else data
    return parse(raw, ParseContext(spec, ZoneInfo("Europe/London"), *place, now, now, language))


def area(name: str = "Fennel Sound", shape: str = "") -> str:
    return f"<area><areaDesc>{name}</areaDesc>{shape}</area>"


def info(body: str = "", *, event: str = "Gale", areas: str = "", **words: str) -> str:
    told = {
        "category": "Met",
        "event": event,
        "urgency": "Expected",
        "severity": "Moderate",
        "certainty": "Likely",
        "expires": "2026-03-15T03:00:00+00:00",
    } | words
    # The order of the schema: language first, areas last.
    language = told.pop("language", "")
    head = f"<language>{language}</language>" if language else ""
    return f"<info>{head}{''.join(f'<{k}>{v}</{k}>' for k, v in told.items())}{body}{areas}</info>"


def cap(*infos: str, number: str = "7", kind: str = "Alert", references: str = "", **head: str) -> str:
    told = {
        "identifier": f"FQ-{number}",
        "sender": "desk@alerts.invalid",
        "sent": "2026-03-14T05:40:00+00:00",
        "status": "Actual",
        "msgType": kind,
        "scope": "Public",
    } | head
    refs = f"<references>{references}</references>" if references else ""
    inner = "".join(f"<{k}>{v}</{k}>" for k, v in told.items())
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<alert xmlns="urn:oasis:names:tc:emergency:cap:1.2">{inner}{refs}{"".join(infos)}</alert>'
    )


def reference(number: str, sent: str = "2026-03-14T01:10:00+00:00") -> str:
    return f"desk@alerts.invalid,FQ-{number},{sent}"
