"""Lines of fitted type as pixels, for what is drawn without a page."""

import io
from functools import lru_cache

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from wallbill.cli.folders import cache_folder
from wallbill.faces.fitting import fit_set
from wallbill.faces.model import FaceAsk
from wallbill.faces.shell import FaceKeep, load_shelf
from wallbill.inks.impression import Mask

_CHARACTERS = frozenset(map(chr, range(32, 127))) | frozenset("·×½–ÄÖÜäöüßéèà")


class FittedLettering:
    """Sets lines in the packaged text face, fitted to the pixel grid. Faces are kept from run to run."""

    def __init__(self) -> None:
        self._shelf = load_shelf()
        self._keep = FaceKeep(cache_folder() / "kept")
        self._font = lru_cache(maxsize=8)(self._fitted)

    def __call__(self, text: str, *, size_px: int) -> Mask:
        """The line, true where there is ink: bool (height, width)."""
        font = self._font(size_px)
        ascent, descent = font.getmetrics()
        width = max(1, int(np.ceil(font.getlength(text))))
        picture = Image.new("1", (width, ascent + descent), 0)
        pen = ImageDraw.Draw(picture)
        pen.fontmode = "1"
        pen.text((0, 0), text, font=font, fill=1)
        return np.array(picture, dtype=np.bool_)

    def _fitted(self, size_px: int) -> ImageFont.FreeTypeFont:
        (face, *_) = fit_set(
            FaceAsk(("sans-serif",), size_px), _CHARACTERS, shelf=self._shelf, keep=self._keep
        ).faces
        return ImageFont.truetype(io.BytesIO(face.data), size_px, layout_engine=ImageFont.Layout.BASIC)
