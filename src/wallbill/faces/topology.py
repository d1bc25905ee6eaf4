"""The shape test: has a glyph kept its pieces and its holes on the grid? And healing where it has not.

A filled ``e``, a closed degree ring, a diaeresis run into a macron: each changes the Euler number, pieces of ink
less holes. It is compared with that of a large rendering of the same glyph at the same weight. A glyph that fails
is drawn again at neighbouring weights, retouched, and as a last way drawn with other hints.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from wallbill.faces.pieces import Shape, Sketch, shape_of
from wallbill.faces.rasters import GlyphBitmap, Hinting, Rasteriser
from wallbill.faces.stems import run_px
from wallbill.faces.tracing import euler_numbers, without_specks

REFERENCE_PX = 96
_SECOND_LOOKS_PX = (200, 300)

Redraw = Callable[[Sequence[int]], Sequence[GlyphBitmap]]
"""Draws glyphs, given by place, in another way: at a neighbouring weight, or with other hints."""

SketchOf = Callable[[int, int], Sketch]
"""The design of a glyph, given by place and by its Euler number."""

Retouch = Callable[[int, Sketch], NDArray[np.bool_] | None]
"""Retouches a glyph, given by place, after its design; None where that does not help."""


@dataclass(frozen=True, slots=True)
class Fault:
    """A shape that is wrong: the one found, and the one designed."""

    found: Shape
    designed: Shape


@dataclass(frozen=True, slots=True)
class Means:
    """What healing can do: draw glyphs otherwise, ``near`` or ``far`` from the cut, ``sketch`` one, ``retouch`` it."""

    near: tuple[Redraw, ...]
    far: tuple[Redraw, ...]
    sketch: SketchOf
    retouch: Retouch


@dataclass(frozen=True, slots=True, eq=False)
class Healed:
    """Bitmaps after healing, by place. ``mended``: places that were drawn otherwise.

    ``faults``: places whose shape is still wrong.
    """

    bitmaps: tuple[GlyphBitmap, ...]
    mended: frozenset[int]
    faults: Mapping[int, Fault]


def designed_shapes(
    raster: Rasteriser, glyphs: Sequence[int], *, coordinates: Sequence[float], drawn: Sequence[GlyphBitmap]
) -> NDArray[np.int_]:
    """The Euler numbers of glyphs as designed, from renderings at 96 px and at the weight of the fit.

    Where ``drawn`` differs, the glyph gets a second look without specks at three sizes, and the middle value counts:
    the contours of a variable face overlap, and along the seams a rendering may show a hole that is none.
    """
    raster.place(REFERENCE_PX, coordinates)
    wanted = euler_numbers([raster.draw_smooth(glyph) for glyph in glyphs])
    doubtful = np.nonzero(euler_numbers([glyph.ink for glyph in drawn]) != wanted)[0].tolist()
    looks = []
    for size_px in (REFERENCE_PX, *_SECOND_LOOKS_PX) if doubtful else ():
        raster.place(size_px, coordinates)
        looks.append(euler_numbers([raster.draw_smooth(glyphs[place]) for place in doubtful], specks=False))
    if looks:
        wanted[doubtful] = np.median(looks, axis=0)
    return wanted


def trunk_px(ink: NDArray[np.bool_]) -> int:
    """The commonest length of the first run of ink in each row: the stem, for letters that have one."""
    runs = [run_px(row) for row in ink.tolist()]
    return max(sorted(set(runs)), key=runs.count, default=0)


def heal(
    bitmaps: Sequence[GlyphBitmap],
    wanted: NDArray[np.int_],
    means: Means,
    *,
    suspects: frozenset[int] = frozenset(),
) -> Healed:
    """Redraw every glyph whose Euler number is not the wanted one, by a way that gives its pieces and its holes.

    ``suspects``: places to look at although the number is right, as a piece and a hole may both be lost.

    A redrawn glyph keeps its advance. Of all ways near the cut, the one that changes stem and width on the page least
    is taken, an earlier one among equals. Where none leaves both as they are, the glyph is retouched; only where that
    does not help either, ways further off are tried, and stem and width may change by a pixel or two.
    """
    found = euler_numbers([glyph.ink for glyph in bitmaps])
    doubtful = sorted({*np.nonzero(found != wanted)[0].tolist(), *suspects})
    designs = {place: means.sketch(place, int(wanted[place])) for place in doubtful}
    broken = [place for place in doubtful if shape_of(bitmaps[place].ink) != designs[place].shape]
    best: dict[int, tuple[_Cost, GlyphBitmap]] = {}

    def open_places() -> list[int]:
        return [place for place in broken if place not in best or best[place][0][:2] != _FREE[:2]]

    def offer(place: int, other: GlyphBitmap) -> None:
        cost = _cost(bitmaps[place], other)
        better = _bearable(cost) and (place not in best or cost < best[place][0])
        if better and shape_of(other.ink) == designs[place].shape:
            best[place] = (cost, replace(other, advance_px=bitmaps[place].advance_px))

    def draw_again(ways: Sequence[Redraw]) -> None:
        for way in ways:
            places = open_places()
            for place, other in zip(places, way(places) if places else (), strict=True):
                offer(place, other)

    draw_again((lambda places: [_despeckled(bitmaps[place]) for place in places], *means.near))
    for place in open_places():
        ink = means.retouch(place, designs[place])
        if ink is not None:
            best[place] = (_FREE, replace(bitmaps[place], ink=ink))
    draw_again(means.far)
    kept = tuple(best[place][1] if place in best else glyph for place, glyph in enumerate(bitmaps))
    faults = {
        place: Fault(shape_of(bitmaps[place].ink), designs[place].shape)
        for place in broken
        if place not in best
    }
    return Healed(kept, frozenset(best), faults)


_Cost = tuple[int, int, float]
"""What a redrawn glyph changes: the stem, then advance and width together, in pixels, then the share of its ink."""

_FREE: _Cost = (0, 0, 0.0)
_MOST: _Cost = (1, 3, 0.34)
"""The most that healing may change: more looks worse than the fault."""


def _bearable(cost: _Cost) -> bool:
    return all(part <= most for part, most in zip(cost, _MOST, strict=True))


def _cost(glyph: GlyphBitmap, other: GlyphBitmap) -> _Cost:
    moved = abs(other.advance_px - glyph.advance_px) + abs(other.ink.shape[1] - glyph.ink.shape[1])
    turned = different_px(glyph, other) / max(1, int(glyph.ink.sum()))
    return abs(trunk_px(other.ink) - trunk_px(glyph.ink)), moved, turned


def different_px(one: GlyphBitmap, other: GlyphBitmap) -> int:
    """How many pixels differ between two glyphs set at the same pen position."""
    boxes = [
        (g.left_px, -g.top_px, g.left_px + g.ink.shape[1], g.ink.shape[0] - g.top_px) for g in (one, other)
    ]
    left, top = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, foot = max(box[2] for box in boxes), max(box[3] for box in boxes)
    cells = np.zeros((foot - top, right - left), np.bool_)
    for glyph, box in zip((one, other), boxes, strict=True):
        cells[box[1] - top : box[3] - top, box[0] - left : box[2] - left] ^= glyph.ink
    return int(cells.sum())


def _despeckled(glyph: GlyphBitmap) -> GlyphBitmap:
    if not glyph.ink.size:
        return glyph
    return replace(glyph, ink=without_specks(np.pad(glyph.ink, 1))[1:-1, 1:-1])


def other_hints(hinting: Hinting) -> tuple[Hinting, ...]:
    """The ways of hinting to try where no weight mends a shape."""
    return tuple(way for way in (Hinting.AUTO, Hinting.NATIVE, Hinting.LIGHT) if way is not hinting)
