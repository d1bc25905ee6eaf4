"""What a map is asked to be."""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from wallbill.blocks.charts.spec import LEAST_LABEL_PX
from wallbill.blocks.drawing.ruler import Guess, Ruler
from wallbill.blocks.maps.coast import Coast
from wallbill.facts.track import Waypoint

LEAST_SIDE_PX = 40


class Measure(StrEnum):
    """The unit of a map's scale bar."""

    KM = "km"
    NAUTICAL_MILES = "nmi"
    MILES = "mi"
    NONE = ""

    @property
    def metres(self) -> float:
        """Metres of one unit, exact; 0 for none. Source: NIST SP 811, appendix B."""
        return {"km": 1000.0, "nmi": 1852.0, "mi": 1609.344, "": 0.0}[self.value]


class Sea(StrEnum):
    """How the sea is set off from the land."""

    SCREEN = "screen"
    SHORE_LINES = "shore-lines"
    PLAIN = "plain"


def _worded(length: float, unit: str) -> str:
    if unit == Measure.KM and length < 1:
        return f"{length * 1000:g} m"
    return f"{length:g} {unit}"


@dataclass(frozen=True, slots=True)
class MapSpec:
    """How a map is to look. Lengths in pixels.

    ``coast``: the coastline, from `wallbill.blocks.maps.shell.load_coast`; None draws none.
    ``places``: named places beside those of the tracks. ``margin_px``: room between the tracks and the map's edge.
    ``borders``: draw borders between countries; some are disputed, so none are drawn unless asked.
    ``least_m``: the map is at least this wide or high, in metres on the ground. ``title``: the text alternative.
    ``ruler``: measures labels, by their class. ``scale_label``: how the scale bar's length is worded.
    Raises ValueError for a size that holds no map, or an unknown ``sea`` or ``scale``.
    """

    width_px: int
    height_px: int
    coast: Coast | None = None
    places: tuple[Waypoint, ...] = ()
    label_px: int = 14
    line_px: int = 3
    coast_px: int = 1
    margin_px: int = 32
    least_m: float = 500.0
    sea: Sea = Sea.SCREEN
    scale: Measure = Measure.KM
    borders: bool = False
    frame: bool = True
    title: str = ""
    ruler: Ruler = field(default_factory=Guess)
    scale_label: Callable[[float, str], str] = _worded

    def __post_init__(self) -> None:
        if min(self.width_px, self.height_px) < LEAST_SIDE_PX:
            raise ValueError(
                f"a map is at least {LEAST_SIDE_PX} pixels, got {self.width_px} x {self.height_px}"
            )
        if self.label_px < LEAST_LABEL_PX:
            raise ValueError(f"labels are at least {LEAST_LABEL_PX} pixels, got {self.label_px}")
        if not (1 <= self.line_px <= 8 and 1 <= self.coast_px <= 4):
            raise ValueError(
                f"lines are 1 to 8 pixels, coasts 1 to 4, got {self.line_px} and {self.coast_px}"
            )
        # A sheet writes these as words.
        object.__setattr__(self, "sea", Sea(self.sea))
        object.__setattr__(self, "scale", Measure(self.scale))

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.width_px, self.height_px

    @property
    def end_px(self) -> int:
        """Width of the ring and the dot at the ends of a track, odd."""
        return 2 * self.line_px + 5

    @property
    def dot_px(self) -> int:
        """Width of a place's dot, odd."""
        return 2 * self.line_px - 1 if self.line_px > 1 else 3

    @property
    def line_height_px(self) -> int:
        """Height of a line of labels, even."""
        return round(self.label_px * 0.59) * 2

    def text_px(self, text: str, role: str = "wb-label") -> int:
        """Width of ``text`` in pixels at the label size, even. ``role``: the class that it has."""
        wide = self.ruler.width_px(text, size_px=self.label_px, role=role)
        return (wide + 1) // 2 * 2
