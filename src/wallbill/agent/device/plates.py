"""Bits of plates, moved by the thousand: whole numbers as wide as a picture, tables of bytes, strides. Pure.

A plate is one ink's bits: rows from the top, most significant bit leftmost, each row filled up to a byte with zeros. A pixel
is set on exactly one of a picture's plates. No loop here runs over pixels, so a slow board packs a picture in well under a second.
"""

from __future__ import annotations

from typing import NamedTuple

_REVERSED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))
_INVERTED = bytes(255 - byte for byte in range(256))
_AS_TEXT = tuple(bytes(0x30 | (byte >> (7 - place) & 1) for byte in range(256)) for place in range(8))

Part = tuple[int, int, int, int]
"""Left, top, right and bottom in pixels; right and bottom lie outside."""


class Picture(NamedTuple):
    """A picture as its plates, one for each ink in the panel's order."""

    width_px: int
    height_px: int
    plates: tuple[bytes, ...]

    @property
    def stride_bytes(self) -> int:
        """Bytes in a row of a plate."""
        return -(-self.width_px // 8)


def split(data: bytes, *, width_px: int, height_px: int, inks: int) -> Picture:
    """A picture out of its plates in one piece. Raises `ValueError` for another length, or where a pixel has not just one ink."""
    length = -(-width_px // 8) * height_px
    if len(data) != length * inks:
        raise ValueError(f"{len(data)} bytes are not {inks} plates of {length}")
    picture = Picture(
        width_px, height_px, tuple(data[place * length : (place + 1) * length] for place in range(inks))
    )
    seen = 0
    for plate in picture.plates:
        bits = int.from_bytes(plate, "big")
        if seen & bits:
            raise ValueError("a pixel of two inks")
        seen |= bits
    if seen != int.from_bytes(full(picture), "big"):
        raise ValueError("a pixel of no ink, or ink beside the picture")
    return picture


def full(picture: Picture) -> bytes:
    """A plate on which every pixel of the picture is set."""
    bits, spare = picture.width_px, -picture.width_px % 8
    return (((1 << bits) - 1) << spare).to_bytes(picture.stride_bytes, "big") * picture.height_px


def union(plates: tuple[bytes, ...]) -> bytes:
    """All that is set on any of some plates of one size, of which there is at least one."""
    if len(plates) == 1:
        return plates[0]
    bits = 0
    for plate in plates:
        bits |= int.from_bytes(plate, "big")
    return bits.to_bytes(len(plates[0]), "big")


def inverted(plate: bytes) -> bytes:
    """A plate with each bit turned over, those beyond the rows' ends as well."""
    return plate.translate(_INVERTED)


def bits_reversed(plate: bytes) -> bytes:
    """A plate with the bits of each byte back to front."""
    return plate.translate(_REVERSED)


def turned(picture: Picture, rotation_deg: int, *, mirror: bool = False) -> Picture:
    """The picture turned clockwise by 0, 90, 180 or 270 degrees, and then mirrored left to right."""
    if rotation_deg % 180:
        picture = _transposed(picture)
        picture = _mirrored(picture) if rotation_deg == 90 else _flipped(picture)
    elif rotation_deg:
        picture = _half_turned(picture)
    return _mirrored(picture) if mirror else picture


def _half_turned(picture: Picture) -> Picture:
    """Bytes and their bits back to front; what filled the rows is then before them, and is shifted out."""
    spare = -picture.width_px % 8

    def turn(plate: bytes) -> bytes:
        back = bits_reversed(plate[::-1])
        return (int.from_bytes(back, "big") << spare).to_bytes(len(plate), "big") if spare else back

    return picture._replace(plates=tuple(turn(plate) for plate in picture.plates))


def _flipped(picture: Picture) -> Picture:
    """Top to bottom."""
    stride = picture.stride_bytes
    starts = range(len(picture.plates[0]) - stride, -1, -stride)
    return picture._replace(
        plates=tuple(
            b"".join([plate[start : start + stride] for start in starts]) for plate in picture.plates
        )
    )


def _mirrored(picture: Picture) -> Picture:
    return _flipped(_half_turned(picture))


def _transposed(picture: Picture) -> Picture:
    """Columns become rows. A column of binary digits is cut out of the text of a plate, and read as one number."""
    width_px, height_px = picture.width_px, picture.height_px
    across, spare = picture.stride_bytes * 8, -height_px % 8
    stride = -(-height_px // 8)

    def turn(plate: bytes) -> bytes:
        text = bytearray(len(plate) * 8)
        for place, table in enumerate(_AS_TEXT):
            text[place::8] = plate.translate(table)
        rows = [(int(text[column::across], 2) << spare).to_bytes(stride, "big") for column in range(width_px)]
        return b"".join(rows)

    return Picture(height_px, width_px, tuple(turn(plate) for plate in picture.plates))


def codes(picture: Picture, inks: tuple[int, ...], *, bits: int, low_first: bool = False) -> bytes:
    """Each pixel as a number of 1, 2, 4 or 8 bits, rows filled up to a byte with zeros, the leftmost in the high bits.

    ``inks``: the number of each ink. ``low_first``: the leftmost in the low bits.
    """
    each = 8 // bits
    stride = -(-picture.width_px * bits // 8)
    length = picture.stride_bytes * bits * picture.height_px
    total = 0
    for plate, code in zip(picture.plates, inks):
        if code:
            row = bytearray(length)
            for place in range(bits):
                row[place::bits] = plate.translate(
                    _spread_table(code, bits, place * each, low_first=low_first)
                )
            total |= int.from_bytes(row, "big")
    return trimmed(total.to_bytes(length, "big"), picture.stride_bytes * bits, stride)


def _spread_table(code: int, bits: int, start: int, *, low_first: bool) -> bytes:
    """For each byte of a plate, the byte of codes that its bits from ``start`` on make."""
    each = 8 // bits
    table = bytearray(256)
    for byte in range(256):
        for place in range(each):
            if byte >> (7 - start - place) & 1:
                shift = place * bits if low_first else 8 - bits * (place + 1)
                table[byte] |= code << shift
    return bytes(table)


def from_codes(data: bytes, *, width_px: int, height_px: int, bits: int, inks: int) -> Picture:
    """A picture out of the numbers that `codes` gives with the leftmost in the high bits; a number is an ink's place.

    Raises `ValueError` for another length, or for a number that is no ink's.
    """
    stride = -(-width_px * bits // 8)
    if len(data) != stride * height_px:
        raise ValueError(f"{len(data)} bytes are not {height_px} rows of {stride}")
    plate_stride = -(-width_px // 8)
    data = trimmed(data, stride, plate_stride * bits)
    plates = tuple(_gathered(data, code, bits=bits) for code in range(inks))
    picture = Picture(width_px, height_px, plates)
    rim = full(picture)
    bounds = int.from_bytes(rim, "big")
    plates = tuple((int.from_bytes(plate, "big") & bounds).to_bytes(len(plate), "big") for plate in plates)
    return split(b"".join(plates), width_px=width_px, height_px=height_px, inks=inks)


def _gathered(data: bytes, code: int, *, bits: int) -> bytes:
    """The plate of one number out of codes whose rows are whole bytes of a plate."""
    each = 8 // bits
    mask = (1 << bits) - 1
    total = 0
    for place in range(bits):
        table = bytes(
            sum(
                (byte >> (8 - bits * (at + 1)) & mask == code) << (7 - place * each - at)
                for at in range(each)
            )
            for byte in range(256)
        )
        total |= int.from_bytes(data[place::bits].translate(table), "big")
    return total.to_bytes(len(data) // bits, "big")


def trimmed(data: bytes, stride_bytes: int, wanted_bytes: int, *, fill: int = 0) -> bytes:
    """Rows of ``stride_bytes`` cut or filled up with the byte ``fill`` to ``wanted_bytes``."""
    if stride_bytes == wanted_bytes:
        return data
    more = bytes([fill]) * max(0, wanted_bytes - stride_bytes)
    return b"".join(
        [
            data[start : start + min(stride_bytes, wanted_bytes)] + more
            for start in range(0, len(data), stride_bytes)
        ]
    )


def changed_part(one: Picture, other: Picture) -> Part | None:
    """The smallest part that holds every pixel that differs, its sides on whole bytes of a plate; None where none does.

    Both have one size and as many inks.
    """
    stride = one.stride_bytes
    differing = 0
    for here, there in zip(one.plates, other.plates):
        differing |= int.from_bytes(here, "big") ^ int.from_bytes(there, "big")
    if not differing:
        return None
    bits = differing.to_bytes(stride * one.height_px, "big")
    top = (len(bits) - len(bits.lstrip(b"\0"))) // stride
    bottom = -(-len(bits.rstrip(b"\0")) // stride)
    row = 0
    for start in range(top * stride, bottom * stride, stride):
        row |= int.from_bytes(bits[start : start + stride], "big")
    across = row.to_bytes(stride, "big")
    left = len(across) - len(across.lstrip(b"\0"))
    right = len(across.rstrip(b"\0"))
    return left * 8, top, min(right * 8, one.width_px), bottom


def turned_part(part: Part, picture: Picture, rotation_deg: int, *, mirror: bool = False) -> Part:
    """Where a part of a picture lies after `turned`."""
    left, top, right, bottom = part
    width_px, height_px = picture.width_px, picture.height_px
    if rotation_deg == 90:
        left, top, right, bottom = height_px - bottom, left, height_px - top, right
    elif rotation_deg == 180:
        left, top, right, bottom = width_px - right, height_px - bottom, width_px - left, height_px - top
    elif rotation_deg == 270:
        left, top, right, bottom = top, width_px - right, bottom, width_px - left
    if mirror:
        across = height_px if rotation_deg % 180 else width_px
        left, right = across - right, across - left
    return left, top, right, bottom
