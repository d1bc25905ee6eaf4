"""How large and how fast our PNG is beside an image library's, on photographs and on the sheets of the example wall."""

import io
from collections.abc import Callable
from datetime import datetime
from functools import partial
from pathlib import Path

import numpy as np
from benchmarks import inks_ways as ways
from benchmarks.inks_pictures import PANELS, full_page
from benchmarks.inks_speed import least_ms
from benchmarks.inks_ways import Setting
from PIL import Image

from wallbill.cli.bench import gathered
from wallbill.inks.encoding import bits_for, encode_png
from wallbill.inks.impression import Impression
from wallbill.inks.manner import Way
from wallbill.sheets.making import Job, make
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.wall.shell import load_wall

_EXAMPLE = Path(__file__).parents[1] / "examples" / "fennel-quay"


def pillows(impression: Impression, *, level: int) -> bytes:
    """A PNG of the same bits and palette by Pillow at a level of zlib."""
    image = Image.fromarray(np.ascontiguousarray(impression.codes))
    image = image.convert("P") if image.mode != "P" else image
    image.putpalette([part for ink in impression.inks for part in ink.css])
    data = io.BytesIO()
    image.save(data, "PNG", bits=bits_for(len(impression.inks)), compress_level=level)
    return data.getvalue()


def _impressions() -> list[tuple[str, Impression]]:
    rgb = full_page(800, 480)
    made = []
    for way in (Way.QUICK, Way.FINE):
        for name, panel in PANELS:
            codes = ways.ours(way, compiled=True)(rgb, Setting(panel))
            made.append((f"china, {way}, {name}", Impression(codes, panel.inks)))
    return made + _sheets()


def _sheets() -> list[tuple[str, Impression]]:
    """The pages of the example wall on its day, with nothing fetched."""
    wall = load_wall(_EXAMPLE)
    now = datetime(2026, 3, 14, 8, tzinfo=wall.time_zone)
    supply, materials = gathered(wall, now, offline=True), load_materials(wall)
    with open_tools(wall, cache=None) as tools:
        return [
            (f"sheet {display.name}", make(Job(wall, display, supply, materials, now), tools).impression)
            for display in wall.displays.values()
        ]


def report() -> list[str]:
    """Bytes and milliseconds, as a table."""
    rows = [
        "| impression | ours, bytes | Pillow 6 | Pillow 9 | ours, ms | Pillow 6 | Pillow 9 |",
        "|" + " --- |" * 7,
    ]
    for name, impression in _impressions():
        makers: tuple[Callable[[], bytes], ...] = (
            partial(encode_png, impression),
            partial(pillows, impression, level=6),
            partial(pillows, impression, level=9),
        )
        sizes = " | ".join(f"{len(make_()):,}" for make_ in makers)
        times = " | ".join(f"{least_ms(make_, 3):.1f}" for make_ in makers)
        rows.append(f"| {name} | {sizes} | {times} |")
    return rows
