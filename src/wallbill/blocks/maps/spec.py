"""What a map is asked to be."""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from wallbill.blocks.charts.spec import LEAST_LABEL_PX
from wallbill.blocks.drawing.ruler import EvenLabelled, Guess, Ruler
from wallbill.blocks.maps.coast import Coast
from wallbill.blocks.maps.geojson import Base
from wallbill.blocks.maps.looks import Mark, pattern_of
from wallbill.errors import SheetError
from wallbill.facts.track import Waypoint
from wallbill.places.words import did_you_mean, shown

LEAST_SIDE_PX = 40
_USUAL_MARGIN_PX = 32
_LEAST_INNER_PX = 8
_MOST_M = 4e7  # round the earth

_PARTS = MappingProxyType(
    {
        "BQ": "NL",
        "BV": "NO",
        "GF": "FR",
        "GP": "FR",
        "MQ": "FR",
        "RE": "FR",
        "SJ": "NO",
        "TK": "NZ",
        "YT": "FR",
    }
)
"""Codes of ISO 3166-1 whose land Natural Earth counts with another country."""


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


class Extent(StrEnum):
    """What part of the earth a map shows: what holds all that is on it, or the whole."""

    FIT = "fit"
    WORLD = "world"


def worded_length(length: float, unit: str) -> str:
    """A length of a scale bar in figures: below a kilometre in metres."""
    if unit == Measure.KM and length < 1:
        return f"{length * 1000:g}\N{NO-BREAK SPACE}m"
    return f"{length:g}\N{NO-BREAK SPACE}{unit}"


@dataclass(frozen=True, slots=True)
class MapSpec(EvenLabelled):
    """How a map is to look. Lengths in pixels.

    ``coast``: the coastline, from `wallbill.blocks.maps.shell.load_coast`; None draws none.
    ``base``: the user's own lines, areas and points under the tracks. ``places``: named places beside those of the
    tracks. ``countries``: ISO 3166-1 alpha-2 codes of countries filled with ``tint``, a tint or hatch by its name.
    ``margin_px``: room between the tracks and the map's edge. ``mark``: how a place is marked.
    ``borders``: draw borders between countries; some are disputed, so none are drawn unless asked.
    ``least_m``: the map is at least this wide or high, in metres on the ground. ``title``: the text alternative; if it
    is "", one is made of the names and the distance; None marks decoration. ``ruler``: measures labels, by their class. ``scale_label``: how a
    length is worded, in the unit of ``scale``; ``country_name``: how a country is, by its code. Raises `SheetError` for a size that holds no map, an unknown word or
    country.
    """

    width_px: int
    height_px: int
    coast: Coast | None = None
    base: Base | None = None
    places: tuple[Waypoint, ...] = ()
    countries: tuple[str, ...] = ()
    tint: str = "half"
    mark: Mark = Mark.DOT
    extent: Extent = Extent.FIT
    label_px: int = 14
    line_px: int = 3
    coast_px: int = 1
    margin_px: int = _USUAL_MARGIN_PX
    least_m: float = 500.0
    sea: Sea = Sea.SCREEN
    scale: Measure = Measure.KM
    borders: bool = False
    frame: bool = True
    title: str | None = ""
    ruler: Ruler = field(default_factory=Guess)
    scale_label: Callable[[float, str], str] = worded_length
    country_name: Callable[[str], str] = str

    def __post_init__(self) -> None:
        self._check_sizes()
        for name, words in (("sea", Sea), ("scale", Measure), ("mark", Mark), ("extent", Extent)):
            object.__setattr__(self, name, word_of(words, getattr(self, name), name))
        pattern_of(self.tint)
        self._check_countries()

    def _check_sizes(self) -> None:
        if min(self.width_px, self.height_px) < LEAST_SIDE_PX:
            raise SheetError(
                f"a map is at least {LEAST_SIDE_PX} pixels, got {self.width_px} x {self.height_px}",
                mend="Give it more room.",
            )
        if self.label_px < LEAST_LABEL_PX:
            raise SheetError(
                f"labels are at least {LEAST_LABEL_PX} pixels, got {self.label_px}",
                mend=f"Write label_px={LEAST_LABEL_PX} or more.",
            )
        if not (1 <= self.line_px <= 8 and 1 <= self.coast_px <= 4):
            raise SheetError(
                f"lines are 1 to 8 pixels, coasts 1 to 4, got {self.line_px} and {self.coast_px}",
                mend="Write line_px=3 and coast_px=1, or leave them out.",
            )
        most_px = max(_USUAL_MARGIN_PX, (min(self.width_px, self.height_px) - _LEAST_INNER_PX) // 2)
        if not 0 <= self.margin_px <= most_px:
            raise SheetError(
                f"the margin of a map of {self.width_px} x {self.height_px} pixels goes from 0 to {most_px}, "
                f"got {self.margin_px}",
                mend=f"Write margin_px={min(max(self.margin_px, 0), most_px)}, or leave it out.",
            )
        if not 0 < self.least_m <= _MOST_M:
            raise SheetError(
                f"least_m is a number of metres above 0, not {self.least_m:g}",
                mend="Write least_m=500, or leave it out.",
            )

    def _check_countries(self) -> None:
        codes = tuple(str(code).upper() for code in self.countries)
        object.__setattr__(self, "countries", codes)
        for code in codes:
            if self.coast is not None and code not in self.coast.countries:
                whole = _PARTS.get(code)
                mend = "Write its two letters of ISO 3166-1, such as FR."
                if whole:
                    mend = f"The map counts it as part of {whole}: write {whole}."
                raise SheetError(f"there is no country {shown(code)}", mend=mend)

    @property
    def end_px(self) -> int:
        """Width of the ring and the dot at the ends of a track, odd."""
        return 2 * self.line_px + 5

    @property
    def dot_px(self) -> int:
        """Width of a place's dot, odd."""
        return 2 * self.line_px + 1


def word_of(words: type[StrEnum], asked: object, name: str) -> StrEnum:
    """One of the words, written as such in a sheet. Raises `SheetError` for another."""
    try:
        return words(str(asked))
    except ValueError:
        mend = did_you_mean(str(asked), [str(word) for word in words if word])
        raise SheetError(f"{name} is no {shown(asked)}", mend=mend) from None
