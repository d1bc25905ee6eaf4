"""Facts out of JSON payloads and rows of a database: values of one thing, or series of many."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from wallbill.errors import Place, SourceError
from wallbill.facts.series import Series
from wallbill.facts.values import Value, Values
from wallbill.findings import Finding
from wallbill.sources.datum import DoubtError, datum
from wallbill.sources.moments import Moments
from wallbill.sources.picking import Part
from wallbill.sources.rows import Fault, Measure, Row, series_of
from wallbill.sources.spec import ParseContext
from wallbill.sources.value_options import Sought
from wallbill.sources.value_reading import Doubts, Heard, part_of, value_of


def values_fact(
    payload: object, context: ParseContext, wanted: Sequence[Sought], *, moments: Moments, service: str
) -> Values:
    """The values that a wall wants out of one payload; those that cannot be read are gaps, with findings.

    What says no time is taken to be of the moment when it was fetched. Raises `SourceError` if none can be read.
    """
    doubts = Doubts(context.spec.name)
    heard = Heard(payload, context.fetched_at, context.fetched_at)
    found = tuple(value_of(one, heard, moments, doubts=doubts) for one in wanted)
    if doubts.found and all(value.value is None for value in found):
        first = doubts.found[0]
        raise SourceError(
            f"none of its values can be read; the first: {first.what.removeprefix('a gap: ')}",
            where=first.where,
            mend=first.mend,
        )
    issued_at = oldest(found) if any(one.time for one in wanted) else None
    return Values(context.origin(service, issued_at=issued_at, findings=doubts.told()), found)


def oldest(values: Iterable[Value]) -> datetime | None:
    """The moment of the oldest value whose moment is known, None if none is."""
    return min(
        (value.at for value in values if value.at is not None and value.value is not None), default=None
    )


def rows_fact(
    rows: Sequence[object],
    context: ParseContext,
    wanted: Sequence[Sought],
    *,
    time: tuple[Part, Moments],
    gap_after: timedelta | None,
) -> Series | tuple[Series, ...]:
    """The series of many rows, one for each wanted value; raises `SourceError` where most of them cannot be read.

    ``time``: the part of a row that says when, and how it is written.
    """
    measures = [Measure(one.name, _unit(one)) for one in wanted]
    faults: list[Fault] = []
    read = [
        row
        for number, one in enumerate(rows)
        if (row := _row(number, one, wanted, time=time, told=(context.spec.name, faults)))
    ]
    return series_of(read, measures, context, faults=faults, gap_after=gap_after)


def with_findings(fact: Series | tuple[Series, ...], *more: Finding) -> Series | tuple[Series, ...]:
    """The same series, the first of them with further findings."""
    if isinstance(fact, tuple):
        first = with_findings(fact[0], *more)
        return (*((first,) if isinstance(first, Series) else first), *fact[1:])
    return replace(fact, origin=replace(fact.origin, findings=(*fact.origin.findings, *more)))


def _unit(one: Sought) -> str:
    if one.wanted.unit is None or one.wanted.kind not in {"", "number"}:
        raise SourceError(
            f"{one.name} has no unit, and a row of readings needs one",
            where=one.place,
            mend='Add unit = "°C", or unit = "1" for a plain number.',
        )
    return one.wanted.unit


def _row(
    number: int,
    row: object,
    wanted: Sequence[Sought],
    *,
    time: tuple[Part, Moments],
    told: tuple[str, list[Fault]],
) -> Row | None:
    """One row, None if it does not say when; what is wrong is added to the faults in ``told``."""
    part, moments = time
    source, faults = told

    def fault(name: str, what: str, mend: str) -> None:
        faults.append(Fault(number, Place(source, field=f"[{number}] {name}".strip()), what, mend))

    try:
        at = moments.read(part_of(row, part))
    except ValueError as why:
        fault(part.text, str(why), 'Say how times are written, such as time_format = "unix".')
        return None
    except DoubtError as doubt:
        fault(part.text, doubt.what, doubt.mend)
        return None
    values: list[float | None] = []
    for one in wanted:
        try:
            value, _ = datum(one.pick.of(row) if one.pick else row, one.wanted)
        except DoubtError as doubt:
            fault(one.name, doubt.what, doubt.mend)
            value = None
        values.append(value if isinstance(value, float) else None)
    return Row(at, tuple(values))
