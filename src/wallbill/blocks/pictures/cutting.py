"""Where a picture is cut, so that what it is of stays whole and stands where an eye wants it.

Lengths are in pixels of the picture unless they say the page's. What is cut out is never stretched.
"""

from dataclasses import dataclass

from wallbill.errors import SheetError
from wallbill.places.words import shown

FITS = ("cover", "close", "contain")
"""``cover``: as much of the picture as fills the box. ``close``: as little as holds the subject. ``contain``: all."""

ANCHORS = (1 / 2, 1 / 3, 2 / 3)
"""Where the subject's middle may stand in the cut: the middle and the lines of thirds, common practice, no source."""

_AIR = 1 / 5  # of the subject's size, left around it on each side by a close cut
_MOST_ENLARGED = 1.0  # a close cut shows no pixel of the picture on more than one of the page
_HAIR = 1e-9

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Subject:
    """What a picture is of, as shares of its width and height: left, top, width, height; a point has no size.

    Raises `SheetError` for what is not inside the picture.
    """

    x: float
    y: float
    width: float = 0.0
    height: float = 0.0

    def __post_init__(self) -> None:
        parts = (self.x, self.y, self.width, self.height)
        inside = self.x + self.width <= 1 + _HAIR and self.y + self.height <= 1 + _HAIR
        if not (all(0 <= part <= 1 for part in parts) and inside):
            raise SheetError(
                f"a subject of {', '.join(f'{part:g}' for part in parts)} does not lie in its picture",
                mend="Give left, top, width and height as shares of the picture, 0 to 1: (0.3, 0.2, 0.25, 0.4).",
            )


MIDDLE = Subject(0.5, 0.5)


def subject_of(given: object) -> Subject:
    """A subject from four shares, or from two: a point. Raises `SheetError` for anything else."""
    if isinstance(given, Subject):
        return given
    parts = list(given) if isinstance(given, list | tuple) else []
    if len(parts) not in {2, 4} or not all(
        isinstance(part, int | float) and not isinstance(part, bool) for part in parts
    ):
        raise SheetError(
            f"{shown(given)} is no subject of a picture",
            mend="Give left, top, width and height as shares of the picture, (0.3, 0.2, 0.25, 0.4), or a point (0.5, 0.4).",
        )
    return Subject(*parts)


@dataclass(frozen=True, slots=True)
class Cut:
    """A part of a picture and where it goes in its box.

    ``box``: left, top, right, bottom of the part. ``size_px``: of the part on the page. ``at_px``: its left top corner
    in the box on the page; what is left of the box stays paper.
    """

    box: tuple[float, float, float, float]
    size_px: tuple[int, int]
    at_px: tuple[int, int]


def cut(
    picture_px: tuple[int, int], room_px: tuple[int, int], *, subject: Subject = MIDDLE, fit: str = "cover"
) -> Cut:
    """The part of a picture that goes into a box of ``room_px`` on the page.

    The subject is always whole. A part that fills the box has exactly its proportions; where the subject is too wide
    or too high for that, more is shown, with paper above and below or beside. Raises `SheetError` for no fit of `FITS`.
    """
    if fit not in FITS:
        raise SheetError(
            f"a picture is fitted by {', '.join(FITS)}, not by {shown(fit)}", mend='Write fit="cover".'
        )
    if min(room_px) < 1:
        raise SheetError(
            f"a picture is at least one pixel wide and high, got {room_px[0]} x {room_px[1]}",
            mend="Give it more room.",
        )
    width, height = float(picture_px[0]), float(picture_px[1])
    if fit == "contain":
        return _placed((0.0, 0.0, width, height), room_px)
    aspect = room_px[0] / room_px[1]
    size = _sizes((width, height), aspect)
    if fit == "close":
        size = _close((width, height), room_px, subject=subject, most=size)
    size = (max(size[0], subject.width * width), max(size[1], subject.height * height))
    left = _start(width, size[0], along=(subject.x * width, (subject.x + subject.width) * width))
    top = _start(height, size[1], along=(subject.y * height, (subject.y + subject.height) * height))
    box = (left, top, min(width, left + size[0]), min(height, top + size[1]))
    return _placed(box, room_px)


def _sizes(picture: Pair, aspect: float) -> Pair:
    """Width and height of the largest part with these proportions."""
    width = min(picture[0], picture[1] * aspect)
    return width, min(picture[1], width / aspect)


def _close(picture: Pair, room_px: tuple[int, int], *, subject: Subject, most: Pair) -> Pair:
    """Width and height of the smallest part that holds the subject and some air, but enlarges no pixel."""
    wanted = (
        subject.width * picture[0] * (1 + 2 * _AIR) / most[0],
        subject.height * picture[1] * (1 + 2 * _AIR) / most[1],
        room_px[0] / _MOST_ENLARGED / most[0],
    )
    share = min(1.0, max(wanted))
    return most[0] * share, most[1] * share


def _start(length: float, part: float, *, along: Pair) -> float:
    """Where a part of a picture's side begins: the subject whole in it, its middle as near as can be to an anchor.

    Of anchors that are equally near, the one whose part lies nearest to the picture's middle.
    """
    least, most = max(0.0, along[1] - part), max(0.0, min(along[0], length - part))
    least = min(least, most)
    middle = (along[0] + along[1]) / 2
    starts = [min(max(middle - anchor * part, least), most) for anchor in ANCHORS]
    missed = [
        round(abs(middle - start - anchor * part), 6) for start, anchor in zip(starts, ANCHORS, strict=True)
    ]
    centred = (length - part) / 2
    return min(zip(missed, starts, strict=True), key=lambda one: (one[0], round(abs(one[1] - centred), 6)))[1]


def _placed(box: tuple[float, float, float, float], room_px: tuple[int, int]) -> Cut:
    """A part in the middle of its box, as large as fits."""
    width, height = box[2] - box[0], box[3] - box[1]
    scale = min(room_px[0] / width, room_px[1] / height)
    size = (
        min(room_px[0], max(1, round(width * scale))),
        min(room_px[1], max(1, round(height * scale))),
    )
    return Cut(box, size, ((room_px[0] - size[0]) // 2, (room_px[1] - size[1]) // 2))
