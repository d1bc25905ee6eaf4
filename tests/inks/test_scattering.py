"""Pictures of a page, each in its own way; what stands stays."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.inks import typical
from wallbill.inks.bluenoise import scatter
from wallbill.inks.impression import Codes, Mask, Rgb
from wallbill.inks.inkset import Neutrals
from wallbill.inks.manner import Manner, Standing, Way
from wallbill.inks.separation import separate
from wallbill.panels.model import Panel, Tone

PANELS = (typical.BW, typical.BWR, typical.BWRY, typical.SIX, typical.SEVEN)
FOUR_GREYS = typical.panel(*(typical.GREYS[place] for place in (0, 5, 10, 15)), tone=Tone.GREYS)


def photo(seed: int, height: int = 60, width: int = 90) -> Rgb:
    coarse = np.random.default_rng(seed).integers(0, 256, (height // 8 + 2, width // 8 + 2, 3))
    return typical.still(np.repeat(np.repeat(coarse, 8, axis=0), 8, axis=1)[:height, :width])


def whole(rgb: Rgb) -> Mask:
    return np.ones(rgb.shape[:2], dtype=np.bool_)


def dots(rgb: Rgb, panel: Panel, manner: Manner, picture: Mask | None = None) -> Codes:
    tables = typical.tables(panel.inks) if panel.tone is Tone.INKS else None
    shown = whole(rgb) if picture is None else picture
    return separate(rgb, panel=panel, picture=shown, tables=tables, manner=manner).codes


@settings(max_examples=20, deadline=None)
@given(
    st.integers(0, 999), st.integers(0, 80), st.integers(0, 50), st.integers(1, 30), st.sampled_from(PANELS)
)
def test_outside_a_changed_box_no_dot_changes_in_the_fine_way(
    seed: int, x: int, y: int, side: int, panel: Panel
) -> None:
    before = photo(seed)
    changed = before.copy()
    changed[y : y + side, x : x + side] = photo(seed + 1)[y : y + side, x : x + side]
    after = typical.still(changed)
    first = dots(before, panel, Manner(Way.FINE))
    second = dots(after, panel, Manner(Way.FINE, standing=Standing(before, whole(before), first)))
    differs = first != second
    differs[y : y + side, x : x + side] = False
    assert not differs.any()


def test_a_page_that_did_not_change_keeps_every_dot_whoever_made_them() -> None:
    rgb = photo(1)
    stood = scatter(rgb, typical.tables(typical.BWR.inks))
    stood.setflags(write=False)
    again = dots(rgb, typical.BWR, Manner(Way.FINE, standing=Standing(rgb, whole(rgb), stood)))
    assert (again == stood).all()


def test_a_picture_that_moves_in_is_done_anew_and_what_it_left_is_line_work() -> None:
    rgb = np.full((40, 80, 3), 255, dtype=np.uint8)
    rgb[:, :40] = photo(2, 40, 40)
    there = np.zeros((40, 80), dtype=np.bool_)
    there[:, :40] = True
    first = dots(typical.still(rgb), typical.BW, Manner(), there)
    moved, now = typical.still(rgb[:, ::-1]), there[:, ::-1]
    second = dots(moved, typical.BW, Manner(standing=Standing(typical.still(rgb), there, first)), now)
    assert (second[:, :40] == 1).all()
    assert 0.05 < second[:, 40:].mean() < 0.95


def test_each_part_of_a_page_may_have_its_own_way() -> None:
    rgb = photo(4, 40, 90)
    quick, fine = dots(rgb, typical.BWR, Manner(Way.QUICK)), dots(rgb, typical.BWR, Manner(Way.FINE))
    both = dots(rgb, typical.BWR, Manner(Way.FINE, areas=(((0, 0, 30, 40), Way.QUICK),)))
    assert (both[:, :30] == quick[:, :30]).all()
    assert (both != quick).any()
    assert (fine != quick).any()


def test_an_area_may_hang_over_the_page() -> None:
    rgb = photo(5, 20, 20)
    areas = (((-5, -5, 12, 12), Way.QUICK), ((15, 15, 99, 99), Way.DIFFUSED), ((30, 2, 5, 5), Way.QUICK))
    assert dots(rgb, typical.BW, Manner(areas=areas)).shape == (20, 20)


def test_four_greys_gain_by_the_search_and_sixteen_are_scattered() -> None:
    rgb = photo(6)
    assert (dots(rgb, FOUR_GREYS, Manner(Way.FINE)) != dots(rgb, FOUR_GREYS, Manner(Way.QUICK))).any()
    quick = dots(rgb, typical.SIXTEEN, Manner(Way.QUICK))
    assert (dots(rgb, typical.SIXTEEN, Manner(Way.FINE)) == quick).all()
    assert (dots(rgb, typical.SIXTEEN, Manner(Way.DIFFUSED)) != quick).any()


@pytest.mark.parametrize("way", list(Way))
def test_line_work_beside_a_picture_is_the_same_in_every_way(way: Way) -> None:
    rgb = np.full((40, 60, 3), 255, dtype=np.uint8)
    rgb[10:30, 5:9] = 0
    rgb[:, 30:] = photo(7, 40, 30)
    there = np.zeros((40, 60), dtype=np.bool_)
    there[:, 30:] = True
    page = typical.still(rgb)
    found = dots(page, typical.BW, Manner(way), there)
    assert (found[:, :30] == separate(page, panel=typical.BW).codes[:, :30]).all()


def test_greys_of_a_colour_panel_are_black_and_white_unless_mixed_ones_are_asked_for() -> None:
    ramp = np.repeat(np.tile(np.arange(256, dtype=np.uint8), (24, 1))[..., None], 3, axis=2)
    plain = dots(typical.still(ramp), typical.SIX, Manner())
    assert set(np.unique(plain)) <= {0, 1}
    mixed = separate(
        typical.still(ramp), panel=typical.SIX, picture=whole(ramp), manner=Manner(neutrals=Neutrals.MIXED)
    ).codes
    assert len(np.unique(mixed)) > 2
