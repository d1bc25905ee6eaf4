"""What the tests of feeds, departures, lists, holidays, calendars of servers and pictures share."""

import io
import zipfile
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from wallbill.errors import Place
from wallbill.sources.spec import ParseContext, SourceSpec

NOW = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
PAYLOADS = Path(__file__).with_name("payloads")


def context(
    kind: str,
    *,
    now: datetime = NOW,
    zone: str = "Europe/London",
    language: str = "en-GB",
    options: Mapping[str, object] | None = None,
) -> ParseContext:
    """A parser's context, at the harbour on a March morning unless said."""
    spec = SourceSpec("it", kind, dict(options or {}), None, None, Place("wall.toml", 7))
    return ParseContext(spec, ZoneInfo(zone), 50.31, -4.05, now, now, language)


def zipped(tables: Mapping[str, str]) -> bytes:
    """A GTFS feed as a ZIP archive."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in tables.items():
            archive.writestr(name, text)
    return out.getvalue()


def tables(**changes: str) -> dict[str, str]:
    """The tables of the harbour's small feed; a change replaces a table, an empty one takes it out."""
    folder = PAYLOADS / "gtfs"
    found = {file.name: file.read_text(encoding="utf-8") for file in sorted(folder.glob("*.txt"))}
    for name, text in changes.items():
        found[f"{name}.txt"] = text
    return {name: text for name, text in found.items() if text}


def counted(function: Callable[..., Any]) -> tuple[Callable[..., Any], list[None]]:
    """A function that does the same, and a row that grows with each call."""
    calls: list[None] = []

    def again(*args: Any, **more: Any) -> Any:
        calls.append(None)
        return function(*args, **more)

    return again, calls
