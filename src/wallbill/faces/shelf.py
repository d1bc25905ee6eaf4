"""The shelf: which faces there are, and which of them answers an ask."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

import uharfbuzz as hb


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis of a variable face: its tag, and its least, usual and greatest design coordinate."""

    tag: str
    least: float
    usual: float
    most: float

    def nearest(self, value: float) -> float:
        """The coordinate of this axis that is nearest to a value."""
        return min(max(value, self.least), self.most)


class CharacterMap(AbstractSet[int]):
    """The code points of a face, asked of HarfBuzz one by one, as reading them all takes milliseconds."""

    __slots__ = ("_face", "_font")

    def __init__(self, data: bytes, index: int) -> None:
        self._face: Any = hb.Face(data, index)
        self._font: Any = hb.Font(self._face)

    def __contains__(self, code: object) -> bool:
        return bool(self._font.get_nominal_glyph(code))

    def __iter__(self) -> Iterator[int]:
        return iter(self._face.unicodes)

    def __len__(self) -> int:
        return len(self._face.unicodes)


@dataclass(frozen=True, slots=True)
class FaceFile:
    """One face of one file.

    ``path``: what to call it in messages. ``data``: the whole file. ``index``: the face's place in a collection.
    ``weight``: 1 to 1000, the usual one of a variable face. ``axes``: in the file's order. ``strikes_px``: pixels
    per em of its bitmaps. ``shaped``: whether it is an sfnt that a shaping library reads. ``outlined``: whether
    it has outlines. ``hinted``: whether it brings instructions of its own. ``fixed_pitch``: all advances equal.
    ``coverage``: code points. ``digest``: SHA-256 of the file. ``pinned``: design coordinates chosen by name
    ("Noto Sans Condensed" is Noto Sans at a width of 75). ``borrowed``: whether it is the machine's, and another may lack it.
    """

    path: str
    data: bytes = field(repr=False, compare=False)
    index: int
    family: str
    weight: int
    italic: bool
    digest: str
    axes: tuple[Axis, ...] = ()
    strikes_px: tuple[int, ...] = ()
    shaped: bool = True
    outlined: bool = True
    hinted: bool = False
    fixed_pitch: bool = False
    coverage: AbstractSet[int] = field(default=frozenset(), repr=False, compare=False)
    pinned: tuple[tuple[str, float], ...] = ()
    borrowed: bool = False

    def axis(self, tag: str) -> Axis | None:
        """The axis of that tag, if the face has it."""
        return next((axis for axis in self.axes if axis.tag == tag), None)

    def covered(self, characters: Iterable[str]) -> frozenset[str]:
        """Those of the characters that the face has a glyph for."""
        return frozenset(character for character in characters if ord(character) in self.coverage)


@dataclass(frozen=True, slots=True)
class Match:
    """A face that may serve an ask, and whether the ask named it (or it is a fallback)."""

    face: FaceFile
    named: bool


# Widths by name, as a share of the normal width in percent: OpenType, OS/2 table, usWidthClass.
_WIDTHS = MappingProxyType(
    {
        "ultracondensed": 50.0,
        "extracondensed": 62.5,
        "condensed": 75.0,
        "semicondensed": 87.5,
        "semiexpanded": 112.5,
        "expanded": 125.0,
        "extraexpanded": 150.0,
    }
)


def _plain(name: str) -> str:
    return "".join(name.casefold().split()).strip("\"'")


@dataclass(frozen=True, slots=True)
class Shelf:
    """All faces at hand.

    ``fallback``: families in the order in which they lend what an asked face lacks; families that are not on the
    shelf are passed over. ``generic``: what the keywords of CSS stand for, family by keyword.
    """

    faces: tuple[FaceFile, ...]
    fallback: tuple[str, ...] = ()
    generic: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def families(self) -> tuple[str, ...]:
        """Every family name on the shelf, once, in shelf order."""
        return tuple(dict.fromkeys(face.family for face in self.faces))

    def holds(self, family: str) -> bool:
        """Whether a family name or generic keyword is answered by the shelf itself, not by a fallback."""
        return bool(self._of_family(family))

    def matching(self, families: Sequence[str], weight: int, italic: bool) -> tuple[FaceFile, ...]:  # noqa: FBT001 the contract between rooms has it so
        """The best face of each asked family in order, then of each fallback family; never one face twice."""
        return tuple(match.face for match in self.matches(families, weight=weight, italic=italic))

    def matches(self, families: Sequence[str], *, weight: int, italic: bool) -> tuple[Match, ...]:
        """As ``matching``, telling asked faces from fallbacks."""
        found: dict[FaceFile, bool] = {}
        for names, named in ((families, True), (self.fallback, False)):
            for name in names:
                cuts = self._of_family(name)
                if cuts:
                    found.setdefault(_best(cuts, weight=weight, italic=italic), named)
        return tuple(Match(face, named) for face, named in found.items())

    def _of_family(self, name: str) -> tuple[FaceFile, ...]:
        wanted = _plain(self.generic.get(name.casefold(), name))
        cuts = tuple(face for face in self.faces if _plain(face.family) == wanted)
        return cuts or self._by_width(wanted)

    def _by_width(self, wanted: str) -> tuple[FaceFile, ...]:
        """Faces with a width axis, under a name that ends in a width."""
        for word, width in sorted(_WIDTHS.items(), key=lambda item: -len(item[0])):
            if wanted.endswith(word):
                base = wanted.removesuffix(word)
                return tuple(
                    replace(face, pinned=(("wdth", axis.nearest(width)),))
                    for face in self.faces
                    if _plain(face.family) == base and (axis := face.axis("wdth"))
                )
        return ()


def _best(cuts: Sequence[FaceFile], *, weight: int, italic: bool) -> FaceFile:
    """The cut nearest to an ask: slant first, then weight (CSS Fonts Level 4, 5.2, font style matching)."""

    def distance(face: FaceFile) -> tuple[bool, bool, float, str]:
        axis = face.axis("wght")
        nearest = axis.nearest(weight) if axis else face.weight
        return (face.italic != italic, *_weight_order(weight, nearest), face.path)

    return min(cuts, key=distance)


def _weight_order(asked: float, offered: float) -> tuple[bool, float]:
    """Order of preference among weights: for 400 to 500 first up to 500, then lighter, then heavier."""
    if 400 <= asked <= 500:
        if asked <= offered <= 500:
            return False, offered - asked
        return (True, asked - offered) if offered < asked else (True, 1000 + offered - asked)
    if asked < 400:
        return (False, asked - offered) if offered <= asked else (True, offered - asked)
    return (False, offered - asked) if offered >= asked else (True, asked - offered)
