"""The page that an impression was made from, packed small: so that pictures keep their dots on whatever press comes next."""

import hashlib
import io

import numpy as np
from PIL import Image, UnidentifiedImageError

from wallbill.inks.manner import Standing
from wallbill.sheets.making import Made
from wallbill.wall.model import Display

_KEY_BYTES = 32
_QUICK = 1


def manner_key(display: Display) -> bytes:
    """What decides how pictures of a display are scattered, as SHA-256: dots made in another manner are of no use."""
    told = repr((display.panel, display.pictures, display.neutrals, display.turned))
    return hashlib.sha256(told.encode()).digest()


def packed_standing(made: Made, display: Display) -> bytes:
    """The pictures of a pressed page with their dots; b"" for a page that has none to keep.

    The manner's key, then a PNG of the page: colour where a picture shows, and as opacity the place of its ink, from 1.
    """
    picture = made.pressed.picture
    if not picture.any() or len(made.impression.inks) > 254:
        return b""
    page = np.zeros((*picture.shape, 4), dtype=np.uint8)
    page[..., :3][picture] = made.pressed.rgb[picture]
    page[..., 3] = np.where(picture, made.impression.codes + 1, 0)
    out = io.BytesIO()
    Image.fromarray(page).save(out, "PNG", compress_level=_QUICK)
    return manner_key(display) + out.getvalue()


def standing_of(data: bytes, display: Display) -> Standing | None:
    """The page that `packed_standing` packed; None for one of another manner, size or make."""
    if data[:_KEY_BYTES] != manner_key(display):
        return None
    try:
        with Image.open(io.BytesIO(data[_KEY_BYTES:]), formats=("PNG",)) as image:
            if image.mode != "RGBA" or image.size != display.page_px:
                return None
            page = np.asarray(image)
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError):
        return None
    picture = page[..., 3] > 0
    codes = np.where(picture, page[..., 3] - 1, 0).astype(np.uint8)
    if picture.any() and int(codes.max()) >= len(display.panel.inks):
        return None
    return Standing(np.ascontiguousarray(page[..., :3]), picture, codes)
