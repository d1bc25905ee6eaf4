"""What an icon shows, by a stable name and in words."""

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather


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


_CARRIED = frozenset({Phenomenon.SQUALL, Phenomenon.GALE, Phenomenon.BLOWING_SNOW})
_DUSTY = frozenset({Phenomenon.DUST, Phenomenon.SANDSTORM})
_UNDER_FOG = frozenset(
    {
        Phenomenon.MIST,
        Phenomenon.HAZE,
        Phenomenon.SMOKE,
        Phenomenon.DIAMOND_DUST,
        Phenomenon.HOT,
        Phenomenon.COLD,
    }
)


def leading(weather: Weather) -> Phenomenon:
    """The phenomenon that the whole picture is about, or none: what falls, thunder and fog come first.

    Only a funnel leads whatever falls; beside thunder or what falls, wind and dust show at the foot (`at_foot`).
    """
    found = weather.phenomenon
    if found is Phenomenon.FUNNEL:
        return found
    hidden = weather.falling is not Falling.NONE or weather.thunder or (weather.fog and found in _UNDER_FOG)
    return Phenomenon.NONE if hidden else found


def at_foot(weather: Weather) -> str:
    """What drives along the ground below a cloud that something falls from: "wind", "dust", or "" for neither.

    Fog, where there is some, is drawn instead.
    """
    if weather.fog or leading(weather) is not Phenomenon.NONE:
        return ""
    if weather.phenomenon in _CARRIED:
        return "wind"
    return "dust" if weather.phenomenon in _DUSTY else ""


def describe(weather: Weather, is_day: bool = True) -> Described:  # noqa: FBT001, FBT002 - the name a sheet calls
    """The key and the words for what `wallbill.blocks.icons.weather.icon` draws."""
    key = _key(weather)
    if _shows_light(weather):
        key = f"{key}-{'day' if is_day else 'night'}"
    return Described(key, _words(weather, is_day=is_day))


def _shows_light(weather: Weather) -> bool:
    """Whether sun or moon is in the picture, so that it looks different by day and by night."""
    broken = cover(weather) in {Cover.CLEAR, Cover.FAIR, Cover.PARTLY}
    shown = leading(weather)
    if shown is not Phenomenon.NONE:
        return shown in {Phenomenon.MIST, Phenomenon.HAZE} and broken
    if weather.falling is not Falling.NONE or weather.thunder:
        return weather.showers and not weather.fog and not at_foot(weather)
    return broken and not weather.fog


def _key(weather: Weather) -> str:
    """The key without day or night. Fog hides the sky, so showers in fog look as steady as any."""
    shown, foot = leading(weather), at_foot(weather)
    if shown is not Phenomenon.NONE:
        veiled = shown in {Phenomenon.MIST, Phenomenon.HAZE} and not _shows_light(weather)
        return f"{shown}-cloudy" if veiled else shown.value
    extras = [
        word
        for word, holds in (
            ("showers", weather.showers and not weather.fog and not foot),
            ("thunder", weather.thunder and weather.falling is not Falling.NONE),
            ("fog", weather.fog),
            (foot, foot),
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
    if leading(weather) is not Phenomenon.NONE:
        return _PHRASES.get(weather.phenomenon, weather.phenomenon.replace("-", " "))
    base = _sky_words(weather, is_day=is_day)
    if not at_foot(weather):
        return base
    also = _PHRASES.get(weather.phenomenon, weather.phenomenon.replace("-", " "))
    return f"{base} {'and' if ' with ' in base else 'with'} {also}"


_PHRASES = MappingProxyType(
    {
        Phenomenon.DUST: "blowing dust",
        Phenomenon.ASH: "volcanic ash",
        Phenomenon.FUNNEL: "funnel cloud",
        Phenomenon.SQUALL: "squalls",
    }
)
"""Phrases that are not the name of the phenomenon."""


def _sky_words(weather: Weather, *, is_day: bool) -> str:
    """The phrase without the phenomenon."""
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
