"""Plates and packed codes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.inks import typical
from wallbill.inks import plates as made
from wallbill.inks.impression import Codes, Impression, frozen_codes
from wallbill.panels.model import Panel

PANELS = (typical.BW, typical.BWR, typical.SIX, typical.SEVEN, typical.SIXTEEN)


def _plain_pack(codes: Codes, bits: int) -> bytes:
    """A twin that packs one pixel at a time."""
    out = bytearray()
    for row in codes:
        text = "".join(f"{code:0{bits}b}" for code in row)
        text += "0" * (-len(text) % 8)
        out += bytes(int(text[i : i + 8], 2) for i in range(0, len(text), 8))
    return bytes(out)


@given(st.sampled_from(PANELS), st.integers(1, 40), st.integers(1, 12), st.integers(0, 99))
def test_plates_partition_the_pixels(panel: Panel, width: int, height: int, seed: int) -> None:
    impression = typical.impression(panel, seed=seed, size=(width, height))
    every = made.plates(impression)
    assert [plate.name for plate in every] == [ink.name for ink in panel.inks]
    planes = np.stack([plate.unpack() for plate in every])
    assert (planes.sum(axis=0) == 1).all()
    np.testing.assert_array_equal(planes.argmax(axis=0), impression.codes)
    for place, plate in enumerate(every):
        assert plate.stride == -(-width // 8)
        assert plate.bits == _plain_pack((impression.codes == place).astype(np.uint8), 1)


@given(st.sampled_from((1, 2, 4, 8)), st.integers(1, 30), st.integers(1, 8), st.integers(0, 99))
def test_packed_codes_come_back(bits: int, width: int, height: int, seed: int) -> None:
    codes = np.random.default_rng(seed).integers(0, 1 << bits, (height, width)).astype(np.uint8)
    data = made.pack_codes(codes, bits=bits)
    assert data == _plain_pack(codes, bits)
    np.testing.assert_array_equal(made.unpack_codes(data, (width, height), bits=bits), codes)


# Bytes in a row, PNG (ISO/IEC 15948, 7.2): ceil(width * bits / 8).
@pytest.mark.parametrize(
    ("width", "bits", "stride"),
    [(1, 1, 1), (9, 1, 2), (10, 1, 2), (800, 1, 100), (801, 1, 101), (10, 2, 3), (7, 4, 4), (5, 4, 3)],
)
def test_rows_are_filled_up_to_bytes(width: int, bits: int, stride: int) -> None:
    assert made.packed_rows(np.zeros((3, width), dtype=np.uint8), bits=bits).shape == (3, stride)


def test_the_leftmost_pixel_is_the_high_bit() -> None:
    codes = frozen_codes(np.array([[1, 0, 0, 0, 0, 0, 0, 0, 1, 0]]))
    black, white = made.plates(Impression(codes, (typical.WHITE, typical.BLACK)))
    assert black.bits.hex() == "7f40"
    assert white.bits.hex() == "8080"


def test_what_does_not_fit_is_refused() -> None:
    codes = np.array([[0, 3]], dtype=np.uint8)
    with pytest.raises(ValueError, match="more than 1 bits"):
        made.pack_codes(codes, bits=1)
    with pytest.raises(ValueError, match="not 3"):
        made.pack_codes(codes, bits=3)
    with pytest.raises(ValueError, match="hold no"):
        made.unpack_codes(b"123", (4, 4), bits=1)
    with pytest.raises(ValueError, match="hold no"):
        made.Plate("black", b"12", 1, 8, 3)
