"""How a block of time is to look: its size, colours, wording, moment and type, checked as a sheet asks for it."""

from dataclasses import dataclass, field
from datetime import date, datetime

from wallbill.blocks.days.type import Measure, Role, line_px
from wallbill.blocks.drawing.grid import ACCENT, INK, MOST_PX
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess, Ruler
from wallbill.errors import SheetError
from wallbill.facts.agenda import midnight
from wallbill.units.wording import Wording

LEAST_WIDTH_PX = 40
LEAST_HEIGHT_PX = 16
LEAST_LABEL_PX = 8
MOST_LABEL_PX = 200
MORE_TEXT = "+{count}"
"""How what finds no room is counted, if nothing else is said."""


@dataclass(frozen=True, slots=True)
class Look:
    """One block's look. Lengths in pixels.

    ``now``: aware, the moment that is marked; None marks none. ``label_px``: size of the small type.
    ``title``: the text alternative, in the page's language; "" has the block make its own. ``more_text``: how what
    found no room is counted, with ``{count}`` in it. ``runs_left``: whether the language runs from right to left.
    Raises `SheetError` for a size that holds no block.
    """

    width_px: int
    height_px: int
    wording: Wording
    now: datetime | None = None
    palette: Palette = field(default_factory=Palette)
    ruler: Ruler = field(default_factory=Guess)
    label_px: int = 14
    title: str = ""
    more_text: str = MORE_TEXT
    runs_left: bool = field(init=False, compare=False)
    _digits: str = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "runs_left", self.wording.direction == "rtl")
        every = self.wording.number(1_234_567_890, 0)
        object.__setattr__(self, "_digits", "".join(sign for sign in every if sign.isdigit()))
        for name, given, least, most in (
            ("width_px", self.width_px, LEAST_WIDTH_PX, MOST_PX),
            ("height_px", self.height_px, LEAST_HEIGHT_PX, MOST_PX),
            ("label_px", self.label_px, LEAST_LABEL_PX, MOST_LABEL_PX),
        ):
            if not least <= given <= most:
                raise SheetError(
                    f"{name} of a block of time goes from {least} to {most}, got {given}",
                    mend=f"Write {name}={min(max(given, least), most)}, or leave the block out where the page is that small.",
                )

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.width_px, self.height_px

    @property
    def measure(self) -> Measure:
        """Widths of texts."""
        return Measure(self.ruler)

    @property
    def line_height_px(self) -> int:
        """Height of a line of the small type; even."""
        return line_px(self.label_px)

    @property
    def pen_px(self) -> int:
        """The finest stroke: a pixel, and more where type is large because pixels are small or the reader is far off."""
        return max(1, round(self.label_px / 18))

    @property
    def accent(self) -> int:
        """The code for what should catch the eye: the second ink where there is one."""
        return ACCENT if self.palette.has_accent else INK

    def count(self, number: int) -> str:
        """A whole number from 0 to 999 in the language's figures: `Wording.number`, at a tenth of its cost."""
        return "".join(self._digits[int(digit) - 1] for digit in str(number))

    def text_px(self, text: str, *, role: Role = Role.LABEL) -> int:
        """Width of a line of the small type."""
        return self.measure.width_px(text, size_px=self.label_px, role=role)

    def hour(self, local: datetime) -> str:
        """A local hour as short as the language's clock allows: 6, or 6 AM on a clock of 12 hours."""
        if local.minute:
            return self.wording.time(local)
        if self.wording.hours_12:
            return self.wording.date(local, "j")
        return self.count(local.hour)

    def instant(self, moment: datetime | date) -> datetime:
        """An instant, or the one (UTC) at which a date begins where the wall hangs."""
        return moment if isinstance(moment, datetime) else midnight(moment, self.wording.zone)
