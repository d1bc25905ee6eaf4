"""Samples summed up: quartiles by a stated method, and the five-number summary."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from wallbill.blocks.charts.readings import is_number

_FENCE = 1.5  # quartile distances from the box to the fence: Tukey, Exploratory Data Analysis, 1977


class Quartiles(StrEnum):
    """How quartiles are found.

    ``hinges``: the medians of the lower and the upper half, the middle value in both (Tukey, Exploratory Data
    Analysis, 1977). The others interpolate in the ordered sample, numbered after Hyndman and Fan, The American
    Statistician 50(4), 1996: ``linear`` is their type 7, ``hazen`` type 5, ``weibull`` type 6.
    """

    HINGES = "hinges"
    LINEAR = "linear"
    HAZEN = "hazen"
    WEIBULL = "weibull"


@dataclass(frozen=True, slots=True)
class Summary:
    """A sample's least value, quartiles and greatest, its whiskers' ends and what lies beyond them.

    The whiskers end at the outermost values that are at most 1.5 times the distance of the quartiles away from these
    (Tukey, 1977).
    """

    least: float
    lower: float
    middle: float
    upper: float
    greatest: float
    whiskers: tuple[float, float]
    outside: tuple[float, ...]


def finite(values: Sequence[float | None]) -> tuple[float, ...]:
    """The values that can be drawn, in rising order."""
    return tuple(sorted(float(value) for value in values if value is not None and is_number(value)))


def quartiles(values: Sequence[float], method: Quartiles = Quartiles.HINGES) -> tuple[float, float, float]:
    """Lower quartile, median and upper quartile of finite values. Raises ValueError for none."""
    if not values:
        raise ValueError("no values have no quartiles")
    ordered = sorted(values)
    if method is Quartiles.HINGES:
        half = (len(ordered) + 1) // 2
        return _median(ordered[:half]), _median(ordered), _median(ordered[-half:])
    return _at(ordered, 0.25, method), _at(ordered, 0.5, method), _at(ordered, 0.75, method)


def _at(ordered: Sequence[float], share: float, method: Quartiles) -> float:
    """The quantile by a straight line between neighbours; positions after Hyndman and Fan, table 1."""
    count = len(ordered)
    place = {
        Quartiles.LINEAR: share * (count - 1),
        Quartiles.HAZEN: share * count - 0.5,
        Quartiles.WEIBULL: share * (count + 1) - 1,
    }[method]
    place = min(max(place, 0.0), count - 1.0)
    below = math.floor(place)
    above = min(below + 1, count - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def _median(ordered: Sequence[float]) -> float:
    middle = len(ordered) // 2
    if len(ordered) % 2:
        return float(ordered[middle])
    return (ordered[middle - 1] + ordered[middle]) / 2


def summary(values: Sequence[float | None], method: Quartiles = Quartiles.HINGES) -> Summary | None:
    """The five-number summary of what is finite among the values, or None if nothing is."""
    ordered = finite(values)
    if not ordered:
        return None
    lower, middle, upper = quartiles(ordered, method)
    reach = _FENCE * (upper - lower)
    within = [v for v in ordered if lower - reach <= v <= upper + reach]
    ends = (min([*within[:1], lower]), max([*within[-1:], upper]))
    outside = tuple(v for v in ordered if v < ends[0] or v > ends[1])
    return Summary(ordered[0], lower, middle, upper, ordered[-1], ends, outside)
