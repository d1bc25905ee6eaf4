"""Tracks from outside the project, read where the test set-up put them."""

import csv
import sys
import tarfile
from datetime import UTC, datetime
from importlib import resources
from pathlib import Path

import gpxpy
from gpxpy.gpx import GPX

from wallbill.facts.origin import Origin
from wallbill.facts.track import Position, Track, Waypoint

ORIGIN = Origin("logbook", "invented", "", None, datetime(2026, 6, 1, tzinfo=UTC))
_ARCHIVE = Path(sys.prefix) / "outside" / "gpxpy-1.6.2.tar.gz"


def gpx_text(name: str) -> str:
    """A file of the tests in the source archive of gpxpy 1.6.2 (Apache-2.0), which ``make test`` fetches."""
    assert _ARCHIVE.exists(), f"{_ARCHIVE} is missing: make test fetches it"
    with tarfile.open(_ARCHIVE) as archive:
        found = archive.extractfile(f"gpxpy-1.6.2/test_files/{name}.gpx")
        assert found is not None
        return found.read().decode("utf-8")


def gpx(name: str) -> tuple[Track, GPX]:
    """The file as a track, and as gpxpy reads it."""
    known = gpxpy.parse(gpx_text(name))
    segments = tuple(
        tuple(Position(p.latitude, p.longitude, p.elevation, p.time) for p in segment.points)
        for track in known.tracks
        for segment in track.segments
    )
    places = tuple(Waypoint(one.name or "", Position(one.latitude, one.longitude)) for one in known.waypoints)
    return Track(ORIGIN, name, segments, places), known


def race() -> Track:
    """A bicycle race, 978 points with heights (the package bokeh_sampledata, BSD-3-Clause)."""
    text = (
        resources.files("bokeh_sampledata")
        .joinpath("_data", "obiszow_mtb_xcm.csv")
        .read_text(encoding="utf-8")
    )
    rows = csv.DictReader(text.splitlines())
    points = tuple(Position(float(row["lat"]), float(row["lon"]), float(row["alt"])) for row in rows)
    return Track(ORIGIN, "race", (points,), (Waypoint("Start", points[0]), Waypoint("Feed", points[400])))
