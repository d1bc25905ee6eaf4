"""Who hints a face better: FreeType's autohinter, or the instructions that the face brings along."""

from wallbill.faces.charsets import ASCII
from wallbill.faces.rasters import Hinting, Rasteriser
from wallbill.faces.shelf import FaceFile
from wallbill.faces.stems import coordinates, run_px
from wallbill.faces.topology import designed_shapes
from wallbill.faces.tracing import euler_numbers

STEMS = "linmhu"
SIZES_PX = (9, 10, 11, 12, 13, 14, 16, 20)
_ACCENTED = frozenset("äöüéèêñçåÄÖÜß°")


def better_hinting(face: FaceFile, raster: Rasteriser) -> Hinting:
    """Measure both ways over small sizes: wrong shapes, and sizes whose stems differ. The autohinter wins a draw.

    A face without instructions of its own is not measured.
    """
    if not face.hinted or not face.outlined:
        return Hinting.AUTO
    scores = {way: _faults(face, raster, way=way) for way in (Hinting.AUTO, Hinting.NATIVE)}
    return Hinting.NATIVE if scores[Hinting.NATIVE] < scores[Hinting.AUTO] else Hinting.AUTO


def _faults(face: FaceFile, raster: Rasteriser, *, way: Hinting) -> int:
    characters = sorted(face.covered(ASCII | _ACCENTED) - {" "})
    glyphs = [raster.glyph_of(character) for character in characters]
    faults = 0
    for size_px in SIZES_PX:
        placed = coordinates(face, size_px, weight=400)
        raster.place(size_px, placed)
        drawn = [raster.draw(glyph, way) for glyph in glyphs]
        wanted = designed_shapes(raster, glyphs, coordinates=placed, drawn=drawn)
        raster.place(size_px, placed)
        found = euler_numbers([glyph.ink for glyph in drawn])
        faults += int((found != wanted).sum()) + uneven_stems(raster, way)
    return faults


def uneven_stems(raster: Rasteriser, hinting: Hinting) -> int:
    """How many stems of ``linmhu`` differ in width from the commonest one, at the size where ``raster`` stands."""
    widths = [width for character in STEMS for width in stem_widths_px(raster, character, hinting=hinting)]
    common = max(sorted(set(widths)), key=widths.count, default=0)
    return sum(width != common for width in widths)


def stem_widths_px(raster: Rasteriser, character: str, *, hinting: Hinting) -> list[int]:
    """The widths of the runs of ink in the row a quarter of the way up from the foot of a letter."""
    glyph = raster.glyph_of(character)
    ink = raster.draw(glyph, hinting).ink if glyph else None
    if ink is None or not ink.size:
        return []
    row = ink[len(ink) - 1 - len(ink) // 4].tolist()
    runs = []
    while any(row):
        row = row[row.index(True) :]
        runs.append(run_px(row))
        row = row[runs[-1] :]
    return runs
