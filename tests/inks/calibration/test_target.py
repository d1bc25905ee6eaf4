"""The target: every dot where it should be, nothing on top of anything, marks that can be read."""

from typing import TypeVar

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.inks import typical
from tests.inks.calibration.making import BW, PANELS, blocks, target
from wallbill.errors import PanelError
from wallbill.inks.calibration import marks
from wallbill.inks.calibration.layout import MOST_SHEETS
from wallbill.inks.calibration.patches import CELL, Kind, Patch, dots
from wallbill.inks.calibration.pencil import mark_box
from wallbill.inks.calibration.shell_marks import find_marks
from wallbill.inks.calibration.target import record, shares_told, target_for
from wallbill.inks.proof import proof
from wallbill.panels.model import Ink, Panel

each_panel = pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{p.width_px}x{p.height_px}")


Numbers = TypeVar("Numbers", bound=np.generic)


def cut(codes: NDArray[Numbers], patch: Patch) -> NDArray[Numbers]:
    left, top, width, height = patch.box
    return codes[top : top + height, left : left + width]


@each_panel
def test_every_patch_has_exactly_its_dots(panel: Panel) -> None:
    made = target(panel)
    for patch in made.patches:
        if patch.kind is Kind.EYE:  # its bars stand on it
            continue
        part = cut(made.sheets[patch.sheet - 1].impression.codes, patch)
        assert part.shape == patch.box[:1:-1], patch
        assert part.size % CELL == 0, patch
        counts = np.bincount(part.ravel(), minlength=len(panel.inks)) / part.size
        told = shares_told(patch, panel.inks)
        assert {ink.name: share for ink, share in zip(panel.inks, counts, strict=True) if share} == told
        pattern = dots(Kind.FINE if patch.kind is Kind.GHOST else patch.kind, patch.count)
        assert (
            part
            == np.where(np.tile(pattern, (part.shape[0] // 8, part.shape[1] // 8)), patch.ink, patch.ground)
        ).all()


@each_panel
def test_patches_lie_on_the_sheet_and_apart(panel: Panel) -> None:
    made = target(panel)
    for sheet in made.sheets:
        taken = np.zeros((panel.height_px, panel.width_px), dtype=np.int64)
        for corner in marks.CORNERS:
            left, top, side, _ = mark_box(corner, made.frame)
            quiet = marks.QUIET_MODULES * made.frame.module_px
            assert min(left, top, panel.width_px - left - side, panel.height_px - top - side) >= quiet
            taken[top - quiet : top + side + quiet, left - quiet : left + side + quiet] += 1
        for patch in made.patches:
            if patch.sheet == sheet.number and patch.kind is not Kind.BAR:
                cut(taken, patch)[:] += 1
        assert taken.max() == 1


@each_panel
def test_solids_tints_bars_ramps_and_ghosts_are_all_there(panel: Panel) -> None:
    made = target(panel)
    assert not made.left_out
    assert {ink.name for ink in panel.inks} <= set(made.by_name)
    mixed = (
        [ink.name for ink in panel.inks if ink.css != (255, 255, 255)] if len(panel.inks) < 8 else ["grey-0"]
    )
    for name in mixed:
        tints = {f"{name}-{sign}{share}" for sign in "fc" for share in (25, 50, 75)}
        assert tints | {f"{name}-bar-1", f"{name}-bar-7", f"{name}-r00", f"{name}-r100"} <= set(made.by_name)
    assert {f"ghost-{share}-was-{was}" for share in ("00", "50", "100") for was in ("white", "black")} <= set(
        made.by_name
    )
    assert len({patch.name for patch in made.patches}) == len(made.patches)


def test_dots_are_checkers_of_one_and_of_four_pixels() -> None:
    y, x = np.mgrid[0:8, 0:8]
    assert (dots(Kind.FINE, 32) == ((x + y) % 2 == 0)).all()
    assert (dots(Kind.CLUSTER, 32) == ((x // 4 + y // 4) % 2 == 0)).all()
    assert (dots(Kind.FINE, 16) == ((x % 2 == 0) & (y % 2 == 0))).all()
    assert (dots(Kind.CLUSTER, 16) == ((x < 4) & (y < 4))).all()
    for kind in Kind:
        assert [int(dots(kind, count).sum()) for count in range(CELL + 1)] == list(range(CELL + 1))
    with pytest.raises(ValueError, match="0 to 64"):
        dots(Kind.FINE, 65)


def test_bars_run_from_under_a_third_to_over_two_thirds_in_even_steps() -> None:
    made = target(PANELS[3])
    shares = [patch.share for patch in made.patches if patch.name.startswith("black-bar-")]
    assert shares[0] == pytest.approx(0.3, abs=0.02)
    assert shares[-1] == pytest.approx(0.7, abs=0.02)
    assert len(set(np.diff(shares))) == 1
    assert 0.5 in shares


@each_panel
def test_ghosts_stand_in_halves_that_were_white_and_black(panel: Panel) -> None:
    made = target(panel)
    (sheet,) = [sheet for sheet in made.sheets if sheet.before]
    assert sheet.before is not None
    for patch in made.patches:
        if patch.kind is Kind.GHOST:
            part = cut(sheet.before.codes, patch)
            assert (part == (made.black if patch.name.endswith("was-black") else made.white)).all()
    changed = sheet.before.codes != sheet.impression.codes
    for patch in made.patches:
        if patch.kind is Kind.GHOST:
            cut(changed, patch)[:] = False
    for corner in marks.CORNERS:
        left, top, side, _ = mark_box(corner, made.frame)
        changed[top : top + side, left : left + side] = False
    assert not changed.any()
    found = find_marks(np.asarray(proof(sheet.before, scale=2)))
    assert {one.mark.sheet for one in found} == {sheet.number + marks.BEFORE}


# The reader is zxing-cpp, of other authors.
@each_panel
def test_a_reader_of_codes_reads_every_mark(panel: Panel) -> None:
    made = target(panel)
    for sheet in made.sheets:
        found = find_marks(np.asarray(proof(sheet.impression, scale=2)))
        number = marks.target_number(made.digest)
        assert {one.mark for one in found} == {
            marks.Mark(corner, sheet.number, number) for corner in marks.CORNERS
        }


def test_what_is_no_mark_is_none() -> None:
    assert marks.read_mark("1010000123") == marks.Mark(1, 1, 123)
    for text in ("", "5010000123", "101000012", "10100001234", "٣010000123", "hello there"):
        assert marks.read_mark(text) is None


def test_measuring_a_panel_does_not_change_its_target() -> None:
    other = [Ink(ink.name, ink.css, (60 - ink.lab[0] / 2, 3, 3)) for ink in BW]
    assert target_for(typical.panel(*other, size=(250, 122)), blocks).digest == target(PANELS[1]).digest
    assert target(PANELS[0]).digest != target(PANELS[1]).digest


def test_a_panel_of_too_few_pixels_is_told() -> None:
    with pytest.raises(PanelError, match="no room for a patch"):
        target_for(typical.panel(*BW, size=(80, 40)), blocks)


def test_what_has_no_room_on_twelve_sheets_is_left_out_by_its_worth() -> None:
    made = target_for(typical.panel(*typical.SEVEN.inks, size=(212, 104)), blocks)
    assert len(made.sheets) == MOST_SHEETS
    assert made.left_out[-1] == "the fields for ghosts"
    assert any(words.startswith("the ramp strip of") for words in made.left_out)
    assert {ink.name for ink in typical.SEVEN.inks} <= set(made.by_name)
    assert "black-c75" in made.by_name
    assert all(one not in made.by_name for words in made.left_out for one in words.split(", "))
    assert record(made, {})["left_out"] == list(made.left_out)


def test_the_record_names_every_patch_with_its_box_and_shares() -> None:
    told = record(target(PANELS[1]), {1: {"impression": "target-1.png"}})
    assert told["sheets"][0]["files"] == {"impression": "target-1.png"}
    by_name = {one["name"]: one for one in told["patches"]}
    assert by_name["black-c25"]["shares"] == {"black": 0.25, "white": 0.75}
    assert by_name["black"]["shares"] == {"black": 1.0}
    assert by_name["white"]["shares"] == {"white": 1.0}
    assert len(by_name["black"]["box_px"]) == 4
