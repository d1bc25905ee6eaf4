"""Light and dark: against published definitions, a full ephemeris and a table reckoned with it."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from math import degrees, pi
from zoneinfo import ZoneInfo

import ephem
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.days.heavens import Heavens, Light, heavens, light_at
from wallbill.facts.agenda import midnight
from wallbill.sources.moon import moon_height_deg
from wallbill.sources.sun import Spot, sun_altitude_deg

LONDON, NEW_YORK, QUITO = Spot(51.5074, -0.1278), Spot(40.7128, -74.0060), Spot(-0.1807, -78.4678)
SYDNEY, TROMSO, LONGYEARBYEN = Spot(-33.8688, 151.2093), Spot(69.6492, 18.9553), Spot(78.2232, 15.6267)

# Rise and set at -0°50', civil (-6) and nautical (-12) twilight, UTC, of the local day; reckoned with ephem 4.2.1 from
# these coordinates, and in agreement with the SPA algorithm of NREL/TP-560-34302 within 4 s. "+1", "-1": the UTC date
# beside.
TABLE = (
    ("London", LONDON, "Europe/London", "2024-06-21", "03:43:12 20:21:38 02:55:26 21:09:24 01:40:46 22:24:02"),
    ("London", LONDON, "Europe/London", "2024-12-21", "08:03:59 15:53:37 07:23:39 16:33:57 06:40:27 17:17:10"),
    ("New York", NEW_YORK, "America/New_York", "2024-03-20", "10:58:31 23:08:43 10:31:14 23:36:03 09:59:17 00:08:05+1"),
    ("New York", NEW_YORK, "America/New_York", "2024-06-21", "09:25:08 00:30:50+1 08:51:42 01:04:15+1 08:09:02 01:46:55+1"),
    ("New York", NEW_YORK, "America/New_York", "2024-12-21", "12:16:49 21:32:02 11:45:49 22:03:02 11:11:19 22:37:32"),
    ("Quito", QUITO, "America/Guayaquil", "2024-03-20", "11:17:52 23:24:21 10:57:12 23:45:01 10:33:13 00:09:01+1"),
    ("Sydney", SYDNEY, "Australia/Sydney", "2024-03-20", "19:58:21-1 08:06:18 19:33:25-1 08:31:11 19:04:19-1 09:00:14"),
    ("Sydney", SYDNEY, "Australia/Sydney", "2024-12-21", "18:40:52-1 09:05:38 18:11:42-1 09:34:48 17:35:48-1 10:10:42"),
    ("Tromso", TROMSO, "Europe/Oslo", "2024-12-21", "- - 08:31:32 12:53:22 06:46:58 14:37:55"),
    ("Tromso", TROMSO, "Europe/Oslo", "2025-02-01", "08:22:50 13:33:50 07:00:30 14:56:16 05:43:56 16:12:59"),
    ("Longyearbyen", LONGYEARBYEN, "Arctic/Longyearbyen", "2024-03-20", "04:48:03 17:25:34 03:01:46 19:13:52 - -"),
    ("Longyearbyen", LONGYEARBYEN, "Arctic/Longyearbyen", "2024-12-21", "- - - - 09:58:51 11:52:40"),
    ("Longyearbyen", LONGYEARBYEN, "Arctic/Longyearbyen", "2025-02-01", "- - 09:44:02 12:40:01 06:45:55 15:38:31"),
)  # fmt: skip
STEPS = ((Light.DAY, Light.CIVIL), (Light.CIVIL, Light.NAUTICAL), (Light.NAUTICAL, Light.ASTRONOMICAL))


def day_of(spot: Spot, zone: str, day: str) -> Heavens:
    where, on = ZoneInfo(zone), date.fromisoformat(day)
    return heavens(midnight(on, where), midnight(on + timedelta(days=1), where), spot)


def instant(day: str, told: str) -> datetime:
    clock, sign, shift = told.partition("+") if "+" in told else told.partition("-")
    days = int(f"{sign}{shift}") if sign else 0
    return datetime.fromisoformat(f"{day}T{clock}+00:00") + timedelta(days=days)


def edge(sky: Heavens, lighter: Light, darker: Light, *, brightening: bool) -> datetime | None:
    """The instant at which one light gives way to the next."""
    for before, after in pairwise(sky.lights):
        pair = (before.light, after.light)
        if pair == ((darker, lighter) if brightening else (lighter, darker)):
            return after.start
    return None


@pytest.mark.parametrize(
    ("name", "spot", "zone", "day", "told"),
    TABLE,
    ids=lambda v: v if isinstance(v, str) and len(v) < 14 else "",
)
def test_the_ends_of_twilight_against_the_table(
    name: str, spot: Spot, zone: str, day: str, told: str
) -> None:
    sky = day_of(spot, zone, day)
    limit_s = 20 if abs(spot.latitude_deg) < 60 else 180  # as far as the table may be trusted
    for number, each in enumerate(told.split()):
        found = edge(sky, *STEPS[number // 2], brightening=number % 2 == 0)
        if each == "-":
            assert found is None
        else:
            assert found is not None
            assert abs((found - instant(day, each)).total_seconds()) < limit_s, (name, number, found)


@pytest.mark.parametrize(("day", "lights"), [("2024-06-21", {Light.DAY}), ("2024-12-21", {Light.NIGHT, Light.ASTRONOMICAL, Light.NAUTICAL, Light.CIVIL})])  # fmt: skip
def test_polar_day_and_polar_night(day: str, lights: set[Light]) -> None:
    sky = day_of(TROMSO, "Europe/Oslo", day)
    assert {lit.light for lit in sky.lights} == lights
    assert sky.suns == ()
    assert len(sky.noons) == 1


def test_astronomical_twilight_against_an_ephemeris() -> None:
    sky = day_of(LONDON, "Europe/London", "2024-03-20")
    for brightening in (True, False):
        found = edge(sky, Light.ASTRONOMICAL, Light.NIGHT, brightening=brightening)
        watch = _observer(LONDON, datetime(2024, 3, 20, tzinfo=UTC))
        watch.horizon, watch.pressure = "-18", 0
        sun = ephem.Sun()
        expected = (
            watch.next_rising(sun, use_center=True)
            if brightening
            else watch.next_setting(sun, use_center=True)
        )
        assert found is not None
        assert abs((found - _utc(expected)).total_seconds()) < 20


@pytest.mark.parametrize("spot", [LONDON, NEW_YORK, QUITO, SYDNEY, TROMSO])
def test_solar_noon_against_an_ephemeris(spot: Spot) -> None:
    start = datetime(2025, 2, 11, tzinfo=UTC)
    for noon in heavens(start, start + timedelta(days=9), spot).noons:
        expected = _utc(_observer(spot, noon - timedelta(hours=6)).next_transit(ephem.Sun()))
        assert abs((noon - expected).total_seconds()) < 5


@pytest.mark.parametrize("spot", [LONDON, NEW_YORK, QUITO, SYDNEY])
def test_moonrise_and_moonset_against_an_ephemeris(spot: Spot) -> None:
    start = datetime(2026, 3, 1, tzinfo=UTC)
    moons = heavens(start, start + timedelta(days=10), spot).moons
    assert 18 <= len(moons) <= 20
    for moon in moons:
        watch = _observer(spot, moon.at - timedelta(hours=2))
        watch.horizon, watch.pressure = "-0:34", 0
        expected = watch.next_rising(ephem.Moon()) if moon.upwards else watch.next_setting(ephem.Moon())
        assert abs((moon.at - _utc(expected)).total_seconds()) < 25, moon


@given(
    st.integers(0, 36_500 * 24),
    st.floats(-89, 89),
    st.floats(-180, 180),
    st.integers(1, 120),
)
@settings(max_examples=60, deadline=None)
def test_lights_follow_on_one_another_by_single_steps(
    hour: int, latitude: float, longitude: float, hours: int
) -> None:
    spot = Spot(latitude, longitude)
    start = datetime(1980, 1, 1, tzinfo=UTC) + timedelta(hours=hour)
    sky = heavens(start, start + timedelta(hours=hours), spot)
    assert sky.lights[0].start == sky.start
    assert sky.lights[-1].end == sky.end
    for before, after in pairwise(sky.lights):
        assert before.end == after.start
        # Both may be passed within a sample's second near the poles only: there the sun hardly climbs.
        assert abs(before.light - after.light) == 1
    for lit in sky.lights:
        middle = lit.start + (lit.end - lit.start) / 2
        assert light_at(sun_altitude_deg(middle, spot)) is lit.light
    for up_from, up_to in sky.moon_up:
        if up_to - up_from > timedelta(minutes=1):
            assert moon_height_deg(up_from + (up_to - up_from) / 2, spot) > 0


def test_a_stretch_that_is_none_is_refused() -> None:
    start = datetime(2026, 1, 1, tzinfo=UTC)
    for end in (start, start - timedelta(hours=1), start + timedelta(days=500)):
        with pytest.raises(ValueError, match="reckoned"):
            heavens(start, end, LONDON)


def _observer(spot: Spot, at: datetime) -> ephem.Observer:
    watch = ephem.Observer()
    watch.lat, watch.lon, watch.elevation = spot.latitude_deg * pi / 180, spot.longitude_deg * pi / 180, 0
    watch.date = at.strftime("%Y/%m/%d %H:%M:%S")
    assert abs(degrees(watch.lat) - spot.latitude_deg) < 1e-9
    return watch


def _utc(told: ephem.Date) -> datetime:
    found: datetime = told.datetime().replace(tzinfo=UTC)
    return found
