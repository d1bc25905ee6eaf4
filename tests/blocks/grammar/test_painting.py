"""Shapes on whole pixels, by SVGs written by hand: edges, lines, clips, dashes, gradients, whatever comes."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from wallbill.blocks.drawing.grid import INK, MUTED
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.grammar.painting import paint_shapes
from wallbill.blocks.grammar.scene import scene_of

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60" height="40"><g fill="none">'
numbers = st.floats(-80, 80, allow_nan=False).map(lambda number: round(number, 2))


def codes(body: str) -> NDArray[np.uint8]:
    canvas = paint_shapes(scene_of(f"{HEAD}{body}</g></svg>"), Palette())
    return canvas.grid().codes


def box(mask: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    rows, columns = np.nonzero(mask.any(axis=1))[0], np.nonzero(mask.any(axis=0))[0]
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def test_a_box_has_its_edges_on_the_nearest_pixels() -> None:
    drawn = codes('<path d="M10.4,5.6h20.3v7.7h-20.3Z" fill="#000"/>') == INK
    assert box(drawn) == (10, 6, 31, 13)
    assert drawn[6:13, 10:31].all()


def test_a_thin_box_is_still_a_pixel_wide() -> None:
    assert box(codes('<rect x="10.1" y="5" width="0.2" height="9" fill="black"/>') == INK) == (10, 5, 11, 14)


def test_a_line_about_half_a_pixel_lies_on_that_pixel() -> None:
    drawn = codes(
        '<g transform="translate(0.5,0.5)"><line x1="4" y1="20" x2="50" y2="20" stroke="#000"/></g>'
    )
    assert box(drawn == INK) == (5, 20, 51, 21)
    upright = codes('<line transform="translate(7.5,3)" x2="0" y2="30" stroke="#000" stroke-width="3"/>')
    assert box(upright == INK) == (6, 3, 9, 33)


def test_dashes_of_all_grid_lines_stand_in_columns() -> None:
    rules = "".join(
        f'<line x1="{x}" y1="{y}.5" x2="60" y2="{y}.5" stroke="#0b1180" stroke-dasharray="1,3"/>'
        for x, y in ((3, 10), (6, 20))
    )
    drawn = codes(rules) == MUTED
    assert set(np.nonzero(drawn[20])[0]) <= set(np.nonzero(drawn[10])[0])
    assert set(np.diff(np.nonzero(drawn[10])[0])) == {4}


def test_nothing_is_drawn_outside_of_a_clip() -> None:
    clip = '<defs><clipPath id="c"><rect x="10" y="10" width="20" height="10"/></clipPath></defs>'
    line = '<path d="M0,0L60,40" stroke="#000" stroke-width="3"/><rect width="60" height="40" fill="#000"/>'
    drawn = codes(f'{clip}<g clip-path="url(#c)">{line}</g>') != 0
    assert box(drawn) == (10, 10, 30, 20)


def test_an_arc_fills_as_much_as_its_circle() -> None:
    """Source: the area of a circle, pi r²."""
    drawn = codes(
        '<path transform="translate(30,20)" d="M15,0A15,15,0,1,1,-15,0A15,15,0,1,1,15,0Z" fill="#000"/>'
    )
    assert abs((drawn == INK).sum() - np.pi * 15**2) < 0.02 * np.pi * 15**2


def test_a_gradient_gets_darker_along_its_axis() -> None:
    stops = '<stop offset="0" stop-color="#fff"/><stop offset="0.5" stop-color="#888"/><stop offset="1" stop-color="#000"/>'
    body = f'<defs><linearGradient id="g" x1="0" x2="1" y1="0" y2="0">{stops}</linearGradient></defs>'
    scene = scene_of(f'{HEAD}{body}<rect width="60" height="40" fill="url(#g)"/></g></svg>')
    canvas = paint_shapes(scene, Palette())
    inked = np.asarray(canvas.grid().codes == INK).astype(float)
    for tint in canvas.tints():
        inked[tint.area] = 0.5
    shares = inked.mean(axis=0)
    assert (np.diff(shares) >= 0).all()
    assert shares[0] == 0
    assert shares[-1] == 1


@given(
    st.lists(st.tuples(numbers, numbers), min_size=1, max_size=12),
    st.floats(0, 9),
    st.sampled_from(["", "Z"]),
    st.sampled_from(["", ' stroke-dasharray="3,2,1"']),
)
def test_any_path_is_drawn_about_its_points_and_nowhere_else(
    points: list[tuple[float, float]], width: float, end: str, dash: str
) -> None:
    data = "M" + "L".join(f"{x},{y}" for x, y in points) + end
    drawn = codes(f'<path d="{data}" stroke="#000" fill="#888" stroke-width="{width:.2f}"{dash}/>')
    assert drawn.shape == (40, 60)
    reach = width / 2 + 2
    rows, columns = np.nonzero(drawn)
    for places, along in ((columns, [x for x, _ in points]), (rows, [y for _, y in points])):
        assert (places >= min(along) - reach).all()
        assert (places <= max(along) + reach).all()


def test_texts_are_found_with_their_lines_and_turns() -> None:
    body = (
        '<g class="mark-text role-axis-title"><text text-anchor="middle" transform="translate(10,20) rotate(-90)" '
        'font-size="12px" font-weight="bold" fill="#000"><tspan>one</tspan><tspan x="0" dy="15">two</tspan></text></g>'
    )
    first, second = scene_of(f"{HEAD}{body}</g></svg>").words
    assert (first.text, first.at, first.bold, first.turned_deg) == ("one", (10.0, 20.0), True, -90.0)
    assert second.at[0] == 25.0
    assert second.role == "axis-title"
