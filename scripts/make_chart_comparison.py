"""Pictures that set our charts beside those of a general plotting library with smoothing off, and their figures.

Run it after a change to the charts: ``python scripts/make_chart_comparison.py``. It writes docs/pictures/chart-*.png,
ours left, matplotlib's right, in the real pixels of the panel, and prints the table of docs/explanation/charts.md.
Data: seattle-temps, sf-temps and seattle-weather (NOAA, in vega_datasets). The library gets its best settings for few inks that
we know: no smoothing of type, lines and areas, whole line widths, hinted type of the same size, black axes, no frame.
"""

import io
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

import matplotlib as mpl
import numpy as np
import vega_datasets

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from benchmarks.ocr import distance
from matplotlib import dates
from matplotlib.figure import Figure
from numpy.typing import NDArray
from PIL import Image

from wallbill.blocks.charts.amounts import bar_chart_drawing
from wallbill.blocks.charts.histogram import Sample, histogram_drawing
from wallbill.blocks.charts.lines import line_drawing
from wallbill.blocks.charts.readings import Span
from wallbill.blocks.charts.spec import ChartSpec
from wallbill.blocks.charts.weather import WeatherUnits, weather_drawing
from wallbill.blocks.drawing.labels import Kind
from wallbill.blocks.drawing.markup import Drawing, to_markup
from wallbill.blocks.drawing.palette import Palette
from wallbill.faces.shell import FaceKeep, load_shelf
from wallbill.facts.forecast import Forecast, Hour
from wallbill.facts.origin import Origin
from wallbill.facts.series import Reading, Series
from wallbill.inks.separation import separate
from wallbill.panels.model import Panel
from wallbill.panels.shell import load_panels
from wallbill.press.pressing import PressTools, SheetPage, press_page
from wallbill.press.shell import MemoryPlans, open_engine
from wallbill.sheets.measuring import ruler_for
from wallbill.units.quantity import Quantity

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
ORIGIN = Origin("open data", "file", "", None, datetime(2026, 1, 1, tzinfo=UTC))
LABEL_PX = 14
SIZES_PX = (10, 12, 14, 16)
MARGIN_PX = 8
GAP_PX = 16
_WORD_PX = 12  # between two labels that are read as one line
_LABELS_A_LINE = 8
_LETTERS = "tessedit_char_whitelist= 0123456789-.AMSFTWabcdeghinoprtu"  # those that occur in labels of either
STYLE = "html,body{margin:0;background:#fff;font-family:sans-serif}"
BOX = tuple[int, int, int, int]
Codes = NDArray[np.uint8]

SETTINGS: dict[str, Any] = {
    "figure.dpi": 72,  # a point is a pixel
    "savefig.dpi": 72,
    "font.family": "DejaVu Sans",
    "text.antialiased": False,
    "text.hinting": "force_autohint",  # of its ways the one whose labels were read best
    "text.hinting_factor": 1,
    "lines.antialiased": False,
    "patch.antialiased": False,
    "lines.linewidth": 3,
    "path.snap": True,
    "axes.linewidth": 1,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.grid.axis": "y",
    "grid.color": "black",
    "grid.linestyle": (0, (1, 3)),
    "grid.linewidth": 1,
    "xtick.major.width": 1,
    "ytick.major.width": 1,
    "axes.titlelocation": "left",
    "legend.frameon": False,
    "hatch.linewidth": 1,
    "figure.constrained_layout.use": True,
}

_TYPE = ("font.size", "axes.titlesize", "legend.fontsize")


@dataclass(frozen=True)
class Case:
    """One comparison: a panel, our drawing by its spec, and the library's figure."""

    name: str
    panel: str
    ours: Callable[[ChartSpec], Drawing]
    theirs: Callable[[Figure, str], None]
    how: dict[str, Any] = field(default_factory=dict)


@dataclass
class Figures:
    """What was measured of one way: characters, those read, specks in type, drawings of a digit, milliseconds."""

    characters: int = 0
    wrong: int = 0
    by_size: dict[int, list[int]] = field(default_factory=lambda: defaultdict(lambda: [0, 0]))
    specks: int = 0
    shapes: dict[str, set[bytes]] = field(default_factory=lambda: defaultdict(set))
    made_ms: float = 0.0


def _hours(table: Any, start: str, end: str) -> Any:
    return table.set_index("date")["temp"][start:end]


def _celsius(values: Any) -> Any:
    return ((values - 32) / 1.8).round(1)


SEATTLE = _celsius(_hours(vega_datasets.data.seattle_temps(), "2010-07-25", "2010-07-31"))
SAN_FRANCISCO = _celsius(_hours(vega_datasets.data.sf_temps(), "2010-07-25", "2010-07-31"))
ALL_SEATTLE = _celsius(_hours(vega_datasets.data.seattle_temps(), "2010-01-01", "2010-12-31"))
DAYS = vega_datasets.data.seattle_weather().set_index("date")["2015-03-08":"2015-03-21"]
MONTH = vega_datasets.data.seattle_weather().set_index("date")["2015-03-01":"2015-03-31"]


def _at(moment: Any) -> datetime:
    return moment.to_pydatetime().replace(tzinfo=UTC)  # type: ignore[no-any-return]  # pandas has no types


def _series(values: Any, name: str) -> Series:
    return Series(ORIGIN, name, "°C", tuple(Reading(_at(at), float(value)) for at, value in values.items()))


def _spans(values: Any) -> list[Span]:
    return [Span(_at(at), _at(at) + timedelta(days=1), float(value)) for at, value in values.items()]


def _forecast() -> Forecast:
    return Forecast(
        ORIGIN,
        tuple(
            Hour(
                _at(at), _at(at) + timedelta(days=1),
                temperature=Quantity(float(day["temp_max"]), "°C"),
                precipitation=Quantity(float(day["precipitation"]), "mm"),
            )
            for at, day in DAYS.iterrows()
        ),
    )  # fmt: skip


def _dated(axes: Any) -> None:
    moments: Any = dates  # the library types them in part only
    locator = moments.AutoDateLocator(maxticks=7)
    axes.xaxis.set_major_locator(locator)
    axes.xaxis.set_major_formatter(moments.ConciseDateFormatter(locator))


def _week(figure: Figure, accent: str) -> None:
    axes = figure.subplots()
    axes.plot(SEATTLE.index, SEATTLE.to_numpy(), color=accent)
    axes.set_title("°C")
    _dated(axes)


def _two(figure: Figure, accent: str) -> None:
    axes = figure.subplots()
    axes.plot(SEATTLE.index, SEATTLE.to_numpy(), color="black", label="Seattle")
    second = {"color": accent} if accent != "black" else {"color": "black", "linestyle": "--", "linewidth": 2}
    axes.plot(SAN_FRANCISCO.index, SAN_FRANCISCO.to_numpy(), label="San Francisco", **second)
    axes.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=2, borderaxespad=0)
    axes.set_title("°C")
    _dated(axes)


def _rain(figure: Figure, accent: str) -> None:
    axes = figure.subplots()
    axes.bar(MONTH.index + timedelta(hours=12), MONTH["precipitation"], width=0.8, color=accent)
    axes.set_title("mm")
    _dated(axes)


def _weather(figure: Figure, accent: str) -> None:
    upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=[3, 1])
    upper.plot(DAYS.index, DAYS["temp_max"], color=accent)
    upper.set_title("°C")
    lower.bar(
        DAYS.index + timedelta(hours=12),
        DAYS["precipitation"],
        width=0.9,
        fill=False,
        hatch="////",
        edgecolor="black",
    )
    lower.set_title("mm")
    _dated(lower)


def _often(figure: Figure, accent: str) -> None:
    axes = figure.subplots()
    axes.hist(ALL_SEATTLE.to_numpy(), bins="fd", color=accent, edgecolor="white", linewidth=1)
    axes.set_title("hours")
    axes.set_xlabel("°C")


SMALL, LARGE = "4.2in-400x300-black-white", "5.8in-648x480-black-white-red"
CASES = (
    Case("week", SMALL, lambda spec: line_drawing([_series(SEATTLE, "Seattle")], spec=spec), _week, {"unit": "°C"}),
    Case(
        "two", SMALL,
        lambda spec: line_drawing([_series(SEATTLE, "Seattle"), _series(SAN_FRANCISCO, "S. Francisco")], spec=spec),
        _two, {"unit": "°C"},
    ),
    Case("rain", SMALL, lambda spec: bar_chart_drawing(_spans(MONTH["precipitation"]), spec=spec), _rain, {"unit": "mm"}),
    Case("often", SMALL, lambda spec: histogram_drawing(Sample(tuple(map(float, ALL_SEATTLE))), spec=spec), _often, {"unit": "°C"}),
    Case("weather", LARGE, lambda spec: weather_drawing(_forecast(), spec=spec, units=WeatherUnits()), _weather, {"unit": "°C"}),
)  # fmt: skip


def ours(
    case: Case, panel: Panel, tools: PressTools, *, label_px: int
) -> tuple[Codes, list[tuple[str, BOX]], float]:
    """Our chart as the panel's inks, its tick labels with their boxes, and the milliseconds from data to inks."""
    palette = Palette(accent="#ff0000") if panel.ink("red") else Palette()
    ruler = ruler_for((STYLE,), panel=panel, tools=tools, language="en-GB")
    spec = ChartSpec(
        panel.width_px - 2 * MARGIN_PX, panel.height_px - 2 * MARGIN_PX,
        palette=palette, label_px=label_px, ruler=ruler, day_label=lambda local: f"{local:%a %-d}", **case.how,
    )  # fmt: skip
    times, codes, drawing = [], None, None
    for _ in range(8):
        began = time.perf_counter()
        drawing = case.ours(spec)
        chart = to_markup(drawing, palette, label_px=label_px)
        html = f'<!DOCTYPE html><html><head><style>{STYLE}</style></head><body><div style="padding:{MARGIN_PX}px">{chart}</div></body></html>'
        page = SheetPage(
            html=html, name="chart", width_px=panel.width_px, height_px=panel.height_px, panel=panel
        )
        codes = separate(press_page(page, tools).rgb, panel=panel).codes
        times.append((time.perf_counter() - began) * 1000)
    assert drawing is not None
    assert codes is not None
    labels = [
        (label.text, (label.box[0] + MARGIN_PX, label.box[1] + MARGIN_PX, label.box[2], label.box[3]))
        for label in drawing.labels
        if label.kind is Kind.AXIS and label.text != spec.unit
    ]
    return np.asarray(codes), labels, median(times[1:])


def theirs(case: Case, panel: Panel, *, label_px: int) -> tuple[Codes, list[tuple[str, BOX]], float]:
    """The library's chart as the panel's inks (the nearest of each pixel), and the same of it."""
    red = panel.ink("red")
    settings: Any = SETTINGS | dict.fromkeys(_TYPE, label_px)
    times, rgb, figure = [], None, None
    for _ in range(8):
        began = time.perf_counter()
        with mpl.rc_context(settings):
            figure = Figure(figsize=(panel.width_px / 72, panel.height_px / 72))
            case.theirs(figure, "red" if red else "black")
            packed = io.BytesIO()
            figure.savefig(packed, format="rgba")
        times.append((time.perf_counter() - began) * 1000)
        rgb = np.frombuffer(packed.getvalue(), np.uint8).reshape(panel.height_px, panel.width_px, 4)[..., :3]
    assert figure is not None
    assert rgb is not None
    colours = np.array([ink.css for ink in panel.inks], dtype=np.int64)
    away = ((rgb[:, :, np.newaxis, :].astype(np.int64) - colours) ** 2).sum(axis=-1)
    return np.asarray(away.argmin(axis=-1), dtype=np.uint8), _their_labels(figure, panel), median(times[1:])


def _their_labels(figure: Figure, panel: Panel) -> list[tuple[str, BOX]]:
    found = []
    for axes in figure.axes:
        across = axes.get_xticklabels()
        for label in (*across, *axes.get_yticklabels()):
            box = label.get_window_extent()
            left, top = int(np.floor(box.x0)) - 2, int(np.floor(panel.height_px - box.y1)) - 2
            low, high = sorted(axes.get_xlim() if label in across else axes.get_ylim())
            at = label.get_position()[0 if label in across else 1]
            if label.get_visible() and label.get_text() and low <= at <= high:
                found.append(
                    (label.get_text(), (left, top, int(np.ceil(box.width)) + 4, int(np.ceil(box.height)) + 4))
                )
    return found


def _read(crops: Sequence[NDArray[np.bool_]]) -> str:
    """What tesseract reads in crops set side by side in one line, enlarged fourfold without smoothing."""
    height = max(crop.shape[0] for crop in crops)
    line = np.concatenate(
        [np.pad(crop, ((0, height - crop.shape[0]), (0, _WORD_PX))) for crop in crops], axis=1
    )
    picture = Image.fromarray(np.where(np.pad(line, 12), 0, 255).astype(np.uint8))
    picture = picture.resize((picture.width * 4, picture.height * 4), Image.Resampling.NEAREST)
    with tempfile.TemporaryDirectory() as folder:
        picture.save(Path(folder) / "labels.png")
        done = subprocess.run(
            ["tesseract", str(Path(folder) / "labels.png"), "-", "-l", "Latin", "--psm", "7", "-c", _LETTERS],
            capture_output=True, text=True, check=True, timeout=60, env={"OMP_THREAD_LIMIT": "1", "PATH": "/usr/bin:/bin"},
        )  # fmt: skip
    return _plain(done.stdout)


def _plain(text: str) -> str:
    """A text with single spaces and one kind of dash."""
    return " ".join(text.split()).translate({ord(dash): "-" for dash in "−–—"})


def measure(
    into: Figures, codes: Codes, labels: Sequence[tuple[str, BOX]], panel: Panel, *, label_px: int
) -> None:
    """Adds the labels of one chart to the figures of its way."""
    paper = next(number for number, ink in enumerate(panel.inks) if ink.name == "white")
    inked = codes != paper
    crops = [inked[y : y + height, x : x + width] for _, (x, y, width, height) in labels]
    for first in range(0, len(labels), _LABELS_A_LINE):
        part = slice(first, first + _LABELS_A_LINE)
        wanted = _plain(" ".join(text for text, _ in labels[part]))
        wrong = min(len(wanted), distance(wanted, _read(crops[part])))
        into.characters += len(wanted)
        into.wrong += wrong
        into.by_size[label_px][0] += len(wanted)
        into.by_size[label_px][1] += wrong
    for (text, _), crop in zip(labels, crops, strict=True):
        into.specks += _specks(crop)
        _collect(into.shapes, text, crop, label_px=label_px)


def _specks(crop: NDArray[np.bool_]) -> int:
    """Inked pixels with none inked among their eight neighbours."""
    padded = np.pad(crop, 1).astype(np.int64)
    height, width = crop.shape
    around = (
        sum(padded[y : y + height, x : x + width] for y in range(3) for x in range(3)) - padded[1:-1, 1:-1]
    )
    return int((crop & (np.asarray(around) == 0)).sum())


def _collect(shapes: dict[str, set[bytes]], text: str, crop: NDArray[np.bool_], *, label_px: int) -> None:
    """Keeps the drawing of each digit of a label whose letters stand apart by empty columns."""
    columns = crop.any(axis=0)
    edges = np.nonzero(np.diff(np.pad(columns, 1).astype(np.int64)))[0].reshape(-1, 2)
    letters = [letter for letter in text if letter != " "]
    if len(edges) != len(letters):
        return
    for letter, (left, right) in zip(letters, edges.tolist(), strict=True):
        part = crop[:, left:right]
        rows = np.nonzero(part.any(axis=1))[0]
        part = part[rows[0] : rows[-1] + 1]
        if letter.isdigit():
            shapes[f"{letter} {label_px}"].add(bytes(part.shape) + np.packbits(part).tobytes())


def picture(left: Codes, right: Codes, panel: Panel) -> Image.Image:
    """Two charts beside one another as a palette picture, a grey gap between them."""
    gap = np.full((left.shape[0], GAP_PX), len(panel.inks), dtype=np.uint8)
    codes = np.concatenate([left.astype(np.uint8), gap, right], axis=1)
    indexed = Image.frombytes("P", (codes.shape[1], codes.shape[0]), np.ascontiguousarray(codes).tobytes())
    indexed.putpalette(
        [part for colour in (*(ink.css for ink in panel.inks), (150, 150, 150)) for part in colour]
    )
    return indexed


def main() -> None:
    """Makes the pictures and prints the table."""
    panels = load_panels()
    engine = open_engine("blitz")
    totals = {"ours": Figures(), "matplotlib": Figures()}
    print("| chart | ours, ms | matplotlib, ms |\n|---|---|---|")
    try:
        tools = PressTools(
            engine=engine, shelf=load_shelf([], system=True), keep=FaceKeep(None), plans=MemoryPlans()
        )
        for case in CASES:
            panel = panels[case.panel]
            for label_px in SIZES_PX:
                left, left_labels, left_ms = ours(case, panel, tools, label_px=label_px)
                right, right_labels, right_ms = theirs(case, panel, label_px=label_px)
                measure(totals["ours"], left, left_labels, panel, label_px=label_px)
                measure(totals["matplotlib"], right, right_labels, panel, label_px=label_px)
                if label_px == LABEL_PX:
                    picture(left, right, panel).save(PICTURES / f"chart-{case.name}.png", optimize=True)
                    print(f"| {case.name} | {left_ms:.1f} | {right_ms:.1f} |")
    finally:
        engine.close()
    sizes = " | ".join(f"{size} px" for size in SIZES_PX)
    print(f"\n| | characters | read right | {sizes} | specks in type | drawings of a digit |")
    print("|---" * (len(SIZES_PX) + 5) + "|")
    for name, found in totals.items():
        share = 100 * (1 - found.wrong / found.characters)
        each = " | ".join(f"{100 * (1 - wrong / count):.0f}" for count, wrong in found.by_size.values())
        drawings = sum(map(len, found.shapes.values())) / max(1, len(found.shapes))
        print(f"| {name} | {found.characters} | {share:.1f} | {each} | {found.specks} | {drawings:.1f} |")


if __name__ == "__main__":
    main()
