"""What goes into the press and what comes out, and the protocol that every engine keeps."""

from dataclasses import dataclass, field
from typing import Mapping, Protocol

import numpy as np
from numpy.typing import NDArray

from wallbill.findings import Finding

Rgb = NDArray[np.uint8]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Box:
    """Where an element lies on the page: left, top, width, height in CSS pixels, fractions kept."""

    x_px: float
    y_px: float
    width_px: float
    height_px: float


@dataclass(frozen=True, slots=True)
class Page:
    """A finished HTML document and the size that it is laid out at, in pixels.

    ``name``: for messages, the sheet's file. ``fonts``: sfnt files the engine may use, beside its own.
    """

    html: str
    width_px: int
    height_px: int
    name: str = ""
    fonts: tuple[bytes, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Painted:
    """What an engine gives back: ``rgb`` uint8 (height, width, 3), and the box of every element with an id."""

    rgb: Rgb
    boxes: Mapping[str, Box]


class Engine(Protocol):
    """Lays out HTML and paints it. One call is one page; nothing is kept from page to page but warmth."""

    name: str

    def boxes(self, page: Page) -> Mapping[str, Box]:
        """Box of every element with an id, without painting. Raises `PressError`."""
        ...

    def paint(self, page: Page) -> Painted:
        """The page as it looks, with its boxes. Raises `PressError`."""
        ...

    def close(self) -> None:
        """Ends the engine's process; may be called twice."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Pressed:
    """A pressed page.

    ``rgb``: uint8, shape (height, width, 3). ``picture``: bool, shape (height, width), true where a picture
    shows (its pixels are dithered; all others are line work or flat colour).
    ``boxes``: by element id. ``text_boxes``: ids of the elements that hold text themselves.
    """

    rgb: Rgb
    picture: Mask
    boxes: Mapping[str, Box]
    text_boxes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = field(default=())
