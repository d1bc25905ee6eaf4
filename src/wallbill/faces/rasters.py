"""Glyphs as FreeType draws them: bitmaps of one pixel size, bi-level unless smooth ones are asked for."""

import ctypes
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

import freetype
import numpy as np
from freetype import raw
from numpy.typing import NDArray

from wallbill.errors import FaceError, Place

SLANT = 0.2
"""How far an oblique leans, as a share of the height: about 11 degrees, as most italics do (common practice,
no source)."""

Cells = np.ndarray[tuple[int, int], np.dtype[np.uint8]]
"""Bytes in rows."""

_MONO = raw.FT_LOAD_RENDER | raw.FT_LOAD_TARGET_MONO


class Hinting(StrEnum):
    """Who moves an outline onto the pixel grid: FreeType's autohinter, the face's own hints, or nobody."""

    AUTO = "auto"
    NATIVE = "native"
    LIGHT = "light"
    NONE = "none"


_FLAGS: Mapping[Hinting, int] = MappingProxyType(
    {
        Hinting.AUTO: _MONO | raw.FT_LOAD_FORCE_AUTOHINT,
        Hinting.NATIVE: _MONO,
        Hinting.LIGHT: raw.FT_LOAD_RENDER | raw.FT_LOAD_MONOCHROME | raw.FT_LOAD_TARGET_LIGHT,
        Hinting.NONE: _MONO | raw.FT_LOAD_NO_HINTING,
    }
)


@dataclass(frozen=True, slots=True, eq=False)
class GlyphBitmap:
    """One glyph on the grid.

    ``ink``: booleans of shape (rows, columns), row 0 on top. ``left_px``: columns from the pen to the first
    column. ``top_px``: rows from the baseline up to the top edge of row 0. ``advance_px``: whole pixels.
    """

    ink: NDArray[np.bool_]
    left_px: int
    top_px: int
    advance_px: int

    def same_as(self, other: "GlyphBitmap") -> bool:
        """Whether both hold the same pixels in the same place, with the same advance."""
        return (
            self.advance_px == other.advance_px
            and self.ink.shape == other.ink.shape
            and (not self.ink.size or (self.left_px, self.top_px) == (other.left_px, other.top_px))
            and bool((self.ink == other.ink).all())
        )


@dataclass(frozen=True, slots=True)
class LineMetrics:
    """Ascent, descent (below the baseline, positive) and underline of a face at one size, in 1/64 pixel."""

    ascent_64: int
    descent_64: int
    underline_centre_64: int
    underline_64: int


class Rasteriser:
    """A face file opened in FreeType. Holds FreeType's own state, so it is made, used and dropped in one fit.

    Raises FaceError where FreeType cannot open the file.
    """

    def __init__(self, data: bytes, *, index: int = 0, label: str = "") -> None:
        self._data = data  # FreeType reads from this buffer as long as the face is open
        self._label = label
        try:
            self._face = freetype.Face.from_bytes(data, index)
        except freetype.FT_Exception as fault:
            raise unreadable(label, str(fault)) from fault
        self._handle = self._face._FT_Face  # noqa: SLF001 the low calls are six times as fast as the wrapper's
        self._slot = self._handle.contents.glyph

    def place(self, size_px: int, coordinates: Sequence[float] = ()) -> None:
        """Choose the pixels per em, and the design coordinates of a variable face, in the order of its axes."""
        if coordinates:
            fixed = (raw.FT_Fixed * len(coordinates))(*(round(value * 65536) for value in coordinates))
            raw.FT_Set_Var_Design_Coordinates(self._handle, len(coordinates), fixed)
        if raw.FT_Set_Pixel_Sizes(self._handle, 0, size_px):
            raise FaceError(
                f"no glyphs of {size_px} px per em",
                where=Place(self._label),
                mend="Ask for one of the sizes that the bitmap face holds.",
            )

    def slant(self, lean: float) -> None:
        """Lean every outline to the right by ``lean`` times its height, after hinting; 0 stands upright."""
        matrix = raw.FT_Matrix(0x10000, round(lean * 0x10000), 0, 0x10000)
        raw.FT_Set_Transform(self._handle, ctypes.byref(matrix), None)

    def glyph_of(self, character: str) -> int:
        """The glyph id of a character; 0 where the face lacks it."""
        return int(raw.FT_Get_Char_Index(self._handle, ord(character)))

    def charmap(self) -> Mapping[int, int]:
        """Code point to glyph id, for faces that no shaping library reads (BDF, PCF)."""
        return {int(code): int(glyph) for code, glyph in self._face.get_chars() if glyph}

    def strikes_px(self) -> tuple[int, ...]:
        """Pixels per em of the bitmaps that the face holds, from small to large."""
        count = self._handle.contents.num_fixed_sizes
        sizes = self._handle.contents.available_sizes
        return tuple(sorted({(sizes[place].y_ppem + 32) >> 6 for place in range(count)}))

    def units(self) -> int:
        """Design units per em; 0 for a bitmap face."""
        return int(self._handle.contents.units_per_EM)

    def family(self) -> str:
        """The family name as FreeType gives it."""
        return (self._face.family_name or b"").decode("utf-8", "replace")

    def is_bold(self) -> bool:
        """Whether the face is filed as a bold one."""
        return bool(self._face.style_flags & raw.FT_STYLE_FLAG_BOLD)

    def is_italic(self) -> bool:
        """Whether the face is filed as an italic one."""
        return bool(self._face.style_flags & raw.FT_STYLE_FLAG_ITALIC)

    def draw(self, glyph: int, hinting: Hinting = Hinting.AUTO) -> GlyphBitmap:
        """The glyph as bi-level ink. An empty bitmap where FreeType cannot load it."""
        if raw.FT_Load_Glyph(self._handle, glyph, _FLAGS[hinting]):
            return GlyphBitmap(np.zeros((0, 0), np.bool_), 0, 0, 0)
        return self._bitmap()

    def draw_smooth(self, glyph: int) -> NDArray[np.bool_]:
        """The unhinted glyph, smoothed and cut at half cover: the shape that the designer drew."""
        if raw.FT_Load_Glyph(self._handle, glyph, raw.FT_LOAD_RENDER | raw.FT_LOAD_NO_HINTING):
            return np.zeros((0, 0), np.bool_)
        return self._bitmap().ink

    def cover(self, glyph: int, like: GlyphBitmap, *, hinting: Hinting) -> NDArray[np.uint8]:
        """How much of each pixel of a bi-level bitmap the hinted outline covers, 0 to 255."""
        cells: Cells = np.zeros((like.ink.shape[0], like.ink.shape[1]), np.uint8)
        if raw.FT_Load_Glyph(self._handle, glyph, _FLAGS[hinting] & ~raw.FT_LOAD_RENDER):
            return cells
        if raw.FT_Render_Glyph(self._slot, raw.FT_RENDER_MODE_NORMAL):
            return cells
        slot = self._slot.contents
        smooth = self._cells()
        down, right = like.top_px - slot.bitmap_top, slot.bitmap_left - like.left_px
        top, left = max(down, 0), max(right, 0)
        rows = slice(max(-down, 0), max(-down, 0) + cells.shape[0] - top)
        columns = slice(max(-right, 0), max(-right, 0) + cells.shape[1] - left)
        part = smooth[rows, columns]
        cells[top : top + part.shape[0], left : left + part.shape[1]] = part
        return cells

    def outline_box(self, glyph: int) -> tuple[float, float, float, float] | None:
        """(left, bottom, right, top) of the unhinted outline in pixels; None for an empty glyph."""
        flags = raw.FT_LOAD_NO_HINTING | raw.FT_LOAD_NO_BITMAP
        if raw.FT_Load_Glyph(self._handle, glyph, flags) or not self._slot.contents.outline.n_points:
            return None
        box = raw.FT_BBox()
        raw.FT_Outline_Get_CBox(ctypes.byref(self._slot.contents.outline), ctypes.byref(box))
        return box.xMin / 64, box.yMin / 64, box.xMax / 64, box.yMax / 64

    def metrics(self) -> LineMetrics:
        """Line metrics at the size that was chosen last."""
        size = self._handle.contents.size.contents.metrics
        face = self._handle.contents
        scale = size.y_scale / 65536
        if not face.units_per_EM:  # a bitmap face
            thick = max(64, size.y_ppem * 64 // 16)
            return LineMetrics(size.ascender, -size.descender, -2 * thick, thick)
        return LineMetrics(
            round(face.ascender * scale),
            round(-face.descender * scale),
            round(face.underline_position * scale),
            round(face.underline_thickness * scale),
        )

    def _bitmap(self) -> GlyphBitmap:
        slot = self._slot.contents
        bitmap = slot.bitmap
        advance_px = (slot.advance.x + 32) >> 6
        cells = self._cells()
        if not cells.size:
            return GlyphBitmap(np.zeros((0, 0), np.bool_), 0, 0, advance_px)
        if bitmap.pixel_mode == raw.FT_PIXEL_MODE_MONO:
            ink = np.unpackbits(cells, axis=1)[:, : bitmap.width].astype(np.bool_)
        else:
            ink = cells >= 128
        return GlyphBitmap(ink, slot.bitmap_left, slot.bitmap_top, advance_px)

    def _cells(self) -> Cells:
        """The bytes of the slot's bitmap, rows by bytes; of a bi-level one each holds eight pixels."""
        bitmap = self._slot.contents.bitmap
        rows, pitch = bitmap.rows, bitmap.pitch
        if not rows or not bitmap.width:
            return np.zeros((0, 0), np.uint8)
        cells = np.frombuffer(ctypes.string_at(bitmap.buffer, rows * pitch), np.uint8).reshape(rows, pitch)
        return cells if bitmap.pixel_mode == raw.FT_PIXEL_MODE_MONO else cells[:, : bitmap.width]


def unreadable(label: str, why: str) -> FaceError:
    """The error for a file that is no face, naming the file and the mend."""
    return FaceError(
        f"not a face that can be read: {why}",
        where=Place(label),
        mend="Put a TrueType, OpenType, WOFF, BDF or PCF file in its place, or take it away.",
    )
