"""Icons and signs as sheets call them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import Any

from markupsafe import Markup

from wallbill.blocks.icons.alerts import alert_icon, check_severity
from wallbill.blocks.icons.moon import moon
from wallbill.blocks.icons.own import own_sign
from wallbill.blocks.icons.signs import sign
from wallbill.blocks.icons.weather import icon
from wallbill.blocks.icons.wind import wind_arrow
from wallbill.facts.alerts import Alert, Severity
from wallbill.facts.forecast import Weather
from wallbill.facts.hazards import hazard_of
from wallbill.sheets.bench import Bench, gap, is_gap
from wallbill.sheets.missing import Missing
from wallbill.sheets.sun import is_up


@dataclass(frozen=True, slots=True)
class Drawings:
    """The functions of a sheet that draw one thing: a weather, a moon, a direction, a sign."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {
            "sun_is_up": self.sun_is_up,
            "icon": self.icon,
            "moon": self.moon,
            "wind_arrow": self.wind_arrow,
            "sign": self.sign,
            "alert_icon": self.alert_icon,
            "own_sign": self.own_sign,
        }

    def sun_is_up(self, moment: datetime | date | Missing | None) -> bool:
        """Whether the sun's upper limb is above the horizon at ``moment`` (aware); true where that is unknown."""
        return is_up(moment, self.bench.spot) if isinstance(moment, datetime) else True

    def icon(
        self,
        weather: Any,
        *,
        size_px: float,
        at: datetime | None = None,
        is_day: bool | None = None,
        moon_phase: Any = None,
    ) -> Markup:
        """The weather's icon, ``size_px`` square (rounded to whole pixels); by day or night as it is ``at`` then."""
        size = round(size_px)
        mend = "the weather of a moment, such as facts.NAME.at(now).weather"
        if is_gap(weather, Weather, block="an icon", mend=mend):
            return gap(size, size)
        phase = None if isinstance(moon_phase, Missing) else moon_phase
        day = self.sun_is_up(at or self.bench.now) if is_day is None else is_day
        return _icon(weather, size_px=size, is_day=day, palette=self.bench.palette, moon_phase=phase)

    def moon(self, phase: Any, *, size_px: float, south: bool | None = None) -> Markup:
        """The moon at a ``phase`` from 0 to 1, as it is seen from the wall's half of the earth, or from the ``south``."""
        size = round(size_px)
        mend = "moon_phase of a source of kind sky: 0 is new, 0.5 full"
        if is_gap(phase, (int, float), block="a moon", mend=mend):
            return gap(size, size)
        seen = self.bench.spot.latitude_deg < 0 if south is None else bool(south)
        return _moon(phase, size_px=size, palette=self.bench.palette, south=seen)

    def wind_arrow(self, from_deg: Any, *, size_px: float) -> Markup:
        """An arrow that points where the wind goes; a gap where that is not known."""
        size = round(size_px)
        mend = "wind_from_deg of an hour: 0 is from the north, 90 from the east"
        if is_gap(from_deg, (int, float), block="a wind arrow", mend=mend):
            return gap(size, size)
        return _wind_arrow(from_deg, size_px=size, palette=self.bench.palette)

    def sign(self, name: Any, *, size_px: float, title: str = "") -> Markup:
        """A sign by its name; ``title``: a text alternative."""
        size = round(size_px)
        if is_gap(name, str, block="a sign", mend='its name, such as "boat"'):
            return gap(size, size)
        return _sign(name, size_px=size, palette=self.bench.palette, title=str(title or ""))

    def alert_icon(self, alert: Any, *, size_px: float, severity: str = "", title: str = "") -> Markup:
        """A warning's icon, ``size_px`` square: of an alert, or of an event's words such as "Flood Watch".

        ``severity``: minor, moderate, severe or extreme; left out, that of the alert, or none. ``title``: the text
        alternative; left out, the alert's own words.
        """
        size = round(size_px)
        if is_gap(alert, (Alert, str), block="an alert icon", mend="an alert, such as facts.NAME.worst"):
            return gap(size, size)
        event = alert if isinstance(alert, str) else alert.event
        told = None if isinstance(alert, str) else alert.severity
        return _alert_icon(
            hazard_of(alert) if isinstance(alert, str) else alert.hazard,
            severity=check_severity(severity) if severity else told or Severity.UNKNOWN,
            size_px=size,
            palette=self.bench.palette,
            title=title or event,
        )

    def own_sign(self, name: Any, *, size_px: float, title: str = "") -> Markup:
        """An SVG file of the wall, ``"boat.svg"`` or ``"pictures/boat.svg"``, drawn like a sign, ``size_px`` square."""
        if is_gap(name, str, block="a sign of your own", mend="the name of an SVG file in pictures/"):
            return gap(round(size_px), round(size_px))
        known = name.removeprefix("pictures/")
        data = self.bench.pictures.bytes_of(known)
        return _own_sign(
            data, file=f"pictures/{known}", size_px=round(size_px), palette=self.bench.palette, title=title
        )


# A page shows few different icons and the next page much the same ones: drawing each once halves a page's time.
_icon = lru_cache(maxsize=512)(icon)
_moon = lru_cache(maxsize=64)(moon)
_wind_arrow = lru_cache(maxsize=64)(wind_arrow)
_sign = lru_cache(maxsize=256)(sign)
_own_sign = lru_cache(maxsize=64)(own_sign)
_alert_icon = lru_cache(maxsize=64)(alert_icon)
