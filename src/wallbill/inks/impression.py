"""The finished picture for one display: which ink each pixel gets, and a digest of that."""

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from wallbill.panels.model import Ink

Codes = NDArray[np.uint8]
"""uint8, shape (height, width): each item indexes a tuple of inks."""

Rgb = NDArray[np.uint8]
"""uint8, shape (height, width, 3): sRGB codes of 0 to 255."""

Mask = NDArray[np.bool_]
"""bool, shape (height, width)."""


def frozen_codes(codes: NDArray[np.integer]) -> Codes:
    """A read-only uint8 copy of ``codes``, shape kept."""
    copy = np.array(codes, dtype=np.uint8, order="C")
    copy.setflags(write=False)
    return copy


@dataclass(frozen=True, slots=True, eq=False)
class Impression:
    """One ink for every pixel.

    ``codes``: uint8, shape (height, width), read-only, each item an index into ``inks``.
    Two impressions are equal when their digests are.
    """

    codes: Codes
    inks: tuple[Ink, ...]

    def __post_init__(self) -> None:
        if self.codes.ndim != 2 or self.codes.dtype != np.uint8:
            raise ValueError(f"codes are uint8 in two dimensions, got {self.codes.dtype} {self.codes.shape}")
        if self.codes.flags.writeable:
            raise ValueError("codes are read-only: make them with frozen_codes")
        if self.codes.size and int(self.codes.max()) >= len(self.inks):
            raise ValueError(f"code {int(self.codes.max())} has no ink, there are {len(self.inks)}")

    @property
    def width_px(self) -> int:
        """Pixels in a row."""
        return int(self.codes.shape[1])

    @property
    def height_px(self) -> int:
        """Rows."""
        return int(self.codes.shape[0])

    @property
    def digest(self) -> str:
        """SHA-256 in hex of the size, the inks' names and the codes; not of any file's bytes."""
        names = ",".join(ink.name for ink in self.inks)
        head = f"{self.width_px}x{self.height_px};{names};".encode()
        return hashlib.sha256(head + self.codes.tobytes()).hexdigest()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Impression) and self.digest == other.digest

    def __hash__(self) -> int:
        return hash(self.digest)
