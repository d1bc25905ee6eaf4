"""Type of several sizes, weights and inks over one drawing, and the block that both become.

Every text is HTML in a box of whole pixels, so that it gets a fitted face; the drawing below holds everything else.
"""

import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from markupsafe import Markup, escape

from wallbill.blocks.drawing.grid import INK, Grid
from wallbill.blocks.drawing.labels import Align, apart, inside
from wallbill.blocks.drawing.markup import Drawing, Tint, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Ruler
from wallbill.blocks.drawing.shapes import Box

ELLIPSIS = "…"

MOST_PX = 600
"""Larger type is not fitted to the pixel grid."""

FIGURE_EM = 0.8
"""Height that figures and capitals take in sizes of type, with a little air: they stand 0.7 to 0.73 high."""

_TRIES = 4
_LEAST_LETTERS = 3  # a text cut to fewer says nothing


class Role(StrEnum):
    """What a text is; its CSS class, which the ruler measures it by and a sheet may set in another face or weight."""

    AXIS = "wb-axis"
    LABEL = "wb-label"
    STRONG = "wb-strong"
    FIGURE = "wb-figure"


@dataclass(frozen=True, slots=True)
class Text:
    """A line of type and its box (left, top, width, height; pixels). ``code``: its ink, as in a grid."""

    text: str
    box: Box
    size_px: int
    align: Align = Align.LEFT
    role: Role = Role.LABEL
    code: int = INK


@dataclass(frozen=True, slots=True)
class Measure:
    """Widths of texts by the page's ruler."""

    ruler: Ruler

    def width_px(self, text: str, *, size_px: int, role: Role = Role.LABEL) -> int:
        """Width of a line of type, pixels."""
        return self.ruler.width_px(text, size_px=size_px, role=role)

    def cut(self, text: str, *, room_px: int, size_px: int, role: Role = Role.LABEL) -> str:
        """The text if it fits, else its beginning with an ellipsis; "" where under three letters would be left."""
        whole = self.width_px(text, size_px=size_px, role=role)
        if whole <= room_px:
            return text
        low, high = 0, len(text)
        middle = min(high, max(1, len(text) * room_px // whole))  # by the mean letter, then by halving
        while low < high:
            kept = _beginning(text, middle)
            if self.width_px(kept + ELLIPSIS, size_px=size_px, role=role) <= room_px:
                low = middle
                middle = min(high, middle + 2) if high - low > 4 else (low + high + 1) // 2
            else:
                high = middle - 1
                middle = max(low + 1, high - 1) if high - low > 4 else (low + high + 1) // 2
        kept = _beginning(text, low)
        return kept + ELLIPSIS if len(kept) >= _LEAST_LETTERS else ""

    def largest_px(self, text: str, *, room: tuple[int, int], role: Role = Role.FIGURE) -> int:
        """The largest size of type at which ``text`` fits ``room`` (width, height), up to `MOST_PX`; at least 1.

        A size is reckoned from the width at another, since to measure one means to fit a face at that size.
        """
        size = max(1, min(MOST_PX, int(room[1] / FIGURE_EM)))
        for _ in range(_TRIES):
            wide = self.width_px(text, size_px=size, role=role)
            if wide <= room[0] or size == 1:
                return size
            size = max(1, min(size - 1, size * room[0] // wide))
        while size > 1 and self.width_px(text, size_px=size, role=role) > room[0]:
            size -= 1
        return size


def _beginning(text: str, count: int) -> str:
    """The first letters, none parted from its accent, without spaces or marks at the end."""
    while 0 < count < len(text) and (unicodedata.combining(text[count]) or text[count] in "\u200d\ufe0f"):
        count -= 1
    return text[:count].rstrip(" ,;:–-·")


def line_px(size_px: int) -> int:
    """Height of a line of type of that size, even, so that its middle is a whole pixel."""
    return round(size_px * 0.62) * 2


def spread(
    texts: Iterable[Text], taken: Sequence[Text], *, size: tuple[int, int], gap_px: int
) -> tuple[Text, ...]:
    """The texts, in the order given, without those that leave the drawing or come too near to one before."""
    kept: list[Text] = []
    for text in texts:
        if inside(text.box, size) and all(
            apart(text.box, other.box, gap_px=gap_px) for other in (*taken, *kept)
        ):
            kept.append(text)
    return tuple(kept)


@dataclass(frozen=True, slots=True, eq=False)
class Composed:
    """A block put together: the drawing, the tints under it, the type over it, and what stands for it all.

    ``table``: type that stands in an HTML table over the drawing, already markup.
    """

    grid: Grid
    texts: tuple[Text, ...] = ()
    tints: tuple[Tint, ...] = ()
    title: str = ""
    table: Markup | None = None


def composed_markup(composed: Composed, palette: Palette) -> Markup:
    """A positioned ``<div>`` of the block's size, of the classes ``wb-chart`` and ``wb-days``."""
    width, height = composed.grid.size
    ground = to_markup(
        Drawing(composed.grid, tints=composed.tints, kind="wb-ground"),
        palette,
        label_px=_smallest_px(composed.texts),
    )
    named = Markup(' role="img" aria-label="{}"').format(composed.title) if composed.title else Markup("")
    if composed.table:
        named = Markup("")  # the table carries the name, and must not be hidden behind one picture
    style = f"position:relative;width:{width}px;height:{height}px;overflow:hidden;color:{palette.ink}"
    texts = Markup("".join(_span(text, palette) for text in composed.texts))  # noqa: S704  every text is escaped
    return Markup('<div class="wb-chart wb-days"{} style="{}">{}{}{}</div>').format(
        named, style, ground, composed.table or "", texts
    )


def _smallest_px(texts: Sequence[Text]) -> int:
    return min((text.size_px for text in texts), default=14)


def _span(text: Text, palette: Palette) -> str:
    left, top, width, height = text.box
    return (
        f'<span class="{text.role}" style="position:absolute;left:{left}px;top:{top}px;width:{width}px;'
        f"height:{height}px;line-height:{height}px;text-align:{text.align};white-space:nowrap;"
        f'{type_style(text, palette)}">{escape(text.text)}</span>'
    )


def type_style(text: Text, palette: Palette) -> str:
    """CSS of a text's size and colour; weight and figures are those of its class."""
    colour = f";color:{palette.css(text.code)}" if text.code != INK else ""
    return f"font-size:{text.size_px}px{colour}"
