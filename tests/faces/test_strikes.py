"""Bitmap faces come through the same door: at their own size, enlarged by whole numbers, or not at all."""

import pytest

from tests.faces.drawn import engine_grey, glyph_grid, letters, shelf, soft_pixels
from tests.faces.made import LETTERS, bdf, bitmap_opentype, pcf
from wallbill.faces.fitting import fit_set
from wallbill.faces.model import FaceAsk, FaceSet
from wallbill.faces.reading import read_faces
from wallbill.faces.shelf import Shelf
from wallbill.faces.shell import FaceKeep

MAKERS = {"tiny.bdf": bdf, "tiny.pcf": pcf, "tiny.otb": bitmap_opentype}


def tiny(file: str, size_px: int, text: str = "Ai", *, weight: int = 400, italic: bool = False) -> FaceSet:
    own = Shelf((*read_faces(file, MAKERS[file]()), *shelf().faces), ("Noto Sans", "Inter"))
    return fit_set(
        FaceAsk(("Tiny",), size_px, weight, italic), frozenset(text), shelf=own, keep=FaceKeep(None)
    )


def rows(letter: str, times: int = 1) -> str:
    return "\n".join(
        "".join(cell * times for cell in row.rstrip(".")) for row in LETTERS[letter][0] for _ in range(times)
    )


@pytest.mark.parametrize("file", MAKERS)
def test_the_pixels_are_the_faces_own(file: str) -> None:
    made = tiny(file, 8)
    assert made.stack[0].startswith("Fitted-Tiny-8px")
    assert letters(glyph_grid(made.faces[0], "A")) == "\n".join(row[:5] for row in LETTERS["A"][0])
    greys = engine_grey(f'<div style="font:8px/16px {made.stack[0]}">Ai A</div>', made.faces, (60, 20))
    assert soft_pixels(greys) == 0
    assert int((greys < 128).sum()) == sum(row.count("#") for letter in "AiA" for row in LETTERS[letter][0])


@pytest.mark.parametrize("file", MAKERS)
def test_whole_multiples_are_exact(file: str) -> None:
    made = tiny(file, 24)
    wanted = "\n".join("".join(cell * 3 for cell in row[:5]) for row in LETTERS["A"][0] for _ in range(3))
    assert letters(glyph_grid(made.faces[0], "A")) == wanted


def test_other_sizes_fall_back_and_say_so() -> None:
    made = tiny("tiny.bdf", 12)
    assert made.stack[0].startswith("Fitted-Noto-Sans-12px")
    finding = next(finding for finding in made.findings if finding.rule == "faces.size")
    assert (finding.measured, finding.limit, finding.unit) == ("12", "8", "px")


def test_what_it_lacks_is_lent() -> None:
    made = tiny("tiny.bdf", 16, "A→b")
    assert not made.missing
    assert "→" in made.faces[0].covered
    assert "b" in made.faces[1].covered


def test_bold_and_slant_are_made_and_told() -> None:
    made = tiny("tiny.bdf", 8, weight=700, italic=True)
    assert {finding.rule for finding in made.faces[0].findings} == {"faces.slant", "faces.weight"}
    assert letters(glyph_grid(made.faces[0], "i")) == ".##\n...\n##.\n##.\n##.\n##."


def test_a_bold_bitmap_face_is_bold() -> None:
    assert read_faces("tiny.bdf", bdf(weight="Bold"))[0].weight == 700
