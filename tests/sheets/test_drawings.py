"""Warnings and drawings of the wall's own as sheets call them, through the whole way to the panel's inks."""

from pathlib import Path

import numpy as np
import pytest

from tests.sheets.pressing import Pressing
from wallbill.blocks.drawing.grid import ACCENT, INK, NOTHING, PAPER
from wallbill.blocks.drawing.palette import Palette
from wallbill.blocks.icons.alerts import alert_grid
from wallbill.blocks.icons.own import own_grid
from wallbill.errors import PictureError, SheetError
from wallbill.facts.alerts import Severity
from wallbill.facts.hazards import Hazard
from wallbill.sheets.making import Made

PANEL = "4.2in-400x300-black-white-red"
BOAT = (Path(__file__).parents[1] / "blocks" / "icons" / "own" / "boat.svg").read_bytes()


def sheet(call: str) -> str:
    return f'<body style="margin:0"><div style="position:absolute;left:3px;top:5px">{{{{ {call} }}}}</div></body>'


def inked(made: Made, size_px: int) -> np.ndarray:
    """What the panel shows where the drawing stands, by the names of its inks."""
    impression = made.impression
    names = np.array([ink.name for ink in impression.inks])
    return names[impression.codes[5 : 5 + size_px, 3 : 3 + size_px]]


NAMES = np.array(["white", "black", "red", "white"])
assert (NOTHING, INK, ACCENT, PAPER) == (0, 1, 2, 3)


@pytest.mark.parametrize("size_px", [16, 24, 48])
def test_a_warning_reaches_the_panel_pixel_by_pixel(pressing: Pressing, size_px: int) -> None:
    made = pressing(sheet(f'alert_icon("Flood Watch", severity="severe", size_px={size_px})'), panel=PANEL)
    grid = alert_grid(Hazard.FLOOD, severity=Severity.SEVERE, size_px=size_px)
    assert np.array_equal(inked(made, size_px), NAMES[grid.codes])
    assert 'aria-label="Flood Watch"' in made.html


@pytest.mark.parametrize("name", ["boat.svg", "pictures/boat.svg"])
def test_a_drawing_of_the_walls_own_reaches_the_panel_pixel_by_pixel(pressing: Pressing, name: str) -> None:
    made = pressing(sheet(f'own_sign("{name}", size_px=48.2)'), panel=PANEL, pictures={"boat.svg": BOAT})
    grid = own_grid(BOAT, file=name, size_px=48, palette=Palette(accent="#ff0000"))
    assert np.array_equal(inked(made, 48), NAMES[grid.codes])


def test_gaps_and_faults(pressing: Pressing) -> None:
    assert "wb-gap" in pressing(sheet("alert_icon(none, size_px=24)"), panel=PANEL).html
    with pytest.raises(SheetError, match="an alert icon is drawn of an Alert or a text"):
        pressing(sheet("alert_icon(3, size_px=24)"), panel=PANEL)
    with pytest.raises(SheetError, match="no severity is called 'loud'"):
        pressing(sheet('alert_icon("Gale", severity="loud", size_px=24)'), panel=PANEL)
    with pytest.raises(SheetError, match=r"there is no picture 'boot\.svg'"):
        pressing(sheet('own_sign("boot.svg", size_px=24)'), panel=PANEL, pictures={"boat.svg": BOAT})
    with pytest.raises(PictureError, match="script"):
        pressing(
            sheet('own_sign("bad.svg", size_px=24)'),
            panel=PANEL,
            pictures={"bad.svg": b"<svg><script/></svg>"},
        )
