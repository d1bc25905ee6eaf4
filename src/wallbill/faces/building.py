"""Writing the fitted font: traced outlines, whole-pixel metrics, and a name of its own."""

import io
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

from fontTools.fontBuilder import FontBuilder
from fontTools.ttLib.tables.DefaultTable import DefaultTable

from wallbill.faces.grid import units_per_px
from wallbill.faces.rasters import GlyphBitmap, LineMetrics
from wallbill.faces.tracing import Loop, trace

_ON_CURVE, _X_SHORT, _Y_SHORT, _X_SAME, _Y_SAME = 1, 2, 4, 16, 32
_BOLD_FROM = 600
_PREP = bytes.fromhex("b801ff85b0048db101018e")
"""Dropout control on, glyph programs off (OpenType, instruction set: SCANCTRL, SCANTYPE, INSTCTRL). A face without any
program is autohinted by FreeType, which would move the pixels once more."""

_MADE = 3786912000  # 2024-01-01 in seconds from 1904: the same bytes whenever a face is fitted


@dataclass(frozen=True, slots=True)
class Style:
    """How the font is filed: under which family, and with the weight and slant that the page asks for."""

    family: str
    size_px: int
    weight: int
    italic: bool


@dataclass(frozen=True, slots=True)
class Parts:
    """What goes into a font. ``glyphs``: bitmaps by glyph id, id 0 first. ``cmap``: code point to glyph id.

    ``tables``: finished layout tables by tag.
    """

    style: Style
    glyphs: Sequence[GlyphBitmap]
    cmap: Mapping[int, int]
    metrics: LineMetrics
    tables: Mapping[str, bytes] = field(default_factory=lambda: MappingProxyType({}))


def build(parts: Parts) -> bytes:
    """The font as an sfnt file; the same parts give the same bytes."""
    per_px = units_per_px(parts.style.size_px)
    outlines = trace([glyph.ink for glyph in parts.glyphs]).loops
    glyf, offsets, most = _glyf(parts.glyphs, outlines, per_px)
    builder = FontBuilder(parts.style.size_px * per_px, isTTF=True)
    font = builder.font
    font.recalcBBoxes = font.recalcTimestamp = False
    builder.setupGlyphOrder([f"g{glyph}" for glyph in range(len(parts.glyphs))])
    builder.setupCharacterMap({code: f"g{glyph}" for code, glyph in parts.cmap.items()})
    _metrics_tables(builder, parts, per_px)
    font["maxp"].maxPoints, font["maxp"].maxContours = most
    font["head"].indexToLocFormat = 1
    font["head"].created = font["head"].modified = _MADE
    font["maxp"].maxStackElements = font["maxp"].maxZones = 2
    raw = {"prep": _PREP, "glyf": glyf, "loca": offsets, "hmtx": _hmtx(parts.glyphs, per_px), **parts.tables}
    for tag, data in raw.items():
        font[tag] = DefaultTable(tag)
        font[tag].data = data
    out = io.BytesIO()
    font.save(out, reorderTables=False)
    return out.getvalue()


def _metrics_tables(builder: FontBuilder, parts: Parts, per_px: int) -> None:
    style, metrics = parts.style, parts.metrics
    ascent = max(1, (metrics.ascent_64 + 32) >> 6) * per_px
    descent = max(0, (metrics.descent_64 + 32) >> 6) * per_px
    boxes = [_box(glyph, per_px) for glyph in parts.glyphs if glyph.ink.size] or [(0, 0, 0, 0)]
    bold = style.weight >= _BOLD_FROM
    builder.setupHorizontalHeader(
        ascent=ascent,
        descent=-descent,
        lineGap=0,
        numberOfHMetrics=len(parts.glyphs),
        advanceWidthMax=max(glyph.advance_px for glyph in parts.glyphs) * per_px,
    )
    head = builder.font["head"]
    head.xMin, head.yMin = min(b[0] for b in boxes), min(b[1] for b in boxes)
    head.xMax, head.yMax = max(b[2] for b in boxes), max(b[3] for b in boxes)
    head.macStyle = bold | style.italic << 1
    name = f"{'Bold' if bold else ''}{' ' if bold and style.italic else ''}{'Italic' if style.italic else ''}"
    builder.setupNameTable(
        {
            "familyName": style.family,
            "styleName": name or "Regular",
            "uniqueFontIdentifier": style.family,
            "fullName": style.family,
            "psName": style.family,
            "version": "Version 1.0",
        },
        mac=False,
    )
    thick = max(1, (metrics.underline_64 + 32) >> 6)
    top = min(-1, (metrics.underline_centre_64 + 32) // 64 + thick // 2)
    strike_top = round(parts.style.size_px * 0.28) + thick // 2
    builder.setupOS2(
        version=4,
        usWeightClass=style.weight,
        fsSelection=style.italic | bold << 5 | (not (bold or style.italic)) << 6 | 1 << 7,
        sTypoAscender=ascent,
        sTypoDescender=-descent,
        sTypoLineGap=0,
        usWinAscent=ascent,
        usWinDescent=descent,
        yStrikeoutSize=thick * per_px,
        yStrikeoutPosition=strike_top * per_px,
        xAvgCharWidth=sum(g.advance_px for g in parts.glyphs) * per_px // len(parts.glyphs),
        sxHeight=_height(parts, "x") * per_px,
        sCapHeight=_height(parts, "H") * per_px,
    )
    builder.setupPost(keepGlyphNames=False, underlinePosition=top * per_px, underlineThickness=thick * per_px)


def _height(parts: Parts, character: str) -> int:
    glyph = parts.cmap.get(ord(character))
    return max(0, parts.glyphs[glyph].top_px) if glyph else 0


def _box(glyph: GlyphBitmap, per_px: int) -> tuple[int, int, int, int]:
    rows, columns = glyph.ink.shape
    return (
        glyph.left_px * per_px,
        (glyph.top_px - rows) * per_px,
        (glyph.left_px + columns) * per_px,
        glyph.top_px * per_px,
    )


def _hmtx(glyphs: Sequence[GlyphBitmap], per_px: int) -> bytes:
    pairs = [
        value * per_px
        for glyph in glyphs
        for value in (max(0, glyph.advance_px), glyph.left_px if glyph.ink.size else 0)
    ]
    return struct.pack(">" + "Hh" * len(glyphs), *pairs)


def _glyf(
    glyphs: Sequence[GlyphBitmap], outlines: Sequence[list[Loop]], per_px: int
) -> tuple[bytes, bytes, tuple[int, int]]:
    """The glyf and loca tables, and the most points and contours of a glyph."""
    chunks: list[bytes] = []
    offsets, at, points, contours = [0], 0, 0, 0
    for glyph, loops in zip(glyphs, outlines, strict=True):
        chunk = _simple_glyph(glyph, loops, per_px) if loops else b""
        chunks.append(chunk)
        at += len(chunk)
        offsets.append(at)
        points = max(points, sum(map(len, loops)))
        contours = max(contours, len(loops))
    return b"".join(chunks), struct.pack(f">{len(offsets)}I", *offsets), (points, contours)


def _simple_glyph(glyph: GlyphBitmap, loops: list[Loop], per_px: int) -> bytes:
    """A simple glyph description (OpenType, glyf table): corner points only, so each step is level or upright."""
    steps = _Steps(bytearray(), bytearray(), bytearray())
    left, top = glyph.left_px, glyph.top_px
    ends, count = [], 0
    x = y = 0
    for loop in loops:
        for column, row in loop:
            next_x, next_y = (left + column) * per_px, (top - row) * per_px
            steps.add(next_x - x, next_y - y)
            x, y = next_x, next_y
        count += len(loop)
        ends.append(count - 1)
    head = struct.pack(f">h4h{len(ends)}HH", len(ends), *_box(glyph, per_px), *ends, 0)
    body = head + bytes(steps.flags) + bytes(steps.xs) + bytes(steps.ys)
    return body + bytes(-len(body) % 4)


@dataclass(slots=True)
class _Steps:
    """The flags and the two rows of coordinate steps of one glyph, as they are written."""

    flags: bytearray
    xs: bytearray
    ys: bytearray

    def add(self, x: int, y: int) -> None:
        """Write one step."""
        flag = _ON_CURVE
        if not x:
            flag |= _X_SAME
        elif -256 < x < 256:
            flag |= _X_SHORT | _X_SAME if x > 0 else _X_SHORT
            self.xs.append(abs(x))
        else:
            self.xs += struct.pack(">h", x)
        if not y:
            flag |= _Y_SAME
        elif -256 < y < 256:
            flag |= _Y_SHORT | _Y_SAME if y > 0 else _Y_SHORT
            self.ys.append(abs(y))
        else:
            self.ys += struct.pack(">h", y)
        self.flags.append(flag)
