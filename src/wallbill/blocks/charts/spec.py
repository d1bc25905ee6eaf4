"""What a chart is asked to be: its size, its palette, its stretch of time, and how its labels are worded."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta, tzinfo

from wallbill.blocks.charts.words import ENGLISH, Words
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.ruler import Guess, Labelled, Ruler

LEAST_WIDTH_PX = 40
LEAST_HEIGHT_PX = 16
LEAST_LABEL_PX = 8
ELLIPSIS = "…"


@dataclass(frozen=True, slots=True)
class Threshold:
    """A level worth knowing, drawn as a dashed line with its name; ``value`` in the series' unit."""

    value: float
    name: str = ""


def _threshold(given: Threshold | float | Sequence[float | str]) -> Threshold:
    """A threshold from itself, a bare level, or a pair of a level and its name."""
    if isinstance(given, Threshold):
        return given
    parts = [given] if isinstance(given, int | float) else list(given)
    if not 1 <= len(parts) <= 2 or not isinstance(parts[0], int | float):
        raise ValueError(f"a threshold is a number, or a number and a name, got {given!r}")
    return Threshold(float(parts[0]), str(parts[1]) if len(parts) == 2 else "")


@dataclass(frozen=True, slots=True)
class ChartSpec(Labelled):
    """How a chart is to look. Lengths in pixels; moments aware.

    ``label_px``: size of the label type; the face and weight are the sheet's, by the classes ``wb-axis`` and
    ``wb-label``. ``line_px``: width of the first line. ``title``: the text alternative, in the page's language; None: the chart
    says what it shows; "": the chart is decoration, for when the text beside it says the same.
    ``start``, ``end``: the stretch shown, that of the data if None. ``zone``: the wall's time zone.
    ``now``: marked, if it is on the chart. ``nights``: stretches shaded. ``include``: values that the scale
    must reach, such as 0. ``extremes``: mark and label the highest and the lowest value. ``gap_after``: readings
    further apart than this are not joined; None: three times their usual distance.
    ``ruler``: measures labels, by their class.
    ``value_label``, ``hour_label``, ``day_label``: how values, local hours and local days are worded; ``date_label``,
    ``month_label``, ``year_label``: likewise, on an axis of weeks, of months, and of years.
    ``amount_label`` (of a value and its unit), ``moment_label`` (of a local time) and ``words``: the same for the
    text alternative.
    Raises ValueError for a size that holds no chart.
    """

    width_px: int
    height_px: int
    palette: Palette = field(default_factory=Palette)
    label_px: int = 14
    line_px: int = 3
    title: str | None = None
    unit: str = ""
    zone: tzinfo = UTC
    now: datetime | None = None
    start: datetime | None = None
    end: datetime | None = None
    nights: tuple[tuple[datetime, datetime], ...] = ()
    thresholds: tuple[Threshold, ...] = ()
    include: tuple[float, ...] = ()
    extremes: bool = True
    gap_after: timedelta | None = None
    ruler: Ruler = field(default_factory=Guess)
    value_label: Callable[[float], str] | None = None
    hour_label: Callable[[datetime], str] = lambda local: (
        f"{local:%H}" if local.minute == 0 else f"{local:%H:%M}"
    )
    day_label: Callable[[datetime], str] = lambda local: f"{local.day}.{local.month}."
    date_label: Callable[[datetime], str] = lambda local: f"{local.day}.{local.month}."
    month_label: Callable[[datetime], str] = lambda local: f"{local:%b}"
    year_label: Callable[[datetime], str] = lambda local: f"{local.year}"
    amount_label: Callable[[float, str], str] | None = None
    moment_label: Callable[[datetime], str] = lambda local: f"{local:%Y-%m-%d %H:%M}"
    words: Words = ENGLISH

    def __post_init__(self) -> None:
        if self.width_px < LEAST_WIDTH_PX or self.height_px < LEAST_HEIGHT_PX:
            least = f"{LEAST_WIDTH_PX} x {LEAST_HEIGHT_PX}"
            raise ValueError(f"a chart is at least {least} pixels, got {self.width_px} x {self.height_px}")
        if self.label_px < LEAST_LABEL_PX:
            raise ValueError(f"labels are at least {LEAST_LABEL_PX} pixels, got {self.label_px}")
        if not 1 <= self.line_px <= 8:
            raise ValueError(f"a line is 1 to 8 pixels wide, got {self.line_px}")

        # A sheet writes lists, and pairs of a level and its name.
        object.__setattr__(self, "thresholds", tuple(_threshold(one) for one in self.thresholds))
        object.__setattr__(self, "include", tuple(self.include))

    def shortened(self, text: str, room_px: int, role: str = "wb-label") -> str:
        """The text, or its beginning with an ellipsis, not wider than ``room_px``; "" where not even one letter fits."""
        if self.text_px(text, role) <= room_px:
            return text
        low, high = 0, len(text) - 1
        while low < high:  # the longest beginning that fits
            middle = (low + high + 1) // 2
            if self.text_px(text[:middle].rstrip() + ELLIPSIS, role) <= room_px:
                low = middle
            else:
                high = middle - 1
        return text[:low].rstrip() + ELLIPSIS if low else ""
