"""Boxes in a line stand on the baseline of their text, as CSS has it.

CSS 2.2, section 10.8.1: the baseline of an inline block is that of its last line, unless it cuts what leaves it. ``blitz-py``
0.5.0 puts the lower edge there instead, so that the text in it stands higher by what lies beneath its baseline. That is
measured once for the pages of one skeleton, and taken off the box's lower margin: then the lower edge of the margin, which
the engine puts on the baseline, is the baseline of the box's own text.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import floor
from types import MappingProxyType

from wallbill.findings import Finding
from wallbill.press.boxing import Says, may_be
from wallbill.press.lint import finding
from wallbill.press.markup import PHRASES
from wallbill.press.model import Box, Laid, Restyle
from wallbill.press.splice import Edit, splice
from wallbill.press.telling import told_once
from wallbill.press.typeplan import Composed, Source, TypePlan

_MARK = "wb-z"
_POINT = "display:inline-block;width:0;height:0;padding:0;margin:0;border:0"
_LEADING_EM = 1.45  # a box that stands higher over the baseline than this makes its line higher


@dataclass(frozen=True, slots=True)
class Drops:
    """How far the lower edge of each box in a line lies beneath the baseline of its text, pixels, by element index."""

    known: Mapping[int, int] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class Piece:
    """An element that stands in one piece in a line, and the size of the largest text beside it, pixels."""

    index: int
    beside_px: int


def pieces_in_lines(
    source: Source, plan: TypePlan, ids: Sequence[str | None], *, boxes: Mapping[str, Box]
) -> tuple[Piece, ...]:
    """Boxes that hold text and stand in a line beside other text. ``boxes``: as the engine laid the page."""
    owners = dict.fromkeys(run.owner for run in source.markup.texts if run.owner in plan.settings)
    lines: dict[int, int] = {}
    for owner in owners:
        block = _block(source, ids, boxes, owner)
        lines[block] = max(lines.get(block, 0), plan.settings[owner].ask.size_px)
    found = {index for owner in owners for index in _pieces(source, owner)} - plan.cuts
    blocks = {
        index: _block(source, ids, boxes, source.markup.elements[index].parent) for index in sorted(found)
    }
    return tuple(
        Piece(index, lines[block])
        for index, block in blocks.items()
        if block in lines and _has_size(ids, boxes, index)
    )


def styles_of_pieces(source: Source) -> tuple[str, ...]:
    """The ``style`` attributes on which the place of a baseline may depend; none where nothing may stand in a line in one piece.

    They are those of what may stand so, of what lies around it, and of what lies in it.
    """
    elements, styles = source.markup.elements, [has.get("style") for has in source.attributes]
    inside: set[int] = set()
    around: set[int] = set()
    for index in range(len(elements)):
        if elements[index].parent in inside:
            inside.add(index)
        elif _is_piece(source, index):
            inside.add(index)
            here = elements[index].parent
            while here >= 0:
                around.add(here)
                here = elements[here].parent
    return tuple(
        f"{index} {style.value if (style := styles[index]) else ''}" for index in sorted(inside | around)
    )


def _is_piece(source: Source, index: int) -> bool:
    tag, has, boxing = source.markup.elements[index].tag, source.attributes[index], source.facts.boxing
    return may_be(Says.ONE_PIECE, tag, has, boxing=boxing)


def _pieces(source: Source, owner: int) -> Iterator[int]:
    """The element and those around it that may stand in a line in one piece."""
    boxing, elements, index = source.facts.boxing, source.markup.elements, owner
    while index >= 0:
        tag, has, parent = elements[index].tag, source.attributes[index], elements[index].parent
        laid_out = parent >= 0 and may_be(
            Says.LAYS_OUT, elements[parent].tag, source.attributes[parent], boxing=boxing
        )
        if not laid_out and _is_piece(source, index) and not may_be(Says.FREE, tag, has, boxing=boxing):
            yield index
        index = parent


def _has_size(ids: Sequence[str | None], boxes: Mapping[str, Box], index: int) -> bool:
    box = boxes.get(ids[index] or "")
    return box is not None and box.width_px > 0 and box.height_px > 0


def _block(source: Source, ids: Sequence[str | None], boxes: Mapping[str, Box], index: int) -> int:
    """The element whose lines an element's text lies in: the engine gives what is inline no size."""
    while index >= 0 and not _has_size(ids, boxes, index):
        index = source.markup.elements[index].parent
    return index


def marked_page(source: Source, composed: Composed, pieces: Sequence[Piece]) -> str:
    """The page with a point on the last baseline of each box, to be laid out and thrown away."""
    ends = {run.owner: run.start for run in source.markup.ends}
    marks = [
        Edit(ends[index], ends[index], f'<i id="{_MARK}{index}" style="{_POINT}"></i>')
        for index in (piece.index for piece in pieces)
        if index in ends and _is_sure(source, index)
    ]
    return splice(source.markup.source, [*composed.edits, *marks])


def _is_sure(source: Source, index: int) -> bool:
    """Whether an element that has a box stands in its line in one piece for certain, and holds lines itself."""
    tag, has = source.markup.elements[index].tag, source.attributes[index]
    inline = tag in PHRASES or may_be(Says.ONE_PIECE, tag, has, boxing=())
    return inline and not may_be(Says.LAYS_OUT, tag, has, boxing=source.facts.boxing)


def drops_of(ids: Sequence[str | None], pieces: Sequence[Piece], *, boxes: Mapping[str, Box]) -> Drops:
    """How far each box reaches beneath its text, out of the boxes of the marked page."""
    drops = {}
    for index in (piece.index for piece in pieces):
        box, mark = boxes.get(ids[index] or ""), boxes.get(f"{_MARK}{index}")
        if box and mark and box.y_px <= mark.y_px <= box.y_px + box.height_px:
            drops[index] = floor(box.y_px + box.height_px - mark.y_px + 0.5)
    return Drops(MappingProxyType(drops))


def level_lines(
    source: Source, plan: TypePlan, ids: Sequence[str | None], *, laid: Laid, drops: Drops | None
) -> tuple[Finding, ...]:
    """Puts the text of boxes in lines on the baseline of the text beside; what cannot be put there is a finding."""
    if drops is None:
        return ()
    boxes = laid.boxes()
    pieces = pieces_in_lines(source, plan, ids, boxes=boxes)
    changes = [change for piece in pieces for change in _lowered(piece, ids, drops=drops, boxes=boxes)]
    if changes:
        laid.restyle(changes)
    left = (piece.index for piece in pieces if piece.index not in drops.known)
    return told_once(source, ((index, finding("press.inline-block", source.place(index))) for index in left))


def _lowered(
    piece: Piece, ids: Sequence[str | None], *, drops: Drops, boxes: Mapping[str, Box]
) -> Iterator[Restyle]:
    name, drop_px = ids[piece.index] or "", drops.known.get(piece.index, 0)
    if drop_px:
        yield name, "margin-bottom", f"{-drop_px}px"
        if boxes[name].height_px - drop_px > _LEADING_EM * piece.beside_px:  # keep the line as high as it was
            yield name, "margin-top", f"{drop_px}px"
