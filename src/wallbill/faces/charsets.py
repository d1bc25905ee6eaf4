"""Which characters a fitted face is made for, and which face lends a character that the asked one lacks."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from wallbill.faces.shelf import FaceFile, Match

ASCII = frozenset(map(chr, range(0x20, 0x7F)))
_USUAL = ASCII | frozenset(
    "\N{DEGREE SIGN}\N{MIDDLE DOT}\N{EN DASH}\N{EM DASH}\N{HORIZONTAL ELLIPSIS}\N{MINUS SIGN}\u2018\u2019\u201c\u201d\N{NO-BREAK SPACE}"
)
"""What nearly every page holds some day: fitted from the start."""

_LARGE_FROM_PX = 64
_FIGURES = frozenset("0123456789 +-.,:/%\N{DEGREE SIGN}\N{MINUS SIGN}\N{EN DASH}\N{NO-BREAK SPACE}")

_SETS: tuple[tuple[int, int], ...] = (
    (0x00A0, 0x00FF),  # Latin-1
    (0x0100, 0x017F),  # Latin Extended-A
    (0x0386, 0x03CE),  # Greek
    (0x0400, 0x045F),  # Cyrillic
    (0x0531, 0x0587),  # Armenian
    (0x05D0, 0x05F4),  # Hebrew letters
    (0x0621, 0x064A),  # Arabic letters
    (0x10D0, 0x10FF),  # Georgian
)
"""Alphabets that are fitted whole once one of their letters is asked for, so that a new word seldom needs a new fit.
Ranges of the Unicode Standard's code charts."""

SILENT = frozenset(
    "\u00ad\u034f\u061c\u180e\ufeff"
    + "".join(
        map(
            chr,
            (*range(0x200B, 0x2010), *range(0x202A, 0x202F), *range(0x2060, 0x206A), *range(0xFE00, 0xFE10)),
        )
    )
)
"""What an engine may look for in a face although it shows nothing: every fitted face has an empty glyph for it."""

SPACES = frozenset("\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}\N{HAIR SPACE}\N{FIGURE SPACE}")


_ALONE = frozenset({"Sm", "Sc", "Sk", "So", "Pc", "Pd", "Ps", "Pe", "Pi", "Pf", "Po", "No", "Nl", "Zs"})


@dataclass(frozen=True, slots=True)
class Share:
    """What one face has to hold: ``characters`` as asked, ``guests`` lent by other faces, by face."""

    face: FaceFile
    named: bool
    characters: frozenset[str]
    guests: tuple[tuple[FaceFile, frozenset[str]], ...] = ()


def is_silent(character: str) -> bool:
    """Whether a character shows nothing by itself: controls, joiners, direction marks, variation selectors."""
    return unicodedata.category(character) in {"Cc", "Cf", "Zl", "Zp", "Cs"} or character in SILENT


def is_sign(character: str) -> bool:
    """Whether a character stands alone and belongs to no script, so that its glyph can be lent to another face.

    No letter, mark, joiner or figure; and not the punctuation of another script, which stays with its letters.
    """
    code = ord(character)
    own = 0x0250 <= code < 0x2000 or 0x2E80 <= code < 0xA000 or 0xFB00 <= code < 0xFFFC
    return unicodedata.category(character) in _ALONE and not own


def widened(characters: frozenset[str], face: FaceFile, *, size_px: int) -> frozenset[str]:
    """The characters to fit: those asked, ASCII, whole alphabets that are touched, and letters that marks make.

    Large type mostly sets figures, and each of its glyphs takes longer: from 64 px figures stand in for ASCII.
    """
    large = size_px >= _LARGE_FROM_PX
    wanted = set(characters | (_FIGURES if large else _USUAL) | SPACES)
    for first, last in () if large else _SETS:
        if any(first <= ord(character) <= last and character.isalpha() for character in characters):
            wanted.update(c for c in map(chr, range(first, last + 1)) if c.isalpha())
    wanted |= _composed(characters)
    for character in characters:
        wanted.update(unicodedata.normalize("NFD", character))
    return face.covered(wanted)


def _composed(characters: frozenset[str]) -> set[str]:
    """Letters that a letter and up to two marks make (canonical composition, Unicode Standard, chapter 3)."""
    marks = [character for character in characters if unicodedata.combining(character)]
    found: set[str] = set()
    for _ in range(2):
        for mark in marks:
            pairs = (unicodedata.normalize("NFC", base + mark) for base in characters | found)
            found |= {pair for pair in pairs if len(pair) == 1}
    return found


def space_px(character: str, *, space: int, figure: int, size_px: int) -> int:
    """The width of a space that a face lacks, from its own space and figures (Unicode Standard, table 6-2)."""
    widths = {
        "\N{NO-BREAK SPACE}": space,
        "\N{FIGURE SPACE}": figure,
        "\N{HAIR SPACE}": max(1, size_px // 10),
    }
    return widths.get(character, max(1, round(size_px / 5)))


def shared_out(
    characters: frozenset[str], matches: Sequence[Match], *, lending: bool
) -> tuple[tuple[Share, ...], frozenset[str]]:
    """Who draws what, and the characters that nobody holds. With ``lending``, signs are lent to the first face.

    The first face draws all it can and takes in the signs that the others lend; letters of other scripts stay with
    their own face, as they need its shaping tables. Marks that stand on a letter go with every face.
    """
    left = frozenset(c for c in characters if not is_silent(c) and c not in SPACES)
    shares: list[Share] = []
    for match in matches:
        held = match.face.covered(left)
        if not held and shares:
            continue
        left -= held
        shares.append(Share(match.face, match.named, held))
    if not shares:
        return (), left
    host, guests, others = shares[0], [], []
    for share in shares[1:]:
        signs = frozenset(c for c in share.characters if lending and is_sign(c))
        if signs:
            guests.append((share.face, signs))
        if share.characters - signs:
            others.append(Share(share.face, share.named, share.characters - signs))
    return (Share(host.face, host.named, host.characters, tuple(guests)), *others), left


def joins(character: str) -> bool:
    """Whether letters of this character's script join, so that no tracking may come between them."""
    code = ord(character)
    return 0x0600 <= code <= 0x08FF or 0xFB50 <= code <= 0xFEFC or 0x0900 <= code <= 0x0DFF
