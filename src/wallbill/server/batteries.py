"""When a battery will be empty, from what a display said of its voltage over the last weeks.

A lithium cell falls quickly at first, hardly at all for most of its life, and quickly at the end. A straight line would
promise months on the flat part, days before the end. So up to three lines are drawn: through the voltages of the last
weeks, through those of the last days, and, once a lithium cell has left the flat part, through the charge that they
mean. The one that ends soonest counts. On the flat part cells differ too much for their charge to be told from their
voltage; near the end they do not, so one that comes close to empty is called nearly empty, whatever the lines say. A charge
begins a new battery.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import combinations
from math import exp, sqrt
from statistics import NormalDist, median

from wallbill.store.model import Report

EMPTY_MV = 3300.0
"""Taken where a display says nothing: one lithium cell under a regulator of 3.3 V. Common practice, no source."""

CHARGED_MV = 60.0
"""A day whose median lies higher than the day before by as much has seen a charger. Common practice, no source."""

LOOKED_BACK = timedelta(days=28)
"""Reports that are older say nothing of today's fall."""

NEARLY_MV = 200.0
"""A lithium cell that is no more than this above empty has a tenth of its charge left at most. Common practice, no source."""

_CELL_MOST_MV = 4300.0
_CELL_EMPTY_MV = (2900.0, 3700.0)
_FLAT_MV = 3600.0  # the flat part of a lithium cell lies above (common practice, no source)
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
    reports that it rests on. ``assumed``: ``empty_mv`` is `EMPTY_MV`, for want of a better. ``nearly``: see `NEARLY_MV`.
    """

    level_mv: float
    empty_mv: float
    assumed: bool
    points: int
    fall_mv_a_day: float = 0.0
    days: float | None = None
    soonest_days: float | None = None
    latest_days: float | None = None
    nearly: bool = False


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
    sure = len(last) == _LAST_POINTS
    if sure and median(last) <= empty:
        return Forecast(median(last), empty, assumed, len(told), days=0.0, soonest_days=0.0, latest_days=0.0)
    nearly = sure and _is_cell(last[-1], empty) and median(last) <= empty + NEARLY_MV
    days = _since_charge(_by_day(told))
    line = theil_sen(days) if len(days) >= _LEAST_POINTS else None
    if line is None or days[-1][0] - days[0][0] < _LEAST_SPAN_D:
        return Forecast(median(last), empty, assumed, len(told), nearly=True) if nearly else None
    soonest = min((end for end in _ends(days, empty) if end is not None), key=_when)
    return Forecast(line.intercept, empty, assumed, len(days), -line.slope, *soonest, nearly=nearly)


def _is_cell(mv: float, empty_mv: float) -> bool:
    """Whether it may be a single lithium cell."""
    least, most = _CELL_EMPTY_MV
    return mv <= _CELL_MOST_MV and least <= empty_mv <= most


def cell_mv(charge: float) -> float:
    """The open-circuit voltage of a lithium polymer cell by the share of its charge that is left, millivolts.

    M. Chen and G. A. Rincón-Mora, Accurate electrical battery model capable of predicting runtime and I-V performance,
    IEEE Transactions on Energy Conversion 21 (2006), 504-511, table for a cell of 850 mAh (figures from memory).
    """
    volts = -1.031 * exp(-35 * charge) + 3.685 + 0.2156 * charge - 0.1178 * charge**2 + 0.3201 * charge**3
    return 1000 * volts


def cell_charge(mv: float) -> float:
    """The share of charge that is left at a voltage in millivolts, by halving; from 0 to 1.2, for cells charged higher."""
    low, high = 0.0, 1.2
    for _ in range(20):
        middle = (low + high) / 2
        low, high = (low, middle) if cell_mv(middle) > mv else (middle, high)
    return (low + high) / 2


_Days = Sequence[tuple[float, float]]
_Figures = tuple[float | None, float | None, float | None]


def _ends(days: _Days, empty_mv: float) -> Iterator[_Figures | None]:
    """When each of the lines ends."""
    recent = [day for day in days if day[0] >= days[-1][0] - _RECENT_D]
    yield _end(days, empty_mv)
    yield _end(recent, empty_mv)
    if _is_cell(days[-1][1], empty_mv):
        yield _end([(at, cell_charge(mv)) for at, mv in recent if mv < _FLAT_MV], cell_charge(empty_mv))


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


def _end(days: _Days, empty: float) -> _Figures | None:
    """When the line through some days comes down to ``empty``: days from now, soonest, latest; None for too few days."""
    line = theil_sen(days) if len(days) >= _LEAST_POINTS else None
    if line is None:
        return None
    left = max(line.intercept - empty, 0.0)
    soonest = left / -line.least if line.least < 0 else None
    if line.most >= 0:
        return None, soonest, None
    return left / -line.slope, soonest, left / -line.most


def _when(end: _Figures) -> float:
    return float("inf") if end[0] is None else end[0]
