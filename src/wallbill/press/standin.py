"""Stand-in faces: fonts without ink whose zero has a telltale width.

A page is laid out with them once. The width of ``1ch`` in an element then tells which family list, weight and
slant the engine's own cascade gave it, because each stand-in's zero is a different whole number of ems wide.
"""

import struct
from functools import cache
from typing import NamedTuple

UNITS_PER_EM = 16  # the least that the format allows, so that the zero may be up to 4095 em wide
CODES = 65535 // UNITS_PER_EM
_NAME_LENGTH = 8
_BLANK_NAME = "~" * _NAME_LENGTH


class StandIn(NamedTuple):
    """What one stand-in stands for: the number of a family list, a weight of 1 to 1000, a slant."""

    families: int
    weight: int
    italic: bool


def stand_in(family: str, *, weight: int, italic: bool, zero_em: int) -> bytes:
    """A font named ``family`` (eight ASCII signs) whose zero is ``zero_em`` ems wide, 1 to `CODES`."""
    if len(family) != _NAME_LENGTH or not family.isascii():
        raise ValueError(f"a stand-in's name has {_NAME_LENGTH} ASCII signs, got {family!r}")
    if not 1 <= zero_em <= CODES:
        raise ValueError(f"a zero is 1 to {CODES} em wide, got {zero_em}")
    blank, tables = _blank()
    font = bytearray(blank.replace(_BLANK_NAME.encode("utf-16-be"), family.encode("utf-16-be")))
    os2, head, hhea, hmtx = (tables[tag] for tag in ("OS/2", "head", "hhea", "hmtx"))
    width = zero_em * UNITS_PER_EM
    struct.pack_into(">H", font, os2 + 4, weight)
    struct.pack_into(">H", font, os2 + 62, 0x01 if italic else 0x20 if weight >= 600 else 0x40)
    struct.pack_into(">H", font, head + 44, 0x02 if italic else 0)
    struct.pack_into(">H", font, hhea + 10, width)
    struct.pack_into(">H", font, hmtx + 4, width)  # the second glyph: the zero
    return bytes(font)


@cache
def _blank() -> tuple[bytes, dict[str, int]]:
    """The font that stand-ins are struck from, and where its tables begin.

    The least that the format asks of a font with outlines (OpenType 1.9, "Required tables"), written out here
    because a library that writes fonts takes longer to load than the whole page to lay out. Three glyphs, all
    without ink: ``.notdef``, the zero, the space.
    """
    tables = {"OS/2": _os2(), "cmap": _cmap(), "glyf": b"\0", "head": _head(), **_metrics(), "name": _name()}
    at, records, body = 12 + 16 * len(tables), b"", b""
    places: dict[str, int] = {}
    for tag, data in sorted(tables.items()):
        places[tag] = at + len(body)
        records += struct.pack(">4sLLL", tag.encode(), 0, places[tag], len(data))
        body += data + b"\0" * (-len(data) % 4)
    power = 1 << (len(tables).bit_length() - 1)
    head = struct.pack(
        ">LHHHH", 0x00010000, len(tables), power * 16, power.bit_length() - 1, (len(tables) - power) * 16
    )
    return head + records + body, places


def _metrics() -> dict[str, bytes]:
    """hhea, hmtx (each advance with no bearing), loca, maxp 1.0 and post 3.0."""
    return {
        "hhea": struct.pack(">LhhhHhhhhhh8xhH", 0x00010000, 13, -3, 0, 10, 0, 0, 0, 1, 0, 0, 0, 3),
        "hmtx": struct.pack(">HhHhHh", 8, 0, 9, 0, 10, 0),
        "loca": bytes(8),
        "maxp": struct.pack(">LH13H", 0x00010000, 3, *(0, 0, 0, 0, 2), *(0,) * 8),
        "post": struct.pack(">LLhhLLLLL", 0x00030000, 0, -2, 1, 0, 0, 0, 0, 0),
    }


def _head() -> bytes:
    return struct.pack(
        ">LLLLHHqqhhhhHHhhh", 0x00010000, 0x00010000, 0, 0x5F0F3CF5, 3, UNITS_PER_EM, 0, 0,
        0, 0, 0, 0, 0, 6, 2, 0, 0,
    )  # fmt: skip


def _os2() -> bytes:
    """Version 4; weight and style are struck in later."""
    return struct.pack(
        ">HhHHH11h10s4L4sHHHhhhHHLLhhHHH", 4, 9, 400, 5, 0, *(0,) * 11, bytes(10), 0, 0, 0, 0, b"WBLL",
        0x40, 0x20, 0x30, 13, -3, 0, 13, 3, 0, 0, 8, 11, 0, 0x20, 0,
    )  # fmt: skip


def _cmap() -> bytes:
    """Format 4: the space is the third glyph, the zero the second; the last segment is the one that must be there."""
    ends, deltas = (0x20, 0x30, 0xFFFF), (2 - 0x20, 1 - 0x30, 1)
    segments = len(ends)
    body = struct.pack(">HHHH", segments * 2, 4, 1, segments * 2 - 4) + struct.pack(">3H", *ends)
    body += bytes(2) + struct.pack(">3H", *ends) + struct.pack(">3h", *deltas) + bytes(2 * segments)
    return struct.pack(">HHHHL", 0, 1, 3, 1, 12) + struct.pack(">HHH", 4, len(body) + 6, 0) + body


def _name() -> bytes:
    """Family and style, for Windows in US English."""
    names = {1: _BLANK_NAME, 2: "Regular"}
    texts = [text.encode("utf-16-be") for text in names.values()]
    starts = (0, len(texts[0]))
    records = b"".join(
        struct.pack(">HHHHHH", 3, 1, 0x409, number, len(text), start)
        for number, text, start in zip(names, texts, starts, strict=True)
    )
    return struct.pack(">HHH", 0, len(names), 6 + len(records)) + records + b"".join(texts)
