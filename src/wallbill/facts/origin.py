"""Where a fact came from and how old it is. Staleness is arithmetic on this, never a guess."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from wallbill.findings import Finding


class Freshness(StrEnum):
    """How a fact stands at a given moment: good, shown but marked, or not there at all."""

    FRESH = "fresh"
    STALE = "stale"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class Origin:
    """What made a fact.

    ``source``: its name in ``wall.toml``. ``service``: who published it. ``credit``: the line to print, or "".
    ``issued_at``: when the publisher made it, None if unsaid. ``fetched_at``: when it reached us. Both aware, UTC.
    ``good_for``: how long after it was issued (or fetched, if unsaid) it may be shown without a mark; None: always.
    ``findings``: what the reader of the payload had to leave out or to doubt.
    """

    source: str
    service: str
    credit: str
    issued_at: datetime | None
    fetched_at: datetime
    good_for: timedelta | None = None
    findings: tuple[Finding, ...] = ()

    def __post_init__(self) -> None:
        for moment in (self.issued_at, self.fetched_at):
            if moment is not None and moment.tzinfo is None:
                raise ValueError(f"an origin's moments are aware, got {moment!r}")

    @property
    def dated(self) -> datetime:
        """The moment from which age counts: the publisher's where it is known, else ours."""
        return self.issued_at or self.fetched_at

    def age(self, now: datetime) -> timedelta:
        """Time since the fact was issued; never negative, so that a publisher's fast clock makes no news."""
        return max(timedelta(0), now - self.dated)

    def freshness(self, now: datetime) -> Freshness:
        """Fresh or stale at ``now`` (aware)."""
        if self.good_for is not None and self.age(now) > self.good_for:
            return Freshness.STALE
        return Freshness.FRESH
