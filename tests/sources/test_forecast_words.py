"""Symbol codes and code numbers of the weather services."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wallbill.facts.forecast import Falling, Strength, Weather
from wallbill.sources.weather_words import WMO_CODES, met_norway_symbol, nws_words, strength_of

# The 41 base codes of the published symbols (metno/weathericons, legend.csv), the two misspelt ones as published.
BASES = [
    "clearsky", "fair", "partlycloudy", "cloudy", "fog",
    "rainshowers", "rainshowersandthunder", "sleetshowers", "snowshowers", "rain", "heavyrain",
    "heavyrainandthunder", "sleet", "snow", "snowandthunder", "sleetshowersandthunder", "snowshowersandthunder",
    "rainandthunder", "sleetandthunder", "lightrainshowersandthunder", "heavyrainshowersandthunder",
    "lightssleetshowersandthunder", "heavysleetshowersandthunder", "lightssnowshowersandthunder",
    "heavysnowshowersandthunder", "lightrainandthunder", "lightsleetandthunder", "heavysleetandthunder",
    "lightsnowandthunder", "heavysnowandthunder", "lightrainshowers", "heavyrainshowers", "lightsleetshowers",
    "heavysleetshowers", "lightsnowshowers", "heavysnowshowers", "lightrain", "lightsleet", "heavysleet",
    "lightsnow", "heavysnow",
]  # fmt: skip


def test_there_are_41_base_codes_and_each_has_its_own_weather() -> None:
    assert len(set(BASES)) == 41
    told = [met_norway_symbol(base) for base in BASES]
    assert all(told)
    assert len({found[0] for found in told if found}) == 41


def test_21_of_them_have_a_variant_by_day_night_and_twilight() -> None:
    # Variants=1 in legend.csv: the showers and the three skies that are not overcast.
    variants = [b for b in BASES if "showers" in b or b in {"clearsky", "fair", "partlycloudy"}]
    assert len(variants) == 21
    for base, (suffix, is_day) in itertools.product(
        variants, [("day", True), ("night", False), ("polartwilight", False)]
    ):
        found, bare = met_norway_symbol(f"{base}_{suffix}"), met_norway_symbol(base)
        assert found is not None
        assert bare is not None
        assert found == (bare[0], is_day)


@pytest.mark.parametrize("kind", ["sleet", "snow"])
def test_the_misspelt_codes_are_known_by_both_spellings(kind: str) -> None:
    assert met_norway_symbol(f"lights{kind}showersandthunder_day") == met_norway_symbol(
        f"light{kind}showersandthunder_day"
    )


@pytest.mark.parametrize(
    "code", ["", "_day", "rain_noon", "heavysrain", "lightsrain", "heavyssnow", "Rain", "snowrain"]
)
def test_what_is_no_code_is_not_guessed_at(code: str) -> None:
    assert met_norway_symbol(code) is None


@pytest.mark.parametrize(
    ("code", "cloud", "expected"),
    [
        ("clearsky", 0.9, 0.13),
        ("cloudy", 0.2, 0.86),
        ("partlycloudy", 0.5, 0.5),
        ("rain", 0.1, 0.86),
        ("fair", None, 0.255),
    ],
)
def test_cloud_stays_within_what_the_symbol_means(code: str, cloud: float | None, expected: float) -> None:
    found = met_norway_symbol(code, cloud)
    assert found is not None
    assert found[0].cloud == pytest.approx(expected)


# The numbers that the feed's documents list (open-meteo/open-meteo-website, "WMO weather interpretation codes"),
# with the meanings of WMO No. 306, code table 4677, for those from 45 on.
CODES = [
    0,
    1,
    2,
    3,
    45,
    48,
    51,
    53,
    55,
    56,
    57,
    61,
    63,
    65,
    66,
    67,
    71,
    73,
    75,
    77,
    80,
    81,
    82,
    85,
    86,
    95,
    96,
    99,
]


def test_every_code_number_that_feeds_use_is_known() -> None:
    assert sorted(WMO_CODES) == CODES


@pytest.mark.parametrize(
    ("code", "falling", "strength"),
    [
        (51, Falling.DRIZZLE, Strength.LIGHT),  # drizzle, continuous, slight
        (55, Falling.DRIZZLE, Strength.HEAVY),  # drizzle, heavy
        (56, Falling.FREEZING_RAIN, Strength.LIGHT),  # freezing drizzle, slight
        (61, Falling.RAIN, Strength.LIGHT),
        (63, Falling.RAIN, Strength.MODERATE),
        (65, Falling.RAIN, Strength.HEAVY),
        (67, Falling.FREEZING_RAIN, Strength.HEAVY),
        (75, Falling.SNOW, Strength.HEAVY),
        (77, Falling.SNOW, Strength.LIGHT),  # snow grains
        (82, Falling.RAIN, Strength.HEAVY),  # violent showers
        (86, Falling.SNOW, Strength.HEAVY),
        (96, Falling.HAIL, Strength.LIGHT),  # thunderstorm with hail
    ],
)
def test_code_numbers_by_wmo_306_table_4677(code: int, falling: Falling, strength: Strength) -> None:
    assert (WMO_CODES[code].falling, WMO_CODES[code].strength) == (falling, strength)


def test_tens_of_the_table() -> None:
    # WMO No. 306, code table 4677: 40-49 fog, 80-90 showers, 95-99 thunderstorm; up to 3 nothing falls.
    assert all(WMO_CODES[code].fog for code in (45, 48))
    assert {code for code, weather in WMO_CODES.items() if weather.showers} == {80, 81, 82, 85, 86}
    assert {code for code, weather in WMO_CODES.items() if weather.thunder} == {95, 96, 99}
    assert [WMO_CODES[code].cloud for code in (0, 1, 2, 3)] == sorted(
        WMO_CODES[code].cloud for code in (0, 1, 2, 3)
    )


@pytest.mark.parametrize(
    ("mm", "strength"),
    [
        (0.1, "light"),
        (2.5, "light"),
        (2.6, "moderate"),
        (7.6, "moderate"),
        (7.7, "heavy"),
        (None, "moderate"),
    ],
)
def test_strength_by_the_glossary_of_meteorology(mm: float | None, strength: str) -> None:
    # AMS Glossary of Meteorology, "rain": light to 2.5 mm/h, moderate to 7.6, heavy above (from memory).
    assert strength_of(mm) == strength


@given(st.text(max_size=60))
def test_no_words_break_the_reader(words: str) -> None:
    assert nws_words(words) is None or isinstance(nws_words(words), Weather)
    assert met_norway_symbol(words) is None or met_norway_symbol(words) is not None
