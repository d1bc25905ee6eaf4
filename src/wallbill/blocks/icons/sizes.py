"""The measures of the weather icons at each size that they are drawn for.

An icon is not one drawing scaled: strokes are whole pixels, so every size has its own. Lengths are pixels; a
radius of a half more means a circle about the centre of a pixel.
"""

import math
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Cloud:
    """A cloud: three lobes on a flat base, ``width`` and ``height`` over all.

    ``left``, ``top``, ``right``: radii of the lobes. ``peak``: from the left edge to the top lobe's centre.
    """

    width: int
    height: int
    left: float
    top: float
    right: float
    peak: float


@dataclass(frozen=True, slots=True)
class Sun:
    """A sun: ``radius`` of the disc, ``gap`` to the rays, their length ``ray`` and that of the slanting ones."""

    radius: float
    gap: float
    ray: int
    slant: float

    @property
    def reach(self) -> float:
        """From the centre to the end of a straight ray."""
        return self.radius + self.gap + self.ray


@dataclass(frozen=True, slots=True)
class Measures:
    """All measures of one size, in pixels.

    - ``pen``: width of every stroke. ``casing``: clear space around what lies in front.
    - ``large``, ``medium``, ``small``: the cloud alone, before a sun or moon, and beside a large one.
    - ``sun``, ``behind``: the sun in a clear sky and behind a cloud, the latter always a full disc where ``solid``.
    - ``moon``, ``veiled``: radius of the moon in a clear sky and behind a cloud.
    - ``base_dry``, ``base_wet``, ``base_showers``: the row on which a cloud rests when nothing falls, when
      something does, and when it does from a broken cloud.
    - ``lift_dry``, ``lift_showers``: from a broken cloud's base up to the centre of the sun or moon behind it.
    - ``stagger``: how much higher the second cloud of an overcast sky rests.
    - ``fall``: clear rows between the base and what falls. ``rain``: length of light, moderate and heavy strokes.
      ``drizzle``: length of its strokes. ``flake``, ``arm``: radius of a snow crystal and width of its arms.
      ``ball``: diameter of a hailstone. ``bolt``: height of a flash.
      ``strike``: from its right end to that of a medium cloud.
    - ``fog``: rows from one bank of fog to the next.
    """

    size: int
    pen: int
    casing: int
    large: Cloud
    medium: Cloud
    small: Cloud
    sun: Sun
    behind: Sun
    base_dry: int
    base_wet: int
    base_showers: int
    lift_dry: float
    lift_showers: float
    solid: bool
    stagger: int
    fall: int
    rain: tuple[int, int, int]
    drizzle: int
    flake: int
    arm: int
    ball: int
    bolt: int
    strike: int
    moon: float
    veiled: float
    fog: int

    @property
    def slant(self) -> int:
        """Width along a row of a stroke of rain, which leans one in two: so that it looks as wide as the pen."""
        return round(self.pen * math.sqrt(5) / 2)

    def arm_of(self, radius_px: int) -> int:
        """Width of the arms of a snow crystal that is smaller than ``flake``, in proportion."""
        return max(1, round(self.arm * radius_px / self.flake))

    def flake_extent(self, radius_px: int) -> int:
        """Columns of a crystal with its arms' round ends; those up to a radius of 3 are drawn by hand."""
        return 2 * radius_px + (1 if radius_px <= 3 else self.arm_of(radius_px))

    @property
    def base_foggy(self) -> int:
        """The row on which the medium cloud rests when something falls into fog: its top is the large one's."""
        return self.base_wet - self.large.height + self.medium.height

    @property
    def low_fog(self) -> int:
        """Rows from one to the other of the two banks of fog that something falls into."""
        return 2 * self.pen + self.pen // 3


SIZES = MappingProxyType(
    {
        measures.size: measures
        for measures in (
            Measures(
                size=16,
                pen=1,
                casing=1,
                large=Cloud(15, 9, 3, 4, 3.5, 6),
                medium=Cloud(13, 7, 2.5, 3.5, 3, 5.5),
                small=Cloud(10, 6, 2, 3, 2.5, 5),
                sun=Sun(3.5, 1, 2, 2),
                behind=Sun(2.5, 1, 1, 1),
                base_dry=13,
                base_wet=10,
                base_showers=11,
                lift_dry=7.5,
                lift_showers=6.5,
                stagger=4,
                solid=True,
                fall=1,
                rain=(3, 4, 5),
                drizzle=2,
                flake=1,
                arm=1,
                ball=2,
                bolt=8,
                strike=2,
                moon=6,
                veiled=4,
                fog=3,
            ),
            Measures(
                size=24,
                pen=2,
                casing=1,
                large=Cloud(24, 13, 5, 6.5, 5, 10.5),
                medium=Cloud(18, 10, 4, 5, 4, 8),
                small=Cloud(14, 9, 3, 4, 3, 6),
                sun=Sun(5, 2, 3, 3),
                behind=Sun(4, 1, 2, 2),
                base_dry=19,
                base_wet=14,
                base_showers=16,
                lift_dry=10,
                lift_showers=9,
                stagger=6,
                solid=True,
                fall=1,
                rain=(5, 6, 8),
                drizzle=3,
                flake=2,
                arm=1,
                ball=3,
                bolt=12,
                strike=2,
                moon=9,
                veiled=7,
                fog=4,
            ),
            Measures(
                size=32,
                pen=2,
                casing=2,
                large=Cloud(30, 18, 6, 9, 7, 13),
                medium=Cloud(24, 13, 5, 6.5, 5, 9.5),
                small=Cloud(18, 11, 4, 5, 4, 8),
                sun=Sun(7, 2, 4, 4),
                behind=Sun(5, 2, 3, 3),
                base_dry=26,
                base_wet=19,
                base_showers=21,
                lift_dry=13,
                lift_showers=12,
                stagger=8,
                solid=False,
                fall=2,
                rain=(6, 8, 10),
                drizzle=4,
                flake=3,
                arm=1,
                ball=4,
                bolt=16,
                strike=3,
                moon=12,
                veiled=9,
                fog=6,
            ),
            Measures(
                size=48,
                pen=3,
                casing=2,
                large=Cloud(44, 26, 9, 13, 10, 19),
                medium=Cloud(35, 19, 7, 9.5, 7.5, 14.5),
                small=Cloud(27, 17, 6, 8, 6, 12),
                sun=Sun(10.5, 3, 6, 7),
                behind=Sun(7.5, 2, 3, 5),
                base_dry=39,
                base_wet=27,
                base_showers=30,
                lift_dry=19.5,
                lift_showers=17.5,
                stagger=12,
                solid=False,
                fall=2,
                rain=(8, 12, 16),
                drizzle=5,
                flake=4,
                arm=2,
                ball=6,
                bolt=24,
                strike=4,
                moon=18,
                veiled=12,
                fog=8,
            ),
            Measures(
                size=64,
                pen=4,
                casing=3,
                large=Cloud(58, 35, 12, 17, 14, 25),
                medium=Cloud(47, 26, 10, 13, 10, 20),
                small=Cloud(36, 22, 8, 10, 8, 16),
                sun=Sun(14, 4, 8, 9),
                behind=Sun(10, 3, 4, 6),
                base_dry=52,
                base_wet=37,
                base_showers=42,
                lift_dry=27,
                lift_showers=25,
                stagger=16,
                solid=False,
                fall=3,
                rain=(10, 16, 21),
                drizzle=7,
                flake=5,
                arm=3,
                ball=8,
                bolt=32,
                strike=5,
                moon=24,
                veiled=16,
                fog=11,
            ),
            Measures(
                size=96,
                pen=5,
                casing=4,
                large=Cloud(88, 52, 18, 26, 21, 38),
                medium=Cloud(70, 38, 14, 19, 15, 30),
                small=Cloud(54, 33, 12, 15, 12, 24),
                sun=Sun(20.5, 6, 12, 13),
                behind=Sun(14.5, 5, 6, 8),
                base_dry=78,
                base_wet=55,
                base_showers=62,
                lift_dry=38.5,
                lift_showers=36.5,
                stagger=24,
                solid=False,
                fall=5,
                rain=(16, 24, 32),
                drizzle=10,
                flake=8,
                arm=4,
                ball=12,
                bolt=48,
                strike=7,
                moon=36,
                veiled=24,
                fog=16,
            ),
            Measures(
                size=128,
                pen=8,
                casing=6,
                large=Cloud(118, 70, 24, 35, 28, 51),
                medium=Cloud(94, 50, 19, 25, 20, 40),
                small=Cloud(72, 44, 16, 20, 16, 32),
                sun=Sun(28, 8, 16, 17),
                behind=Sun(18, 6, 11, 11),
                base_dry=104,
                base_wet=73,
                base_showers=83,
                lift_dry=51,
                lift_showers=48,
                stagger=32,
                solid=False,
                fall=7,
                rain=(22, 32, 42),
                drizzle=14,
                flake=11,
                arm=5,
                ball=16,
                bolt=64,
                strike=9,
                moon=48,
                veiled=32,
                fog=22,
            ),
            Measures(
                size=160,
                pen=10,
                casing=7,
                large=Cloud(146, 86, 30, 43, 35, 63),
                medium=Cloud(116, 64, 23, 32, 25, 50),
                small=Cloud(90, 55, 20, 25, 20, 40),
                sun=Sun(35, 10, 20, 21),
                behind=Sun(23, 7, 14, 14),
                base_dry=130,
                base_wet=92,
                base_showers=103,
                lift_dry=64,
                lift_showers=59,
                stagger=40,
                solid=False,
                fall=8,
                rain=(28, 40, 52),
                drizzle=17,
                flake=14,
                arm=6,
                ball=20,
                bolt=80,
                strike=12,
                moon=60,
                veiled=40,
                fog=27,
            ),
        )
    }
)
