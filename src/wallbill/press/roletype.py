"""The type of one element: what of it changes how wide a text is, and how each property of CSS changes it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from wallbill.press.css import Node
from wallbill.press.families import DEFAULT, family_list, font_parts

_PX = MappingProxyType(
    {"px": 1.0, "pt": 96 / 72, "pc": 16.0, "in": 96.0, "cm": 96 / 2.54, "mm": 9.6 / 2.54, "q": 2.4 / 2.54}
)
"""CSS pixels in an absolute unit (CSS Values and Units Level 4, section 6.2)."""

_FEATURES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "tabular-nums": ("tnum",),
        "proportional-nums": ("pnum",),
        "lining-nums": ("lnum",),
        "oldstyle-nums": ("onum",),
        "slashed-zero": ("zero",),
        "diagonal-fractions": ("frac",),
        "stacked-fractions": ("afrc",),
        "ordinal": ("ordn",),
        "small-caps": ("smcp",),
        "all-small-caps": ("c2sc", "smcp"),
    }
)
"""OpenType features of keywords (CSS Fonts Level 4, sections 6.4 to 6.8)."""


@dataclass(frozen=True, slots=True)
class Length:
    """A length of type: so many pixels, so many times the size, so many times the size of the root."""

    px: float = 0.0
    em: float = 0.0
    rem: float = 0.0

    def at(self, size_px: float) -> float:
        """Pixels at a size of type, for a length in which the root has no part."""
        return self.px + self.em * size_px

    def rooted(self, root_px: float | None) -> "Length | None":
        """The length with the root's size put in; None where it needs one that is not known."""
        if not self.rem:
            return self
        return None if root_px is None else Length(self.px + self.rem * root_px, self.em)


@dataclass(frozen=True, slots=True)
class RoleType:
    """How an element's text is set. ``size``: as the styles say it, None where the block itself says it.

    ``case``: ``uppercase``, ``lowercase`` or nothing. ``features``: OpenType features turned on (or off), in order.
    """

    families: tuple[str, ...] = DEFAULT
    weight: int = 400
    italic: bool = False
    size: Length | None = None
    letter: Length = Length()
    word: Length = Length()
    case: str = ""
    features: tuple[tuple[str, bool], ...] = ()

    def handed_on(self, size_px: float | None, *, root_px: float | None) -> "RoleType":
        """What a child inherits: spaces as reckoned at the parent's size, where that is known, and no size."""
        letter, word = (length.rooted(root_px) or Length() for length in (self.letter, self.word))
        if size_px is not None:
            letter, word = Length(letter.at(size_px)), Length(word.at(size_px))
        return replace(self, size=None, letter=letter, word=word)

    def rooted(self, root_px: float | None) -> "RoleType":
        """The type with the root's size put in; a size that needs one that is not known is left to the block."""
        letter, word = (length.rooted(root_px) or Length() for length in (self.letter, self.word))
        return replace(self, size=self.size and self.size.rooted(root_px), letter=letter, word=word)


PLAIN = RoleType()


def changed(known: RoleType, name: str, value: Sequence[Node]) -> RoleType:
    """A type with one declaration put on it; unchanged by what is not understood, as CSS drops it."""
    change = _CHANGES.get(name)
    return known if change is None or not value else change(known, value)


def type_size(name: str, value: Sequence[Node]) -> Length | None:
    """The size that a declaration of ``font-size`` or ``font`` sets; None where it sets none that can be told."""
    return changed(PLAIN, name, value).size


def _word(value: Sequence[Node]) -> str:
    return value[0].lower_value if len(value) == 1 and value[0].type == "ident" else ""


def _family(known: RoleType, value: Sequence[Node]) -> RoleType:
    if _word(value) in ("inherit", "unset"):
        return known
    families = family_list(value)
    return replace(known, families=families) if families else known


def _weight(known: RoleType, value: Sequence[Node]) -> RoleType:
    node = value[0]
    if node.type == "number" and 1 <= node.value <= 1000:
        return replace(known, weight=round(node.value))
    named = {"normal": 400, "bold": 700, "initial": 400}
    at = known.weight
    named["bolder"] = 400 if at < 350 else 700 if at < 550 else max(900, at)
    named["lighter"] = min(100, at) if at < 550 else 400 if at < 750 else 700
    return replace(known, weight=named.get(_word(value), at))


def _style(known: RoleType, value: Sequence[Node]) -> RoleType:
    word = value[0].lower_value if value[0].type == "ident" else ""
    slant = {"italic": True, "oblique": True, "normal": False, "initial": False}
    return replace(known, italic=slant.get(word, known.italic))


def _length(value: Sequence[Node]) -> Length | None:
    node = value[0]
    if node.type == "number" and node.value == 0:
        return Length()
    if node.type == "percentage":
        return Length(em=node.value / 100)
    if node.type != "dimension":
        return None
    if node.lower_unit in ("em", "rem"):
        return Length(**{node.lower_unit: node.value})
    return Length(node.value * _PX[node.lower_unit]) if node.lower_unit in _PX else None


def _size(known: RoleType, value: Sequence[Node]) -> RoleType:
    length = _length(value)
    return known if length is None else replace(known, size=length)


def _letter(known: RoleType, value: Sequence[Node]) -> RoleType:
    length = Length() if _word(value) in ("normal", "initial") else _length(value)
    return known if length is None else replace(known, letter=length)


def _word_space(known: RoleType, value: Sequence[Node]) -> RoleType:
    length = Length() if _word(value) in ("normal", "initial") else _length(value)
    return known if length is None else replace(known, word=length)


def _case(known: RoleType, value: Sequence[Node]) -> RoleType:
    word = _word(value)
    if word in ("uppercase", "lowercase"):
        return replace(known, case=word)
    return replace(known, case="") if word in ("none", "capitalize", "initial") else known


def _variant(known: RoleType, value: Sequence[Node]) -> RoleType:
    words = [node.lower_value for node in value if node.type == "ident"]
    named = tuple((tag, True) for word in words for tag in _FEATURES.get(word, ()))
    return replace(known, features=named)


def _settings(known: RoleType, value: Sequence[Node]) -> RoleType:
    found = dict(known.features)
    for at, node in enumerate(value):
        if node.type == "string" and len(node.value) == 4:
            behind = value[at + 1 : at + 2]
            found[node.value] = not any(
                getattr(part, "lower_value", "") == "off" or (part.type == "number" and part.value == 0)
                for part in behind
            )
    return replace(known, features=tuple(found.items()))


def _font(known: RoleType, value: Sequence[Node]) -> RoleType:
    """The shorthand sets all that it does not name to its initial value (CSS Fonts Level 4, section 2.7)."""
    parts = font_parts(value)
    if parts is None:
        return known
    before, families = parts
    made = replace(PLAIN, families=families, letter=known.letter, word=known.word, case=known.case)
    for node in before:
        word = node.lower_value if node.type == "ident" else ""
        if word in ("italic", "oblique"):
            made = replace(made, italic=True)
        elif word in ("bold", "bolder", "lighter") or node.type == "number":
            made = _weight(made, [node])
        elif word == "small-caps":
            made = _variant(made, [node])
        elif node == "/":
            break
        elif node.type in ("dimension", "percentage"):
            made = _size(made, [node])
    return made


_CHANGES: Mapping[str, Callable[[RoleType, Sequence[Node]], RoleType]] = MappingProxyType(
    {
        "font": _font,
        "font-family": _family,
        "font-weight": _weight,
        "font-style": _style,
        "font-size": _size,
        "letter-spacing": _letter,
        "word-spacing": _word_space,
        "text-transform": _case,
        "font-variant": _variant,
        "font-variant-numeric": _variant,
        "font-variant-caps": _variant,
        "font-feature-settings": _settings,
    }
)
