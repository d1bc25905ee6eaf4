"""Positioning tables on the pixel grid: every kerning value and anchor becomes a whole number of pixels."""

import io
import math
import struct
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from fontTools.ttLib import TTFont, TTLibError, newTable

from wallbill.faces.grid import Grid
from wallbill.faces.kerning import ATTACHING, moved_values
from wallbill.faces.rasters import GlyphBitmap

Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A glyph before and after hinting: the outline's ``box`` in pixels (left, bottom, right, top), and its bitmap."""

    box: Box | None
    bitmap: GlyphBitmap


GlyphDrawn = Callable[[int], Drawn]


def layout_tables(data: bytes, grid: Grid, drawn: GlyphDrawn) -> dict[str, bytes]:
    """GSUB and GDEF as they are, GPOS moved to the grid, of a subset whose tables are in ``data``.

    ``drawn`` gives the glyph of an id: an anchor keeps its place within the hinted bitmap as it had in the outline.
    """
    font = TTFont(io.BytesIO(data), lazy=True, recalcBBoxes=False, recalcTimestamp=False)
    tables = {tag: font.reader[tag] for tag in ("GSUB", "GDEF") if tag in font.reader.tables}
    if "GPOS" in font.reader.tables:
        tables["GPOS"], kinds = moved_values(font.reader["GPOS"], grid)
        if kinds & ATTACHING:
            tables["GPOS"] = _moved_anchors(font, tables["GPOS"], grid, drawn)
    return tables


def _moved_anchors(font: TTFont, gpos: bytes, grid: Grid, drawn: GlyphDrawn) -> bytes:
    font.setGlyphOrder([f"g{glyph}" for glyph in range(font["maxp"].numGlyphs)])
    table = newTable("GPOS")
    table.decompile(gpos, font)
    for subtable in _subtables(table.table):
        for name, anchor in _anchors(subtable):
            _move_anchor(anchor, name, grid, drawn)
    return bytes(table.compile(font))


def pair_kerning(data: bytes, grid: Grid, glyphs: Sequence[int]) -> bytes | None:
    """A GPOS table made of an old ``kern`` table, for faces that have no other; None where there is none.

    ``data``: the whole face. ``glyphs``: ids in the whole face by new id.
    """
    from fontTools.otlLib import builder  # noqa: PLC0415 takes 60 ms, and few faces need it

    try:
        font = TTFont(io.BytesIO(data), lazy=True)
        pairs = font["kern"].kernTables[0].kernTable
        order = font.getGlyphOrder()
    except (TTLibError, KeyError, IndexError, AttributeError, struct.error):
        return None
    new = {order[old]: f"g{place}" for place, old in enumerate(glyphs) if old < len(order)}
    values = {
        (new[left], new[right]): (builder.buildValue({"XAdvance": moved}), None)
        for (left, right), value in pairs.items()
        if left in new and right in new and (moved := grid.whole(value))
    }
    if not values:
        return None
    out = TTFont()
    out.setGlyphOrder([f"g{glyph}" for glyph in range(len(glyphs))])
    reverse = out.getReverseGlyphMap()
    subtables = builder.buildPairPosGlyphs(values, reverse)
    table = newTable("GPOS")
    table.table = _one_feature("kern", builder.buildLookup(subtables))
    return bytes(table.compile(out))


def _one_feature(tag: str, lookup: Any) -> Any:
    from fontTools.ttLib.tables import otTables as tables  # noqa: N813, PLC0415 a module; only for the faces above

    table = tables.GPOS()
    table.Version = 0x00010000
    table.LookupList = tables.LookupList()
    table.LookupList.Lookup, table.LookupList.LookupCount = [lookup], 1
    record = tables.FeatureRecord()
    record.FeatureTag, record.Feature = tag, tables.Feature()
    record.Feature.FeatureParams, record.Feature.LookupListIndex, record.Feature.LookupCount = None, [0], 1
    table.FeatureList = tables.FeatureList()
    table.FeatureList.FeatureRecord, table.FeatureList.FeatureCount = [record], 1
    script = tables.ScriptRecord()
    script.ScriptTag, script.Script = "DFLT", tables.Script()
    script.Script.LangSysRecord, script.Script.LangSysCount = [], 0
    system = script.Script.DefaultLangSys = tables.DefaultLangSys()
    system.ReqFeatureIndex, system.FeatureIndex, system.FeatureCount, system.LookupOrder = (
        0xFFFF,
        [0],
        1,
        None,
    )
    table.ScriptList = tables.ScriptList()
    table.ScriptList.ScriptRecord, table.ScriptList.ScriptCount = [script], 1
    return table


def _subtables(table: Any) -> Iterator[Any]:
    if table.LookupList is None:
        return
    for lookup in table.LookupList.Lookup:
        for subtable in lookup.SubTable:
            yield subtable.ExtSubTable if subtable.LookupType == 9 else subtable


def _anchors(subtable: Any) -> Iterator[tuple[str, Any]]:
    """Each anchor with the name of its glyph (OpenType, GPOS table, lookup types 3 to 6)."""
    if subtable.LookupType == 3:
        for name, record in zip(subtable.Coverage.glyphs, subtable.EntryExitRecord, strict=True):
            yield from ((name, anchor) for anchor in (record.EntryAnchor, record.ExitAnchor))
    elif subtable.LookupType in ATTACHING:
        yield from _mark_anchors(subtable)


def _mark_anchors(subtable: Any) -> Iterator[tuple[str, Any]]:
    marks = ("Mark1Coverage", "Mark1Array") if subtable.LookupType == 6 else ("MarkCoverage", "MarkArray")
    for name, record in zip(
        getattr(subtable, marks[0]).glyphs, getattr(subtable, marks[1]).MarkRecord, strict=True
    ):
        yield name, record.MarkAnchor
    if subtable.LookupType == 4:
        for name, record in zip(subtable.BaseCoverage.glyphs, subtable.BaseArray.BaseRecord, strict=True):
            yield from ((name, anchor) for anchor in record.BaseAnchor)
    elif subtable.LookupType == 6:
        for name, record in zip(subtable.Mark2Coverage.glyphs, subtable.Mark2Array.Mark2Record, strict=True):
            yield from ((name, anchor) for anchor in record.Mark2Anchor)
    else:
        for name, attach in zip(
            subtable.LigatureCoverage.glyphs, subtable.LigatureArray.LigatureAttach, strict=True
        ):
            for component in attach.ComponentRecord:
                yield from ((name, anchor) for anchor in component.LigatureAnchor)


def _move_anchor(anchor: Any, name: str, grid: Grid, drawn: GlyphDrawn) -> None:
    if anchor is None:
        return
    glyph = drawn(int(name[1:]))
    share = grid.size_px / grid.units
    x, y = anchor.XCoordinate * share, anchor.YCoordinate * share
    if glyph.box is not None and glyph.bitmap.ink.size:
        left, bottom, right, top = glyph.box
        rows, columns = glyph.bitmap.ink.shape
        x = _carried(x, (left, right), (glyph.bitmap.left_px, glyph.bitmap.left_px + columns))
        y = _carried(y, (bottom, top), (glyph.bitmap.top_px - rows, glyph.bitmap.top_px))
    anchor.Format = 1
    anchor.XCoordinate = math.floor(x + 0.5) * grid.per_px
    anchor.YCoordinate = math.floor(y + 0.5) * grid.per_px


def _carried(value: float, before: tuple[float, float], after: tuple[int, int]) -> float:
    """A coordinate carried along as an extent is stretched: in proportion inside, with the nearer edge outside."""
    (low, high), (new_low, new_high) = before, after
    if value <= low or high - low < 1:
        return value + new_low - low
    if value >= high:
        return value + new_high - high
    return new_low + (value - low) * (new_high - new_low) / (high - low)
