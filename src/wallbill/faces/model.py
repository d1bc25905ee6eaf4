"""What is asked of a face, and what comes back."""

from dataclasses import dataclass, field
from typing import Protocol

from wallbill.findings import Finding


@dataclass(frozen=True, slots=True, order=True)
class FaceAsk:
    """What an element of a page asks for, after the cascade.

    ``families``: names in order of preference, as CSS has them, generic keywords in lower case.
    ``weight``: 1 to 1000, as CSS. ``size_px``: whole pixels per em, 1 or more.
    """

    families: tuple[str, ...]
    size_px: int
    weight: int = 400
    italic: bool = False


@dataclass(frozen=True, slots=True)
class FittedFace:
    """A font that lies on the pixel grid at ``size_px`` and at no other size.

    ``family``: its own unique family name, to be put in place of the asked one.
    ``data``: the sfnt file. ``covered``: the characters that it holds.
    """

    family: str
    size_px: int
    weight: int
    italic: bool
    data: bytes
    covered: frozenset[str]
    findings: tuple[Finding, ...] = field(default=())


@dataclass(frozen=True, slots=True)
class FaceSet:
    """The fitted faces that one ask needs: the first holds most of the text, the others what it lacks.

    ``stack``: family names in the order to write them into the page's ``font-family``.
    ``missing``: characters that no face on the shelf holds.
    """

    ask: FaceAsk
    faces: tuple[FittedFace, ...]
    missing: frozenset[str] = frozenset()
    findings: tuple[Finding, ...] = field(default=())

    @property
    def stack(self) -> tuple[str, ...]:
        """Family names in the order to write them into ``font-family``."""
        return tuple(face.family for face in self.faces)


class Keep(Protocol):
    """Where fitted faces are kept between runs: bytes by key. What comes back is checked by the one who asked."""

    def get(self, key: str) -> bytes | None:
        """The bytes under a key, or None."""
        ...

    def put(self, key: str, data: bytes) -> None:
        """Keep bytes under a key, whole or not at all."""
        ...
