"""The report: predicted against measured, in lines, in values and in a picture."""

import numpy as np
import pytest

from tests.inks.calibration.making import PANELS, blocks, seen, target, to_read, truth
from wallbill.inks.calibration import report
from wallbill.inks.calibration.fit import Fit, fit
from wallbill.inks.calibration.light import Light

HALL = PANELS[3]


@pytest.fixture(scope="module")
def found() -> Fit:
    return fit(seen(to_read(HALL), truth(HALL), n=1.6, edge_px=0.01), target(HALL), HALL)


def test_each_patch_has_a_line_and_the_figures_follow(found: Fit) -> None:
    lines = list(report.table(found))
    assert len({len(line) for line in lines[2 : 2 + len(found.patches)]}) == 1
    row = next(line for line in lines if line.startswith("black-f50 ")).split()
    patch = next(one for one in found.patches if one.name == "black-f50")
    assert row[1:] == [
        *(f"{lab[0]:.1f}" for lab in (patch.measured, patch.before, patch.after)),
        *(f"{patch.difference(lab):.1f}" for lab in (patch.before, patch.after)),
    ]
    text = "\n".join(lines)
    assert f"Yule-Nielsen n: {found.n:.2f} (fine dots alone" in text
    assert "pixels outside of their dots" in text
    assert "red: L* 33.0  a* 44.0  b* 31.5" in text
    assert "L* off on average:" in text


def test_reflectance_alone_has_no_difference_of_colours() -> None:
    some = fit({"black-f50": Light((50.0, 0, 0), has_colour=False)}, target(HALL), HALL)
    assert "dE00" not in "\n".join(report.table(some))
    assert "de00_after" not in report.plain(some)["patches"][0]


def test_the_picture_shows_measured_between_both_predictions(found: Fit) -> None:
    drawn = np.asarray(report.picture(found, blocks, title="shed"))
    red = next(at for at, one in enumerate(found.patches) if one.name == "red")
    row = drawn[24 + 2 * 24 + red * 24 + 12]
    reddish = (row[:, 0].astype(int) - row[:, 1] > 60).sum()
    assert 3 * 72 - 4 <= reddish <= 3 * 72 + 4
    assert drawn.shape[0] > len(found.patches) * 24


def test_values_for_programs_are_plain_and_whole(found: Fit) -> None:
    values = report.plain(found)
    assert values["yule_nielsen_n"] == found.n
    assert {one["name"] for one in values["patches"]} == {one.name for one in found.patches}
    assert values["mean_l_after"] < values["mean_l_before"]
    assert report.plain(Fit(inks={}, n=None, patches=()))["patches"] == []
