"""What the agent itself may draw: the mark of old news, and a pattern to try a new panel with. Pure."""

from __future__ import annotations

from wallbill.agent.device.plates import Picture, turned

# An hourglass: the news has run out. Drawn for 16 by 16 pixels, and enlarged by whole pixels.
_MARK = (
    "################",
    "#..............#",
    "#..##########..#",
    "#...#......#...#",
    "#...#......#...#",
    "#...########...#",
    "#....######....#",
    "#.....####.....#",
    "#.....#..#.....#",
    "#....#.##.#....#",
    "#...#..##..#...#",
    "#...#.####.#...#",
    "#...########...#",
    "#..##########..#",
    "#..............#",
    "################",
)
_SIDE = len(_MARK)


def darkest_lightest(colours: tuple[tuple[int, int, int], ...]) -> tuple[int, int]:
    """Places of the darkest and of the lightest of some sRGB colours, by luma (ITU-R BT.601)."""
    lumas = [299 * red + 587 * green + 114 * blue for red, green, blue in colours]
    return lumas.index(min(lumas)), lumas.index(max(lumas))


def marked(picture: Picture, inks: tuple[int, int], *, turned_deg: int = 0) -> Picture:
    """The picture with the mark of old news in the corner that is the lower right one as it hangs.

    ``inks``: places of the dark and the light one for it. ``turned_deg``: how the panel hangs, clockwise.
    The mark is about a twelfth of the shorter side, at least 16 pixels.
    """
    return turned(_marked(turned(picture, turned_deg), inks), -turned_deg % 360)


def _marked(picture: Picture, inks: tuple[int, int]) -> Picture:
    short_px = min(picture.width_px, picture.height_px)
    scale = max(1, round(short_px / 12 / _SIDE))
    side_px = min(_SIDE * scale, short_px)
    stamp = [_stamp_row(row, scale)[:side_px] for row in _MARK for _ in range(scale)][:side_px]
    left, top = picture.width_px - side_px, picture.height_px - side_px
    return _stamped(picture, stamp, (left, top), inks)


def _stamp_row(row: str, scale: int) -> str:
    return "".join(("1" if sign == "#" else "0") * scale for sign in row)


def _stamped(picture: Picture, stamp: list[str], at_px: tuple[int, int], inks: tuple[int, int]) -> Picture:
    """The picture with a stamp of ones and zeros laid over it, ones in the first ink and zeros in the second."""
    stride = picture.stride_bytes
    left, top = at_px
    plates = [bytearray(plate) for plate in picture.plates]
    after = stride * 8 - left - len(stamp[0])
    cover = ((1 << len(stamp[0])) - 1) << after
    for down, row in enumerate(stamp):
        ones = int(row, 2) << after
        bits = {inks[0]: ones, inks[1]: cover ^ ones}
        start = (top + down) * stride
        for place, plate in enumerate(plates):
            value = int.from_bytes(plate[start : start + stride], "big") & ~cover | bits.get(place, 0)
            plate[start : start + stride] = value.to_bytes(stride, "big")
    return picture._replace(plates=tuple(bytes(plate) for plate in plates))


def pattern(width_px: int, height_px: int, *, inks: int, dark: int, light: int) -> Picture:
    """A picture that shows at a glance whether a new panel is fed rightly.

    A frame of one pixel all round: is all of it there? A filled square in the upper left corner, a triangle that falls from
    it: turned or mirrored? Bars of all inks from left to right: in their order, and none of them turned over?
    """
    rows = [
        _pattern_row(y, (width_px, height_px), inks=inks, dark=dark, light=light) for y in range(height_px)
    ]
    stride = -(-width_px // 8)
    spare = stride * 8 - width_px
    tables = [bytes(0x31 if byte == ink else 0x30 for byte in range(256)) for ink in range(inks)]
    plates = tuple(
        b"".join([(int(row.translate(table), 2) << spare).to_bytes(stride, "big") for row in rows])
        for table in tables
    )
    return Picture(width_px, height_px, plates)


def _pattern_row(y: int, size_px: tuple[int, int], *, inks: int, dark: int, light: int) -> bytes:
    """One row of the pattern, a byte a pixel."""
    width_px, height_px = size_px
    if y in (0, height_px - 1):
        return bytes([dark]) * width_px
    row = bytearray([light]) * width_px
    third, gap = height_px // 3, height_px // 24
    if y >= 2 * third:
        for place in range(inks):
            left, right = width_px * place // inks, width_px * (place + 1) // inks
            row[left:right] = bytes([place]) * (right - left)
    elif y < third - gap:
        square = min(third, width_px // 4)
        row[:square] = bytes([dark]) * square
    elif third <= y < 2 * third - gap:
        reach = max(1, (width_px // 2) * (2 * third - gap - y) // max(1, third - gap))
        row[:reach] = bytes([dark]) * reach
    row[0] = row[-1] = dark
    return bytes(row)
