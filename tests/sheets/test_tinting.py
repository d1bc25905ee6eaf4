"""Tints and hatches on the page: exact means on the impression of every class of panel, joined without a seam."""

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.sheets.pressing import CLASSES, Pressing
from wallbill.blocks.drawing.patterns import CLOSENESS, HATCHES, TINTS, hatch, share_of
from wallbill.errors import SheetError
from wallbill.inks import colour
from wallbill.sheets.making import Made

CALLS = {
    **{f"tint('{name}')": pattern for name, pattern in TINTS.items()},
    **{
        f"hatch('{name}', closeness='{how}', stroke_px=1)": HATCHES[name][place]
        for name in HATCHES
        for place, how in enumerate(CLOSENESS)
    },
}
SIDE = 24
ACROSS = 6


def sheet() -> str:
    """All of them in squares of one period, three rows of six."""
    boxes = "".join(
        f'<div style="position:absolute;left:{number % ACROSS * 40 + 3}px;top:{number // ACROSS * 40 + 2}px;'
        f'width:{SIDE}px;height:{SIDE}px;background:{{{{ {call} }}}}"></div>'
        for number, call in enumerate(CALLS)
    )
    return f"<body>{boxes}</body>"


def darkness(made: Made) -> NDArray[np.float64]:
    """Share of light that is missing, by the inks' CSS colours: 1 where black."""
    light = np.array([colour.codes_to_linear(ink.css) for ink in made.impression.inks]).mean(axis=1)
    found: NDArray[np.float64] = 1 - light[made.impression.codes]
    return found


@pytest.mark.parametrize("panel", CLASSES)
def test_means_are_within_a_hundredth_on_every_class(pressing: Pressing, panel: str) -> None:
    found = darkness(pressing(sheet(), panel=panel))
    for number, (call, pattern) in enumerate(CALLS.items()):
        left, top = number % ACROSS * 40 + 3, number // ACROSS * 40 + 2
        mean = found[top : top + SIDE, left : left + SIDE].mean()
        assert mean == pytest.approx(share_of(pattern), abs=0.01), call


def test_every_pixel_is_the_patterns_own(pressing: Pressing) -> None:
    """Locked to the page: the pattern goes on from box to box, wherever they begin."""
    boxes = (
        '<div style="position:absolute;left:7px;top:5px;width:100px;height:50px;background:{{ hatch("rising", stroke_px=2) }}"></div>'
        '<div style="position:absolute;left:107.4px;top:5.4px;width:93px;height:50px;background:{{ hatch("rising", stroke_px=2) }}"></div>'
        '<table style="position:absolute;left:10px;top:100px"><tr><td style="width:50px;height:40px;background:{{ tint("quarter") }}"></td></tr></table>'
    )
    made = pressing(boxes, panel="4.2in-400x300-black-white")
    dark = darkness(made) > 0.5
    lines = hatch((400, 300), HATCHES["rising"][0], stroke_px=2)
    assert (dark[6:54, 7:200] == lines[6:54, 7:200]).all()
    dots = hatch((400, 300), TINTS["quarter"])
    assert (dark[112:130, 20:50] == dots[112:130, 20:50]).all()


def test_strokes_go_with_the_distance(pressing: Pressing) -> None:
    # Pixels 0.212 mm apart: 0.8 minutes of arc are 0.116 mm a half-metre, so 1, 2 and 4 px from 0.5, 1.5 and 3 m.
    for distance_m, stroke_px in ((0.5, 1), (1.5, 2), (3, 4)):
        made = pressing(
            "<body><div style=\"width:400px;height:300px;background:{{ hatch('upright') }}\"></div></body>",
            panel="4.2in-400x300-black-white",
            read_from_m=distance_m,
        )
        dark = darkness(made) > 0.5
        assert (dark == hatch((400, 300), HATCHES["upright"][0], stroke_px=stroke_px)).all(), distance_m


def test_accent(pressing: Pressing) -> None:
    made = pressing(
        "<body><div style=\"width:400px;height:300px;background:{{ tint('half', of='accent') }}\"></div></body>",
        panel="4.2in-400x300-black-white-red",
    )
    names = [ink.name for ink in made.impression.inks]
    assert (made.impression.codes == names.index("red")).mean() == 0.5
    assert (made.impression.codes == names.index("white")).mean() == 0.5


def test_a_label_on_a_tint_is_knocked_out(pressing: Pressing) -> None:
    made = pressing(
        "<body><div style=\"width:400px;height:300px;background:{{ tint('half') }}\">"
        '<span id="a" class="wb-on-tint" style="font-size:20px">Boats</span></div></body>',
        panel="4.2in-400x300-black-white",
    )
    dark = darkness(made) > 0.5
    # In the label there is paper around the type; outside of it every other pixel is dark.
    assert not dark[1:3, 2:40].any()
    assert dark[200:, 200:].mean() == 0.5


def test_faults_are_told(pressing: Pressing) -> None:
    for call, words in (("tint('grey')", "no tint 'grey'"), ("hatch('rising', stroke_px=99)", "1 to 32")):
        with pytest.raises(SheetError, match=words):
            pressing(f'<div style="background:{{{{ {call} }}}}"></div>', panel="4.2in-400x300-black-white")
