"""Air pressure: brought down to the sea, of the standard atmosphere, and its tendency in words."""

from enum import StrEnum

from wallbill.units.quantity import Quantity

_LAPSE_K_M = 0.0065
"""How much colder the standard atmosphere gets with every metre of height: ICAO Doc 7488."""

TENDENCY_H = 3.0
"""The hours over which a pressure tendency is taken: WMO-No. 306, group 5appp."""


def sea_level_pressure(pressure: Quantity, height: Quantity, temperature: Quantity) -> Quantity:
    """The pressure at sea level, in hPa, of a pressure measured at a height, with the air's temperature there.

    p (1 - 0.0065 h / (T + 0.0065 h + 273.15))^-5.257, h in metres and T in °C: the hypsometric formula with the
    standard lapse rate below the station (common practice; within 0.1 hPa of the mean-layer form up to 1000 m, see the tests).
    Raises ValueError for heights outside -500 to 9000 m.
    """
    height_m = _height_m(height)
    below_k = temperature.to("K").value + _LAPSE_K_M * height_m
    return Quantity(pressure.to("hPa").value * (1 - _LAPSE_K_M * height_m / below_k) ** -5.257, "hPa")


def standard_pressure(height: Quantity) -> Quantity:
    """The pressure of the standard atmosphere at a height above the sea, in hPa.

    1013.25 (1 - 2.25577e-5 h)^5.25588, h in metres. Source: ICAO Doc 7488, ISO 2533 (troposphere, rounded constants).
    Raises ValueError for heights outside -500 to 9000 m.
    """
    return Quantity(1013.25 * (1 - 2.25577e-5 * _height_m(height)) ** 5.25588, "hPa")


def standard_height(pressure: Quantity) -> Quantity:
    """The height, in metres, at which the standard atmosphere has a pressure; the inverse of `standard_pressure`.

    Raises ValueError outside 300 to 1100 hPa.
    """
    hpa = pressure.to("hPa").value
    if not 300 <= hpa <= 1100:
        raise ValueError(f"{hpa} hPa is no pressure near the ground")
    return Quantity((1 - (hpa / 1013.25) ** (1 / 5.25588)) / 2.25577e-5, "m")


def station_pressure(altimeter: Quantity, height: Quantity) -> Quantity:
    """The pressure at a station, in hPa, from its altimeter setting (QNH) and height above the sea.

    The setting is the pressure at which an altimeter set to it shows the station's height, three metres up.
    Source: Smithsonian Meteorological Tables, 6th edition, 1951, page 269 (from memory): with n = 0.190284,
    (A^n - 1013.25^n 0.0065 h / 288)^(1/n) + 0.3. Raises ValueError for heights outside -500 to 9000 m.
    """
    power = 0.190284
    slope = 1013.25**power * _LAPSE_K_M / 288.0
    base = altimeter.to("hPa").value ** power - slope * _height_m(height)
    return Quantity(base ** (1 / power) + 0.3, "hPa")


def _height_m(height: Quantity) -> float:
    height_m = height.to("m").value
    if not -500 <= height_m <= 9000:
        raise ValueError(f"{height_m} m is no height on land")
    return height_m


class Tendency(StrEnum):
    """How the pressure has moved over the last three hours, in the words of the shipping forecast."""

    FALLING_VERY_RAPIDLY = "falling-very-rapidly"
    FALLING_QUICKLY = "falling-quickly"
    FALLING = "falling"
    FALLING_SLOWLY = "falling-slowly"
    STEADY = "steady"
    RISING_SLOWLY = "rising-slowly"
    RISING = "rising"
    RISING_QUICKLY = "rising-quickly"
    RISING_VERY_RAPIDLY = "rising-very-rapidly"

    @property
    def way(self) -> int:
        """-1 for falling, 0 for steady, 1 for rising."""
        return (self.value.startswith("rising")) - (self.value.startswith("falling"))


def pressure_tendency(change: Quantity) -> Tendency:
    """The word for a change of pressure over three hours, negative if it fell.

    Steady below 0.1 hPa, slowly up to 1.5, with no word up to 3.5, quickly up to 6.0, then very rapidly; the change is
    first rounded to tenths. Source: UK Met Office, glossary of the marine forecasts.
    """
    tenths = round(abs(change.to("hPa").value) * 10)
    words = ((0, "steady"), (15, "{}-slowly"), (35, "{}"), (60, "{}-quickly"))
    word = next((word for most, word in words if tenths <= most), "{}-very-rapidly")
    return Tendency(word.format("rising" if change.value > 0 else "falling"))
