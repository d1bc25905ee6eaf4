"""From facts to an encoded PNG on the demo's hall sheet, beside the usual ways with the same page, in one run.

Every way starts from the same facts and fills in the same template; all are warm. The plain engine and the browser set
the page in smoothed type and are quantised by Pillow to the panel's palette, which gives worse type. Minimum and median
of several runs, in turn, so that a busy machine slows all ways alike.
"""

import io
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from importlib import resources
from pathlib import Path

import blitz_py
import numpy as np
from PIL import Image
from playwright.sync_api import ViewportSize, sync_playwright

from wallbill.cli.bench import gathered
from wallbill.inks.encoding import encode_png
from wallbill.panels.model import Panel
from wallbill.sheets.making import Job, fill, make
from wallbill.sheets.shell import load_materials, open_tools
from wallbill.wall.shell import load_wall

WALL = Path(__file__).resolve().parents[1] / "examples" / "fennel-quay"
FACE = (resources.files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf").read_bytes()
RUNS = 15
Way = Callable[[], bytes]


def the_job() -> Job:
    """The hall display of the example wall on its day."""
    wall = load_wall(WALL)
    now = datetime(2026, 3, 14, 8, tzinfo=wall.time_zone)
    return Job(wall, wall.display("hall"), gathered(wall, now, offline=True), load_materials(wall), now)


def palette_of(panel: Panel) -> Image.Image:
    """The panel's pure colours as a palette for Pillow."""
    palette = Image.new("P", (1, 1))
    palette.putpalette([code for ink in panel.inks for code in ink.css])
    return palette


def quantised(picture: Image.Image, palette: Image.Image) -> bytes:
    """The usual end of the usual way: nearest colour of the palette, PNG."""
    out = io.BytesIO()
    picture.convert("RGB").quantize(palette=palette, dither=Image.Dither.NONE).save(out, "PNG")
    return out.getvalue()


def by_engine(job: Job, palette: Image.Image) -> Way:
    """The same engine without fitted faces, in this process, then Pillow."""

    def way() -> bytes:
        html = fill(job).html.replace("font-family:sans-serif", "font-family:'Noto Sans'")
        width, height, data = blitz_py.render_rgba(html, width=648, height=480, fonts=[FACE])
        return quantised(Image.frombytes("RGBA", (width, height), data), palette)

    return way


@contextmanager
def by_browser(job: Job, palette: Image.Image) -> Iterator[tuple[Way, Way]]:
    """A browser with one page used again and again, and with a fresh context for each sheet.

    It sets the page in the system's own sans serif: handing it a face with every page would slow it without need.
    """
    size: ViewportSize = {"width": 648, "height": 480}

    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox", "--hide-scrollbars", "--disable-gpu"]
        )
        page = browser.new_page(viewport=size)

        def reused() -> bytes:
            page.set_content(fill(job).html)
            return quantised(Image.open(io.BytesIO(page.screenshot())), palette)

        def fresh() -> bytes:
            context = browser.new_context(viewport=size)
            try:
                own = context.new_page()
                own.set_content(fill(job).html)
                return quantised(Image.open(io.BytesIO(own.screenshot())), palette)
            finally:
                context.close()

        yield reused, fresh
        browser.close()


def times_ms(ways: dict[str, Way]) -> dict[str, tuple[float, float]]:
    """Minimum and median of each way, run in turn."""
    taken: dict[str, list[float]] = {name: [] for name in ways}
    for way in ways.values():
        way()
        way()
    for _ in range(RUNS):
        for name, way in ways.items():
            time.sleep(0.25)  # a closed browser tidies up behind itself, and must not slow whoever comes next
            start = time.perf_counter()
            way()
            taken[name].append((time.perf_counter() - start) * 1000)
    return {name: (min(row), statistics.median(row)) for name, row in taken.items()}


def cold_s() -> dict[str, float]:
    """Seconds for a whole `wallbill press` of one display: with nothing kept, and with faces kept from before."""
    with tempfile.TemporaryDirectory() as folder:
        command = [
            sys.executable, "-m", "wallbill", "press", str(WALL), "hall",
            "--offline", "--at", "2026-03-14T08:00", "--out", folder,
        ]  # fmt: skip
        environment = {"PATH": "/usr/bin:/bin", "XDG_CACHE_HOME": f"{folder}/cache"}
        taken = []
        for _ in range(4):
            start = time.perf_counter()
            subprocess.run(command, check=True, env=environment, capture_output=True)
            taken.append(time.perf_counter() - start)
    return {"first ever": taken[0], "faces kept": min(taken[1:])}


def worker_peak_mb(pid: int) -> float:
    """Peak resident memory of a process so far, from the kernel."""
    status = Path(f"/proc/{pid}/status").read_text(encoding="ascii")
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def report() -> str:
    """All ratios as Markdown."""
    job = the_job()
    palette = palette_of(job.display.panel)
    with ExitStack() as stack:
        tools = stack.enter_context(open_tools(job.wall, cache=None))
        reused, fresh = stack.enter_context(by_browser(job, palette))
        found = times_ms(
            {
                "wallbill": lambda: encode_png(make(job, tools).impression),
                "plain engine, quantised": by_engine(job, palette),
                "browser page reused, quantised": reused,
                "fresh browser context, quantised": fresh,
            }
        )
        pid = getattr(tools.press.engine, "pid", None)
        peak = worker_peak_mb(pid) if isinstance(pid, int) else float("nan")
    ours, middle = found["wallbill"]
    rows = "".join(
        f"| {name} | {least:.1f} | {median:.1f} | {least / ours:.2f} | {median / middle:.2f} |\n"
        for name, (least, median) in found.items()
    )
    cold = ", ".join(f"{name} {seconds:.2f} s" for name, seconds in cold_s().items())
    return (
        "| way | min ms | median ms | min against ours | median against ours |\n|---|---|---|---|---|\n"
        f"{rows}\nCold `wallbill press` of one display: {cold}. Peak memory of the press's worker: {peak:.0f} MB.\n"
    )


if __name__ == "__main__":
    np.seterr(all="raise")
    print(report())
