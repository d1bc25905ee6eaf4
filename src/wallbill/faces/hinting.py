"""Who hints a face better: FreeType's autohinter, or the instructions that the face brings along."""

from wallbill.faces.charsets import ASCII
from wallbill.faces.rasters import Hinting, Rasteriser
from wallbill.faces.shelf import FaceFile
from wallbill.faces.stems import coordinates, uneven_stems
from wallbill.faces.topology import designed_shapes
from wallbill.faces.tracing import euler_numbers

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
