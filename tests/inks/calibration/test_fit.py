"""The fit: from what an instrument would read back to what the panel is."""

import numpy as np
import pytest

from tests.inks.calibration.making import PANELS, seen, target, to_read, truth
from wallbill.inks import colour, halftone
from wallbill.inks.calibration.by_eye import Match, n_of_share
from wallbill.inks.calibration.fit import LARGE_RESIDUAL, edge_length, fit, predicted
from wallbill.inks.calibration.light import Light
from wallbill.inks.calibration.patches import Kind

HALL = PANELS[3]
SIX = PANELS[4]


@pytest.mark.parametrize("n", [1.0, 1.2, 1.5, 2.0, 3.0])
def test_exact_readings_give_the_panel_back(n: float) -> None:
    inks = truth(HALL)
    found = fit(seen(to_read(HALL), inks, n=n), target(HALL), HALL)
    assert found.n == pytest.approx(n, abs=0.011)
    assert found.n_fine == pytest.approx(n, abs=0.011)
    assert found.edge_px == pytest.approx(0, abs=1e-3)
    assert found.ghost == pytest.approx(0, abs=1e-9)
    for ink in inks:
        np.testing.assert_allclose(found.inks[ink.name], ink.lab, atol=0.006)
    assert found.residual() < 0.05
    assert found.residual(before=True) > 0.5
    assert not found.notes


def test_readings_with_noise_give_it_nearly() -> None:
    inks = truth(SIX)
    found = fit(seen(to_read(SIX), inks, n=1.5, noise=0.3), target(SIX), SIX)
    assert found.n == pytest.approx(1.5, abs=0.05)
    for ink in inks:
        assert colour.ciede2000(found.inks[ink.name], ink.lab) < 0.5


@pytest.mark.parametrize("edge_px", [-0.02, 0.015, 0.03])
def test_edges_that_spread_show_in_fine_against_clusters(edge_px: float) -> None:
    found = fit(seen(to_read(HALL), truth(HALL), n=1.4, edge_px=edge_px), target(HALL), HALL)
    assert found.edge_px == pytest.approx(edge_px, rel=0.35)
    assert found.n_fine is not None
    assert found.n_cluster is not None
    assert (found.n_fine > found.n_cluster) == (edge_px > 0)


def test_edges_are_counted_to_the_pixel() -> None:
    made = target(HALL).by_name
    assert edge_length(made["black-f50"]) == 2
    assert edge_length(made["black-c50"]) == 0.5
    assert edge_length(made["black-f25"]) == 1  # a dot of four sides in every four pixels
    assert edge_length(made["black-c25"]) == 16 / 64
    assert edge_length(made["black"]) == 0


def test_what_one_factor_cannot_tell_is_told() -> None:
    lights = dict(seen(to_read(HALL), truth(HALL), n=1.0))
    for name in ("black-f25", "black-c25", "red-f25", "red-c25"):
        lights[name] = Light((lights[name].lab[0] - 12, *lights[name].lab[1:]))
    found = fit(lights, target(HALL), HALL)
    assert found.residual() > LARGE_RESIDUAL
    assert any("one factor leaves" in note for note in found.notes)


def test_reflectance_alone_keeps_the_colours_of_the_profile() -> None:
    grey = {
        name: Light((light.lab[0], 0, 0), has_colour=False)
        for name, light in seen(to_read(HALL), truth(HALL), n=1.3).items()
    }
    found = fit(grey, target(HALL), HALL)
    assert found.inks["red"] == pytest.approx((33, 45, 30), abs=0.01)
    assert found.n == pytest.approx(1.3, abs=0.1)  # the hue of the inks has a little say in a tint's light
    assert any("keep the a* and b*" in note for note in found.notes)


def test_solids_alone_give_inks_and_leave_the_factor() -> None:
    solids = [patch for patch in to_read(HALL) if patch.kind is Kind.SOLID and patch.name != "red"]
    found = fit(seen(solids, truth(HALL), n=2), target(HALL), HALL)
    assert found.n is None
    assert set(found.inks) == {"black", "white"}
    assert any("no solid was measured of red" in note for note in found.notes)


def test_a_ghost_is_the_largest_difference_that_is_left() -> None:
    lights = {"ghost-00-was-white": Light((70, 0, 0)), "ghost-00-was-black": Light((68.8, 0, 0)),
              "ghost-50-was-white": Light((50, 0, 0)), "ghost-50-was-black": Light((49.5, 0, 0))}  # fmt: skip
    assert fit(lights, target(HALL), HALL).ghost == pytest.approx(1.2)


# Worked out from Yule and Nielsen's formula (TAGA Proc. 1951) with paper 0.38 and ink 0.024 at one half: L* to 0.1.
@pytest.mark.parametrize(
    ("n", "lightness", "share"),
    [(1, 52.1, 0.5), (1.2, 50.2, 0.546), (1.5, 47.9, 0.597), (2, 45.5, 0.650), (3, 42.7, 0.703)],
)
def test_check_values_of_yule_and_nielsen(n: float, lightness: float, share: float) -> None:
    light = float(halftone.mix((0.5, 0.5), ((0.024,), (0.38,)), n=n)[0])
    assert float(colour.lightness(light)) == pytest.approx(lightness, abs=0.05)
    assert (0.38 - light) / (0.38 - 0.024) == pytest.approx(share, abs=5e-4)  # Murray-Davies, 1936
    assert n_of_share(share, 0.024, 0.38) == pytest.approx(n, abs=0.02)


def test_an_eye_tells_the_factor_where_nothing_was_read() -> None:
    found = fit({}, target(HALL), HALL, matches=(Match("black", 9.5, 0.597),))
    assert found.n == pytest.approx(1.5, abs=0.05)
    assert not found.inks
    assert found.n_step is None


def test_readings_count_before_the_eye() -> None:
    found = fit(
        seen(to_read(HALL), truth(HALL), n=1.2), target(HALL), HALL, matches=(Match("black", 9.5, 0.597),)
    )
    assert found.n == pytest.approx(1.2, abs=0.011)
    assert any("by eye the factor is" in note for note in found.notes)


# Yule and Nielsen's own case (TAGA Proc. 1951): ink that lets light through twice, and below it light that comes out
# anywhere. Then R is the square of the mean of the roots, and the factor is 2.
def test_light_that_scatters_everywhere_below_the_ink_gives_two() -> None:
    made = target(HALL)
    black, white = (float(colour.luminance(ink.lab[0])) for ink in HALL.inks[:2])
    lights = {}
    for patch in to_read(HALL):
        if patch.ground == made.white and patch.ink in {made.white, made.black}:
            codes = made.sheets[patch.sheet - 1].impression.codes
            left, top, width, height = patch.box
            through = np.where(
                codes[top : top + height, left : left + width] == made.black, np.sqrt(black / white), 1.0
            )
            share = float(white * through.mean() ** 2)
            lights[patch.name] = Light((float(colour.lightness(share)), 0, 0), has_colour=False)
    found = fit(lights, made, HALL)
    assert found.n == pytest.approx(2, abs=0.03)
    assert found.residual() < 0.1
    assert found.edge_px == pytest.approx(0, abs=1e-3)


def test_prediction_of_a_solid_is_its_ink() -> None:
    made = target(HALL)
    solids = [made.by_name[ink.name] for ink in HALL.inks]
    np.testing.assert_allclose(predicted(solids, HALL.inks, 1.7), [ink.lab for ink in HALL.inks], atol=1e-6)
