"""Named values of a house: a boiler's temperature, a door, a pump, each with its unit and its own age."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from wallbill.facts.origin import Freshness, Origin
from wallbill.units.quantity import Quantity

Datum = float | str | bool | None
"""A number, a text, a truth, or nothing."""


@dataclass(frozen=True, slots=True)
class Value:
    """One value by its name.

    ``unit``: a sign of `wallbill.units.quantity.UNITS` for a number that has one, else None. ``at``: when it was so
    (aware, UTC), None where that cannot be told, as of a message that a broker had retained. ``held_at``: the latest
    moment at which it is sure to have held all the same. ``online``: whether what sends it says that it is running,
    None if it says nothing. ``good_for``: how long it may be shown without a mark, None: always.
    """

    name: str
    value: Datum
    unit: str | None
    at: datetime | None
    held_at: datetime | None = None
    online: bool | None = None
    good_for: timedelta | None = None

    def __post_init__(self) -> None:
        for moment in (self.at, self.held_at):
            if moment is not None and moment.tzinfo is None:
                raise ValueError(f"a value's moments are aware, got {moment!r}")

    @property
    def quantity(self) -> Quantity | None:
        """The number with its unit; None for anything else."""
        if isinstance(self.value, float) and self.unit is not None:
            return Quantity(self.value, self.unit)
        return None

    @property
    def age_known(self) -> bool:
        """Whether it can be told when it was so."""
        return self.at is not None

    def age(self, now: datetime) -> timedelta | None:
        """Time since it was so at ``now`` (aware), never negative; None where that cannot be told."""
        return None if self.at is None else max(timedelta(0), now - self.at)

    def freshness(self, now: datetime) -> Freshness:
        """Fresh, stale or missing at ``now`` (aware).

        A value is stale when it is older than it is good for, and when what sends it is offline. One whose age is
        unknown counts as stale too, unless it is sure to have held not too long ago.
        """
        if self.value is None:
            return Freshness.MISSING
        if self.online is False:
            return Freshness.STALE
        if self.good_for is None:
            return Freshness.FRESH
        last = max((moment for moment in (self.at, self.held_at) if moment is not None), default=None)
        return Freshness.FRESH if last is not None and now - last <= self.good_for else Freshness.STALE


class _Named(Mapping[str, "Value | Group"]):
    """Entries by name, asked for by attribute or in brackets."""

    __slots__ = ()
    entries: "tuple[Value | Group, ...]"

    def __getitem__(self, name: str) -> "Value | Group":
        for entry in self.entries:
            if entry.name == name:
                return entry
        raise KeyError(name)

    def __getattr__(self, name: str) -> "Value | Group":
        if name.startswith("_") or name == "entries":  # Python's own protocols must not find one here
            raise AttributeError(name)
        for entry in self.entries:
            if entry.name == name:
                return entry
        known = ", ".join(entry.name for entry in self.entries) or "none"
        raise AttributeError(f"there is no value {name!r}; there are: {known}")

    def __iter__(self) -> Iterator[str]:
        return (entry.name for entry in self.entries)

    def __len__(self) -> int:
        return len(self.entries)

    def __bool__(self) -> bool:
        return True


@dataclass(frozen=True, slots=True)
class Group(_Named):
    """Values of one kind that came under one name, such as the rooms of a filter ``house/+/temperature``.

    A mapping of the part that the filter left open to the value: ``group.kitchen``, ``group["sail loft"]``.
    """

    name: str
    entries: tuple[Value, ...]

    def freshness(self, now: datetime) -> Freshness:
        """The stalest of its values at ``now`` (aware); missing if it has none."""
        return _stalest(self.entries, now)


@dataclass(frozen=True, slots=True)
class Values(_Named):
    """The values of one source, a mapping by name: ``values.boiler``, ``values["boiler"]``.

    AttributeError and KeyError for a name that there is not.
    """

    origin: Origin
    entries: tuple[Value | Group, ...]

    def freshness(self, now: datetime) -> Freshness:
        """Stale at ``now`` (aware) when the source itself is, or any value that there is; missing if there is none."""
        own = self.origin.good_for is not None and now - self.origin.fetched_at > self.origin.good_for
        stalest = _stalest(self.entries, now)
        return Freshness.STALE if own and stalest is not Freshness.MISSING else stalest


def _stalest(entries: tuple[Value | Group, ...], now: datetime) -> Freshness:
    """Missing if all are; else stale if any that is there is stale."""
    there = {entry.freshness(now) for entry in entries} - {Freshness.MISSING}
    if not there:
        return Freshness.MISSING
    return Freshness.STALE if Freshness.STALE in there else Freshness.FRESH


def is_free_name(name: str) -> bool:
    """Whether a value may be called so and be asked for by attribute: no name that `Values` itself needs."""
    return name.isidentifier() and not name.startswith("_") and not hasattr(Values, name)
