"""Files: PNG, BMP and PBM against their standards and against Pillow's decoders."""

import io
import struct
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.inks import typical
from wallbill.inks import encoding
from wallbill.inks.impression import Impression, frozen_codes
from wallbill.inks.plates import plates
from wallbill.panels.model import Panel

PANELS = (typical.BW, typical.BWR, typical.BWRY, typical.SIX, typical.SEVEN, typical.SIXTEEN)


def _chunks(data: bytes) -> dict[bytes, bytes]:
    found, at = {}, 8
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + size]
        assert struct.unpack(">I", data[at + 8 + size : at + 12 + size])[0] == zlib.crc32(kind + body)
        found[kind] = body
        at += 12 + size
    return found


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(PANELS), st.integers(1, 70), st.integers(1, 30), st.integers(0, 99))
def test_png_comes_back_from_pillow(panel: Panel, width: int, height: int, seed: int) -> None:
    impression = typical.impression(panel, seed=seed, size=(width, height))
    data = encoding.encode_png(impression)
    with Image.open(io.BytesIO(data)) as image:
        image.load()
        np.testing.assert_array_equal(np.asarray(image), impression.codes)
        palette = image.getpalette() or []
    css = [part for ink in panel.inks for part in ink.css]
    assert palette[: len(css)] == css
    assert data == encoding.encode_png(impression)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(PANELS), st.integers(1, 70), st.integers(1, 30), st.integers(0, 99))
def test_bmp_comes_back_from_pillow(panel: Panel, width: int, height: int, seed: int) -> None:
    impression = typical.impression(panel, seed=seed, size=(width, height))
    with Image.open(io.BytesIO(encoding.encode_bmp(impression))) as image:
        assert image.size == (width, height)
        wanted = np.array([ink.css for ink in panel.inks], dtype=np.uint8)[impression.codes]
        np.testing.assert_array_equal(np.asarray(image.convert("RGB")), wanted)


@given(st.integers(1, 70), st.integers(1, 30), st.integers(0, 99))
@settings(max_examples=40, deadline=None)
def test_pbm_comes_back_from_pillow(width: int, height: int, seed: int) -> None:
    impression = typical.impression(typical.BW, seed=seed, size=(width, height))
    with Image.open(io.BytesIO(encoding.encode_pbm(impression))) as image:
        np.testing.assert_array_equal(np.asarray(image), impression.codes == 1)


def test_png_is_as_the_standard_has_it() -> None:
    """ISO/IEC 15948: signature; IHDR of a palette picture; the IEND chunk to the byte."""
    impression = typical.impression(typical.BWRY, size=(10, 2))
    data = encoding.encode_png(impression)
    assert data[:8].hex() == "89504e470d0a1a0a"
    assert data[-12:].hex() == "0000000049454e44ae426082"
    chunks = _chunks(data)
    assert list(chunks) == [b"IHDR", b"PLTE", b"IDAT", b"IEND"]
    assert chunks[b"IHDR"].hex() == "0000000a000000020203000000"  # 10 x 2, 2 bits, palette
    rows = zlib.decompress(chunks[b"IDAT"])
    assert len(rows) == 2 * (1 + 3)  # a filter byte and ceil(10 * 2 / 8) bytes
    assert rows[0] == rows[4] == 0


@pytest.mark.parametrize(
    ("panel", "bits"),
    [(typical.BW, 1), (typical.BWR, 2), (typical.BWRY, 2), (typical.SIX, 4), (typical.SIXTEEN, 4)],
)
def test_bits_of_a_pixel(panel: Panel, bits: int) -> None:
    assert _chunks(encoding.encode_png(typical.impression(panel)))[b"IHDR"][8] == bits


def test_png_states_the_pitch() -> None:
    chunks = _chunks(encoding.encode_png(typical.impression(typical.BW), pitch_mm=0.19))
    assert struct.unpack(">IIB", chunks[b"pHYs"]) == (5263, 5263, 1)  # pixels a metre: 1000 / 0.19


def test_greys_are_filtered_where_it_pays() -> None:
    ramp = np.arange(200)[None] // 8 % 16
    codes = frozen_codes((ramp + np.arange(300)[:, None] // 8) % 16)
    impression = Impression(codes, typical.GREYS)
    data = encoding.encode_png(impression)
    with Image.open(io.BytesIO(data)) as image:
        np.testing.assert_array_equal(np.asarray(image), codes)
    rows = zlib.decompress(_chunks(data)[b"IDAT"])
    assert {rows[i] for i in range(0, len(rows), 101)} - {0}


def test_pbm_is_as_netpbm_has_it() -> None:
    """pbm(5), P4: 1 is black. 10 x 2, white but for (0, 0) and (9, 1)."""
    codes = np.ones((2, 10), dtype=np.uint8)
    codes[0, 0] = codes[1, 9] = 0
    data = encoding.encode_pbm(Impression(frozen_codes(codes), typical.BW.inks))
    assert data == b"P4\n10 2\n" + bytes.fromhex("80000040")


def test_pbm_of_more_inks_is_the_black_plate() -> None:
    impression = typical.impression(typical.BWR)
    data = encoding.encode_pbm(impression)
    assert data.split(b"\n", 2)[2] == plates(impression)[0].bits
    swapped = Impression(impression.codes, (typical.WHITE, typical.BLACK, typical.RED))
    assert encoding.encode_pbm(swapped).split(b"\n", 2)[2] == plates(swapped)[1].bits


def test_plates_stand_one_after_the_other() -> None:
    impression = typical.impression(typical.BWR, size=(9, 3))
    data = encoding.encode_plates(impression)
    assert len(data) == 3 * 2 * 3
    assert data == b"".join(plate.bits for plate in plates(impression))


def test_bmp_rows_are_filled_up_to_four_bytes() -> None:
    data = encoding.encode_bmp(typical.impression(typical.SIX, size=(5, 3)))
    size, start = struct.unpack("<I", data[2:6])[0], struct.unpack("<I", data[10:14])[0]
    assert size == len(data)
    assert start == 14 + 40 + 6 * 4
    assert len(data) - start == 3 * 4


@pytest.mark.parametrize("window_bits", [9, 10, 15])
def test_deflated_plates_need_no_more_window_than_they_say(window_bits: int) -> None:
    """RFC 1950, 2.2: the high half of the first byte is the window's logarithm less 8."""
    made = typical.impression(typical.BWR, size=(296, 128))
    packed = encoding.deflate_plates(made, window_bits=window_bits)
    assert packed[0] >> 4 == window_bits - 8
    assert zlib.decompress(packed, wbits=window_bits) == encoding.encode_plates(made)
