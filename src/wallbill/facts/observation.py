"""What a weather station has seen: one report, its figures with their units."""

from dataclasses import dataclass, field
from datetime import datetime

from wallbill.facts.comfort import feels_like, relative_humidity
from wallbill.facts.forecast import Weather
from wallbill.facts.origin import Origin
from wallbill.facts.pressure import Tendency, pressure_tendency
from wallbill.facts.wind import Point, beaufort, compass_point
from wallbill.units.quantity import Quantity


@dataclass(frozen=True, slots=True)
class CloudLayer:
    """One layer of cloud. ``cover``: share of the sky, 0 to 1, None if not seen. ``base``: height above the station.

    ``storm``: whether it is a thundercloud or a towering cumulus.
    """

    cover: float | None
    base: Quantity | None
    storm: bool = False


@dataclass(frozen=True, slots=True)
class Observation:
    """One report of a station. Temperatures in °C, pressures in hPa, lengths in m; None: not reported.

    Winds are in the unit of the report, knots or m/s, since the Beaufort scale has a column of its own for each.

    ``valid_from``: when it was observed; ``valid_to``: until when it speaks for the weather, an hour later; both aware,
    UTC. ``station``: its code. ``raw``: the report as it came. ``wind_from_deg``: clockwise from north, where the wind
    comes from, None for a calm or a variable wind; ``wind_between_deg``: the directions it varies between, clockwise.
    ``visibility_or_more``: whether the visibility is at least that, as in "10 km or more". ``pressure``: at sea level,
    by the station's own reduction if it gives one, else its altimeter setting. ``pressure_change``: over three hours.
    """

    origin: Origin
    station: str
    valid_from: datetime
    valid_to: datetime
    raw: str
    temperature: Quantity | None = None
    dew_point: Quantity | None = None
    weather: Weather | None = None
    wind_speed: Quantity | None = None
    wind_gust: Quantity | None = None
    wind_from_deg: float | None = None
    wind_between_deg: tuple[float, float] | None = None
    visibility: Quantity | None = None
    visibility_or_more: bool = False
    pressure: Quantity | None = None
    pressure_change: Quantity | None = None
    clouds: tuple[CloudLayer, ...] = field(default=())
    automatic: bool = False
    corrected: bool = False
    special: bool = False

    @property
    def humidity(self) -> Quantity | None:
        """Relative humidity in %, from temperature and dew point."""
        if self.temperature is None or self.dew_point is None:
            return None
        return relative_humidity(self.temperature, self.dew_point)

    @property
    def feels(self) -> Quantity | None:
        """What the air feels like: wind chill in the cold, heat index in the heat, else the temperature."""
        return feels_like(self.temperature, wind_speed=self.wind_speed, humidity=self.humidity)

    @property
    def beaufort(self) -> int | None:
        """The wind's Beaufort force, 0 to 12."""
        return None if self.wind_speed is None else beaufort(self.wind_speed)

    @property
    def wind_point(self) -> Point | None:
        """The point of the compass that the wind comes from."""
        return None if self.wind_from_deg is None else compass_point(self.wind_from_deg)

    @property
    def tendency(self) -> Tendency | None:
        """The word for the change of pressure over three hours."""
        return None if self.pressure_change is None else pressure_tendency(self.pressure_change)
