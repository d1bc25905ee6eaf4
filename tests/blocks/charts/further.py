"""What the tests of the further charts share. The data made here is invented."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from itertools import combinations
from zoneinfo import ZoneInfo

import numpy as np
from hypothesis import strategies as st

from wallbill.blocks.charts.readings import Span
from wallbill.blocks.charts.spec import ChartSpec, Threshold
from wallbill.blocks.drawing.grid import Grid
from wallbill.blocks.drawing.labels import apart, inside
from wallbill.blocks.drawing.markup import Drawing
from wallbill.blocks.drawing.palette import Palette
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.inks.impression import Mask

LONDON = ZoneInfo("Europe/London")
START = datetime(2026, 3, 27, tzinfo=UTC)  # the clocks change on the 29th
ORIGIN = Origin("hut", "invented", "", None, START)
BLACK = Palette()
RED = Palette(accent="#c80000")
GREY = Palette(muted="#777777", smooth=True)
PLATE = ((255, 255, 255), (0, 0, 0), (200, 0, 0), (240, 240, 240), (120, 120, 120))
NAN, INF = float("nan"), float("inf")


def series(
    values: Sequence[float | None], *, name: str = "quay", minutes: float = 60, unit: str = "°C"
) -> Series:
    """Readings so many minutes apart."""
    readings = tuple(Reading(START + timedelta(minutes=minutes * i), value) for i, value in enumerate(values))
    return Series(ORIGIN, name, unit, readings)


def spans(values: Sequence[float], *, hours: float = 1) -> list[Span]:
    """Amounts so many hours long."""
    step = timedelta(hours=hours)
    return [Span(START + i * step, START + (i + 1) * step, value) for i, value in enumerate(values)]


def check_labels(drawing: Drawing) -> None:
    """No label leaves the drawing, and none overlaps another."""
    assert all(inside(label.box, drawing.grid.size) for label in drawing.labels), drawing.labels
    for one, other in combinations(drawing.labels, 2):
        assert apart(one.box, other.box), (one, other)


def check_drawing(drawing: Drawing, spec: ChartSpec) -> None:
    """The drawing has the size asked for, and its labels and hatches keep to the law."""
    assert drawing.grid.size == spec.size
    assert all(tint.area.shape == (spec.height_px, spec.width_px) for tint in drawing.tints)
    assert drawing.title
    check_labels(drawing)


def inked(grid: Grid, code: int) -> Mask:
    """The pixels of one ink."""
    return grid.mask(code)


def stretches(line: Mask) -> list[tuple[int, int]]:
    """First place and length of each run of true values in a line of pixels."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], line, [False])).astype(np.int8)))
    return [(int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def texts(drawing: Drawing) -> list[str]:
    """What the labels say, in their order."""
    return [label.text for label in drawing.labels]


numbers = st.one_of(
    st.none(),
    st.just(NAN),
    st.just(INF),
    st.floats(-60, 60, allow_nan=False).map(lambda number: round(number, 1)),
    st.integers(-3, 3).map(float),
    st.sampled_from([1e15, -1e15, 1e-12, 1e308, -1e308]),
)
rows = st.lists(numbers, min_size=0, max_size=60)
names = st.sampled_from(
    ["", "quay", "loft", "Drying room for sails", "x", "Ölfass", "\N{HEBREW LETTER ALEF}"]
)
specs = st.builds(
    ChartSpec,
    width_px=st.integers(40, 700),
    height_px=st.integers(16, 300),
    palette=st.sampled_from([BLACK, RED, GREY]),
    label_px=st.integers(8, 24),
    line_px=st.integers(1, 5),
    unit=st.sampled_from(["", "°C", "kWh/m²"]),
    zone=st.just(LONDON),
    now=st.one_of(st.none(), st.just(START + timedelta(hours=7))),
    start=st.one_of(st.none(), st.just(START + timedelta(hours=3))),
    end=st.one_of(st.none(), st.just(START + timedelta(hours=40))),
    nights=st.sampled_from([(), ((START, START + timedelta(hours=6)),)]),
    thresholds=st.sampled_from([(), (Threshold(5, "frost watch"),), (Threshold(-70), Threshold(90, "hot"))]),
    include=st.sampled_from([(), (0.0,), (100.0,)]),
    extremes=st.booleans(),
    gap_after=st.one_of(st.none(), st.just(timedelta(hours=2))),
)
