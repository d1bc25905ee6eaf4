"""Plates: the bit plane of each ink, packed as panels read them."""

from dataclasses import dataclass

import numpy as np

from wallbill.inks.impression import Codes, Impression, Mask


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """One ink's bits. A set bit is a pixel of this ink.

    ``bits``: rows one after the other, most significant bit first, each row filled up to a byte with zeros.
    ``stride``: bytes in a row. ``width_px``, ``height_px``: pixels.
    """

    name: str
    bits: bytes
    stride: int
    width_px: int
    height_px: int

    def __post_init__(self) -> None:
        if self.stride != -(-self.width_px // 8) or len(self.bits) != self.stride * self.height_px:
            raise ValueError(
                f"{len(self.bits)} bytes in rows of {self.stride} hold no {self.width_px} x {self.height_px} pixels"
            )

    def unpack(self) -> Mask:
        """True where the plate has ink: bool, shape (height, width)."""
        rows = np.frombuffer(self.bits, dtype=np.uint8).reshape(self.height_px, self.stride)
        return np.unpackbits(rows, axis=1, count=self.width_px).astype(np.bool_)


def plates(impression: Impression) -> tuple[Plate, ...]:
    """The plate of each ink, in the panel's order. Every pixel is set on exactly one."""
    return tuple(plate(impression, place) for place in range(len(impression.inks)))


def plate(impression: Impression, place: int) -> Plate:
    """The plate of the ink at ``place`` in the panel's list. Raises `IndexError` where there is none."""
    name = impression.inks[place].name
    width_px, height_px = impression.width_px, impression.height_px
    bits = np.packbits(impression.codes == place, axis=1)
    return Plate(name, bits.tobytes(), -(-width_px // 8), width_px, height_px)


def pack_codes(codes: Codes, *, bits: int) -> bytes:
    """Codes of 1, 2 or 4 bits each, leftmost pixel in the high bits, rows filled up to a byte with zeros.

    ``codes``: uint8 (height, width). Raises `ValueError` if a code needs more bits.
    """
    return packed_rows(codes, bits=bits).tobytes()


def packed_rows(codes: Codes, *, bits: int) -> Codes:
    """As `pack_codes`: uint8, shape (height, bytes in a row)."""
    if bits not in {1, 2, 4, 8}:
        raise ValueError(f"pixels are packed in 1, 2, 4 or 8 bits, not {bits}")
    if codes.size and int(codes.max()) >> bits:
        raise ValueError(f"code {int(codes.max())} needs more than {bits} bits")
    if bits == 8:
        return codes
    if bits == 1:
        return np.packbits(codes, axis=1)
    each = 8 // bits
    rows = codes
    if codes.shape[1] % each:
        rows = np.pad(codes, ((0, 0), (0, -codes.shape[1] % each)))
    result = np.zeros((codes.shape[0], rows.shape[1] // each), dtype=np.uint8)
    for place in range(each):
        result |= rows[:, place::each] << np.uint8(8 - bits * (place + 1))
    return result


def unpack_codes(data: bytes, size_px: tuple[int, int], *, bits: int) -> Codes:
    """The codes of `pack_codes`: uint8 (height, width). ``size_px``: width and height.

    Raises `ValueError` if ``data`` has another length.
    """
    width_px, height_px = size_px
    stride = -(-width_px * bits // 8)
    if len(data) != stride * height_px:
        raise ValueError(f"{len(data)} bytes hold no {width_px} x {height_px} pixels of {bits} bits")
    rows = np.frombuffer(data, dtype=np.uint8).reshape(height_px, stride)
    mask = np.uint8((1 << bits) - 1)
    parts = [(rows >> np.uint8(8 - bits * (place + 1))) & mask for place in range(8 // bits)]
    return np.stack(parts, axis=-1).reshape(height_px, -1)[:, :width_px]
