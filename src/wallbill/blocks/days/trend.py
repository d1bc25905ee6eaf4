"""Whether a series rises, falls or keeps its level, by a rule that is stated.

Two rules. By difference: the latest value against the one a stretch before; it rises or falls if they differ by the
threshold at least. By slope: a straight line fitted to the stretch by least squares; it rises or falls if the slope
differs from nought at the 5 % level, that is by more than t times its standard error, t being Student's for two sides
and n - 2 degrees of freedom. Readings that follow close on one another are not independent, so that the second rule
sees a trend somewhat too often.
"""

import math
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum

from wallbill.facts.series import Reading, Series

LEAST_READINGS = 4
"""Fewer readings carry no slope with an uncertainty worth stating."""

_NORMAL_975 = 1.959963984540054  # the normal distribution's quantile


class Heading(StrEnum):
    """Where a series is heading."""

    RISING = "rising"
    STEADY = "steady"
    FALLING = "falling"


@dataclass(frozen=True, slots=True)
class Trend:
    """A heading, and by how much the series changed over a stretch of time, in its unit."""

    heading: Heading
    change: float
    over: timedelta


@dataclass(frozen=True, slots=True)
class Slope:
    """A fitted line: its rise in an hour, the standard error of that, and how many readings it rests on."""

    per_hour: float
    error_per_hour: float
    count: int


def trend(series: Series, *, over: timedelta, threshold: float | None = None) -> Trend | None:
    """The trend of the last ``over`` of a series; None where it cannot be told.

    ``threshold``: in the series' unit, for the rule by difference; None: the rule by slope. Raises ValueError for no
    time or a threshold below nought.
    """
    if not over > timedelta(0):
        raise ValueError(f"a trend needs a stretch of time, got {over}")
    if threshold is None:
        return _by_slope(series, over)
    if threshold < 0:
        raise ValueError(f"a threshold is nought or more, got {threshold}")
    change = series.change(hours=over / timedelta(hours=1))
    if change is None:
        return None
    level = abs(change.value) < threshold or change.value == 0
    heading = Heading.STEADY if level else Heading.RISING if change.value > 0 else Heading.FALLING
    return Trend(heading, change.value, over)


def _by_slope(series: Series, over: timedelta) -> Trend | None:
    latest = series.latest
    if latest is None:
        return None
    readings = [r for r in series.readings if r.value is not None and latest.at - over <= r.at <= latest.at]
    line = slope(readings)
    if line is None:
        return None
    sure = abs(line.per_hour) > student_975(line.count - 2) * line.error_per_hour
    heading = Heading.RISING if line.per_hour > 0 else Heading.FALLING
    change = line.per_hour * (over / timedelta(hours=1))
    return Trend(heading if sure and line.per_hour else Heading.STEADY, change, over)


def slope(readings: list[Reading]) -> Slope | None:
    """The line of least squares through readings with values; None for fewer than four, or all at one instant."""
    if len(readings) < LEAST_READINGS:
        return None
    hours = [(reading.at - readings[0].at) / timedelta(hours=1) for reading in readings]
    values = [reading.value or 0.0 for reading in readings]
    count = len(readings)
    middle, level = sum(hours) / count, sum(values) / count
    spread = sum((hour - middle) ** 2 for hour in hours)
    if spread == 0:
        return None
    rise = sum((h - middle) * (v - level) for h, v in zip(hours, values, strict=True)) / spread
    off = sum((v - level - rise * (h - middle)) ** 2 for h, v in zip(hours, values, strict=True))
    return Slope(rise, math.sqrt(off / (count - 2) / spread), count)


def student_975(freedom: int) -> float:
    """Student's t that 2.5 % lie above, by degrees of freedom.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5: an expansion about the normal quantile, good to
    0.1 % from six degrees on; below that the exact values of the same handbook's table 26.10.
    """
    exact = {1: 12.706, 2: 4.303, 3: 3.182, 4: 2.776, 5: 2.571}
    if freedom in exact:
        return exact[freedom]
    x = _NORMAL_975
    terms: tuple[float, ...] = (
        (x**3 + x) / 4,
        (5 * x**5 + 16 * x**3 + 3 * x) / 96,
        (3 * x**7 + 19 * x**5 + 17 * x**3 - 15 * x) / 384,
    )
    return x + sum(term / float(freedom ** (power + 1)) for power, term in enumerate(terms))
