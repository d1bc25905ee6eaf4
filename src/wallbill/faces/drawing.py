"""Drawing all glyphs of a fitted face: cut, hinted, healed, spaced, with the signs that other faces lend."""

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from wallbill.faces.bench import Bench, draw, set_up
from wallbill.faces.charsets import SILENT, SPACES, Share, joins, space_px, widened
from wallbill.faces.grid import Grid, units_per_px
from wallbill.faces.layout import Drawn, layout_tables, pair_kerning
from wallbill.faces.model import FaceAsk, Keep
from wallbill.faces.rasters import GlyphBitmap, Hinting, LineMetrics, Rasteriser
from wallbill.faces.shelf import FaceFile
from wallbill.faces.spacing import aligned, tracking_px, word_space_px
from wallbill.faces.stems import ALONE, Cut, Host
from wallbill.faces.subsets import Subset, layout_subset
from wallbill.faces.topology import Fault, Healed


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A face drawn at one size. ``glyphs`` by id; ``cmap`` code point to id; ``tables`` finished layout tables.

    ``faults``: characters of the wrong shape. ``mended``: characters that were
    drawn in another way for their shape. ``cut``: how the face was cut. ``host``: its stems and weight, for others.
    """

    glyphs: tuple[GlyphBitmap, ...]
    cmap: Mapping[int, int]
    metrics: LineMetrics
    tables: Mapping[str, bytes] = field(default_factory=lambda: MappingProxyType({}))
    faults: Mapping[str, Fault] = field(default_factory=lambda: MappingProxyType({}))
    mended: frozenset[str] = frozenset()
    cut: Cut = field(default_factory=lambda: Cut((), None))
    hinting: Hinting = Hinting.AUTO
    host: Host = ALONE


def fit_outlines(share: Share, ask: FaceAsk, keep: Keep, *, host: Host = ALONE) -> Fit:
    """Fit a face that has outlines, with the stems of the face that it lends letters to.

    Raises FaceError where the file cannot be used.
    """
    face = share.face
    bench = set_up(face, ask, keep, host=host)
    subset = layout_subset(face, widened(share.characters, face, size_px=ask.size_px), bench.cut.coordinates)
    healed = draw(bench, subset.glyphs, keep, usual=subset.usual)
    tables = _tables(bench, subset, healed.bitmaps)
    names = {glyph: chr(code) for code, glyph in subset.cmap.items()}
    fit = Fit(
        _spaced(aligned(healed.bitmaps, subset, fixed=face.fixed_pitch), subset, ask, fixed=face.fixed_pitch),
        subset.cmap,
        bench.raster.metrics(),
        tables,
        {names[place]: fault for place, fault in healed.faults.items() if place in names},
        frozenset(names[place] for place in healed.mended if place in names),
        bench.cut,
        bench.hinting,
        Host(bench.stem_px(), bench.weight()),
    )
    return with_spaces(with_guests(fit, share, ask=ask, keep=keep), ask.size_px)


def _tables(bench: Bench, subset: Subset, bitmaps: Sequence[GlyphBitmap]) -> dict[str, bytes]:
    grid = Grid(bench.ask.size_px, bench.raster.units(), units_per_px(bench.ask.size_px))
    tables = layout_tables(
        subset.data, grid, lambda glyph: Drawn(bench.raster.outline_box(subset.glyphs[glyph]), bitmaps[glyph])
    )
    if "GPOS" not in tables and not bench.face.index:
        kerning = pair_kerning(bench.face.data, grid, subset.glyphs)
        if kerning is not None:
            tables["GPOS"] = kerning
    return tables


def _spaced(
    bitmaps: Sequence[GlyphBitmap], subset: Subset, ask: FaceAsk, *, fixed: bool
) -> tuple[GlyphBitmap, ...]:
    """Track small type, and widen its word spaces. Joined scripts, marks and fixed pitches are left as they are."""
    more = 0 if fixed else tracking_px(ask.size_px)
    encoded = {glyph: chr(code) for code, glyph in subset.cmap.items()}
    joined = any(joins(character) for character in encoded.values())
    spaced = []
    for glyph, bitmap in enumerate(bitmaps):
        character = encoded.get(glyph)
        still = joined if character is None else joins(character) or bool(unicodedata.combining(character))
        advance = bitmap.advance_px + (0 if still or not bitmap.advance_px else more)
        if character in {" ", "\N{NO-BREAK SPACE}"} and not fixed:
            advance = word_space_px(ask.size_px, drawn_px=advance)
        spaced.append(replace(bitmap, advance_px=advance) if advance != bitmap.advance_px else bitmap)
    return tuple(spaced)


def with_guests(fit: Fit, share: Share, *, ask: FaceAsk, keep: Keep) -> Fit:
    """The fit with the signs that other faces lend, drawn at their own stems or else at the host's weight."""
    glyphs, cmap = list(fit.glyphs), dict(fit.cmap)
    faults, mended = dict(fit.faults), set(fit.mended)
    more = 0 if share.face.fixed_pitch else tracking_px(ask.size_px)
    for face, signs in share.guests:
        order = sorted(signs)
        healed = _guest(face, order, ask, keep=keep, fit=fit)
        for place, (sign, bitmap) in enumerate(zip(order, healed.bitmaps, strict=True)):
            cmap[ord(sign)] = len(glyphs)
            glyphs.append(replace(bitmap, advance_px=bitmap.advance_px + more))
            if place in healed.faults:
                faults[sign] = healed.faults[place]
            if place in healed.mended:
                mended.add(sign)
    return replace(fit, glyphs=tuple(glyphs), cmap=cmap, faults=faults, mended=frozenset(mended))


def _guest(face: FaceFile, signs: Sequence[str], ask: FaceAsk, *, keep: Keep, fit: Fit) -> Healed:
    if not face.outlined:
        raster = Rasteriser(face.data, index=face.index, label=face.path)
        raster.place(ask.size_px)
        drawn = tuple(raster.draw(raster.glyph_of(sign), Hinting.NATIVE) for sign in signs)
        return Healed(drawn, frozenset(), {})
    bench = set_up(face, ask, keep, host=Host(weight=fit.host.weight))
    glyphs = [bench.raster.glyph_of(sign) for sign in signs]
    return draw(bench, glyphs, keep, usual=frozenset(range(len(glyphs))))


def with_spaces(fit: Fit, size_px: int) -> Fit:
    """The fit with spaces that the face lacks, and empty glyphs for characters that show nothing."""
    glyphs, cmap = list(fit.glyphs), dict(fit.cmap)
    empty = GlyphBitmap(np.zeros((0, 0), np.bool_), 0, 0, 0)
    space, figure = (
        glyphs[cmap[ord(c)]].advance_px if ord(c) in cmap else max(1, round(size_px * share))
        for c, share in ((" ", 0.25), ("0", 0.5))
    )
    for character in sorted(SPACES - set(map(chr, cmap))):
        width = space_px(character, space=space, figure=figure, size_px=size_px)
        cmap[ord(character)] = len(glyphs)
        glyphs.append(replace(empty, advance_px=width))
    lacking = sorted(ord(c) for c in SILENT if ord(c) not in cmap)
    if lacking:
        cmap.update(dict.fromkeys(lacking, len(glyphs)))
        glyphs.append(empty)
    return replace(fit, glyphs=tuple(glyphs), cmap=dict(sorted(cmap.items())))
