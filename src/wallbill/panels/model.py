"""What a panel is: its pixels, its size in the world, its inks, how it refreshes, where its tail leaves."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from math import hypot
from types import MappingProxyType

MM_PER_INCH = Fraction(254, 10)  # exact: the international inch, 1959


class Tone(StrEnum):
    """How a panel makes tones: few inks and hard pixels, or a ramp of greys that can smooth an edge."""

    INKS = "inks"
    GREYS = "greys"


class Edge(StrEnum):
    """A side of the panel as it is read when unturned."""

    TOP = "top"
    RIGHT = "right"
    BOTTOM = "bottom"
    LEFT = "left"


@dataclass(frozen=True, slots=True)
class Ink:
    """One colour that a panel can show.

    ``css``: the sRGB colour (three codes of 0 to 255) that a sheet writes to get exactly this ink.
    ``lab``: how it looks on the panel, CIELAB under D50, L* of 0 to 100.
    ``code``: the number that the panel's own frame memory uses is the ink's place in the panel's list.
    """

    name: str
    css: tuple[int, int, int]
    lab: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Refresh:
    """What a refresh costs in time and wear; seconds, None where the panel cannot do it.

    ``least_interval_s``: never refresh sooner than this after the last one.
    ``longest_rest_s``: refresh at least this often, so that pigments do not settle.
    """

    full_s: float
    fast_s: float | None
    partial_s: float | None
    least_interval_s: int
    longest_rest_s: int


@dataclass(frozen=True, slots=True)
class Outline:
    """The glass or film in the world, millimetres, seen from the front.

    ``active_offset_mm``: from the outline's left and top edge to the active area's left and top edge.
    """

    width_mm: float
    height_mm: float
    thickness_mm: float
    active_offset_mm: tuple[float, float]
    tail: Edge


@dataclass(frozen=True, slots=True)
class Climate:
    """Air temperatures in which the panel may be refreshed, degrees Celsius."""

    lowest_c: float
    highest_c: float

    def __post_init__(self) -> None:
        if not self.lowest_c < self.highest_c:
            raise ValueError(f"a climate has a span, got {self.lowest_c} to {self.highest_c}")


@dataclass(frozen=True, slots=True)
class Panel:
    """A kind of hardware, named by its size, pixels and inks only.

    ``inks``: from darkest to lightest is not promised; ``codes`` in a picture index this tuple.
    ``sources``: where each figure comes from, by the figure's name in the profile.
    ``climate``: None where nothing is known of it.
    """

    name: str
    width_px: int
    height_px: int
    active_width_mm: float
    active_height_mm: float
    inks: tuple[Ink, ...]
    tone: Tone
    refresh: Refresh
    outline: Outline
    yule_nielsen_n: float = 1.0
    sources: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    climate: Climate | None = None

    def __post_init__(self) -> None:
        if not 2 <= len(self.inks) <= 16:
            raise ValueError(f"a panel shows 2 to 16 inks, got {len(self.inks)}")
        if min(self.width_px, self.height_px) < 1:
            raise ValueError(f"a panel has at least one pixel, got {self.width_px} x {self.height_px}")

    @property
    def pitch_mm(self) -> float:
        """Distance from one pixel to the next, millimetres, mean of both directions."""
        across = self.active_width_mm / self.width_px
        down = self.active_height_mm / self.height_px
        return (across + down) / 2

    @property
    def pixels_per_inch(self) -> float:
        """Pixels in an inch, from the pitch."""
        return float(MM_PER_INCH) / self.pitch_mm

    @property
    def diagonal_in(self) -> float:
        """The active area from corner to corner, inches; the size that a panel is called by."""
        return hypot(self.active_width_mm, self.active_height_mm) / float(MM_PER_INCH)

    def turned(self, degrees: int) -> tuple[int, int]:
        """Width and height of the page in pixels when the panel hangs turned by 0, 90, 180 or 270 degrees."""
        if degrees % 180:
            return self.height_px, self.width_px
        return self.width_px, self.height_px

    def ink(self, name: str) -> Ink | None:
        """The ink of this name, or None if the panel lacks it."""
        return next((ink for ink in self.inks if ink.name == name), None)
