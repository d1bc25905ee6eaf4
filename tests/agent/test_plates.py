"""Bits moved by the thousand, held against NumPy pixel by pixel, and against the server's own encoders."""

import io
import struct
import zlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from wallbill.agent.device.choosing import FULL, Refresh, refresh_for
from wallbill.agent.device.marking import marked, pattern
from wallbill.agent.device.packing import Packing, Plane, pack, usual_packing
from wallbill.agent.device.pictures import bmp_of, png_of, read_png
from wallbill.agent.device.plates import (
    Picture,
    changed_part,
    codes,
    from_codes,
    split,
    turned,
    turned_part,
)
from wallbill.inks.encoding import encode_bmp, encode_plates, encode_png
from wallbill.inks.impression import Impression, frozen_codes
from wallbill.inks.plates import pack_codes
from wallbill.inks.scanning import scanned_part
from wallbill.panels.model import Ink

Codes = NDArray[np.uint8]

sizes = st.tuples(st.integers(1, 70), st.integers(1, 40))
rotations = st.sampled_from([0, 90, 180, 270])


def drawn(width_px: int, height_px: int, inks: int, seed: int = 1) -> Codes:
    return np.random.default_rng(seed).integers(0, inks, (height_px, width_px), dtype=np.uint8)


def picture_of(values: Codes, inks: int) -> Picture:
    height_px, width_px = values.shape
    plates = b"".join(np.packbits(values == ink, axis=1).tobytes() for ink in range(inks))
    return split(plates, width_px=width_px, height_px=height_px, inks=inks)


def values_of(picture: Picture) -> Codes:
    values = np.zeros((picture.height_px, picture.width_px), dtype=np.uint8)
    for ink, plate in enumerate(picture.plates):
        rows = np.frombuffer(plate, dtype=np.uint8).reshape(picture.height_px, -1)
        values[np.unpackbits(rows, axis=1, count=picture.width_px).astype(bool)] = ink
    return values


def turned_values(values: Codes, rotation_deg: int, *, mirror: bool) -> Codes:
    found = np.rot90(values, -rotation_deg // 90)  # NumPy turns against the clock
    return np.ascontiguousarray(found[:, ::-1] if mirror else found)


@given(sizes, st.integers(2, 7), rotations, st.booleans())
def test_turning_is_numpys(size: tuple[int, int], inks: int, rotation_deg: int, mirror: bool) -> None:  # noqa: FBT001  hypothesis gives by place
    values = drawn(*size, inks)
    found = turned(picture_of(values, inks), rotation_deg, mirror=mirror)
    wanted = turned_values(values, rotation_deg, mirror=mirror)
    assert found == picture_of(wanted, inks)  # spare bits are zero as well


@given(sizes, st.sampled_from([(2, 1), (3, 2), (4, 2), (7, 4), (16, 4), (16, 8)]))
def test_codes_are_the_servers(size: tuple[int, int], kind: tuple[int, int]) -> None:
    inks, bits = kind
    values = drawn(*size, inks)
    data = codes(picture_of(values, inks), tuple(range(inks)), bits=bits)
    assert data == pack_codes(values, bits=bits)
    assert from_codes(data, width_px=size[0], height_px=size[1], bits=bits, inks=inks) == picture_of(
        values, inks
    )


def test_codes_of_other_numbers_and_order() -> None:
    values = np.array([[0, 1, 2, 3, 1]], dtype=np.uint8)
    picture = picture_of(values, 4)
    assert codes(picture, (5, 0, 10, 15), bits=4).hex() == "50af00"
    assert codes(picture, (5, 0, 10, 15), bits=4, low_first=True).hex() == "05fa00"
    assert codes(picture, (3, 2, 1, 0), bits=2).hex() == "e480"  # 3 2 1 0, 2
    assert codes(picture, (3, 2, 1, 0), bits=2, low_first=True).hex() == "1b02"


def test_what_is_no_picture_is_refused() -> None:
    with pytest.raises(ValueError, match="3 bytes are not 2 plates"):
        split(b"abc", width_px=8, height_px=1, inks=2)
    with pytest.raises(ValueError, match="two inks"):
        split(b"\xff\x01", width_px=8, height_px=1, inks=2)
    with pytest.raises(ValueError, match="no ink"):
        split(b"\xf0\x01", width_px=8, height_px=1, inks=2)
    with pytest.raises(ValueError, match="beside the picture"):
        split(b"\xf0\x0f", width_px=7, height_px=1, inks=2)
    with pytest.raises(ValueError, match="no ink"):
        from_codes(b"\x30", width_px=1, height_px=1, bits=4, inks=3)


@given(sizes, st.integers(0, 2**32 - 1), rotations, st.booleans())
def test_the_changed_part_holds_all_that_differs(
    size: tuple[int, int],
    seed: int,
    rotation_deg: int,
    mirror: bool,  # noqa: FBT001  hypothesis gives by place
) -> None:
    width_px, height_px = size
    values = drawn(width_px, height_px, 3)
    random = np.random.default_rng(seed)
    other = values.copy()
    for _ in range(int(random.integers(0, 3))):
        other[random.integers(height_px), random.integers(width_px)] = random.integers(3)
    part = changed_part(picture_of(values, 3), picture_of(other, 3))
    differs = values != other
    if not differs.any():
        assert part is None
        return
    assert part is not None
    rows, columns = np.nonzero(differs.any(axis=1))[0], np.nonzero(differs.any(axis=0))[0]
    wanted_right = min((columns[-1] // 8 + 1) * 8, width_px)
    assert part == (columns[0] // 8 * 8, rows[0], wanted_right, rows[-1] + 1)
    inside = np.zeros_like(differs)
    inside[part[1] : part[3], part[0] : part[2]] = True
    there = turned_part(part, picture_of(values, 3), rotation_deg, mirror=mirror)
    moved = turned_values(inside.astype(np.uint8), rotation_deg, mirror=mirror)
    at = np.zeros_like(moved)
    at[there[1] : there[3], there[0] : there[2]] = 1
    assert (moved == at).all()


def test_parts_turn_as_the_server_turns_them() -> None:
    picture = picture_of(drawn(40, 24, 2), 2)
    for back, forth in ((90, 270), (180, 180), (270, 90)):
        assert turned_part((8, 3, 16, 9), picture, forth) == scanned_part((8, 3, 16, 9), (40, 24), back)


def _inks(count: int) -> tuple[Ink, ...]:
    return tuple(
        Ink(f"ink-{place}", (place * 255 // (count - 1), place * 9, 255 - place), (float(place), 0.0, 0.0))
        for place in range(count)
    )


@pytest.mark.parametrize("count", [2, 3, 4, 7, 16])
def test_files_are_read_and_written_as_the_server_does(count: int) -> None:
    inks = _inks(count)
    colours = tuple(ink.css for ink in inks)
    smooth = (np.add.outer(np.arange(50), np.arange(83)) // 3 % count).astype(np.uint8)
    for values in (drawn(83, 50, count), smooth):
        impression = Impression(frozen_codes(values), inks)
        picture = split(encode_plates(impression), width_px=83, height_px=50, inks=count)
        assert read_png(encode_png(impression), colours, width_px=83, height_px=50) == picture
        assert bmp_of(picture, colours) == encode_bmp(impression)
        with Image.open(io.BytesIO(png_of(picture, colours))) as image:
            assert (np.array(image) == values).all()
            palette = image.getpalette() or []
            assert palette[: 3 * count] == [part for colour in colours for part in colour]


@pytest.mark.parametrize("method", range(5))
def test_every_filter_of_png_is_read(method: int) -> None:
    """Filters after PNG, ISO/IEC 15948, 9.2, written here the long way round; Pillow is the judge."""
    count, width_px, height_px = 16, 21, 9
    values = drawn(width_px, height_px, count)
    rows = [
        bytes(row) for row in np.frombuffer(pack_codes(values, bits=4), dtype=np.uint8).reshape(height_px, -1)
    ]
    above = bytes(len(rows[0]))
    data = b""
    for row in rows:
        data += bytes([method]) + bytes(
            (value - _guess(method, row[at - 1] if at else 0, above[at], above[at - 1] if at else 0)) & 255
            for at, value in enumerate(row)
        )
        above = row
    colours = tuple(ink.css for ink in _inks(count))
    chunks = {
        b"IHDR": struct.pack(">IIBBBBB", width_px, height_px, 4, 3, 0, 0, 0),
        b"PLTE": bytes(part for colour in colours for part in colour),
        b"IDAT": zlib.compress(data),
        b"IEND": b"",
    }
    png = b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks.items()
    )
    with Image.open(io.BytesIO(png)) as image:
        assert (np.array(image) == values).all()
    assert read_png(png, colours, width_px=width_px, height_px=height_px) == picture_of(values, count)


def _guess(method: int, left: int, up: int, corner: int) -> int:
    paeth = min((left, up, corner), key=lambda one: abs(left + up - corner - one))
    return (0, left, up, (left + up) // 2, paeth)[method]


def test_a_png_that_is_no_picture_of_ours_is_refused() -> None:
    inks = _inks(4)
    colours = tuple(ink.css for ink in inks)
    good = encode_png(Impression(frozen_codes(drawn(16, 8, 4)), inks))
    spoilt = {
        "no PNG": b"GIF89a" + good,
        "cut": good[:-5],
        "checksum": good.replace(b"PLTE\x00", b"PLTE\x01"),
    }
    for told, data in spoilt.items():
        with pytest.raises(ValueError, match=told):
            read_png(data, colours, width_px=16, height_px=8)
    with pytest.raises(ValueError, match="16 x 8"):
        read_png(good, colours, width_px=8, height_px=16)
    with pytest.raises(ValueError, match="other inks"):
        read_png(good, colours[::-1], width_px=16, height_px=8)
    whole = io.BytesIO()
    Image.new("RGB", (16, 8)).save(whole, "PNG")
    with pytest.raises(ValueError, match="not indexed"):
        read_png(whole.getvalue(), colours, width_px=16, height_px=8)


def test_planes_are_packed_as_told() -> None:
    values = np.array([[0, 1, 2, 0, 1, 1, 1, 1, 2, 0]], dtype=np.uint8)
    picture = picture_of(values, 3)
    names = ("black", "white", "red")
    usual = pack(picture, usual_packing(names), names)
    assert usual.names == ("black", "red")
    assert usual.one_means == ("paper", "ink")
    # black: 1 is everything but black, bits to spare are 0; red: 1 is red
    assert [plane.hex() for plane in usual.planes] == ["6f80", "2080"]
    filled = pack(picture, usual_packing(names)._replace(fill=1, row_bytes=4), names)
    assert [plane.hex() for plane in filled.planes] == ["6fbfffff", "20bfffff"]
    assert filled.stride_bytes == 4
    low = pack(picture, usual_packing(names)._replace(low_first=True), names)
    assert [plane.hex() for plane in low.planes] == ["f601", "0401"]
    both = pack(picture, Packing(planes=(Plane("dark", ("black", "red")),)), names)
    assert both.planes[0].hex() == "b0c0"
    upright = pack(picture, usual_packing(names)._replace(rotation_deg=90), names)
    assert (upright.width_px, upright.height_px, upright.stride_bytes) == (1, 10, 1)


@pytest.mark.parametrize(
    ("inks", "bits", "planes"),
    [
        (("black", "white"), 1, ["black"]),
        (("white", "black", "red"), 1, ["black", "red"]),
        (("blue", "cream"), 1, ["cream"]),
        (("black", "white", "red", "yellow"), 2, []),
        (("black", "grey-1", "grey-2", "white"), 2, []),
        (tuple("abcdefg"), 4, []),
    ],
)
def test_usual_packings(inks: tuple[str, ...], bits: int, planes: list[str]) -> None:
    found = usual_packing(inks)
    assert found.bits == bits
    assert [plane.name for plane in found.planes] == planes
    assert len(found.codes) == (0 if bits == 1 else len(inks))


def test_refreshes_are_as_gentle_as_they_may_be() -> None:
    modes = ("full", "fast", "partial")
    one = picture_of(drawn(64, 40, 2), 2)
    values = values_of(one)
    values[4:9, 17:30] ^= 1
    little = picture_of(values, 2)
    much = picture_of(1 - values_of(one), 2)
    assert refresh_for(None, one, modes=modes, since_full=0, full_every=10) == FULL
    assert refresh_for(one, little, modes=modes, since_full=8, full_every=10) == Refresh(
        "partial", (16, 4, 32, 9)
    )
    assert refresh_for(one, little, modes=modes, since_full=9, full_every=10) == FULL
    assert refresh_for(one, much, modes=modes, since_full=0, full_every=10) == Refresh("fast")
    assert refresh_for(one, much, modes=("full", "partial"), since_full=0, full_every=10) == FULL
    assert refresh_for(one, little, modes=("full",), since_full=0, full_every=10) == FULL


def test_the_mark_lies_in_the_lower_right_corner_and_nowhere_else() -> None:
    values = drawn(163, 96, 3)
    found = values_of(marked(picture_of(values, 3), (0, 1)))
    differs = found != values
    rows, columns = np.nonzero(differs.any(axis=1))[0], np.nonzero(differs.any(axis=0))[0]
    assert rows[0] >= 80
    assert columns[0] >= 147
    corner = found[80:, 147:]
    assert set(np.unique(corner)) == {0, 1}
    assert (corner[0] == 0).all()  # its frame is dark
    assert (corner[-1] == 0).all()
    assert 0.2 < (corner == 0).mean() < 0.6
    for turned_deg in (90, 180, 270):  # it stands upright in the corner as the panel hangs
        page = turned_values(values, turned_deg, mirror=False)
        hung = values_of(marked(picture_of(values, 3), (0, 1), turned_deg=turned_deg))
        seen = turned_values(hung, turned_deg, mirror=False)
        assert (seen[-16:, -16:] == corner).all()
        assert (seen != page).sum() == (seen[-16:, -16:] != page[-16:, -16:]).sum()


@given(sizes, st.integers(2, 7))
def test_the_pattern_has_every_ink_and_no_symmetry(size: tuple[int, int], inks: int) -> None:
    width_px, height_px = size
    picture = pattern(width_px, height_px, inks=inks, dark=0, light=1)
    values = values_of(picture)
    split(b"".join(picture.plates), width_px=width_px, height_px=height_px, inks=inks)
    for side in (values[0], values[-1], values[:, 0], values[:, -1]):
        assert (side == 0).all()
    if min(size) >= 24:
        assert set(np.unique(values)) == set(range(inks))
        ways = {
            turned_values(values, turn, mirror=mirror).tobytes() + bytes([turn // 90 % 2])
            for turn in (0, 90, 180, 270)
            for mirror in (False, True)
        }
        assert len(ways) == 8
