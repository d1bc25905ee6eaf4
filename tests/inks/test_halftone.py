"""Dots and light: Murray-Davies, Yule-Nielsen."""

import numpy as np
import pytest

from wallbill.inks import halftone


# Worked out from the formulas of Murray and Davies (1936) and of Yule and Nielsen (1951); no published table.
@pytest.mark.parametrize(
    ("tint", "solid", "paper", "n", "coverage"),
    [
        (0.30, 1.50, 0, 1, 0.51510), (0.30, 1.50, 0, 1.7, 0.38430), (0.30, 1.50, 0, 2, 0.35522),
        (0.35, 1.50, 0, 1, 0.57139), (0.35, 1.50, 0, 1.7, 0.43450), (0.35, 1.50, 0, 2, 0.40339),
        (0.50, 1.50, 0, 1, 0.70610), (0.50, 1.50, 0, 1.7, 0.56622), (0.50, 1.50, 0, 2, 0.53232),
        (0.70, 1.50, 0, 1, 0.82661), (0.70, 1.50, 0, 1.7, 0.70496), (0.70, 1.50, 0, 2, 0.67299),
        (0.44, 1.47, 0.06, 1, 0.606735), (0.44, 1.47, 0.06, 1.7, 0.472265),
    ],
)  # fmt: skip
def test_coverage_from_density(tint: float, solid: float, paper: float, n: float, coverage: float) -> None:
    got = halftone.coverage_from_density(tint, solid=solid, paper=paper, n=n)
    assert got == pytest.approx(coverage, abs=6e-6)


# Paper 0.40, ink 0.04, worked out from the same formulas.
@pytest.mark.parametrize(
    ("share", "n", "light"),
    [
        (0.25, 1, 0.310000), (0.25, 1.7, 0.282224), (0.25, 2, 0.274934),
        (0.5, 1, 0.220000), (0.5, 1.7, 0.181893), (0.5, 2, 0.173246),
        (0.75, 1, 0.130000), (0.75, 1.7, 0.100435), (0.75, 2, 0.094934),
    ],
)  # fmt: skip
def test_light_of_a_mix(share: float, n: float, light: float) -> None:
    assert halftone.mix((1 - share, share), ((0.40,), (0.04,)), n=n)[0] == pytest.approx(light, abs=1e-6)


def test_the_mixing_space_comes_back() -> None:
    light = np.linspace(-0.1, 1, 12)
    np.testing.assert_allclose(
        halftone.from_mixing(halftone.to_mixing(light, n=1.8), n=1.8), light, atol=1e-12
    )
