"""Pictures from anywhere: every mode and trap, made by Pillow in the test."""

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from tests.inks import typical
from wallbill.errors import PictureError
from wallbill.inks import colour, gamut
from wallbill.inks.impression import Rgb
from wallbill.inks.inkset import ink_set
from wallbill.inks.pictures import PictureLimit, open_picture, prepare, separate_picture
from wallbill.inks.shell import DiskTables, load_picture


def saved(image: Image.Image, kind: str = "PNG", **more: object) -> bytes:
    data = io.BytesIO()
    image.save(data, kind, **more)
    return data.getvalue()


def opened(image: Image.Image, kind: str = "PNG", **more: object) -> Rgb:
    return open_picture(saved(image, kind, **more), name="test")


def _png_head(width: int, height: int) -> bytes:
    """A PNG whose head promises this size, with next to no data."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"0"))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("size", [(20_000, 20_000), (17_000, 10), (10_000, 9_000), (65_000, 65_000)])
def test_a_picture_that_is_too_large_is_refused_unread(size: tuple[int, int]) -> None:
    with pytest.raises(PictureError, match="too large") as caught:
        open_picture(_png_head(*size), name="huge.png")
    assert str(caught.value.where) == "huge.png"
    assert "16384" in caught.value.mend


def test_the_limit_is_the_callers() -> None:
    image = Image.new("RGB", (30, 20))
    with pytest.raises(PictureError, match="30 x 20"):
        open_picture(saved(image), name="x", limit=PictureLimit(pixels=599))
    assert open_picture(saved(image), name="x", limit=PictureLimit(pixels=600)).shape == (20, 30, 3)


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_camera_held_askew(turn: int) -> None:
    """Exif 2.3, tag 0x0112: 1 to 8, each undone so that the red corner is at the left top."""
    upright = np.zeros((16, 32, 3), dtype=np.uint8)
    upright[:8, :8] = (255, 0, 0)
    stored = {
        1: upright, 2: upright[:, ::-1], 3: upright[::-1, ::-1], 4: upright[::-1], 5: upright.transpose(1, 0, 2),
        6: np.rot90(upright, 1), 7: upright[::-1, ::-1].transpose(1, 0, 2), 8: np.rot90(upright, -1),
    }[turn]  # fmt: skip
    exif = Image.Exif()
    exif[0x0112] = turn
    got = opened(Image.fromarray(np.ascontiguousarray(stored)), "PNG", exif=exif)
    np.testing.assert_array_equal(got, upright)


def test_what_lets_through_lies_on_white() -> None:
    rgba = np.zeros((2, 3, 4), dtype=np.uint8)
    rgba[..., 3] = [[0, 128, 255]] * 2
    got = opened(Image.fromarray(rgba))
    assert got[0].tolist() == [[255] * 3, [127] * 3, [0] * 3]
    grey = Image.merge("LA", (Image.new("L", (2, 2), 0), Image.new("L", (2, 2), 0)))
    assert (opened(grey) == 255).all()


def test_a_palette_with_a_clear_colour() -> None:
    image = Image.new("P", (4, 2), 1)
    image.putpalette([10, 20, 30, 200, 0, 0])
    image.putpixel((0, 0), 0)
    assert opened(image)[0, 0].tolist() == [10, 20, 30]
    assert opened(image, transparency=0)[0, 0].tolist() == [255, 255, 255]
    assert opened(image, transparency=0)[1, 1].tolist() == [200, 0, 0]


def test_clear_by_colour_key() -> None:
    image = Image.new("RGB", (2, 1), (1, 2, 3))
    image.putpixel((1, 0), (9, 9, 9))
    assert opened(image, transparency=(1, 2, 3)).tolist() == [[[255] * 3, [9] * 3]]


def test_deep_greys() -> None:
    deep = np.array([[0, 257 * 100, 65535]], dtype=np.uint16)
    got = opened(Image.fromarray(deep))
    assert got[0, :, 0].tolist() == [0, 100, 255]
    tiff = opened(Image.fromarray(np.array([[0, 0.5, 1]], dtype=np.float32)), "TIFF")
    assert tiff[0, :, 0].tolist() == [0, 128, 255]


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "CMYK", "YCbCr", "LAB", "I;16", "F"])
def test_every_mode_that_a_tiff_may_have(mode: str) -> None:
    image = Image.new("RGB", (6, 5), (255, 255, 255)).convert("L" if mode in {"I;16", "F"} else "RGB")
    image = (
        image.convert("F").point(lambda v: v / 255)
        if mode == "F"
        else image.convert(mode)
        if mode != "LAB"
        else _lab(image)
    )
    got = opened(image, "TIFF")
    assert got.shape == (5, 6, 3)
    assert not got.flags.writeable
    if mode != "I;16":
        assert got.min() >= 250


def _lab(image: Image.Image) -> Image.Image:
    srgb, lab = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
    return ImageCms.buildTransform(srgb, lab, "RGB", "LAB").apply(image)


def test_cmyk_jpeg() -> None:
    got = opened(Image.new("CMYK", (16, 16), (0, 255, 255, 0)), "JPEG", quality=95)
    assert np.abs(got.astype(int) - (255, 0, 0)).max() < 12


def test_the_first_picture_of_a_moving_one() -> None:
    frames = [Image.new("RGB", (8, 8), colour) for colour in ((255, 0, 0), (0, 0, 255))]
    for kind in ("GIF", "WEBP", "PNG"):
        data = saved(
            frames[0],
            kind,
            save_all=True,
            append_images=frames[1:],
            **({"lossless": True} if kind == "WEBP" else {}),
        )
        assert open_picture(data, name="moving")[3, 3].tolist() == [255, 0, 0], kind


def test_a_colour_profile_is_heeded_and_a_broken_one_ignored() -> None:
    image = Image.new("RGB", (2, 2), (120, 130, 140))
    plain = opened(image)
    assert (opened(image, icc_profile=b"nonsense") == plain).all()
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert np.abs(opened(image, icc_profile=srgb).astype(int) - plain).max() <= 1
    # ICC.1, 7.3: swap the tags of the red and the blue primary, and red and blue change places
    swapped = srgb.replace(b"rXYZ", b"####", 1).replace(b"bXYZ", b"rXYZ", 1).replace(b"####", b"bXYZ", 1)
    got = opened(image, icc_profile=swapped)[0, 0]
    assert np.abs(got.astype(int) - (140, 130, 120)).max() <= 2


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF"])
@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_a_file_cut_short_is_told(kind: str, share: float) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (64, 64, 3), dtype=np.uint8)
    data = saved(Image.fromarray(noise), kind)
    with pytest.raises(PictureError) as caught:
        open_picture(data[: int(len(data) * share)], name="cut.bin")
    assert "cut.bin" in str(caught.value)
    assert caught.value.mend


@pytest.mark.parametrize(
    "data", [b"", b"hello", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", b"<svg/>"]
)
def test_what_is_no_picture_is_told(data: bytes) -> None:
    with pytest.raises(PictureError, match="not a picture"):
        open_picture(data, name="x")


def test_every_byte_flipped_gives_a_picture_or_a_picture_error() -> None:
    data = saved(Image.fromarray(np.arange(300, dtype=np.uint8).reshape(10, 10, 3)))
    for place in range(len(data)):
        broken = bytearray(data)
        broken[place] ^= 0xFF
        try:
            got = open_picture(bytes(broken), name="x")
        except PictureError:
            continue
        assert got.dtype == np.uint8


def test_prepare_keeps_the_light() -> None:
    """Black and white lines shrink to half light, code 188, not to code 128 (IEC 61966-2-1)."""
    lines = typical.still(np.tile(np.array([[[0] * 3], [[255] * 3]], dtype=np.uint8), (100, 200, 1)))
    got = prepare(lines, 50, 50)
    assert np.abs(got[5:-5, 5:-5].astype(int) - 188).max() <= 6
    assert not got.flags.writeable


def test_cover_fills_and_contain_shows_all() -> None:
    wide = np.zeros((50, 200, 3), dtype=np.uint8)
    wide[:, 100:] = (0, 0, 255)
    cover = prepare(wide, 40, 40, fit="cover")
    assert cover.shape == (40, 40, 3)
    assert cover[20, 5].tolist() == [0, 0, 0]
    assert cover[20, 35].tolist() == [0, 0, 255]
    contain = prepare(wide, 40, 40, fit="contain")
    assert (contain[:15] == 255).all()
    assert (contain[25:] == 255).all()
    assert contain[20, 5].tolist() == [0, 0, 0]
    same = prepare(wide, 200, 50)
    np.testing.assert_array_equal(same, wide)
    with pytest.raises(ValueError, match="at least one pixel"):
        prepare(wide, 0, 5)


def test_a_picture_becomes_an_impression() -> None:
    panel = typical.panel(*typical.BWR.inks, size=(60, 40))
    y, x = np.mgrid[0:80, 0:120]
    rgb = np.stack((x * 2, y * 3, 255 - x * 2), axis=-1).astype(np.uint8)
    impression = separate_picture(
        saved(Image.fromarray(rgb)), panel, tables=gamut.make_tables(ink_set(panel.inks))
    )
    assert (impression.width_px, impression.height_px) == (60, 40)
    assert impression.inks == panel.inks
    assert len(np.unique(impression.codes)) == 3
    light = colour.codes_to_linear([ink.css for ink in panel.inks])[impression.codes]
    assert light[:, 40:, 0].mean() > light[:, :20, 0].mean()


def test_files_are_read_by_the_shell(tmp_path: Path) -> None:
    file = tmp_path / "boat.png"
    file.write_bytes(saved(Image.new("RGB", (5, 4), (1, 2, 3))))
    assert load_picture(file)[0, 0].tolist() == [1, 2, 3]
    with pytest.raises(PictureError, match="cannot be read") as caught:
        load_picture(tmp_path / "none.png")
    assert "none.png" in str(caught.value)


def test_tables_are_kept_on_disk_whole_or_not_at_all(tmp_path: Path) -> None:
    keep = DiskTables(tmp_path / "a" / "b")
    assert keep.get("x") is None
    keep.put("x", b"123")
    keep.put("x", b"4567")
    assert keep.get("x") == b"4567"
    assert [file.name for file in (tmp_path / "a" / "b").iterdir()] == ["x"]
    inks = ink_set(typical.BW.inks)
    first = gamut.tables_for(inks, keep=keep)
    np.testing.assert_array_equal(gamut.tables_for(inks, keep=keep).cumulative, first.cumulative)
    (tmp_path / "file").write_bytes(b"")
    blocked = DiskTables(tmp_path / "file")
    blocked.put("x", b"1")  # cannot be kept: no error
    assert blocked.get("x") is None
