"""How pictures are to be scattered into dots: the way, what greys are made of, and what stands on the panel already."""

from dataclasses import dataclass, field
from enum import StrEnum

from wallbill.inks.impression import Codes, Mask, Rgb
from wallbill.inks.inkset import Neutrals
from wallbill.inks.search import StepFor


class Way(StrEnum):
    """A way to scatter a picture's dots.

    ``QUICK``: blue noise, some ten milliseconds. ``FINE``: a search for the dots that look most like the picture, about half
    a second. ``DIFFUSED``: error diffusion, for who asks for it: a change in one place moves the dots all over.
    """

    QUICK = "quick"
    FINE = "fine"
    DIFFUSED = "diffused"


Area = tuple[tuple[int, int, int, int], Way]
"""Left, top, width and height in pixels of the page, and how pictures in it are scattered."""


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """A page as it was separated last: what did not change on it keeps its dots.

    ``rgb``: uint8 (height, width, 3). ``picture``: bool (height, width). ``codes``: uint8 (height, width), its inks.
    """

    rgb: Rgb
    picture: Mask
    codes: Codes


@dataclass(frozen=True, slots=True, eq=False)
class Manner:
    """How the pictures of a page are scattered.

    ``areas``: parts of the page with a way of their own; later ones win. ``standing``: the page before, if it was made
    in the same manner. ``step_for``: the maker of the search's moves for so many pixels:
    it changes how fast, never what.
    """

    way: Way = Way.FINE
    neutrals: Neutrals = Neutrals.PLAIN
    areas: tuple[Area, ...] = field(default=())
    standing: Standing | None = None
    step_for: StepFor | None = None


USUAL = Manner()
"""The manner of a page that asks for nothing."""
