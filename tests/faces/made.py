"""Faces made for the tests: a TrueType face with an old kern table, BDF, PCF, and OpenType with bitmaps only."""

import io
import struct

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import newTable
from fontTools.ttLib.tables._k_e_r_n import KernTable_format_0
from fontTools.ttLib.tables.DefaultTable import DefaultTable


def box_face(family: str = "Boxes", *, weight: int = 400, characters: str = " AV") -> FontBuilder:
    """A face whose letters are upright boxes, 1000 units per em."""
    builder = FontBuilder(1000, isTTF=True)
    names = {character: f"g{ord(character)}" for character in characters}
    builder.setupGlyphOrder([".notdef", *names.values()])
    builder.setupCharacterMap({ord(character): name for character, name in names.items()})
    glyphs = {}
    for name in (".notdef", *names.values()):
        pen = TTGlyphPen(None)
        if name != "g32":
            for point, step in (
                ((100, 0), pen.moveTo),
                ((100, 700), pen.lineTo),
                ((400, 700), pen.lineTo),
                ((400, 0), pen.lineTo),
            ):
                step(point)
            pen.closePath()
        glyphs[name] = pen.glyph()
    builder.setupGlyf(glyphs)
    builder.setupHorizontalMetrics(dict.fromkeys(glyphs, (500, 100)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": family, "styleName": "Regular"})
    builder.setupOS2(usWeightClass=weight, sTypoAscender=800, sTypoDescender=-200)
    builder.setupPost()
    return builder


def saved(builder: FontBuilder) -> bytes:
    out = io.BytesIO()
    builder.save(out)
    return out.getvalue()


def face_with_old_kerning() -> bytes:
    builder = box_face("Kerned")
    table = newTable("kern")
    table.version = 0
    pairs = KernTable_format_0()
    pairs.coverage, pairs.apple, pairs.kernTable = 1, False, {("g65", "g86"): -100}
    table.kernTables = [pairs]
    builder.font["kern"] = table
    return saved(builder)


# Two letters of 8 px, drawn for the tests: rows from the top, and the advance.
LETTERS = {
    "A": (("..#...", ".#.#..", "#...#.", "#####.", "#...#.", "#...#."), 6),
    "i": (("#.", "..", "#.", "#.", "#.", "#."), 2),
    " ": ((), 4),
}


def bdf(*, weight: str = "Medium") -> bytes:
    """A bitmap face of 8 px in the Glyph Bitmap Distribution Format 2.1."""
    lines = [
        "STARTFONT 2.1",
        f"FONT -made-Tiny-{weight}-R-Normal--8-80-75-75-P-50-ISO10646-1",
        "SIZE 8 75 75",
        "FONTBOUNDINGBOX 6 8 0 -2",
        "STARTPROPERTIES 7",
        'FAMILY_NAME "Tiny"',
        f'WEIGHT_NAME "{weight}"',
        'SPACING "P"',
        "FONT_ASCENT 6",
        "FONT_DESCENT 2",
        'CHARSET_REGISTRY "ISO10646"',
        'CHARSET_ENCODING "1"',
        "ENDPROPERTIES",
        f"CHARS {len(LETTERS)}",
    ]
    for letter, (rows, advance) in LETTERS.items():
        width = len(rows[0]) if rows else 1
        lines += [
            f"STARTCHAR U+{ord(letter):04X}",
            f"ENCODING {ord(letter)}",
            "SWIDTH 500 0",
            f"DWIDTH {advance} 0",
            f"BBX {width} {max(1, len(rows))} 0 0",
            "BITMAP",
            *[
                f"{int(row.replace('#', '1').replace('.', '0').ljust(8, '0'), 2):02X}"
                for row in rows or ("........",)
            ],
            "ENDCHAR",
        ]
    return "\n".join([*lines, "ENDFONT", ""]).encode()


def pcf() -> bytes:
    """The same face in the Portable Compiled Format of the X Window System, as its layout is commonly described
    (from memory: tables of properties, accelerators, metrics, bitmaps and encodings, here all big-endian)."""
    letters = sorted(LETTERS.items())
    sizes = [(len(rows[0]) if rows else 1, max(1, len(rows)), advance) for _, (rows, advance) in letters]
    form = 0x0C | 2  # most significant byte and bit first, rows padded to 4 bytes

    def metric(width: int, high: int, advance: int) -> bytes:
        return struct.pack(">hhhhhH", 0, width, advance, high, 0, 0)

    strings = b"FAMILY_NAME\0Tiny\0PIXEL_SIZE\0CHARSET_REGISTRY\0ISO10646\0CHARSET_ENCODING\x001\0"
    at = {
        name: strings.index(name)
        for name in (
            b"FAMILY_NAME",
            b"Tiny",
            b"PIXEL_SIZE",
            b"CHARSET_REGISTRY",
            b"ISO10646",
            b"CHARSET_ENCODING",
            b"1\0",
        )
    }
    entries = [
        (at[b"FAMILY_NAME"], 1, at[b"Tiny"]),
        (at[b"PIXEL_SIZE"], 0, 8),
        (at[b"CHARSET_REGISTRY"], 1, at[b"ISO10646"]),
        (at[b"CHARSET_ENCODING"], 1, at[b"1\0"]),
    ]
    props = struct.pack("<I", form) + struct.pack(">I", len(entries))
    props += b"".join(struct.pack(">IBI", *entry) for entry in entries)
    props += bytes(-(9 * len(entries)) % 4) + struct.pack(">I", len(strings)) + strings
    widest = metric(6, 6, 6)[:12]
    accelerators = (
        struct.pack("<I", form) + bytes(8) + struct.pack(">iii", 6, 2, 0) + metric(1, 1, 2) + widest
    )
    metrics = (
        struct.pack("<I", form) + struct.pack(">I", len(letters)) + b"".join(metric(*size) for size in sizes)
    )
    data, offsets = b"", []
    for _, (rows, _) in letters:
        offsets.append(len(data))
        for row in rows or ("........",):
            data += int(row.replace("#", "1").replace(".", "0").ljust(32, "0"), 2).to_bytes(4, "big")
    bitmaps = struct.pack("<I", form) + struct.pack(">I", len(letters))
    bitmaps += (
        struct.pack(f">{len(offsets)}I", *offsets)
        + struct.pack(">4I", len(data), len(data), len(data), len(data))
        + data
    )
    codes = [ord(letter) for letter, _ in letters]
    glyphs = {code: place for place, code in enumerate(codes)}
    table = [glyphs.get(code, 0xFFFF) for code in range(256)]
    encodings = struct.pack("<I", form) + struct.pack(">5H", 0, 255, 0, 0, 0) + struct.pack(">256H", *table)
    tables = [(1, props), (2, accelerators), (4, metrics), (8, bitmaps), (32, encodings)]
    out, position = b"\x01fcp" + struct.pack("<I", len(tables)), 8 + 16 * len(tables)
    body = b""
    for kind, content in tables:
        padded = content + bytes(-len(content) % 4)
        out += struct.pack("<4I", kind, form, len(padded), position + len(body))
        body += padded
    return out + body


def bitmap_opentype() -> bytes:
    """The same face as OpenType with bitmaps only (EBLC and EBDT tables, index format 1, image format 1)."""
    letters = sorted(LETTERS.items())
    builder = FontBuilder(1024, isTTF=True)
    order = [".notdef", *(f"g{ord(letter)}" for letter, _ in letters)]
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap({ord(letter): f"g{ord(letter)}" for letter, _ in letters})
    builder.setupHorizontalMetrics(dict.fromkeys(order, (512, 0)))
    builder.setupHorizontalHeader(ascent=768, descent=-256)
    builder.setupNameTable({"familyName": "Tiny", "styleName": "Regular"})
    builder.setupOS2(sTypoAscender=768, sTypoDescender=-256)
    builder.setupPost(keepGlyphNames=False)
    images, offsets = b"", [4]
    for _, (rows, advance) in letters:
        width, high = (len(rows[0]), len(rows)) if rows else (1, 1)
        images += struct.pack(">BBbbB", high, width, 0, high if rows else 1, advance)
        for row in rows or (".",):
            images += int(row.replace("#", "1").replace(".", "0").ljust(8, "0"), 2).to_bytes(1, "big")
        offsets.append(4 + len(images))
    line = struct.pack(">bbBbbbbbbbbb", 6, -2, 6, 0, 0, 0, 0, 0, 0, 0, 0, 0)
    index = struct.pack(">HHI", 1, len(letters), 8) + struct.pack(">HHI", 1, 1, 0)
    index += struct.pack(f">{len(offsets)}I", *offsets)
    size = struct.pack(">IIII", 8 + 48, len(index), 1, 0) + line + line
    size += struct.pack(">HHBBBb", 1, len(letters), 8, 8, 1, 1)
    for tag, data in (
        ("EBDT", struct.pack(">I", 0x00020000) + images),
        ("EBLC", struct.pack(">II", 0x00020000, 1) + size + index),
    ):
        builder.font[tag] = DefaultTable(tag)
        builder.font[tag].data = data
    builder.font["maxp"].tableVersion = 0x00005000
    builder.font["maxp"].numGlyphs = len(order)
    return saved(builder)
