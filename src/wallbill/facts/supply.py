"""All facts of a wall at one moment, and the state of each source."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from wallbill.errors import WallbillError
from wallbill.facts.agenda import Agenda
from wallbill.facts.album import Album
from wallbill.facts.alerts import Alerts
from wallbill.facts.departures import Departures
from wallbill.facts.forecast import Forecast
from wallbill.facts.given import Given
from wallbill.facts.headlines import Headlines
from wallbill.facts.observation import Observation
from wallbill.facts.origin import Freshness
from wallbill.facts.series import Series
from wallbill.facts.sky import Sky
from wallbill.facts.track import Track
from wallbill.facts.values import Values
from wallbill.findings import Finding

Fact = (
    Forecast
    | Agenda
    | Series
    | Track
    | Sky
    | Given
    | Alerts
    | Observation
    | Values
    | Headlines
    | Departures
    | Album
)


@dataclass(frozen=True, slots=True)
class Supplied:
    """What one source gave: a fact, or the trouble that left it without one; both when an older fact stands in.

    ``due_at``: when its publisher may be asked again (aware, UTC), None for a source that needs no fetching.
    """

    name: str
    kind: str
    fact: Fact | tuple[Fact, ...] | None
    trouble: WallbillError | None = None
    due_at: datetime | None = None

    @property
    def facts(self) -> tuple[Fact, ...]:
        """Its facts as a row, however many there are."""
        if self.fact is None:
            return ()
        return self.fact if isinstance(self.fact, tuple) else (self.fact,)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the reader of its payload left out or doubted."""
        return tuple(finding for fact in self.facts for finding in fact.origin.findings)

    def freshness(self, now: datetime) -> Freshness:
        """Fresh, stale or missing at ``now`` (aware); the stalest of several facts decides."""
        if self.fact is None:
            return Freshness.MISSING
        states = {
            fact.freshness(now) if isinstance(fact, Values) else fact.origin.freshness(now)
            for fact in self.facts
        }
        return next(
            (state for state in (Freshness.STALE, Freshness.FRESH) if state in states), Freshness.MISSING
        )


@dataclass(frozen=True, slots=True)
class Supply:
    """Every source's facts by the source's name, as a sheet sees them."""

    sources: Mapping[str, Supplied]

    def stale(self, now: datetime) -> tuple[str, ...]:
        """Names of the sources that are stale or missing at ``now``, in order."""
        return tuple(
            name for name, given in self.sources.items() if given.freshness(now) is not Freshness.FRESH
        )
