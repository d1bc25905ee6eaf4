"""Stems: whole, equal in every letter of a size, sturdier when bold is asked and lighter when light is."""

from itertools import pairwise

import numpy as np
import pytest

from tests.faces.drawn import Grid, fitted, glyph_grid, record_of, shelf
from wallbill.faces.hinting import better_hinting
from wallbill.faces.model import FaceAsk, FittedFace
from wallbill.faces.rasters import Hinting, Rasteriser
from wallbill.faces.shelf import FaceFile
from wallbill.faces.stems import Curve, measure, sturdiness, wanted_stem_px

FAMILIES = ("Noto Sans", "Inter", "JetBrains Mono", "Noto Serif")
SIZES_PX = (9, 10, 12, 14, 16, 18, 20, 24, 32, 48)  # the sizes of the measured comparison of rasterisers


def runs_px(row: Grid) -> list[int]:
    """Lengths of the runs of ink in a row."""
    edges = np.diff(np.pad(row, 1).astype(int))
    return [int(width) for width in np.nonzero(edges == -1)[0] - np.nonzero(edges == 1)[0]]


def stems_px(face: FittedFace, character: str) -> list[int]:
    """The stems of a letter: the runs that occur in most rows of the lower half of its height."""
    grid = glyph_grid(face, character)
    ink = grid[grid.any(1)]
    rows = [runs_px(row) for row in ink[len(ink) // 2 : len(ink) - max(2, len(ink) // 8)]]
    return max(rows, key=rows.count)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("weight", [400, 700])
def test_stems_of_one_size_are_even(family: str, weight: int) -> None:
    # The outer stems of a fixed-pitch m are drawn thinner on purpose, and its middle one thinner still.
    letters_ = "linhu" if family == "JetBrains Mono" else "linmhu"
    uneven = {}
    for size_px in SIZES_PX:
        face = fitted(FaceAsk((family,), size_px, weight), "linmhu").faces[0]
        widths = {width for character in letters_ for width in stems_px(face, character)}
        if len(widths) != 1:
            uneven[size_px] = widths
        assert len(stems_px(face, "m")) == 3, f"an m has three stems at {size_px} px"
    assert not uneven


def test_regular_stems_of_the_text_face() -> None:
    # The rule, after measurements on bi-level pages: 1 px to 10 px, about 2 px from 12 px, 3 px at 20 px. At 12 and
    # 13 px this face has no cut with 3 px stems, so a regular of 2 px would leave nothing for the bold.
    got = {
        size_px: stems_px(fitted(FaceAsk(("sans-serif",), size_px), "l").faces[0], "l")
        for size_px in (9, 10, 12, 13, 14, 16, 18, 20, 24)
    }
    assert got == {9: [1], 10: [1], 12: [1], 13: [1], 14: [2], 16: [2], 18: [2], 20: [3], 24: [3]}


def _ink(weight: int, size_px: int) -> int:
    text = "Hamburgefonts0123"
    face = fitted(FaceAsk(("sans-serif",), size_px, weight), text).faces[0]
    return sum(int(glyph_grid(face, character).sum()) for character in text)


@pytest.mark.parametrize("size_px", [9, 10, 11, 12, 13, 14, 15, 16, 18, 20, 24, 28, 34])
def test_bold_is_blacker_than_regular_and_light_no_blacker(size_px: int) -> None:
    light, regular, bold = (_ink(weight, size_px) for weight in (300, 400, 700))
    assert bold > 1.2 * regular
    assert light <= regular
    if size_px >= 14:
        assert light < 0.8 * regular


LINEAR = Curve((100.0, 900.0), (0.02, 0.2), "l")
"""A face whose stem grows evenly from 0.02 to 0.2 em: regular 0.0875 em, as most text faces have it."""


def test_stems_never_shrink_with_weight_or_size() -> None:
    for size_px in range(6, 201):
        stems = [wanted_stem_px(LINEAR, size_px, weight=weight) for weight in range(100, 901, 100)]
        assert stems == sorted(stems), size_px
        assert stems[0] >= 1
        assert stems[-1] <= 0.2 * size_px + 1
    for weight in (300, 400, 700):
        stems = [wanted_stem_px(LINEAR, size_px, weight=weight) for size_px in range(6, 201)]
        assert all(after >= before for before, after in pairwise(stems)), weight


def test_large_type_keeps_the_weight_asked() -> None:
    assert sturdiness(20, weight=400) == pytest.approx(1.45)
    assert sturdiness(30, weight=400) == sturdiness(20, weight=700) == 1
    assert wanted_stem_px(LINEAR, 200, weight=400) == round(0.0875 * 200)


def _face(family: str) -> FaceFile:
    return shelf().matching((family,), 400, italic=False)[0]


def test_the_stem_curve_of_the_text_face() -> None:
    # Measured before on the outlines' boxes (unhinted l): .0575 at 300, .0875 at 400, .1265 at 600, .1505 at 700.
    face = _face("Noto Sans")
    curve = measure(face, Rasteriser(face.data), size_px=16)
    assert curve
    assert [round(curve.stem_em(weight), 2) for weight in (300, 400, 600, 700)] == [0.06, 0.09, 0.13, 0.15]
    assert curve.weight_of(curve.stem_em(523)) == pytest.approx(523, abs=1)


def test_a_face_without_instructions_is_autohinted() -> None:
    face = _face("Noto Sans")
    assert better_hinting(face, Rasteriser(face.data)) is Hinting.AUTO


STRAIGHT = {"Hebrew": "ו", "Arabic": "ا", "Armenian": "լ", "Thai": "า", "Tamil": "ப", "Bengali": "া"}
"""A letter of each script that stands on a straight stem."""


@pytest.mark.parametrize("script", STRAIGHT)
@pytest.mark.parametrize("family", ["Noto Sans", "Noto Serif", "JetBrains Mono"])
def test_letters_lent_have_the_stems_of_the_text_beside(family: str, script: str) -> None:
    letter, off = STRAIGHT[script], {}
    for size_px in (10, 12, 14, 16, 20, 24, 32):
        host, lent = fitted(FaceAsk((family,), size_px), f"Hallo{letter}").faces
        assert script in lent.family
        pair = stems_px(host, "l")[0], stems_px(lent, letter)[0]
        if pair[0] != pair[1]:
            off[size_px] = pair
    assert not off


@pytest.mark.parametrize("script", ["Hebrew", "Arabic", "Armenian", "Thai"])
def test_bold_letters_lent_are_sturdier_than_regular_ones(script: str) -> None:
    """Where the face has no weight as bold as the host's its letters are smeared."""
    letter = STRAIGHT[script]
    for size_px in (14, 16, 18, 20, 24):
        regular, bold = (
            stems_px(fitted(FaceAsk(("Noto Sans",), size_px, weight), f"Hallo{letter}").faces[1], letter)[0]
            for weight in (400, 700)
        )
        assert bold > regular, size_px


def test_a_face_of_its_own_script_keeps_its_own_stems() -> None:
    alone = fitted(FaceAsk(("Noto Sans Hebrew",), 14), "שלום").faces[0]
    assert record_of(alone).facts["stem_px"] == 1
