"""The press's rules: what each finding says and how to mend it.

Each rule has a heading in ``docs/reference/css.md``. What the default engine lacks was measured against headless
Chromium with ``blitz-py`` 0.5.0; ``tests/press/test_engines_agree.py`` tells when a new version mends or breaks one.
"""

from dataclasses import dataclass
from types import MappingProxyType

from wallbill.findings import Weight

_FLEX_OR_GRID = "lay the parts out with flex or grid, or press this sheet with the Chromium engine"
_CHROMIUM = "or press this sheet with the Chromium engine"


@dataclass(frozen=True, slots=True)
class Rule:
    """What is wrong in words, how to mend it, how much it matters, and whether it holds for every engine."""

    what: str
    mend: str
    weight: Weight = Weight.WARN
    every_engine: bool = False


def _note(what: str, mend: str) -> Rule:
    return Rule(what, mend, Weight.NOTE)


def _every(what: str, mend: str, weight: Weight = Weight.WARN) -> Rule:
    return Rule(what, mend, weight, every_engine=True)


_LAYOUT = MappingProxyType(
    {
        "press.float": Rule(
            "a float beside text that wraps makes the engine run for ever", _FLEX_OR_GRID, Weight.STOP
        ),
        "press.subgrid": Rule("subgrid is ignored", "repeat the outer grid's columns in the inner grid"),
        "press.columns": Rule("text columns are ignored", "part the text into a grid of boxes"),
        "press.container": Rule(
            "container queries are ignored", "use media queries: the page is as large as the panel"
        ),
        "press.writing-mode": Rule(
            "vertical writing is ignored", f"turn the box with transform: rotate(90deg), {_CHROMIUM}"
        ),
        "press.direction": Rule(
            "direction is ignored in styles: a paragraph takes it from its first letter",
            f'write dir="rtl" on the element, {_CHROMIUM}',
        ),
        "press.mirroring": _note(
            "text runs from the right, but columns, rows and bullets still begin at the left",
            f"turn their order about, as with flex-direction: row-reverse, {_CHROMIUM}",
        ),
        "press.vertical-align": Rule(
            "vertical alignment in a line or table cell is ignored, sub and sup included",
            "write ² and ₂ as characters, or align with flex or grid and align-items",
        ),
        "press.inline-box": Rule(
            "padding, border and margin of an inline element are ignored", "give it display: inline-block"
        ),
        "press.inline-block": Rule(
            "a box in a line of text stands too high: its lower edge is put on the line's baseline, not its text",
            "make it a span with display: inline-block and an end tag, or lay the line out with flex and align-items: baseline",
        ),
        "press.z-index": Rule(
            "an element with a negative z-index is hidden by the element around it",
            "put it earlier in the source, and a positive z-index on what lies over it",
        ),
        "press.fixed": _note(
            "what is fixed to the bottom counts from the end of the content",
            "give html and body a height of 100%",
        ),
    }
)

_TYPE = MappingProxyType(
    {
        "press.line-clamp": Rule(
            "line clamping is ignored",
            "shorten the text in the sheet, or give the box a height and overflow: hidden",
        ),
        "press.ellipsis": Rule(
            "text-overflow draws no ellipsis, the text is only cut", "shorten the text in the sheet"
        ),
        "press.first-letter": Rule(
            "::first-letter and ::first-line are ignored", "put the letter or line into an element of its own"
        ),
        "press.capitalize": Rule("text-transform: capitalize is ignored", "capitalise the text in the sheet"),
        "press.text-shadow": Rule("shadows and outlines of letters are ignored", "do without them"),
        "press.underline": _note(
            "an underline keeps the face's own offset and thickness", "use a border below for another line"
        ),
        "press.list-style": Rule(
            "this kind of list marker is not known to the engine, which draws an empty box",
            'use disc, circle, square, decimal, lower-alpha, upper-alpha, none, or a string such as "– "',
        ),
        "press.bullet": _note(
            "discs, circles and squares of lists are drawn with smoothed edges",
            'write a string, such as list-style-type: "• ", which is set in the list\'s face',
        ),
        "press.counter": Rule(
            "counters in content are left out", "write the numbers in the sheet, or use an ol"
        ),
        "press.generated-space": Rule(
            "a space at the edge of generated content is lost",
            "write the text and its space into the sheet, in an element of its own",
        ),
        "press.quotes": Rule("quotation marks of q and content are left out", "write the marks in the text"),
        "press.wbr": Rule("wbr does not let a word break", "use a soft hyphen, or overflow-wrap: anywhere"),
    }
)

_PAINT = MappingProxyType(
    {
        "press.dashes": _note(
            "dots and dashes of borders are spaced otherwise than in browsers",
            "use a repeating gradient of whole pixels where the rhythm matters",
        ),
        "press.outline-offset": Rule("outline-offset is ignored", "use a border and padding"),
        "press.filter": Rule(
            "filters and blending are ignored", "prepare the picture, or choose the colours themselves"
        ),
        "press.gradient-stop": Rule(
            "a gradient's stop at 0 behind a later one makes the gradient one colour",
            "write where each colour begins and ends, such as #000 0 50%, #fff 50% 100%",
        ),
        "press.background-svg": Rule(
            "a drawing as a background is neither repeated nor sized",
            "use a PNG, or lay an inline svg under the text",
        ),
        "press.svg-pattern": Rule(
            "patterns in drawings are left out",
            "draw the pattern's lines themselves, or use a background gradient",
        ),
        "press.svg-mask": Rule("masks in drawings are ignored", "use a clipPath"),
        "press.svg-text": Rule("text inside of a drawing is not drawn", "lay HTML text over the drawing"),
        "press.svg-style": Rule(
            "the page's styles do not reach into a drawing",
            "write fill and stroke as attributes, or use currentColor",
        ),
    }
)

_TABLES = MappingProxyType(
    {
        "press.collapse": _note(
            "collapsed table borders are drawn otherwise than in browsers",
            "set border-spacing: 0 and draw one side of each cell",
        ),
        "press.caption": Rule("a table's caption is left out", "write a heading before the table"),
        "press.rowspan": Rule("a cell that spans rows is not stretched", "use a grid with grid-row: span 2"),
        "press.col": Rule("styles of col and colgroup are ignored", "style the cells with td:nth-child()"),
        "press.old-attribute": Rule("the attribute is ignored", "write it as CSS"),
        "press.details": Rule("the marker of details is an empty box", "set list-style: none on summary"),
    }
)

_SELECTORS = MappingProxyType(
    {
        "press.has": Rule(":has() never matches", "give the element a class in the sheet"),
        "press.nth-of": Rule(
            "':nth-child(… of …)' never matches",
            "give the elements a class in the sheet, or use :nth-of-type()",
        ),
        "press.lang": Rule(":lang() never matches", "use the attribute selector [lang|=en]"),
        "press.scope": Rule("@scope is ignored", "nest the rules, or write the ancestor into the selector"),
    }
)

_EVERY_ENGINE = MappingProxyType(
    {
        "press.pseudo-size": _every(
            "generated text has another font than its element, and so is not fitted to the pixel grid",
            "write the text into the sheet in an element of its own",
        ),
        "press.outside": _every(
            "the page asks for something outside of it, which is never loaded",
            "put it into the page as a data: address",
        ),
        "press.form-control": _every(
            "the text of a form control is not fitted to the pixel grid",
            "show the value in an ordinary element",
        ),
        "press.script": _every("scripts are not run", "work it out in the sheet or in a source"),
        "press.markup": _every("the element is never closed", "write its end tag", Weight.NOTE),
        "press.duplicate-id": _every(
            "the id is used twice, so only the last element's box is known",
            "give each element its own id",
            Weight.NOTE,
        ),
        "press.own-face": _every(
            "a face of the page's own @font-face is not fitted to the pixel grid",
            "put the font file where the wall keeps its faces and leave @font-face out",
        ),
        "press.overflow": _every(
            "text leaves the page", "shorten the text, set it smaller, or give its box more room"
        ),
        "press.clipped": _every("text is cut", "shorten the text, set it smaller, or give its box more room"),
        "press.unknown-tone": _every(
            "data-tone has a word that says nothing",
            "write picture or line, and quick, fine or diffused after picture",
        ),
        "press.empty-picture": _note(
            "the engine gave the picture no size, so its own size was set",
            "write width and height on the img",
        ),
    }
)

RULES = MappingProxyType({**_LAYOUT, **_TYPE, **_PAINT, **_TABLES, **_SELECTORS, **_EVERY_ENGINE})
"""Every rule of the room by its name."""
