"""Reading JSON payloads: every fault is told with its place in the payload, and one bad row does not lose the rest."""

import json
import re
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Annotated, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from wallbill.errors import Place, SourceError
from wallbill.findings import Finding, Weight
from wallbill.units.quantity import Quantity

_MOST_FINDINGS = 5
_FIRST_YEAR, _LAST_YEAR = 1900, 2200
_KEY = r"(?!(?:float|int|str|none)$)[A-Za-z]\w*"
_FORMAT = (
    "Look at the payload; if the service has changed its format, report it and feed the wall from a file."
)


class Shape(BaseModel):
    """The part of a payload that is read. Strict: no text is taken for a number; keys that are not read may be there."""

    model_config = ConfigDict(strict=True, frozen=True, extra="ignore")


ShapeT = TypeVar("ShapeT", bound=Shape)


def _moment(value: object) -> object:
    """An ISO 8601 instant with its offset, in UTC."""
    if not isinstance(value, str):
        return value
    moment = datetime.fromisoformat(value)
    if moment.tzinfo is None:
        raise ValueError("the time has no offset from UTC")
    return of_our_age(moment).astimezone(UTC)


def of_our_age(moment: datetime) -> datetime:
    """The moment itself; raises ValueError for one that no forecast can mean, near the ends of the calendar."""
    if not _FIRST_YEAR <= moment.year <= _LAST_YEAR:
        raise ValueError(f"the time is of the year {moment.year}")
    return moment


Number = Annotated[float, Field(allow_inf_nan=False)]
Celsius = Annotated[float, Field(allow_inf_nan=False, ge=-100, le=70)]
Temperature = Annotated[float, Field(allow_inf_nan=False, ge=-150, le=160)]
Percent = Annotated[float, Field(allow_inf_nan=False, ge=0, le=105)]
Degrees = Annotated[float, Field(allow_inf_nan=False, ge=0, le=360)]
Amount = Annotated[float, Field(allow_inf_nan=False, ge=0, le=2000)]
HectoPascal = Annotated[float, Field(allow_inf_nan=False, ge=800, le=1100)]
Moment = Annotated[datetime, BeforeValidator(_moment)]


def read_json(payload: bytes, source: str) -> object:
    """The value of a JSON payload (RFC 8259); raises `SourceError` with line and column.

    NaN and Infinity, which are no JSON but do occur, come as floats for the shapes to refuse in their row.
    """
    text = payload.strip()
    if not text:
        raise SourceError("the payload is empty", where=Place(source), mend=_FORMAT)
    if text.startswith(b"<"):
        raise SourceError(
            "a web page came in place of JSON",
            where=Place(source, 1),
            mend="Check the address, and that the network asks for no login.",
        )
    try:
        value: object = json.loads(payload)
    except json.JSONDecodeError as fault:
        cut = fault.msg.startswith("Unterminated") or not fault.doc[fault.pos :].strip()
        raise SourceError(
            "the payload is cut short" if cut else f"the payload is no JSON: {fault.msg}",
            where=Place(source, fault.lineno, f"column {fault.colno}"),
            mend="Fetch it again; if it stays so, look at what the address gives." if cut else _FORMAT,
        ) from None
    except (UnicodeDecodeError, RecursionError, ValueError) as fault:
        why = "nested too deep" if isinstance(fault, RecursionError) else str(fault).split(":")[0]
        raise SourceError(f"the payload is no JSON: {why}", where=Place(source), mend=_FORMAT) from None
    return value


def read_shape(shape: type[ShapeT], value: object, source: str, *, at: str = "$") -> ShapeT:
    """A value as a shape; raises `SourceError` with the JSONPath (RFC 9535) of the first fault, from ``at`` down."""
    try:
        return shape.model_validate(value)
    except ValidationError as fault:
        path, what = _first(fault)
        raise SourceError(what, where=Place(source, field=at + path), mend=_FORMAT) from None


def read_rows(
    shape: type[ShapeT], rows: Sequence[object], *, at: Callable[[int, str], str], source: str
) -> tuple[tuple[tuple[int, ShapeT], ...], tuple[Finding, ...]]:
    """The rows that can be read, each with its index, and a finding for each that cannot.

    ``at``: gives the JSONPath of a row's field from the row's index and the path inside the row.
    Raises `SourceError` when there are no rows, or when more are bad than good: then the format is another.
    """
    if not rows:
        raise SourceError(
            "there is not one hour in it",
            where=Place(source, field=at(0, "").removesuffix("[0]")),
            mend="Check that the service covers the wall's place.",
        )
    good: list[tuple[int, ShapeT]] = []
    bad: list[tuple[str, str]] = []
    for index, row in enumerate(rows):
        try:
            good.append((index, shape.model_validate(row)))
        except ValidationError as fault:
            path, what = _first(fault)
            bad.append((at(index, path), what))
    if not good or len(bad) > len(good):
        path, what = bad[0]
        raise SourceError(
            f"{len(bad)} of {len(rows)} entries cannot be read; the first: {what}",
            where=Place(source, field=path),
            mend=_FORMAT,
        )
    return tuple(good), left_out(bad, source)


def left_out(bad: Sequence[tuple[str, str]], source: str) -> tuple[Finding, ...]:
    """Findings for parts that were left out, given as (JSONPath, what is wrong); many become one."""
    found = [
        Finding(
            rule="sources.left-out",
            where=Place(source, field=path),
            what=f"left out, as it cannot be read: {what}",
            mend="Nothing, if it happens once; else look at the payload.",
        )
        for path, what in bad[:_MOST_FINDINGS]
    ]
    if len(bad) > _MOST_FINDINGS:
        rest = len(bad) - _MOST_FINDINGS
        found.append(Finding("sources.left-out", Place(source), f"{rest} more were left out", mend=_FORMAT))
    return tuple(found)


def unknown_weather(code: object, place: Place) -> Finding:
    """A finding for a code or word that stands for no weather that we know of."""
    return Finding(
        rule="sources.unknown-weather",
        where=place,
        what=f"unknown weather {str(code)[:40]!r}: the hour is shown without it",
        mend="Report it; the service may have a new one.",
        weight=Weight.NOTE,
    )


def quantity(value: float | None, unit: str, *, to: str | None = None) -> Quantity | None:
    """A number of a payload with its unit, in another unit of its kind if asked; nothing stays nothing."""
    if value is None:
        return None
    return Quantity(value, unit) if to is None else Quantity(value, unit).to(to)


def share(percent: float | None) -> float | None:
    """Per cent as a share of at most 1; nothing stays nothing."""
    return None if percent is None else min(percent / 100, 1.0)


def _first(fault: ValidationError) -> tuple[str, str]:
    """JSONPath and words of the first fault that a shape found."""
    error = fault.errors(include_url=False, include_context=False)[0]
    # Where a value may have one of several shapes, pydantic names the shape too: no part of the payload's path.
    parts = [part for part in error["loc"] if isinstance(part, int) or re.fullmatch(_KEY, part)]
    path = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in parts)
    if error["type"] == "missing":
        return path, "it is missing"
    shown = repr(error["input"])
    shown = shown if len(shown) <= 40 else shown[:37] + "..."
    message = error["msg"].removeprefix("Value error, ").removeprefix("Input ")
    return path, f"{shown} {message}" if message.startswith("should") else f"{shown}: {message}"
