"""From sRGB to coverages of a panel's inks, for pictures: the link table, and where it is kept.

A picture's lightness is fitted into the panel's range, greys onto the line from the panel's black to its
white; what the inks cannot mix goes to the nearest mix (see `simplex`). The table is a cube of sRGB values;
between its corners coverages are interpolated, so every pixel stays a mix of inks.
"""

import zlib
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

from wallbill.inks import colour, halftone, simplex
from wallbill.inks.colour import Floats
from wallbill.inks.inkset import CHROMA_COST, InkSet, Neutrals, calm_costs

SIDE = 33
"""Corners along each side of the cube."""

_GREY = 0.03  # OKLab chroma of an ink below which it is a grey
_NEARLY_GREY = (0.01, 0.03)  # OKLab chroma of a picture's colour: grey below, a colour above; compared by eye
_SCALE = 65535  # coverages are stored as 16-bit integers


class TableKeep(Protocol):
    """A place that keeps bytes by name from run to run, and may lose them at any time."""

    def get(self, key: str) -> bytes | None:
        """The bytes kept under ``key``, or None."""
        ...

    def put(self, key: str, data: bytes) -> None:
        """Keeps ``data`` under ``key``, replacing what was there, whole or not at all."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """A link table. ``key``: the ink set's. ``order``: places of inks from darkest to lightest.

    ``cumulative``: uint16, shape (inks - 1, 33, 33, 33), read-only, axes blue, green, red: the share of the
    darkest, the two darkest, ... inks, 65535 for all.
    """

    key: str
    order: tuple[int, ...]
    cumulative: np.ndarray[tuple[int, ...], np.dtype[np.uint16]]


def fitted(light: Floats, inks: InkSet) -> Floats:
    """OKLab (colours, 3) that a picture's linear light (colours, 3) asks of the panel.

    Lightness is scaled to run from the panel's black to its white, and greys take the tinge that black and
    white dots mixed to that lightness have, so that they need no third ink. Chroma shrinks by the same scale.
    """
    oklab = colour.linear_to_oklab(light)
    greys = _grey_line(inks)
    black, white = greys[0, 0], greys[-1, 0]
    wanted: Floats = oklab * (white - black)
    wanted[:, 0] += black
    for part in (1, 2):
        wanted[:, part] += np.interp(wanted[:, 0], greys[:, 0], greys[:, part])
    return wanted


def _grey_line(inks: InkSet) -> Floats:
    """OKLab (steps, 3) of the panel's own greys: from its black over its grey inks, if any, to its white."""
    chroma = np.hypot(*colour.lms_to_oklab(inks.shown)[:, 1:].T)
    ends = {inks.black, inks.white}
    stops = inks.shown[[place for place in inks.order if place in ends or chroma[place] < _GREY]]
    share = np.linspace(0, 1, 257)[:, np.newaxis]
    line = [halftone.mix(np.hstack((1 - share, share)), np.stack(pair), n=inks.n) for pair in pairwise(stops)]
    return colour.lms_to_oklab(np.concatenate(line))


def picture_coverages(light: Floats, inks: InkSet) -> Floats:
    """Coverage of each ink (colours, inks) for a picture's linear sRGB light (colours, 3).

    The calmest mix; where neutrals are plain, greys are made without colour, and colours that are nearly grey of both
    mixes by halves, so that no seam shows.
    """
    wanted = fitted(light, inks)
    calm = simplex.Mixer(inks.shown, calm_costs(inks.shown), inks.n)
    shares = simplex.coverages(wanted, calm)
    if inks.neutrals is Neutrals.PLAIN:
        chroma = np.hypot(*colour.linear_to_oklab(light)[:, 1:].T)
        share = np.asarray(np.interp(chroma, _NEARLY_GREY, (1.0, 0.0)))
        some = np.flatnonzero(share)
        plain = simplex.Mixer(inks.shown, calm_costs(inks.shown, chroma=CHROMA_COST), inks.n)
        part = share[some, np.newaxis]
        shares[some] = shares[some] * (1 - part) + simplex.coverages(wanted[some], plain) * part
    return shares


def cumulated(shares: Floats, order: tuple[int, ...]) -> Floats:
    """Running sums (colours, inks - 1) of ``shares`` (colours, inks), from the darkest ink up."""
    sums: Floats = np.cumsum(shares[:, list(order)], axis=1)[:, :-1]
    return sums


def make_tables(inks: InkSet) -> Tables:
    """The link table of an ink set, worked out anew: 0.1 to 0.4 s."""
    steps = np.linspace(0, 1, SIDE)
    blue, green, red = np.meshgrid(steps, steps, steps, indexing="ij")
    grid = np.stack((red, green, blue), axis=-1).reshape(-1, 3)
    shares = picture_coverages(colour.srgb_to_linear(_clean_greys(grid)), inks)
    sums = np.rint(np.clip(cumulated(shares, inks.order), 0, 1) * _SCALE).astype(np.uint16)
    cube = np.ascontiguousarray(sums.T).reshape(-1, SIDE, SIDE, SIDE)
    cube.setflags(write=False)
    return Tables(inks.key, inks.order, cube)


def _clean_greys(grid: Floats) -> Floats:
    """Corners of the cube (n, 3), those next to the grey axis drawn to it.

    A grey pixel is interpolated from corners of which most are not grey; without this, grey pictures are
    strewn with coloured dots. Corners one step off grey become grey, those two steps off nearly keep.
    """
    steps = np.rint((grid.max(axis=1) - grid.min(axis=1)) * (SIDE - 1))
    kept = np.interp(steps, (1, 2, 3), (0.0, 0.7, 1.0))[:, np.newaxis]
    light = colour.linear_to_xyz(colour.srgb_to_linear(grid))[:, 1:2]
    cleaned: Floats = colour.linear_to_srgb(light) * (1 - kept) + grid * kept
    return cleaned


def tables_for(inks: InkSet, *, keep: TableKeep | None = None) -> Tables:
    """The link table of an ink set: from ``keep`` if it has a sound one, else made, and kept there."""
    name = f"inks-{inks.key[:32]}"
    kept = keep.get(name) if keep else None
    tables = _read(kept, inks) if kept is not None else None
    if tables is None:
        tables = make_tables(inks)
        if keep:
            keep.put(name, _written(tables))
    return tables


def _written(tables: Tables) -> bytes:
    """A table as bytes: its key in hex, then the packed shares, little endian."""
    return tables.key.encode() + zlib.compress(tables.cumulative.astype("<u2").tobytes(), 6)


def _read(data: bytes, inks: InkSet) -> Tables | None:
    """The table in ``data``, or None if it is another ink set's or damaged."""
    key = inks.key.encode()
    if not data.startswith(key):
        return None
    try:
        flat = np.frombuffer(zlib.decompress(data[len(key) :]), dtype="<u2")
    except zlib.error:
        return None
    shape = (len(inks.order) - 1, SIDE, SIDE, SIDE)
    if flat.size != np.prod(shape):
        return None
    cube = flat.astype(np.uint16).reshape(shape)
    cube.setflags(write=False)
    return Tables(inks.key, inks.order, cube)
