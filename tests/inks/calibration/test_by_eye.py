"""Matching by eye: numbers of bars, and the factor that they tell."""

import pytest

from tests.inks.calibration.making import PANELS, target
from wallbill.errors import FaultList
from wallbill.inks import halftone
from wallbill.inks.calibration.by_eye import LARGEST_N, Match, n_of_matches, n_of_share, read_matches
from wallbill.inks.inkset import measured_xyz

HALL = PANELS[3]


def test_a_number_is_the_share_of_its_bar() -> None:
    made = target(HALL)
    (match,) = read_matches(("black=9",), made)
    assert match == Match("black", 9, made.by_name["black-bar-9"].share)
    (between,) = read_matches((" Red = 6,5 ",), made)
    assert between.share == pytest.approx(
        (made.by_name["red-bar-6"].share + made.by_name["red-bar-7"].share) / 2
    )
    (last,) = read_matches(("black=13",), made)
    assert last.share == made.by_name["black-bar-13"].share


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("black", "is no match"),
        ("black=dark", "is no match"),
        ("blak=3", "Did you mean 'black'"),
        ("white=3", "no bars of 'white'"),
        ("black=0", "Give a number of 1 to 13"),
        ("black=13.5", "Give a number of 1 to 13"),
    ],
)
def test_what_is_no_match_is_told(text: str, what: str) -> None:
    with pytest.raises(FaultList) as told:
        read_matches((text,), target(HALL))
    assert what in str(told.value)


@pytest.mark.parametrize("n", [1.0, 1.3, 1.7, 2.5, 3.9])
def test_the_factor_gives_the_checker_the_light_of_the_bar(n: float) -> None:
    light = float(halftone.mix((0.5, 0.5), ((0.03,), (0.4,)), n=n)[0])
    share = (0.4 - light) / (0.4 - 0.03)  # Murray-Davies, 1936
    assert n_of_share(share, 0.03, 0.4) == pytest.approx(n, abs=1e-6)


def test_the_factor_stays_within_its_bounds() -> None:
    assert n_of_share(0.4, 0.03, 0.4) == pytest.approx(1, abs=1e-9)
    assert n_of_share(0.9, 0.03, 0.4) == pytest.approx(LARGEST_N, abs=1e-9)


def test_the_surer_match_counts_more() -> None:
    light = measured_xyz(HALL.inks)[:, 1]
    black, red = (0.6, 0.56)
    only = [n_of_share(share, float(light[at]), float(light[1])) for share, at in ((black, 0), (red, 2))]
    both = n_of_matches((Match("black", 9, black), Match("red", 8, red)), HALL.inks, white=1)
    assert min(only) < both < max(only)
    assert abs(both - only[0]) < abs(both - only[1])
