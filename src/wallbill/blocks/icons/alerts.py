"""Icons of official warnings: what they are of, in a frame whose shape and fill tell how grave they are.

A ring for a minor warning, a square for a moderate one, a filled star of eight points for a severe one, a filled octagon
for an extreme one: no two share an outline, and the two graver ones are dark with the picture left out of them, so that
neither colour nor size is needed to tell them apart.
"""

from types import MappingProxyType

from markupsafe import Markup

from wallbill.blocks.asked import check_size
from wallbill.blocks.drawing import shapes
from wallbill.blocks.drawing.grid import ACCENT, INK, PAPER, Grid, Sketch
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.svg import to_svg
from wallbill.blocks.icons.alert_letters import ALERT_LETTERS
from wallbill.blocks.icons.alert_pictures import PICTURES
from wallbill.blocks.icons.signs import PENS
from wallbill.blocks.icons.signs_draft import Draft
from wallbill.errors import SheetError
from wallbill.facts.alerts import Severity
from wallbill.facts.hazards import Hazard
from wallbill.inks.impression import Mask

_BOARDS = MappingProxyType({16: 10, 24: 14, 32: 18, 48: 30, 64: 38, 96: 58})
"""Width of the board of the picture inside the frame at each size; as for signs, an odd pen leaves one column empty."""

_FILLED = frozenset({Severity.SEVERE, Severity.EXTREME})


def alert_icon(
    hazard: Hazard, *, severity: Severity, size_px: int, palette: Palette, title: str = ""
) -> Markup:
    """The warning's picture in its frame as inline SVG, ``size_px`` square.

    ``title``: a text alternative in the page's language; without it the picture says its severity and family in
    English. Where the panel has a second ink, the frames of moderate, severe and extreme warnings are in it. A size
    between takes the next smaller drawing in the middle of its box, a larger one whole multiples. Raises `SheetError`
    below 16 pixels.
    """
    return to_svg(
        alert_grid(hazard, severity=severity, size_px=size_px),
        palette,
        title=title or alert_words(hazard, severity),
    )


def check_severity(word: str) -> Severity:
    """The severity of that name, in any case. Raises `SheetError` for a word that is none."""
    try:
        return Severity(word.lower())
    except ValueError:
        words = ", ".join(Severity)
        raise SheetError(f"no severity is called {word!r}", mend=f"Use one of {words}.") from None


def alert_words(hazard: Hazard, severity: Severity) -> str:
    """The warning in English: "severe warning: snow and ice"."""
    names = {
        Hazard.SNOW_ICE: "snow and ice",
        Hazard.RAIN_FLOOD: "rain and flood",
        Hazard.COASTAL: "high water or waves at the coast",
        Hazard.GENERAL: "danger",
    }
    what = names.get(hazard, hazard.replace("-", " "))
    grade = "" if severity is Severity.UNKNOWN else f"{severity} "
    return f"{grade}warning: {what}"


def alert_grid(hazard: Hazard, *, severity: Severity, size_px: int) -> Grid:
    """The same drawing as ink codes."""
    check_size(size_px, least_px=min(PENS), what="an alert icon")
    drawn = max(size for size in PENS if size <= size_px)
    sketch = Sketch(drawn, drawn)
    picture = _picture(hazard, drawn)
    filled = severity in _FILLED
    frame = _frame(drawn, severity)
    sketch.lay(frame, INK if severity in {Severity.MINOR, Severity.UNKNOWN} else ACCENT)
    sketch.lay(picture, PAPER if filled else INK)
    grid = sketch.grid()
    return grid.enlarged(size_px // drawn).placed((size_px, size_px))


def _picture(hazard: Hazard, drawn: int) -> Mask:
    """The family's picture in the middle of the icon."""
    board, pen = _BOARDS[drawn], PENS[drawn]
    letters = ALERT_LETTERS.get((hazard, drawn))
    grid = letters or Sketch(board, board).lay(PICTURES[hazard](Draft(board, pen)), INK).grid()
    left = (drawn - board) // 2
    return grid.placed((drawn, drawn), at=(left, left)).drawn()


def _frame(drawn: int, severity: Severity) -> Mask:
    """What stands around the picture, or behind it."""
    pen = PENS[drawn]
    size, span = (drawn, drawn), drawn - pen % 2
    middle = span / 2
    if severity is Severity.MINOR:
        return shapes.ring(size, (middle, middle), radius_px=middle, line_px=pen)
    if severity is Severity.MODERATE:
        return shapes.frame(size, (0, 0, span, span), line_px=pen)
    x, y = shapes.centres(size)
    across, down = abs(x - middle), abs(y - middle)
    if severity is Severity.SEVERE:
        half = (_BOARDS[drawn] - pen % 2) / 2 + max(1, round(pen * 0.7))
        return (across + down <= middle) | ((across < half) & (down < half))
    if severity is Severity.EXTREME:
        cut = round(span * 0.2929)
        return (across < middle) & (down < middle) & (across + down <= span - cut)
    arm = span // 4
    corners = shapes.frame(size, (0, 0, span, span), line_px=pen)
    return corners & (across > middle - arm) & (down > middle - arm)
