"""Cutting a face down to the characters needed, with HarfBuzz: glyphs, character map and layout tables."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import uharfbuzz as hb

from wallbill.errors import FaceError, Place
from wallbill.faces.shelf import FaceFile

# Layout features that the styles of CSS can ask for (CSS Fonts Level 4, chapter 6), beside those on by default.
_FEATURES = ("tnum", "pnum", "lnum", "onum", "zero", "frac", "ordn", "smcp", "c2sc", "subs", "sups", "case")
_OUTLINES = ("glyf", "loca", "gvar", "CFF ", "CFF2", "VORG", "EBDT", "EBLC", "bdat", "bloc")
_DROPPED = (
    "STAT",
    "HVAR",
    "VVAR",
    "MVAR",
    "DSIG",
    "gasp",
    "hdmx",
    "VDMX",
    "LTSH",
    "vmtx",
    "vhea",
    "COLR",
    "CPAL",
    "MATH",
    "BASE",
)


@dataclass(frozen=True, slots=True)
class Subset:
    """A cut-down face.

    ``data``: the sfnt. ``glyphs``: the glyph id in the whole face, by the new one. ``usual``: new ids that text can
    reach without asking for a feature. ``cmap``: code point to new id.
    """

    data: bytes
    glyphs: tuple[int, ...]
    usual: frozenset[int]
    cmap: Mapping[int, int]


def layout_subset(face: FaceFile, characters: frozenset[str], coordinates: Sequence[float]) -> Subset:
    """The tables of a face for some characters, fixed at design coordinates, without its outlines.

    Substitution keeps every form that the characters can turn into (joined, ligated, tabular, small capitals).
    Raises FaceError where HarfBuzz cannot cut the face.
    """
    plain = _plan(face, characters, coordinates, features=())
    full = _plan(face, characters, coordinates, features=_FEATURES)
    try:
        result = full.execute()
    except RuntimeError as fault:
        raise FaceError(
            f"cannot be cut to {len(characters)} characters: {fault}",
            where=Place(face.path),
            mend="The file's layout tables are damaged: use another copy of the face.",
        ) from fault
    to_old = dict(full.new_to_old_glyph_mapping.items())
    to_new = {old: new for new, old in to_old.items()}
    usual = frozenset(to_new[old] for old in dict(plain.old_to_new_glyph_mapping.items()) if old in to_new)
    codes = dict(full.unicode_to_old_glyph_mapping.items())
    wanted = {ord(character) for character in characters}
    return Subset(
        bytes(result.blob.data),
        tuple(to_old[new] for new in range(len(to_old))),
        usual,
        MappingProxyType({code: to_new[old] for code, old in sorted(codes.items()) if code in wanted}),
    )


def outline_subset(
    face: FaceFile, glyphs: frozenset[int], characters: str = ""
) -> tuple[bytes, Mapping[int, int]]:
    """A small copy of a face with all its axes, ASCII and some glyphs (ids in the whole face), and their new ids.

    FreeType's autohinter looks through a whole face each time the weight changes; on the copy that costs nothing.
    """
    request = hb.SubsetInput()
    source = hb.Face(face.data, face.index)
    font = hb.Font(source)
    request.glyph_set.set(set(glyphs))
    request.unicode_set.set(
        {code for code in (*range(0x20, 0x7F), *map(ord, characters)) if font.get_nominal_glyph(code)}
    )
    request.flags = hb.SubsetFlags.NOTDEF_OUTLINE | hb.SubsetFlags.NO_LAYOUT_CLOSURE
    _drop(request, (*_DROPPED, "GSUB", "GPOS", "GDEF"))
    plan = hb.SubsetPlan(source, request)
    mapping = dict(plan.old_to_new_glyph_mapping.items())
    return bytes(plan.execute().blob.data), MappingProxyType(mapping)


def smooth_subset(face: FaceFile, characters: frozenset[str], coordinates: Sequence[float]) -> bytes:
    """The face with its outlines, cut to some characters and fixed at design coordinates. Raises FaceError."""
    plan = _plan(face, characters, coordinates, features=_FEATURES, outlines=True)
    try:
        return bytes(plan.execute().blob.data)
    except RuntimeError as fault:
        raise FaceError(
            f"cannot be cut to {len(characters)} characters: {fault}",
            where=Place(face.path),
            mend="The file is damaged: use another copy of the face.",
        ) from fault


def _plan(
    face: FaceFile,
    characters: frozenset[str],
    coordinates: Sequence[float],
    *,
    features: Sequence[str],
    outlines: bool = False,
) -> Any:
    source = hb.Face(face.data, face.index)
    request = hb.SubsetInput()
    request.unicode_set.set({ord(character) for character in characters})
    request.flags = hb.SubsetFlags.NOTDEF_OUTLINE
    if not outlines:
        request.flags |= hb.SubsetFlags.NO_HINTING
    for feature in features:
        request.layout_feature_tag_set.add(_tag(feature))
    for axis, value in zip(face.axes, coordinates, strict=True):
        request.pin_axis_location(source, axis.tag, value)
    _drop(request, _DROPPED if outlines else (*_DROPPED, *_OUTLINES))
    return hb.SubsetPlan(source, request)


def _drop(request: Any, tables: Sequence[str]) -> None:
    for table in tables:
        request.drop_table_tag_set.add(_tag(table))


def _tag(text: str) -> int:
    return int.from_bytes(text.encode("ascii"), "big")
