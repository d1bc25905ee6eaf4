"""How wide a text is before the engine has set it: asked by every block that makes room for its texts."""

from types import MappingProxyType
from typing import Protocol

_DIGIT_EM = 0.58
_CAPITAL_EM = 0.7
_NARROW_EM = MappingProxyType(dict.fromkeys(" .,:;'′″!|ijlIft()[]\u2009\xa0\u202f", 0.3))
_WIDE_EM = MappingProxyType(dict.fromkeys("mwMW%@—", 0.95))


class Ruler(Protocol):
    """Measures texts in the face that the page will set them in."""

    def width_px(self, text: str, *, size_px: int, role: str = "") -> int:
        """Width of ``text`` on one line, pixels. ``role``: the class that it will have, such as ``wb-axis``."""
        ...


class Guess:
    """A ruler that knows no face: a guess from the usual widths of letters, rather too wide.

    Source: common practice, no source; tabular digits of common faces measure about 0.57 em.
    """

    __slots__ = ()

    def width_px(self, text: str, *, size_px: int, role: str = "") -> int:
        """A width that most upright text faces without serifs stay under."""
        del role
        ems = sum(_NARROW_EM.get(letter) or _WIDE_EM.get(letter) or _letter_em(letter) for letter in text)
        return int(ems * size_px + 1.5)


def _letter_em(letter: str) -> float:
    if letter.isupper():
        return _CAPITAL_EM
    return _DIGIT_EM if letter.isascii() or letter in "−°–" else 0.65 if letter.isalpha() else 0.8


class Labelled:
    """What every block with labels is asked for in the same way: ``width_px``, ``height_px``, ``label_px``, ``ruler``."""

    __slots__ = ()

    width_px: int
    height_px: int
    label_px: int
    ruler: Ruler

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.width_px, self.height_px

    @property
    def line_height_px(self) -> int:
        """Height of a line of labels, even, so that its middle is a whole pixel."""
        return round(self.label_px * 0.59) * 2

    def text_px(self, text: str, role: str = "wb-label") -> int:
        """Width of ``text`` in pixels at the label size. ``role``: the class that it has."""
        return self.ruler.width_px(text, size_px=self.label_px, role=role)


class EvenLabelled(Labelled):
    """The same for blocks whose labels stand in the middle of things: boxes of even widths."""

    __slots__ = ()

    def text_px(self, text: str, role: str = "wb-label") -> int:
        """Width of ``text`` in pixels at the label size, even. ``role``: the class that it has."""
        return (super().text_px(text, role) + 1) // 2 * 2
