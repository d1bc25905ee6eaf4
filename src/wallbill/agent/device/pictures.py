"""Pictures as files: indexed PNG read and written, BMP written. Pure.

Source: PNG, ISO/IEC 15948; BMP: Windows BITMAPINFOHEADER, from memory.
"""

from __future__ import annotations

import struct
import zlib

from wallbill.agent.device.plates import Picture, codes, from_codes

Css = tuple[int, int, int]
"""An sRGB colour, three numbers of 0 to 255."""

_MAGIC = b"\x89PNG\r\n\x1a\n"


def _bits_for(inks: int) -> int:
    return 1 if inks <= 2 else 2 if inks <= 4 else 4


def png_of(picture: Picture, colours: tuple[Css, ...]) -> bytes:
    """An indexed PNG; ``colours``: of the inks, in their order."""
    bits = _bits_for(len(colours))
    stride = -(-picture.width_px * bits // 8)
    data = codes(picture, tuple(range(len(colours))), bits=bits)
    rows = b"".join([b"\0" + data[start : start + stride] for start in range(0, len(data), stride)])
    head = struct.pack(">IIBBBBB", picture.width_px, picture.height_px, bits, 3, 0, 0, 0)
    palette = bytes(part for colour in colours for part in colour)
    chunks = ((b"IHDR", head), (b"PLTE", palette), (b"IDAT", zlib.compress(rows, 6)), (b"IEND", b""))
    return _MAGIC + b"".join(
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )


def bmp_of(picture: Picture, colours: tuple[Css, ...]) -> bytes:
    """An indexed BMP of 1 bit (two inks) or 4 bits, uncompressed, rows from the bottom up."""
    bits = 1 if len(colours) <= 2 else 4
    stride = -(-picture.width_px * bits // 8)
    data = codes(picture, tuple(range(len(colours))), bits=bits)
    spare = bytes(-stride % 4)
    body = b"".join(
        [data[start : start + stride] + spare for start in range(len(data) - stride, -1, -stride)]
    )
    palette = b"".join(bytes((*colour[::-1], 0)) for colour in colours)
    start = 14 + 40 + len(palette)
    info = struct.pack(
        "<IiiHHIIiiII", 40, picture.width_px, picture.height_px, 1, bits, 0, len(body), 0, 0, len(colours), 0
    )
    return b"BM" + struct.pack("<IHHI", start + len(body), 0, 0, start) + info + palette + body


def read_png(data: bytes, colours: tuple[Css, ...], *, width_px: int, height_px: int) -> Picture:
    """The picture in an indexed PNG whose palette is the inks' ``colours``, in their order, and whose size is the panel's.

    Raises `ValueError` for anything else: another kind, size or palette, a cut file, a wrong checksum.
    """
    palette = b""
    body = []
    bits = 0
    for kind, chunk in _chunks(data):
        if kind == b"IHDR":
            bits = _depth(chunk, (width_px, height_px))
        elif kind == b"PLTE":
            palette = chunk
        elif kind == b"IDAT":
            body.append(chunk)
    if palette != bytes(part for colour in colours for part in colour):
        raise ValueError("a PNG with other inks")
    stride = 1 + -(-width_px * bits // 8)
    unpacker = zlib.decompressobj()
    try:
        rows = unpacker.decompress(b"".join(body), stride * height_px + 1)
    except zlib.error as error:
        raise ValueError("a PNG that cannot be unpacked") from error
    if len(rows) != stride * height_px or not unpacker.eof:
        raise ValueError("a PNG with too few or too many rows")
    plain = _unfiltered(rows, stride)
    return from_codes(plain, width_px=width_px, height_px=height_px, bits=bits, inks=len(colours))


def _chunks(data: bytes) -> list[tuple[bytes, bytes]]:
    if data[:8] != _MAGIC:
        raise ValueError("no PNG")
    found: list[tuple[bytes, bytes]] = []
    at = 8
    while not found or found[-1][0] != b"IEND":
        if at + 12 > len(data):
            raise ValueError("a PNG that is cut")
        (length,) = struct.unpack_from(">I", data, at)
        kind, chunk = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        if data[at + 8 + length : at + 12 + length] != struct.pack(">I", zlib.crc32(kind + chunk)):
            raise ValueError("a PNG with a wrong checksum")
        found.append((kind, chunk))
        at += 12 + length
    return found


def _depth(head: bytes, size_px: tuple[int, int]) -> int:
    """Bits of a pixel, out of the first chunk."""
    if len(head) != 13:
        raise ValueError("no PNG")
    width_px, height_px, bits, *rest = struct.unpack(">IIBBBBB", head)
    if (width_px, height_px) != size_px:
        raise ValueError(f"a picture of {width_px} x {height_px}")
    if bits not in (1, 2, 4, 8) or rest != [3, 0, 0, 0]:
        raise ValueError("a PNG that is not indexed")
    return int(bits)


def _unfiltered(rows: bytes, stride: int) -> bytes:
    """Rows without their filter bytes. Pages are mostly stored unfiltered, which takes no time."""
    kinds = rows[::stride]
    if not kinds.strip(b"\0"):
        return b"".join([rows[start + 1 : start + stride] for start in range(0, len(rows), stride)])
    above = bytes(stride - 1)
    found = []
    for start, kind in zip(range(0, len(rows), stride), kinds):
        row = rows[start + 1 : start + stride]
        above = _row(kind, row, above)
        found.append(above)
    return b"".join(found)


def _row(kind: int, row: bytes, above: bytes) -> bytes:
    """One row out of its differences; pixels are at most a byte, so the one to the left is the byte before."""
    if kind == 0:
        return row
    if kind == 2:
        return bytes([(one + other) & 255 for one, other in zip(row, above)])
    if kind not in (1, 3, 4):
        raise ValueError("a PNG with an unknown filter")
    found = bytearray()
    left = corner = 0
    for value, up in zip(row, above):
        guess = left if kind == 1 else (left + up) >> 1 if kind == 3 else _paeth(left, up, corner)
        left = (value + guess) & 255
        corner = up
        found.append(left)
    return bytes(found)


def _paeth(left: int, up: int, corner: int) -> int:
    guess = left + up - corner
    far = abs(guess - left), abs(guess - up), abs(guess - corner)
    return left if far[0] <= far[1] and far[0] <= far[2] else up if far[1] <= far[2] else corner
