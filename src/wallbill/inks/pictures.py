"""Pictures from anywhere, read without harm and made ready for a panel."""

import io
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
            upright = ImageOps.exif_transpose(image)
            pixels = _on_white(_in_srgb(_eight_bit(upright)))
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as bomb:
        raise _too_large("more pixels than can be worked on", name, limit) from bomb
    except UnidentifiedImageError as fault:
        mend = f"Give one of {', '.join(FORMATS)}."
        raise PictureError("not a picture that can be read", where=Place(name), mend=mend) from fault
    except (OSError, SyntaxError, ValueError, EOFError, IndexError) as fault:
        mend = "Save the picture again, or fetch it again."
        raise PictureError(f"damaged or cut short: {fault}", where=Place(name), mend=mend) from fault
    array = np.array(pixels, dtype=np.uint8)
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


def _eight_bit(image: Image.Image) -> Image.Image:
    """Deep greys (16 bits, 32 bits, floats) brought to 8 bits; others as they are."""
    if not image.mode.startswith(("I", "F")):
        return image
    values = np.asarray(image).astype(np.float64)
    top = (1.0 if values.max(initial=0) <= 1 else 255.0) if image.mode == "F" else 65535.0
    return Image.fromarray(np.rint(np.clip(values / top, 0, 1) * 255).astype(np.uint8))


def _in_srgb(image: Image.Image) -> Image.Image:
    """The picture in RGB or RGBA, its own colour profile turned into sRGB where it has a sound one."""
    profile = image.info.get("icc_profile")
    if image.mode in {"P", "PA", "LA", "La", "RGBa"} or (image.mode == "L" and "transparency" in image.info):
        image = image.convert("RGBA")
    if profile and image.mode in {"RGB", "RGBA", "CMYK", "L"}:
        image = _from_profile(image, profile)
    if image.mode == "RGB" and "transparency" in image.info:
        return image.convert("RGBA")
    return image if image.mode in {"RGB", "RGBA"} else image.convert("RGB")


def _from_profile(image: Image.Image, profile: bytes) -> Image.Image:
    """The picture turned from its profile's colours to sRGB, or as it is if the profile is broken.

    Browsers too take the numbers for sRGB then.
    """
    mode = "RGBA" if image.mode == "RGBA" else "RGB"
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        way = ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), image.mode, mode)
        return way.apply(image)
    except (ImageCms.PyCMSError, OSError, ValueError):
        return image


def _on_white(image: Image.Image) -> Image.Image:
    """The picture over white where it lets through."""
    if image.mode != "RGBA":
        return image
    ground = Image.new("RGBA", image.size, (255, 255, 255, 255))
    return Image.alpha_composite(ground, image).convert("RGB")


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
    planes = []
    for part in range(3):
        light = Image.fromarray(table[rgb[..., part]])
        planes.append(np.asarray(light.resize(size_px, Image.Resampling.LANCZOS, box=box)))
    return colour.linear_to_codes(np.stack(planes, axis=-1))


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
