"""Signs: each can be drawn at every size, stays in its box, and looks as accepted."""

import numpy as np
import pytest
from tests.golden import check_golden

from wallbill.blocks.drawing.grid import INK
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.icons.signs import PENS, SIGN_NAMES, sign, sign_grid
from wallbill.errors import SheetError

# Those that are alike on both sides.
EVEN = ("drop", "sunrise", "sunset", "warning", "box-open", "house", "anchor", "bus", "train", "bin", "arrow-up", "arrow-down", "snow")  # fmt: skip


def across(codes: np.ndarray) -> np.ndarray:
    """The drawing without the last column of a box whose pen is an odd number of pixels wide."""
    return codes[:, : codes.shape[1] - PENS[codes.shape[0]] % 2]


@pytest.mark.parametrize("name", SIGN_NAMES)
@pytest.mark.parametrize("size_px", PENS)
def test_every_sign_at_every_size(name: str, size_px: int) -> None:
    grid = sign_grid(name, size_px=size_px)
    share = grid.drawn().mean()
    assert grid.size == (size_px, size_px)
    assert 0.06 < share < 0.5
    rows, columns = np.nonzero(grid.drawn())
    assert max(np.ptp(rows), np.ptp(columns)) >= size_px * 0.6


@pytest.mark.parametrize("name", EVEN)
@pytest.mark.parametrize("size_px", PENS)
def test_even_signs_are_alike_on_both_sides(name: str, size_px: int) -> None:
    codes = across(sign_grid(name, size_px=size_px).codes)
    assert np.array_equal(codes, codes[:, ::-1])


@pytest.mark.parametrize("size_px", PENS)
def test_level_and_upright_strokes_are_as_wide_as_the_pen(size_px: int) -> None:
    codes = sign_grid("box-open", size_px=size_px).codes == INK
    row, column = codes[size_px // 2], codes[:, size_px // 2]
    for run in (row, column):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], run.astype(int), [0]])))
        assert set((edges[1::2] - edges[::2]).tolist()) == {PENS[size_px]}


@pytest.mark.parametrize("size_px", PENS)
def test_the_fuller_a_battery_the_more_ink(size_px: int) -> None:
    amounts = [
        int(sign_grid(f"battery-{level}", size_px=size_px).drawn().sum())
        for level in ("empty", "low", "half", "full")
    ]
    assert amounts == sorted(set(amounts))


def test_a_sign_in_the_middle_and_enlarged() -> None:
    assert sign_grid("house", size_px=30).size == (30, 30)
    assert sign_grid("house", size_px=192) == sign_grid("house", size_px=96).enlarged(2)


def test_arrows_are_turns_of_one() -> None:
    up, right = sign_grid("arrow-up", size_px=24), sign_grid("arrow-right", size_px=24)
    assert up.turned(1) == right


def test_unknown_signs_and_sizes() -> None:
    with pytest.raises(SheetError, match="unknown sign 'umbrela'") as caught:
        sign("umbrela", size_px=24, palette=Palette())
    assert caught.value.mend == "Use 'umbrella'."
    with pytest.raises(SheetError, match="unknown sign") as caught:
        sign("zzz", size_px=24, palette=Palette())
    assert "anchor" in caught.value.mend
    with pytest.raises(SheetError, match="at least 16"):
        sign("house", size_px=12, palette=Palette())


def test_decoration_or_text_alternative() -> None:
    assert 'aria-hidden="true"' in str(sign("bin", size_px=24, palette=Palette()))
    assert "<title>Bins out</title>" in str(sign("bin", size_px=24, palette=Palette(), title="Bins out"))


@pytest.mark.parametrize("size_px", [size for size in PENS if size <= 48])
def test_the_signs_look_as_accepted(size_px: int) -> None:
    codes = np.zeros((4 * size_px, 8 * size_px), dtype=np.uint8)
    for number, name in enumerate(SIGN_NAMES):
        y, x = divmod(number, 8)
        codes[y * size_px : (y + 1) * size_px, x * size_px : (x + 1) * size_px] = sign_grid(
            name, size_px=size_px
        ).codes
    check_golden(f"signs-{size_px}", codes, ((222, 222, 214), (20, 20, 20)))
