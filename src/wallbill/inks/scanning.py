"""From the page as it hangs to the panel's own scan order: a panel that hangs turned is driven as if it did not."""

import numpy as np

from wallbill.inks.impression import Impression, frozen_codes

Rectangle = tuple[int, int, int, int]
"""Left, top, right and bottom in whole pixels; right and bottom lie outside."""


def scanned(impression: Impression, turned_deg: int) -> Impression:
    """The impression in the panel's own scan order.

    ``turned_deg``: how the panel hangs, clockwise; the page is turned back by as much.
    """
    return Impression(frozen_codes(np.rot90(impression.codes, turned_deg // 90)), impression.inks)


def scanned_part(part: Rectangle, page_px: tuple[int, int], turned_deg: int) -> Rectangle:
    """Where a part of the page lies in the panel's own scan order. ``page_px``: width and height as it hangs."""
    width_px, height_px = page_px
    left, top, right, bottom = part
    match turned_deg % 360:
        case 90:
            return top, width_px - right, bottom, width_px - left
        case 180:
            return width_px - right, height_px - bottom, width_px - left, height_px - top
        case 270:
            return height_px - bottom, left, height_px - top, right
    return part
