"""Backgrounds of patterns: both engines paint every pixel of them, locked to the page, also between two pixels."""

import numpy as np
import pytest
from tests.press.makings import TWO, sheet

from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.drawing.patterns import Hatch, hatch
from wallbill.blocks.drawing.tiles import hatch_css
from wallbill.press.pressing import PressTools, press_page


@pytest.mark.parametrize("stroke_px", [1, 3])
@pytest.mark.parametrize("engine", ["tools", "chromium_tools"])
def test_both_engines_paint_the_pattern(engine: str, stroke_px: int, request: pytest.FixtureRequest) -> None:
    tools: PressTools = request.getfixturevalue(engine)
    css = hatch_css(Hatch.RISING_12, Palette(), stroke_px=stroke_px)
    boxes = "".join(
        f'<div style="position:absolute;left:{left}px;top:{top}px;width:101px;height:53px;background:{css}"></div>'
        for left, top in ((10, 10), (111, 10), (10.4, 63), (250.3, 100.4))
    )
    pressed = press_page(sheet(f"<body style='margin:0'>{boxes}</body>", on=TWO), tools)
    dark = pressed.rgb[..., 0] < 128
    lines = hatch((400, 300), Hatch.RISING_12, stroke_px=stroke_px)
    assert set(np.unique(pressed.rgb[12:60, 12:208]).tolist()) == {0, 255}
    assert (dark[10:63, 10:212] == lines[10:63, 10:212]).all()
    assert (dark[64:115, 11:110] == lines[64:115, 11:110]).all()
    assert (dark[102:150, 252:350] == lines[102:150, 252:350]).all()
    assert not pressed.findings
