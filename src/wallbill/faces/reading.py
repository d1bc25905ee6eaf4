"""Reading a face file: what it calls itself, what it can do, and whether it is one at all."""

import gzip
import hashlib
import io
import struct
import zlib
from collections.abc import Iterator
from typing import Any

import uharfbuzz as hb

from wallbill.faces.rasters import Rasteriser, unreadable
from wallbill.faces.shelf import Axis, CharacterMap, FaceFile

_SFNT = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf")
_PCF, _BDF, _GZIP = b"\x01fcp", b"STARTFONT", b"\x1f\x8b"
_ITALIC, _OBLIQUE = 1, 1 << 9  # OpenType, OS/2 table, fsSelection


def read_faces(path: str, data: bytes) -> tuple[FaceFile, ...]:
    """Every face in a file. Raises FaceError naming ``path`` where it is no face, or a broken one.

    TrueType and OpenType (collections too), WOFF, and the bitmap formats BDF and PCF (gzipped too).
    """
    digest = hashlib.sha256(data).hexdigest()
    if data.startswith(_GZIP):
        try:
            data = gzip.decompress(data)
        except (OSError, EOFError, zlib.error) as fault:
            raise unreadable(path, f"damaged gzip data ({fault})") from fault
    if data.startswith((b"wOFF", b"wOF2")):
        data = _unwrapped(path, data)
    if data.startswith(_SFNT):
        return tuple(_sfnt_face(path, data, index, digest=digest) for index in range(_count(path, data)))
    if data.startswith((_PCF, _BDF)):
        return (_bitmap_face(path, data, digest=digest),)
    raise unreadable(path, "empty" if not data else f"it begins with {data[:4]!r}")


def _unwrapped(path: str, data: bytes) -> bytes:
    """The sfnt inside a WOFF file."""
    from fontTools.ttLib import TTFont, TTLibError  # noqa: PLC0415  for packed web fonts only

    try:
        font = TTFont(io.BytesIO(data), recalcBBoxes=False, recalcTimestamp=False)
        font.flavor = None
        out = io.BytesIO()
        font.save(out, reorderTables=False)
    except (TTLibError, ImportError, struct.error, zlib.error, AssertionError, ValueError) as fault:
        why = (
            "WOFF2 needs a decoder that is not here"
            if data.startswith(b"wOF2")
            else f"damaged WOFF ({fault})"
        )
        raise unreadable(path, why) from fault
    return out.getvalue()


def _count(path: str, data: bytes) -> int:
    count = int(hb.Face(data).count) if not data.startswith(b"ttcf") else _collection_count(data)
    if not count:
        raise unreadable(path, "it holds no face")
    return count


def _collection_count(data: bytes) -> int:
    return int(struct.unpack(">I", data[8:12])[0]) if len(data) >= 12 else 0


def _sfnt_face(path: str, data: bytes, index: int, *, digest: str) -> FaceFile:
    _check_directory(path, data, index)
    face = hb.Face(data, index)
    tables = frozenset(face.table_tags)
    os2 = bytes(face.reference_table("OS/2").data) if "OS/2" in tables else b""
    weight, selection = (
        (int.from_bytes(os2[4:6], "big"), int.from_bytes(os2[62:64], "big")) if len(os2) >= 64 else (400, 0)
    )
    post = bytes(face.reference_table("post").data) if "post" in tables else b""
    outlined = bool(tables & {"glyf", "CFF ", "CFF2"})
    strikes_px = _strikes(data, index, path=path) if tables & {"EBLC", "bloc"} or not outlined else ()
    if not face.glyph_count or not (outlined or strikes_px):
        raise unreadable(path, "it has no outlines and no bitmaps of one bit")
    return FaceFile(
        path=path,
        data=data,
        index=index,
        family=_family(face) or path.rsplit("/", 1)[-1].rsplit(".", 1)[0],
        weight=weight if 1 <= weight <= 1000 else 400,
        italic=bool(selection & (_ITALIC | _OBLIQUE)),
        digest=digest,
        axes=tuple(Axis(a.tag, a.min_value, a.default_value, a.max_value) for a in face.axis_infos),
        strikes_px=strikes_px,
        outlined=outlined,
        hinted="fpgm" in tables or "CFF " in tables,
        fixed_pitch=post[12:16] not in {b"", b"\0\0\0\0"},
        coverage=CharacterMap(data, index),
    )


def _check_directory(path: str, data: bytes, index: int) -> None:
    """A cut-off download has a directory that points past its end; FreeType and HarfBuzz would read on."""
    start = 0
    if data.startswith(b"ttcf"):
        start = int.from_bytes(data[12 + 4 * index : 16 + 4 * index], "big")
    tables = int.from_bytes(data[start + 4 : start + 6], "big")
    tags = set()
    for at in range(start + 12, start + 12 + 16 * tables, 16):
        tag, _, offset, length = struct.unpack(">4sIII", data[at : at + 16].ljust(16, b"\0"))
        if not tag.isascii():
            raise unreadable(path, f"damaged: a table is called {tag!r}")
        tags.add(tag)
        if offset + length > len(data):
            raise unreadable(path, f"cut off: table {tag.decode('latin-1')!r} ends past the end of the file")
    for needed in (b"head", b"cmap", b"maxp"):
        if needed not in tags:
            raise unreadable(path, f"it lacks the table {needed.decode()!r}")


def _family(face: Any) -> str:
    """The typographic family name, else the plain one (OpenType, name table, identifiers 16 and 1)."""
    for name in (hb.OTNameIdPredefined.TYPOGRAPHIC_FAMILY, hb.OTNameIdPredefined.FONT_FAMILY):
        text = face.get_name(name)
        if text:
            return str(text)
    return ""


def _strikes(data: bytes, index: int, *, path: str) -> tuple[int, ...]:
    return Rasteriser(data, index=index, label=path).strikes_px()


def _bitmap_face(path: str, data: bytes, *, digest: str) -> FaceFile:
    raster = Rasteriser(data, label=path)
    properties = dict(_properties(data))
    codes = frozenset(raster.charmap())
    if not codes:
        raise unreadable(path, "none of its glyphs has a Unicode code point")
    return FaceFile(
        path=path,
        data=data,
        index=0,
        family=raster.family() or path.rsplit("/", 1)[-1].split(".", 1)[0],
        weight=700 if raster.is_bold() or "bold" in properties.get("WEIGHT_NAME", "").casefold() else 400,
        italic=raster.is_italic(),
        digest=digest,
        strikes_px=raster.strikes_px(),
        shaped=False,
        outlined=False,
        fixed_pitch=properties.get("SPACING", "") in {"C", "M"},
        coverage=codes,
    )


def _properties(data: bytes) -> Iterator[tuple[str, str]]:
    """Properties of a BDF file; a PCF file keeps them in tables that FreeType reads for us."""
    if not data.startswith(_BDF):
        return
    for line in data[:20000].decode("latin-1").splitlines():
        key, _, value = line.partition(" ")
        if key == "CHARS":
            return
        yield key, value.strip().strip('"')
