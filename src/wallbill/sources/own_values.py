"""What an own function returns, on its way out of its process: plain values as JSON, each kind told by its tag.

JSON has no dates and no tuples, so whatever is not a number, text, truth or nothing is a list of a tag and the rest.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime, time, timedelta, tzinfo
from decimal import Decimal
from enum import Enum
from math import isfinite
from numbers import Integral, Real
from types import MappingProxyType
from typing import Any

from wallbill.facts.given import DEEPEST, Plain
from wallbill.units.quantity import Quantity

LARGEST_BYTES = 1 << 20
"""Size of an encoded result. What is larger belongs in a file, of which a function picks what a page shows."""


def encoded(value: object, *, zone: tzinfo, path: str = "the result", depth: int = 0) -> Any:
    """``value`` as JSON. Dataclasses, named tuples and mappings become mappings, lists and tuples lists.

    Clock times without a zone are taken in ``zone``. Raises TypeError or ValueError with the path of what is no plain
    value: a set, an object, a key that is no text, a number that is not finite, a nest too deep.
    """
    if depth > DEEPEST:
        raise ValueError(f"{path} is nested more than {DEEPEST} deep")
    if isinstance(value, Enum):
        value = value.value
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real | Decimal):
        if not isfinite(value):
            raise ValueError(f"{path} is {value}, which is no finite number")
        return float(value)
    if isinstance(value, Quantity | date | time | timedelta):
        return _moment_or_quantity(value, zone)
    parts = _parts(value)
    if parts is None:
        raise TypeError(f"{path} is of type {type(value).__name__}, which is no plain value")
    if isinstance(parts, Mapping):
        return [
            "map",
            [
                [_key(key, path), encoded(v, zone=zone, path=f"{path}.{key}", depth=depth + 1)]
                for key, v in parts.items()
            ],
        ]
    return [
        "list",
        [encoded(v, zone=zone, path=f"{path}[{i}]", depth=depth + 1) for i, v in enumerate(parts)],
    ]


def _moment_or_quantity(value: Quantity | date | time | timedelta, zone: tzinfo) -> list[Any]:
    if isinstance(value, Quantity):
        return ["quantity", [value.value, value.unit]]
    if isinstance(value, datetime):
        return ["datetime", (value if value.tzinfo else value.replace(tzinfo=zone)).isoformat()]
    if isinstance(value, timedelta):
        return ["length", [value.days, value.seconds, value.microseconds]]
    return ["date" if isinstance(value, date) else "time", value.isoformat()]


def _parts(value: object) -> Mapping[object, object] | list[object] | None:
    """The parts of a compound, None for what is none that we know."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: getattr(value, field.name) for field in fields(value)}
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return dict(value._asdict())
    if isinstance(value, Mapping):
        return value
    return list(value) if isinstance(value, list | tuple) else None


def _key(key: object, path: str) -> str:
    if not isinstance(key, str):
        raise TypeError(f"{path} has the key {key!r}, which is no text")
    return str(key)


def decoded(value: Any) -> Plain:
    """The value again, as the function returned it, but frozen. Raises ValueError for what was not encoded here."""
    if not isinstance(value, list):
        return value
    if len(value) != 2 or value[0] not in _DECODERS:
        raise ValueError(f"an unknown tag in {str(value)[:40]!r}")
    return _DECODERS[value[0]](value[1])


def _decoded_map(pairs: Any) -> Plain:
    return MappingProxyType({str(key): decoded(value) for key, value in pairs})


def _decoded_list(values: Any) -> Plain:
    return tuple(decoded(value) for value in values)


def _decoded_quantity(parts: Any) -> Plain:
    return Quantity(parts[0], parts[1])


def _decoded_length(parts: Any) -> Plain:
    return timedelta(*parts)


_DECODERS: Mapping[str, Callable[[Any], Plain]] = MappingProxyType(
    {
        "map": _decoded_map,
        "list": _decoded_list,
        "quantity": _decoded_quantity,
        "datetime": datetime.fromisoformat,
        "date": date.fromisoformat,
        "time": time.fromisoformat,
        "length": _decoded_length,
    }
)


def reply_of(value: object, *, zone: tzinfo) -> bytes:
    """The payload that tells a result; raises as `encoded` does, and ValueError for one above `LARGEST_BYTES`."""
    reply = json.dumps({"value": encoded(value, zone=zone)}, ensure_ascii=False, allow_nan=False).encode()
    if len(reply) > LARGEST_BYTES:
        raise ValueError(f"the result has {len(reply) / 2**20:.1f} MiB, more than {LARGEST_BYTES / 2**20:g}")
    return reply
