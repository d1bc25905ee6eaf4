"""Facts as plain values: text, numbers, lists and mappings, for printing and JSON."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime, time, timedelta
from enum import Enum

from wallbill.facts.origin import Origin
from wallbill.findings import Finding
from wallbill.units.quantity import Quantity

Json = str | int | float | bool | None | list["Json"] | dict[str, "Json"]


def plain_fact(value: object) -> Json:
    """A fact, or any value inside one, as JSON has it; origins and findings are left out.

    Instants and dates are ISO 8601 text, quantities ``"11.5 °C"``, lengths of time seconds.
    """
    if value is None or isinstance(value, bool | int | float):
        return value
    if isinstance(value, bytes):
        return f"{len(value)} bytes"
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, Quantity):
        return f"{value.value:g} {value.unit}"
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    if isinstance(value, timedelta):
        return value.total_seconds()
    if isinstance(value, Mapping):
        return {str(key): plain_fact(inner) for key, inner in value.items()}
    if isinstance(value, tuple | list | frozenset):
        return [plain_fact(inner) for inner in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: plain_fact(inner)
            for field in fields(value)
            if not isinstance(inner := getattr(value, field.name), Origin | Finding)
            and not field.name.startswith("_")
        }
    return str(value)
