"""How much room each box of text needs, asked of the engine itself.

When the page is painted, each box of text is taken out of the flow and laid out once more: at its own width, which gives
the height that its lines need; as narrow as it can be, which gives the width of what does not break; and as wide as it
likes, which gives the whole text on one line. What was learned is kept, as most texts of a page are those of the page before.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import NamedTuple

from wallbill.press.boxing import Says, may_be
from wallbill.press.markup import PHRASES, words
from wallbill.press.model import Box, Laid, Restyle
from wallbill.press.typeplan import Source, TypePlan

_CELLS = words("td th")
_LOOSE = (
    ("position", "absolute"), ("box-sizing", "border-box"), ("height", "auto"), ("min-height", "0"), ("max-height", "none"),
    ("min-width", "0"), ("max-width", "none"), ("padding-right", "0"), ("padding-bottom", "0"),
)  # fmt: skip


class Need(NamedTuple):
    """The room that a box of text needs from its left and upper edge, pixels, without padding behind the text.

    ``height_px``: of its lines at its own width. ``least_px``: width of what does not break. ``whole_px``: width
    of the text on one line.
    """

    height_px: float
    least_px: float
    whole_px: float


Asked = tuple[str, str, float]
"""What a need depends on within pages of one skeleton: the box's source, styles written around it, its width."""


@dataclass(frozen=True, slots=True)
class Needs:
    """The needs of the pages of one skeleton, as far as they are known."""

    known: Mapping[tuple[int, Asked], Need] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True, slots=True)
class TextBox:
    """A box in which lines of text lie. ``index``: its element. ``owner``: the element of the first text in it."""

    index: int
    owner: int
    name: str
    box: Box


def text_boxes(
    source: Source, plan: TypePlan, ids: Sequence[str | None], *, boxes: Mapping[str, Box]
) -> tuple[TextBox, ...]:
    """The boxes of a page's lines in the order of their texts; text of an inline element lies in a box around it.

    What may be painted elsewhere than it is laid out is left out.
    """
    elements, found, seen = source.markup.elements, dict[int, TextBox](), set[int]()
    for owner in dict.fromkeys(run.owner for run in source.markup.texts):
        index = owner if owner in plan.settings else -1
        while index >= 0 and index not in seen:
            seen.add(index)
            name = ids[index] or ""
            box = boxes.get(name)
            if box is not None and box.width_px > 0 and box.height_px > 0:
                found[index] = TextBox(index, owner, name, box)
                if elements[index].tag not in PHRASES:
                    break
            index = elements[index].parent
    return tuple(one for one in found.values() if not _is_turned(source, one.index))


def _is_turned(source: Source, index: int) -> bool:
    elements, boxing = source.markup.elements, source.facts.boxing
    while index >= 0:
        if may_be(Says.TURNS, elements[index].tag, source.attributes[index], boxing=boxing):
            return True
        index = elements[index].parent
    return False


def needs_of(source: Source, found: Sequence[TextBox], laid: Laid, *, before: Needs) -> Needs:
    """What each box needs, as it is known from the page before or asked of the engine. Raises `PressError`.

    The laid page is of no other use afterwards.
    """
    keys = {one.index: (one.index, _asked(source, one)) for one in found}
    known = {key: before.known[key] for key in keys.values() if key in before.known}
    left = [one for one in found if keys[one.index] not in known]
    for level in _levels(source, left):
        for one, need in zip(level, _measured(source, level, laid), strict=True):
            known[keys[one.index]] = need
    return Needs(MappingProxyType(known))


def need_of(source: Source, one: TextBox, needs: Needs) -> Need:
    """What a box needs, out of needs that hold it."""
    return needs.known[one.index, _asked(source, one)]


def _asked(source: Source, one: TextBox) -> Asked:
    elements, at = source.markup.elements, elements_end(source, one.index)
    around, index = [], elements[one.index].parent
    while index >= 0:
        style = source.attributes[index].get("style")
        around.append(style.value if style else "")
        index = elements[index].parent
    return source.markup.source[elements[one.index].at : at], "\x1f".join(around), one.box.width_px


def elements_end(source: Source, index: int) -> int:
    """Where the next element begins that is not inside of this one; the end of the source behind the last."""
    elements = source.markup.elements
    depth, place = elements[index].depth, index + 1
    while place < len(elements) and elements[place].depth > depth:
        place += 1
    return elements[place].at if place < len(elements) else len(source.markup.source)


def _levels(source: Source, found: Sequence[TextBox]) -> list[list[TextBox]]:
    """The boxes by how many others lie around them: an outer one is measured with its inner ones still in the flow."""
    asked: Collection[int] = {one.index for one in found}
    levels: dict[int, list[TextBox]] = {}
    for one in found:
        index, around = source.markup.elements[one.index].parent, 0
        while index >= 0:
            around += index in asked
            index = source.markup.elements[index].parent
        levels.setdefault(around, []).append(one)
    return [levels[around] for around in sorted(levels)]


def _measured(source: Source, level: Sequence[TextBox], laid: Laid) -> list[Need]:
    loose: list[Restyle] = []
    for one in level:
        loose += [(one.name, prop, value) for prop, value in _LOOSE]
        loose.append((one.name, "width", f"{one.box.width_px}px"))
        if source.markup.elements[one.index].tag in _CELLS:
            loose.append((one.name, "display", "block"))
    laid.restyle(loose)
    heights = laid.boxes()
    laid.restyle([(one.name, "width", "min-content") for one in level])
    least = laid.boxes()
    laid.restyle([(one.name, "width", "max-content") for one in level])
    whole = laid.boxes()
    return [
        Need(heights[one.name].height_px, least[one.name].width_px, whole[one.name].width_px) for one in level
    ]
