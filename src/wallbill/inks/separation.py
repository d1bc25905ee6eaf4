"""Separation: a raster in, one ink for each pixel out.

Three kinds of pixels are told apart: line work is settled on the colours around it, flat colours that are no
ink become tints, and pictures are mapped to the panel's measured inks and scattered into dots. What a
pixel becomes depends on its own colour, on its place on the page and on its near surroundings only: a page
that changes in one place keeps its dots everywhere else.
"""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from wallbill.errors import Place
from wallbill.findings import Finding, Weight
from wallbill.inks import gamut, tints
from wallbill.inks.bluenoise import coverage_planes, lay
from wallbill.inks.eye import points
from wallbill.inks.flats import flats
from wallbill.inks.gamut import Tables
from wallbill.inks.greys import grey_planes, grey_scale, lay_greys, nearest_greys
from wallbill.inks.impression import Codes, Mask, Rgb, frozen_codes
from wallbill.inks.inkset import InkSet, ink_set
from wallbill.inks.linework import Palette, settle
from wallbill.inks.manner import USUAL, Manner, Way
from wallbill.inks.packed import Packed, ink_codes, pack, pack_ink, unpack
from wallbill.inks.scattering import Dotter, scatter_pictures
from wallbill.panels.model import Panel, Tone

_MANY_GREYS = 8  # from here on no way of scattering is better than another
_FEW = 24  # so many different flat colours are picked out one by one, faster than sorting


@dataclass(frozen=True, slots=True, eq=False)
class Separated:
    """``codes``: uint8 (height, width), read-only, places in ``panel.inks``. ``findings``: what was noticed."""

    codes: Codes
    findings: tuple[Finding, ...] = ()


def separate(
    rgb: Rgb,
    *,
    panel: Panel,
    picture: Mask | None = None,
    tables: Tables | None = None,
    manner: Manner = USUAL,
) -> Separated:
    """One ink for each pixel of a page.

    ``rgb``: uint8 (height, width, 3), sRGB, of any size; never written to. ``picture``: bool (height, width),
    true where a picture shows. ``tables``: the panel's link table, made anew when a picture needs one.
    ``manner``: how pictures are scattered.
    Raises `ValueError` for arrays of another shape, or a table of other inks.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise ValueError(f"a raster is uint8 (height, width, 3), got {rgb.dtype} {rgb.shape}")
    if picture is not None and picture.shape != rgb.shape[:2]:
        raise ValueError(f"a picture mask has the raster's shape {rgb.shape[:2]}, got {picture.shape}")
    if not rgb.size:
        return Separated(frozen_codes(np.zeros(rgb.shape[:2], dtype=np.uint8)))
    masked = picture if picture is not None and picture.any() else None
    if panel.tone is Tone.GREYS:
        return Separated(_sealed(_greys(rgb, panel, masked, manner)))
    pixels = pack(rgb)
    codes, known = ink_codes(pixels, panel.inks)
    if masked is None and known.all():
        return Separated(_sealed(codes))
    inks = ink_set(panel.inks, n=panel.yule_nielsen_n, neutrals=manner.neutrals)
    findings: tuple[Finding, ...] = ()
    if not (known.all() if masked is None else (known | masked).all()):
        codes, findings = _page(pixels, (codes, known), masked, Palette(inks, _css(panel)))
    if masked is not None:
        fitting = _fitting(tables, inks)
        dotter = Dotter(
            partial(coverage_planes, tables=fitting),
            partial(lay, tables=fitting),
            np.array(inks.order, dtype=np.uint8),
            points(inks)[list(inks.order)],
            manner.step_for,
        )
        scatter_pictures(codes, rgb, masked, dotter=dotter, manner=manner)
    return Separated(_sealed(codes), findings)


def _sealed(codes: Codes) -> Codes:
    """The codes themselves, made read-only."""
    codes.setflags(write=False)
    return codes


def _css(panel: Panel) -> Packed:
    """Packed CSS colours of the panel's inks."""
    return np.array([pack_ink(ink) for ink in panel.inks], dtype=np.uint32)


def _fitting(tables: Tables | None, inks: InkSet) -> Tables:
    """The given table if it is of these inks, or a new one where none is given."""
    if tables is None:
        return gamut.make_tables(inks)
    if tables.key != inks.key:
        raise ValueError("this link table was made for other inks")
    return tables


def _greys(rgb: Rgb, panel: Panel, picture: Mask | None, manner: Manner) -> Codes:
    """Separates for a panel of greys."""
    scale = grey_scale(panel.inks, n=panel.yule_nielsen_n)
    codes = nearest_greys(pack(rgb), inks=panel.inks, scale=scale)
    if picture is None:
        return codes
    inks = ink_set(panel.inks, n=panel.yule_nielsen_n)
    dotter = Dotter(
        partial(grey_planes, scale=scale),
        partial(lay_greys, scale=scale),
        scale.order,
        points(inks)[scale.order],
        manner.step_for,
    )
    if len(panel.inks) > _MANY_GREYS:
        # So close together are the greys that the ways look alike: the quick one will do.
        areas = tuple((box, Way.QUICK if way is Way.FINE else way) for box, way in manner.areas)
        way = Way.QUICK if manner.way is Way.FINE else manner.way
        manner = replace(manner, way=way, areas=areas)
    scatter_pictures(codes, rgb, picture, dotter=dotter, manner=manner)
    return codes


def _page(
    pixels: Packed, exact: tuple[Codes, Mask], picture: Mask | None, palette: Palette
) -> tuple[Codes, tuple[Finding, ...]]:
    """Inks of all that is no picture, and what was noticed."""
    codes, known = exact
    other = ~known if picture is None else ~(known | picture)
    flat = flats(pixels, loose=other, inks=palette.colours)
    settled = settle(pixels, known | flat, skip=picture, palette=palette)
    places = np.flatnonzero(other)
    flat_codes = codes.reshape(-1)
    flat_codes[places] = _inked(settled.pixels.reshape(-1)[places], (places, codes.shape[1]), palette)
    return codes, _noticed(settled.hairlines)


def _noticed(hairlines: int) -> tuple[Finding, ...]:
    """A finding if thin line work was drawn in colours that are no ink."""
    if not hairlines:
        return ()
    return (
        Finding(
            "inks.thin-tint",
            Place(),
            "thin line work in a colour that is no ink was made solid or dotted",
            measured=str(hairlines),
            limit="0",
            unit="px",
            mend="Give type, rules and borders of up to two pixels the colour of an ink.",
            weight=Weight.NOTE,
        ),
    )


def _inked(colours: Packed, at: tuple[np.ndarray, int], palette: Palette) -> Codes:
    """Inks (n,) of settled colours (n,). ``at``: their places in order of reading (n,), and the page's width."""
    codes = np.zeros(len(colours), dtype=np.uint8)
    known = np.zeros(len(colours), dtype=np.bool_)
    for place, ink in reversed(tuple(enumerate(palette.colours))):
        exact = colours == ink
        codes[exact] = place
        known |= exact
    rest = np.flatnonzero(~known)
    if len(rest):
        different, which = _different(colours[rest])
        levels = tints.levels_of(np.ascontiguousarray(unpack(different)), palette.inks)
        y_px, x_px = np.divmod(at[0][rest], at[1])
        matrix = tints.matrix_at(x_px, y_px)
        codes[rest] = np.array(palette.inks.order, dtype=np.uint8)[tints.lay(levels, which, at=matrix)]
    return codes


def _different(colours: Packed) -> tuple[Packed, np.ndarray]:
    """The different colours, and for each pixel which of them it has."""
    which = np.empty(len(colours), dtype=np.int64)
    left = np.arange(len(colours))
    found: list[int] = []
    while len(left) and len(found) < _FEW:
        colour = colours[left[0]]
        hit = colours[left] == colour
        which[left[hit]] = len(found)
        found.append(int(colour))
        left = left[~hit]
    if not len(left):
        return np.array(found, dtype=np.uint32), which
    rest, place = np.unique(colours[left], return_inverse=True)
    which[left] = place + len(found)
    return np.concatenate((np.array(found, dtype=np.uint32), rest)), which
