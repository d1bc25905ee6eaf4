"""The ruler of a sheet: how wide a text will be in the face that the page sets it in."""

import math
import re
from collections.abc import Callable, Iterator, Mapping

from wallbill.blocks.drawing.ruler import Guess, Ruler
from wallbill.errors import FaceError
from wallbill.faces.fitting import LARGEST_PX
from wallbill.faces.measuring import Scale, Setting
from wallbill.faces.model import FaceAsk, FaceSet
from wallbill.panels.model import Panel, Tone
from wallbill.press.media import features_of
from wallbill.press.pressing import PressTools, faces_for
from wallbill.press.roletype import RoleType
from wallbill.press.roletypes import RoleStyles, readable, static_style
from wallbill.press.typeplan import FaceKey

_STYLE = re.compile(r"<style\b[^>]*>(.*?)</style\s*>", re.IGNORECASE | re.DOTALL)
_NAMED = re.compile(r"""\{%-?\s*(?:include|extends|import|from)\s+["']([^"']+)["']""")

_CONTROLS = frozenset("\n\r\t\f\v\x00")

FacesFor = Callable[[FaceKey, frozenset[str]], FaceSet]
"""Gives the faces that a page gets for an ask and characters."""


def ruler_for(styles: tuple[str, ...], *, panel: Panel, tools: PressTools | None, language: str) -> Ruler:
    """The ruler of a page of those styles on a panel; without tools the widths are guessed."""
    if tools is None:
        return Guess()
    press, smooth = tools, panel.tone is Tone.GREYS
    key = ("roles", styles, panel.tone, tuple(ink.css for ink in panel.inks))
    known = press.plans.get(key)
    if not isinstance(known, RoleStyles):
        known = readable(styles, features_of(panel))
        press.plans.put(key, known)

    def faces(asked: FaceKey, characters: frozenset[str]) -> FaceSet:
        return faces_for(asked, characters, press, smooth=smooth)

    return FittedRuler(known, faces, smooth=smooth, language=language)


def styles_of(sheet: str, texts: Mapping[str, str], *, base: str) -> tuple[str, ...]:
    """The styles of a sheet in the order of its page. ``base``: the style beneath its own. ``texts``: by file name."""
    return (base, texts.get(f"{sheet}.css", ""), *styles_in(f"{sheet}.html", texts))


def styles_in(name: str, texts: Mapping[str, str]) -> Iterator[str]:
    """The ``<style>`` elements of a template and of those that it names, as far as they stand before it is filled in."""
    seen, waiting = set(), [name]
    while waiting:
        file = waiting.pop(0)
        if file in seen or file not in texts:
            continue
        seen.add(file)
        yield from (static_style(found) for found in _STYLE.findall(texts[file]))
        waiting += _NAMED.findall(texts[file])


class FittedRuler:
    """A ruler that shapes texts in the faces that the press will fit.

    Where a class may be set in several types, such as in an ancestor's, the widest counts: rather too wide.
    """

    __slots__ = ("_faces", "_guess", "_language", "_roles", "_scales", "_smooth", "_styles", "_widths")

    def __init__(self, styles: RoleStyles, faces: FacesFor, *, smooth: bool, language: str = "") -> None:
        self._styles = styles
        self._faces = faces
        self._smooth = smooth
        self._language = language
        self._guess = Guess()
        self._roles: dict[str, tuple[RoleType, ...]] = {}
        self._scales: dict[FaceKey, tuple[frozenset[str], Scale]] = {}
        self._widths: dict[tuple[str, int, str], int] = {}

    def width_px(self, text: str, *, size_px: int, role: str = "") -> int:
        """Width of ``text`` on one line, whole pixels, in the type of the class ``role`` ("": of the page itself).

        ``size_px``: the size at which the block sets it; a size that the styles give the class itself goes before it.
        """
        key = (text, size_px, role)
        known = self._widths.get(key)
        if known is None:
            types = self._roles.get(role)
            if types is None:
                types = self._roles[role] = self._styles.types(role)
            known = self._widths[key] = max(self._width(text, size_px, kind) for kind in types)
        return known

    def _width(self, text: str, size_px: int, kind: RoleType) -> int:
        shown = {"uppercase": text.upper(), "lowercase": text.lower()}.get(kind.case, text)
        size = size_px if kind.size is None else kind.size.at(size_px)
        whole = max(1, math.floor(size + 0.5))
        if kind.families[0].casefold() in self._styles.own_faces:
            return self._guess.width_px(shown, size_px=whole)
        letter_px = kind.letter.at(size)
        setting = Setting(
            letter_px if self._smooth else math.floor(letter_px + 0.5),
            kind.word.at(size),
            dict(kind.features),
            self._language,
        )
        ask = FaceAsk(kind.families, whole, kind.weight, kind.italic)
        try:
            scale = self._scale((ask, not self._smooth and whole <= LARGEST_PX), shown)
        except FaceError:  # the press will tell of it
            return self._guess.width_px(shown, size_px=whole)
        exact = scale.width_px(shown, setting)
        return math.ceil(exact * size / whole - 1e-6) if self._smooth else math.ceil(exact - 1e-6)

    def _scale(self, key: FaceKey, text: str) -> Scale:
        """The scale of an ask, with faces for the text's characters and all those measured before."""
        signs = frozenset(text) - _CONTROLS
        known = self._scales.get(key)
        if known is None or not signs <= known[0]:
            every = signs if known is None else signs | known[0]
            known = self._scales[key] = (every, Scale(self._faces(key, every)))
        return known[1]
