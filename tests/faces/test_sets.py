"""Sets: who draws what, what is missing, what is said about it, and that the same ask gives the same bytes."""

import hashlib
import io
import subprocess
import sys

import numpy as np
import pytest
from fontTools.ttLib import TTFont

from tests.faces.drawn import engine_grey, fitted, glyph_grid, pieces, shelf, soft_pixels
from tests.faces.made import box_face, saved
from wallbill.errors import FaceError
from wallbill.faces.fitting import LARGEST_PX, fit_set, smooth_set
from wallbill.faces.model import FaceAsk
from wallbill.faces.reading import read_faces
from wallbill.faces.shelf import Shelf
from wallbill.faces.shell import FaceKeep
from wallbill.findings import Weight

SANS = ("sans-serif",)


def names(font: TTFont) -> set[str]:
    return {str(record) for record in font["name"].names}


def test_arrows_and_comparisons_join_the_text_face() -> None:
    made = fitted(FaceAsk(SANS, 18), "→ 12 °C ≤ 20 ± ≈ ☀ ✓ ★ ■")
    assert len(made.faces) == 1
    assert not made.missing
    assert set("→°≤≈☀✓★■") <= made.faces[0].covered
    assert pieces(glyph_grid(made.faces[0], "→")) == (1, 0)


@pytest.mark.parametrize(
    ("text", "family"),
    [
        ("שלום", "Noto-Sans-Hebrew"),
        ("مرحبا", "Noto-Sans-Arabic"),
        ("สวัสดี", "Noto-Sans-Thai"),
        ("নমস্কার", "Noto-Sans-Bengali"),
        ("Հայ", "Noto-Sans-Armenian"),
        ("გამარჯობა", "Noto-Sans-Georgian"),
    ],
)
def test_a_script_keeps_a_face_of_its_own(text: str, family: str) -> None:
    made = fitted(FaceAsk(SANS, 18), f"Hall {text}")
    assert not made.missing
    assert [name.split("-18px")[0] for name in made.stack] == ["Fitted-Noto-Sans", f"Fitted-{family}"]
    style = f"font:18px/36px {','.join(made.stack)};white-space:nowrap"
    greys = engine_grey(f'<div style="{style}">Hall {text}</div>', made.faces, (300, 40))
    assert soft_pixels(greys) == 0


@pytest.mark.parametrize("text", ["Привет, мир", "Καλημέρα", "Žluťoučký kůň", "Tiếng Việt"])
def test_latin_greek_and_cyrillic_are_one_face(text: str) -> None:
    made = fitted(FaceAsk(SANS, 16), text)
    assert len(made.faces) == 1
    assert not made.missing


def test_a_missing_character_is_told_and_never_silent() -> None:
    made = fitted(FaceAsk(SANS, 16), "ok \U00013000")  # an Egyptian hieroglyph
    assert made.missing == {"\U00013000"}
    finding = next(finding for finding in made.findings if finding.rule == "faces.missing")
    assert finding.weight is Weight.WARN
    assert "U+13000 egyptian hieroglyph a001" in finding.what


def test_controls_joiners_and_selectors_are_not_missing() -> None:
    made = fitted(FaceAsk(SANS, 16), "a\n\t\u200d\u200f\u00ad☀\ufe0f\u202f1\u2009m")
    assert not made.missing
    assert {"\ufe0f", "\u202f", "\u2009", "\u00a0"} <= made.faces[0].covered


def test_an_unknown_family_is_told() -> None:
    made = fitted(FaceAsk(("Nowhere Grotesk",), 16), "a")
    assert [finding.rule for finding in made.findings] == ["faces.family"]
    assert not fitted(FaceAsk(("Nowhere Grotesk", "serif"), 16), "a").findings


def test_generic_keywords() -> None:
    for keyword, family in (
        ("serif", "Noto-Serif"),
        ("monospace", "JetBrains-Mono"),
        ("system-ui", "Noto-Sans"),
    ):
        assert fitted(FaceAsk((keyword,), 16), "a").stack[0].startswith(f"Fitted-{family}-16px")


def test_filed_as_the_page_asks() -> None:
    # OpenType, OS/2 table: usWeightClass, fsSelection bits 0 (italic), 5 (bold) and 6 (regular); head: macStyle.
    for weight, italic, bits, style in (
        (400, False, 0x40, 0),
        (700, False, 0x20, 1),
        (650, True, 0x21, 3),
        (300, True, 1, 2),
    ):
        made = fitted(FaceAsk(SANS, 15, weight, italic), "a")
        font = TTFont(io.BytesIO(made.faces[0].data))
        assert font["OS/2"].usWeightClass == weight
        assert font["OS/2"].fsSelection & 0x61 == bits
        assert font["head"].macStyle == style
        assert made.stack[0] in names(font)


def test_family_names_differ_with_face_size_weight_slant_and_characters() -> None:
    stacks = [
        fitted(FaceAsk(SANS, 15), "a").stack[0],
        fitted(FaceAsk(SANS, 16), "a").stack[0],
        fitted(FaceAsk(SANS, 15, 700), "a").stack[0],
        fitted(FaceAsk(SANS, 15, 400, italic=True), "a").stack[0],
        fitted(FaceAsk(("serif",), 15), "a").stack[0],
        fitted(FaceAsk(SANS, 15), "ж").stack[0],
    ]
    assert len(set(stacks)) == len(stacks)
    assert all(name.replace("-", "").isalnum() and name[0].isalpha() for name in stacks)


def test_a_new_word_of_the_same_alphabet_needs_no_new_fit() -> None:
    assert fitted(FaceAsk(SANS, 15), "Wind").stack == fitted(FaceAsk(SANS, 15), "Frost 7 °C – 12:30").stack
    assert fitted(FaceAsk(SANS, 15), "über").stack == fitted(FaceAsk(SANS, 15), "große Ärgernisse").stack


def test_metrics_are_whole_pixels() -> None:
    for size_px in (8, 9, 11, 15, 16, 23, 48):
        font = TTFont(io.BytesIO(fitted(FaceAsk(SANS, size_px), "a").faces[0].data))
        units = font["head"].unitsPerEm
        per_px = units // size_px
        assert units == size_px * per_px
        assert per_px == (2 if size_px < 16 else 1)
        values = [
            font["hhea"].ascent, font["hhea"].descent, font["OS/2"].sTypoAscender, font["post"].underlinePosition,
            font["post"].underlineThickness, font["OS/2"].yStrikeoutSize, font["OS/2"].yStrikeoutPosition,
            *(advance for advance, _ in font["hmtx"].metrics.values()),
        ]  # fmt: skip
        assert all(value % per_px == 0 for value in values)
        assert font["post"].underlineThickness >= per_px


def test_small_type_is_tracked_and_its_words_stand_apart() -> None:
    def advances(size_px: int) -> tuple[int, int]:
        font = TTFont(io.BytesIO(fitted(FaceAsk(SANS, size_px), "l").faces[0].data))
        cmap, per_px = font.getBestCmap(), font["head"].unitsPerEm // size_px
        return font["hmtx"][cmap[ord("l")]][0] // per_px, font["hmtx"][cmap[ord(" ")]][0] // per_px

    assert advances(9)[1] >= 4
    assert advances(11)[1] >= 4
    assert advances(16)[1] >= 5
    # An l of 1 px at 11 px: 0.26 em of advance is 3 px, and one pixel of tracking.
    assert advances(11)[0] == 4


def test_an_oblique_is_made_where_there_is_no_italic() -> None:
    made = fitted(FaceAsk(("Noto Sans Hebrew",), 24, 400, italic=True), "ל")
    upright = fitted(FaceAsk(("Noto Sans Hebrew",), 24), "ל")
    assert [finding.rule for finding in made.faces[0].findings] == ["faces.slant"]
    slanted, plain = glyph_grid(made.faces[0], "ל"), glyph_grid(upright.faces[0], "ל")
    assert np.nonzero(slanted.any(0))[0].size > np.nonzero(plain.any(0))[0].size
    font = TTFont(io.BytesIO(made.faces[0].data))
    assert font["OS/2"].fsSelection & 1


def test_a_true_italic_is_taken_where_there_is_one() -> None:
    made = fitted(FaceAsk(SANS, 24, 400, italic=True), "a")
    assert not made.faces[0].findings
    assert not np.array_equal(
        glyph_grid(made.faces[0], "e"), glyph_grid(fitted(FaceAsk(SANS, 24), "e").faces[0], "e")
    )


def test_a_bold_is_smeared_where_there_is_none() -> None:
    own = Shelf(read_faces("boxes.ttf", saved(box_face())))
    keep = FaceKeep(None)
    regular, bold = (
        fit_set(FaceAsk(("Boxes",), 20, w), frozenset("A"), shelf=own, keep=keep) for w in (400, 700)
    )
    assert [finding.rule for finding in bold.faces[0].findings] == ["faces.weight"]
    # The box is 300 of 1000 units wide: 6 px at 20 px, and 7 px smeared.
    assert glyph_grid(regular.faces[0], "A").any(0).sum() == 6
    assert glyph_grid(bold.faces[0], "A").any(0).sum() == 7
    assert TTFont(io.BytesIO(bold.faces[0].data))["hmtx"]["A"][0] == 11


def test_very_large_type_is_given_unfitted_with_a_note() -> None:
    made = fitted(FaceAsk(SANS, LARGEST_PX + 20), "7°")
    assert [finding.rule for finding in made.findings] == ["faces.large"]
    assert made.findings[0].weight is Weight.NOTE
    assert made.stack[0].startswith("Smooth-")
    assert not fitted(FaceAsk(SANS, 201), "7°").findings


def test_smooth_faces_keep_the_design() -> None:
    keep = FaceKeep(None)
    made = smooth_set(FaceAsk(SANS, 18, 650), frozenset("Hall → שלום"), shelf=shelf(), keep=keep)
    assert not made.findings
    assert not made.missing
    assert len(made.faces) >= 3, "signs stay in faces of their own: outlines of two units do not mix"
    covered = set().union(*(face.covered for face in made.faces))
    assert set("Hall→שלום") <= covered
    font = TTFont(io.BytesIO(made.faces[0].data))
    assert font["head"].unitsPerEm == 1000
    assert font["OS/2"].usWeightClass == 650
    assert "fvar" not in font
    style = f"font:650 18px/36px {','.join(made.stack)}"
    greys = engine_grey(f'<div style="{style}">Hall → שלום</div>', made.faces, (200, 40))
    assert soft_pixels(greys) > 50
    again = smooth_set(FaceAsk(SANS, 18, 650), frozenset("Hall → שלום"), shelf=shelf(), keep=keep)
    assert again == made


def test_an_empty_shelf_is_an_error() -> None:
    with pytest.raises(FaceError, match="no face on the shelf"):
        fit_set(FaceAsk(SANS, 16), frozenset("a"), shelf=Shelf(()), keep=FaceKeep(None))


PROGRAM = """
import hashlib
from wallbill.faces.fitting import fit_set
from wallbill.faces.model import FaceAsk
from wallbill.faces.shell import FaceKeep, load_shelf
made = fit_set(FaceAsk(("sans-serif",), 13, 500), frozenset("Hall → مرحبا"), shelf=load_shelf(), keep=FaceKeep(None))
print([(face.family, hashlib.sha256(face.data).hexdigest()) for face in made.faces])
"""


def test_the_same_ask_gives_the_same_bytes_in_another_process() -> None:
    ask, text = FaceAsk(SANS, 13, 500), frozenset("Hall → مرحبا")
    first, second = (fit_set(ask, text, shelf=shelf(), keep=FaceKeep(None)) for _ in range(2))
    assert first == second
    told = [(face.family, hashlib.sha256(face.data).hexdigest()) for face in first.faces]
    there = subprocess.run([sys.executable, "-c", PROGRAM], capture_output=True, text=True, check=True)
    assert there.stdout.strip() == str(told)
