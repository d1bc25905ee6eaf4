"""How much light a mix of dots sends back: Murray-Davies, Neugebauer, Yule-Nielsen.

The inks of a panel lie side by side and never overprint, so the share of each ink is its coverage, and
Demichel's products are not needed.
"""

import numpy as np
from numpy.typing import ArrayLike

from wallbill.inks.colour import Floats


def coverage_from_density(
    tint: ArrayLike, *, solid: ArrayLike, paper: ArrayLike = 0.0, n: float = 1.0
) -> Floats:
    """Share of ink, 0 to 1, that gives the optical density ``tint`` between ``paper`` and ``solid``.

    ``n``: the Yule-Nielsen factor, 1 for none. Source: Murray, J. Franklin Inst. 221, 1936; Yule and
    Nielsen, TAGA Proc. 1951.
    """
    base = np.asarray(paper, dtype=np.float64)
    top = 1 - 10 ** (-(np.asarray(tint, dtype=np.float64) - base) / n)
    share: Floats = top / (1 - 10 ** (-(np.asarray(solid, dtype=np.float64) - base) / n))
    return share


def to_mixing(light: ArrayLike, *, n: float) -> Floats:
    """Light raised to 1/n: the space in which coverages mix in a straight line. Same shape."""
    v = np.asarray(light, dtype=np.float64)
    return v if n == 1 else np.sign(v) * np.abs(v) ** (1 / n)


def from_mixing(mixed: ArrayLike, *, n: float) -> Floats:
    """Light of a value in the mixing space: the inverse of `to_mixing`."""
    v = np.asarray(mixed, dtype=np.float64)
    return v if n == 1 else np.sign(v) * np.abs(v) ** n


def mix(coverages: ArrayLike, lights: ArrayLike, *, n: float = 1.0) -> Floats:
    """Light of dots: ``coverages`` (..., inks) that sum to 1, of ``lights`` (inks, bands).

    Returns shape (..., bands): the sum of w R^(1/n), raised to n (Neugebauer 1937 with Yule-Nielsen's n).
    """
    return from_mixing(np.asarray(coverages, dtype=np.float64) @ to_mixing(lights, n=n), n=n)
