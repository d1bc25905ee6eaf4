"""Room between letters and words: tracking and word spaces of small type, and advances that have to be equal."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import uharfbuzz as hb

from wallbill.faces.rasters import GlyphBitmap
from wallbill.faces.subsets import Subset

_TRACKED_BELOW_PX = 12
_WORD_SHARE = 0.4
_STURDY_TO_PX, _STURDY_WORD_SHARE = 24, 0.28


def tracking_px(size_px: int) -> int:
    """Pixels to add to every advance: 1 below 12 px.

    Measured on bi-level pages: one pixel more between letters raised recognised characters from 90.5 to 94.3 % at 9 px
    and from 95.0 to 96.0 % at 10 px.
    """
    return 1 if size_px < _TRACKED_BELOW_PX else 0


def word_space_px(size_px: int, *, drawn_px: int) -> int:
    """The advance of a space whose own, hinted and tracked, is ``drawn_px``.

    Below 12 px at least 0.4 em: at 9 px a space of 2 px lets words run together, and 4 px read better than 3
    (93.5 against 90.9 % of characters). Up to 24 px at least 0.28 em, as sturdy stems eat into narrow spaces (by eye).
    """
    if size_px < _TRACKED_BELOW_PX:
        return max(drawn_px, round(_WORD_SHARE * size_px))
    if size_px <= _STURDY_TO_PX:
        return max(drawn_px, math.ceil(_STURDY_WORD_SHARE * size_px))
    return drawn_px


_FIGURES = "0123456789"
_FIGURE_STYLES: tuple[tuple[str, ...], ...] = (
    (), ("tnum",), ("tnum", "lnum"), ("tnum", "onum"), ("tnum", "zero"),
)  # fmt: skip


def aligned(bitmaps: Sequence[GlyphBitmap], subset: Subset, *, fixed: bool) -> tuple[GlyphBitmap, ...]:
    """The glyphs with equal advances where the design has them: figures that stand in columns, and fixed pitches.

    Hinting rounds each advance by itself. The commonest rounded one of a group counts for all of it.
    """
    font = hb.Font(hb.Face(subset.data))
    groups: list[list[int]] = [list(range(len(bitmaps)))] if fixed else _figure_groups(font)
    changed = list(bitmaps)
    for group in groups:
        for equal in _of_equal_advance(font, group):
            advances = [bitmaps[glyph].advance_px for glyph in equal]
            common = max(sorted(set(advances)), key=advances.count)
            for glyph in equal:
                changed[glyph] = replace(bitmaps[glyph], advance_px=common)
    return tuple(changed)


def _figure_groups(font: hb.Font) -> list[list[int]]:
    """The glyphs of the ten figures, in each style that sets them in columns."""
    groups = []
    for style in _FIGURE_STYLES:
        buffer = hb.Buffer()
        buffer.add_str(_FIGURES)
        buffer.guess_segment_properties()
        hb.shape(font, buffer, dict.fromkeys(style, True))
        groups.append([info.codepoint for info in buffer.glyph_infos if info.codepoint])
    return groups


def _of_equal_advance(font: hb.Font, group: Iterable[int]) -> list[list[int]]:
    """Glyphs of a group by their design advance, where at least two share one that is not zero."""
    by_advance: dict[int, list[int]] = {}
    for glyph in sorted(set(group)):
        by_advance.setdefault(font.get_glyph_h_advance(glyph), []).append(glyph)
    return [equal for advance, equal in by_advance.items() if advance and len(equal) > 1]
