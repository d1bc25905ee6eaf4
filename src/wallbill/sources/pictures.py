"""Pictures out of a folder of the wall, or one picture from an address, as an album.

A folder's payload is a list that the shell makes of it, see `Listing`; an address gives the picture itself.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from io import BytesIO
from pathlib import PurePosixPath
from types import MappingProxyType

from PIL import ExifTags, Image

from wallbill.errors import Place, SourceError
from wallbill.facts.agenda import local_day
from wallbill.facts.album import Album, Shot, turn
from wallbill.sources.plain_text import one_line
from wallbill.sources.spec import ParseContext

MOST_PICTURES = 20_000
MOST_PIXELS = 80_000_000

_CAPTION = 300
_BEFORE_DAYS, _AFTER_DAYS = 1, 7
_FORMATS = MappingProxyType(
    {"JPEG": "jpg", "PNG": "png", "GIF": "gif", "WEBP": "webp", "BMP": "bmp", "TIFF": "tif", "MPO": "jpg"}
)
SUFFIXES = frozenset({".jpg", ".jpeg", ".png", ".gif", ".webp", ".bmp", ".tif", ".tiff"})
"""Files of a folder that are taken for pictures."""


@dataclass(frozen=True, slots=True)
class Listing:
    """A folder as the shell found it: names from the wall's ``pictures/`` on, and details of those shown soon."""

    names: tuple[str, ...]
    details: Mapping[str, Mapping[str, str]]

    def payload(self) -> bytes:
        """The listing as JSON, for `parse`."""
        told = {"names": list(self.names), "details": {n: dict(d) for n, d in self.details.items()}}
        return json.dumps(told, ensure_ascii=False, sort_keys=True).encode()


def in_turn(names: Iterable[str], order: str) -> tuple[str, ...]:
    """Names in the order of an album: by name, or mixed in a way that is always the same."""
    if order == "mixed":
        return tuple(sorted(set(names), key=lambda name: hashlib.sha256(name.encode()).hexdigest()))
    return tuple(sorted(set(names), key=lambda name: (name.casefold(), name)))


def soon(names: Sequence[str], today: date) -> tuple[str, ...]:
    """Of names in turn, those from yesterday until a week from now."""
    days = (today + timedelta(days=n) for n in range(-_BEFORE_DAYS, _AFTER_DAYS + 1))
    return tuple(dict.fromkeys(names[turn(day, len(names))] for day in days)) if names else ()


def parse(data: bytes, context: ParseContext) -> Album:
    """A folder's listing or a picture as an album; raises `SourceError` for an empty folder or what is no picture."""
    name = str(context.spec.options.get("name") or context.spec.name)
    if "folder" not in context.spec.options:
        return Album(context.origin("picture"), name, *_single(data, context))
    file = str(context.spec.options["folder"])
    names, details = _listing(data, file)
    if not names:
        raise SourceError(
            "there is no picture in the folder",
            where=Place(file),
            mend=f"Put pictures into it: {', '.join(sorted(SUFFIXES))}.",
        )
    ordered = in_turn(names, str(context.spec.options.get("order", "name")))
    near = soon(ordered, local_day(context.now, context.zone))
    shown = tuple(_shot(one, details.get(one, {})) for one in near)
    return Album(context.origin("pictures"), name, ordered, shown)


def _listing(data: bytes, file: str) -> tuple[tuple[str, ...], Mapping[str, Mapping[str, object]]]:
    fault = SourceError("its listing cannot be read", where=Place(file), mend="Report it.")
    try:
        told = json.loads(data)
    except (ValueError, RecursionError):
        raise fault from None
    names = told.get("names") if isinstance(told, dict) else None
    details = told.get("details") if isinstance(told, dict) else None
    if not isinstance(names, list) or not isinstance(details, dict):
        raise fault
    kept = {key: value for key, value in details.items() if isinstance(value, dict)}
    return tuple(name for name in names if isinstance(name, str)), kept


def _shot(name: str, details: Mapping[str, object]) -> Shot:
    return Shot(
        name, one_line(str(details.get("caption", "")), _CAPTION), _date(str(details.get("taken", "")))
    )


def _single(data: bytes, context: ParseContext) -> tuple[tuple[str, ...], tuple[Shot, ...]]:
    """The one picture of an address or file."""
    file = str(context.spec.options.get("file") or context.spec.name)
    if not data.strip():
        raise SourceError("the payload is empty", where=Place(file), mend="Check the address or the file.")
    kind, details = picture_details(data, file)
    name = f"{context.spec.name}.{kind}"
    told = str(context.spec.options.get("caption") or details.get("caption", ""))
    shot = Shot(name, one_line(told, _CAPTION), _date(details.get("taken", "")), data)
    return (name,), (shot,)


def picture_details(data: bytes, file: str) -> tuple[str, Mapping[str, str]]:
    """The suffix of a picture's format, and its own ``caption`` and ``taken`` (ISO 8601 date) as far as it has them.

    Only its head is read. Raises `SourceError` for what is no picture of a format that sheets can show, or is larger
    than `MOST_PIXELS`.
    """
    try:
        image = Image.open(BytesIO(data), formats=list(_FORMATS))
        pixels = image.size[0] * image.size[1]
    except (Image.DecompressionBombError, Image.DecompressionBombWarning):
        raise _too_large(file) from None
    except Exception:  # noqa: BLE001  the library raises what the file's author made it raise
        page = data.lstrip()[:1] == b"<"
        raise SourceError(
            "a web page came in place of a picture" if page else "this is no picture that can be shown",
            where=Place(file),
            mend="Give the address of the picture itself: JPEG, PNG, GIF, WebP, BMP or TIFF.",
        ) from None
    if pixels > MOST_PIXELS:
        raise _too_large(file)
    return _FORMATS[str(image.format)], MappingProxyType(_exif(image))


def _too_large(file: str) -> SourceError:
    return SourceError(
        f"the picture has more than {MOST_PIXELS // 1_000_000} million pixels",
        where=Place(file),
        mend="Make it smaller.",
    )


def _exif(image: Image.Image) -> dict[str, str]:
    """Caption and date out of a picture's Exif tags (CIPA DC-008), as far as they can be read."""
    try:
        tags = image.getexif()
        words = tags.get(ExifTags.Base.ImageDescription, "")
        inner = tags.get_ifd(ExifTags.IFD.Exif)
        taken = inner.get(ExifTags.Base.DateTimeOriginal) or tags.get(ExifTags.Base.DateTime, "")
    except Exception:  # noqa: BLE001  as above; a picture without tags is a picture all the same
        return {}
    text = words.decode("utf-8", "replace") if isinstance(words, bytes) else str(words or "")
    found = {"caption": one_line(_mended(text), _CAPTION)}
    day = str(taken)[:10].replace(":", "-")
    if _date(day):
        found["taken"] = day
    return {key: value for key, value in found.items() if value}


def _mended(text: str) -> str:
    """Exif says ASCII and cameras write UTF-8, which is then read as Latin-1: put right where it can be."""
    try:
        return text.encode("latin-1").decode("utf-8")
    except UnicodeError:
        return text


def _date(told: str) -> date | None:
    try:
        return date.fromisoformat(told)
    except ValueError:
        return None


def caption_names(name: str) -> tuple[str, ...]:
    """The names of the text files that may hold a picture's caption: ``harbour.txt``, ``harbour.jpg.txt``."""
    path = PurePosixPath(name)
    return str(path.with_suffix(".txt")), f"{name}.txt"
