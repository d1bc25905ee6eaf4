"""Maps and height profiles as sheets call them."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

from babel import Locale, UnknownLocaleError
from markupsafe import Markup

from wallbill.blocks.maps.geojson import Base, base_of, parse_geojson
from wallbill.blocks.maps.profile import height_profile
from wallbill.blocks.maps.profile_spec import ProfileSpec
from wallbill.blocks.maps.spec import MapSpec, Measure
from wallbill.blocks.maps.travel import places_map, travel_map
from wallbill.errors import SheetError
from wallbill.facts.track import Position, Track, Waypoint
from wallbill.places.words import a_kind, did_you_mean, shown
from wallbill.sheets.bench import Bench, gap, is_gap
from wallbill.sheets.missing import Missing

_TRACKS = "facts.NAME of a source of kind track, or several in a row"


@dataclass(frozen=True, slots=True)
class Maps:
    """The functions of a sheet that draw where a journey went."""

    bench: Bench

    @property
    def functions(self) -> Mapping[str, Callable[..., Any]]:
        """By the names that sheets call them by."""
        return {
            "travel_map": self.travel_map,
            "places_map": self.places_map,
            "height_profile": self.height_profile,
        }

    def travel_map(self, tracks: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Tracks on a map that they fill; see `wallbill.blocks.maps.travel.travel_map`."""
        known = tracks if isinstance(tracks, list | tuple) else (tracks,)
        travels = tuple(track for track in known if not is_gap(track, Track, block="a map", mend=_TRACKS))
        spec = self._spec(width_px, height_px, how)
        if not any(track.positions or track.waypoints for track in travels) and not _shows(spec):
            return gap(round(width_px), round(height_px))
        return travel_map(travels, spec=spec, palette=self.bench.palette)

    def places_map(self, places: Any = (), /, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """Places and countries that were visited; see `wallbill.blocks.maps.travel.places_map`."""
        spec = self._spec(width_px, height_px, how)
        known = waypoints_of(places)  # further ones are in how
        if not known and not _shows(spec):
            return gap(round(width_px), round(height_px))
        return places_map(known, spec=spec, palette=self.bench.palette)

    def height_profile(self, track: Any, *, width_px: float, height_px: float, **how: Any) -> Markup:
        """A track's heights along the way; see `wallbill.blocks.maps.profile.height_profile`."""
        if is_gap(track, Track, block="a height profile", mend="facts.NAME of a source of kind track"):
            return gap(round(width_px), round(height_px))
        if track.highest_m is None or not track.length_m:
            return gap(round(width_px), round(height_px))
        how = self._measures(height_px, how)
        how.setdefault("line_px", min(8, max(2, how["label_px"] // 10)))
        if how.get("scale") == Measure.MILES:
            how.setdefault("heights", "ft")
        spec = ProfileSpec(
            width_px=round(width_px),
            height_px=round(height_px),
            ruler=self.bench.ruler,
            number=self.bench.wording.number,
            **_known(ProfileSpec, how, "a height profile"),
        )
        return height_profile(track, spec=spec, palette=self.bench.palette)

    def _spec(self, width_px: float, height_px: float, how: Mapping[str, Any]) -> MapSpec:
        """What a map is asked to be, with the wall's wording, the coast, and the user's own map."""
        how = self._measures(height_px, how)
        how.setdefault("line_px", min(8, max(3, how["label_px"] // 7)))  # lines go with the type
        how.setdefault("coast_px", min(3, max(1, how["label_px"] // 16)))
        how["base"] = self._base(how.get("base"), how.pop("looks", {}))
        how["places"] = waypoints_of(how.get("places", ()))
        how["countries"] = _countries(how.get("countries"))
        return MapSpec(
            width_px=round(width_px),
            height_px=round(height_px),
            coast=self.bench.coast(),
            ruler=self.bench.ruler,
            scale_label=self._length,
            country_name=self._country,
            **_known(MapSpec, how, "a map"),
        )

    def _measures(self, height_px: float, how: Mapping[str, Any]) -> dict[str, Any]:
        """What a sheet asks for, its pixels whole, with the size of labels that can be read."""
        said = {name: value for name, value in how.items() if not isinstance(value, Missing)}
        found = {
            name: round(value) if name.endswith("_px") and value is not None else value
            for name, value in said.items()
        }
        for name in ("least_m", "steep_percent"):
            if name in found and (isinstance(found[name], bool) or not isinstance(found[name], int | float)):
                raise SheetError(
                    f"{name} is a number, not {shown(found[name])}", mend=f"Write {name}=10, without quotes."
                )
        found.setdefault("label_px", self.bench.label_px(height_px))
        return found

    def _length(self, length: float, unit: str) -> str:
        """A length in the wall's figures: below a kilometre in metres."""
        if unit == Measure.KM and length < 1:
            return f"{self.bench.wording.number(length * 1000)}\N{NO-BREAK SPACE}m"
        return f"{self.bench.wording.number(length)}\N{NO-BREAK SPACE}{unit}"

    def _country(self, code: str) -> str:
        """A country's name in the wall's language, or its code. Source: the Unicode CLDR, through Babel."""
        try:
            locale = Locale.parse(self.bench.wording.language, sep="-")
        except (UnknownLocaleError, ValueError):
            return code
        return str(locale.territories.get(code, code))

    def _base(self, given: Any, looks: Any) -> Base | None:
        """The user's own map: the name of a file in pictures/, or GeoJSON out of a source."""
        if given is None and not looks:
            return None
        if not isinstance(looks, Mapping) or not all(isinstance(words, Mapping) for words in looks.values()):
            raise SheetError(
                f"looks are words by property, not {shown(looks)}",
                mend='Write looks={"natural=water": {"area": "light"}}.',
            )
        if given is None:
            raise SheetError(
                "looks are those of a map of your own, and there is none",
                mend='Write base="valley.geojson" too.',
            )
        if isinstance(given, Mapping):
            return base_of(given, file="base", looks=looks)
        if isinstance(given, str) and given.lstrip().startswith("{"):
            return parse_geojson(given, file="base", looks=looks)
        if isinstance(given, str):
            return parse_geojson(self.bench.pictures.bytes_of(given), file=f"pictures/{given}", looks=looks)
        raise SheetError(
            f"a map's base is GeoJSON, not {a_kind(type(given))}",
            mend="Write the name of a file in pictures/.",
        )


def _countries(given: Any) -> tuple[Any, ...]:
    """The codes of countries in what a sheet hands over: one, or several in a row. Raises `SheetError` for neither."""
    if given is None or isinstance(given, str):
        return (given,) if given else ()
    if not isinstance(given, Sequence):
        raise SheetError(f"countries are a list of codes, not {shown(given)}", mend='Write ["FR", "PT"].')
    return tuple(given)


def _shows(spec: MapSpec) -> bool:
    """Whether a map has something to show beside tracks."""
    return bool(spec.places or spec.countries or (spec.base is not None and spec.base.spots()))


def _known(kind: type[MapSpec] | type[ProfileSpec], how: Mapping[str, Any], block: str) -> Mapping[str, Any]:
    """The arguments, if the block knows them all. Raises `SheetError` for another."""
    own = {"ruler", "number", "coast", "scale_label", "country_name", "width_px", "height_px"}
    words = [one.name for one in fields(kind) if one.name not in own]
    for name in how:
        if name not in words:
            raise SheetError(f"{block} has no {name!r}", mend=did_you_mean(name, words))
    return how


def waypoints_of(given: Any) -> tuple[Waypoint, ...]:
    """Places from what a sheet hands over: those of a track, or pairs and triples of name, latitude and longitude.

    A gap is no place. Raises `SheetError` for anything else.
    """
    if given is None or isinstance(given, Missing):
        return ()
    if isinstance(given, Track):
        return given.waypoints
    if isinstance(given, Waypoint):
        return (given,)
    if not isinstance(given, Sequence) or isinstance(given, str):
        raise SheetError(
            f"places are a list, not {shown(given)}", mend='Write [["Brest", 48.39, -4.49]], latitude first.'
        )
    if len(given) == 3 and isinstance(given[0], str):
        return (_waypoint(given),)
    return tuple(
        place
        for one in given
        if one is not None and not isinstance(one, Missing)
        for place in (waypoints_of(one) if isinstance(one, Track | Waypoint) else (_waypoint(one),))
    )


def _waypoint(given: Any) -> Waypoint:
    """A place from its name, latitude and longitude."""
    try:
        name, latitude_deg, longitude_deg = given
        return Waypoint(str(name), Position(float(latitude_deg), float(longitude_deg)))
    except (TypeError, ValueError) as fault:
        raise SheetError(
            f"a place is a name, a latitude and a longitude, not {shown(given)}",
            mend='Write ["Brest", 48.39, -4.49].',
        ) from fault
