"""QR codes: an independent reader reads them back from the engine's picture, and bad requests are told how to mend."""

import blitz_py
import numpy as np
import pytest
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from wallbill.blocks.codes.qr import LEVELS, QUIET_MODULES, qr, qr_grid, qr_modules, qr_reading_distance
from wallbill.blocks.drawing.grid import INK, PAPER
from wallbill.blocks.drawing.palette import Palette
from wallbill.errors import Place, SheetError

ADDRESS = "https://fennel-quay.example/rota?week=31"
RED = Palette(accent="#c80000")


def painted(svg: str, side: int) -> np.ndarray:
    """The engine's picture of an SVG on a white page with 10 px around it, uint8 (height, width, 3)."""
    page = f'<body style="margin:10px"><div style="line-height:0">{svg}</div></body>'
    width, height, data = blitz_py.render_rgba(page, width=side + 20, height=side + 20)
    return np.frombuffer(bytes(data), dtype=np.uint8).reshape(height, width, 4)[:, :, :3]


def read(picture: np.ndarray) -> list[str]:
    """What the reader finds, pixels enlarged as a camera near the panel sees them."""
    near = np.ascontiguousarray(np.repeat(np.repeat(picture, 3, axis=0), 3, axis=1))
    return [found.text for found in zxingcpp.read_barcodes(near)]


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("module_px", [1, 2, 3, 5])
def test_a_reader_reads_it_back(level: str, module_px: int) -> None:
    side = qr_grid(ADDRESS, module_px=module_px, level=level).width_px
    picture = painted(str(qr(ADDRESS, module_px=module_px, palette=RED, level=level)), side)
    assert read(picture) == [ADDRESS]
    # Black and white only: the accent of the panel never appears.
    assert {tuple(colour) for colour in picture.reshape(-1, 3).tolist()} == {(0, 0, 0), (255, 255, 255)}


def test_a_reader_reads_it_on_a_dark_page_too() -> None:
    palette = Palette(ink="#ffffff", paper="#000000")
    svg = str(qr(ADDRESS, module_px=3, palette=palette))
    side = qr_grid(ADDRESS, module_px=3).width_px
    page = f'<body style="margin:10px;background:#000"><div style="line-height:0">{svg}</div></body>'
    width, height, data = blitz_py.render_rgba(page, width=side + 20, height=side + 20)
    picture = np.frombuffer(bytes(data), dtype=np.uint8).reshape(height, width, 4)[:, :, :3]
    assert [
        found.text for found in zxingcpp.read_barcodes(np.ascontiguousarray(picture), try_invert=False)
    ] == [ADDRESS]


@given(st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), min_size=1, max_size=60))
@settings(max_examples=40, deadline=None)
def test_any_text_is_read_back(text: str) -> None:
    codes = qr_grid(text, module_px=4).codes
    found = zxingcpp.read_barcodes(np.where(codes == INK, 0, 255).astype(np.uint8))
    # The reader has to guess the encoding of text that is not ASCII, so the bytes are compared.
    assert [bytes(code.bytes) for code in found] == [text.encode()]


def test_the_quiet_zone_is_kept() -> None:
    for size_px in (80, 97, 150):
        codes = qr_grid("hut", size_px=size_px).codes
        assert codes.shape == (size_px, size_px)
        rows, columns = np.nonzero(codes == INK)
        module = size_px // (qr_modules("hut") + 2 * QUIET_MODULES)
        margin = min(rows.min(), columns.min(), size_px - 1 - rows.max(), size_px - 1 - columns.max())
        assert margin >= QUIET_MODULES * module
        assert set(np.unique(codes).tolist()) == {INK, PAPER}


def test_modules_by_version() -> None:
    # ISO/IEC 18004: version 1 has 21 modules, each further one 4 more; 14 bytes fit into version 1 at level M
    # and 26 into version 2 (table of capacities, from memory).
    assert qr_modules("a" * 14) == 21
    assert qr_modules("a" * 15) == 25
    assert qr_modules("a" * 26) == 25
    assert qr_modules("a" * 27) == 29


def test_a_box_too_small_says_what_it_needs() -> None:
    least = qr_modules(ADDRESS) + 2 * QUIET_MODULES
    with pytest.raises(SheetError, match=f"needs {least} px") as caught:
        qr(ADDRESS, size_px=least - 1, palette=RED)
    assert (
        caught.value.mend == f"Give it {least} px or more, or encode a shorter text, or use a level below M."
    )
    assert qr_grid(ADDRESS, size_px=least).size == (least, least)


def test_what_no_code_can_hold() -> None:
    with pytest.raises(SheetError, match="5000 bytes") as caught:
        qr("a" * 5000, module_px=2, palette=RED, level="L")
    assert caught.value.mend == "Encode a shorter text."
    with pytest.raises(SheetError, match="no text"):
        qr("", module_px=2, palette=RED)
    with pytest.raises(ValueError, match="one of L, M, Q, H"):
        qr("a", module_px=2, palette=RED, level="X")
    with pytest.raises(ValueError, match="either"):
        qr("a", palette=RED)
    with pytest.raises(ValueError, match="either"):
        qr("a", size_px=50, module_px=2, palette=RED)


def test_the_text_alternative_is_the_text() -> None:
    assert 'aria-label="a&lt;b"' in str(qr("a<b", module_px=1, palette=RED))


def test_reading_distance() -> None:
    # Common practice, no source: a tenth of the distance for 25 modules. 25 modules of 0.8 mm: 20 mm, so 200 mm.
    assert qr_reading_distance(25, module_px=4, pitch_mm=0.2, distance_m=0.2) == ()
    (found,) = qr_reading_distance(25, module_px=4, pitch_mm=0.2, distance_m=0.5, where=Place("hall.html", 7))
    assert (found.rule, found.measured, found.limit, found.unit) == ("blocks.code-size", "0.80", "2.00", "mm")
    assert found.mend == "Draw modules of 10 px (a code of 330 px), or let people come as near as 0.2 m."
    assert str(found.where) == "hall.html:7"
