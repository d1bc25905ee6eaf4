"""The fitted font's pixels are FreeType's own, in the engine and in Pillow; and no pixel of a line is soft."""

import io

import numpy as np
import pytest
from fontTools.ttLib import TTFont

from tests.faces.drawn import (
    ASCII,
    Grid,
    Reference,
    engine_grey,
    fitted,
    pillow_line,
    record_of,
    shelf,
    soft_pixels,
)
from wallbill.faces.model import FaceAsk, FittedFace

SIZES_PX = (8, 9, 11, 13, 16, 24, 48, 118)
ASKS = [("Noto Sans", False), ("Noto Serif", True), ("JetBrains Mono", False)]


@pytest.mark.parametrize("size_px", SIZES_PX)
@pytest.mark.parametrize(("family", "italic"), ASKS)
def test_pixels_are_freetypes_own(family: str, italic: bool, size_px: int) -> None:  # noqa: FBT001 parametrized
    # Outside reference: FreeType 2.13.2 through freetype-py, the same file, axes, size and load flags.
    ask = FaceAsk((family,), size_px, 400, italic)
    face = fitted(ask, ASCII).faces[0]
    facts = record_of(face).facts
    reference = Reference(
        shelf().matching((family,), 400, italic)[0],
        size_px,
        tuple(facts["coordinates"]),
        native=facts["hinting"] == "native",
    )
    plain = [character for character in ASCII if character not in facts["mended"]]
    assert len(plain) > 0.85 * len(ASCII), "nearly all glyphs are as FreeType draws them"
    cell = size_px * 2
    page, spans = np.zeros((cell * 6, cell * 16), np.bool_), ""
    ascent, line_px = _line(face)
    for place, character in enumerate(plain):
        x, y = (place % 16) * cell + size_px // 2, (place // 16) * cell + 2
        ink, left, top = reference.glyph(character)
        page[y + ascent - top : y + ascent - top + ink.shape[0], x + left : x + left + ink.shape[1]] |= ink
        spans += f'<div style="position:absolute;left:{x}px;top:{y}px">&#{ord(character)};</div>'
        assert np.array_equal(_cropped(pillow_line(face, character)), _cropped(ink)), (
            f"Pillow draws {character}"
        )
    style = f"font: {'italic' if italic else 'normal'} {size_px}px/{line_px}px {face.family}"
    greys = engine_grey(f'<div style="{style}">{spans}</div>', (face,), (page.shape[1], page.shape[0]))
    assert soft_pixels(greys) == 0
    assert int((page != (greys < 128)).sum()) == 0


def _line(face: FittedFace) -> tuple[int, int]:
    """(ascent, ascent and descent together) in pixels."""
    font = TTFont(io.BytesIO(face.data))
    per_px = font["head"].unitsPerEm // face.size_px
    return font["hhea"].ascent // per_px, (font["hhea"].ascent - font["hhea"].descent) // per_px


def _cropped(grid: Grid) -> Grid:
    rows, columns = np.nonzero(grid.any(1))[0], np.nonzero(grid.any(0))[0]
    if not len(rows):
        return np.zeros((0, 0), np.bool_)
    return grid[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


TEXT = "Frost 07:30, AVATo “ff” 12 °C ≤ 46 km/h → älter"


@pytest.mark.parametrize("size_px", [8, 10, 12, 15, 18, 22, 28, 40, 64, 100, 160, 200, 300])
def test_no_pixel_of_a_line_is_soft(size_px: int) -> None:
    weight = 700 if size_px in {12, 28} else 400
    made = fitted(FaceAsk(("sans-serif",), size_px, weight), TEXT)
    assert not made.missing
    style = (
        f"font-family:{','.join(made.stack)};font-size:{size_px}px;font-weight:{weight};white-space:nowrap"
    )
    greys = engine_grey(f'<div style="{style}">{TEXT}</div>', made.faces, (size_px * 24, size_px * 2))
    assert soft_pixels(greys) == 0
    assert (greys < 128).any()


@pytest.mark.parametrize("size_px", [9, 12, 16, 24, 40, 96])
def test_underlines_lie_on_whole_pixels(size_px: int) -> None:
    made = fitted(FaceAsk(("sans-serif",), size_px), "nnnn")
    style = f"font-family:{made.stack[0]};font-size:{size_px}px"
    plain, lined = (
        engine_grey(
            f'<div style="{style};text-decoration:{line}">nnnn</div>', made.faces, (size_px * 5, size_px * 2)
        )
        for line in ("none", "underline")
    )
    # The engine gives lines round ends, a quarter of their thickness longer than the text: only these may be soft.
    assert ((lined > 8) & (lined < 247)).any(0).sum() <= 4
    rows = np.nonzero(((lined < 128) & (plain >= 128)).sum(1) > size_px)[0]
    assert 1 <= len(rows) <= max(1, size_px // 8)
    assert rows[0] > np.nonzero((plain < 128).any(1))[0][-1], "the line stands clear below the letters"


def test_bold_and_italic_are_not_made_up_by_the_engine() -> None:
    ask = FaceAsk(("sans-serif",), 18, 700, italic=True)
    made = fitted(ask, TEXT)
    style = f"font-family:{','.join(made.stack)};font-size:18px;font-weight:700;font-style:italic;white-space:nowrap"
    greys = engine_grey(f'<div style="{style}">Frost fell</div>', made.faces, (200, 40))
    assert soft_pixels(greys) == 0
    ink = int((greys < 128).sum())
    line = pillow_line(made.faces[0], "Frost fell")
    assert ink == line.sum(), "as much ink as the font holds: neither smeared nor skewed"


def test_letters_at_half_pixels_come_back_by_a_threshold() -> None:
    # Centred text may start at half a pixel; the threshold of the separation must then recover the bitmap.
    made = fitted(FaceAsk(("sans-serif",), 14), "Hall 07:30")
    style = f"font-family:{made.stack[0]};font-size:14px;white-space:nowrap"
    whole = (
        engine_grey(f'<div style="{style};margin-left:10px">Hall 07:30</div>', made.faces, (120, 24)) < 128
    )
    for offset in (10.25, 10.5, 10.75):
        moved = engine_grey(
            f'<div style="{style};position:absolute;left:{offset}px;top:0">Hall 07:30</div>',
            made.faces,
            (120, 24),
        )
        assert np.array_equal(_cropped(moved < 120), _cropped(whole)), offset
