"""What was measured of a patch: its light, in full colour or in luminance alone."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from wallbill.inks import colour
from wallbill.inks.colour import Floats


class Means(StrEnum):
    """How something was measured."""

    READINGS = "readings"
    PHOTOGRAPH = "photograph"
    EYE = "eye"


@dataclass(frozen=True, slots=True)
class Light:
    """The light of a patch against a perfect white.

    ``lab``: CIELAB under D50; where ``has_colour`` is false only its L* was measured.
    """

    lab: tuple[float, float, float]
    has_colour: bool = True

    @property
    def luminance(self) -> float:
        """Share of light, 0 to 1."""
        return float(colour.luminance(self.lab[0]))


def lab_of(xyz_d50: Floats) -> tuple[float, float, float]:
    """CIELAB under D50 of XYZ, shape (3,)."""
    lightness, a, b = (float(part) for part in colour.xyz_to_lab(xyz_d50, white=colour.D50))
    return lightness, a, b


def mean_light(lights: tuple[Light, ...]) -> Light:
    """The mean of several measurements of one patch, worked out in light, not in lightness."""
    xyz = colour.lab_to_xyz(np.array([light.lab for light in lights]), white=colour.D50)
    return Light(lab_of(xyz.mean(axis=0)), all(light.has_colour for light in lights))
