"""Finding a sheet's marks in a photograph, by a library that reads codes.

It is an optional part (``wallbill[photo]``) and loaded only here.
"""

import importlib
from collections.abc import Iterator
from typing import Any

import numpy as np
from PIL import Image

from wallbill.errors import PictureError
from wallbill.inks.calibration.marks import Mark, read_mark
from wallbill.inks.calibration.photo import Found
from wallbill.inks.impression import Rgb

_SIDES_PX = (1600, 2400, 1000, 3600)
"""Longer sides at which a photograph is looked through, until all four marks are found: codes are read best when their
modules are some 3 to 20 pixels wide."""


def find_marks(rgb: Rgb) -> tuple[Found, ...]:
    """The marks in a photograph, uint8 (height, width, 3), each once, with their corners in its pixels.

    Raises `PictureError` where the library is not installed.
    """
    try:
        zxingcpp: Any = importlib.import_module("zxingcpp")
    except ImportError as error:
        raise PictureError(
            "what reads the marks of a target is not installed",
            mend="Install it: pip install 'wallbill[photo]'.",
        ) from error
    found: dict[Mark, Found] = {}
    formats = zxingcpp.barcode_formats_from_str("MicroQRCode")
    for grey, scale in _sizes(rgb):
        for binarizer in (zxingcpp.Binarizer.LocalAverage, zxingcpp.Binarizer.GlobalHistogram):
            for code in zxingcpp.read_barcodes(grey, formats=formats, binarizer=binarizer):
                mark = read_mark(code.text)
                if mark is not None:
                    found.setdefault(mark, Found(mark, _corners(code.position, scale)))
            if len(found) >= 4:
                return tuple(found.values())
    return tuple(found.values())


def _sizes(rgb: Rgb) -> Iterator[tuple[Any, float]]:
    """The photograph in greys at several sizes, and how much larger it is itself."""
    whole = Image.fromarray(rgb).convert("L")
    longer = max(whole.size)
    for side_px in _SIDES_PX:
        scale = side_px / longer
        size = (max(1, round(whole.width * scale)), max(1, round(whole.height * scale)))
        yield (
            np.asarray(whole.resize(size, Image.Resampling.BOX if scale < 1 else Image.Resampling.BICUBIC)),
            1 / scale,
        )


def _corners(position: Any, scale: float) -> tuple[tuple[float, float], ...]:
    """Left top, right top, right bottom and left bottom of a code, as it is read upright."""
    points = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    return tuple((point.x * scale, point.y * scale) for point in points)
