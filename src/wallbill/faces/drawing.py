"""Drawing all glyphs of a fitted face: cut, hinted, healed, spaced, with the signs that other faces lend."""

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from types import MappingProxyType

import numpy as np

from wallbill.faces.charsets import Share, is_silent, joins, space_px, synthetic_spaces, widened
from wallbill.faces.grid import Grid, units_per_px
from wallbill.faces.hinting import better_hinting
from wallbill.faces.keeping import Record, key_of, packed, unpacked
from wallbill.faces.layout import Drawn, layout_tables, pair_kerning
from wallbill.faces.model import FaceAsk, Keep
from wallbill.faces.rasters import SLANT, GlyphBitmap, Hinting, LineMetrics, Rasteriser
from wallbill.faces.shelf import FaceFile
from wallbill.faces.spacing import tracking_px, word_space_px
from wallbill.faces.stems import Curve, Cut, coordinates, cut, measure
from wallbill.faces.subsets import Subset, layout_subset, outline_subset
from wallbill.faces.topology import Healed, Redraw, designed_shapes, heal, other_hints

_NEIGHBOURS = (-20, 20, -40, 40, -60, 60, -80, 80, -100, 100)
_SILENT = "\u200b\u200c\u200d\u200e\u200f\u2060\u2066\u2067\u2068\u2069\ufe0e\ufe0f\u00ad"
_BOLD_FROM, _SMEAR_SHARE = 600, 1 / 24


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A face drawn at one size. ``glyphs`` by id; ``cmap`` code point to id; ``tables`` finished layout tables.

    ``faults``: what has the wrong shape, a character or the name of a form of one, with (found, wanted) Euler
    numbers. ``mended``: characters that were drawn in another way for their shape. ``cut``: how the face was cut.
    """

    glyphs: tuple[GlyphBitmap, ...]
    cmap: Mapping[int, int]
    metrics: LineMetrics
    tables: Mapping[str, bytes] = field(default_factory=lambda: MappingProxyType({}))
    faults: Mapping[str, tuple[int, int]] = field(default_factory=lambda: MappingProxyType({}))
    mended: frozenset[str] = frozenset()
    cut: Cut = field(default_factory=lambda: Cut((), None))
    hinting: Hinting = Hinting.AUTO
    axes: tuple[str, ...] = ()

    def weight(self, asked: int) -> float:
        """The weight at which a variable face was cut; the weight asked for any other."""
        return dict(zip(self.axes, self.cut.coordinates, strict=False)).get("wght", asked)


@dataclass(frozen=True, slots=True, eq=False)
class _Sheet:
    """Healed glyphs of one face, before spacing."""

    raster: Rasteriser
    cut: Cut
    hinting: Hinting
    healed: Healed


def smear_px(face: FaceFile, ask: FaceAsk) -> int:
    """How far a bold that the face lacks is smeared to the right: 0, or a pixel for every 24 of the size."""
    lacks = face.axis("wght") is None and ask.weight >= _BOLD_FROM > face.weight
    return max(1, round(ask.size_px * _SMEAR_SHARE)) if lacks else 0


def fit_outlines(share: Share, ask: FaceAsk, keep: Keep) -> Fit:
    """Fit a face that has outlines. Raises FaceError where the file cannot be used."""
    face = share.face
    raster = Rasteriser(face.data, index=face.index, label=face.path)
    hinting = hinting_of(face, raster, keep)
    curve = curve_of(face, raster, keep, size_px=ask.size_px)
    made = cut(face, raster, ask, curve=curve, hinting=hinting)
    subset = layout_subset(face, widened(share.characters, face), made.coordinates)
    sheet = _draw(face, raster, ask, subset=subset.glyphs, made=(made, hinting))
    raster.place(ask.size_px, made.coordinates)
    tables = _tables(face, subset, ask, sheet=sheet)
    glyphs = _spaced(sheet.healed.bitmaps, subset, ask, fixed=face.fixed_pitch)
    names = _names(subset)
    fit = Fit(
        glyphs,
        subset.cmap,
        raster.metrics(),
        tables,
        {names[place]: fault for place, fault in sheet.healed.faults.items() if place in names},
        frozenset(names[place] for place in sheet.healed.mended if place in names),
        made,
        hinting,
        tuple(axis.tag for axis in face.axes),
    )
    return with_spaces(with_guests(fit, share, ask, keep), share.characters, ask.size_px)


def hinting_of(face: FaceFile, raster: Rasteriser, keep: Keep) -> Hinting:
    """The better hinting of a face, measured once and kept."""
    key = key_of("hints", face.digest, face.index)
    known = unpacked(keep.get(key))
    if known is not None:
        return Hinting(known.facts["hinting"])
    chosen = better_hinting(face, raster)
    if face.hinted:
        keep.put(key, packed(Record({"hinting": str(chosen)}, b"")))
    return chosen


def curve_of(face: FaceFile, raster: Rasteriser, keep: Keep, *, size_px: int) -> Curve | None:
    """The stem curve of a face, measured once and kept; once for each size where the face has an optical axis."""
    if face.axis("wght") is None:
        return None
    optical = coordinates(face, size_px, weight=0)
    key = key_of("stems", face.digest, face.index, optical)
    known = unpacked(keep.get(key))
    if known is not None:
        facts = known.facts
        return Curve(tuple(facts["weights"]), tuple(facts["stems_em"]), facts["probe"]) if facts else None
    curve = measure(face, raster, size_px=size_px)
    facts = {"weights": curve.weights, "stems_em": curve.stems_em, "probe": curve.probe} if curve else {}
    keep.put(key, packed(Record(facts, b"")))
    return curve


def _draw(
    face: FaceFile, raster: Rasteriser, ask: FaceAsk, *, subset: Sequence[int], made: tuple[Cut, Hinting]
) -> _Sheet:
    """Draw and heal some glyphs, given by their ids in the whole face."""
    chosen, hinting = made
    if ask.italic and not face.italic:
        raster.slant(SLANT)
    bitmaps = [raster.draw(glyph, hinting) for glyph in subset]
    wanted = designed_shapes(raster, subset, coordinates=chosen.coordinates, drawn=bitmaps)
    smear = smear_px(face, ask)
    bitmaps = [smeared(bitmap, smear) for bitmap in bitmaps] if smear else bitmaps
    healed = heal(bitmaps, wanted, ways=tuple(_ways(face, ask, made=made, subset=subset)))
    return _Sheet(raster, chosen, hinting, healed)


def smeared(glyph: GlyphBitmap, by_px: int) -> GlyphBitmap:
    """A bold by smearing: every stem ``by_px`` wider to the right, and the advance with it."""
    if not glyph.ink.size or not by_px:
        return glyph
    ink = np.pad(glyph.ink, ((0, 0), (0, by_px)))
    for step in range(1, by_px + 1):
        ink[:, step : step + glyph.ink.shape[1]] |= glyph.ink
    return replace(glyph, ink=ink, advance_px=glyph.advance_px + by_px if glyph.advance_px else 0)


def _ways(
    face: FaceFile, ask: FaceAsk, *, made: tuple[Cut, Hinting], subset: Sequence[int]
) -> Iterator[Redraw]:
    """Other ways to draw glyphs: at the weights around the cut, then with other hints."""
    chosen, hinting = made
    small: list[tuple[Rasteriser, Mapping[int, int]]] = []
    smear = smear_px(face, ask)

    def way(places: Sequence[int], *, placed: tuple[float, ...], by: Hinting) -> list[GlyphBitmap]:
        if not small:
            data, new = outline_subset(face, frozenset(subset))
            small.append((Rasteriser(data, label=face.path), new))
            small[0][0].slant(SLANT if ask.italic and not face.italic else 0)
        raster, new_ids = small[0]
        raster.place(ask.size_px, placed)
        return [smeared(raster.draw(new_ids[subset[place]], by), smear) for place in places]

    axis = face.axis("wght")
    if axis is not None:
        at = [other.tag for other in face.axes].index("wght")
        for delta in _NEIGHBOURS:
            weight = axis.nearest(chosen.coordinates[at] + delta)
            placed = (*chosen.coordinates[:at], weight, *chosen.coordinates[at + 1 :])
            yield partial(way, placed=placed, by=hinting)
    for other in other_hints(hinting):
        yield partial(way, placed=chosen.coordinates, by=other)


def _tables(face: FaceFile, subset: Subset, ask: FaceAsk, *, sheet: _Sheet) -> dict[str, bytes]:
    raster, bitmaps = sheet.raster, sheet.healed.bitmaps
    grid = Grid(ask.size_px, raster.units(), units_per_px(ask.size_px))
    tables = layout_tables(
        subset.data, grid, lambda glyph: Drawn(raster.outline_box(subset.glyphs[glyph]), bitmaps[glyph])
    )
    if "GPOS" not in tables and not face.index:
        kerning = pair_kerning(face.data, grid, subset.glyphs)
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


def _names(subset: Subset) -> dict[int, str]:
    """What to call a glyph in a finding: its character; a form of one has no name that a reader would know."""
    return {glyph: chr(code) for code, glyph in subset.cmap.items()}


def with_guests(fit: Fit, share: Share, ask: FaceAsk, keep: Keep) -> Fit:
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
    raster = Rasteriser(face.data, index=face.index, label=face.path)
    if not face.outlined:
        raster.place(ask.size_px)
        drawn = tuple(raster.draw(raster.glyph_of(sign), Hinting.NATIVE) for sign in signs)
        return Healed(drawn, frozenset(), {})
    hinting = hinting_of(face, raster, keep)
    curve = curve_of(face, raster, keep, size_px=ask.size_px)
    made = cut(face, raster, ask, curve=curve, hinting=hinting)
    if made.stem_px is None and fit.cut.coordinates:
        placed = coordinates(face, ask.size_px, weight=fit.weight(ask.weight))
        raster.place(ask.size_px, placed)
        made = Cut(placed, None)
    glyphs = [raster.glyph_of(sign) for sign in signs]
    return _draw(face, raster, ask, subset=glyphs, made=(made, hinting)).healed


def with_spaces(fit: Fit, characters: frozenset[str], size_px: int) -> Fit:
    """The fit with spaces that the face lacks, and empty glyphs for characters that show nothing."""
    glyphs, cmap = list(fit.glyphs), dict(fit.cmap)
    empty = GlyphBitmap(np.zeros((0, 0), np.bool_), 0, 0, 0)
    space, figure = (
        glyphs[cmap[ord(c)]].advance_px if ord(c) in cmap else max(1, round(size_px * share))
        for c, share in ((" ", 0.25), ("0", 0.5))
    )
    for character in sorted(synthetic_spaces(characters, frozenset(map(chr, cmap)))):
        width = space_px(character, space=space, figure=figure, size_px=size_px)
        cmap[ord(character)] = len(glyphs)
        glyphs.append(replace(empty, advance_px=width))
    silent = {c for c in characters if is_silent(c) and ord(c) >= 0x20} | set(_SILENT)
    lacking = sorted(ord(c) for c in silent if ord(c) not in cmap)
    if lacking:
        cmap.update(dict.fromkeys(lacking, len(glyphs)))
        glyphs.append(empty)
    return replace(fit, glyphs=tuple(glyphs), cmap=dict(sorted(cmap.items())))
