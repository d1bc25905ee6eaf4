"""Numba's search gives NumPy's dots."""

import numpy as np
import pytest

from tests.inks import typical
from tests.inks.test_search import PANELS, noise, wanted
from wallbill.inks.search import refine
from wallbill.inks.shell_compiled import compiled_step
from wallbill.panels.model import Panel


@pytest.mark.parametrize("panel", [*PANELS, typical.SEVEN], ids=lambda p: f"{len(p.inks)} inks")
def test_the_same_dots(panel: Panel) -> None:
    step = compiled_step()
    assert step is not None
    for seed in range(6):
        start, aim = wanted(noise(seed, 50 + seed, 61 - seed), panel, origin=(seed, 3 * seed))
        locked = np.random.default_rng(seed).random(start.shape) < 0.2 * (seed % 3)
        assert (refine(start, aim, locked=locked, step=step) == refine(start, aim, locked=locked)).all()
