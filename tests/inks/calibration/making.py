"""Targets for tests, lettered in blocks, and panels whose truth is known."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from tests.inks import typical
from wallbill.inks.calibration.fit import edge_length, predicted
from wallbill.inks.calibration.light import Light
from wallbill.inks.calibration.patches import CELL, Patch
from wallbill.inks.calibration.target import Target, target_for
from wallbill.inks.impression import Mask
from wallbill.panels.model import Ink, Panel, Tone

BW = (typical.BLACK, typical.WHITE)
BWR = (typical.BLACK, typical.WHITE, typical.RED)
SIX = (typical.BLACK, typical.WHITE, typical.RED, typical.YELLOW, typical.GREEN, typical.BLUE)

PANELS = (
    typical.panel(*BW, size=(212, 104)),
    typical.panel(*BW, size=(250, 122)),
    typical.panel(*BWR, typical.YELLOW, size=(200, 200)),
    typical.panel(*BWR, size=(648, 480)),
    typical.panel(*SIX, size=(800, 480)),
    typical.panel(*typical.GREYS, size=(1872, 1404), tone=Tone.GREYS),
)


def blocks(text: str, *, size_px: int) -> Mask:
    """Lettering that needs no face: a block a letter, two thirds as wide as it is high."""
    line = np.zeros((size_px + size_px // 3, max(1, len(text) * size_px * 2 // 3)), dtype=np.bool_)
    line[size_px // 3 : size_px, ::3] = True
    return line


def target(panel: Panel) -> Target:
    """The target of a panel, made once for all tests."""
    return _made(PANELS.index(panel))


@cache
def _made(at: int) -> Target:
    return target_for(PANELS[at], blocks)


def truth(panel: Panel) -> tuple[Ink, ...]:
    """What the inks of a panel are in truth: each a little off its profile."""
    return tuple(replace(ink, lab=(ink.lab[0] + 2, ink.lab[1] - 1, ink.lab[2] + 1.5)) for ink in panel.inks)


def seen(
    patches: Iterable[Patch], inks: tuple[Ink, ...], *, n: float, edge_px: float = 0.0, noise: float = 0.0
) -> Mapping[str, Light]:
    """What an instrument reads of patches on a panel of these inks, whose edges spread and whose dots gain."""
    some = list(patches)
    spread = [_spread(one, edge_px) for one in some]
    labs = predicted(spread, inks, n) + np.random.default_rng(4).normal(0, noise, (len(some), 3))
    return {one.name: Light((lab[0], lab[1], lab[2])) for one, lab in zip(some, labs.tolist(), strict=True)}


def _spread(patch: Patch, edge_px: float) -> Patch:
    """A patch whose dots are larger by their edges: its count is no whole number any more."""
    count: Any = patch.count + CELL * edge_px * edge_length(patch)
    return replace(patch, count=count)


def to_read(panel: Panel) -> list[Patch]:
    """The patches of a panel's target that an instrument reads."""
    made = target(panel)
    return [patch for patch in made.patches if patch.name in made.to_read]
