"""Colour science: sRGB, XYZ, CIELAB, OKLab, lightness and the CIEDE2000 difference, on arrays of any shape.

The last axis holds the three parts of a colour. XYZ is scaled so that the white has Y = 1.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def _fixed(rows: ArrayLike) -> Floats:
    """A read-only float64 array, fit to stand at module level."""
    array = np.array(rows, dtype=np.float64)
    array.setflags(write=False)
    return array


D50 = _fixed((0.96422, 1.0, 0.82521))  # CIE 15, 2 degree observer
D65 = _fixed((0.9504559270516716, 1.0, 1.0890577507598784))  # from x = 0.3127, y = 0.3290 (IEC 61966-2-1)

# From the primaries and the white of IEC 61966-2-1, worked out to double precision.
_RGB_TO_XYZ = _fixed(
    (
        (0.41239079926595934, 0.357584339383878, 0.1804807884018343),
        (0.21263900587151027, 0.715168678767756, 0.07219231536073371),
        (0.01933081871559182, 0.11919477979462598, 0.9505321522496607),
    )
)
_XYZ_TO_RGB = _fixed(np.linalg.inv(_RGB_TO_XYZ))
# The cone-like matrix of K. M. Lam's 1985 transform ("Bradford"), as ICC.1 Annex E prints it.
_BRADFORD = _fixed(((0.8951, 0.2664, -0.1614), (-0.7502, 1.7135, 0.0367), (0.0389, -0.0685, 1.0296)))
# OKLab, B. Ottosson 2020, with the matrices of 2021 for linear sRGB.
_RGB_TO_LMS = _fixed(
    (
        (0.4122214708, 0.5363325363, 0.0514459929),
        (0.2119034982, 0.6806995451, 0.1073969566),
        (0.0883024619, 0.2817188376, 0.6299787005),
    )
)
_LMS_TO_RGB = _fixed(np.linalg.inv(_RGB_TO_LMS))
_XYZ_TO_LMS = _fixed(
    (
        (0.8189330101, 0.3618667424, -0.1288597137),
        (0.0329845436, 0.9293118715, 0.0361456387),
        (0.0482003018, 0.2643662691, 0.6338517070),
    )
)
LMS_TO_OKLAB = _fixed(
    (
        (0.2104542553, 0.7936177850, -0.0040720468),
        (1.9779984951, -2.4285922050, 0.4505937099),
        (0.0259040371, 0.7827717662, -0.8086757660),
    )
)
OKLAB_TO_LMS = _fixed(np.linalg.inv(LMS_TO_OKLAB))
_KAPPA = 24389 / 27  # CIE 15:2004 exact fractions
_EPSILON = 216 / 24389


def srgb_to_linear(values: ArrayLike) -> Floats:
    """Linear light of sRGB values, both 0 to 1 (IEC 61966-2-1)."""
    v = np.asarray(values, dtype=np.float64)
    return np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0) + 0.055) / 1.055) ** 2.4)


def linear_to_srgb(light: ArrayLike) -> Floats:
    """Values of sRGB for linear light, both 0 to 1 (IEC 61966-2-1); light below 0 stays on the straight part."""
    v = np.asarray(light, dtype=np.float64)
    return np.where(v <= 0.0031308, v * 12.92, 1.055 * np.maximum(v, 0) ** (1 / 2.4) - 0.055)


LIGHT_OF_CODE = _fixed(srgb_to_linear(np.arange(256) / 255))
"""Linear light, 0 to 1, of each sRGB code of 0 to 255."""


def codes_to_linear(codes: ArrayLike) -> Floats:
    """Linear light, 0 to 1, of sRGB codes of 0 to 255, shape kept."""
    return LIGHT_OF_CODE[np.asarray(codes, dtype=np.uint8)]


def linear_to_codes(light: ArrayLike) -> NDArray[np.uint8]:
    """The nearest sRGB codes, 0 to 255, of linear light; light outside 0 to 1 is cut."""
    return np.rint(np.clip(linear_to_srgb(light), 0, 1) * 255).astype(np.uint8)


def linear_to_xyz(light: ArrayLike) -> Floats:
    """XYZ under D65 of linear sRGB light, shape (..., 3)."""
    return np.asarray(light, dtype=np.float64) @ _RGB_TO_XYZ.T


def xyz_to_linear(xyz: ArrayLike) -> Floats:
    """Linear sRGB light of XYZ under D65, shape (..., 3); below 0 where sRGB cannot show it."""
    return np.asarray(xyz, dtype=np.float64) @ _XYZ_TO_RGB.T


def lightness(luminance: ArrayLike) -> Floats:
    """CIE L* of 0 to 100, of luminance relative to white, 0 to 1 (CIE 15:2004, 8.2.1)."""
    y = np.asarray(luminance, dtype=np.float64)
    return np.where(y > _EPSILON, 116 * np.cbrt(y) - 16, _KAPPA * y)


def luminance(lightness_: ArrayLike) -> Floats:
    """Luminance relative to white, 0 to 1, of CIE L* of 0 to 100: the inverse of `lightness`."""
    v = np.asarray(lightness_, dtype=np.float64)
    return np.where(v > 8, ((v + 16) / 116) ** 3, v / _KAPPA)


def xyz_to_lab(xyz: ArrayLike, *, white: ArrayLike = D65) -> Floats:
    """CIELAB of XYZ, shape (..., 3), relative to ``white`` (CIE 15:2004, 8.2.1)."""
    ratio = np.asarray(xyz, dtype=np.float64) / np.asarray(white)
    f = np.where(ratio > _EPSILON, np.cbrt(ratio), (_KAPPA * ratio + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack((116 * y - 16, 500 * (x - y), 200 * (y - z)), axis=-1)


def lab_to_xyz(lab: ArrayLike, *, white: ArrayLike = D65) -> Floats:
    """XYZ of CIELAB, shape (..., 3): the inverse of `xyz_to_lab`."""
    v = np.asarray(lab, dtype=np.float64)
    y = (v[..., 0] + 16) / 116
    f = np.stack((y + v[..., 1] / 500, y, y - v[..., 2] / 200), axis=-1)
    ratio = np.where(f > np.cbrt(_EPSILON), f**3, (116 * f - 16) / _KAPPA)
    xyz: Floats = ratio * np.asarray(white)
    return xyz


def adapt(xyz: ArrayLike, *, source: ArrayLike, target: ArrayLike) -> Floats:
    """XYZ that looks under the white ``target`` as ``xyz`` does under ``source`` (Bradford; ICC.1 Annex E)."""
    cones_from = _BRADFORD @ np.asarray(source, dtype=np.float64)
    cones_to = _BRADFORD @ np.asarray(target, dtype=np.float64)
    matrix = np.linalg.inv(_BRADFORD) @ np.diag(cones_to / cones_from) @ _BRADFORD
    return np.asarray(xyz, dtype=np.float64) @ matrix.T


def linear_to_lms(light: ArrayLike) -> Floats:
    """Cone-like light of linear sRGB, shape (..., 3): OKLab's first step. White gives 1, 1, 1."""
    return np.asarray(light, dtype=np.float64) @ _RGB_TO_LMS.T


def lms_to_linear(lms: ArrayLike) -> Floats:
    """Linear sRGB of cone-like light, shape (..., 3)."""
    return np.asarray(lms, dtype=np.float64) @ _LMS_TO_RGB.T


def lms_to_oklab(lms: ArrayLike) -> Floats:
    """OKLab of cone-like light, shape (..., 3); L of 0 to 1."""
    return np.cbrt(np.asarray(lms, dtype=np.float64)) @ LMS_TO_OKLAB.T


def oklab_to_lms(oklab: ArrayLike) -> Floats:
    """Cone-like light of OKLab, shape (..., 3)."""
    root = np.asarray(oklab, dtype=np.float64) @ OKLAB_TO_LMS.T
    return root**3


def linear_to_oklab(light: ArrayLike) -> Floats:
    """OKLab of linear sRGB light, shape (..., 3); L of 0 to 1 (B. Ottosson 2020)."""
    return lms_to_oklab(linear_to_lms(light))


def oklab_to_linear(oklab: ArrayLike) -> Floats:
    """Linear sRGB light of OKLab, shape (..., 3)."""
    return lms_to_linear(oklab_to_lms(oklab))


def xyz_to_oklab(xyz: ArrayLike) -> Floats:
    """OKLab of XYZ under D65, shape (..., 3) (B. Ottosson 2020)."""
    return lms_to_oklab(np.asarray(xyz, dtype=np.float64) @ _XYZ_TO_LMS.T)


def _hue_deg(b: Floats, a: Floats) -> Floats:
    """Hue angle in degrees, 0 to 360, of CIELAB a and b."""
    angle: Floats = np.degrees(np.arctan2(b, a)) % 360
    return angle


def _stretched(lab: Floats, other: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Chroma and hue (degrees) of both colours after CIEDE2000 has stretched a* (equations 2 to 7)."""
    mean7 = ((np.hypot(lab[..., 1], lab[..., 2]) + np.hypot(other[..., 1], other[..., 2])) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(mean7 / (mean7 + 25.0**7)))
    a1, a2 = (1 + g) * lab[..., 1], (1 + g) * other[..., 1]
    b1, b2 = lab[..., 2], other[..., 2]
    return np.hypot(a1, b1), np.hypot(a2, b2), _hue_deg(b1, a1), _hue_deg(b2, a2)


def _mean_hue_deg(h1_deg: Floats, h2_deg: Floats, grey: NDArray[np.bool_]) -> Floats:
    """Mean hue in degrees, the short way round; the sum where one colour is grey (equation 14)."""
    total = h1_deg + h2_deg
    apart = np.abs(h1_deg - h2_deg) > 180
    mean = np.where(apart, np.where(total < 360, (total + 360) / 2, (total - 360) / 2), total / 2)
    return np.where(grey, total, mean)


def ciede2000(lab: ArrayLike, other: ArrayLike) -> Floats:
    """CIEDE2000 difference of two CIELAB colours, shape (..., 3) each, kL = kC = kH = 1.

    Source: Sharma, Wu, Dalal, Color Res. Appl. 30(1):21-30, 2005.
    """
    one, two = np.broadcast_arrays(np.asarray(lab, dtype=np.float64), np.asarray(other, dtype=np.float64))
    c1, c2, h1_deg, h2_deg = _stretched(one, two)
    grey = c1 * c2 == 0
    turn_deg = (h2_deg - h1_deg + 180) % 360 - 180
    turn_deg = np.where(h2_deg - h1_deg == 180, 180.0, turn_deg)  # 180 stays 180
    d_hue = np.where(grey, 0.0, 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn_deg) / 2))
    l_mean, c_mean = (one[..., 0] + two[..., 0]) / 2, (c1 + c2) / 2
    h_mean = np.radians(_mean_hue_deg(h1_deg, h2_deg, grey))
    t = (
        1
        - 0.17 * np.cos(h_mean - np.radians(30))
        + 0.24 * np.cos(2 * h_mean)
        + 0.32 * np.cos(3 * h_mean + np.radians(6))
        - 0.20 * np.cos(4 * h_mean - np.radians(63))
    )
    squared = (l_mean - 50) ** 2
    s_l = 1 + 0.015 * squared / np.sqrt(20 + squared)
    s_c, s_h = 1 + 0.045 * c_mean, 1 + 0.015 * c_mean * t
    bend = 60 * np.exp(-(((np.degrees(h_mean) - 275) / 25) ** 2))
    r_t = -np.sin(np.radians(bend)) * 2 * np.sqrt(c_mean**7 / (c_mean**7 + 25.0**7))
    light, chroma, hue = (two[..., 0] - one[..., 0]) / s_l, (c2 - c1) / s_c, d_hue / s_h
    difference: Floats = np.sqrt(light**2 + chroma**2 + hue**2 + r_t * chroma * hue)
    return difference
