"""Pictures from anywhere, read without harm and made ready for a panel."""

import io
import struct
import zlib
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from wallbill.errors import PictureError, Place
from wallbill.inks import colour
from wallbill.inks.gamut import Tables
from wallbill.inks.impression import Impression, Rgb
from wallbill.inks.manner import USUAL, Manner
from wallbill.inks.separation import separate
from wallbill.inks.toning import AS_IS, Tones, toned
from wallbill.panels.model import Panel

Fit = Literal["cover", "contain"]

FORMATS = ("PNG", "JPEG", "GIF", "WEBP", "BMP", "TIFF", "PPM", "AVIF")
"""What is read. Formats that start other programs, or are programs themselves, are not."""


# What decoders raise for spoilt data, each in its own way.
_SPOILT = (
    OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, RuntimeError, OverflowError, struct.error, zlib.error,
)  # fmt: skip
_TOP16 = 65535
_AT_ONCE_PX = (
    1 << 20
)  # so many pixels are brought to floats at a time: memory stays small however large the picture


@dataclass(frozen=True, slots=True)
class PictureLimit:
    """How large a picture may be before it is refused unread: pixels in all, and along a side."""

    pixels: int = 60_000_000
    side_px: int = 16_384


LIMIT = PictureLimit()


def open_picture(data: bytes, *, name: str, limit: PictureLimit = LIMIT) -> Rgb:
    """The first picture in a file, upright, in sRGB, on white: uint8 (height, width, 3), read-only.

    ``name``: for messages. A picture's own colour profile is heeded. Raises `PictureError` for what is no
    picture, is cut short, or is larger than ``limit``; the size is looked at before anything is unpacked.
    """
    try:
        with Image.open(io.BytesIO(data), formats=FORMATS) as image:
            _check(image.size, name, limit)
            image.load()
            pixels = _on_white(_eight_bit(_upright(image)))
    except (Image.DecompressionBombError, Image.DecompressionBombWarning, MemoryError) as bomb:
        raise _too_large("more pixels than can be worked on", name, limit) from bomb
    except UnidentifiedImageError as fault:
        mend = f"Give one of {', '.join(FORMATS)}."
        raise PictureError("not a picture that can be read", where=Place(name), mend=mend) from fault
    except _SPOILT as fault:
        mend = "Save the picture again, or fetch it again."
        raise PictureError(f"damaged or cut short: {fault}", where=Place(name), mend=mend) from fault
    array = np.asarray(pixels)
    array.setflags(write=False)
    return array


def _check(size_px: tuple[int, int], name: str, limit: PictureLimit) -> None:
    """Refuses a picture that is too large, by its head alone."""
    width_px, height_px = size_px
    if width_px * height_px > limit.pixels or max(size_px) > limit.side_px:
        raise _too_large(f"{width_px} x {height_px} pixels", name, limit)


def _too_large(what: str, name: str, limit: PictureLimit) -> PictureError:
    """The error for a picture that is too large."""
    mend = f"Make it smaller: {limit.side_px} pixels a side, {limit.pixels // 1_000_000} million in all."
    return PictureError(f"too large: {what}", where=Place(name), mend=mend)


def _upright(image: Image.Image) -> Image.Image:
    """The picture turned as the camera says; as it is where the camera's words are spoilt."""
    try:
        ImageOps.exif_transpose(image, in_place=True)
    except _SPOILT:
        return image
    return image


def _eight_bit(image: Image.Image) -> Image.Image:
    """Deep greys (16 bits, 32 bits, floats) brought to 8 bits; others as they are. 16 bits of a colour are read as 8 already."""
    if not image.mode.startswith(("I", "F")):
        return image
    values = np.asarray(image)
    shallow = np.empty(values.shape, dtype=np.uint8)
    top = _TOP16 if image.mode != "F" else 1.0 if np.nanmax(values, initial=0) <= 1 else 255.0
    rows = max(1, _AT_ONCE_PX // values.shape[1])
    for start in range(0, len(values), rows):
        some = np.nan_to_num(values[start : start + rows].astype(np.float64))
        shallow[start : start + rows] = np.rint(np.clip(some / top, 0, 1) * 255)
    made = Image.fromarray(shallow)
    clear = image.info.get("transparency")
    if isinstance(clear, int):
        made.putalpha(Image.fromarray(np.where(values == clear, 0, 255).astype(np.uint8)))
    made.info["icc_profile"] = image.info.get("icc_profile")
    return made


def _on_white(image: Image.Image) -> Image.Image:
    """The picture in RGB, its own colour profile turned into sRGB where it has a sound one, over white where it lets through."""
    profile = image.info.get("icc_profile")
    image, opacity = _parted(image)
    image = _from_profile(image, profile) if profile else image
    image = image if image.mode == "RGB" else image.convert("RGB")
    if opacity is None:
        return image
    ground = Image.new("RGB", image.size, (255, 255, 255))
    ground.paste(image, mask=opacity)
    return ground


def _parted(image: Image.Image) -> tuple[Image.Image, Image.Image | None]:
    """The picture without its opacity, and its opacity if it has one."""
    key = image.info.get("transparency")
    if image.mode == "RGB" and isinstance(key, tuple) and max(key) > 255:
        image.info["transparency"] = tuple(
            part >> 8 for part in key
        )  # the key of 16 bits; the picture was read as 8
    if image.mode in {"P", "PA", "La", "RGBa"} or (image.mode in {"L", "RGB"} and key is not None):
        image = image.convert("LA" if image.mode in {"L", "La"} else "RGBA")
    if image.mode in {"LA", "RGBA"}:
        return image.convert(image.mode[:-1]), image.getchannel("A")
    return image, None


def _from_profile(image: Image.Image, profile: bytes) -> Image.Image:
    """The picture turned from its profile's colours to sRGB, or as it is if the profile is broken.

    Browsers too take the numbers for sRGB then.
    """
    if image.mode not in {"RGB", "CMYK", "L"}:
        return image
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        way = ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), image.mode, "RGB")
        return way.apply(image)
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image


def prepare(rgb: Rgb, width_px: int, height_px: int, *, fit: Fit = "cover", tones: Tones = AS_IS) -> Rgb:
    """The picture at this size, resized in linear light: uint8 (height, width, 3), read-only.

    ``fit``: "cover" fills the whole and cuts what hangs over on both sides; "contain" shows all, on white. ``tones``: what is
    done to the tones of the part that shows.
    Raises `ValueError` for a size below 1 pixel.
    """
    if min(width_px, height_px) < 1 or not rgb.size:
        raise ValueError(
            f"a picture has at least one pixel, asked {rgb.shape[:2]} to {height_px} x {width_px}"
        )
    across, down = width_px / rgb.shape[1], height_px / rgb.shape[0]
    if fit == "cover":
        scale = max(across, down)
        crop = (width_px / scale, height_px / scale)
        size = (width_px, height_px)
    else:
        scale = min(across, down)
        crop = (rgb.shape[1], rgb.shape[0])
        size = (max(1, round(rgb.shape[1] * scale)), max(1, round(rgb.shape[0] * scale)))
    # The last digit of the division above may stick out of the picture by a hair, which Pillow refuses.
    left, top = max(0.0, (rgb.shape[1] - crop[0]) / 2), max(0.0, (rgb.shape[0] - crop[1]) / 2)
    right, bottom = min(left + crop[0], rgb.shape[1]), min(top + crop[1], rgb.shape[0])
    part = toned(resized(rgb, size, (left, top, right, bottom)), tones)
    result = np.full((height_px, width_px, 3), 255, dtype=np.uint8)
    x_px, y_px = (width_px - size[0]) // 2, (height_px - size[1]) // 2
    result[y_px : y_px + size[1], x_px : x_px + size[0]] = part
    result.setflags(write=False)
    return result


def resized(rgb: Rgb, size_px: tuple[int, int], box: tuple[float, float, float, float]) -> NDArray[np.uint8]:
    """A part of a picture at another size, by a windowed sinc in linear light: uint8 (height, width, 3).

    ``size_px``: width and height. ``box``: left, top, right and bottom of the part, pixels, inside the picture.
    """
    if (0.0, 0.0, *map(float, size_px)) == box and size_px == (rgb.shape[1], rgb.shape[0]):
        return rgb
    table = colour.LIGHT_OF_CODE.astype(np.float32)
    left, top, right, bottom = box
    height, width = rgb.shape[:2]
    rows = max(1, _AT_ONCE_PX // width)
    planes = []
    for part in range(3):
        # Across first, some rows at a time, then down: what Pillow does at once.
        narrow = np.empty((height, size_px[0]), dtype=np.float32)
        for start in range(0, height, rows):
            light = Image.fromarray(table[rgb[start : start + rows, :, part]])
            narrow[start : start + rows] = _squeezed(
                light, (size_px[0], light.height), (left, 0, right, light.height)
            )
        planes.append(_squeezed(Image.fromarray(narrow), size_px, (0, top, size_px[0], bottom)))
    return colour.linear_to_codes(np.stack(planes, axis=-1))


def _squeezed(
    image: Image.Image, size_px: tuple[int, int], box: tuple[float, float, float, float]
) -> NDArray[np.float32]:
    return np.asarray(image.resize(size_px, Image.Resampling.LANCZOS, box=box))


def separate_picture(
    data: bytes, panel: Panel, *, name: str = "picture", fit: Fit = "cover", tables: Tables | None = None
) -> Impression:
    """An impression of one picture file that fills a panel. Raises `PictureError` as `open_picture` does."""
    return dotted(open_picture(data, name=name), panel, fit=fit, tables=tables)


def dotted(
    rgb: Rgb, panel: Panel, *, fit: Fit = "cover", tables: Tables | None = None, manner: Manner = USUAL
) -> Impression:
    """An impression of one picture (height, width, 3), uint8, that fills a panel.

    ``tables``, ``manner``: as for `separate`.
    """
    fitted = prepare(rgb, panel.width_px, panel.height_px, fit=fit)
    whole = np.ones(fitted.shape[:2], dtype=np.bool_)
    separated = separate(fitted, panel=panel, picture=whole, tables=tables, manner=manner)
    return Impression(separated.codes, panel.inks)
