"""A Linux framebuffer as the panel: its layout is asked of the device, or read from sysfs. Source: linux/fb.h."""

from __future__ import annotations

import fcntl
import os
import struct
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from wallbill.agent.device.pictures import Css
from wallbill.agent.device.plates import Picture, codes, trimmed

_GET_VARIABLE, _GET_FIXED = 0x4600, 0x4602
_VARIABLE_BYTES = 160
_FIXED = "@16sL4I3HIL2I3H0L"  # struct fb_fix_screeninfo; the length of a row is its tenth figure
_ROW = 9
_SYSFS = Path("/sys/class/graphics")


class Layout(NamedTuple):
    """How a framebuffer lies in memory. ``channels``: for red, green, blue the lowest bit and how many.

    ``start_bytes``: where what is seen begins, if the framebuffer has more than one page.
    """

    width_px: int
    height_px: int
    bits: int
    stride_bytes: int
    channels: tuple[tuple[int, int], tuple[int, int], tuple[int, int]]
    start_bytes: int = 0


_USUAL = MappingProxyType({16: ((11, 5), (5, 6), (0, 5)), 32: ((16, 8), (8, 8), (0, 8))})


def paint(path: Path, picture: Picture, colours: tuple[Css, ...], *, sysfs: Path = _SYSFS) -> None:
    """Paints a picture in the middle of a framebuffer, with the lightest colour round it.

    Raises `OSError` where it cannot be opened, is smaller than the picture, or has other than 16 or 32 bits a pixel.
    """
    handle = os.open(path, os.O_RDWR)
    try:
        layout = _asked(handle) or _read(sysfs / path.name)
        if layout.bits not in _USUAL:
            raise OSError(f"a framebuffer of {layout.bits} bits a pixel; 16 and 32 are known")
        if layout.width_px < picture.width_px or layout.height_px < picture.height_px:
            raise OSError(f"the framebuffer has {layout.width_px} x {layout.height_px} pixels, too few")
        data = framed(picture, colours, layout)
        done = 0
        while done < len(data):
            done += os.pwrite(handle, data[done:], layout.start_bytes + done)
    finally:
        os.close(handle)


def _asked(handle: int) -> Layout | None:
    """The layout as the device tells it, None where it is no framebuffer: struct fb_var_screeninfo, fb_fix_screeninfo."""
    variable, fixed = bytearray(_VARIABLE_BYTES), bytearray(struct.calcsize(_FIXED))
    try:
        fcntl.ioctl(handle, _GET_VARIABLE, variable)
        fcntl.ioctl(handle, _GET_FIXED, fixed)
    except OSError:
        return None
    width_px, height_px, _, _, left, top, bits = struct.unpack_from("=7I", variable)
    parts = struct.unpack_from("=2I4x2I4x2I", variable, 32)
    stride = struct.unpack_from(_FIXED, fixed)[_ROW]
    start_bytes = top * stride + left * bits // 8
    return Layout(width_px, height_px, bits, stride, (parts[:2], parts[2:4], parts[4:]), start_bytes)


def _read(folder: Path) -> Layout:
    """The layout as sysfs tells it; the colours lie where they usually do. Raises `OSError`."""

    def words(name: str) -> list[int]:
        return [int(word) for word in (folder / name).read_text(encoding="ascii").replace(",", " ").split()]

    try:
        width_px, height_px = words("virtual_size")
        (bits,) = words("bits_per_pixel")
        (stride,) = words("stride")
    except ValueError as error:
        raise OSError(f"{folder} does not tell the layout") from error
    usual = _USUAL.get(bits, _USUAL[32])
    return Layout(width_px, height_px, bits, stride, usual)


def framed(picture: Picture, colours: tuple[Css, ...], layout: Layout) -> bytes:
    """All bytes of a framebuffer that shows a picture in its middle; pixels are stored low byte first."""
    each = layout.bits // 8
    values = [_value(colour, layout) for colour in colours]
    paper = _value(max(colours, key=sum), layout).to_bytes(each, "little")
    plain = trimmed(codes(picture, tuple(range(len(colours))), bits=8), picture.width_px, picture.width_px)
    pixels = bytearray(len(plain) * each)
    for place in range(each):
        table = bytes((values[code] >> 8 * place) & 255 if code < len(values) else 0 for code in range(256))
        pixels[place::each] = plain.translate(table)
    left = (layout.width_px - picture.width_px) // 2
    top = (layout.height_px - picture.height_px) // 2
    row_bytes = picture.width_px * each
    after = bytes(layout.stride_bytes - layout.width_px * each)
    empty = paper * layout.width_px + after
    rows = [empty] * top
    for start in range(0, len(pixels), row_bytes):
        right = layout.width_px - left - picture.width_px
        rows.append(paper * left + pixels[start : start + row_bytes] + paper * right + after)
    rows += [empty] * (layout.height_px - top - picture.height_px)
    return b"".join(rows)


def _value(colour: Css, layout: Layout) -> int:
    """A colour as the framebuffer's number, each part rounded to as many bits as it has there."""
    return sum(
        round(part * ((1 << bits) - 1) / 255) << low for part, (low, bits) in zip(colour, layout.channels)
    )
