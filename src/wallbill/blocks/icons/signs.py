"""Small signs for sheets: a drop beside the rain, a bin beside the day that it is emptied."""

from difflib import get_close_matches
from types import MappingProxyType

from markupsafe import Markup

from wallbill.blocks.asked import check_size
from wallbill.blocks.drawing.grid import INK, Grid, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.svg import to_svg
from wallbill.blocks.icons.signs_days import DAY_SIGNS
from wallbill.blocks.icons.signs_draft import Draft
from wallbill.blocks.icons.signs_home import HOME_SIGNS
from wallbill.blocks.icons.signs_letters import LETTER_SIGNS
from wallbill.blocks.icons.signs_marks import MARK_SIGNS
from wallbill.blocks.icons.signs_nature import NATURE_SIGNS
from wallbill.blocks.icons.signs_places import PLACE_SIGNS
from wallbill.blocks.icons.signs_travel import TRAVEL_SIGNS
from wallbill.blocks.icons.signs_weather import WEATHER_SIGNS
from wallbill.errors import SheetError

PENS = MappingProxyType({16: 1, 24: 2, 32: 2, 48: 3, 64: 4, 96: 5})
"""Width of the strokes at each size that signs are drawn for, as for the weather icons."""

SIGNS = MappingProxyType(
    {
        **WEATHER_SIGNS,
        **NATURE_SIGNS,
        **PLACE_SIGNS,
        **HOME_SIGNS,
        **DAY_SIGNS,
        **TRAVEL_SIGNS,
        **MARK_SIGNS,
    }
)
"""How each sign is drawn on its board."""

SIGN_NAMES = tuple(SIGNS)
"""Every sign."""


def sign(name: str, *, size_px: int, palette: Palette, title: str = "") -> Markup:
    """The sign as inline SVG, ``size_px`` square, in the palette's ink.

    ``title``: a text alternative in the page's language; left out where the text beside the sign says the same.
    A size between takes the next smaller drawing in the middle of its box, a larger one whole multiples.
    Raises `SheetError` for an unknown name or a size below 16.
    """
    return to_svg(sign_grid(name, size_px=size_px), palette, title=title)


def sign_grid(name: str, *, size_px: int) -> Grid:
    """The same drawing as ink codes."""
    draw = SIGNS.get(name)
    if draw is None:
        near = get_close_matches(str(name), SIGN_NAMES, n=1)
        hint = f"use '{near[0]}'" if near else f"use one of {', '.join(SIGN_NAMES)}"
        raise SheetError(f"unknown sign '{name}'", mend=f"{hint[0].upper()}{hint[1:]}.")
    check_size(size_px, least_px=min(PENS), what="a sign")
    drawn = max(size for size in PENS if size <= size_px)
    grid = LETTER_SIGNS.get((name, drawn))
    if grid is None:
        grid = Sketch(drawn, drawn).lay(draw(Draft(drawn, PENS[drawn])), INK).grid()
    return grid.enlarged(size_px // drawn).placed((size_px, size_px))
