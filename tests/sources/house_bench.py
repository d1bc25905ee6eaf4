"""What the tests of a house's sources share: a wall, a clock, and a context for parsers."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from wallbill.errors import Place
from wallbill.facts.supply import Supplied, Supply
from wallbill.sources.fetching import Limits
from wallbill.sources.keeping import FactKeep
from wallbill.sources.shell import Gathering, gather
from wallbill.sources.spec import ParseContext, SourceSpec

NOW = datetime(2026, 3, 14, 7, 7, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")


def spec_of(kind: str, good_for: timedelta | None = timedelta(hours=6), **options: Any) -> SourceSpec:
    """A source called house, at line 7 of a wall."""
    return SourceSpec("house", kind, options, None, good_for, Place("wall.toml", 7))


def context_of(spec: SourceSpec, *, fetched_at: datetime = NOW, now: datetime = NOW) -> ParseContext:
    """What its parser knows."""
    return ParseContext(
        spec=spec,
        zone=LONDON,
        latitude_deg=50.31,
        longitude_deg=-4.05,
        now=now,
        fetched_at=fetched_at,
        language="en-GB",
    )


@dataclass
class House:
    """A wall whose sources are gathered at a moment that the test sets."""

    folder: Path
    keeper: FactKeep | None
    now: datetime = NOW
    fetch_s: float = 5.0

    def gather(self, *specs: SourceSpec, offline: bool = False, total_s: float = 20.0) -> Supply:
        """The facts of some sources, now."""
        place: Mapping[str, Any] = {"zone": LONDON, "latitude_deg": 50.31, "longitude_deg": -4.05}
        context = Gathering(
            folder=self.folder,
            language="en-GB",
            limits=Limits(total_s=self.fetch_s),
            total_s=total_s,
            **place,
        )
        return gather(specs, context, keeper=self.keeper, offline=offline, clock=lambda: self.now)

    def get(self, spec: SourceSpec, **how: Any) -> Supplied:
        """What one source gives, now."""
        return self.gather(spec, **how).sources[spec.name]

    def pass_(self, **length: float) -> None:
        """Lets time pass."""
        self.now += timedelta(**length)
