"""Mixes of inks: exact inside the hull, the nearest outside it, calm and smooth."""

import numpy as np
import pytest

from tests.inks import typical
from wallbill.inks import colour, simplex
from wallbill.inks.colour import Floats
from wallbill.inks.inkset import CHROMA_COST, calm_costs, ink_set
from wallbill.inks.simplex import CHROMA_WEIGHT, Mixer
from wallbill.panels.model import Panel

PANELS = (typical.BW, typical.BWR, typical.BWRY, typical.SIX, typical.SEVEN)
_WEIGHTS = np.array((1, CHROMA_WEIGHT, CHROMA_WEIGHT))


def _mixer(panel: Panel, n: float = 1.0) -> Mixer:
    shown = ink_set(panel.inks, n=n).shown
    return Mixer(shown, calm_costs(shown, chroma=CHROMA_COST), n)


def _seen(shares: Floats, mixer: Mixer) -> Floats:
    return colour.lms_to_oklab((shares @ mixer.points) ** mixer.n)


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
@pytest.mark.parametrize("n", [1.0, 1.7])
def test_no_mix_of_a_hundred_thousand_is_nearer(panel: Panel, n: float) -> None:
    mixer = _mixer(panel, n)
    chance = np.random.default_rng(0)
    colours = colour.linear_to_oklab(colour.srgb_to_linear(chance.uniform(0.15, 1, (150, 3))))
    shares = simplex.coverages(colours, mixer)
    got = np.linalg.norm((_seen(shares, mixer) - colours) * _WEIGHTS, axis=1)
    inks = len(panel.inks)
    trials = np.concatenate([chance.dirichlet([a] * inks, 33_000) for a in (0.05, 0.3, 1)])
    seen = _seen(trials, mixer) * _WEIGHTS
    best = np.array([np.sqrt(((seen - c * _WEIGHTS) ** 2).sum(axis=1).min()) for c in colours])
    assert (got - best).max() <= 1e-6
    assert shares.min() >= 0
    np.testing.assert_allclose(shares.sum(axis=1), 1, atol=1e-9)


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
def test_what_the_inks_can_mix_is_mixed_exactly(panel: Panel) -> None:
    mixer = _mixer(panel)
    shares = np.random.default_rng(1).dirichlet([1] * len(panel.inks), 200)
    wanted = _seen(shares, mixer)
    got = _seen(simplex.coverages(wanted, mixer), mixer)
    np.testing.assert_allclose(got, wanted, atol=1e-6)


def test_of_all_exact_mixes_the_calmest_is_taken() -> None:
    mixer = _mixer(typical.SIX)
    shares = np.random.default_rng(2).dirichlet([1] * 6, 300)
    got = simplex.coverages(_seen(shares, mixer), mixer)
    assert (got @ mixer.costs <= shares @ mixer.costs + 1e-9).all()


@pytest.mark.parametrize("panel", PANELS, ids=lambda p: f"{len(p.inks)} inks")
def test_mixes_change_smoothly_with_the_colour(panel: Panel) -> None:
    """No contours: a step of one sRGB code never moves more than a few hundredths of any ink."""
    mixer = _mixer(panel)
    chance = np.random.default_rng(4)
    ends = chance.uniform(0.1, 1, (2, 12, 3))
    way = np.linspace(0, 1, 256)[:, None, None]
    line = colour.srgb_to_linear(ends[0] * (1 - way) + ends[1] * way)
    shares = simplex.coverages(colour.linear_to_oklab(line.reshape(-1, 3)), mixer).reshape(256, 12, -1)
    assert np.abs(np.diff(shares, axis=0)).max() < 0.035
