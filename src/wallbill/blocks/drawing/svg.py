"""A grid as inline SVG, one path a colour, every edge on a whole coordinate."""

import numpy as np
from markupsafe import Markup, escape

from wallbill.blocks.drawing.grid import ACCENT, INK, MUTED, PAPER, Grid
from wallbill.blocks.drawing.palette import Palette
from wallbill.inks.impression import Mask


def to_svg(grid: Grid, palette: Palette, *, title: str) -> Markup:
    """The drawing as an ``<svg>`` element of the grid's size, one unit a pixel, of class ``wb-block``.

    ``title``: the text alternative, in the page's language; "" marks the drawing as decoration, for when the
    text beside it says the same. Placed at a whole pixel, the engine paints no smoothed pixel.
    """
    colours: dict[str, Mask] = {}
    for code in (PAPER, MUTED, INK, ACCENT):
        mask = grid.mask(code)
        if mask.any():
            colour = palette.css(code)
            colours[colour] = colours[colour] | mask if colour in colours else mask
    paths = "".join(
        f'<path fill="{colour}" fill-rule="evenodd" d="{path_data(mask)}"/>'
        for colour, mask in colours.items()
    )
    width, height = grid.size
    # An attribute, not a <title>: the engine hands an element's text on unescaped, and a "&" would lose the drawing.
    role = f'role="img" aria-label="{escape(title)}"' if title else 'aria-hidden="true"'
    return Markup(  # noqa: S704 every part is our own text or escaped
        f'<svg xmlns="http://www.w3.org/2000/svg" class="wb-block" {role} width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" shape-rendering="crispEdges">{paths}</svg>'
    )


def path_data(mask: Mask) -> str:
    """The outline of a mask as SVG path data of whole, relative steps, to be filled by the even-odd rule.

    The corners of the outline, in reading order, pair off along each row into its level edges, and likewise
    along each column into its upright ones; following the edges in turn closes every ring.
    """
    corners, level, upright = _corners(mask)
    seen = np.zeros(len(corners), dtype=np.bool_)
    rings = []
    for start in range(len(corners)):
        if seen[start]:
            continue
        at, steps = start, [f"M{corners[start][0]} {corners[start][1]}"]
        while not seen[at]:
            across = level[at]
            down = upright[across]
            seen[at] = seen[across] = True
            steps.append(f"h{corners[across][0] - corners[at][0]}")
            steps.append(f"v{corners[down][1] - corners[across][1]}")
            at = down
        rings.append("".join(steps[:-1]) + "z")
    return "".join(rings)


def _corners(mask: Mask) -> tuple[list[tuple[int, int]], list[int], list[int]]:
    """The outline's corners (x, y), and for each the index of the one it joins along its row and its column.

    Where two pixels meet by their corners only, the corner is listed twice.
    """
    padded = np.pad(mask, 1)
    a, b, c, d = padded[:-1, :-1], padded[:-1, 1:], padded[1:, :-1], padded[1:, 1:]
    crossing = (a == d) & (b == c) & (a != b)
    times = (a ^ b ^ c ^ d).astype(np.int64) + 2 * crossing
    y, x = np.nonzero(times)
    repeats = times[y, x]
    x, y = np.repeat(x, repeats), np.repeat(y, repeats)
    level = np.arange(len(x)) ^ 1
    by_column = np.lexsort((y, x))
    upright = np.empty_like(by_column)
    upright[by_column] = by_column[np.arange(len(x)) ^ 1]
    return list(zip(x.tolist(), y.tolist(), strict=True)), level.tolist(), upright.tolist()
