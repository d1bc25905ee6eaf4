"""The pictures of all icons in the documents are what the program draws today."""

import numpy as np
import pytest
from PIL import Image
from scripts.make_icon_sheet import FOLDER, PICTURES, sheet


@pytest.mark.parametrize("name", PICTURES)
def test_the_picture_in_the_documents_is_up_to_date(name: str) -> None:
    with Image.open(FOLDER / f"{name}.png") as stored:
        assert np.array_equal(np.asarray(stored.convert("RGB")), np.asarray(PICTURES[name]().convert("RGB")))


def test_nothing_lies_outside_the_margins() -> None:
    codes = sheet()
    drawn = np.nonzero(codes)
    assert drawn[1].min() >= 24
    assert drawn[1].max() < codes.shape[1] - 24
