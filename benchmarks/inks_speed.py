"""How fast separation is and how much memory it takes, as ratios to a general image library in the same run.

Times are of this thread's CPU, the least of several runs (of the slow ways one); ImageMagick's are of its own process, with its files. Memory is what NumPy
and Python ask for at most (tracemalloc); Pillow's own pictures are not in it.
"""

import resource
import time
import tracemalloc
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

import numpy as np
from benchmarks import inks_ways as ways
from benchmarks.inks_pictures import PANELS, full_page
from benchmarks.inks_ways import Setting
from numpy.typing import NDArray
from PIL import Image, ImageDraw
from tests.inks import typical

from wallbill.inks import gamut
from wallbill.inks.manner import Way
from wallbill.inks.separation import separate

SIZES = ((800, 480), (1600, 1200))
_WAYS = (
    ("usual", ways.usual),
    ("best library", ways.best_library),
    ("quick", ways.ours(Way.QUICK)),
    ("diffused", ways.ours(Way.DIFFUSED)),
    ("fine", ways.ours(Way.FINE)),
    ("fine, Numba", ways.ours(Way.FINE, compiled=True)),
)
_SLOW = frozenset({"diffused", "fine"})


class Cost(NamedTuple):
    """Milliseconds, and megabytes at most."""

    time_ms: float
    memory_mb: float


Measured = dict[tuple[str, tuple[int, int], str], Cost]
"""By ink set, size of the page and way."""


def least_ms(work: Callable[[], object], runs: int = 9) -> float:
    """Least CPU time of this thread in milliseconds."""
    times = []
    for _ in range(runs):
        start = time.thread_time()
        work()
        times.append(time.thread_time() - start)
    return min(times) * 1000


def peak_mb(work: Callable[[], object]) -> float:
    """Most memory that is traced while ``work`` is done, megabytes."""
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def _children_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _magick(rgb: NDArray[np.uint8], setting: Setting) -> Cost:
    """ImageMagick's usual way; its own process's time, its memory unknown."""
    start = _children_s()
    ways.magick_usual(rgb, setting)
    return Cost((_children_s() - start) * 1000, 0.0)


def measure() -> Measured:
    """Times and memory of every ink set, size and way: a minute or two."""
    found: Measured = {}
    for size in SIZES:
        rgb = full_page(*size)
        runs = 9 if size == SIZES[0] else 3
        for name, panel in PANELS:
            setting = Setting(panel)
            for way, made in _WAYS:
                work = partial(made, rgb, setting)
                if way not in _SLOW:
                    work()  # tables and compiled code are there before the clock runs
                spent = least_ms(work, 1 if way in _SLOW else runs)
                found[name, size, way] = Cost(spent, peak_mb(work))
            if ways.magick():
                found[name, size, "ImageMagick"] = _magick(rgb, setting)
    return found


def report(found: Measured) -> list[str]:
    """Times as ratios to the best library way, in a table a size; memory in another."""
    names = [way for way, _ in _WAYS[2:]]
    rows = []
    for size in SIZES:
        told = "{} x {}".format(*size)
        rows += [
            f"| {told} | usual, ms | best library, ms | ImageMagick, ms | {' | '.join(names)} |",
            "|" + " --- |" * (len(names) + 4),
        ]
        for name, _ in PANELS:
            base = found[name, size, "best library"].time_ms
            other = found.get((name, size, "ImageMagick"))
            ratios = (f"{found[name, size, way].time_ms / base:.2f}" for way in names)
            rows.append(
                f"| {name} | {found[name, size, 'usual'].time_ms:.1f} | {base:.1f} "
                f"| {f'{other.time_ms:.0f}' if other else ''} | {' | '.join(ratios)} |"
            )
        rows.append("")
    return rows + _memory(found, names)


def _memory(found: Measured, names: list[str]) -> list[str]:
    rows = [f"| memory at most, MB | size | {' | '.join(names)} |", "|" + " --- |" * (len(names) + 2)]
    for name, _ in PANELS:
        for size in SIZES:
            told = (f"{found[name, size, way].memory_mb:.0f}" for way in names)
            rows.append(f"| {name} | {size[0]} x {size[1]} | {' | '.join(told)} |")
    return rows


def pages() -> list[str]:
    """Pages of line work, and what the link table costs once, as rows of a table."""
    smoothed = _page()
    crisp = np.where((smoothed % 255 == 0).all(axis=2, keepdims=True), smoothed, 255).astype(np.uint8)
    rows = ["| what | usual, ms | ours, ms | ratio |", "|" + " --- |" * 4]
    setting = Setting(typical.BWR)
    for name, page in (("a page of exact inks", crisp), ("a page with smoothed edges", smoothed)):
        other = least_ms(partial(ways.usual, page, setting))
        ours = least_ms(partial(separate, page, panel=typical.BWR), 25)
        rows.append(f"| {name}, black, white, red | {other:.1f} | {ours:.1f} | {ours / other:.2f} |")
    for name, panel in PANELS[:5]:
        once = least_ms(partial(gamut.make_tables, Setting(panel).inks), 2)
        rows.append(f"| link table, once for {name} | | {once:.0f} | |")
    return rows


def _page() -> NDArray[np.uint8]:
    """A page of smoothed shapes in black and red on white: about 2 % of its pixels are soft."""
    chance = np.random.default_rng(0)
    image = Image.new("RGB", (3200, 1920), "white")
    draw = ImageDraw.Draw(image)
    for number in range(400):
        x, y, r = (int(v) for v in chance.integers((0, 0, 12), (3100, 1850, 60)))
        draw.ellipse((x, y, x + r, y + r), fill=("black", "red", "black", "white")[number % 4])
    return np.asarray(image.resize((800, 480), Image.Resampling.BOX))
