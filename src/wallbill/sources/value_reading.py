"""Values out of a payload: each read by itself, so that one that cannot be read is a gap and the others stay."""

from dataclasses import dataclass, field
from datetime import datetime

from wallbill.errors import Place
from wallbill.facts.values import Datum, Value
from wallbill.findings import Finding
from wallbill.sources.datum import DoubtError, datum
from wallbill.sources.moments import Moments
from wallbill.sources.picking import Part
from wallbill.sources.value_options import Sought

_MOST_FINDINGS = 5


@dataclass(frozen=True, slots=True)
class Heard:
    """What came for a value: the ``payload`` as a JSON value, and when.

    ``at``: when it was so, None: unknown; a time in the payload is taken before it. ``latest``: no moment is later.
    """

    payload: object
    at: datetime | None
    latest: datetime
    held_at: datetime | None = None
    online: bool | None = None


@dataclass(slots=True)
class Doubts:
    """What could not be read so far, to be told with the fact; many of them become a few findings."""

    source: str
    found: list[Finding] = field(default_factory=list)

    def add(self, name: str, doubt: DoubtError) -> None:
        """A gap: ``name`` could not be read."""
        self.found.append(
            Finding(
                "sources.left-out", Place(self.source, field=name), f"a gap: {doubt.what}", mend=doubt.mend
            )
        )

    def told(self) -> tuple[Finding, ...]:
        """The findings, the first few of them and how many more there are."""
        rest = len(self.found) - _MOST_FINDINGS
        if rest <= 0:
            return tuple(self.found)
        more = Finding(
            "sources.left-out", Place(self.source), f"{rest} more gaps", mend=self.found[_MOST_FINDINGS].mend
        )
        return (*self.found[:_MOST_FINDINGS], more)


def part_of(payload: object, pick: Part | None) -> object:
    """The picked part of a payload, all of it without a pick; raises `DoubtError` where there is no such part."""
    if pick is None or payload is None:
        return payload
    part = pick.of(payload)
    if part is None:
        raise DoubtError(f"there is nothing at {pick.text!r}", "Check the pick against the payload.")
    return part


def value_of(wanted: Sought, heard: Heard, moments: Moments, *, doubts: Doubts, name: str = "") -> Value:
    """A value out of what was heard; a gap, noted in ``doubts``, where it cannot be read.

    ``name``: what it is called, if not as the wall names it.
    """
    called = name or wanted.name
    told = called if called == wanted.name else f"{wanted.name}.{called}"
    number: Datum = None
    unit: str | None = wanted.wanted.unit
    try:
        number, unit = datum(part_of(heard.payload, wanted.pick), wanted.wanted)
    except DoubtError as doubt:
        doubts.add(told, doubt)
    at, own = _at(wanted, heard, moments, doubts=doubts, told=told)
    return Value(
        name=called,
        value=number,
        unit=unit if isinstance(number, float) else None,
        at=at,
        held_at=None if own else heard.held_at,
        online=heard.online,
        good_for=wanted.good_for,
    )


def _at(
    wanted: Sought, heard: Heard, moments: Moments, *, doubts: Doubts, told: str
) -> tuple[datetime | None, bool]:
    """When it was so, and whether the payload itself says so; a clock that is ahead makes no news."""
    if wanted.time is None or heard.payload is None:
        return heard.at, False
    try:
        return min(moments.read(part_of(heard.payload, wanted.time)), heard.latest), True
    except DoubtError as doubt:
        doubts.add(f"{told} (time)", doubt)
    except ValueError as fault:
        doubts.add(
            f"{told} (time)",
            DoubtError(str(fault), 'Say how times are written, such as time_format = "unix".'),
        )
    return None, True
