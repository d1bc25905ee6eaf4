"""Pictures come out nearer to what is wanted than by the usual way of an image library."""

import numpy as np
import pytest
from benchmarks.inks import _shown, _targets, scene, seen, usual

from tests.inks import typical
from wallbill.inks import colour
from wallbill.inks.inkset import ink_set
from wallbill.inks.separation import separate
from wallbill.panels.model import Panel


# Ratios of the benchmark are 0.27 to 0.47 for inks and 0.05 for greys; here with room for a smaller picture.
@pytest.mark.parametrize(
    ("panel", "most"),
    [
        (typical.BW, 0.6),
        (typical.BWR, 0.6),
        (typical.BWRY, 0.6),
        (typical.SIX, 0.45),
        (typical.SIXTEEN, 0.15),
    ],
    ids=lambda value: f"{len(value.inks)} inks" if isinstance(value, Panel) else "",
)
def test_nearer_than_the_usual_way(panel: Panel, most: float) -> None:
    """Mean CIEDE2000 after the eye's filter, against the nearest colours that the inks can mix."""
    rgb = scene(180, 150)
    whole = np.ones(rgb.shape[:2], dtype=np.bool_)
    wanted = seen(_targets(rgb, panel)[0].reshape(rgb.shape))
    lights = _shown(ink_set(panel.inks))
    tables = typical.tables(panel.inks) if len(panel.inks) < 8 else None
    ours = separate(typical.still(rgb), panel=panel, picture=whole, tables=tables).codes
    other = colour.ciede2000(seen(lights[usual(rgb, panel)]), wanted).mean()
    assert colour.ciede2000(seen(lights[ours]), wanted).mean() < most * other
