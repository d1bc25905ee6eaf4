"""Makes the weather payloads of the example wall: invented weather, in the shape that the services give it.

    python scripts/make_demo_payloads.py

The weather is told once, by control points and a list of what falls when, and written twice: as a Locationforecast
(``examples/fennel-quay/payloads/locationforecast.json``) and as an Open-Meteo forecast (``open-meteo.json``). There is
no chance in it: the same files come out each time.

The story, from Saturday 14 March 2026 on: a clear cold dawn with frost on the quay, sun, 13 °C; cloud thickens from the
south-west, showers from 18 o'clock, thunder as the front passes before midnight, the wind veers to the north-west.
Sunday showers and bright spells, Monday fog and then sun, Tuesday rain that turns into sleet, Wednesday snow showers,
Thursday clear with frost, Friday fair, Saturday rain, Sunday better.
"""

import json
import math
from bisect import bisect_right
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

OUT = Path(__file__).resolve().parents[1] / "examples" / "fennel-quay" / "payloads"
START = datetime(2026, 3, 14, tzinfo=UTC)  # hours below count from here; local time is UTC until 29 March
FIRST, HOURLY_UNTIL, LAST = 6, 60, 222
LATITUDE, LONGITUDE, ELEVATION = 50.31, -4.05, 12

Points = Mapping[int, float]

TEMPERATURE: Points = {
    0: 4.6, 3: 3.6, 5: 3.0, 6: 3.0, 7: 3.4, 8: 4.9, 9: 7.0, 10: 9.2, 11: 10.9, 12: 12.1, 13: 12.8, 14: 13.0, 15: 12.7,
    16: 11.9, 17: 10.9, 18: 9.9, 20: 9.0, 22: 8.6, 23: 8.2, 24: 7.0, 27: 5.6, 30: 4.8, 33: 6.6, 36: 8.6, 38: 9.1,
    41: 7.6, 44: 5.2, 48: 3.0, 53: 1.6, 56: 2.5, 58: 4.1, 60: 7.6, 62: 9.9, 63: 10.2, 66: 7.9, 72: 5.1, 78: 4.6,
    84: 5.9, 87: 6.2, 90: 3.4, 96: 1.4, 102: -0.6, 108: 3.1, 111: 3.8, 114: 1.5, 120: -0.8, 126: -1.9, 132: 5.4,
    135: 6.9, 138: 4.2, 144: 1.8, 150: 0.9, 156: 8.0, 159: 9.4, 162: 7.2, 168: 6.0, 174: 6.4, 180: 9.0, 183: 9.7,
    186: 9.0, 192: 7.8, 198: 6.1, 204: 10.5, 207: 11.4, 210: 9.0, 216: 7.0, 222: 5.6,
}  # fmt: skip
PRESSURE: Points = {
    0: 1020.1, 6: 1019.4, 12: 1016.2, 18: 1009.5, 23: 1003.2, 24: 1003.0, 27: 1005.8, 36: 1012.4, 48: 1020.6,
    60: 1023.1, 72: 1015.0, 84: 1004.3, 96: 1002.6, 108: 1008.1, 126: 1021.5, 138: 1026.3, 150: 1025.0, 168: 1015.2,
    180: 1007.7, 192: 1008.9, 204: 1014.1, 222: 1019.0,
}  # fmt: skip
# Degrees, counted on past 360 so that the wind turns the short way.
WIND_FROM: Points = {
    0: 205, 6: 215, 12: 220, 18: 215, 22: 225, 24: 255, 26: 300, 30: 310, 40: 320, 48: 340, 56: 350, 60: 390, 66: 480,
    72: 520, 84: 550, 90: 690, 96: 710, 120: 725, 138: 690, 150: 600, 168: 560, 180: 570, 192: 610, 204: 630, 222: 640,
}  # fmt: skip
WIND: Points = {
    0: 2.6, 6: 3.4, 9: 4.0, 12: 5.2, 15: 6.6, 18: 8.3, 20: 9.9, 22: 12.0, 23: 11.8, 24: 10.2, 27: 9.0, 32: 8.1, 36: 7.2,
    42: 4.6, 48: 2.4, 54: 1.1, 57: 0.9, 62: 2.2, 72: 4.8, 84: 7.6, 90: 6.5, 96: 8.2, 108: 9.4, 120: 6.0, 126: 3.3,
    138: 2.4, 150: 2.2, 168: 6.3, 180: 8.8, 192: 7.0, 204: 4.4, 222: 3.0,
}  # fmt: skip
CLOUD: Points = {
    0: 6, 6: 3, 9: 8, 11: 25, 13: 48, 15: 70, 17: 92, 18: 90, 21: 96, 24: 100, 26: 78, 30: 55, 34: 62, 38: 45, 42: 18,
    46: 8, 50: 30, 52: 100, 58: 100, 59: 55, 60: 20, 66: 25, 72: 88, 78: 100, 93: 100, 96: 72, 108: 58, 114: 45, 120: 9,
    144: 6, 150: 20, 156: 30, 162: 34, 168: 88, 174: 100, 186: 100, 192: 70, 204: 45, 216: 30, 222: 35,
}  # fmt: skip
HUMIDITY: Points = {
    0: 90, 6: 93, 14: 61, 18: 74, 23: 92, 30: 84, 36: 66, 48: 86, 54: 99, 58: 98, 63: 62, 72: 80, 84: 93, 96: 86,
    108: 70, 126: 90, 135: 52, 150: 92, 159: 63, 174: 93, 186: 92, 204: 64, 222: 86,
}  # fmt: skip

# What falls in the hour that begins, in millimetres of water.
SHOWERS: Points = {18: 0.3, 19: 0.8, 20: 0.2, 21: 1.1, 22: 2.4, 23: 4.6, 24: 3.1, 25: 0.6, 26: 0.1, 31: 0.2, 33: 0.4,
                   34: 0.1, 37: 0.2}  # fmt: skip
RAIN: Points = {80: 0.4, 81: 0.7, 82: 1.1, 83: 1.4, 84: 1.2, 85: 0.9, 86: 0.6, 87: 0.4, 171: 0.2, 172: 0.5, 173: 0.9,
                174: 1.3, 175: 1.6, 176: 1.8, 177: 1.5, 178: 1.2, 179: 0.9, 180: 0.8, 181: 0.6, 182: 0.4, 183: 0.2}  # fmt: skip
SLEET: Points = {88: 0.5, 89: 0.6, 90: 0.4, 91: 0.3, 92: 0.2}
SNOW_SHOWERS: Points = {103: 0.3, 104: 0.3, 107: 0.4, 109: 0.5, 110: 0.3, 112: 0.3, 115: 0.1}
THUNDER = frozenset({23})
FOG = range(52, 59)

# The code numbers of Open-Meteo by the symbol of MET Norway, without its suffix.
WMO = {
    "clearsky": 0, "fair": 1, "partlycloudy": 2, "cloudy": 3, "fog": 45, "lightrainshowers": 80, "rainshowers": 81,
    "heavyrainshowers": 82, "heavyrainshowersandthunder": 95, "lightrain": 61, "rain": 63, "heavyrain": 65,
    "lightsleet": 71, "sleet": 71, "lightsnowshowers": 85, "snowshowers": 85,
}  # fmt: skip
# What decides over a period of six hours: what comes later in this list.
GRAVITY = ("clearsky", "fair", "partlycloudy", "cloudy", "fog", "lightrainshowers", "lightrain", "rainshowers", "rain",
           "lightsleet", "sleet", "lightsnowshowers", "snowshowers", "heavyrainshowers", "heavyrain",
           "heavyrainshowersandthunder")  # fmt: skip


def smooth(points: Points, at: float, low: float = -math.inf, high: float = math.inf) -> float:
    """A smooth line through control points (cubic Hermite, slopes by three-point differences), kept within limits."""
    xs = sorted(points)
    index = min(max(bisect_right(xs, at) - 1, 0), len(xs) - 2)
    x0, x1 = xs[index], xs[index + 1]

    def slope(i: int) -> float:
        before, after = max(i - 1, 0), min(i + 1, len(xs) - 1)
        here = points[xs[i]]
        steps = (here - points[xs[before]], points[xs[after]] - here)
        if steps[0] * steps[1] <= 0:
            return 0.0  # at a crest or a trough, so that the line does not overshoot its points
        return (points[xs[after]] - points[xs[before]]) / (xs[after] - xs[before])

    t, h = (at - x0) / (x1 - x0), x1 - x0
    value = (
        (2 * t**3 - 3 * t**2 + 1) * points[x0]
        + (t**3 - 2 * t**2 + t) * h * slope(index)
        + (3 * t**2 - 2 * t**3) * points[x1]
        + (t**3 - t**2) * h * slope(index + 1)
    )
    return min(max(value, low), high)


def amount(hour: int) -> float:
    """Millimetres of water in the hour that begins."""
    return sum(kind.get(hour, 0.0) for kind in (SHOWERS, RAIN, SLEET, SNOW_SHOWERS))


def base_symbol(hour: int) -> str:
    """The symbol of the hour that begins, without its suffix."""
    if hour in FOG:
        return "fog"
    mm = amount(hour)
    if mm:
        kinds = ((SHOWERS, "rainshowers"), (RAIN, "rain"), (SLEET, "sleet"), (SNOW_SHOWERS, "snowshowers"))
        name = next(name for kind, name in kinds if hour in kind)
        strength = "light" if mm < 0.5 else "heavy" if mm > 2 else ""
        return f"{strength}{name}{'andthunder' if hour in THUNDER else ''}"
    cloud = smooth(CLOUD, hour + 0.5, 0, 100)
    return next(
        name
        for name, most in (("clearsky", 13), ("fair", 38), ("partlycloudy", 86), ("cloudy", 101))
        if cloud < most
    )


def sun_is_up(hour: float) -> bool:
    """Whether it is day at Fennel Quay: sunrise 06:35 and sunset 18:18 on 14 March, two minutes more at either end a day."""
    days = hour // 24
    return 6.58 - days / 30 <= hour % 24 < 18.3 + days / 36


def symbol(hour: int, length: int) -> str:
    """The symbol code of a period."""
    base = max((base_symbol(h) for h in range(hour, hour + length)), key=GRAVITY.index)
    varies = "showers" in base or base in {"clearsky", "fair", "partlycloudy"}
    return f"{base}_{'day' if sun_is_up(hour + length / 2) else 'night'}" if varies else base


def chance(hour: int, length: int) -> float:
    """The chance of precipitation in a period, per cent: it falls here for sure, but the forecaster does not know that."""
    most = max(amount(h) for h in range(hour, hour + length))
    near = any(amount(h) for h in range(hour - 2, hour + length + 2))
    return round(45 + 45 * min(most / 1.5, 1)) if most else 18 if near else 2


def gust(hour: int) -> float:
    """The strongest gust about an hour, m/s."""
    return smooth(WIND, hour) * 1.38 + min(amount(hour), 3) * 0.6 + 0.8


def dew_point(hour: int) -> float:
    """Dew point in °C by the Magnus formula."""
    warm = smooth(TEMPERATURE, hour)
    gamma = math.log(smooth(HUMIDITY, hour, 0, 100) / 100) + 17.62 * warm / (243.12 + warm)
    return 243.12 * gamma / (17.62 - gamma)


def clock(hour: int) -> str:
    """An hour as the services write it."""
    return (START + timedelta(hours=hour)).strftime("%Y-%m-%dT%H:%M:%SZ")


def period(hour: int, length: int) -> dict[str, object]:
    """A period of a Locationforecast."""
    details: dict[str, float] = {
        "precipitation_amount": round(sum(amount(h) for h in range(hour, hour + length)), 1),
        "probability_of_precipitation": chance(hour, length),
    }
    if length == 6:
        warm = [smooth(TEMPERATURE, h) for h in range(hour, hour + 7)]
        details |= {"air_temperature_max": round(max(warm), 1), "air_temperature_min": round(min(warm), 1)}
    return {"summary": {"symbol_code": symbol(hour, length)}, "details": details}


def entry(hour: int) -> dict[str, object]:
    """An entry of a Locationforecast."""
    data: dict[str, object] = {
        "instant": {
            "details": {
                "air_pressure_at_sea_level": round(smooth(PRESSURE, hour), 1),
                "air_temperature": round(smooth(TEMPERATURE, hour), 1),
                "cloud_area_fraction": round(smooth(CLOUD, hour, 0, 100), 1),
                "dew_point_temperature": round(dew_point(hour), 1),
                "relative_humidity": round(smooth(HUMIDITY, hour, 0, 100), 1),
                "wind_from_direction": round(smooth(WIND_FROM, hour) % 360, 1),
                "wind_speed": round(smooth(WIND, hour, 0), 1),
                "wind_speed_of_gust": round(gust(hour), 1),
            }
        }
    }
    if hour < HOURLY_UNTIL:
        data["next_1_hours"] = period(hour, 1)
    if hour + 6 <= LAST:
        data["next_6_hours"] = period(hour, 6)
    if hour + 12 <= LAST:
        data["next_12_hours"] = {"summary": {"symbol_code": symbol(hour, 12)}, "details": {}}
    return {"time": clock(hour), "data": data}


def locationforecast() -> str:
    """The whole Locationforecast, an entry a line."""
    units = {
        "air_pressure_at_sea_level": "hPa", "air_temperature": "celsius", "air_temperature_max": "celsius",
        "air_temperature_min": "celsius", "cloud_area_fraction": "%", "dew_point_temperature": "celsius",
        "precipitation_amount": "mm", "probability_of_precipitation": "%", "relative_humidity": "%",
        "wind_from_direction": "degrees", "wind_speed": "m/s", "wind_speed_of_gust": "m/s",
    }  # fmt: skip
    hours = [*range(FIRST, HOURLY_UNTIL), *range(HOURLY_UNTIL, LAST + 1, 6)]
    place = json.dumps({"type": "Point", "coordinates": [LONGITUDE, LATITUDE, ELEVATION]})
    meta = json.dumps({"updated_at": "2026-03-14T05:37:00Z", "units": units})
    entries = ",\n".join(json.dumps(entry(hour), separators=(",", ":")) for hour in hours)
    return (
        f'{{"type": "Feature",\n"geometry": {place},\n"properties": {{\n"meta": {meta},\n'
        f'"timeseries": [\n{entries}\n]}}}}\n'
    )


def open_meteo() -> str:
    """The same weather as Open-Meteo tells it, a variable a line. What falls is told by the hour that has ended."""
    hours = range(7 * 24)
    hourly: dict[str, list[float]] = {
        "time": [int((START + timedelta(hours=hour)).timestamp()) for hour in hours],
        "temperature_2m": [round(smooth(TEMPERATURE, hour), 1) for hour in hours],
        "relative_humidity_2m": [round(smooth(HUMIDITY, hour, 0, 100)) for hour in hours],
        "pressure_msl": [round(smooth(PRESSURE, hour), 1) for hour in hours],
        "cloud_cover": [round(smooth(CLOUD, hour, 0, 100)) for hour in hours],
        "weather_code": [
            WMO[base_symbol(hour - 1 if amount(hour - 1) or amount(hour) else hour)] for hour in hours
        ],
        "is_day": [int(sun_is_up(hour)) for hour in hours],
        "precipitation": [round(amount(hour - 1), 1) for hour in hours],
        "precipitation_probability": [round(chance(hour - 1, 1)) for hour in hours],
        "wind_speed_10m": [round(smooth(WIND, hour, 0), 2) for hour in hours],
        "wind_direction_10m": [round(smooth(WIND_FROM, hour) % 360) for hour in hours],
        "wind_gusts_10m": [round(gust(hour - 1), 1) for hour in hours],
    }
    units = {
        "time": "unixtime", "temperature_2m": "°C", "relative_humidity_2m": "%", "pressure_msl": "hPa",
        "cloud_cover": "%", "weather_code": "wmo code", "is_day": "", "precipitation": "mm",
        "precipitation_probability": "%", "wind_speed_10m": "m/s", "wind_direction_10m": "°", "wind_gusts_10m": "m/s",
    }  # fmt: skip
    head = {
        "latitude": LATITUDE, "longitude": LONGITUDE, "generationtime_ms": 0.2, "utc_offset_seconds": 0,
        "timezone": "Europe/London", "timezone_abbreviation": "GMT", "elevation": float(ELEVATION),
    }  # fmt: skip
    top = ",\n".join(f"{json.dumps(name)}: {json.dumps(value)}" for name, value in head.items())
    columns = ",\n".join(
        f"{json.dumps(name)}: {json.dumps(row, separators=(',', ':'))}" for name, row in hourly.items()
    )
    return (
        f'{{{top},\n"hourly_units": {json.dumps(units, ensure_ascii=False)},\n"hourly": {{\n{columns}\n}}}}\n'
    )


def main() -> None:
    """Write both payloads."""
    for points in (TEMPERATURE, PRESSURE, WIND_FROM, WIND, CLOUD, HUMIDITY):
        assert all(a < b for a, b in pairwise(points)), "control points are not in order"
    OUT.mkdir(parents=True, exist_ok=True)
    (OUT / "locationforecast.json").write_text(locationforecast(), encoding="utf-8")
    (OUT / "open-meteo.json").write_text(open_meteo(), encoding="utf-8")


if __name__ == "__main__":
    main()
