"""What an own source gives: plain values, kept as they are, for sheets that know what they mean."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time, timedelta
from math import isfinite
from types import MappingProxyType

from wallbill.facts.origin import Origin
from wallbill.units.quantity import Quantity

Plain = object
"""Text, number, truth, nothing, a date, time or length of time, a `Quantity`, or a tuple or mapping of these."""

Values = Mapping[str, Plain]

DEEPEST = 32
"""Levels of tuples and mappings within each other that a plain value may have."""

_LEAVES = (str, int, bool, date, time, timedelta, Quantity, type(None))


def freeze(value: object, *, path: str = "value", depth: int = 0) -> Plain:
    """``value`` with lists made tuples and dictionaries read-only mappings, all the way down.

    Raises TypeError with the path of what is not plain (an object, a set, a key that is no text), and ValueError for
    a number that is not finite or a nest deeper than `DEEPEST`.
    """
    if depth > DEEPEST:
        raise ValueError(f"{path} is nested more than {DEEPEST} deep")
    if isinstance(value, float):
        if not isfinite(value):
            raise ValueError(f"{path} is {value}, which is no finite number")
        return value
    if isinstance(value, _LEAVES):
        return value
    if isinstance(value, list | tuple):
        return tuple(freeze(v, path=f"{path}[{i}]", depth=depth + 1) for i, v in enumerate(value))
    if isinstance(value, Mapping):
        for key in value:
            if not isinstance(key, str):
                raise TypeError(f"{path} has the key {key!r}, which is no text")
        return MappingProxyType({k: freeze(v, path=f"{path}.{k}", depth=depth + 1) for k, v in value.items()})
    raise TypeError(f"{path} is of type {type(value).__name__}, which is no plain value")


@dataclass(frozen=True, slots=True)
class Given:
    """The value of an own source: read-only, made of text, numbers, dates, tuples and mappings.

    What is given is frozen at once by `freeze`, which raises TypeError or ValueError for what is not plain.
    """

    origin: Origin
    value: Plain

    def __post_init__(self) -> None:
        object.__setattr__(self, "value", freeze(self.value))
