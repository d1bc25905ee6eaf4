"""When a battery will be empty: the line against other people's, the forecast against a cell that is discharged."""

from bisect import bisect_left
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import theilslopes  # type: ignore[import-untyped]  # it ships no types
from sklearn.linear_model import TheilSenRegressor

from wallbill.server.batteries import EMPTY_MV, Forecast, cell_charge, cell_mv, forecast, theil_sen
from wallbill.store.model import Report

NOON = datetime(2027, 3, 10, 12, tzinfo=UTC)
DAY = timedelta(days=1)

# Open-circuit voltage of lithium-ion cells by the charge that is left: two as makers of gauges commonly draw them (common
# practice, from memory; the fall, the flat part and the knee are what matters here), and a published one.
_HIGH = (
    (0.00, 3000), (0.02, 3300), (0.05, 3450), (0.10, 3580), (0.20, 3680), (0.30, 3730), (0.40, 3770),
    (0.50, 3810), (0.60, 3870), (0.70, 3940), (0.80, 4010), (0.90, 4090), (1.00, 4200),
)  # fmt: skip
_LOW = (
    (0.00, 2750), (0.01, 3000), (0.03, 3250), (0.06, 3420), (0.10, 3500), (0.20, 3590), (0.30, 3630),
    (0.40, 3660), (0.50, 3710), (0.60, 3790), (0.70, 3880), (0.80, 3970), (0.90, 4070), (1.00, 4190),
)  # fmt: skip


def drawn(points: tuple[tuple[float, float], ...]) -> Callable[[float], float]:
    return lambda charge: float(np.interp(charge, [c for c, _ in points], [mv for _, mv in points]))


CELLS = {"high": drawn(_HIGH), "low": drawn(_LOW), "published": cell_mv}


def report(days_ago: float, mv: float | None) -> Report:
    return Report("porch", NOON - days_ago * DAY, battery_mv=None if mv is None else round(mv))


def line(days: float, mv: float, fall: float, *, noise_mv: float = 0.0, every_h: float = 1.0) -> list[Report]:
    """Reports of the last ``days``, falling straight to ``mv`` now, ``fall`` millivolts a day."""
    random = Random(7)
    count = int(days * 24 / every_h)
    return [
        report(hour * every_h / 24, mv + fall * hour * every_h / 24 + random.gauss(0, noise_mv))
        for hour in range(count)
    ]


# --- the line ---------------------------------------------------------------------------------------------------------


@given(
    st.lists(
        st.tuples(st.integers(-50, 50), st.integers(-500, 500)),
        min_size=2,
        max_size=25,
        unique_by=lambda p: p[0],
    )
)
def test_the_line_is_scipys(points: list[tuple[int, int]]) -> None:
    """Slope and bounds against scipy.stats.theilslopes, which follows Sen (1968) too. Ties in y are allowed for."""
    found = theil_sen([(float(x), float(y)) for x, y in points])
    assert found is not None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    theirs = theilslopes(ys, xs, alpha=0.95, method="joint")
    assert found.slope == pytest.approx(theirs.slope)
    assert found.intercept == pytest.approx(theirs.intercept)
    assert found.least == pytest.approx(theirs.low_slope)
    assert found.most == pytest.approx(theirs.high_slope)


def test_a_third_of_wild_points_leaves_the_line_where_it_is() -> None:
    """As scikit-learn's TheilSenRegressor, whose breakdown point is 29.3 % (its documentation)."""
    points = [(float(x), 3600 - 5.0 * x) for x in range(30)]
    wild = [(x, 4200.0 if number % 4 == 3 else y) for number, (x, y) in enumerate(points)]
    found = theil_sen(wild)
    assert found is not None
    assert found.slope == pytest.approx(-5, abs=0.3)
    theirs = TheilSenRegressor(random_state=0, max_subpopulation=1000).fit(
        [[x] for x, _ in wild], [y for _, y in wild]
    )
    assert found.slope == pytest.approx(theirs.coef_[0], abs=1.0)


def test_no_line_through_one_moment() -> None:
    assert theil_sen([(1.0, 2.0), (1.0, 3.0)]) is None
    assert theil_sen([]) is None


# --- the forecast -----------------------------------------------------------------------------------------------------


def told(reports: list[Report], empty_mv: float | None = None) -> Forecast | None:
    return forecast(reports, empty_mv=empty_mv, now=NOON)


def test_a_straight_fall_ends_where_it_must() -> None:
    found = told(line(20, 2100, 10, noise_mv=5), empty_mv=2000)
    assert found is not None
    assert found.days is not None
    assert found.soonest_days is not None
    assert found.latest_days is not None
    assert found.days == pytest.approx(10, rel=0.1)
    assert found.soonest_days <= 10 <= found.latest_days
    assert found.fall_mv_a_day == pytest.approx(10, rel=0.1)
    assert not found.nearly


def test_a_display_may_say_when_it_is_empty() -> None:
    found = told(line(20, 1200, 10), empty_mv=1100)
    assert found is not None
    assert (found.assumed, found.empty_mv) == (False, 1100)
    assert found.days == pytest.approx(10, rel=0.05)


@pytest.mark.parametrize(
    "reports", [[], line(3, 3700, 10), [report(d, None) for d in range(20)], line(2, 3700, 10, every_h=0.1)]
)
def test_from_too_little_nothing_is_told(reports: list[Report]) -> None:
    assert told(reports) is None


def test_old_reports_and_those_of_another_clock_do_not_count() -> None:
    assert told([report(day + 40, 3400 + 10 * day) for day in range(20)]) is None
    assert told([report(-day - 1, 3400 - 10 * day) for day in range(20)]) is None


def test_a_charge_begins_anew() -> None:
    before = [report(day + 3, 3350 + 10 * day) for day in range(15)]
    after = [report(day, 4150 + 10 * day) for day in range(3)]
    assert told(before + after) is None
    found = told(
        [report(day + 6, 3350 + 10 * day) for day in range(15)]
        + [report(day, 4140 + 10 * day) for day in range(6)]
    )
    assert found is not None
    assert found.days == pytest.approx(84, rel=0.05)
    assert (found.empty_mv, found.assumed) == (EMPTY_MV, True)
    assert found.points == 6


def test_a_panel_in_the_sun_that_charges_each_day_is_not_empty_soon() -> None:
    hours = range(24 * 20)
    found = told([report(h / 24, 3900 + 80 * np.sin(h / 24 * 2 * np.pi)) for h in hours])
    assert found is not None
    assert found.days is None or found.days > 60


def test_a_level_line_tells_no_day() -> None:
    found = told(line(20, 3700, 0))
    assert found is not None
    assert (found.days, found.latest_days) == (None, None)


def test_three_reports_below_empty_are_enough() -> None:
    found = told([report(0, 3290), report(0.01, 3280), report(0.02, 3300)])
    assert found is not None
    assert found.days == 0
    almost = told([report(0, 3290), report(0.01, 3310), report(0.02, 3310)])
    assert almost is not None
    assert (almost.nearly, almost.days) == (True, None)


@pytest.mark.parametrize("cell", CELLS)
@pytest.mark.parametrize(
    ("life_days", "least_days", "most_days"), [(30, 0.25, 4), (60, 0.5, 7), (190, 2, 20), (400, 5, 42)]
)
def test_a_cell_that_is_discharged_is_told_in_time_and_not_too_soon(
    cell: str, life_days: int, least_days: float, most_days: float
) -> None:
    """A steady current over a whole life, noise of 10 mV, nights that are colder. The sharper the knee, the later it is told."""
    random = Random(3)
    curve = CELLS[cell]
    life = [
        (at / 4, curve(1 - at / 4 / life_days) + random.gauss(0, 10) + 10 * np.sin(at * np.pi / 2))
        for at in range(life_days * 4)
    ]
    empty_at = next(at for at, _ in life if curve(1 - at / life_days) <= EMPTY_MV)

    def is_told(now: float) -> bool:
        found = told([report(now - at, mv) for at, mv in life if now - 30 < at <= now])
        return found is not None and (found.nearly or (found.days is not None and found.days <= 7))

    # Told on one day it is told on all that follow, so the first is found by halving.
    days = range(2 * life_days)
    first = bisect_left(days, True, key=lambda half: is_told(half / 2)) / 2
    assert least_days <= empty_at - first <= most_days


def test_the_charge_is_the_voltage_read_backwards() -> None:
    for share in (0.01, 0.05, 0.2, 0.5, 0.9, 1.0):
        assert cell_charge(cell_mv(share)) == pytest.approx(share, abs=1e-5)
    assert cell_charge(2000) == pytest.approx(0, abs=1e-5)
    assert cell_charge(5000) == pytest.approx(1.2, abs=1e-5)


def test_one_just_above_empty_is_nearly_so_at_once() -> None:
    found = told([report(0, 3440), report(0.01, 3430), report(0.02, 3450)])
    assert found is not None
    assert (found.nearly, found.days) == (True, None)
    # Two small cells of another kind, with their own end, are no lithium cell.
    assert told([report(0, 2100), report(0.01, 2100), report(0.02, 2100)], empty_mv=2000) is None
