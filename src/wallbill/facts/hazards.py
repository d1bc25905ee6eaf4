"""What an official warning is of: its family, from the words and codes of the warning services."""

import re
from collections.abc import Sequence
from enum import StrEnum
from types import MappingProxyType


class Hazard(StrEnum):
    """A family of dangers; each has a picture of its own. `GENERAL` is any other, or one that is not told."""

    WIND = "wind"
    SNOW_ICE = "snow-ice"
    THUNDERSTORM = "thunderstorm"
    FOG = "fog"
    HIGH_TEMPERATURE = "high-temperature"
    LOW_TEMPERATURE = "low-temperature"
    COASTAL = "coastal"
    FOREST_FIRE = "forest-fire"
    AVALANCHE = "avalanche"
    RAIN = "rain"
    FLOOD = "flood"
    RAIN_FLOOD = "rain-flood"
    AIR_QUALITY = "air-quality"
    GENERAL = "general"


_AWARENESS = MappingProxyType(
    {
        "wind": Hazard.WIND,
        "snow-ice": Hazard.SNOW_ICE,
        "thunderstorm": Hazard.THUNDERSTORM,
        "fog": Hazard.FOG,
        "high-temperature": Hazard.HIGH_TEMPERATURE,
        "low-temperature": Hazard.LOW_TEMPERATURE,
        "coastalevent": Hazard.COASTAL,
        "forest-fire": Hazard.FOREST_FIRE,
        "forestfire": Hazard.FOREST_FIRE,
        "avalanches": Hazard.AVALANCHE,
        "rain": Hazard.RAIN,
        "flooding": Hazard.FLOOD,
        "flood": Hazard.FLOOD,
        "rain-flood": Hazard.RAIN_FLOOD,
    }
)
"""The words after the number in the ``awareness_type`` of European weather services' CAP messages (from memory)."""

_NUMBERS = MappingProxyType(
    dict(
        zip(
            ("1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "12", "13"),
            (*tuple(Hazard)[:10], Hazard.FLOOD, Hazard.RAIN_FLOOD),
            strict=True,
        )
    )
)
"""The numbers of that parameter, from memory; 11 has meant two things and counts by its word only."""

_EVENTS = (
    (r"avalanche|snowslide", Hazard.AVALANCHE),
    (r"rain ?-?flood|rainflood", Hazard.RAIN_FLOOD),
    (
        r"coastal|tsunami|storm ?surge|surf|rip current|beach|seiche|lakeshore|tide|high seas|hazardous seas|sea state|waves",
        Hazard.COASTAL,
    ),
    (r"fire|red flag", Hazard.FOREST_FIRE),
    (
        r"thunder|tornado|lightning|\bt-?storms?\b|special marine|severe weather|waterspout|funnel|\bhail",
        Hazard.THUNDERSTORM,
    ),
    (
        r"snow|blizzard|winter|\bice|\bicing|icy|freezing (rain|drizzle|spray)|sleet|glaze|black ice|polar ?low",
        Hazard.SNOW_ICE,
    ),
    (r"\bfog|visibility", Hazard.FOG),
    (
        r"air (quality|stagnation|pollution)|smoke|ash ?fall|\bdust|\bsand|ozone|smog|haze|particulate",
        Hazard.AIR_QUALITY,
    ),
    (r"flood|hydrolog|\bdam\b|debris flow|mudslide|inundation", Hazard.FLOOD),
    (r"wind ?chill|frost|freeze|\bcold|low[- ]temperature", Hazard.LOW_TEMPERATURE),
    (r"\bheat|\bhot\b|high[- ]temperature", Hazard.HIGH_TEMPERATURE),
    (r"wind|gale|hurricane|typhoon|tropical|cyclone|storm|squall|small craft|\bbreez|gust", Hazard.WIND),
    (r"rain|precipitation|downpour|shower", Hazard.RAIN),
)
"""Words of an event, the first that fits counts: a "coastal flood" is of the coast, a "winter storm" of snow.

The order and the words follow the event names of the US National Weather Service, the event codes of the Norwegian
Meteorological Institute and what other publishers write in English; common practice, no source.
"""

_CATEGORIES = MappingProxyType({"fire": Hazard.FOREST_FIRE, "env": Hazard.AIR_QUALITY})
"""What is left to a CAP category when the event says nothing: CAP 1.2, section 3.2.2. The others say too little."""


def hazard_of(event: str, *, categories: Sequence[str] = (), awareness_type: str = "") -> Hazard:
    """The family of a warning: by its ``awareness_type`` ("3; Thunderstorm"), else its event, else its CAP category.

    Also takes a family's own name as event. Any case; what no table knows is `Hazard.GENERAL`.
    """
    number, _, word = (part.strip().lower() for part in awareness_type.partition(";"))
    told = _AWARENESS.get(word) or _NUMBERS.get(number)
    if told is not None:
        return told
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", event.strip()).lower()
    if text in tuple(Hazard):
        return Hazard(text)
    found = next((hazard for words, hazard in _EVENTS if re.search(words, text)), None)
    if found is not None:
        return found
    return next(
        (_CATEGORIES[name.lower()] for name in categories if name.lower() in _CATEGORIES), Hazard.GENERAL
    )
