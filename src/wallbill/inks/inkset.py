"""The light of a panel's inks, worked out once, in the two ways that separation needs.

What the page's author wrote (the CSS colours) and what the panel shows (the measured colours) are two
different sets of lights for the same inks.
"""

import hashlib
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from wallbill.inks import colour
from wallbill.inks.colour import Floats
from wallbill.panels.model import Ink

CHROMA_COST = 16.0
"""Weight of an ink's chroma against its luminance when the calm mix is chosen and greys are to be plain. Large enough
that they are made of black and white, and no coloured dots stand in them: with the typical inks of the tests, 4 still
gave coloured greys and 8 did not."""


class Neutrals(StrEnum):
    """What a picture's greys are made of on a panel of colours.

    ``PLAIN``: of black and white, so that a grey stays grey where the inks were measured badly, and to an eye that stands
    near. ``MIXED``: of the inks that make the calmest mix, coloured ones too: nearer to the picture from where it is read.
    """

    PLAIN = "plain"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True, eq=False)
class InkSet:
    """Lights of inks. All arrays are read-only.

    ``written``: cone-like light (inks, 3) of the CSS colours, sRGB white = 1.
    ``shown``: cone-like light (inks, 3) of the measured colours, the panel's own white = 1.
    ``order``: places of the inks from darkest to lightest as shown. ``n``: the Yule-Nielsen factor.
    ``neutrals``: what a picture's greys are made of.
    ``key``: SHA-256 in hex of everything that a table depends on.
    """

    written: Floats
    shown: Floats
    order: tuple[int, ...]
    n: float
    key: str
    neutrals: Neutrals = Neutrals.PLAIN

    @property
    def black(self) -> int:
        """Place of the darkest ink."""
        return self.order[0]

    @property
    def white(self) -> int:
        """Place of the lightest ink."""
        return self.order[-1]


def measured_xyz(inks: tuple[Ink, ...]) -> Floats:
    """XYZ under D65, shape (inks, 3), of the measured colours: 1 is a perfect white, not the panel's."""
    lab = np.array([ink.lab for ink in inks])
    return colour.adapt(colour.lab_to_xyz(lab, white=colour.D50), source=colour.D50, target=colour.D65)


def ink_set(inks: tuple[Ink, ...], *, n: float = 1.0, neutrals: Neutrals = Neutrals.PLAIN) -> InkSet:
    """The lights of ``inks``, seen by eyes that take the panel's lightest ink for white.

    ``n``: the panel's Yule-Nielsen factor, 1 or more. Raises `ValueError` for n below 1.
    """
    if n < 1:
        raise ValueError(f"a Yule-Nielsen factor is 1 or more, got {n}")
    xyz = measured_xyz(inks)
    order = tuple(int(place) for place in np.argsort(xyz[:, 1], kind="stable"))
    relative = colour.adapt(xyz, source=xyz[order[-1]], target=colour.D65)
    shown = np.maximum(colour.linear_to_lms(colour.xyz_to_linear(relative)), 1e-4)
    written = colour.linear_to_lms(colour.codes_to_linear([ink.css for ink in inks]))
    for array in (shown, written):
        array.setflags(write=False)
    facts = repr([(ink.css, ink.lab) for ink in inks]) + f";n={n!r};{neutrals};chroma={CHROMA_COST!r};5"
    return InkSet(written, shown, order, n, hashlib.sha256(facts.encode()).hexdigest(), neutrals)


def calm_costs(lms: Floats, *, chroma: float = 0.0) -> Floats:
    """Cost of one dot of each ink, shape (inks,), from cone-like light (inks, 3).

    The mix of least cost varies least in luminance (the minimal brightness variation criterion, 1996, from
    memory). ``chroma``: the cost of colour; `CHROMA_COST` keeps it out of greys.
    """
    light = colour.lms_to_linear(lms)
    luminance = colour.linear_to_xyz(light)[:, 1]
    colourful = np.hypot(*colour.lms_to_oklab(lms)[:, 1:].T)
    costs: Floats = luminance**2 + chroma * colourful**2
    return costs
