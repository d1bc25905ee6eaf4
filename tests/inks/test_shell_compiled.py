"""Numba's search gives NumPy's dots."""

import numpy as np
import pytest

from tests.inks import typical
from tests.inks.test_search import PANELS, noise, wanted
from wallbill.inks.manner import Manner
from wallbill.inks.search import refine
from wallbill.inks.separation import separate
from wallbill.inks.shell_compiled import compiled_step, step_for
from wallbill.panels.model import Panel


@pytest.mark.parametrize("panel", [*PANELS, typical.SEVEN], ids=lambda p: f"{len(p.inks)} inks")
def test_the_same_dots(panel: Panel) -> None:
    step = compiled_step()
    assert step is not None
    for seed in range(6):
        start, aim = wanted(noise(seed, 50 + seed, 61 - seed), panel, origin=(seed, 3 * seed))
        locked = np.random.default_rng(seed).random(start.shape) < 0.2 * (seed % 3)
        assert (refine(start, aim, locked=locked, step=step) == refine(start, aim, locked=locked)).all()


def test_small_searches_do_not_load_it_and_large_ones_are_faster_by_it() -> None:
    assert step_for(100_000) is None
    assert step_for(2_000_000) is compiled_step()


def test_a_page_of_pictures_comes_out_the_same() -> None:
    rgb = noise(2, 60, 80)
    shown = np.ones(rgb.shape[:2], dtype=np.bool_)
    plain = separate(rgb, panel=typical.BWR, picture=shown)
    fast = separate(rgb, panel=typical.BWR, picture=shown, manner=Manner(step_for=lambda _: compiled_step()))
    assert (plain.codes == fast.codes).all()
