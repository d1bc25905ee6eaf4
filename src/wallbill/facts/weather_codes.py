"""The weather of the numbers that stations report: what "present weather 63" looks like.

Two tables share the numbers 0 to 99 and mean different things by them, and several open feeds use a third set. So a
number never comes without its table. Source: WMO-No. 306, Manual on Codes, volume I.1, code tables 4677 (ww, manned
stations) and 4680 (wawa, automatic stations).
"""

from collections.abc import Iterator, Mapping
from enum import StrEnum
from types import MappingProxyType

from wallbill.facts.forecast import Falling, Phenomenon, Strength, Weather

_BROKEN, _SHOWERY = 0.5, 0.65
_LIGHT, _MODERATE, _HEAVY = Strength


class Table(StrEnum):
    """Which table a number is of."""

    MANNED = "4677"
    AUTOMATIC = "4680"


def weather_of_code(code: int, *, table: Table | str, cloud: float | None = None) -> Weather | None:
    """The weather of a reported number; None for one that the table does not use.

    ``cloud``: share of the sky covered, 0 to 1, where it is reported beside it: neither table tells it. What ended
    within the past hour, or is only seen from afar, leaves the sky as it is. Raises ValueError for a number outside
    0 to 99, another table, or a share that is none.
    """
    if not 0 <= code <= 99:
        raise ValueError(f"a code of present weather is 0 to 99, got {code}")
    found = CODES[Table(table)].get(code)
    if found is None or cloud is None:
        return found
    if not found.dry or found.thunder or found.fog:
        return found
    return Weather(cloud=cloud, phenomenon=found.phenomenon)


def _air(phenomenon: Phenomenon, cloud: float = _BROKEN) -> Weather:
    return Weather(cloud=cloud, fog=phenomenon is Phenomenon.FREEZING_FOG, phenomenon=phenomenon)


def _row(
    first: int, falling: Falling, *strengths: Strength, twice: bool = False
) -> Iterator[tuple[int, Weather]]:
    """Numbers from ``first`` on for each strength; ``twice``: two numbers each, intermittent and continuous."""
    for number, strength in enumerate(strengths):
        for code in (first + 2 * number, first + 2 * number + 1) if twice else (first + number,):
            yield code, Weather(1.0, falling, strength)


def _showers(first: int, falling: Falling, *strengths: Strength) -> Iterator[tuple[int, Weather]]:
    for number, strength in enumerate(strengths):
        yield first + number, Weather(_SHOWERY, falling, strength, showers=True)


def _storm(
    falling: Falling = Falling.NONE, strength: Strength = _MODERATE, *, showers: bool = False
) -> Weather:
    return Weather(_SHOWERY if showers else 1.0, falling, strength, showers, thunder=True)


_ALL = (_LIGHT, _MODERATE, _HEAVY)
_FOG = Weather(1.0, fog=True)
_SKY = Weather(_BROKEN)
_PAST = Weather(0.8)


def _manned() -> Mapping[int, Weather]:
    """Table 4677. "Moderate or heavy" in one number is heavy; snow grains and lone crystals are light snow."""
    codes = dict.fromkeys(range(4), _SKY)
    codes |= {4: _air(Phenomenon.SMOKE), 5: _air(Phenomenon.HAZE), 9: _air(Phenomenon.SANDSTORM)}
    codes |= dict.fromkeys((6, 7, 8), _air(Phenomenon.DUST))
    codes |= dict.fromkeys((10, 11, 12), _air(Phenomenon.MIST)) | {13: _air(Phenomenon.DISTANT_LIGHTNING)}
    codes |= dict.fromkeys((14, 15, 16), _PAST) | {17: _storm()}
    codes |= {18: _air(Phenomenon.SQUALL, 1.0), 19: _air(Phenomenon.FUNNEL, 1.0)}
    codes |= dict.fromkeys(range(20, 30), _PAST)
    codes |= dict.fromkeys(range(30, 36), _air(Phenomenon.SANDSTORM))
    codes |= dict.fromkeys(range(36, 40), _air(Phenomenon.BLOWING_SNOW))
    codes |= {40: _air(Phenomenon.MIST)} | dict.fromkeys(range(41, 48), _FOG)
    codes |= dict.fromkeys((48, 49), _air(Phenomenon.FREEZING_FOG, 1.0))
    codes |= dict(_row(50, Falling.DRIZZLE, *_ALL, twice=True))
    codes |= dict(_row(56, Falling.FREEZING_RAIN, _LIGHT, _MODERATE))
    codes |= dict(_row(58, Falling.RAIN, _LIGHT, _MODERATE))
    codes |= dict(_row(60, Falling.RAIN, *_ALL, twice=True))
    codes |= dict(_row(66, Falling.FREEZING_RAIN, _LIGHT, _HEAVY))
    codes |= dict(_row(68, Falling.SLEET, _LIGHT, _HEAVY))
    codes |= dict(_row(70, Falling.SNOW, *_ALL, twice=True))
    codes |= {76: _air(Phenomenon.DIAMOND_DUST)} | dict(_row(77, Falling.SNOW, _LIGHT, _LIGHT))
    codes |= dict(_row(79, Falling.ICE_PELLETS, _MODERATE))
    codes |= dict(_showers(80, Falling.RAIN, *_ALL)) | dict(_showers(83, Falling.SLEET, _LIGHT, _HEAVY))
    codes |= dict(_showers(85, Falling.SNOW, _LIGHT, _HEAVY))
    codes |= dict(_showers(87, Falling.HAIL, _LIGHT, _HEAVY)) | dict(
        _showers(89, Falling.HAIL, _LIGHT, _HEAVY)
    )
    codes |= dict(_row(91, Falling.RAIN, _LIGHT, _HEAVY)) | dict(_row(93, Falling.SLEET, _LIGHT, _HEAVY))
    codes |= {95: _storm(Falling.RAIN), 96: _storm(Falling.HAIL), 97: _storm(Falling.RAIN, _HEAVY)}
    sand = Weather(1.0, thunder=True, phenomenon=Phenomenon.SANDSTORM)
    return MappingProxyType(codes | {98: sand, 99: _storm(Falling.HAIL, _HEAVY)})


def _automatic() -> Mapping[int, Weather]:
    """Table 4680. Numbers that it reserves are missing. Precipitation of no known kind is rain."""
    codes = dict.fromkeys(range(4), _SKY) | dict.fromkeys((4, 5), _air(Phenomenon.HAZE))
    codes |= {10: _air(Phenomenon.MIST), 11: _air(Phenomenon.DIAMOND_DUST)}
    codes |= {12: _air(Phenomenon.DISTANT_LIGHTNING), 18: _air(Phenomenon.SQUALL, 1.0)}
    codes |= dict.fromkeys(range(20, 27), _PAST) | dict.fromkeys((27, 28, 29), _air(Phenomenon.BLOWING_SNOW))
    codes |= dict.fromkeys(range(30, 35), _FOG) | {35: _air(Phenomenon.FREEZING_FOG, 1.0)}
    codes |= dict(_row(40, Falling.RAIN, _MODERATE, _MODERATE, _HEAVY, _MODERATE, _HEAVY))
    codes |= dict(_row(45, Falling.SNOW, _MODERATE, _HEAVY))
    codes |= dict(_row(47, Falling.FREEZING_RAIN, _MODERATE, _HEAVY))
    codes |= dict(_row(50, Falling.DRIZZLE, _MODERATE, *_ALL)) | dict(_row(54, Falling.FREEZING_RAIN, *_ALL))
    codes |= dict(_row(57, Falling.RAIN, _LIGHT, _MODERATE)) | dict(_row(60, Falling.RAIN, _MODERATE, *_ALL))
    codes |= dict(_row(64, Falling.FREEZING_RAIN, *_ALL)) | dict(_row(67, Falling.SLEET, _LIGHT, _HEAVY))
    codes |= dict(_row(70, Falling.SNOW, _MODERATE, *_ALL)) | dict(_row(74, Falling.ICE_PELLETS, *_ALL))
    codes |= dict(_row(77, Falling.SNOW, _LIGHT)) | {78: _air(Phenomenon.DIAMOND_DUST)}
    codes |= dict(_showers(80, Falling.RAIN, _MODERATE, *_ALL, _HEAVY)) | dict(
        _showers(85, Falling.SNOW, *_ALL)
    )
    codes |= dict(_showers(89, Falling.HAIL, _MODERATE))
    codes |= {90: _storm(), 91: _storm(), 94: _storm()}
    codes |= {92: _storm(Falling.RAIN, showers=True), 95: _storm(Falling.RAIN, _HEAVY, showers=True)}
    codes |= {93: _storm(Falling.HAIL), 96: _storm(Falling.HAIL, _HEAVY), 99: _air(Phenomenon.FUNNEL, 1.0)}
    return MappingProxyType(codes)


CODES: Mapping[Table, Mapping[int, Weather]] = MappingProxyType(
    {Table.MANNED: _manned(), Table.AUTOMATIC: _automatic()}
)
"""The weather of every number that a table uses."""
