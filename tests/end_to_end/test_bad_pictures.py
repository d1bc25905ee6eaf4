"""Pictures that are too large, cut short or none at all: told with their name, by the function and by the element."""

import io
import struct
import zlib
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.end_to_end.conftest import Press
from tests.end_to_end.running import codes_of
from tests.end_to_end.walls import wall

FUNCTION = '{{ picture("quay.png", width_px=80, height_px=60) }}'
ELEMENT = '<img src="pictures/quay.png" width="80" height="60">'


@lru_cache(maxsize=1)
def flat_png(width_px: int, height_px: int) -> bytes:
    """A white PNG of any size that is never held as a whole: ISO/IEC 15948, written row by row."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    packer = zlib.compressobj(9)
    row = b"\0" + b"\xff" * width_px
    rows = b"".join(packer.compress(row) for _ in range(height_px)) + packer.flush()
    head = struct.pack(">IIBBBBB", width_px, height_px, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def photo(kind: str = "PNG", *, width_px: int = 400, height_px: int = 300, **how: object) -> bytes:
    """A picture of slopes in three colours."""
    y, x = np.mgrid[0:height_px, 0:width_px]
    rgb = np.stack([x * 255 // width_px, y * 255 // height_px, (x + y) % 256], axis=2).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, kind, **how)
    return out.getvalue()


def harbour(folder: Path, sheet: str, data: bytes, *, name: str = "quay.png") -> Path:
    made = wall(folder, sheets={"porch.html": sheet.replace("quay.png", name)})
    (made / "pictures").mkdir()
    (made / "pictures" / name).write_bytes(data)
    return made


@pytest.mark.parametrize("sheet", [FUNCTION, ELEMENT])
@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: flat_png(20_000, 20_000), "too large: "),
        (lambda: photo()[: len(photo()) // 2], "damaged or cut short"),
        (lambda: photo("JPEG")[:900], "damaged or cut short"),
        (lambda: b"This is a shopping list, and no picture.", "not a picture that can be read"),
        (lambda: b"", "not a picture that can be read"),
    ],
)
def test_a_picture_that_cannot_be_used(
    press: Press, tmp_path: Path, *, sheet: str, make: object, words: str
) -> None:
    assert callable(make)
    said = press(harbour(tmp_path / "wall", sheet, make()), status=1)
    assert f"porch: pictures/quay.png: {words}" in said.err
    assert "mend: " in said.err


def test_a_picture_that_is_not_there_names_the_sheet(press: Press, tmp_path: Path) -> None:
    folder = harbour(tmp_path / "wall", ELEMENT.replace("quay", "key"), photo(), name="quay.png")
    said = press(folder, status=1)
    assert said.err.startswith('porch: sheets/porch.html src="pictures/key.png": there is no picture')
    assert "Did you mean 'quay.png'?" in said.err


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("quay.png", photo()),
        ("quay.jpg", photo("JPEG")),
        ("quay.webp", photo("WEBP", lossless=True)),
        ("quay.bmp", photo("BMP")),
        ("quay.tif", photo("TIFF")),
        ("quay.gif", photo("GIF")),
        ("sea quay & mole.png", photo()),
    ],
)
def test_every_kind_of_picture_shows(press: Press, tmp_path: Path, *, name: str, data: bytes) -> None:
    written = ELEMENT.replace("quay.png", name.replace("&", "&amp;"))
    folder = wall(tmp_path / "wall", sheets={"porch.html": "<style>*{margin:0}</style>" + written})
    (folder / "pictures").mkdir()
    (folder / "pictures" / name).write_bytes(data)
    press(folder, status=0)
    codes, _ = codes_of(tmp_path / "out" / "porch.png")
    shown = codes[:60, :80]
    assert 0.2 < shown.mean() < 0.8  # dots of both inks
    assert (codes[:, 81:] == codes[-1, -1]).all()


def test_a_photograph_stands_upright_in_an_element(press: Press, tmp_path: Path) -> None:
    """EXIF orientation 6: the picture is to be turned a quarter clockwise. Source: Exif 2.3, tag 0x0112, from memory."""
    upright = Image.new("L", (60, 80), 255)
    upright.paste(0, (0, 0, 60, 20))  # dark at the top
    exif = Image.Exif()
    exif[0x0112] = 6
    out = io.BytesIO()
    upright.transpose(Image.Transpose.ROTATE_90).save(out, "JPEG", exif=exif, quality=95)
    sheet = '<style>*{margin:0}</style><img src="pictures/quay.jpg" width="60" height="80">'
    press(harbour(tmp_path / "wall", sheet, out.getvalue(), name="quay.jpg"), status=0)
    codes, palette = codes_of(tmp_path / "out" / "porch.png")
    black = palette.index((0, 0, 0))
    assert (codes[:16, :60] == black).mean() > 0.9
    assert (codes[26:80, :60] == black).mean() < 0.1
