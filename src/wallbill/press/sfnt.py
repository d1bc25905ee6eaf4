"""What a font says of itself, read from its tables: just enough to file it under the right family and weight."""

import struct
from typing import NamedTuple

_WINDOWS, _MAC = 3, 1
_FAMILY_IDS = (16, 1)  # the typographic family before the one of four styles (OpenType, name table)


class FontLabel(NamedTuple):
    """The family name, the weight of 1 to 1000, whether it is italic."""

    family: str
    weight: int
    italic: bool


def font_label(data: bytes) -> FontLabel:
    """Reads a font's name and OS/2 tables (OpenType 1.9). Raises ``ValueError`` for what is no sfnt font."""
    try:
        tables = _tables(data)
        os2 = tables["OS/2"]
        weight = struct.unpack_from(">H", data, os2 + 4)[0]
        selection = struct.unpack_from(">H", data, os2 + 62)[0]
        return FontLabel(_family(data, tables["name"]), weight, bool(selection & 1))
    except (KeyError, struct.error, UnicodeDecodeError) as fault:
        raise ValueError(f"not a font that can be filed: {fault}") from fault


def _tables(data: bytes) -> dict[str, int]:
    count = struct.unpack_from(">H", data, 4)[0]
    records = (struct.unpack_from(">4sLLL", data, 12 + 16 * at) for at in range(count))
    return {tag.decode("latin-1"): offset for tag, _, offset, _ in records}


def _family(data: bytes, at: int) -> str:
    _, count, strings = struct.unpack_from(">HHH", data, at)
    found: dict[tuple[int, int], str] = {}
    for number in range(count):
        platform, _, _, name, length, offset = struct.unpack_from(">HHHHHH", data, at + 6 + 12 * number)
        raw = data[at + strings + offset : at + strings + offset + length]
        if platform in (_WINDOWS, _MAC):
            found[name, platform] = raw.decode("utf-16-be" if platform == _WINDOWS else "mac-roman")
    return next(found[n, p] for n in _FAMILY_IDS for p in (_WINDOWS, _MAC) if (n, p) in found)
