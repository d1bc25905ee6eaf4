"""What the tests of this room share: the shelf, letter grids, the engine's picture, and FreeType as the reference."""

import io
from collections.abc import Mapping
from functools import cache

import blitz_py
import freetype
import numpy as np
import uharfbuzz as hb
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from wallbill.faces.fitting import fit_set
from wallbill.faces.keeping import Record, unpacked
from wallbill.faces.model import FaceAsk, FaceSet, FittedFace
from wallbill.faces.shelf import FaceFile, Shelf
from wallbill.faces.shell import FaceKeep, load_shelf

Grid = NDArray[np.bool_]

ASCII = "".join(map(chr, range(33, 127)))
KEEP = FaceKeep(None)  # fits are shared by the tests: the keep's own tests make their own


@cache
def shelf() -> Shelf:
    return load_shelf()


def fitted(ask: FaceAsk, text: str) -> FaceSet:
    return fit_set(ask, frozenset(text), shelf=shelf(), keep=KEEP)


def record_of(face: FittedFace, keep: FaceKeep = KEEP) -> Record:
    """What the keep knows of a fitted face: how it was cut, and which characters were mended."""
    found = [
        record for data in keep._memory.values() if (record := unpacked(data)) and record.data == face.data
    ]
    assert len(found) == 1
    return found[0]


def letters(grid: Grid) -> str:
    """A grid as letters, without the empty rows and columns around the ink."""
    rows, columns = np.nonzero(grid.any(1))[0], np.nonzero(grid.any(0))[0]
    if not len(rows):
        return ""
    ink = grid[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    return "\n".join("".join("#" if on else "." for on in row) for row in ink)


def drawing(text: str) -> str:
    return "\n".join(line.strip() for line in text.strip().splitlines())


def pillow_line(face: FittedFace, text: str) -> Grid:
    """A line as Pillow's FreeType draws the fitted font, bi-level, basic layout, the pen at half an em."""
    font = ImageFont.truetype(io.BytesIO(face.data), face.size_px, layout_engine=ImageFont.Layout.BASIC)
    width = int(font.getlength(text)) + face.size_px
    picture = Image.new("1", (width, face.size_px * 2), 0)
    draw = ImageDraw.Draw(picture)
    draw.fontmode = "1"
    draw.text((face.size_px // 2, 0), text, font=font, fill=1)
    return np.array(picture)


def glyph_grid(face: FittedFace, character: str) -> Grid:
    return pillow_line(face, character)


def engine_grey(html: str, faces: tuple[FittedFace, ...], size: tuple[int, int]) -> NDArray[np.uint8]:
    """The engine's picture of a page body as greys, shape (height, width)."""
    page = f'<body style="margin:0;background:#fff;color:#000">{html}</body>'
    width, height, data = blitz_py.render_rgba(
        page, width=size[0], height=size[1], fonts=[face.data for face in faces]
    )
    return np.array(Image.frombytes("RGBA", (width, height), bytes(data)).convert("L"))


def soft_pixels(greys: NDArray[np.uint8]) -> int:
    return int(((greys > 8) & (greys < 247)).sum())


class Reference:
    """FreeType itself, through freetype-py: the same file, design coordinates, size and flags."""

    def __init__(self, face: FaceFile, size_px: int, coordinates: tuple[float, ...], *, native: bool) -> None:
        self.face = freetype.Face(io.BytesIO(face.data), face.index)
        if coordinates:
            self.face.set_var_design_coords(coordinates)
        self.face.set_pixel_sizes(0, size_px)
        self.flags = freetype.FT_LOAD_RENDER | freetype.FT_LOAD_TARGET_MONO
        if not native:
            self.flags |= freetype.FT_LOAD_FORCE_AUTOHINT

    def glyph(self, character: str) -> tuple[Grid, int, int]:
        """(ink, left, top) of a character."""
        self.face.load_char(character, self.flags)
        bitmap = self.face.glyph.bitmap
        bytes_ = np.array(bitmap.buffer, np.uint8).reshape(bitmap.rows, -1)
        ink = np.unpackbits(bytes_, axis=1)[:, : bitmap.width].astype(np.bool_)
        return ink, self.face.glyph.bitmap_left, self.face.glyph.bitmap_top


def pieces(grid: Grid) -> tuple[int, int]:
    """(pieces of ink joined over corners, holes), by flooding: slow, and nothing of the package in it."""
    padded = np.pad(grid, 1)

    def floods(*, target: bool, corners: bool) -> int:
        left = {(int(y), int(x)) for y, x in np.argwhere(padded == target)}
        count = 0
        while left:
            count += 1
            stack = [left.pop()]
            while stack:
                y, x = stack.pop()
                for dy in (-1, 0, 1):
                    for dx in (-1, 0, 1):
                        if (corners or not (dy and dx)) and (y + dy, x + dx) in left:
                            left.remove((y + dy, x + dx))
                            stack.append((y + dy, x + dx))
        return count

    return floods(target=True, corners=True), floods(target=False, corners=False) - 1


def shaped(
    face: bytes | hb.Font, text: str, features: Mapping[str, bool] | None = None
) -> list[tuple[int, int, int, int, int]]:
    """(glyph, cluster, advance, x offset, y offset) as HarfBuzz shapes a text, in font units."""
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    font = hb.Font(hb.Face(face)) if isinstance(face, bytes) else face
    hb.shape(font, buffer, dict(features or {}))
    return [
        (info.codepoint, info.cluster, place.x_advance, place.x_offset, place.y_offset)
        for info, place in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
    ]
