"""From the codes and words of the weather services to `Weather`, and whether it is day where the code says so.

Where a code says less of the sky than a measured share of cloud, the share is kept within what the code means, so
that an icon never contradicts the service that it came from.
"""

import re
from types import MappingProxyType

from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather

_SYMBOL = re.compile(
    r"(?P<strength>light|heavy)?(?P<stray>s(?=sleet|snow))?(?P<falling>rain|sleet|snow)(?P<showers>showers)?(?P<thunder>andthunder)?"
)
_SKIES = MappingProxyType(
    {"clearsky": (0.0, 0.13), "fair": (0.13, 0.38), "partlycloudy": (0.38, 0.86), "cloudy": (0.86, 1.0)}
)
"""The shares of cloud that the dry symbols of MET Norway stand for (from memory)."""

_SUFFIXES = MappingProxyType({"day": True, "night": False, "polartwilight": False})


def met_norway_symbol(code: str, cloud: float | None = None) -> tuple[Weather, bool | None] | None:
    """The weather of a symbol code of MET Norway, and whether it is day; None for a code that it does not have.

    41 base codes (legend of the published symbols), 21 of them with ``_day``, ``_night`` or ``_polartwilight``; the
    two that are published misspelt (``lightssleet…``, ``lightssnow…``) are known by both spellings. In the polar
    twilight the sun is not up. ``cloud``: share of the sky covered, 0 to 1, where it is known too.
    """
    base, _, suffix = code.partition("_")
    if suffix and suffix not in _SUFFIXES:
        return None
    is_day = _SUFFIXES.get(suffix)
    if base in _SKIES:
        return Weather(cloud=_within(cloud, *_SKIES[base])), is_day
    if base == "fog":
        return Weather(cloud=_within(cloud, 0.5, 1.0), fog=True), is_day
    found = _SYMBOL.fullmatch(base)
    if not found or (found["stray"] and found["strength"] != "light"):
        return None
    showers = found["showers"] is not None
    weather = Weather(
        cloud=_within(cloud, 0.38, 0.86) if showers else _within(cloud, 0.86, 1.0),
        falling=Falling(found["falling"]),
        strength=Strength(found["strength"] or "moderate"),
        showers=showers,
        thunder=found["thunder"] is not None,
    )
    return weather, is_day


def _within(cloud: float | None, low: float, high: float) -> float:
    """A known share of cloud kept within what a code means, else the middle of that."""
    return (low + high) / 2 if cloud is None else min(max(cloud, low), high)


def _wet(
    falling: Falling, *, showers: bool = False, thunder: bool = False
) -> tuple[Weather, Weather, Weather]:
    cloud = 0.65 if showers else 1.0
    light, moderate, heavy = (Weather(cloud, falling, strength, showers, thunder) for strength in Strength)
    return light, moderate, heavy


def _wmo() -> MappingProxyType[int, Weather]:
    drizzle, rain, freezing = _wet(Falling.DRIZZLE), _wet(Falling.RAIN), _wet(Falling.FREEZING_RAIN)
    snow, storm = _wet(Falling.SNOW), _wet(Falling.RAIN, thunder=True)
    hail = _wet(Falling.HAIL, thunder=True)
    rain_showers, snow_showers = _wet(Falling.RAIN, showers=True), _wet(Falling.SNOW, showers=True)
    codes = {0: Weather(0.0), 1: Weather(0.2), 2: Weather(0.5), 3: Weather(1.0)}
    codes |= {45: Weather(1.0, fog=True), 48: Weather(1.0, fog=True, phenomenon=Phenomenon.FREEZING_FOG)}
    codes |= dict(zip((51, 53, 55), drizzle, strict=True))
    codes |= {56: freezing[0], 57: freezing[1], 66: freezing[0], 67: freezing[2], 77: snow[0]}
    codes |= dict(zip((61, 63, 65), rain, strict=True)) | dict(zip((71, 73, 75), snow, strict=True))
    codes |= dict(zip((80, 81, 82), rain_showers, strict=True))
    codes |= {85: snow_showers[0], 86: snow_showers[2]}
    codes |= {95: storm[1], 96: hail[0], 99: hail[2]}
    return MappingProxyType(codes)


WMO_CODES = _wmo()
"""The weather by the 28 code numbers that forecast feeds use.

The numbers are those of WMO No. 306, code table 4677, save that 0 to 3 mean clear, mainly clear, partly cloudy and
overcast, which they do not in that table.
"""

_NWS_SKIES = (
    (r"mostly cloudy|considerable cloud", 0.8),
    (r"partly (cloudy|sunny)", 0.5),
    (r"increasing clouds", 0.6),
    (r"decreasing clouds|becoming (sunny|clear)|clearing", 0.4),
    (r"mostly (sunny|clear)", 0.2),
    (r"cloudy|overcast", 1.0),
    (r"sunny|clear|fair", 0.0),
)
"""Shares of cloud for the sky words of the US National Weather Service: eighths of its directive 10-503 (from memory)."""

_NWS_FALLING = (
    (r"freezing (rain|drizzle)|ice storm", Falling.FREEZING_RAIN),
    (
        r"wintry mix|\brain\b.*\bsnow\b|\bsnow\b.*\brain\b|\bsnow\b.*\bsleet\b|\brain\b.*\bsleet\b",
        Falling.SLEET,
    ),
    (r"sleet|ice pellets", Falling.ICE_PELLETS),
    (r"\bhail\b", Falling.HAIL),
    (r"(?<!blowing )(?<!drifting )\bsnow\b|flurries|blizzard", Falling.SNOW),
    (r"drizzle|sprinkles", Falling.DRIZZLE),
    (r"\brain\b|showers?\b|thunder|t-?storms?|tstms?", Falling.RAIN),
)
_NWS_AIR = (
    (r"tornado|funnel|waterspout", Phenomenon.FUNNEL),
    (r"squall", Phenomenon.SQUALL),
    (r"(sand|dust) ?storm", Phenomenon.SANDSTORM),
    (r"\bash\b|ash ?fall", Phenomenon.ASH),
    (r"freezing fog|ice fog", Phenomenon.FREEZING_FOG),
    (r"(blowing|drifting) snow|blizzard", Phenomenon.BLOWING_SNOW),
    (r"\bgales?\b|storm force|hurricane|very windy", Phenomenon.GALE),
    (r"\bsmoke\b", Phenomenon.SMOKE),
    (r"\bdust\b|blowing sand", Phenomenon.DUST),
    (r"\bhot\b", Phenomenon.HOT),
    (r"\bcold\b", Phenomenon.COLD),
    (r"ice crystals", Phenomenon.DIAMOND_DUST),
    (r"\bmist\b", Phenomenon.MIST),
    (r"\bhaze\b", Phenomenon.HAZE),
)
"""Words for what the air does; the first that fits counts. In the service's own words sleet is frozen rain: ice pellets."""
_NWS_SHOWERS = re.compile(r"showers?\b|flurries|sprinkles|isolated|scattered")
_NWS_THUNDER = re.compile(r"thunder|t-?storms?|tstms?")


def nws_words(text: str) -> Weather | None:
    """The weather of a short forecast of the US National Weather Service; None where no word of it is known.

    Of "this then that", what matters more counts.
    """
    parts = [_nws_part(part) for part in re.split(r"\bthen\b", text.lower())]
    return max((part for part in parts if part is not None), key=lambda w: w.gravity, default=None)


def _nws_part(text: str) -> Weather | None:
    sky = next((share for words, share in _NWS_SKIES if re.search(words, text)), None)
    falling = next((kind for words, kind in _NWS_FALLING if re.search(words, text)), Falling.NONE)
    fog = re.search(r"\bfog\b", text) is not None
    air = next((kind for words, kind in _NWS_AIR if re.search(words, text)), Phenomenon.NONE)
    if sky is None and falling is Falling.NONE and not fog and air is Phenomenon.NONE:
        return None
    if falling is Falling.NONE:
        unsaid = 1.0 if fog else 0.5
        return Weather(cloud=unsaid if sky is None else sky, fog=fog, phenomenon=air)
    showers = _NWS_SHOWERS.search(text) is not None
    strength = Strength.HEAVY if re.search(r"\bheavy\b|blizzard", text) else Strength.MODERATE
    if re.search(r"\blight\b|flurries|sprinkles", text):
        strength = Strength.LIGHT
    cloud = sky if sky is not None else 0.7 if showers else 1.0
    thunder = _NWS_THUNDER.search(text) is not None
    return Weather(cloud, falling, strength, showers, thunder, fog, air)


_CONDITIONS = MappingProxyType(
    {
        "rain": Falling.RAIN,
        "sleet": Falling.SLEET,
        "snow": Falling.SNOW,
        "hail": Falling.HAIL,
        "thunderstorm": Falling.RAIN,
    }
)


def bright_sky_condition(condition: str | None, *, cloud: float, rain_mm: float | None) -> Weather | None:
    """The weather of a condition of Bright Sky; None for a word that it does not have.

    Without a condition, what falls in the hour (``rain_mm``, water) decides. ``cloud``: share of the sky covered.
    """
    if condition is None:
        falling = Falling.RAIN if (rain_mm or 0) >= 0.1 else Falling.NONE
    elif condition in {"dry", "fog"}:
        falling = Falling.NONE
    elif condition in _CONDITIONS:
        falling = _CONDITIONS[condition]
    else:
        return None
    if falling is Falling.NONE:
        return Weather(cloud, fog=condition == "fog")
    return Weather(cloud, falling, strength_of(rain_mm), thunder=condition == "thunderstorm")


def strength_of(hourly_mm: float | None) -> Strength:
    """How strongly it rains at so many millimetres an hour.

    Light up to 2.5, heavy above 7.6: Glossary of Meteorology of the American Meteorological Society, "rain" (from
    memory). Unknown counts as moderate.
    """
    if hourly_mm is None:
        return Strength.MODERATE
    if hourly_mm <= 2.5:
        return Strength.LIGHT
    return Strength.MODERATE if hourly_mm <= 7.6 else Strength.HEAVY
