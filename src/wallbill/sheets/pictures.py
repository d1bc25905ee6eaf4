"""The wall's own pictures, found by name, and put into a page as data where an ``<img>`` names them."""

import base64
import io
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from html import unescape as html_text
from types import MappingProxyType

from PIL import Image

from wallbill.errors import PictureError, Place, SheetError
from wallbill.facts.album import Album, Shot
from wallbill.facts.supply import Supply
from wallbill.inks.impression import Rgb
from wallbill.inks.pictures import open_picture
from wallbill.places.words import did_you_mean

_SOURCE = re.compile(r"""(<img\b[^>]*?\bsrc\s*=\s*["'])pictures/([^"']+)(["'])""", re.IGNORECASE)
_SEE_THROUGH = MappingProxyType({b"\x89PNG": "png", b"GIF8": "gif", b"RIFF": "webp"})
"""How files begin that the engine reads and that may let their ground through, and their kind."""


@dataclass(frozen=True, slots=True)
class Pictures:
    """Pictures by their name under ``pictures/``; each is read when it is asked for.

    ``names``: what there is. ``read``: the bytes of one; raises `OSError` where the file cannot be read.
    """

    names: tuple[str, ...]
    read: Callable[[str], bytes]

    def bytes_of(self, name: str) -> bytes:
        """The file's bytes. Raises `SheetError` for a name that is not there."""
        if name not in self.names:
            raise SheetError(
                f"there is no picture {name!r}",
                mend=did_you_mean(name, self.names, else_=f"Put {name!r} into pictures/."),
            )
        try:
            return self.read(name)
        except OSError as error:
            raise PictureError(
                f"cannot read pictures/{name}: {error.strerror}", mend="Make the file readable."
            ) from error


def with_shots(pictures: Pictures, shots: Iterable[Shot]) -> Pictures:
    """The pictures, and those of albums that lie in no folder: found by their names like all others.

    A picture of the folder goes before one of the same name.
    """
    held = {shot.name: shot.data for shot in shots if shot.data and shot.name not in pictures.names}
    if not held:
        return pictures
    return Pictures(
        (*pictures.names, *held), lambda name: held[name] if name in held else pictures.read(name)
    )


def shots_of(supply: Supply) -> Iterator[Shot]:
    """The pictures of all albums, as far as they are known."""
    for given in supply.sources.values():
        for fact in given.facts:
            if isinstance(fact, Album):
                yield from fact.shown


def with_data(html: str, pictures: Pictures, *, file: str) -> str:
    """``html`` with every ``src="pictures/..."`` of an ``<img>`` replaced by the picture's own data.

    ``file``: the sheet, for messages. Raises `SheetError` for a picture that is not there, `PictureError` for one
    that cannot be read: the engine would leave its place empty and say nothing.
    """

    def put(found: re.Match[str]) -> str:
        name = html_text(found.group(2))
        try:
            return f"{found.group(1)}{_address(pictures.bytes_of(name), name)}{found.group(3)}"
        except SheetError as error:
            where = Place(file, field=f'src="pictures/{name}"')
            raise SheetError(error.what, where=where, mend=error.mend) from error

    return _SOURCE.sub(put, html) if "pictures/" in html else html


def _address(data: bytes, name: str) -> str:
    """A picture as a ``data:`` address.

    What may let its ground through, and drawings, go in as they are. All else goes in as PNG: upright, in sRGB, and
    of a format that the engine knows.
    """
    if name.lower().endswith(".svg"):
        kind, body = "svg+xml", data
    else:
        rgb = open_picture(data, name=f"pictures/{name}")
        kept = next((kind for mark, kind in _SEE_THROUGH.items() if data.startswith(mark)), None)
        kind, body = (kept, data) if kept else ("png", _png(rgb))
    return f"data:image/{kind};base64,{base64.b64encode(body).decode()}"


def _png(rgb: Rgb) -> bytes:
    out = io.BytesIO()
    Image.fromarray(rgb).save(out, "PNG", compress_level=1)
    return out.getvalue()
