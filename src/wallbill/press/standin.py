"""Stand-in faces: fonts without ink whose zero has a telltale width.

A page is laid out with them once. The width of ``1ch`` in an element then tells which family list, weight and
slant the engine's own cascade gave it, because each stand-in's zero is a different whole number of ems wide.
"""

import io
import struct
from functools import cache
from typing import NamedTuple

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

UNITS_PER_EM = 16  # the least that the format allows, so that the zero may be up to 4095 em wide
CODES = 65535 // UNITS_PER_EM
_NAME_LENGTH = 8
_BLANK_NAME = "~" * _NAME_LENGTH


class StandIn(NamedTuple):
    """What one stand-in stands for: the number of a family list, a weight of 1 to 1000, a slant."""

    families: int
    weight: int
    italic: bool


def stand_in(family: str, *, weight: int, italic: bool, zero_em: int) -> bytes:
    """A font named ``family`` (eight ASCII signs) whose zero is ``zero_em`` ems wide, 1 to `CODES`."""
    if len(family) != _NAME_LENGTH or not family.isascii():
        raise ValueError(f"a stand-in's name has {_NAME_LENGTH} ASCII signs, got {family!r}")
    if not 1 <= zero_em <= CODES:
        raise ValueError(f"a zero is 1 to {CODES} em wide, got {zero_em}")
    blank, tables = _blank()
    font = bytearray(blank.replace(_BLANK_NAME.encode("utf-16-be"), family.encode("utf-16-be")))
    os2, head, hhea, hmtx = (tables[tag] for tag in ("OS/2", "head", "hhea", "hmtx"))
    width = zero_em * UNITS_PER_EM
    struct.pack_into(">H", font, os2 + 4, weight)
    struct.pack_into(">H", font, os2 + 62, 0x01 if italic else 0x20 if weight >= 600 else 0x40)
    struct.pack_into(">H", font, head + 44, 0x02 if italic else 0)
    struct.pack_into(">H", font, hhea + 10, width)
    struct.pack_into(">H", font, hmtx + 4, width)  # the second glyph: the zero
    return bytes(font)


@cache
def _blank() -> tuple[bytes, dict[str, int]]:
    """The font that stand-ins are struck from, and where its tables begin."""
    builder = FontBuilder(UNITS_PER_EM, isTTF=True)
    order = [".notdef", "zero", "space"]
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap({0x30: "zero", 0x20: "space"})
    empty = TTGlyphPen(None).glyph()
    builder.setupGlyf(dict.fromkeys(order, empty))
    builder.setupHorizontalMetrics({".notdef": (8, 0), "zero": (9, 0), "space": (10, 0)})
    builder.setupHorizontalHeader(ascent=13, descent=-3)
    builder.setupNameTable({"familyName": _BLANK_NAME, "styleName": "Regular"}, mac=False)
    builder.setupOS2(sTypoAscender=13, sTypoDescender=-3, usWinAscent=13, usWinDescent=3)
    builder.setupPost()
    file = io.BytesIO()
    builder.save(file)
    data = file.getvalue()
    count = struct.unpack_from(">H", data, 4)[0]
    records = (struct.unpack_from(">4sLLL", data, 12 + 16 * at) for at in range(count))
    return data, {tag.decode(): offset for tag, _, offset, _ in records}
