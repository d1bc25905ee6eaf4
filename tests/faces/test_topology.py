"""Shapes: the glyphs keep their pieces and holes, healing keeps stem and advance, and what is lost is said."""

from functools import partial

import numpy as np
import pytest

from tests.faces.drawn import (
    ASCII,
    KEEP,
    Grid,
    drawing,
    fitted,
    glyph_grid,
    letters,
    pieces,
    record_of,
    shelf,
)
from wallbill.faces.bench import draw, set_up
from wallbill.faces.model import FaceAsk
from wallbill.faces.pieces import Shape, sketch_of
from wallbill.faces.rasters import GlyphBitmap, Hinting
from wallbill.faces.retouching import retouched
from wallbill.faces.topology import Fault, Means, heal, trunk_px
from wallbill.findings import Weight

# Pieces and holes by looking at the letters, as any reader would count them.
SHAPES = {
    "a": (1, 1), "e": (1, 1), "8": (1, 2), "0": (1, 1), "6": (1, 1), "4": (1, 1), "B": (1, 2), "i": (2, 0),
    "ä": (3, 1), "ö": (3, 1), "ü": (3, 0), "é": (2, 1), "Å": (2, 2), "°": (1, 1), ":": (2, 0), "%": (3, 2),
    "ß": (1, 0), "C": (1, 0),
}  # fmt: skip


@pytest.mark.parametrize("weight", [400, 700])
@pytest.mark.parametrize("size_px", [11, 12, 14, 16, 20])
def test_common_letters_keep_pieces_and_holes(size_px: int, weight: int) -> None:
    text = "".join(SHAPES)
    made = fitted(FaceAsk(("sans-serif",), size_px, weight), text)
    reported = {finding.what.split()[0] for finding in made.faces[0].findings}
    got = {character: pieces(glyph_grid(made.faces[0], character)) for character in text}
    wrong = {character for character, shape in got.items() if shape != SHAPES[character]}
    assert wrong - {"Å"} <= reported, "what is wrong is said (a touching ring makes one of Å's two pieces)"
    assert not wrong & set("ae80649Biöüéü°:C")


def test_an_umlaut_keeps_its_two_dots() -> None:
    # At this size and weight FreeType's autohinter alone runs the dots into a bar.
    face = fitted(FaceAsk(("sans-serif",), 12, 700), "äöü").faces[0]
    assert "ü" in record_of(face).facts["mended"]
    assert letters(glyph_grid(face, "ü")) == drawing("""
        .#.##.
        ......
        ......
        ##..##
        ##..##
        ##..##
        ##..##
        ##..##
        ##..##
        .#####
    """)


def test_small_letters_as_they_are() -> None:
    # Golden letters, looked at when they were accepted.
    regular = fitted(FaceAsk(("sans-serif",), 14), "ae").faces[0]
    assert letters(glyph_grid(regular, "e")) == drawing("""
        ..####.
        .##..##
        ##...##
        #######
        ##.....
        ##.....
        .##...#
        ..#####
    """)
    small = fitted(FaceAsk(("sans-serif",), 10), "Ra").faces[0]
    assert letters(glyph_grid(small, "R")) == drawing("""
        ####.
        #...#
        #...#
        #...#
        ####.
        #..#.
        #..##
        #...#
    """)


@pytest.mark.parametrize("size_px", [9, 12, 16, 24])
def test_healing_keeps_stem_and_advance(size_px: int) -> None:
    ask = FaceAsk(("Noto Sans",), size_px)
    face = shelf().matching(ask.families, 400, italic=False)[0]
    bench = set_up(face, ask, KEEP)
    characters = ASCII + "äöüßéå"
    glyphs = [bench.raster.glyph_of(character) for character in characters]
    before = [bench.raster.draw(glyph, bench.hinting) for glyph in glyphs]
    healed = draw(bench, glyphs, KEEP, usual=frozenset(range(len(glyphs))))
    assert healed.mended, "there is something to mend at every one of these sizes"
    for place, (old, new) in enumerate(zip(before, healed.bitmaps, strict=True)):
        assert new.advance_px == old.advance_px
        if place in healed.mended:
            assert abs(trunk_px(new.ink) - trunk_px(old.ink)) <= 1, characters[place]
        else:
            assert new.same_as(old)


def _bitmap(text: str) -> GlyphBitmap:
    ink = np.array([[cell == "#" for cell in row] for row in drawing(text).splitlines()])
    return GlyphBitmap(ink, 0, len(ink), ink.shape[1] + 1)


BAR = _bitmap("""
    #####
    .....
    #...#
    #...#
    .###.
""")
DOTS = _bitmap("""
    ##.##
    .....
    #...#
    #...#
    .###.
""")


def means(*others: GlyphBitmap) -> Means:
    """Other drawings of one glyph whose design is that of ``DOTS``, and no retouching."""
    return Means(
        tuple(partial(lambda other, places: [other] * len(places), other) for other in others),
        (),
        lambda place, euler: sketch_of(DOTS.ink, euler=euler),
        lambda place, design: None,
    )


def test_the_way_that_changes_least_is_taken() -> None:
    wide = _bitmap("""
        ##..##
        ......
        #....#
        #....#
        .####.
    """)
    healed = heal([BAR], np.array([3]), means(wide, DOTS))
    assert healed.bitmaps[0].same_as(DOTS)
    assert healed.mended == {0}


def test_what_cannot_be_mended_is_kept_and_told() -> None:
    healed = heal([BAR], np.array([3]), means(BAR))
    assert healed.bitmaps[0].same_as(BAR)
    assert dict(healed.faults) == {0: Fault(Shape(2, 0), Shape(3, 0))}


def test_retouching_cuts_where_the_pieces_of_the_design_meet() -> None:
    large = np.kron(DOTS.ink, np.ones((8, 8), np.bool_))
    cover = np.where(BAR.ink, 250, 0).astype(np.uint8)
    cover[0, 2] = 130
    got = retouched(BAR.ink, cover, sketch_of(large, euler=3))
    assert got is not None
    assert letters(got) == letters(DOTS.ink)


def test_retouching_never_cuts_a_letter_in_two_for_its_dots() -> None:
    # The cheapest pixel to turn lies in the bowl: a cut there would give three pieces too, but not those designed.
    large = np.kron(DOTS.ink, np.ones((8, 8), np.bool_))
    cover = np.where(BAR.ink, 250, 0).astype(np.uint8)
    cover[4, 2] = 129
    got = retouched(BAR.ink, cover, sketch_of(large, euler=3))
    assert got is None or bool(got[4, 2])


def test_retouching_opens_a_filled_eye() -> None:
    ring = _bitmap("""
        .##.
        #..#
        .##.
    """).ink
    filled: Grid = _bitmap("""
        .##.
        ####
        .##.
    """).ink
    cover = np.where(filled, 255, 0).astype(np.uint8)
    cover[1, 1], cover[1, 2] = 140, 150
    sketch = sketch_of(np.kron(ring, np.ones((9, 9), np.bool_)), euler=0)
    assert sketch.shape == Shape(1, 1)
    got = retouched(filled, cover, sketch)
    assert got is not None
    assert pieces(got) == (1, 1)
    assert not got[1, 1]


def test_a_lost_shape_is_a_finding() -> None:
    # A snowflake has no room for its branches at 9 px; a pictogram is a note, a letter a warning.
    made = fitted(FaceAsk(("sans-serif",), 9), "❄ %")
    found = [finding for finding in made.faces[0].findings if finding.rule == "faces.topology"]
    assert [finding.what.split()[0] for finding in found] == ["❄"]
    assert found[0].weight is Weight.NOTE
    assert found[0].measured != found[0].limit
    assert "9 px" in str(found[0])


def test_only_asked_characters_are_told() -> None:
    made = fitted(FaceAsk(("sans-serif",), 9), "ok")
    assert not made.faces[0].findings


def test_hinting_modes_differ() -> None:
    ask = FaceAsk(("Noto Sans",), 12)
    bench = set_up(shelf().matching(ask.families, 400, italic=False)[0], ask, KEEP)
    glyph = bench.raster.glyph_of("m")
    drawn = {mode: bench.raster.draw(glyph, mode) for mode in Hinting}
    assert not drawn[Hinting.AUTO].same_as(drawn[Hinting.NONE])
