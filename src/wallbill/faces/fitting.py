"""Fitting: from an ask and the characters of a page to fonts that lie on the pixel grid."""

from collections.abc import Sequence
from dataclasses import astuple

from wallbill.errors import FaceError
from wallbill.faces.bench import smear_px
from wallbill.faces.charsets import Share, shared_out, widened
from wallbill.faces.keeping import key_of, packed, unpacked
from wallbill.faces.model import FaceAsk, FaceSet, FittedFace, Keep
from wallbill.faces.pieces import Shape
from wallbill.faces.remarks import (
    borrowed_findings,
    family_findings,
    large_findings,
    missing_findings,
    place_of,
    size_findings,
    style_findings,
    topology_findings,
)
from wallbill.faces.shelf import FaceFile, Match, Shelf
from wallbill.faces.stems import ALONE, Host
from wallbill.faces.topology import Fault

LARGEST_PX = 600
"""Up to here fitted type was measured to come out of the engine without one wrong or soft pixel."""


def fit_set(ask: FaceAsk, characters: frozenset[str], *, shelf: Shelf, keep: Keep) -> FaceSet:
    """The fitted faces that an ask needs for some characters.

    The first holds most of the text, and signs lent by other faces; letters of scripts that it lacks follow, each
    script in a face of its own. What no face holds comes back as ``missing``, with a finding. The same arguments
    give the same bytes, from the keep or fitted anew. Type above 600 px is given unfitted, with a finding.
    Raises FaceError where the shelf is empty or a face on it cannot be used.
    """
    return _face_set(ask, characters, shelf=shelf, keep=keep, fitted=ask.size_px <= LARGEST_PX)


def smooth_set(ask: FaceAsk, characters: frozenset[str], *, shelf: Shelf, keep: Keep) -> FaceSet:
    """As ``fit_set`` for a panel of greys: the outlines as designed, at the weight asked, cut to the characters."""
    made = _face_set(ask, characters, shelf=shelf, keep=keep, fitted=False)
    return FaceSet(ask, made.faces, made.missing, tuple(f for f in made.findings if f.rule != "faces.large"))


def _face_set(ask: FaceAsk, characters: frozenset[str], *, shelf: Shelf, keep: Keep, fitted: bool) -> FaceSet:
    matches = shelf.matches(ask.families, weight=ask.weight, italic=ask.italic)
    usable = [match for match in matches if _serves(match.face, ask)]
    if not usable:
        raise FaceError(
            "no face on the shelf serves this type",
            where=place_of(ask),
            mend="Install the package fontpkg-noto-sans, or put a face into the wall's faces folder.",
        )
    shares, missing = shared_out(characters | {" "}, usable, lending=fitted)
    faces: list[FittedFace] = []
    host = ALONE
    for share in shares:
        face, own = _face(share, ask, keep=keep, fitted=fitted, host=host)
        host = host if faces else own
        faces.append(face)
    passed_over: Sequence[Match] = [match for match in matches if match not in usable]
    findings = (
        *family_findings(ask, shelf),
        *size_findings(ask, passed_over),
        *(() if fitted else large_findings(ask, LARGEST_PX)),
        *missing_findings(ask, missing),
        *borrowed_findings(shares),
    )
    return FaceSet(ask, tuple(faces), missing, findings)


def _serves(face: FaceFile, ask: FaceAsk) -> bool:
    if face.outlined:
        return True
    from wallbill.faces.strikes import strike_for  # noqa: PLC0415  for bitmap faces only

    return strike_for(face, ask.size_px) is not None


def family_name(face: FaceFile, ask: FaceAsk, *, kind: str, key: str) -> str:
    """The family name of a fitted face: a CSS identifier, the same on every machine, unique to what went into it.

    So two pages of one press run may hold the same face for different characters side by side.
    """
    plain = "-".join("".join(c if c.isascii() and c.isalnum() else " " for c in face.family).split())
    slant = "i" if ask.italic else ""
    return f"{kind}-{plain or 'Face'}-{ask.size_px}px-{ask.weight}{slant}-{key[-8:]}"


def _face(share: Share, ask: FaceAsk, *, keep: Keep, fitted: bool, host: Host) -> tuple[FittedFace, Host]:
    """One face of a set, from the keep if a sound record is there, and how it is cut. ``host``: whom it lends letters to."""
    face = share.face
    fitted = fitted or not face.outlined
    kind = "Fitted" if fitted else "Smooth"
    key = key_of(kind, *_what(share, ask), astuple(host) if fitted else ())
    family = family_name(face, ask, kind=kind, key=key)
    record = unpacked(keep.get(key))
    if record is None:
        from wallbill.faces import making  # noqa: PLC0415  not needed for a face that is kept

        record = (
            making.fitted_record(share, ask, family=family, keep=keep, host=host)
            if fitted
            else making.smooth_record(share, ask, family=family)
        )
        keep.put(key, packed(record))
    lent = frozenset(sign for _, signs in share.guests for sign in signs)
    faults = {
        character: Fault(Shape(*found), Shape(*designed))
        for character, found, designed in record.facts["faults"]
    }
    made = FittedFace(
        family,
        ask.size_px,
        ask.weight,
        ask.italic,
        record.data,
        frozenset(map(chr, record.facts["covered"])),
        (
            *style_findings(ask, face, smear_px=smear_px(face, ask)),
            *topology_findings(ask, faults, asked=share.characters | lent),
        ),
    )
    return made, Host(*record.facts.get("host", ()))


def _what(share: Share, ask: FaceAsk) -> tuple[object, ...]:
    """Everything that the bytes of a fitted face depend on."""
    face = share.face
    return (
        face.digest,
        face.index,
        face.pinned,
        (ask.size_px, ask.weight, ask.italic),
        sorted(map(ord, widened(share.characters, face, size_px=ask.size_px))),
        [(guest.digest, guest.index, sorted(map(ord, signs))) for guest, signs in share.guests],
    )
