"""Impressions as files: PNG, BMP, PBM and bare plates. The same impression gives the same bytes."""

import struct
import zlib
from collections.abc import Sequence

import numpy as np

from wallbill.inks.colour import lightness
from wallbill.inks.impression import Codes, Impression
from wallbill.inks.inkset import measured_xyz
from wallbill.inks.plates import packed_rows, plate, plates

MM_PER_M = 1000
_PNG_MAGIC = b"\x89PNG\r\n\x1a\n"
_FILTERED_FROM = 8  # inks: from here up smoothed tones abound, and row filters pay (benchmarks/inks_files.py)


def bits_for(inks: int) -> int:
    """Bits that a pixel of so many inks takes in a file: 1, 2 or 4."""
    return 1 if inks <= 2 else 2 if inks <= 4 else 4


def encode_png(impression: Impression, *, pitch_mm: float | None = None) -> bytes:
    """An indexed PNG of 1, 2 or 4 bits whose palette is the inks' CSS colours and whose indices are the codes.

    ``pitch_mm``: distance of pixels, written as pHYs if given. The smallest of a few ways to pack the rows is taken
    (docs/decisions/0153). Source: PNG, ISO/IEC 15948.
    """
    bits = bits_for(len(impression.inks))
    rows = packed_rows(impression.codes, bits=bits)
    body = _smallest(rows, filtered=len(impression.inks) >= _FILTERED_FROM)
    colours = bytes(part for ink in impression.inks for part in ink.css)
    chunks = [_head(impression.codes, bits=bits), _chunk(b"PLTE", colours)]
    if pitch_mm is not None:
        per_m = round(MM_PER_M / pitch_mm)
        chunks.append(_chunk(b"pHYs", struct.pack(">IIB", per_m, per_m, 1)))
    return _PNG_MAGIC + b"".join((*chunks, _chunk(b"IDAT", body), _chunk(b"IEND", b"")))


def quick_png(codes: Codes, colours: Sequence[tuple[int, int, int, int]]) -> bytes:
    """An indexed PNG of 1, 2, 4 or 8 bits for a page that is pressed at once: fast to make rather than small.

    ``codes``: uint8 (height, width), each the place of a colour. ``colours``: sRGB codes and opacity, 0 to 255.
    Rows go unfiltered at zlib's level 2, which for line work takes a fifth of the time of level 6 and a quarter
    more room (``benchmarks/charts.py``). Source: PNG, ISO/IEC 15948.
    """
    bits = bits_for(len(colours)) if len(colours) <= 16 else 8
    height, width = codes.shape
    stride = -(-width * bits // 8)
    rows = np.zeros((height, 1 + stride), dtype=np.uint8)
    rows[:, 1:] = packed_rows(codes, bits=bits)
    chunks = (
        _head(codes, bits=bits),
        _chunk(b"PLTE", bytes(part for colour in colours for part in colour[:3])),
        _chunk(b"tRNS", bytes(colour[3] for colour in colours)),
        _chunk(b"IDAT", zlib.compress(rows.tobytes(), 2)),
        _chunk(b"IEND", b""),
    )
    return _PNG_MAGIC + b"".join(chunks)


def _head(codes: Codes, *, bits: int) -> bytes:
    """The first chunk of a PNG in indexed colours."""
    height, width = codes.shape
    return _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, bits, 3, 0, 0, 0))


def _chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk of a PNG: length, kind, data, CRC-32."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def _smallest(rows: Codes, *, filtered: bool) -> bytes:
    """Rows with their filter bytes, deflated in the way that makes them smallest.

    Unfiltered by whatever repeats: best for line work and blue noise. In runs of a byte only: best for searched dots, where nothing
    repeats, and nearly free. ``filtered``: smoothed tones of many greys are nearer to one another than to anything else, so
    rows are told by their differences too.
    """
    plain = np.pad(rows, ((0, 0), (1, 0)))
    tries = [_squeezed(plain, zlib.Z_DEFAULT_STRATEGY)]
    if filtered:
        plain = _filtered(rows)
        tries.append(_squeezed(plain, zlib.Z_FILTERED))
    tries.append(_squeezed(plain, zlib.Z_RLE))
    return min(tries, key=len)


def _squeezed(rows: Codes, strategy: int) -> bytes:
    """Rows with their filter bytes, deflated at zlib's level 6 by one of its strategies."""
    packer = zlib.compressobj(level=6, strategy=strategy)
    return packer.compress(rows.tobytes()) + packer.flush()


def _filtered(rows: Codes) -> Codes:
    """Rows with a filter byte before each: none, sub or up, whichever has the least sum of sizes.

    The rule of thumb is PNG's own (ISO/IEC 15948, 12.8).
    """
    left = np.pad(rows, ((0, 0), (1, 0)))[:, :-1]
    above = np.pad(rows, ((1, 0), (0, 0)))[:-1]
    tries = np.stack((rows, rows - left, rows - above))
    sizes = np.abs(tries.astype(np.int8).astype(np.int16)).sum(axis=2)
    chosen = sizes.argmin(axis=0)
    picked = tries[chosen, np.arange(len(rows))]
    return np.concatenate((chosen.astype(np.uint8)[:, np.newaxis], picked), axis=1)


def encode_bmp(impression: Impression, *, pitch_mm: float | None = None) -> bytes:
    """An indexed BMP of 1 bit (two inks) or 4 bits, uncompressed, rows from the bottom up.

    ``pitch_mm``: distance of pixels, if known. Source: Windows BITMAPINFOHEADER, from memory.
    """
    bits = 1 if len(impression.inks) <= 2 else 4
    rows = packed_rows(impression.codes, bits=bits)[::-1]
    body = np.pad(rows, ((0, 0), (0, -rows.shape[1] % 4))).tobytes()
    palette = b"".join(bytes((*ink.css[::-1], 0)) for ink in impression.inks)
    start = 14 + 40 + len(palette)
    per_m = round(MM_PER_M / pitch_mm) if pitch_mm else 0
    count = len(impression.inks)
    info = struct.pack(
        "<IiiHHIIiiII",
        40,
        impression.width_px,
        impression.height_px,
        1,
        bits,
        0,
        len(body),
        per_m,
        per_m,
        count,
        0,
    )
    return b"BM" + struct.pack("<IHHI", start + len(body), 0, 0, start) + info + palette + body


def encode_pbm(impression: Impression) -> bytes:
    """A raw PBM (P4): the plate of the darkest ink, 1 for black.

    On a panel of more than two inks all other inks are white in it. Source: Netpbm's pbm(5).
    """
    dark = int(np.argmin(lightness(measured_xyz(impression.inks)[:, 1])))
    head = f"P4\n{impression.width_px} {impression.height_px}\n".encode()
    return head + plate(impression, dark).bits


def encode_plates(impression: Impression) -> bytes:
    """The plates of all inks one after the other, in the panel's order.

    Each is as `Plate.bits`; their length follows from the size, so there is no head.
    """
    return b"".join(each.bits for each in plates(impression))


def deflate_plates(impression: Impression, *, window_bits: int = 10) -> bytes:
    """The plates in zlib's format, as HTTP calls ``deflate``, for who unpacks them with little memory.

    ``window_bits``: the unpacker needs ``2 ** window_bits`` bytes, 9 to 15. Source: RFC 1950, RFC 9110 8.4.1.2.
    """
    packer = zlib.compressobj(9, zlib.DEFLATED, window_bits)
    return packer.compress(encode_plates(impression)) + packer.flush()
