"""What the blocks of a sheet are bound to: one display's colours, wording, moment, place, sight and rulers."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Ruler
from wallbill.blocks.grammar.spec import Engrave
from wallbill.blocks.maps.coast import Coast
from wallbill.errors import Place, SheetError
from wallbill.findings import Finding
from wallbill.places.words import a_kind
from wallbill.sheets.missing import Missing
from wallbill.sheets.pictures import Pictures
from wallbill.sources.sun import Spot
from wallbill.units.sight import LEAST_ARCMIN, READABLE_ARCMIN, Sight
from wallbill.units.wording import Wording

_USUAL_LABEL_PX = 14
_LINES_OF_A_BLOCK = (
    9  # a block whose labels take more than a ninth of its height is all labels: judged by eye
)


@dataclass(frozen=True, slots=True)
class Bench:
    """One display's bench: each block of its sheet is made here.

    ``now``: aware, in the wall's zone. ``size_px``: of the page. ``sight``: how pixels look from the reader's place.
    ``ruler``: measures texts as the page will set them. ``coast``, ``pictures``: given when asked for.
    ``texts``: the files of ``sheets/`` by name. ``engrave``: lays out charts in the grammar of graphics.
    ``note``: takes what a block has to say, such as a code that is too small to be read.
    """

    palette: Palette
    wording: Wording
    now: datetime
    spot: Spot
    size_px: tuple[int, int]
    sight: Sight
    ruler: Ruler
    coast: Callable[[], Coast]
    pictures: Pictures
    texts: Mapping[str, str]
    engrave: Engrave
    note: Callable[[Finding], None]

    def label_px(self, height_px: float) -> int:
        """The size of labels in a block of that height, if the sheet does not say it.

        What can just be read from the reader's place, as far as the block has room for it.
        """
        room = max(_USUAL_LABEL_PX, int(height_px / _LINES_OF_A_BLOCK))
        return max(_USUAL_LABEL_PX, min(room, self.sight.type_px(READABLE_ARCMIN)))

    def check_type(self, size_px: float, *, block: str, option: str = "label_px") -> None:
        """Notes type too small for the reader's place: capitals seen under less than `LEAST_ARCMIN`.

        ``block``: what it is the type of, with its article, "a line chart"; ``option``: what sets its size.
        """
        seen_arcmin = self.sight.capital_arcmin(size_px)
        if seen_arcmin >= LEAST_ARCMIN:
            return
        least_px = self.sight.type_px(LEAST_ARCMIN)
        self.note(
            Finding(
                rule="blocks.small-type",
                where=Place(field=option),
                what=f"the type of {block}, {size_px:g} px, is too small to be read from {self.sight.read_from_m:g} m",
                measured=f"{seen_arcmin:.1f}",
                limit=f"{LEAST_ARCMIN:g}",
                unit="minutes of arc",
                mend=f"Write {option}={least_px} or more, with a block that has room for it.",
            )
        )


def gap(width_px: int, height_px: int) -> Markup:
    """An empty place of that size, where a block would stand if its facts were there."""
    return Markup(
        '<div class="wb-gap" style="width:{}px;height:{}px;display:flex;align-items:center;justify-content:center">–</div>'
    ).format(width_px, height_px)


def is_gap(given: object, kind: type | tuple[type, ...], *, block: str, mend: str) -> bool:
    """Whether a block has nothing to draw. Raises `SheetError` for what is neither a gap nor of the ``kind``.

    ``block``: what would be drawn, with its article. ``mend``: what to hand it, after "Hand it".
    """
    if given is None or isinstance(given, Missing):
        return True
    if isinstance(given, kind):
        return False
    kinds = kind if isinstance(kind, tuple) else (kind,)
    wanted = " or ".join(dict.fromkeys(map(a_kind, kinds)))
    raise SheetError(f"{block} is drawn of {wanted}, not of {a_kind(type(given))}", mend=f"Hand it {mend}.")
