"""Text that is cut: by its own box, by a box around it, or by the edge of the page."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from wallbill.findings import Finding
from wallbill.press.boxing import Says, may_be
from wallbill.press.lint import finding
from wallbill.press.model import Box, Laid, Rgba
from wallbill.press.needs import Need, Needs, TextBox, need_of, needs_of, text_boxes
from wallbill.press.telling import told_once
from wallbill.press.typeplan import Source, TypePlan

_SLACK_PX = 0.5  # what rounding does
_BEARING_PX = 1.5  # the white behind a letter, and no more, may be cut without loss
_LEADING_EM = 0.4  # so may a part of the space between lines
_UNSEEN_PX = 2.0  # a box this small hides its text on purpose
_TOLD = 8  # more of one kind tell nothing new


class _Cut(NamedTuple):
    """How far a text leaves a box: pixels, the side, what it needs and what it has there."""

    by_px: float
    side: str
    needed_px: float
    room_px: float


@dataclass(frozen=True, slots=True, eq=False)
class Clipping:
    """A painted page whose texts are looked at. ``ids``: of its elements. ``boxes``, ``rgba``: as painted.

    ``leftwards``: whether the engine heeds ``dir="rtl"``.
    """

    source: Source
    plan: TypePlan
    ids: Sequence[str | None]
    boxes: Mapping[str, Box]
    rgba: Rgba
    leftwards: bool

    def box(self, index: int) -> Box | None:
        """The box of an element, if it has one."""
        name = self.ids[index]
        return self.boxes.get(name) if name else None


def check_clipped(page: Clipping, laid: Laid, *, before: Needs) -> tuple[tuple[Finding, ...], Needs]:
    """Texts of which something is cut away, with how far; of nested boxes the outermost, and no more than a few.

    Also what the texts need, for the next page. ``laid``: the page in the engine, of no other use afterwards.
    Raises `PressError`.
    """
    found = text_boxes(page.source, page.plan, page.ids, boxes=page.boxes)
    needs = needs_of(page.source, found, laid, before=before)
    told: dict[int, Finding] = {}
    for one in sorted(found, key=lambda one: one.index):
        if not any(index in told for index in _around(page.source, one.index)):
            need = need_of(page.source, one, needs)
            cuts = [cut for edge in _edges(page, one) for cut in _cuts(page, one, need, edge)]
            if cuts:
                told[one.index] = _told(page, one, max(cuts))
    return told_once(page.source, told.items())[:_TOLD], needs


def _told(page: Clipping, one: TextBox, cut: _Cut) -> Finding:
    base = finding("press.clipped", page.source.place(one.index))
    return Finding(
        base.rule, base.where, f"{base.what} by {cut.by_px:.0f} px {cut.side}",
        measured=f"{cut.needed_px:.0f}", limit=f"{cut.room_px:.0f}", unit="px", mend=base.mend, weight=base.weight,
    )  # fmt: skip


def _around(source: Source, index: int) -> Iterator[int]:
    index = source.markup.elements[index].parent
    while index >= 0:
        yield index
        index = source.markup.elements[index].parent


def _edges(page: Clipping, one: TextBox) -> Iterator[Box]:
    """The boxes that cut what leaves them: the text's own, those around it that hold it, and the page."""
    elements, boxing = page.source.markup.elements, page.source.facts.boxing
    free = False
    for index in (one.index, *_around(page.source, one.index)):
        box, tag, has = page.box(index), elements[index].tag, page.source.attributes[index]
        holds = may_be(Says.HOLDS, tag, has, boxing=boxing)
        if (
            index in page.plan.cuts
            and box
            and (holds or not free)
            and min(box.width_px, box.height_px) > _UNSEEN_PX
        ):
            yield box
        free = (free and not holds) or may_be(Says.FREE, tag, has, boxing=boxing)
    height_px, width_px = page.rgba.shape[:2]
    box = one.box
    inside = (
        box.x_px + box.width_px <= width_px + _SLACK_PX and box.y_px + box.height_px <= height_px + _SLACK_PX
    )
    if inside and min(box.x_px, box.y_px) >= -_SLACK_PX:  # of the others `press.overflow` tells
        yield Box(0, 0, width_px, height_px)


def _cuts(page: Clipping, one: TextBox, need: Need, edge: Box) -> Iterator[_Cut]:
    """How a text leaves an edge to its side, and below."""
    setting, box = page.plan.settings[one.owner], one.box
    reach_px = _reach(need, box, adrift=setting.adrift)
    start_px, end_px = max(box.x_px, edge.x_px), edge.x_px + edge.width_px
    right_px = box.x_px + reach_px
    side = "at its right side"
    if _leftwards(page, one.index):
        start_px, end_px = -min(box.x_px + box.width_px, end_px), -edge.x_px
        right_px, side = reach_px - box.x_px - box.width_px, "at its left side"
    over_px = right_px - end_px
    if over_px > _SLACK_PX:
        bearing_px = _BEARING_PX + max(0, setting.letter_px or 0)
        if over_px > bearing_px or _inked(page.rgba, edge, box, column=True):
            yield _Cut(over_px, side, right_px - start_px, max(0.0, end_px - start_px))
    top_px, bottom_px = max(box.y_px, edge.y_px), edge.y_px + edge.height_px
    low_px = box.y_px + need.height_px
    over_px = low_px - bottom_px
    if over_px > _SLACK_PX and (
        over_px > _LEADING_EM * setting.ask.size_px or _inked(page.rgba, edge, box, column=False)
    ):
        yield _Cut(over_px, "below", low_px - top_px, max(0.0, bottom_px - top_px))


def _reach(need: Need, box: Box, *, adrift: bool) -> float:
    """How far from its box's edge a text surely goes. Lines that do not fit begin at the edge, however they are set."""
    if need.least_px > box.width_px + _SLACK_PX:
        return need.least_px
    if adrift:
        return 0.0
    # a line breaks only where the next word has no room
    return (
        need.whole_px if need.whole_px <= box.width_px else max(need.least_px, box.width_px - need.least_px)
    )


def _leftwards(page: Clipping, index: int) -> bool:
    if not page.leftwards:
        return False
    for here in (index, *_around(page.source, index)):
        if "dir" in page.source.attributes[here]:
            return page.source.attributes[here]["dir"].value.lower() == "rtl"
    return False


def _inked(rgba: Rgba, edge: Box, box: Box, *, column: bool) -> bool:
    """Whether something is drawn along the last column, or row, of an edge beside a text."""
    height_px, width_px = rgba.shape[:2]
    right, bottom = (
        round(min(edge.x_px + edge.width_px, width_px)),
        round(min(edge.y_px + edge.height_px, height_px)),
    )
    left, top = round(max(box.x_px, edge.x_px, 0)), round(max(box.y_px, edge.y_px, 0))
    right_of_box, bottom_of_box = round(box.x_px + box.width_px), round(box.y_px + box.height_px)
    if column:
        line = rgba[top : min(bottom, bottom_of_box), max(right - 1, 0), :3]
    else:
        line = rgba[max(bottom - 1, 0), left : min(right, right_of_box), :3]
    return bool(line.size) and bool((line != line[:1]).any())
