"""Wind in words that sailors and gardeners use: Beaufort force, compass point, and how cold it feels."""

from bisect import bisect_right
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from wallbill.units.quantity import Quantity

_FORCES_FROM_DM_S = (3, 16, 34, 55, 80, 108, 139, 172, 208, 245, 285, 327)
"""The lowest speed of forces 1 to 12, in tenths of a metre a second: WMO No. 306, code table 1100."""

_FORCES_FROM_KN = (1, 4, 7, 11, 17, 22, 28, 34, 41, 48, 56, 64)
"""The same in whole knots. The columns are not quite alike: 16 knots, still force 4, are 8.2 m/s, which is force 5."""


class Point(StrEnum):
    """The sixteen points of the compass, clockwise from north. Their names in a language are the sheet's affair."""

    N = "N"
    NNE = "NNE"
    NE = "NE"
    ENE = "ENE"
    E = "E"
    ESE = "ESE"
    SE = "SE"
    SSE = "SSE"
    S = "S"
    SSW = "SSW"
    SW = "SW"
    WSW = "WSW"
    W = "W"
    WNW = "WNW"
    NW = "NW"
    NNW = "NNW"

    @property
    def degrees(self) -> float:
        """The middle of the point's sector, in degrees clockwise from north: 0, 22.5, ... 337.5."""
        return tuple(Point).index(self) * 22.5


def compass_point(direction_deg: float) -> Point:
    """The point of the compass nearest to a direction in degrees; of two equally near, the next clockwise."""
    return tuple(Point)[int(direction_deg % 360 / 22.5 + 0.5) % 16]


def beaufort(speed: Quantity) -> int:
    """The Beaufort force, 0 to 12, of a mean wind speed ten metres above the ground.

    WMO No. 306, code table 1100: its column of knots for a speed in knots, else that of metres a second. The table
    has gaps between its forces; the speed is first rounded to what the column is written in, knots or tenths.
    """
    if speed.unit == "kn":
        return bisect_right(_FORCES_FROM_KN, _rounded(speed.value))
    return bisect_right(_FORCES_FROM_DM_S, _rounded(speed.to("m/s").value * 10))


def _rounded(value: float) -> int:
    """Nearest whole number; a half, which binary fractions hide, goes up."""
    return int(Decimal(f"{value:.6f}").quantize(Decimal(1), ROUND_HALF_UP))


def wind_chill(temperature: Quantity, speed: Quantity) -> Quantity | None:
    """What the air feels like in the wind, in °C; None where the index is not defined.

    The index of the US National Weather Service and Environment Canada of 1 November 2001, in its metric form;
    defined up to 10 °C (50 °F) and above 4.8 km/h (3 mph), the limits of the former.
    """
    air, wind = temperature.to("°C").value, speed.to("km/h").value
    if air > 10 or wind <= 3 * 1.609344:
        return None
    factor = wind**0.16
    return Quantity(13.12 + 0.6215 * air - 11.37 * factor + 0.3965 * air * factor, "°C")
