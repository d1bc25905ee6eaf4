"""Makes the long payloads of the example wall: readings.csv and outing.gpx. All of it is invented.

Run it from the root of the repository: python scripts/make_demo_readings.py. The same files come out every time.
"""

import math
import random
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from xml.sax.saxutils import escape

PAYLOADS = Path(__file__).resolve().parents[1] / "examples" / "fennel-quay" / "payloads"

LAST = datetime(2026, 3, 14, 7, 45, tzinfo=UTC)
STEP = timedelta(minutes=15)
ROWS = 7 * 96 + 1

# The logger lost its card for three hours, and somebody once stood the lamp beside the sensor.
GAP = (datetime(2026, 3, 13, 1, 30, tzinfo=UTC), datetime(2026, 3, 13, 4, 30, tzinfo=UTC))
PEAK = datetime(2026, 3, 13, 16, 45, tzinfo=UTC)

# When the stove was lit: begin, hours, and how many degrees it brought.
FIRES = (
    (datetime(2026, 3, 7, 9, 0, tzinfo=UTC), 4.0, 7.5),
    (datetime(2026, 3, 8, 10, 0, tzinfo=UTC), 5.0, 8.0),
    (datetime(2026, 3, 10, 18, 0, tzinfo=UTC), 3.0, 7.0),
    (datetime(2026, 3, 12, 17, 30, tzinfo=UTC), 4.0, 8.5),
    (datetime(2026, 3, 13, 13, 0, tzinfo=UTC), 3.0, 6.0),
)


def stove(at: datetime) -> float:
    """Degrees that the fires add: up within an hour, away over the next five."""
    heat = 0.0
    for begins, hours, most in FIRES:
        since = (at - begins).total_seconds() / 3600
        if since > 0:
            warm = most * (1 - math.exp(-min(since, hours) / 0.7))
            heat += warm * math.exp(-max(0.0, since - hours) / 2.6)
    return heat


def readings() -> Iterator[str]:
    """Rows of the table: air in the workshop, its humidity, and the sensor's cell."""
    dice = random.Random(20260314)
    drift = 0.0
    yield "time,temperature_c,humidity_pct,battery_v"
    for number in range(ROWS):
        at = LAST - (ROWS - 1 - number) * STEP
        day = number / 96
        hour = at.hour + at.minute / 60
        drift = 0.97 * drift + dice.gauss(0, 0.07)
        outside = 7.6 + 1.1 * math.sin(day * 0.9) + 2.3 * math.sin((hour - 9.5) / 24 * math.tau)
        air = outside + stove(at) + drift
        damp = 81 - 2.1 * (air - 7.6) + 4 * math.sin(day * 1.7 + 1) + dice.gauss(0, 0.6)
        cell = 3.97 - 0.021 * day + 0.004 * (air - 8) + dice.gauss(0, 0.002)
        if at == PEAK:
            air += 7.4
        if GAP[0] <= at < GAP[1]:
            yield f"{at:%Y-%m-%dT%H:%M:%SZ},,,"
        else:
            yield f"{at:%Y-%m-%dT%H:%M:%SZ},{air:.1f},{min(98, max(25, damp)):.0f},{cell:.2f}"


# A week in late summer. Each day: when it begins, the speed in knots, and the turning points, degrees north and east.
DAYS = (
    (
        "2025-08-30T07:20",
        5.2,
        ((50.31, -4.05), (50.285, -4.10), (50.27, -4.24), (50.29, -4.45), (50.312, -4.625)),
    ),
    (
        "2025-08-31T08:05",
        5.4,
        ((50.312, -4.625), (50.255, -4.72), (50.185, -4.80), (50.16, -4.92), (50.10, -5.04)),
    ),
    (
        "2025-09-01T04:10",
        5.8,
        (
            (50.10, -5.04),
            (50.02, -5.02),
            (49.93, -5.17),
            (49.86, -5.20),
            (49.30, -4.98),
            (48.80, -4.72),
            (48.66, -4.66),
        ),
    ),
    (
        "2025-09-02T09:30",
        5.0,
        (
            (48.66, -4.66),
            (48.71, -4.52),
            (48.73, -4.30),
            (48.79, -4.02),
            (48.79, -3.80),
            (48.86, -3.62),
            (48.87, -3.52),
        ),
    ),
    (
        "2025-09-03T10:15",
        4.6,
        ((48.87, -3.52), (48.92, -3.47), (48.95, -3.30), (48.94, -3.12), (48.91, -3.02)),
    ),
    (
        "2025-09-04T02:40",
        6.0,
        (
            (48.91, -3.02),
            (48.99, -3.03),
            (49.40, -3.20),
            (49.90, -3.55),
            (50.13, -3.78),
            (50.22, -3.95),
            (50.31, -4.05),
        ),
    ),
)

STOPS = (
    ("Fennel Quay", 50.31, -4.05),
    ("Gull Pool", 50.312, -4.625),
    ("Saltmarrow", 50.10, -5.04),
    ("Roche Grise", 48.66, -4.66),
    ("Port Ardoise", 48.87, -3.52),
    ("Anse aux Sternes", 48.91, -3.02),
)

POINTS_A_DAY = 100
NAUTICAL_MILE_DEG = 1 / 60


def miles(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Nautical miles between two near places."""
    east = (b[1] - a[1]) * math.cos(math.radians((a[0] + b[0]) / 2))
    return math.hypot(b[0] - a[0], east) / NAUTICAL_MILE_DEG


def course(turns: tuple[tuple[float, float], ...], count: int) -> Iterator[tuple[float, float, float]]:
    """``count`` places along the turning points, evenly spaced, rounded at the turns; with miles from the start."""
    lengths = [miles(a, b) for a, b in pairwise(turns)]
    whole = sum(lengths)
    for number in range(count):
        gone = whole * number / (count - 1)
        left = gone
        for leg, length in enumerate(lengths):
            if left <= length or leg == len(lengths) - 1:
                share = left / length
                (a, b), (c, d) = turns[leg], turns[leg + 1]
                yield a + (c - a) * share, b + (d - b) * share, gone
                break
            left -= length


def passage() -> Iterator[str]:
    """Lines of the track: a segment a day."""
    dice = random.Random(4050)
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield '<gpx version="1.1" creator="Fennel Quay" xmlns="http://www.topografix.com/GPX/1/1">'
    yield " <metadata><name>To the other side and back</name></metadata>"
    for name, latitude, longitude in STOPS:
        yield f' <wpt lat="{latitude:.4f}" lon="{longitude:.4f}"><name>{escape(name)}</name></wpt>'
    yield " <trk><name>To the other side and back</name>"
    for begins, knots, turns in DAYS:
        start = datetime.fromisoformat(begins).replace(tzinfo=UTC)
        yield "  <trkseg>"
        places = list(course(turns, POINTS_A_DAY))
        smooth = [_mean(places, at) for at in range(len(places))]
        wander = 0.0
        for place, (latitude, longitude, gone) in enumerate(smooth):
            inner = min(place, len(smooth) - 1 - place) / len(smooth)
            wander = 0.9 * wander + dice.gauss(0, 0.0012)
            set_by_tide = 0.02 * min(1.0, gone / 30) * math.sin(gone / 12) * min(1.0, inner * 6)
            at = start + timedelta(hours=gone / knots)
            yield (
                f'   <trkpt lat="{latitude + wander * min(1, inner * 8):.5f}"'
                f' lon="{longitude + set_by_tide + wander * min(1, inner * 8):.5f}">'
                f"<time>{at:%Y-%m-%dT%H:%M:%SZ}</time></trkpt>"
            )
        yield "  </trkseg>"
    yield " </trk>"
    yield "</gpx>"


def _mean(places: list[tuple[float, float, float]], at: int) -> tuple[float, float, float]:
    """The mean of a place and its neighbours, so that a turn is a curve; the ends stay."""
    reach = min(4, at, len(places) - 1 - at)
    near = places[at - reach : at + reach + 1]
    return (sum(p[0] for p in near) / len(near), sum(p[1] for p in near) / len(near), places[at][2])


def main() -> int:
    """Writes both files and says where."""
    for name, lines in (("readings.csv", readings()), ("outing.gpx", passage())):
        path = PAYLOADS / name
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        print(path.relative_to(PAYLOADS.parents[2]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
