"""Faces for panels of greys: outlines as designed, cut to the characters, filed under a name of their own."""

import io

from fontTools.ttLib import TTFont
from fontTools.ttLib.tables._n_a_m_e import table__n_a_m_e

from wallbill.faces.building import Style
from wallbill.faces.charsets import widened
from wallbill.faces.shelf import FaceFile
from wallbill.faces.stems import coordinates
from wallbill.faces.subsets import smooth_subset

_ITALIC, _BOLD, _REGULAR, _STYLE_BITS = 1, 32, 64, 1 | 32 | 64 | 512
_BOLD_FROM = 600


def smooth_font(face: FaceFile, characters: frozenset[str], style: Style) -> tuple[bytes, frozenset[str]]:
    """The font file, and the characters it holds.

    Filed with the weight and slant that are truly in it, so that the engine makes up for what the face lacks.
    Raises FaceError where the face cannot be cut.
    """
    held = widened(characters, face, size_px=style.size_px)
    data = smooth_subset(face, held, coordinates(face, style.size_px, weight=style.weight))
    font = TTFont(io.BytesIO(data), lazy=True, recalcBBoxes=False, recalcTimestamp=False)
    weight = style.weight if face.axis("wght") else face.weight
    italic = face.italic and style.italic
    bold = weight >= _BOLD_FROM
    os2 = font["OS/2"]
    os2.usWeightClass = weight
    os2.fsSelection = os2.fsSelection & ~_STYLE_BITS | (
        italic * _ITALIC | bold * _BOLD | (not (italic or bold)) * _REGULAR
    )
    font["head"].macStyle = bold | italic << 1
    font["name"] = _names(style.family, bold=bold, italic=italic)
    out = io.BytesIO()
    font.save(out, reorderTables=False)
    return out.getvalue(), held


def _names(family: str, *, bold: bool, italic: bool) -> table__n_a_m_e:
    table = table__n_a_m_e("name")
    table.names = []
    kind = " ".join(word for word, on in (("Bold", bold), ("Italic", italic)) if on) or "Regular"
    for number, text in ((1, family), (2, kind), (3, family), (4, family), (6, family)):
        table.setName(text, number, 3, 1, 0x409)
    return table
