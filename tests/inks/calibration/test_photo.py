"""Photographs that were never taken, of panels whose truth is known: it comes back, or the picture is refused.

Tolerances: n to 0.05, inks to a CIEDE2000 of 1, tints to 1 L*, at JPEG's quality 92 and noise of 0.4 % of full light.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.inks.calibration.making import PANELS, target, truth
from tests.inks.calibration.photographs import Floats, Shot, on_panel, photograph
from wallbill.errors import PictureError
from wallbill.inks import colour
from wallbill.inks.calibration import flattening, marks
from wallbill.inks.calibration.fit import fit, predicted
from wallbill.inks.calibration.light import Light
from wallbill.inks.calibration.patches import Kind
from wallbill.inks.calibration.pencil import mark_box
from wallbill.inks.calibration.photo import Found, Paper, Photographed, measure_photo, with_white
from wallbill.inks.calibration.shell_marks import find_marks
from wallbill.inks.calibration.target import Target
from wallbill.inks.inkset import measured_xyz

N = 1.5
SMALL = PANELS[1]
HALL = PANELS[3]
USUAL = Shot(side_px=1000, turned_deg=8)


@cache
def scene(at: int) -> Floats:
    """The first sheet of a panel's target in light."""
    return on_panel(target(PANELS[at]), 1, truth(PANELS[at]), N)


def known(at: int) -> Target:
    """The target of a panel whose white is known, and nothing else."""
    made, inks = target(PANELS[at]), truth(PANELS[at])
    some = tuple(inks[place] if place == made.white else ink for place, ink in enumerate(made.inks))
    return replace(made, inks=some)


def measured(picture: NDArray[np.uint8], at: int, paper: Paper | None = None) -> Photographed:
    return measure_photo(picture, find_marks(picture), known(at), name="p.jpg", paper=paper)


def check(seen: Photographed, at: int) -> None:
    made, inks = target(PANELS[at]), truth(PANELS[at])
    panel = replace(PANELS[at], inks=known(at).inks)
    found = fit(seen.lights, known(at), panel)
    assert found.n == pytest.approx(N, abs=0.05)
    for name, lab in found.inks.items():
        assert colour.ciede2000(lab, next(ink.lab for ink in inks if ink.name == name)) < 1
    patches = [made.by_name[name] for name in seen.lights]
    assert not any(patch.kind is Kind.SOLID and patch.ink == made.white for patch in patches)
    wanted = predicted(patches, inks, N)[:, 0]
    got = [seen.lights[patch.name].lab[0] for patch in patches]
    np.testing.assert_allclose(got, wanted, atol=1)


@pytest.mark.parametrize("turned_deg", range(0, 360, 40))
def test_turned_by_any_angle(turned_deg: int) -> None:
    check(measured(photograph(scene(1), replace(USUAL, turned_deg=turned_deg + 1)), 1), 1)


@pytest.mark.parametrize(
    "shot",
    [
        replace(USUAL, fall=0.6), replace(USUAL, lean=0.4), replace(USUAL, blur_px=2.0), replace(USUAL, noise=0.015),
        replace(USUAL, exposure=0.25), replace(USUAL, exposure=0.9, quality=0), replace(USUAL, quality=70),
        replace(USUAL, cast=(1.15, 1.0, 0.8)),
    ],
    ids=["uneven", "aslant", "soft", "noisy", "dark", "light", "squeezed", "tinged"],
)  # fmt: skip
def test_in_poor_light_from_aside(shot: Shot) -> None:
    check(measured(photograph(scene(1), shot), 1), 1)


def test_a_panel_of_three_inks() -> None:
    check(measured(photograph(scene(3), replace(USUAL, side_px=1400, turned_deg=200)), 3), 3)


def test_a_reflection_and_dust_are_left_out() -> None:
    picture = photograph(scene(1), USUAL).copy()
    picture[480:500, 300:330] = 255  # on the ground between patches
    picture[400:404, ::37] = 20
    check(measured(picture, 1), 1)


def test_paper_beside_tells_how_light_white_is() -> None:
    picture = photograph(scene(1), replace(USUAL, fall=0, quality=0, exposure=0.4)).copy()
    made, inks = target(SMALL), truth(SMALL)
    white_y = float(measured_xyz(inks)[made.white, 1])
    picture[20:80, 20:80] = colour.linear_to_codes(0.4 * 0.84 / white_y)
    seen = measure_photo(picture, find_marks(picture), made, name="p", paper=Paper(0.84, 50, 50))
    assert seen.lights["white"].lab[0] == pytest.approx(inks[made.white].lab[0], abs=0.5)
    assert "against paper" in seen.notes[0]
    with pytest.raises(PictureError, match="not in the picture"):
        measured(picture, 1, Paper(0.84, 5000, 10))


def test_white_that_was_read_elsewhere_scales_the_picture() -> None:
    made, inks = target(SMALL), truth(SMALL)
    read = {"white": Light(inks[made.white].lab), "black": Light((30.0, 0, 0))}
    for got, wanted in zip(with_white(made, read).inks, known(1).inks, strict=True):
        assert got.lab == pytest.approx(wanted.lab)
    assert with_white(made, {"black": read["black"]}) is made
    assert with_white(made, {"white": Light((70.0, 0, 0), has_colour=False)}) is made


def test_three_marks_are_enough_and_two_are_not() -> None:
    picture = photograph(scene(1), USUAL)
    found = find_marks(picture)
    assert len(found) == 4
    check(measure_photo(picture, found[:3], known(1), name="p"), 1)
    with pytest.raises(PictureError, match=r"the marks .* and .* cannot be read"):
        measure_photo(picture, found[:2], known(1), name="p")


def refused(picture: NDArray[np.uint8], at: int, found: tuple[Found, ...] | None = None) -> str:
    with pytest.raises(PictureError) as told:
        measure_photo(picture, found if found is not None else find_marks(picture), known(at), name="p.jpg")
    assert told.value.where.file == "p.jpg"
    assert told.value.mend
    return told.value.what


def test_a_picture_of_something_else_is_refused() -> None:
    assert "no mark" in refused(np.full((900, 900, 3), 128, dtype=np.uint8), 1)
    assert "that of another panel" in refused(photograph(scene(1), USUAL), 3)


def test_a_small_picture_is_refused() -> None:
    assert "too few" in refused(np.full((300, 400, 3), 128, dtype=np.uint8), 1)
    shot = replace(USUAL, side_px=800, blur_px=0.4)
    assert "too small in the picture" in refused(photograph(scene(3), shot), 3)


def test_a_clipped_picture_is_refused() -> None:
    assert "of the white is clipped" in refused(
        photograph(scene(1), replace(USUAL, exposure=1.3, fall=0.1)), 1
    )


def test_a_drowned_picture_is_refused() -> None:
    picture = photograph(scene(1), USUAL)
    found = find_marks(picture)
    deep = np.where(picture < 90, 0, picture).astype(np.uint8)
    assert "is drowned" in refused(deep, 1, found)


def test_a_blurred_picture_is_refused() -> None:
    """The marks as a sharper picture has them: so the reader's own failing does not come first."""
    found = find_marks(photograph(scene(1), USUAL))
    assert "blurred" in refused(photograph(scene(1), replace(USUAL, blur_px=6.0)), 1, found)


def test_light_from_one_side_alone_is_refused() -> None:
    assert "too uneven" in refused(photograph(scene(1), replace(USUAL, fall=1.25, exposure=0.9, noise=0)), 1)


def test_a_bent_panel_is_refused() -> None:
    picture = photograph(scene(1), USUAL)
    bent = tuple(
        replace(
            one,
            corners=tuple((x + 60 * (one.mark.corner == 2), y) for x, y in one.corners[:2]) + one.corners[2:],
        )
        for one in find_marks(picture)
    )
    assert "off a flat sheet" in refused(picture, 1, bent)


def test_what_is_shown_before_a_sheet_is_refused() -> None:
    picture = photograph(scene(1), USUAL)
    found = tuple(replace(one, mark=replace(one.mark, sheet=51)) for one in find_marks(picture))
    assert "shown before sheet 1" in refused(picture, 1, found)


def test_two_sheets_at_once_are_refused() -> None:
    picture = photograph(scene(1), USUAL)
    one, *others = find_marks(picture)
    other = replace(one, mark=replace(one.mark, sheet=2))
    assert "the sheets 1, 2 at once" in refused(picture, 1, (other, *others))


def test_the_perspective_is_exact_for_exact_points() -> None:
    way = np.array([(1.8, 0.3, 40.0), (-0.2, 2.1, 90.0), (1e-4, -2e-4, 1.0)])
    frame = target(SMALL).frame
    points = []
    for corner in marks.CORNERS:
        left, top, side, _ = mark_box(corner, frame)
        points += [(left, top), (left + side, top + side)]
    sheet = np.array(points, dtype=np.float64)
    flat = np.column_stack((sheet, np.ones(len(sheet)))) @ way.T
    view = flattening.view_of(sheet, flat[:, :2] / flat[:, 2:], frame.size)
    np.testing.assert_allclose(view.to_photo / view.to_photo[2, 2], way, atol=1e-8)
    assert view.off_px < 1e-8


def test_the_light_over_a_sheet_is_told_in_spite_of_reflections() -> None:
    chance = np.random.default_rng(5)
    points = chance.uniform((0, 0), (250, 122), (60, 2))
    x, y = points.T
    light = (0.5 - 0.001 * x + 1e-6 * x * y)[:, np.newaxis] * (1.0, 0.9, 0.8)
    shiny = light.copy()
    shiny[::12] *= 1.6
    field = flattening.evenness(points, shiny, (250, 122))
    np.testing.assert_allclose(field.at(points), light, rtol=1e-3)
    with pytest.raises(ValueError, match="12 places"):
        flattening.evenness(points[:8], light[:8], (250, 122))
