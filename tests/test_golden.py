"""The golden pictures' own test: a wrong pixel fails and is shown, nothing is accepted by the way."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests import golden

COLOURS = ((255, 255, 255), (0, 0, 0), (200, 0, 0))


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Empty places for pictures; nothing to be accepted."""
    monkeypatch.setattr(golden, "GOLDEN", tmp_path / "golden")
    monkeypatch.setattr(golden, "FAILURES", tmp_path / "failures")
    monkeypatch.delenv("ACCEPT", raising=False)
    return tmp_path


def accept(name: str, codes: np.ndarray, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ACCEPT", name)
    golden.check_golden(name, codes, COLOURS)
    monkeypatch.delenv("ACCEPT")


def test_a_picture_that_is_not_there_fails_and_is_left_to_be_looked_at(shelf: Path) -> None:
    codes = np.eye(4, dtype=np.uint8)
    with pytest.raises(AssertionError, match="ACCEPT=new"):
        golden.check_golden("new", codes, COLOURS)
    assert np.array_equal(np.asarray(Image.open(shelf / "failures" / "new-got.png")), codes)
    assert not (shelf / "golden" / "new.png").exists()


def test_one_wrong_pixel_fails_and_is_shown(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    codes = np.arange(12, dtype=np.uint8).reshape(3, 4) % 3
    accept("one", codes, monkeypatch)
    golden.check_golden("one", codes, COLOURS)
    wrong = codes.copy()
    wrong[1, 2] = 2 if codes[1, 2] != 2 else 1
    with pytest.raises(AssertionError, match=r"1 of 12 pixels differ, in x 2\.\.2, y 1\.\.1"):
        golden.check_golden("one", wrong, COLOURS)
    with Image.open(shelf / "failures" / "one.png") as shown:
        assert shown.size == (3 * 4, 3 * (3 + 2 + 3 + 2 + 3))
        assert shown.convert("RGB").getpixel((3 * 2, 3 * 11)) == golden.UNLIKE


def test_another_size_fails(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    accept("size", np.zeros((3, 4), dtype=np.uint8), monkeypatch)
    with pytest.raises(AssertionError, match="4 x 4 pixels, expected 4 x 3"):
        golden.check_golden("size", np.zeros((4, 4), dtype=np.uint8), COLOURS)


def test_only_the_named_picture_is_accepted(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ACCEPT", "other")
    with pytest.raises(AssertionError, match="no golden picture"):
        golden.check_golden("this", np.zeros((3, 4), dtype=np.uint8), COLOURS)


def test_a_large_picture_is_refused(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    noise = np.random.default_rng(1).integers(0, 3, (300, 300)).astype(np.uint8)
    with pytest.raises(AssertionError, match="the most is 4096"):
        accept("noise", noise, monkeypatch)
    assert not (shelf / "golden" / "noise.png").exists()
