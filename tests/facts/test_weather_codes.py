"""Every number of both tables of present weather, and the picture that it gives.

Source: WMO-No. 306, Manual on Codes, volume I.1, code tables 4677 and 4680: the meanings of 4677, and of 4680 from 30 on,
were compared with two public transcriptions each; 4680 below 30 is from memory.
"""

import re
from pathlib import Path

import pytest

from wallbill.blocks.icons.sizes import SIZES
from wallbill.blocks.icons.weather import icon_grid
from wallbill.blocks.icons.words import describe
from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather
from wallbill.facts.weather_codes import CODES, Table, weather_of_code

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "icons.md"

# What each number shows by day; the sky itself where the table only tells how cloud changed, or of the past hour.
SKY, PAST = "partly-cloudy-day", "cloudy"
MANNED = {
    **dict.fromkeys(range(4), SKY), 4: "smoke", 5: "haze-day", 6: "dust", 7: "dust", 8: "dust", 9: "sandstorm",
    10: "mist-day", 11: "mist-day", 12: "mist-day", 13: "distant-lightning", 14: PAST, 15: PAST, 16: PAST, 17: "thunder",
    18: "squall", 19: "funnel", **dict.fromkeys(range(20, 30), PAST), **dict.fromkeys(range(30, 36), "sandstorm"),
    **dict.fromkeys(range(36, 40), "blowing-snow"), 40: "mist-day", **dict.fromkeys(range(41, 48), "fog"),
    48: "freezing-fog", 49: "freezing-fog",
    50: "drizzle-light", 51: "drizzle-light", 52: "drizzle-moderate", 53: "drizzle-moderate", 54: "drizzle-heavy",
    55: "drizzle-heavy", 56: "freezing-rain-light", 57: "freezing-rain-moderate", 58: "rain-light", 59: "rain-moderate",
    60: "rain-light", 61: "rain-light", 62: "rain-moderate", 63: "rain-moderate", 64: "rain-heavy", 65: "rain-heavy",
    66: "freezing-rain-light", 67: "freezing-rain-heavy", 68: "sleet-light", 69: "sleet-heavy",
    70: "snow-light", 71: "snow-light", 72: "snow-moderate", 73: "snow-moderate", 74: "snow-heavy", 75: "snow-heavy",
    76: "diamond-dust", 77: "snow-light", 78: "snow-light", 79: "ice-pellets-moderate",
    80: "rain-light-showers-day", 81: "rain-moderate-showers-day", 82: "rain-heavy-showers-day",
    83: "sleet-light-showers-day", 84: "sleet-heavy-showers-day", 85: "snow-light-showers-day", 86: "snow-heavy-showers-day",
    87: "hail-light-showers-day", 88: "hail-heavy-showers-day", 89: "hail-light-showers-day", 90: "hail-heavy-showers-day",
    91: "rain-light", 92: "rain-heavy", 93: "sleet-light", 94: "sleet-heavy",
    95: "rain-moderate-thunder", 96: "hail-moderate-thunder", 97: "rain-heavy-thunder", 98: "thunder-dust",
    99: "hail-heavy-thunder",
}  # fmt: skip
AUTOMATIC = {
    **dict.fromkeys(range(4), SKY), 4: "haze-day", 5: "haze-day", 10: "mist-day", 11: "diamond-dust", 12: "distant-lightning",
    18: "squall", **dict.fromkeys(range(20, 27), PAST), **dict.fromkeys(range(27, 30), "blowing-snow"),
    **dict.fromkeys(range(30, 35), "fog"), 35: "freezing-fog",
    40: "rain-moderate", 41: "rain-moderate", 42: "rain-heavy", 43: "rain-moderate", 44: "rain-heavy",
    45: "snow-moderate", 46: "snow-heavy", 47: "freezing-rain-moderate", 48: "freezing-rain-heavy",
    50: "drizzle-moderate", 51: "drizzle-light", 52: "drizzle-moderate", 53: "drizzle-heavy",
    54: "freezing-rain-light", 55: "freezing-rain-moderate", 56: "freezing-rain-heavy", 57: "rain-light", 58: "rain-moderate",
    60: "rain-moderate", 61: "rain-light", 62: "rain-moderate", 63: "rain-heavy",
    64: "freezing-rain-light", 65: "freezing-rain-moderate", 66: "freezing-rain-heavy", 67: "sleet-light", 68: "sleet-heavy",
    70: "snow-moderate", 71: "snow-light", 72: "snow-moderate", 73: "snow-heavy",
    74: "ice-pellets-light", 75: "ice-pellets-moderate", 76: "ice-pellets-heavy", 77: "snow-light", 78: "diamond-dust",
    80: "rain-moderate-showers-day", 81: "rain-light-showers-day", 82: "rain-moderate-showers-day",
    83: "rain-heavy-showers-day", 84: "rain-heavy-showers-day",
    85: "snow-light-showers-day", 86: "snow-moderate-showers-day", 87: "snow-heavy-showers-day", 89: "hail-moderate-showers-day",
    90: "thunder", 91: "thunder", 92: "rain-moderate-showers-thunder-day", 93: "hail-moderate-thunder", 94: "thunder",
    95: "rain-heavy-showers-thunder-day", 96: "hail-heavy-thunder", 99: "funnel",
}  # fmt: skip
# Numbers that table 4680 reserves.
RESERVED = {*range(6, 10), *range(13, 18), 19, *range(36, 40), 49, 59, 69, 79, 88, 97, 98}


@pytest.mark.parametrize("code", range(100))
def test_manned_stations(code: int) -> None:
    weather = weather_of_code(code, table="4677")
    assert weather is not None
    assert describe(weather).key == MANNED[code]


@pytest.mark.parametrize("code", range(100))
def test_automatic_stations(code: int) -> None:
    weather = weather_of_code(code, table=Table.AUTOMATIC)
    if code in RESERVED:
        assert weather is None
    else:
        assert weather is not None
        assert describe(weather).key == AUTOMATIC[code]


def test_every_number_can_be_drawn_at_every_size() -> None:
    for weather in {weather for table in CODES.values() for weather in table.values()}:
        for size_px in SIZES:
            assert icon_grid(weather, size_px=size_px).drawn().any()


def test_all_kinds_occur() -> None:
    told = list(CODES[Table.MANNED].values())
    assert {weather.falling for weather in told} == set(Falling)
    assert {weather.strength for weather in told} == set(Strength)
    # Ash is told apart by aviation reports only; gale, heat and cold by forecasts.
    missing = {Phenomenon.ASH, Phenomenon.GALE, Phenomenon.HOT, Phenomenon.COLD}
    assert {weather.phenomenon for weather in told} == set(Phenomenon) - missing


def test_a_cloud_share_beside_the_number() -> None:
    assert weather_of_code(2, table="4677", cloud=0.1) == Weather(0.1)
    assert weather_of_code(5, table="4677", cloud=1.0) == Weather(1.0, phenomenon=Phenomenon.HAZE)
    rain = weather_of_code(63, table="4677", cloud=0.1)
    assert rain == Weather(1.0, Falling.RAIN)


def test_what_is_no_number() -> None:
    for code in (-1, 100):
        with pytest.raises(ValueError, match="0 to 99"):
            weather_of_code(code, table="4677")
    with pytest.raises(ValueError, match="4678"):
        weather_of_code(3, table="4678")


def test_the_page_lists_every_number() -> None:
    """The table of the reference page: ranges of numbers, by key."""
    rows = re.findall(
        r"^\| ([\d, -]*) \| ([\d, -]*) \| ([^|]+) \| `([a-z-]+)` \|$", PAGE.read_text(), re.MULTILINE
    )
    assert len(rows) > 40
    for column, wanted in ((0, MANNED), (1, AUTOMATIC)):
        found: dict[int, str] = {}
        for row in rows:
            for part in filter(None, row[column].replace(" ", "").split(",")):
                first, _, last = part.partition("-")
                for code in range(int(first), int(last or first) + 1):
                    assert code not in found
                    found[code] = row[3]
        assert found == {code: key.removesuffix("-day") for code, key in wanted.items()}
