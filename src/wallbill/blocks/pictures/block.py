"""A picture as a block of HTML: the picture itself, a frame of whole pixels around it, a caption under or over it."""

import base64
import io
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup, escape
from PIL import Image

from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import INK, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Ruler
from wallbill.blocks.drawing.shapes import Box
from wallbill.blocks.drawing.svg import to_svg
from wallbill.blocks.pictures.cutting import MIDDLE, Subject, cut
from wallbill.errors import SheetError
from wallbill.inks.impression import Mask, Rgb
from wallbill.inks.pictures import resized
from wallbill.inks.toning import PRESETS, USUAL, Tones, toned

PLACES = ("under", "over")
"""Where a caption goes: below the picture, or on a paper strip across its foot."""

ELLIPSIS = "…"

_LEADING = 1.3  # of a caption's lines, in sizes of its type
_PAD = 0.4  # beside and above a caption's lines, in sizes of its type
_LEAST_PICTURE_PX = 8


@dataclass(frozen=True, slots=True)
class Look:
    """How a picture is brought to its box. ``round_px``: radius of its corners. ``frame_px``: line around it."""

    subject: Subject = MIDDLE
    fit: str = "cover"
    tones: Tones = PRESETS[USUAL]
    round_px: int = 0
    frame_px: int = 0


@dataclass(frozen=True, slots=True)
class Caption:
    """Words with a picture. ``place``: under or over. ``size_px``: of the type. ``lines``: at most so many."""

    text: str
    place: str = "under"
    size_px: int = 14
    lines: int = 1

    def __post_init__(self) -> None:
        if self.place not in PLACES:
            raise SheetError(
                f"a caption stands under or over its picture, not {self.place!r}",
                mend='Write caption_at="under" or caption_at="over".',
            )
        if self.size_px < 1 or self.lines < 1:
            raise SheetError(
                f"a caption has at least one line of type, got {self.lines} of {self.size_px} px",
                mend="Leave caption_px and caption_lines out.",
            )


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A picture brought to its box: sRGB (height, width, 3), and where of the box it shows, bool (height, width).

    ``area``: left, top, width, height of the picture in its box, pixels.
    """

    rgb: Rgb
    shows: Mask
    area: Box


def prepared(rgb: Rgb, room_px: tuple[int, int], look: Look, *, at_top: bool = False) -> Prepared:
    """The picture cut, sized in linear light and toned, in the middle of its box or ``at_top`` of it.

    Raises `SheetError` as `cut` does.
    """
    width, height = room_px
    found = cut((rgb.shape[1], rgb.shape[0]), room_px, subject=look.subject, fit=look.fit)
    part = toned(resized(rgb, found.size_px, found.box), look.tones)
    x, y = found.at_px[0], 0 if at_top else found.at_px[1]
    whole = np.full((height, width, 3), 255, dtype=np.uint8)
    whole[y : y + part.shape[0], x : x + part.shape[1]] = part
    area = (x, y, part.shape[1], part.shape[0])
    return Prepared(whole, shapes.rounded(room_px, area, radius_px=max(0, look.round_px)), area)


def picture_block(
    rgb: Rgb,
    room_px: tuple[int, int],
    *,
    look: Look,
    caption: Caption | None,
    words: "Words",
) -> Markup:
    """A ``<div>`` of exactly ``room_px`` with the picture in it, and its caption if it has one.

    Raises `SheetError` where there is no room for the picture beside its caption.
    """
    width, height = room_px
    lines = words.lines(caption, width) if caption else ()
    strip_px = _strip_px(caption, len(lines)) if caption and lines else 0
    foot = strip_px if caption and caption.place == "under" else 0
    if height - foot < _LEAST_PICTURE_PX:
        raise SheetError(
            f"a picture {height} px high has no room beside a caption of {strip_px} px",
            mend="Make it higher, or its caption_px smaller.",
        )
    most_px = (min(width, height - foot) - _LEAST_PICTURE_PX) // 2
    if look.frame_px > max(0, most_px):
        raise SheetError(
            f"a frame of {look.frame_px} px leaves nothing of a picture of {width} x {height - foot} px",
            mend=f"Write frame_px={max(0, most_px)} or less.",
        )
    made = prepared(rgb, (width, height - foot), look, at_top=foot > 0)
    parts = [_image(made, words.alternative)]
    if caption and lines:
        parts.append(_strip(lines, caption, words, made.area))
    parts.append(_frame(made.shows, look.frame_px, words.palette))
    style = f"position:relative;width:{width}px;height:{height}px;overflow:hidden"
    return Markup('<div class="wb-picture" style="{}">{}</div>').format(style, Markup().join(parts))


@dataclass(frozen=True, slots=True)
class Words:
    """What a picture's words are set with. ``alternative``: what stands for the picture, "" for decoration."""

    ruler: Ruler
    palette: Palette
    alternative: str = ""

    def lines(self, caption: Caption, width_px: int) -> tuple[str, ...]:
        """The caption's lines in a strip of that width; the last ends in an ellipsis where more would follow."""
        room = width_px - 2 * round(caption.size_px * _PAD)
        left = caption.text.split()
        lines: list[str] = []
        while left and len(lines) < caption.lines:
            count = self._fitting(left, room, caption.size_px)
            lines.append(" ".join(left[:count]))
            left = left[count:]
        if left and lines:
            lines[-1] = self._shortened(lines[-1] + (" " + left[0]), room, caption.size_px)
        return tuple(
            line if self._fits(line, room, caption.size_px) else self._shortened(line, room, caption.size_px)
            for line in lines
        )

    def width_px(self, text: str, caption: Caption) -> int:
        """How wide a line of the caption is."""
        return self.ruler.width_px(text, size_px=caption.size_px, role="wb-caption")

    def _fits(self, text: str, room_px: int, size_px: int) -> bool:
        return self.ruler.width_px(text, size_px=size_px, role="wb-caption") <= room_px

    def _fitting(self, words: list[str], room_px: int, size_px: int) -> int:
        """How many words fit on a line; at least 1."""
        count = 1
        while count < len(words) and self._fits(" ".join(words[: count + 1]), room_px, size_px):
            count += 1
        return count

    def _shortened(self, text: str, room_px: int, size_px: int) -> str:
        """As many letters as fit before an ellipsis."""
        kept = text
        while kept and not self._fits(kept.rstrip() + ELLIPSIS, room_px, size_px):
            kept = kept[:-1]
        return kept.rstrip() + ELLIPSIS


def _strip_px(caption: Caption, lines: int) -> int:
    return lines * round(caption.size_px * _LEADING) + round(caption.size_px * _PAD)


def _strip(lines: tuple[str, ...], caption: Caption, words: "Words", area: Box) -> Markup:
    """The caption's lines, each set on whole pixels: just below the picture, or on a paper label at its foot."""
    left, top, width, height = area
    pad, line_px = round(caption.size_px * _PAD), round(caption.size_px * _LEADING)
    strip_px = _strip_px(caption, len(lines))
    over = caption.place == "over"
    if over:
        width = min(width, 2 * pad + max(words.width_px(line, caption) for line in lines))
    style = (
        f"position:absolute;left:{left}px;top:{top + height - (strip_px if over else 0)}px;width:{width}px;"
        f"height:{strip_px}px;padding:{pad // 2 if over else pad}px 0 0 {pad if over else 0}px;box-sizing:border-box;"
        f"font-size:{caption.size_px}px;line-height:{line_px}px;background:{words.palette.paper};"
        f"color:{words.palette.ink};white-space:nowrap;overflow:hidden"
    )
    rows = Markup().join(Markup("<div>{}</div>").format(line) for line in lines)
    return Markup('<div class="wb-caption" style="{}">{}</div>').format(style, rows)


def _frame(shows: Mask, frame_px: int, palette: Palette) -> Markup:
    """A line of ink along the inside of the picture's edge."""
    if frame_px < 1:
        return Markup()
    size = (shows.shape[1], shows.shape[0])
    inner = shapes.shrunk(shows, frame_px)
    grid = Sketch(*size).lay(shows & ~inner, INK).grid()
    return Markup('<div style="position:absolute;left:0;top:0;line-height:0">{}</div>').format(
        to_svg(grid, palette, title="")
    )


def _image(made: Prepared, alternative: str) -> Markup:
    """The picture as an ``<img>`` that the press takes for a picture; what is cut off its corners lets through."""
    height, width = made.shows.shape
    image = Image.fromarray(made.rgb)
    if not made.shows.all():
        image.putalpha(Image.fromarray(np.where(made.shows, 255, 0).astype(np.uint8)))
    packed = io.BytesIO()
    image.save(packed, "PNG", compress_level=1)
    data = base64.b64encode(packed.getvalue()).decode("ascii")
    return Markup(
        '<img data-tone="picture" width="{w}" height="{h}" style="display:block;width:{w}px;height:{h}px" alt="{alt}" '
        'src="data:image/png;base64,{data}">'
    ).format(w=width, h=height, alt=escape(alternative), data=data)
