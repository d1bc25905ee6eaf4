"""What goes into the press and what comes out, and the protocol that every engine keeps."""

from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from wallbill.findings import Finding
from wallbill.inks.manner import Area

Rgb = NDArray[np.uint8]
"""uint8, shape (height, width, 3): sRGB codes of 0 to 255."""

Rgba = NDArray[np.uint8]
"""uint8, shape (height, width, 4): sRGB codes and coverage, which is 255 everywhere on a finished page."""

Mask = NDArray[np.bool_]
"""bool, shape (height, width)."""

Restyle = tuple[str, str, str]
"""An element's id, a CSS property, its new value: an inline declaration."""


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


@dataclass(frozen=True, slots=True)
class Limits:
    """What one page may cost before the engine is ended and the page refused.

    ``page_s``: wall-clock seconds for one request (laying out, or painting).
    ``start_s``: seconds for the engine to come up. ``memory_mb``: address space of the engine's process, MiB.
    ``pages``: after so many pages the process is replaced, so that nothing can pile up over the years.
    """

    page_s: float = 10.0
    start_s: float = 20.0
    memory_mb: int = 2048
    pages: int = 5000


class Laid(Protocol):
    """A page that lies parsed and laid out in the engine: one parse serves boxes, changes and paints."""

    def boxes(self) -> Mapping[str, Box]:
        """Box of every element with an id, as the page stands now. Raises `PressError`."""
        ...

    def restyle(self, changes: Sequence[Restyle]) -> None:
        """Sets inline declarations on elements by id; ids that the page lacks are passed over."""
        ...

    def paint(self) -> Rgba:
        """The page as it stands now: uint8, shape (height, width, 4), the caller's own. Raises `PressError`."""
        ...


class Engine(Protocol):
    """Lays out HTML and paints it. One call is one page; nothing is kept from page to page but warmth."""

    name: str

    def lay(self, page: Page) -> AbstractContextManager[Laid]:
        """The page parsed and laid out, until the context is left. Raises `PressError`."""
        ...

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
    ``ways``: parts of the page whose pictures ask for a way to be scattered. ``minor``: parts (left, top, right, bottom in
    pixels) that elements with ``data-change="minor"`` cover.
    """

    rgb: Rgb
    picture: Mask
    boxes: Mapping[str, Box]
    text_boxes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = field(default=())
    ways: tuple[Area, ...] = field(default=())
    minor: tuple[tuple[int, int, int, int], ...] = field(default=())
