"""The bench: one face, opened, cut and hinted for one ask, and its glyphs drawn and healed there."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from wallbill.faces.hinting import better_hinting
from wallbill.faces.keeping import Record, key_of, packed, unpacked
from wallbill.faces.model import FaceAsk, Keep
from wallbill.faces.pieces import Sketch, count_pieces, sketch_of
from wallbill.faces.rasters import SLANT, GlyphBitmap, Hinting, Rasteriser
from wallbill.faces.retouching import retouched
from wallbill.faces.shelf import FaceFile
from wallbill.faces.stems import ALONE, Curve, Cut, Host, coordinates, cut, measure, smeared_from_px, stem_px
from wallbill.faces.subsets import outline_subset
from wallbill.faces.topology import Healed, Means, Redraw, designed_shapes, heal, other_hints
from wallbill.faces.tracing import piece_counts, without_specks

_SKETCH_PX = 96
_COUNT_PX, _SUSPECT_TO_PX = 40, 24
_NEAR = (-20, 20, -40, 40)
_FAR = (-60, 60, -80, 80, -100, 100)
_BOLD_FROM, _SMEAR_SHARE = 600, 1 / 24


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """A face ready to be drawn: ``raster`` stands at the size and cut of the ask. Made by ``set_up``."""

    face: FaceFile
    ask: FaceAsk
    raster: Rasteriser
    cut: Cut
    hinting: Hinting
    host: Host = ALONE

    @property
    def smear_px(self) -> int:
        """How far glyphs are smeared: a bold that the face lacks, or a bold lent that has no stem like its host's.

        Not at sizes at which the counters of a script would fill.
        """
        own, host = self.cut.stem_px, self.host.stem_px
        bold = self.ask.weight >= _BOLD_FROM
        if (
            bold
            and self.ask.size_px >= smeared_from_px(self.cut.probe)
            and own is not None
            and host is not None
            and own < host
        ):
            return min(host - own, _smear_px(self.ask))
        return smear_px(self.face, self.ask)

    @property
    def lean(self) -> float:
        """How far an upright face is slanted, because an italic is asked and this is none."""
        return SLANT if self.ask.italic and not self.face.italic else 0.0

    def stem_px(self) -> int | None:
        """The stems as drawn: those of the cut, or those of an ``l`` where the weight could not be chosen."""
        if self.cut.stem_px is None and ord("l") in self.face.coverage:
            return stem_px(self.raster, "l", hinting=self.hinting) + self.smear_px
        return self.cut.stem_px

    def weight(self) -> float:
        """The weight at which a variable face is cut; the weight asked for any other."""
        tags = (axis.tag for axis in self.face.axes)
        return dict(zip(tags, self.cut.coordinates, strict=True)).get("wght", self.ask.weight)


def set_up(face: FaceFile, ask: FaceAsk, keep: Keep, *, host: Host = ALONE) -> Bench:
    """Open a face, find its better hinting and its cut. Raises FaceError where FreeType cannot open the file.

    ``host``: the stems that letters of another script get, and the weight to cut a face at that has no letter to
    measure stems by.
    """
    raster = Rasteriser(face.data, index=face.index, label=face.path)
    hinting = _hinting_of(face, raster, keep)
    curve = _curve_of(face, raster, keep, size_px=ask.size_px)
    if curve:  # tried on a small copy: FreeType's autohinter studies a whole face anew at each weight
        data, _ = outline_subset(face, frozenset(), curve.probe)
        made = cut(face, Rasteriser(data, label=face.path), ask, measured=(curve, hinting), host=host)
    else:
        made = Cut(coordinates(face, ask.size_px, weight=ask.weight), None)
    if made.stem_px is None and host.weight is not None:
        made = Cut(coordinates(face, ask.size_px, weight=host.weight), None)
    raster.place(ask.size_px, made.coordinates)
    bench = Bench(face, ask, raster, made, hinting, host)
    raster.slant(bench.lean)
    return bench


def _hinting_of(face: FaceFile, raster: Rasteriser, keep: Keep) -> Hinting:
    """The better hinting of a face, measured once and kept."""
    key = key_of("hints", face.digest, face.index)
    known = unpacked(keep.get(key)) if face.hinted else None
    if known is not None:
        return Hinting(known.facts["hinting"])
    chosen = better_hinting(face, raster)
    if face.hinted:
        keep.put(key, packed(Record({"hinting": str(chosen)}, b"")))
    return chosen


def _curve_of(face: FaceFile, raster: Rasteriser, keep: Keep, *, size_px: int) -> Curve | None:
    """The stem curve of a face, measured once and kept; once for each size where the face has an optical axis."""
    if face.axis("wght") is None:
        return None
    key = key_of("stems", face.digest, face.index, coordinates(face, size_px, weight=0))
    known = unpacked(keep.get(key))
    if known is not None:
        facts = known.facts
        return Curve(tuple(facts["weights"]), tuple(facts["stems_em"]), facts["probe"]) if facts else None
    curve = measure(face, raster, size_px=size_px)
    facts = {"weights": curve.weights, "stems_em": curve.stems_em, "probe": curve.probe} if curve else {}
    keep.put(key, packed(Record(facts, b"")))
    return curve


def draw(bench: Bench, glyphs: Sequence[int], keep: Keep, *, usual: frozenset[int]) -> Healed:
    """Draw glyphs, given by their ids in the whole face, and heal the usual ones.

    ``usual``: places of those that text reaches without asking for a feature. Leaves the bench at the size and cut of
    the ask.
    """
    smear = bench.smear_px
    drawn = [smeared(bench.raster.draw(glyph, bench.hinting), smear) for glyph in glyphs]
    places = sorted(usual)
    healed = _healed(
        bench, [glyphs[place] for place in places], tuple(drawn[place] for place in places), keep
    )
    for place, bitmap in zip(places, healed.bitmaps, strict=True):
        drawn[place] = bitmap
    return Healed(
        tuple(drawn),
        frozenset(places[turn] for turn in healed.mended),
        {places[turn]: fault for turn, fault in healed.faults.items()},
    )


def _healed(bench: Bench, glyphs: Sequence[int], drawn: tuple[GlyphBitmap, ...], keep: Keep) -> Healed:
    pieces = designed_pieces(bench, glyphs, keep)
    wanted = designed_shapes(bench.raster, glyphs, coordinates=bench.cut.coordinates, drawn=drawn)
    bench.raster.place(bench.ask.size_px, bench.cut.coordinates)
    suspects: frozenset[int] = frozenset()
    if pieces:
        counts = piece_counts([bitmap.ink for bitmap in drawn])
        suspects = frozenset(np.nonzero(counts != np.array(pieces))[0].tolist())
    table = _Table(bench, tuple(glyphs), drawn)
    neighbours = _Neighbours(bench, glyphs)
    near, far = (tuple(_weights(neighbours, bench, deltas)) for deltas in (_NEAR, _FAR))
    hints = (
        partial(neighbours.draw, placed=bench.cut.coordinates, hinting=other)
        for other in other_hints(bench.hinting)
    )
    means = Means(near, (*far, *hints), table.sketch, table.retouch)
    return heal(drawn, wanted, means, suspects=suspects)


def designed_pieces(bench: Bench, glyphs: Sequence[int], keep: Keep) -> tuple[int, ...]:
    """Pieces of each of some glyphs (ids in the whole face) as designed, counted at 40 px once a face and kept.

    Empty for sizes above 24 px, where a glyph does not lose a piece and a hole at once.
    """
    if bench.ask.size_px > _SUSPECT_TO_PX:
        return ()
    key = key_of("pieces", bench.face.digest, bench.face.index, list(glyphs))
    known = unpacked(keep.get(key))
    if known is None:
        bench.raster.place(_COUNT_PX, bench.cut.coordinates)
        counts = [count_pieces(bench.raster.draw_smooth(glyph)) for glyph in glyphs]
        bench.raster.place(bench.ask.size_px, bench.cut.coordinates)
        known = Record({"pieces": counts}, b"")
        keep.put(key, packed(known))
    return tuple(known.facts["pieces"])


def smear_px(face: FaceFile, ask: FaceAsk) -> int:
    """How far a bold that the face lacks is smeared to the right: 0, or a pixel for every 24 of the size."""
    lacks = face.axis("wght") is None and ask.weight >= _BOLD_FROM > face.weight
    return _smear_px(ask) if lacks else 0


def _smear_px(ask: FaceAsk) -> int:
    return max(1, round(ask.size_px * _SMEAR_SHARE))


def smeared(glyph: GlyphBitmap, by_px: int) -> GlyphBitmap:
    """A bold by smearing: every stem ``by_px`` wider to the right, and the advance with it."""
    if not glyph.ink.size or not by_px:
        return glyph
    ink = np.pad(glyph.ink, ((0, 0), (0, by_px)))
    for step in range(1, by_px + 1):
        ink[:, step : step + glyph.ink.shape[1]] |= glyph.ink
    return replace(glyph, ink=ink, advance_px=glyph.advance_px + by_px if glyph.advance_px else 0)


@dataclass(frozen=True, slots=True, eq=False)
class _Table:
    """The glyphs of one fit, to be looked at in large and retouched."""

    bench: Bench
    glyphs: tuple[int, ...]
    drawn: tuple[GlyphBitmap, ...]

    def sketch(self, place: int, euler: int) -> Sketch:
        """The design of a glyph."""
        bench = self.bench
        bench.raster.place(_SKETCH_PX, bench.cut.coordinates)
        large = without_specks(np.pad(bench.raster.draw_smooth(self.glyphs[place]), 2))
        bench.raster.place(bench.ask.size_px, bench.cut.coordinates)
        return sketch_of(large, euler=euler)

    def retouch(self, place: int, design: Sketch) -> NDArray[np.bool_] | None:
        """The glyph after retouching, if that helps."""
        bitmap = self.drawn[place]
        cover = self.bench.raster.cover(self.glyphs[place], bitmap, hinting=self.bench.hinting)
        return retouched(bitmap.ink, cover, design)


class _Neighbours:
    """A small copy of a bench's face, opened when first needed, to draw some glyphs at other weights."""

    def __init__(self, bench: Bench, glyphs: Sequence[int]) -> None:
        self._bench = bench
        self._glyphs = glyphs
        self._small: tuple[Rasteriser, Mapping[int, int]] | None = None

    def draw(
        self, places: Sequence[int], *, placed: tuple[float, ...], hinting: Hinting
    ) -> list[GlyphBitmap]:
        """The glyphs at some places, at other design coordinates or with other hints."""
        bench = self._bench
        if self._small is None:
            data, new = outline_subset(bench.face, frozenset(self._glyphs))
            self._small = (Rasteriser(data, label=bench.face.path), new)
            self._small[0].slant(bench.lean)
        raster, new = self._small
        raster.place(bench.ask.size_px, placed)
        smear = bench.smear_px
        return [smeared(raster.draw(new[self._glyphs[place]], hinting), smear) for place in places]


def _weights(neighbours: _Neighbours, bench: Bench, deltas: Sequence[int]) -> Iterator[Redraw]:
    """Ways to draw glyphs at weights around the cut."""
    at = bench.cut.coordinates
    for place, axis in enumerate(bench.face.axes):
        for delta in deltas if axis.tag == "wght" else ():
            placed = (*at[:place], axis.nearest(at[place] + delta), *at[place + 1 :])
            yield partial(neighbours.draw, placed=placed, hinting=bench.hinting)
