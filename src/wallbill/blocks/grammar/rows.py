"""Facts as the rows that a chart's spec names by field."""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date, datetime, timedelta
from enum import Enum

from wallbill.errors import SheetError
from wallbill.facts.forecast import Forecast
from wallbill.facts.origin import Origin
from wallbill.facts.series import Series
from wallbill.findings import Finding
from wallbill.places.words import a_kind
from wallbill.units.quantity import Quantity

Cell = str | int | float | bool | None
Row = dict[str, Cell]
Figure = Callable[[Quantity], float]

_MOST_DEPTH = 4
_MEND = "Hand it facts of a series, the hours of a forecast, or a list of rows with named values."


def rows_of(given: object, *, figure: Figure) -> list[Row]:
    """The rows in what a sheet hands over.

    A series gives ``time``, ``value``, ``series`` (its name) and ``unit``; several series follow on one another. A
    forecast gives its hours. Mappings and dataclasses give a row each, what lies inside them with a low line
    between the names. ``figure``: the number that a quantity is shown as. Raises `SheetError` for anything else.
    """
    if isinstance(given, Series):
        return _readings(given)
    if isinstance(given, Forecast):
        return [_row(hour, figure=figure) for hour in given.hours]
    if isinstance(given, Mapping) or not isinstance(given, Sequence) or isinstance(given, str | bytes):
        raise SheetError(f"a chart is drawn of rows, not of {a_kind(type(given))}", mend=_MEND)
    rows: list[Row] = []
    for one in given:
        if isinstance(one, Series | Forecast):
            rows += rows_of(one, figure=figure)
        elif isinstance(one, Mapping) or (is_dataclass(one) and not isinstance(one, type)):
            rows.append(_row(one, figure=figure))
        else:
            rows.append({"value": _cell(one, figure=figure)})
    return rows


def _readings(series: Series) -> list[Row]:
    return [
        {
            "time": _moment(reading.at),
            "value": _number(reading.value),
            "series": series.name,
            "unit": series.unit,
        }
        for reading in series.readings
    ]


def _row(one: object, *, figure: Figure, prefix: str = "", depth: int = 0) -> Row:
    row: Row = {}
    for name, value in _members(one):
        if isinstance(value, Origin | Finding):
            continue
        nested = isinstance(value, Mapping) or (
            is_dataclass(value) and not isinstance(value, Quantity | type)
        )
        if nested and depth < _MOST_DEPTH:
            row |= _row(value, figure=figure, prefix=f"{prefix}{name}_", depth=depth + 1)
        else:
            row[prefix + name] = _cell(value, figure=figure)
    return row


def _members(one: object) -> list[tuple[str, object]]:
    if isinstance(one, Mapping):
        return [(str(name), value) for name, value in one.items()]
    if is_dataclass(one) and not isinstance(one, type):
        return [(field.name, getattr(one, field.name)) for field in fields(one) if field.name[0] != "_"]
    return []


def _cell(value: object, *, figure: Figure) -> Cell:
    if isinstance(value, Quantity):
        return _number(figure(value))
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, datetime):
        return _moment(value)
    if isinstance(value, date):
        return f"{value.isoformat()}T00:00:00"  # a bare date would be midnight in Greenwich
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, float):
        return _number(value)
    if value is None or isinstance(value, bool | int | str):
        return value
    return None if type(value).__name__ == "Missing" else str(value)


def _number(value: float | None) -> float | None:
    """The number, or None for what JSON has no sign for."""
    return value if value is not None and math.isfinite(value) else None


def _moment(moment: datetime) -> str:
    return moment.isoformat()
