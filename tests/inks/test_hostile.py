"""Pictures that are deep, odd, spoilt or far too large: the right picture or a clear error, in bounded memory."""

import io
import random
import struct
import subprocess
import sys
import zlib
from itertools import product

import colour as science
import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageCms

from wallbill.errors import PictureError
from wallbill.inks.impression import Rgb
from wallbill.inks.pictures import open_picture, resized

Samples = NDArray[np.integer]


def saved(image: Image.Image, kind: str, **more: object) -> bytes:
    data = io.BytesIO()
    image.save(data, kind, **more)
    return data.getvalue()


def opened(image: Image.Image, kind: str = "PNG", **more: object) -> Rgb:
    return open_picture(saved(image, kind, **more), name="test")


def chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png(samples: Samples, *, kind: int, interlaced: bool = False, key: bytes = b"") -> bytes:
    """A PNG (ISO/IEC 15948) of samples (height, width, parts), 8 or 16 bits; ``kind``: colour type. Pillow writes none of these.

    ``interlaced``: Adam7, seven passes. ``key``: body of tRNS.
    """
    height, width = samples.shape[:2]
    bits = 8 * samples.dtype.itemsize
    passes = [(0, 0, 1, 1)]
    if interlaced:
        passes = [
            (0, 0, 8, 8), (0, 4, 8, 8), (4, 0, 8, 4), (0, 2, 4, 4), (2, 0, 4, 2), (0, 1, 2, 2), (1, 0, 2, 1),
        ]  # fmt: skip
    rows = b""
    for top, left, down, along in passes:
        part = samples[top::down, left::along]
        if part.size:
            rows += b"".join(b"\0" + row.astype(f">u{bits // 8}").tobytes() for row in part)
    head = struct.pack(">IIBBBBB", width, height, bits, kind, 0, 0, int(interlaced))
    parts = [chunk(b"IHDR", head), chunk(b"tRNS", key) if key else b"", chunk(b"IDAT", zlib.compress(rows))]
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts) + chunk(b"IEND", b"")


def noise(*shape: int, deep: bool = False) -> Samples:
    top = 65536 if deep else 256
    return np.random.default_rng(6).integers(0, top, shape).astype(np.uint16 if deep else np.uint8)


@pytest.mark.parametrize("size", [(1, 1), (3, 5), (17, 23)])
def test_interlaced(size: tuple[int, int]) -> None:
    pixels = noise(*size, 3)
    np.testing.assert_array_equal(open_picture(png(pixels, kind=2, interlaced=True), name="x"), pixels)


def test_deep_colours_keep_their_upper_bits() -> None:
    """16 bits of red, green and blue: value / 257 to the nearest code, within 1."""
    deep = noise(9, 11, 3, deep=True)
    for interlaced in (False, True):
        got = open_picture(png(deep, kind=2, interlaced=interlaced), name="x")
        assert np.abs(got - deep / 257.0).max() <= 1
    clear = open_picture(png(deep, kind=2, key=deep[2, 3].astype(">u2").tobytes()), name="x")
    assert clear[2, 3].tolist() == [255] * 3
    assert (clear != 255).any(axis=2).mean() > 0.9


def test_deep_greys_and_their_opacity() -> None:
    grey = noise(9, 11, 1, deep=True)
    got = open_picture(png(grey, kind=0), name="x")
    np.testing.assert_array_equal(got, np.rint(grey / 257.0).repeat(3, axis=2))
    clear = open_picture(png(grey, kind=0, key=grey[4, 5].astype(">u2").tobytes()), name="x")
    assert clear[4, 5].tolist() == [255] * 3
    deep = noise(5, 6, 2, deep=True)
    for kind, parts in (
        (4, deep),
        (6, np.concatenate((deep[..., :1].repeat(3, axis=2), deep[..., 1:]), axis=2)),
    ):
        got = open_picture(png(parts, kind=kind), name="x")
        share = deep[..., 1:] / 65535.0
        assert np.abs(got - (deep[..., :1] / 257.0 * share + 255 * (1 - share))).max() <= 2


def test_floats_that_are_none() -> None:
    """A float TIFF with holes: not a number is black, as far as light goes; infinite light is white."""
    values = np.array([[0, 0.5, 1, np.nan, np.inf, -np.inf, -3]], dtype=np.float32)
    assert opened(Image.fromarray(values[:, :4]), "TIFF")[0, :, 0].tolist() == [0, 128, 255, 0]
    got = opened(Image.fromarray(values), "TIFF")[0, :, 0]
    assert got[4:].tolist() == [255, 0, 0]


def _with_primaries(*xyz: tuple[float, float, float]) -> bytes:
    """The sRGB profile with other primaries (ICC.1: XYZType, s15Fixed16, relative to D50)."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    for number in range(struct.unpack_from(">I", data, 128)[0]):
        name, at, _ = struct.unpack_from(">4sII", data, 132 + 12 * number)
        if name in (names := (b"rXYZ", b"gXYZ", b"bXYZ")):
            struct.pack_into(">3i", data, at + 8, *(round(v * 65536) for v in xyz[names.index(name)]))
    return bytes(data)


def test_a_wide_gamut_profile_is_brought_to_srgb() -> None:
    """Display P3 (D50 primaries from memory) against the colour-science library, for colours that sRGB holds."""
    profile = _with_primaries(
        (0.51512, 0.24120, -0.00105), (0.29198, 0.69225, 0.04189), (0.15710, 0.06657, 0.78407)
    )
    codes = np.array([[[180, 120, 110], [90, 140, 100], [60, 70, 120], [200, 200, 200]]], dtype=np.uint8)
    wanted = science.RGB_to_RGB(
        codes / 255, "Display P3", "sRGB", apply_cctf_decoding=True, apply_cctf_encoding=True
    )
    for kind, more in (("PNG", {}), ("TIFF", {}), ("WEBP", {"lossless": True})):
        got = opened(Image.fromarray(codes), kind, icc_profile=profile, **more)
        assert np.abs(got - wanted * 255).max() <= 1.6, kind
    assert opened(Image.new("RGB", (1, 1), (255, 0, 0)), icc_profile=profile)[0, 0].tolist() == [255, 0, 0]
    rgba = Image.fromarray(codes).convert("RGBA")
    np.testing.assert_array_equal(
        opened(rgba, icc_profile=profile), opened(rgba.convert("RGB"), icc_profile=profile)
    )


def _press_profile() -> bytes:
    """A profile of a made-up press: CMYK to Lab by sixteen corners (ICC.1:2001-04, lut8Type). Black takes all light."""
    corners = b""
    for c, m, y, k in product((0, 1), repeat=4):
        lightness = (255 - 60 * c - 80 * m - 20 * y) * (1 - k)
        corners += bytes(
            (max(0, lightness), 128 + (60 * m - 40 * c) * (1 - k), 128 + (70 * y - 40 * c) * (1 - k))
        )
    ramp = bytes(range(256))
    one = 65536
    body = b"mft1" + bytes(4) + bytes((4, 3, 2, 0)) + struct.pack(">9i", one, 0, 0, 0, one, 0, 0, 0, one)
    body += ramp * 4 + corners + ramp * 3
    tags = struct.pack(">I4sII", 1, b"A2B0", 144, len(body))
    head = struct.pack(">II", 144 + len(body), 0) + b"\x02\x40\0\0prtrCMYKLab " + bytes(12) + b"acsp"
    head += bytes(28) + struct.pack(">3i", 63190, 65536, 54061)  # the illuminant, D50
    return head.ljust(128, b"\0") + tags + body


@pytest.mark.parametrize("kind", ["TIFF", "JPEG"])
def test_cmyk_with_its_profile(kind: str) -> None:
    """A press's magenta by its profile: L* 68.6, a* 60, b* 0 against D50, brought to sRGB by the colour-science library."""
    profile = _press_profile()
    more = {"quality": 100} if kind == "JPEG" else {}
    lab = np.array([(255 - 80) / 2.55, 60, 0])
    white = science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    light = science.XYZ_to_sRGB(science.Lab_to_XYZ(lab, white), white)
    magenta = Image.new("CMYK", (16, 16), (0, 255, 0, 0))
    got = opened(magenta, kind, icc_profile=profile, **more)[8, 8]
    assert np.abs(got - np.clip(light, 0, 1) * 255).max() <= 4
    assert (opened(magenta, kind, **more)[8, 8] != got).any()
    assert opened(Image.new("CMYK", (16, 16)), kind, icc_profile=profile, **more).min() >= 253


def test_lab_is_brought_to_srgb() -> None:
    """L* 53.585 without chroma is code 128 (IEC 61966-2-1 and CIE 15); Pillow keeps Lab in 8 bits, a and b signed."""
    got = opened(Image.frombytes("LAB", (1, 1), bytes((137, 0, 0))), "TIFF")
    assert np.abs(got[0, 0].astype(int) - 128).max() <= 1


def test_a_grey_profile_is_heeded_with_and_without_opacity() -> None:
    """A grey profile of gamma 1: half the light is code 188."""
    curve = b"curv" + bytes(4) + struct.pack(">I", 0)  # ICC.1: no entries, the identity
    white = b"XYZ " + bytes(4) + struct.pack(">3i", 63190, 65536, 54061)
    at = 128 + 4 + 24
    tags = struct.pack(">I4sII4sII", 2, b"kTRC", at, len(curve), b"wtpt", at + len(curve), len(white))
    head = (
        struct.pack(">II", at + len(curve) + len(white), 0)
        + b"\x02\x40\0\0mntrGRAYXYZ "
        + bytes(12)
        + b"acsp"
    )
    head += bytes(28) + struct.pack(">3i", 63190, 65536, 54061)
    profile = head.ljust(128, b"\0") + tags + curve + white
    grey = Image.new("L", (4, 4), 128)
    for image in (grey, Image.merge("LA", (grey, Image.new("L", (4, 4), 255)))):
        assert np.abs(opened(image, icc_profile=profile).astype(int) - 188).max() <= 1
    deep = Image.fromarray(np.full((4, 4), 128 * 257, dtype=np.uint16))
    assert np.abs(opened(deep, icc_profile=profile).astype(int) - 188).max() <= 1


def test_steps_of_opacity_in_a_palette() -> None:
    image = Image.new("P", (3, 1))
    image.putpalette([0, 0, 0, 0, 0, 0, 200, 0, 0])
    for place in range(3):
        image.putpixel((place, 0), place)
    got = opened(image, transparency=bytes((0, 128, 255)))[0]
    assert got.tolist() == [[255] * 3, [127] * 3, [200, 0, 0]]


@pytest.mark.filterwarnings("ignore::UserWarning")  # Pillow's, for what it overlooks
def test_spoilt_words_of_a_camera_cost_no_picture() -> None:
    image = Image.new("RGB", (8, 8), (10, 20, 30))
    spoilt = b"Exif\0\0MM\0*" + struct.pack(">IHHHII", 8, 1, 0x0112, 3, 0xFFFFFFF, 0xFFFFFFFF)
    assert np.abs(opened(image, "JPEG", exif=spoilt, quality=95).astype(int) - (10, 20, 30)).max() <= 3


@pytest.mark.parametrize("length", [0, 1, 3, 200, 65535])
def test_a_jpeg_whose_parts_lie_about_their_length(length: int) -> None:
    whole = saved(Image.fromarray(noise(40, 40, 3)), "JPEG")
    for mark in (b"\xff\xdb", b"\xff\xc4", b"\xff\xda", b"\xff\xc0"):
        at = whole.index(mark) + 2
        lying = whole[:at] + struct.pack(">H", length) + whole[at + 2 :]
        try:
            got = open_picture(lying, name="x")
        except PictureError:
            continue
        assert got.shape == (40, 40, 3)


def _any_kind() -> dict[str, bytes]:
    image = Image.fromarray(noise(24, 31, 3))
    exif = Image.Exif()
    exif[0x0112] = 6
    return {
        "png": saved(image, "PNG", exif=exif),
        "moving png": saved(image, "PNG", save_all=True, append_images=[image.rotate(90)]),
        "jpeg": saved(image, "JPEG", exif=exif, progressive=True),
        "gif": saved(image, "GIF", save_all=True, append_images=[image.rotate(90)]),
        "webp": saved(image, "WEBP", exif=exif),
        "bmp": saved(image, "BMP"),
        "tiff": saved(image, "TIFF", compression="tiff_deflate"),
        "ppm": saved(image, "PPM"),
        "avif": saved(image, "AVIF", exif=exif),
    }


@pytest.mark.parametrize("kind", sorted(_any_kind()))
@pytest.mark.filterwarnings("ignore::UserWarning")  # Pillow's, for what it overlooks
def test_spoilt_bytes_give_a_picture_or_a_picture_error(kind: str) -> None:
    whole, chance = _any_kind()[kind], random.Random(kind)
    told = 0
    for _ in range(120):
        data = bytearray(whole)
        for _ in range(chance.choice((1, 2, 5, 20))):
            data[chance.randrange(min(len(data), chance.choice((200, len(data)))))] = chance.randrange(256)
        try:
            assert open_picture(bytes(data), name="x").dtype == np.uint8
        except PictureError:
            told += 1
    assert told


def test_fifty_thousand_pixels_wide_is_refused_by_its_head() -> None:
    wide = png(np.zeros((2, 50_000, 3), dtype=np.uint8), kind=2)
    with pytest.raises(PictureError, match="50000 x 2") as caught:
        open_picture(wide, name="wide.png")
    assert "16384" in caught.value.mend


def _in_a_child(work: str, data: bytes) -> str:
    """What a fresh process says that has ``data`` on its standard input. Its ``peak()`` is the most memory it held, bytes."""
    head = (
        "import sys, resource\n"
        "from wallbill.errors import PictureError\n"
        "from wallbill.inks.pictures import open_picture, prepare\n"
        "def peak():\n"
        "    rows = open('/proc/self/status').read().split('\\n')\n"
        "    return 1024 * int(next(row for row in rows if row.startswith('VmHWM')).split()[1])\n"
        "data = sys.stdin.buffer.read()\n"
        "before = peak()\n"
    )
    done = subprocess.run([sys.executable, "-c", head + work], input=data, capture_output=True, check=True)
    return done.stdout.decode().strip()


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "I;16"])
def test_a_large_picture_takes_no_more_than_sixteen_bytes_a_pixel(mode: str) -> None:
    size = (3000, 2000)
    image = Image.new(mode, size, 40_000 if mode == "I;16" else (90, 80, 200, 128)[: len(mode)])
    data = saved(image, "PNG", compress_level=1)
    said = _in_a_child("prepare(open_picture(data, name='x'), 800, 480)\nprint(peak() - before)", data)
    assert int(said) < 16 * size[0] * size[1] + len(data) + 20_000_000


def test_a_bomb_is_refused_in_no_memory_and_a_lack_of_memory_is_told() -> None:
    work = (
        "try:\n    open_picture(data, name='x')\n"
        "except PictureError as fault:\n    print(fault.what, peak() - before, sep='|')\n"
    )
    bomb = png(np.zeros((1, 1, 3), dtype=np.uint8), kind=2).replace(
        struct.pack(">II", 1, 1), struct.pack(">II", 60_000, 60_000), 1
    )
    head = bomb[12:29]
    bomb = bomb[:29] + struct.pack(">I", zlib.crc32(head)) + bomb[33:]
    said, taken = _in_a_child(work, bomb).split("|")
    assert said.startswith("too large")
    assert int(taken) < 5_000_000
    large = saved(Image.new("RGB", (7000, 7000)), "PNG", compress_level=1)
    tight = (
        "room = int(open('/proc/self/statm').read().split()[0]) * resource.getpagesize() + 100_000_000\n"
        "resource.setrlimit(resource.RLIMIT_AS, (room, room))\n"
    )
    assert _in_a_child(tight + work, large).startswith("too large")


def test_sizing_some_rows_at_a_time_is_sizing_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    rgb = noise(90, 70, 3).astype(np.uint8)
    box = (3.25, 10.5, 66.0, 81.75)
    at_once = resized(rgb, (31, 22), box)
    monkeypatch.setattr("wallbill.inks.pictures._AT_ONCE_PX", 70 * 7)
    np.testing.assert_array_equal(resized(rgb, (31, 22), box), at_once)
