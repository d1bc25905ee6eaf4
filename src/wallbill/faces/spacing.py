"""Room between letters and words in small type."""

import math

_TRACKED_BELOW_PX = 12
_WORD_SHARE = 0.4
_STURDY_TO_PX, _STURDY_WORD_SHARE = 24, 0.28


def tracking_px(size_px: int) -> int:
    """Pixels to add to every advance: 1 below 12 px.

    Measured on bi-level pages: one pixel more between letters raised recognised characters from 90.5 to 94.3 % at 9 px
    and from 95.0 to 96.0 % at 10 px.
    """
    return 1 if size_px < _TRACKED_BELOW_PX else 0


def word_space_px(size_px: int, *, drawn_px: int) -> int:
    """The advance of a space whose own, hinted and tracked, is ``drawn_px``.

    Below 12 px at least 0.4 em: at 9 px a space of 2 px lets words run together, and 4 px read better than 3
    (93.5 against 90.9 % of characters). Up to 24 px at least 0.28 em, as sturdy stems eat into narrow spaces (by eye).
    """
    if size_px < _TRACKED_BELOW_PX:
        return max(drawn_px, round(_WORD_SHARE * size_px))
    if size_px <= _STURDY_TO_PX:
        return max(drawn_px, math.ceil(_STURDY_WORD_SHARE * size_px))
    return drawn_px
