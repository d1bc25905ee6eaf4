"""A track's heights by the way travelled, as arrays: what a height profile draws."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.blocks.maps.projection import Reals, great_circles_m
from wallbill.facts.track import Track

_BRIDGED = 0.02  # of the whole way: a stretch without heights that is longer stays a gap
_SLOPE_M = 100.0
"""A slope is measured over this much of the way: over less, the receiver's noise is steep. Common practice, no source."""
_NEAR_M = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """An unbroken part of a track: metres along the whole track, rising, and metres above the sea; float64, shape (n,)."""

    along_m: Reals
    height_m: Reals


def stretches(track: Track) -> tuple[Stretch, ...]:
    """The track's heights by the way, parted where segments part and where heights are missing for long.

    The way is the sum of great-circle distances within segments; see `wallbill.facts.track.Track.length_m`.
    """
    found: list[Stretch] = []
    whole, done = _along_m(track), 0
    for segment in track.segments:
        along = whole[done : done + len(segment)]
        done += len(segment)
        height = np.array(
            [np.nan if p.elevation_m is None else p.elevation_m for p in segment], dtype=np.float64
        )
        known = np.flatnonzero(np.isfinite(height))
        lost = (np.diff(known) > 1) & (np.diff(along[known]) > _BRIDGED * whole[-1])
        parts = np.split(known, np.flatnonzero(lost) + 1)
        found += [Stretch(along[part], height[part]) for part in parts if len(part)]
    return tuple(found)


def steep(stretch: Stretch, *, percent: float) -> NDArray[np.bool_]:
    """For each step of a stretch from point to point, whether the way is steeper than that; shape (n - 1,).

    The slope is that between the heights 50 m before and 50 m after the step's middle.
    """
    middle = (stretch.along_m[:-1] + stretch.along_m[1:]) / 2
    ahead = np.minimum(middle + _SLOPE_M / 2, stretch.along_m[-1])
    behind = np.maximum(middle - _SLOPE_M / 2, stretch.along_m[0])
    rise = np.interp(ahead, stretch.along_m, stretch.height_m) - np.interp(
        behind, stretch.along_m, stretch.height_m
    )
    return np.asarray(np.abs(rise) > percent / 100 * np.maximum(ahead - behind, 1.0))


def named_along(track: Track) -> tuple[tuple[str, float], ...]:
    """Each named place of a track and the metres along the way where the track comes nearest to it.

    Places off the track are left out: those more than 100 m, or a fiftieth of the way, from it.
    """
    places = np.array([(p.longitude_deg, p.latitude_deg) for p in track.positions], dtype=np.float64).reshape(
        -1, 2
    )
    along = _along_m(track)
    reach_m = max(_NEAR_M, _BRIDGED * track.length_m)
    found = []
    for waypoint in track.waypoints:
        spot = np.array([[waypoint.position.longitude_deg, waypoint.position.latitude_deg]])
        away = great_circles_m(places, spot)
        if waypoint.name and len(away) and away.min() <= reach_m:
            found.append((waypoint.name, float(along[int(np.argmin(np.round(away)))])))
    return tuple(found)


def _along_m(track: Track) -> Reals:
    """Metres along the way of every point, segments one after the other."""
    begin_m, parts = 0.0, [np.zeros(0)]
    for segment in track.segments:
        if segment:
            places = np.array([(p.longitude_deg, p.latitude_deg) for p in segment], dtype=np.float64)
            legs = great_circles_m(places[:-1], places[1:])
            parts.append(begin_m + np.concatenate([[0.0], np.cumsum(legs)]))
            begin_m = float(parts[-1][-1])
    return np.concatenate(parts)
