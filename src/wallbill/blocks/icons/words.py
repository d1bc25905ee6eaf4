"""What an icon shows, by a stable name and in words."""

from dataclasses import dataclass
from enum import StrEnum

from wallbill.facts.forecast import Falling, Strength, Weather


class Cover(StrEnum):
    """How much of the sky is covered, by eighths as aviation reports name them.

    Nothing; few, 1 to 2 eighths; scattered, 3 to 4; broken, 5 to 7; overcast, 8 (ICAO Annex 3, appendix 3, from
    memory). The share is rounded to whole eighths first.
    """

    CLEAR = "clear"
    FAIR = "fair"
    PARTLY = "partly-cloudy"
    CLOUDY = "cloudy"
    OVERCAST = "overcast"


@dataclass(frozen=True, slots=True)
class Described:
    """``key``: a stable name, one a picture. ``words``: a short phrase in English, lower case.

    Beside a flash there is little room: there, two strengths may look the same at small sizes.
    """

    key: str
    words: str


def cover(weather: Weather) -> Cover:
    """The class of cloud cover."""
    eighths = round(weather.cloud * 8)
    steps = ((0, Cover.CLEAR), (2, Cover.FAIR), (4, Cover.PARTLY), (7, Cover.CLOUDY), (8, Cover.OVERCAST))
    return next(name for most, name in steps if eighths <= most)


def describe(weather: Weather, is_day: bool = True) -> Described:  # noqa: FBT001, FBT002 - the name a sheet calls
    """The key and the words for what `wallbill.blocks.icons.weather.icon` draws."""
    key = _key(weather)
    falls = weather.falling is not Falling.NONE or weather.thunder
    shows_light = (
        weather.showers and not weather.fog if falls else key in {Cover.CLEAR, Cover.FAIR, Cover.PARTLY}
    )
    if shows_light:
        key = f"{key}-{'day' if is_day else 'night'}"
    return Described(key, _words(weather, is_day=is_day))


def _key(weather: Weather) -> str:
    """The key without day or night. Fog hides the sky, so showers in fog look as steady as any."""
    extras = [
        word
        for word, holds in (
            ("showers", weather.showers and not weather.fog),
            ("thunder", weather.thunder and weather.falling is not Falling.NONE),
            ("fog", weather.fog),
        )
        if holds
    ]
    if weather.falling is not Falling.NONE:
        return "-".join([weather.falling, weather.strength, *extras])
    if weather.thunder:
        return "-".join(["thunder", *extras])
    return "fog" if weather.fog else cover(weather).value


def _words(weather: Weather, *, is_day: bool) -> str:
    """The phrase: what falls comes first, then thunder and fog."""
    if weather.falling is not Falling.NONE:
        strength = "" if weather.strength is Strength.MODERATE else f"{weather.strength} "
        falling = weather.falling.replace("-", " ")
        extras = [word for word, holds in (("thunder", weather.thunder), ("fog", weather.fog)) if holds]
        joined = f" with {' and '.join(extras)}" if extras else ""
        return f"{strength}{falling}{' showers' if weather.showers else ''}{joined}"
    if weather.thunder:
        return f"{'thunder showers' if weather.showers else 'thunder'}{' with fog' if weather.fog else ''}"
    if weather.fog:
        return "fog"
    sky = {
        Cover.CLEAR: "sunny" if is_day else "clear night",
        Cover.FAIR: "mostly sunny" if is_day else "mostly clear night",
        Cover.PARTLY: "partly cloudy" if is_day else "partly cloudy night",
        Cover.CLOUDY: "cloudy",
        Cover.OVERCAST: "overcast",
    }
    return sky[cover(weather)]
