"""A text alternative with marks of markup in it costs no drawing: the engine reads the inside of an SVG once more."""

import pytest

from tests.sheets.pressing import Pressing

BLOCKS = (
    'places_map([("Quay", 50.31, -4.05)], width_px=300, height_px=200, title="{}")',
    'day_strip(width_px=300, height_px=90, title="{}")',
    'bar_rows([("one", 1), ("two", 2)], width_px=300, height_px=100, title="{}")',
    'sign("drop", size_px=48, title="{}")',
)


@pytest.mark.parametrize("block", BLOCKS)
def test_the_title_changes_no_dot(pressing: Pressing, block: str) -> None:
    plain, marked = (
        pressing("{{ " + block.format(title) + " }}", panel="4.2in-400x300-black-white").impression
        for title in ("Apia and Co", "Apia & <b>Co")
    )
    assert plain == marked
    assert (plain.codes == 0).sum() > 50
