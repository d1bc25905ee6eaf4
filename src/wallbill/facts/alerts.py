"""Official warnings, as the Common Alerting Protocol words them."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

from wallbill.facts.hazards import Hazard, hazard_of
from wallbill.facts.origin import Origin


class _Ordered(StrEnum):
    """Words from the gravest to the least."""

    @property
    def gravity(self) -> int:
        """0 for unknown, and greater for what matters more."""
        words = tuple(type(self))
        return len(words) - 1 - words.index(self)


class Severity(_Ordered):
    """How much harm may come. Source: CAP 1.2, section 3.2.2."""

    EXTREME = "extreme"
    SEVERE = "severe"
    MODERATE = "moderate"
    MINOR = "minor"
    UNKNOWN = "unknown"


class Urgency(_Ordered):
    """How soon one must act: at once, within the hour, in the near future, or no more. Source: CAP 1.2, section 3.2.2."""

    IMMEDIATE = "immediate"
    EXPECTED = "expected"
    FUTURE = "future"
    PAST = "past"
    UNKNOWN = "unknown"


class Certainty(_Ordered):
    """How sure it is: seen, more likely than not, possible, hardly. Source: CAP 1.2, section 3.2.2."""

    OBSERVED = "observed"
    LIKELY = "likely"
    POSSIBLE = "possible"
    UNLIKELY = "unlikely"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Alert:
    """One warning, in one language. Instants are aware, in UTC; texts are plain, paragraphs parted by a blank line.

    ``effective``: from when the message holds, ``sent`` where it does not say. ``onset``: when the danger is to begin,
    None if unsaid. ``ends``: when it is over; where the publisher does not say, a day after its beginning.
    ``here``: whether the wall's place lies in its area; None where that cannot be told. ``areas``: the names of the
    areas that hold the place, or of all where none does. ``codes``: of those areas, such as ``("NUTS3", "UKK30")``.
    ``awareness_type``: what European weather services call its family, such as ``"3; Thunderstorm"``.
    """

    identifier: str
    sender: str
    sent: datetime
    event: str
    severity: Severity
    urgency: Urgency
    certainty: Certainty
    effective: datetime
    onset: datetime | None
    ends: datetime
    language: str = ""
    headline: str = ""
    description: str = ""
    instruction: str = ""
    sender_name: str = ""
    web: str = ""
    categories: tuple[str, ...] = ()
    responses: tuple[str, ...] = ()
    areas: tuple[str, ...] = ()
    codes: tuple[tuple[str, str], ...] = ()
    here: bool | None = None
    awareness_type: str = ""

    @property
    def begins(self) -> datetime:
        """When the danger is to begin: its onset, else when the message takes effect."""
        return self.onset or self.effective

    @property
    def gravity(self) -> tuple[int, int, int]:
        """A key to sort by: what matters more is greater; severity first, then urgency, then certainty."""
        return self.severity.gravity, self.urgency.gravity, self.certainty.gravity

    @property
    def hazard(self) -> Hazard:
        """The family of the danger, which has a picture."""
        return hazard_of(self.event, categories=self.categories, awareness_type=self.awareness_type)

    def is_over(self, now: datetime) -> bool:
        """Whether it has ended at ``now`` (aware)."""
        return self.ends <= now

    def under_way(self, now: datetime) -> bool:
        """Whether the danger has begun at ``now`` (aware) and is not over."""
        return self.begins <= now < self.ends


@dataclass(frozen=True, slots=True)
class Alerts:
    """The warnings that are not over and concern the wall's place, the gravest first. False where there are none.

    A warning whose place cannot be told is among them: better one too many. ``withdrawn``: sender and identifier of the
    messages that others have updated or cancelled.
    """

    origin: Origin
    active: tuple[Alert, ...] = field(default=())
    withdrawn: tuple[tuple[str, str], ...] = field(default=())

    def __bool__(self) -> bool:
        return bool(self.active)

    @property
    def worst(self) -> Alert | None:
        """The gravest warning, or None."""
        return next(iter(self.active), None)

    def under_way(self, now: datetime) -> tuple[Alert, ...]:
        """The warnings whose danger has begun at ``now`` (aware), the gravest first."""
        return tuple(alert for alert in self.active if alert.under_way(now))

    def at_least(self, severity: str) -> tuple[Alert, ...]:
        """The warnings of that severity (``"severe"``) or worse. Raises ValueError for a word that is none."""
        least = Severity(severity).gravity
        return tuple(alert for alert in self.active if alert.severity.gravity >= least)


def in_order(alerts: tuple[Alert, ...]) -> tuple[Alert, ...]:
    """Warnings by gravity, the gravest first; of equal ones what begins first, then by identifier."""
    return tuple(
        sorted(alerts, key=lambda a: (*(-part for part in a.gravity), a.begins, a.sender, a.identifier))
    )


def publishers(alerts: Sequence[Alert]) -> str:
    """Who is to be named: the publishers of what is shown."""
    return ", ".join(dict.fromkeys(alert.sender_name for alert in alerts if alert.sender_name))


def join_alerts(parts: Sequence[Alerts]) -> Alerts:
    """An index and the alerts that it links as one: what any of them withdraws is gone; the latest asked for dates all."""
    gone = {key for part in parts for key in part.withdrawn}
    kept: dict[tuple[str, str], list[Alert]] = {}
    for part in parts:
        for alert in part.active:
            key = (alert.sender, alert.identifier)
            if key in gone or (key in kept and kept[key][0].sent > alert.sent):
                continue
            if key in kept and kept[key][0].sent < alert.sent:
                kept[key] = []
            kept.setdefault(key, []).append(alert)
    latest = max(parts, key=lambda part: part.origin.fetched_at).origin
    found = in_order(tuple(dict.fromkeys(alert for alerts in kept.values() for alert in alerts)))
    findings = tuple(dict.fromkeys(finding for part in parts for finding in part.origin.findings))
    return Alerts(replace(latest, findings=findings, credit=publishers(found)), found, tuple(sorted(gone)))
