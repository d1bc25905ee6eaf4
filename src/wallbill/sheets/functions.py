"""The blocks and helpers that sheets call, bound to one display: its palette, its zone, its moment."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache, partial
from typing import Any

from markupsafe import Markup

from wallbill.blocks.charts.bars import WeatherUnits, weather_chart
from wallbill.blocks.charts.lines import Band, band_chart, line_chart, spark
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.codes.qr import qr
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.icons.moon import moon
from wallbill.blocks.icons.signs import sign
from wallbill.blocks.icons.weather import icon
from wallbill.blocks.icons.wind import wind_arrow
from wallbill.blocks.maps.coast import Coast
from wallbill.blocks.maps.spec import MapSpec, Measure, Sea
from wallbill.blocks.maps.travel import travel_map
from wallbill.errors import SheetError
from wallbill.facts.forecast import Forecast, Weather
from wallbill.facts.series import Series
from wallbill.facts.track import Track
from wallbill.sheets.lengths import calendar_days
from wallbill.sheets.missing import Missing
from wallbill.sources.sun import Spot, sun_altitude_deg
from wallbill.units.wording import Wording

_RISEN_DEG = (
    -0.8333
)  # upper limb on the horizon with mean refraction: 34' + 16' (USNO definition, from memory)
_STEP = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Bench:
    """What blocks are bound to: colours, wording, the moment (aware, local), the wall's place, the page's size.

    ``coast``: gives the world's coastline when a map asks for it.
    """

    palette: Palette
    wording: Wording
    now: datetime
    spot: Spot
    size_px: tuple[int, int]
    coast: Callable[[], Coast]

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """The functions by the names that sheets call them by."""
        return {
            "unit": self.unit,
            "hours": lambda count: timedelta(hours=count),
            "days": calendar_days,
            "sun_is_up": self.sun_is_up,
            "icon": self.icon,
            "moon": self._drawn(_moon),
            "wind_arrow": self._drawn(_wind_arrow),
            "sign": self._drawn(_sign),
            "qr": partial(qr, palette=self.palette),
            "line_chart": self.line_chart,
            "band_chart": self.band_chart,
            "spark": self.spark,
            "weather_chart": self.weather_chart,
            "travel_map": self.travel_map,
        }

    def unit(self, columns: float, rows: float) -> int:
        """A whole number of pixels, at least 1, of which ``columns`` fit across the page and ``rows`` down it."""
        return max(1, int(min(self.size_px[0] / columns, self.size_px[1] / rows)))

    def sun_is_up(self, moment: datetime | date | Missing | None) -> bool:
        """Whether the sun's upper limb is above the horizon at ``moment`` (aware); true where that is unknown."""
        if not isinstance(moment, datetime):
            return True
        return sun_altitude_deg(moment, self.spot) > _RISEN_DEG

    def icon(
        self,
        weather: Any,
        *,
        size_px: float,
        at: datetime | None = None,
        is_day: bool | None = None,
        **how: Any,
    ) -> Markup:
        """The weather's icon, ``size_px`` square (rounded to whole pixels); by day or night as it is ``at`` then."""
        size = round(size_px)
        if _is_gap(
            weather, Weather, "an icon", "the weather of a moment, such as facts.NAME.at(now).weather"
        ):
            return gap(size, size)
        known = {name: value for name, value in how.items() if not isinstance(value, Missing)}
        day = self.sun_is_up(at or self.now) if is_day is None else is_day
        return _icon(weather, size_px=size, is_day=day, palette=self.palette, **known)

    def _drawn(self, draw: Callable[..., Markup]) -> Callable[..., Markup]:
        """A drawing of one value made to take a gap and a size that is no whole number."""

        def drawn(value: Any, *, size_px: float, **how: Any) -> Markup:
            size = round(size_px)
            if value is None or isinstance(value, Missing):
                return gap(size, size)
            return draw(value, size_px=size, palette=self.palette, **how)

        return drawn

    def _spec(self, width_px: float, height_px: float, **how: Any) -> ChartSpec:
        size = {name: round(value) for name, value in how.items() if name in {"label_px", "line_px"}}
        rest = {name: value for name, value in how.items() if name not in size}
        start, end = rest.get("start"), rest.get("end")
        if rest.pop("nights", False) and start and end:
            rest["nights"] = self.nights(start, end)
        rest.setdefault("value_label", self.wording.number)
        rest.setdefault("day_label", partial(self.wording.date, pattern="EEEd"))
        return ChartSpec(
            width_px=round(width_px),
            height_px=round(height_px),
            palette=self.palette,
            zone=self.wording.zone,
            now=rest.pop("now", self.now),
            **size,
            **rest,
        )

    def nights(self, start: datetime, end: datetime) -> tuple[tuple[datetime, datetime], ...]:
        """The stretches between ``start`` and ``end`` (aware) when the sun is down, to ten minutes."""
        found: list[tuple[datetime, datetime]] = []
        began: datetime | None = None
        at = start
        while at < end:
            up = self.sun_is_up(at)
            if not up and began is None:
                began = at
            if up and began is not None:
                found.append((began, at))
                began = None
            at += _STEP
        if began is not None:
            found.append((began, end))
        return tuple(found)

    def line_chart(self, series: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """One series or several of one unit as lines; see `wallbill.blocks.charts.lines.line_chart`."""
        known = _series(series)
        if not known:
            return gap(round(width_px), round(height_px))
        how.setdefault("unit", known[0].unit)
        return line_chart(known, spec=self._spec(width_px, height_px, **how))

    def band_chart(
        self, low: Any, high: Any, *, width_px: float, height_px: float, middle: Any = None, **how: Any
    ) -> Markup:
        """The band between two series, with a line in it if there is a middle one."""
        known = [_series(one)[:1] for one in (low, high, middle)]
        if not known[0] or not known[1]:
            return gap(round(width_px), round(height_px))
        band = Band(known[0][0], known[1][0], known[2][0] if known[2] else None)
        how.setdefault("unit", known[0][0].unit)
        return band_chart(band, spec=self._spec(width_px, height_px, **how))

    def spark(self, series: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """A series as a line with no axes."""
        known = _series(series)
        if not known:
            return gap(round(width_px), round(height_px))
        return spark(known[0], spec=self._spec(width_px, height_px, **how))

    def weather_chart(self, forecast: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Temperature, what falls, and the wind if asked (``wind=true``) of a forecast on one axis of time."""
        if _is_gap(forecast, Forecast, "a weather chart", "facts.NAME of a source of kind forecast"):
            return gap(round(width_px), round(height_px))
        units = WeatherUnits(
            temperature=self.wording.units.get("temperature", "°C"), wind=bool(how.pop("wind", False))
        )
        return weather_chart(forecast, spec=self._spec(width_px, height_px, **how), units=units)

    def travel_map(self, tracks: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Tracks on a map that they fill; see `wallbill.blocks.maps.travel.travel_map`."""
        known = tracks if isinstance(tracks, tuple) else (tracks,)
        mend = "facts.NAME of a source of kind track, or several in a row"
        travels = tuple(track for track in known if not _is_gap(track, Track, "a map", mend))
        if not travels:
            return gap(round(width_px), round(height_px))
        how = {name: round(value) if name.endswith("_px") else value for name, value in how.items()}
        for name, kind in (("scale", Measure), ("sea", Sea)):
            if name in how:
                how[name] = kind(how[name])
        spec = MapSpec(width_px=round(width_px), height_px=round(height_px), coast=self.coast(), **how)
        return travel_map(travels, spec=spec, palette=self.palette)


# A page shows few different icons and the next page much the same ones: drawing each once halves a page's time.
_icon = lru_cache(maxsize=512)(icon)
_moon = lru_cache(maxsize=64)(moon)
_wind_arrow = lru_cache(maxsize=64)(wind_arrow)
_sign = lru_cache(maxsize=256)(sign)


def gap(width_px: int, height_px: int) -> Markup:
    """An empty place of that size, where a block would stand if its facts were there."""
    return Markup(
        '<div class="wb-gap" style="width:{}px;height:{}px;display:flex;align-items:center;justify-content:center">–</div>'
    ).format(width_px, height_px)


def _is_gap(given: object, kind: type, block: str, mend: str) -> bool:
    """Whether a block has nothing to draw. Raises `SheetError` for what is neither a gap nor of the ``kind``."""
    if given is None or isinstance(given, Missing):
        return True
    if isinstance(given, kind):
        return False
    raise SheetError(
        f"{block} is drawn of a {kind.__name__}, not of a {type(given).__name__}", mend=f"Hand it {mend}."
    )


def _series(given: Any) -> Sequence[Series]:
    """The series in what a sheet handed over. Raises `SheetError` for anything else than a series or a gap."""
    if given is None or isinstance(given, Missing):
        return ()
    listed = given if isinstance(given, Sequence) else (given,)
    known = [one for one in listed if isinstance(one, Series)]
    if len(known) + sum(1 for one in listed if one is None or isinstance(one, Missing)) < len(listed):
        raise SheetError(
            "a chart is made of series of readings",
            mend="Hand it facts.NAME of a source of kind series, or one of its members.",
        )
    return known
