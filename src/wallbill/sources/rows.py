"""Rows of readings, whatever wrote them, made into series, one a value.

A row whose time cannot be read is left out, a value that is no number is a gap, each with a finding; when more than one
row in fifty is bad, the rows are not what the wall thinks they are, and the first bad row is the error.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from wallbill.errors import Place, SourceError
from wallbill.facts.series import Reading, Series
from wallbill.findings import Finding
from wallbill.sources.spec import ParseContext

_ONE_BAD_IN = 50
_MOST_FINDINGS = 5


@dataclass(frozen=True, slots=True)
class Row:
    """The instant (UTC) and a value for each measure, None for a gap."""

    at: datetime
    values: tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a row or a value of it. ``row``: its number or line, ``where``: the same for a person."""

    row: int
    where: Place
    what: str
    mend: str


@dataclass(frozen=True, slots=True)
class Measure:
    """What a series is called and its unit."""

    name: str
    unit: str


def series_of(
    rows: Iterable[Row],
    measures: Sequence[Measure],
    context: ParseContext,
    *,
    faults: Sequence[Fault],
    gap_after: timedelta | None,
) -> Series | tuple[Series, ...]:
    """The series of rows in any order; a tuple if there are several ``measures``.

    Of two rows of one instant the later one holds, gaps in it filled from the earlier. ``gap_after``: readings further
    apart have a gap between them. Raises `SourceError` at the first fault where the rows are mostly bad.
    """
    known = _in_order(rows)
    _judge(known, faults)
    origin = context.origin("readings", findings=_findings(faults))
    made = []
    for number, measure in enumerate(measures):
        readings = tuple(Reading(row.at, row.values[number]) for row in known)
        latest = next((r.at for r in reversed(readings) if r.value is not None), None)
        own = replace(origin, issued_at=None if latest is None else min(latest, origin.fetched_at))
        series = Series(own, measure.name, measure.unit, readings)
        made.append(series if gap_after is None else _with_gaps(series, gap_after))
    return tuple(made) if len(made) > 1 else made[0]


def _in_order(rows: Iterable[Row]) -> tuple[Row, ...]:
    latest: dict[datetime, Row] = {}
    for row in rows:
        older = latest.get(row.at)
        latest[row.at] = row if older is None else _over(older, row)
    return tuple(sorted(latest.values(), key=lambda row: row.at))


def _over(older: Row, newer: Row) -> Row:
    """The newer of two rows of one instant, its gaps filled from the older."""
    pairs = zip(older.values, newer.values, strict=True)
    return Row(newer.at, tuple(old if new is None else new for old, new in pairs))


def _with_gaps(series: Series, longest: timedelta) -> Series:
    """The series with a gap between any two readings that are more than ``longest`` apart."""
    readings = list(series.readings[:1])
    for before, here in pairwise(series.readings):
        if here.at - before.at > longest:
            readings.append(Reading(before.at + (here.at - before.at) / 2, None))
        readings.append(here)
    return replace(series, readings=tuple(readings))


def _judge(rows: Sequence[Row], faults: Sequence[Fault]) -> None:
    """Raises `SourceError` where so many rows are bad that they must be of another kind."""
    bad = len({fault.row for fault in faults})
    if faults and (not rows or bad > max(1, len(rows) // _ONE_BAD_IN)):
        first = faults[0]
        raise SourceError(
            f"{first.what} ({bad} bad lines, {len(rows)} rows could be read)",
            where=first.where,
            mend=first.mend,
        )


def _findings(faults: Sequence[Fault]) -> tuple[Finding, ...]:
    found = [
        Finding("sources.left-out", fault.where, f"left out: {fault.what}", mend=fault.mend)
        for fault in faults[:_MOST_FINDINGS]
    ]
    if len(faults) > _MOST_FINDINGS:
        rest = len(faults) - _MOST_FINDINGS
        found.append(
            Finding(
                "sources.left-out",
                Place(faults[0].where.file),
                f"{rest} more were left out",
                mend=faults[0].mend,
            )
        )
    return tuple(found)
