"""When a battery will be empty, from what a display said of its voltage over the last weeks.

A lithium cell falls quickly at first, hardly at all for most of its life, and quickly at the end. A line through all of
it would promise months on the flat part, days before the end. So two lines are drawn, through the last weeks and the
last days, and the one that ends sooner counts. A charge begins a new battery.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations
from math import sqrt
from statistics import NormalDist, median

from wallbill.store.model import Report

EMPTY_MV = 3300.0
"""Taken where a display says nothing: one lithium cell under a regulator of 3.3 V. Common practice, no source."""

CHARGED_MV = 60.0
"""A day whose median lies higher than the day before by as much has seen a charger. Common practice, no source."""

LOOKED_BACK = timedelta(days=28)
"""Reports that are older say nothing of today's fall."""

_RECENT_D = 8.0
_LEAST_POINTS = 5
_LEAST_SPAN_D = 4.0
_LAST_POINTS = 3
_SURE = 0.95
_DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Line:
    """A robust line: ``slope`` with its bounds, both in units of y by x, and the height at x = 0."""

    slope: float
    least: float
    most: float
    intercept: float


def theil_sen(points: Sequence[tuple[float, float]], *, sure: float = _SURE) -> Line | None:
    """The median of the slopes between all pairs of points (x, y), and bounds that hold with probability ``sure``.

    None for fewer than two different x. Bounds: P. K. Sen, Estimates of the regression coefficient based on Kendall's
    tau, Journal of the American Statistical Association 63 (1968), 1379-1389. Intercept: median of y - slope x.
    """
    slopes = sorted((y2 - y1) / (x2 - x1) for (x1, y1), (x2, y2) in combinations(points, 2) if x1 != x2)
    if not slopes:
        return None
    slope = median(slopes)
    reach = NormalDist().inv_cdf(0.5 + sure / 2) * sqrt(_kendall_variance(points))
    low = max(round((len(slopes) - reach) / 2) - 1, 0)
    high = min(round((len(slopes) + reach) / 2), len(slopes) - 1)
    return Line(slope, slopes[low], slopes[high], median(y - slope * x for x, y in points))


def _kendall_variance(points: Sequence[tuple[float, float]]) -> float:
    """Variance of Kendall's S, ties in x and in y allowed for (Sen 1968, eq. 2.6)."""
    count = len(points)

    def term(n: int) -> int:
        return n * (n - 1) * (2 * n + 5)

    ties = 0
    for axis in (0, 1):
        values = [point[axis] for point in points]
        ties += sum(term(values.count(value)) for value in set(values))
    return max(term(count) - ties, 0) / 18


@dataclass(frozen=True, slots=True)
class Forecast:
    """When a battery will be empty. Days count from the moment of the forecast; 0: it is empty now.

    ``days`` lies between ``soonest_days`` and ``latest_days``. ``days`` and ``latest_days`` are None where the voltage does
    not surely fall, ``soonest_days`` where it surely does not. ``level_mv``: now, by the line. ``points``: days or
    reports that it rests on. ``assumed``: ``empty_mv`` is `EMPTY_MV`, for want of a better.
    """

    level_mv: float
    empty_mv: float
    assumed: bool
    points: int
    fall_mv_a_day: float = 0.0
    days: float | None = None
    soonest_days: float | None = None
    latest_days: float | None = None


def forecast(reports: Sequence[Report], *, empty_mv: float | None, now: datetime) -> Forecast | None:
    """When the battery of a display will be empty, from its reports in any order; None where that cannot be told.

    ``empty_mv``: the voltage at which it is empty, None: `EMPTY_MV`. A median a day is taken, so that cold nights and a
    radio's pull on the cell do not count. At least five days are asked for, since the last charge.
    """
    empty, assumed = (EMPTY_MV, True) if empty_mv is None else (empty_mv, False)
    told = sorted(
        ((report.at - now).total_seconds() / _DAY_S, float(report.battery_mv))
        for report in reports
        if report.battery_mv is not None and now - LOOKED_BACK <= report.at <= now
    )
    last = [mv for _, mv in told[-_LAST_POINTS:]]
    if len(last) == _LAST_POINTS and max(last) <= empty:
        return Forecast(median(last), empty, assumed, len(told), days=0.0, soonest_days=0.0, latest_days=0.0)
    days = _since_charge(_by_day(told))
    if len(days) < _LEAST_POINTS or days[-1][0] - days[0][0] < _LEAST_SPAN_D:
        return None
    ends = [_end(part, empty) for part in (days, [day for day in days if day[0] >= days[-1][0] - _RECENT_D])]
    soonest = min((end for end in ends if end is not None), key=_when, default=None)
    if soonest is None:
        return None
    line, level, figures = soonest
    return Forecast(level, empty, assumed, len(days), -line.slope, *figures)


def _by_day(told: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """A point for each day that has reports, counted back from now: median of time (days) and of voltage."""
    days: dict[int, list[tuple[float, float]]] = {}
    for at, mv in told:
        days.setdefault(int(at // 1), []).append((at, mv))
    return [(median(at for at, _ in day), median(mv for _, mv in day)) for _, day in sorted(days.items())]


def _since_charge(days: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """The days after the last one on which the voltage rose as only a charger makes it rise."""
    start = 0
    for number in range(1, len(days)):
        if days[number][1] - days[number - 1][1] >= CHARGED_MV:
            start = number
    return list(days[start:])


_Figures = tuple[float | None, float | None, float | None]


def _end(days: Sequence[tuple[float, float]], empty_mv: float) -> tuple[Line, float, _Figures] | None:
    """The line through some days, its height now, and when it ends; None for too few days."""
    line = theil_sen(days) if len(days) >= _LEAST_POINTS else None
    if line is None:
        return None
    level = line.intercept
    left = max(level - empty_mv, 0.0)
    if line.most >= 0 and line.slope >= 0:
        return line, level, (None, None, None)
    soonest = left / -line.least if line.least < 0 else None
    if line.most >= 0:
        return line, level, (None, soonest, None)
    return line, level, (left / -line.slope, soonest, left / -line.most)


def _when(end: tuple[Line, float, _Figures]) -> float:
    days = end[2][0]
    return float("inf") if days is None else days
