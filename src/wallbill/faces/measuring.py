"""How wide a line of text is in the faces of a set, reckoned as an engine sets it: by shaping, with no page laid out."""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby, pairwise
from types import MappingProxyType

import numpy as np
import uharfbuzz as hb

from wallbill.faces.charsets import SILENT, is_silent
from wallbill.faces.model import FaceSet

_SPACES = re.compile(r"[ \t\n\r\f]+")
_NO_FEATURES: Mapping[str, bool] = MappingProxyType({})
_NO_SCRIPT = frozenset({None, "", "Zyyy", "Zinh", "Zzzz"})
_DOUBT_PX = 0.001
"""For lines to the left with several marks on a letter, whose thirds the engine adds up in another order: the next
whole pixel counts, though the engine may do with one less."""

_RIGHT = frozenset({"R", "AL"})
_FIGURES = frozenset({"EN", "AN"})


@dataclass(frozen=True, slots=True)
class Setting:
    """What changes the width of a text beside its faces.

    ``letter_px``: pixels behind each letter. ``word_px``: more behind each space. ``features``: OpenType features
    that are turned on or off. ``language``: a BCP 47 tag, for forms that a language has of its own.
    """

    letter_px: float = 0.0
    word_px: float = 0.0
    features: Mapping[str, bool] = field(default_factory=lambda: _NO_FEATURES)
    language: str = ""


class Scale:
    """The faces of one set at their size, opened for measuring."""

    __slots__ = ("_covered", "_fonts", "_size_px")

    def __init__(self, faces: FaceSet) -> None:
        self._size_px = faces.ask.size_px
        self._covered = tuple(face.covered for face in faces.faces)
        self._fonts = tuple(hb.Font(hb.Face(face.data)) for face in faces.faces)

    def width_px(self, text: str, setting: Setting) -> float:
        """The advance of ``text`` on one line, pixels; a whole number for fitted faces, as their advances are.

        White space collapses as in HTML, and none is counted at the ends.
        """
        shown = _SPACES.sub(" ", text).strip(" ").replace("\N{SOFT HYPHEN}", "")
        if not shown:
            return 0.0
        total = 0.0
        for run, place in self._runs(shown):
            total += self._advance(run, place, setting)
        letters = sum(1 for sign in shown if not unicodedata.combining(sign) and sign not in SILENT)
        return total + letters * setting.letter_px + shown.count(" ") * setting.word_px

    def _runs(self, text: str) -> Iterator[tuple[str, int]]:
        """Stretches of one face, script and direction, which an engine shapes one by one."""
        if text.isascii() and self._covered[0].issuperset(text):
            yield text, 0
            return
        keys = _kept_together(text, [self._place(sign) for sign in text])
        for (place, _, _), stretch in groupby(zip(keys, text, strict=True), key=lambda pair: pair[0]):
            yield "".join(sign for _, sign in stretch), place

    def _place(self, sign: str) -> int:
        """Which face has the sign; the first for what none has."""
        return next((place for place, covered in enumerate(self._covered) if sign in covered), 0)

    def _advance(self, run: str, place: int, setting: Setting) -> float:
        buffer = hb.Buffer()
        buffer.add_str(run)
        buffer.guess_segment_properties()
        if setting.language:
            buffer.language = setting.language
        font = self._fonts[place]
        hb.shape(font, buffer, dict(setting.features))
        clusters = _advances(buffer, len(run))
        if len(clusters) == len(run):  # no letter is shared out: sums of whole pixels are exact
            return sum(advance for advance, _ in clusters) * self._size_px / float(font.face.upem)
        pointed = buffer.direction == "rtl" and any(characters > 2 for _, characters in clusters)
        return _single(clusters, self._size_px / font.face.upem) + (_DOUBT_PX if pointed else 0.0)


def _advances(buffer: hb.Buffer, length: int) -> list[tuple[int, int]]:
    """Advance and number of characters of each cluster, in the order of the text."""
    found: dict[int, int] = {}
    for info, glyph in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        found[info.cluster] = found.get(info.cluster, 0) + glyph.x_advance
    starts = [*sorted(found), length]
    return [(found[start], end - start) for start, end in pairwise(starts)]


def _single(clusters: Sequence[tuple[int, int]], scale: float) -> float:
    """The sum of advances as the default engine reckons it, which may carry a line over to the next pixel.

    It shares out a cluster of several characters (a ligature, a letter with its marks) among them, and adds up in
    single precision: three thirds of 10 px are more than 10 px.
    """
    total, size = np.float32(0), np.float32(scale)
    for advance, characters in clusters:
        part = np.float32(advance) * size / np.float32(characters)
        for _ in range(characters):
            total += part
    return float(total)


def _kept_together(text: str, places: Sequence[int]) -> list[tuple[int, str, bool]]:
    """For each sign its face, script and whether it runs to the left; marks and signs of no script go with what is before."""
    keys: list[tuple[int, str, bool]] = []
    script, leftwards = _first_script(text), False
    place = places[0]
    for sign, own in zip(text, places, strict=True):
        joined = bool(keys) and (unicodedata.combining(sign) > 0 or is_silent(sign))
        if not joined:
            place = own
        named = _script_of(sign)
        script = named if named not in _NO_SCRIPT else script
        way = unicodedata.bidirectional(sign)
        leftwards = way in _RIGHT or (leftwards and way not in _FIGURES and way != "L")
        keys.append((place, script, leftwards))
    return keys


def _first_script(text: str) -> str:
    return next((named for sign in text if (named := _script_of(sign)) not in _NO_SCRIPT), "Latn")


@lru_cache(maxsize=4096)
def _script_of(sign: str) -> str:
    """The script of a sign by its ISO 15924 code, as HarfBuzz knows it from the Unicode Character Database."""
    buffer = hb.Buffer()
    buffer.add_str(sign)
    buffer.guess_segment_properties()
    return buffer.script or ""
