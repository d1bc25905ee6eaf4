"""What there is to say about a fit: the findings of this room, each with a heading in docs/reference/faces.md."""

import unicodedata
from collections.abc import Mapping, Sequence

from wallbill.errors import Place
from wallbill.faces.charsets import Share
from wallbill.faces.model import FaceAsk
from wallbill.faces.shelf import FaceFile, Match, Shelf
from wallbill.faces.topology import Fault
from wallbill.findings import Finding, Weight

_BOLD_FROM = 600


def place_of(ask: FaceAsk) -> Place:
    """An ask as a place: family, size, weight and slant."""
    slant = " italic" if ask.italic else ""
    return Place(field=f"{ask.families[0] if ask.families else 'type'} {ask.size_px} px {ask.weight}{slant}")


def named(characters: frozenset[str] | Sequence[str]) -> str:
    """Characters as a reader can find them: the sign, its code point and its name."""
    return ", ".join(
        f"{c} U+{ord(c):04X} {unicodedata.name(c, 'unnamed').lower()}" for c in sorted(characters)
    )


def topology_findings(
    ask: FaceAsk, faults: Mapping[str, Fault], *, asked: frozenset[str]
) -> tuple[Finding, ...]:
    """One finding for each asked character whose shape is lost on the grid.

    A letter or figure may then be read as another, which is a warning; a sign that touches is still read.
    """
    return tuple(
        Finding(
            "faces.topology",
            place_of(ask),
            f"{character} loses its shape at {ask.size_px} px",
            measured=str(fault.found),
            limit=str(fault.designed),
            mend="Take a larger size, another weight or another face for this text.",
            weight=Weight.WARN if unicodedata.category(character)[0] in "LNM" else Weight.NOTE,
        )
        for character, fault in sorted(faults.items())
        if character in asked
    )


def style_findings(ask: FaceAsk, face: FaceFile, *, smear_px: int) -> tuple[Finding, ...]:
    """A slant or a bold that the face lacks and that was made from the upright or the regular."""
    found = []
    if ask.italic and not face.italic:
        found.append(
            Finding(
                "faces.slant",
                place_of(ask),
                f"{face.family} has no italic here, so the upright is slanted",
                mend="Put an italic of the family into the wall's faces folder, or use the upright.",
                weight=Weight.NOTE,
            )
        )
    if smear_px:
        found.append(
            Finding(
                "faces.weight",
                place_of(ask),
                f"{face.family} has no bold here, so the regular is smeared by {smear_px} px",
                mend="Put a bold of the family, or its variable face, into the wall's faces folder.",
                weight=Weight.NOTE,
            )
        )
    return tuple(found)


def family_findings(ask: FaceAsk, shelf: Shelf) -> tuple[Finding, ...]:
    """No asked family is on the shelf, so a fallback serves."""
    if not ask.families or any(shelf.holds(family) for family in ask.families):
        return ()
    return (
        Finding(
            "faces.family",
            place_of(ask),
            f"no face called {' or '.join(ask.families)} is on the shelf",
            mend="Put its file into the wall's faces folder, or name a family of `docs/reference/faces.md`.",
        ),
    )


def size_findings(ask: FaceAsk, passed_over: Sequence[Match]) -> tuple[Finding, ...]:
    """Bitmap faces that were asked for by name and that do not come in the size."""
    return tuple(
        Finding(
            "faces.size",
            place_of(ask),
            f"{match.face.family} is a bitmap face without a size that goes into {ask.size_px} px",
            measured=str(ask.size_px),
            limit=" or ".join(map(str, match.face.strikes_px)),
            unit="px",
            mend="Ask for one of its own sizes, or a whole multiple of one.",
        )
        for match in passed_over
        if match.named
    )


def missing_findings(ask: FaceAsk, missing: frozenset[str]) -> tuple[Finding, ...]:
    """Characters that no face on the shelf holds."""
    if not missing:
        return ()
    return (
        Finding(
            "faces.missing",
            place_of(ask),
            f"no face on the shelf holds {named(missing)}",
            measured=str(len(missing)),
            limit="0",
            unit="characters",
            mend="Put a face that holds them into the wall's faces folder, or write something else.",
        ),
    )


def borrowed_findings(shares: Sequence[Share]) -> tuple[Finding, ...]:
    """Faces of the machine that draw some of the text; one finding a face, the same for every ask."""
    faces = [face for share in shares for face in (share.face, *(guest for guest, _ in share.guests))]
    return tuple(
        Finding(
            "faces.borrowed",
            Place(face.path),
            f"{face.family} is borrowed from this machine, and another may not have it or have another version",
            mend="Put the file into the wall's faces folder, so that the page is the same everywhere.",
            weight=Weight.NOTE,
        )
        for face in dict.fromkeys(faces)
        if face.borrowed
    )


def large_findings(ask: FaceAsk, limit_px: int) -> tuple[Finding, ...]:
    """Type too large to be fitted."""
    return (
        Finding(
            "faces.large",
            place_of(ask),
            "type this large is not fitted to the grid: its edges are cut at half cover",
            measured=str(ask.size_px),
            limit=str(limit_px),
            unit="px",
            mend="Nothing to mend where it looks right; up to the limit every edge falls on the grid.",
            weight=Weight.NOTE,
        ),
    )
