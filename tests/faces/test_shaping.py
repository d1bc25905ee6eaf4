"""Substitution is kept and positioning lies on whole pixels: against HarfBuzz shaping the unfitted face."""

import math

import numpy as np
import pytest
import uharfbuzz as hb

from tests.faces.drawn import engine_grey, fitted, record_of, shaped, shelf, soft_pixels
from tests.faces.made import face_with_old_kerning
from wallbill.faces.charsets import widened
from wallbill.faces.fitting import fit_set
from wallbill.faces.grid import units_per_px
from wallbill.faces.model import FaceAsk, FittedFace
from wallbill.faces.reading import read_faces
from wallbill.faces.shelf import FaceFile, Shelf
from wallbill.faces.shell import FaceKeep
from wallbill.faces.subsets import layout_subset

ARABIC = "السلام عليكم"
POINTED = "مُحَمَّد شَمْسٌ"
HEBREW = "שָׁלוֹם בְּרֵאשִׁית"


def whole_face(family: str) -> FaceFile:
    return shelf().matching((family,), 400, italic=False)[0]


def fitted_face(family: str, text: str, size_px: int) -> FittedFace:
    made = fitted(FaceAsk((family,), size_px), text)
    assert not made.missing
    return next(face for face in made.faces if family.replace(" ", "-") in face.family)


def whole_and_ids(family: str, fit: FittedFace, text: str) -> tuple[hb.Font, tuple[int, ...]]:
    """The unfitted face at the weight of the fit, and for each glyph id of the fit the id in the whole face."""
    face = whole_face(family)
    coordinates = tuple(record_of(fit).facts["coordinates"])
    font = hb.Font(hb.Face(face.data, face.index))
    font.set_variations({axis.tag: value for axis, value in zip(face.axes, coordinates, strict=True)})
    return font, layout_subset(face, widened(frozenset(text), face, size_px=fit.size_px), coordinates).glyphs


@pytest.mark.parametrize("text", [ARABIC, POINTED, "لا إله", "٢٣٫٥"])
@pytest.mark.parametrize("size_px", [12, 20])
def test_arabic_joins_and_runs_from_right_to_left(text: str, size_px: int) -> None:
    # Outside reference: HarfBuzz on the unfitted face.
    fit = fitted_face("Noto Sans Arabic", text, size_px)
    font, ids = whole_and_ids("Noto Sans Arabic", fit, text)
    units = font.face.upem
    got, wanted = shaped(fit.data, text), shaped(font, text)
    assert [ids[glyph] for glyph, *_ in got] == [glyph for glyph, *_ in wanted]
    assert [cluster for _, cluster, *_ in got] == [cluster for _, cluster, *_ in wanted]
    if text == ARABIC:
        assert got[0][1] > got[-1][1], "the last letter stands first on the left"
        assert len({glyph for glyph, *_ in got}) > len(set(text.replace(" ", ""))) - 1, (
            "letters take joined forms"
        )
    per_px = units_per_px(size_px)
    for (_, _, _, x, y), (_, _, _, x_design, y_design) in zip(got, wanted, strict=True):
        assert x % per_px == y % per_px == 0
        assert abs(x / per_px - x_design * size_px / units) <= 2
        assert abs(y / per_px - y_design * size_px / units) <= 2


@pytest.mark.parametrize("size_px", [12, 14, 16, 20, 28, 40])
def test_joined_letters_touch(size_px: int) -> None:
    # Seen in columns: from the first to the last ink of a joined word there is no empty column.
    word = "سعيد"  # seen, ain, yeh, dal: all joined
    made = fitted(FaceAsk(("Noto Sans Arabic",), size_px), word)
    style = f"font:{size_px}px/{size_px * 2}px {made.stack[0]};white-space:nowrap"
    greys = engine_grey(
        f'<div dir="rtl" style="{style};width:{size_px * 8}px">{word}</div>',
        made.faces,
        (size_px * 8, size_px * 2),
    )
    assert soft_pixels(greys) == 0
    columns = np.nonzero((greys < 128).any(0))[0]
    assert columns[-1] - columns[0] + 1 == len(columns)


@pytest.mark.parametrize("text", [HEBREW, "e\u0301 o\u0302\u0323 q\u0303 x\u030a"])
def test_marks_sit_as_in_the_unfitted_face(text: str) -> None:
    family = "Noto Sans Hebrew" if text == HEBREW else "Noto Sans"
    fit = fitted_face(family, text, 28)
    font, ids = whole_and_ids(family, fit, text)
    units = font.face.upem
    got, wanted = shaped(fit.data, text), shaped(font, text)
    assert [ids[glyph] for glyph, *_ in got] == [glyph for glyph, *_ in wanted]
    for (_, _, _, x, y), (_, _, _, x_design, y_design) in zip(got, wanted, strict=True):
        assert abs(x - x_design * 28 / units) <= 2
        assert abs(y - y_design * 28 / units) <= 2


def test_letters_and_marks_meet_in_a_letter_of_their_own() -> None:
    # Canonical composition (Unicode Standard, chapter 3): HarfBuzz takes é for e and acute where the face has it.
    fit = fitted_face("Noto Sans", "e\u0301", 16)
    assert "é" in fit.covered
    assert len(shaped(fit.data, "e\u0301")) == 1


def test_ligatures_are_kept() -> None:
    fit = fitted_face("Noto Serif", "office", 20)
    font, ids = whole_and_ids("Noto Serif", fit, "office")
    got, wanted = shaped(fit.data, "office"), shaped(font, "office")
    assert len(wanted) == 4, "ffi is one glyph in this face"
    assert [ids[glyph] for glyph, *_ in got] == [glyph for glyph, *_ in wanted]
    assert len(shaped(fit.data, "office", {"liga": False})) == 6


@pytest.mark.parametrize("size_px", [12, 24, 40, 80])
def test_kerning_is_the_designs_in_whole_pixels(size_px: int) -> None:
    pairs = ["AV", "To", "LT", "Yo", "rn", "11"]
    fit = fitted_face("Noto Sans", "".join(pairs), size_px)
    whole, _ = whole_and_ids("Noto Sans", fit, "".join(pairs))
    units = whole.face.upem
    for pair in pairs:
        kern, design = (
            sum(entry[2] for entry in shaped(font, pair))
            - sum(entry[2] for entry in shaped(font, pair, {"kern": False}))
            for font in (fit.data, whole)
        )
        assert kern == math.floor(design * size_px / units + 0.5) * units_per_px(size_px), pair
    assert shaped(fit.data, "AV")[0][2] % units_per_px(size_px) == 0


def test_kerning_shows_at_display_sizes() -> None:
    fit = fitted_face("Noto Sans", "AV", 80)
    assert shaped(fit.data, "AV")[0][2] < shaped(fit.data, "AV", {"kern": False})[0][2]


def test_tabular_figures_are_of_one_width() -> None:
    fit = fitted_face("Inter", "0123456789", 24)
    plain = {entry[2] for entry in shaped(fit.data, "0123456789")}
    tabular = {entry[2] for entry in shaped(fit.data, "0123456789", {"tnum": True})}
    assert len(plain) > 1, "this face has proportional figures by default"
    assert len(tabular) == 1


@pytest.mark.parametrize("size_px", [9, 11, 13, 16, 20, 34])
@pytest.mark.parametrize("weight", [400, 700])
def test_figures_of_the_text_face_are_of_one_width(size_px: int, weight: int) -> None:
    fit = fitted(FaceAsk(("sans-serif",), size_px, weight), "0123456789").faces[0]
    assert len({entry[2] for entry in shaped(fit.data, "0123456789")}) == 1


def test_small_capitals_and_slashed_zero_are_kept() -> None:
    fit = fitted_face("Noto Sans", "ab0", 18)
    for feature, text in (("smcp", "ab"), ("zero", "0"), ("onum", "3")):
        assert [e[0] for e in shaped(fit.data, text, {feature: True})] != [
            e[0] for e in shaped(fit.data, text)
        ]


def test_an_old_kern_table_becomes_positioning() -> None:
    # A face made here with a kern table and no GPOS: OpenType keeps such tables readable, HarfBuzz subsets none.
    own = Shelf(read_faces("own.ttf", face_with_old_kerning()))
    fit = fit_set(FaceAsk(("Kerned",), 20), frozenset("AV"), shelf=own, keep=FaceKeep(None)).faces[0]
    plain, kerned = shaped(fit.data, "AV", {"kern": False}), shaped(fit.data, "AV")
    assert kerned[0][2] - plain[0][2] == -2  # -100 of 1000 units at 20 px
