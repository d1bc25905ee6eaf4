"""The shape test: has a glyph kept its pieces and its holes on the grid? And healing where it has not.

A filled ``e``, a closed degree ring, a diaeresis run into a macron: each changes the Euler number, pieces of ink
less holes. It is compared with that of a large rendering of the same glyph at the same weight. A glyph that fails
is drawn again at neighbouring weights, and as a last way with other hints.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wallbill.faces.rasters import GlyphBitmap, Hinting, Rasteriser
from wallbill.faces.stems import run_px
from wallbill.faces.tracing import diagonal_touches, euler_numbers, without_specks

REFERENCE_PX = 128
_SECOND_LOOKS_PX = (200, 300)

Redraw = Callable[[Sequence[int]], Sequence[GlyphBitmap]]
"""Draws glyphs, given by place, in another way: at a neighbouring weight, or with other hints."""


@dataclass(frozen=True, slots=True, eq=False)
class Healed:
    """Bitmaps after healing, by place. ``mended``: places that were drawn otherwise.

    ``faults``: places whose shape is still wrong, with (found, wanted) Euler numbers.
    """

    bitmaps: tuple[GlyphBitmap, ...]
    mended: frozenset[int]
    faults: Mapping[int, tuple[int, int]]


def designed_shapes(
    raster: Rasteriser, glyphs: Sequence[int], *, coordinates: Sequence[float], drawn: Sequence[GlyphBitmap]
) -> NDArray[np.int_]:
    """The Euler numbers of glyphs as designed, from renderings at 128 px and at the weight of the fit.

    Where ``drawn`` differs, the glyph gets a second look without specks at three sizes, and the middle value counts:
    the contours of a variable face overlap, and along the seams a rendering may show a hole that is none.
    """
    raster.place(REFERENCE_PX, coordinates)
    wanted = euler_numbers([raster.draw_smooth(glyph) for glyph in glyphs])
    doubtful = np.nonzero((shapes([glyph.ink for glyph in drawn]) != wanted).all(0))[0].tolist()
    looks = []
    for size_px in (REFERENCE_PX, *_SECOND_LOOKS_PX) if doubtful else ():
        raster.place(size_px, coordinates)
        looks.append(euler_numbers([raster.draw_smooth(glyphs[place]) for place in doubtful], specks=False))
    if doubtful:
        wanted[doubtful] = np.median(looks, axis=0)
    return wanted


def shapes(grids: Sequence[NDArray[np.bool_]]) -> NDArray[np.int_]:
    """The Euler numbers of grids in both readings, shape (2, grids): pixels that touch at a corner joined, or apart.

    The eye takes a touch at a corner either way: thin diagonals hang together by nothing else, and two strokes that
    only touch there are still two. A shape is right that is right in one of them.
    """
    joined = euler_numbers(grids)
    return np.stack((joined, joined + diagonal_touches(grids)))


def trunk_px(ink: NDArray[np.bool_]) -> int:
    """The commonest length of the first run of ink in each row: the stem, for letters that have one."""
    runs = [run_px(row) for row in ink.tolist()]
    return max(sorted(set(runs)), key=runs.count, default=0)


def heal(bitmaps: Sequence[GlyphBitmap], wanted: NDArray[np.int_], *, ways: Sequence[Redraw]) -> Healed:
    """Redraw every glyph whose Euler number is not the wanted one, by one of ``ways`` that gives it.

    A redrawn glyph keeps its advance. Of all ways that mend the shape, the one that changes stem and width on the
    page least is taken, an earlier one among equals; one that changes them by more than a pixel or two is not.
    """
    found = shapes([glyph.ink for glyph in bitmaps])
    broken = np.nonzero((found != wanted).all(0))[0].tolist()
    best: dict[int, tuple[tuple[int, int], GlyphBitmap]] = {}
    for place in broken:
        clean = _despeckled(bitmaps[place])
        if clean and wanted[place] in shapes([clean.ink]):
            best[place] = ((0, 0), clean)
    for way in ways:
        left = [place for place in broken if place not in best or best[place][0] != (0, 0)]
        if not left:
            break
        drawn = way(left)
        for place, other, shape in zip(left, drawn, shapes([g.ink for g in drawn]).T, strict=True):
            cost = _cost(bitmaps[place], other)
            if wanted[place] in shape and cost <= _MOST and (place not in best or cost < best[place][0]):
                best[place] = (cost, replace(other, advance_px=bitmaps[place].advance_px))
    kept = tuple(best[place][1] if place in best else glyph for place, glyph in enumerate(bitmaps))
    faults = {place: (int(found[0, place]), int(wanted[place])) for place in broken if place not in best}
    return Healed(kept, frozenset(best), faults)


_MOST = (1, 3)
"""The most that healing may change: stem by 1 px, advance and width together by 3. More looks worse than a fault."""


def _cost(glyph: GlyphBitmap, other: GlyphBitmap) -> tuple[int, int]:
    """What a redrawn glyph changes: the stem, then advance and width, in pixels."""
    moved = abs(other.advance_px - glyph.advance_px) + abs(_width(other) - _width(glyph))
    return abs(trunk_px(other.ink) - trunk_px(glyph.ink)), moved


def _despeckled(glyph: GlyphBitmap) -> GlyphBitmap | None:
    if not glyph.ink.size:
        return None
    return replace(glyph, ink=without_specks(np.pad(glyph.ink, 1))[1:-1, 1:-1])


def _width(glyph: GlyphBitmap) -> int:
    return int(glyph.ink.shape[1])


def other_hints(hinting: Hinting) -> tuple[Hinting, ...]:
    """The ways of hinting to try where no weight mends a shape."""
    return tuple(way for way in (Hinting.AUTO, Hinting.NATIVE, Hinting.LIGHT) if way is not hinting)
