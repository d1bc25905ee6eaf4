"""Makes src/wallbill/blocks/maps/data/coast.bin, the coastline and countries of the world, from Natural Earth's data.

    npm pack world-atlas@2.0.2 && tar xzf world-atlas-2.0.2.tgz
    python scripts/make_coastline.py package src/wallbill/blocks/maps/data/coast.bin

Natural Earth is in the public domain; the npm package world-atlas gives it as TopoJSON. Every arc is thinned on its own
(Douglas and Peucker 1973), so that a coast shared by a country and the sea, or a border shared by two countries, stays
one line. The file's layout is told in `wallbill.blocks.maps.coast`.
"""

import argparse
import json
import lzma
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
from babel.core import get_global
from numpy.typing import NDArray

UNITS_PER_DEGREE = 160  # int16 then holds 204 degrees, for rings that cross 180; a unit is 700 m or less
COAST_TOLERANCE_DEG = 0.006
BORDER_TOLERANCE_DEG = 0.02
OUTLINE_TOLERANCE_DEG = 0.06  # of a country's coast, which only says whose the finer coast's land is
LEAST_ISLAND_DEG = 0.015

Line = NDArray[np.float64]


def arcs(topology: dict[str, Any], tolerance_deg: float) -> list[Line]:
    """The arcs as (n, 2) longitudes and latitudes, thinned."""
    scale = np.array(topology["transform"]["scale"])
    shift = np.array(topology["transform"]["translate"])
    return [
        thinned(np.cumsum(np.array(arc), axis=0) * scale + shift, tolerance_deg) for arc in topology["arcs"]
    ]


def thinned(line: Line, tolerance_deg: float) -> Line:
    """The line without the points that lie nearer than the tolerance to the line that is left.

    A small island keeps its shape: it is thinned by an eighth of its size at the most.
    """
    flat = line.copy()
    flat[:, 0] *= math.cos(math.radians(float(line[:, 1].mean())))
    keep = np.zeros(len(line), dtype=bool)
    keep[[0, -1]] = True
    closed = len(line) > 2 and bool(np.all(line[0] == line[-1]))
    todo = [(0, len(line) - 1)]
    if closed:
        tolerance_deg = min(tolerance_deg, float(np.ptp(flat, axis=0).max()) / 8)
        far = int(np.argmax(((flat - flat[0]) ** 2).sum(axis=1)))
        keep[far] = True
        todo = [(0, far), (far, len(line) - 1)]
    while todo:
        first, last = todo.pop()
        if last - first < 2:
            continue
        off = distances(flat[first + 1 : last], flat[first], flat[last])
        worst = int(np.argmax(off))
        if off[worst] > tolerance_deg:
            middle = first + 1 + worst
            keep[middle] = True
            todo += [(first, middle), (middle, last)]
    return line[keep]


def distances(points: Line, start: Line, end: Line) -> Line:
    """Distance of each point from the stretch between start and end."""
    along = end - start
    length = float((along**2).sum())
    share = np.clip(((points - start) @ along) / length, 0, 1) if length else np.zeros(len(points))
    off: Line = np.hypot(*(points - start - share[:, None] * along).T)
    return off


def joined(lines: list[Line], indices: list[int]) -> Line:
    """A ring out of arcs; a negative index is an arc run backwards (TopoJSON 2.1.4)."""
    parts = [lines[i] if i >= 0 else lines[~i][::-1] for i in indices]
    return np.concatenate([parts[0], *(part[1:] for part in parts[1:])])


def rings(topology: dict[str, Any], lines: list[Line]) -> Iterator[Line]:
    """Every ring of the land, outer and inner."""
    for shape in topology["objects"]["land"]["geometries"]:
        for ring in rings_of(shape):
            yield unbroken(joined(lines, ring))


def unbroken(ring: Line) -> Line:
    """The ring with longitudes that run on across 180 degrees; one that goes round a pole is closed along the pole."""
    steps = np.diff(ring[:, 0])
    steps -= 360 * np.round(steps / 360)
    if abs(steps.sum()) > 180:  # it goes round: begin where it crosses 180, and run from there to there
        first = int(np.argmin(np.abs(np.abs(ring[:-1, 0]) - 180)))
        ring = np.concatenate([ring[first:-1], ring[: first + 1]])
        steps = np.diff(ring[:, 0])
        steps -= 360 * np.round(steps / 360)
    longitude = ring[0, 0] + np.concatenate([[0.0], np.cumsum(steps)])
    longitude -= 360 * round(float((longitude.min() + longitude.max()) / 2) / 360)
    if abs(steps.sum()) <= 180:
        return np.column_stack([longitude, ring[:, 1]])
    pole = math.copysign(90, float(ring[:, 1].mean()))
    corners = [(longitude[-1], pole), (longitude[0], pole), (longitude[0], ring[0, 1])]
    return np.concatenate([np.column_stack([longitude, ring[:, 1]]), corners])


class Countries:
    """The countries as arcs of their outlines, each arc once, and for each country the arcs that bound it.

    An arc shared by two countries is their border. Arcs of a ring across 180 degrees run on beyond it together;
    a ring round a pole becomes one arc of its own, closed along the pole.
    """

    def __init__(self, topology: dict[str, Any]) -> None:
        shapes = topology["objects"]["countries"]["geometries"]
        self.rings = [(code_of(shape), ring) for shape in shapes for ring in rings_of(shape)]
        uses: dict[int, int] = {}
        for _, ring in self.rings:
            for index in ring:
                uses[plain(index)] = uses.get(plain(index), 0) + 1
        fine, coarse = arcs(topology, BORDER_TOLERANCE_DEG), arcs(topology, OUTLINE_TOLERANCE_DEG)
        self.lines = [fine[i] if uses.get(i, 0) > 1 else coarse[i] for i in range(len(fine))]
        self.bounds: dict[str, list[int]] = {}
        for code, ring in self.rings:
            self.bounds.setdefault(code, []).extend(self.run_on(ring))

    def add_missing(self, finer: dict[str, Any]) -> None:
        """Adds the countries of a finer topology that this one leaves out, each ring an arc of its own."""
        lines = arcs(finer, OUTLINE_TOLERANCE_DEG)
        known = set(self.bounds)
        for shape in finer["objects"]["countries"]["geometries"]:
            code = code_of(shape)
            if code not in known:
                for ring in rings_of(shape):
                    self.lines.append(unbroken(joined(lines, ring)))
                    self.bounds.setdefault(code, []).append(len(self.lines) - 1)

    def run_on(self, ring: list[int]) -> list[int]:
        """The ring's arcs, turned by whole turns so that each goes on where the one before ends."""
        steps = np.diff(joined(self.lines, ring)[:, 0])
        if np.abs(steps).max() < 180:
            return [plain(index) for index in ring]
        turned = unbroken(joined(self.lines, ring))
        if np.abs(turned[:, 1]).max() == 90 or len(ring) == 1:
            self.lines.append(turned)
            return [len(self.lines) - 1]
        at = 0
        for index in ring:
            line = self.lines[plain(index)]
            part = turned[at : at + len(line)]
            self.lines[plain(index)] = part if index >= 0 else part[::-1]
            at += len(line) - 1
        return [plain(index) for index in ring]

    def pack(self) -> None:
        """Leaves out the arcs that bound nothing, or nothing that can be seen."""
        kept = [
            i
            for i in sorted({i for bound in self.bounds.values() for i in bound})
            if len(whole(self.lines[i])) > 1
        ]
        fresh = {old: new for new, old in enumerate(kept)}
        self.lines = [self.lines[i] for i in kept]
        self.bounds = {code: [fresh[i] for i in bound if i in fresh] for code, bound in self.bounds.items()}


def plain(index: int) -> int:
    """The arc's number, whichever way it is run."""
    return max(index, ~index)


def rings_of(shape: dict[str, Any]) -> list[list[int]]:
    """Every ring of a shape, outer and inner, as arc numbers."""
    polygons = [shape["arcs"]] if shape["type"] == "Polygon" else shape["arcs"]
    return [ring for polygon in polygons for ring in polygon]


def code_of(shape: dict[str, Any]) -> str:
    """The ISO 3166-1 alpha-2 code of a country from its numeric one, by CLDR's table; "--" where there is none.

    XK for Kosovo is CLDR's, from the range that ISO leaves to its users.
    """
    if shape["properties"]["name"] == "Kosovo":
        return "XK"
    known: list[str] = get_global("territory_aliases").get(str(shape.get("id", "")), ["--"])
    return known[0]


def whole(line: Line) -> NDArray[np.int16]:
    """The line in whole units, without points that fall on the one before."""
    units = np.round(line * UNITS_PER_DEGREE).astype(np.int16)
    fresh = np.concatenate([[True], np.any(np.diff(units, axis=0) != 0, axis=1)])
    kept: NDArray[np.int16] = units[fresh]
    return kept


def packed(lines: list[NDArray[np.int16]]) -> bytes:
    """Counts, then the differences from point to point, low bytes and high bytes apart: they pack better so."""
    counts = np.array([len(line) for line in lines], dtype="<u4")
    every = np.concatenate(lines).astype("<i2")
    steps = np.diff(every, axis=0, prepend=np.zeros((1, 2), dtype="<i2")).astype(
        "<i2"
    )  # wraps round, as the reader does
    columns = np.ascontiguousarray(steps.T).tobytes()
    planes = np.frombuffer(columns, dtype=np.uint8).reshape(-1, 2)
    return (
        len(lines).to_bytes(4, "little") + counts.tobytes() + planes[:, 0].tobytes() + planes[:, 1].tobytes()
    )


def listed(bounds: dict[str, list[int]]) -> bytes:
    """The countries: how many (uint16), then the code, the number of arcs (uint16) and the arcs' numbers (uint16) of each."""
    parts = [len(bounds).to_bytes(2, "little")]
    for code, numbers in sorted(bounds.items()):
        parts += [code.encode("ascii"), np.array([len(numbers), *sorted(numbers)], dtype="<u2").tobytes()]
    return b"".join(parts)


def main() -> None:
    """Reads the package's files and writes the data file."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("package", type=Path, help="the unpacked npm package")
    parser.add_argument("out", type=Path)
    parser.add_argument("--tolerance", type=float, default=COAST_TOLERANCE_DEG, help="degrees")
    asked = parser.parse_args()
    land = json.loads((asked.package / "land-10m.json").read_text())
    finer = json.loads((asked.package / "countries-10m.json").read_text())
    countries = Countries(json.loads((asked.package / "countries-50m.json").read_text()))
    countries.add_missing(finer)
    countries.pack()
    coast = [whole(ring) for ring in rings(land, arcs(land, asked.tolerance))]
    least = LEAST_ISLAND_DEG * UNITS_PER_DEGREE
    coast = [ring for ring in coast if len(ring) > 3 and np.ptp(ring, axis=0).max() >= least]
    outlines = packed([whole(line) for line in countries.lines]) + listed(countries.bounds)
    body = packed(coast) + outlines
    asked.out.write_bytes(
        b"COAST2"
        + UNITS_PER_DEGREE.to_bytes(2, "little")
        + lzma.compress(body, preset=9 | lzma.PRESET_EXTREME)
    )
    print(f"{len(coast)} rings, {sum(map(len, coast))} points")
    print(
        f"{len(countries.bounds)} countries, {len(countries.lines)} arcs, {len(lzma.compress(outlines))} bytes packed"
    )
    print(f"{asked.out.stat().st_size} bytes")


if __name__ == "__main__":
    main()
