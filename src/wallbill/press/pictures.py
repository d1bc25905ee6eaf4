"""Which pixels of a page are pictures: painted once with them and once without, what differs is picture.

So type that is laid over a picture stays line work, and a picture that is cut, turned or rounded off is marked
as it shows. A picture is an ``<img>`` or an element with ``data-tone="picture"``; ``data-tone="line"`` makes an
``<img>``, or a part of a picture, line work. A further word says how its dots are scattered: ``quick``, ``fine`` or
``diffused``, as in ``data-tone="picture quick"``.
"""

import base64
import binascii
import io
import math
from collections.abc import Iterator, Sequence
from urllib.parse import unquote_to_bytes

import numpy as np
from PIL import Image, UnidentifiedImageError

from wallbill.findings import Finding
from wallbill.inks.manner import Area, Way
from wallbill.press.lint import finding
from wallbill.press.model import Laid, Mask, Restyle, Rgba
from wallbill.press.telling import told_once
from wallbill.press.typeplan import Attributes, Source

Ids = Sequence[str | None]
_BARE = (("background", "none"), ("border-color", "transparent"), ("box-shadow", "none"), ("outline", "none"))


def picture_mask(source: Source, ids: Ids, laid: Laid, *, painted: Rgba) -> Mask:
    """True where a picture shows: bool, shape (height, width). Leaves the page with its pictures hidden."""
    changes = tuple(_hiding(source, ids))
    if not changes:
        return np.zeros(painted.shape[:2], dtype=np.bool_)
    laid.restyle(changes)
    without = laid.paint()
    differs: Mask = (_whole(painted) != _whole(without))[..., 0]
    return differs


def _whole(rgba: Rgba) -> np.ndarray[tuple[int, ...], np.dtype[np.uint32]]:
    """Four bytes a pixel as one number, to be compared at once."""
    return np.ascontiguousarray(rgba).view(np.uint32)


def _hiding(source: Source, ids: Ids) -> Iterator[Restyle]:
    """What hides every picture but keeps line work inside of it in sight.

    An element that holds line work is not hidden, as an engine may then hide all in it (``blitz-py`` 0.5.0 does);
    its own background and border are taken away, and what else lies in it is hidden piece by piece.
    """
    tones = [_tone(attributes) for attributes in source.attributes]
    if not any(
        tone == "picture" or element.tag == "img"
        for tone, element in zip(tones, source.markup.elements, strict=True)
    ):
        return
    holders = _around_line_work(source, tones)
    inside: set[int] = set()
    for index, element in enumerate(source.markup.elements):
        tone, name = tones[index], ids[index]
        starts = tone == "picture" or (element.tag == "img" and tone != "line")
        if not name or not (starts or (element.parent in inside and tone != "line")):
            continue
        if index in holders:
            inside.add(index)
            yield from ((name, what, value) for what, value in _BARE)
        else:
            yield name, "visibility", "hidden"


def _words(attributes: Attributes) -> list[str]:
    return attributes["data-tone"].value.lower().split() if "data-tone" in attributes else []


def _tone(attributes: Attributes) -> str:
    """``picture`` or ``line`` as the element asks, or nothing. Who asks for a way asks for a picture."""
    words = _words(attributes)
    if "line" in words:
        return "line"
    return "picture" if any(word == "picture" or word in set(Way) for word in words) else ""


def unknown_tones(source: Source) -> tuple[Finding, ...]:
    """A finding for each ``data-tone`` with a word that says nothing."""
    known = {"picture", "line", *Way}
    found = (
        (index, finding("press.unknown-tone", source.place(index)))
        for index, attributes in enumerate(source.attributes)
        if not set(_words(attributes)) <= known
    )
    return told_once(source, found)


def picture_ways(source: Source, ids: Ids, laid: Laid) -> tuple[Area, ...]:
    """The parts of the page whose pictures ask for a way of their own, outer ones first."""
    asked = {
        name: Way(word)
        for name, attributes in zip(ids, source.attributes, strict=True)
        for word in _words(attributes)
        if name and word in set(Way)
    }
    boxes = laid.boxes() if asked else {}
    found = []
    for name, way in asked.items():
        if name in boxes:
            box = boxes[name]
            left, top = math.floor(box.x_px), math.floor(box.y_px)
            right, bottom = math.ceil(box.x_px + box.width_px), math.ceil(box.y_px + box.height_px)
            found.append(((left, top, right - left, bottom - top), way))
    return tuple(found)


def _around_line_work(source: Source, tones: Sequence[str]) -> set[int]:
    """Indices of the elements that hold an element with ``data-tone="line"``."""
    found: set[int] = set()
    for index, tone in enumerate(tones):
        parent = source.markup.elements[index].parent if tone == "line" else -1
        while parent >= 0 and parent not in found:
            found.add(parent)
            parent = source.markup.elements[parent].parent
    return found


def mend_pictures(source: Source, ids: Ids, laid: Laid) -> tuple[Finding, ...]:
    """Gives pictures that the engine laid out without a size their own; each mended one is a finding.

    Measured with ``blitz-py`` 0.5.0: an ``<img>`` that is placed absolutely right inside of the body gets a box
    of 0 x 0 pixels unless its width and height are written as styles.
    """
    boxes = laid.boxes()
    sizes = {}
    for index, (element, attributes) in enumerate(
        zip(source.markup.elements, source.attributes, strict=True)
    ):
        name = ids[index]
        box = boxes.get(name) if name else None
        if element.tag == "img" and name and box and box.width_px == 0 and box.height_px == 0:
            size_px = _written_size(attributes) or _own_size(attributes)
            if size_px:
                sizes[index] = (name, size_px)
    if not sizes:
        return ()
    laid.restyle(
        [
            change
            for name, (width_px, height_px) in sizes.values()
            for change in ((name, "width", f"{width_px}px"), (name, "height", f"{height_px}px"))
        ]
    )
    after = laid.boxes()
    found = (
        (index, finding("press.empty-picture", source.place(index)))
        for index, (name, _) in sizes.items()
        if after[name].width_px > 0  # what is not displayed at all stays without a box
    )
    return told_once(source, found)


def _written_size(attributes: Attributes) -> tuple[int, int] | None:
    """The attributes ``width`` and ``height`` where both are whole numbers."""
    sides = [attributes[name].value if name in attributes else "" for name in ("width", "height")]
    return (int(sides[0]), int(sides[1])) if all(side.isdecimal() for side in sides) else None


def _own_size(attributes: Attributes) -> tuple[int, int] | None:
    """Width and height in pixels of a picture in a data: address; None for what cannot be read."""
    head, comma, body = attributes["src"].value.partition(",") if "src" in attributes else ("", "", "")
    if not comma or not head.startswith("data:"):
        return None
    try:
        data = (
            base64.b64decode(unquote_to_bytes(body)) if head.endswith(";base64") else unquote_to_bytes(body)
        )
        with Image.open(io.BytesIO(data)) as image:
            return image.size
    except (binascii.Error, UnidentifiedImageError, OSError, Image.DecompressionBombError):
        return None
